/* SPDX-License-Identifier: MIT
 *
 * `stub`: trunk and drops against the published rules, each named; where they disagree, the stricter first.
 */
#include "loomwatch/calc/calculator.h"

#include "stub_rules.h"
#include "wire_gauge.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { DROP, RATE, TRUNK, EDGE, NETWORK, SAMPLE, LOOP, GAUGE, N_FIELDS };

static const char *const networks[] = { "general", "j1939-11", "j1939-15", "vehicle", "devicenet", "nmea2000", NULL };

static const struct lw_calc_field fields[N_FIELDS] = {
    [DROP] = { .name = "drop", .words = "length of a drop, from the trunk to the unit; several: 2.4+1+0.5", .unit = "m", .example = "2.4m", .min = 0,
               .max = 1000, .may_repeat = true },
    [RATE] = { .name = "rate", .words = "bit rate of the bus", .unit = "bit/s", .example = "500k", .min = 5000, .max = 1e6, .is_required = true },
    [TRUNK] = { .name = "trunk", .words = "length of the trunk, from terminator to terminator", .unit = "m", .example = "18m", .min = 0, .max = 10000 },
    [EDGE] = { .name = "edge", .words = "time of an edge, from the transceivers' data sheet; 50 ns is a fast one", .unit = "ns", .example = "50ns",
               .preset = "50ns", .min = 1, .max = 10000 },
    [NETWORK] = { .name = "network", .words = "what the bus is built to; rules made for others are shown, but not judged by", .example = "j1939-15",
                  .preset = "general", .choices = networks, .kind = LW_FIELD_CHOICE },
    [SAMPLE] = { .name = "sample", .words = "sample point, for the round trip", .unit = "%", .example = "87.5%", .preset = "75%", .min = 50, .max = 95 },
    [LOOP] = { .name = "loop", .words = "delay of one transceiver, TXD to RXD, for the round trip; 255 ns is the most allowed", .unit = "ns",
               .example = "175ns", .preset = "255ns", .min = 1, .max = 1000 },
    [GAUGE] = { .name = "gauge", .words = "copper of one wire, to judge the cable by its resistance", .unit = "mm2", .example = "0.5mm2", .min = 0.01,
                .max = 100, .kind = LW_FIELD_GAUGE },
};

static struct lw_stub_plan plan_of(const struct lw_calc_input *input)
{
    struct lw_stub_plan plan = {
        .rate_bps = lw_calc_number(input, RATE), .edge_ns = lw_calc_number(input, EDGE), .trunk_m = lw_calc_number(input, TRUNK),
        .loop_ns = lw_calc_number(input, LOOP), .sample = lw_calc_number(input, SAMPLE) / 100, .n_drops = lw_calc_count(input, DROP),
    };
    for (unsigned i = 0; i < plan.n_drops; i++) {
        double drop = lw_calc_number_at(input, DROP, i);
        plan.sum_m += drop;
        plan.second_m = fmax(plan.second_m, fmin(drop, plan.longest_m));
        plan.longest_m = fmax(plan.longest_m, drop);
    }
    return plan;
}

/* The rules that say something of one quantity, the stricter first; those that are not judged by last. */
struct judgement {
    size_t rules[16];
    unsigned n, n_judging, n_kept;
};

static double margin_of(size_t rule, enum lw_stub_quantity quantity, const struct lw_stub_plan *plan)
{
    return lw_stub_allowed(rule, quantity, plan) - lw_stub_actual(rule, quantity, plan);
}

static bool is_judging(size_t rule, unsigned network)
{
    return lw_stub_rules[rule].network == LW_NETWORK_GENERAL || lw_stub_rules[rule].network == network;
}

static bool comes_before(size_t a, size_t b, enum lw_stub_quantity quantity, const struct lw_stub_plan *plan, unsigned network)
{
    if (is_judging(a, network) != is_judging(b, network))
        return is_judging(a, network);
    return margin_of(a, quantity, plan) < margin_of(b, quantity, plan);
}

