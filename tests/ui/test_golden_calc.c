/* SPDX-License-Identifier: MIT
 *
 * Golden screens of the arithmetic page.
 */
#include "calc_page.h"
#include "golden.h"

static struct drawing *drawing;
static struct lw_view_state view;
static struct lw_snapshot snapshot;

static void golden_calc_empty(void **state)
{
    (void)state;
    calc_page_open(&view);
    golden_screens(drawing, "calc-empty", &view, &snapshot);
}

static void golden_calc_meter(void **state)
{
    (void)state;
    calc_page_open(&view);
    calc_page_put(&view, "meter", "units", "6");
    calc_page_put(&view, "meter", "between", "118");
    golden_screens(drawing, "calc-meter", &view, &snapshot);
}

static void golden_calc_typing(void **state)
{
    (void)state;
    calc_page_open(&view);
    calc_page_choose(&view, "meter", "h");
    calc_page_type(&view, "4.1");
    golden_screens(drawing, "calc-typing", &view, &snapshot);
}

static void golden_calc_wrong(void **state)
{
    (void)state;
    calc_page_open(&view);
    calc_page_put(&view, "meter", "between", "4.1V");
    golden_screens(drawing, "calc-wrong", &view, &snapshot);
}

static void golden_calc_stub_scrolled(void **state)
{
    (void)state;
    calc_page_open(&view);
    calc_page_put(&view, "stub", "drop", "2.4m");
    calc_page_put(&view, "stub", "rate", "500k");
    calc_page_put(&view, "stub", "trunk", "18m");
    calc_page_key(&view, LW_KEY_END);
    for (int i = 0; i < 30; i++)
        calc_page_key(&view, LW_KEY_DOWN);
    view.is_ascii = true;
    golden_screens(drawing, "calc-stub", &view, &snapshot);
}

static int set_up(void **state)
{
    (void)state;
    drawing = drawing_create();
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    drawing_destroy(drawing);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(golden_calc_empty), cmocka_unit_test(golden_calc_meter), cmocka_unit_test(golden_calc_typing),
        cmocka_unit_test(golden_calc_wrong), cmocka_unit_test(golden_calc_stub_scrolled),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
