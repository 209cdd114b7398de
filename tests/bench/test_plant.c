/* SPDX-License-Identifier: MIT
 *
 * Bit timings against published ones, distances along the wires.
 */
#include "loomwatch/bench/plant.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "cases.h"

static void bit_timing_matches_published_ones(void **state)
{
    (void)state;
    static const struct {
        uint32_t bit_rate_bps, sample_permille;
        uint64_t tq_ps;
        uint8_t before_sample, phase_seg2;   /* quanta: prop_seg + phase_seg1 */
        const char *source;
    } cases[] = {
        { 500000, 875, 125000, 13, 2, "Linux 6.1 calc_bittiming.c on 8 MHz: 6/7/2" },
        { 250000, 875, 250000, 13, 2, "the same" },
        { 125000, 875, 500000, 13, 2, "the same" },
        { 100000, 875, 625000, 13, 2, "the same" },
        { 50000, 875, 1250000, 13, 2, "the same" },
        { 20000, 875, 3125000, 13, 2, "the same" },
        { 10000, 875, 6250000, 13, 2, "the same" },
        { 4000000, 800, 12500, 15, 4, "Linux can.rst: 80 MHz, 4 Mbit/s, 7/8/4" },
        { 250000, 800, 200000, 15, 4, "ISO 15765-4:2005, table 8: SEG1 3000 ns, SEG2 800 ns" },
        { 500000, 800, 100000, 15, 4, "ISO 15765-4:2005, table 10: SEG1 1500 ns, SEG2 400 ns" },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        struct lw_bit_timing timing;
        assert_int_equal(lw_bit_timing_for(cases[i].bit_rate_bps, cases[i].sample_permille, 0, &timing), 0);
        assert_int_equal(timing.tq_ps, cases[i].tq_ps);
        assert_int_equal(timing.prop_seg + timing.phase_seg1, cases[i].before_sample);
        assert_int_equal(timing.phase_seg2, cases[i].phase_seg2);
        assert_int_equal(timing.sjw, 1);
    }
}

/* Bosch CAN Specification 2.0, part B, chapter 10: 8 to 25 quanta, segments of 1 to 8, SJW at most PHASE_SEG1. */
static void bit_timing_of_every_rate_is_within_the_rules(void **state)
{
    (void)state;
    unsigned n_found = 0;
    for (uint32_t rate = 5000; rate <= 8000000; rate += rate / 37)
        for (unsigned sample = 500; sample <= 950; sample += 50) {
            struct lw_bit_timing t;
            int r = lw_bit_timing_for(rate, sample, 4, &t);
            if (r == -ERANGE)
                continue;
            assert_int_equal(r, 0);
            n_found++;
            unsigned n = 1u + t.prop_seg + t.phase_seg1 + t.phase_seg2;
            assert_in_range(n, 8, 25);
            assert_in_range(t.prop_seg, 1, 8);
            assert_in_range(t.phase_seg1, 1, 8);
            assert_in_range(t.phase_seg2, 2, 8);
            assert_true(t.sjw >= 1 && t.sjw <= t.phase_seg1 && t.sjw <= t.phase_seg2);
            assert_int_equal(lw_bit_timing_bit_ps(&t), t.tq_ps * n);
            double wrong = (double)rate * (double)lw_bit_timing_bit_ps(&t) * 1e-12 - 1;
            assert_true(wrong < 1.1e-3 && wrong > -1.1e-3);
        }
    assert_true(n_found > 500);
}

static void bit_timing_of_an_impossible_rate_is_refused(void **state)
{
    (void)state;
    struct lw_bit_timing timing;
    assert_int_equal(lw_bit_timing_for(0, 875, 1, &timing), -ERANGE);
    assert_int_equal(lw_bit_timing_for(12000000, 875, 1, &timing), -ERANGE);
    assert_int_equal(lw_bit_timing_for(3700000, 875, 1, &timing), -ERANGE);
    assert_int_equal(lw_bit_timing_for(UINT32_MAX, 875, 1, &timing), -ERANGE);
}

static struct lw_plant *small_plant(void)
{
    struct lw_plant *plant = calloc(1, sizeof(*plant));
    assert_non_null(plant);
    plant->n_points = 3;
    plant->points[0].segment_mm = 2000;
    plant->points[1].segment_mm = 3000;
    plant->n_units = 3;
    plant->units[0] = (struct lw_plant_unit){ .name = "front", .point = 0, .stub_mm = 100 };
    plant->units[1] = (struct lw_plant_unit){ .name = "our adapter", .point = 2, .stub_mm = 300, .is_adapter = true };
    plant->units[2] = (struct lw_plant_unit){ .name = "twin", .point = 2, .stub_mm = 500 };
    return plant;
}

static void distance_runs_along_stubs_and_trunk(void **state)
{
    (void)state;
    struct lw_plant *plant = small_plant();
    assert_int_equal(lw_plant_distance_mm(plant, 0, 1), 100 + 5000 + 300);
    assert_int_equal(lw_plant_distance_mm(plant, 1, 0), 100 + 5000 + 300);
    assert_int_equal(lw_plant_distance_mm(plant, 1, 2), 300 + 500);
    assert_int_equal(lw_plant_distance_mm(plant, 2, 2), 0);
    plant->points[0].segment_mm = UINT32_MAX;
    assert_int_equal(lw_plant_distance_mm(plant, 0, 1), UINT32_MAX);
    free(plant);
}

static void unit_is_found_by_name(void **state)
{
    (void)state;
    struct lw_plant *plant = small_plant();
    assert_int_equal(lw_plant_find_unit(plant, "twin"), 2);
    assert_int_equal(lw_plant_find_unit(plant, "rear"), -1);
    assert_int_equal(lw_plant_adapter(plant), 1);
    plant->n_units = 1;
    assert_int_equal(lw_plant_adapter(plant), -1);
    free(plant);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bit_timing_matches_published_ones),
        cmocka_unit_test(bit_timing_of_every_rate_is_within_the_rules),
        cmocka_unit_test(bit_timing_of_an_impossible_rate_is_refused),
        cmocka_unit_test(distance_runs_along_stubs_and_trunk),
        cmocka_unit_test(unit_is_found_by_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