static struct judgement judge(enum lw_stub_quantity quantity, const struct lw_stub_plan *plan, unsigned network)
{
    struct judgement out = { .n = 0 };
    for (size_t rule = 0; rule < lw_n_stub_rules; rule++) {
        if (isnan(margin_of(rule, quantity, plan)))
            continue;
        unsigned at = out.n++;
        for (; at > 0 && comes_before(rule, out.rules[at - 1], quantity, plan, network); at--)
            out.rules[at] = out.rules[at - 1];
        out.rules[at] = rule;
        if (is_judging(rule, network)) {
            out.n_judging++;
            out.n_kept += margin_of(rule, quantity, plan) >= -1e-9;
        }
    }
    return out;
}

static const char *const quantity_words[] = { [LW_STUB_DROP] = "The longest drop", [LW_STUB_SUM] = "All drops together", [LW_STUB_TRUNK] = "The trunk" };

/* "1/3 of the critical length (TI SLLA270 4.8) allows 1.667 m". */
static char *rule_words(size_t rule, enum lw_stub_quantity quantity, const struct lw_stub_plan *plan, char buf[200])
{
    char allowed[LW_NUMBER_UNIT_TEXT];
    snprintf(buf, 200, "%s (%s) allows %s", lw_stub_rules[rule].name, lw_stub_rules[rule].source,
             lw_number_text(lw_stub_allowed(rule, quantity, plan), "m", allowed));
    return buf;
}

static void put_answer(enum lw_stub_quantity quantity, const struct judgement *judgement, const struct lw_stub_plan *plan,
                       struct lw_worksheet *sheet)
{
    char head[200], actual[LW_NUMBER_UNIT_TEXT], rate[LW_NUMBER_UNIT_TEXT], strict[200], mild[200];
    if (judgement->n_judging == 0) {
        lw_sheet_answer(sheet, LW_FINDING_CANNOT_TELL, "%s: no rule known here says how long.", quantity_words[quantity]);
        return;
    }
    size_t first = judgement->rules[0], last = judgement->rules[judgement->n_judging - 1];
    double length = quantity == LW_STUB_TRUNK ? plan->trunk_m : lw_stub_actual(first, quantity, plan);
    snprintf(head, sizeof(head), "%s, %s at %s", quantity_words[quantity], lw_number_text(length, "m", actual), lw_number_text(plan->rate_bps, "bit/s", rate));
    rule_words(first, quantity, plan, strict);
    rule_words(last, quantity, plan, mild);
    if (judgement->n_kept == judgement->n_judging)
        lw_sheet_answer(sheet, LW_FINDING_FITS, "%s: short enough. The strictest rule: %s.", head, strict);
    else if (judgement->n_kept > 0)
        lw_sheet_answer(sheet, LW_FINDING_MARGINAL, "%s: the rules disagree. Too long by the strictest: %s. Short enough by the mildest: %s.", head,
                        strict, mild);
    else if (judgement->n_judging > 1)
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "%s: too long by every rule. The strictest: %s. The mildest: %s.", head, strict, mild);
    else
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "%s: too long: %s.", head, strict);
}

static void put_table(enum lw_stub_quantity quantity, const struct judgement *judgement, const struct lw_stub_plan *plan, unsigned network,
                      struct lw_worksheet *sheet)
{
    static const char *const heads[] = { "rule", ">allowed", ">here", ">to spare", "made for" };
    char title[LW_SHEET_TITLE], text[3][LW_NUMBER_UNIT_TEXT];
    snprintf(title, sizeof(title), "%c%s, the stricter rules first", tolower(quantity_words[quantity][0]),
             quantity_words[quantity] + 1);
    struct lw_sheet_table *table = lw_sheet_table(sheet, title);
    lw_table_heads(table, 5, heads);
    for (unsigned i = 0; i < judgement->n; i++) {
        size_t rule = judgement->rules[i];
        double margin = margin_of(rule, quantity, plan);
        const char *const cells[] = { lw_stub_rules[rule].name, lw_number_text(lw_stub_allowed(rule, quantity, plan), "m", text[0]),
            lw_number_text(lw_stub_actual(rule, quantity, plan), "m", text[1]), lw_number_text(margin, "m", text[2]), lw_stub_rules[rule].when };
        lw_table_row(table, !is_judging(rule, network) ? LW_FINDING_NONE : margin >= -1e-9 ? LW_FINDING_FITS : LW_FINDING_DOES_NOT, cells);
    }
}

