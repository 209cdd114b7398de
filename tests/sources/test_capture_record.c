/* SPDX-License-Identifier: MIT
 *
 * Bytes of a record to event and back. The expected bytes are those of the link type's page (tcpdump group).
 */
#include "loomwatch/sources/capture_record.h"

#include "random_event.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

enum { PADDED_FD = 72 };

static void encode_frame_gives_published_layout(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct lw_frame frame;
        size_t n;
        uint8_t bytes[16];      /* the first ones */
    } rows[] = {
        { "11-bit", { 0x123, 0, 2, { 0xAA, 0xBB } }, 16, { 0, 0, 1, 0x23, 2, 0, 0, 0, 0xAA, 0xBB } },
        { "29-bit", { 0x123, LW_FRAME_EXTENDED, 0, { 0 } }, 16, { 0x80, 0, 1, 0x23, 0 } },
        { "remote", { 0x7FF, LW_FRAME_REMOTE, 4, { 0 } }, 16, { 0x40, 0, 7, 0xFF, 0 } },
        { "fd", { 0x1FFFFFFF, LW_FRAME_EXTENDED | LW_FRAME_FD, 1, { 9 } }, 72,
          { 0x9F, 0xFF, 0xFF, 0xFF, 1, 4, 0, 0, 9 } },
        { "fd brs esi", { 1, LW_FRAME_FD | LW_FRAME_BRS | LW_FRAME_ESI, 0, { 0 } }, 72, { 0, 0, 0, 1, 0, 7 } },
        { "own", { 1, LW_FRAME_OWN, 0, { 0 } }, 16, { 0, 0, 0, 1 } },
    };
    for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
        struct lw_event event = { .kind = LW_EVENT_FRAME, .frame = rows[i].frame };
        uint8_t bytes[LW_CAPTURE_RECORD_MAX];
        print_message("  %s\n", rows[i].name);
        assert_int_equal(lw_capture_encode(&event, bytes), rows[i].n);
        assert_memory_equal(bytes, rows[i].bytes, sizeof(rows[i].bytes));
    }
}

static void encode_error_gives_published_layout(void **state)
{
    (void)state;
    struct lw_event event = { .kind = LW_EVENT_ERROR, .error = { 0x204, { 0, 0x20, 0, 0, 0, 0, 128, 96 } } };
    uint8_t bytes[LW_CAPTURE_RECORD_MAX];
    assert_int_equal(lw_capture_encode(&event, bytes), 16);
    assert_memory_equal(bytes, ((uint8_t[]){ 0x20, 0, 2, 4, 8, 0, 0, 0, 0, 0x20, 0, 0, 0, 0, 128, 96 }), 16);
}

static void decode_of_encode_gives_the_event(void **state)
{
    (void)state;
    uint64_t seed = 227;
    for (int i = 0; i < 200000; i++) {
        struct lw_event event = random_event(&seed), back = { 0 };
        uint8_t bytes[LW_CAPTURE_RECORD_MAX];
        size_t n = lw_capture_encode(&event, bytes);
        assert_int_equal(lw_capture_decode(bytes, n, false, &back), LW_RECORD_GOOD);
        assert_true(is_same_event(&event, &back));
    }
}

/* Whatever bytes come: no crash, and what was understood stays what it is when written and read again. */
static void decode_random_bytes_is_stable(void **state)
{
    (void)state;
    uint64_t seed = 4;
    unsigned n_good = 0;
    for (int i = 0; i < 1000000; i++) {
        uint8_t bytes[80], again[LW_CAPTURE_RECORD_MAX];
        size_t n = random_below(&seed, sizeof(bytes) + 1);
        struct lw_event event = { 0 }, back = { 0 };
        random_fill(&seed, bytes, n < 10 ? n : 10);
        memset(bytes + 10, (int)n, sizeof(bytes) - 10);
        if (n > 4)
            bytes[4] &= 0x8F;
        if (lw_capture_decode(bytes, n, i & 1, &event) != LW_RECORD_GOOD)
            continue;
        n_good++;
        n = lw_capture_encode(&event, again);
        if (event.kind == LW_EVENT_FRAME && event.frame.flags & LW_FRAME_REMOTE)
            event.frame.len = 0;
        assert_int_equal(lw_capture_decode(again, n, false, &back), LW_RECORD_GOOD);
        assert_true(is_same_event(&event, &back));
    }
    assert_true(n_good > 10000);
}

