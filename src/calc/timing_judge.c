/* SPDX-License-Identifier: MIT
 *
 * The calculator `timing`: one setting, with its working.
 */
#include "timing_parts.h"

#include <math.h>
#include <stdio.h>

#define TOLERANCE_SOURCE "ISO 11898-1:2003, 12.4.2.5; TI SPNU563A, p. 1422"

/* Half a metre of rounding must not turn 40.0 into 39. */
static double whole_metres(double longest_m)
{
    return floor(longest_m + 1e-6);
}

static void put_longest(struct timing_job *job, double longest_m)
{
    const struct lw_way *way = &job->way;
    if (longest_m >= 0)
        lw_sheet_answer(job->sheet, LW_FINDING_NONE, "Longest bus: %.0f m, with a loop delay of %g ns in every transceiver.",
                        whole_metres(longest_m), way->loop_delay_ns);
    else
        lw_sheet_answer(job->sheet, LW_FINDING_MARGINAL,
                        "There is no time for any cable: transceivers of %g ns take it all. Most are faster; write "
                        "loop-delay= from the data sheet.",
                        way->loop_delay_ns);
}

void timing_answer_length(struct timing_job *job, double longest_m, double prop_ns)
{
    const struct lw_way *way = &job->way;
    double needed_ns = 2 * (way->loop_delay_ns + job->length_m * way->delay_ns_per_m);
    if (isnan(job->length_m))
        put_longest(job, longest_m);
    else if (needed_ns <= prop_ns + 1e-6)
        lw_sheet_answer(job->sheet, LW_FINDING_FITS,
                        "%g m of bus are short enough: up to %.0f m would do, %.0f of %.0f ns are left.", job->length_m,
                        whole_metres(longest_m), prop_ns - needed_ns, prop_ns);
    else
        lw_sheet_answer(job->sheet, LW_FINDING_DOES_NOT,
                        "%g m of bus are too long: there and back takes %.0f ns with transceivers of %g ns, the setting has "
                        "%.0f ns for it. A lower bit rate, a later sample point, faster transceivers or less cable would "
                        "help.",
                        job->length_m, needed_ns, way->loop_delay_ns, prop_ns);
}

char *timing_weak_point(const struct lw_timing *timing, const struct lw_timing_limits *limits, char *buf, size_t size)
{
    struct lw_tolerance tolerance = lw_timing_tolerance(timing), better;
    struct lw_timing with_more = *timing;
    uint32_t quanta = lw_timing_quanta(timing), wanted = lw_timing_sjw_wanted(timing);
    if (tolerance.by_sjw >= tolerance.by_phase) {
        snprintf(buf, size, "the smaller phase segment, %u of %u quanta",
                 timing->phase_seg1 < timing->phase_seg2 ? timing->phase_seg1 : timing->phase_seg2, quanta);
        return buf;
    }
    with_more.sjw = limits && wanted > limits->sjw_max ? limits->sjw_max : wanted;
    better = lw_timing_tolerance(&with_more);
    if (with_more.sjw > timing->sjw)
        snprintf(buf, size, "SJW, %u of %u quanta: SJW %u would allow %.2f %%", timing->sjw, quanta, with_more.sjw,
                 100 * lw_tolerance_smaller(better));
    else
        snprintf(buf, size, "SJW, %u of %u quanta, and the controller has no larger one", timing->sjw, quanta);
    return buf;
}

static void answer_oscillator(struct timing_job *job, const struct timing_node *node)
{
    double tolerance = lw_tolerance_smaller(lw_timing_tolerance(&node->timing));
    bool is_enough = job->oscillator <= tolerance;
    char weak[160];
    lw_sheet_answer(job->sheet, is_enough ? LW_FINDING_FITS : LW_FINDING_DOES_NOT,
                    "Each clock may be off by %.2f %%; with ±%g %% that %s. The weak point is %s.", 100 * tolerance,
                    100 * job->oscillator, is_enough ? "is kept" : "is not kept",
                    timing_weak_point(&node->timing, &job->limits, weak, sizeof(weak)));
    if (node->is_sjw_assumed)
        lw_sheet_answer(job->sheet, LW_FINDING_NONE, "The SJW is not told and counted as 1, which is the worst it can be.");
}

