/* SPDX-License-Identifier: MIT
 *
 * The calculator `fit`: finding and first sentence agree, each obstacle is named, and what cannot be told is asked for.
 */
#include "loomwatch/calc/fit.h"

#include "cases.h"
#include "small_traffic.h"

#include <math.h>

static struct small_traffic small;
static struct lw_calc_input input;
static struct lw_worksheet sheet;
static struct lw_fit_material material;

/* A calm bus: 100 and 200 every 10 ms, and a module that sends 300 every 100 ms. */
static int begin(void **state)
{
    (void)state;
    small_traffic_begin(&small);
    small_traffic_hear(&small, "100", 10000);
    small_traffic_hear(&small, "200", 10000);
    small_traffic_add(&small, "300", 100000);
    material = (struct lw_fit_material){ &small.baseline, "can0.baseline", &small.module, &small.traffic };
    return 0;
}

/* Runs with the words, up to an empty one. */
static void work(const char *word)
{
    char error[LW_CALC_ERROR];
    lw_calc_input_init(&input, &lw_calc_fit);
    assert_int_equal(lw_calc_input_word(&input, "module=m.module", error), 0);
    if (word[0] != '\0' && lw_calc_input_word(&input, word, error) != 0)
        fail_msg("%s", error);
    if (lw_calc_input_finish(&input, error) != 0)
        fail_msg("%s", error);
    input.material = &material;
    lw_calc_run(&input, &sheet);
    assert_int_equal(sheet.n_left_out, 0);
}

static bool is_said(const char *words)
{
    for (unsigned i = 0; i < sheet.n_answers; i++)
        if (strstr(sheet.answers[i].text, words))
            return true;
    return false;
}

static void check(enum lw_finding finding, const char *first, const char *also)
{
    assert_string_equal(sheet.refusal, "");
    if (lw_sheet_finding(&sheet) != finding || strncmp(sheet.answers[0].text, first, strlen(first)) != 0 || !is_said(also))
        fail_msg("finding %d, %s / %s", lw_sheet_finding(&sheet), sheet.answers[0].text, also);
    assert_int_equal(sheet.answers[0].finding, finding);
}

static bool has_row(const char *label)
{
    for (unsigned i = 0; i < sheet.n_rows; i++)
        if (strcmp(sheet.rows[i].label, label) == 0)
            return true;
    return false;
}

static void fit_of_a_calm_bus_fits(void **state)
{
    (void)state;
    work("");
    /* 135 bits at 500 kbit/s = 0.27 ms; two of them every 10 ms = 5.4 %. 200 waits for a frame of 300 that has just
     * begun, and for 100. */
    check(LW_FINDING_FITS, "It fits: load 5.4 % -> 5.7 %, at the worst 5.4 % -> 5.7 %", "200, arrives within 810 us of its 10 ms");
    check(LW_FINDING_FITS, "It fits", "No identifier is taken");
    assert_int_equal(sheet.n_tables, 2);
    assert_int_equal(sheet.tables[0].n_rows, 1);
    assert_string_equal(sheet.tables[0].cells[0][2], "0 of 2");
    assert_int_equal(sheet.tables[1].n_rows, 2);
    assert_int_equal(sheet.plots[0].n_bars, 3);
    assert_true(fabs(sheet.plots[0].bars[0].value - 8.1) < 1e-9);    /* 810 us of 10 ms */
    assert_true(sheet.plots[0].bars[0].limit == 100);
    assert_true(has_row("What was assumed") && has_row("disturbance") && !has_row("on event"));
}

static void fit_of_a_taken_identifier_does_not(void **state)
{
    (void)state;
    small_traffic_add(&small, "200", 100000);
    work("");
    check(LW_FINDING_DOES_NOT, "It does not fit", "200 of the module is sent on this bus already");
    assert_false(is_said("No identifier is taken"));
}

static void fit_that_pushes_others_does_not(void **state)
{
    (void)state;
    small.baseline.ids[1].period_ns = 1200000;
    for (unsigned i = 0; i < 7; i++)
        small_traffic_add(&small, (const char *[]){ "001", "002", "003", "004", "005", "006", "007" }[i], 100000);
    work("");
    check(LW_FINDING_DOES_NOT, "It does not fit", "200 is pushed past its period: within 540 us before, 2.7 ms after, of 1.2 ms");
}

static void fit_of_a_late_message_of_the_module_does_not(void **state)
{
    (void)state;
    small.module.messages[0].deadline_ns = 500000;
    work("");
    check(LW_FINDING_DOES_NOT, "It does not fit", "300 of the module may take 810 us, and must arrive within 500 us");
}

