/* SPDX-License-Identifier: MIT
 *
 * The watch under bad clocks and bad buses: time zero, the end of time, clocks set back, floods, the end of a capture; and
 * that no frame is ever lost from the counts.
 */
#include "traffic.h"

#include "random_event.h"

static const uint64_t epoch_ns = UINT64_C(1700000000000000000);

static void assert_counts_conserved(struct traffic *traffic)
{
    const struct lw_snapshot *snapshot = traffic_look(traffic);
    uint64_t n_in_tiles = 0, n_on_buses = 0;
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        n_in_tiles += snapshot->tiles[i].n_frames;
    for (unsigned i = 0; i < snapshot->n_buses; i++)
        n_on_buses += snapshot->buses[i].n_frames;
    assert_int_equal(n_in_tiles + snapshot->n_overflow_frames, n_on_buses);
}

static void monitor_counts_of_random_events_are_conserved(void **state)
{
    (void)state;
    struct traffic *traffic = traffic_create(3, epoch_ns);
    uint64_t seed = 0xC0DE, n_frames = 0;
    for (unsigned i = 0; i < 20000; i++) {
        struct lw_event event = random_event(&seed);
        unsigned bus = random_below(&seed, 3);
        n_frames += event.kind == LW_EVENT_FRAME;
        traffic_feed(traffic, bus, event);
        traffic_run(traffic, random_below(&seed, 3));
        if (i % 4000 == 0)
            lw_monitor_take_baseline(traffic->monitor);
        if (i % 1000 == 0)
            assert_counts_conserved(traffic);
    }
    assert_counts_conserved(traffic);
    uint64_t n_on_buses = 0;
    for (unsigned i = 0; i < 3; i++)
        n_on_buses += traffic->snapshot.buses[i].n_frames;
    assert_int_equal(n_on_buses, n_frames);
    assert_int_equal(traffic->snapshot.n_tiles, LW_MAX_IDS);
    traffic_destroy(traffic);
}

static void flood(struct traffic *traffic, unsigned n)
{
    uint64_t seed = 0xF10D;
    for (unsigned i = 0; i < n; i++) {
        struct lw_frame frame = { random_below(&seed, LW_EXTENDED_ID_MAX + 1u), LW_FRAME_EXTENDED, 8, { 0 } };
        traffic_feed(traffic, 0, (struct lw_event){ .kind = LW_EVENT_FRAME, .frame = frame });
        traffic->now_ns += ms / 4;
    }
}

static void monitor_flooded_with_ids_fills_counts_and_shows_it(void **state)
{
    (void)state;
    struct traffic *traffic = traffic_create(1, epoch_ns);
    flood(traffic, 10000);
    lw_monitor_tick(traffic->monitor, 0, traffic->now_ns + 60 * ms);
    assert_true(traffic_is_lit(traffic, LW_WINDOW_TABLE_FULL));
    assert_int_equal(traffic->snapshot.n_tiles, LW_MAX_IDS);
    assert_in_range(traffic->snapshot.n_overflow_frames, 10000 - LW_MAX_IDS - 10, 10000 - LW_MAX_IDS);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_TABLE_FULL), 1);
    assert_counts_conserved(traffic);
    traffic_destroy(traffic);
}

static void monitor_baseline_set_on_a_full_table_is_no_lost_frame(void **state)
{
    (void)state;
    struct traffic *traffic = traffic_create(1, epoch_ns);
    struct lw_baseline *baseline = calloc(1, sizeof(*baseline));
    baseline->n_buses = 1;
    baseline->n_ids = 1;
    baseline->ids[0] = (struct lw_expected){ .key = { .id = 0x123 }, .rhythm = LW_RHYTHM_EVENT };
    flood(traffic, 3000);
    lw_monitor_set_baseline(traffic->monitor, baseline);
    assert_counts_conserved(traffic);
    free(baseline);
    traffic_destroy(traffic);
}

