/* SPDX-License-Identifier: MIT
 *
 * What plant and damage come to as wires: which parts lie between which nodes, how far it is, how much capacitance hangs
 * together. Private to the bench.
 */
#ifndef LOOMWATCH_BENCH_LOOM_H
#define LOOMWATCH_BENCH_LOOM_H

#include "loomwatch/bench/wires.h"
#include "network.h"

enum { LW_LOOM_MAX_NODES = 2 * (LW_PLANT_MAX_POINTS + LW_PLANT_MAX_UNITS) };

/* A pair of nodes. */
struct lw_pair {
    uint16_t h, l;
};

struct lw_loom {
    unsigned n_nodes;
    struct lw_pair points[LW_PLANT_MAX_POINTS], units[LW_PLANT_MAX_UNITS];   /* of a unit: its pins */
    uint8_t transceivers[LW_PLANT_MAX_UNITS];                                /* enum lw_transceiver */
    bool is_swapped[LW_PLANT_MAX_UNITS];
    uint8_t copper[LW_PLANT_MAX_UNITS][2];   /* of the H and the L pin: equal numbers are joined by unbroken wire */
    double pf[LW_PLANT_MAX_UNITS];           /* between the wires, in the piece that this unit hangs on */
    uint64_t delay_ps[LW_PLANT_MAX_UNITS][LW_PLANT_MAX_UNITS];   /* pins to pins, with what stubs add */
};

/* Ohms, volts of a transceiver's pins; the driver is added by levels.h. */
#define LW_DRIVER_OHM 45.0
#define LW_DRIVER_VOLT 5.0

/* Lays the loom out and puts all its parts into the network, transceivers at rest included. With the supply off every
 * plugged transceiver is unpowered. */
void lw_loom_lay(struct lw_loom *loom, const struct lw_plant *plant, const struct lw_wiring *wiring, bool is_supply_off,
                 struct lw_network *network);

#endif
