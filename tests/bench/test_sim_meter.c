/* SPDX-License-Identifier: MIT
 *
 * The meter on the bench page: ohms with the supply off, volts with it on, whole and with each of the shorts of a workshop
 * manual. What an averaging meter shows is a share of the time between two levels, not a level.
 */
#include "sim_bench.h"

#include "loomwatch/core/wire.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "cases.h"

static void assert_between(const char *what, double value, double least, double most)
{
    if (!(value >= least && value <= most))
        fail_msg("%s: %.3f is not within %.3f and %.3f", what, value, least, most);
}

/* Our adapter and four more over 10 m, unpowered for the meter. */
static struct sim_bench measured_bench(void)
{
    struct sim_bench bench = sim_bench_of(5, 500000, 10000);
    for (unsigned u = 1; u < 5; u++)
        sim_bench_message(&bench, u, 0x100 + u, 8, 10);
    return bench;
}

/* Readings as repair manuals give them: John Deere 4640 and Mahindra Bolero 2021: 60 both terminators, 120 one, over
 * 1 kohm none, 0 a short; about 40 too many (trade). 100 and 130 ohm terminators give 50 and 65. */
static const struct ohm_row {
    const char *name;
    uint32_t ohm;                    /* of the two terminators */
    const char *faults[3];
    double least, most;
} ohm_rows[] = {
    { "both terminators", 120, { NULL }, 59.5, 61 },
    { "100 ohm each", 100, { NULL }, 49.5, 51 },
    { "130 ohm each", 130, { NULL }, 64.5, 66 },
    { "one missing", 120, { "no-terminator at point 1" }, 118, 122 },
    { "one too many", 120, { "extra-terminator at point 3" }, 39.5, 41 },
    { "two too many", 120, { "extra-terminator at point 3", "extra-terminator at unit-2" }, 29.5, 31 },
    { "both missing", 120, { "no-terminator at point 1", "no-terminator at point 5" }, 1000, 10e6 },
    { "H and L touch", 120, { "short at point 1" }, 0, 2 },
    { "both wires open between the point and the rest", 120, { "open at segment 1" }, 119.5, 121 },
    { "one wire open there", 120, { "open-h at segment 1" }, 119.5, 121 },
    { "H shorted to ground", 120, { "h-to-ground at point 3" }, 59.5, 61 },      /* the pair still reads 60: Mahindra Bolero */
    { "H shorted to the supply", 120, { "h-to-supply at point 3" }, 59.5, 61 },
};

static void ohms_with_the_supply_off_are_those_of_the_manuals(void **state)
{
    (void)state;
    for (unsigned i = 0; i < N_ROWS(ohm_rows); i++) {
        const struct ohm_row *row = &ohm_rows[i];
        struct sim_bench bench = measured_bench();
        bench.plant->terminators[0].ohm = bench.plant->terminators[1].ohm = row->ohm;
        sim_bench_start(&bench, 1);
        lw_sim_supply(bench.sim, false);
        for (unsigned k = 0; k < 3 && row->faults[k]; k++)
            sim_bench_fault(&bench, row->faults[k]);
        sim_bench_run(&bench, 5);
        struct lw_bench_meter meter = sim_bench_meter(&bench, 0);
        assert_true(meter.is_supply_off && isnan(meter.h_volt) && isnan(meter.l_volt));
        assert_between(row->name, meter.ohm, row->least, row->most);
        lw_sim_supply(bench.sim, true);
        assert_true(isnan(sim_bench_meter(&bench, 0).ohm));
        sim_bench_stop(&bench);
    }
}

/* With both ends open there is nothing at all at a point but one unit's leakage. */
static void point_cut_off_from_everything_reads_open(void **state)
{
    (void)state;
    struct sim_bench bench = measured_bench();
    sim_bench_start(&bench, 1);
    lw_sim_supply(bench.sim, false);
    sim_bench_fault(&bench, "open at segment 2");
    sim_bench_fault(&bench, "open at segment 3");
    sim_bench_fault(&bench, "open at unit-2");
    assert_true(isinf(sim_bench_meter(&bench, 2).ohm));
    sim_bench_stop(&bench);
}

