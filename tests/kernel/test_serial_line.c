/* SPDX-License-Identifier: MIT
 *
 * Through the kernel's driver for serial-line adapters, which has a real controller state: what the driver tells in error
 * frames and what it tells through netlink must give one picture. Needs CAN and root: run by scripts/in-can-kernel
 * --own-kernel.
 */
#include <errno.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <cmocka.h>

#include "loomwatch/core/controller.h"
#include "loomwatch/sources/link_watch.h"
#include "shell.h"
#include "slcan_player.h"
#include "watching.h"

static struct slcan_player player;
static struct watching *watching;

static int open_adapter(const char *settings)
{
    int error = slcan_player_open(&player, "can3", settings);

    if (error == 0)
        watching = watching_open("can3", 1);
    return error;
}

static int plug_in(void **state)
{
    (void)state;
    return open_adapter("bitrate 500000");
}

static int plug_in_listen_only(void **state)
{
    (void)state;
    return open_adapter("bitrate 125000 listen-only on");
}

static int unplug(void **state)
{
    (void)state;
    watching_close(watching);
    shell("ip link set can3 down");    /* the driver takes a second to close one that is up */
    slcan_player_close(&player);
    return 0;
}

/* The picture that all events so far give, those of one kind only if kinds says so. */
static struct lw_controller picture(const struct watching *w, unsigned kinds)
{
    struct lw_controller controller;

    lw_controller_init(&controller);
    for (size_t i = 0; i < w->n; i++) {
        const struct lw_event *event = &w->events[i];

        if (event->kind == LW_EVENT_ERROR && kinds & 1u << LW_EVENT_ERROR)
            lw_controller_error(&controller, &event->error, event->t_ns);
        else if (event->kind == LW_EVENT_LINK && kinds & 1u << LW_EVENT_LINK)
            lw_controller_link(&controller, &event->link, event->t_ns);
    }
    return controller;
}

static enum lw_bus_state state_by(const struct watching *w, enum lw_event_kind kind)
{
    return picture(w, 1u << kind).state;
}

/* Error frames alone, netlink alone and both together agree on this state. */
static bool is_agreed(const struct watching *w, const void *argument)
{
    enum lw_bus_state wanted = *(const enum lw_bus_state *)argument;

    return state_by(w, LW_EVENT_ERROR) == wanted && state_by(w, LW_EVENT_LINK) == wanted &&
           picture(w, 1u << LW_EVENT_ERROR | 1u << LW_EVENT_LINK).state == wanted;
}

static bool is_report(const struct watching *w, const void *argument)
{
    return watching_link(w) && lw_link_equal(watching_link(w), argument);
}

static void frame_from_the_wire_is_not_our_own(void **state)
{
    const struct lw_event *event;
    (void)state;

    assert_int_equal(slcan_player_say(&player, "t1232AABB"), 0);
    assert_int_equal(slcan_player_say(&player, "T18FEF1003010203"), 0);
    assert_int_equal(slcan_player_say(&player, "r7FF4"), 0);
    watching_count(watching, LW_EVENT_FRAME, 3);
    event = watching_nth(watching, LW_EVENT_FRAME, 0);
    assert_int_equal(event->bus, 1);
    assert_int_equal(event->frame.id, 0x123);
    assert_int_equal(event->frame.flags, 0);
    assert_int_equal(event->frame.len, 2);
    assert_memory_equal(event->frame.data, "\xAA\xBB", 2);
    event = watching_nth(watching, LW_EVENT_FRAME, 1);
    assert_int_equal(event->frame.id, 0x18FEF100);
    assert_int_equal(event->frame.flags, LW_FRAME_EXTENDED);
    event = watching_nth(watching, LW_EVENT_FRAME, 2);
    assert_int_equal(event->frame.flags, LW_FRAME_REMOTE);
    assert_int_equal(event->frame.len, 4);
}

static void link_report_tells_what_the_driver_knows(void **state)
{
    const struct lw_link *link;
    (void)state;

    watching_count(watching, LW_EVENT_LINK, 1);
    link = watching_link(watching);
    assert_true(link->is_present && link->is_up && link->has_carrier);
    assert_int_equal(link->controller, LW_CONTROLLER_REAL);
    assert_int_equal(link->state, LW_STATE_ERROR_ACTIVE);
    assert_true(link->bit_rate_bps.is_known);
    assert_int_equal(link->bit_rate_bps.value, 125000);
    assert_true(link->listen_only.is_known);
    assert_int_equal(link->listen_only.value, 1);
    assert_true(link->restart_ms.is_known && link->restart_ms.value == 0);
    assert_true(link->n_bus_off.is_known && link->n_bus_off.value == 0);
    /* This driver reads no counters out, has no bit timing and no data phase, and can't report single errors on demand. */
    assert_false(link->tec.is_known || link->rec.is_known || link->sample_point_permille.is_known);
    assert_false(link->data_bit_rate_bps.is_known || link->error_reporting.is_known || link->one_shot.is_known);
}

