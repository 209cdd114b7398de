/* SPDX-License-Identifier: MIT
 *
 * Changes of TXDs that were sent and that some receivers have not looked at yet: kept once for all of them, and handed to
 * each together when it next wants to know. Thirty units acknowledge within one bit, and hardly any looks before its end.
 * Private to the bench.
 */
#ifndef LOOMWATCH_BENCH_UNDER_WAY_H
#define LOOMWATCH_BENCH_UNDER_WAY_H

#include "receiver.h"

#include "loomwatch/bench/plant.h"

enum { LW_UNDER_WAY_CHANGES = 512 };

struct lw_under_way {
    unsigned n;
    unsigned run;                                        /* from here on no two of one sender, all of one direction */
    struct lw_arrival changes[LW_UNDER_WAY_CHANGES];     /* in the order they were sent; t_ps: at the TXD */
    uint32_t senders[LW_UNDER_WAY_CHANGES];              /* of the run up to and with this change */
    unsigned n_handed[LW_PLANT_MAX_UNITS];               /* of the changes, to each receiver */
    uint64_t way_ps[LW_PLANT_MAX_UNITS][LW_PLANT_MAX_UNITS];     /* to each receiver's pins from each sender's TXD */
    uint64_t least_way_ps[LW_PLANT_MAX_UNITS], most_way_ps[LW_PLANT_MAX_UNITS];      /* to each receiver */
};

/* Nothing is kept any more: all was queued. */
void lw_under_way_clear(struct lw_under_way *under_way);

/* way_ps is new, of so many units; nothing is kept. */
void lw_under_way_measured(struct lw_under_way *under_way, unsigned n_units);

/* There must be room. Changes come in order of time. */
void lw_under_way_send(struct lw_under_way *under_way, struct lw_arrival change);

/* Of what is kept for a receiver nothing arrives before; LW_NEVER: nothing is kept. */
static inline uint64_t lw_under_way_soonest_ps(const struct lw_under_way *under_way, unsigned unit)
{
    unsigned n_handed = under_way->n_handed[unit];
    return n_handed == under_way->n ? LW_NEVER : under_way->changes[n_handed].t_ps + under_way->least_way_ps[unit];
}

/* Hands a receiver all that is kept for it, in its queue. */
void lw_under_way_queue(struct lw_under_way *under_way, struct lw_receiver *receiver);

/* The same as queueing all and lw_receiver_advance to t_ps. */
void lw_under_way_advance(struct lw_under_way *under_way, struct lw_receiver *receiver, uint64_t t_ps);

#endif
