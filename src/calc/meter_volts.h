/* SPDX-License-Identifier: MIT
 *
 * What H and L read against ground on a powered bus: the causes, each as spans of both. For meter_volts*.c only.
 */
#ifndef LOOMWATCH_SRC_CALC_METER_VOLTS_H
#define LOOMWATCH_SRC_CALC_METER_VOLTS_H

#include "meter_network.h"

enum lw_volt_cause {
    LW_VOLT_TYPICAL, LW_VOLT_LIMITS, LW_VOLT_LEAK_UP, LW_VOLT_OFFSET, LW_VOLT_DOMINANT, LW_VOLT_H_SUPPLY, LW_VOLT_L_SUPPLY,
    LW_VOLT_SWAPPED, LW_VOLT_TOUCH, LW_VOLT_LEAK_DOWN, LW_VOLT_L_GROUND, LW_VOLT_H_GROUND, LW_VOLT_DEAD, LW_N_VOLTS,
};

/* A powered bus. share: of the time in which the bus is dominant, at the least and at the most. */
struct lw_volt_bus {
    double supply_v;
    struct lw_span share;
    bool has_traffic;            /* known to have some */
    double load;                 /* 0 to 1; NaN = not known */
};

struct lw_volt_spans {
    struct lw_span h, l, difference;
};

/* The averages that a multimeter shows. Causes that do not come into question have empty spans { 1, 0 }. */
struct lw_volt_spans lw_volt_spans_of(enum lw_volt_cause cause, const struct lw_volt_bus *bus);
const char *lw_volt_words(enum lw_volt_cause cause);
const char *lw_volt_next(enum lw_volt_cause cause);

/* Bit n: cause n explains the readings; NaN = not read. */
unsigned lw_volt_causes(double h_v, double l_v, const struct lw_volt_bus *bus);

/* A reading is this much: 1 % and 20 mV. Common practice, no source. */
struct lw_span lw_volt_reading(double v);

#endif
