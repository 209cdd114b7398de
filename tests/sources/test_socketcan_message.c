/* SPDX-License-Identifier: MIT
 *
 * One received message to an event: every format, and bytes no kernel should deliver. Positions and flags are held
 * against linux/can.h, whose structures the tests fill.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <time.h>
#include <cmocka.h>

#include <linux/can.h>
#include <linux/can/error.h>
#include <linux/errqueue.h>

#include "socketcan_message.h"

struct row {
    const char *name;
    canid_t can_id;
    uint8_t len, fd_flags;
    size_t size;
    int msg_flags;
    uint32_t id;          /* expected from here on */
    uint8_t flags, out_len, n_data;
};

/* The data bytes are 1, 2, 3 …; n_data of them must come through, the rest must be zero. */
static const struct row rows[] = {
    { "classic", 0x123, 8, 0, CAN_MTU, 0, 0x123, 0, 8, 8 },
    { "classic, no data", 0x7FF, 0, 0, CAN_MTU, 0, 0x7FF, 0, 0, 0 },
    { "extended", 0x18FEF100 | CAN_EFF_FLAG, 3, 0, CAN_MTU, 0, 0x18FEF100, LW_FRAME_EXTENDED, 3, 3 },
    { "extended, small number", 0x123 | CAN_EFF_FLAG, 1, 0, CAN_MTU, 0, 0x123, LW_FRAME_EXTENDED, 1, 1 },
    { "remote", 0x222 | CAN_RTR_FLAG, 5, 0, CAN_MTU, 0, 0x222, LW_FRAME_REMOTE, 5, 0 },
    { "remote, extended", 0x222 | CAN_RTR_FLAG | CAN_EFF_FLAG, 8, 0, CAN_MTU, 0, 0x222,
      LW_FRAME_REMOTE | LW_FRAME_EXTENDED, 8, 0 },
    { "own", 0x1, 2, 0, CAN_MTU, MSG_DONTROUTE, 0x1, LW_FRAME_OWN, 2, 2 },
    { "own, confirmed", 0x1, 2, 0, CAN_MTU, MSG_DONTROUTE | MSG_CONFIRM, 0x1, LW_FRAME_OWN, 2, 2 },
    { "flags of a classic frame mean nothing", 0x1, 2, 0xFF, CAN_MTU, 0, 0x1, 0, 2, 2 },
    { "FD", 0x55, 64, CANFD_FDF, CANFD_MTU, 0, 0x55, LW_FRAME_FD, 64, 64 },
    { "FD, kernel before the FDF mark", 0x55, 12, 0, CANFD_MTU, 0, 0x55, LW_FRAME_FD, 12, 12 },
    { "FD with rate switch", 0x55, 48, CANFD_FDF | CANFD_BRS, CANFD_MTU, 0, 0x55, LW_FRAME_FD | LW_FRAME_BRS, 48, 48 },
    { "FD, sender error passive", 0x55 | CAN_EFF_FLAG, 1, CANFD_FDF | CANFD_ESI, CANFD_MTU, 0, 0x55,
      LW_FRAME_FD | LW_FRAME_ESI | LW_FRAME_EXTENDED, 1, 1 },
    { "FD has no remote frames", 0x55 | CAN_RTR_FLAG, 8, CANFD_FDF, CANFD_MTU, 0, 0x55, LW_FRAME_FD, 8, 8 },
    { "classic, length too large", 0x1, 9, 0, CAN_MTU, 0, 0x1, 0, 8, 8 },
    { "classic, length 255", 0x1, 255, 0, CAN_MTU, 0, 0x1, 0, 8, 8 },
    { "FD, length too large", 0x1, 65, CANFD_FDF, CANFD_MTU, 0, 0x1, LW_FRAME_FD, 64, 64 },
    { "FD, length 255", 0x1, 255, CANFD_FDF, CANFD_MTU, 0, 0x1, LW_FRAME_FD, 64, 64 },
    { "too large a number for 11 bits", 0x1FFFF | 0x800, 1, 0, CAN_MTU, 0, 0x7FF, 0, 1, 1 },
};

static struct canfd_frame raw_of(canid_t can_id, uint8_t len, uint8_t flags)
{
    struct canfd_frame raw = { .can_id = can_id, .len = len, .flags = flags };

    for (size_t i = 0; i < sizeof(raw.data); i++)
        raw.data[i] = (uint8_t)(i + 1);
    return raw;
}

