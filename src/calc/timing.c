/* SPDX-License-Identifier: MIT
 *
 * The calculator `timing`: its fields, and what it answers to which of them.
 */
#include "timing_parts.h"

#include <math.h>
#include <stdio.h>

static const char *const no_or_yes[] = { "no", "yes", NULL };

#define RATE_LIMITS .unit = "bit/s", .kind = LW_FIELD_NUMBER, .min = 1000
#define CLOCK_LIMITS .unit = "Hz", .example = "8M", .kind = LW_FIELD_NUMBER, .min = 100e3, .max = 1e9
#define POINT_LIMITS .unit = "%", .kind = LW_FIELD_NUMBER, .min = 40, .max = 98
#define PRESCALER_LIMITS .kind = LW_FIELD_COUNT, .min = 1, .max = 65536
#define SEGMENT_LIMITS .kind = LW_FIELD_COUNT, .may_repeat = true, .min = 0, .max = 512
#define SJW_LIMITS .kind = LW_FIELD_COUNT, .min = 1, .max = 128

static const struct lw_calc_field fields[N_TIMING_FIELDS] = {
    [TIMING_INTERFACE] = { "interface", "its controller and setting are read from the kernel", .unit = "a CAN interface",
                           .example = "can0", .kind = LW_FIELD_FILE, .is_positional = true },
    [TIMING_CLOCK] = { "clock", "clock of the controller, before the prescaler", CLOCK_LIMITS },
    [TIMING_RATE] = { "rate", "bit rate; in a data phase the nominal one", .example = "500k", RATE_LIMITS, .max = 8e6 },
    [TIMING_SAMPLE_POINT] = { "sample-point", "where in the bit it is read", .example = "87.5%", POINT_LIMITS },
    [TIMING_PRESCALER] = { "prescaler", "periods of the clock in a quantum", .example = "1", PRESCALER_LIMITS },
    [TIMING_SEGMENTS] = { "segments", "prop_seg+phase_seg1+phase_seg2, in quanta", .example = "6+7+2", SEGMENT_LIMITS },
    [TIMING_SJW] = { "sjw", "synchronisation jump width, in quanta", .example = "1", SJW_LIMITS },
    [TIMING_LIMITS] = { "limits", "the most of prop_seg with phase_seg1, phase_seg2, SJW, prescaler; then the same of the data phase",
                        .example = "16+8+4+64", .kind = LW_FIELD_COUNT, .may_repeat = true, .min = 1, .max = 65536 },
    [TIMING_MODULE_CLOCK] = { "module-clock", "clock of a second controller, the new module's", CLOCK_LIMITS },
    [TIMING_MODULE_RATE] = { "module-rate", "the module's bit rate, if it is another", .example = "500k", RATE_LIMITS, .max = 8e6 },
    [TIMING_MODULE_SAMPLE_POINT] = { "module-sample-point", "the module's sample point", .example = "80%", POINT_LIMITS },
    [TIMING_MODULE_PRESCALER] = { "module-prescaler", "the module's prescaler", .example = "2", PRESCALER_LIMITS },
    [TIMING_MODULE_SEGMENTS] = { "module-segments", "the module's segments, as above", .example = "7+8+4", SEGMENT_LIMITS },
    [TIMING_MODULE_SJW] = { "module-sjw", "the module's SJW", .example = "3", SJW_LIMITS },
    [TIMING_DATA_RATE] = { "data-rate", "bit rate of the data phase (CAN FD)", .example = "2M", RATE_LIMITS, .max = 16e6 },
    [TIMING_DATA_SAMPLE_POINT] = { "data-sample-point", "sample point of the data phase", .example = "75%", POINT_LIMITS },
    [TIMING_DATA_PRESCALER] = { "data-prescaler", "prescaler of the data phase", .example = "1", PRESCALER_LIMITS },
    [TIMING_DATA_SEGMENTS] = { "data-segments", "segments of the data phase, as above", .example = "7+8+4", SEGMENT_LIMITS },
    [TIMING_DATA_SJW] = { "data-sjw", "SJW of the data phase", .example = "4", SJW_LIMITS },
    [TIMING_LENGTH] = { "length", "of the bus, between the two nodes farthest apart", "m", "40m", .min = 0, .max = 10000 },
    [TIMING_LOOP_DELAY] = { "loop-delay", "of a transceiver, TXD to RXD; the preset is the most ISO 11898-1:2015 allows, as quoted by "
                            "Microchip", "ns", "175ns", "255ns", .min = 0, .max = 10000 },
    [TIMING_CABLE_DELAY] = { "cable-delay", "of a metre of cable; the preset is the nominal value of ISO 11898, as quoted by NI", "ns",
                             "5.5ns", "5ns", .min = 3, .max = 20 },
    [TIMING_OSCILLATOR] = { "oscillator", "how far each clock may be off; the preset is what ISO 15765-4:2005 demands of a tester", "%",
                            "100ppm", "0.15%", .min = 0, .max = 5 },
    [TIMING_ALL] = { "all", "list every setting, not the best five", .example = "yes", .preset = "no", .choices = no_or_yes,
                     .kind = LW_FIELD_CHOICE },
};

