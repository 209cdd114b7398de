/* SPDX-License-Identifier: MIT
 *
 * The built-in bench as a source: same events for the same seed, a bus that could be one, every action's effect. Time is
 * fake. Frame tables and demo data are invented.
 */
#include "bench_run.h"

#include "loomwatch/core/load.h"
#include "loomwatch/core/period.h"
#include "loomwatch/core/wire.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

enum { SENSOR_LOAD = 0x2D0, SENSOR_STATUS = 0x3D0, SENSOR_BOOT = 0x6D0, HOPPER_LIFT = 0x0B0, LEVERS = 0x138 };

static const struct lw_bench_message *message_of(const struct lw_frame *frame)
{
    const struct lw_bench_machine *machine = &lw_bench_harrow40;
    for (size_t i = 0; i < machine->n_messages; i++)
        if (machine->messages[i].id == frame->id &&
            machine->messages[i].is_extended == !!(frame->flags & LW_FRAME_EXTENDED))
            return &machine->messages[i];
    return NULL;
}

static void open_unknown_name_is_refused(void **state)
{
    (void)state;
    struct lw_source source = { 0 };
    const struct lw_bench_options options = { .pace = { LW_PACE_FULL, 1 } };
    assert_int_equal(lw_bench_open(&source, "harrow41", 0, &options), -ENOENT);
    assert_null(source.self);
    for (const char *const *name = lw_bench_names(); *name; name++) {
        assert_int_equal(lw_bench_open(&source, *name, 0, &options), 0);
        source.ops->destroy(source.self);
    }
}

static void read_first_event_is_link_report(void **state)
{
    (void)state;
    struct run run = run_bench(1, 1000, NULL, 0);
    const struct lw_event *first = &run.events[0];
    assert_int_equal(first->kind, LW_EVENT_LINK);
    assert_int_equal(first->t_ns, 0);
    assert_true(first->link.is_up && first->link.has_carrier);
    assert_true(first->link.bit_rate_bps.is_known);
    assert_int_equal(first->link.bit_rate_bps.value, 500000);
    assert_int_equal(first->link.state, LW_STATE_ERROR_ACTIVE);
    run_finish(&run);
}

static void read_equal_seeds_gives_equal_events(void **state)
{
    (void)state;
    const struct script script[] = { { 3000, ERROR_BURST }, { 3100, PLUG_SENSOR }, { 5000, NO_ACKNOWLEDGE },
                                     { 6500, BUS_OFF }, { 9800, OVERRUN } };
    struct run a = run_bench(7, 12000, script, 5), b = run_bench(7, 12000, script, 5), c = run_bench(8, 12000, script, 5);
    assert_int_equal(a.n, b.n);
    assert_memory_equal(a.events, b.events, a.n * sizeof *a.events);
    assert_true(c.n != a.n || memcmp(a.events, c.events, a.n * sizeof *a.events) != 0);
    run_finish(&a);
    run_finish(&b);
    run_finish(&c);
}

static void read_any_step_gives_equal_events(void **state)
{
    (void)state;
    const struct script script[] = { { 2000, ERROR_BURST }, { 2100, BUS_OFF }, { 6000, SECOND_SENDER } };
    struct run a = run_bench_stepping(7, 9000, script, 3, 10000000), b = run_bench_stepping(7, 9000, script, 3, 123457);
    assert_int_equal(a.n, b.n);
    assert_memory_equal(a.events, b.events, a.n * sizeof *a.events);
    run_finish(&a);
    run_finish(&b);
}

static void read_every_event_fits_contract(void **state)
{
    (void)state;
    struct run run = run_bench(3, 40000, every_trouble, n_every_trouble);
    for (size_t i = 0; i < run.n; i++) {
        const struct lw_event *event = &run.events[i];
        assert_int_equal(event->bus, RUN_BUS);
        assert_int_equal(event->stamp, LW_STAMP_BENCH);
        assert_true(i == 0 || event->t_ns >= run.events[i - 1].t_ns);
        if (event->kind == LW_EVENT_FRAME) {
            const struct lw_bench_message *message = message_of(&event->frame);
            assert_non_null(message);
            assert_int_equal(event->frame.len, message->len);
            assert_true(message->is_extended || message->id <= LW_STANDARD_ID_MAX);
        }
        if (event->kind == LW_EVENT_ERROR)
            assert_int_equal(lw_error_unknown_classes(&event->error), 0);
    }
    run_finish(&run);
}

