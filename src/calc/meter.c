/* SPDX-License-Identifier: MIT
 *
 * `meter`: what readings of a multimeter mean, by a network computed from what is known of the bus.
 */
#include "meter_parts.h"

#include "wire_gauge.h"

#include <math.h>
#include <stdio.h>

static const char *const windows[] = { "100-130", "108-132", NULL };
static const char *const bus_states[] = { "unknown", "idle", "traffic", NULL };
static const char *const yes_no[] = { "no", "yes", NULL };

#define OHMS(name_, words_, example_) \
    { .name = name_, .words = words_, .unit = "ohm", .example = example_, .min = 0, .max = 1e8, .may_be_open = true }
#define VOLTS(name_, words_, example_) { .name = name_, .words = words_, .unit = "V", .example = example_, .min = -40, .max = 60 }
#define COUNT(name_, words_, example_, preset_, max_) \
    { .name = name_, .words = words_, .example = example_, .preset = preset_, .min = 0, .max = max_, .kind = LW_FIELD_COUNT }

static const struct lw_calc_field fields[LW_METER_N_FIELDS] = {
    [LW_METER_BETWEEN] = OHMS("between", "reading between H and L, supply off, everything plugged in", "118"),
    [LW_METER_TERMINATORS] = COUNT("terminators", "how many terminators the bus should have", "2", "2", 8),
    [LW_METER_UNITS] = COUNT("units", "how many units hang on the bus, terminators aside; without it 2 to 30", "6", NULL, 110),
    [LW_METER_H] = VOLTS("h", "H against ground, supply on", "2.8"),
    [LW_METER_L] = VOLTS("l", "L against ground, supply on", "2.2"),
    [LW_METER_BUS] = { .name = "bus", .words = "what was on the bus while volts were read", .example = "traffic", .preset = "unknown",
                       .choices = bus_states, .kind = LW_FIELD_CHOICE },
    [LW_METER_LOAD] = { .name = "load", .words = "load of the bus meanwhile, as loomwatch watch shows it", .unit = "%", .example = "30%",
                        .min = 0, .max = 100 },
    [LW_METER_SUPPLY] = { .name = "supply", .words = "voltage of the machine's supply", .unit = "V", .example = "24", .preset = "12",
                          .min = 5, .max = 60 },
    [LW_METER_THIS_SIDE] = OHMS("this-side", "connector apart, supply off: H to L on this side of it", "120"),
    [LW_METER_OTHER_SIDE] = OHMS("other-side", "connector apart, supply off: H to L on its other side", "OL"),
    [LW_METER_TERMINATORS_THIS] = COUNT("terms-this", "how many terminators belong to this side", "1", "1", 8),
    [LW_METER_TERMINATORS_OTHER] = COUNT("terms-other", "how many terminators belong to the other side", "1", "1", 8),
    [LW_METER_H_OTHER] = VOLTS("h-other", "H against ground on the other side of a plugged connector", "2.8"),
    [LW_METER_L_OTHER] = VOLTS("l-other", "L against ground on the other side of a plugged connector", "2.2"),
    [LW_METER_H_GROUND] = OHMS("h-ground", "H to ground, supply off", "5k"),
    [LW_METER_L_GROUND] = OHMS("l-ground", "L to ground, supply off", "5k"),
    [LW_METER_H_SUPPLY] = OHMS("h-supply", "H to the supply wire, supply off", "20k"),
    [LW_METER_L_SUPPLY] = OHMS("l-supply", "L to the supply wire, supply off", "20k"),
    [LW_METER_TERMINATOR] = { .name = "terminator", .words = "one terminator, where it is known: taken with 1 %, not by window",
                              .unit = "ohm", .example = "120", .min = 10, .max = 1000 },
    [LW_METER_WINDOW] = { .name = "window", .words = "what a terminator may have: 100-130 ohm as quoted from ISO 11898-2 by one maker, "
                          "108-132 by another", .example = "108-132", .preset = "100-130", .choices = windows, .kind = LW_FIELD_CHOICE },
    [LW_METER_SPLIT] = { .name = "split", .words = "terminators are two halves with a capacitor between", .example = "yes", .preset = "no",
                         .choices = yes_no, .kind = LW_FIELD_CHOICE },
    [LW_METER_LENGTH] = { .name = "length", .words = "length of the trunk", .unit = "m", .example = "8.5m", .preset = "10m", .min = 0,
                          .max = 5000 },
    [LW_METER_POSITION] = { .name = "position", .words = "where on the trunk the meter is, from one end; without it anywhere",
                            .unit = "m", .example = "3m", .min = 0, .max = 5000 },
    [LW_METER_GAUGE] = { .name = "gauge", .words = "copper of one wire", .unit = "mm2", .example = "0.5mm2", .preset = "0.5mm2",
                         .min = 0.01, .max = 100, .kind = LW_FIELD_GAUGE },
};

char *lw_span_text(struct lw_span span, const char *unit, char buf[LW_SPAN_TEXT])
{
    return lw_range_text(span.low, span.high, unit, buf);
}

