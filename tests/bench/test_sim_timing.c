/* SPDX-License-Identifier: MIT
 *
 * What the calculator says of bit timings, tried on the bench, which shares nothing with it: a bus of the length it allows,
 * with clocks as far apart as it allows, runs clean; one past the sample point, or with clocks much farther apart, does not.
 */
#include "sim_bench.h"

#include "loomwatch/calc/bit_timing.h"

#include <math.h>
#include <stdlib.h>

#include "cases.h"

enum { CLOCK_HZ = 80000000, LOOP_NS = 150, FOR_MS = 1500 };
static const struct lw_way way = { LOOP_NS, 5 };

struct pair_case {
    uint32_t rate_bps;
    double sample_points[2];
    uint32_t sjw[2];                 /* 0: the largest */
};

static const struct pair_case pairs[] = {
    { 500000, { 0.875, 0.8 }, { 0, 0 } }, { 500000, { 0.875, 0.8 }, { 1, 1 } }, { 500000, { 0.75, 0.875 }, { 0, 1 } },
    { 250000, { 0.875, 0.8 }, { 0, 0 } }, { 125000, { 0.8, 0.7 }, { 4, 2 } }, { 1000000, { 0.8, 0.75 }, { 0, 0 } },
};

static struct lw_timing timing_for(const struct pair_case *row, unsigned which)
{
    struct lw_timing_wish wish = { CLOCK_HZ, row->rate_bps, row->sample_points[which], 0, row->sjw[which], lw_timing_fd_data_limits };
    struct lw_timing_choice best;
    assert_true(lw_timing_search(&wish, &best, 1) > 0);
    return best.timing;
}

static struct lw_bit_timing as_on_the_bench(const struct lw_timing *timing)
{
    return (struct lw_bit_timing){ timing->brp * (UINT64_C(1000000000000) / CLOCK_HZ), (uint8_t)timing->prop_seg, (uint8_t)timing->phase_seg1,
                                   (uint8_t)timing->phase_seg2, (uint8_t)timing->sjw };
}

/* Errors of two units at the ends of a bus without capacitance, both sending, one clock fast and one slow. */
static uint64_t errors_of(const struct pair_case *row, double length_m, double off, int fast)
{
    struct sim_bench bench = sim_bench_of(2, row->rate_bps, (uint32_t)(length_m * 1000));
    bench.plant->pf_per_m = bench.plant->pf_per_unit = 0;
    for (unsigned u = 0; u < 2; u++) {
        struct lw_timing timing = timing_for(row, u);
        bench.plant->units[u].timing = as_on_the_bench(&timing);
        bench.plant->units[u].loop_delay_ns = LOOP_NS;
        bench.plant->units[u].crystal_ppm = (int32_t)(1e6 * off) * ((int)u == fast ? -1 : 1);
        struct lw_plant_message *message = sim_bench_message(&bench, u, 0x100 + u, 8, 2);
        message->constant[0] = 0x07;             /* long runs of equal bits */
    }
    sim_bench_start(&bench, 7);
    sim_bench_run(&bench, FOR_MS);
    uint64_t n_errors = sim_bench_errors(&bench);
    assert_true(sim_bench_sent(&bench) > 500 || n_errors > 0);
    sim_bench_stop(&bench);
    return n_errors;
}

static struct lw_timing_pair judged(const struct pair_case *row)
{
    struct lw_timing first = timing_for(row, 0), second = timing_for(row, 1);
    return lw_timing_compare(&first, &second, &way, 0);
}

static void pair_at_its_limits_runs_clean(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS(pairs); i++)
        for (int fast = 0; fast < 2; fast++) {
            struct lw_timing_pair pair = judged(&pairs[i]);
            uint64_t n = errors_of(&pairs[i], 0.99 * pair.longest_m, 0.98 * pair.allowed_difference / 2, fast);
            if (n != 0)
                fail_msg("pair %zu, %d fast, %.0f m: %u errors", i, fast, pair.longest_m, (unsigned)n);
        }
}

/* Longer than that an acknowledge comes after the sample point of the one that samples first. */
static double hopeless_length_m(const struct pair_case *row)
{
    double shorter_m = INFINITY;
    for (unsigned u = 0; u < 2; u++) {
        struct lw_timing timing = timing_for(row, u);
        double sampled_ns = lw_timing_bit_ns(&timing) * lw_timing_sample_point(&timing);
        shorter_m = fmin(shorter_m, (sampled_ns / 2 - way.loop_delay_ns) / way.delay_ns_per_m);
    }
    return shorter_m;
}

static void pair_on_a_bus_past_the_sample_point_does_not(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS(pairs); i++) {
        double hopeless_m = hopeless_length_m(&pairs[i]);
        assert_true(hopeless_m > judged(&pairs[i]).longest_m);
        if (errors_of(&pairs[i], hopeless_m + 1, 0, 0) == 0)
            fail_msg("pair %zu ran clean", i);
    }
}

static void pair_with_clocks_far_apart_does_not(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS(pairs); i++)
        if (errors_of(&pairs[i], 1, 4 * judged(&pairs[i]).allowed_difference / 2, 0) == 0)
            fail_msg("pair %zu ran clean", i);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pair_at_its_limits_runs_clean),
        cmocka_unit_test(pair_on_a_bus_past_the_sample_point_does_not),
        cmocka_unit_test(pair_with_clocks_far_apart_does_not),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
