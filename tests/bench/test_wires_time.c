/* SPDX-License-Identifier: MIT
 *
 * The wires in time: propagation, loop delay, settling, what overlapping senders do, and that nothing is lost or invented on
 * the way. Against hand computations and against a crude simulation in small steps.
 */
#include "wire_bench.h"

static const uint64_t ns = 1000, us = 1000000, ms = UINT64_C(1000000000);

/* Time from now on until the unit's RXD changes. */
static double next_change_ns(struct wire_bench *bench, unsigned unit, uint64_t from_ps)
{
    lw_wires_rxd(bench->wires, unit, from_ps);
    uint64_t change_ps = lw_wires_next_change_ps(bench->wires, unit);
    assert_true(change_ps != UINT64_MAX);
    return ((double)change_ps - (double)from_ps) / 1000;
}

/* NI sbRIO-960x manual, table 9: 5 ns a metre. No capacitance here, to see the way alone. */
static void edge_takes_five_nanoseconds_a_metre(void **state)
{
    (void)state;
    struct wire_bench bench = wire_bench_of(5, 40000, 120);
    bench.plant->pf_per_m = bench.plant->pf_per_unit = 0;
    wire_bench_start(&bench);
    lw_wires_drive(bench.wires, 0, true, us);
    for (unsigned u = 0; u < 5; u++)
        assert_near(next_change_ns(&bench, u, us), 100 + 50.0 * u, 0.2);
    assert_int_equal(lw_wires_last_edge_ps(bench.wires, 4), 0);
    assert_false(lw_wires_rxd(bench.wires, 4, us + 299 * ns));
    assert_true(lw_wires_rxd(bench.wires, 4, us + 301 * ns));
    assert_near((double)lw_wires_last_edge_ps(bench.wires, 4) / 1000, 1300, 0.2);
    wire_bench_stop(&bench);
}

/* Microchip eq. 38-9: t_prop = 2 × (255 + 200) = 910 ns for 40 m: out, and the answer back. */
static void answer_over_forty_metres_comes_after_910_ns(void **state)
{
    (void)state;
    struct wire_bench bench = wire_bench_of(2, 40000, 120);
    bench.plant->pf_per_m = bench.plant->pf_per_unit = 0;
    bench.plant->units[0].loop_delay_ns = bench.plant->units[1].loop_delay_ns = 255;
    wire_bench_start(&bench);
    lw_wires_drive(bench.wires, 0, true, us);
    lw_wires_drive(bench.wires, 0, false, us + 10 * ns);
    double out = next_change_ns(&bench, 1, us);
    uint64_t there_ps = us + (uint64_t)(out * 1000 + 0.5);
    assert_true(lw_wires_rxd(bench.wires, 1, there_ps));
    lw_wires_drive(bench.wires, 1, true, there_ps);
    lw_wires_rxd(bench.wires, 0, there_ps + 100 * ns);
    assert_near(out + 100 + next_change_ns(&bench, 0, there_ps + 100 * ns), 910, 0.5);
    wire_bench_stop(&bench);
}

/* Resistance times capacitance, hand computed. */
static void settling_is_proportional_to_ohms_and_picofarads(void **state)
{
    (void)state;
    static const struct { uint32_t ohm, pf_per_m; double metres; } cases[] = {
        { 120, 40, 2 }, { 120, 40, 40 }, { 120, 80, 40 }, { 240, 40, 40 },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        struct wire_bench bench = wire_bench_of(2, (uint32_t)(cases[i].metres * 1000), cases[i].ohm);
        bench.plant->pf_per_m = cases[i].pf_per_m;
        bench.plant->mohm_per_m = 0;
        wire_bench_start(&bench);
        double load = 1 / (2.0 / cases[i].ohm + 2 / 50000.0), pf = cases[i].pf_per_m * cases[i].metres + 100;
        assert_near(lw_wires_settle_ns(bench.wires, 0), load * pf * 1e-3, load * pf * 1e-6);
        wire_bench_stop(&bench);
    }
}

