/* SPDX-License-Identifier: MIT
 *
 * One bit of a frame misread by the sender, by a receiver, by all: which error, where, what the counters say, and that the
 * frame arrives exactly once, but for the known case at the end of frame. Rules: Bosch CAN Specification 2.0 part B, chapters
 * 6 and 8; places: linux/can/error.h.
 */
#include "mac_bus.h"

#include "cases.h"

#include "loomwatch/core/wire.h"

static const struct lw_mac_options with_fd = { .has_fd = true };

struct run_of_places {
    uint8_t place, n_bits;           /* without stuff bits; a stuff bit has the place of the bit behind it */
};

/* The frame formats of ISO 11898-1, as linux/can/error.h names their bits. */
#define BASE_ID { 0x03, 1 }, { 0x02, 8 }, { 0x06, 3 }, { 0x04, 1 }, { 0x05, 1 }
#define EXTENDED_ID BASE_ID, { 0x07, 5 }, { 0x0F, 8 }, { 0x0E, 5 }, { 0x0C, 1 }
#define ENDING { 0x18, 1 }, { 0x19, 1 }, { 0x1B, 1 }, { 0x1A, 7 }

static const struct flipped_frame {
    struct lw_frame frame;
    unsigned n_arbitration;          /* bits, start of frame included, stuff bits not */
    struct run_of_places places[24];
} frames[] = {
    { { 0x123, 0, 2, { 0x00, 0xFF } }, 13, { BASE_ID, { 0x09, 1 }, { 0x0B, 4 }, { 0x0A, 16 }, { 0x08, 15 }, ENDING } },
    { { 0x7F0, 0, 0, { 0 } }, 13, { BASE_ID, { 0x09, 1 }, { 0x0B, 4 }, { 0x08, 15 }, ENDING } },
    { { 0x01F, LW_FRAME_REMOTE, 3, { 0 } }, 13, { BASE_ID, { 0x09, 1 }, { 0x0B, 4 }, { 0x08, 15 }, ENDING } },
    { { 0x18FEF100, LW_FRAME_EXTENDED, 1, { 0x80 } }, 33,
      { EXTENDED_ID, { 0x0D, 1 }, { 0x09, 1 }, { 0x0B, 4 }, { 0x0A, 8 }, { 0x08, 15 }, ENDING } },
    { { 0x0F0, LW_FRAME_FD | LW_FRAME_BRS, 3, { 0x00, 0x01, 0xFE } }, 13,
      { BASE_ID, { 0x09, 2 }, { 0x00, 2 }, { 0x0B, 4 }, { 0x0A, 24 }, { 0x08, 21 }, ENDING } },
    { { 0x1FFFFFF0, LW_FRAME_FD | LW_FRAME_EXTENDED, 20, { 0x55 } }, 33,
      { EXTENDED_ID, { 0x0D, 1 }, { 0x09, 1 }, { 0x00, 2 }, { 0x0B, 4 }, { 0x0A, 160 }, { 0x08, 25 }, ENDING } },
};

/* What an undisturbed frame has at each bit. */
struct bit_facts {
    bool is_dominant, is_stuff, is_arbitration;
    uint8_t place;
};

static struct bit_facts facts[LW_WIRE_MAX_BITS];
static unsigned n_facts;

static unsigned place_at(const struct flipped_frame *row, unsigned n)
{
    const struct run_of_places *run = row->places;
    for (; n >= run->n_bits; run++)
        n -= run->n_bits;
    return run->place;
}

static void learn(const struct flipped_frame *row)
{
    struct mac_bus bus;
    unsigned n_plain = 0;
    bus_begin(&bus, 3, with_fd);
    bus_queue(&bus, 0, &row->frame);
    bus_bit(&bus);
    n_facts = 0;
    do {
        struct bit_facts *bit = &facts[n_facts++];
        bus_bit(&bus);
        *bit = (struct bit_facts){
            .is_dominant = bus.was_dominant,
            .is_stuff = lw_mac_last_was_stuff(bus.unit[1].mac),
            .place = (uint8_t)place_at(row, n_plain),
            /* Rule 3: a stuff bit located before the RTR bit */
            .is_arbitration = n_plain < row->n_arbitration,
        };
        if (bit->is_stuff && lw_mac_last_field(bus.unit[1].mac) == LW_IN_CRC)
            bit->place = 0x08;
        n_plain += !bit->is_stuff;
    } while (!(bus.unit[0].report & LW_MAC_SENT));
    assert_int_equal(n_facts, lw_wire_length(&row->frame).nominal_bits + lw_wire_length(&row->frame).data_bits);
    bus_end(&bus);
}

