/* SPDX-License-Identifier: MIT
 *
 * The arithmetic page with keys pressed and its sheet worked out, as the dashboard does it.
 */
#ifndef LOOMWATCH_TEST_CALC_PAGE_H
#define LOOMWATCH_TEST_CALC_PAGE_H

#include "loomwatch/ui/keys.h"
#include "loomwatch/ui/view_state.h"

#include <string.h>

/* What the app would have read from the files of `fit`; NULL = nothing. */
static const void *calc_page_material;

static inline void calc_page_work(struct lw_view_state *view)
{
    static struct lw_calc_input input;
    static struct lw_worksheet sheet;
    static char error[LW_CALC_ERROR];
    view->worksheet = NULL;
    view->calc_error = error;
    if (lw_calc_state_input(&view->calc, &input, error) != 0)
        return;
    input.material = input.calculator == &lw_calc_fit ? calc_page_material : NULL;   /* each calculator has material of its own */
    lw_calc_run(&input, &sheet);
    view->worksheet = &sheet;
    view->calc_error = NULL;
}

static inline void calc_page_open(struct lw_view_state *view)
{
    lw_view_state_init(view);
    view->page = LW_PAGE_CALC;
    calc_page_work(view);
}

/* Returns whether the page took it. */
static inline bool calc_page_key(struct lw_view_state *view, int code)
{
    bool has_changed;
    if (!lw_calc_state_key(&view->calc, code, &has_changed))
        return false;
    if (has_changed)
        calc_page_work(view);
    return true;
}

static inline void calc_page_type(struct lw_view_state *view, const char *text)
{
    for (; *text != '\0'; text++)
        calc_page_key(view, *text);
}

static inline void calc_page_choose(struct lw_view_state *view, const char *calculator, const char *field)
{
    for (int i = 0; i < LW_N_CALCULATORS && strcmp(lw_calculators[view->calc.calculator]->name, calculator) != 0; i++)
        calc_page_key(view, LW_KEY_RIGHT);
    const struct lw_calculator *chosen = lw_calculators[view->calc.calculator];
    calc_page_key(view, LW_KEY_HOME);
    for (unsigned i = 0; i < chosen->n_fields && strcmp(chosen->fields[view->calc.field].name, field) != 0; i++)
        calc_page_key(view, LW_KEY_DOWN);
}

static inline void calc_page_put(struct lw_view_state *view, const char *calculator, const char *field, const char *text)
{
    calc_page_choose(view, calculator, field);
    calc_page_key(view, LW_KEY_ENTER);
    calc_page_type(view, text);
    calc_page_key(view, LW_KEY_ENTER);
}

#endif
