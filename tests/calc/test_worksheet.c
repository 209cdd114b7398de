/* SPDX-License-Identifier: MIT
 *
 * Worksheets are bounded: what finds no room is counted, text is cut at whole characters, findings weigh as they should.
 */
#include "loomwatch/calc/worksheet.h"

#include "cases.h"

#include <math.h>
#include <string.h>

static struct lw_worksheet sheet;

static void sheet_overflow_is_counted(void **state)
{
    static const char *const heads[] = { "a", ">b" }, *const cells[] = { "1", "2" };
    (void)state;
    lw_sheet_init(&sheet);
    for (int i = 0; i < LW_SHEET_ANSWERS + 2; i++)
        lw_sheet_answer(&sheet, LW_FINDING_NONE, "%d", i);
    for (int i = 0; i < LW_SHEET_ROWS + 1; i++)
        lw_sheet_row(&sheet, "label", "value", NULL, "%d", i);
    for (int i = 0; i < LW_SHEET_CAUTIONS + 1; i++)
        lw_sheet_caution(&sheet, "care");
    for (int i = 0; i < LW_SHEET_TABLES; i++)
        assert_non_null(lw_sheet_table(&sheet, "table"));
    assert_null(lw_sheet_table(&sheet, "one too many"));
    for (int i = 0; i < LW_SHEET_PLOTS; i++)
        assert_non_null(lw_sheet_plot(&sheet, LW_PLOT_BARS, "plot"));
    assert_null(lw_sheet_plot(&sheet, LW_PLOT_BARS, "one too many"));
    assert_int_equal(sheet.n_left_out, 2 + 1 + 1 + 1 + 1);
    lw_table_heads(&sheet.tables[0], 2, heads);
    for (int i = 0; i < LW_SHEET_TABLE_ROWS + 3; i++)
        lw_table_row(&sheet.tables[0], LW_FINDING_NONE, cells);
    assert_int_equal(sheet.tables[0].n_left_out, 3);
    assert_true(sheet.tables[0].is_right[1]);
    assert_string_equal(sheet.tables[0].heads[1], "b");
    lw_table_row(NULL, LW_FINDING_NONE, cells);
    lw_plot_bar(NULL, "x", 1, 2, LW_FINDING_NONE);
    assert_null(lw_plot_series(NULL, "x"));
    lw_series_point(NULL, 1, 2);
}

static void sheet_text_is_cut_at_a_whole_character(void **state)
{
    char label[LW_SHEET_LABEL + 8];
    (void)state;
    for (int before = LW_SHEET_LABEL - 5; before < LW_SHEET_LABEL; before++) {
        lw_sheet_init(&sheet);
        memset(label, 'x', sizeof(label));
        memcpy(label + before, "─", sizeof("─"));
        lw_sheet_row(&sheet, label, "", NULL, " ");
        size_t n = strlen(sheet.rows[0].label);
        assert_true(n == (size_t)before + 3 ? before + 3 < LW_SHEET_LABEL : n == (size_t)(before < LW_SHEET_LABEL - 1 ? before : LW_SHEET_LABEL - 1));
    }
}

static void sheet_finding_is_the_weightiest(void **state)
{
    (void)state;
    lw_sheet_init(&sheet);
    assert_int_equal(lw_sheet_finding(&sheet), LW_FINDING_NONE);
    lw_sheet_answer(&sheet, LW_FINDING_FITS, "yes");
    lw_sheet_answer(&sheet, LW_FINDING_DOES_NOT, "no");
    lw_sheet_answer(&sheet, LW_FINDING_CANNOT_TELL, "who knows");
    assert_int_equal(lw_sheet_finding(&sheet), LW_FINDING_DOES_NOT);
}

static void sheet_first_refusal_stays(void **state)
{
    (void)state;
    lw_sheet_init(&sheet);
    lw_sheet_refuse(&sheet, "%s", "first");
    lw_sheet_refuse(&sheet, "second");
    assert_string_equal(sheet.refusal, "first");
}

static void number_text_is_handy(void **state)
{
    static const struct { double value; const char *unit, *text; } cases[] = {
        { 118, "ohm", "118 ohm" }, { 0, "ohm", "0 ohm" }, { 59.411764, "ohm", "59.41 ohm" }, { 15000, "ohm", "15 kohm" },
        { 3000, "ohm", "3000 ohm" }, { 2.2e6, "ohm", "2.2 Mohm" }, { 0.0345, "ohm", "34.5 mohm" }, { 500000, "bit/s", "500 kbit/s" },
        { 1e6, "bit/s", "1 Mbit/s" }, { 83333, "bit/s", "83.33 kbit/s" }, { 2.4, "m", "2.4 m" }, { 0.005, "m", "5 mm" },
        { 910, "ns", "910 ns" }, { 2000, "ns", "2 us" }, { 16e6, "Hz", "16 MHz" }, { 87.5, "%", "87.5 %" }, { 6, "", "6" },
        { 4.1, "V", "4.1 V" }, { NAN, "V", "—" }, { -1e-12, "V", "0 V" }, { 0.5, "mm2", "0.5 mm2" },
    };
    char buf[LW_NUMBER_UNIT_TEXT];
    (void)state;
    for (size_t i = 0; i < N_ROWS(cases); i++)
        assert_string_equal(lw_number_text(cases[i].value, cases[i].unit, buf), cases[i].text);
}

static void range_text_names_one_unit_once(void **state)
{
    char buf[LW_RANGE_TEXT];
    (void)state;
    assert_string_equal(lw_range_text(48.7, 65, "ohm", buf), "48.7 to 65 ohm");
    assert_string_equal(lw_range_text(900, 12000, "ohm", buf), "900 ohm to 12 kohm");
    assert_string_equal(lw_range_text(10000, INFINITY, "ohm", buf), "10 kohm to open");
    assert_string_equal(lw_range_text(6, 6, "", buf), "6");
    assert_string_equal(lw_range_text(0, 8, "", buf), "0 to 8");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sheet_overflow_is_counted),
        cmocka_unit_test(sheet_text_is_cut_at_a_whole_character),
        cmocka_unit_test(sheet_finding_is_the_weightiest),
        cmocka_unit_test(sheet_first_refusal_stays),
        cmocka_unit_test(number_text_is_handy),
        cmocka_unit_test(range_text_names_one_unit_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
