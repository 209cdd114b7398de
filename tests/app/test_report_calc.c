/* SPDX-License-Identifier: MIT
 *
 * Worksheets as JSON and SVG: what is in the sheet is in them, and text that could break them does not.
 */
#include "cases.h"
#include "report_calc.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static struct lw_calc_input input;
static struct lw_worksheet sheet;

static void work(const struct lw_calculator *calculator, const char *const words[])
{
    char error[LW_CALC_ERROR];
    lw_calc_input_init(&input, calculator);
    for (; *words; words++)
        if (lw_calc_input_word(&input, *words, error) != 0)
            fail_msg("%s", error);
    assert_int_equal(lw_calc_input_finish(&input, error), 0);
    lw_calc_run(&input, &sheet);
}

static json_t *as_json(void)
{
    char *text = NULL;
    size_t n = 0;
    FILE *out = open_memstream(&text, &n);
    json_error_t error;
    assert_int_equal(lw_report_sheet_json(out, &input, &sheet), 0);
    fclose(out);
    json_t *root = json_loads(text, 0, &error);
    if (!root)
        fail_msg("%s in %s", error.text, text);
    free(text);
    return root;
}

static char *as_svg(void)
{
    char *text = NULL;
    size_t n = 0;
    FILE *out = open_memstream(&text, &n);
    lw_report_sheet_svg(out, &sheet);
    fclose(out);
    return text;
}

static void json_holds_the_whole_sheet(void **state)
{
    static const char *const words[] = { "between=118", "units=6", NULL };
    (void)state;
    work(&lw_calc_meter, words);
    json_t *root = as_json();
    assert_string_equal(json_string_value(json_object_get(root, "calculator")), "meter");
    assert_string_equal(json_string_value(json_object_get(root, "verdict")), "does not fit");
    assert_int_equal(json_array_size(json_object_get(root, "answers")), sheet.n_answers);
    assert_int_equal(json_array_size(json_object_get(root, "cautions")), 2);
    assert_int_equal(json_array_size(json_object_get(root, "tables")), 1);
    json_t *between = json_object_get(json_object_get(root, "input"), "between");
    assert_string_equal(json_string_value(json_array_get(between, 0)), "118");
    json_t *row = json_array_get(json_object_get(root, "rows"), 0);
    assert_string_equal(json_string_value(json_object_get(row, "label")), "least");
    assert_string_equal(json_string_value(json_object_get(row, "value")), "48.71 ohm");
    json_decref(root);
}

static void json_unknown_is_null(void **state)
{
    static const char *const words[] = { "drop=2", "rate=500k", NULL };
    (void)state;
    work(&lw_calc_stub, words);
    struct lw_sheet_plot *bars = lw_sheet_plot(&sheet, LW_PLOT_BARS, "bars");
    lw_plot_bar(bars, "unknown", NAN, INFINITY, LW_FINDING_NONE);
    json_t *root = as_json();
    json_t *plot = json_array_get(json_object_get(root, "plots"), 1), *bar = json_array_get(json_object_get(plot, "bars"), 0);
    assert_true(json_is_null(json_object_get(bar, "value")) && json_is_null(json_object_get(bar, "limit")));
    assert_true(json_is_null(json_object_get(bar, "verdict")));
    json_decref(root);
}

static void svg_draws_every_plot_and_escapes_its_words(void **state)
{
    static const char *const words[] = { "drop=2", "rate=500k", "trunk=18", NULL };
    (void)state;
    work(&lw_calc_stub, words);
    struct lw_sheet_plot *bars = lw_sheet_plot(&sheet, LW_PLOT_BARS, "a <plot> & \"more\"");
    lw_plot_bar(bars, "<bar>", 5, 10, LW_FINDING_DOES_NOT);
    lw_plot_bar(bars, "no value", NAN, NAN, LW_FINDING_NONE);
    char *text = as_svg();
    assert_true(strncmp(text, "<?xml", 5) == 0);
    assert_non_null(strstr(text, "a &lt;plot&gt; &amp; &quot;more&quot;"));
    assert_non_null(strstr(text, "&lt;bar&gt;"));
    assert_null(strstr(text, "<bar>"));
    assert_null(strstr(text, "nan"));
    assert_null(strstr(text, "inf\""));
    assert_non_null(strstr(text, "this bus"));
    unsigned n_lines = 0;
    for (const char *at = text; (at = strstr(at, "<polyline")); at++)
        n_lines++;
    assert_int_equal(n_lines, 3);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(json_holds_the_whole_sheet),
        cmocka_unit_test(json_unknown_is_null),
        cmocka_unit_test(svg_draws_every_plot_and_escapes_its_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
