/* SPDX-License-Identifier: MIT
 *
 * The calculator `timing`: an existing bus and a new module, and how much is left between them.
 */
#include "timing_parts.h"

#include <math.h>
#include <stdio.h>

static void answer_rates(struct timing_job *job, const struct lw_timing_pair *pair)
{
    char bus[TIMING_TEXT], module[TIMING_TEXT];
    timing_rate_text(lw_timing_rate_bps(&job->bus.timing), bus);
    timing_rate_text(lw_timing_rate_bps(&job->module.timing), module);
    lw_sheet_answer(job->sheet, LW_FINDING_DOES_NOT,
                    "They cannot work together: %s runs at %s, the module at %s, %.3g %% apart. Every frame of one is an "
                    "error to the other. Set the module to the rate of the bus before you plug it in.",
                    job->bus.who, bus, module, 100 * pair->rate_difference);
}

static bool is_long_enough(const struct timing_job *job, const struct lw_timing_pair *pair)
{
    return pair->longest_m >= 0 && !(job->length_m > pair->longest_m + 1e-6);
}

static void answer_together(struct timing_job *job, const struct lw_timing_pair *pair)
{
    char bus[TIMING_TEXT], module[TIMING_TEXT], rate[TIMING_TEXT], limit[96] = "";
    bool is_good = pair->clock_margin >= 0 && is_long_enough(job, pair);
    if (pair->longest_m >= 0)
        snprintf(limit, sizeof(limit), ", on a bus of up to %.0f m with transceivers of %g ns", floor(pair->longest_m + 1e-6),
                 job->way.loop_delay_ns);
    timing_percent(lw_timing_sample_point(&job->bus.timing), bus);
    timing_percent(lw_timing_sample_point(&job->module.timing), module);
    timing_rate_text(lw_timing_rate_bps(&job->bus.timing), rate);
    if (is_good)
        lw_sheet_answer(job->sheet, LW_FINDING_FITS, "They work together: %s at %s and the module at %s, both %s%s.",
                        job->bus.who, bus, module, rate, limit);
    else
        lw_sheet_answer(job->sheet, LW_FINDING_NONE,
                        "At %s, %s at %s and the module at %s do not exclude each other by their sample points, but see "
                        "below.",
                        rate, job->bus.who, bus, module);
}

static double sampled_ns(const struct lw_timing *timing)
{
    return lw_timing_bit_ns(timing) * lw_timing_sample_point(timing);
}

static void answer_length(struct timing_job *job, const struct lw_timing_pair *pair)
{
    const struct lw_timing bus = lw_timing_split_anew(&job->bus.timing), module = lw_timing_split_anew(&job->module.timing);
    const struct lw_timing *shorter = pair->is_first_shorter ? &bus : &module,
                           *other = pair->is_first_shorter ? &module : &bus;
    const char *who = pair->is_first_shorter ? job->bus.who : "the module",
               *other_who = pair->is_first_shorter ? "the module" : job->bus.who;
    double other_m = lw_timing_longest_m(other, &job->way);
    if (!isnan(job->length_m) || pair->longest_m < 0)
        timing_answer_length(job, pair->longest_m, shorter->prop_seg * lw_timing_tq_ns(shorter));
    if (pair->longest_m >= 0 && other_m > pair->longest_m + 1e-6)
        lw_sheet_answer(job->sheet, LW_FINDING_NONE,
                        "The length is limited by %s, which samples %.0f ns into the bit and keeps %.0f ns of that for "
                        "phase_seg1; %s alone, sampling at %.0f ns, would allow %.0f m.",
                        who, sampled_ns(shorter), shorter->phase_seg1 * lw_timing_tq_ns(shorter), other_who, sampled_ns(other),
                        floor(other_m + 1e-6));
}

static void answer_clocks(struct timing_job *job, const struct lw_timing_pair *pair)
{
    const struct timing_node *weaker = pair->is_first_weaker ? &job->bus : &job->module;
    bool is_enough = pair->clock_margin >= 0;
    char weak[160];
    lw_sheet_answer(job->sheet, is_enough ? LW_FINDING_FITS : LW_FINDING_DOES_NOT,
                    "Their clocks may be %.2f %% apart; with ±%g %% each, %.2f %% %s. The weakest point is %s: %s.",
                    100 * pair->allowed_difference, 100 * job->oscillator, 100 * fabs(pair->clock_margin),
                    is_enough ? "is left" : "is missing", weaker->who,
                    timing_weak_point(&weaker->timing, pair->is_first_weaker ? &job->limits : NULL, weak, sizeof(weak)));
}

