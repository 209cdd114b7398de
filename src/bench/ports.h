/* SPDX-License-Identifier: MIT
 *
 * All units' pins as the ports of one network: impedances between them at rest, and the currents of any set of senders.
 * Exact. Private to the bench.
 */
#ifndef LOOMWATCH_BENCH_PORTS_H
#define LOOMWATCH_BENCH_PORTS_H

#include "loom.h"

enum { LW_MAX_PORTS = 2 * LW_PLANT_MAX_UNITS };

/* Port 2 u is the H pin of unit u, port 2 u + 1 its L pin. */
struct lw_ports {
    const struct lw_loom *loom;
    double rest[LW_LOOM_MAX_NODES];                      /* volts with nobody sending */
    double z[LW_MAX_PORTS][LW_LOOM_MAX_NODES];           /* volts at a node for one ampere into a port */
    double system[LW_MAX_PORTS * LW_MAX_PORTS];
};

/* Currents of a set of senders. */
struct lw_currents {
    unsigned n;
    uint8_t ports[LW_MAX_PORTS];
    double amperes[LW_MAX_PORTS];
};

/* From a laid loom (kept by the caller) and its reduced network. */
void lw_ports_measure(struct lw_ports *ports, const struct lw_loom *loom, unsigned n_units, const struct lw_network *network);

unsigned lw_ports_node(const struct lw_ports *ports, unsigned port);

/* senders can drive, all of them. */
void lw_ports_find_currents(struct lw_ports *ports, uint32_t senders, struct lw_currents *out);
struct lw_volts lw_ports_volts(const struct lw_ports *ports, const struct lw_currents *currents, struct lw_pair at);

#endif
