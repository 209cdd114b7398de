/* SPDX-License-Identifier: MIT
 *
 * The calculator `timing`: the data phase of CAN FD, transmitter delay compensation, and tolerance with both phases.
 */
#include "timing_parts.h"

#include <stdio.h>

static void answer_phase(struct timing_job *job)
{
    const struct lw_timing *data = &job->data.timing;
    char rate[TIMING_TEXT], percent[TIMING_TEXT], segments[TIMING_TEXT];
    lw_sheet_answer(job->sheet, LW_FINDING_NONE, "Data phase: %s, sampled at %s; prescaler %u, segments %s, SJW %u.",
                    timing_rate_text(lw_timing_rate_bps(data), rate), timing_percent(lw_timing_sample_point(data), percent),
                    data->brp, timing_segments_text(data, segments), data->sjw);
}

static void answer_delay(struct timing_job *job)
{
    char value[LW_SHEET_VALUE];
    struct lw_delay_compensation tdc = lw_timing_delay_compensation(&job->data.timing, job->way.loop_delay_ns);
    if (!tdc.is_needed)
        lw_sheet_answer(job->sheet, LW_FINDING_NONE,
                        "No transmitter delay compensation needed: a loop delay of %g ns ends before the sample point.",
                        job->way.loop_delay_ns);
    else
        lw_sheet_answer(job->sheet, LW_FINDING_NONE,
                        "Transmitter delay compensation must be on: a loop delay of %g ns is %.2f data bits, past the sample "
                        "point. Offset: %u periods of the clock%s.",
                        job->way.loop_delay_ns, tdc.delay_bits, tdc.offset_clocks,
                        tdc.is_possible ? ""
                                        : ". It works only with a data prescaler of 1 or 2 (from memory), and here it is "
                                          "larger");
    snprintf(value, sizeof(value), "%u periods of the clock", tdc.offset_clocks);
    lw_sheet_row(job->sheet, "offset of the secondary sample point", value,
                 "the data sample point, as Linux 6.1 sets it (from memory)", "(1 + %u + %u) x %u", job->data.timing.prop_seg,
                 job->data.timing.phase_seg1, job->data.timing.brp);
}

static void answer_tolerance(struct timing_job *job)
{
    static const char *const labels[LW_FD_CONDITIONS] = {
        "nominal SJW",
        "nominal phase segments",
        "data SJW",
        "error flag after a data phase",
        "change back to the nominal rate",
    };
    double conditions[LW_FD_CONDITIONS];
    unsigned smallest = 0;
    char percent[TIMING_TEXT];
    lw_timing_fd_tolerance(&job->bus.timing, &job->data.timing, conditions);
    lw_sheet_heading(job->sheet, "tolerance with a data phase");
    for (unsigned i = 0; i < LW_FD_CONDITIONS; i++) {
        smallest = conditions[i] < conditions[smallest] ? i : smallest;
        lw_sheet_row(job->sheet, labels[i], timing_percent(conditions[i], percent),
                     i < 2 ? "ISO 11898-1:2003, 12.4.2.5" : "from memory, after papers on the robustness of CAN FD", "%s",
                     "");
    }
    /* No finding: what decides is from memory. */
    lw_sheet_answer(job->sheet, LW_FINDING_NONE, "With both phases each clock may be off by %.2f %%, limited by: %s%s.",
                    100 * conditions[smallest], labels[smallest],
                    smallest < 2 ? "" : " (from memory: hold it against your controller's manual)");
}

void timing_data(struct timing_job *job)
{
    answer_phase(job);
    answer_delay(job);
    if (job->data.is_found)
        timing_kernel_row(job, &job->data, "the kernel's own choice of the data phase", TIMING_DATA_SAMPLE_POINT,
                          TIMING_DATA_SJW);
    answer_tolerance(job);
}
