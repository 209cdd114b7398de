/* SPDX-License-Identifier: MIT
 *
 * A reading between H and L with the supply off: as it should be, or which causes explain it, and what to check next.
 */
#include "meter_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const next_checks[LW_N_OHMS] = {
    [LW_OHM_ONE_MISSING] = "Next, supply off: unplug each terminator and read it by itself. One that reads its 120 ohm is good; then the wire "
        "to it is open: read H and L from end to end, each by itself.",
    [LW_OHM_OPEN_WIRE] = "Next, supply off: read H and L from end to end, each by itself.",
    [LW_OHM_CONTACT] = "Next, supply off: read H and L from end to end, each by itself, while the plugs are moved.",
    [LW_OHM_ALL_MISSING] = "Next, supply off: look at both ends for the terminators, and read from here to each end, wire by wire.",
    [LW_OHM_NOT_BUS] = "Next: make sure that these two wires are the pair: at a unit's connector, by the maker's diagram. Then read each wire "
        "from here to the trunk.",
    [LW_OHM_ONE_MORE] = "Next, supply off: unplug what was added last, then unit by unit, until the reading jumps up: that one has a terminator "
        "built in or switched on.",
    [LW_OHM_TWO_MORE] = "Next, supply off: unplug what was added last, then unit by unit, and watch the reading jump up.",
    [LW_OHM_SHORT] = "Next, supply off: unplug unit by unit, then part the harness in halves, until the reading jumps up: the touch is in the "
        "part that you took away.",
    [LW_OHM_ACROSS] = "Next, supply off: unplug unit by unit, and look for wet or crushed connectors.",
};

static struct lw_span contact_of(struct lw_span reading, const struct lw_meter_bus *bus)
{
    return (struct lw_span){ lw_roughly(lw_meter_contact_ohm(reading.low, bus->terminator.high)),
                             lw_roughly(lw_meter_contact_ohm(reading.high, bus->terminator.low)) };
}

static struct lw_span across_of(struct lw_span reading, struct lw_span normal)
{
    return (struct lw_span){ lw_roughly(lw_meter_across_ohm(reading.low, normal.high)), lw_roughly(lw_meter_across_ohm(reading.high, normal.low)) };
}

static void add(char *buf, size_t size, const char *text)
{
    size_t n = strlen(buf);
    snprintf(buf + n, size - n, "%s%s", n > 0 ? "; " : "", text);
}

static void name_cause(enum lw_meter_cause cause, double ohm, const struct lw_meter_bus *bus, unsigned n, char *buf, size_t size)
{
    char text[200], span[LW_SPAN_TEXT];
    struct lw_span reading = lw_meter_ohm_reading(ohm);
    const char *words = lw_meter_cause_words(cause);
    if (cause == LW_OHM_CONTACT && n == 2) {
        struct lw_span contact = contact_of(reading, bus);
        if (isinf(contact.high))
            snprintf(text, sizeof(text), "%s, of %s or more", words, lw_number_text(contact.low, "ohm", span));
        else
            snprintf(text, sizeof(text), "%s, of %s", words, lw_span_text(contact, "ohm", span));
    } else if (cause == LW_OHM_ACROSS) {
        snprintf(text, sizeof(text), "%s, of %s", words, lw_span_text(across_of(reading, lw_meter_span_of(bus, n)), "ohm", span));
    } else if (cause == LW_OHM_SHORT && ohm > 0.5) {
        double m = ohm / (2 * bus->wire_ohm_per_m);
        snprintf(text, sizeof(text), "%s, at most %s of wire away", words, lw_number_text(lw_roughly(fmin(m, bus->length_m)), "m", span));
    } else {
        snprintf(text, sizeof(text), "%s", words);
    }
    add(buf, size, text);
}

static void put_causes(double ohm, unsigned causes, const struct lw_meter_bus *bus, unsigned n, struct lw_worksheet *sheet)
{
    char list[LW_SHEET_ANSWER_TEXT] = "", value[LW_NUMBER_UNIT_TEXT], span[LW_SPAN_TEXT];
    int first = -1;
    lw_number_text(ohm, "ohm", value);
    lw_span_text(lw_meter_span_of(bus, n), "ohm", span);
    for (int i = LW_OHM_ONE_MISSING; i < LW_N_OHMS; i++)
        if (causes >> i & 1) {
            name_cause((enum lw_meter_cause)i, ohm, bus, n, list, sizeof(list));
            first = first < 0 ? i : first;
        }
    lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "Between H and L %s: not what this bus should read, which is %s with %u terminator%s.", value, span, n,
                    n == 1 ? "" : "s");
    if (first < 0) {
        lw_sheet_answer(sheet, LW_FINDING_NONE, "No single fault of those reckoned with explains it; two at once may.");
        return;
    }
    lw_sheet_answer(sheet, LW_FINDING_NONE, "Possible, the commonest first: %s.", list);
    double wire = bus->wire_ohm_per_m * bus->length_m;
    if (first <= LW_OHM_CONTACT)
        lw_sheet_answer(sheet, LW_FINDING_NONE, "%s By its length a wire has %s; %s and more is a bad contact.", next_checks[first],
                        lw_number_text(lw_roughly(wire), "ohm", value), lw_number_text(lw_roughly(wire + 5), "ohm", span));
    else
        lw_sheet_answer(sheet, LW_FINDING_NONE, "%s", next_checks[first]);
}

