/* SPDX-License-Identifier: MIT
 *
 * Through a real kernel: what is put on a virtual bus comes out of the source, whole, in order, and marked for what it
 * is. Needs CAN: run by scripts/in-can-kernel.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <time.h>
#include <unistd.h>
#include <cmocka.h>

#include "can_sender.h"
#include "shell.h"
#include "watching.h"

/* Frames in the queue at once: more than a batch, and no more than an ordinary user's receive buffer holds. */
enum { N_RANDOM = 3000, QUEUED = 300 };

static uint32_t next_random(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)(*seed >> 32);
}

/* Every format the kernel knows, with every length. */
static struct lw_frame random_frame(uint64_t *seed)
{
    static const uint8_t formats[] = { 0, LW_FRAME_REMOTE, LW_FRAME_FD, LW_FRAME_FD | LW_FRAME_BRS,
        LW_FRAME_FD | LW_FRAME_ESI, LW_FRAME_FD | LW_FRAME_BRS | LW_FRAME_ESI };
    struct lw_frame frame = { .flags = formats[next_random(seed) % sizeof(formats)] };
    bool is_extended = next_random(seed) % 2;

    if (is_extended)
        frame.flags |= LW_FRAME_EXTENDED;
    frame.id = next_random(seed) & (is_extended ? LW_EXTENDED_ID_MAX : LW_STANDARD_ID_MAX);
    frame.len = (uint8_t)(frame.flags & LW_FRAME_FD ? lw_len_from_dlc(next_random(seed) % 16) : next_random(seed) % 9);
    for (size_t i = 0; i < frame.len && !(frame.flags & LW_FRAME_REMOTE); i++)
        frame.data[i] = (uint8_t)next_random(seed);
    return frame;
}

static void assert_same_frame(const struct lw_frame *got, const struct lw_frame *sent)
{
    assert_int_equal(got->id, sent->id);
    assert_int_equal(got->flags, sent->flags | LW_FRAME_OWN);   /* on a virtual bus we are the sender */
    assert_int_equal(got->len, sent->len);
    assert_memory_equal(got->data, sent->data, LW_FRAME_MAX_LEN);
}

static uint64_t real_ns(void)
{
    struct timespec t;

    clock_gettime(CLOCK_REALTIME, &t);
    return (uint64_t)t.tv_sec * 1000000000u + (uint64_t)t.tv_nsec;
}

/* Sends random frames and takes them back, step events a read. */
static void exchange(size_t step)
{
    struct watching *w = watching_open("vcan0", 5);
    int fd = can_sender_open("vcan0");
    uint64_t seed = 42, start_ns = real_ns(), last_ns = start_ns;

    w->step = step;
    for (size_t i = 0; i < N_RANDOM; i++) {
        struct lw_frame frame = random_frame(&seed);
        assert_int_equal(can_sender_frame(fd, &frame), 0);
        if (i % QUEUED == QUEUED - 1)
            watching_count(w, LW_EVENT_FRAME, i + 1);
    }
    assert_null(watching_nth(w, LW_EVENT_LOSS, 0));
    seed = 42;
    for (size_t i = 0; i < N_RANDOM; i++) {
        const struct lw_event *event = &w->events[i + 1];    /* behind the first link report */
        struct lw_frame frame = random_frame(&seed);

        assert_int_equal(event->kind, LW_EVENT_FRAME);
        assert_same_frame(&event->frame, &frame);
        assert_int_equal(event->bus, 5);
        assert_true(event->t_ns >= last_ns && event->t_ns <= real_ns());
        last_ns = event->t_ns;
    }
    close(fd);
    watching_close(w);
}

static void frames_of_every_format_arrive_in_order(void **state)
{
    (void)state;
    exchange(0);
}

static void frames_read_one_by_one_arrive_the_same(void **state)
{
    (void)state;
    exchange(1);
}

