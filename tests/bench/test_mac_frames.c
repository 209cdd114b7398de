/* SPDX-License-Identifier: MIT
 *
 * Frames on an ideal wire: content, exact length, CRC and stuffing of known frames, and what a receiver makes of bits that a
 * second, slow drawing of the standard (wire_drawing.h) puts before it.
 */
#include "mac_bus.h"

#include "cases.h"
#include "random_event.h"
#include "wire_drawing.h"

#include "loomwatch/core/crc.h"
#include "loomwatch/core/wire.h"

static const struct lw_mac_options with_fd = { .has_fd = true }, classic = { 0 };

/* Sends one frame from unit 0 on an idle bus; returns its bits from start of frame to end of frame. */
static unsigned send_alone(struct mac_bus *bus, const struct lw_frame *frame)
{
    bus_queue(bus, 0, frame);
    bus_bit(bus);                    /* idle: the frame begins with the next bit */
    uint64_t start = bus->n_bits;
    bus_run_until_sent(bus, 0);
    unsigned n = (unsigned)(bus->n_bits - start);
    assert_int_equal(bus_settle(bus, 20), LW_INTERMISSION_BITS);
    return n;
}

static struct lw_frame random_plain(uint64_t *seed, bool is_fd)
{
    struct lw_frame frame;
    do
        frame = random_frame(seed);
    while (is_fd != ((frame.flags & LW_FRAME_FD) != 0));
    if (random_below(seed, 3) == 0)  /* much to stuff */
        memset(frame.data, random_below(seed, 2) ? 0xFF : 0, frame.len);
    if (frame.flags & LW_FRAME_REMOTE)
        frame.len = (uint8_t)random_below(seed, 9);
    return frame;
}

static void check_random_frames(bool is_fd, uint64_t seed, unsigned n)
{
    struct mac_bus bus;
    bus_begin(&bus, 3, with_fd);
    for (unsigned i = 1; i <= n; i++) {
        struct lw_frame frame = random_plain(&seed, is_fd);
        struct lw_wire_length length = lw_wire_length(&frame);
        assert_int_equal(send_alone(&bus, &frame), length.nominal_bits + length.data_bits);
        for (unsigned unit = 0; unit < 3; unit++) {
            bus_assert_same_frame(&bus.unit[unit].frame, &frame);
            assert_int_equal(bus.unit[unit].n_errors, 0);
            assert_int_equal(unit == 0 ? bus.unit[unit].n_sent : bus.unit[unit].n_received, i);
        }
    }
    bus_end(&bus);
}

static void classic_frames_at_random_arrive_unchanged_with_exact_length(void **state)
{
    (void)state;
    check_random_frames(false, 0xC1A, 4000);
}

static void fd_frames_at_random_arrive_unchanged_with_exact_length(void **state)
{
    (void)state;
    check_random_frames(true, 0xFD1, 4000);
}

#define EIGHT(b) { b, b, b, b, b, b, b, b }

static void known_classic_frames_have_calculated_stuff_bits_and_length(void **state)
{
    (void)state;
    /* Calculated with two independent methods (shift register, long division). */
    static const struct {
        struct lw_frame frame;
        unsigned n_stuff, n_bits;
    } rows[] = {
        { { 0x000, 0, 0, { 0 } }, 6, 50 },
        { { 0x7FF, 0, 0, { 0 } }, 3, 47 },
        { { 0x123, 0, 0, { 0 } }, 1, 45 },
        { { 0x123, LW_FRAME_REMOTE, 8, { 0 } }, 1, 45 },
        { { 0x014, 0, 1, { 1 } }, 3, 55 },
        { { 0x123, 0, 8, { 1, 2, 3, 4, 5, 6, 7, 8 } }, 8, 116 },
        { { 0x000, 0, 8, EIGHT(0x00) }, 16, 124 },
        { { 0x7FF, 0, 8, EIGHT(0xFF) }, 15, 123 },
        { { 0x00000000, LW_FRAME_EXTENDED, 0, { 0 } }, 7, 71 },
        { { 0x18FEF100, LW_FRAME_EXTENDED, 8, EIGHT(0xFF) }, 15, 143 },
        { { 0x1FFFFFFF, LW_FRAME_EXTENDED, 8, EIGHT(0xFF) }, 18, 146 },
    };
    struct mac_bus bus;
    bus_begin(&bus, 2, classic);
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        unsigned n_stuff = 0, n_bits = 0;
        bus_queue(&bus, 0, &rows[i].frame);
        bus_bit(&bus);
        do {
            bus_bit(&bus);
            n_bits++;
            n_stuff += lw_mac_last_was_stuff(bus.unit[1].mac);
        } while (!(bus.unit[0].report & LW_MAC_SENT) && n_bits < 200);
        assert_int_equal(n_bits, rows[i].n_bits);
        assert_int_equal(n_stuff, rows[i].n_stuff);
        bus_settle(&bus, 20);
        bus_assert_same_frame(&bus.unit[1].frame, &rows[i].frame);
    }
    bus_end(&bus);
}

