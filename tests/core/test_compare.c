/* SPDX-License-Identifier: MIT
 *
 * What counts as a difference, and what cannot be told.
 */
#include "loomwatch/core/compare.h"

#include "cases.h"
#include "random_event.h"

#include <stdlib.h>

static const uint64_t ms = 1000000;

struct pair {
    struct lw_baseline expected, observed;
    struct lw_comparison out;
};

static int set_up(void **state)
{
    struct pair *pair = calloc(1, sizeof(*pair));
    if (!pair)
        return -1;
    pair->expected.n_buses = pair->observed.n_buses = 1;
    pair->expected.buses[0].watched_ns = pair->observed.buses[0].watched_ns = 30000 * ms;
    *state = pair;
    return 0;
}

static int tear_down(void **state)
{
    free(*state);
    return 0;
}

static struct lw_expected *put_id(struct lw_baseline *baseline, uint32_t id, enum lw_rhythm rhythm, uint64_t period_ms)
{
    struct lw_expected *out = &baseline->ids[baseline->n_ids++];
    *out = (struct lw_expected){
        .key = { .id = id }, .dlc_seen = 1 << 8, .rhythm = rhythm, .period_ns = period_ms * ms,
        .tolerance_ns = period_ms * ms / 10,
    };
    return out;
}

/* Ten cyclic messages in both. */
static void fill_both(struct pair *pair)
{
    for (uint32_t id = 0x100; id < 0x10A; id++) {
        put_id(&pair->expected, id, LW_RHYTHM_CYCLIC, 100);
        put_id(&pair->observed, id, LW_RHYTHM_CYCLIC, 100);
    }
}

static enum lw_compare_result run(struct pair *pair)
{
    assert_int_equal(lw_baseline_sort(&pair->expected), LW_NO_INDEX);
    assert_int_equal(lw_baseline_sort(&pair->observed), LW_NO_INDEX);
    return lw_compare(&pair->expected, &pair->observed, &pair->out);
}

static void compare_rhythm_gives_the_condition(void **state)
{
    (void)state;
    static const struct {
        enum lw_rhythm expected, rhythm;
        unsigned period_ms, mean_ms;
        uint8_t conditions;
    } rows[] = {     /* expected: 100 ms ± 10 ms */
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_CYCLIC, 100, 100, 0 },
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_CYCLIC, 110, 110, 0 },
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_CYCLIC, 90, 90, 0 },
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_CYCLIC, 111, 111, LW_PERIOD_CHANGED },
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_CYCLIC, 89, 89, LW_PERIOD_CHANGED },
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_BOTH, 200, 150, LW_PERIOD_CHANGED },
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_CYCLIC, 50, 50, LW_SECOND_SENDER },
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_BOTH, 70, 50, LW_SECOND_SENDER },
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_EVENT, 95, 55, LW_SECOND_SENDER },
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_CYCLIC, 20, 20, LW_PERIOD_CHANGED },
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_UNKNOWN, 50, 50, 0 },
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_CYCLIC, 0, 0, 0 },
        { LW_RHYTHM_CYCLIC, LW_RHYTHM_EVENT, 300, 300, 0 },
        { LW_RHYTHM_EVENT, LW_RHYTHM_CYCLIC, 50, 50, 0 },
        { LW_RHYTHM_BOTH, LW_RHYTHM_CYCLIC, 50, 50, 0 },
        { LW_RHYTHM_UNKNOWN, LW_RHYTHM_CYCLIC, 50, 50, 0 },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_expected id = { .rhythm = rows[i].expected, .period_ns = 100 * ms, .tolerance_ns = 10 * ms };
        print_message("  row %zu\n", i);
        assert_int_equal(lw_compare_rhythm(&id, rows[i].rhythm, rows[i].period_ms * ms, rows[i].mean_ms * ms),
                         rows[i].conditions);
    }
}

