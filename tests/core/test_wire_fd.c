/* SPDX-License-Identifier: MIT
 *
 * Exact length of CAN FD frames: published bounds, padding, the two bit rates, and a second implementation.
 */
#include "loomwatch/core/wire.h"

#include "cases.h"
#include "random_event.h"
#include "wire_drawing.h"

/* Bits of an FD frame with intermission. Source of header, CRC field, footer and worst stuffing: kernel
 * include/linux/can/length.h (2023 form). */
static unsigned least_bits(bool is_extended, unsigned n_bytes)
{
    return (is_extended ? 41 : 22) + 8 * n_bytes + (n_bytes <= 16 ? 28 : 33) + 9 + 3;
}

static unsigned most_bits(bool is_extended, unsigned n_bytes)
{
    unsigned stuffed = (is_extended ? 41 : 22) + 8 * n_bytes;
    return least_bits(is_extended, n_bytes) + (stuffed - 1) / 4;
}

static void fd_bounds_of_this_test_match_calculated_table(void **state)
{
    (void)state;
    /* Calculated with two independent methods */
    static const struct {
        unsigned n_bytes, least, most;
        bool is_extended;
    } rows[] = {
        { 0, 62, 67, false }, { 8, 126, 147, false }, { 12, 158, 187, false }, { 16, 190, 227, false },
        { 20, 227, 272, false }, { 24, 259, 312, false }, { 32, 323, 392, false }, { 48, 451, 552, false },
        { 64, 579, 712, false }, { 0, 81, 91, true }, { 8, 145, 171, true }, { 16, 209, 251, true },
        { 20, 246, 296, true }, { 64, 598, 736, true },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        assert_int_equal(least_bits(rows[i].is_extended, rows[i].n_bytes), rows[i].least);
        assert_int_equal(most_bits(rows[i].is_extended, rows[i].n_bytes), rows[i].most);
        assert_true(rows[i].most <= LW_WIRE_MAX_BITS);
    }
}

/* kernel drivers/net/can/dev/length.c: lengths that CAN FD can carry */
static const uint8_t carried[] = { 0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64 };

static unsigned dlc_of(unsigned len)
{
    unsigned dlc = 0;
    while (carried[dlc] < len)
        dlc++;
    return dlc;
}

static struct lw_frame random_fd(uint64_t *seed)
{
    struct lw_frame frame = { .flags = LW_FRAME_FD, .len = (uint8_t)random_below(seed, LW_FRAME_MAX_LEN + 1) };
    bool is_extended = random_below(seed, 2);
    frame.flags |= (uint8_t)(random_bits(seed) & (LW_FRAME_BRS | LW_FRAME_ESI));
    frame.flags |= is_extended ? LW_FRAME_EXTENDED : 0;
    frame.id = random_below(seed, is_extended ? LW_EXTENDED_ID_MAX + 1u : LW_STANDARD_ID_MAX + 1u);
    if (random_below(seed, 4) == 0)
        memset(frame.data, random_below(seed, 2) ? 0xFF : 0x00, frame.len);
    else
        random_fill(seed, frame.data, frame.len);
    return frame;
}

static unsigned all_bits(const struct lw_frame *frame)
{
    struct lw_wire_length length = lw_wire_length(frame);
    return length.nominal_bits + length.data_bits + LW_INTERMISSION_BITS;
}

static void fd_length_of_random_frames_is_within_bounds(void **state)
{
    (void)state;
    uint64_t seed = 0xFD;
    for (unsigned i = 0; i < 25000; i++) {
        struct lw_frame frame = random_fd(&seed);
        bool is_extended = frame.flags & LW_FRAME_EXTENDED;
        unsigned n_bytes = carried[dlc_of(frame.len)];
        assert_in_range(all_bits(&frame), least_bits(is_extended, n_bytes), most_bits(is_extended, n_bytes));
    }
}

