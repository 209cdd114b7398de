/* SPDX-License-Identifier: MIT
 *
 * Each rule of fault confinement as a test named after it: Bosch CAN Specification 2.0 part B, chapter 8; the same in
 * ISO 11898-1:2003, 13.1.4.2. What the controller makes of them on a bus is in test_mac_confinement.c.
 */
#include "loomwatch/bench/confinement.h"

#include "cases.h"

static struct lw_confinement at(unsigned tec, unsigned rec)
{
    return (struct lw_confinement){ .tec = (uint16_t)tec, .rec = (uint16_t)rec };
}

struct step {
    unsigned tec, rec;
    enum lw_confinement_event event;
    unsigned tec_after, rec_after;
};

static void check_steps(const struct step *steps, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        struct lw_confinement confinement = at(steps[i].tec, steps[i].rec);
        lw_confinement_apply(&confinement, steps[i].event);
        assert_int_equal(confinement.tec, steps[i].tec_after);
        assert_int_equal(confinement.rec, steps[i].rec_after);
    }
}

static void rule_1_receiver_error_raises_rec_by_one(void **state)
{
    (void)state;
    static const struct step steps[] = { { 5, 0, LW_RX_ERROR, 5, 1 }, { 0, 127, LW_RX_ERROR, 0, 128 } };
    check_steps(steps, N_ROWS(steps));
}

static void rule_2_dominant_after_own_flag_raises_rec_by_eight(void **state)
{
    (void)state;
    static const struct step steps[] = { { 5, 1, LW_RX_DOMINANT_AFTER_FLAG, 5, 9 } };
    check_steps(steps, N_ROWS(steps));
}

static void rule_3_transmitter_error_raises_tec_by_eight(void **state)
{
    (void)state;
    static const struct step steps[] = { { 0, 5, LW_TX_ERROR, 8, 5 }, { 120, 0, LW_TX_ERROR, 128, 0 } };
    check_steps(steps, N_ROWS(steps));
}

static void rule_3_exception_1_passive_without_acknowledge_is_unchanged(void **state)
{
    (void)state;
    static const struct step steps[] = { { 128, 3, LW_TX_ERROR_PASSIVE_ACK, 128, 3 } };
    check_steps(steps, N_ROWS(steps));
}

static void rule_3_exception_2_stuff_error_in_arbitration_is_unchanged(void **state)
{
    (void)state;
    static const struct step steps[] = { { 40, 3, LW_TX_ERROR_STUFF_IN_ARBITRATION, 40, 3 } };
    check_steps(steps, N_ROWS(steps));
}

static void rule_4_transmitter_bit_error_in_flag_raises_tec_by_eight(void **state)
{
    (void)state;
    static const struct step steps[] = { { 8, 3, LW_TX_BIT_ERROR_IN_FLAG, 16, 3 } };
    check_steps(steps, N_ROWS(steps));
}

static void rule_5_receiver_bit_error_in_flag_raises_rec_by_eight(void **state)
{
    (void)state;
    static const struct step steps[] = { { 8, 3, LW_RX_BIT_ERROR_IN_FLAG, 8, 11 } };
    check_steps(steps, N_ROWS(steps));
}

static void rule_6_dominant_too_long_raises_the_own_counter_by_eight(void **state)
{
    (void)state;
    static const struct step steps[] = {
        { 8, 3, LW_TX_DOMINANT_TOO_LONG, 16, 3 }, { 8, 3, LW_RX_DOMINANT_TOO_LONG, 8, 11 },
    };
    check_steps(steps, N_ROWS(steps));
}

static void rule_7_good_transmission_lowers_tec_by_one_not_below_zero(void **state)
{
    (void)state;
    static const struct step steps[] = {
        { 8, 3, LW_TX_GOOD, 7, 3 }, { 1, 0, LW_TX_GOOD, 0, 0 }, { 0, 3, LW_TX_GOOD, 0, 3 }, { 128, 0, LW_TX_GOOD, 127, 0 },
    };
    check_steps(steps, N_ROWS(steps));
}

static void rule_8_good_reception_lowers_rec(void **state)
{
    (void)state;
    static const struct step steps[] = { { 8, 3, LW_RX_GOOD, 8, 2 }, { 8, 0, LW_RX_GOOD, 8, 0 }, { 0, 127, LW_RX_GOOD, 0, 126 } };
    check_steps(steps, N_ROWS(steps));
    for (unsigned rec = 128; rec <= 255; rec++) {
        struct lw_confinement confinement = at(0, rec);
        lw_confinement_apply(&confinement, LW_RX_GOOD);
        assert_in_range(confinement.rec, 119, 127);
    }
}

