/* SPDX-License-Identifier: MIT
 *
 * The search for settings against a bare loop over everything, and the kernel's choice against what the kernel told.
 */
#include "loomwatch/calc/bit_timing.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cases.h"
#include "random_event.h"

enum { MANY = 60000 };

static const struct lw_timing_limits *const three_limits[] = {
    &lw_timing_classic_limits, &lw_timing_fd_data_limits, &(const struct lw_timing_limits){ 2, 8, 2, 8, 4, 2, 64, 2 },
};

static bool is_within(const struct lw_timing_limits *limits, const struct lw_timing *t)
{
    uint32_t tseg1 = t->prop_seg + t->phase_seg1;
    return tseg1 >= limits->tseg1_min && tseg1 <= limits->tseg1_max && t->phase_seg2 >= limits->tseg2_min &&
           t->phase_seg2 <= limits->tseg2_max && t->brp >= limits->brp_min && t->brp <= limits->brp_max &&
           t->brp % limits->brp_inc == 0 && t->sjw >= 1 && t->sjw <= limits->sjw_max && t->sjw <= t->phase_seg2 &&
           t->phase_seg1 >= 1 && t->sjw <= t->phase_seg1;
}

/* Every prescaler with every pair of segments: how many reach the rate, and the best that any sample point comes. */
static size_t count_all(const struct lw_timing_wish *wish, double *smallest_rate_error, double *smallest_sample_error)
{
    const struct lw_timing_limits *l = &wish->limits;
    size_t n = 0;
    *smallest_rate_error = *smallest_sample_error = INFINITY;
    for (uint32_t brp = l->brp_min; brp <= l->brp_max; brp++)
        for (uint32_t tseg1 = l->tseg1_min; brp % l->brp_inc == 0 && tseg1 <= l->tseg1_max; tseg1++)
            for (uint32_t tseg2 = l->tseg2_min; tseg2 <= l->tseg2_max; tseg2++) {
                double quanta = 1 + tseg1 + tseg2, rate = wish->clock_hz / (brp * quanta);
                double rate_error = fabs(rate / wish->rate_bps - 1), sample_error = fabs((1 + tseg1) / quanta - wish->sample_point);
                if (rate_error > wish->max_rate_error + 1e-9)
                    continue;
                n++;
                if (rate_error < *smallest_rate_error - 1e-9) {
                    *smallest_rate_error = rate_error;
                    *smallest_sample_error = sample_error;
                } else if (rate_error < *smallest_rate_error + 1e-9) {
                    *smallest_sample_error = fmin(*smallest_sample_error, sample_error);
                }
            }
    return n;
}

static void search_finds_what_a_bare_loop_finds(void **state)
{
    (void)state;
    static const uint32_t clocks[] = { 8000000, 12000000, 20000000, 24000000, 40000000, 48000000, 80000000 };
    static const uint32_t rates[] = { 10000, 33333, 83333, 125000, 250000, 500000, 800000, 1000000, 2000000 };
    static const double points[] = { 0.7, 0.75, 0.8, 0.8125, 0.875 }, errors[] = { 0, 0.001, 0.05 };
    struct lw_timing_choice *found = malloc(MANY * sizeof(*found));
    uint64_t seed = 0x5EA;
    size_t n_all = 0;
    assert_non_null(found);
    for (unsigned i = 0; i < 300; i++) {
        struct lw_timing_wish wish = {
            clocks[random_below(&seed, N_ROWS(clocks))], rates[random_below(&seed, N_ROWS(rates))],
            points[random_below(&seed, N_ROWS(points))], errors[random_below(&seed, N_ROWS(errors))], random_below(&seed, 3),
            *three_limits[random_below(&seed, N_ROWS(three_limits))],
        };
        double rate_error, sample_error;
        size_t n_expected = count_all(&wish, &rate_error, &sample_error), n = lw_timing_search(&wish, found, MANY);
        assert_int_equal(n, n_expected);
        assert_true(n < MANY);
        for (size_t k = 0; k < n; k++) {
            const struct lw_timing *t = &found[k].timing;
            assert_true(is_within(&wish.limits, t));
            assert_true(fabs(lw_timing_rate_bps(t) / wish.rate_bps - 1) <= wish.max_rate_error + 1e-9);
            assert_true(fabs(lw_timing_rate_bps(t) * lw_timing_quanta(t) * t->brp - wish.clock_hz) < 1e-3);
        }
        if (n > 0) {
            assert_true(fabs(fabs(found[0].rate_error) - rate_error) < 1e-8);
            assert_true(fabs(found[0].sample_error - sample_error) < 1e-8);
        }
        n_all += n;
    }
    assert_true(n_all > 1000);
    free(found);
}

