/* SPDX-License-Identifier: MIT
 *
 * What the bench's adapter tells when the bus is in trouble, held against ISO 11898-1's counting rules and the classes
 * and bytes of linux/can/error.h. Time is fake.
 */
#include "bench_run.h"

#include <linux/can/error.h>

/* Error frames that have all these class bits, from from_ms on and before to_ms. */
static size_t count_errors(const struct run *run, uint32_t class_bits, uint64_t from_ms, uint64_t to_ms)
{
    size_t n = 0;
    for (size_t i = 0; i < run->n; i++) {
        const struct lw_event *event = &run->events[i];
        n += event->kind == LW_EVENT_ERROR && (event->error.class_bits & class_bits) == class_bits &&
             event->t_ns >= from_ms * 1000000 && event->t_ns < to_ms * 1000000;
    }
    return n;
}

/* Time of the nth controller report with this data[1]. */
static uint64_t report_ms(const struct run *run, uint8_t report, unsigned nth)
{
    for (size_t i = 0; i < run->n; i++) {
        const struct lw_event *event = &run->events[i];
        if (event->kind == LW_EVENT_ERROR && event->error.class_bits & CAN_ERR_CRTL && event->error.data[1] == report &&
            nth-- == 0)
            return event->t_ns / 1000000;
    }
    return UINT64_MAX;
}

static const struct lw_event *last_link(const struct run *run)
{
    for (size_t i = run->n; i-- > 0;)
        if (run->events[i].kind == LW_EVENT_LINK)
            return &run->events[i];
    return NULL;
}

static void act_error_burst_raises_rec_and_heals(void **state)
{
    (void)state;
    const struct script script[] = { { 3000, ERROR_BURST } };
    struct run run = run_bench(2, 5000, script, 1);
    assert_int_equal(count_errors(&run, CAN_ERR_PROT | CAN_ERR_BUSERROR | CAN_ERR_CNT, 3000, 3310), 22);
    assert_int_equal(count_errors(&run, 0, 0, 5000), 22 + 4);
    assert_in_range(report_ms(&run, CAN_ERR_CRTL_RX_WARNING, 0), 3000, 3010);
    assert_in_range(report_ms(&run, CAN_ERR_CRTL_ACTIVE, 0), 3000, 3020);
    assert_in_range(report_ms(&run, CAN_ERR_CRTL_ACTIVE, 1), 3290, 3320);
    assert_true(run_count(&run, 0, 3020, 3280) > 200);
    const struct lw_link *link = &last_link(&run)->link;
    assert_int_equal(link->rec.value, 0);
    assert_int_equal(link->n_bus_errors.value, 22);
    assert_int_equal(link->n_error_warning.value, 2);
    assert_int_equal(link->state, LW_STATE_ERROR_ACTIVE);
    run_finish(&run);
}

static void act_bus_off_ends_by_itself(void **state)
{
    (void)state;
    const struct script script[] = { { 3000, BUS_OFF } };
    struct run run = run_bench(2, 8000, script, 1);
    assert_int_equal(report_ms(&run, CAN_ERR_CRTL_TX_WARNING, 0), 3000);
    assert_int_equal(report_ms(&run, CAN_ERR_CRTL_TX_PASSIVE, 0), 3000);
    assert_int_equal(count_errors(&run, CAN_ERR_BUSOFF, 3000, 3002), 1);
    assert_int_equal(run_count(&run, 0, 3001, 6000), 0);
    assert_int_equal(count_errors(&run, 0, 3002, 6000), 0);
    assert_int_equal(count_errors(&run, CAN_ERR_RESTARTED, 6000, 6002), 1);
    assert_true(run_count(&run, 0, 6002, 6100) > 50);
    const struct lw_link *link = &last_link(&run)->link;
    assert_int_equal(link->state, LW_STATE_ERROR_ACTIVE);
    assert_true(link->has_carrier);
    assert_int_equal(link->n_bus_off.value, 1);
    assert_int_equal(link->n_restarts.value, 1);
    run_finish(&run);
}

static void act_bus_off_tells_link_at_once(void **state)
{
    (void)state;
    const struct script script[] = { { 3000, BUS_OFF } };
    struct run run = run_bench(2, 4000, script, 1);
    const struct lw_event *event = last_link(&run);
    assert_int_equal(event->t_ns / 1000000, 3000);
    assert_int_equal(event->link.state, LW_STATE_BUS_OFF);
    assert_int_equal(event->link.tec.value, CAN_BUS_OFF_THRESHOLD);
    assert_false(event->link.has_carrier);
    run_finish(&run);
}