static void play_misread(struct mac_bus *bus, const struct flipped_frame *row, unsigned at, unsigned who_mask)
{
    bus_begin(bus, 3, with_fd);
    bus_queue(bus, 0, &row->frame);
    bus_bits(bus, 1 + at);
    for (unsigned unit = 0; unit < 3; unit++)
        bus->unit[unit].misreads = who_mask >> unit & 1;
    assert_true(bus_settle(bus, 6000) < 6000);
    assert_int_equal(bus->unit[0].n_sent, 1);
    bus_assert_same_frame(&bus->unit[1].frame, &row->frame);
    bus_assert_same_frame(&bus->unit[2].frame, &row->frame);
    for (unsigned unit = 0; unit < 3; unit++)
        assert_false(lw_mac_has_to_send(bus->unit[unit].mac));
}

static bool is_late_fd_acknowledge(const struct flipped_frame *row, unsigned at)
{
    return row->frame.flags & LW_FRAME_FD && facts[at].place == 0x1B;
}

static void assert_error(const struct bus_unit *unit, unsigned kind, unsigned place, bool is_transmitter)
{
    assert_true(unit->n_errors > 0);
    assert_int_equal(unit->first_error.kind, kind);
    assert_int_equal(unit->first_error.place, place);
    assert_int_equal(unit->first_error.is_transmitter, is_transmitter);
}

/* Sender misread bit at: the error that chapter 6 gives it. */
static void check_sender(const struct mac_bus *bus, const struct flipped_frame *row, unsigned at)
{
    const struct bit_facts *bit = &facts[at];
    const struct bus_unit *sender = &bus->unit[0];
    unsigned n_twice = at + 2 >= n_facts;    /* receivers took the frame at the last but one bit */
    if (is_late_fd_acknowledge(row, at)) {
        assert_int_equal(sender->n_errors, 0);
    } else if (bit->is_arbitration && !bit->is_dominant && !bit->is_stuff) {
        assert_int_equal(sender->n_lost, 1);
        bus_assert_counters(bus, 0, 0, lw_mac_confinement(sender->mac)->rec);
    } else if (bit->is_arbitration && !bit->is_dominant) {
        assert_error(sender, LW_MAC_STUFF_ERROR, bit->place, true);
        bus_assert_counters(bus, 0, 0, 0);           /* rule 3, exception 2 */
    } else {
        assert_error(sender, bit->place == 0x19 ? LW_MAC_ACK_ERROR : LW_MAC_BIT_ERROR, bit->place, true);
        assert_int_equal(sender->first_error.sent_dominant, bit->is_dominant && bit->place != 0x19);
        bus_assert_counters(bus, 0, 8 - 1, 0);       /* rules 3 and 7 */
    }
    for (unsigned unit = 1; unit < 3; unit++) {
        assert_int_equal(bus->unit[unit].n_received, 1 + n_twice);
        assert_int_equal(lw_mac_confinement(bus->unit[unit].mac)->tec, 0);
    }
}

static void bit_misread_by_sender_is_its_error_at_its_place(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS(frames); i++) {
        learn(&frames[i]);
        for (unsigned at = 0; at < n_facts; at++) {
            struct mac_bus bus;
            play_misread(&bus, &frames[i], at, 1);
            check_sender(&bus, &frames[i], at);
            bus_end(&bus);
        }
    }
}

/* Errors of receivers whose kind follows from the place alone. */
static void check_receiver_ending(const struct mac_bus *bus, unsigned at)
{
    const struct bus_unit *receiver = &bus->unit[1];
    switch (facts[at].place) {
    case 0x18:
    case 0x1B:
        assert_error(receiver, LW_MAC_FORM_ERROR, facts[at].place, false);
        break;
    case 0x19:
        assert_error(receiver, LW_MAC_BIT_ERROR, 0x19, false);   /* its own acknowledge did not come back */
        break;
    case 0x1A:
        if (at < n_facts - 1)
            assert_error(receiver, LW_MAC_FORM_ERROR, 0x1A, false);
        else
            assert_int_equal(receiver->n_errors, 0);             /* addendum of 1997: overload */
        break;
    default:
        assert_int_not_equal(receiver->first_error.kind, LW_MAC_BIT_ERROR);
        assert_int_not_equal(receiver->first_error.kind, LW_MAC_ACK_ERROR);
    }
}