static void monitor_after_the_end_of_a_capture_makes_nothing_absent(void **state)
{
    (void)state;
    struct traffic *traffic = traffic_create(1, epoch_ns);
    traffic_add_machine(traffic, 20, 0);
    traffic_run(traffic, 5000);
    lw_monitor_take_baseline(traffic->monitor);
    traffic_run(traffic, 1000);
    lw_monitor_end(traffic->monitor, 0);
    traffic->is_dead[0] = true;
    traffic_run(traffic, 60000);
    assert_int_equal(traffic_n_windows(traffic), 0);
    assert_true(traffic->snapshot.buses[0].has_ended);
    assert_int_equal(traffic->snapshot.counts.n_present, 20);
    traffic_destroy(traffic);
}

/* The bench counts from power-on: its first event may be at 0. */
static void monitor_started_at_time_zero_works_as_at_any_other(void **state)
{
    (void)state;
    static const uint64_t starts[] = { 0, 1, UINT64_C(1700000000000000000) };
    for (size_t i = 0; i < N_ROWS(starts); i++) {
        struct traffic *traffic = traffic_create(1, starts[i]);
        traffic_error(traffic, 0, (struct lw_error){ 0x080, { 0 } });
        assert_true(traffic_is_lit(traffic, LW_WINDOW_BUS_ERRORS));
        traffic_add(traffic, 0x100, 100, 0);
        traffic_add(traffic, 0x101, 100, 0);
        traffic_run(traffic, 5000);
        assert_int_equal(traffic_told(traffic, LW_HAPPENED_START), 1);
        assert_int_equal(traffic_look(traffic)->buses[0].n_frames, 100);
        assert_int_equal(traffic_tile(traffic, 0, 0x100)->period_ns, 100 * ms);
        lw_monitor_take_baseline(traffic->monitor);
        traffic_sender(traffic, 0x100)->is_off = true;
        traffic_run(traffic, 500);
        assert_int_equal(traffic_look(traffic)->counts.n_absent, 1);
        traffic_destroy(traffic);
    }
}

static void monitor_bus_dead_from_time_zero_on_is_silent_and_told_once(void **state)
{
    (void)state;
    static const uint64_t starts[] = { 0, UINT64_C(1700000000000000000) };
    struct lw_baseline *baseline = calloc(1, sizeof(*baseline));
    baseline->n_buses = baseline->n_ids = 1;
    baseline->ids[0] = (struct lw_expected){ .key = { .id = 0x123 }, .rhythm = LW_RHYTHM_CYCLIC, .period_ns = 100 * ms };
    for (size_t i = 0; i < N_ROWS(starts); i++) {
        struct traffic *traffic = traffic_create(1, starts[i]);
        lw_monitor_set_baseline(traffic->monitor, baseline);
        traffic_run(traffic, 5000);
        assert_true(traffic_is_lit(traffic, LW_WINDOW_BUS_SILENT));
        assert_int_equal(traffic_told(traffic, LW_HAPPENED_SILENT), 1);
        assert_int_equal(traffic->snapshot.counts.n_absent, 0);
        traffic_destroy(traffic);
    }
    free(baseline);
}

static void monitor_with_extreme_time_stamps_ends_and_stays_sound(void **state)
{
    (void)state;
    static const uint64_t times[] = {
        0, UINT64_MAX, 1, UINT64_MAX - 1, 5, UINT64_MAX / 2, UINT64_MAX - 60 * UINT64_C(1000000000), 1000, UINT64_MAX,
    };
    uint64_t seed = 0x71E;
    for (size_t first = 0; first < N_ROWS(times); first++) {
        struct traffic *traffic = traffic_create(2, times[first]);
        for (unsigned i = 0; i < 300; i++) {
            struct lw_event event = random_event(&seed);
            uint64_t near = random_below(&seed, 4) ? random_bits(&seed) % (200 * ms) : 0;
            traffic->now_ns = times[(first + i / 30) % N_ROWS(times)];
            traffic->now_ns = random_below(&seed, 2) ? traffic->now_ns - near : traffic->now_ns + near;
            traffic_feed(traffic, i % 2, event);
            lw_monitor_tick(traffic->monitor, random_below(&seed, 2), traffic->now_ns);
            if (i == 100)
                lw_monitor_take_baseline(traffic->monitor);
        }
        assert_counts_conserved(traffic);
        traffic_destroy(traffic);
    }
}