struct fault_row {
    const char *name;
    enum lw_record_fault fault;
    bool is_swapped;
    size_t n;
    uint8_t bytes[PADDED_FD];
};

static const struct fault_row fault_rows[] = {
    { "nothing", LW_RECORD_SHORT, false, 0, { 0 } },
    { "half a header", LW_RECORD_SHORT, false, 7, { 0, 0, 1, 0x23 } },
    { "a byte less than its length", LW_RECORD_SHORT, false, 9, { 0, 0, 1, 0x23, 2 } },
    { "just its length, no padding", LW_RECORD_GOOD, false, 10, { 0, 0, 1, 0x23, 2 } },
    { "fd, a byte short", LW_RECORD_SHORT, false, 71, { 0, 0, 1, 0x23, 64, 4 } },
    { "error frame, a byte short", LW_RECORD_SHORT, false, 15, { 0x20, 0, 0, 0x40, 8 } },
    { "remote of 4 bytes, without them", LW_RECORD_GOOD, false, 8, { 0x40, 0, 1, 0x23, 4 } },
    { "remote of 9 bytes", LW_RECORD_BAD_LENGTH, false, 72, { 0x40, 0, 1, 0x23, 9 } },
    { "fd of 9 bytes", LW_RECORD_BAD_LENGTH, false, 72, { 0, 0, 1, 0x23, 9, 4 } },
    { "fd of 63 bytes", LW_RECORD_BAD_LENGTH, false, 72, { 0, 0, 1, 0x23, 63, 4 } },
    { "65 bytes", LW_RECORD_BAD_LENGTH, false, 72, { 0, 0, 1, 0x23, 65, 4 } },
    { "error frame of 12 bytes", LW_RECORD_BAD_LENGTH, false, 72, { 0x20, 0, 0, 0x40, 12 } },
    { "11-bit format with 12 bits", LW_RECORD_BAD_ID, false, 16, { 0, 0, 8, 0 } },
    { "11-bit, last one", LW_RECORD_GOOD, false, 16, { 0, 0, 7, 0xFF } },
    { "29-bit swapped, read plainly", LW_RECORD_BAD_ID, false, 16, { 0x16, 0xFF, 0xEE, 0x98, 8 } },
    { "29-bit swapped, read swapped", LW_RECORD_GOOD, true, 16, { 0x16, 0xFF, 0xEE, 0x98, 8 } },
    { "11-bit swapped, looks like an error frame", LW_RECORD_BAD_ID, false, 16, { 0x23, 1, 0, 0, 8 } },
    { "11-bit swapped, read swapped", LW_RECORD_GOOD, true, 16, { 0x23, 1, 0, 0, 8 } },
    { "11-bit plain, read swapped", LW_RECORD_BAD_ID, true, 16, { 0, 0, 1, 0x23, 8 } },
    { "CAN XL", LW_RECORD_OTHER, false, 16, { 0, 0, 1, 0x23, 0x80, 3, 0, 0 } },
};

static void decode_each_fault_is_told_apart(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof(fault_rows) / sizeof(*fault_rows); i++) {
        const struct fault_row *row = &fault_rows[i];
        struct lw_event event = { 0 };
        print_message("  %s\n", row->name);
        assert_int_equal(lw_capture_decode(row->bytes, row->n, row->is_swapped, &event), row->fault);
    }
}

static void decode_swapped_gives_identifier(void **state)
{
    (void)state;
    struct lw_event event = { 0 };
    assert_int_equal(lw_capture_decode((uint8_t[8]){ 0x16, 0xFF, 0xEE, 0x98 }, 8, true, &event), LW_RECORD_GOOD);
    assert_int_equal(event.frame.id, 0x18EEFF16);
    assert_int_equal(event.frame.flags, LW_FRAME_EXTENDED);
}

/* FD or classic: the flag says so; without it the length, or the size a kernel gives an FD frame, does
 * (X15). */
