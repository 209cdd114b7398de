/* SPDX-License-Identifier: MIT
 *
 * The bench page at work: keeps its picture fresh and carries out what its keys ask for. For the dashboard only.
 */
#ifndef LOOMWATCH_APP_DASHBOARD_BENCH_H
#define LOOMWATCH_APP_DASHBOARD_BENCH_H

#include "dashboard.h"

/* Finds the first bench among the sources. Returns 0, or -ENOMEM; without a bench there is nothing to do. */
int lw_dashboard_bench_open(struct lw_dashboard *dashboard);
void lw_dashboard_bench_close(struct lw_dashboard *dashboard);

/* Takes the picture anew, if the page is on the screen. */
void lw_dashboard_bench_look(struct lw_dashboard *dashboard);

/* Takes a key of the page. Returns false for one that is not the page's own. */
bool lw_dashboard_bench_key(struct lw_dashboard *dashboard, int code, uint64_t mono_ns);

#endif
