/* SPDX-License-Identifier: MIT
 *
 * The resistor network behind `meter`: published values, and the laws that hold for any values.
 */

#include "cases.h"
#include "meter_network.h"
#include "meter_volts.h"
#include "random_event.h"
#include "wire_gauge.h"

#include <math.h>

static double random_ohm(uint64_t *seed)
{
    return pow(10, (double)(random_below(seed, 6000)) / 1000 - 1);
}

static void near(double a, double b, double share)
{
    if (!(fabs(a - b) <= share * fabs(b)))
        fail_msg("%.6g is not %.6g", a, b);
}

static struct lw_meter_bus bus(double low, double high, double unit, double n)
{
    return (struct lw_meter_bus){ .terminator = { low, high }, .unit = { unit, unit }, .units_least = n, .units_most = n, .position_m = NAN };
}

/* Two terminators and units, no wire. Computed by hand from the windows of ISO 11898-2 as quoted by NI (100/120/130) and ICP DAS
 * (108/132), with units of 10 and 30 kohm. */
static void network_windows_of_the_pair(void **state)
{
    static const struct { double terminator, unit, n; unsigned n_terminators; double ohm; } rows[] = {
        { 100, 1e4, 0, 2, 50 }, { 120, 1e4, 0, 2, 60 }, { 130, 1e4, 0, 2, 65 }, { 108, 1e4, 0, 2, 54 }, { 132, 1e4, 0, 2, 66 },
        { 120, 30e3, 10, 2, 58.82 }, { 120, 30e3, 30, 2, 56.60 }, { 120, 10e3, 30, 2, 50.85 }, { 120, 30e3, 30, 1, 107.14 },
        { 120, 30e3, 10, 0, 3000 }, { 120, 30e3, 0, 3, 40 }, { 120, 30e3, 0, 4, 30 },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_meter_bus b = bus(rows[i].terminator, rows[i].terminator, rows[i].unit, rows[i].n);
        struct lw_span span = lw_meter_span_of(&b, rows[i].n_terminators);
        near(span.low, rows[i].ohm, 1e-4);
        near(span.high, rows[i].ohm, 1e-4);
    }
}

/* 66 ohm in parallel to k units of 2.6 kohm: reproduces the 53 to 66 ohm of a published row of readings. */
static void network_66_ohm_with_units_of_2600(void **state)
{
    static const struct { int k; double ohm; } rows[] = { { 0, 66.0 }, { 3, 61.3 }, { 5, 58.6 }, { 8, 54.9 }, { 10, 52.6 } };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++)
        near(lw_parallel(66, rows[i].k > 0 ? 2600.0 / rows[i].k : INFINITY), rows[i].ohm, 1e-3);
}

static void parallel_is_smaller_than_each_and_has_no_order(void **state)
{
    uint64_t seed = 7;
    (void)state;
    for (int i = 0; i < 20000; i++) {
        double a = random_ohm(&seed), b = random_ohm(&seed), c = random_ohm(&seed);
        assert_true(lw_parallel(a, b) < fmin(a, b));
        near(lw_parallel(a, b), lw_parallel(b, a), 1e-12);
        near(lw_parallel(lw_parallel(a, b), c), lw_parallel(a, lw_parallel(b, c)), 1e-12);
        near(lw_parallel(a, a), a / 2, 1e-12);
        near(lw_parallel(a, INFINITY), a, 1e-12);
        assert_true(lw_parallel(a, 0) == 0);
    }
}

/* One terminator more never reads higher; a wider tolerance, a longer wire never make the span narrower; every reading that the
 * network gives is in the span. */
static void span_grows_with_what_is_unknown(void **state)
{
    uint64_t seed = 3;
    (void)state;
    for (int i = 0; i < 5000; i++) {
        struct lw_meter_bus b = bus(100, 130, 10e3 + (double)(random_below(&seed, 90000)), (double)(random_below(&seed, 40)));
        b.length_m = (double)(random_below(&seed, 200));
        b.wire_ohm_per_m = 0.035;
        unsigned n = 1 + (unsigned)(random_below(&seed, 4));
        struct lw_span span = lw_meter_span_of(&b, n), more = lw_meter_span_of(&b, n + 1);
        assert_true(more.low < span.low && more.high < span.high && span.low <= span.high);
        struct lw_meter_bus wide = b;
        wide.terminator = (struct lw_span){ 90, 140 };
        struct lw_span wider = lw_meter_span_of(&wide, n);
        assert_true(wider.low <= span.low && wider.high >= span.high);
        struct lw_meter_state both = { .n_near = 1, .n_far = 1, .has_all_units = true, .across_ohm = INFINITY };
        double at = b.length_m * (double)(random_below(&seed, 1001)) / 1000, t = 100 + (double)(random_below(&seed, 30));
        double reads = lw_meter_reads(&b, &both, t, b.units_most > 0 ? b.unit.low / b.units_most : INFINITY, at);
        struct lw_span two = lw_meter_span_of(&b, 2);
        assert_true(reads >= two.low - 1e-9 && reads <= two.high + 1e-9);
    }
}

