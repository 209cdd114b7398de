/* SPDX-License-Identifier: MIT
 *
 * The calculator `timing`: what it answers to which words, and what it refuses. Its numbers are tested in test_bit_timing.c.
 */
#include "loomwatch/calc/calculator.h"
#include "loomwatch/calc/timing.h"

#include <stdio.h>
#include <string.h>

#include "timing_parts.h"
#include "cases.h"
#include "random_event.h"

static struct lw_calc_input input;
static struct lw_worksheet sheet;
static char error[LW_CALC_ERROR];

/* Runs it with blank-separated words. Returns what it refused, or NULL. */
static const char *run(const char *words, const struct lw_timing_told *told)
{
    char list[256], *rest;
    strncpy(list, words, sizeof(list) - 1);
    list[sizeof(list) - 1] = '\0';
    lw_calc_input_init(&input, &lw_calc_timing);
    for (char *word = strtok_r(list, " ", &rest); word; word = strtok_r(NULL, " ", &rest))
        if (lw_calc_input_word(&input, word, error) != 0)
            return error;
    if (lw_calc_input_finish(&input, error) != 0)
        return error;
    input.material = told;
    lw_calc_run(&input, &sheet);
    assert_int_equal(sheet.n_left_out, 0);
    return sheet.refusal[0] != '\0' ? sheet.refusal : NULL;
}

/* Whether an answer holds all the parts, which are set apart by '|'. */
static bool is_said(const char *parts)
{
    for (unsigned i = 0; i < sheet.n_answers; i++) {
        char list[200], *rest;
        bool has_all = true;
        strncpy(list, parts, sizeof(list) - 1);
        list[sizeof(list) - 1] = '\0';
        for (char *part = strtok_r(list, "|", &rest); part; part = strtok_r(NULL, "|", &rest))
            has_all = has_all && strstr(sheet.answers[i].text, part);
        if (has_all)
            return true;
    }
    return false;
}

static const struct lw_sheet_row *row_of(const char *label)
{
    for (unsigned i = 0; i < sheet.n_rows; i++)
        if (strcmp(sheet.rows[i].label, label) == 0)
            return &sheet.rows[i];
    fail_msg("no row \"%s\"", label);
    return NULL;
}

struct answer_case {
    const char *words;
    enum lw_finding verdict;
    const char *said;
};

static void assert_answered(const struct answer_case *c, const struct lw_timing_told *told)
{
    const char *refused = run(c->words, told);
    if (refused)
        fail_msg("\"%s\" was refused: %s", c->words, refused);
    if (lw_sheet_finding(&sheet) != c->verdict)
        fail_msg("\"%s\": %s", c->words, lw_finding_words(lw_sheet_finding(&sheet)));
    if (!is_said(c->said))
        fail_msg("\"%s\" does not say \"%s\"", c->words, c->said);
}

static void setting_is_judged(void **state)
{
    (void)state;
    static const struct answer_case cases[] = {
        { "clock=8M prescaler=1 segments=6+7+2", LW_FINDING_FITS, "off by 0.31 %|weak point is SJW, 1 of 16 quanta: SJW 2 would allow 0.49 %" },
        { "clock=8M prescaler=1 segments=6+7+2", LW_FINDING_FITS, "SJW is not told and counted as 1" },
        { "clock=8M rate=500k segments=6+7+2 sjw=2", LW_FINDING_FITS, "0.49 %|weak point is the smaller phase segment, 2 of 16" },
        { "clock=8M rate=500k segments=6+7+2 length=80m", LW_FINDING_FITS, "short enough|up to 86 m" },
        { "clock=8M rate=500k segments=6+7+2 length=100m", LW_FINDING_DOES_NOT, "too long|1510 ns|1375 ns" },
        { "clock=8M rate=500k segments=6+7+2 length=100m loop-delay=175ns", LW_FINDING_FITS, "short enough" },
        { "clock=8M rate=500k segments=6+7+2 oscillator=0.4%", LW_FINDING_DOES_NOT, "is not kept" },
        { "clock=8M rate=1M segments=2+3+2", LW_FINDING_MARGINAL, "no time for any cable" },
        /* Bosch TTCAN User's Manual 1.6, p. 52: 0.39 %, a line of 40 m */
        { "clock=10M prescaler=1 segments=6+1+2 loop-delay=80ns cable-delay=5.5ns length=40m", LW_FINDING_FITS, "up to 40 m" },
        { "clock=10M prescaler=1 segments=6+1+2 loop-delay=80ns cable-delay=5.5ns length=40m", LW_FINDING_FITS, "off by 0.39 %" },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++)
        assert_answered(&cases[i], NULL);
}