/* A receiver's flag reaches the sender: a bit error; but on a recessive bit of the arbitration field a loss, or there on a
 * recessive stuff bit the stuff error of rule 3, exception 2. */
static void check_sender_disturbed(const struct mac_bus *bus, unsigned at)
{
    const struct bus_unit *sender = &bus->unit[0];
    if (sender->n_lost > 0) {
        assert_true(facts[at].is_arbitration);
        bus_assert_counters(bus, 0, 0, 1);
    } else if (sender->first_error.kind == LW_MAC_STUFF_ERROR) {
        assert_true(facts[at].is_arbitration);
        bus_assert_counters(bus, 0, 0, 0);
    } else {
        assert_int_equal(sender->first_error.kind, LW_MAC_BIT_ERROR);
        bus_assert_counters(bus, 0, 8 - 1, 0);
    }
}

static void check_receiver(const struct mac_bus *bus, const struct flipped_frame *row, unsigned at)
{
    if (is_late_fd_acknowledge(row, at)) {
        assert_int_equal(bus->unit[1].n_errors, 0);
        return;
    }
    check_receiver_ending(bus, at);
    assert_int_equal(bus->unit[1].n_received, 1);
    assert_int_equal(bus->unit[2].n_received, at == n_facts - 2 ? 2 : 1);   /* the known case */
    if (at == n_facts - 1) {
        for (unsigned unit = 0; unit < 3; unit++)
            bus_assert_counters(bus, unit, 0, 0);
        return;
    }
    check_sender_disturbed(bus, at);
    bus_assert_counters(bus, 2, 0, 0);
    /* Rule 1, then rule 2: it was the first to see it; all others' flags follow its own. The good frame takes one off. */
    bus_assert_counters(bus, 1, 0, 1 + 8 - 1);
}

static void bit_misread_by_receiver_is_its_error_and_is_repeated(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS(frames); i++) {
        learn(&frames[i]);
        for (unsigned at = 1; at < n_facts; at++) {      /* a start of frame missed is no error yet */
            struct mac_bus bus;
            play_misread(&bus, &frames[i], at, 2);
            check_receiver(&bus, &frames[i], at);
            bus_end(&bus);
        }
    }
}

static void bit_misread_by_all_is_repeated(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS(frames); i++) {
        learn(&frames[i]);
        for (unsigned at = 0; at < n_facts; at++) {
            struct mac_bus bus;
            play_misread(&bus, &frames[i], at, 7);
            unsigned n = at == n_facts - 1 ? 2 : 1;
            assert_int_equal(bus.unit[1].n_received, n);
            assert_int_equal(bus.unit[2].n_received, n);
            bus_end(&bus);
        }
    }
}

static void crc_error_is_flagged_behind_the_acknowledge_delimiter(void **state)
{
    (void)state;
    /* Bosch CAN Specification 2.0 part B, 6.2 */
    struct mac_bus bus;
    learn(&frames[0]);
    unsigned n_crc = 0;
    for (unsigned at = 18; at < n_facts - 10; at++) {
        play_misread(&bus, &frames[0], at, 2);
        n_crc += bus.unit[1].first_error.kind == LW_MAC_CRC_ERROR;
        if (bus.unit[1].first_error.kind == LW_MAC_CRC_ERROR)
            assert_int_equal(bus.unit[1].first_error.place, 0x08);
        bus_end(&bus);
    }
    assert_true(n_crc > 5);
    bus_begin(&bus, 3, with_fd);
    const struct lw_frame plain = { 0x555, 0, 1, { 0x55 } };     /* nothing to stuff: a wrong bit shows in the CRC alone */
    bus_queue(&bus, 0, &plain);
    bus_bits(&bus, 1 + 22);
    bus.unit[1].misreads = true;
    while (lw_mac_last_field(bus.unit[1].mac) != LW_IN_ACK_DELIMITER) {
        bus_bit(&bus);
        assert_true(lw_mac_last_field(bus.unit[1].mac) == LW_IN_ACK_DELIMITER || bus.unit[1].n_errors == 0);
    }
    assert_error(&bus.unit[1], LW_MAC_CRC_ERROR, 0x08, false);
    bus_end(&bus);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bit_misread_by_sender_is_its_error_at_its_place),
        cmocka_unit_test(bit_misread_by_receiver_is_its_error_and_is_repeated),
        cmocka_unit_test(bit_misread_by_all_is_repeated),
        cmocka_unit_test(crc_error_is_flagged_behind_the_acknowledge_delimiter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
