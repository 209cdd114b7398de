/* SPDX-License-Identifier: MIT
 *
 * The watch end to end, in fake time: baseline, what is new, what is gone, what has changed, and that a hole of the whole
 * bus is none of these.
 */
#include "traffic.h"

static const uint64_t epoch_ns = UINT64_C(1700000000000000000);

static int set_up(void **state)
{
    *state = traffic_create(1, epoch_ns);
    return 0;
}

static int tear_down(void **state)
{
    traffic_destroy(*state);
    return 0;
}

/* Thirty messages, learnt for ten seconds, then compared with. */
static struct traffic *settled(void **state)
{
    struct traffic *traffic = *state;
    traffic_add_machine(traffic, 30, 0);
    traffic_run(traffic, 10000);
    lw_monitor_take_baseline(traffic->monitor);
    traffic_run(traffic, 50);
    return traffic;
}

static void monitor_undisturbed_machine_lights_nothing(void **state)
{
    struct traffic *traffic = settled(state);
    traffic_run(traffic, 60000);
    const struct lw_snapshot *snapshot = traffic_look(traffic);
    assert_int_equal(traffic_n_windows(traffic), 0);
    assert_int_equal(snapshot->counts.n_expected, 30);
    assert_int_equal(snapshot->counts.n_present, 30);
    assert_int_equal(snapshot->counts.n_ids, 30);
    assert_int_equal(snapshot->counts.n_absent + snapshot->counts.n_late + snapshot->counts.n_changed, 0);
    for (size_t i = 0; i < snapshot->n_tiles; i++) {
        assert_int_equal(snapshot->tiles[i].rhythm, LW_RHYTHM_CYCLIC);
        assert_int_equal(snapshot->tiles[i].period_ns, snapshot->tiles[i].expected_period_ns);
        assert_int_equal(snapshot->tiles[i].n_missed, 0);
        assert_true(i == 0 || lw_id_key_order(snapshot->tiles[i - 1].key, snapshot->tiles[i].key) < 0);
    }
}

static void monitor_unexpected_id_is_lit_by_its_first_frame(void **state)
{
    struct traffic *traffic = settled(state);
    traffic_feed(traffic, 0, (struct lw_event){ .frame = { .id = 0x3A0, .len = 8 } });
    assert_true(traffic_is_lit(traffic, LW_WINDOW_UNEXPECTED));
    assert_int_equal(traffic->snapshot.counts.n_unexpected, 1);
    assert_int_equal(traffic_tile(traffic, 0, 0x3A0)->conditions, LW_UNEXPECTED);
    assert_int_equal(traffic_tile(traffic, 0, 0x3A0)->condition_since_ns, traffic->now_ns);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_UNEXPECTED), 1);
    assert_int_equal(traffic->snapshot.window_cause[LW_WINDOW_UNEXPECTED].key.id, 0x3A0);
    assert_int_equal(lw_alarms_first_out(lw_monitor_alarms(traffic->monitor)), LW_WINDOW_UNEXPECTED);
    assert_int_equal(traffic->snapshot.counts.n_expected, 30);
    traffic_run(traffic, 10000);                         /* it was heard once: the condition ends, the lamp stays */
    assert_false(traffic_is_lit(traffic, LW_WINDOW_UNEXPECTED));
    assert_int_equal(lw_alarms_lamp(&traffic->snapshot.alarms, LW_WINDOW_UNEXPECTED), LW_LAMP_FIRST_FLASH);
}

static void monitor_same_number_in_other_format_is_unexpected(void **state)
{
    struct traffic *traffic = settled(state);
    traffic_feed(traffic, 0, (struct lw_event){ .frame = { .id = 0x100, .flags = LW_FRAME_EXTENDED } });
    assert_int_equal(traffic_look(traffic)->counts.n_unexpected, 1);
    assert_int_equal(traffic->snapshot.counts.n_present, 30);
}

