/* SPDX-License-Identifier: MIT
 *
 * The wires at rest: what an ohm meter and a voltmeter show, healthy and broken, against published readings and hand
 * computations. What moves in time is in test_wires_time.c.
 */
#include "wire_bench.h"

static double parallel(double a, double b)
{
    return a * b / (a + b);
}

/* Two terminators side by side: 50, 60, 65 ohm for 100, 120, 130 ohm (NI sbRIO-960x manual, table 10), 54 and 66 for 108
 * and 132 (ICP DAS PISO-DNM100 manual). */
static void meter_on_a_terminated_pair_reads_half(void **state)
{
    (void)state;
    static const uint32_t ohms[] = { 100, 108, 120, 130, 132 };
    for (size_t i = 0; i < N_ROWS(ohms); i++) {
        struct wire_bench bench = wire_bench_running(2, 10, ohms[i]);
        assert_near(lw_wires_ohms(bench.wires, 0), ohms[i] / 2.0, 0.01);
        wire_bench_stop(&bench);
    }
}

/* Nodes with a resistance of their own, hand computed; the unpowered transceivers (1 megohm a wire) are in it. */
static void meter_with_nodes_reads_them_in_parallel(void **state)
{
    (void)state;
    static const struct { unsigned n_nodes; double node_ohm, ohm, expected; } cases[] = {
        { 10, 30000, 60, 58.82 }, { 30, 30000, 60, 56.60 }, { 30, 10000, 60, 50.85 }, { 30, 30000, 120, 107.14 },
        { 10, 30000, 0, 3000 },
        /* 66 ohm and modules of 2.6 kohm. */
        { 3, 2600, 66, 61.3 }, { 5, 2600, 66, 58.6 }, { 8, 2600, 66, 54.9 }, { 10, 2600, 66, 52.6 },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        struct wire_bench bench = wire_bench_of(cases[i].n_nodes, 100, (uint32_t)(2 * cases[i].ohm));
        for (unsigned u = 0; u < cases[i].n_nodes; u++)
            bench.plant->units[u].own_ohm = (uint32_t)cases[i].node_ohm;
        wire_bench_start(&bench);
        double node = parallel(cases[i].node_ohm, 2e6) / cases[i].n_nodes;
        double hand = cases[i].ohm > 0 ? parallel(cases[i].ohm, node) : node;
        assert_near(lw_wires_ohms(bench.wires, 0), hand, hand * 5e-4);
        assert_near(lw_wires_ohms(bench.wires, 0), cases[i].expected, cases[i].expected * 2e-2);
        wire_bench_stop(&bench);
    }
}

/* Mahindra Bolero 2021 manual: 60, 120, more than 1 kohm, 0. Trade pages: 40 with a third terminator; four are 30. */
static void meter_tells_missing_and_extra_terminators(void **state)
{
    (void)state;
    struct wire_bench bench = wire_bench_running(4, 6000, 120);
    assert_near(lw_wires_ohms(bench.wires, 1), 60, 0.5);
    put_on(&bench, LW_DAMAGE_NO_TERMINATOR, LW_AT_POINT, 0, 0, 0);
    assert_near(lw_wires_ohms(bench.wires, 1), 120, 0.7);
    put_on(&bench, LW_DAMAGE_NO_TERMINATOR, LW_AT_POINT, 3, 0, 0);
    assert_true(lw_wires_ohms(bench.wires, 1) > 1000);
    take_off(&bench, 0);
    put_on(&bench, LW_DAMAGE_EXTRA_TERMINATOR, LW_AT_UNIT, 1, 0, 0);
    assert_near(lw_wires_ohms(bench.wires, 1), 40, 0.3);
    put_on(&bench, LW_DAMAGE_EXTRA_TERMINATOR, LW_AT_POINT, 2, 120, 0);
    assert_near(lw_wires_ohms(bench.wires, 1), 30, 0.3);
    put_on(&bench, LW_DAMAGE_SHORT_H_L, LW_AT_POINT, 2, 0.5, 0);
    assert_true(lw_wires_ohms(bench.wires, 1) < 5);
    wire_bench_stop(&bench);
}