static void two_settings_are_held_against_each_other(void **state)
{
    (void)state;
    static const struct answer_case cases[] = {
        { "rate=500k sample-point=87.5% module-sample-point=80%", LW_FINDING_FITS, "work together|87.5 %|80 %|up to 59 m" },
        { "rate=500k sample-point=87.5% module-sample-point=80%", LW_FINDING_FITS, "limited by the module|1600 ns|would allow 86 m" },
        { "rate=500k sample-point=87.5% module-sample-point=80%", LW_FINDING_FITS, "0.20 % is left|the module: SJW, 1 of 20" },
        { "rate=500k sample-point=80% module-sample-point=87.5% sjw=4", LW_FINDING_FITS, "limited by the bus|1600 ns|would allow 86 m" },
        { "rate=500k sample-point=80% module-sample-point=87.5% sjw=4", LW_FINDING_FITS, "the module: SJW, 1 of 16" },
        { "rate=500k sample-point=87.5% module-sample-point=80% length=60m", LW_FINDING_DOES_NOT, "too long" },
        { "rate=500k sample-point=87.5% sjw=3 module-sample-point=80%", LW_FINDING_FITS, "SJW of 3|the bus|counted as 2" },
        { "rate=500k module-clock=16M module-segments=9+3+3 module-sjw=3", LW_FINDING_FITS, "the module at 81.25 %, both 500 kbit/s" },
        { "rate=500k module-clock=8M module-prescaler=2 module-segments=6+7+2", LW_FINDING_DOES_NOT, "cannot work together|250 kbit/s" },
        { "rate=500k module-rate=250k", LW_FINDING_DOES_NOT, "cannot work together|500 kbit/s|250 kbit/s" },
        { "rate=500k sjw=2 module-sjw=4 oscillator=0.5%", LW_FINDING_DOES_NOT, "is missing" },
        { "clock=8M segments=6+7+2 sjw=1 rate=500k module-clock=10M module-segments=7+8+4 module-sjw=3 module-rate=500k", LW_FINDING_FITS,
          "the bus: SJW, 1 of 16" },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++)
        assert_answered(&cases[i], NULL);
    /* X5 of the sources: neither 80 % nor 87.5 % is wrong by itself. */
    run(cases[0].words, NULL);
    for (unsigned i = 0; i < sheet.n_answers; i++)
        assert_null(strstr(sheet.answers[i].text, "wrong"));
}

/* However far apart: a difference in nothing but the sample point is no reason to refuse. */
static void sample_points_alone_never_exclude_each_other(void **state)
{
    (void)state;
    for (unsigned bus = 60; bus <= 90; bus += 5)
        for (unsigned module = 60; module <= 90; module += 5) {
            char words[128];
            snprintf(words, sizeof(words), "rate=125k sample-point=%u module-sample-point=%u oscillator=100ppm", bus, module);
            assert_null(run(words, NULL));
            assert_int_equal(lw_sheet_finding(&sheet), LW_FINDING_FITS);
        }
}

static void list_is_short_unless_all_are_wanted(void **state)
{
    (void)state;
    assert_null(run("clock=8M rate=500k", NULL));
    assert_int_equal(sheet.tables[0].n_rows, 5);
    assert_non_null(strstr(sheet.tables[0].title, "best 5 of 16"));
    assert_true(is_said("16 settings make 500 kbit/s of a clock of 8 MHz"));
    assert_string_equal(row_of("the kernel's own choice")->value, "prescaler 1, 6+7+2, SJW 1, 87.5 %");
    assert_null(run("clock=8M rate=500k all=yes", NULL));
    assert_int_equal(sheet.tables[0].n_rows, 16);
    assert_null(run("clock=8M rate=1M limits=16+8+4+64", NULL));
    assert_string_equal(row_of("the kernel's own choice")->value, "prescaler 1, 2+3+2, SJW 1, 75 %");
}