static void put_next(const struct judgement *drops, const struct lw_stub_plan *plan, struct lw_worksheet *sheet)
{
    char edge[LW_NUMBER_UNIT_TEXT];
    if (drops->n_judging == 0 || drops->n_kept == drops->n_judging)
        return;
    lw_number_text(plan->longest_m * 3 * 2 * 5, "ns", edge);
    lw_sheet_answer(sheet, LW_FINDING_NONE, "Next: lead the trunk itself past the module, in at one pin and out at the next, so that its drop becomes "
                    "short. Or look the edges up: at %s or slower this drop is a third of the critical length.", edge);
}

/* Cable by its resistance: Iris-Net UCC1, p. 25, and ICP DAS, p. 22. */
static void put_cable(const struct lw_calc_input *input, const struct lw_stub_plan *plan, struct lw_worksheet *sheet)
{
    static const struct { double up_to_m, ohm_per_m; const char *gauges; } steps[] = {
        { 40, 0.070, "0.25 to 0.34 mm2" }, { 300, 0.060, "0.34 to 0.6 mm2" }, { 600, 0.040, "0.5 to 0.6 mm2" }, { 1000, 0.026, "0.75 to 0.8 mm2" },
    };
    double mm2 = lw_calc_number(input, GAUGE), ohm_per_m = lw_copper_ohm_per_m(mm2);
    char have[LW_NUMBER_UNIT_TEXT], may[LW_NUMBER_UNIT_TEXT];
    size_t i = 0;
    if (isnan(mm2) || isnan(plan->trunk_m))
        return;
    while (i + 1 < sizeof steps / sizeof *steps && plan->trunk_m > steps[i].up_to_m)
        i++;
    lw_number_text(ohm_per_m, "ohm", have);
    lw_number_text(steps[i].ohm_per_m, "ohm", may);
    if (plan->trunk_m > steps[i].up_to_m)
        lw_sheet_answer(sheet, LW_FINDING_CANNOT_TELL, "The table of cables ends at %g m.", steps[i].up_to_m);
    else
        lw_sheet_answer(sheet, ohm_per_m <= steps[i].ohm_per_m ? LW_FINDING_FITS : LW_FINDING_DOES_NOT, "Cable of %.3g mm2 has %s a metre; a trunk of %g m "
                        "wants %s at most, as %s has.", mm2, have, plan->trunk_m, may, steps[i].gauges);
    lw_sheet_row(sheet, "cable", have, "copper: IEC 60028; limits: Iris-Net UCC1, p. 25, and ICP DAS, p. 22", "1/58 ohm mm2/m / %.3g mm2, a metre", mm2);
}

static void put_working(const struct lw_stub_plan *plan, struct lw_worksheet *sheet)
{
    char value[LW_NUMBER_UNIT_TEXT];
    lw_sheet_heading(sheet, "the working");
    lw_sheet_row(sheet, "critical length", lw_number_text(lw_critical_length_m(plan->edge_ns), "m", value), "TI SLLA270 4.8",
                 "%g ns / (2 x 5 ns/m); a drop may be a third of it: %.4g m", plan->edge_ns, lw_critical_length_m(plan->edge_ns) / 3);
    if (plan->n_drops > 0)
        lw_sheet_row(sheet, "all drops together", lw_number_text(plan->sum_m, "m", value), NULL, "%u drop%s, the longest %g m", plan->n_drops,
                     plan->n_drops == 1 ? "" : "s", plan->longest_m);
    if (!isnan(plan->trunk_m)) {
        double length = plan->trunk_m + plan->longest_m + plan->second_m;
        lw_sheet_row(sheet, "there and back, farthest pair of units", lw_number_text(lw_round_trip_ns(plan->loop_ns, length), "ns", value),
                     "Microchip 38.3.3.2, equation 38-9", "2 x (%g ns + %g m x 5 ns/m), trunk and the two longest drops", plan->loop_ns, length);
        lw_sheet_row(sheet, "sample point", lw_number_text(plan->sample * 1e9 / plan->rate_bps, "ns", value), NULL, "%.4g x %g ns after the start of the bit",
                     plan->sample, 1e9 / plan->rate_bps);
    }
}

