/* SPDX-License-Identifier: MIT
 *
 * Every published meter reading gets the meaning that its source gives it.
 */
#include "calc_bench.h"
#include "cases.h"

struct published {
    const char *source, *line;
    enum lw_finding finding;
    const char *said;
};

static void hold(const struct published *rows, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        enum lw_finding finding = calc_finding(&lw_calc_meter, rows[i].line);
        if (finding != rows[i].finding)
            fail_msg("%s: %s is %s, not %s", rows[i].source, rows[i].line, lw_finding_words(finding), lw_finding_words(rows[i].finding));
        calc_must_say(rows[i].line, rows[i].said);
    }
}

static void meter_published_resistances_mean_what_their_sources_say(void **state)
{
    static const struct published rows[] = {
        { "John Deere 4640 display help: both terminators", "between=60", LW_FINDING_FITS, "as it should be" },
        { "John Deere 4640 display help: one terminator", "between=120", LW_FINDING_DOES_NOT, "a terminator is missing" },
        { "John Deere 4640 display help: 0, no working terminator", "between=0", LW_FINDING_DOES_NOT, "H and L touch" },
        { "Mahindra Bolero 2021 manual, p. 27: both", "between=60", LW_FINDING_FITS, "as it should be" },
        { "Mahindra Bolero 2021 manual, p. 27: either missing", "between=120", LW_FINDING_DOES_NOT, "a terminator is missing" },
        { "Mahindra Bolero 2021 manual, p. 27: above 1 kohm, both missing", "between=1.5k", LW_FINDING_DOES_NOT, "no terminator at all" },
        { "Mahindra Bolero 2021 manual, p. 27: H-L short", "between=0", LW_FINDING_DOES_NOT, "H and L touch" },
        { "Mahindra, shorted to ground: H-L stays 60", "between=60 h-ground=0 l-ground=60", LW_FINDING_DOES_NOT, "H touches ground" },
        { "Mahindra, shorted to +: H-L stays 60", "between=60 l-supply=0 h-supply=60", LW_FINDING_DOES_NOT, "L touches the supply" },
        { "Mahindra, the same with one unit missing: 120", "between=120 h-ground=0 l-ground=120", LW_FINDING_DOES_NOT, "H touches ground" },
        { "Mahindra, only the other wire read", "l-ground=60", LW_FINDING_DOES_NOT, "most likely H touches ground" },
        { "obd-cable.com: 0 to 5, hard short", "between=3", LW_FINDING_DOES_NOT, "H and L touch" },
        { "obd-cable.com: about 40, over-terminated", "between=40", LW_FINDING_DOES_NOT, "one terminator too many" },
        { "obd-cable.com: about 60", "between=60", LW_FINDING_FITS, "as it should be" },
        { "obd-cable.com: about 120, one missing", "between=120", LW_FINDING_DOES_NOT, "a terminator is missing" },
        { "obd-cable.com: OL, open", "between=OL", LW_FINDING_DOES_NOT, "not the pair, or a stub that is open" },
        { "autodtcs.com: 54 to 66 normal, lower end", "between=54 window=108-132 units=0", LW_FINDING_FITS, "as it should be" },
        { "autodtcs.com: 54 to 66 normal, upper end", "between=66 window=108-132 units=0", LW_FINDING_FITS, "as it should be" },
        { "learnautoelectrics.com: up to 10, short", "between=8", LW_FINDING_DOES_NOT, "H and L touch" },
        { "Mercedes W202 sheet: 120 at a terminating unit, 60 at the plugs", "this-side=120 other-side=120 between=60", LW_FINDING_FITS,
          "as they must" },
        { "Mercedes W202 sheet: insulation above 20 kohm", "h-ground=21k l-ground=21k", LW_FINDING_FITS, "No wire touches ground" },
        { "MINI R56 manual: unit without terminator 10 to 50 kohm, low", "this-side=60 terms-this=2 other-side=10k terms-other=0 units=1",
          LW_FINDING_FITS, "Both sides read as they should" },
        { "MINI R56 manual: the same, high", "this-side=60 terms-this=2 other-side=50k terms-other=0 units=1", LW_FINDING_FITS,
          "Both sides read as they should" },
        { "computed from 40 / 30 ohm of three and four terminators", "between=30", LW_FINDING_DOES_NOT, "two terminators too many" },
    };
    (void)state;
    hold(rows, N_ROWS(rows));
}

