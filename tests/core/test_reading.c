/* SPDX-License-Identifier: MIT
 *
 * Meter readings as people type them, what is no reading, and into which range one falls. That two terminators of 120 ohm
 * in parallel make 60: ISO 11898-2 as quoted by makers; 2.5 V at rest, 3.5 and 1.5 V while dominant: TI SLOA101B.
 */
#include "loomwatch/core/reading.h"

#include "cases.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static void reading_parse_takes_what_people_write(void **state)
{
    static const struct { const char *text; enum lw_measurement kind; double value; } rows[] = {
        { "120", LW_MEASURE_OHM, 120 }, { "120 ohm", LW_MEASURE_OHM, 120 }, { "120ohm", LW_MEASURE_OHM, 120 }, { "60.2 Ohms", LW_MEASURE_OHM, 60.2 },
        { "  59 ohm  ", LW_MEASURE_OHM, 59 }, { "120 \xCE\xA9", LW_MEASURE_OHM, 120 }, { "120 \xE2\x84\xA6", LW_MEASURE_OHM, 120 },
        { "2.1k", LW_MEASURE_OHM, 2100 }, { "2.1 k", LW_MEASURE_OHM, 2100 }, { "2.1 kohm", LW_MEASURE_OHM, 2100 }, { "3M", LW_MEASURE_OHM, 3e6 },
        { "120R", LW_MEASURE_OHM, 120 }, { "0", LW_MEASURE_OHM, 0 }, { ".5", LW_MEASURE_OHM, 0.5 }, { "5.", LW_MEASURE_OHM, 5 },
        { "open", LW_MEASURE_OHM, INFINITY }, { "OPEN", LW_MEASURE_OHM, INFINITY }, { " OL ", LW_MEASURE_OHM, INFINITY },
        { "open circuit", LW_MEASURE_OHM, INFINITY }, { "H 3.9 V", LW_MEASURE_VOLT_H, 3.9 }, { "h3.9", LW_MEASURE_VOLT_H, 3.9 },
        { "L 2.1", LW_MEASURE_VOLT_L, 2.1 }, { "l 1.5 volts", LW_MEASURE_VOLT_L, 1.5 }, { "H 0 V", LW_MEASURE_VOLT_H, 0 }, { "H 24 V", LW_MEASURE_VOLT_H, 24 },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_meter_reading reading = { .t_ns = 7 };
        char message[LW_READING_MESSAGE];
        if (lw_reading_parse(rows[i].text, &reading, message) != 0)
            fail_msg("\"%s\": %s", rows[i].text, message);
        if (reading.kind != rows[i].kind || !(reading.value == rows[i].value || fabs(reading.value - rows[i].value) < 1e-9))
            fail_msg("\"%s\": kind %u, %g", rows[i].text, reading.kind, reading.value);
    }
}

/* Text that is well-formed UTF-8: no character cut in the middle. */
static bool is_utf8(const char *text)
{
    for (; *text; text++) {
        unsigned char c = (unsigned char)*text;
        unsigned n = c < 0x80 ? 0 : c >= 0xF0 ? 3 : c >= 0xE0 ? 2 : c >= 0xC0 ? 1 : 4;
        if (n > 3)
            return false;
        for (; n > 0; n--)
            if (((unsigned char)*++text & 0xC0) != 0x80)
                return false;
    }
    return true;
}

static void reading_parse_refuses_the_rest_and_says_what_to_write(void **state)
{
    static const struct { const char *text, *says; } rows[] = {
        { "", "no number" }, { "   ", "no number" }, { "hello", "no number" }, { "ohm", "no number" }, { "-5", "below zero" }, { "-5 ohm", "below zero" },
        { "H -0.3 V", "below zero" }, { "3.9 V", "which wire" }, { "1e9", "beyond" }, { "200M", "beyond" }, { "H 400 V", "beyond" }, { "nan", "no number" },
        { "inf", "no number" }, { "0x78", "no unit" }, { "1e400", "beyond" }, { "120 farad", "no unit" }, { "120 mohm", "no unit" }, { "H 60 ohm", "in volts" },
        { "L 2k", "in volts" }, { "H", "no number" }, { "H open", "no number" }, { "12 0", "no unit" }, { "120 ohm ohm", "no unit" }, { "4,7 V", "no unit" },
        { "120 ohmohmohmohmohmohmohm", "no unit" }, { "x\xCE\xA9\xCE\xA9\xCE\xA9\xCE\xA9\xCE\xA9\xCE\xA9\xCE\xA9\xCE\xA9\xCE\xA9\xCE\xA9\xCE\xA9\xCE\xA9\xCE\xA9", "no number" },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_meter_reading reading;
        char message[LW_READING_MESSAGE] = "";
        if (lw_reading_parse(rows[i].text, &reading, message) != -EINVAL)
            fail_msg("\"%s\" is taken", rows[i].text);
        if (!strstr(message, rows[i].says) || !strstr(message, "write 120 ohm") || !is_utf8(message))
            fail_msg("\"%s\": %s", rows[i].text, message);
    }
}

