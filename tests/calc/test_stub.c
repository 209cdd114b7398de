/* SPDX-License-Identifier: MIT
 *
 * Lengths against the published rules: every number of their tables, their worked examples, and that longer is never better.
 */
#include "calc_bench.h"
#include "random_event.h"

#include "stub_rules.h"

#include <math.h>

static struct lw_stub_plan plan_at(double rate_bps)
{
    return (struct lw_stub_plan){ .rate_bps = rate_bps, .edge_ns = 50, .trunk_m = 10, .loop_ns = 255, .sample = 0.75, .n_drops = 1, .longest_m = 1,
                                  .sum_m = 1 };
}

static void near(double a, double b)
{
    if (!(fabs(a - b) <= 1e-3 * fabs(b)))
        fail_msg("%.6g is not %.6g", a, b);
}

/* Typed off the sources a second time, apart from the tables of the program. 0: the source says nothing. */
static void rules_allow_what_their_sources_print(void **state)
{
    static const struct { const char *rule; double rate_bps, drop_m, sum_m, trunk_m; } rows[] = {
        /* TI SLLA270 table 1 */
        { "TI's table", 1e6, 0, 0, 40 }, { "TI's table", 500e3, 0, 0, 100 }, { "TI's table", 250e3, 0, 0, 200 }, { "TI's table", 100e3, 0, 0, 500 },
        { "TI's table", 50e3, 0, 0, 1000 },
        /* TI SLLA270 chapter 4 and SLOA101B chapter 5, quoting ISO 11898 */
        { "ISO 11898, quoted by TI", 1e6, 0.3, 0, 40 }, { "ISO 11898, quoted by TI", 500e3, 0, 0, 0 },
        /* Beckhoff BX5100, BX3100 */
        { "Beckhoff's table", 1e6, 0, 0, 20 }, { "Beckhoff's table", 500e3, 0, 0, 100 }, { "Beckhoff's table", 250e3, 0, 0, 250 },
        { "Beckhoff's table", 125e3, 0, 0, 500 }, { "Beckhoff's table", 50e3, 0, 0, 1000 }, { "Beckhoff's table", 20e3, 0, 0, 2500 },
        { "Beckhoff's table", 10e3, 0, 0, 5000 },
        /* MOTORTECH EasyNOx manual */
        { "MOTORTECH's table", 1e6, 1.5, 7.5, 25 }, { "MOTORTECH's table", 800e3, 2.5, 12.5, 50 }, { "MOTORTECH's table", 500e3, 5.5, 27.5, 100 },
        { "MOTORTECH's table", 250e3, 11, 55, 250 }, { "MOTORTECH's table", 125e3, 22, 110, 500 }, { "MOTORTECH's table", 50e3, 55, 275, 1000 },
        /* Beckhoff EL6752, p. 20 */
        { "DeviceNet", 500e3, 6, 39, 0 }, { "DeviceNet", 250e3, 6, 78, 0 }, { "DeviceNet", 125e3, 6, 156, 0 },
        /* Allison 3000/4000 J1939 sheet; Perkins 1200F, p. 235 */
        { "J1939-11", 250e3, 1, 0, 40 }, { "J1939-15", 250e3, 3, 0, 40 },
        /* Ford Transit BEMM 2016.75, p. 214 and 215 */
        { "module added to a vehicle", 500e3, 2, 0, 33.5 }, { "module added to a vehicle", 125e3, 2, 0, 50 },
        /* Maretron specification; B&G Zeus S, p. 13 */
        { "NMEA 2000", 250e3, 6, 78, 200 },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_stub_plan plan = plan_at(rows[i].rate_bps);
        const double wanted[] = { rows[i].drop_m, rows[i].sum_m, rows[i].trunk_m };
        for (int quantity = 0; quantity < LW_N_STUB_QUANTITIES; quantity++) {
            double allowed = lw_stub_allowed(lw_stub_rule_named(rows[i].rule), (enum lw_stub_quantity)quantity, &plan);
            if (wanted[quantity] > 0 ? allowed != wanted[quantity] : !isnan(allowed))
                fail_msg("%s at %g, quantity %d: %g, not %g", rows[i].rule, rows[i].rate_bps, quantity, allowed, wanted[quantity]);
        }
    }
}