static void put_bit(struct timing_job *job, const struct lw_timing *timing)
{
    char value[LW_NUMBER_UNIT_TEXT], clock[LW_NUMBER_UNIT_TEXT], percent[TIMING_TEXT];
    uint32_t quanta = lw_timing_quanta(timing);
    lw_number_text(timing->clock_hz, "Hz", clock);
    lw_sheet_row(job->sheet, "time quantum", lw_number_text(lw_timing_tq_ns(timing), "ns", value), NULL, "%u / %s",
                 timing->brp, clock);
    lw_sheet_row(job->sheet, "bit rate", lw_number_text(lw_timing_rate_bps(timing), "bit/s", value), NULL,
                 "%s / (%u x %u quanta), quanta = 1 + %u + %u + %u", clock, timing->brp, quanta, timing->prop_seg,
                 timing->phase_seg1, timing->phase_seg2);
    lw_sheet_row(job->sheet, "sample point", timing_percent(lw_timing_sample_point(timing), percent), NULL,
                 "(1 + %u + %u) / %u", timing->prop_seg, timing->phase_seg1, quanta);
}

static void put_tolerance(struct timing_job *job, const struct lw_timing *timing)
{
    struct lw_tolerance tolerance = lw_timing_tolerance(timing);
    uint32_t quanta = lw_timing_quanta(timing);
    char percent[TIMING_TEXT];
    lw_sheet_row(job->sheet, "tolerance by the phase segments", timing_percent(tolerance.by_phase, percent), TOLERANCE_SOURCE,
                 "min(%u, %u) / (2 x (13 x %u - %u))", timing->phase_seg1, timing->phase_seg2, quanta, timing->phase_seg2);
    lw_sheet_row(job->sheet, "tolerance by SJW", timing_percent(tolerance.by_sjw, percent), TOLERANCE_SOURCE,
                 "%u / (20 x %u)", timing->sjw, quanta);
}

static void put_way(struct timing_job *job, const struct lw_timing *timing)
{
    const struct lw_timing anew = lw_timing_split_anew(timing);
    const struct lw_way *way = &job->way;
    char value[LW_NUMBER_UNIT_TEXT];
    double tq_ns = lw_timing_tq_ns(timing);
    if (anew.prop_seg != timing->prop_seg)
        lw_sheet_row(job->sheet, "longest bus for prop_seg as it is split",
                     lw_number_text(fmax(0, lw_timing_longest_m(timing, way)), "m", value), NULL, "(%u x %g / 2 - %g) / %g",
                     timing->prop_seg, tq_ns, way->loop_delay_ns, way->delay_ns_per_m);
    lw_sheet_row(job->sheet, "longest bus", lw_number_text(fmax(0, lw_timing_longest_m(&anew, way)), "m", value),
                 "t_prop = 2 x (loop delay + length x delay): Microchip, eq. 38-9", "(%u x %g / 2 - %g) / %g%s",
                 anew.prop_seg, tq_ns, way->loop_delay_ns, way->delay_ns_per_m,
                 anew.prop_seg == timing->prop_seg ? ""
                                                   : "; only the sum of prop_seg and phase_seg1 places the sample point, and "
                                                     "phase_seg1 beyond phase_seg2 widens no tolerance");
}

static void put_split(struct timing_job *job, const struct timing_node *node)
{
    char segments[TIMING_TEXT];
    if (node->is_found)
        lw_sheet_row(job->sheet, "segments", timing_segments_text(&node->timing, segments), NULL,
                     "phase_seg1 as long as phase_seg2, the rest for prop_seg: only their sum places the sample point");
}

void timing_judge(struct timing_job *job)
{
    const struct timing_node *node = &job->bus;
    const struct lw_timing anew = lw_timing_split_anew(&node->timing);
    char rate[TIMING_TEXT], percent[TIMING_TEXT], tq[LW_NUMBER_UNIT_TEXT];
    if (!node->is_found)
        lw_sheet_answer(job->sheet, LW_FINDING_NONE, "%s, sampled at %s of a bit of %u quanta, %s each.",
                        timing_rate_text(lw_timing_rate_bps(&node->timing), rate),
                        timing_percent(lw_timing_sample_point(&node->timing), percent), lw_timing_quanta(&node->timing),
                        lw_number_text(lw_timing_tq_ns(&node->timing), "ns", tq));
    timing_answer_length(job, lw_timing_longest_m(&anew, &job->way), anew.prop_seg * lw_timing_tq_ns(&anew));
    answer_oscillator(job, node);
    put_bit(job, &node->timing);
    put_split(job, node);
    put_tolerance(job, &node->timing);
    put_way(job, &node->timing);
}
