/* SPDX-License-Identifier: MIT
 *
 * The controller's picture from error frames and link reports together.
 */
#include "loomwatch/core/controller.h"

#include "cases.h"
#include "random_event.h"

#include <linux/can/error.h>

static struct lw_controller fresh(void)
{
    struct lw_controller controller;
    lw_controller_init(&controller);
    return controller;
}

static void controller_never_told_is_unknown(void **state)
{
    (void)state;
    struct lw_controller controller = fresh();
    assert_int_equal(controller.state, LW_STATE_UNKNOWN);
    assert_false(controller.tec.is_known || controller.rec.is_known || controller.has_link);
    assert_int_equal(controller.error_frames.n, 0);
}

static void controller_error_frame_tells_the_state(void **state)
{
    (void)state;
    /* linux/can/error.h; where a frame tells several, the worst counts */
    static const struct {
        struct lw_error error;
        enum lw_bus_state state;
    } rows[] = {
        { { CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_RX_WARNING } }, LW_STATE_ERROR_WARNING },
        { { CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_TX_WARNING } }, LW_STATE_ERROR_WARNING },
        { { CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_RX_PASSIVE } }, LW_STATE_ERROR_PASSIVE },
        { { CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_TX_PASSIVE } }, LW_STATE_ERROR_PASSIVE },
        { { CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_ACTIVE } }, LW_STATE_ERROR_ACTIVE },
        { { CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_TX_PASSIVE | CAN_ERR_CRTL_RX_WARNING } }, LW_STATE_ERROR_PASSIVE },
        { { CAN_ERR_BUSOFF | CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_TX_PASSIVE } }, LW_STATE_BUS_OFF },
        { { CAN_ERR_BUSOFF, { 0 } }, LW_STATE_BUS_OFF },
        { { CAN_ERR_RESTARTED, { 0 } }, LW_STATE_ERROR_ACTIVE },
        { { CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_RX_OVERFLOW } }, LW_STATE_UNKNOWN },
        { { CAN_ERR_PROT | CAN_ERR_BUSERROR, { [1] = CAN_ERR_CRTL_TX_PASSIVE } }, LW_STATE_UNKNOWN },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_controller controller = fresh();
        bool has_changed = lw_controller_error(&controller, &rows[i].error, 77);
        assert_int_equal(controller.state, rows[i].state);
        assert_int_equal(has_changed, rows[i].state != LW_STATE_UNKNOWN);
        assert_int_equal(controller.state_since_ns, has_changed ? 77 : 0);
        assert_false(lw_controller_error(&controller, &rows[i].error, 99));    /* the same again changes nothing */
        assert_int_equal(controller.error_frames.n, 2);
        assert_int_equal(controller.error_frames.last_ns, 99);
    }
}

static void controller_counters_follow_and_are_dropped_at_bus_off(void **state)
{
    (void)state;
    struct lw_controller controller = fresh();
    struct lw_error counted = { CAN_ERR_CNT | CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_TX_WARNING, [6] = 96, [7] = 3 } };
    struct lw_error bus_off = { CAN_ERR_BUSOFF | CAN_ERR_CNT, { 0 } };
    struct lw_error plain = { CAN_ERR_PROT, { [2] = CAN_ERR_PROT_BIT } };
    lw_controller_error(&controller, &counted, 10);
    assert_true(is_same_reading(controller.tec, LW_KNOWN(96)) && is_same_reading(controller.rec, LW_KNOWN(3)));
    assert_int_equal(controller.counters_ns, 10);
    lw_controller_error(&controller, &plain, 20);
    assert_true(is_same_reading(controller.tec, LW_KNOWN(96)));
    assert_int_equal(controller.counters_ns, 10);
    lw_controller_error(&controller, &bus_off, 30);
    assert_false(controller.tec.is_known || controller.rec.is_known);
}

static void controller_tallies_every_field_with_its_last_time(void **state)
{
    (void)state;
    struct lw_controller controller = fresh();
    struct lw_error error = { CAN_ERR_PROT | CAN_ERR_BUSERROR | 0x400,
                              { [2] = CAN_ERR_PROT_STUFF | CAN_ERR_PROT_TX, [3] = CAN_ERR_PROT_LOC_ACK } };
    uint8_t fields[LW_ERROR_FIELDS_MAX];
    size_t n = lw_error_decode(&error, fields);
    for (uint64_t t = 1; t <= 5; t++)
        lw_controller_error(&controller, &error, 1000 * t);
    assert_int_equal(n, 5);      /* two classes, two violations, one place */
    for (size_t i = 0; i < n; i++) {
        assert_int_equal(controller.fields[fields[i]].n, 5);
        assert_int_equal(controller.fields[fields[i]].last_ns, 5000);
    }
    assert_int_equal(controller.no_acknowledge.n, 5);
    assert_int_equal(controller.bus_errors.n, 5);
    assert_int_equal(controller.n_unknown_class, 5);
    assert_int_equal(controller.fields[LW_FIELD_BUS_OFF].n, 0);
}

static void controller_link_that_tells_nothing_keeps_what_is_known(void **state)
{
    (void)state;
    struct lw_controller controller = fresh();
    struct lw_error passive = { CAN_ERR_CRTL | CAN_ERR_CNT, { [1] = CAN_ERR_CRTL_RX_PASSIVE, [6] = 1, [7] = 130 } };
    struct lw_link link = lw_link_unknown();
    lw_controller_error(&controller, &passive, 10);
    assert_false(lw_controller_link(&controller, &link, 20));
    assert_int_equal(controller.state, LW_STATE_ERROR_PASSIVE);
    assert_true(is_same_reading(controller.rec, LW_KNOWN(130)));
    assert_true(controller.has_link);
}