/* Plays drawn, unstuffed bits of a classic frame, with CRC and an acknowledge by another unit, to one controller. */
static unsigned play_drawing(struct lw_mac *mac, struct drawing *drawing)
{
    static struct drawing sent;
    unsigned reports = 0;
    draw_crc15(drawing);
    stuff_drawing(drawing, &sent);
    draw(&sent, "1" "01" "1111111" "111");
    for (size_t i = 0; i < sent.n; i++) {
        assert_true(i < sent.n - 12 || i == sent.n - 12 || !lw_mac_drives_dominant(mac));
        reports |= lw_mac_sample(mac, sent.text[i] == '0');
    }
    return reports;
}

static void frame_drawn_after_the_standard_is_received_and_acknowledged(void **state)
{
    (void)state;
    static struct drawing drawing;
    struct lw_mac *mac = lw_mac_create(&classic);
    uint64_t seed = 0xD1;
    for (unsigned i = 0; i < 11; i++)
        lw_mac_sample(mac, false);
    for (unsigned i = 0; i < 3000; i++) {
        struct lw_frame frame = random_plain(&seed, false);
        draw_classic(&drawing, &frame);
        assert_int_equal(play_drawing(mac, &drawing), LW_MAC_RECEIVED | LW_MAC_FRAME_BEGINS);
        bus_assert_same_frame(lw_mac_frame(mac), &frame);
    }
    lw_mac_destroy(mac);
}

static void dominant_srr_is_accepted(void **state)
{
    (void)state;
    /* Addendum of 1997 to the Bosch specification. id 0x15555555: base 10101010101, extension 010101010101010101. */
    static struct drawing drawing;
    struct lw_mac *mac = lw_mac_create(&classic);
    for (unsigned i = 0; i < 11; i++)
        lw_mac_sample(mac, false);
    drawing.n = 0;
    draw(&drawing, "0" "10101010101" "0" "1" "010101010101010101" "0" "00" "0001" "11000011");
    assert_true(play_drawing(mac, &drawing) & LW_MAC_RECEIVED);
    const struct lw_frame expected = { 0x15555555, LW_FRAME_EXTENDED, 1, { 0xC3 } };
    bus_assert_same_frame(lw_mac_frame(mac), &expected);
    lw_mac_destroy(mac);
}

static void length_code_above_eight_is_read_as_eight(void **state)
{
    (void)state;
    /* Addendum of 1997 to the Bosch specification */
    static const char *const codes[] = { "1000", "1001", "1100", "1111" };
    static struct drawing drawing;
    struct lw_mac *mac = lw_mac_create(&classic);
    for (unsigned i = 0; i < 11; i++)
        lw_mac_sample(mac, false);
    for (size_t i = 0; i < N_ROWS(codes); i++) {
        drawing.n = 0;
        draw(&drawing, "0" "00100100011" "0" "00");
        draw(&drawing, codes[i]);
        for (unsigned byte = 1; byte <= 8; byte++)
            draw_number(&drawing, byte, 8);
        assert_true(play_drawing(mac, &drawing) & LW_MAC_RECEIVED);
        const struct lw_frame expected = { 0x123, 0, 8, { 1, 2, 3, 4, 5, 6, 7, 8 } };
        bus_assert_same_frame(lw_mac_frame(mac), &expected);
    }
    lw_mac_destroy(mac);
}

