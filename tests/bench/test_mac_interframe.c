/* SPDX-License-Identifier: MIT
 *
 * Between frames: intermission, overload, suspend transmission, joining, listening only, and where a hard synchronisation is
 * due. Sources: Bosch CAN Specification 2.0 part B, 3.1.4, 3.1.5, addendum of 1997; ISO 11898-1:2003.
 */
#include "mac_bus.h"

#include "cases.h"

#include "loomwatch/core/wire.h"

static const struct lw_mac_options plain = { 0 }, with_fd = { .has_fd = true }, listening = { .is_listen_only = true };
static const struct lw_frame frame = { 0x555, 0, 1, { 0x55 } }, other = { 0x2AA, 0, 1, { 0xAA } };

static void assert_all_clean(const struct mac_bus *bus)
{
    for (unsigned i = 0; i < bus->n; i++) {
        assert_int_equal(bus->unit[i].n_errors, 0);
        bus_assert_counters(bus, i, 0, 0);
    }
}

static void hold_one_bit(struct mac_bus *bus)
{
    bus->is_held_dominant = true;
    bus_bit(bus);
    bus->is_held_dominant = false;
}

/* Recessive bits between the end of a frame and the next start of frame. */
static unsigned gap_before_next_frame(struct mac_bus *bus, unsigned unit)
{
    unsigned n = 0, n_begun = bus->unit[unit].n_begun;
    while (bus->unit[unit].n_begun == n_begun && n < 1000) {
        bus_bit(bus);
        n++;
    }
    return n - 1;
}

static void frames_in_a_row_are_three_bits_apart(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 2, plain);
    bus_queue(&bus, 0, &frame);
    bus_queue(&bus, 0, &frame);
    bus_run_until_sent(&bus, 0);
    assert_int_equal(gap_before_next_frame(&bus, 0), 3);
    bus_end(&bus);
}

static void passive_sender_waits_eight_bits_more(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 2, plain);
    bus_set_counters(&bus, 0, 200, 0);
    bus_queue(&bus, 0, &frame);
    bus_queue(&bus, 0, &frame);
    bus_run_until_sent(&bus, 0);
    assert_int_equal(gap_before_next_frame(&bus, 0), 3 + 8);
    bus_end(&bus);
}

static void passive_sender_lets_others_go_first_in_its_suspension(void **state)
{
    (void)state;
    /* 0x2AA has the higher priority but its sender is suspended. */
    struct mac_bus bus;
    bus_begin(&bus, 2, plain);
    bus_set_counters(&bus, 0, 200, 0);
    bus_queue(&bus, 0, &other);
    bus_queue(&bus, 0, &other);
    bus_bits(&bus, 5);
    bus_queue(&bus, 1, &frame);
    bus_run_until_sent(&bus, 0);
    bus_run_until_sent(&bus, 1);
    assert_int_equal(bus.unit[0].n_received, 1);
    assert_int_equal(bus.unit[0].n_sent, 1);
    bus_settle(&bus, 1000);
    assert_int_equal(bus.unit[0].n_sent, 2);
    bus_end(&bus);
}

static void passive_sender_does_not_join_at_the_third_intermission_bit(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 2, plain);
    bus_set_counters(&bus, 0, 200, 0);
    bus_queue(&bus, 0, &other);
    bus_queue(&bus, 0, &other);
    bus_bits(&bus, 5);
    bus_queue(&bus, 1, &frame);
    bus_run_until_sent(&bus, 0);
    bus_bits(&bus, 2);
    hold_one_bit(&bus);                              /* unit 1 takes it for its start of frame */
    bus_run_until_sent(&bus, 1);
    assert_int_equal(bus.unit[0].n_received, 1);
    assert_int_equal(bus.unit[1].n_lost, 0);         /* 0x2AA would have won */
    bus_end(&bus);
}

static void passive_receiver_is_not_suspended(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 2, plain);
    bus_set_counters(&bus, 1, 200, 0);
    bus_queue(&bus, 0, &frame);
    bus_bits(&bus, 5);
    bus_queue(&bus, 1, &other);
    bus_run_until_sent(&bus, 0);
    assert_int_equal(gap_before_next_frame(&bus, 1), 3);
    bus_end(&bus);
}

static void dominant_first_or_second_intermission_bit_is_answered_by_overload(void **state)
{
    (void)state;
    for (unsigned at = 0; at < 2; at++) {
        struct mac_bus bus;
        bus_begin(&bus, 3, plain);
        bus_queue(&bus, 0, &frame);
        bus_queue(&bus, 0, &frame);
        bus_run_until_sent(&bus, 0);
        bus_bits(&bus, at);
        hold_one_bit(&bus);
        for (unsigned i = 0; i < 6; i++) {
            assert_true(lw_mac_drives_dominant(bus.unit[1].mac));
            bus_bit(&bus);
            assert_int_equal(lw_mac_last_field(bus.unit[1].mac), LW_IN_OVERLOAD);
        }
        assert_false(lw_mac_drives_dominant(bus.unit[1].mac));
        bus_run_until_sent(&bus, 0);
        assert_int_equal(bus.unit[2].n_received, 2);
        assert_all_clean(&bus);
        bus_end(&bus);
    }
}