static struct lw_can_message message_of(const struct canfd_frame *raw, size_t size, int flags)
{
    return (struct lw_can_message){ .bytes = (const uint8_t *)raw, .n_bytes = size, .flags = flags,
                                    .kernel_ns = 2000, .host_ns = 3000 };
}

static void frame_of_each_format_converted(void **state)
{
    (void)state;
    for (size_t r = 0; r < sizeof(rows) / sizeof(rows[0]); r++) {
        const struct row *row = &rows[r];
        struct canfd_frame raw = raw_of(row->can_id, row->len, row->fd_flags);
        struct lw_can_message message = message_of(&raw, row->size, row->msg_flags);
        struct lw_event event;

        memset(&event, 0xA5, sizeof(event));
        print_message("  %s\n", row->name);
        assert_true(lw_socketcan_event(&message, 3, &event));
        assert_int_equal(event.kind, LW_EVENT_FRAME);
        assert_int_equal(event.bus, 3);
        assert_int_equal(event.frame.id, row->id);
        assert_int_equal(event.frame.flags, row->flags);
        assert_int_equal(event.frame.len, row->out_len);
        for (size_t i = 0; i < LW_FRAME_MAX_LEN; i++)
            assert_int_equal(event.frame.data[i], i < row->n_data ? i + 1 : 0);
    }
}

static void error_frame_each_class_kept(void **state)
{
    (void)state;
    for (unsigned bit = 0; bit < 29; bit++) {
        struct canfd_frame raw = raw_of(CAN_ERR_FLAG | 1u << bit, CAN_ERR_DLC, 0);
        struct lw_can_message message = message_of(&raw, CAN_MTU, MSG_DONTROUTE);
        struct lw_event event;

        assert_true(lw_socketcan_event(&message, 0, &event));
        assert_int_equal(event.kind, LW_EVENT_ERROR);
        assert_int_equal(event.error.class_bits, 1u << bit);
        assert_memory_equal(event.error.data, raw.data, 8);
    }
}

static void error_frame_with_format_flags_or_odd_length_is_robust(void **state)
{
    struct canfd_frame raw = raw_of(CAN_ERR_FLAG | CAN_EFF_FLAG | CAN_RTR_FLAG | CAN_ERR_ACK, 3, 0);
    struct lw_can_message message = message_of(&raw, CANFD_MTU, 0);
    struct lw_event event;
    (void)state;

    assert_true(lw_socketcan_event(&message, 0, &event));
    assert_int_equal(event.kind, LW_EVENT_ERROR);
    assert_int_equal(event.error.class_bits, CAN_ERR_ACK);
    assert_memory_equal(event.error.data, "\1\2\3\0\0\0\0\0", 8);
    raw.len = 255;
    assert_true(lw_socketcan_event(&message, 0, &event));
    assert_memory_equal(event.error.data, "\1\2\3\4\5\6\7\10", 8);
}

static void message_of_other_size_refused(void **state)
{
    static const size_t sizes[] = { 0, 1, 4, 15, 17, 71, 73, 76, 2060 };
    (void)state;

    for (size_t i = 0; i < sizeof(sizes) / sizeof(sizes[0]); i++) {
        struct canfd_frame raw = raw_of(1, 1, 0);
        struct lw_can_message message = message_of(&raw, sizes[i], 0);
        struct lw_event event, before;

        memset(&event, 0xA5, sizeof(event));
        before = event;
        assert_false(lw_socketcan_event(&message, 0, &event));
        assert_memory_equal(&event, &before, sizeof(event));
    }
}

static void stamp_by_origin_chosen(void **state)
{
    static const struct { uint64_t kernel, hw, t; enum lw_stamp stamp; } stamps[] = {
        { 2000, 0, 2000, LW_STAMP_KERNEL }, { 2000, 77, 2000, LW_STAMP_HARDWARE },
        { 0, 0, 3000, LW_STAMP_HOST },      { 0, 77, 3000, LW_STAMP_HARDWARE },
    };
    (void)state;

    for (size_t i = 0; i < sizeof(stamps) / sizeof(stamps[0]); i++) {
        struct canfd_frame raw = raw_of(1, 1, 0);
        struct lw_can_message message = message_of(&raw, CAN_MTU, 0);
        struct lw_event event;

        message.kernel_ns = stamps[i].kernel;
        message.hw_ns = stamps[i].hw;
        assert_true(lw_socketcan_event(&message, 0, &event));
        assert_int_equal(event.t_ns, stamps[i].t);
        assert_int_equal(event.hw_ns, stamps[i].hw);
        assert_int_equal(event.stamp, stamps[i].stamp);
    }
}

