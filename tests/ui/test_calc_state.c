/* SPDX-License-Identifier: MIT
 *
 * The keys of the arithmetic page: choosing, typing, choices, scrolling; keys by chance; and the page at every size.
 */
#include "calc_page.h"
#include "loomwatch/ui/glyphs.h"
#include "loomwatch/ui/views.h"
#include "random_event.h"

#include "drawing_group.h"   /* last: its drawing would be shadowed in the others */

static struct lw_view_state view;
static struct lw_snapshot snapshot;

static const char *typed(void)
{
    return view.calc.texts[view.calc.calculator][view.calc.field];
}

static void page_digit_begins_a_value_and_enter_takes_it(void **state)
{
    (void)state;
    calc_page_open(&view);
    calc_page_choose(&view, "meter", "between");
    calc_page_type(&view, "118");
    assert_true(view.calc.is_editing);
    assert_string_equal(typed(), "");
    calc_page_key(&view, LW_KEY_ENTER);
    assert_string_equal(typed(), "118");
    assert_non_null(view.worksheet);
    assert_int_equal(lw_sheet_finding(view.worksheet), LW_FINDING_DOES_NOT);
}

/* Letters are commands until a value is being typed; then they belong to it. */
static void page_letters_are_commands_until_a_value_is_typed(void **state)
{
    (void)state;
    calc_page_open(&view);
    assert_false(calc_page_key(&view, 'q'));
    assert_false(calc_page_key(&view, LW_KEY_ESCAPE));
    calc_page_key(&view, LW_KEY_ENTER);
    calc_page_type(&view, "1kohmq");
    calc_page_key(&view, LW_KEY_BACKSPACE);
    calc_page_key(&view, LW_KEY_DOWN);
    assert_int_equal(view.calc.field, 1);
    calc_page_key(&view, LW_KEY_UP);
    assert_string_equal(typed(), "1kohm");
}

static void page_escape_drops_what_was_typed(void **state)
{
    (void)state;
    calc_page_open(&view);
    calc_page_put(&view, "meter", "between", "60");
    calc_page_choose(&view, "meter", "between");
    calc_page_type(&view, "7");
    assert_true(calc_page_key(&view, LW_KEY_ESCAPE));
    assert_false(view.calc.is_editing);
    assert_string_equal(typed(), "60");
}

static void page_empty_value_is_not_given(void **state)
{
    (void)state;
    calc_page_open(&view);
    calc_page_put(&view, "meter", "between", "60");
    calc_page_choose(&view, "meter", "between");
    calc_page_key(&view, LW_KEY_ENTER);
    calc_page_key(&view, LW_KEY_BACKSPACE);
    calc_page_key(&view, LW_KEY_BACKSPACE);
    calc_page_key(&view, LW_KEY_ENTER);
    assert_string_equal(typed(), "");
    assert_int_equal(lw_sheet_finding(view.worksheet), LW_FINDING_CANNOT_TELL);
}

static void page_enter_walks_through_choices_and_none(void **state)
{
    static const char *const wanted[] = { "unknown", "idle", "traffic", "", "unknown" };
    (void)state;
    calc_page_open(&view);
    calc_page_choose(&view, "meter", "bus");
    for (size_t i = 0; i < N_ROWS(wanted); i++) {
        calc_page_key(&view, LW_KEY_ENTER);
        assert_string_equal(typed(), wanted[i]);
    }
}

static void page_bad_value_is_told_and_kept(void **state)
{
    (void)state;
    calc_page_open(&view);
    calc_page_put(&view, "meter", "between", "4.1V");
    assert_null(view.worksheet);
    assert_non_null(strstr(view.calc_error, "is volts; this field takes ohms"));
    calc_page_choose(&view, "meter", "between");
    assert_string_equal(typed(), "4.1V");
}

static void page_values_of_each_calculator_are_kept(void **state)
{
    (void)state;
    calc_page_open(&view);
    calc_page_put(&view, "meter", "between", "60");
    calc_page_put(&view, "stub", "rate", "500k");
    calc_page_choose(&view, "meter", "between");
    assert_string_equal(typed(), "60");
    for (int i = 0; i < LW_N_CALCULATORS; i++)
        calc_page_key(&view, LW_KEY_LEFT);
    assert_int_equal(view.calc.calculator, 0);
}

/* Down goes through the fields and on through the result, and up the same way back. */
static void page_down_goes_on_into_the_result(void **state)
{
    (void)state;
    calc_page_open(&view);
    unsigned n = lw_calculators[0]->n_fields;
    for (unsigned i = 0; i < n + 4; i++)
        calc_page_key(&view, LW_KEY_DOWN);
    assert_int_equal(view.calc.field, n - 1);
    assert_int_equal(view.calc.from, 5);
    for (unsigned i = 0; i < n + 4; i++)
        calc_page_key(&view, LW_KEY_UP);
    assert_int_equal(view.calc.field, 0);
    assert_int_equal(view.calc.from, 0);
}

static void check_cells(const struct lw_grid *grid)
{
    assert_true(drawing_is_guarded(drawing));
    size_t n_above_footer = drawing->n_cells - (size_t)grid->w;
    for (size_t i = 0; i < drawing->n_cells; i++)
        if (grid->cells[i].role >= LW_N_ROLES || grid->cells[i].glyph == GUARD_GLYPH
            || (grid->is_ascii && (grid->cells[i].glyph >= 0x7F || (grid->cells[i].glyph == '?' && view.worksheet && i < n_above_footer))))
            fail_msg("%dx%d: cell %zu is U+%04X", grid->w, grid->h, i, (unsigned)grid->cells[i].glyph);
}

/* Keys by chance never leave the fields, and every size draws; in ASCII every glyph has its stand-in. */
static void page_survives_keys_by_chance_at_every_size(void **state)
{
    static const int codes[] = { LW_KEY_UP, LW_KEY_DOWN, LW_KEY_DOWN, LW_KEY_LEFT, LW_KEY_RIGHT, LW_KEY_HOME, LW_KEY_END, LW_KEY_ENTER, LW_KEY_ENTER,
        LW_KEY_ESCAPE, LW_KEY_BACKSPACE, '0', '1', '6', '.', '-', 'k', 'V', '+' };
    uint64_t seed = 11;
    (void)state;
    calc_page_open(&view);
    for (int i = 0; i < 4000; i++) {
        calc_page_key(&view, codes[random_below(&seed, N_ROWS(codes))]);
        assert_true(view.calc.calculator < LW_N_CALCULATORS);
        unsigned n = lw_calculators[view.calc.calculator]->n_fields;
        assert_true(view.calc.field < (n > 0 ? n : 1));
        struct lw_grid *grid = drawing_begin(drawing, 1 + (int)random_below(&seed, 180), 1 + (int)random_below(&seed, 60));
        grid->is_ascii = i % 2;
        lw_view_screen(&snapshot, &view, grid);
        check_cells(grid);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(page_digit_begins_a_value_and_enter_takes_it),
        cmocka_unit_test(page_letters_are_commands_until_a_value_is_typed),
        cmocka_unit_test(page_escape_drops_what_was_typed),
        cmocka_unit_test(page_empty_value_is_not_given),
        cmocka_unit_test(page_enter_walks_through_choices_and_none),
        cmocka_unit_test(page_bad_value_is_told_and_kept),
        cmocka_unit_test(page_values_of_each_calculator_are_kept),
        cmocka_unit_test(page_down_goes_on_into_the_result),
        cmocka_unit_test(page_survives_keys_by_chance_at_every_size),
    };
    return cmocka_run_group_tests(tests, drawing_set_up, drawing_tear_down);
}
