/* SPDX-License-Identifier: MIT
 *
 * What the meter*.c files share: the fields of `meter`, and the parts of its worksheet.
 */
#ifndef LOOMWATCH_SRC_CALC_METER_PARTS_H
#define LOOMWATCH_SRC_CALC_METER_PARTS_H

#include "loomwatch/calc/calculator.h"
#include "meter_network.h"

enum lw_meter_field {
    LW_METER_BETWEEN, LW_METER_TERMINATORS, LW_METER_UNITS, LW_METER_H, LW_METER_L, LW_METER_BUS, LW_METER_LOAD, LW_METER_SUPPLY,
    LW_METER_THIS_SIDE, LW_METER_OTHER_SIDE, LW_METER_TERMINATORS_THIS, LW_METER_TERMINATORS_OTHER, LW_METER_H_OTHER, LW_METER_L_OTHER,
    LW_METER_H_GROUND, LW_METER_L_GROUND, LW_METER_H_SUPPLY, LW_METER_L_SUPPLY,
    LW_METER_TERMINATOR, LW_METER_WINDOW, LW_METER_SPLIT, LW_METER_LENGTH, LW_METER_POSITION, LW_METER_GAUGE,
    LW_METER_N_FIELDS,
};

enum { LW_METER_BUS_UNKNOWN, LW_METER_BUS_IDLE, LW_METER_BUS_TRAFFIC };

/* To two digits: of what is only an estimate. */
double lw_roughly(double value);

/* "48.5 to 65 ohm". */
enum { LW_SPAN_TEXT = LW_RANGE_TEXT };
char *lw_span_text(struct lw_span span, const char *unit, char buf[LW_SPAN_TEXT]);

/* Each looks at its readings and does nothing where they are not given. bus: as it should be. */
void lw_meter_ohms(const struct lw_calc_input *input, const struct lw_meter_bus *bus, struct lw_worksheet *sheet);
void lw_meter_sides(const struct lw_calc_input *input, const struct lw_meter_bus *bus, struct lw_worksheet *sheet);
void lw_meter_rails(const struct lw_calc_input *input, const struct lw_meter_bus *bus, struct lw_worksheet *sheet);
void lw_meter_volts(const struct lw_calc_input *input, struct lw_worksheet *sheet);

/* What a reading between H and L may be, of a bus or a part of it that should have so many terminators. */
enum lw_meter_cause {
    LW_OHM_NORMAL, LW_OHM_ONE_MISSING, LW_OHM_OPEN_WIRE, LW_OHM_CONTACT, LW_OHM_ALL_MISSING, LW_OHM_NOT_BUS,
    LW_OHM_ONE_MORE, LW_OHM_TWO_MORE, LW_OHM_SHORT, LW_OHM_ACROSS, LW_N_OHMS,
};

/* Spans that nothing can give are { 1, 0 }. */
struct lw_span lw_meter_cause_span(enum lw_meter_cause cause, const struct lw_meter_bus *bus, unsigned n_terminators);
const char *lw_meter_cause_words(enum lw_meter_cause cause);

/* Bit n: cause n explains the reading. */
unsigned lw_meter_causes(double ohm, const struct lw_meter_bus *bus, unsigned n_terminators);

#endif
