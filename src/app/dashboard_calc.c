/* SPDX-License-Identifier: MIT
 *
 * The arithmetic page: the same input, calculators and worksheets as on the command line.
 */
#include "dashboard_calc.h"

#include "calc_material.h"

void lw_dashboard_calc_work(struct lw_dashboard *dashboard)
{
    static struct lw_calc_input input;
    static struct lw_worksheet sheet;
    static char error[LW_CALC_ERROR];
    struct lw_view_state *state = &dashboard->state;
    state->worksheet = NULL;
    state->calc_error = error;
    if (lw_calc_state_input(&state->calc, &input, error) != 0 || lw_calc_material_read(&input, NULL, error) != 0)
        return;
    lw_calc_run(&input, &sheet);
    state->worksheet = &sheet;
    state->calc_error = NULL;
}

bool lw_dashboard_calc_key(struct lw_dashboard *dashboard, int code)
{
    bool has_changed;
    if (dashboard->state.page != LW_PAGE_CALC || !lw_calc_state_key(&dashboard->state.calc, code, &has_changed))
        return false;
    if (has_changed)
        lw_dashboard_calc_work(dashboard);
    return true;
}