static void overload_frames_are_two_at_most(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 3, plain);
    bus_queue(&bus, 0, &frame);
    bus_run_until_sent(&bus, 0);
    for (unsigned n = 1; n <= 3; n++) {
        hold_one_bit(&bus);
        assert_int_equal(bus.unit[1].n_errors, n == 3);
        bus_bits(&bus, 6 + 8);                       /* flag and delimiter, then intermission again */
        assert_int_equal(lw_mac_last_field(bus.unit[1].mac), n == 3 ? LW_IN_ERROR_DELIMITER : LW_IN_OVERLOAD);
    }
    assert_int_equal(bus.unit[1].first_error.kind, LW_MAC_FORM_ERROR);
    assert_int_equal(bus.unit[1].first_error.place, 0x12);   /* linux/can/error.h: intermission */
    bus_settle(&bus, 100);
    assert_int_equal(bus.unit[2].n_received, 1);
    bus_end(&bus);
}

static void dominant_third_intermission_bit_is_start_of_frame(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 3, plain);
    bus_queue(&bus, 0, &frame);
    bus_bits(&bus, 5);
    bus_queue(&bus, 1, &other);
    bus_run_until_sent(&bus, 0);
    bus_bits(&bus, 2);
    hold_one_bit(&bus);
    for (unsigned i = 0; i < 3; i++) {
        assert_true(bus.unit[i].report & LW_MAC_FRAME_BEGINS);
        assert_int_equal(lw_mac_last_field(bus.unit[i].mac), LW_IN_SOF);
    }
    uint64_t start = bus.n_bits - 1;
    bus_run_until_sent(&bus, 1);                     /* which went on with its identifier at once */
    assert_int_equal(bus.n_bits - start, lw_wire_length(&other).nominal_bits);
    assert_int_equal(bus.unit[2].n_received, 2);
    assert_all_clean(&bus);
    bus_end(&bus);
}

static void dominant_last_bit_of_a_delimiter_is_answered_by_overload(void **state)
{
    (void)state;
    /* ISO 11898-1:2003: eighth bit of an error or overload delimiter */
    struct mac_bus bus;
    bus_begin(&bus, 1, plain);
    bus_queue(&bus, 0, &frame);
    while (bus.unit[0].n_errors == 0)
        bus_bit(&bus);
    bus_bits(&bus, 6 + 7);
    bus.unit[0].misreads = true;
    bus_bit(&bus);
    bus_bit(&bus);
    assert_int_equal(lw_mac_last_field(bus.unit[0].mac), LW_IN_OVERLOAD);
    bus_assert_counters(&bus, 0, 8, 0);
    bus_end(&bus);
}

static void dominant_bit_within_a_delimiter_is_form_error(void **state)
{
    (void)state;
    for (unsigned at = 1; at < 7; at++) {
        struct mac_bus bus;
        bus_begin(&bus, 1, plain);
        bus_queue(&bus, 0, &frame);
        while (bus.unit[0].n_errors == 0)
            bus_bit(&bus);
        bus_bits(&bus, 6 + at);
        bus.unit[0].misreads = true;
        bus_bit(&bus);
        assert_int_equal(bus.unit[0].n_errors, 2);
        assert_int_equal(bus.unit[0].last_error.kind, LW_MAC_FORM_ERROR);
        bus_assert_counters(&bus, 0, 16, 0);
        bus_end(&bus);
    }
}

static void joining_takes_eleven_recessive_bits_in_a_row(void **state)
{
    (void)state;
    struct lw_mac *mac = lw_mac_create(&plain);
    assert_int_equal(lw_mac_send(mac, &frame), 0);
    for (unsigned round = 0; round < 20; round++) {
        for (unsigned i = 0; i < 10; i++) {
            assert_int_equal(lw_mac_sample(mac, false), 0);
            assert_false(lw_mac_drives_dominant(mac));
        }
        assert_int_equal(lw_mac_sample(mac, true), 0);
    }
    for (unsigned i = 0; i < 11; i++) {
        assert_false(lw_mac_drives_dominant(mac));
        lw_mac_sample(mac, false);
    }
    assert_true(lw_mac_drives_dominant(mac));
    lw_mac_destroy(mac);
}

static void newcomer_does_not_disturb_a_frame_on_the_wire(void **state)
{
    (void)state;
    for (unsigned at = 1; at < 50; at++) {
        struct mac_bus bus;
        bus_begin(&bus, 3, plain);
        bus_queue(&bus, 0, &frame);
        bus_bits(&bus, at);
        lw_mac_reset(bus.unit[2].mac, &plain);
        bus_queue(&bus, 2, &other);
        bus_run_until_sent(&bus, 0);
        bus_run_until_sent(&bus, 2);
        assert_all_clean(&bus);
        bus_end(&bus);
    }
}