/* Length of a dominant pulse of 5 us at the far end. */
static double pulse_ns(unsigned n_units, uint32_t length_mm, bool has_both_terminators)
{
    struct wire_bench bench = wire_bench_running(n_units, length_mm, 120);
    if (!has_both_terminators)
        put_on(&bench, LW_DAMAGE_NO_TERMINATOR, LW_AT_POINT, n_units - 1, 0, 0);
    lw_wires_drive(bench.wires, 0, true, us);
    double begin = next_change_ns(&bench, n_units - 1, us);
    assert_true(lw_wires_rxd(bench.wires, n_units - 1, 5 * us));
    lw_wires_drive(bench.wires, 0, false, 6 * us);
    double end = 5000 + next_change_ns(&bench, n_units - 1, 6 * us);
    wire_bench_stop(&bench);
    return end - begin;
}

/* 10 units: 40 m × 40 pF + 10 × 50 pF = 2.1 nF. With 60 ohm the edge falls from 2 V to 0.5 V in 126 ns × ln 4 = 175 ns;
 * with 120 ohm from 2.86 V in 252 ns × ln 5.7 = 439 ns: 264 ns later (some more by the wires' resistance), where a sample
 * point at 75 % of 1 us leaves 750 ns for twice the way and the loop delays. On 2 m with 10 units, 0.58 nF, it is 73 ns
 * later, and a bit at 125 kbit/s is 8 us long. */
static void missing_terminator_matters_on_a_long_fast_bus_only(void **state)
{
    (void)state;
    double late_long = pulse_ns(10, 40000, false) - pulse_ns(10, 40000, true);
    double late_short = pulse_ns(10, 2000, false) - pulse_ns(10, 2000, true);
    assert_true(late_long > 250 && late_long < 300);
    assert_true(late_short > 0 && late_short < 80);
    late_short = pulse_ns(3, 2000, false) - pulse_ns(3, 2000, true);
    assert_true(late_short > 0 && late_short < 50);
}

/* TI SLLA270, 4.8: a stub of up to 1.67 m does not matter for edges of 50 ns. */
static void long_stub_delays_edges_that_pass_it(void **state)
{
    (void)state;
    static const struct { double stub_mm, expected_ns; } cases[] = { { 1600, 0 }, { 3000, 10 }, { 9000, 30 } };
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        struct wire_bench bench = wire_bench_of(3, 4000, 120);
        bench.plant->pf_per_m = bench.plant->pf_per_unit = 0;
        wire_bench_start(&bench);
        put_on(&bench, LW_DAMAGE_LONG_STUB, LW_AT_UNIT, 1, cases[i].stub_mm, 0);
        lw_wires_drive(bench.wires, 0, true, us);
        assert_near(next_change_ns(&bench, 2, us), 120 + cases[i].expected_ns, 0.2);
        wire_bench_stop(&bench);
    }
}

static void swapped_unit_is_heard_by_nobody_but_itself(void **state)
{
    (void)state;
    struct wire_bench bench = wire_bench_running(4, 4000, 120);
    put_on(&bench, LW_DAMAGE_SWAPPED, LW_AT_UNIT, 2, 0, 0);
    lw_wires_drive(bench.wires, 2, true, us);
    for (unsigned u = 0; u < 4; u++)
        assert_int_equal(lw_wires_rxd(bench.wires, u, 2 * us), u == 2);
    lw_wires_drive(bench.wires, 0, true, 3 * us);
    for (unsigned u = 0; u < 4; u++)
        assert_false(lw_wires_rxd(bench.wires, u, 4 * us));
    wire_bench_stop(&bench);
}

static void transceiver_that_cannot_drive_is_let_go(void **state)
{
    (void)state;
    for (unsigned transceiver = LW_TRANSCEIVER_STANDBY; transceiver <= LW_TRANSCEIVER_UNPLUGGED; transceiver++) {
        struct wire_bench bench = wire_bench_running(3, 4000, 120);
        lw_wires_drive(bench.wires, 0, true, us);
        assert_true(lw_wires_rxd(bench.wires, 1, 2 * us));
        bench.wiring.transceivers[0] = (uint8_t)transceiver;
        lw_wires_set(bench.wires, &bench.wiring, 2 * us);
        assert_false(lw_wires_rxd(bench.wires, 1, 3 * us));
        lw_wires_drive(bench.wires, 0, true, 3 * us);
        assert_false(lw_wires_rxd(bench.wires, 1, 4 * us));
        lw_wires_drive(bench.wires, 2, true, 4 * us);
        /* In standby it still listens, to be woken. */
        assert_int_equal(lw_wires_rxd(bench.wires, 0, 5 * us), transceiver == LW_TRANSCEIVER_STANDBY);
        wire_bench_stop(&bench);
    }
}

