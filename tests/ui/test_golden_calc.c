/* SPDX-License-Identifier: MIT
 *
 * Golden screens of the arithmetic page.
 */
#include "calc_page.h"
#include "golden.h"
#include "small_traffic.h"

#include "loomwatch/calc/fit.h"

#include "drawing_group.h"   /* last: its drawing would be shadowed in the others */

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

/* A bus of three messages and a module of two, one of which comes often, goes first, and is too much for 2E8. */
static void golden_calc_fit(void **state)
{
    static struct small_traffic small;
    static const struct lw_fit_material material = { &small.baseline, "this watch", &small.module, &small.traffic };
    (void)state;
    small_traffic_begin(&small);
    strcpy(small_traffic_hear(&small, "0A0", 10000)->name, "brush speed");
    strcpy(small_traffic_hear(&small, "2E8", 1300)->name, "brush pressure");
    small_traffic_hear(&small, "540", 0)->rhythm = LW_RHYTHM_UNKNOWN;
    strcpy(small_traffic_add(&small, "080", 700)->name, "picture");
    strcpy(small_traffic_add(&small, "10A20530", 1000000)->name, "hours");
    calc_page_open(&view);
    calc_page_material = &material;
    calc_page_put(&view, "fit", "module", "camera.module");
    golden_screens(drawing, "calc-fit", &view, &snapshot);
    calc_page_material = NULL;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(golden_calc_empty), cmocka_unit_test(golden_calc_meter), cmocka_unit_test(golden_calc_typing),
        cmocka_unit_test(golden_calc_wrong), cmocka_unit_test(golden_calc_stub_scrolled),
        cmocka_unit_test(golden_calc_fit),
    };
    return cmocka_run_group_tests(tests, drawing_set_up, drawing_tear_down);
}