static void fd_rate_switches_behind_brs_and_behind_crc_delimiter(void **state)
{
    (void)state;
    const struct lw_frame frame = { 0x321, LW_FRAME_FD | LW_FRAME_BRS, 24, { 0xA5, 0x00, 0xFF } };
    struct mac_bus bus;
    bus_begin(&bus, 2, with_fd);
    bus_queue(&bus, 0, &frame);
    bus_bit(&bus);
    unsigned n_data = 0;
    do {
        assert_int_equal(lw_mac_rate(bus.unit[0].mac), lw_mac_rate(bus.unit[1].mac));
        bool is_data = lw_mac_rate(bus.unit[0].mac) == LW_MAC_DATA;
        bus_bit(&bus);
        n_data += is_data;
        enum lw_mac_field field = lw_mac_last_field(bus.unit[1].mac);
        if (field == LW_IN_DATA || field == LW_IN_CRC || field == LW_IN_CRC_DELIMITER)
            assert_true(is_data);
        if (field == LW_IN_ID || field == LW_IN_ACK || field == LW_IN_EOF)
            assert_false(is_data);
    } while (!(bus.unit[0].report & LW_MAC_SENT));
    /* The CRC delimiter begins at the data rate and changes at its sample point. */
    assert_int_equal(n_data, lw_wire_length(&frame).data_bits + 1);
    bus_end(&bus);
}

static void fd_frame_of_error_passive_sender_says_so(void **state)
{
    (void)state;
    const struct lw_frame frame = { 0x321, LW_FRAME_FD, 1, { 0x11 } };
    struct mac_bus bus;
    bus_begin(&bus, 2, with_fd);
    bus_set_counters(&bus, 0, 128, 0);
    bus_queue(&bus, 0, &frame);
    bus_run_until_sent(&bus, 0);
    assert_int_equal(bus.unit[1].frame.flags, LW_FRAME_FD | LW_FRAME_ESI);
    bus_end(&bus);
}

static void fd_lengths_between_codes_are_padded(void **state)
{
    (void)state;
    const struct lw_frame frame = { 0x321, LW_FRAME_FD, 9, { 1, 2, 3, 4, 5, 6, 7, 8, 9 } };
    struct mac_bus bus;
    bus_begin(&bus, 2, with_fd);
    bus_queue(&bus, 0, &frame);
    bus_run_until_sent(&bus, 0);
    assert_int_equal(bus.unit[1].frame.len, 12);
    assert_memory_equal(bus.unit[1].frame.data, frame.data, 12);
    bus_end(&bus);
}

static void fd_frame_on_classic_only_controller_is_form_error_in_reserved_bit(void **state)
{
    (void)state;
    static const struct {
        struct lw_frame frame;
        unsigned place;              /* linux/can/error.h: res0 9, res1 0D */
    } rows[] = { { { 0x555, LW_FRAME_FD, 8, { 1 } }, 0x09 }, { { 0x15555555, LW_FRAME_FD | LW_FRAME_EXTENDED, 8, { 1 } }, 0x0D } };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct mac_bus bus;
        bus_begin(&bus, 2, with_fd);
        bus_replace(&bus, 1, classic);
        bus_queue(&bus, 0, &rows[i].frame);
        bus_bits(&bus, 60);
        assert_int_equal(bus.unit[1].first_error.kind, LW_MAC_FORM_ERROR);
        assert_int_equal(bus.unit[1].first_error.place, rows[i].place);
        bus_bits(&bus, 3000);
        assert_int_equal(bus.unit[0].n_sent, 0);     /* nobody here can acknowledge it */
        bus_end(&bus);
    }
}

static void fd_acknowledge_one_bit_late_is_taken(void **state)
{
    (void)state;
    /* ISO 11898-1:2015, from memory: two bits of acknowledge slot are tolerated in FD frames, one in classic ones. */
    static const uint8_t flags[] = { LW_FRAME_FD, 0 };
    for (size_t i = 0; i < N_ROWS(flags); i++) {
        const struct lw_frame frame = { 0x555, flags[i], 1, { 0x55 } };
        struct mac_bus bus;
        bus_begin(&bus, 1, with_fd);
        bus_queue(&bus, 0, &frame);
        while (lw_mac_last_field(bus.unit[0].mac) != LW_IN_CRC_DELIMITER)
            bus_bit(&bus);
        bus_bit(&bus);
        assert_int_equal(bus.unit[0].n_errors, flags[i] == 0);
        bus.is_held_dominant = true;
        bus_bit(&bus);
        bus.is_held_dominant = false;
        bus_bits(&bus, 1 + 7);
        assert_int_equal(bus.unit[0].n_sent, flags[i] != 0);
        bus_end(&bus);
    }
}