static void listen_only_off_is_known_where_the_driver_has_it(void **state)
{
    (void)state;
    watching_count(watching, LW_EVENT_LINK, 1);
    assert_true(watching_link(watching)->listen_only.is_known);
    assert_int_equal(watching_link(watching)->listen_only.value, 0);
}

static void controller_states_error_frames_and_netlink_agree(void **state)
{
    static const struct { const char *line; enum lw_bus_state state; int tec, rec; } steps[] = {
        { "sw020100", LW_STATE_ERROR_WARNING, 100, 20 },    /* the adapter names its receive counter first */
        { "sp096128", LW_STATE_ERROR_PASSIVE, 128, 96 },
        { "sb256000", LW_STATE_BUS_OFF, -1, -1 },
        { "sa000000", LW_STATE_ERROR_ACTIVE, 0, 0 },
        { "sw110010", LW_STATE_ERROR_WARNING, 10, 110 },
        { "sa000000", LW_STATE_ERROR_ACTIVE, 0, 0 },
    };
    (void)state;

    for (size_t i = 0; i < sizeof(steps) / sizeof(steps[0]); i++) {
        struct lw_controller both;

        assert_int_equal(slcan_player_say(&player, steps[i].line), 0);
        if (!watching_until(watching, is_agreed, &steps[i].state))
            fail_msg("%s: error frames say %s, netlink says %s", steps[i].line,
                     lw_bus_state_name(state_by(watching, LW_EVENT_ERROR)),
                     lw_bus_state_name(state_by(watching, LW_EVENT_LINK)));
        both = picture(watching, 1u << LW_EVENT_ERROR | 1u << LW_EVENT_LINK);
        assert_int_equal(both.tec.is_known, steps[i].tec >= 0);
        if (both.tec.is_known) {
            assert_int_equal(both.tec.value, steps[i].tec);
            assert_int_equal(both.rec.value, steps[i].rec);
        }
    }
    assert_int_equal(watching_link(watching)->n_error_warning.value, 2);
    assert_int_equal(watching_link(watching)->n_error_passive.value, 1);
    assert_int_equal(watching_link(watching)->n_bus_off.value, 1);
}

/* States change while reports are under way: what a report says of the state must be what the error frames before it
 * said, or nothing. */
static void report_never_contradicts_a_newer_error_frame(void **state)
{
    static const char *const lines[] = { "sw100100", "sp130130", "sa000000" };
    struct lw_controller by_errors;
    size_t n_reports = 0;
    (void)state;

    lw_controller_init(&by_errors);
    by_errors.state = LW_STATE_ERROR_ACTIVE;
    for (size_t i = 0; i < 3000 && !watching_nth(watching, LW_EVENT_LINK, 25); i++) {
        if (i % 8 == 0)
            shell("ip link set can3 alias %zu &", i);    /* a change: has the kernel asked at once */
        assert_int_equal(slcan_player_say(&player, lines[i % 3]), 0);
        watching_count(watching, LW_EVENT_ERROR, i + 1);
    }
    for (size_t i = 0; i < watching->n; i++) {
        const struct lw_event *event = &watching->events[i];

        if (event->kind == LW_EVENT_ERROR)
            lw_controller_error(&by_errors, &event->error, event->t_ns);
        if (event->kind != LW_EVENT_LINK)
            continue;
        n_reports++;
        if (event->link.state != LW_STATE_UNKNOWN)
            assert_int_equal(event->link.state, by_errors.state);
    }
    print_message("  %zu reports among %zu events\n", n_reports, watching->n);
    assert_true(n_reports > 25);
}

/* Bus off takes the carrier away; setting the interface down and up starts the controller anew. */
static void bus_off_then_started_again_by_hand_is_active(void **state)
{
    enum lw_bus_state wanted = LW_STATE_BUS_OFF;
    (void)state;

    assert_int_equal(slcan_player_say(&player, "sb256000"), 0);
    assert_true(watching_until(watching, is_agreed, &wanted));
    assert_true(watching_link(watching)->is_up);
    assert_false(watching_link(watching)->has_carrier);
    assert_int_equal(shell("ip link set can3 down"), 0);
    watching_link_is(watching, true, false);
    assert_int_equal(picture(watching, ~0u).state, LW_STATE_UNKNOWN);
    assert_int_equal(shell("ip link set can3 up"), 0);
    watching_link_is(watching, true, true);
    assert_int_equal(picture(watching, ~0u).state, LW_STATE_ERROR_ACTIVE);
    assert_true(watching_link(watching)->has_carrier);
    watching_forget(watching);
    assert_int_equal(slcan_player_say(&player, "t0010"), 0);
    watching_count(watching, LW_EVENT_FRAME, 1);
}