/* CALC of FACTS 4.1: 8, 16, … 128 in 16 attempts, then constant. */
static void act_no_acknowledge_tec_climbs_to_128_and_stays(void **state)
{
    (void)state;
    const struct script script[] = { { 3000, NO_ACKNOWLEDGE } };
    struct run run = run_bench(2, 8000, script, 1);
    unsigned n = 0;
    for (size_t i = 0; i < run.n; i++) {
        const struct lw_error *error = &run.events[i].error;
        if (run.events[i].kind != LW_EVENT_ERROR || !lw_error_is_no_acknowledge(error))
            continue;
        unsigned expected = ++n < 16 ? 8 * n : 128;
        assert_int_equal(error->class_bits, CAN_ERR_ACK | CAN_ERR_PROT | CAN_ERR_BUSERROR | CAN_ERR_CNT);
        assert_int_equal(error->data[3], CAN_ERR_PROT_LOC_ACK);
        assert_int_equal(error->data[6], expected);
    }
    assert_int_equal(n, 160);
    assert_int_equal(run_count(&run, 0, 3001, 4980), 0);
    assert_in_range(report_ms(&run, CAN_ERR_CRTL_TX_WARNING, 0), 3130, 3140);
    assert_in_range(report_ms(&run, CAN_ERR_CRTL_TX_PASSIVE, 0), 3180, 3200);
    assert_in_range(report_ms(&run, CAN_ERR_CRTL_TX_WARNING, 1), 4985, 5010);
    assert_in_range(report_ms(&run, CAN_ERR_CRTL_ACTIVE, 0), 5000, 5100);
    assert_true(run_count(&run, 0, 5000, 6000) > 800);
    assert_int_equal(last_link(&run)->link.tec.value, 0);
    assert_int_equal(last_link(&run)->link.state, LW_STATE_ERROR_ACTIVE);
    run_finish(&run);
}

/* What the loss event says is what is missing beside a run without it. */
static void act_overrun_loss_equals_frames_missing(void **state)
{
    (void)state;
    const struct script script[] = { { 3000, OVERRUN } };
    struct run lossy = run_bench(2, 5000, script, 1), whole = run_bench(2, 5000, NULL, 0);
    size_t n_lost = 0;
    for (size_t i = 0; i < lossy.n; i++)
        if (lossy.events[i].kind == LW_EVENT_LOSS) {
            assert_int_equal(lossy.events[i].loss.place, LW_LOSS_ADAPTER);
            n_lost += lossy.events[i].loss.n_frames;
        }
    assert_true(n_lost > 0);
    assert_int_equal(run_count(&whole, 0, 0, 6000) - run_count(&lossy, 0, 0, 6000), n_lost);
    assert_in_range(report_ms(&lossy, CAN_ERR_CRTL_RX_OVERFLOW, 0), 3000, 3100);
    run_finish(&lossy);
    run_finish(&whole);
}

static void act_more_than_can_wait_is_refused(void **state)
{
    (void)state;
    struct lw_source source = open_bench(1, (struct lw_pace){ LW_PACE_REAL, 1 });
    int n_done = 0;
    for (int i = 0; i < 100; i++)
        n_done += source.ops->act(source.self, SECOND_SENDER, 0) == 0;
    assert_in_range(n_done, 8, 99);
    struct lw_event event;
    assert_int_equal(source.ops->read(source.self, 0, &event, 1), 1);
    source.ops->destroy(source.self);
}

/* At real and N times pace, nothing is there just before the due time and something is at it; and bus time says so. */
static void due_every_pace_is_exact(void **state)
{
    (void)state;
    static const struct lw_pace paces[] = { { LW_PACE_REAL, 1 }, { LW_PACE_TIMES, 10 }, { LW_PACE_TIMES, 0.25 },
                                            { LW_PACE_TIMES, 333.3 } };
    for (size_t i = 0; i < sizeof paces / sizeof *paces; i++) {
        struct lw_source source = open_bench(1, paces[i]);
        struct lw_event event;
        uint64_t mono_ns = run_start_mono_ns;
        assert_int_equal(source.ops->now_ns(source.self, mono_ns), 0);
        assert_true(source.ops->due_ns(source.self, mono_ns) <= mono_ns);
        assert_int_equal(source.ops->read(source.self, mono_ns, &event, 1), 1);
        assert_int_equal(source.ops->read(source.self, mono_ns, &event, 1), 0);
        for (int n = 0; n < 2000; n++) {
            uint64_t due_ns = source.ops->due_ns(source.self, mono_ns);
            assert_int_equal(source.ops->read(source.self, due_ns - 1, &event, 1), 0);
            assert_int_equal(source.ops->read(source.self, due_ns, &event, 1), 1);
            assert_true(source.ops->now_ns(source.self, due_ns) >= event.t_ns);
            assert_true((double)(due_ns - run_start_mono_ns) * paces[i].times <= (double)event.t_ns + 1000);
            mono_ns = due_ns;
        }
        source.ops->destroy(source.self);
    }
}

static void read_full_pace_returns_full_batches(void **state)
{
    (void)state;
    struct lw_source source = open_bench(1, (struct lw_pace){ LW_PACE_FULL, 1 });
    struct lw_event events[128];
    assert_int_equal(source.ops->now_ns(source.self, 5), 0);
    for (int i = 0; i < 100; i++) {
        assert_int_equal(source.ops->due_ns(source.self, 5), 5);
        assert_int_equal(source.ops->read(source.self, 5, events, 128), 128);
        assert_int_equal(source.ops->now_ns(source.self, 5), events[127].t_ns);
    }
    source.ops->destroy(source.self);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(act_error_burst_raises_rec_and_heals),
        cmocka_unit_test(act_bus_off_ends_by_itself),
        cmocka_unit_test(act_bus_off_tells_link_at_once),
        cmocka_unit_test(act_no_acknowledge_tec_climbs_to_128_and_stays),
        cmocka_unit_test(act_overrun_loss_equals_frames_missing),
        cmocka_unit_test(act_more_than_can_wait_is_refused),
        cmocka_unit_test(due_every_pace_is_exact),
        cmocka_unit_test(read_full_pace_returns_full_batches),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
