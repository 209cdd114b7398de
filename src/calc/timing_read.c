/* SPDX-License-Identifier: MIT
 *
 * The calculator `timing`: from its fields to complete settings. What is not told is searched or assumed, and marked so.
 */
#include "timing_parts.h"

#include <math.h>
#include <stdio.h>

/* Where no clock is told: one that reaches every usual setting. */
enum { ASSUMED_CLOCK_HZ = 80000000 };
static const double MAX_RATE_ERROR = 0.001;

/* The fields of one setting. */
struct setting_fields {
    const char *who, *prefix;
    uint8_t clock, rate, sample_point, prescaler, segments, sjw;
};

static const struct setting_fields bus_fields = {
    "the bus", "", TIMING_CLOCK, TIMING_RATE, TIMING_SAMPLE_POINT, TIMING_PRESCALER, TIMING_SEGMENTS, TIMING_SJW,
};
static const struct setting_fields module_fields = {
    "the module", "module-", TIMING_MODULE_CLOCK, TIMING_MODULE_RATE, TIMING_MODULE_SAMPLE_POINT, TIMING_MODULE_PRESCALER,
    TIMING_MODULE_SEGMENTS, TIMING_MODULE_SJW,
};
static const struct setting_fields data_fields = {
    "the data phase", "data-", TIMING_CLOCK, TIMING_DATA_RATE, TIMING_DATA_SAMPLE_POINT, TIMING_DATA_PRESCALER,
    TIMING_DATA_SEGMENTS, TIMING_DATA_SJW,
};

static uint32_t whole(const struct timing_job *job, unsigned field, unsigned n)
{
    return (uint32_t)(lw_calc_number_at(job->input, field, n) + 0.5);
}

static bool has_any(const struct timing_job *job, const struct setting_fields *fields)
{
    return lw_calc_has(job->input, fields->rate) || lw_calc_has(job->input, fields->sample_point) ||
           lw_calc_has(job->input, fields->prescaler) || lw_calc_has(job->input, fields->segments) ||
           lw_calc_has(job->input, fields->sjw);
}

static bool refuse_segments(struct timing_job *job, const struct setting_fields *fields)
{
    lw_sheet_refuse(job->sheet,
                    "%ssegments wants three numbers, prop_seg+phase_seg1+phase_seg2, of which only the first may be 0; write "
                    "for instance %ssegments=6+7+2",
                    fields->prefix, fields->prefix);
    return false;
}

/* The rate that is written; of a module without one that of the bus, which it is to join. NaN: none. */
static double wanted_rate(const struct timing_job *job, const struct setting_fields *fields)
{
    double rate_bps = lw_calc_number(job->input, fields->rate);
    return isnan(rate_bps) && fields == &module_fields ? lw_timing_rate_bps(&job->bus.timing) : rate_bps;
}

/* The prescaler that is written, or the one by which the segments give the rate. */
static bool read_prescaler(struct timing_job *job, const struct setting_fields *fields, struct timing_node *node)
{
    struct lw_timing *timing = &node->timing;
    char real[TIMING_TEXT], wanted[TIMING_TEXT];
    bool has_prescaler = lw_calc_has(job->input, fields->prescaler);
    double rate_bps = has_prescaler ? lw_calc_number(job->input, fields->rate) : wanted_rate(job, fields);
    if (has_prescaler)
        timing->brp = whole(job, fields->prescaler, 0);
    else if (!isnan(rate_bps))
        timing->brp = (uint32_t)fmax(1, floor(timing->clock_hz / (rate_bps * lw_timing_quanta(timing)) + 0.5));
    if (timing->brp == 0) {
        lw_sheet_refuse(job->sheet, "%sprescaler= or %s= is missing: without one of them the segments give no bit rate",
                        fields->prefix, job->input->calculator->fields[fields->rate].name);
        return false;
    }
    if (isnan(rate_bps) || fabs(lw_timing_rate_bps(timing) / rate_bps - 1) <= MAX_RATE_ERROR)
        return true;
    lw_sheet_refuse(job->sheet,
                    "%u quanta of %u periods of the clock give %s, not %s; mend clock, prescaler or segments of %s, or leave "
                    "the rate out",
                    lw_timing_quanta(timing), timing->brp, timing_rate_text(lw_timing_rate_bps(timing), real),
                    timing_rate_text(rate_bps, wanted), fields->who);
    return false;
}

