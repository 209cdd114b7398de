/* SPDX-License-Identifier: MIT
 *
 * A network of resistors and sources, solved by star-mesh transformation: nodes are taken out one after the other, each
 * star replaced by the mesh that does the same. Only positive numbers are added, so that 1 gigohm beside 1 milliohm loses
 * no digit, and no pivot can vanish. Private to the bench.
 */
#ifndef LOOMWATCH_BENCH_NETWORK_H
#define LOOMWATCH_BENCH_NETWORK_H

/* Nodes are numbered from 0; neighbours should have near numbers, for the work grows with the distance. */
struct lw_network {
    unsigned capacity, n_nodes;
    double *conductance;         /* [i × capacity + j] for j > i, in siemens; after reduction: of the star of node i */
    double *ground;              /* siemens to the source (or ground) of each node */
    double *injected;            /* amperes into each node with all sources replaced by currents */
    double *star;                /* after reduction: sum of the star of each node */
    unsigned *reach;             /* highest node that node i is connected to */
};

/* Returns 0 or -ENOMEM; finish takes a zeroed one. */
int lw_network_init(struct lw_network *network, unsigned capacity);
void lw_network_finish(struct lw_network *network);

/* n_nodes nodes with leak_ohm to ground each and nothing else. */
void lw_network_clear(struct lw_network *network, unsigned n_nodes, double leak_ohm);

/* Put parts in, before reduction. A source is a voltage against ground behind a resistor; 0 V is a resistor to ground. */
void lw_network_resistor(struct lw_network *network, unsigned a, unsigned b, double ohm);
void lw_network_source(struct lw_network *network, unsigned node, double volt, double ohm);

/* Eliminates the nodes. Nothing can be put in after it. */
void lw_network_reduce(struct lw_network *network);

/* Volts of every node for currents into every node (amperes), in place. */
void lw_network_solve(const struct lw_network *network, double *amperes_to_volts);

/* Ohms between two nodes with all sources at 0 V. work has n_nodes places. */
double lw_network_ohms(const struct lw_network *network, unsigned a, unsigned b, double *work);

#endif