static void decode_format_follows_flag_then_size(void **state)
{
    (void)state;
    static const struct { size_t n; uint8_t len, fd_flags, expected; } rows[] = {
        { 16, 8, 0, 0 }, { 16, 8, 3, 0 }, { 16, 8, 4, LW_FRAME_FD }, { 16, 8, 5, LW_FRAME_FD | LW_FRAME_BRS },
        { 72, 8, 0, LW_FRAME_FD }, { 72, 8, 2, LW_FRAME_FD | LW_FRAME_ESI }, { 20, 12, 0, LW_FRAME_FD },
        { 24, 8, 0, 0 },
    };
    for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
        uint8_t bytes[PADDED_FD] = { 0, 0, 1, 0x23, rows[i].len, rows[i].fd_flags };
        struct lw_event event = { 0 };
        assert_int_equal(lw_capture_decode(bytes, rows[i].n, false, &event), LW_RECORD_GOOD);
        assert_int_equal(event.frame.flags, rows[i].expected);
    }
}

static void decode_remote_keeps_requested_length_and_no_data(void **state)
{
    (void)state;
    struct lw_event event = { 0 };
    uint8_t bytes[16] = { 0x40, 0, 1, 0x23, 4, 0, 0, 0, 0xDE, 0xAD, 0xBE, 0xEF };
    assert_int_equal(lw_capture_decode(bytes, 16, false, &event), LW_RECORD_GOOD);
    assert_int_equal(event.frame.len, 4);
    assert_int_equal(event.frame.data[0], 0);
}

static void encode_link_that_does_not_fit_is_unknown(void **state)
{
    (void)state;
    struct lw_event event = { .kind = LW_EVENT_LINK, .link = lw_link_unknown() }, back = { 0 };
    uint8_t bytes[LW_CAPTURE_RECORD_MAX];
    event.link.bit_rate_bps = LW_KNOWN(0x1000000);
    event.link.data_bit_rate_bps = LW_KNOWN(2222222);
    event.link.tec = LW_KNOWN(7);
    lw_capture_decode(bytes, lw_capture_encode(&event, bytes), false, &back);
    assert_int_equal(back.kind, LW_EVENT_LINK);
    assert_false(back.link.bit_rate_bps.is_known || back.link.data_bit_rate_bps.is_known || back.link.tec.is_known);
}

static void decode_note_with_impossible_values_says_unknown(void **state)
{
    (void)state;
    struct lw_event event = { 0 };
    uint8_t bytes[16] = { 0x20, 0, 0, 0, 8, 0, 0, 0, 'L', 'W', 1, 0xFF };
    assert_int_equal(lw_capture_decode(bytes, 16, false, &event), LW_RECORD_GOOD);
    assert_int_equal(event.kind, LW_EVENT_LINK);
    assert_int_equal(event.link.controller, LW_CONTROLLER_UNKNOWN);
    assert_int_equal(event.link.state, LW_STATE_UNKNOWN);
}

static void decode_no_class_and_no_note_is_error_frame(void **state)
{
    (void)state;
    static const uint8_t rows[][16] = {
        { 0x20, 0, 0, 0, 8, 0, 0, 0, 'L', 'W', 9 }, { 0x20, 0, 0, 0, 8, 0, 0, 0, 'L', 'X', 1 }, { 0x20, 0, 0, 0, 0 },
    };
    for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
        struct lw_event event = { 0 };
        assert_int_equal(lw_capture_decode(rows[i], 16, false, &event), LW_RECORD_GOOD);
        assert_int_equal(event.kind, LW_EVENT_ERROR);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(encode_frame_gives_published_layout),
        cmocka_unit_test(encode_error_gives_published_layout),
        cmocka_unit_test(decode_of_encode_gives_the_event),
        cmocka_unit_test(decode_random_bytes_is_stable),
        cmocka_unit_test(decode_each_fault_is_told_apart),
        cmocka_unit_test(decode_swapped_gives_identifier),
        cmocka_unit_test(decode_format_follows_flag_then_size),
        cmocka_unit_test(decode_remote_keeps_requested_length_and_no_data),
        cmocka_unit_test(encode_link_that_does_not_fit_is_unknown),
        cmocka_unit_test(decode_note_with_impossible_values_says_unknown),
        cmocka_unit_test(decode_no_class_and_no_note_is_error_frame),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