/* Both are received at their last bit: the later one needs its own bits and the intermission in between. */
static void read_frames_never_overlap(void **state)
{
    (void)state;
    struct run run = run_bench(4, 40000, every_trouble, n_every_trouble);
    uint64_t last_ns = 0;
    for (size_t i = 0; i < run.n; i++) {
        if (run.events[i].kind != LW_EVENT_FRAME)
            continue;
        struct lw_wire_length length = lw_wire_length(&run.events[i].frame);
        assert_true(run.events[i].t_ns - last_ns >= lw_wire_time_ns(&length, 500000, 0));
        last_ns = run.events[i].t_ns;
    }
    run_finish(&run);
}

/* Every gap within the jitter and the longest wait for the wire; and the rhythm as the core sees it. */
static void check_rhythm(const struct run *run, const struct lw_bench_message *message)
{
    enum { WAIT_US = 4500 };
    struct lw_period period;
    lw_period_init(&period);
    uint64_t last_ns = 0;
    int64_t nominal_us = (int64_t)message->period_ms * 1000;
    for (size_t i = 0; i < run->n; i++) {
        const struct lw_event *event = &run->events[i];
        if (event->kind != LW_EVENT_FRAME || event->frame.id != message->id)
            continue;
        int64_t gap_us = (int64_t)(event->t_ns - last_ns) / 1000;
        if (last_ns && message->period_ms && !message->event_ms)
            assert_in_range((uint64_t)llabs(gap_us - nominal_us), 0, message->jitter_us + WAIT_US);
        if (last_ns)
            lw_period_add(&period, event->t_ns - last_ns);
        if (period.n_gaps < LW_PERIOD_GAPS || i % 64 == 0)
            lw_period_estimate(&period);       /* now and then, as a watch does */
        last_ns = event->t_ns;
    }
    lw_period_estimate(&period);
    assert_int_equal(period.rhythm, !message->period_ms  ? LW_RHYTHM_EVENT
                                    : message->event_ms ? LW_RHYTHM_BOTH
                                                        : LW_RHYTHM_CYCLIC);
    if (message->period_ms)
        assert_in_range(period.period_ns / 1000, (uint64_t)nominal_us * 98 / 100, (uint64_t)nominal_us * 102 / 100);
}

static void read_healthy_bus_keeps_every_rhythm(void **state)
{
    (void)state;
    struct run run = run_bench(5, 180000, NULL, 0);
    const struct lw_bench_machine *machine = &lw_bench_harrow40;
    for (size_t i = 0; i < machine->n_messages; i++) {
        const struct lw_bench_message *message = &machine->messages[i];
        if (machine->units[message->unit].is_resident)
            check_rhythm(&run, message);
    }
    run_finish(&run);
}

static void read_healthy_bus_has_plausible_load(void **state)
{
    (void)state;
    struct run run = run_bench(6, 20000, NULL, 0);
    struct lw_load load;
    lw_load_init(&load);
    lw_load_set_bit_rate(&load, 500000, 0);
    for (size_t i = 0; i < run.n; i++) {
        assert_int_not_equal(run.events[i].kind, LW_EVENT_ERROR);
        if (run.events[i].kind != LW_EVENT_FRAME)
            continue;
        struct lw_wire_length length = lw_wire_length(&run.events[i].frame);
        lw_load_add(&load, &length, run.events[i].t_ns);
    }
    assert_in_range(lw_load_permille(&load).value, 200, 500);
    assert_in_range(lw_load_peak_permille(&load).value, 200, 500);
    run_finish(&run);
}

/* A baseline taken in a few seconds shall not miss a message: what comes on event is told once after the start, too. */
static void read_short_watch_hears_every_resident(void **state)
{
    (void)state;
    const struct lw_bench_machine *machine = &lw_bench_harrow40;
    for (uint64_t seed = 0; seed < 20; seed++) {
        struct run run = run_bench(seed, 2000, NULL, 0);
        for (size_t i = 0; i < machine->n_messages; i++)
            if (machine->units[machine->messages[i].unit].is_resident)
                assert_true(run_count(&run, machine->messages[i].id, 0, 2000) > 0);
        run_finish(&run);
    }
}

static void read_joysticks_data_counts_and_sums(void **state)
{
    (void)state;
    struct run run = run_bench(6, 3000, NULL, 0);
    unsigned expected = 0;
    for (size_t i = 0; i < run.n; i++) {
        const struct lw_frame *frame = &run.events[i].frame;
        if (run.events[i].kind != LW_EVENT_FRAME || frame->id != 0x090)
            continue;
        uint8_t sum = (uint8_t)frame->id;
        for (unsigned at = 0; at < frame->len; at++)
            sum ^= frame->data[at];
        assert_int_equal(sum, 0);
        assert_int_equal(frame->data[6] & 0x0F, expected++ % 16);
    }
    assert_true(expected > 250);
    run_finish(&run);
}

