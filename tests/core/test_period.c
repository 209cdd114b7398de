/* SPDX-License-Identifier: MIT
 *
 * The rhythm estimate: right for steady senders, unimpressed by holes, jitter, bursts and equal time stamps.
 */
#include "loomwatch/core/period.h"

#include "cases.h"
#include "random_event.h"

static const uint64_t ms = 1000000;

static struct lw_period fresh(void)
{
    struct lw_period period;
    lw_period_init(&period);
    return period;
}

/* Estimated in between, as the monitor does. */
static void add_n(struct lw_period *period, uint64_t gap_ns, unsigned n)
{
    for (unsigned i = 0; i < n; i++) {
        lw_period_add(period, gap_ns);
        if (i % 5 == 0)
            lw_period_estimate(period);
    }
    lw_period_estimate(period);
}

static void period_of_steady_sender_is_exact(void **state)
{
    (void)state;
    static const uint64_t periods_ms[] = { 1, 2, 5, 10, 20, 50, 100, 250, 500, 1000, 5000, 60000 };
    for (size_t i = 0; i < N_ROWS(periods_ms); i++) {
        struct lw_period period = fresh();
        uint64_t gap = periods_ms[i] * ms;
        add_n(&period, gap, (unsigned)(gap < 100 * ms ? 1000 * ms / gap : 10));
        assert_int_equal(period.rhythm, LW_RHYTHM_CYCLIC);
        assert_int_equal(period.period_ns, gap);
        assert_int_equal(period.jitter_ns, 0);
        assert_int_equal(period.mean_ns, gap);
        assert_int_equal(period.shortest_ns, gap);
        assert_int_equal(period.longest_ns, gap);
    }
}

static void period_of_fast_sender_is_cyclic_at_the_first_estimate(void **state)
{
    (void)state;
    static const uint64_t periods_ms[] = { 1, 2, 5, 10 };
    for (size_t i = 0; i < N_ROWS(periods_ms); i++) {
        struct lw_period period = fresh();
        for (uint64_t t = 0; t <= 510; t += periods_ms[i])
            lw_period_add(&period, periods_ms[i] * ms);
        lw_period_estimate(&period);
        assert_int_equal(period.rhythm, LW_RHYTHM_CYCLIC);
    }
}

static void period_of_too_few_gaps_is_unknown(void **state)
{
    (void)state;
    struct lw_period period = fresh();
    lw_period_estimate(&period);
    assert_int_equal(period.rhythm, LW_RHYTHM_UNKNOWN);
    add_n(&period, 100 * ms, LW_PERIOD_MIN_GAPS - 1);
    assert_int_equal(period.rhythm, LW_RHYTHM_UNKNOWN);
    assert_int_equal(period.period_ns, 0);
    add_n(&period, 100 * ms, 1);
    assert_int_equal(period.rhythm, LW_RHYTHM_CYCLIC);
}

static void period_with_one_hole_is_not_spoilt(void **state)
{
    (void)state;
    for (unsigned at = 0; at < 40; at++) {
        struct lw_period period = fresh();
        add_n(&period, 100 * ms, at);
        add_n(&period, 1000 * ms, 1);
        add_n(&period, 100 * ms, 40 - at);
        assert_int_equal(period.rhythm, LW_RHYTHM_CYCLIC);
        assert_int_equal(period.period_ns, 100 * ms);
        assert_int_equal(period.jitter_ns, 0);
        assert_int_equal(period.mean_ns, 100 * ms);
        assert_int_equal(period.longest_ns, 1000 * ms);
    }
}

