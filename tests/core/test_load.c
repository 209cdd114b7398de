/* SPDX-License-Identifier: MIT
 *
 * Bus load of known patterns, and when it must be unknown rather than wrong.
 */
#include "loomwatch/core/load.h"

#include "cases.h"
#include "random_event.h"

static const uint64_t ms = 1000000, second = 1000000000;

/* 125 bits with intermission: 250 µs at 500 kbit/s. */
static const struct lw_wire_length quarter_ms = { .nominal_bits = 125 - LW_INTERMISSION_BITS };

static struct lw_load at_500k(void)
{
    struct lw_load load;
    lw_load_init(&load);
    lw_load_set_bit_rate(&load, 500000, 0);
    return load;
}

/* One frame a period from start to before end; moves the window to end. */
static void fill(struct lw_load *load, uint64_t start_ns, uint64_t end_ns, uint64_t period_ns)
{
    for (uint64_t t = start_ns; t < end_ns; t += period_ns)
        lw_load_add(load, &quarter_ms, t);
    lw_load_advance(load, end_ns);
}

static void load_of_known_pattern_is_exact(void **state)
{
    (void)state;
    static const struct {
        uint64_t period_ns;
        unsigned permille;
    } rows[] = {
        { 250000, 1000 }, { 500000, 500 }, { 1000000, 250 }, { 2500000, 100 }, { 10000000, 25 }, { 20000000, 12 },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_load load = at_500k();
        fill(&load, 5 * second, 8 * second, rows[i].period_ns);
        /* The newest bucket has only just begun: 49 of 50 are full. */
        unsigned least = rows[i].permille * 49 / 50;
        assert_true(lw_load_permille(&load).is_known);
        assert_in_range(lw_load_permille(&load).value, least, rows[i].permille);
        assert_int_equal(lw_load_peak_permille(&load).value, rows[i].permille);
    }
}

static void load_before_the_first_whole_second_is_unknown(void **state)
{
    (void)state;
    struct lw_load load = at_500k();
    assert_false(lw_load_permille(&load).is_known);
    fill(&load, 10 * ms, 990 * ms, ms);
    assert_false(lw_load_permille(&load).is_known);
    assert_false(lw_load_peak_permille(&load).is_known);
    fill(&load, 990 * ms, 1050 * ms, ms);
    assert_true(lw_load_permille(&load).is_known);
}

static void load_with_unknown_bit_rate_is_unknown(void **state)
{
    (void)state;
    struct lw_load load;
    lw_load_init(&load);
    fill(&load, second, 4 * second, ms);
    assert_false(lw_load_permille(&load).is_known);
    assert_false(lw_load_peak_permille(&load).is_known);
    lw_load_set_bit_rate(&load, 500000, 0);      /* told later: counts from then on */
    fill(&load, 4 * second, 6 * second, ms);
    assert_in_range(lw_load_permille(&load).value, 245, 250);
}

static void load_with_switched_frame_needs_the_data_bit_rate(void **state)
{
    (void)state;
    static const struct lw_wire_length switched = { .nominal_bits = 97, .data_bits = 200 };
    struct lw_load load = at_500k();
    fill(&load, second, 3 * second, ms);
    assert_true(lw_load_permille(&load).is_known);
    lw_load_add(&load, &switched, 3 * second);
    assert_false(lw_load_permille(&load).is_known);
    fill(&load, 3 * second, 3 * second + 900 * ms, ms);
    assert_false(lw_load_permille(&load).is_known);     /* within a second of it */
    fill(&load, 3 * second + 900 * ms, 5 * second, ms);
    assert_true(lw_load_permille(&load).is_known);
    assert_int_equal(load.n_untimed, 1);
    lw_load_set_bit_rate(&load, 500000, 2000000);
    for (uint64_t t = 5 * second; t < 7 * second; t += ms)
        lw_load_add(&load, &switched, t);               /* 200 µs + 100 µs */
    lw_load_advance(&load, 7 * second);
    assert_in_range(lw_load_permille(&load).value, 294, 300);
}