static void put(struct msghdr *header, struct cmsghdr **c, int type, const void *data, size_t n)
{
    *c = *c ? CMSG_NXTHDR(header, *c) : CMSG_FIRSTHDR(header);
    assert_non_null(*c);
    (*c)->cmsg_level = SOL_SOCKET;
    (*c)->cmsg_type = type;
    (*c)->cmsg_len = CMSG_LEN(n);
    memcpy(CMSG_DATA(*c), data, n);
}

static void control_data_stamps_and_losses_taken(void **state)
{
    _Alignas(struct cmsghdr) char control[256] = { 0 };
    struct msghdr header = { .msg_control = control, .msg_controllen = sizeof(control) };
    struct lw_can_message message = { .n_dropped = 5 };
    struct scm_timestamping stamps = { .ts = { { 1700000000, 123456789 }, { 9, 9 }, { 12, 345 } } };
    struct cmsghdr *c = NULL;
    uint32_t n_dropped = 4000000000u;
    (void)state;

    put(&header, &c, SCM_TIMESTAMPING, &stamps, sizeof(stamps));
    put(&header, &c, SO_RXQ_OVFL, &n_dropped, sizeof(n_dropped));
    lw_socketcan_control(&header, &message);
    assert_int_equal(message.kernel_ns, 1700000000123456789u);
    assert_int_equal(message.hw_ns, 12000000345u);
    assert_int_equal(message.n_dropped, 4000000000u);
}

static void control_data_absent_or_short_leaves_all_alone(void **state)
{
    _Alignas(struct cmsghdr) char control[256] = { 0 };
    struct msghdr header = { 0 };
    struct lw_can_message message = { .n_dropped = 5 };
    struct cmsghdr *c = NULL;
    (void)state;

    lw_socketcan_control(&header, &message);
    header = (struct msghdr){ .msg_control = control, .msg_controllen = sizeof(control) };
    put(&header, &c, SCM_TIMESTAMPING, "abcdefgh", 8);
    put(&header, &c, SO_RXQ_OVFL, "ab", 2);
    lw_socketcan_control(&header, &message);
    assert_int_equal(message.kernel_ns, 0);
    assert_int_equal(message.hw_ns, 0);
    assert_int_equal(message.n_dropped, 5);
}

/* Any bytes: what comes out is within the bounds that the core relies on. */
static void message_of_random_bytes_stays_in_bounds(void **state)
{
    uint64_t random = 1;
    uint8_t bytes[CANFD_MTU];
    (void)state;

    for (unsigned round = 0; round < 20000; round++) {
        struct lw_can_message message = { .bytes = bytes, .n_bytes = round % 2 ? CAN_MTU : CANFD_MTU };
        struct lw_event event;

        for (size_t i = 0; i < sizeof(bytes); i++) {
            random = random * 6364136223846793005u + 1442695040888963407u;
            bytes[i] = (uint8_t)(random >> 56);
        }
        assert_true(lw_socketcan_event(&message, 0, &event));
        if (event.kind == LW_EVENT_ERROR)
            continue;
        assert_int_equal(event.kind, LW_EVENT_FRAME);
        assert_true(event.frame.len <= (event.frame.flags & LW_FRAME_FD ? 64 : 8));
        assert_true(event.frame.id <= (event.frame.flags & LW_FRAME_EXTENDED ? LW_EXTENDED_ID_MAX : LW_STANDARD_ID_MAX));
        assert_true(event.frame.flags & LW_FRAME_FD || !(event.frame.flags & (LW_FRAME_BRS | LW_FRAME_ESI)));
        assert_int_equal(event.frame.flags & LW_FRAME_FD ? CANFD_MTU : CAN_MTU, message.n_bytes);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frame_of_each_format_converted),
        cmocka_unit_test(error_frame_each_class_kept),
        cmocka_unit_test(error_frame_with_format_flags_or_odd_length_is_robust),
        cmocka_unit_test(message_of_other_size_refused),
        cmocka_unit_test(stamp_by_origin_chosen),
        cmocka_unit_test(control_data_stamps_and_losses_taken),
        cmocka_unit_test(control_data_absent_or_short_leaves_all_alone),
        cmocka_unit_test(message_of_random_bytes_stays_in_bounds),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
