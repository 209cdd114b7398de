/* SPDX-License-Identifier: MIT
 *
 * Units from behaviour: whatever happens the groups are a partition; what always changed together is never apart, and what
 * once changed apart never together; and the cases that a fitter meets.
 */
#include "loomwatch/core/units.h"

#include "cases.h"
#include "random_event.h"

#include <stdlib.h>
#include <string.h>

enum { N = 60, MOMENTS = 12 };

static const uint64_t ms = 1000000, second = 1000000000;

static struct lw_units *units;

static int set_up(void **state)
{
    (void)state;
    units = malloc(sizeof(*units));
    if (!units)
        return -1;
    lw_units_init(units);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    free(units);
    return 0;
}

static void hear(int index, uint64_t t_ms, unsigned period_ms)
{
    lw_units_new(units, index, (struct lw_id_key){ .id = 0x100 + (unsigned)index }, t_ms * ms);
    lw_units_rhythm(units, index, period_ms * ms);
}

/* 0 to n - 1 are there from the start. */
static void begin(int n, unsigned period_ms)
{
    for (int i = 0; i < n; i++)
        hear(i, 1000 + (unsigned)i, period_ms);
}

static void go(int index, uint64_t last_ms)
{
    lw_units_gone(units, index, last_ms * ms, units->period_ns[index], last_ms * ms + 5 * units->period_ns[index]);
}

static void come(int index, uint64_t t_ms)
{
    lw_units_back(units, index, units->period_ns[index], t_ms * ms);
}

static bool is_same(int a, int b)
{
    return units->unit_of[a] == units->unit_of[b];
}

static void assert_name(const char *wanted, int index)
{
    char name[LW_UNIT_TEXT];
    assert_string_equal(lw_units_name(units, index, name), wanted);
}

static void settle(uint64_t t_ms)
{
    while (lw_units_settle(units, 0, t_ms * ms) != LW_NO_UNIT)
        ;
}

static void assert_partition(void)
{
    unsigned n[LW_MAX_UNITS] = { 0 }, n_cyclic[LW_MAX_UNITS] = { 0 };
    for (int i = 0; i < LW_MAX_IDS; i++)
        if (units->unit_of[i] != LW_NO_UNIT) {
            assert_in_range(units->unit_of[i], 0, LW_MAX_UNITS - 1);
            assert_int_equal(units->units[units->unit_of[i]].bus, units->keys[i].bus);
            n[units->unit_of[i]]++;
            n_cyclic[units->unit_of[i]] += units->period_ns[i] != 0;
        }
    for (int u = 0; u < LW_MAX_UNITS; u++) {
        assert_int_equal(units->units[u].n_messages, n[u]);
        assert_int_equal(units->units[u].n_cyclic, n_cyclic[u]);
        assert_int_equal(units->units[u].origin == LW_UNIT_FREE, n[u] == 0);
    }
}

/* The oracle: a message is what it did, written down moment by moment. */
static void units_are_exactly_those_that_always_changed_together(void **state)
{
    (void)state;
    uint64_t seed = 0x17;
    for (unsigned round = 0; round < 40; round++) {
        char did[N][MOMENTS + 1] = { { 0 } };
        bool is_off[N] = { false };
        unsigned team_of[N];
        lw_units_init(units);
        begin(N, 100);
        for (int i = 0; i < N; i++)
            team_of[i] = random_below(&seed, 8);
        for (unsigned m = 0; m < MOMENTS; m++) {
            unsigned teams = random_below(&seed, 256);
            int loner = random_below(&seed, 4) == 0 ? (int)random_below(&seed, N) : -1;
            bool going = m % 2 == 0;
            for (int i = 0; i < N; i++) {
                bool changes = ((teams >> team_of[i] & 1) || i == loner) && is_off[i] != going;
                did[i][m] = changes ? 'x' : '-';
                is_off[i] = changes ? going : is_off[i];
                if (changes && going)
                    go(i, 10000 * (m + 1) + random_below(&seed, 100));
                else if (changes)
                    come(i, 10000 * (m + 1) + random_below(&seed, 100));
            }
            assert_partition();
        }
        for (int a = 0; a < N; a++)
            for (int b = 0; b < a; b++)
                assert_int_equal(is_same(a, b), strcmp(did[a], did[b]) == 0);
    }
}

