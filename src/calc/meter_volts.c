/* SPDX-License-Identifier: MIT
 *
 * Readings of H and L against ground on a powered bus: as they should be, or what explains them.
 */
#include "meter_volts.h"

#include "meter_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* A frame of the standard has at most five dominant bits to each recessive one, and at least one dominant in eight. Bit
 * stuffing, ISO 11898-1. A bus that is 80 % full is as full as a working one gets: where loomwatch watch lights its window. */
static const double dominant_most = 5.0 / 6, dominant_least = 1.0 / 8, load_most = 0.8;

static struct lw_volt_bus bus_of(const struct lw_calc_input *input)
{
    double load = lw_calc_number(input, LW_METER_LOAD) / 100;
    bool is_idle = lw_calc_choice(input, LW_METER_BUS) == LW_METER_BUS_IDLE;
    struct lw_volt_bus bus = { lw_calc_number(input, LW_METER_SUPPLY), { 0, load_most * dominant_most },
                               lw_calc_choice(input, LW_METER_BUS) == LW_METER_BUS_TRAFFIC || load > 0, load };
    if (is_idle)
        bus.share = (struct lw_span){ 0, 0 };
    else if (!isnan(load))
        bus.share = (struct lw_span){ load * dominant_least, load * dominant_most };
    return bus;
}

static char *readings_text(double h, double l, char buf[LW_SPAN_TEXT])
{
    char a[LW_NUMBER_UNIT_TEXT], b[LW_NUMBER_UNIT_TEXT];
    if (!isnan(h) && !isnan(l))
        snprintf(buf, LW_SPAN_TEXT, "H at %s and L at %s", lw_number_text(h, "V", a), lw_number_text(l, "V", b));
    else
        snprintf(buf, LW_SPAN_TEXT, "%c at %s", isnan(h) ? 'L' : 'H', lw_number_text(isnan(h) ? l : h, "V", a));
    return buf;
}

/* The spans of what is read: "H at 2.256 to 3.423 V, L at ..., 0 to 1.7 V apart". */
enum { SPANS_TEXT = 4 * LW_SPAN_TEXT };
static char *spans_text(enum lw_volt_cause cause, double h, double l, const struct lw_volt_bus *bus, char buf[SPANS_TEXT])
{
    struct lw_volt_spans spans = lw_volt_spans_of(cause, bus);
    char a[LW_SPAN_TEXT], b[LW_SPAN_TEXT], c[LW_SPAN_TEXT];
    if (isnan(h) || isnan(l))
        snprintf(buf, SPANS_TEXT, "%c at %s", isnan(h) ? 'L' : 'H', lw_span_text(isnan(h) ? spans.l : spans.h, "V", a));
    else
        snprintf(buf, SPANS_TEXT, "H at %s and L at %s, %s apart", lw_span_text(spans.h, "V", a), lw_span_text(spans.l, "V", b),
                 lw_span_text(spans.difference, "V", c));
    return buf;
}

static void put_list(unsigned causes, double h, double l, struct lw_worksheet *sheet)
{
    char list[LW_SHEET_ANSWER_TEXT] = "";
    int first = -1;
    size_t n = 0;
    for (int i = LW_VOLT_LEAK_UP; i < LW_N_VOLTS; i++)
        if (causes >> i & 1) {
            n += (size_t)snprintf(list + n, n < sizeof(list) ? sizeof(list) - n : 0, "%s%s", n > 0 ? "; " : "", lw_volt_words((enum lw_volt_cause)i));
            first = first < 0 ? i : first;
        }
    if (first < 0) {
        lw_sheet_answer(sheet, LW_FINDING_NONE, "No single fault of those reckoned with explains it; two at once may, and so may a meter on the "
                        "wrong wires.");
        return;
    }
    lw_sheet_answer(sheet, LW_FINDING_NONE, "Possible: %s.", list);
    if (isnan(h) || isnan(l))
        lw_sheet_answer(sheet, LW_FINDING_NONE, "Next: read %s as well and give both. Both wires up or down together: a leak or a ground. Far apart: "
                        "held dominant. One of them at the supply or at ground: it touches.", isnan(h) ? "H" : "L");
    else
        lw_sheet_answer(sheet, LW_FINDING_NONE, "%s", lw_volt_next((enum lw_volt_cause)first));
}