static void stuck_txd_is_let_go_after_two_milliseconds(void **state)
{
    (void)state;
    struct wire_bench bench = wire_bench_running(3, 4000, 120);
    lw_wires_drive(bench.wires, 0, true, us);
    assert_true(lw_wires_rxd(bench.wires, 1, 100 * us));
    double ends_ns = next_change_ns(&bench, 1, 100 * us);
    assert_true(ends_ns > 1901000 && ends_ns < 1901300);
    assert_true(lw_wires_rxd(bench.wires, 1, 2 * ms));
    assert_false(lw_wires_is_idle(bench.wires));
    for (unsigned u = 0; u < 3; u++)
        assert_false(lw_wires_rxd(bench.wires, u, 2 * ms + 2 * us));
    assert_true(lw_wires_is_idle(bench.wires));
    /* It may drive again after it was recessive. */
    lw_wires_drive(bench.wires, 0, false, 3 * ms);
    lw_wires_drive(bench.wires, 0, true, 3 * ms + us);
    assert_true(lw_wires_rxd(bench.wires, 1, 3 * ms + 2 * us));
    wire_bench_stop(&bench);
}

static void bus_is_idle_when_all_has_settled(void **state)
{
    (void)state;
    struct wire_bench bench = wire_bench_running(4, 40000, 120);
    assert_true(lw_wires_is_idle(bench.wires));
    lw_wires_drive(bench.wires, 0, true, us);
    assert_false(lw_wires_is_idle(bench.wires));
    lw_wires_drive(bench.wires, 0, false, 3 * us);
    assert_false(lw_wires_is_idle(bench.wires));
    /* Also if not every unit asks. */
    assert_false(lw_wires_rxd(bench.wires, 1, 5 * us));
    assert_true(lw_wires_is_idle(bench.wires));
    assert_int_equal(lw_wires_next_change_ps(bench.wires, 1), UINT64_MAX);
    wire_bench_stop(&bench);
}

static uint32_t random_next(uint64_t *seed)
{
    *seed = *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)(*seed >> 33);
}

/* All units on one metre: everybody sees the same voltage, integrated here in steps of 0.1 ns. */
static void changes_agree_with_a_simulation_in_small_steps(void **state)
{
    (void)state;
    enum { N = 4, STEP_PS = 100 };
    struct wire_bench bench = wire_bench_of(N, 3, 120);
    bench.plant->pf_per_unit = 1000;     /* 4 nF: slow beside the steps */
    for (unsigned u = 0; u < N; u++)
        bench.plant->units[u].loop_delay_ns = 0;
    wire_bench_start(&bench);
    double load = 1 / (2 / 120.0 + N / 50000.0), volt = 0;
    uint32_t driving = 0, n_changes = 0;
    bool is_dominant = false;
    uint64_t seed = 3, t = 10 * ns, changed = 0;
    for (unsigned k = 0; k < 400; k++) {
        unsigned u = random_next(&seed) % N;
        bool drives = random_next(&seed) % 4 == 0;
        lw_wires_drive(bench.wires, u, drives, t);
        driving = (driving & ~(1u << u)) | (uint32_t)drives << u;
        unsigned n = (unsigned)__builtin_popcount(driving);
        double target = n ? 5 * load / (load + 90.0 / n) : 0, ohm = 1 / (1 / load + n / 90.0);
        for (uint64_t end = t + 30 * ns + random_next(&seed) % (900 * ns); t < end; t += STEP_PS) {
            volt += (target - volt) * STEP_PS / (ohm * 4000);
            bool was = is_dominant;
            is_dominant = volt > 0.9 || (volt >= 0.5 && is_dominant);
            if (was != is_dominant) {
                changed = t;
                n_changes++;
            }
            if (t > changed + 1000)
                assert_int_equal(lw_wires_rxd(bench.wires, 1, t > 900 ? t : 0), is_dominant);
        }
    }
    assert_true(n_changes > 50);
    wire_bench_stop(&bench);
}

