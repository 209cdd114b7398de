/* SPDX-License-Identifier: MIT
 *
 * What a setting gives: rate, sample point, oscillator tolerance, the bus it has time for; and what two settings make of
 * each other.
 */
#include "loomwatch/calc/bit_timing.h"

#include <math.h>

const struct lw_timing_limits lw_timing_classic_limits = { 1, 16, 1, 8, 4, 1, 64, 1 };
const struct lw_timing_limits lw_timing_fd_limits = { 1, 64, 1, 16, 16, 1, 1024, 1 };
const struct lw_timing_limits lw_timing_fd_data_limits = { 1, 16, 1, 8, 4, 1, 1024, 1 };

uint32_t lw_timing_quanta(const struct lw_timing *timing)
{
    return 1 + timing->prop_seg + timing->phase_seg1 + timing->phase_seg2;
}

double lw_timing_tq_ns(const struct lw_timing *timing)
{
    return 1e9 * timing->brp / timing->clock_hz;
}

double lw_timing_bit_ns(const struct lw_timing *timing)
{
    return 1e9 * timing->brp * lw_timing_quanta(timing) / timing->clock_hz;
}

double lw_timing_rate_bps(const struct lw_timing *timing)
{
    return (double)timing->clock_hz / ((double)timing->brp * lw_timing_quanta(timing));
}

double lw_timing_sample_point(const struct lw_timing *timing)
{
    uint32_t quanta = lw_timing_quanta(timing);
    return (double)(quanta - timing->phase_seg2) / quanta;
}

struct lw_timing lw_timing_split_anew(const struct lw_timing *timing)
{
    struct lw_timing anew = *timing;
    if (anew.phase_seg1 > anew.phase_seg2) {
        anew.prop_seg += anew.phase_seg1 - anew.phase_seg2;
        anew.phase_seg1 = anew.phase_seg2;
    }
    return anew;
}

static uint32_t smaller_phase(const struct lw_timing *timing)
{
    return timing->phase_seg1 < timing->phase_seg2 ? timing->phase_seg1 : timing->phase_seg2;
}

struct lw_tolerance lw_timing_tolerance(const struct lw_timing *timing)
{
    double bit = lw_timing_quanta(timing);
    return (struct lw_tolerance){
        .by_phase = smaller_phase(timing) / (2 * (13 * bit - timing->phase_seg2)),
        .by_sjw = timing->sjw / (20 * bit),
    };
}

double lw_tolerance_smaller(struct lw_tolerance tolerance)
{
    return fmin(tolerance.by_phase, tolerance.by_sjw);
}

uint32_t lw_timing_sjw_wanted(const struct lw_timing *timing)
{
    return (uint32_t)ceil(lw_timing_tolerance(timing).by_phase * 20 * lw_timing_quanta(timing) - 1e-9);
}

double lw_timing_longest_m(const struct lw_timing *timing, const struct lw_way *way)
{
    double there_ns = timing->prop_seg * lw_timing_tq_ns(timing) / 2;
    return (there_ns - way->loop_delay_ns) / way->delay_ns_per_m;
}

double lw_timing_prop_left_ns(const struct lw_timing *timing, const struct lw_way *way, double length_m)
{
    return timing->prop_seg * lw_timing_tq_ns(timing) - 2 * (way->loop_delay_ns + length_m * way->delay_ns_per_m);
}

struct lw_timing_pair lw_timing_compare(const struct lw_timing *first, const struct lw_timing *second,
                                        const struct lw_way *way, double oscillator)
{
    const struct lw_timing a = lw_timing_split_anew(first), b = lw_timing_split_anew(second);
    double tolerance_a = lw_tolerance_smaller(lw_timing_tolerance(&a));
    double tolerance_b = lw_tolerance_smaller(lw_timing_tolerance(&b));
    double longest_a_m = lw_timing_longest_m(&a, way), longest_b_m = lw_timing_longest_m(&b, way);
    double rate_a = lw_timing_rate_bps(&a), rate_b = lw_timing_rate_bps(&b);
    struct lw_timing_pair pair = {
        .rate_difference = fabs(rate_a - rate_b) / fmin(rate_a, rate_b),
        .allowed_difference = 2 * fmin(tolerance_a, tolerance_b),
        .longest_m = fmin(longest_a_m, longest_b_m),
        .is_first_shorter = longest_a_m < longest_b_m,
        .is_first_weaker = tolerance_a < tolerance_b,
    };
    pair.clock_margin = pair.allowed_difference - pair.rate_difference - 2 * oscillator;
    return pair;
}