static void listener_never_drives_and_still_receives(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 3, plain);
    bus_replace(&bus, 2, listening);
    bus_queue(&bus, 0, &frame);
    for (unsigned i = 0; i < 500; i++) {
        bus.unit[2].misreads = i % 37 == 36;
        assert_false(lw_mac_drives_dominant(bus.unit[2].mac));
        bus_bit(&bus);
    }
    assert_int_equal(bus.unit[2].n_received + bus.unit[2].n_errors > 0, 1);
    assert_int_equal(bus.unit[0].n_errors, 0);
    bus_end(&bus);
}

static void frame_that_nobody_acknowledges_repeats_before_a_listener(void **state)
{
    (void)state;
    /* Seen with real controllers: first errors, then the identical frame back to back. */
    struct mac_bus bus;
    bus_begin(&bus, 2, plain);
    bus_replace(&bus, 1, listening);
    bus_queue(&bus, 0, &frame);
    while (lw_mac_confinement(bus.unit[0].mac)->tec < 128)
        bus_bit(&bus);
    assert_int_equal(bus.unit[1].n_received, 0);     /* the sender's active flag breaks the acknowledge delimiter */
    bus_bits(&bus, 8);
    assert_int_equal(bus.unit[1].first_error.kind, LW_MAC_FORM_ERROR);
    assert_int_equal(bus.unit[1].first_error.place, 0x1B);
    unsigned n_errors = bus.unit[1].n_errors;
    bus_bits(&bus, 2000);
    assert_int_equal(bus.unit[1].n_errors, n_errors);
    assert_true(bus.unit[1].n_received > 20);        /* passive flags look like the end of a good frame */
    assert_int_equal(bus.unit[0].n_sent, 0);
    bus_end(&bus);
}

static void hard_synchronisation_is_wanted_between_frames_only(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 2, plain);
    bus_queue(&bus, 0, &frame);
    assert_true(lw_mac_wants_hard_sync(bus.unit[1].mac));
    bus_bits(&bus, 2);
    while (!(bus.unit[0].report & LW_MAC_SENT)) {
        assert_false(lw_mac_wants_hard_sync(bus.unit[1].mac));
        bus_bit(&bus);
    }
    assert_false(lw_mac_wants_hard_sync(bus.unit[1].mac));   /* first bit of intermission */
    bus_bit(&bus);
    assert_true(lw_mac_wants_hard_sync(bus.unit[1].mac));
    bus_bits(&bus, 5);
    assert_true(lw_mac_wants_hard_sync(bus.unit[1].mac));
    bus_end(&bus);
}

static void hard_synchronisation_is_wanted_once_in_an_fd_frame_by_its_receivers(void **state)
{
    (void)state;
    const struct lw_frame fd = { 0x555, LW_FRAME_FD, 1, { 0x55 } };
    struct mac_bus bus;
    bus_begin(&bus, 2, with_fd);
    bus_queue(&bus, 0, &fd);
    bus_bits(&bus, 2);
    unsigned n_wanted = 0;
    while (!(bus.unit[0].report & LW_MAC_SENT)) {
        n_wanted += lw_mac_wants_hard_sync(bus.unit[1].mac);
        assert_false(lw_mac_wants_hard_sync(bus.unit[0].mac));
        bus_bit(&bus);
    }
    assert_int_equal(n_wanted, 1);
    bus_end(&bus);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frames_in_a_row_are_three_bits_apart),
        cmocka_unit_test(passive_sender_waits_eight_bits_more),
        cmocka_unit_test(passive_sender_lets_others_go_first_in_its_suspension),
        cmocka_unit_test(passive_sender_does_not_join_at_the_third_intermission_bit),
        cmocka_unit_test(passive_receiver_is_not_suspended),
        cmocka_unit_test(dominant_first_or_second_intermission_bit_is_answered_by_overload),
        cmocka_unit_test(overload_frames_are_two_at_most),
        cmocka_unit_test(dominant_third_intermission_bit_is_start_of_frame),
        cmocka_unit_test(dominant_last_bit_of_a_delimiter_is_answered_by_overload),
        cmocka_unit_test(dominant_bit_within_a_delimiter_is_form_error),
        cmocka_unit_test(joining_takes_eleven_recessive_bits_in_a_row),
        cmocka_unit_test(newcomer_does_not_disturb_a_frame_on_the_wire),
        cmocka_unit_test(listener_never_drives_and_still_receives),
        cmocka_unit_test(frame_that_nobody_acknowledges_repeats_before_a_listener),
        cmocka_unit_test(hard_synchronisation_is_wanted_between_frames_only),
        cmocka_unit_test(hard_synchronisation_is_wanted_once_in_an_fd_frame_by_its_receivers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