static void fd_length_of_extreme_frames_is_within_bounds(void **state)
{
    (void)state;
    static const uint8_t patterns[] = { 0x00, 0xFF, 0x0F, 0xF0, 0x78, 0x87, 0x55, 0xAA, 0xE0, 0x1F };
    for (unsigned len = 0; len <= LW_FRAME_MAX_LEN; len++)
        for (size_t p = 0; p < N_ROWS(patterns); p++)
            for (unsigned form = 0; form < 16; form++) {
                bool is_extended = form & 1;
                struct lw_frame frame = { .flags = LW_FRAME_FD, .len = (uint8_t)len };
                frame.flags |= (uint8_t)((is_extended ? LW_FRAME_EXTENDED : 0) | (form & 2 ? LW_FRAME_BRS : 0)
                                         | (form & 4 ? LW_FRAME_ESI : 0));
                frame.id = form & 8 ? (is_extended ? LW_EXTENDED_ID_MAX : LW_STANDARD_ID_MAX) : 0;
                memset(frame.data, patterns[p], len);
                unsigned n_bytes = carried[dlc_of(len)];
                assert_in_range(all_bits(&frame), least_bits(is_extended, n_bytes), most_bits(is_extended, n_bytes));
            }
}

static void fd_length_of_padded_frame_equals_frame_with_zeros(void **state)
{
    (void)state;
    uint64_t seed = 0x9AD;
    for (unsigned len = 0; len <= LW_FRAME_MAX_LEN; len++) {
        struct lw_frame frame = { .id = 0x2A5, .flags = LW_FRAME_FD | LW_FRAME_BRS, .len = (uint8_t)len };
        random_fill(&seed, frame.data, len);
        struct lw_frame padded = frame;
        padded.len = carried[dlc_of(len)];
        struct lw_wire_length a = lw_wire_length(&frame), b = lw_wire_length(&padded);
        assert_memory_equal(&a, &b, sizeof(a));
    }
}

static void fd_length_of_random_frames_matches_drawing(void **state)
{
    (void)state;
    uint64_t seed = 0xFDD;
    for (unsigned i = 0; i < 3000; i++) {
        struct lw_frame frame = random_fd(&seed);
        struct drawing plain, sent;
        unsigned dlc = dlc_of(frame.len), n_bytes = carried[dlc];
        draw_fd_before_switch(&plain, &frame);
        size_t n_before = plain.n + stuff_drawing(&plain, &sent);
        draw_fd_after_switch(&plain, &frame, dlc, (int)n_bytes);
        size_t n_dynamic = stuff_drawing(&plain, &sent), n_sent = sent.n;
        /* A stuff bit asked for behind the last data bit coincides with the first fixed one (from memory). */
        if (sent.text[sent.n - 1] != plain.text[plain.n - 1]) {
            n_dynamic--;
            n_sent--;
        }
        /* Fixed stuff bits: 6 or 7. Source: kernel commit 9fde4c557f78 quoting ISO 11898-1:2015 */
        size_t n_fixed = n_bytes <= 16 ? 6 : 7, n_crc = n_bytes <= 16 ? 17 : 21;
        struct lw_wire_length length = lw_wire_length(&frame);
        assert_int_equal(length.stuff_bits, n_dynamic + n_fixed);
        assert_int_equal(length.nominal_bits + length.data_bits, n_sent + 4 + n_crc + n_fixed + 10);
        if (frame.flags & LW_FRAME_BRS)
            assert_int_equal(length.nominal_bits, n_before + 10);
        else
            assert_int_equal(length.data_bits, 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fd_bounds_of_this_test_match_calculated_table),
        cmocka_unit_test(fd_length_of_random_frames_is_within_bounds),
        cmocka_unit_test(fd_length_of_extreme_frames_is_within_bounds),
        cmocka_unit_test(fd_length_of_padded_frame_equals_frame_with_zeros),
        cmocka_unit_test(fd_length_of_random_frames_matches_drawing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