static void monitor_with_single_late_stamps_keeps_sound_times(void **state)
{
    (void)state;
    struct traffic *traffic = traffic_create(1, epoch_ns);
    traffic_run(traffic, 20);
    lw_monitor_set_baseline(traffic->monitor, &(struct lw_baseline){ .n_buses = 1 });
    traffic->now_ns = epoch_ns - 1500 * ms;      /* older than the watch itself: a frame that waited in a queue */
    traffic_feed(traffic, 0, (struct lw_event){ .frame = { .id = 0x100, .len = 8 } });
    const struct lw_snapshot *snapshot = traffic_look(traffic);
    assert_true(snapshot->alarms.windows[LW_WINDOW_UNEXPECTED].is_abnormal);
    assert_true(snapshot->window_cause[LW_WINDOW_UNEXPECTED].elapsed_ns <= 20 * ms);
    assert_true(snapshot->elapsed_ns <= 20 * ms);
    struct lw_baseline *learnt = malloc(sizeof(*learnt));
    lw_monitor_end(traffic->monitor, 0);
    lw_monitor_learn(traffic->monitor, learnt);
    assert_true(learnt->buses[0].watched_ns <= 20 * ms);
    free(learnt);
    traffic_destroy(traffic);
}

static void monitor_of_buses_with_other_clocks_keeps_elapsed_times_sound(void **state)
{
    (void)state;
    struct traffic *traffic = traffic_create(2, epoch_ns);
    for (unsigned i = 0; i < 4000; i++) {        /* bus 0 counts from power-on, bus 1 since 1970; bus 1 is overloaded */
        struct lw_event event = { .t_ns = i * ms, .frame = { .id = 0x100, .len = 8 } };
        lw_monitor_feed(traffic->monitor, &event);
        for (unsigned k = 0; k < 5; k++) {
            event.bus = 1;
            event.t_ns = epoch_ns + i * ms;
            lw_monitor_feed(traffic->monitor, &event);
        }
    }
    assert_true(traffic_is_lit(traffic, LW_WINDOW_LOAD_HIGH));
    for (int w = 0; w < LW_N_WINDOWS; w++)
        assert_true(traffic->snapshot.window_cause[w].elapsed_ns <= 4000 * ms);
    assert_in_range(traffic->snapshot.elapsed_ns, 3990 * ms, 4000 * ms);
    traffic_destroy(traffic);
}

/* The computer's clock is set while the bus runs on: forward and back again. */
static void monitor_after_the_clock_is_set_back_goes_on_judging(void **state)
{
    (void)state;
    struct traffic *traffic = traffic_create(1, epoch_ns);
    traffic_add_machine(traffic, 20, 0);
    traffic_run(traffic, 10000);
    lw_monitor_take_baseline(traffic->monitor);
    traffic_run(traffic, 1000);
    uint64_t back = 3600 * UINT64_C(1000000000);
    traffic->now_ns -= back;
    traffic->tick_ns -= back;
    for (unsigned i = 0; i < traffic->n_senders; i++)
        traffic->senders[i].next_ns -= back;
    traffic_run(traffic, 5000);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_ABSENT), 0);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_PERIOD), 0);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_LOAD_HIGH));
    traffic_sender(traffic, 0x108)->is_off = true;
    traffic_run(traffic, 1000);
    assert_int_equal(traffic_look(traffic)->counts.n_absent, 1);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_LOAD_HIGH));
    traffic_destroy(traffic);
}

