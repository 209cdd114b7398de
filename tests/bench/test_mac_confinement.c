/* SPDX-License-Identifier: MIT
 *
 * Fault confinement at work on an ideal wire: Bosch CAN Specification 2.0 part B, chapter 8 (rules by number); ISO 11898-1:2003,
 * 13.1.4.2. The arithmetic alone is in test_confinement.c.
 */
#include "mac_bus.h"

#include "cases.h"

static const struct lw_mac_options plain = { 0 };
static const struct lw_frame frame = { 0x555, 0, 1, { 0x55 } };

static unsigned tec_of(const struct mac_bus *bus, unsigned unit)
{
    return lw_mac_confinement(bus->unit[unit].mac)->tec;
}

static unsigned rec_of(const struct mac_bus *bus, unsigned unit)
{
    return lw_mac_confinement(bus->unit[unit].mac)->rec;
}

static void lone_sender_climbs_by_eight_to_128_and_stays(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 1, plain);
    bus_queue(&bus, 0, &frame);
    for (unsigned attempt = 1; attempt <= 2000; attempt++) {
        while (bus.unit[0].n_errors < attempt)
            bus_bit(&bus);
        assert_int_equal(bus.unit[0].last_error.kind, LW_MAC_ACK_ERROR);
        assert_int_equal(bus.unit[0].last_error.place, 0x19);   /* linux/can/error.h: ACK slot */
        bus_assert_counters(&bus, 0, attempt < 16 ? 8 * attempt : 128, 0);
    }
    assert_int_equal(bus.unit[0].n_bus_off, 0);      /* ISO 11898-1:2003, 13.1.5 */
    bus_end(&bus);
}

/* The sleeper hears nothing, drives nothing: a controller that only listens stands for it until it is woken. */
static void ladder_heals_by_one_for_each_good_frame(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 2, plain);
    bus_replace(&bus, 1, (struct lw_mac_options){ .is_listen_only = true });
    bus_queue(&bus, 0, &frame);
    while (tec_of(&bus, 0) < 128)
        bus_bit(&bus);
    lw_mac_reset(bus.unit[1].mac, &plain);
    bus_run_until_sent(&bus, 0);
    for (unsigned tec = 127; tec > 0; tec--) {
        bus_assert_counters(&bus, 0, tec, 0);
        bus_queue(&bus, 0, &frame);
        bus_run_until_sent(&bus, 0);
    }
    bus_assert_counters(&bus, 0, 0, 0);
    bus_queue(&bus, 0, &frame);
    bus_run_until_sent(&bus, 0);
    bus_assert_counters(&bus, 0, 0, 0);
    bus_end(&bus);
}

static void rule_3_exception_1_ends_with_a_dominant_bit_in_the_passive_flag(void **state)
{
    (void)state;
    for (unsigned at = 0; at < 6; at++) {
        struct mac_bus bus;
        bus_begin(&bus, 1, plain);
        bus_set_counters(&bus, 0, 128, 0);
        bus_queue(&bus, 0, &frame);
        while (bus.unit[0].n_errors == 0)
            bus_bit(&bus);
        bus_bits(&bus, at);
        assert_int_equal(tec_of(&bus, 0), 128);
        for (unsigned i = 0; i < 3; i++) {           /* once, however many they are */
            bus.unit[0].misreads = true;
            bus_bit(&bus);
            assert_int_equal(tec_of(&bus, 0), 136);
        }
        bus_end(&bus);
    }
}

static void rule_4_and_5_flag_that_does_not_come_back_counts_eight_and_begins_anew(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 2, plain);
    bus_queue(&bus, 0, &frame);
    bus_bits(&bus, 25);
    bus.unit[0].misreads = true;
    bus_bit(&bus);                                   /* sender: rule 3 */
    bus_assert_counters(&bus, 0, 8, 0);
    while (bus.unit[1].n_errors == 0)
        bus_bit(&bus);
    bus.is_cut = true;
    unsigned rec = rec_of(&bus, 1);
    lw_mac_reset(bus.unit[0].mac, &plain);           /* out of the way */
    bus_bit(&bus);
    assert_int_equal(rec_of(&bus, 1), rec + 8);
    assert_int_equal(bus.unit[1].last_error.kind, LW_MAC_BIT_ERROR);
    assert_true(lw_mac_drives_dominant(bus.unit[1].mac));
    bus_end(&bus);

    bus_begin(&bus, 1, plain);
    bus_queue(&bus, 0, &frame);
    while (bus.unit[0].n_errors == 0)
        bus_bit(&bus);
    bus.is_cut = true;
    for (unsigned i = 1; i <= 15; i++) {
        bus_assert_counters(&bus, 0, 8 * i, 0);
        assert_true(lw_mac_drives_dominant(bus.unit[0].mac));   /* active flags, rule 9: still at 128 */
        bus_bit(&bus);
    }
    bus_end(&bus);
}

