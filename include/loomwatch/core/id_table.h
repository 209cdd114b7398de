/* SPDX-License-Identifier: MIT
 *
 * The frame table: one entry a message, with everything ever observed of it. Bounded; what no longer fits is
 * counted. Entries never move, so their index is a stable handle.
 */
#ifndef LOOMWATCH_CORE_ID_TABLE_H
#define LOOMWATCH_CORE_ID_TABLE_H

#include "loomwatch/core/event.h"
#include "loomwatch/core/period.h"

enum {
    LW_MAX_IDS = 2048,         /* all buses together; a large vehicle bus has about 150 */
    LW_ID_SLOTS = 4096,        /* power of two, twice LW_MAX_IDS */
    LW_N_DATA_BITS = 8 * LW_FRAME_MAX_LEN,
    LW_NO_INDEX = -1,
    LW_WENT = 4,
};

/* What is wrong with a message; several may hold at once. */
enum lw_condition {
    LW_UNEXPECTED = 1 << 0,       /* not in the baseline */
    LW_ABSENT = 1 << 1,           /* cyclic, expected, not heard for three periods */
    LW_LATE = 1 << 2,             /* overdue, not yet absent */
    LW_PERIOD_CHANGED = 1 << 3,
    LW_LENGTH_CHANGED = 1 << 4,
    LW_SECOND_SENDER = 1 << 5,    /* rate about doubled: two units may send it */
    LW_N_CONDITIONS = 6,
};

struct lw_id_entry {
    struct lw_id_key key;
    uint64_t first_seen_ns, last_seen_ns;               /* bus time; n_frames 0: expected, never heard */
    uint64_t last_data_ns, last_hw_ns;                  /* of the last one with data; 0 = none. The rhythm is theirs */
    uint64_t n_frames, n_remote, n_fd, n_own;
    uint64_t n_missed, n_length_changes, n_second_sender, n_absences;
    uint64_t n_at_second;         /* n_frames when the running second began */
    uint32_t rate_hz;             /* frames in the last whole second of the bus */
    uint16_t dlc_seen;            /* bit n: a frame with data length code n was seen */
    uint8_t last_len, last_flags;
    uint8_t last_data[LW_FRAME_MAX_LEN];
    uint8_t bits_changed[LW_FRAME_MAX_LEN];           /* a set bit has changed at least once */
    uint32_t bit_changed_ms[LW_N_DATA_BITS];          /* when last, in ms after first_seen_ns; bit 0 = LSB of byte 0 */
    struct lw_period period;
    uint64_t settled_period_ns;   /* the first period established: what to compare with without a baseline */
    uint64_t longest_wait_ns;     /* silence next to a hole of the whole bus, or before it was first heard */
    int16_t expected;             /* index into the baseline's ids, or LW_NO_INDEX */
    uint8_t conditions;           /* enum lw_condition */
    uint64_t condition_since_ns;
    uint64_t went_ns[LW_WENT];    /* when it last went absent or quiet, newest first; 0 = never */
    bool is_quiet;                /* had a rhythm and stopped, without that being an alarm */
};

struct lw_id_table {
    struct lw_id_entry entries[LW_MAX_IDS];
    int16_t slots[LW_ID_SLOTS];
    size_t n_entries;
    uint64_t n_overflow_frames;   /* frames of messages that found no room */
};

void lw_id_table_init(struct lw_id_table *table);

/* Index of the message, or LW_NO_INDEX. */
int lw_id_table_find(const struct lw_id_table *table, struct lw_id_key key);

/* The same, and makes an empty entry (n_frames 0) where there is none. LW_NO_INDEX when the table is full;
 * the caller counts that. */
int lw_id_table_place(struct lw_id_table *table, struct lw_id_key key);

/* Takes one frame into its entry. skip_gap: the gap to the frame before is not the sender's doing (a hole of the whole
 * bus) and must not count. Lengths that differ from the previous frame's are counted. Remote frames, being questions of somebody
 * else, have no part in the rhythm. Time running backwards is taken as standing still. */
void lw_id_entry_add(struct lw_id_entry *entry, const struct lw_event *event, bool skip_gap);

#endif
