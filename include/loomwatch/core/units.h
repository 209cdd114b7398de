/* SPDX-License-Identifier: MIT
 *
 * Units, as far as behaviour tells them apart: messages that begin, stop and return together come from one control unit, or
 * from units that hang on one supply, which for a fitter is the same. A partition that is only ever refined: every message
 * is in exactly one group; a set that changes without the rest of its group is split off. Written by the monitor.
 */
#ifndef LOOMWATCH_CORE_UNITS_H
#define LOOMWATCH_CORE_UNITS_H

#include "loomwatch/core/id_table.h"

enum {
    LW_MAX_UNITS = 256,          /* all buses together; what finds no room stays with its group, and is counted */
    LW_NO_UNIT = -1,
    LW_UNIT_CHAIN_MS = 700,      /* together: each so soon after the one before */
    LW_UNIT_BASE_MS = 3000,      /* what is heard while the bus was alive for so long was there from the start */
    LW_UNIT_SETTLE_MS = 1000,    /* a group is named when it was left alone for so long */
    LW_UNIT_MOMENTS = 4,         /* slow messages are missed late: so many moments are remembered a bus and direction */
    LW_UNIT_TEXT = 32,
};

enum lw_unit_origin {
    LW_UNIT_FREE,
    LW_UNIT_BASE,                /* there from the start, not told apart: no unit, and has no name */
    LW_UNIT_JOINED,              /* first heard together while the bus was running */
    LW_UNIT_WOKE,                /* first heard together when the bus came back from a hole */
    LW_UNIT_SPLIT,               /* went or came back without the rest of its group */
    LW_UNIT_ADDRESS,             /* one source address of a network whose members claim addresses */
};

struct lw_unit {
    uint8_t origin, bus, address;
    uint16_t letter;             /* 0 = none, 1 = A */
    bool is_late;                /* its first message came while the bus was running */
    bool is_told;                /* lw_units_settle returned it */
    uint16_t n_messages, n_cyclic;
    uint64_t first_ns, last_ns;  /* bus time: when the first and the last of those that came together were first heard */
    uint64_t settled_ns;         /* when it may be named: left alone, and no slow message of its group can still follow */
};

/* One moment at which messages changed together, and to where it splits the members of each group. */
struct lw_unit_moment {
    uint64_t from_ns, to_ns;
    int16_t to[LW_MAX_UNITS];    /* LW_NO_UNIT: no member of that group changed; the group itself: all did */
};

struct lw_unit_bus {
    int16_t base, newest;        /* the groups that messages enter when first heard; LW_NO_UNIT = none yet */
    bool has_started, has_claims;
    uint64_t back_ns, alive_ns;  /* when it began or came back; how long it was alive before */
    unsigned n_gone, n_back;     /* moments ever */
    struct lw_unit_moment gone[LW_UNIT_MOMENTS], back[LW_UNIT_MOMENTS];
};

struct lw_units {
    struct lw_unit units[LW_MAX_UNITS];
    struct lw_unit_bus buses[LW_MAX_BUSES];
    struct lw_id_key keys[LW_MAX_IDS];   /* by index into the frame table, as all of these */
    int16_t unit_of[LW_MAX_IDS];         /* LW_NO_UNIT: never heard, or no room */
    uint64_t period_ns[LW_MAX_IDS];      /* 0 = on event or unknown */
    uint16_t n_letters;
    uint64_t n_overflow;
};

void lw_units_init(struct lw_units *units);

/* The whole bus came back at t_ns from a hole that began at hole_ns. A hole splits nothing. */
void lw_units_woke(struct lw_units *units, unsigned bus, uint64_t hole_ns, uint64_t t_ns);

/* A message is heard for the first time; call it once for each. The first address claim on a bus (J1939-81; PGN 60928 =
 * EE00h as in linux/can/j1939.h) sorts its 29-bit messages by source address, which no moment splits any more. */
void lw_units_new(struct lw_units *units, int index, struct lw_id_key key, uint64_t t_ns);

/* What is known of the message's rhythm: period_ns 0 = on event or unknown. A message on event never keeps a group from going
 * as a whole. One that was first heard alone, but no later than its period after others, belongs to them. */
void lw_units_rhythm(struct lw_units *units, int index, uint64_t period_ns);

/* A cyclic message is missed: last heard at last_ns, noticed at t_ns. Or it is back at t_ns. */
void lw_units_gone(struct lw_units *units, int index, uint64_t last_ns, uint64_t period_ns, uint64_t t_ns);
void lw_units_back(struct lw_units *units, int index, uint64_t period_ns, uint64_t t_ns);

/* Names one group of a bus that can be named by now and returns it, each once; LW_NO_UNIT if there is no more. */
int lw_units_settle(struct lw_units *units, unsigned bus, uint64_t t_ns);

/* Goes on after the letters that a baseline uses as senders: "unit C" makes the next one D. */
void lw_units_skip_letter(struct lw_units *units, const char *sender);

/* "unit A", "unit at address 41", or "" where messages are not told apart. Returns buf. */
char *lw_units_name(const struct lw_units *units, int index, char buf[LW_UNIT_TEXT]);

/* Whether messages that changed at these times may have changed in one moment: from..to is the moment, lo..hi when this
 * one can have changed. */
bool lw_unit_is_together(uint64_t from_ns, uint64_t to_ns, uint64_t lo_ns, uint64_t hi_ns);

#endif