/* The shipped benches: a fitter who measures them finds what their files say. */
static void shipped_benches_read_as_terminated(void **state)
{
    static const struct {
        const char *name;
        double ohm;
    } rows[] = { { "harrow40", 60 }, { "harrow40-drive", 60 }, { "fd-bench", 60 }, { "long-bus", 60 }, { "bare-bench", 120 } };
    (void)state;
    for (unsigned i = 0; i < N_ROWS(rows); i++) {
        struct sim_bench bench = sim_bench_of_file(rows[i].name);
        sim_bench_start(&bench, 1);
        lw_sim_supply(bench.sim, false);
        for (unsigned p = 0; p < bench.plant->n_points; p++)
            assert_between(rows[i].name, sim_bench_meter(&bench, p).ohm, rows[i].ohm - 0.5, rows[i].ohm * 1.05);
        sim_bench_stop(&bench);
    }
}

/* At rest 2.5 V on both: TI SLOA101B, 5, and workshop manuals. */
static void silent_bus_rests_at_2_5_volt(void **state)
{
    (void)state;
    struct sim_bench bench = sim_bench_of(3, 500000, 5000);
    sim_bench_start(&bench, 1);
    sim_bench_run(&bench, 500);
    for (unsigned p = 0; p < 3; p++) {
        assert_between("H", sim_bench_meter(&bench, p).h_volt, 2.45, 2.55);
        assert_between("L", sim_bench_meter(&bench, p).l_volt, 2.45, 2.55);
    }
    sim_bench_stop(&bench);
}

/* Bits of a frame that somebody drives dominant: all but the recessive ones, the acknowledge among them. Counted from the
 * trace that the bench page shows, so independent of the meter. */
static double dominant_share(struct sim_bench *bench, unsigned n_frames_a_second)
{
    struct lw_bench_picture *picture = malloc(sizeof(*picture));
    unsigned n_dominant = 0;
    assert_non_null(picture);
    lw_sim_picture(bench->sim, SIM_BENCH_ADAPTER, picture);
    assert_in_range(picture->trace.n, 40, 140);
    for (unsigned i = 0; i < picture->trace.n; i++)
        n_dominant += picture->trace.bits[i].is_dominant;
    free(picture);
    return (double)n_dominant * n_frames_a_second / bench->plant->bit_rate_bps;
}

/* A busy bus averages at 2.5 V plus and minus about a volt times the dominant share (CANH about 3.5 V, CANL about 1.5 V: TI
 * SLOA101B, 5); manuals expect H of 2.7 to 3.3 V and L of 1.7 to 2.3 V (John Deere 4640), a sum of 5 V. */
static void busy_bus_averages_by_its_dominant_share(void **state)
{
    (void)state;
    for (unsigned n_senders = 1; n_senders <= 4; n_senders++) {
        struct sim_bench bench = sim_bench_of(5, 500000, 5000);
        for (unsigned u = 1; u <= n_senders; u++)                /* constant data, so that every frame is alike */
            sim_bench_message(&bench, 1, 0x2A4, 8, 1)->constant[0] = 0x33;
        sim_bench_start(&bench, 1);
        sim_bench_run(&bench, 1000);
        double share = dominant_share(&bench, 1000 * n_senders);
        struct lw_bench_meter meter = sim_bench_meter(&bench, 2);
        assert_between("H above rest", (meter.h_volt - 2.5) / share, 0.85, 1.15);
        assert_between("L below rest", (2.5 - meter.l_volt) / share, 0.85, 1.15);
        assert_between("sum", meter.h_volt + meter.l_volt, 4.9, 5.1);
        if (n_senders == 4) {
            assert_between("H of a busy bus", meter.h_volt, 2.7, 3.3);
            assert_between("L of a busy bus", meter.l_volt, 1.7, 2.3);
        }
        sim_bench_stop(&bench);
    }
}

/* The average follows: a bus that falls silent is back at rest within a second. Rest is lower where the others sleep: their
 * transceivers then pull to ground, ours to 2.5 V (ISO 11898-2:2016, low-power mode, from memory). */
static void average_falls_back_when_the_bus_falls_silent(void **state)
{
    (void)state;
    struct sim_bench bench = measured_bench();
    sim_bench_start(&bench, 1);
    sim_bench_run(&bench, 500);
    assert_true(sim_bench_meter(&bench, 1).h_volt > 2.53);
    for (unsigned u = 1; u < 5; u++)
        lw_sim_plug(bench.sim, u, false);
    sim_bench_run(&bench, 1500);
    assert_between("H", sim_bench_meter(&bench, 1).h_volt, 2.48, 2.52);
    for (unsigned u = 1; u < 5; u++)
        lw_sim_plug(bench.sim, u, true);
    sim_bench_fault(&bench, "asleep");
    sim_bench_run(&bench, 2500);
    assert_between("H of a sleeping bus", sim_bench_meter(&bench, 1).h_volt, 0.4, 0.6);
    sim_bench_stop(&bench);
}