static void single_errors_are_told_by_class_and_place(void **state)
{
    static const struct { const char *line; uint32_t class_bits; uint8_t byte, value; } rows[] = {
        { "e1a", LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR | LW_CLASS_NO_ACKNOWLEDGE, 3, LW_PLACE_ACK_SLOT },
        { "e1b", LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR, 2, 0x08 },
        { "e1B", LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR, 2, 0x10 },
        { "e1c", LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR, 3, 0x08 },
        { "e1f", LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR, 2, 0x02 },
        { "e1s", LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR, 2, 0x04 },
        { "e1o", LW_CLASS_CONTROLLER | LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR, 1, 0x01 },   /* as found in 6.1 */
        { "e1O", LW_CLASS_CONTROLLER | LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR, 1, 0x02 },
    };
    const size_t n = sizeof(rows) / sizeof(rows[0]);
    (void)state;

    for (size_t i = 0; i < n; i++)
        assert_int_equal(slcan_player_say(&player, rows[i].line), 0);
    watching_count(watching, LW_EVENT_ERROR, n);
    for (size_t i = 0; i < n; i++) {
        const struct lw_error *error = &watching_nth(watching, LW_EVENT_ERROR, i)->error;

        print_message("  %s: class %x data %02x %02x %02x\n", rows[i].line, error->class_bits, error->data[1],
                      error->data[2], error->data[3]);
        assert_int_equal(error->class_bits & ~(unsigned)LW_CLASS_COUNTERS, rows[i].class_bits);
        assert_int_equal(error->data[rows[i].byte], rows[i].value);
    }
}

static void adapter_unplugged_and_plugged_in_again_is_watched_again(void **state)
{
    (void)state;
    watching_count(watching, LW_EVENT_LINK, 1);
    slcan_player_close(&player);
    watching_link_is(watching, false, false);
    assert_int_equal(slcan_player_open(&player, "can3", "bitrate 250000"), 0);
    watching_link_is(watching, true, true);
    assert_int_equal(watching_link(watching)->bit_rate_bps.value, 250000);
    watching_forget(watching);
    assert_int_equal(slcan_player_say(&player, "t0550"), 0);
    watching_count(watching, LW_EVENT_FRAME, 1);
    assert_int_equal(watching_nth(watching, LW_EVENT_FRAME, 0)->frame.id, 0x55);
}

/* The driver forwards whatever we would send: it must have nothing to forward. */
static void watching_sends_nothing(void **state)
{
    char heard[256] = "";
    (void)state;

    for (size_t n = 0; !strstr(heard, "O\r"); usleep(1000))    /* how it was opened */
        n += slcan_player_hear(&player, heard + n, sizeof(heard) - n);
    assert_int_equal(slcan_player_say(&player, "t1232AABB"), 0);
    assert_int_equal(slcan_player_say(&player, "r1238"), 0);
    assert_int_equal(slcan_player_say(&player, "sp128096"), 0);
    watching_count(watching, LW_EVENT_ERROR, 1);
    usleep(700000);
    assert_int_equal(slcan_player_hear(&player, heard, sizeof(heard)), 0);
}

/* A report of the link asked for directly is the one that the thread gives. */
static void query_agrees_with_the_watch(void **state)
{
    struct lw_link link;
    unsigned ifindex;
    (void)state;

    lw_link_query("can3", &link, &ifindex);
    assert_true(ifindex != 0);
    assert_true(watching_until(watching, is_report, &link));
    lw_link_query("can99", &link, &ifindex);
    assert_int_equal(ifindex, 0);
    assert_false(link.is_present);
}

/* The adapter's own program chooses the segments: the driver knows only the rate. */
static void bit_timing_is_no_more_than_the_rate(void **state)
{
    struct lw_link_timing timing;
    (void)state;

    assert_int_equal(lw_link_ask_timing("can3", &timing), 0);
    assert_true(timing.is_can && timing.controller == LW_CONTROLLER_REAL);
    assert_true(timing.bit_rate_bps.is_known && timing.bit_rate_bps.value == 500000);
    assert_false(timing.has_limits);
    assert_int_equal(timing.timing.brp, 0);
    assert_int_equal(lw_link_ask_timing("vcan0", &timing), 0);
    assert_true(timing.is_can && timing.controller == LW_CONTROLLER_NONE && !timing.has_limits);
    assert_int_equal(lw_link_ask_timing("can99", &timing), -ENODEV);
}

#define ON_ADAPTER(test) cmocka_unit_test_setup_teardown(test, plug_in, unplug)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ON_ADAPTER(frame_from_the_wire_is_not_our_own),
        cmocka_unit_test_setup_teardown(link_report_tells_what_the_driver_knows, plug_in_listen_only, unplug),
        ON_ADAPTER(listen_only_off_is_known_where_the_driver_has_it),
        ON_ADAPTER(controller_states_error_frames_and_netlink_agree),
        ON_ADAPTER(report_never_contradicts_a_newer_error_frame),
        ON_ADAPTER(bus_off_then_started_again_by_hand_is_active),
        ON_ADAPTER(single_errors_are_told_by_class_and_place),
        ON_ADAPTER(adapter_unplugged_and_plugged_in_again_is_watched_again),
        ON_ADAPTER(watching_sends_nothing),
        ON_ADAPTER(query_agrees_with_the_watch),
        ON_ADAPTER(bit_timing_is_no_more_than_the_rate),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