static void period_random_with_jitter_stays_near(void **state)
{
    (void)state;
    uint64_t seed = 0x9E4;
    for (unsigned round = 0; round < 3000; round++) {
        struct lw_period period = fresh();
        uint64_t nominal = (2 + random_below(&seed, 2000)) * ms;
        uint64_t width = nominal / 100 * random_below(&seed, 12);      /* up to ±11 % between gaps */
        unsigned n = (unsigned)(16 + 600 * ms / nominal), hole = random_below(&seed, n);
        for (unsigned i = 0; i < n; i++) {
            uint64_t gap = nominal - width + (width > 0 ? random_bits(&seed) % (2 * width) : 0);
            lw_period_add(&period, i == hole ? 3 * nominal : gap);
            if (random_below(&seed, 4) == 0)
                lw_period_estimate(&period);
        }
        lw_period_estimate(&period);
        assert_int_equal(period.rhythm, LW_RHYTHM_CYCLIC);
        assert_in_range(period.period_ns, nominal - width - 1000, nominal + width + 1000);
        assert_true(period.jitter_ns <= width + 1000);
        assert_true(period.shortest_ns <= period.longest_ns);
    }
}

static void period_of_bursts_is_on_event(void **state)
{
    (void)state;
    struct lw_period period = fresh();
    /* Five frames 10 ms apart, then seconds of nothing, at no fixed time. */
    static const uint64_t pauses_ms[] = { 2300, 5100, 900, 7700, 3300, 4400, 1500, 6100 };
    for (size_t i = 0; i < N_ROWS(pauses_ms); i++) {
        add_n(&period, 10 * ms, 4);
        add_n(&period, pauses_ms[i] * ms, 1);
    }
    assert_int_equal(period.rhythm, LW_RHYTHM_EVENT);
}

static void period_of_irregular_frames_is_on_event(void **state)
{
    (void)state;
    uint64_t seed = 0xEE7;
    for (unsigned round = 0; round < 500; round++) {
        struct lw_period period = fresh();
        /* Each gap another order of magnitude or so: from 10 ms to 10 s. */
        for (unsigned i = 0; i < 60; i++)
            add_n(&period, (10 * ms << random_below(&seed, 10)) + random_bits(&seed) % (10 * ms), 1);
        assert_int_equal(period.rhythm, LW_RHYTHM_EVENT);
    }
}

static void period_of_cyclic_sender_with_events_between_is_both(void **state)
{
    (void)state;
    struct lw_period period = fresh();
    uint64_t seed = 0xB07;
    for (unsigned i = 0; i < 60; i++) {
        if (i % 3 == 0) {
            uint64_t part = (10 + random_below(&seed, 80)) * ms;
            add_n(&period, part, 1);
            add_n(&period, 100 * ms - part, 1);
        } else {
            add_n(&period, 100 * ms, 1);
        }
    }
    assert_int_equal(period.rhythm, LW_RHYTHM_BOTH);
    assert_int_equal(period.period_ns, 100 * ms);
}

static void period_halved_is_followed(void **state)
{
    (void)state;
    struct lw_period period = fresh();
    add_n(&period, 100 * ms, 40);
    add_n(&period, 50 * ms, LW_PERIOD_GAPS);
    assert_int_equal(period.rhythm, LW_RHYTHM_CYCLIC);
    assert_int_equal(period.period_ns, 50 * ms);
}

static void period_of_two_interleaved_senders_halves_the_mean(void **state)
{
    (void)state;
    /* The second one starts so many ms after the first. */
    for (uint64_t phase = 1; phase < 100; phase++) {
        struct lw_period period = fresh();
        add_n(&period, 100 * ms, 40);
        for (unsigned i = 0; i < LW_PERIOD_GAPS; i++)
            add_n(&period, (i % 2 ? phase : 100 - phase) * ms, 1);
        assert_in_range(period.mean_ns, 48 * ms, 51 * ms);
        assert_int_not_equal(period.rhythm, LW_RHYTHM_UNKNOWN);
    }
}

static void period_of_equal_time_stamps_is_none(void **state)
{
    (void)state;
    struct lw_period period = fresh();
    add_n(&period, 0, 200);
    assert_int_equal(period.period_ns, 0);
    assert_int_not_equal(period.rhythm, LW_RHYTHM_CYCLIC);
    assert_int_not_equal(period.rhythm, LW_RHYTHM_BOTH);
    add_n(&period, 100 * ms, 40);       /* and recovers */
    assert_int_equal(period.period_ns, 100 * ms);
    assert_int_equal(period.rhythm, LW_RHYTHM_CYCLIC);
}