/* TI SLLA270 4.8: 50 ns gives 5 m and stubs of 1.67 m; 160 ns gives 16 m and 5.33 m. */
static void critical_length_worked_examples(void **state)
{
    struct lw_stub_plan plan = plan_at(500e3);
    size_t rule = lw_stub_rule_named("1/3 of the critical length");
    (void)state;
    near(lw_critical_length_m(50), 5);
    near(lw_stub_allowed(rule, LW_STUB_DROP, &plan), 1.6667);
    plan.edge_ns = 160;
    near(lw_critical_length_m(160), 16);
    near(lw_stub_allowed(rule, LW_STUB_DROP, &plan), 5.3333);
}

/* Microchip 38.3.3.2: 40 m with transceivers of 255 ns take 910 ns. */
static void round_trip_worked_example(void **state)
{
    (void)state;
    near(lw_round_trip_ns(255, 40), 910);
    for (double rate = 10e3; rate <= 1e6; rate *= 1.7) {
        struct lw_stub_plan plan = plan_at(rate);
        double length = lw_round_trip_length_m(&plan, rate);
        if (length > 0)
            near(lw_round_trip_ns(plan.loop_ns, length), plan.sample * 1e9 / rate);
    }
}

/* TI SLLA270 4.1: above 100 m, Mbit/s times metres is 50 at most; its own table keeps that. */
static void product_rule_holds_for_the_table_of_its_own_source(void **state)
{
    double rate, trunk;
    (void)state;
    for (size_t i = 0; lw_stub_table_row(lw_stub_rule_named("TI's table"), i, &rate, &trunk); i++) {
        struct lw_stub_plan plan = plan_at(rate);
        plan.trunk_m = trunk;
        if (trunk > 100)
            near(lw_stub_allowed(lw_stub_rule_named("bit rate x length"), LW_STUB_TRUNK, &plan), plan.trunk_m);
    }
    struct lw_stub_plan shorter = plan_at(500e3);
    assert_true(isnan(lw_stub_allowed(lw_stub_rule_named("bit rate x length"), LW_STUB_TRUNK, &shorter)));
}

static void stub_a_rate_between_two_counts_as_the_higher(void **state)
{
    struct lw_stub_plan plan = plan_at(300e3);
    (void)state;
    near(lw_stub_allowed(lw_stub_rule_named("MOTORTECH's table"), LW_STUB_DROP, &plan), 5.5);
    plan = plan_at(40e3);
    near(lw_stub_allowed(lw_stub_rule_named("MOTORTECH's table"), LW_STUB_DROP, &plan), 55);
}

/* A longer drop, one drop more, a longer trunk, a higher bit rate, a faster edge: never a better finding. */
static void stub_longer_is_never_better(void **state)
{
    static const double rates[] = { 10e3, 50e3, 125e3, 250e3, 500e3, 800e3, 1e6 };
    uint64_t seed = 5;
    (void)state;
    for (int i = 0; i < 400; i++) {
        double drop = random_below(&seed, 800) / 100.0, trunk = 1 + random_below(&seed, 400), edge = 20 + random_below(&seed, 200);
        unsigned rate = random_below(&seed, N_ROWS(rates) - 1), network = random_below(&seed, LW_N_NETWORKS);
        static const char *const networks[] = { "general", "j1939-11", "j1939-15", "vehicle", "devicenet", "nmea2000" };
        static const char form[] = "drop=%.4g rate=%.6g trunk=%.5g edge=%.4g network=%s";
        char line[6][160];
        snprintf(line[0], sizeof(line[0]), form, drop, rates[rate], trunk, edge, networks[network]);
        snprintf(line[1], sizeof(line[1]), form, drop * 1.3 + 0.1, rates[rate], trunk, edge, networks[network]);
        snprintf(line[2], sizeof(line[2]), form, drop, rates[rate], trunk * 1.3, edge, networks[network]);
        snprintf(line[3], sizeof(line[3]), form, drop, rates[rate], trunk, edge / 1.5, networks[network]);
        snprintf(line[4], sizeof(line[4]), "%s drop=1", line[0]);
        enum lw_finding first = calc_finding(&lw_calc_stub, line[0]);
        for (int j = 1; j < 5; j++)
            if (calc_finding(&lw_calc_stub, line[j]) < first)
                fail_msg("%s is %s, but %s is better", line[0], lw_finding_words(first), line[j]);
    }
}