static void frame_time_is_the_kernels(void **state)
{
    struct watching *w = watching_open("vcan0", 0);
    struct lw_frame frame = { .id = 0x321, .len = 1 };
    int fd = can_sender_open("vcan0");
    uint64_t sent_ns;
    (void)state;

    watching_count(w, LW_EVENT_LINK, 1);
    usleep(50000);    /* stamping is switched on in the background, with the first socket that asks for it */
    can_sender_frame(fd, &frame);
    sent_ns = real_ns();
    usleep(50000);    /* were the stamp taken on reading, it would be later than this */
    watching_count(w, LW_EVENT_FRAME, 1);
    assert_int_equal(watching_nth(w, LW_EVENT_FRAME, 0)->stamp, LW_STAMP_KERNEL);
    assert_true(watching_nth(w, LW_EVENT_FRAME, 0)->t_ns <= sent_ns);
    assert_true(watching_nth(w, LW_EVENT_FRAME, 0)->t_ns + 50000000 >= sent_ns);
    assert_true(w->source.ops->now_ns(w->source.self, 0) >= sent_ns + 50000000);
    close(fd);
    watching_close(w);
}

static void error_frame_of_every_class_arrives(void **state)
{
    struct watching *w = watching_open("vcan0", 2);
    int fd = can_sender_open("vcan0");
    size_t n = 0;
    (void)state;

    for (uint32_t class_bits = 1; class_bits <= 0x10000000; class_bits <<= 1, n++) {
        struct lw_error error = { .class_bits = class_bits, .data = { 1, 2, 3, 4, 5, 6, 7, (uint8_t)n } };
        assert_int_equal(can_sender_error(fd, &error), 0);
    }
    watching_count(w, LW_EVENT_ERROR, n);
    for (size_t i = 0; i < n; i++) {
        const struct lw_event *event = watching_nth(w, LW_EVENT_ERROR, i);

        assert_int_equal(event->error.class_bits, 1u << i);
        assert_memory_equal(event->error.data, "\1\2\3\4\5\6\7", 7);
        assert_int_equal(event->error.data[7], i);
        assert_int_equal(event->bus, 2);
        assert_int_equal(event->stamp, LW_STAMP_KERNEL);
    }
    assert_null(watching_nth(w, LW_EVENT_FRAME, 0));
    close(fd);
    watching_close(w);
}

static void two_buses_at_once_stay_apart(void **state)
{
    struct watching *w[2];
    int fds[2];
    (void)state;

    assert_int_equal(shell("ip link add dev vcan1 type vcan && ip link set vcan1 mtu 72 up"), 0);
    for (unsigned bus = 0; bus < 2; bus++) {
        w[bus] = watching_open(bus ? "vcan1" : "vcan0", bus);
        fds[bus] = can_sender_open(bus ? "vcan1" : "vcan0");
    }
    for (uint32_t i = 0; i < 500; i++) {    /* half of them in each queue */
        struct lw_frame frame = { .id = i, .len = 1, .data = { (uint8_t)(i % 2) } };
        assert_int_equal(can_sender_frame(fds[i % 2], &frame), 0);
    }
    for (unsigned bus = 0; bus < 2; bus++) {
        watching_count(w[bus], LW_EVENT_FRAME, 250);
        for (size_t i = 0; i < 250; i++) {
            assert_int_equal(w[bus]->events[i + 1].frame.id, 2 * i + bus);
            assert_int_equal(w[bus]->events[i + 1].bus, bus);
        }
        assert_int_equal(w[bus]->n, 251);
        close(fds[bus]);
        watching_close(w[bus]);
    }
    assert_int_equal(shell("ip link del vcan1"), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frames_of_every_format_arrive_in_order),
        cmocka_unit_test(frames_read_one_by_one_arrive_the_same),
        cmocka_unit_test(frame_time_is_the_kernels),
        cmocka_unit_test(error_frame_of_every_class_arrives),
        cmocka_unit_test(two_buses_at_once_stay_apart),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
