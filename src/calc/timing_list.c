/* SPDX-License-Identifier: MIT
 *
 * The calculator `timing`: the settings that reach a bit rate, best first, and what the kernel would choose.
 */
#include "timing_parts.h"

#include <math.h>
#include <stdio.h>

enum { FEW = 5 };

static void put_choice(struct timing_job *job, struct lw_sheet_table *table, const struct lw_timing_choice *choice)
{
    const struct lw_timing *timing = &choice->timing;
    char brp[16], quanta[16], segments[TIMING_TEXT], sjw[16], error[TIMING_TEXT], point[TIMING_TEXT], tolerance[24],
        longest[24];
    double longest_m = lw_timing_longest_m(timing, &job->way);
    snprintf(brp, sizeof(brp), "%u", timing->brp);
    snprintf(quanta, sizeof(quanta), "%u", lw_timing_quanta(timing));
    snprintf(sjw, sizeof(sjw), "%u", timing->sjw);
    snprintf(tolerance, sizeof(tolerance), "%.3f %%", 100 * choice->tolerance);
    if (longest_m >= 0)
        snprintf(longest, sizeof(longest), "%.0f m", floor(longest_m + 1e-6));
    else
        snprintf(longest, sizeof(longest), "none");
    lw_table_row(table, LW_FINDING_NONE,
                 (const char *const[]){
                     brp,
                     quanta,
                     timing_segments_text(timing, segments),
                     sjw,
                     timing_percent(fabs(choice->rate_error), error),
                     timing_percent(lw_timing_sample_point(timing), point),
                     tolerance,
                     longest,
                 });
}

static size_t put_table(struct timing_job *job, bool shows_all)
{
    static struct lw_timing_choice choices[LW_SHEET_TABLE_ROWS];
    char title[LW_SHEET_TITLE];
    size_t n = lw_timing_search(&job->bus.wish, choices, LW_SHEET_TABLE_ROWS);
    size_t shown = n < LW_SHEET_TABLE_ROWS ? n : LW_SHEET_TABLE_ROWS;
    if (!shows_all && shown > FEW)
        shown = FEW;
    if (n > shown)
        snprintf(title, sizeof(title), "the best %zu of %zu settings%s", shown, n, shows_all ? "" : "; all=yes lists them");
    else
        snprintf(title, sizeof(title), "%zu settings, best first", n);
    struct lw_sheet_table *table = lw_sheet_table(job->sheet, title);
    lw_table_heads(table, 8,
                   (const char *const[]){ ">prescaler", ">quanta", ">prop+ph1+ph2", ">SJW", ">rate off", ">sample point",
                                          ">tolerance", ">longest bus" });
    for (size_t i = 0; i < shown; i++)
        put_choice(job, table, &choices[i]);
    return n;
}

void timing_kernel_row(struct timing_job *job, const struct timing_node *node, const char *label, unsigned point_field,
                       unsigned sjw_field)
{
    struct lw_timing_wish wish = node->wish;
    struct lw_timing choice;
    char value[LW_SHEET_VALUE], segments[TIMING_TEXT], percent[TIMING_TEXT], rate[TIMING_TEXT];
    wish.sample_point = lw_calc_has(job->input, point_field) ? wish.sample_point : 0;
    wish.sjw = lw_calc_has(job->input, sjw_field) ? wish.sjw : 0;
    if (lw_timing_kernel_choice(&wish, &choice) != 0) {
        lw_sheet_row(job->sheet, label, "none: it refuses", "Linux 6.1", "more than 5 %% off");
        return;
    }
    snprintf(value, sizeof(value), "prescaler %u, %s, SJW %u, %s", choice.brp, timing_segments_text(&choice, segments),
             choice.sjw, timing_percent(lw_timing_sample_point(&choice), percent));
    lw_sheet_row(job->sheet, label, value, "Linux 6.1; newer ones take a larger SJW by themselves (from memory)",
                 "asked for %u bit/s it makes %s", wish.rate_bps, timing_rate_text(lw_timing_rate_bps(&choice), rate));
}

void timing_list(struct timing_job *job)
{
    const struct timing_node *node = &job->bus;
    char rate[TIMING_TEXT], clock[LW_NUMBER_UNIT_TEXT], point[TIMING_TEXT], wanted[TIMING_TEXT], segments[TIMING_TEXT];
    size_t n = put_table(job, lw_calc_choice(job->input, TIMING_ALL) == 1);
    lw_sheet_answer(job->sheet, LW_FINDING_FITS,
                    "%zu %s %s of a clock of %s, within 0.1 %%. The nearest to a sample point of %s, with the most quanta: "
                    "prescaler %u, segments %s, SJW %u, sampled at %s.",
                    n, n == 1 ? "setting makes" : "settings make", timing_rate_text(node->wish.rate_bps, rate),
                    lw_number_text(node->timing.clock_hz, "Hz", clock), timing_percent(node->wish.sample_point, wanted),
                    node->timing.brp, timing_segments_text(&node->timing, segments), node->timing.sjw,
                    timing_percent(lw_timing_sample_point(&node->timing), point));
    timing_judge(job);
    timing_kernel_row(job, node, "the kernel's own choice", TIMING_SAMPLE_POINT, TIMING_SJW);
}
