/* SPDX-License-Identifier: MIT
 *
 * One unit's receiver: which senders it sees, each after its own way along the wires, the voltage that settles towards
 * their level, and the bit that comes of it. Times are of the bus at its pins, without its own delay. Private to the bench.
 */
#ifndef LOOMWATCH_BENCH_RECEIVER_H
#define LOOMWATCH_BENCH_RECEIVER_H

#include "levels.h"

enum { LW_RECEIVER_ARRIVALS = 256 };

#define LW_NEVER UINT64_MAX

/* A sender's change that has been sent and not arrived yet. */
struct lw_arrival {
    uint64_t t_ps;
    uint8_t sender;
    bool is_dominant;
};

/* Changes in the order they were sent, no two of one sender, all of them to dominant or all to recessive; t_ps is that of
 * the TXD, and way_ps, by sender, leads from there to the receiver. */
struct lw_crowd {
    const struct lw_arrival *changes;
    unsigned n;
    uint32_t senders;
    const uint64_t *way_ps;
    uint64_t least_way_ps, most_way_ps;
};

/* What the receiver knows at t_ps. Small: it is copied to look ahead. */
struct lw_seen {
    uint64_t t_ps, crossing_ps;      /* when the threshold is crossed if nothing else arrives */
    uint64_t changed_ps, edge_ps;    /* newest change; newest recessive-to-dominant edge, 0 = none */
    double volt;                     /* at t_ps */
    struct lw_level target;
    struct lw_pull pull;
    uint32_t senders;
    bool is_dominant;
    bool is_open;                    /* while arrivals are taken in: it may cross, but not before the next */
    bool is_plenty;                  /* of senders: volt, target and pull are not kept up */
};

/* How long the last crossing of each direction took, and from where to where: a bus repeats itself. */
struct lw_crossing {
    double from, to, per_ps;
    uint64_t after_ps;
};

struct lw_receiver {
    struct lw_levels *levels;
    unsigned unit;
    uint32_t good;                   /* lw_levels_good_senders */
    struct lw_seen now;
    struct lw_crossing known[2];
    uint64_t asked_ps;               /* newest time it was brought to by a question */
    uint64_t next_change_ps;         /* as found by whoever looks ahead */
    bool is_next_known;
    unsigned first, end;             /* of the arrivals, in order of time */
    struct lw_arrival arrivals[LW_RECEIVER_ARRIVALS];
};

/* How it sees one sender alone, each of whose changes finds the voltage settled after the one before. Indexed by
 * is_dominant. after_ps: from the arrival of the change to the crossing; LW_NEVER: it does not see this sender. */
struct lw_steady {
    struct lw_level level[2];
    uint64_t after_ps[2];
    uint64_t settle_ps;              /* so far must an arrival lie from the next */
};

void lw_receiver_init(struct lw_receiver *receiver, struct lw_levels *levels, unsigned unit);

/* Begins at t_ps with these senders long settled, and nothing on its way. */
void lw_receiver_restart(struct lw_receiver *receiver, uint32_t senders, uint64_t t_ps);

/* The levels are new at t_ps; of the senders, only able ones go on. The voltage moves on from where it is. */
void lw_receiver_rewire(struct lw_receiver *receiver, uint32_t able, uint64_t t_ps);

/* A sender's change is on its way. Changes of one sender arrive in order. A full queue takes its first in early: on a bus
 * far too long for its bit rate. */
void lw_receiver_expect(struct lw_receiver *receiver, struct lw_arrival arrival);

/* Brings it to t_ps: what arrived and what crossed the threshold until then has happened. */
void lw_receiver_advance(struct lw_receiver *receiver, uint64_t t_ps);

/* Takes one arrival in, also on a copy. next_ps: when the next arrives, if that is taken in straight after; else LW_NEVER. */
void lw_receiver_take(struct lw_receiver *receiver, struct lw_seen *seen, const struct lw_arrival *arrival, uint64_t next_ps);

/* These senders are enough for their level not to be computed. */
static inline bool lw_receiver_are_plenty(const struct lw_receiver *receiver, uint32_t senders)
{
    uint32_t left = senders;
    for (unsigned i = 1; i < LW_LEVELS_PLENTY; i++)
        left &= left - 1;
    return left && !(senders & ~receiver->good);
}

/* Takes in at once what the queue would by turns, where the order matters to few: all begin, and become plenty, or all end,
 * and were plenty. Nothing is queued. False, and nothing done, if it is not so. */
bool lw_receiver_take_crowd(struct lw_receiver *receiver, const struct lw_crowd *crowd);

/* Takes arrivals in, on a copy, until the bit changes or none is left. */
void lw_receiver_look_ahead(struct lw_receiver *receiver, struct lw_seen *seen);

struct lw_steady lw_receiver_steady(const struct lw_receiver *receiver, unsigned sender);

/* Nothing is on its way or crossing, and it sees these senders and this bit. */
bool lw_receiver_is_calm(const struct lw_receiver *receiver, uint32_t senders, bool is_dominant);

/* Puts it behind a change of a steady sender that arrived at t_ps and has crossed. edge_ps: its newest edge's crossing. */
void lw_receiver_resume(struct lw_receiver *receiver, const struct lw_steady *steady, struct lw_arrival arrival,
                        uint64_t edge_ps);

/* Recessive for good at t_ps if nobody sends. */
bool lw_receiver_is_quiet(struct lw_receiver *receiver, uint64_t t_ps);

#endif