char *timing_rate_text(double bps, char buf[TIMING_TEXT])
{
    char number[LW_NUMBER_UNIT_TEXT];
    snprintf(buf, TIMING_TEXT, "%s", lw_number_text(bps, "bit/s", number));
    return buf;
}

char *timing_percent(double fraction, char buf[TIMING_TEXT])
{
    snprintf(buf, TIMING_TEXT, "%.4g %%", 100 * fraction);
    return buf;
}

char *timing_segments_text(const struct lw_timing *timing, char buf[TIMING_TEXT])
{
    snprintf(buf, TIMING_TEXT, "%u+%u+%u", timing->prop_seg, timing->phase_seg1, timing->phase_seg2);
    return buf;
}

/* Of segments that had to be found. */
static void note_smaller_sjw(struct timing_job *job, const struct timing_node *node)
{
    if (node->is_found && node->wish.sjw > node->timing.sjw)
        lw_sheet_answer(job->sheet, LW_FINDING_NONE, "An SJW of %u does not go with the segments of %s here: counted as %u.", node->wish.sjw,
                        node->who, node->timing.sjw);
}

static void note_what_is_not_told(struct timing_job *job)
{
    char rate[TIMING_TEXT];
    note_smaller_sjw(job, &job->bus);
    note_smaller_sjw(job, &job->module);
    note_smaller_sjw(job, &job->data);
    if (job->told && job->told->data_rate_bps > 0 && !job->has_data)
        lw_sheet_answer(job->sheet, LW_FINDING_NONE, "%s has a data phase of %s. Its segments are not told: write data-rate= and "
                        "data-sample-point= to judge it.", job->told->interface, timing_rate_text(job->told->data_rate_bps, rate));
    if (job->has_module && job->has_data)
        lw_sheet_answer(job->sheet, LW_FINDING_NONE, "Of the module only the nominal bit rate was compared, not a data phase.");
}

static void run(const struct lw_calc_input *input, struct lw_worksheet *sheet)
{
    struct timing_job job = { .input = input, .sheet = sheet, .told = input->material };
    if (!timing_read(&job))
        return;
    if (job.has_module)
        timing_pair(&job);
    else if (job.bus.is_found)
        timing_list(&job);
    else
        timing_judge(&job);
    if (job.has_data)
        timing_data(&job);
    note_what_is_not_told(&job);
    timing_points(&job);
}

const struct lw_calculator lw_calc_timing = {
    .name = "timing",
    .words = "what a bit timing is good for, and whether two of them work together",
    .example = "rate=500k sample-point=87.5% module-sample-point=80% length=40m",
    .n_fields = N_TIMING_FIELDS, .fields = fields, .run = run,
};