static void search_ranks_by_rate_point_quanta_and_tolerance(void **state)
{
    (void)state;
    struct lw_timing_choice *found = malloc(MANY * sizeof(*found)), few[5];
    struct lw_timing_wish wish = { 80000000, 500000, 0.8, 0.02, 0, lw_timing_classic_limits };
    size_t n = lw_timing_search(&wish, found, MANY);
    assert_non_null(found);
    assert_in_range(n, 20, MANY - 1);
    for (size_t i = 1; i < n; i++) {
        double worse_rate = fabs(found[i].rate_error) - fabs(found[i - 1].rate_error);
        double worse_point = found[i].sample_error - found[i - 1].sample_error;
        int fewer = (int)lw_timing_quanta(&found[i - 1].timing) - (int)lw_timing_quanta(&found[i].timing);
        assert_true(worse_rate > -1e-9);
        if (worse_rate < 1e-9)
            assert_true(worse_point > -1e-9);
        if (worse_rate < 1e-9 && worse_point < 1e-9)
            assert_true(fewer >= 0);
        if (worse_rate < 1e-9 && worse_point < 1e-9 && fewer == 0)
            assert_true(found[i].tolerance <= found[i - 1].tolerance + 1e-9);
    }
    assert_int_equal(lw_timing_search(&wish, few, 5), n);   /* little room changes neither number nor order */
    for (size_t i = 0; i < 5; i++)
        assert_memory_equal(&few[i].timing, &found[i].timing, sizeof(few[i].timing));
    free(found);
}

/* ISO 15765-4:2005, tables 8 to 11: 80 % of 20 quanta, 81.25 % of 16. */
static void search_finds_the_settings_of_a_standard(void **state)
{
    (void)state;
    static const struct {
        uint32_t clock_hz, rate_bps;
        double sample_point;
        uint32_t brp, tseg1, tseg2;
    } cases[] = {
        { 20000000, 250000, 0.8, 4, 15, 4 }, { 20000000, 500000, 0.8, 2, 15, 4 },
        { 16000000, 250000, 0.8125, 4, 12, 3 }, { 16000000, 500000, 0.8125, 2, 12, 3 },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        struct lw_timing_wish wish = { cases[i].clock_hz, cases[i].rate_bps, cases[i].sample_point, 0, 3, lw_timing_classic_limits };
        struct lw_timing_choice best;
        assert_true(lw_timing_search(&wish, &best, 1) > 0);
        assert_int_equal(best.timing.brp, cases[i].brp);
        assert_int_equal(best.timing.prop_seg + best.timing.phase_seg1, cases[i].tseg1);
        assert_int_equal(best.timing.phase_seg2, cases[i].tseg2);
        assert_int_equal(best.timing.sjw, 3);
    }
}

static void impossible_rate_gives_none_and_the_nearest(void **state)
{
    (void)state;
    struct lw_timing_wish wish = { 8000000, 3000000, 0.75, 0.001, 0, lw_timing_classic_limits };
    struct lw_timing_choice best;
    struct lw_timing kernel;
    assert_int_equal(lw_timing_search(&wish, &best, 1), 0);
    assert_true(fabs(lw_timing_nearest_bps(&wish) - 8e6 / 3) < 1e-3);   /* 3 quanta, prescaler 1 */
    assert_int_equal(lw_timing_kernel_choice(&wish, &kernel), -ERANGE);
    wish.rate_bps = 1;
    assert_true(fabs(lw_timing_nearest_bps(&wish) - 8e6 / (64 * 25)) < 1e-9);
    assert_int_equal(lw_timing_search(&wish, &best, 1), 0);
    wish.rate_bps = UINT32_MAX;
    assert_int_equal(lw_timing_search(&wish, &best, 1), 0);
    assert_int_equal(lw_timing_kernel_choice(&wish, &kernel), -ERANGE);
}

static void nearest_rate_is_that_of_a_bare_loop(void **state)
{
    (void)state;
    uint64_t seed = 0x4EA;
    for (unsigned i = 0; i < 500; i++) {
        struct lw_timing_wish wish = {
            .clock_hz = 1000000 + random_below(&seed, 80000000), .rate_bps = 1000 + random_below(&seed, 2000000),
            .limits = *three_limits[random_below(&seed, N_ROWS(three_limits))],
        };
        const struct lw_timing_limits *l = &wish.limits;
        double nearest = INFINITY;
        for (uint32_t brp = l->brp_min; brp <= l->brp_max; brp++)
            for (uint32_t quanta = 1 + l->tseg1_min + l->tseg2_min; quanta <= 1 + l->tseg1_max + l->tseg2_max; quanta++)
                if (brp % l->brp_inc == 0)
                    nearest = fmin(nearest, fabs((double)wish.clock_hz / (brp * quanta) - wish.rate_bps));
        assert_true(fabs(fabs(lw_timing_nearest_bps(&wish) - wish.rate_bps) - nearest) < 1e-6);
    }
}

