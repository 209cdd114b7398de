/* SPDX-License-Identifier: MIT
 *
 * The quick way to a unit's level: all that rests is drawn together into the unit's two pins, and each sender stands
 * behind the resistance of its way. It knows no copper that senders share; levels.c decides where that is good enough.
 * Private to the bench.
 */
#ifndef LOOMWATCH_BENCH_TWO_NODES_H
#define LOOMWATCH_BENCH_TWO_NODES_H

#include "ports.h"

/* Admittances at the two pins, and the currents that make the resting voltage. */
struct lw_two_nodes {
    double y_hh, y_ll, y_hl, j_h, j_l;
};

/* Sum of what senders do to the wires at one unit: siemens to a driver, and of these to its 5 V. Whole numbers, so that
 * adding and taking away leaves nothing behind. */
struct lw_pull {
    int64_t h, l, h_up, l_up;
};

struct lw_two_nodes lw_two_nodes_around(const struct lw_ports *ports, unsigned unit);

/* What one sender adds at a unit. */
struct lw_pull lw_two_nodes_pull(const struct lw_ports *ports, unsigned sender, unsigned unit);

static inline struct lw_pull lw_pull_sum(struct lw_pull a, struct lw_pull b)
{
    return (struct lw_pull){ a.h + b.h, a.l + b.l, a.h_up + b.h_up, a.l_up + b.l_up };
}

/* Voltages with senders, and the ohms between the two pins. */
double lw_two_nodes_solve(const struct lw_two_nodes *around, const struct lw_pull *pull, struct lw_volts *volts);

#endif