static void one_step(uint64_t *seed, uint64_t t_ns)
{
    int index = (int)random_below(seed, LW_MAX_IDS);
    uint64_t period_ns = random_below(seed, 3) * random_below(seed, 3000) * ms;
    switch (units->unit_of[index] == LW_NO_UNIT ? 0 : 1 + random_below(seed, 5)) {
    case 0: {
        struct lw_id_key key = { .id = random_below(seed, 200) == 0 ? 0x18EEFF00u + (unsigned)index % 7 : (unsigned)index,
                                 .bus = index % 3, .is_extended = index % 2 };
        lw_units_new(units, index, key, t_ns);
        break;
    }
    case 1: lw_units_rhythm(units, index, period_ns); break;
    case 2: lw_units_gone(units, index, t_ns - period_ns, period_ns, t_ns); break;
    case 3: lw_units_back(units, index, period_ns, t_ns); break;
    case 4: lw_units_woke(units, (unsigned)index % 3, t_ns - random_below(seed, 5000) * ms, t_ns); break;
    default: lw_units_settle(units, (unsigned)index % 3, t_ns); break;
    }
}

static void units_are_a_partition_whatever_is_told(void **state)
{
    (void)state;
    uint64_t seed = 0xA11, t_ns = 1000 * second;
    for (unsigned i = 0; i < 20000; i++) {
        t_ns += random_below(&seed, 400) * ms;
        one_step(&seed, t_ns);
        if (i % 500 == 0)
            assert_partition();
    }
    assert_partition();
    assert_true(units->n_overflow > 0);   /* more than fit: counted, not lost */
}

static void units_there_from_the_start_have_no_name(void **state)
{
    (void)state;
    begin(10, 100);
    settle(100000);
    for (int i = 1; i < 10; i++)
        assert_true(is_same(0, i));
    assert_name("", 0);
}

static void unit_that_went_is_named_and_the_rest_is_not(void **state)
{
    (void)state;
    begin(10, 100);
    for (int i = 2; i < 6; i++)
        go(i, 20000 + 10 * (unsigned)i);
    settle(20600);
    assert_name("", 2);            /* another may still follow */
    settle(23000);
    for (int i = 0; i < 10; i++)
        assert_name(i >= 2 && i < 6 ? "unit A" : "", i);
    for (int i = 2; i < 6; i++)
        come(i, 30000 + 10 * (unsigned)i);
    settle(40000);
    for (int i = 0; i < 10; i++)
        assert_name(i >= 2 && i < 6 ? "unit A" : "", i);
}

static void unit_slow_message_is_missed_late_and_belongs_to_it(void **state)
{
    (void)state;
    begin(10, 10);
    lw_units_rhythm(units, 3, second);
    go(1, 20000);
    go(2, 20005);
    go(3, 19300);                  /* told at 24.3 s, after others went quiet at 21 s */
    assert_true(is_same(1, 3) && is_same(1, 2) && !is_same(0, 1));
}

static void unit_on_event_never_splits_a_group(void **state)
{
    (void)state;
    begin(3, 100);
    hear(20, 20000, 100);
    hear(21, 20100, 0);
    hear(22, 20200, 0);
    settle(25000);
    assert_name("unit A", 21);
    go(20, 30000);
    settle(35000);
    assert_true(is_same(20, 21) && is_same(20, 22));
    assert_name("unit A", 20);
}

static void unit_whole_that_goes_slowly_keeps_its_name(void **state)
{
    (void)state;
    begin(3, 100);
    hear(20, 20000, 10);
    hear(21, 20100, 1000);
    settle(25000);
    go(20, 30000);
    settle(32000);                 /* the slow one is not missed yet */
    assert_name("", 20);
    go(21, 29500);
    settle(40000);
    assert_name("unit A", 20);
    assert_name("unit A", 21);
    hear(30, 50000, 100);
    hear(31, 50000, 100);
    settle(60000);
    assert_name("unit B", 30);     /* no letter was wasted */
}

static void units_first_heard_together_are_one_within_a_chain(void **state)
{
    (void)state;
    begin(3, 100);
    hear(20, 10000, 100);
    hear(21, 10700, 100);
    hear(22, 11400, 100);
    hear(23, 12201, 100);          /* 1 ms later than its period excuses: the next unit */
    assert_true(is_same(20, 21) && is_same(21, 22) && !is_same(22, 23));
    settle(20000);
    assert_name("unit A", 22);
    assert_name("unit B", 23);
}