static void meter_published_voltages_mean_what_their_sources_say(void **state)
{
    static const struct published rows[] = {
        { "John Deere 4640: H running 2.7 to 3.3, L 1.7 to 2.3", "h=2.7 l=2.3 bus=traffic", LW_FINDING_FITS, "so it should be" },
        { "John Deere 4640: the other end", "h=3.3 l=1.7 bus=traffic", LW_FINDING_FITS, "so it should be" },
        { "Ford, Lincoln: idle 2.5 V", "h=2.5 l=2.5 bus=idle", LW_FINDING_FITS, "so it should be" },
        { "BMW 760Li: average about 2.5 V, which proves nothing", "h=2.5", LW_FINDING_FITS, "does not prove a good bus" },
        { "TI SLOA101B, chapter 5: dominant 3.5 and 1.5 V all the time", "h=3.5 l=1.5", LW_FINDING_MARGINAL, "held dominant" },
        { "TI TCAN1145: recessive 2.0 V is allowed", "h=2.0 l=2.0 bus=idle", LW_FINDING_MARGINAL, "limits of the standard" },
        { "TI TCAN1145: recessive 3.0 V is allowed", "h=3.0 l=3.0 bus=idle", LW_FINDING_MARGINAL, "limits of the standard" },
        { "Ford 2024: H-L short stays at 2.5 V", "h=2.5 l=2.5 bus=traffic load=40", LW_FINDING_MARGINAL, "H and L touch" },
        { "Ford 2024: H to ground, both 0 V", "h=0 l=0", LW_FINDING_DOES_NOT, "H touches ground" },
        { "Ford 2024: L to ground, L 0 V, H below 3.0 V", "h=1 l=0", LW_FINDING_DOES_NOT, "L touches ground" },
        { "Ford 2024: H to battery, H 12 V, L above 5 V", "h=12 l=7", LW_FINDING_DOES_NOT, "H touches the supply" },
        { "Ford 2024: L to battery, in part", "h=12 l=12", LW_FINDING_DOES_NOT, "L touches the supply" },
        { "24 V machine, common practice, no source", "h=24 l=9 supply=24", LW_FINDING_DOES_NOT, "H touches the supply" },
    };
    (void)state;
    hold(rows, N_ROWS(rows));
}

static void meter_4_1_volts_on_h_gets_an_answer(void **state)
{
    (void)state;
    assert_int_equal(calc_finding(&lw_calc_meter, "h=4.1"), LW_FINDING_DOES_NOT);
    assert_true(calc_says("no average that traffic can give") && calc_says("a leak from the pair to a supply") && calc_says("held dominant")
                && calc_says("read L as well"));
    assert_int_equal(calc_finding(&lw_calc_meter, "h=4.1 l=4.1"), LW_FINDING_DOES_NOT);
    assert_true(calc_says("leak") && !calc_says("held dominant"));
    assert_int_equal(calc_finding(&lw_calc_meter, "h=4.1 l=1.2"), LW_FINDING_DOES_NOT);
    assert_true(calc_says("held dominant") && !calc_says("leak"));
}

static void meter_swapped_wires_are_seen_with_traffic(void **state)
{
    (void)state;
    calc_finding(&lw_calc_meter, "h=2.2 l=2.8 bus=traffic");
    assert_true(calc_says("swapped"));
    calc_finding(&lw_calc_meter, "h=2.8 l=2.2 bus=traffic");
    assert_false(calc_says("swapped"));
}

static void meter_says_on_which_side_of_a_connector_the_fault_is(void **state)
{
    static const struct published rows[] = {
        { "", "this-side=120 other-side=OL", LW_FINDING_DOES_NOT, "on the other side of the connector" },
        { "", "this-side=0 other-side=120", LW_FINDING_DOES_NOT, "on this side of the connector, which reads 0 ohm (perhaps: H and L touch)" },
        { "", "this-side=OL other-side=OL", LW_FINDING_DOES_NOT, "Neither side" },
        { "", "this-side=120 other-side=121 between=119", LW_FINDING_DOES_NOT, "The fault is the connector" },
        { "", "this-side=120 other-side=121", LW_FINDING_FITS, "Plugged together they must read 60.25 ohm" },
        { "", "h=2.6 l=2.4 h-other=2.6 l-other=0.1", LW_FINDING_DOES_NOT, "does not carry L" },
    };
    (void)state;
    hold(rows, N_ROWS(rows));
}

static void meter_bad_input_is_refused(void **state)
{
    static const struct { const char *line, *said; } rows[] = {
        { "between=-60", "is negative" },
        { "between=4.1V", "is volts; this field takes ohms" },
        { "h=60ohm", "is ohms; this field takes volts" },
        { "between=60 position=12m length=10m", "cannot be 12 m along a trunk of 10 m" },
        { "this-side=120", "other-side is missing" },
        { "h-other=2.5", "h is missing" }, { "h=2.5 l-other=2.5", "l is missing" },
        { "h=2.5 bus=idle load=30%", "an idle bus has none" },
        { "gauge=AWG99 between=60", "is too small" },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        assert_int_not_equal(calc(&lw_calc_meter, rows[i].line), 0);
        if (!strstr(calc_error, rows[i].said))
            fail_msg("%s: %s", rows[i].line, calc_error);
    }
    assert_int_equal(calc_finding(&lw_calc_meter, ""), LW_FINDING_CANNOT_TELL);
}

static void meter_cautions_come_first_and_every_cause_has_a_row(void **state)
{
    (void)state;
    calc_finding(&lw_calc_meter, "between=118");
    assert_true(calc_sheet.n_cautions == 2 && strstr(calc_sheet.cautions[0], "supply off"));
    assert_int_equal(calc_sheet.tables[0].n_rows, 10);
    assert_int_equal(calc_sheet.n_left_out, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(meter_published_resistances_mean_what_their_sources_say),
        cmocka_unit_test(meter_published_voltages_mean_what_their_sources_say),
        cmocka_unit_test(meter_4_1_volts_on_h_gets_an_answer),
        cmocka_unit_test(meter_swapped_wires_are_seen_with_traffic),
        cmocka_unit_test(meter_says_on_which_side_of_a_connector_the_fault_is),
        cmocka_unit_test(meter_bad_input_is_refused),
        cmocka_unit_test(meter_cautions_come_first_and_every_cause_has_a_row),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
