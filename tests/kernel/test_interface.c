/* SPDX-License-Identifier: MIT
 *
 * Through a real kernel: an interface that is down, comes up, is taken away and comes back, as the source tells it; and
 * the advice where there is none. Needs CAN: run by scripts/in-can-kernel.
 */
#include <errno.h>
#include <net/if.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <unistd.h>
#include <cmocka.h>

#include "can_sender.h"
#include "loomwatch/sources/link_watch.h"
#include "loomwatch/sources/socketcan.h"
#include "shell.h"
#include "watching.h"

/* More than a batch, and no more than an ordinary user's receive buffer holds. */
enum { N_QUEUED = 300 };

static int make_bus(void **state)
{
    (void)state;
    return shell("ip link add dev vcan5 type vcan && ip link set vcan5 mtu 72 up");
}

static int remove_bus(void **state)
{
    (void)state;
    shell("ip link del vcan5 2>/dev/null");
    return 0;
}

/* A frame sent now arrives. */
static void assert_alive(struct watching *w)
{
    static uint32_t id;
    struct lw_frame frame = { .id = ++id, .len = 2 };
    int fd = can_sender_open("vcan5");
    size_t n = 0;

    assert_true(fd >= 0);
    while (watching_nth(w, LW_EVENT_FRAME, n))
        n++;
    assert_int_equal(can_sender_frame(fd, &frame), 0);
    watching_count(w, LW_EVENT_FRAME, n + 1);
    assert_int_equal(watching_nth(w, LW_EVENT_FRAME, n)->frame.id, id);
    close(fd);
}

static void first_event_is_the_link_report(void **state)
{
    struct watching *w = watching_open("vcan5", 0);
    const struct lw_link *link;
    (void)state;

    assert_alive(w);
    assert_int_equal(w->events[0].kind, LW_EVENT_LINK);
    assert_int_equal(w->events[1].kind, LW_EVENT_FRAME);
    link = &w->events[0].link;
    assert_true(link->is_present && link->is_up && link->has_carrier);
    assert_int_equal(link->controller, LW_CONTROLLER_NONE);
    assert_int_equal(link->state, LW_STATE_UNKNOWN);
    assert_false(link->bit_rate_bps.is_known || link->tec.is_known || link->restart_ms.is_known);
    assert_false(link->listen_only.is_known || link->error_reporting.is_known || link->n_bus_errors.is_known);
    watching_close(w);
}

static void interface_down_and_up_told_and_watched_again(void **state)
{
    struct watching *w = watching_open("vcan5", 0);
    (void)state;

    assert_alive(w);
    for (int round = 0; round < 3; round++) {
        uint64_t start_ns;

        assert_int_equal(shell("ip link set vcan5 down"), 0);
        start_ns = watching_mono_ns();
        watching_link_is(w, true, false);
        assert_true(watching_mono_ns() - start_ns < 400000000u);    /* at once: not with the next half second */
        assert_false(watching_link(w)->has_carrier);
        assert_int_equal(shell("ip link set vcan5 up"), 0);
        watching_link_is(w, true, true);
        assert_alive(w);
    }
    watching_close(w);
}

static bool has_been_down(const struct watching *w, const void *argument)
{
    const size_t *n = argument;
    size_t n_down = 0;

    for (size_t i = 0; i < w->n; i++)
        n_down += w->events[i].kind == LW_EVENT_LINK && !w->events[i].link.is_up;
    return n_down >= *n;
}

/* Down and up again in less time than a question to the kernel takes. */
static int bounce(const char *interface)
{
    struct ifreq request = { 0 };
    int fd = socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC, 0), error;

    strncpy(request.ifr_name, interface, IFNAMSIZ - 1);
    error = ioctl(fd, SIOCGIFFLAGS, &request);
    request.ifr_flags &= ~IFF_UP;
    error |= ioctl(fd, SIOCSIFFLAGS, &request);
    request.ifr_flags |= IFF_UP;
    error |= ioctl(fd, SIOCSIFFLAGS, &request);
    close(fd);
    return error;
}

static void interface_down_for_a_moment_does_not_go_unnoticed(void **state)
{
    struct watching *w = watching_open("vcan5", 0);
    (void)state;

    assert_alive(w);
    for (size_t round = 1; round <= 10; round++) {
        assert_int_equal(bounce("vcan5"), 0);
        assert_true(watching_until(w, has_been_down, &round));
        watching_link_is(w, true, true);
        assert_alive(w);
    }
    watching_close(w);
}

static void interface_deleted_and_made_again_told_and_watched_again(void **state)
{
    struct watching *w = watching_open("vcan5", 0);
    (void)state;

    assert_alive(w);
    for (int round = 0; round < 3; round++) {
        uint64_t start_ns;

        assert_int_equal(shell("ip link del vcan5"), 0);
        start_ns = watching_mono_ns();
        watching_link_is(w, false, false);
        assert_true(watching_mono_ns() - start_ns < 400000000u);
        if (round == 1)
            assert_int_equal(shell("ip link add dev vcan9 type vcan"), 0);    /* another index for our name */
        assert_int_equal(shell("ip link add dev vcan5 type vcan"), 0);
        watching_link_is(w, true, false);
        assert_int_equal(shell("ip link set vcan5 mtu 72 up"), 0);
        watching_link_is(w, true, true);
        assert_alive(w);
    }
    assert_int_equal(shell("ip link del vcan9"), 0);
    watching_close(w);
}