static void unit_message_slower_than_the_chain_joins_when_its_rhythm_is_known(void **state)
{
    (void)state;
    begin(3, 100);
    hear(20, 10000, 100);
    hear(21, 10100, 100);
    hear(22, 14500, 0);            /* every 5 s, as is known later */
    hear(23, 17000, 0);
    assert_false(is_same(20, 22));
    lw_units_rhythm(units, 22, 5 * second);
    lw_units_rhythm(units, 23, 2 * second);
    assert_true(is_same(20, 22) && !is_same(20, 23));
}

static void units_that_wake_after_a_short_start_were_there_from_the_start(void **state)
{
    (void)state;
    begin(3, 100);
    lw_units_woke(units, 0, 1050 * ms, 80000 * ms);
    hear(20, 80010, 100);
    assert_true(is_same(0, 20));   /* the capture began in the hole */
    lw_units_woke(units, 0, 100000 * ms, 110000 * ms);
    hear(21, 110010, 100);
    assert_false(is_same(0, 21));
    assert_int_equal(units->units[units->unit_of[21]].origin, LW_UNIT_WOKE);
}

/* 18EEFF80: address claim of SA 128; 18FECA00 is of SA 0: worked out after SAE J1939-21 fig. 3. */
static void units_of_a_network_that_claims_addresses_are_the_addresses(void **state)
{
    (void)state;
    static const uint32_t ids[] = { 0x18FECA00, 0x0CF00400, 0x18FEF180, 0x18EEFF80, 0x18FEF280, 0x18EEFFFE };
    for (int i = 0; i < (int)N_ROWS(ids); i++)
        lw_units_new(units, i, (struct lw_id_key){ .id = ids[i], .is_extended = true }, (1000 + 2000 * (unsigned)i) * ms);
    lw_units_new(units, 10, (struct lw_id_key){ .id = 0x100 }, 1000 * ms);
    assert_name("unit at address 0 (00)", 0);
    assert_name("unit at address 0 (00)", 1);
    assert_name("unit at address 128 (80)", 2);
    assert_name("unit at address 128 (80)", 4);
    assert_name("", 5);            /* FE: could claim none */
    assert_name("", 10);           /* 11 bits know no address */
    lw_units_rhythm(units, 0, second);
    lw_units_rhythm(units, 1, second);
    go(0, 50000);
    assert_true(is_same(0, 1));
    assert_partition();
}

static void letters_go_on_after_those_of_a_baseline(void **state)
{
    (void)state;
    static const char *const senders[] = { "unit B", "pump", "unit at address 41", "unit", "unit C2", "Unit Z", "" };
    for (size_t i = 0; i < N_ROWS(senders); i++)
        lw_units_skip_letter(units, senders[i]);
    begin(3, 100);
    go(0, 20000);
    go(1, 20000);
    settle(30000);
    assert_name("unit C", 0);
    lw_units_skip_letter(units, "unit 40");
    hear(20, 40000, 100);
    settle(50000);
    assert_name("unit 41", 20);
}

#define UNIT_TEST(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        UNIT_TEST(units_are_exactly_those_that_always_changed_together),
        UNIT_TEST(units_are_a_partition_whatever_is_told),
        UNIT_TEST(units_there_from_the_start_have_no_name),
        UNIT_TEST(unit_that_went_is_named_and_the_rest_is_not),
        UNIT_TEST(unit_slow_message_is_missed_late_and_belongs_to_it),
        UNIT_TEST(unit_on_event_never_splits_a_group),
        UNIT_TEST(unit_whole_that_goes_slowly_keeps_its_name),
        UNIT_TEST(units_first_heard_together_are_one_within_a_chain),
        UNIT_TEST(unit_message_slower_than_the_chain_joins_when_its_rhythm_is_known),
        UNIT_TEST(units_that_wake_after_a_short_start_were_there_from_the_start),
        UNIT_TEST(units_of_a_network_that_claims_addresses_are_the_addresses),
        UNIT_TEST(letters_go_on_after_those_of_a_baseline),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