/* Ford 2024 (Bronco Sport, Maverick), "CAN fault tolerance": what the wires do, and whether the bus goes on. With 12 V.
 * Averages of this bus, whose dominant share is small: near the level at rest. */
static const struct short_row {
    const char *fault;
    double h[2], l[2];
    bool goes_on;
} short_rows[] = {
    /* D1: stays at 2.5 V, all communication lost. */
    { "short at point 3", { 2.4, 2.6 }, { 2.4, 2.6 }, false },
    /* D2: both wires pulled to 0 V, all lost. */
    { "h-to-ground at point 3", { 0, 0.3 }, { 0, 0.5 }, false },
    /* D3: L at 0 V; H falls to 0 V at rest, peaks near 3 V; may continue. */
    { "l-to-ground at point 3", { 0, 1 }, { 0, 0.3 }, true },
    /* D4: H at 12 V; L above 5 V while sending, 12 V at peak; may continue. */
    { "h-to-supply at point 3", { 11.5, 12 }, { 10, 12 }, true },
    /* D5: from memory: both at 12 V, all lost; L to the supply: no positive difference can be driven (TI, support forum). */
    { "l-to-supply at point 3", { 11, 12 }, { 11.5, 12 }, false },
};

static void shorts_pull_the_wires_as_published(void **state)
{
    (void)state;
    for (unsigned i = 0; i < N_ROWS(short_rows); i++) {
        const struct short_row *row = &short_rows[i];
        struct sim_bench bench = measured_bench();
        sim_bench_start(&bench, 1);
        sim_bench_run(&bench, 200);
        sim_bench_fault(&bench, row->fault);
        sim_bench_run(&bench, 800);
        sim_bench_forget(&bench);
        sim_bench_run(&bench, 1300);
        struct lw_bench_meter meter = sim_bench_meter(&bench, 2);
        assert_between(row->fault, meter.h_volt, row->h[0], row->h[1]);
        assert_between(row->fault, meter.l_volt, row->l[0], row->l[1]);
        if ((bench.seen.n_frames > 100) != row->goes_on)
            fail_msg("%s: %u frames in half a second", row->fault, bench.seen.n_frames);
        sim_bench_stop(&bench);
    }
}

/* What the page draws of terminators is what the meter measures. */
static void picture_shows_the_terminators_that_are_there(void **state)
{
    (void)state;
    struct sim_bench bench = measured_bench();
    struct lw_bench_picture *picture = malloc(sizeof(*picture));
    assert_non_null(picture);
    bench.plant->n_terminators = 1;
    bench.plant->units[4].own_ohm = 120;
    sim_bench_start(&bench, 1);
    lw_sim_picture(bench.sim, 0, picture);
    assert_true(picture->units[4].is_terminated && picture->n_terminators == 1);
    sim_bench_fault(&bench, "no-terminator at unit-4");
    sim_bench_fault(&bench, "no-terminator at point 1");
    sim_bench_fault(&bench, "extra-terminator at point 2 150");
    sim_bench_fault(&bench, "extra-terminator at unit-3");
    lw_sim_picture(bench.sim, 0, picture);
    assert_false(picture->units[4].is_terminated);
    assert_true(picture->units[3].is_terminated);
    assert_int_equal(picture->n_terminators, 1);
    assert_int_equal(picture->terminators[0].point, 1);
    assert_int_equal(picture->terminators[0].ohm, 150);
    lw_sim_supply(bench.sim, false);
    assert_between("150 and 120 in parallel", sim_bench_meter(&bench, 2).ohm, 66.2, 67.5);
    free(picture);
    sim_bench_stop(&bench);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(ohms_with_the_supply_off_are_those_of_the_manuals),
        cmocka_unit_test(point_cut_off_from_everything_reads_open),
        cmocka_unit_test(shipped_benches_read_as_terminated),
        cmocka_unit_test(silent_bus_rests_at_2_5_volt),
        cmocka_unit_test(busy_bus_averages_by_its_dominant_share),
        cmocka_unit_test(average_falls_back_when_the_bus_falls_silent),
        cmocka_unit_test(shorts_pull_the_wires_as_published),
        cmocka_unit_test(picture_shows_the_terminators_that_are_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