static void stuff_count_or_crc_misread_by_fd_receiver_is_crc_error(void **state)
{
    (void)state;
    const struct lw_frame frame = { 0x555, LW_FRAME_FD, 20, { 0x5A } };
    unsigned n_crc = 0, n_form = 0;
    for (unsigned at = 0; at < 4 + 21 + 7; at++) {
        struct mac_bus bus;
        bus_begin(&bus, 3, with_fd);
        bus_queue(&bus, 0, &frame);
        while (lw_mac_last_field(bus.unit[2].mac) != LW_IN_DATA)
            bus_bit(&bus);
        unsigned before = lw_wire_length(&frame).nominal_bits - 10 - (4 + 21 + 7);
        while (bus.n_bits < 1 + before + at)         /* one idle bit before the frame */
            bus_bit(&bus);
        bus.unit[2].misreads = true;
        bus_bit(&bus);
        assert_int_equal(lw_mac_last_field(bus.unit[0].mac), LW_IN_CRC);
        bus_run_until_sent(&bus, 0);
        n_crc += bus.unit[2].first_error.kind == LW_MAC_CRC_ERROR;
        n_form += bus.unit[2].first_error.kind == LW_MAC_FORM_ERROR;
        assert_int_equal(bus.unit[2].first_error.place, 0x08);   /* linux/can/error.h: CRC sequence */
        bus_settle(&bus, 100);
        assert_int_equal(bus.unit[2].n_received, 1);
        bus_end(&bus);
    }
    /* A wrong fixed stuff bit, or a bit before one that makes them equal, is of wrong form; the rest shows in the sums. */
    assert_int_equal(n_form, 7 + 6);
    assert_int_equal(n_crc, 4 + 21 - 6);
}

static void frames_a_controller_cannot_send_are_refused(void **state)
{
    (void)state;
    static const struct lw_frame bad[] = {
        { 0x800, 0, 0, { 0 } }, { 0x20000000, LW_FRAME_EXTENDED, 0, { 0 } }, { 0x1, LW_FRAME_FD, 0, { 0 } },
    };
    const struct lw_frame good = { 0x7FF, 0, 8, { 0 } };
    struct lw_mac *mac = lw_mac_create(&classic);
    for (size_t i = 0; i < N_ROWS(bad); i++)
        assert_int_not_equal(lw_mac_send(mac, &bad[i]), 0);
    for (unsigned i = 0; i < LW_MAC_QUEUE; i++)
        assert_int_equal(lw_mac_send(mac, &good), 0);
    assert_int_not_equal(lw_mac_send(mac, &good), 0);
    lw_mac_drop_queue(mac);
    assert_false(lw_mac_has_to_send(mac));
    lw_mac_reset(mac, &(struct lw_mac_options){ .is_listen_only = true });
    assert_int_not_equal(lw_mac_send(mac, &good), 0);
    lw_mac_destroy(mac);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(classic_frames_at_random_arrive_unchanged_with_exact_length),
        cmocka_unit_test(fd_frames_at_random_arrive_unchanged_with_exact_length),
        cmocka_unit_test(known_classic_frames_have_calculated_stuff_bits_and_length),
        cmocka_unit_test(frame_drawn_after_the_standard_is_received_and_acknowledged),
        cmocka_unit_test(dominant_srr_is_accepted),
        cmocka_unit_test(length_code_above_eight_is_read_as_eight),
        cmocka_unit_test(fd_rate_switches_behind_brs_and_behind_crc_delimiter),
        cmocka_unit_test(fd_frame_of_error_passive_sender_says_so),
        cmocka_unit_test(fd_lengths_between_codes_are_padded),
        cmocka_unit_test(fd_frame_on_classic_only_controller_is_form_error_in_reserved_bit),
        cmocka_unit_test(fd_acknowledge_one_bit_late_is_taken),
        cmocka_unit_test(stuff_count_or_crc_misread_by_fd_receiver_is_crc_error),
        cmocka_unit_test(frames_a_controller_cannot_send_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