/* Per rule, a higher bit rate never allows more. */
static void rules_higher_rate_never_allows_more(void **state)
{
    (void)state;
    for (size_t rule = 0; rule < lw_n_stub_rules; rule++)
        for (int quantity = 0; quantity < LW_N_STUB_QUANTITIES; quantity++) {
            double last = INFINITY;
            for (double rate = 5000; rate <= 1e6; rate *= 1.1) {
                struct lw_stub_plan plan = plan_at(rate);
                plan.trunk_m = 200;
                double allowed = lw_stub_allowed(rule, (enum lw_stub_quantity)quantity, &plan);
                assert_true(isnan(allowed) || allowed <= last);
                last = isnan(allowed) ? last : allowed;
            }
        }
}

static void stub_where_rules_disagree_the_stricter_is_first(void **state)
{
    (void)state;
    assert_int_equal(calc_finding(&lw_calc_stub, "drop=2.4m rate=500k"), LW_FINDING_MARGINAL);
    const char *text = calc_sheet.answers[0].text;
    const char *strict = strstr(text, "TI SLLA270 4.8) allows 1.667 m"), *mild = strstr(text, "MOTORTECH EasyNOx manual) allows 5.5 m");
    assert_true(strict && mild && strict < mild);
    assert_string_equal(calc_sheet.tables[0].cells[0][0], "1/3 of the critical length");
    assert_true(calc_says("at 72 ns or slower"));
    assert_int_equal(calc_finding(&lw_calc_stub, "drop=2.4m rate=500k edge=72ns"), LW_FINDING_FITS);
    assert_int_equal(calc_finding(&lw_calc_stub, "drop=1m rate=500k trunk=18m"), LW_FINDING_FITS);
    assert_int_equal(calc_finding(&lw_calc_stub, "drop=30 rate=1M"), LW_FINDING_DOES_NOT);
    /* J1939-15 counts the drops into its 40 m. */
    assert_int_equal(calc_finding(&lw_calc_stub, "drop=1+1+1 rate=250k trunk=37 network=j1939-15"), LW_FINDING_FITS);
    assert_int_equal(calc_finding(&lw_calc_stub, "drop=1+1+1 rate=250k trunk=38 network=j1939-15"), LW_FINDING_MARGINAL);
}

static void stub_bad_input_is_refused(void **state)
{
    (void)state;
    assert_int_not_equal(calc(&lw_calc_stub, "rate=500k"), 0);
    assert_non_null(strstr(calc_error, "neither a drop nor a trunk"));
    assert_int_not_equal(calc(&lw_calc_stub, "drop=2.4"), 0);
    assert_non_null(strstr(calc_error, "rate is missing"));
    assert_int_not_equal(calc(&lw_calc_stub, "drop=-1 rate=500k"), 0);
    assert_non_null(strstr(calc_error, "negative"));
    assert_int_not_equal(calc(&lw_calc_stub, "drop=1 rate=5M"), 0);
    assert_non_null(strstr(calc_error, "too large"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rules_allow_what_their_sources_print),
        cmocka_unit_test(critical_length_worked_examples),
        cmocka_unit_test(round_trip_worked_example),
        cmocka_unit_test(product_rule_holds_for_the_table_of_its_own_source),
        cmocka_unit_test(stub_a_rate_between_two_counts_as_the_higher),
        cmocka_unit_test(stub_longer_is_never_better),
        cmocka_unit_test(rules_higher_rate_never_allows_more),
        cmocka_unit_test(stub_where_rules_disagree_the_stricter_is_first),
        cmocka_unit_test(stub_bad_input_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