/* Mahindra: a wire shorted to supply or ground leaves 60 ohm between H and L. */
static void meter_does_not_see_a_short_to_a_rail(void **state)
{
    (void)state;
    for (unsigned kind = LW_DAMAGE_H_TO_SUPPLY; kind <= LW_DAMAGE_L_TO_GROUND; kind++) {
        struct wire_bench bench = wire_bench_running(2, 10, 120);
        put_on(&bench, kind, LW_AT_POINT, 0, 0, 0);
        assert_near(lw_wires_ohms(bench.wires, 1), 60, 0.1);
        wire_bench_stop(&bench);
    }
}

static void meter_on_loose_ends_reads_open(void **state)
{
    (void)state;
    struct wire_bench bench = wire_bench_running(3, 4000, 0);
    bench.wiring.transceivers[0] = bench.wiring.transceivers[1] = bench.wiring.transceivers[2] = LW_TRANSCEIVER_UNPLUGGED;
    lw_wires_set(bench.wires, &bench.wiring, 0);
    assert_true(isinf(lw_wires_ohms(bench.wires, 1)));
    wire_bench_stop(&bench);
    bench = wire_bench_running(3, 4000, 120);
    /* A broken trunk: each side has one terminator, and 280 mohm of wire at most. */
    put_on(&bench, LW_DAMAGE_OPEN_H, LW_AT_SEGMENT, 1, 0, 0);
    assert_near(lw_wires_ohms(bench.wires, 0), 120, 0.3);
    assert_near(lw_wires_ohms(bench.wires, 2), 120, 0.3);
    wire_bench_stop(&bench);
}

/* TI SLOA101B, 5: 2.5 V at rest; 3.5 and 1.5 V when sending into 60 ohm. */
static void volts_of_a_healthy_bus_are_the_typical_ones(void **state)
{
    (void)state;
    struct wire_bench bench = wire_bench_running(2, 10, 120);
    struct lw_volts rest = lw_wires_unit_volts(bench.wires, 1, 0), sent = lw_wires_unit_volts(bench.wires, 1, 1);
    assert_near(rest.h, 2.5, 0.001);
    assert_near(rest.l, 2.5, 0.001);
    assert_near(sent.h, 3.5, 0.01);
    assert_near(sent.l, 1.5, 0.01);
    sent = lw_wires_point_volts(bench.wires, 1, 1);
    assert_near(sent.h - sent.l, 2.0, 0.01);
    wire_bench_stop(&bench);
}

/* TI TCAN1145-Q1 (SLLSF80B): limits of the dominant voltages by load. */
static void volts_of_a_driver_keep_the_limits_for_every_load(void **state)
{
    (void)state;
    static const struct { uint32_t ohm; double least, most; } cases[] = {
        { 50, 1.5, 3 }, { 60, 1.5, 3 }, { 65, 1.5, 3 }, { 45, 1.4, 3.3 }, { 70, 1.4, 3.3 }, { 2240, 1.5, 5 },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        struct wire_bench bench = wire_bench_running(2, 10, 2 * cases[i].ohm);
        struct lw_volts sent = lw_wires_unit_volts(bench.wires, 0, 1), rest = lw_wires_unit_volts(bench.wires, 0, 0);
        double difference = sent.h - sent.l;
        assert_true(difference >= cases[i].least && difference <= cases[i].most);
        assert_near(difference, 5.0 * cases[i].ohm / (cases[i].ohm + 90), 0.02);
        if (cases[i].ohm >= 50 && cases[i].ohm <= 65)
            assert_true(sent.h >= 2.75 && sent.h <= 4.5 && sent.l >= 0.5 && sent.l <= 2.25);
        assert_true(rest.h >= 2 && rest.h <= 3 && fabs(rest.h - rest.l) < 0.012);
        wire_bench_stop(&bench);
    }
}

/* Ford 2024 body manual, "CAN fault tolerance"; TI e2e 1451629: H to ground, L to supply and H to L cannot make a positive
 * difference. The limits are those of the model: a driver has no diodes here. */
