/* SPDX-License-Identifier: MIT
 *
 * The voltage that each unit's receiver sees for each set of senders, and how fast it gets there. The resting network is
 * solved once; a set of senders costs a small system of equations, and is remembered. Private to the bench.
 */
#ifndef LOOMWATCH_BENCH_LEVELS_H
#define LOOMWATCH_BENCH_LEVELS_H

#include "two_nodes.h"

/* Where a receiver's voltage goes, and its speed: 1 / time constant. */
struct lw_level {
    double volt;                 /* H - L; 0 where the receiver is outside its common-mode range */
    double per_ps;
};

struct lw_levels;

struct lw_levels *lw_levels_create(const struct lw_plant *plant);   /* NULL without memory */
void lw_levels_destroy(struct lw_levels *levels);                   /* takes NULL */

void lw_levels_set(struct lw_levels *levels, const struct lw_wiring *wiring);
const struct lw_loom *lw_levels_loom(const struct lw_levels *levels);

/* A unit's receiver works (normal and standby). */
bool lw_levels_can_receive(const struct lw_levels *levels, unsigned unit);

/* Units that can drive, as a set. */
uint32_t lw_levels_able(const struct lw_levels *levels);

/* What one sender adds to the pull at a unit. */
const struct lw_pull *lw_levels_pull(const struct lw_levels *levels, unsigned sender, unsigned unit);

/* From so many senders on, all of the unit's good ones, the level is dominant whatever they are, high above the threshold
 * and soon reached. */
enum { LW_LEVELS_PLENTY = 5 };       /* above 3.6 V of 5 on 60 ohm, a few ohms away */
uint32_t lw_levels_good_senders(const struct lw_levels *levels, unsigned unit);

/* For a set of senders; pull is the sum of theirs at this unit. */
struct lw_level lw_levels_at(struct lw_levels *levels, unsigned unit, uint32_t senders, const struct lw_pull *pull);

/* Exact direct-current voltages at a pair of nodes. */
struct lw_volts lw_levels_volts(struct lw_levels *levels, struct lw_pair at, uint32_t senders);

/* Ohms between H and L at a pair of nodes with the supply off. */
double lw_levels_ohms(struct lw_levels *levels, struct lw_pair at);

#endif