/* ", prescaler 10 of 80 MHz", what of a node was assumed; empty if nothing was. */
static void describe_assumed(const struct timing_node *node, char *buf, size_t size)
{
    char clock[LW_NUMBER_UNIT_TEXT];
    size_t n = 0;
    buf[0] = '\0';
    if (node->is_clock_assumed && node->is_found)
        n = (size_t)snprintf(buf, size, "a clock of %s", lw_number_text(node->timing.clock_hz, "Hz", clock));
    if (node->is_found)
        n += (size_t)snprintf(buf + n, size - n, "%s%u quanta", n > 0 ? ", " : "", lw_timing_quanta(&node->timing));
    if (node->is_sjw_assumed)
        snprintf(buf + n, size - n, "%sSJW 1, the worst there is", n > 0 ? ", " : "");
}

static void answer_what_was_assumed(struct timing_job *job)
{
    const struct timing_node *nodes[] = { &job->bus, &job->module };
    for (unsigned i = 0; i < 2; i++) {
        char assumed[120];
        describe_assumed(nodes[i], assumed, sizeof(assumed));
        if (assumed[0] != '\0')
            lw_sheet_answer(job->sheet, LW_FINDING_NONE, "Not told of %s, and assumed: %s.", nodes[i]->who, assumed);
    }
}

static void put_line(struct lw_sheet_table *table, const char *label, const char *bus, const char *module)
{
    lw_table_row(table, LW_FINDING_NONE, (const char *const[]){ label, bus, module });
}

static void put_numbers(struct lw_sheet_table *table, const char *label, double bus, double module, const char *unit)
{
    char a[LW_NUMBER_UNIT_TEXT], b[LW_NUMBER_UNIT_TEXT];
    put_line(table, label, lw_number_text(bus, unit, a), lw_number_text(module, unit, b));
}

static void put_percents(struct lw_sheet_table *table, const char *label, double bus, double module)
{
    char a[TIMING_TEXT], b[TIMING_TEXT];
    put_line(table, label, timing_percent(bus, a), timing_percent(module, b));
}

static void put_both(struct timing_job *job)
{
    const struct lw_timing bus = lw_timing_split_anew(&job->bus.timing), module = lw_timing_split_anew(&job->module.timing);
    struct lw_tolerance of_bus = lw_timing_tolerance(&bus), of_module = lw_timing_tolerance(&module);
    struct lw_sheet_table *table = lw_sheet_table(job->sheet, "side by side");
    char a[TIMING_TEXT], b[TIMING_TEXT];
    lw_table_heads(table, 3, (const char *const[]){ "", job->bus.who, "the module" });
    put_numbers(table, "bit rate", lw_timing_rate_bps(&bus), lw_timing_rate_bps(&module), "bit/s");
    put_numbers(table, "clock", bus.clock_hz, module.clock_hz, "Hz");
    put_numbers(table, "prescaler", bus.brp, module.brp, "");
    put_numbers(table, "quanta in a bit", lw_timing_quanta(&bus), lw_timing_quanta(&module), "");
    put_line(table, "prop_seg+phase_seg1+phase_seg2", timing_segments_text(&bus, a), timing_segments_text(&module, b));
    put_numbers(table, "SJW", bus.sjw, module.sjw, "");
    put_percents(table, "sample point", lw_timing_sample_point(&bus), lw_timing_sample_point(&module));
    put_percents(table, "tolerance by the phase segments", of_bus.by_phase, of_module.by_phase);
    put_percents(table, "tolerance by SJW", of_bus.by_sjw, of_module.by_sjw);
    put_numbers(table, "longest bus", fmax(0, lw_timing_longest_m(&bus, &job->way)),
                fmax(0, lw_timing_longest_m(&module, &job->way)), "m");
}

static void put_working(struct timing_job *job, const struct lw_timing_pair *pair)
{
    char percent[TIMING_TEXT], value[LW_NUMBER_UNIT_TEXT];
    lw_sheet_row(job->sheet, "clocks may be apart by", timing_percent(pair->allowed_difference, percent),
                 "ISO 11898-1:2003, 12.4.2.5: min(PS1, PS2) / (2 (13 bit - PS2)) and SJW / (20 bit)",
                 "2 x the smallest of the four tolerances");
    lw_sheet_row(job->sheet, "left between the clocks", timing_percent(pair->clock_margin, percent), NULL,
                 "less %.3g %% between the rates and 2 x %g %% of the oscillators", 100 * pair->rate_difference,
                 100 * job->oscillator);
    lw_sheet_row(job->sheet, "longest bus", lw_number_text(fmax(0, pair->longest_m), "m", value),
                 "t_prop = 2 x (loop delay + length x delay): Microchip, eq. 38-9",
                 "the shorter of (prop_seg x quantum / 2 - %g) / %g", job->way.loop_delay_ns, job->way.delay_ns_per_m);
}

void timing_pair(struct timing_job *job)
{
    struct lw_timing_pair pair = lw_timing_compare(&job->bus.timing, &job->module.timing, &job->way, job->oscillator);
    if (pair.rate_difference > pair.allowed_difference) {
        answer_rates(job, &pair);
    } else {
        answer_together(job, &pair);
        answer_length(job, &pair);
        answer_clocks(job, &pair);
        answer_what_was_assumed(job);
    }
    put_both(job);
    put_working(job, &pair);
}