static void compare_lengths_flags_only_new_ones(void **state)
{
    (void)state;
    static const struct {
        uint16_t expected, seen;
        uint8_t conditions;
    } rows[] = {
        { 1 << 8, 1 << 8, 0 }, { 1 << 8, 1 << 7, LW_LENGTH_CHANGED }, { 1 << 8 | 1 << 7, 1 << 7, 0 },
        { 1 << 8, 1 << 8 | 1 << 2, LW_LENGTH_CHANGED }, { 0, 1 << 8, 0 }, { 1 << 8, 0, 0 },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_expected id = { .dlc_seen = rows[i].expected };
        assert_int_equal(lw_compare_lengths(&id, rows[i].seen), rows[i].conditions);
    }
}

static void compare_with_itself_is_the_same(void **state)
{
    struct pair *pair = *state;
    fill_both(pair);
    assert_int_equal(run(pair), LW_COMPARE_SAME);
    assert_int_equal(pair->out.n_compared, 10);
    assert_int_equal(pair->out.n_differences, 0);
    assert_int_equal(pair->out.n_too_short, 0);
}

static const struct lw_difference *only_difference(struct pair *pair)
{
    assert_int_equal(run(pair), LW_COMPARE_DIFFERS);
    assert_int_equal(pair->out.n_differences, 1);
    return &pair->out.differences[0];
}

static void compare_finds_the_unexpected(void **state)
{
    struct pair *pair = *state;
    fill_both(pair);
    put_id(&pair->observed, 0x050, LW_RHYTHM_EVENT, 0);
    const struct lw_difference *difference = only_difference(pair);
    assert_int_equal(difference->conditions, LW_UNEXPECTED);
    assert_int_equal(difference->key.id, 0x050);
    assert_int_equal(difference->expected, LW_NO_INDEX);
    assert_int_equal(difference->observed, 0);
}

static void compare_finds_the_absent(void **state)
{
    struct pair *pair = *state;
    fill_both(pair);
    put_id(&pair->expected, 0x200, LW_RHYTHM_CYCLIC, 100);
    const struct lw_difference *difference = only_difference(pair);
    assert_int_equal(difference->conditions, LW_ABSENT);
    assert_int_equal(difference->key.id, 0x200);
    assert_int_equal(difference->observed, LW_NO_INDEX);
}

static void compare_finds_period_length_and_second_sender(void **state)
{
    static const struct {
        unsigned period_ms;
        uint16_t dlc_seen;
        uint8_t conditions;
    } rows[] = {
        { 200, 1 << 8, LW_PERIOD_CHANGED }, { 100, 1 << 4, LW_LENGTH_CHANGED }, { 50, 1 << 8, LW_SECOND_SENDER },
        { 150, 1 << 4, LW_PERIOD_CHANGED | LW_LENGTH_CHANGED },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct pair *pair = *state;
        pair->expected.n_ids = pair->observed.n_ids = 0;
        fill_both(pair);
        put_id(&pair->expected, 0x300, LW_RHYTHM_CYCLIC, 100);
        put_id(&pair->observed, 0x300, LW_RHYTHM_CYCLIC, rows[i].period_ms)->dlc_seen = rows[i].dlc_seen;
        assert_int_equal(only_difference(pair)->conditions, rows[i].conditions);
        assert_int_equal(pair->out.n_compared, 11);
    }
}

static void compare_does_not_miss_what_need_not_come(void **state)
{
    struct pair *pair = *state;
    fill_both(pair);
    put_id(&pair->expected, 0x200, LW_RHYTHM_EVENT, 0);
    put_id(&pair->expected, 0x201, LW_RHYTHM_CYCLIC, 100)->may_pause = true;
    put_id(&pair->expected, 0x202, LW_RHYTHM_UNKNOWN, 0);
    assert_int_equal(run(pair), LW_COMPARE_SAME);
}