/* Linux can.rst: 80 MHz, 500 kbit/s at 75 %, 4 Mbit/s at 80 %. */
static void data_phase_is_listed_and_its_delay_judged(void **state)
{
    (void)state;
    assert_null(run("clock=80M rate=500k sample-point=75% data-rate=4M data-sample-point=80%", NULL));
    assert_int_equal(lw_sheet_finding(&sheet), LW_FINDING_FITS);
    assert_true(is_said("Data phase: 4 Mbit/s, sampled at 80 %"));
    assert_true(is_said("compensation must be on|255 ns is 1.02 data bits|Offset: 16 periods"));
    assert_string_equal(row_of("the kernel's own choice")->value, "prescaler 4, 14+15+10, SJW 1, 75 %");
    assert_string_equal(row_of("the kernel's own choice of the data phase")->value, "prescaler 1, 7+8+4, SJW 1, 80 %");
    assert_null(run("clock=80M rate=500k data-rate=2M loop-delay=160ns", NULL));
    assert_true(is_said("No transmitter delay compensation needed"));
}

static void interface_brings_its_controller_and_setting(void **state)
{
    (void)state;
    static const struct answer_case cases[] = {
        { "can0", LW_FINDING_FITS, "500 kbit/s, sampled at 87.5 %" },
        { "can0 length=100m", LW_FINDING_DOES_NOT, "too long" },
        { "can0 rate=250k", LW_FINDING_FITS, "250 kbit/s of a clock of 8 MHz" },
        { "can0 module-sample-point=80%", LW_FINDING_FITS, "can0 at 87.5 % and the module at 80 %" },
        { "can0", LW_FINDING_FITS, "can0 has a data phase of 2 Mbit/s|not told" },
    };
    struct lw_timing_told told = { "can0", lw_timing_classic_limits, true, { 8000000, 1, 6, 7, 2, 1 }, 2000000 };
    for (size_t i = 0; i < N_ROWS(cases); i++)
        assert_answered(&cases[i], &told);
    told.has_setting = false;
    assert_non_null(strstr(run("can0", &told), "can0 has no bit rate yet"));
    assert_null(run("can0 rate=125k", &told));
    assert_non_null(strstr(run("can0 rate=250k segments=20+9+2", &told), "cannot be set to that"));
}

static void bad_input_is_refused_with_what_to_write(void **state)
{
    (void)state;
    static const struct { const char *words, *said; } cases[] = {
        { "clock=0 rate=500k", "write 100 kHz to" },
        { "clock=8M rate=3M", "nearest is 2.667 Mbit/s" },
        { "clock=1M rate=500k", "nearest is 333.3 kbit/s" },
        { "clock=8M", "rate= is missing" },
        { "rate=500k", "clock= is missing" },
        { "clock=8M rate=500k segments=6+7", "three numbers" },
        { "clock=8M rate=500k segments=6+7+2+1", "three numbers" },
        { "clock=8M rate=500k segments=6+7+0", "only the first may be 0" },
        { "clock=8M segments=6+7+2", "prescaler= or rate= is missing" },
        { "segments=6+7+2 prescaler=1", "clock= is missing" },
        { "clock=8M rate=500k segments=6+7+4", "give 444.4 kbit/s, not 500 kbit/s" },
        { "clock=8M rate=500k segments=6+7+2 sjw=3", "write sjw=2 or less" },
        { "rate=500k module-segments=6+7+2 module-clock=8M module-sjw=3", "write module-sjw=2 or less" },
        { "rate=500k module-segments=6+7+3 module-clock=8M", "give 470.6 kbit/s, not 500 kbit/s" },
        { "rate=500k module-segments=6+7+2 module-prescaler=1", "module-clock= is missing" },
        { "clock=8M rate=500k limits=16+8+4", "four numbers" },
        { "clock=8M rate=500k limits=60000+8+4+64", "no controller" },
        { "clock=8M rate=500k limits=16+8+4+64 segments=20+3+2 prescaler=1", "not 500 kbit/s" },
        { "clock=20M rate=500k limits=16+8+4+64 segments=14+3+2", "cannot be set to that" },
        { "clock=8M rate=500k sample-point=0.875", "too small; write 40" },
        { "clock=8M rate=500k segments=6+7+2 data-rate=7M", "no setting of the data phase makes 7 Mbit/s" },
    };
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        const char *refused = run(cases[i].words, NULL);
        if (!refused || !strstr(refused, cases[i].said))
            fail_msg("\"%s\": %s", cases[i].words, refused ? refused : "was taken");
    }
}