static void controller_link_down_or_gone_has_no_state(void **state)
{
    (void)state;
    for (unsigned form = 0; form < 3; form++) {
        struct lw_controller controller = fresh();
        struct lw_link link = lw_link_unknown();
        link.state = LW_STATE_ERROR_WARNING;
        link.tec = link.rec = LW_KNOWN(100);
        assert_true(lw_controller_link(&controller, &link, 10));
        assert_int_equal(controller.state, LW_STATE_ERROR_WARNING);
        assert_true(is_same_reading(controller.tec, LW_KNOWN(100)));
        link.is_present = form == 0;
        link.is_up = form == 1;
        assert_true(lw_controller_link(&controller, &link, 20));
        assert_int_equal(controller.state, LW_STATE_UNKNOWN);
        assert_false(controller.tec.is_known);
    }
}

static void controller_link_and_error_frames_agree_on_one_history(void **state)
{
    (void)state;
    struct lw_controller controller = fresh();
    struct lw_link link = lw_link_unknown();
    struct lw_error warning = { CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_TX_WARNING } }, bus_off = { CAN_ERR_BUSOFF, { 0 } };
    link.state = LW_STATE_ERROR_ACTIVE;
    assert_true(lw_controller_link(&controller, &link, 10));
    assert_true(lw_controller_error(&controller, &warning, 20));
    link.state = LW_STATE_ERROR_WARNING;
    assert_false(lw_controller_link(&controller, &link, 30));      /* the same news by the other way */
    assert_int_equal(controller.state_since_ns, 20);
    assert_true(lw_controller_error(&controller, &bus_off, 40));
    link.state = LW_STATE_BUS_OFF;
    link.tec = link.rec = LW_KNOWN(0);
    assert_false(lw_controller_link(&controller, &link, 50));
    assert_false(controller.tec.is_known);                         /* counters of a controller off the bus */
}

static void controller_bus_off_is_believed_until_others_are_heard(void **state)
{
    (void)state;
    static const struct {
        unsigned after_ms;
        bool is_own, is_virtual, is_over;
    } rows[] = {
        { 0, false, false, false }, { 499, false, false, false }, { 500, false, false, true }, { 5000, true, false, false },
        { 5000, true, true, true },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_controller controller = fresh();
        struct lw_error bus_off = { CAN_ERR_BUSOFF, { 0 } };
        struct lw_link link = lw_link_unknown();
        link.controller = rows[i].is_virtual ? LW_CONTROLLER_NONE : LW_CONTROLLER_REAL;
        lw_controller_link(&controller, &link, 1);
        assert_false(lw_controller_heard(&controller, false, UINT64_MAX));     /* was never off */
        lw_controller_error(&controller, &bus_off, 1000);
        assert_int_equal(lw_controller_heard(&controller, rows[i].is_own, 1000 + rows[i].after_ms * UINT64_C(1000000)),
                         rows[i].is_over);
        assert_int_equal(controller.state, rows[i].is_over ? LW_STATE_UNKNOWN : LW_STATE_BUS_OFF);
    }
}

static void controller_fed_with_random_events_stays_sound(void **state)
{
    (void)state;
    uint64_t seed = 0xC04;
    struct lw_controller controller = fresh();
    for (unsigned i = 0; i < 50000; i++) {
        struct lw_error error = random_error(&seed);
        struct lw_link link = random_link(&seed);
        if (random_below(&seed, 8))
            lw_controller_error(&controller, &error, i);
        else
            lw_controller_link(&controller, &link, i);
        assert_in_range(controller.state, LW_STATE_UNKNOWN, LW_STATE_SLEEPING);
        assert_true(controller.no_acknowledge.n <= controller.bus_errors.n);
        assert_true(controller.bus_errors.n <= controller.error_frames.n);
    }
}

static void bus_state_names_are_the_standards_terms(void **state)
{
    (void)state;
    /* ISO 11898-1: error active, error passive, bus off */
    assert_string_equal(lw_bus_state_name(LW_STATE_ERROR_ACTIVE), "error active");
    assert_string_equal(lw_bus_state_name(LW_STATE_ERROR_PASSIVE), "error passive");
    assert_string_equal(lw_bus_state_name(LW_STATE_BUS_OFF), "bus off");
    assert_string_equal(lw_bus_state_name(LW_STATE_UNKNOWN), "unknown");
    assert_string_equal(lw_bus_state_name((enum lw_bus_state)99), "unknown");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(controller_never_told_is_unknown),
        cmocka_unit_test(controller_error_frame_tells_the_state),
        cmocka_unit_test(controller_counters_follow_and_are_dropped_at_bus_off),
        cmocka_unit_test(controller_tallies_every_field_with_its_last_time),
        cmocka_unit_test(controller_link_that_tells_nothing_keeps_what_is_known),
        cmocka_unit_test(controller_link_down_or_gone_has_no_state),
        cmocka_unit_test(controller_link_and_error_frames_agree_on_one_history),
        cmocka_unit_test(controller_bus_off_is_believed_until_others_are_heard),
        cmocka_unit_test(controller_fed_with_random_events_stays_sound),
        cmocka_unit_test(bus_state_names_are_the_standards_terms),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