static void reading_range_has_its_edges_where_causes_part(void **state)
{
    static const struct { enum lw_measurement kind; double value; unsigned range; } rows[] = {
        { LW_MEASURE_OHM, 0, 0 }, { LW_MEASURE_OHM, 4.9, 0 }, { LW_MEASURE_OHM, 5, 1 }, { LW_MEASURE_OHM, 40, 1 }, { LW_MEASURE_OHM, 50, 2 },
        { LW_MEASURE_OHM, 60, LW_READING_NORMAL }, { LW_MEASURE_OHM, 71.9, 2 }, { LW_MEASURE_OHM, 120, 3 }, { LW_MEASURE_OHM, 150, 4 },
        { LW_MEASURE_OHM, INFINITY, 4 }, { LW_MEASURE_VOLT_H, 0, 0 }, { LW_MEASURE_VOLT_H, 2.5, LW_READING_NORMAL }, { LW_MEASURE_VOLT_H, 3.3, 2 },
        { LW_MEASURE_VOLT_H, 12, 4 }, { LW_MEASURE_VOLT_L, 0, 0 }, { LW_MEASURE_VOLT_L, 2.5, LW_READING_NORMAL }, { LW_MEASURE_VOLT_L, 1.7, 2 },
        { LW_MEASURE_VOLT_L, 24, 4 },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_meter_reading reading = { .kind = (uint8_t)rows[i].kind, .value = rows[i].value };
        assert_int_equal(lw_reading_range(&reading), rows[i].range);
    }
}

static void reading_ranges_rise_and_are_named(void **state)
{
    (void)state;
    for (int kind = 0; kind < LW_N_MEASUREMENTS; kind++) {
        const struct lw_measurement_info *info = &lw_measurements[kind];
        for (int i = 0; i < LW_READING_RANGES; i++) {
            assert_non_null(info->ranges[i].words);
            assert_true(i == 0 ? info->ranges[i].below > 0 : info->ranges[i].below > info->ranges[i - 1].below);
        }
        assert_true(isinf(info->ranges[LW_READING_RANGES - 1].below));
        assert_true(info->max > 0 && info->name && info->unit && info->how && info->source);
    }
    assert_non_null(strstr(lw_measurements[LW_MEASURE_OHM].how, "upply off"));
}

/* What is shown of a reading can be typed in again. */
static void reading_words_are_a_reading_again(void **state)
{
    static const double values[] = { 0, 0.5, 4.9, 60, 119.9, 2100, 3e6, INFINITY };
    (void)state;
    for (int kind = 0; kind < LW_N_MEASUREMENTS; kind++)
        for (size_t i = 0; i < N_ROWS(values); i++) {
            struct lw_meter_reading reading = { .kind = (uint8_t)kind, .value = values[i] }, again;
            char words[LW_READING_TEXT], message[LW_READING_MESSAGE];
            if (values[i] > lw_measurements[kind].max && kind != LW_MEASURE_OHM)
                continue;
            lw_reading_words(&reading, words);
            if (lw_reading_parse(words, &again, message) != 0)
                fail_msg("%s: %s", words, message);
            assert_int_equal(again.kind, kind);
            assert_true(again.value == values[i] || fabs(again.value - values[i]) < 0.001 * values[i]);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reading_parse_takes_what_people_write),
        cmocka_unit_test(reading_parse_refuses_the_rest_and_says_what_to_write),
        cmocka_unit_test(reading_range_has_its_edges_where_causes_part),
        cmocka_unit_test(reading_ranges_rise_and_are_named),
        cmocka_unit_test(reading_words_are_a_reading_again),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