static void monitor_silenced_resident_is_absent_within_three_periods(void **state)
{
    struct traffic *traffic = settled(state);
    struct sender *resident = traffic_sender(traffic, 0x108);      /* 100 ms */
    uint64_t last_ns = resident->next_ns - resident->period_ns;
    resident->is_off = true;
    while (!traffic_is_lit(traffic, LW_WINDOW_ABSENT)) {
        assert_true(traffic->now_ns < last_ns + 1000 * ms);
        traffic_run(traffic, 10);
    }
    assert_in_range(traffic->now_ns - last_ns, 250 * ms, 360 * ms);      /* looked at every 10 ms */
    assert_true(traffic->snapshot.alarms.windows[LW_WINDOW_ABSENT].began_ns <= last_ns + 350 * ms);
    assert_int_equal(lw_alarms_first_out(&traffic->snapshot.alarms), LW_WINDOW_ABSENT);
    assert_int_equal(traffic->snapshot.counts.n_absent, 1);
    assert_int_equal(traffic->snapshot.counts.n_present, 29);
    assert_int_equal(traffic->snapshot.counts.n_late, 0);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_ABSENT), 1);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_BUS_SILENT));
    resident->is_off = false;
    traffic_run(traffic, 200);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_ABSENT));
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_RETURNED), 1);
    assert_int_equal(traffic_tile(traffic, 0, 0x108)->conditions, 0);
}

static void monitor_message_that_comes_late_is_told_when_it_comes(void **state)
{
    struct traffic *traffic = settled(state);
    struct sender *resident = traffic_sender(traffic, 0x108);      /* 100 ms: late after 210, absent after 300 */
    traffic_run(traffic, (unsigned)((resident->next_ns - traffic->now_ns) / ms) + 1);
    resident->next_ns += 175 * ms;
    traffic_run(traffic, 270);
    assert_int_equal(traffic_tile(traffic, 0, 0x108)->conditions, LW_LATE);
    assert_int_equal(traffic->snapshot.counts.n_late, 1);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_LATE));
    traffic_run(traffic, 100);
    assert_int_equal(traffic_tile(traffic, 0, 0x108)->conditions, 0);
    assert_true(traffic_is_lit(traffic, LW_WINDOW_LATE));
    assert_int_equal(traffic->snapshot.window_cause[LW_WINDOW_LATE].key.id, 0x108);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_ABSENT));
    assert_int_equal(traffic_tile(traffic, 0, 0x108)->n_missed, 2);
}

static void monitor_hole_of_the_whole_bus_makes_nothing_absent_or_new(void **state)
{
    static const unsigned holes_ms[] = { 150, 250, 300, 400, 1000, 5000, 60000, 7200000 };
    struct traffic *traffic = settled(state);
    for (size_t i = 0; i < N_ROWS(holes_ms); i++) {
        traffic->is_dead[0] = true;
        traffic_run(traffic, holes_ms[i]);
        assert_true(traffic_is_lit(traffic, LW_WINDOW_BUS_SILENT));
        traffic->is_dead[0] = false;
        traffic_run(traffic, 20000);
        assert_false(traffic_is_lit(traffic, LW_WINDOW_BUS_SILENT));
        assert_int_equal(traffic_told(traffic, LW_HAPPENED_ABSENT), 0);
        assert_int_equal(traffic_told(traffic, LW_HAPPENED_UNEXPECTED), 0);
        assert_int_equal(traffic_told(traffic, LW_HAPPENED_PERIOD), 0);
        assert_int_equal(traffic->snapshot.counts.n_present, 30);
        assert_int_equal(traffic_n_windows(traffic), 1);
    }
    for (size_t i = 0; i < traffic->snapshot.n_tiles; i++)
        assert_int_equal(traffic->snapshot.tiles[i].n_missed, 0);
}

/* Absent means absent since the return: the resident that does not come back with the bus is told, no sooner. */
static void monitor_resident_lost_in_a_hole_is_absent_from_the_return_on(void **state)
{
    struct traffic *traffic = settled(state);
    traffic->is_dead[0] = true;
    traffic_run(traffic, 5000);
    traffic_sender(traffic, 0x108)->is_off = true;
    traffic->is_dead[0] = false;
    traffic_run(traffic, 200);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_ABSENT));
    traffic_run(traffic, 200);
    assert_true(traffic_is_lit(traffic, LW_WINDOW_ABSENT));
    assert_int_equal(traffic->snapshot.counts.n_absent, 1);
}

