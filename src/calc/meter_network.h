/* SPDX-License-Identifier: MIT
 *
 * The bus at rest as a network of resistors, seen by an ohmmeter between H and L. For meter*.c only.
 */
#ifndef LOOMWATCH_SRC_CALC_METER_NETWORK_H
#define LOOMWATCH_SRC_CALC_METER_NETWORK_H

#include <stdbool.h>

/* All that a quantity may be. high may be INFINITY. */
struct lw_span {
    double low, high;
};

bool lw_span_holds(struct lw_span span, struct lw_span reading);   /* whether they have a value in common */
struct lw_span lw_span_join(struct lw_span a, struct lw_span b);   /* from the lowest to the highest of both */

/* Ohms; INFINITY is an open circuit. */
double lw_parallel(double a, double b);

struct lw_meter_bus {
    struct lw_span terminator;   /* ohms of one */
    struct lw_span unit;         /* ohms of one unit's input between H and L */
    double units_least, units_most;   /* how many hang on it */
    double length_m;
    double position_m;           /* of the meter, from one end; NaN = anywhere */
    double wire_ohm_per_m;       /* of one wire */
};

/* One state of the bus: how many terminators are at the near end, at the meter, at the far end; whether all units are still
 * connected, or perhaps none; a resistance that lies between the wires at the meter, and one in the way to the far end. */
struct lw_meter_state {
    double n_near, n_here, n_far;
    bool has_all_units;
    double across_ohm;           /* INFINITY = nothing */
    double in_way_ohm;           /* 0 = nothing, INFINITY = open */
};

/* What the meter reads with terminators of terminator_ohm, all units together of units_ohm, at position_m. The units count as
 * being where the meter is: with inputs of 10 kohm and more the wire between makes no difference that a meter shows. */
double lw_meter_reads(const struct lw_meter_bus *bus, const struct lw_meter_state *state, double terminator_ohm, double units_ohm,
                      double position_m);

/* The same over all tolerances and, where it is not known, over all positions. */
struct lw_span lw_meter_span(const struct lw_meter_bus *bus, const struct lw_meter_state *state);

/* With n terminators, wherever those beyond the two ends are. n = 1: at either end. */
struct lw_span lw_meter_span_of(const struct lw_meter_bus *bus, unsigned n_terminators);

/* What contact in the way to one of two terminators makes this reading, and what lies across the bus that would else read
 * without_ohm; INFINITY where even an open one is not enough. The inverse of lw_meter_reads without wire and units. */
double lw_meter_contact_ohm(double reading_ohm, double terminator_ohm);
double lw_meter_across_ohm(double reading_ohm, double without_ohm);

/* A reading as the meter shows it is this much: 1 % and 0.3 ohm of its leads. Common practice, no source. */
struct lw_span lw_meter_ohm_reading(double ohm);

#endif