/* Limits that nobody told hold nobody. */
static bool check_limits(struct timing_job *job, const struct setting_fields *fields, const struct lw_timing *timing)
{
    const struct lw_timing_limits *limits = fields == &data_fields ? &job->data_limits : &job->limits;
    bool is_told = fields == &bus_fields && (job->told || lw_calc_has(job->input, TIMING_LIMITS));
    is_told |= fields == &data_fields && lw_calc_count(job->input, TIMING_LIMITS) == 8;
    if (!is_told || (timing->prop_seg + timing->phase_seg1 <= limits->tseg1_max && timing->phase_seg2 <= limits->tseg2_max &&
                     timing->sjw <= limits->sjw_max && timing->brp <= limits->brp_max))
        return true;
    lw_sheet_refuse(job->sheet,
                    "the controller cannot be set to that: it has at most %u quanta for prop_seg with phase_seg1, %u for "
                    "phase_seg2, SJW %u, prescaler %u; mend the setting of %s",
                    limits->tseg1_max, limits->tseg2_max, limits->sjw_max, limits->brp_max, fields->who);
    return false;
}

static bool read_segments(struct timing_job *job, const struct setting_fields *fields, struct timing_node *node)
{
    struct lw_timing *timing = &node->timing;
    if (lw_calc_count(job->input, fields->segments) != 3)
        return refuse_segments(job, fields);
    timing->prop_seg = whole(job, fields->segments, 0);
    timing->phase_seg1 = whole(job, fields->segments, 1);
    timing->phase_seg2 = whole(job, fields->segments, 2);
    if (timing->phase_seg1 == 0 || timing->phase_seg2 == 0)
        return refuse_segments(job, fields);
    if (node->is_clock_assumed) {
        lw_sheet_refuse(job->sheet, "%s= is missing: segments are counted in its periods. Write for instance %s=8M",
                        job->input->calculator->fields[fields->clock].name,
                        job->input->calculator->fields[fields->clock].name);
        return false;
    }
    if (!read_prescaler(job, fields, node))
        return false;
    uint32_t most = timing->phase_seg1 < timing->phase_seg2 ? timing->phase_seg1 : timing->phase_seg2;
    node->is_sjw_assumed = !lw_calc_has(job->input, fields->sjw);
    timing->sjw = node->is_sjw_assumed ? 1 : whole(job, fields->sjw, 0);
    if (timing->sjw > most)
        lw_sheet_refuse(job->sheet, "an SJW of %u is more than the smaller phase segment of %s, %u; write %ssjw=%u or less",
                        timing->sjw, fields->who, most, fields->prefix, most);
    return timing->sjw <= most && check_limits(job, fields, timing);
}

/* Says why nothing was found: the nearest rate, or that the segments do not allow it. */
static bool refuse_rate(struct timing_job *job, const struct timing_node *node)
{
    double nearest_bps = lw_timing_nearest_bps(&node->wish), clock_hz = node->wish.clock_hz;
    char wanted[TIMING_TEXT], nearest[TIMING_TEXT], clock[LW_NUMBER_UNIT_TEXT];
    lw_sheet_refuse(job->sheet,
                    "no setting of %s makes %s of a clock of %s; the nearest is %s, %.2g %% off. Within 0.1 %% it takes "
                    "another clock, or other limits=",
                    node->who, timing_rate_text(node->wish.rate_bps, wanted), lw_number_text(clock_hz, "Hz", clock),
                    timing_rate_text(nearest_bps, nearest), 100 * fabs(nearest_bps / node->wish.rate_bps - 1));
    return false;
}

/* The best setting of a rate. A SJW that is not told: the largest where settings are listed, 1 where one that is in use is
 * judged, as nothing worse can be. */
static bool search(struct timing_job *job, const struct setting_fields *fields, const struct lw_timing_limits *limits,
                   double rate_bps, bool is_in_use, struct timing_node *node)
{
    struct lw_timing_choice best;
    node->wish = (struct lw_timing_wish){
        .clock_hz = node->timing.clock_hz,
        .rate_bps = (uint32_t)(rate_bps + 0.5),
        .max_rate_error = MAX_RATE_ERROR,
        .sample_point = lw_calc_has(job->input, fields->sample_point)
                            ? lw_calc_number(job->input, fields->sample_point) / 100
                            : lw_timing_kernel_sample_permille((uint32_t)rate_bps) / 1000.0,
        .sjw = lw_calc_has(job->input, fields->sjw) ? whole(job, fields->sjw, 0) : is_in_use,
        .limits = *limits,
    };
    if (lw_timing_search(&node->wish, &best, 1) == 0)
        return refuse_rate(job, node);
    node->timing = best.timing;
    node->is_found = true;
    node->is_sjw_assumed = is_in_use && !lw_calc_has(job->input, fields->sjw);
    return true;
}

