/* SPDX-License-Identifier: MIT
 *
 * The longest a frame can be: published values, and a search for frames that are longer.
 */
#include "loomwatch/core/wire.h"

#include "cases.h"
#include "random_event.h"

static unsigned bits_of(struct lw_wire_length length)
{
    return length.nominal_bits + length.data_bits;
}

static unsigned worst_with_intermission(uint8_t flags, unsigned len)
{
    return bits_of(lw_wire_worst_length(flags, len)) + LW_INTERMISSION_BITS;
}

static void worst_length_of_classic_frame_is_the_published_one(void **state)
{
    (void)state;
    /* 55 + 10 n and 80 + 10 n bits: public source citing Davis et al. 2007; kernel include/linux/can/length.h agrees. */
    for (unsigned n = 0; n <= LW_CLASSIC_MAX_LEN; n++) {
        assert_int_equal(worst_with_intermission(0, n), 55 + 10 * n);
        assert_int_equal(worst_with_intermission(LW_FRAME_EXTENDED, n), 80 + 10 * n);
        assert_int_equal(worst_with_intermission(LW_FRAME_REMOTE, n), 55);
    }
    /* kernel can_frame_bits: 132 and 157 bits without intermission. SAE J1939-21:2006 figure 1 has 127 and 150, which is
     * the rule of one in five. */
    assert_int_equal(lw_wire_worst_length(0, 8).nominal_bits, 132);
    assert_int_equal(lw_wire_worst_length(LW_FRAME_EXTENDED, 8).nominal_bits, 157);
    assert_int_equal(lw_wire_worst_length(0, 8).stuff_bits, 24);
}

static void worst_length_of_fd_frame_follows_the_kernels_macro(void **state)
{
    (void)state;
    /* Calculated from the macros of kernel include/linux/can/length.h (2023 form): header 22 or 41, CRC field 28 or 33,
     * footer 9, intermission 3, one stuff bit in four of header and data. */
    static const struct {
        unsigned len, standard, extended;
    } rows[] = { { 0, 67, 91 }, { 8, 147, 171 }, { 16, 227, 251 }, { 20, 272, 296 }, { 64, 712, 736 } };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        assert_int_equal(worst_with_intermission(LW_FRAME_FD, rows[i].len), rows[i].standard);
        assert_int_equal(worst_with_intermission(LW_FRAME_FD | LW_FRAME_EXTENDED, rows[i].len), rows[i].extended);
        assert_int_equal(worst_with_intermission(LW_FRAME_FD | LW_FRAME_BRS, rows[i].len), rows[i].standard);
    }
}

static void worst_length_of_overlong_frame_is_that_of_the_longest(void **state)
{
    (void)state;
    assert_int_equal(worst_with_intermission(0, 300), 135);
    assert_int_equal(worst_with_intermission(LW_FRAME_FD, 300), 712);
}

static unsigned longest_of_all_identifiers(unsigned len, unsigned data)
{
    unsigned longest = 0;
    for (uint32_t id = 0; id <= LW_STANDARD_ID_MAX; id++) {
        struct lw_frame frame = { .id = id, .len = (uint8_t)len, .data = { (uint8_t)data } };
        unsigned bits = lw_wire_length(&frame).nominal_bits;
        longest = bits > longest ? bits : longest;
    }
    return longest;
}

static void worst_length_holds_for_every_short_frame(void **state)
{
    (void)state;
    unsigned longest = 0;
    for (unsigned data = 0; data < 256; data++) {
        unsigned bits = longest_of_all_identifiers(1, data);
        longest = bits > longest ? bits : longest;
    }
    print_message("  1 byte: %u bits found, bound %u\n", longest, bits_of(lw_wire_worst_length(0, 1)));
    assert_in_range(longest, 52 + 5, bits_of(lw_wire_worst_length(0, 1)));
    assert_in_range(longest_of_all_identifiers(0, 0), 44 + 4, bits_of(lw_wire_worst_length(0, 0)));
}

static struct lw_frame random_start(uint64_t *seed)
{
    static const uint8_t lengths[] = { 0, 1, 2, 4, 8, 12, 16, 20, 32, 64 };
    static const uint8_t formats[] = { 0, LW_FRAME_EXTENDED, LW_FRAME_FD, LW_FRAME_FD | LW_FRAME_EXTENDED,
                                       LW_FRAME_FD | LW_FRAME_BRS, LW_FRAME_FD | LW_FRAME_BRS | LW_FRAME_EXTENDED };
    struct lw_frame frame = { .flags = formats[random_below(seed, N_ROWS(formats))] };
    frame.len = lengths[random_below(seed, frame.flags & LW_FRAME_FD ? N_ROWS(lengths) : 5)];
    /* 1111 0000 is what stuffing dislikes most: each stuff bit begins the next run. */
    memset(frame.data, (int)(0xC3C3C300 >> random_below(seed, 8)) & 0xFF, sizeof(frame.data));
    frame.id = random_below(seed, frame.flags & LW_FRAME_EXTENDED ? LW_EXTENDED_ID_MAX + 1u : LW_STANDARD_ID_MAX + 1u);
    return frame;
}

static void turn_one_bit(uint64_t *seed, struct lw_frame *frame)
{
    unsigned n_id = frame->flags & LW_FRAME_EXTENDED ? 29 : 11;
    unsigned bit = random_below(seed, n_id + 8u * frame->len);
    if (bit < n_id)
        frame->id ^= 1u << bit;
    else
        frame->data[(bit - n_id) / 8] ^= (uint8_t)(1u << (bit - n_id) % 8);
}

/* What a sender that wants to be long would do: turns bits as long as the frame does not get shorter. Returns by how many
 * bits it stays below the bound. */
static unsigned climb(uint64_t *seed)
{
    struct lw_frame best = random_start(seed);
    struct lw_wire_length worst = lw_wire_worst_length(best.flags, best.len);
    for (unsigned step = 0; step < 1500; step++) {
        struct lw_frame next = best;
        turn_one_bit(seed, &next);
        struct lw_wire_length length = lw_wire_length(&next);
        if (bits_of(length) >= bits_of(lw_wire_length(&best)))
            best = next;
        assert_true(bits_of(length) <= bits_of(worst));
        assert_true(length.nominal_bits <= worst.nominal_bits);
        assert_true(length.stuff_bits <= worst.stuff_bits);
    }
    return bits_of(worst) - bits_of(lw_wire_length(&best));
}

static void worst_length_withstands_frames_that_want_to_be_long(void **state)
{
    (void)state;
    uint64_t seed = 0x5AFE;
    unsigned nearest = UINT16_MAX;
    for (unsigned round = 0; round < 120; round++) {
        unsigned below = climb(&seed);
        nearest = below < nearest ? below : nearest;
    }
    print_message("  nearest to the bound: %u bits below\n", nearest);
    assert_true(nearest <= 2);    /* a bound that nothing comes near would be a poor one, or the search would be */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(worst_length_of_classic_frame_is_the_published_one),
        cmocka_unit_test(worst_length_of_fd_frame_follows_the_kernels_macro),
        cmocka_unit_test(worst_length_of_overlong_frame_is_that_of_the_longest),
        cmocka_unit_test(worst_length_holds_for_every_short_frame),
        cmocka_unit_test(worst_length_withstands_frames_that_want_to_be_long),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