static void compare_of_too_short_a_watch_cannot_tell(void **state)
{
    struct pair *pair = *state;
    fill_both(pair);
    put_id(&pair->expected, 0x200, LW_RHYTHM_CYCLIC, 60000);
    assert_int_equal(run(pair), LW_COMPARE_CANNOT_TELL);
    assert_int_equal(pair->out.n_too_short, 1);
    assert_int_equal(pair->out.n_compared, 10);
    put_id(&pair->observed, 0x050, LW_RHYTHM_EVENT, 0);      /* a difference found is a difference */
    assert_int_equal(run(pair), LW_COMPARE_DIFFERS);
}

static void compare_of_nothing_cannot_tell(void **state)
{
    struct pair *pair = *state;
    assert_int_equal(run(pair), LW_COMPARE_CANNOT_TELL);
    put_id(&pair->expected, 0x100, LW_RHYTHM_CYCLIC, 100);
    assert_int_equal(run(pair), LW_COMPARE_CANNOT_TELL);
    pair->observed.n_buses = 0;
    assert_int_equal(run(pair), LW_COMPARE_CANNOT_TELL);
}

static void compare_of_a_bus_not_observed_cannot_tell(void **state)
{
    struct pair *pair = *state;
    fill_both(pair);
    pair->expected.n_buses = 2;
    put_id(&pair->expected, 0x100, LW_RHYTHM_CYCLIC, 100)->key.bus = 1;
    assert_int_equal(run(pair), LW_COMPARE_CANNOT_TELL);
    assert_int_equal(pair->out.n_too_short, 1);
}

static void compare_of_same_id_on_two_buses_keeps_them_apart(void **state)
{
    struct pair *pair = *state;
    fill_both(pair);
    pair->expected.n_buses = pair->observed.n_buses = 2;
    pair->observed.buses[1].watched_ns = 30000 * ms;
    put_id(&pair->expected, 0x100, LW_RHYTHM_CYCLIC, 20)->key.bus = 1;
    put_id(&pair->observed, 0x100, LW_RHYTHM_CYCLIC, 50)->key.bus = 1;
    const struct lw_difference *difference = only_difference(pair);
    assert_int_equal(difference->key.bus, 1);
    assert_int_equal(difference->conditions, LW_PERIOD_CHANGED);
}

static void compare_of_full_tables_keeps_every_difference(void **state)
{
    struct pair *pair = *state;
    for (uint32_t i = 0; i < LW_MAX_IDS; i++) {
        put_id(&pair->expected, i, LW_RHYTHM_CYCLIC, 100)->key.is_extended = true;
        put_id(&pair->observed, 0x10000 + i, LW_RHYTHM_CYCLIC, 100)->key.is_extended = true;
    }
    assert_int_equal(run(pair), LW_COMPARE_DIFFERS);
    assert_int_equal(pair->out.n_differences, 2 * LW_MAX_IDS);
}

static void condition_names_differ(void **state)
{
    (void)state;
    for (unsigned i = 0; i < LW_N_CONDITIONS; i++)
        for (unsigned k = 0; k < i; k++)
            assert_string_not_equal(lw_condition_name(1 << i), lw_condition_name(1 << k));
    assert_string_equal(lw_condition_name(LW_ABSENT), "absent");
}

int main(void)
{
#define ON_PAIR(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(compare_rhythm_gives_the_condition),
        cmocka_unit_test(compare_lengths_flags_only_new_ones),
        ON_PAIR(compare_with_itself_is_the_same),
        ON_PAIR(compare_finds_the_unexpected),
        ON_PAIR(compare_finds_the_absent),
        ON_PAIR(compare_finds_period_length_and_second_sender),
        ON_PAIR(compare_does_not_miss_what_need_not_come),
        ON_PAIR(compare_of_too_short_a_watch_cannot_tell),
        ON_PAIR(compare_of_nothing_cannot_tell),
        ON_PAIR(compare_of_a_bus_not_observed_cannot_tell),
        ON_PAIR(compare_of_same_id_on_two_buses_keeps_them_apart),
        ON_PAIR(compare_of_full_tables_keeps_every_difference),
        cmocka_unit_test(condition_names_differ),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