static void load_peak_outlasts_the_burst(void **state)
{
    (void)state;
    struct lw_load load = at_500k();
    fill(&load, second, 3 * second, 10 * ms);
    fill(&load, 3 * second, 4 * second, 500000);
    fill(&load, 4 * second, 8 * second, 10 * ms);
    assert_in_range(lw_load_permille(&load).value, 24, 25);
    assert_in_range(lw_load_peak_permille(&load).value, 490, 500);
    lw_load_advance(&load, 60 * second);
    assert_int_equal(lw_load_permille(&load).value, 0);
    assert_true(lw_load_permille(&load).is_known);
    assert_in_range(lw_load_peak_permille(&load).value, 490, 500);
}

static void load_changed_bit_rate_empties_the_window(void **state)
{
    (void)state;
    struct lw_load load = at_500k();
    fill(&load, second, 3 * second, ms);
    lw_load_set_bit_rate(&load, 500000, 0);        /* the same again: nothing happens */
    assert_true(lw_load_permille(&load).is_known);
    lw_load_set_bit_rate(&load, 250000, 0);
    assert_false(lw_load_permille(&load).is_known);
    fill(&load, 3 * second, 5 * second, ms);
    assert_in_range(lw_load_permille(&load).value, 490, 500);
}

static void load_with_time_running_backwards_stands_still(void **state)
{
    (void)state;
    struct lw_load load = at_500k();
    fill(&load, 5 * second, 7 * second, ms);
    struct lw_load before = load;
    lw_load_advance(&load, second);
    lw_load_advance(&load, 0);
    assert_memory_equal(&load, &before, sizeof(load));
    lw_load_add(&load, &quarter_ms, 3 * second);
    assert_int_equal(load.busy_sum_ns, before.busy_sum_ns + 250000);
    assert_int_equal(load.bucket_start_ns, before.bucket_start_ns);
}

static void load_more_than_the_wire_holds_is_a_thousand(void **state)
{
    (void)state;
    struct lw_load load = at_500k();
    fill(&load, second, 4 * second, 50000);
    assert_int_equal(lw_load_permille(&load).value, 1000);
}

static void load_after_long_jump_is_empty_and_known(void **state)
{
    (void)state;
    struct lw_load load = at_500k();
    fill(&load, second, 3 * second, ms);
    lw_load_advance(&load, 36500 * UINT64_C(86400) * second);
    assert_int_equal(lw_load_permille(&load).value, 0);
    lw_load_add(&load, &quarter_ms, UINT64_MAX);
    lw_load_advance(&load, UINT64_MAX);
    lw_load_add(&load, &quarter_ms, UINT64_MAX);
}

static void load_sum_always_equals_its_buckets(void **state)
{
    (void)state;
    uint64_t seed = 0x10AD, t = second;
    struct lw_load load = at_500k();
    for (unsigned i = 0; i < 100000; i++) {
        t += random_below(&seed, 1000) == 0 ? random_below(&seed, 3000) * ms : random_below(&seed, 2000000);
        lw_load_add(&load, &quarter_ms, t - (random_below(&seed, 50) == 0 ? 40 * ms : 0));
        uint64_t sum = 0;
        for (unsigned k = 0; k < LW_LOAD_BUCKETS; k++)
            sum += load.busy_ns[k];
        assert_int_equal(sum, load.busy_sum_ns);
        assert_true(lw_load_permille(&load).value <= 1000);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(load_of_known_pattern_is_exact),
        cmocka_unit_test(load_before_the_first_whole_second_is_unknown),
        cmocka_unit_test(load_with_unknown_bit_rate_is_unknown),
        cmocka_unit_test(load_with_switched_frame_needs_the_data_bit_rate),
        cmocka_unit_test(load_peak_outlasts_the_burst),
        cmocka_unit_test(load_changed_bit_rate_empties_the_window),
        cmocka_unit_test(load_with_time_running_backwards_stands_still),
        cmocka_unit_test(load_more_than_the_wire_holds_is_a_thousand),
        cmocka_unit_test(load_after_long_jump_is_empty_and_known),
        cmocka_unit_test(load_sum_always_equals_its_buckets),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