static bool read_setting(struct timing_job *job, const struct setting_fields *fields, const struct lw_timing_limits *limits,
                         bool is_in_use, struct timing_node *node)
{
    bool has_clock = lw_calc_has(job->input, fields->clock), is_told = job->told && fields != &module_fields;
    double rate_bps = wanted_rate(job, fields);
    node->who = fields->who;
    node->is_clock_assumed = !has_clock && !is_told;
    node->timing.clock_hz = has_clock ? whole(job, fields->clock, 0)
                            : is_told ? job->told->timing.clock_hz
                                      : ASSUMED_CLOCK_HZ;
    if (lw_calc_has(job->input, fields->segments))
        return read_segments(job, fields, node);
    if (isnan(rate_bps)) {
        lw_sheet_refuse(job->sheet, "%s= is missing; write for instance %s",
                        job->input->calculator->fields[fields->rate].name, job->input->calculator->example);
        return false;
    }
    if (node->is_clock_assumed && !is_in_use) {
        lw_sheet_refuse(job->sheet, "clock= is missing: settings are counted in its periods. Write for instance clock=8M, or "
                                    "the name of an interface");
        return false;
    }
    return search(job, fields, node->is_clock_assumed ? &lw_timing_fd_data_limits : limits, rate_bps, is_in_use, node);
}

static bool read_limits(struct timing_job *job)
{
    unsigned n = lw_calc_count(job->input, TIMING_LIMITS);
    job->limits = job->told ? job->told->limits : job->has_data ? lw_timing_fd_limits : lw_timing_classic_limits;
    job->data_limits = lw_timing_fd_data_limits;
    if (n != 0 && n != 4 && n != 8) {
        lw_sheet_refuse(job->sheet, "limits wants four numbers, the most of prop_seg with phase_seg1, of phase_seg2, SJW and "
                                    "prescaler, and four more for a data phase; write for instance limits=16+8+4+64");
        return false;
    }
    for (unsigned i = 0; i < n; i += 4) {
        struct lw_timing_limits *limits = i == 0 ? &job->limits : &job->data_limits;
        *limits = (struct lw_timing_limits){
            1, whole(job, TIMING_LIMITS, i),     1, whole(job, TIMING_LIMITS, i + 1), whole(job, TIMING_LIMITS, i + 2),
            1, whole(job, TIMING_LIMITS, i + 3), 1
        };
        if (limits->tseg1_max > 512 || limits->tseg2_max > 256) {
            lw_sheet_refuse(job->sheet, "limits: no controller has segments that long; at most 512 for prop_seg with "
                                        "phase_seg1, 256 for phase_seg2");
            return false;
        }
    }
    return true;
}

/* The interface's own setting, unless another is asked for. */
static bool read_bus(struct timing_job *job)
{
    const struct lw_timing_told *told = job->told;
    if (!told || lw_calc_has(job->input, TIMING_RATE) || lw_calc_has(job->input, TIMING_SEGMENTS))
        return read_setting(job, &bus_fields, &job->limits, job->has_module, &job->bus);
    job->bus.who = told->interface;
    job->bus.timing = told->timing;
    if (!told->has_setting)
        lw_sheet_refuse(job->sheet,
                        "%s has no bit rate yet; write rate= to see what its controller can be set to, for instance: timing "
                        "%s rate=500k",
                        told->interface, told->interface);
    return told->has_setting;
}

bool timing_read(struct timing_job *job)
{
    job->has_module = has_any(job, &module_fields) || lw_calc_has(job->input, TIMING_MODULE_CLOCK);
    job->has_data = has_any(job, &data_fields);
    job->way =
        (struct lw_way){ lw_calc_number(job->input, TIMING_LOOP_DELAY), lw_calc_number(job->input, TIMING_CABLE_DELAY) };
    job->length_m = lw_calc_number(job->input, TIMING_LENGTH);
    job->oscillator = lw_calc_number(job->input, TIMING_OSCILLATOR) / 100;
    return read_limits(job) && read_bus(job) &&
           (!job->has_module || read_setting(job, &module_fields, &lw_timing_classic_limits, true, &job->module)) &&
           (!job->has_data || read_setting(job, &data_fields, &job->data_limits, false, &job->data));
}
