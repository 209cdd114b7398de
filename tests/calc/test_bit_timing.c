/* SPDX-License-Identifier: MIT
 *
 * Settings against the worked examples of application notes, and what must hold for all of them.
 */
#include "loomwatch/calc/bit_timing.h"

#include <math.h>

#include "cases.h"
#include "random_event.h"

static void assert_near(double value, double expected, double within)
{
    if (!(fabs(value - expected) <= within))
        fail_msg("%.9g is not within %g of %.9g", value, within, expected);
}

/* Tolerances in percent as published, to the digits that are given. A negative one is not given. */
static void tolerance_matches_worked_examples(void **state)
{
    (void)state;
    static const struct {
        struct lw_timing timing;
        double published_pct, by_phase_pct, by_sjw_pct;
        const char *source;
    } cases[] = {
        { { 10000000, 1, 6, 1, 2, 1 }, 0.39, 0.390625, 0.5, "Bosch TTCAN User's Manual 1.6, p. 52" },
        { { 2000000, 2, 1, 4, 4, 4 }, 1.58, 1.5873, 2.0, "TI SPRUIW9C, 100 kbit/s" },
        { { 2000000, 2, 9, 5, 5, 4 }, 0.980, 0.9804, 1.0, "OpenLCB CAN Physical Layer TN, 20 tq" },
        { { 20000000, 10, 7, 4, 4, 3 }, 0.938, 0.9804, 0.9375, "OpenLCB calculator, 16 tq" },
        { { 8000000, 1, 6, 7, 2, 1 }, -1, 0.4854, 0.3125, "computed by two methods" },
        { { 10000000, 1, 7, 1, 1, 1 }, -1, 0.3876, 0.5, "computed by two methods; TI prints 0.43, 0.35 and 0.38" },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        struct lw_tolerance tolerance = lw_timing_tolerance(&cases[i].timing);
        assert_near(100 * tolerance.by_phase, cases[i].by_phase_pct, 5e-5);
        assert_near(100 * tolerance.by_sjw, cases[i].by_sjw_pct, 5e-5);
        if (cases[i].published_pct > 0)   /* cut or rounded at the last digit */
            assert_near(100 * lw_tolerance_smaller(tolerance), cases[i].published_pct, 0.0075);
    }
}

static void longest_bus_matches_worked_examples(void **state)
{
    (void)state;
    static const struct {
        struct lw_timing timing;
        struct lw_way way;
        double longest_m;
        const char *source;
    } cases[] = {
        { { 10000000, 1, 6, 1, 2, 1 }, { 50 + 30, 220.0 / 40 }, 40, "Bosch TTCAN User's Manual 1.6, p. 52" },
        { { 2000000, 2, 1, 4, 4, 4 }, { 200 + 80, 220.0 / 40 }, 40, "TI SPRUIW9C" },
        { { 2500000, 1, 9, 5, 5, 4 }, { 200, 5 }, 320, "OpenLCB TN, 125 kbit/s" },
        { { 20000000, 10, 7, 4, 4, 3 }, { 200, 5 }, 310, "OpenLCB calculator" },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        assert_near(lw_timing_longest_m(&cases[i].timing, &cases[i].way), cases[i].longest_m, 1e-6);
        assert_near(lw_timing_prop_left_ns(&cases[i].timing, &cases[i].way, cases[i].longest_m), 0, 1e-6);
    }
}

/* 40 m of 5 ns/m and 255 ns a transceiver need 910 ns: Microchip, eq. 38-9. */
static void way_there_and_back_matches_the_published_sum(void **state)
{
    (void)state;
    const struct lw_timing timing = { 1000000, 1, 1, 1, 1, 1 };   /* prop_seg 1000 ns */
    const struct lw_way way = { 255, 5 };
    assert_near(lw_timing_prop_left_ns(&timing, &way, 40), 1000 - 910, 1e-9);
}