static void join_hopper_load_sensor_appears_when_plugged(void **state)
{
    (void)state;
    static const struct {
        struct script script[2];
        size_t n_steps;
        uint64_t from_ms, to_ms;     /* it may be heard in this span only, and is */
    } cases[] = {
        { { { 0 } }, 0, 8000, 20000 },
        { { { 2000, PLUG_SENSOR } }, 1, 2000, 20000 },
        { { { 2000, PLUG_SENSOR }, { 4000, UNPLUG_SENSOR } }, 2, 2000, 4001 },
        { { { 500, UNPLUG_SENSOR } }, 1, 8000, 20000 },
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct run run = run_bench(9, 20000, cases[i].script, cases[i].n_steps);
        uint64_t from = cases[i].from_ms, to = cases[i].to_ms;
        assert_int_equal(run_count(&run, SENSOR_BOOT, from, to), 1);
        assert_in_range(run_count(&run, SENSOR_LOAD, from, to), (to - from - 350) / 101, (to - from) / 99 + 1);
        assert_in_range(run_count(&run, SENSOR_STATUS, from, to), (to - from - 650) / 505, (to - from) / 495 + 1);
        assert_int_equal(run_count(&run, SENSOR_LOAD, 0, from) + run_count(&run, SENSOR_LOAD, to, 20000), 0);
        assert_int_equal(run_first_ms(&run, SENSOR_BOOT), from + 150);
        run_finish(&run);
    }
}

static void act_hopper_off_and_on_silences_and_returns(void **state)
{
    (void)state;
    const struct script script[] = { { 2000, HOPPER_OFF }, { 5000, HOPPER_ON } };
    struct run run = run_bench(9, 8000, script, 2);
    static const uint32_t ids[] = { HOPPER_LIFT, 0x128, 0x1C8, 0x2E8 };
    for (size_t i = 0; i < sizeof ids / sizeof *ids; i++) {
        assert_true(run_count(&run, ids[i], 1000, 2000) >= 9);
        assert_int_equal(run_count(&run, ids[i], 2001, 5000), 0);
        assert_true(run_count(&run, ids[i], 5200, 8000) >= 27);
    }
    assert_in_range(run_count(&run, 0x088, 2000, 5000), 299, 301);
    run_finish(&run);
}

static void act_second_sender_doubles_rate_until_taken_off(void **state)
{
    (void)state;
    const struct script script[] = { { 2000, SECOND_SENDER }, { 6000, SECOND_SENDER } };
    struct run run = run_bench(9, 8000, script, 2);
    assert_in_range(run_count(&run, LEVERS, 1000, 2000), 49, 51);
    assert_in_range(run_count(&run, LEVERS, 3000, 5000), 198, 202);
    assert_in_range(run_count(&run, LEVERS, 6001, 8000), 99, 101);
    run_finish(&run);
}

static void act_outside_list_is_refused(void **state)
{
    (void)state;
    struct lw_source source = open_bench(1, (struct lw_pace){ LW_PACE_REAL, 1 });
    size_t n;
    const struct lw_source_action *actions = source.ops->actions(source.self, &n);
    static const char *const names[] = { "plug-sensor", "unplug-sensor", "hopper-off", "hopper-on", "error-burst",
                                         "bus-off", "no-acknowledge", "overrun", "second-sender" };
    assert_int_equal(n, N_ACTIONS);
    for (size_t i = 0; i < n; i++)
        assert_string_equal(actions[i].name, names[i]);
    assert_int_equal(source.ops->act(source.self, n, 0), -EINVAL);
    source.ops->destroy(source.self);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(open_unknown_name_is_refused),
        cmocka_unit_test(read_first_event_is_link_report),
        cmocka_unit_test(read_equal_seeds_gives_equal_events),
        cmocka_unit_test(read_any_step_gives_equal_events),
        cmocka_unit_test(read_every_event_fits_contract),
        cmocka_unit_test(read_frames_never_overlap),
        cmocka_unit_test(read_healthy_bus_keeps_every_rhythm),
        cmocka_unit_test(read_healthy_bus_has_plausible_load),
        cmocka_unit_test(read_short_watch_hears_every_resident),
        cmocka_unit_test(read_joysticks_data_counts_and_sums),
        cmocka_unit_test(join_hopper_load_sensor_appears_when_plugged),
        cmocka_unit_test(act_hopper_off_and_on_silences_and_returns),
        cmocka_unit_test(act_second_sender_doubles_rate_until_taken_off),
        cmocka_unit_test(act_outside_list_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
