/* SPDX-License-Identifier: MIT
 *
 * Through a real kernel: a flood that nobody reads overflows the socket's queue, and every frame is either delivered or
 * counted as lost. Needs CAN: run by scripts/in-can-kernel.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/syscall.h>
#include <unistd.h>
#include <cmocka.h>

#include <linux/capability.h>

#include "can_sender.h"
#include "shell.h"
#include "watching.h"

/* Far more than the receive buffer of an ordinary user holds. */
enum { FLOOD = 20000, BATCH = 512 };

struct account {
    uint64_t n_frames, n_lost, n_losses;
    uint32_t last_id;           /* of the newest frame */
    uint64_t last_ns;
};

static void take(struct account *account, const struct lw_event *event)
{
    assert_true(event->t_ns >= account->last_ns);
    account->last_ns = event->t_ns;
    if (event->kind == LW_EVENT_LOSS) {
        assert_int_equal(event->loss.place, LW_LOSS_SOCKET);
        assert_true(event->loss.n_frames > 0);
        account->n_lost += event->loss.n_frames;
        account->n_losses++;
    } else if (event->kind == LW_EVENT_FRAME) {
        /* What was lost was lost before this frame: numbers tell where. */
        assert_int_equal(event->frame.id, account->n_frames + account->n_lost);
        account->n_frames++;
        account->last_id = event->frame.id;
    }
}

static void read_all(struct watching *w, struct account *account)
{
    struct lw_event events[BATCH];
    int n;

    do {
        n = w->source.ops->read(w->source.self, watching_mono_ns(), events, BATCH);
        assert_true(n >= 0);
        for (int i = 0; i < n; i++)
            take(account, &events[i]);
    } while (n > 0);
}

static void send_numbered(int fd, uint32_t first, uint32_t n)
{
    for (uint32_t id = first; id < first + n; id++) {
        struct lw_frame frame = { .id = id, .flags = LW_FRAME_EXTENDED, .len = 8 };
        assert_int_equal(can_sender_frame(fd, &frame), 0);
    }
}

static void flood_without_reading_is_counted_whole(void **state)
{
    struct watching *w = watching_open("vcan0", 0);
    struct account account = { 0 };
    int fd = can_sender_open("vcan0");
    (void)state;

    send_numbered(fd, 0, FLOOD);
    read_all(w, &account);
    print_message("  %d sent: %d received, %d lost\n", FLOOD, (int)account.n_frames, (int)account.n_lost);
    assert_true(account.n_lost > 0);     /* told at once, though no frame came through after the loss */
    assert_int_equal(account.n_losses, 1);
    assert_int_equal(account.n_frames + account.n_lost, FLOOD);

    send_numbered(fd, FLOOD, 100);       /* what is told is not told again */
    read_all(w, &account);
    assert_int_equal(account.n_losses, 1);
    assert_int_equal(account.last_id, FLOOD + 99);

    send_numbered(fd, FLOOD + 100, FLOOD);
    read_all(w, &account);
    assert_int_equal(account.n_losses, 2);
    assert_int_equal(account.n_frames + account.n_lost, 2 * FLOOD + 100);
    close(fd);
    watching_close(w);
}

/* A part of the queue is read before another frame is queued that tells of the loss. */
static void loss_between_frames_has_its_place(void **state)
{
    struct watching *w = watching_open("vcan0", 0);
    struct account account = { 0 };
    struct lw_event events[BATCH];
    int fd = can_sender_open("vcan0"), n;
    (void)state;

    send_numbered(fd, 0, FLOOD);
    n = w->source.ops->read(w->source.self, watching_mono_ns(), events, 100);
    assert_int_equal(n, 100);
    for (int i = 0; i < n; i++)
        take(&account, &events[i]);
    send_numbered(fd, FLOOD, 100);
    read_all(w, &account);
    print_message("  %d received, %d lost\n", (int)account.n_frames, (int)account.n_lost);
    assert_int_equal(account.last_id, FLOOD + 99);
    assert_int_equal(account.n_frames + account.n_lost, FLOOD + 100);
    assert_int_equal(account.n_losses, 1);
    close(fd);
    watching_close(w);
}

/* The kernel counts from the creation of a socket: one that was opened anew begins at 0 again. */
static void loss_after_interface_came_back_is_counted_anew(void **state)
{
    struct watching *w;
    struct account account = { 0 };
    int fd;
    (void)state;

    assert_int_equal(shell("ip link add dev vcan4 type vcan && ip link set vcan4 up"), 0);
    w = watching_open("vcan4", 0);
    for (int round = 0; round < 2; round++) {
        account = (struct account){ 0 };
        fd = can_sender_open("vcan4");
        send_numbered(fd, 0, FLOOD);
        close(fd);
        read_all(w, &account);
        assert_true(account.n_lost > 0);
        assert_int_equal(account.n_frames + account.n_lost, FLOOD);
        assert_int_equal(shell("ip link del vcan4"), 0);
        watching_link_is(w, false, false);
        assert_int_equal(shell("ip link add dev vcan4 type vcan && ip link set vcan4 up"), 0);
        watching_link_is(w, true, true);
        watching_forget(w);
    }
    watching_close(w);
    assert_int_equal(shell("ip link del vcan4"), 0);
}

/* Without this capability the receive buffer is as small as an ordinary user's: quickly flooded, and a path that
 * must work. Commands that are run get it back. */
static int become_ordinary(void **state)
{
    struct __user_cap_header_struct header = { .version = _LINUX_CAPABILITY_VERSION_3 };
    struct __user_cap_data_struct data[2];
    (void)state;

    if (syscall(SYS_capget, &header, data) != 0)
        return -1;
    data[0].effective &= ~(1u << CAP_NET_ADMIN);
    return (int)syscall(SYS_capset, &header, data);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flood_without_reading_is_counted_whole),
        cmocka_unit_test(loss_between_frames_has_its_place),
        cmocka_unit_test(loss_after_interface_came_back_is_counted_anew),
    };

    return cmocka_run_group_tests(tests, become_ordinary, NULL);
}