/* From a fault to its reading and back. */
static void contact_and_short_are_found_again_from_their_reading(void **state)
{
    uint64_t seed = 9;
    (void)state;
    for (int i = 0; i < 5000; i++) {
        double ohm = random_ohm(&seed), t = 100 + random_below(&seed, 30);
        struct lw_meter_bus b = bus(t, t, 1e4, 0);
        struct lw_meter_state contact = { .n_near = 1, .n_far = 1, .in_way_ohm = ohm, .across_ohm = INFINITY };
        near(lw_meter_contact_ohm(lw_meter_reads(&b, &contact, t, INFINITY, 0), t), ohm, 1e-6);
        struct lw_meter_state across = { .n_near = 1, .n_far = 1, .across_ohm = ohm };
        near(lw_meter_across_ohm(lw_meter_reads(&b, &across, t, INFINITY, 0), t / 2), ohm, 1e-6);
    }
    assert_true(isinf(lw_meter_contact_ohm(130, 120)) && isinf(lw_meter_across_ohm(70, 60)));
}

/* ASTM B258: gauge 36 is 0.005 inch, 0000 (-3) is 0.46 inch. IEC 60028: 1 m of 1 mm2 has 1/58 ohm. The 70 mohm a metre of ISO 11898
 * cable, as quoted by NI, belong to about 0.25 mm2. */
static void wire_gauges_and_copper(void **state)
{
    const double inch_mm = 25.4, pi = acos(-1);
    (void)state;
    near(lw_awg_mm2(36), pi / 4 * pow(0.005 * inch_mm, 2), 1e-9);
    near(lw_awg_mm2(-3), pi / 4 * pow(0.46 * inch_mm, 2), 1e-9);
    near(lw_awg_mm2(20), 0.518, 2e-3);   /* common tables of gauges */
    near(lw_copper_ohm_per_m(1), 0.017241, 1e-4);
    near(lw_copper_ohm_per_m(0.25), 0.070, 0.02);
    for (int gauge = 0; gauge < 40; gauge++)
        assert_true(lw_awg_mm2(gauge + 1) < lw_awg_mm2(gauge));
}

/* More dominant time moves H up and L down, never back, and the limits always hold what is typical. */
static void volts_follow_the_dominant_share(void **state)
{
    double last_h = 0, last_l = 9;
    (void)state;
    for (double share = 0; share <= 1; share += 0.01) {
        struct lw_volt_bus b = { 12, { share, share }, false, NAN };
        struct lw_volt_spans usual = lw_volt_spans_of(LW_VOLT_TYPICAL, &b), limit = lw_volt_spans_of(LW_VOLT_LIMITS, &b);
        assert_true(usual.h.high > last_h && usual.l.low < last_l);
        assert_true(limit.h.low <= usual.h.low && limit.h.high >= usual.h.high && limit.l.low <= usual.l.low && limit.l.high >= usual.l.high);
        /* TI SLOA101B: H and L lie 1 V above and below 2.5 V while dominant; the middle of the spans follows within their spread. */
        near((usual.h.low + usual.h.high) / 2, 2.506 + share, 1e-6);
        near((usual.l.low + usual.l.high) / 2, 2.506 - share, 1e-6);
        last_h = usual.h.high;
        last_l = usual.l.low;
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(network_windows_of_the_pair),
        cmocka_unit_test(network_66_ohm_with_units_of_2600),
        cmocka_unit_test(parallel_is_smaller_than_each_and_has_no_order),
        cmocka_unit_test(span_grows_with_what_is_unknown),
        cmocka_unit_test(contact_and_short_are_found_again_from_their_reading),
        cmocka_unit_test(wire_gauges_and_copper),
        cmocka_unit_test(volts_follow_the_dominant_share),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
