/* SPDX-License-Identifier: MIT
 *
 * From words to the input of a calculator: what is taken, and what is said about what is not.
 */
#include "loomwatch/calc/calculator.h"

#include "random_event.h"
#include "cases.h"

#include <math.h>
#include <string.h>

enum { BETWEEN, LENGTH, RATE, UNITS, WHERE, GAUGE, DROP, PLAN };

static const char *const places[] = { "left", "right", NULL };

static const struct lw_calc_field fields[] = {
    [BETWEEN] = { "between", "reading between H and L", "ohm", "118", NULL, NULL, 0, 1e7, LW_FIELD_NUMBER, .is_required = true },
    [LENGTH] = { "length", "length of the harness", "m", "8.5", "10m", NULL, 0, 1000, LW_FIELD_NUMBER },
    [RATE] = { "rate", "bit rate", "bit/s", "500k", NULL, NULL, 5000, 1e6, LW_FIELD_NUMBER },
    [UNITS] = { "units", "units on the bus", NULL, "6", NULL, NULL, 0, 110, LW_FIELD_COUNT },
    [WHERE] = { "where", "which side", NULL, "left", "right", places, 0, 0, LW_FIELD_CHOICE },
    [GAUGE] = { "gauge", "copper", "mm2", "0.5", NULL, NULL, 0.01, 100, LW_FIELD_GAUGE },
    [DROP] = { "drop", "length of a drop", "m", "2.4", NULL, NULL, 0, 100, LW_FIELD_NUMBER, .may_repeat = true },
    [PLAN] = { "plan", "a plan", NULL, "my.plan", NULL, NULL, 0, 0, LW_FIELD_FILE, .is_positional = true },
};

static void run(const struct lw_calc_input *input, struct lw_worksheet *sheet)
{
    lw_sheet_answer(sheet, LW_FINDING_FITS, "%g", lw_calc_number(input, BETWEEN));
}

static const struct lw_calculator sample = {
    "sample", "a calculator for tests", "between=118", true, N_ROWS(fields), fields, run,
};

static struct lw_calc_input input;
static char error[LW_CALC_ERROR];

static int put(const char *word)
{
    return lw_calc_input_word(&input, word, error);
}

/* A value with its unit, and what it is in the unit of the field. */
static void input_takes_handy_units(void **state)
{
    static const struct { const char *word; unsigned field; double value; } cases[] = {
        { "between=118", BETWEEN, 118 }, { "between=118ohm", BETWEEN, 118 }, { "between=118 ohm", BETWEEN, 118 },
        { "between=118Ω", BETWEEN, 118 }, { "between=118\u2126", BETWEEN, 118 }, { "between=1.2k", BETWEEN, 1200 },
        { "between=1.2kΩ", BETWEEN, 1200 }, { "between=2.2Mohm", BETWEEN, 2.2e6 }, { "between=.5", BETWEEN, 0.5 },
        { "length=850cm", LENGTH, 8.5 }, { "length=8500 mm", LENGTH, 8.5 }, { "rate=500k", RATE, 500000 },
        { "rate=1M", RATE, 1e6 }, { "rate=83.333k", RATE, 83333 }, { "units=6", UNITS, 6 }, { "gauge=0.5mm2", GAUGE, 0.5 },
        { "gauge=20awg", GAUGE, 0.5176 }, { "gauge=AWG20", GAUGE, 0.5176 }, { "gauge=awg 20", GAUGE, 0.5176 },
        { "where=Left", WHERE, 0 }, { "drop=2.4m", DROP, 2.4 },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        lw_calc_input_init(&input, &sample);
        if (put(cases[i].word) != 0)
            fail_msg("%s: %s", cases[i].word, error);
        assert_true(fabs(lw_calc_number(&input, cases[i].field) - cases[i].value) <= 2e-4 * fabs(cases[i].value));
        assert_true(input.slots[cases[i].field].is_given);
    }
}

/* What is wrong, and what to write instead. */
#define DIGITS_64 "1111111111111111111111111111111111111111111111111111111111111111"

static void input_refuses_with_the_reason(void **state)
{
    static const struct { const char *word, *said; } cases[] = {
        { "between=4.1V", "sample: between: \"4.1V\" is volts; this field takes ohms, for instance between=118" },
        { "between=-5", "sample: between: \"-5\" is negative; write 0 ohm to 10 Mohm" },
        { "between=20M", "sample: between: \"20M\" is too large; write 0 ohm to 10 Mohm" },
        { "between=118,5", "write a point for the decimals, between=118.5" },
        { "between=118foo", "\"foo\" is no unit; this field takes ohms" },
        { "between=", "no value; write for instance between=118" },
        { "between=abc", "\"abc\" is no number" },
        { "between=inf", "\"inf\" is no number" },
        { "between=nan", "\"nan\" is no number" },
        { "between=0x10", "\"0x10\" is no number" },
        { "between=1e999", "is no number" },
        { "units=2.5", "is no whole number" },
        { "units=3V", "this field takes a plain number, for instance units=6" },
        { "rate=1k", "\"1k\" is too small; write 5 kbit/s to 1 Mbit/s" },
        { "where=up", "write one of: left, right" },
        { "gauge=awg", "write a gauge such as AWG20" },
        { "betwen=118", "no field \"betwen\"; write one of: between" },
        { "q=118", "write one of: between, length, rate, units, where, gauge, drop, plan" },
        { "drop=+", "no value" },
        { "drop=1+-2", "\"-2\" is negative" },
        { "between=" DIGITS_64 DIGITS_64 DIGITS_64 DIGITS_64, "too long" },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(cases); i++) {
        lw_calc_input_init(&input, &sample);
        assert_int_not_equal(put(cases[i].word), 0);
        if (!strstr(error, cases[i].said))
            fail_msg("%s: said \"%s\", not \"%s\"", cases[i].word, error, cases[i].said);
    }
}

