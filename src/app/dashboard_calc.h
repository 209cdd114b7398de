/* SPDX-License-Identifier: MIT
 *
 * The arithmetic page at work: works its sheet out when it opens and when what was typed has changed. For the dashboard only.
 */
#ifndef LOOMWATCH_APP_DASHBOARD_CALC_H
#define LOOMWATCH_APP_DASHBOARD_CALC_H

#include "dashboard.h"

/* Works the sheet out from what is typed. */
void lw_dashboard_calc_work(struct lw_dashboard *dashboard);

/* Takes a key of the page. Returns false for one that is not the page's own. */
bool lw_dashboard_calc_key(struct lw_dashboard *dashboard, int code);

#endif