static void interface_replaced_before_anybody_looks_is_watched_again(void **state)
{
    struct watching *w = watching_open("vcan5", 0);
    (void)state;

    assert_alive(w);
    assert_int_equal(shell("ip link del vcan5; ip link add dev vcan5 type vcan; ip link set vcan5 up"), 0);
    watching_link_is(w, false, false);
    watching_link_is(w, true, true);
    assert_alive(w);
    watching_close(w);
}

static void interface_renamed_is_gone_and_its_successor_watched(void **state)
{
    struct watching *w = watching_open("vcan5", 0);
    (void)state;

    assert_alive(w);
    assert_int_equal(shell("ip link set vcan5 down; ip link set vcan5 name vcan8; ip link set vcan8 up"), 0);
    watching_link_is(w, false, false);
    assert_int_equal(shell("ip link add dev vcan5 type vcan; ip link set vcan5 up"), 0);
    watching_link_is(w, true, true);
    assert_alive(w);
    assert_int_equal(shell("ip link del vcan8"), 0);
    watching_close(w);
}

static void frames_before_deletion_come_before_the_report(void **state)
{
    struct watching *w = watching_open("vcan5", 0);
    int fd = can_sender_open("vcan5");
    (void)state;

    assert_alive(w);
    watching_forget(w);
    for (uint32_t id = 0; id < N_QUEUED; id++) {
        struct lw_frame frame = { .id = id };
        assert_int_equal(can_sender_frame(fd, &frame), 0);
    }
    assert_int_equal(shell("ip link del vcan5"), 0);
    watching_link_is(w, false, false);
    assert_true(w->n > N_QUEUED);
    for (size_t i = 0; i < N_QUEUED; i++) {
        assert_int_equal(w->events[i].kind, LW_EVENT_FRAME);
        assert_int_equal(w->events[i].frame.id, i);
    }
    assert_int_equal(w->events[N_QUEUED].kind, LW_EVENT_LINK);
    close(fd);
    watching_close(w);
}

static void interface_that_is_down_opens_with_advice(void **state)
{
    struct lw_source_info info;
    struct watching *w;
    (void)state;

    assert_int_equal(shell("ip link set vcan5 down"), 0);
    w = watching_open("vcan5", 0);
    watching_link_is(w, true, false);
    w->source.ops->describe(w->source.self, &info);
    assert_string_equal(info.name, "vcan5");
    assert_string_equal(info.kind, "interface");
    assert_non_null(strstr(info.note, "sudo ip link set vcan5 up"));
    assert_int_equal(shell("ip link set vcan5 up"), 0);
    watching_link_is(w, true, true);
    w->source.ops->describe(w->source.self, &info);
    assert_string_equal(info.note, "");
    assert_alive(w);
    watching_close(w);
}

static void idle_interface_wakes_nobody(void **state)
{
    struct watching *w = watching_open("vcan5", 0);
    struct lw_event event;
    (void)state;

    assert_alive(w);
    usleep(1200000);
    assert_int_equal(w->source.ops->read(w->source.self, watching_mono_ns(), &event, 1), 0);
    assert_true(w->source.ops->due_ns(w->source.self, watching_mono_ns()) == UINT64_MAX);
    watching_close(w);
}

static void absent_interface_gives_advice(void **state)
{
    static const struct { const char *interface; int error; const char *words[4]; } rows[] = {
        { "vcan7", -ENODEV, { "no interface vcan7", " vcan5",
                              "sudo ip link add dev vcan7 type vcan && sudo ip link set vcan7 up", "" } },
        { "can0", -ENODEV, { " vcan0", "sudo ip link set can0 type can bitrate 500000 listen-only on",
                             "sudo ip link set can0 up", "must be the bus's own" } },
        { "a-name-that-no-interface-has", -ENODEV, { "at most 15 characters", "", "", "" } },
        { "lo", -ENOTSUP, { "lo is not a CAN interface", " vcan5", "", "" } },
    };
    (void)state;

    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
        char advice[LW_SOURCE_TEXT];
        struct lw_source source = { 0 };

        assert_int_equal(lw_socketcan_open(&source, rows[i].interface, 0, advice), rows[i].error);
        assert_null(source.self);
        print_message("%s\n", advice);
        assert_true(strlen(advice) < LW_SOURCE_TEXT - 1);    /* not cut off */
        for (size_t k = 0; k < 4; k++)
            assert_non_null(strstr(advice, rows[i].words[k]));
    }
}

static void list_of_interfaces_holds_only_can(void **state)
{
    char names[8][16];
    size_t n = lw_link_list(names, 8);
    bool has_vcan5 = false;
    (void)state;

    for (size_t i = 0; i < n; i++) {
        has_vcan5 |= strcmp(names[i], "vcan5") == 0;
        assert_string_not_equal(names[i], "lo");
    }
    assert_true(has_vcan5);
    assert_int_equal(lw_link_list(names, 1), 1);
}

#define ON_A_BUS(test) cmocka_unit_test_setup_teardown(test, make_bus, remove_bus)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ON_A_BUS(first_event_is_the_link_report),
        ON_A_BUS(interface_down_and_up_told_and_watched_again),
        ON_A_BUS(interface_down_for_a_moment_does_not_go_unnoticed),
        ON_A_BUS(interface_deleted_and_made_again_told_and_watched_again),
        ON_A_BUS(interface_replaced_before_anybody_looks_is_watched_again),
        ON_A_BUS(interface_renamed_is_gone_and_its_successor_watched),
        ON_A_BUS(frames_before_deletion_come_before_the_report),
        ON_A_BUS(interface_that_is_down_opens_with_advice),
        ON_A_BUS(idle_interface_wakes_nobody),
        ON_A_BUS(absent_interface_gives_advice),
        ON_A_BUS(list_of_interfaces_holds_only_can),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
