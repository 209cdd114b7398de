/* SPDX-License-Identifier: MIT
 *
 * The arithmetic page: the same input, calculators and worksheets as on the command line.
 */
#include "dashboard_calc.h"

#include "calc_material.h"
#include "loomwatch/calc/fit.h"
#include "module_file.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

int lw_dashboard_calc_open(struct lw_dashboard *dashboard, const char *path, char error[LW_CALC_ERROR])
{
    static struct lw_module module;
    struct lw_calc_state *calc = &dashboard->state.calc;
    if (!path)
        return 0;
    int rc = lw_module_read(path, &module, error, LW_CALC_ERROR);
    if (rc == 0 && strlen(path) >= LW_CALC_TEXT) {
        snprintf(error, LW_CALC_ERROR, "--module %.40s...: the path is too long; write one of at most %d bytes", path,
                 LW_CALC_TEXT - 1);
        rc = -ENAMETOOLONG;
    }
    if (rc != 0)
        return rc;
    while (lw_calculators[calc->calculator] != &lw_calc_fit)
        calc->calculator++;
    calc->field = LW_FIT_MODULE;
    strcpy(calc->texts[calc->calculator][LW_FIT_MODULE], path);
    return 0;
}

void lw_dashboard_calc_work(struct lw_dashboard *dashboard)
{
    static struct lw_calc_input input;
    static struct lw_worksheet sheet;
    static char error[LW_CALC_ERROR];
    struct lw_view_state *state = &dashboard->state;
    state->worksheet = NULL;
    state->calc_error = error;
    const struct lw_baseline *present = lw_monitor_baseline(dashboard->run.monitor);
    if (lw_calc_state_input(&state->calc, &input, error) != 0 || lw_calc_material_read(&input, present, error) != 0)
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
