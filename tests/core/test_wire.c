/* SPDX-License-Identifier: MIT
 *
 * Exact length of classic frames: stuffing vectors, known frames, bounds, and a second implementation.
 */
#include "loomwatch/core/wire.h"

#include "cases.h"
#include "random_event.h"
#include "wire_drawing.h"

#include <stdlib.h>

static void stuffing_of_standard_example_gives_its_result(void **state)
{
    (void)state;
    /* ISO 11898-1:2003 Table 6 */
    static const struct {
        const char *plain, *stuffed;
    } rows[] = {
        { "01011111010", "010111110010" },
        { "10100000101", "101000001101" },
        { "01011111000010", "0101111100000110" },
        { "10100000111101", "1010000011111001" },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        uint8_t plain[32], stuffed[48];
        size_t n = strlen(rows[i].plain);
        for (size_t k = 0; k < n; k++)
            plain[k] = rows[i].plain[k] == '1';
        assert_int_equal(lw_wire_stuff(plain, n, stuffed), strlen(rows[i].stuffed));
        for (size_t k = 0; rows[i].stuffed[k]; k++)
            assert_int_equal(stuffed[k], rows[i].stuffed[k] == '1');
    }
}

static void stuffing_of_equal_bits_never_exceeds_the_promised_room(void **state)
{
    (void)state;
    uint8_t plain[64] = { 0 }, stuffed[64 + 64 / 4 + 1];
    for (size_t n = 0; n <= sizeof(plain); n++) {
        /* Source of the bound: kernel include/linux/can/length.h */
        size_t worst = n > 0 ? n + (n - 1) / 4 : 0;
        assert_int_equal(lw_wire_stuff(plain, n, stuffed), n + n / 5);   /* zeros only: each stuff bit starts anew */
        assert_true(lw_wire_stuff(plain, n, stuffed) <= worst);
    }
}

static void stuffing_of_random_bits_can_be_undone(void **state)
{
    (void)state;
    uint64_t seed = 0xBEE;
    for (unsigned round = 0; round < 2000; round++) {
        uint8_t plain[100], stuffed[126], back[126];
        size_t n = 1 + random_below(&seed, 100), n_back = 0;
        for (size_t i = 0; i < n; i++)
            plain[i] = random_below(&seed, 4) == 0 ? random_below(&seed, 2) : i > 0 ? plain[i - 1] : 0;
        size_t n_stuffed = lw_wire_stuff(plain, n, stuffed), run = 0;
        for (size_t i = 0; i < n_stuffed; i++) {
            bool is_stuff_bit = run == 5;
            run = i > 0 && stuffed[i] == stuffed[i - 1] ? run + 1 : 1;
            assert_true(run <= 5);                       /* the point of stuffing */
            if (!is_stuff_bit)
                back[n_back++] = stuffed[i];
        }
        assert_int_equal(n_back, n);
        assert_memory_equal(back, plain, n);
    }
}

struct known_frame {
    struct lw_frame frame;
    uint16_t crc;
    unsigned n_stuff, n_bits;
};

#define EIGHT(byte) { byte, byte, byte, byte, byte, byte, byte, byte }

/* Calculated with two independent methods (shift register, long division). Bits from start to end of frame. */
static const struct known_frame known_frames[] = {
    { { 0x000, 0, 0, { 0 } }, 0x0000, 6, 50 },
    { { 0x7FF, 0, 0, { 0 } }, 0x272F, 3, 47 },
    { { 0x123, 0, 0, { 0 } }, 0x6858, 1, 45 },
    { { 0x123, LW_FRAME_REMOTE, 8, { 0 } }, 0x6F9A, 1, 45 },
    { { 0x014, 0, 1, { 0x01 } }, 0x7753, 3, 55 },
    { { 0x123, 0, 8, { 1, 2, 3, 4, 5, 6, 7, 8 } }, 0x64EF, 8, 116 },
    { { 0x000, 0, 8, { 0 } }, 0x145B, 16, 124 },
    { { 0x7FF, 0, 8, EIGHT(0xFF) }, 0x4C89, 15, 123 },
    { { 0x00000000, LW_FRAME_EXTENDED, 0, { 0 } }, 0x4610, 7, 71 },
    { { 0x18FEF100, LW_FRAME_EXTENDED, 8, EIGHT(0xFF) }, 0x177A, 15, 143 },
    { { 0x1FFFFFFF, LW_FRAME_EXTENDED, 8, EIGHT(0xFF) }, 0x1B69, 18, 146 },
};

static void wire_length_of_known_frame_is_exact(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS(known_frames); i++) {
        const struct known_frame *known = &known_frames[i];
        struct lw_wire_length length = lw_wire_length(&known->frame);
        assert_int_equal(lw_wire_crc15(&known->frame), known->crc);
        assert_int_equal(length.stuff_bits, known->n_stuff);
        assert_int_equal(length.nominal_bits, known->n_bits);
        assert_int_equal(length.data_bits, 0);
    }
}