static void fit_names_a_few_and_counts_the_rest(void **state)
{
    (void)state;
    for (unsigned i = 0; i < 12; i++) {
        char id[LW_ID_TEXT];
        snprintf(id, sizeof(id), "%03X", 0x400 + i);
        small_traffic_add(&small, id, 100000)->deadline_ns = 1000;
    }
    work("");
    check(LW_FINDING_DOES_NOT, "It does not fit", "So are 7 more: messages of the module that come too late");
}

static void fit_of_another_bit_rate_does_not(void **state)
{
    (void)state;
    small.module.bit_rate_bps = LW_KNOWN(250000);
    work("");
    check(LW_FINDING_DOES_NOT, "It does not fit", "The module is set to 250 kbit/s, the bus runs at 500 kbit/s");
}

static void fit_of_fd_on_a_classic_bus_cannot_be_told(void **state)
{
    (void)state;
    small.module.messages[0].format = LW_FRAME_FD;
    work("");
    check(LW_FINDING_CANNOT_TELL, "Cannot tell whether it fits", "no FD frame was heard");
}

static void fit_on_a_bus_that_is_late_already_cannot_be_told(void **state)
{
    (void)state;
    small.baseline.ids[1].period_ns = 500000;
    work("");
    check(LW_FINDING_CANNOT_TELL, "Cannot tell", "1 message may miss the period without the module already, 200 first");
}

static void fit_on_a_bus_that_bursts_fill_cannot_be_told(void **state)
{
    (void)state;
    small.baseline.ids[0].rhythm = LW_RHYTHM_EVENT;
    small.baseline.ids[0].shortest_gap_ns = 260000;
    work("");
    check(LW_FINDING_CANNOT_TELL, "Cannot tell", "100 alone, every 260 us, asks for 104 %");
    assert_true(has_row("on event"));
}

static void fit_on_a_bus_at_too_slow_a_rate_cannot_be_told(void **state)
{
    (void)state;
    work("rate=20k");
    check(LW_FINDING_CANNOT_TELL, "Cannot tell", "The cyclic messages of the bus alone ask for 135 % at 20 kbit/s");
}

static void fit_with_faults_takes_longer(void **state)
{
    (void)state;
    work("faults=2");
    /* Each: 31 bits and the longest frame again. */
    check(LW_FINDING_FITS, "It fits", "200, arrives within 1.474 ms of its 10 ms");
}

static void fit_that_lacks_something_asks_for_it(void **state)
{
    (void)state;
    small.baseline.buses[0].bit_rate_bps = LW_UNKNOWN;
    work("");
    assert_non_null(strstr(sheet.refusal, "write rate=500k"));
    work("rate=250k");
    check(LW_FINDING_FITS, "It fits: load 10.8 %", "");
    work("bus=2");
    assert_non_null(strstr(sheet.refusal, "write bus=1"));
    small.module.messages[0].format = LW_FRAME_FD | LW_FRAME_BRS;
    small.baseline.buses[0].bit_rate_bps = LW_KNOWN(500000);
    work("");
    assert_non_null(strstr(sheet.refusal, "write data-rate=2M"));
    work("data-rate=400k");
    assert_non_null(strstr(sheet.refusal, "below the bit rate"));
    small.baseline.n_buses = 2;
    small.baseline.buses[1].bit_rate_bps = LW_KNOWN(500000);
    work("");
    assert_non_null(strstr(sheet.refusal, "write bus=1 for \"can0\""));
    work("bus=2");
    assert_non_null(strstr(sheet.refusal, "no message"));
    material.traffic = NULL;
    lw_calc_input_init(&input, &lw_calc_fit);
    lw_calc_run(&input, &sheet);
    assert_non_null(strstr(sheet.refusal, "write their files"));
}

#define AT_START(test) cmocka_unit_test_setup(test, begin)

int main(void)
{
    const struct CMUnitTest tests[] = {
        AT_START(fit_of_a_calm_bus_fits),
        AT_START(fit_of_a_taken_identifier_does_not),
        AT_START(fit_that_pushes_others_does_not),
        AT_START(fit_of_a_late_message_of_the_module_does_not),
        AT_START(fit_names_a_few_and_counts_the_rest),
        AT_START(fit_of_another_bit_rate_does_not),
        AT_START(fit_of_fd_on_a_classic_bus_cannot_be_told),
        AT_START(fit_on_a_bus_that_is_late_already_cannot_be_told),
        AT_START(fit_on_a_bus_that_bursts_fill_cannot_be_told),
        AT_START(fit_on_a_bus_at_too_slow_a_rate_cannot_be_told),
        AT_START(fit_with_faults_takes_longer),
        AT_START(fit_that_lacks_something_asks_for_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