/* Whatever is written, it is refused with words or answered; and what is answered is text without "nan" or "inf". */
static void any_input_is_answered_or_refused(void **state)
{
    (void)state;
    static const char *const values[][8] = {
        [TIMING_CLOCK] = { "8M", "80M", "100k", "1000M", "12345678" }, [TIMING_RATE] = { "500k", "1M", "1k", "8M", "33.333k" },
        [TIMING_SAMPLE_POINT] = { "87.5", "40", "98" }, [TIMING_PRESCALER] = { "1", "2", "65536" },
        [TIMING_SEGMENTS] = { "6+7+2", "0+1+1", "512+512+512", "7+8+4" }, [TIMING_SJW] = { "1", "2", "128" },
        [TIMING_LIMITS] = { "16+8+4+64", "512+256+128+65536", "1+1+1+1", "64+16+16+1024+16+8+4+1024" },
        [TIMING_LENGTH] = { "0", "40m", "10km" }, [TIMING_LOOP_DELAY] = { "0", "10us" }, [TIMING_CABLE_DELAY] = { "3ns", "20ns" },
        [TIMING_OSCILLATOR] = { "0", "5%" }, [TIMING_ALL] = { "yes", "no" },
    };
    uint64_t seed = 0xA11;
    unsigned n_answered = 0;
    for (unsigned i = 0; i < 5000; i++) {
        char words[256] = "";
        for (unsigned f = TIMING_CLOCK; f < N_TIMING_FIELDS; f++) {
            /* Those of the module and the data phase are of the same kinds, in the same order. */
            unsigned like = f >= TIMING_DATA_RATE && f <= TIMING_DATA_SJW ? f - TIMING_DATA_RATE + TIMING_RATE :
                            f >= TIMING_MODULE_CLOCK && f <= TIMING_MODULE_SJW ? f - TIMING_MODULE_CLOCK + TIMING_CLOCK : f;
            const char *value = values[like][random_below(&seed, 5)];
            size_t n = strlen(words);
            if (value && random_below(&seed, f == TIMING_CLOCK || f == TIMING_RATE ? 1 : 8) == 0 && n < 200)
                snprintf(words + n, sizeof(words) - n, "%s%s=%s", n > 0 ? " " : "", lw_calc_timing.fields[f].name, value);
        }
        if (run(words, NULL))
            continue;
        n_answered++;
        assert_true(sheet.n_answers > 0);
        for (unsigned a = 0; a < sheet.n_answers; a++)
            if (strstr(sheet.answers[a].text, "nan") || strstr(sheet.answers[a].text, " inf"))
                fail_msg("%s: %s", words, sheet.answers[a].text);
    }
    assert_true(n_answered > 100);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(setting_is_judged),
        cmocka_unit_test(two_settings_are_held_against_each_other),
        cmocka_unit_test(sample_points_alone_never_exclude_each_other),
        cmocka_unit_test(list_is_short_unless_all_are_wanted),
        cmocka_unit_test(data_phase_is_listed_and_its_delay_judged),
        cmocka_unit_test(interface_brings_its_controller_and_setting),
        cmocka_unit_test(bad_input_is_refused_with_what_to_write),
        cmocka_unit_test(any_input_is_answered_or_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