static void input_repeated_values_add_up(void **state)
{
    (void)state;
    lw_calc_input_init(&input, &sample);
    assert_int_equal(put("drop=2.4+1 + 0.5"), 0);
    assert_int_equal(put("drop=30cm"), 0);
    assert_int_equal(lw_calc_count(&input, DROP), 4);
    assert_true(lw_calc_number_at(&input, DROP, 2) == 0.5);
    assert_true(isnan(lw_calc_number_at(&input, DROP, 4)));
    assert_int_equal(put("rate=500k"), 0);
    assert_int_not_equal(put("rate=250k"), 0);
    assert_non_null(strstr(error, "stands twice"));
    for (int i = 4; i < LW_CALC_REPEATS; i++)
        assert_int_equal(put("drop=1"), 0);
    assert_int_not_equal(put("drop=1"), 0);
}

static void input_presets_stand_for_what_is_not_given(void **state)
{
    (void)state;
    lw_calc_input_init(&input, &sample);
    assert_int_not_equal(lw_calc_input_finish(&input, error), 0);
    assert_string_equal(error, "sample: between is missing: reading between H and L. Write for instance between=118");
    lw_calc_input_init(&input, &sample);
    assert_int_equal(put("between=60"), 0);
    assert_int_equal(lw_calc_input_finish(&input, error), 0);
    assert_true(lw_calc_number(&input, LENGTH) == 10);
    assert_false(input.slots[LENGTH].is_given);
    assert_int_equal(lw_calc_choice(&input, WHERE), 1);
    assert_false(lw_calc_has(&input, RATE));
    assert_true(isnan(lw_calc_number(&input, RATE)));
}

/* What is shown can be typed again. */
static void input_takes_numbers_as_they_are_shown(void **state)
{
    static const unsigned shown[] = { BETWEEN, LENGTH, RATE };
    uint64_t seed = 2;
    (void)state;
    for (int i = 0; i < 20000; i++) {
        const struct lw_calc_field *field = &fields[shown[i % N_ROWS(shown)]];
        double low = fmax(field->min, field->max / 1e7), value = low * pow(field->max / low, random_below(&seed, 1000001) / 1e6);
        char text[LW_NUMBER_UNIT_TEXT];
        struct lw_calc_value read;
        lw_number_text(value, field->unit, text);
        if (lw_calc_field_read(field, text, &read, error) != 0)
            fail_msg("%s is refused: %s", text, error);
        assert_true(fabs(read.number - value) <= 6e-4 * value);
    }
}

static void input_words_without_a_name_fill_positional_fields(void **state)
{
    (void)state;
    lw_calc_input_init(&input, &sample);
    assert_int_equal(put("some.plan"), 0);
    assert_string_equal(input.slots[PLAN].values[0].text, "some.plan");
    assert_int_not_equal(put("118"), 0);
    assert_string_equal(error, "sample: \"118\": which field is that? Write for instance: between=118");
}

static void calculator_run_opens_the_sheet_with_cautions(void **state)
{
    static struct lw_worksheet sheet;
    (void)state;
    lw_calc_input_init(&input, &sample);
    assert_int_equal(put("between=60"), 0);
    assert_int_equal(lw_calc_input_finish(&input, error), 0);
    lw_calc_run(&input, &sheet);
    assert_int_equal(sheet.n_cautions, 2);
    assert_string_equal(sheet.answers[0].text, "60");
    assert_int_equal(lw_sheet_finding(&sheet), LW_FINDING_FITS);
}

/* Every calculator there is: its example works, its presets are within their limits, its names are names. */
static void calculators_are_whole(void **state)
{
    (void)state;
    for (int i = 0; i < LW_N_CALCULATORS; i++) {
        const struct lw_calculator *calculator = lw_calculators[i];
        assert_ptr_equal(lw_calculator_find(calculator->name), calculator);
        assert_true(calculator->n_fields <= LW_CALC_FIELDS);
        for (unsigned j = 0; j < calculator->n_fields; j++) {
            const struct lw_calc_field *field = &calculator->fields[j];
            struct lw_calc_value value;
            assert_true(field->name && field->words && field->example && strlen(field->name) < 20);
            assert_true(!field->preset || lw_calc_field_read(field, field->preset, &value, error) == 0);
            assert_true(field->may_repeat || lw_calc_field_read(field, field->example, &value, error) == 0);
            assert_true((field->kind == LW_FIELD_CHOICE) == (field->choices != NULL));
        }
    }
    assert_null(lw_calculator_find("abacus"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(input_takes_handy_units),
        cmocka_unit_test(input_refuses_with_the_reason),
        cmocka_unit_test(input_repeated_values_add_up),
        cmocka_unit_test(input_presets_stand_for_what_is_not_given),
        cmocka_unit_test(input_takes_numbers_as_they_are_shown),
        cmocka_unit_test(input_words_without_a_name_fill_positional_fields),
        cmocka_unit_test(calculator_run_opens_the_sheet_with_cautions),
        cmocka_unit_test(calculators_are_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