static void setting_tells_rate_and_sample_point(void **state)
{
    (void)state;
    static const struct {
        struct lw_timing timing;
        double rate_bps, sample_point, tq_ns;
        const char *source;
    } cases[] = {
        { { 80000000, 4, 14, 15, 10, 1 }, 500000, 0.75, 50, "Linux can.rst" },
        { { 80000000, 1, 7, 8, 4, 1 }, 4000000, 0.8, 12.5, "Linux can.rst, which prints 12" },
        { { 10000000, 2, 7, 8, 4, 3 }, 250000, 0.8, 200, "ISO 15765-4:2005, table 8" },
        { { 8000000, 2, 9, 3, 3, 3 }, 250000, 0.8125, 250, "ISO 15765-4:2005, table 9" },
        { { 10000000, 1, 7, 8, 4, 3 }, 500000, 0.8, 100, "ISO 15765-4:2005, table 10" },
        { { 8000000, 1, 9, 3, 3, 3 }, 500000, 0.8125, 125, "ISO 15765-4:2005, table 11" },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        assert_near(lw_timing_rate_bps(&cases[i].timing), cases[i].rate_bps, 1e-6);
        assert_near(lw_timing_sample_point(&cases[i].timing), cases[i].sample_point, 1e-12);
        assert_near(lw_timing_tq_ns(&cases[i].timing), cases[i].tq_ns, 1e-9);
    }
}

static struct lw_timing random_timing(uint64_t *seed)
{
    struct lw_timing timing = {
        .clock_hz = 1000000 + random_below(seed, 160000000), .brp = 1 + random_below(seed, 1024), .prop_seg = random_below(seed, 64),
        .phase_seg1 = 1 + random_below(seed, 32), .phase_seg2 = 1 + random_below(seed, 32),
    };
    uint32_t smaller = timing.phase_seg1 < timing.phase_seg2 ? timing.phase_seg1 : timing.phase_seg2;
    timing.sjw = 1 + random_below(seed, smaller);
    return timing;
}

static void any_setting_keeps_its_sums(void **state)
{
    (void)state;
    uint64_t seed = 0xB17;
    for (unsigned i = 0; i < 20000; i++) {
        struct lw_timing timing = random_timing(&seed), anew = lw_timing_split_anew(&timing);
        double clock = lw_timing_rate_bps(&timing) * lw_timing_quanta(&timing) * timing.brp;
        assert_near(clock, timing.clock_hz, 1e-3);
        assert_near(lw_timing_bit_ns(&timing), lw_timing_tq_ns(&timing) * lw_timing_quanta(&timing), 1e-3);
        assert_int_equal(anew.prop_seg + anew.phase_seg1, timing.prop_seg + timing.phase_seg1);
        assert_int_equal(anew.phase_seg2, timing.phase_seg2);
        /* Splitting anew costs no tolerance and no length. */
        assert_true(lw_timing_tolerance(&anew).by_phase == lw_timing_tolerance(&timing).by_phase);
        assert_true(anew.prop_seg >= timing.prop_seg);
    }
}

static void longer_bus_is_never_easier(void **state)
{
    (void)state;
    uint64_t seed = 0x10A6;
    for (unsigned i = 0; i < 2000; i++) {
        struct lw_timing timing = random_timing(&seed);
        struct lw_way way = { random_below(&seed, 300), 4 + random_below(&seed, 30) / 10.0 };
        double before_ns = lw_timing_prop_left_ns(&timing, &way, 0), longest_m = lw_timing_longest_m(&timing, &way);
        for (double length_m = 1; length_m < 600; length_m += 13) {
            double left_ns = lw_timing_prop_left_ns(&timing, &way, length_m);
            assert_true(left_ns < before_ns);
            if (fabs(length_m - longest_m) > 1e-6)
                assert_int_equal(left_ns > 0, length_m < longest_m);
            before_ns = left_ns;
        }
    }
}

static void larger_sjw_never_lowers_the_tolerance(void **state)
{
    (void)state;
    uint64_t seed = 0x5A11;
    for (unsigned i = 0; i < 5000; i++) {
        struct lw_timing timing = random_timing(&seed), data = random_timing(&seed);
        uint32_t smaller = timing.phase_seg1 < timing.phase_seg2 ? timing.phase_seg1 : timing.phase_seg2;
        uint32_t wanted = lw_timing_sjw_wanted(&timing);
        double before = 0, fd_before[LW_FD_CONDITIONS] = { 0 };
        assert_in_range(wanted, 1, smaller);
        for (timing.sjw = 1; timing.sjw <= smaller; timing.sjw++) {
            struct lw_tolerance tolerance = lw_timing_tolerance(&timing);
            double fd[LW_FD_CONDITIONS];
            assert_true(lw_tolerance_smaller(tolerance) >= before);
            assert_int_equal(timing.sjw >= wanted, tolerance.by_sjw >= tolerance.by_phase * (1 - 1e-9));
            before = lw_tolerance_smaller(tolerance);
            lw_timing_fd_tolerance(&timing, &data, fd);
            for (unsigned c = 0; c < LW_FD_CONDITIONS; c++) {
                assert_true(fd[c] >= fd_before[c] || c == 4);
                fd_before[c] = fd[c];
            }
        }
    }
}

