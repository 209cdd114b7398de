/* SPDX-License-Identifier: MIT
 *
 * Worksheets as lines: no line is too wide, nothing of the text gets lost, plots are where their axes say.
 */
#include "loomwatch/calc/layout.h"
#include "loomwatch/calc/plot.h"

#include "cases.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static struct lw_worksheet sheet;

struct page {
    int width, n_lines;
    char text[100000];
};

static int columns(const char *text)
{
    int n = 0;
    for (; *text != '\0'; text++)
        n += ((unsigned char)*text & 0xC0) != 0x80;
    return n;
}

static void take(void *context, const struct lw_line *line)
{
    struct page *page = context;
    size_t n = strlen(page->text);
    if (columns(line->text) > page->width)
        fail_msg("%d columns, at most %d: %s", columns(line->text), page->width, line->text);
    assert_null(strchr(line->text, '\n'));
    snprintf(page->text + n, sizeof(page->text) - n, "%s\n", line->text);
    page->n_lines++;
}

static void fill(void)
{
    static const char *const heads[] = { "rule, with a rather long head", ">allowed", ">yours" };
    static const char *const cells[] = { "a rule of forty characters and then some", "1.67 m", "2.4 m" };
    lw_sheet_init(&sheet);
    lw_sheet_caution(&sheet, "Switch the supply off before you measure anything at all, and then wait a good while.");
    lw_sheet_answer(&sheet, LW_FINDING_DOES_NOT, "A sentence that is long enough to be broken over several lines of any terminal "
                    "— with a dash, and averyverylongwordthatisbrokenwhereverthelineendsbecausethereisnoblankinit.");
    lw_sheet_row(&sheet, "expected between H and L", "59.4 ohm", "a source", "1 / (1/120 + 1/120 + %d/30000) = %.1f", 6, 59.4);
    lw_sheet_heading(&sheet, "another part");
    lw_sheet_row(&sheet, "a label that leaves no room for what is to stand behind it", "a value", NULL, "%s", "");
    struct lw_sheet_table *table = lw_sheet_table(&sheet, "the rules");
    lw_table_heads(table, 3, heads);
    lw_table_row(table, LW_FINDING_DOES_NOT, cells);
    struct lw_sheet_plot *bars = lw_sheet_plot(&sheet, LW_PLOT_BARS, "bars");
    snprintf(bars->x_words, sizeof(bars->x_words), "response time, ms");
    lw_plot_bar(bars, "hopper weight", 5, 10, LW_FINDING_FITS);
    lw_plot_bar(bars, "unknown", NAN, NAN, LW_FINDING_NONE);
    struct lw_sheet_plot *curve = lw_sheet_plot(&sheet, LW_PLOT_CURVE, "curve");
    curve->is_log_x = curve->is_log_y = true;
    snprintf(curve->x_words, sizeof(curve->x_words), "bit rate, bit/s");
    snprintf(curve->y_words, sizeof(curve->y_words), "length, m");
    struct lw_sheet_series *series = lw_plot_series(curve, "a rule");
    lw_series_point(series, 1e4, 5000);
    lw_series_point(series, 1e6, 40);
    struct lw_sheet_series *here = lw_plot_series(curve, "this bus");
    here->is_marks = true;
    lw_series_point(here, 5e5, 20);
}

static void layout_no_line_is_wider_than_asked(void **state)
{
    static struct page page;
    (void)state;
    fill();
    for (int width = 0; width < 200; width++) {
        page.width = width < LW_LAYOUT_MIN ? LW_LAYOUT_MIN : width;
        page.n_lines = 0;
        page.text[0] = '\0';
        lw_sheet_lay_out(&sheet, width, take, &page);
        assert_true(page.n_lines > 30);
    }
}

static void layout_at_a_comfortable_width_says_everything(void **state)
{
    static struct page page = { .width = 96 };
    (void)state;
    fill();
    sheet.n_left_out = 3;
    lw_sheet_lay_out(&sheet, 96, take, &page);
    static const char *const wanted[] = { "Caution: Switch", "[does not fit] A sentence", "59.4 ohm", "1 / (1/120", "[a source]",
        "── another part ─", "a value", "1.67 m", "does not fit\n", "hopper weight", "█", "│ its limit", "—\n", "a  a rule", "*  this bus",
        "10 kbit/s", "3 more lines" };
    for (size_t i = 0; i < N_ROWS(wanted); i++)
        if (!strstr(page.text, wanted[i]))
            fail_msg("no \"%s\" in:\n%s", wanted[i], page.text);
}

static void layout_of_a_refusal_is_the_refusal(void **state)
{
    static struct page page = { .width = 80 };
    (void)state;
    fill();
    lw_sheet_refuse(&sheet, "that cannot be");
    lw_sheet_lay_out(&sheet, 80, take, &page);
    assert_string_equal(page.text, "that cannot be\n");
}

static void plot_place_and_value_are_inverse(void **state)
{
    static const struct lw_plot_axis axes[] = { { 0, 10, false }, { -5, 7, false }, { 1e4, 1e6, true }, { 0.3, 5000, true } };
    (void)state;
    for (size_t i = 0; i < N_ROWS(axes); i++)
        for (double place = 0; place <= 1; place += 0.01)
            assert_true(fabs(lw_plot_place(&axes[i], lw_plot_value(&axes[i], place)) - place) < 1e-9);
}

/* Ticks lie on their axis, in order, whatever it spans. */
static void plot_ticks_lie_on_the_axis(void **state)
{
    (void)state;
    for (double span = 1e-6; span < 1e9; span *= 3.7)
        for (int is_log = 0; is_log < 2; is_log++) {
            struct lw_plot_axis axis = { is_log ? 0.37 : -span / 3, is_log ? 0.38 + span : span, is_log };
            double ticks[LW_PLOT_TICKS];
            unsigned n = lw_plot_ticks(&axis, ticks);
            assert_true(n <= LW_PLOT_TICKS && (is_log || n >= 2));
            for (unsigned i = 0; i < n; i++) {
                assert_true(ticks[i] >= axis.low - 1e-6 * span && ticks[i] <= axis.high * (1 + 1e-6) + 1e-6 * span);
                assert_true(i == 0 || ticks[i] > ticks[i - 1]);
            }
        }
}

static void plot_axes_hold_every_value(void **state)
{
    struct lw_plot_axis x, y;
    (void)state;
    fill();
    lw_plot_axes(&sheet.plots[1], &x, &y);
    assert_true(x.is_log && x.low <= 1e4 && x.high >= 1e6 && y.low <= 20 && y.high >= 5000);
    static struct lw_sheet_plot empty = { .is_log_x = true };
    lw_plot_axes(&empty, &x, &y);
    assert_true(x.low < x.high && y.low < y.high);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(layout_no_line_is_wider_than_asked),
        cmocka_unit_test(layout_at_a_comfortable_width_says_everything),
        cmocka_unit_test(layout_of_a_refusal_is_the_refusal),
        cmocka_unit_test(plot_place_and_value_are_inverse),
        cmocka_unit_test(plot_ticks_lie_on_the_axis),
        cmocka_unit_test(plot_axes_hold_every_value),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