/* A good reading does not say that all is good. */
static void put_normal(double ohm, const struct lw_meter_bus *bus, unsigned n, struct lw_worksheet *sheet)
{
    char value[LW_NUMBER_UNIT_TEXT], span[LW_SPAN_TEXT], hidden[LW_NUMBER_UNIT_TEXT];
    lw_sheet_answer(sheet, LW_FINDING_FITS, "Between H and L %s: as it should be on this bus, which reads %s with %u terminator%s.",
                    lw_number_text(ohm, "ohm", value), lw_span_text(lw_meter_span_of(bus, n), "ohm", span), n, n == 1 ? "" : "s");
    if (n != 2)
        return;
    lw_number_text(contact_of(lw_meter_ohm_reading(ohm), bus).high, "ohm", hidden);
    lw_sheet_answer(sheet, LW_FINDING_NONE, "What it cannot tell: a single terminator of 60 ohm reads the same as two of 120 at the ends; a contact of "
                    "up to %s in the way to one of them hides in their tolerance; and a unit whose own stub is open is not seen.", hidden);
}

static void put_table(double ohm, unsigned causes, const struct lw_meter_bus *bus, unsigned n, struct lw_worksheet *sheet)
{
    static const char *const heads[] = { "what is so", ">from", ">to", "here" };
    char title[LW_SHEET_TITLE], value[LW_NUMBER_UNIT_TEXT], low[LW_NUMBER_UNIT_TEXT], high[LW_NUMBER_UNIT_TEXT];
    snprintf(title, sizeof(title), "what an ohmmeter reads between H and L; here %s", lw_number_text(ohm, "ohm", value));
    struct lw_sheet_table *table = lw_sheet_table(sheet, title);
    lw_table_heads(table, 4, heads);
    for (int i = 0; i < LW_N_OHMS; i++) {
        struct lw_span span = lw_meter_cause_span((enum lw_meter_cause)i, bus, n);
        if (span.low > span.high)
            continue;
        const char *const cells[] = { lw_meter_cause_words((enum lw_meter_cause)i), lw_number_text(span.low, "ohm", low),
                                      lw_number_text(span.high, "ohm", high), causes >> i & 1 ? "possible" : "" };
        lw_table_row(table, LW_FINDING_NONE, cells);
    }
}

static void put_working(const struct lw_meter_bus *bus, unsigned n, struct lw_worksheet *sheet)
{
    struct lw_span span = lw_meter_span_of(bus, n);
    char value[LW_NUMBER_UNIT_TEXT];
    if (n == 0)
        return;
    lw_sheet_heading(sheet, "between H and L, everything good");
    lw_sheet_row(sheet, "least", lw_number_text(span.low, "ohm", value), NULL, "1 / (%u / %g ohm + %g / %g ohm), and the wire", n,
                 bus->terminator.low, bus->units_most, bus->unit.low);
    lw_sheet_row(sheet, "most", lw_number_text(span.high, "ohm", value), NULL, "1 / (%u / %g ohm + %g / %g ohm), and the wire", n,
                 bus->terminator.high, bus->units_least, bus->unit.high);
}

void lw_meter_ohms(const struct lw_calc_input *input, const struct lw_meter_bus *bus, struct lw_worksheet *sheet)
{
    double ohm = lw_calc_number(input, LW_METER_BETWEEN);
    unsigned n = (unsigned)lw_calc_number(input, LW_METER_TERMINATORS);
    if (isnan(ohm))
        return;
    unsigned causes = lw_meter_causes(ohm, bus, n);
    if (causes & 1u << LW_OHM_NORMAL)
        put_normal(ohm, bus, n, sheet);
    else
        put_causes(ohm, causes, bus, n, sheet);
    put_table(ohm, causes, bus, n, sheet);
    put_working(bus, n, sheet);
}