static void put_finding(unsigned causes, double h, double l, const struct lw_volt_bus *bus, struct lw_worksheet *sheet)
{
    char read[LW_SPAN_TEXT], good[SPANS_TEXT], limit[SPANS_TEXT], load[LW_NUMBER_UNIT_TEXT];
    readings_text(h, l, read);
    spans_text(LW_VOLT_TYPICAL, h, l, bus, good);
    spans_text(LW_VOLT_LIMITS, h, l, bus, limit);
    lw_number_text(100 * bus->share.high / dominant_most, "%", load);
    bool may_touch = causes & 1u << LW_VOLT_TOUCH;
    if ((causes & 1u << LW_VOLT_TYPICAL) && may_touch)
        lw_sheet_answer(sheet, LW_FINDING_CANNOT_TELL, "%s: so reads a bus with hardly any traffic, and also one on which H and L touch. With traffic H stands "
                        "above L: say how much there is with load=, or read ohms between H and L with the supply off.", read);
    else if (causes & 1u << LW_VOLT_TYPICAL)
        lw_sheet_answer(sheet, LW_FINDING_FITS, "%s: so it should be. On a bus with up to %s load a multimeter shows %s.", read, load, good);
    else if (causes & 1u << LW_VOLT_LIMITS)
        lw_sheet_answer(sheet, LW_FINDING_MARGINAL, "%s: only just possible on a good bus. With up to %s load a multimeter usually shows %s; the "
                        "limits of the standard allow %s.", read, load, good, limit);
    else
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "%s: no average that traffic can give. With up to %s load a multimeter shows %s; the limits of the "
                        "standard allow %s.", read, load, good, limit);
    if ((causes & 1u << LW_VOLT_TYPICAL) && !may_touch)
        lw_sheet_answer(sheet, LW_FINDING_NONE, "A good average does not prove a good bus: a multimeter shows neither edges nor single errors.");
    else
        put_list(causes, h, l, sheet);
}

static void put_table(unsigned causes, const struct lw_volt_bus *bus, const char *read, struct lw_worksheet *sheet)
{
    static const char *const heads[] = { "what is so", "H", "L", "here" };
    char title[LW_SHEET_TITLE], h[LW_SPAN_TEXT], l[LW_SPAN_TEXT];
    snprintf(title, sizeof(title), "what a multimeter shows against ground; here %s", read);
    struct lw_sheet_table *table = lw_sheet_table(sheet, title);
    lw_table_heads(table, 4, heads);
    for (int i = 0; i < LW_N_VOLTS; i++) {
        struct lw_volt_spans spans = lw_volt_spans_of((enum lw_volt_cause)i, bus);
        if (spans.h.low > spans.h.high)
            continue;
        const char *const cells[] = { lw_volt_words((enum lw_volt_cause)i), lw_span_text(spans.h, "V", h), lw_span_text(spans.l, "V", l),
                                      causes >> i & 1 ? "possible" : "" };
        lw_table_row(table, LW_FINDING_NONE, cells);
    }
}

/* The inputs of the units hold the pair at 2.5 V, each wire through 5 to 50 kohm a unit; a leak pulls against all of them. */
static void put_leak(const struct lw_calc_input *input, double v, double supply, struct lw_worksheet *sheet)
{
    double units = lw_calc_number(input, LW_METER_UNITS), rail = v > 2.5 ? supply : 0, ratio = (rail - v) / (v - 2.5);
    struct lw_span leak = { lw_roughly(ratio * 5e3 / 2 / (isnan(units) ? 30 : units)),
                            lw_roughly(ratio * 50e3 / 2 / (isnan(units) ? 2 : units)) };
    char value[LW_SPAN_TEXT];
    if (ratio <= 0 || fabs(v - 2.5) < 0.1 || units == 0)
        return;
    lw_sheet_row(sheet, v > 2.5 ? "a leak to the supply that would do it" : "a leak to ground that would do it", lw_span_text(leak, "ohm", value),
                 "5 to 50 kohm of a unit's input: from memory of ISO 11898-2", "(%g - %.3g) / (%.3g - 2.5) x input / (2 wires x units); bus at rest", rail,
                 v, v);
}