/* Tables as lines through the rates that they list. */
static void put_curve(const struct lw_stub_plan *plan, struct lw_worksheet *sheet)
{
    static const char *const drawn[] = { "TI's table", "MOTORTECH's table" };
    double rate, trunk;
    char text[2][LW_NUMBER_UNIT_TEXT], name[LW_SHEET_CELL];
    struct lw_sheet_plot *plot = lw_sheet_plot(sheet, LW_PLOT_CURVE, "how long the trunk may be, by bit rate");
    if (!plot)
        return;
    plot->is_log_x = plot->is_log_y = true;
    snprintf(plot->x_words, sizeof(plot->x_words), "bit rate, bit/s");
    snprintf(plot->y_words, sizeof(plot->y_words), "length of the trunk, m");
    for (size_t i = 0; i < sizeof drawn / sizeof *drawn; i++) {
        struct lw_sheet_series *series = lw_plot_series(plot, drawn[i]);
        for (size_t j = 0; lw_stub_table_row(lw_stub_rule_named(drawn[i]), j, &rate, &trunk); j++)
            lw_series_point(series, rate, trunk);
    }
    snprintf(name, sizeof(name), "round trip, sample at %s, loop %s", lw_number_text(plan->sample * 100, "%", text[0]),
             lw_number_text(plan->loop_ns, "ns", text[1]));
    struct lw_sheet_series *trip = lw_plot_series(plot, name);
    for (int i = 0; i <= 40; i++) {
        rate = 10e3 * pow(100, i / 40.0);
        trunk = lw_round_trip_length_m(plan, rate);
        if (trunk >= 1)
            lw_series_point(trip, rate, trunk);
    }
    if (!isnan(plan->trunk_m) && plan->trunk_m > 0) {
        struct lw_sheet_series *here = lw_plot_series(plot, "this bus");
        if (here)
            here->is_marks = true;
        lw_series_point(here, plan->rate_bps, plan->trunk_m);
    }
}

static void run(const struct lw_calc_input *input, struct lw_worksheet *sheet)
{
    struct lw_stub_plan plan = plan_of(input);
    unsigned network = lw_calc_choice(input, NETWORK);
    struct judgement drops = judge(LW_STUB_DROP, &plan, network);
    if (plan.n_drops == 0 && isnan(plan.trunk_m)) {
        lw_sheet_refuse(sheet, "neither a drop nor a trunk is given; write for instance drop=2.4m rate=500k");
        return;
    }
    for (int i = 0; i < LW_N_STUB_QUANTITIES; i++) {
        struct judgement judgement = judge((enum lw_stub_quantity)i, &plan, network);
        if (i == LW_STUB_TRUNK ? isnan(plan.trunk_m) : plan.n_drops == 0)
            continue;
        put_answer((enum lw_stub_quantity)i, &judgement, &plan, sheet);
        put_table((enum lw_stub_quantity)i, &judgement, &plan, network, sheet);
    }
    put_next(&drops, &plan, sheet);
    put_working(&plan, sheet);
    put_cable(input, &plan, sheet);
    put_curve(&plan, sheet);
}

const struct lw_calculator lw_calc_stub = {
    .name = "stub", .words = "whether trunk and drops suit the bit rate", .example = "drop=2.4m rate=500k trunk=18m",
    .has_cautions = false, .n_fields = N_FIELDS, .fields = fields, .run = run,
};