static void period_of_pairs_with_one_time_stamp_is_known(void **state)
{
    (void)state;
    struct lw_period period = fresh();
    for (unsigned i = 0; i < 40; i++) {
        add_n(&period, 100 * ms, 1);
        add_n(&period, 0, 1);
    }
    assert_int_equal(period.period_ns, 100 * ms);
    assert_in_range(period.mean_ns, 48 * ms, 52 * ms);
}

static void period_with_extreme_gaps_stays_sound(void **state)
{
    (void)state;
    uint64_t seed = 0xFFF;
    struct lw_period period = fresh();
    for (unsigned i = 0; i < 5000; i++) {
        uint64_t gap = random_bits(&seed) >> random_below(&seed, 64);
        lw_period_add(&period, random_below(&seed, 9) == 0 ? UINT64_MAX : gap);
        lw_period_estimate(&period);
        assert_in_range(period.rhythm, LW_RHYTHM_UNKNOWN, LW_RHYTHM_BOTH);
    }
    add_n(&period, 100 * ms, 2000);
    assert_int_equal(period.period_ns, 100 * ms);
    assert_int_equal(period.rhythm, LW_RHYTHM_CYCLIC);
}

static void period_history_is_oldest_first(void **state)
{
    (void)state;
    struct lw_period period = fresh();
    uint32_t gaps[LW_PERIOD_GAPS];
    assert_int_equal(lw_period_history(&period, gaps), 0);
    for (uint64_t i = 1; i <= LW_PERIOD_GAPS + 10; i++) {
        lw_period_add(&period, i * ms);
        size_t n = lw_period_history(&period, gaps);
        assert_int_equal(n, i < LW_PERIOD_GAPS ? i : LW_PERIOD_GAPS);
        for (size_t k = 0; k < n; k++)
            assert_int_equal(gaps[k], 1000 * (i - n + 1 + k));
    }
    assert_string_equal(lw_rhythm_name(LW_RHYTHM_CYCLIC), "cyclic");
    assert_string_equal(lw_rhythm_name(LW_RHYTHM_EVENT), "event");
    assert_string_equal(lw_rhythm_name(LW_RHYTHM_BOTH), "both");
    assert_string_equal(lw_rhythm_name(LW_RHYTHM_UNKNOWN), "unknown");
}

static void period_most_within_a_window_counts_frames(void **state)
{
    (void)state;
    static const struct {
        unsigned window_ms, most;
    } rows[] = { { 1, 1 }, { 10, 1 }, { 11, 2 }, { 30, 2 }, { 31, 3 }, { 130, 3 }, { 131, 4 }, { 100000, 5 } };
    struct lw_period period;
    lw_period_init(&period);
    assert_int_equal(lw_period_most_within(&period, 1000), 0);
    for (unsigned i = 0; i < 4; i++)
        lw_period_add(&period, (uint64_t[]){ 200, 20, 10, 100 }[i] * 1000000);
    for (size_t i = 0; i < N_ROWS(rows); i++)
        assert_int_equal(lw_period_most_within(&period, rows[i].window_ms * UINT64_C(1000000)), rows[i].most);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(period_of_steady_sender_is_exact),
        cmocka_unit_test(period_of_fast_sender_is_cyclic_at_the_first_estimate),
        cmocka_unit_test(period_of_too_few_gaps_is_unknown),
        cmocka_unit_test(period_with_one_hole_is_not_spoilt),
        cmocka_unit_test(period_random_with_jitter_stays_near),
        cmocka_unit_test(period_of_bursts_is_on_event),
        cmocka_unit_test(period_of_irregular_frames_is_on_event),
        cmocka_unit_test(period_of_cyclic_sender_with_events_between_is_both),
        cmocka_unit_test(period_halved_is_followed),
        cmocka_unit_test(period_of_two_interleaved_senders_halves_the_mean),
        cmocka_unit_test(period_of_equal_time_stamps_is_none),
        cmocka_unit_test(period_of_pairs_with_one_time_stamp_is_known),
        cmocka_unit_test(period_with_extreme_gaps_stays_sound),
        cmocka_unit_test(period_history_is_oldest_first),
        cmocka_unit_test(period_most_within_a_window_counts_frames),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