/* A small bus: its fastest message comes every 100 ms, its messages at different moments of that cycle. */
static void monitor_hole_of_a_slow_bus_makes_nothing_absent(void **state)
{
    (void)state;
    for (unsigned phase_ms = 1; phase_ms < 100; phase_ms += 7) {
        struct traffic *traffic = traffic_create(1, epoch_ns);
        traffic_add(traffic, 0x100, 100, 1);
        traffic_add(traffic, 0x101, 100, phase_ms);
        traffic_add(traffic, 0x102, 1000, 5);
        traffic_run(traffic, 20000);
        lw_monitor_take_baseline(traffic->monitor);
        traffic_run(traffic, 900 + phase_ms);
        traffic->is_dead[0] = true;
        traffic_run(traffic, 5000);
        assert_true(traffic_is_lit(traffic, LW_WINDOW_BUS_SILENT));
        assert_int_equal(traffic_told(traffic, LW_HAPPENED_ABSENT), 0);
        traffic->is_dead[0] = false;
        traffic_run(traffic, 5000);
        assert_int_equal(traffic_told(traffic, LW_HAPPENED_ABSENT), 0);
        traffic_destroy(traffic);
    }
}

/* The only fast unit goes; a slow one stays and proves that the bus lives. */
static void monitor_fast_unit_gone_beside_a_slow_one_is_absent(void **state)
{
    struct traffic *traffic = *state;
    traffic_add(traffic, 0x181, 10, 1);
    traffic_add(traffic, 0x701, 1000, 5);
    traffic_run(traffic, 20000);
    lw_monitor_take_baseline(traffic->monitor);
    traffic_run(traffic, 500);
    traffic_sender(traffic, 0x181)->is_off = true;
    traffic_run(traffic, 2000);
    assert_true(traffic_is_lit(traffic, LW_WINDOW_ABSENT));
    traffic_run(traffic, 20000);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_BUS_SILENT));
    assert_in_range(traffic_told(traffic, LW_HAPPENED_SILENT), 0, 1);
    assert_int_equal(traffic_tile(traffic, 0, 0x181)->conditions, LW_ABSENT);
}

/* One unit asks by remote frame, another answers; the answers stop, the questions go on. */
static void monitor_questions_do_not_hide_that_the_answer_is_absent(void **state)
{
    struct traffic *traffic = *state;
    traffic_add_machine(traffic, 10, 0);
    traffic_add(traffic, 0x3A0, 100, 5)->frame.flags = LW_FRAME_REMOTE;
    struct sender *answer = traffic_add(traffic, 0x3A0, 100, 6);
    traffic_run(traffic, 10000);
    assert_int_equal(traffic_tile(traffic, 0, 0x3A0)->period_ns, 100 * ms);
    lw_monitor_take_baseline(traffic->monitor);
    traffic_run(traffic, 2000);
    assert_int_equal(traffic_n_windows(traffic), 0);
    answer->is_off = true;
    traffic_run(traffic, 1000);
    assert_int_equal(traffic_tile(traffic, 0, 0x3A0)->conditions, LW_ABSENT);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_ABSENT), 1);
    answer->is_off = false;
    traffic_run(traffic, 1000);
    assert_int_equal(traffic_tile(traffic, 0, 0x3A0)->conditions, 0);
}

static void monitor_second_sender_is_suspected(void **state)
{
    struct traffic *traffic = settled(state);
    traffic_add(traffic, 0x108, 100, 33);
    traffic_run(traffic, 5000);
    assert_true(traffic_is_lit(traffic, LW_WINDOW_SECOND_SENDER));
    assert_int_equal(traffic_tile(traffic, 0, 0x108)->conditions, LW_SECOND_SENDER);
    assert_int_equal(traffic->snapshot.counts.n_changed, 1);
    traffic->senders[traffic->n_senders - 1].is_off = true;
    traffic_run(traffic, 5000);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_SECOND_SENDER));
}

static void monitor_second_sender_is_suspected_without_a_baseline(void **state)
{
    struct traffic *traffic = *state;
    traffic_add_machine(traffic, 30, 0);
    traffic_run(traffic, 10000);
    traffic_add(traffic, 0x108, 100, 41);
    traffic_run(traffic, 5000);
    assert_true(traffic_is_lit(traffic, LW_WINDOW_SECOND_SENDER));
}