static void rule_9_error_passive_from_128_in_either_counter(void **state)
{
    (void)state;
    static const struct {
        unsigned tec, rec;
        bool is_passive;
    } rows[] = { { 127, 127, false }, { 128, 0, true }, { 0, 128, true }, { 255, 255, true } };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_confinement confinement = at(rows[i].tec, rows[i].rec);
        assert_int_equal(lw_confinement_is_passive(&confinement), rows[i].is_passive);
    }
    struct lw_confinement confinement = at(120, 0);
    assert_true(lw_confinement_apply(&confinement, LW_TX_ERROR));
    assert_true(lw_confinement_is_passive(&confinement));
    confinement = at(0, 127);
    assert_true(lw_confinement_apply(&confinement, LW_RX_ERROR));
    assert_true(lw_confinement_is_passive(&confinement));
}

static void rule_10_bus_off_when_tec_reaches_256(void **state)
{
    (void)state;
    struct lw_confinement confinement;
    lw_confinement_init(&confinement);
    for (unsigned i = 1; i <= 32; i++) {                 /* 32 × 8 */
        assert_false(confinement.is_bus_off);
        bool is_changed = lw_confinement_apply(&confinement, LW_TX_ERROR);
        assert_int_equal(is_changed, i == 12 || i == 16 || i == 32);   /* 96, 128, 256 */
    }
    assert_true(confinement.is_bus_off);
    assert_false(lw_confinement_apply(&confinement, LW_TX_GOOD));
    assert_true(confinement.is_bus_off);
    for (unsigned i = 0; i < 100; i++)
        assert_false(lw_confinement_apply(&confinement, LW_RX_DOMINANT_TOO_LONG));
}

static void rule_10_no_receive_error_leads_to_bus_off(void **state)
{
    (void)state;
    struct lw_confinement confinement = at(0, 0);
    for (unsigned i = 0; i < 10000; i++)
        lw_confinement_apply(&confinement, LW_RX_DOMINANT_TOO_LONG);
    assert_false(confinement.is_bus_off);
    assert_int_equal(confinement.tec, 0);
}

static void rule_11_error_active_again_when_both_are_at_most_127(void **state)
{
    (void)state;
    struct lw_confinement confinement = at(128, 128);
    lw_confinement_apply(&confinement, LW_TX_GOOD);
    assert_true(lw_confinement_is_passive(&confinement));
    assert_true(lw_confinement_apply(&confinement, LW_RX_GOOD));
    assert_false(lw_confinement_is_passive(&confinement));
}

static void rule_12_recovered_from_bus_off_both_are_zero(void **state)
{
    (void)state;
    struct lw_confinement confinement = { .tec = 256, .rec = 130, .is_bus_off = true };
    assert_true(lw_confinement_apply(&confinement, LW_BUS_OFF_RECOVERED));
    assert_false(confinement.is_bus_off);
    assert_int_equal(confinement.tec, 0);
    assert_int_equal(confinement.rec, 0);
}

static void note_heavily_disturbed_from_96(void **state)
{
    (void)state;
    /* "about 96" in the specification; 96: linux/can/error.h, CAN_ERROR_WARNING_THRESHOLD */
    struct lw_confinement below = at(95, 95), tec = at(96, 0), rec = at(0, 96);
    assert_false(lw_confinement_is_warning(&below));
    assert_true(lw_confinement_is_warning(&tec));
    assert_true(lw_confinement_is_warning(&rec));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rule_1_receiver_error_raises_rec_by_one),
        cmocka_unit_test(rule_2_dominant_after_own_flag_raises_rec_by_eight),
        cmocka_unit_test(rule_3_transmitter_error_raises_tec_by_eight),
        cmocka_unit_test(rule_3_exception_1_passive_without_acknowledge_is_unchanged),
        cmocka_unit_test(rule_3_exception_2_stuff_error_in_arbitration_is_unchanged),
        cmocka_unit_test(rule_4_transmitter_bit_error_in_flag_raises_tec_by_eight),
        cmocka_unit_test(rule_5_receiver_bit_error_in_flag_raises_rec_by_eight),
        cmocka_unit_test(rule_6_dominant_too_long_raises_the_own_counter_by_eight),
        cmocka_unit_test(rule_7_good_transmission_lowers_tec_by_one_not_below_zero),
        cmocka_unit_test(rule_8_good_reception_lowers_rec),
        cmocka_unit_test(rule_9_error_passive_from_128_in_either_counter),
        cmocka_unit_test(rule_10_bus_off_when_tec_reaches_256),
        cmocka_unit_test(rule_10_no_receive_error_leads_to_bus_off),
        cmocka_unit_test(rule_11_error_active_again_when_both_are_at_most_127),
        cmocka_unit_test(rule_12_recovered_from_bus_off_both_are_zero),
        cmocka_unit_test(note_heavily_disturbed_from_96),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