static void volts_of_shorted_wires_are_as_published(void **state)
{
    (void)state;
    static const struct { enum lw_damage_kind kind; double rest_h, rest_l, sent_h, sent_l, tolerance; bool is_heard; } cases[] = {
        { LW_DAMAGE_SHORT_H_L, 2.5, 2.5, 2.5, 2.5, 0.1, false },      /* stays at 2.5 V, all lost */
        { LW_DAMAGE_H_TO_GROUND, 0, 0, 0, 0, 0.1, false },            /* both pulled to 0 V, all lost */
        { LW_DAMAGE_L_TO_GROUND, 0, 0, 3.0, 0, 0.2, true },           /* H peaks near 3.0 V, 0 V at rest */
        { LW_DAMAGE_H_TO_SUPPLY, 12, 12, 12, 5.14, 0.1, true },       /* L above 5 V when sending, 12 V at peak */
        { LW_DAMAGE_L_TO_SUPPLY, 12, 12, 8, 12, 0.1, false },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        struct wire_bench bench = wire_bench_running(3, 10, 120);
        put_on(&bench, cases[i].kind, LW_AT_POINT, 2, 0, 0);
        struct lw_volts rest = lw_wires_point_volts(bench.wires, 1, 0), sent = lw_wires_point_volts(bench.wires, 1, 1);
        assert_near(rest.h, cases[i].rest_h, cases[i].tolerance);
        assert_near(rest.l, cases[i].rest_l, cases[i].tolerance);
        assert_near(sent.h, cases[i].sent_h, cases[i].tolerance);
        assert_near(sent.l, cases[i].sent_l, cases[i].tolerance);
        lw_wires_drive(bench.wires, 0, true, 1000000);
        assert_int_equal(lw_wires_rxd(bench.wires, 1, 3000000), cases[i].is_heard);
        wire_bench_stop(&bench);
    }
}

/* Receivers work up to 12 V of common mode (ISO 11898-2:2016, from memory): in a 24 V machine H at the supply is too much. */
static void receiver_beyond_its_common_mode_reads_recessive(void **state)
{
    (void)state;
    struct wire_bench bench = wire_bench_of(2, 10, 120);
    bench.plant->supply_mv = 24000;
    wire_bench_start(&bench);
    put_on(&bench, LW_DAMAGE_H_TO_SUPPLY, LW_AT_POINT, 0, 0, 0);
    struct lw_volts sent = lw_wires_unit_volts(bench.wires, 1, 1);
    assert_true(sent.h - sent.l > 0.9 && (sent.h + sent.l) / 2 > 12);
    lw_wires_drive(bench.wires, 0, true, 0);
    assert_false(lw_wires_rxd(bench.wires, 1, 2000000));
    wire_bench_stop(&bench);
}

/* Mercury 2004 manual: an open wire is "marginal at best". The unit behind it still sees the other wire move by 1 V. */
static void unit_behind_one_open_wire_is_at_the_margin(void **state)
{
    (void)state;
    for (unsigned kind = LW_DAMAGE_OPEN_H; kind <= LW_DAMAGE_OPEN_L; kind++) {
        struct wire_bench bench = wire_bench_running(3, 4000, 120);
        put_on(&bench, kind, LW_AT_UNIT, 2, 0, 0);
        struct lw_volts heard = lw_wires_unit_volts(bench.wires, 2, 1), said = lw_wires_unit_volts(bench.wires, 0, 4);
        assert_true(heard.h - heard.l > 0.8 && heard.h - heard.l < 1.2);
        assert_true(said.h - said.l < 0.5);
        wire_bench_stop(&bench);
    }
}

static void unit_behind_two_open_wires_is_alone(void **state)
{
    (void)state;
    static const enum lw_damage_kind kinds[] = { LW_DAMAGE_OPEN_BOTH, LW_DAMAGE_LOOSE };
    for (size_t i = 0; i < N_ROWS(kinds); i++) {
        struct wire_bench bench = wire_bench_running(3, 4000, 120);
        put_on(&bench, kinds[i], LW_AT_UNIT, 2, 0, 0);
        struct lw_volts heard = lw_wires_unit_volts(bench.wires, 2, 1);
        assert_near(heard.h - heard.l, 0, 0.01);
        wire_bench_stop(&bench);
    }
}

