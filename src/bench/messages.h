/* SPDX-License-Identifier: MIT
 *
 * What the units' messages do by themselves: when each is released to its controller, and what its data say. Every number
 * drawn is a hash of the seed with what it is for, so that nothing depends on order. For sim.c only.
 */
#ifndef LOOMWATCH_SRC_BENCH_MESSAGES_H
#define LOOMWATCH_SRC_BENCH_MESSAGES_H

#include "loomwatch/bench/damage.h"

enum { LW_N_SLOTS = LW_PLANT_MAX_MESSAGES + LW_MAX_DAMAGES };   /* every damage may add a sender */

/* One sender of one message. Times: UINT64_MAX = never. */
struct lw_message_slot {
    uint16_t message;                /* of the plant; LW_BABBLE: its unit's babble */
    uint8_t unit;                    /* who sends it: not always whose message it is */
    bool is_added;                   /* by a damage */
    bool has_equal_data;             /* a duplicate that counts with the original */
    uint64_t nominal_ns;             /* of the next cyclic release, without jitter */
    uint64_t cyclic_ns, event_ns;    /* the next releases */
    uint64_t n_cycles, n_events, n_sent;
};

struct lw_messages {
    const struct lw_plant *plant;    /* must outlive this */
    uint64_t seed;
    uint64_t due_ns;                 /* soonest of all slots, kept at every change */
    unsigned due_slot;
    uint32_t present;                /* bit n: unit n is on the bus, for LW_PATTERN_PRESENCE; sim.c may write it */
    uint32_t running;                /* bit n: unit n has booted and sends */
    uint32_t foreign, fd;            /* bit n: unit n speaks foreign identifiers; sends FD */
    int32_t crystal_ppm[LW_PLANT_MAX_UNITS];
    uint32_t foreign_ids[LW_PLANT_MAX_MESSAGES];
    unsigned n_slots;
    struct lw_message_slot slots[LW_N_SLOTS];
};

/* Nobody sends yet. */
void lw_messages_init(struct lw_messages *m, const struct lw_plant *plant, uint64_t seed);

/* The unit has booted at t_ns (boot time is the caller's): its boot message is due at once, the others from there on. It is
 * present until stopped. Stopping keeps nothing: a start after it begins anew. */
void lw_messages_start(struct lw_messages *m, unsigned unit, uint64_t t_ns);
void lw_messages_stop(struct lw_messages *m, unsigned unit);

/* The damages that hold from t_ns on; all others are over. Of them duplicate, foreign, babble, fd-sender and crystal concern
 * messages. What goes on keeps its rhythm. */
void lw_messages_damage(struct lw_messages *m, const struct lw_damage *damages, unsigned n, uint64_t t_ns);

/* The soonest release of any message; UINT64_MAX: none. */
static inline uint64_t lw_messages_due_ns(const struct lw_messages *m)
{
    return m->due_ns;
}

/* Takes one release due at or before t_ns: the earliest, and of equal ones the one that wins arbitration. unit sends it.
 * False: none is due. */
bool lw_messages_take(struct lw_messages *m, uint64_t t_ns, unsigned *unit, struct lw_frame *out);

/* In message_data.c: the frame of a slot at t_ns. */
void lw_messages_frame(const struct lw_messages *m, const struct lw_message_slot *slot, uint64_t t_ns, struct lw_frame *out);

enum { LW_BABBLE = 0xFFFF, LW_BABBLE_ID = 0x001 };   /* a babbling unit n sends LW_BABBLE_ID + n, 8 bytes */

#endif