/* The announced change happens then, and nothing before. */
static void next_change_comes_true(void **state)
{
    (void)state;
    enum { N = 6 };
    struct wire_bench bench = wire_bench_running(N, 30000, 120);
    uint64_t seed = 5, t = us;
    uint32_t driving = 0;
    unsigned n_changes = 0;
    for (unsigned k = 0; k < 3000; k++) {
        unsigned u = random_next(&seed) % N;
        bool drives = random_next(&seed) % 6 == 0;
        lw_wires_drive(bench.wires, u, drives, t);
        driving = (driving & ~(1u << u)) | (uint32_t)drives << u;
        uint64_t end = t + 20 * ns + random_next(&seed) % (1500 * ns);
        unsigned watched = k % N;
        bool bit = lw_wires_rxd(bench.wires, watched, t);
        for (;;) {
            uint64_t change = lw_wires_next_change_ps(bench.wires, watched);
            assert_true(change > t);
            if (change >= end)
                break;
            assert_int_equal(lw_wires_rxd(bench.wires, watched, change - 1), bit);
            bit = !bit;
            assert_int_equal(lw_wires_rxd(bench.wires, watched, change), bit);
            if (bit)
                assert_int_equal(lw_wires_last_edge_ps(bench.wires, watched), change);
            t = change;
            n_changes++;
        }
        assert_int_equal(lw_wires_rxd(bench.wires, watched, end - 1), bit);
        t = end;
    }
    assert_true(n_changes > 300);
    wire_bench_stop(&bench);
}

/* Thirty-two units, all edges in flight at once, on wires of any length: in the end everybody sees what is driven. */
static void many_units_on_absurd_lengths_lose_nothing(void **state)
{
    (void)state;
    static const uint32_t lengths_mm[] = { 31, 40000, 1000000, 31000000, 4000000000 };
    for (size_t i = 0; i < N_ROWS(lengths_mm); i++) {
        struct wire_bench bench = wire_bench_of(32, lengths_mm[i], 120);
        bench.plant->mohm_per_m = 0;
        bench.plant->pf_per_m = 0;
        wire_bench_start(&bench);
        uint64_t seed = i, t = us;
        uint32_t driving = 0;
        for (unsigned k = 0; k < 20000; k++) {
            unsigned u = random_next(&seed) % 32;
            bool is_dominant = random_next(&seed) % 3 == 0;
            lw_wires_drive(bench.wires, u, is_dominant, t);
            driving = (driving & ~(UINT32_C(1) << u)) | (uint32_t)is_dominant << u;
            t += random_next(&seed) % (100 * ns);
            lw_wires_rxd(bench.wires, random_next(&seed) % 32, t);
        }
        for (unsigned u = 0; u < 32; u++)
            lw_wires_drive(bench.wires, u, false, t);
        t += 100 * ms;
        for (unsigned u = 0; u < 32; u++)
            assert_false(lw_wires_rxd(bench.wires, u, t));
        assert_true(lw_wires_is_idle(bench.wires));
        lw_wires_drive(bench.wires, 0, true, t);
        for (unsigned u = 0; u < 32; u++)
            assert_true(lw_wires_rxd(bench.wires, u, t + UINT64_C(5) * lw_plant_distance_mm(bench.plant, 0, u) + us));
        lw_wires_drive(bench.wires, 0, false, t + 100 * ms);
        t += 200 * ms;
        for (unsigned u = 0; u < 32; u++)
            assert_false(lw_wires_rxd(bench.wires, u, t));
        assert_true(lw_wires_is_idle(bench.wires));
        wire_bench_stop(&bench);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(edge_takes_five_nanoseconds_a_metre),
        cmocka_unit_test(answer_over_forty_metres_comes_after_910_ns),
        cmocka_unit_test(settling_is_proportional_to_ohms_and_picofarads),
        cmocka_unit_test(missing_terminator_matters_on_a_long_fast_bus_only),
        cmocka_unit_test(long_stub_delays_edges_that_pass_it),
        cmocka_unit_test(swapped_unit_is_heard_by_nobody_but_itself),
        cmocka_unit_test(transceiver_that_cannot_drive_is_let_go),
        cmocka_unit_test(stuck_txd_is_let_go_after_two_milliseconds),
        cmocka_unit_test(bus_is_idle_when_all_has_settled),
        cmocka_unit_test(changes_agree_with_a_simulation_in_small_steps),
        cmocka_unit_test(next_change_comes_true),
        cmocka_unit_test(many_units_on_absurd_lengths_lose_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
