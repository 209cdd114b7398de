/* SPDX-License-Identifier: MIT
 *
 * What a bus is expected to carry: learned by watching, or read from a file, edited by people.
 */
#ifndef LOOMWATCH_CORE_BASELINE_H
#define LOOMWATCH_CORE_BASELINE_H

#include "loomwatch/core/id_table.h"
#include "loomwatch/core/wire.h"

enum {
    LW_NAME_MAX = 32, LW_BUS_NAME_MAX = 64,
    LW_AT_ONCE_PCT = 80,      /* so much of a period that two cyclic frames never fall into it */
};

struct lw_expected {
    struct lw_id_key key;
    char name[LW_NAME_MAX], sender[LW_NAME_MAX];   /* UTF-8; empty until a person fills them in */
    uint16_t dlc_seen;                             /* lengths, as in struct lw_id_entry */
    enum lw_rhythm rhythm;
    uint64_t period_ns;       /* 0 unless cyclic or both */
    uint64_t tolerance_ns;    /* a period within period ± tolerance is unchanged */
    uint64_t longest_gap_ns;  /* longest gap met while learning; 0 = none known */
    uint64_t shortest_gap_ns; /* shortest gap met while learning; 0 = none known */
    uint16_t most_at_once;    /* of kind both: most frames within LW_AT_ONCE_PCT of its period; 0 = unknown */
    uint64_t jitter_ns;       /* how far regular gaps were off the period at most; 0 unless cyclic or both, or unknown */
    uint8_t format;           /* LW_FRAME_FD and LW_FRAME_BRS, as in struct lw_frame */
    struct lw_wire_length heard;  /* of the last frame, with its own data; all 0 = unknown. A file keeps no stuff_bits */
    bool may_pause;           /* fell quiet while learning: its absence is no alarm */
};

struct lw_baseline_bus {
    char name[LW_BUS_NAME_MAX];
    struct lw_reading bit_rate_bps, data_bit_rate_bps;
    uint64_t watched_ns;
};

struct lw_baseline {
    unsigned n_buses;
    struct lw_baseline_bus buses[LW_MAX_BUSES];
    size_t n_ids;
    struct lw_expected ids[LW_MAX_IDS];            /* in lw_id_key_order */
};

void lw_baseline_init(struct lw_baseline *baseline);

/* What learning needs to know of one bus besides its messages. */
struct lw_learn_bus {
    const char *name;
    struct lw_reading bit_rate_bps, data_bit_rate_bps;
    uint64_t start_ns, end_ns;     /* of the watch, bus time */
    uint64_t back_ns;              /* when the bus last came back from silence; start_ns if never silent */
    uint64_t hole_ns;              /* length of all its holes together */
};

/* Writes what the table has seen on these buses into out. Names and senders come from names, another baseline or
 * NULL. A message that began late, stopped early or paused is marked may_pause. tolerance = 10 % of the period, or
 * 4 × jitter, or 1 ms, whichever is largest. */
void lw_baseline_learn(struct lw_baseline *out, const struct lw_baseline *names, const struct lw_id_table *table,
                       const struct lw_learn_bus *buses, unsigned n_buses);

/* Index of the message, or LW_NO_INDEX. */
int lw_baseline_find(const struct lw_baseline *baseline, struct lw_id_key key);

/* Puts the buses of a baseline in the order in which they are watched: each by its name; where names do not tell and there
 * are equally many, by position. Messages of buses that are not watched are dropped. Returns how many were. */
size_t lw_baseline_match(struct lw_baseline *baseline, const char *const *watched, unsigned n_watched);

/* Sorts ids after they were filled in any order. Returns the index of the first of two equal keys, or
 * LW_NO_INDEX: a file may name a message twice. */
int lw_baseline_sort(struct lw_baseline *baseline);

/* How long a message of this period may be silent before it is late, and before it is absent: three periods, but
 * never less than the floor, nor less than what was met while learning. */
enum { LW_ABSENT_FLOOR_MS = 250, LW_LATE_FLOOR_MS = 100 };
uint64_t lw_expected_late_ns(const struct lw_expected *expected);
uint64_t lw_expected_absent_ns(const struct lw_expected *expected);

#endif