double lw_roughly(double value)
{
    if (value == 0 || !isfinite(value))
        return value;
    double power = pow(10, floor(log10(fabs(value))) - 1);
    return round(value / power) * power;
}

static struct lw_span terminator_span(const struct lw_calc_input *input)
{
    static const struct lw_span by_window[] = { { 100, 130 }, { 108, 132 } };
    double known = lw_calc_number(input, LW_METER_TERMINATOR);
    if (!isnan(known))
        return (struct lw_span){ 0.99 * known, 1.01 * known };
    return by_window[lw_calc_choice(input, LW_METER_WINDOW)];
}

static struct lw_meter_bus bus_of(const struct lw_calc_input *input)
{
    double units = lw_calc_number(input, LW_METER_UNITS);
    return (struct lw_meter_bus){
        .terminator = terminator_span(input), .unit = { 10e3, 100e3 },
        .units_least = isnan(units) ? 2 : units, .units_most = isnan(units) ? 30 : units,
        .length_m = lw_calc_number(input, LW_METER_LENGTH), .position_m = lw_calc_number(input, LW_METER_POSITION),
        .wire_ohm_per_m = lw_copper_ohm_per_m(lw_calc_number(input, LW_METER_GAUGE)),
    };
}

/* What every ohm below is computed from. */
static void put_premises(const struct lw_calc_input *input, const struct lw_meter_bus *bus, struct lw_worksheet *sheet)
{
    char text[LW_SPAN_TEXT], units[LW_SPAN_TEXT], wire[LW_NUMBER_UNIT_TEXT];
    bool is_known = lw_calc_has(input, LW_METER_TERMINATOR), is_narrow = lw_calc_choice(input, LW_METER_WINDOW) == 1;
    lw_sheet_heading(sheet, "what it is computed from");
    lw_sheet_row(sheet, "one terminator", lw_span_text(bus->terminator, "ohm", text),
                 is_known ? "as given" : is_narrow ? "window 108-132: 120 ohm ± 10 %, quoted by an ICP DAS manual"
                 : "window 100-130: ISO 11898-2 as quoted in an NI manual (sbRIO-960x, table 10)",
                 "%s", lw_calc_choice(input, LW_METER_SPLIT) == 1 ? "split: two halves in series; to an ohmmeter the same, as the capacitor "
                 "lets no direct current through" : "");
    lw_sheet_row(sheet, "input of one unit between H and L", lw_span_text(bus->unit, "ohm", text),
                 "10 kohm at least: OpenLCB CAN Physical TN 2.2; the upper end from memory", "times %s", lw_span_text((struct lw_span){ bus->units_least, bus->units_most }, "units", units));
    lw_sheet_row(sheet, "trunk, both wires", lw_number_text(2 * bus->wire_ohm_per_m * bus->length_m, "ohm", text),
                 "copper of 1/58 ohm mm2/m: IEC 60028; gauges: ASTM B258", "2 x %g m x %s a metre", bus->length_m,
                 lw_number_text(bus->wire_ohm_per_m, "ohm", wire));
}

static void run(const struct lw_calc_input *input, struct lw_worksheet *sheet)
{
    struct lw_meter_bus bus = bus_of(input);
    bool has_ohms = false, has_volts = lw_calc_has(input, LW_METER_H) || lw_calc_has(input, LW_METER_L)
        || lw_calc_has(input, LW_METER_H_OTHER) || lw_calc_has(input, LW_METER_L_OTHER);
    for (unsigned i = 0; i < LW_METER_N_FIELDS; i++)
        has_ohms = has_ohms || (lw_calc_has(input, i) && fields[i].may_be_open);
    if (!has_ohms && !has_volts) {
        lw_sheet_answer(sheet, LW_FINDING_CANNOT_TELL, "No reading is given. Give one, for instance between=118 (ohms between H and L, supply "
                        "off), or h=2.8 l=2.2 (volts against ground, supply on).");
        return;
    }
    if (bus.position_m > bus.length_m) {
        lw_sheet_refuse(sheet, "position: the meter cannot be %g m along a trunk of %g m; write a position up to length", bus.position_m,
                        bus.length_m);
        return;
    }
    for (unsigned i = 0; i < 2; i++)
        if (lw_calc_has(input, LW_METER_H_OTHER + i) && !lw_calc_has(input, LW_METER_H + i)) {
            lw_sheet_refuse(sheet, "%s is missing: %s is compared with it; write for instance %s=2.6", fields[LW_METER_H + i].name,
                            fields[LW_METER_H_OTHER + i].name, fields[LW_METER_H + i].name);
            return;
        }
    lw_meter_sides(input, &bus, sheet);
    lw_meter_ohms(input, &bus, sheet);
    lw_meter_rails(input, &bus, sheet);
    lw_meter_volts(input, sheet);
    if (has_ohms)
        put_premises(input, &bus, sheet);
}

const struct lw_calculator lw_calc_meter = {
    .name = "meter", .words = "what a multimeter reading on the pair means", .example = "between=118 units=6",
    .has_cautions = true, .n_fields = LW_METER_N_FIELDS, .fields = fields, .run = run,
};
