/* SPDX-License-Identifier: MIT
 *
 * Published rules for the lengths of a bus, each with what it allows at a bit rate. For stub*.c only.
 */
#ifndef LOOMWATCH_SRC_CALC_STUB_RULES_H
#define LOOMWATCH_SRC_CALC_STUB_RULES_H

#include <stdbool.h>
#include <stddef.h>

/* Which networks a rule is made for. */
enum lw_stub_network { LW_NETWORK_GENERAL, LW_NETWORK_J1939_11, LW_NETWORK_J1939_15, LW_NETWORK_VEHICLE, LW_NETWORK_DEVICENET,
    LW_NETWORK_NMEA2000, LW_N_NETWORKS };

enum lw_stub_quantity { LW_STUB_DROP, LW_STUB_SUM, LW_STUB_TRUNK, LW_N_STUB_QUANTITIES };

struct lw_stub_plan {
    double rate_bps, edge_ns;
    double trunk_m;              /* NaN = not known */
    double loop_ns;              /* TXD to RXD of one transceiver */
    double sample;               /* 0 to 1 */
    unsigned n_drops;
    double longest_m, second_m, sum_m;   /* of the drops */
};

struct lw_stub_rule {
    const char *name, *source;
    const char *when;            /* for what it is made */
    unsigned char network;       /* enum lw_stub_network */
};

extern const struct lw_stub_rule lw_stub_rules[];
extern const size_t lw_n_stub_rules;

/* Metres that a rule allows of a quantity; NaN where it says nothing of it at this bit rate. Rates between two of a table count
 * as the higher one. */
double lw_stub_allowed(size_t rule, enum lw_stub_quantity quantity, const struct lw_stub_plan *plan);

/* What the plan has of it, as this rule counts; NaN = not known. */
double lw_stub_actual(size_t rule, enum lw_stub_quantity quantity, const struct lw_stub_plan *plan);

/* Source: TI SLLA270 4.8: the signal crosses the stub and comes back within the edge, 5 ns a metre each way. */
double lw_critical_length_m(double edge_ns);

/* There and back through two transceivers and the wire, ns. Source: Microchip 38.3.3.2, equation 38-9; 5 ns a metre. */
double lw_round_trip_ns(double loop_ns, double length_m);

/* The length whose round trip ends with the sample point. A bound: clocks that differ take more of it. */
double lw_round_trip_length_m(const struct lw_stub_plan *plan, double rate_bps);

/* The rule of that name; a programmer's mistake where there is none. */
size_t lw_stub_rule_named(const char *name);

/* The nth row of a rule's table, for drawing: its rate, and the trunk it allows, or NaN. Returns false behind the last. */
bool lw_stub_table_row(size_t rule, size_t n, double *rate_bps, double *trunk_m);

#endif
