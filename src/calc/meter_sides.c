/* SPDX-License-Identifier: MIT
 *
 * A connector taken apart: readings on both sides say on which side the fault is, or that it is the connector.
 */
#include "meter_parts.h"

#include <math.h>
#include <stdio.h>

struct side {
    const char *name;
    double ohm;
    unsigned n_terminators;
    unsigned causes;
};

static bool is_good(const struct side *side)
{
    return side->causes & 1u << LW_OHM_NORMAL;
}

/* How the units are shared between the sides is not known: each may have none or all. */
static struct side look(const struct lw_calc_input *input, const struct lw_meter_bus *bus, const char *name, unsigned field,
                        unsigned count_field)
{
    struct lw_meter_bus part = *bus;
    struct side side = { name, lw_calc_number(input, field), (unsigned)lw_calc_number(input, count_field), 0 };
    part.units_least = 0;
    if (!isnan(side.ohm))
        side.causes = lw_meter_causes(side.ohm, &part, side.n_terminators);
    return side;
}

static void put_side(const struct side *side, const struct lw_meter_bus *bus, struct lw_worksheet *sheet)
{
    struct lw_meter_bus part = *bus;
    char value[LW_NUMBER_UNIT_TEXT], span[LW_SPAN_TEXT], label[LW_SHEET_LABEL];
    part.units_least = 0;
    snprintf(label, sizeof(label), "%s, %u terminator%s", side->name, side->n_terminators, side->n_terminators == 1 ? "" : "s");
    lw_sheet_row(sheet, label, lw_number_text(side->ohm, "ohm", value), NULL, "should be %s",
                 lw_span_text(lw_meter_span_of(&part, side->n_terminators), "ohm", span));
}

static const char *first_cause(const struct side *side)
{
    for (int i = LW_OHM_ONE_MISSING; i < LW_N_OHMS; i++)
        if (side->causes >> i & 1)
            return lw_meter_cause_words((enum lw_meter_cause)i);
    return "none of the single faults reckoned with explains it";
}

static void name_bad_side(const struct side *bad, const struct side *good, struct lw_worksheet *sheet)
{
    char a[LW_NUMBER_UNIT_TEXT], b[LW_NUMBER_UNIT_TEXT];
    lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "The fault is on %s of the connector, which reads %s (perhaps: %s). As it should, %s reads %s.", bad->name, lw_number_text(bad->ohm, "ohm", a), first_cause(bad), good->name, lw_number_text(good->ohm, "ohm", b));
}

/* Both sides good: what they must give when plugged together, and what it means if they do not. */
static void judge_joint(const struct lw_calc_input *input, const struct side *a, const struct side *b, struct lw_worksheet *sheet)
{
    double together = lw_parallel(a->ohm, b->ohm), between = lw_calc_number(input, LW_METER_BETWEEN);
    char sum[LW_NUMBER_UNIT_TEXT], read[LW_NUMBER_UNIT_TEXT];
    lw_number_text(together, "ohm", sum);
    lw_sheet_row(sheet, "plugged together they must read", sum, NULL, "1 / (1/%.5g + 1/%.5g)", a->ohm, b->ohm);
    if (isnan(between)) {
        lw_sheet_answer(sheet, LW_FINDING_FITS, "Both sides read as they should. Plugged together they must read %s; if they read more, a contact of "
                        "this connector is bad.", sum);
        return;
    }
    struct lw_span span = { 0.97 * together - 0.6, 1.03 * together + 0.6 };
    lw_number_text(between, "ohm", read);
    if (lw_span_holds(span, (struct lw_span){ between, between }))
        lw_sheet_answer(sheet, LW_FINDING_FITS, "Both sides read as they should, and plugged together %s, as they must.", read);
    else
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "The fault is the connector: each side reads as it should, but plugged together they read %s "
                        "instead of %s. %s", read, sum, between > together ? "A contact of H or L does not close." : "Something in it touches.");
}

void lw_meter_sides(const struct lw_calc_input *input, const struct lw_meter_bus *bus, struct lw_worksheet *sheet)
{
    struct side a = look(input, bus, "this side", LW_METER_THIS_SIDE, LW_METER_TERMINATORS_THIS);
    struct side b = look(input, bus, "the other side", LW_METER_OTHER_SIDE, LW_METER_TERMINATORS_OTHER);
    if (isnan(a.ohm) && isnan(b.ohm))
        return;
    if (isnan(a.ohm) || isnan(b.ohm)) {
        lw_sheet_refuse(sheet, "%s-side is missing: both sides of the connector are needed; write for instance this-side=120 other-side=OL",
                        isnan(a.ohm) ? "this" : "other");
        return;
    }
    lw_sheet_heading(sheet, "the connector taken apart");
    put_side(&a, bus, sheet);
    put_side(&b, bus, sheet);
    if (is_good(&a) && is_good(&b))
        judge_joint(input, &a, &b, sheet);
    else if (is_good(&a) || is_good(&b))
        name_bad_side(is_good(&a) ? &b : &a, is_good(&a) ? &a : &b, sheet);
    else
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "Neither side reads as it should. This side: %s. Other side: %s.", first_cause(&a),
                        first_cause(&b));
}