static void rule_6_each_eight_dominant_bits_behind_a_flag_count_eight(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 1, plain);
    bus.is_held_dominant = true;
    bus_bits(&bus, 6);                               /* start of frame and on: the sixth breaks the stuffing */
    assert_int_equal(bus.unit[0].first_error.kind, LW_MAC_STUFF_ERROR);
    bus_bits(&bus, 6);                               /* own flag */
    bus_assert_counters(&bus, 0, 0, 1);
    for (unsigned n = 1; n <= 60; n++) {
        bus_bit(&bus);
        unsigned rec = 1 + 8 + 8 * (n / 8);          /* rules 1, 2, 6: the 14th with the flag's six, each further 8 */
        assert_int_equal(rec_of(&bus, 0), rec);
    }
    bus.is_held_dominant = false;
    bus_bits(&bus, 8 + 3);
    assert_true(lw_mac_is_idle(bus.unit[0].mac));
    bus_end(&bus);
}

static void rule_6_transmitter_on_a_bus_held_dominant_goes_bus_off(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 2, plain);
    bus_queue(&bus, 0, &frame);
    bus_bits(&bus, 20);
    bus.is_held_dominant = true;
    unsigned n = 0;
    for (; bus.unit[0].n_bus_off == 0 && n < 1000; n++)
        bus_bit(&bus);
    /* An error within six bits (8), a flag, then each eight bits 8 more: 31 of them. */
    assert_in_range(n, 6 + 31 * 8, 6 + 6 + 31 * 8);
    assert_int_equal(tec_of(&bus, 0), 256);
    assert_int_equal(bus.unit[1].n_bus_off, 0);      /* no receiver ever does */
    bus_end(&bus);
}

static void rule_9_the_error_that_makes_passive_is_flagged_actively(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 1, plain);
    bus_set_counters(&bus, 0, 120, 0);
    bus_queue(&bus, 0, &frame);
    for (unsigned error = 1; error <= 2; error++) {
        while (bus.unit[0].n_errors < error)
            bus_bit(&bus);
        assert_int_equal(tec_of(&bus, 0), 128);
        assert_int_equal((bus.unit[0].report & LW_MAC_STATE) != 0, error == 1);
        for (unsigned i = 0; i < 6; i++) {
            assert_int_equal(lw_mac_drives_dominant(bus.unit[0].mac), error == 1);
            bus_bit(&bus);
        }
    }
    bus_end(&bus);
}

static void rule_10_bus_off_after_32_transmit_errors(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 3, plain);
    bus_queue(&bus, 0, &frame);
    unsigned n = 0;
    for (; bus.unit[0].n_bus_off == 0 && n < 5000; n++) {
        bool is_begun = bus.unit[0].report & LW_MAC_FRAME_BEGINS;
        bus_bit(&bus);
        bus.unit[0].misreads = is_begun && lw_mac_drives_dominant(bus.unit[0].mac);
    }
    assert_int_equal(bus.unit[0].n_errors, 32);
    assert_int_equal(tec_of(&bus, 0), 256);
    assert_true(bus.unit[0].report & LW_MAC_STATE);
    assert_true(lw_mac_is_idle(bus.unit[0].mac));    /* until asked to come back */
    bus_end(&bus);
}

static void sender_that_reads_nothing_back_is_off_within_two_milliseconds(void **state)
{
    (void)state;
    /* Seen with real controllers at 500 kbit/s on a short circuit: bus off 1 to 2 ms after the first frame. */
    struct mac_bus bus;
    bus_begin(&bus, 1, plain);
    bus.is_cut = true;
    bus_queue(&bus, 0, &frame);
    unsigned n = 0;
    for (; bus.unit[0].n_bus_off == 0 && n < 5000; n++)
        bus_bit(&bus);
    assert_in_range(n, 300, 1000);
    bus_end(&bus);
}