static void put_working(const struct lw_calc_input *input, double h, double l, const struct lw_volt_bus *bus, struct lw_worksheet *sheet)
{
    char value[LW_NUMBER_UNIT_TEXT];
    bool has_both = !isnan(h) && !isnan(l);
    double middle = has_both ? (h + l) / 2 : isnan(h) ? l : h;
    lw_sheet_heading(sheet, "volts");
    lw_sheet_row(sheet, "dominant for at most", lw_number_text(100 * bus->share.high, "%", value), "bit stuffing: at most five in six bits, ISO 11898-1",
                 "%s", "load x 5/6; without a load given, 80 %; on an idle bus 0");
    lw_sheet_row(sheet, "H, usual", "2.5 V + share x 1 V", "TI SLOA101B: 2.5 V at rest, 3.5 and 1.5 V dominant; 2.256 to 2.756 V at rest: TI TCAN1465", "%s",
                 "L the other way round, so that both together give about 5 V");
    lw_sheet_row(sheet, "H, limits", "2 to 3 V at rest, 2.75 to 4.5 V dominant", "ISO 11898-2 as in TI TCAN1145", "%s", "L: 0.5 to 2.25 V dominant");
    if (has_both) {
        lw_sheet_row(sheet, "dominant by these readings", lw_number_text(100 * (h - l) / 2, "%", value), "the same", "(%.4g - %.4g) / 2 V", h, l);
        lw_sheet_row(sheet, "middle of both", lw_number_text(middle, "V", value), NULL, "(%.4g + %.4g) / 2; 2.5 V where all grounds are one", h, l);
    }
    put_leak(input, middle, bus->supply_v, sheet);
    lw_sheet_row(sheet, "a multimeter averages", "", "warning in a tractor maker's display help", "%s", "another meter, or another second, may show other "
                 "tenths of a volt; compare only readings of one meter");
}

/* Both sides of a plugged connector must show the same. */
static void put_other_side(double here, double there, char wire, struct lw_worksheet *sheet)
{
    char a[LW_NUMBER_UNIT_TEXT], b[LW_NUMBER_UNIT_TEXT];
    if (isnan(here) || isnan(there))
        return;
    lw_number_text(here, "V", a);
    lw_number_text(there, "V", b);
    if (fabs(here - there) <= 0.1)
        lw_sheet_answer(sheet, LW_FINDING_FITS, "%c is the same on both sides of the connector: %s and %s.", wire, a, b);
    else
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "The connector does not carry %c: %s on this side, %s on the other. The side that is nearer to 2.5 V "
                        "(%s) is the one that still hangs on the bus.", wire, a, b, fabs(here - 2.5) <= fabs(there - 2.5) ? "this" : "the other");
}

void lw_meter_volts(const struct lw_calc_input *input, struct lw_worksheet *sheet)
{
    double h = lw_calc_number(input, LW_METER_H), l = lw_calc_number(input, LW_METER_L);
    struct lw_volt_bus bus = bus_of(input);
    char read[LW_SPAN_TEXT];
    if (bus.load > 0 && lw_calc_choice(input, LW_METER_BUS) == LW_METER_BUS_IDLE) {
        lw_sheet_refuse(sheet, "load: an idle bus has none; write bus=traffic, or leave load out");
        return;
    }
    if (isnan(h) && isnan(l))
        return;
    unsigned causes = lw_volt_causes(h, l, &bus);
    put_finding(causes, h, l, &bus, sheet);
    put_table(causes, &bus, readings_text(h, l, read), sheet);
    put_working(input, h, l, &bus, sheet);
    put_other_side(h, lw_calc_number(input, LW_METER_H_OTHER), 'H', sheet);
    put_other_side(l, lw_calc_number(input, LW_METER_L_OTHER), 'L', sheet);
}