static void monitor_changed_period_and_length_are_told(void **state)
{
    struct traffic *traffic = settled(state);
    traffic_sender(traffic, 0x104)->period_ns = 140 * ms;
    traffic_sender(traffic, 0x108)->frame.len = 6;
    traffic_run(traffic, 8000);
    assert_int_equal(traffic_tile(traffic, 0, 0x104)->conditions, LW_PERIOD_CHANGED);
    assert_int_equal(traffic_tile(traffic, 0, 0x104)->period_ns, 140 * ms);
    assert_int_equal(traffic_tile(traffic, 0, 0x108)->conditions, LW_LENGTH_CHANGED);
    assert_true(traffic_is_lit(traffic, LW_WINDOW_CHANGED));
    assert_int_equal(traffic->snapshot.counts.n_changed, 2);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_PERIOD), 1);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_LENGTH), 1);
}

static void monitor_mark_counts_what_is_new_since(void **state)
{
    struct traffic *traffic = *state;
    traffic_add_machine(traffic, 20, 0);
    traffic_run(traffic, 3000);
    lw_monitor_mark(traffic->monitor, LW_MARK_PLAIN);
    assert_int_equal(traffic_look(traffic)->counts.n_since_mark, 0);
    traffic_add(traffic, 0x3A0, 100, 20);
    traffic_add(traffic, 0x3A1, 100, 30);
    traffic_run(traffic, 1000);
    assert_int_equal(traffic_look(traffic)->counts.n_since_mark, 2);
    assert_true(traffic->snapshot.has_mark);
    assert_in_range(traffic->snapshot.mark_elapsed_ns, 2980 * ms, 3000 * ms);
    assert_true(traffic_tile(traffic, 0, 0x3A0)->is_since_mark);
    assert_false(traffic_tile(traffic, 0, 0x100)->is_since_mark);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_NEW_ID), 2);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_MARK), 1);
    assert_int_equal(traffic_n_windows(traffic), 0);
}

static void monitor_group_gone_quiet_is_one_entry_of_the_diary(void **state)
{
    struct traffic *traffic = *state;
    traffic_add_machine(traffic, 40, 0);
    for (unsigned i = 0; i < 20; i++)
        traffic->senders[20 + i].period_ns = 100 * ms;
    traffic_run(traffic, 10000);
    for (unsigned i = 0; i < 20; i++)
        traffic->senders[20 + i].is_off = true;
    traffic_run(traffic, 5000);
    const struct lw_snapshot *snapshot = traffic_look(traffic);
    unsigned n_entries = 0;
    for (size_t i = 0; i < snapshot->n_diary; i++)
        n_entries += snapshot->diary[i].kind == LW_HAPPENED_QUIET;
    assert_int_equal(n_entries, 1);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_QUIET), 20);
    assert_int_equal(snapshot->counts.n_quiet, 20);
    assert_int_equal(traffic_n_windows(traffic), 0);
}

int main(void)
{
#define ON_BUS(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        ON_BUS(monitor_undisturbed_machine_lights_nothing),
        ON_BUS(monitor_unexpected_id_is_lit_by_its_first_frame),
        ON_BUS(monitor_same_number_in_other_format_is_unexpected),
        ON_BUS(monitor_silenced_resident_is_absent_within_three_periods),
        ON_BUS(monitor_message_that_comes_late_is_told_when_it_comes),
        ON_BUS(monitor_hole_of_the_whole_bus_makes_nothing_absent_or_new),
        ON_BUS(monitor_resident_lost_in_a_hole_is_absent_from_the_return_on),
        cmocka_unit_test(monitor_hole_of_a_slow_bus_makes_nothing_absent),
        ON_BUS(monitor_fast_unit_gone_beside_a_slow_one_is_absent),
        ON_BUS(monitor_questions_do_not_hide_that_the_answer_is_absent),
        ON_BUS(monitor_second_sender_is_suspected),
        ON_BUS(monitor_second_sender_is_suspected_without_a_baseline),
        ON_BUS(monitor_changed_period_and_length_are_told),
        ON_BUS(monitor_mark_counts_what_is_new_since),
        ON_BUS(monitor_group_gone_quiet_is_one_entry_of_the_diary),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