/* What Linux 6.1 told: all but the last two of an SJA1000 in an emulated PC, the last two in Documentation/networking/can.rst. */
static void kernel_choice_is_what_the_kernel_told(void **state)
{
    (void)state;
    static const struct {
        uint32_t clock_hz, rate_bps;
        double sample_point;
        const struct lw_timing_limits *limits;
        struct lw_timing told;
        uint32_t told_permille;
    } cases[] = {
        { 8000000, 10000, 0, &lw_timing_classic_limits, { 8000000, 50, 6, 7, 2, 1 }, 875 },
        { 8000000, 20000, 0, &lw_timing_classic_limits, { 8000000, 25, 6, 7, 2, 1 }, 875 },
        { 8000000, 50000, 0, &lw_timing_classic_limits, { 8000000, 10, 6, 7, 2, 1 }, 875 },
        { 8000000, 100000, 0, &lw_timing_classic_limits, { 8000000, 5, 6, 7, 2, 1 }, 875 },
        { 8000000, 125000, 0, &lw_timing_classic_limits, { 8000000, 4, 6, 7, 2, 1 }, 875 },
        { 8000000, 250000, 0, &lw_timing_classic_limits, { 8000000, 2, 6, 7, 2, 1 }, 875 },
        { 8000000, 500000, 0, &lw_timing_classic_limits, { 8000000, 1, 6, 7, 2, 1 }, 875 },
        { 8000000, 800000, 0, &lw_timing_classic_limits, { 8000000, 1, 3, 4, 2, 1 }, 800 },
        { 8000000, 1000000, 0, &lw_timing_classic_limits, { 8000000, 1, 2, 3, 2, 1 }, 750 },
        { 10000000, 500000, 0, &lw_timing_classic_limits, { 10000000, 1, 8, 8, 3, 1 }, 850 },
        { 10000000, 800000, 0, &lw_timing_classic_limits, { 10000000, 1, 4, 5, 3, 1 }, 769 },   /* 769230 bit/s */
        { 12000000, 500000, 0, &lw_timing_classic_limits, { 12000000, 3, 3, 3, 1, 1 }, 875 },
        { 12000000, 1000000, 0.666, &lw_timing_classic_limits, { 12000000, 1, 3, 4, 4, 1 }, 666 },
        { 12000000, 1000000, 0.833, &lw_timing_classic_limits, { 12000000, 1, 4, 5, 2, 1 }, 833 },
        { 20000000, 500000, 0, &lw_timing_classic_limits, { 20000000, 5, 3, 3, 1, 1 }, 875 },
        { 80000000, 500000, 0.75, &lw_timing_fd_limits, { 80000000, 4, 14, 15, 10, 1 }, 750 },
        { 80000000, 4000000, 0.8, &lw_timing_fd_data_limits, { 80000000, 1, 7, 8, 4, 1 }, 800 },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        struct lw_timing_wish wish = {
            .clock_hz = cases[i].clock_hz, .rate_bps = cases[i].rate_bps, .sample_point = cases[i].sample_point,
            .limits = *cases[i].limits,
        };
        struct lw_timing choice;
        assert_int_equal(lw_timing_kernel_choice(&wish, &choice), 0);
        assert_memory_equal(&choice, &cases[i].told, sizeof(choice));
        assert_int_equal((int)(1000 * lw_timing_sample_point(&choice)), cases[i].told_permille);
    }
}

static void kernel_choice_is_among_the_settings_that_reach_the_rate(void **state)
{
    (void)state;
    struct lw_timing_choice *found = malloc(MANY * sizeof(*found));
    uint64_t seed = 0x6C;
    assert_non_null(found);
    for (unsigned i = 0; i < 200; i++) {
        struct lw_timing_wish wish = {
            .clock_hz = 1000000 * (1 + random_below(&seed, 80)), .rate_bps = 10000 * (1 + random_below(&seed, 100)),
            .max_rate_error = 0.05, .limits = *three_limits[i % 2],
        };
        struct lw_timing choice;
        if (lw_timing_kernel_choice(&wish, &choice) != 0)
            continue;
        size_t n = lw_timing_search(&wish, found, MANY), k = 0;
        while (k < n && (found[k].timing.brp != choice.brp || found[k].timing.phase_seg2 != choice.phase_seg2 ||
                         lw_timing_quanta(&found[k].timing) != lw_timing_quanta(&choice)))
            k++;
        if (fabs(lw_timing_rate_bps(&choice) / wish.rate_bps - 1) <= 0.05)   /* the kernel's own limit is cut, not rounded */
            assert_true(k < n);
    }
    free(found);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(search_finds_what_a_bare_loop_finds),
        cmocka_unit_test(search_ranks_by_rate_point_quanta_and_tolerance),
        cmocka_unit_test(search_finds_the_settings_of_a_standard),
        cmocka_unit_test(impossible_rate_gives_none_and_the_nearest),
        cmocka_unit_test(nearest_rate_is_that_of_a_bare_loop),
        cmocka_unit_test(kernel_choice_is_what_the_kernel_told),
        cmocka_unit_test(kernel_choice_is_among_the_settings_that_reach_the_rate),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