static void monitor_event_of_a_foreign_bus_is_counted_as_lost(void **state)
{
    (void)state;
    struct traffic *traffic = traffic_create(1, epoch_ns);
    for (unsigned bus = 1; bus < 256; bus += 50)
        traffic_feed(traffic, bus, (struct lw_event){ .frame = { .id = 0x100 } });
    lw_monitor_tick(traffic->monitor, 200, epoch_ns);
    assert_int_equal(traffic_look(traffic)->buses[0].n_lost, 6);
    assert_int_equal(traffic->snapshot.n_tiles, 0);
    lw_monitor_destroy(NULL);
    traffic_destroy(traffic);
}

/* Machines by chance, with jitter, whose whole bus falls silent now and then: whatever is told, no message is. */
static void monitor_random_machines_with_holes_raise_no_false_alarm(void **state)
{
    (void)state;
    static const unsigned periods_ms[] = { 5, 10, 20, 25, 40, 50, 80, 100, 200, 250, 500, 1000 };
    uint64_t seed = 0x4A1E;
    for (unsigned round = 0; round < 60; round++) {
        struct traffic *traffic = traffic_create(1, epoch_ns);
        unsigned n = 1 + random_below(&seed, 30), fastest = random_below(&seed, N_ROWS(periods_ms));
        for (unsigned i = 0; i < n; i++) {
            unsigned period = periods_ms[fastest + random_below(&seed, N_ROWS(periods_ms) - fastest)];
            struct sender *sender = traffic_add(traffic, 0x100 + i, period, random_below(&seed, period));
            sender->jitter_ns = random_below(&seed, 2) ? period * ms / 20 : 0;
            sender->jitter_seed = 0;
        }
        traffic_run(traffic, 15000);
        lw_monitor_take_baseline(traffic->monitor);
        for (unsigned hole = 0; hole < 6; hole++) {
            traffic_run(traffic, 2500 + random_below(&seed, 4000));    /* each message has had its turn */
            traffic->is_dead[0] = true;
            traffic_run(traffic, random_below(&seed, random_below(&seed, 2) ? 600 : 8000));
            traffic->is_dead[0] = false;
        }
        traffic_run(traffic, 3000);
        print_message("  round %u\n", round);
        assert_int_equal(traffic_told(traffic, LW_HAPPENED_UNEXPECTED) + traffic_told(traffic, LW_HAPPENED_PERIOD)
                         + traffic_told(traffic, LW_HAPPENED_SECOND_SENDER) + traffic_told(traffic, LW_HAPPENED_LENGTH), 0);
        assert_int_equal(traffic_told(traffic, LW_HAPPENED_ABSENT), 0);
        assert_int_equal(traffic->snapshot.counts.n_present, n);
        traffic_destroy(traffic);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(monitor_counts_of_random_events_are_conserved),
        cmocka_unit_test(monitor_flooded_with_ids_fills_counts_and_shows_it),
        cmocka_unit_test(monitor_baseline_set_on_a_full_table_is_no_lost_frame),
        cmocka_unit_test(monitor_after_the_end_of_a_capture_makes_nothing_absent),
        cmocka_unit_test(monitor_started_at_time_zero_works_as_at_any_other),
        cmocka_unit_test(monitor_bus_dead_from_time_zero_on_is_silent_and_told_once),
        cmocka_unit_test(monitor_with_extreme_time_stamps_ends_and_stays_sound),
        cmocka_unit_test(monitor_with_single_late_stamps_keeps_sound_times),
        cmocka_unit_test(monitor_of_buses_with_other_clocks_keeps_elapsed_times_sound),
        cmocka_unit_test(monitor_after_the_clock_is_set_back_goes_on_judging),
        cmocka_unit_test(monitor_event_of_a_foreign_bus_is_counted_as_lost),
        cmocka_unit_test(monitor_random_machines_with_holes_raise_no_false_alarm),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
