/* SPDX-License-Identifier: MIT
 *
 * Readings from each wire to ground or to the supply wire, supply off: a wire that touches, and which of the two it is.
 */
#include "meter_parts.h"

#include <math.h>
#include <stdio.h>

enum { TOUCH_OHM = 10, GOOD_OHM = 20000, INPUT_LEAST_OHM = 5000 };

/* What one reading to a rail says by itself. */
enum look { UNKNOWN, TOUCHES, THROUGH_THE_BUS, LEAKS, UNITS_ONLY, CLEAR };

static enum look look_at(double ohm, const struct lw_meter_bus *bus)
{
    double wire = bus->wire_ohm_per_m * bus->length_m;
    double units = bus->units_most > 0 ? INPUT_LEAST_OHM / (2 * bus->units_most) : INFINITY;
    if (isnan(ohm))
        return UNKNOWN;
    if (ohm <= TOUCH_OHM + wire)
        return TOUCHES;
    if (ohm <= lw_meter_span_of(bus, 1).high + TOUCH_OHM + wire)
        return THROUGH_THE_BUS;
    if (ohm >= GOOD_OHM)
        return CLEAR;
    return ohm >= units ? UNITS_ONLY : LEAKS;
}

static void judge(enum look h, enum look l, const char *rail, struct lw_worksheet *sheet)
{
    static const char next[] = "Next: unplug unit by unit, then part the harness in halves, until the reading jumps up.";
    if (h == TOUCHES && l == TOUCHES)
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "Both wires touch %s. %s", rail, next);
    else if (h == TOUCHES || l == TOUCHES)
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "%c touches %s; the other wire is seen through the terminators, and its reading is no fault of "
                        "its own. %s", h == TOUCHES ? 'H' : 'L', rail, next);
    else if (h == THROUGH_THE_BUS || l == THROUGH_THE_BUS)
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "%c is connected to %s through about the resistance of the terminators: most likely %c touches %s.%s",
                        h == THROUGH_THE_BUS ? 'H' : 'L', rail, h == THROUGH_THE_BUS ? 'L' : 'H', rail,
                        h == UNKNOWN || l == UNKNOWN ? " Read the other wire too." : "");
    else if (h == LEAKS || l == LEAKS)
        lw_sheet_answer(sheet, LW_FINDING_MARGINAL, "Something leaks between the pair and %s, more than the inputs of the units explain: wet "
                        "connectors, a damaged unit. %s", rail, next);
    else if (h == UNITS_ONLY || l == UNITS_ONLY)
        lw_sheet_answer(sheet, LW_FINDING_FITS, "No wire touches %s: the inputs of the units explain these readings.", rail);
    else if (h == CLEAR || l == CLEAR)
        lw_sheet_answer(sheet, LW_FINDING_FITS, "No wire touches %s: 20 kohm and more is clear.", rail);
}

static void put_reading(double ohm, const char *wire, const char *rail, struct lw_worksheet *sheet)
{
    char value[LW_NUMBER_UNIT_TEXT], label[LW_SHEET_LABEL];
    snprintf(label, sizeof(label), "%s to %s", wire, rail);
    if (!isnan(ohm))
        lw_sheet_row(sheet, label, lw_number_text(ohm, "ohm", value), NULL, "%s", "");
}

static void look_at_rail(const struct lw_calc_input *input, const struct lw_meter_bus *bus, unsigned h_field, unsigned l_field,
                         const char *rail, struct lw_worksheet *sheet)
{
    double h = lw_calc_number(input, h_field), l = lw_calc_number(input, l_field);
    char units[LW_NUMBER_UNIT_TEXT];
    if (isnan(h) && isnan(l))
        return;
    judge(look_at(h, bus), look_at(l, bus), rail, sheet);
    lw_sheet_heading(sheet, rail);
    put_reading(h, "H", rail, sheet);
    put_reading(l, "L", rail, sheet);
    lw_sheet_row(sheet, "units alone, at the least", lw_number_text(bus->units_most > 0 ? INPUT_LEAST_OHM / (2 * bus->units_most) : INFINITY,
                 "ohm", units), "5 kohm of one input to ground: from memory of ISO 11898-2", "%d ohm / (2 wires x %g units)", INPUT_LEAST_OHM,
                 bus->units_most);
    lw_sheet_row(sheet, "clear", "20 kohm and more", "insulation asked for in a car maker's workshop sheet", "%s", "");
}

void lw_meter_rails(const struct lw_calc_input *input, const struct lw_meter_bus *bus, struct lw_worksheet *sheet)
{
    look_at_rail(input, bus, LW_METER_H_GROUND, LW_METER_L_GROUND, "ground", sheet);
    look_at_rail(input, bus, LW_METER_H_SUPPLY, LW_METER_L_SUPPLY, "the supply", sheet);
}