/* Where both phases are set alike nothing changes at the change of rate: the conditions must be those of ISO 11898-1. */
static void data_phase_like_the_nominal_one_has_its_tolerance(void **state)
{
    (void)state;
    uint64_t seed = 0xFD;
    for (unsigned i = 0; i < 1000; i++) {
        struct lw_timing timing = random_timing(&seed);
        double fd[LW_FD_CONDITIONS];
        lw_timing_fd_tolerance(&timing, &timing, fd);
        assert_near(fd[2], fd[0], 1e-12);
        assert_near(fd[3], fd[1], 1e-12);
        assert_true(fd[4] > fd[0]);
    }
}

static void delay_compensation_is_needed_beyond_the_sample_point(void **state)
{
    (void)state;
    const struct lw_timing data = { 80000000, 1, 7, 8, 4, 1 };   /* 4 Mbit/s, sampled at 200 ns */
    struct lw_delay_compensation at_199 = lw_timing_delay_compensation(&data, 199);
    struct lw_delay_compensation at_255 = lw_timing_delay_compensation(&data, 255);
    assert_false(at_199.is_needed);
    assert_true(at_255.is_needed && at_255.is_possible);
    assert_int_equal(at_255.offset_clocks, 16);
    assert_near(at_255.delay_bits, 1.02, 1e-9);
    const struct lw_timing slow = { 80000000, 4, 7, 8, 4, 1 };
    assert_false(lw_timing_delay_compensation(&slow, 255).is_possible);
}

static void pair_is_limited_by_its_weaker_half(void **state)
{
    (void)state;
    const struct lw_timing late = { 8000000, 1, 6, 7, 2, 1 }, early = { 10000000, 1, 7, 8, 4, 3 };
    const struct lw_way way = { 255, 5 };
    struct lw_timing_pair pair = lw_timing_compare(&late, &early, &way, 0.0015);
    assert_near(pair.rate_difference, 0, 1e-12);
    assert_near(pair.allowed_difference, 2 * 0.003125, 1e-12);         /* SJW 1 of 16 quanta */
    assert_near(pair.clock_margin, 2 * 0.003125 - 2 * 0.0015, 1e-12);
    assert_near(pair.longest_m, (11 * 100 / 2.0 - 255) / 5, 1e-9);     /* 20 quanta: 11 for the way, 4 and 4 */
    assert_true(pair.is_first_weaker && !pair.is_first_shorter);
}

static void pair_is_the_same_from_both_sides(void **state)
{
    (void)state;
    uint64_t seed = 0x2;
    const struct lw_way way = { 255, 5 };
    for (unsigned i = 0; i < 5000; i++) {
        struct lw_timing a = random_timing(&seed), b = random_timing(&seed);
        struct lw_timing_pair there = lw_timing_compare(&a, &b, &way, 0.001), back = lw_timing_compare(&b, &a, &way, 0.001);
        assert_true(there.rate_difference == back.rate_difference && there.clock_margin == back.clock_margin);
        assert_true(there.longest_m == back.longest_m);
        assert_false(there.is_first_shorter && back.is_first_shorter);
        assert_false(there.is_first_weaker && back.is_first_weaker);
        assert_true(there.longest_m >= fmin(lw_timing_longest_m(&a, &way), lw_timing_longest_m(&b, &way)));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tolerance_matches_worked_examples),
        cmocka_unit_test(longest_bus_matches_worked_examples),
        cmocka_unit_test(way_there_and_back_matches_the_published_sum),
        cmocka_unit_test(setting_tells_rate_and_sample_point),
        cmocka_unit_test(any_setting_keeps_its_sums),
        cmocka_unit_test(longer_bus_is_never_easier),
        cmocka_unit_test(larger_sjw_never_lowers_the_tolerance),
        cmocka_unit_test(data_phase_like_the_nominal_one_has_its_tolerance),
        cmocka_unit_test(delay_compensation_is_needed_beyond_the_sample_point),
        cmocka_unit_test(pair_is_limited_by_its_weaker_half),
        cmocka_unit_test(pair_is_the_same_from_both_sides),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