/* TI SLOA101B, 5.1.11: one unpowered node of low impedance stops the whole bus. A good one does not. */
static void unpowered_unit_stops_the_bus_only_if_low_ohmic(void **state)
{
    (void)state;
    for (uint32_t own_ohm = 0; own_ohm <= 10; own_ohm += 10) {
        struct wire_bench bench = wire_bench_of(3, 4000, 120);
        bench.plant->units[2].own_ohm = own_ohm;
        wire_bench_start(&bench);
        bench.wiring.transceivers[2] = LW_TRANSCEIVER_UNPOWERED;
        lw_wires_set(bench.wires, &bench.wiring, 0);
        struct lw_volts sent = lw_wires_unit_volts(bench.wires, 1, 1);
        assert_int_equal(sent.h - sent.l > 0.9, own_ohm == 0);
        wire_bench_stop(&bench);
    }
}

static void swapped_unit_drives_a_negative_difference(void **state)
{
    (void)state;
    struct wire_bench bench = wire_bench_running(3, 4000, 120);
    put_on(&bench, LW_DAMAGE_SWAPPED, LW_AT_UNIT, 1, 0, 0);
    struct lw_volts others = lw_wires_unit_volts(bench.wires, 0, 2), own = lw_wires_unit_volts(bench.wires, 1, 2);
    assert_near(others.h - others.l, -2, 0.05);
    assert_near(own.h - own.l, 2, 0.05);
    /* One against one: nothing is left. Two against one, hand computed at one place: 5 (2 - 1) / 90 into 60 ∥ 90/3. */
    struct lw_volts fight = lw_wires_unit_volts(bench.wires, 0, 3);
    assert_near(fight.h - fight.l, 0, 0.05);
    fight = lw_wires_unit_volts(bench.wires, 0, 7);
    assert_near(fight.h - fight.l, 5.0 / 90 * parallel(60, 30), 0.05);
    wire_bench_stop(&bench);
}

/* Senders at one place, hand computed: 5 V behind 90 ohm each into 60 ohm and the inputs of 32 units. */
static void volts_of_several_senders_add_up(void **state)
{
    (void)state;
    struct wire_bench bench = wire_bench_running(32, 31, 120);
    double load = parallel(60, 50000.0 / 32);
    for (unsigned k = 1; k <= 32; k++) {
        uint32_t senders = k == 32 ? UINT32_MAX : (UINT32_C(1) << k) - 1;
        struct lw_volts sent = lw_wires_unit_volts(bench.wires, 31, senders);
        assert_near(sent.h - sent.l, 5 * load / (load + 90.0 / k), 0.02);
    }
    wire_bench_stop(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(meter_on_a_terminated_pair_reads_half),
        cmocka_unit_test(meter_with_nodes_reads_them_in_parallel),
        cmocka_unit_test(meter_tells_missing_and_extra_terminators),
        cmocka_unit_test(meter_does_not_see_a_short_to_a_rail),
        cmocka_unit_test(meter_on_loose_ends_reads_open),
        cmocka_unit_test(volts_of_a_healthy_bus_are_the_typical_ones),
        cmocka_unit_test(volts_of_a_driver_keep_the_limits_for_every_load),
        cmocka_unit_test(volts_of_shorted_wires_are_as_published),
        cmocka_unit_test(receiver_beyond_its_common_mode_reads_recessive),
        cmocka_unit_test(unit_behind_one_open_wire_is_at_the_margin),
        cmocka_unit_test(unit_behind_two_open_wires_is_alone),
        cmocka_unit_test(unpowered_unit_stops_the_bus_only_if_low_ohmic),
        cmocka_unit_test(swapped_unit_drives_a_negative_difference),
        cmocka_unit_test(volts_of_several_senders_add_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
