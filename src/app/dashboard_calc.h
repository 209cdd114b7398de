/* SPDX-License-Identifier: MIT
 *
 * The arithmetic page at work: works its sheet out when it opens and when what was typed has changed. For the dashboard only.
 */
#ifndef LOOMWATCH_APP_DASHBOARD_CALC_H
#define LOOMWATCH_APP_DASHBOARD_CALC_H

#include "dashboard.h"
#include "loomwatch/calc/calculator.h"

/* Puts a module's file into its field and turns the page to it. Returns 0, or -errno having said in error what is wrong with
 * the file. path: NULL = none. */
int lw_dashboard_calc_open(struct lw_dashboard *dashboard, const char *path, char error[LW_CALC_ERROR]);

/* Works the sheet out from what is typed. */
void lw_dashboard_calc_work(struct lw_dashboard *dashboard);

/* Takes a key of the page. Returns false for one that is not the page's own. */
bool lw_dashboard_calc_key(struct lw_dashboard *dashboard, int code);

#endif