static void bring_bus_off(struct mac_bus *bus)
{
    bus_begin(bus, 1, plain);
    bus->is_cut = true;
    bus_queue(bus, 0, &frame);
    while (bus->unit[0].n_bus_off == 0)
        bus_bit(bus);
    bus->is_cut = false;
    lw_mac_drop_queue(bus->unit[0].mac);
}

static void rule_12_recovery_takes_128_times_11_recessive_bits_and_only_on_request(void **state)
{
    (void)state;
    struct mac_bus bus;
    bring_bus_off(&bus);
    bus_bits(&bus, 5000);
    assert_int_equal(bus.unit[0].n_recovered, 0);    /* ISO 11898-1:2003, 6.15: on user request only */
    lw_mac_restart(bus.unit[0].mac);
    bus_bits(&bus, 128 * 11 - 1);
    assert_int_equal(bus.unit[0].n_recovered, 0);
    assert_false(lw_mac_is_idle(bus.unit[0].mac));
    bus_bit(&bus);
    assert_true((bus.unit[0].report & (LW_MAC_RECOVERED | LW_MAC_STATE)) == (LW_MAC_RECOVERED | LW_MAC_STATE));
    bus_assert_counters(&bus, 0, 0, 0);
    bus_end(&bus);
}

static void rule_12_interrupted_sequence_does_not_count(void **state)
{
    (void)state;
    struct mac_bus bus;
    bring_bus_off(&bus);
    lw_mac_restart(bus.unit[0].mac);
    for (unsigned i = 0; i < 300; i++) {             /* ten recessive bits, never eleven */
        bus_bits(&bus, 10);
        bus.unit[0].misreads = true;
        bus_bit(&bus);
        assert_false(lw_mac_drives_dominant(bus.unit[0].mac));
    }
    assert_int_equal(bus.unit[0].n_recovered, 0);
    bus_bits(&bus, 128 * 11);
    assert_int_equal(bus.unit[0].n_recovered, 1);
    bus_end(&bus);
}

static void one_shot_frame_is_not_repeated_after_an_error(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 1, (struct lw_mac_options){ .is_one_shot = true });
    bus_queue(&bus, 0, &frame);
    bus_settle(&bus, 500);
    assert_int_equal(bus.unit[0].n_errors, 1);
    assert_int_equal(bus.unit[0].n_begun, 1);
    bus_assert_counters(&bus, 0, 8, 0);
    bus_end(&bus);
}

static void passive_receiver_does_not_disturb_others_and_is_active_after_a_good_frame(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 3, plain);
    bus_set_counters(&bus, 1, 0, 140);
    bus_queue(&bus, 0, &frame);
    bus_bits(&bus, 23);
    bus.unit[1].misreads = true;
    bus_run_until_sent(&bus, 0);
    assert_int_equal(bus.unit[0].n_errors, 0);
    assert_int_equal(bus.unit[1].n_errors, 1);
    assert_int_equal(rec_of(&bus, 1), 141);
    bus_settle(&bus, 50);
    bus_queue(&bus, 0, &frame);
    bus_run_until_sent(&bus, 0);
    assert_in_range(rec_of(&bus, 1), 119, 127);      /* rule 8 */
    bus_end(&bus);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lone_sender_climbs_by_eight_to_128_and_stays),
        cmocka_unit_test(ladder_heals_by_one_for_each_good_frame),
        cmocka_unit_test(rule_3_exception_1_ends_with_a_dominant_bit_in_the_passive_flag),
        cmocka_unit_test(rule_4_and_5_flag_that_does_not_come_back_counts_eight_and_begins_anew),
        cmocka_unit_test(rule_6_each_eight_dominant_bits_behind_a_flag_count_eight),
        cmocka_unit_test(rule_6_transmitter_on_a_bus_held_dominant_goes_bus_off),
        cmocka_unit_test(rule_9_the_error_that_makes_passive_is_flagged_actively),
        cmocka_unit_test(rule_10_bus_off_after_32_transmit_errors),
        cmocka_unit_test(sender_that_reads_nothing_back_is_off_within_two_milliseconds),
        cmocka_unit_test(rule_12_recovery_takes_128_times_11_recessive_bits_and_only_on_request),
        cmocka_unit_test(rule_12_interrupted_sequence_does_not_count),
        cmocka_unit_test(one_shot_frame_is_not_repeated_after_an_error),
        cmocka_unit_test(passive_receiver_does_not_disturb_others_and_is_active_after_a_good_frame),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