static struct lw_frame random_classic(uint64_t *seed)
{
    struct lw_frame frame = { .len = (uint8_t)random_below(seed, 9) };
    unsigned form = random_below(seed, 8);
    frame.flags = (uint8_t)((form & 1 ? LW_FRAME_EXTENDED : 0) | (form == 7 || form == 6 ? LW_FRAME_REMOTE : 0));
    frame.id = random_below(seed, form & 1 ? LW_EXTENDED_ID_MAX + 1u : LW_STANDARD_ID_MAX + 1u);
    /* One in four is of nearly equal bits: there stuff bits are many. */
    if (random_below(seed, 4) == 0) {
        frame.id &= 0x1C000700;
        memset(frame.data, random_below(seed, 2) ? 0xFF : 0x00, LW_CLASSIC_MAX_LEN);
    } else {
        random_fill(seed, frame.data, frame.len);
    }
    return frame;
}

static void assert_within_bounds(const struct lw_frame *frame)
{
    unsigned n = frame->flags & LW_FRAME_REMOTE ? 0 : frame->len;
    bool is_extended = frame->flags & LW_FRAME_EXTENDED;
    unsigned bits = lw_wire_length(frame).nominal_bits + LW_INTERMISSION_BITS;
    /* Worst case with intermission: public source citing Davis et al. 2007; kernel include/linux/can/length.h agrees. */
    assert_true(bits <= (is_extended ? 80 + 10 * n : 55 + 10 * n));
    assert_true(bits >= (is_extended ? 67 + 8 * n : 47 + 8 * n));
}

static void wire_length_of_random_classic_frames_is_within_bounds(void **state)
{
    (void)state;
    uint64_t seed = 0xC1A551C;
    for (unsigned i = 0; i < 30000; i++) {
        struct lw_frame frame = random_classic(&seed);
        assert_within_bounds(&frame);
    }
    for (size_t i = 0; i < N_ROWS(known_frames); i++)
        assert_within_bounds(&known_frames[i].frame);
}

static void wire_length_of_random_classic_frames_matches_drawing(void **state)
{
    (void)state;
    uint64_t seed = 0xD4A;
    for (unsigned i = 0; i < 4000; i++) {
        struct lw_frame frame = random_classic(&seed);
        struct drawing plain, sent;
        draw_classic(&plain, &frame);
        size_t n_before = plain.n;
        draw_crc15(&plain);
        char *end;
        assert_int_equal(lw_wire_crc15(&frame), strtol(plain.text + n_before, &end, 2));
        size_t n_stuff = stuff_drawing(&plain, &sent);
        struct lw_wire_length length = lw_wire_length(&frame);
        assert_int_equal(length.stuff_bits, n_stuff);
        /* CRC delimiter, acknowledge slot and delimiter, seven bits end of frame: Bosch CAN 2.0 part B */
        assert_int_equal(length.nominal_bits, sent.n + 1 + 1 + 1 + 7);
    }
}

static void wire_length_of_overlong_classic_frame_counts_eight_bytes(void **state)
{
    (void)state;
    /* Bosch CAN 2.0, addendum 1997: a DLC above 8 is read as 8 */
    struct lw_frame eight = { 0x123, 0, 8, { 1, 2, 3 } }, overlong = { 0x123, 0, 64, { 1, 2, 3 } };
    assert_int_equal(lw_wire_length(&overlong).nominal_bits, lw_wire_length(&eight).nominal_bits);
}

static void wire_time_of_published_frame_is_exact(void **state)
{
    (void)state;
    static const struct {
        uint16_t bits;
        uint32_t bps;
        uint64_t ns;
    } rows[] = {
        { 135 - LW_INTERMISSION_BITS, 500000, 270000 },    /* public unit test citing Davis et al. 2007: C = 0.27 ms */
        { 125 - LW_INTERMISSION_BITS, 125000, 1000000 },   /* from memory: Davis et al. 2007, 125 bits in 1 ms */
        { 135 - LW_INTERMISSION_BITS, 0, 0 },              /* unknown bit rate */
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_wire_length length = { .nominal_bits = rows[i].bits };
        assert_int_equal(lw_wire_time_ns(&length, rows[i].bps, 0), rows[i].ns);
    }
}

static void wire_time_of_switched_frame_uses_both_rates(void **state)
{
    (void)state;
    struct lw_wire_length length = { .nominal_bits = 97, .data_bits = 400 };
    assert_int_equal(lw_wire_time_ns(&length, 500000, 2000000), 100 * 2000 + 400 * 500);
    assert_int_equal(lw_wire_time_ns(&length, 500000, 0), 0);
    assert_int_equal(lw_wire_time_ns(&length, 0, 2000000), 0);
    length.nominal_bits = length.data_bits = UINT16_MAX;
    assert_int_equal(lw_wire_time_ns(&length, 1, 1), (65538 + 65535) * UINT64_C(1000000000));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stuffing_of_standard_example_gives_its_result),
        cmocka_unit_test(stuffing_of_equal_bits_never_exceeds_the_promised_room),
        cmocka_unit_test(stuffing_of_random_bits_can_be_undone),
        cmocka_unit_test(wire_length_of_known_frame_is_exact),
        cmocka_unit_test(wire_length_of_random_classic_frames_is_within_bounds),
        cmocka_unit_test(wire_length_of_random_classic_frames_matches_drawing),
        cmocka_unit_test(wire_length_of_overlong_classic_frame_counts_eight_bytes),
        cmocka_unit_test(wire_time_of_published_frame_is_exact),
        cmocka_unit_test(wire_time_of_switched_frame_uses_both_rates),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
