/* SPDX-License-Identifier: MIT
 *
 * Requests of the bench page, carried out on the simulation.
 */
#include "dashboard_bench.h"

#include "loomwatch/sources/bench.h"

#include <errno.h>
#include <stdlib.h>

int lw_dashboard_bench_open(struct lw_dashboard *dashboard)
{
    for (unsigned i = 0; i < dashboard->run.n_buses && !dashboard->bench; i++)
        if (lw_bench_sim(&dashboard->run.buses[i].source))
            dashboard->bench = &dashboard->run.buses[i].source;
    if (!dashboard->bench)
        return 0;
    dashboard->picture = calloc(1, sizeof(*dashboard->picture));
    if (!dashboard->picture)
        return -ENOMEM;
    lw_sim_picture(lw_bench_sim(dashboard->bench), lw_bench_state_trace_unit(&dashboard->state.on_bench, NULL),
                   dashboard->picture);
    dashboard->state.picture = dashboard->picture;
    return 0;
}

void lw_dashboard_bench_close(struct lw_dashboard *dashboard)
{
    dashboard->state.picture = NULL;
    free(dashboard->picture);
    dashboard->picture = NULL;
}

void lw_dashboard_bench_look(struct lw_dashboard *dashboard)
{
    struct lw_bench_state *state = &dashboard->state.on_bench;
    if (!dashboard->picture || dashboard->state.page != LW_PAGE_BENCH || !lw_bench_state_wants_picture(state))
        return;
    lw_sim_picture(lw_bench_sim(dashboard->bench), lw_bench_state_trace_unit(state, dashboard->picture),
                   dashboard->picture);
    lw_bench_state_look(state, dashboard->picture);
}

static int mend_all(struct lw_sim *sim, unsigned n)
{
    int rc = 0;
    while (n-- > 0 && rc == 0)
        rc = lw_sim_mend(sim, n);
    return rc;
}

static int carry_out(struct lw_dashboard *dashboard, const struct lw_bench_request *request, char message[LW_SOURCE_TEXT])
{
    struct lw_sim *sim = lw_bench_sim(dashboard->bench);
    switch (request->kind) {
    case LW_BENCH_PUT_DAMAGE: return lw_bench_fault(dashboard->bench, request->text, lw_sim_now_ns(sim), message);
    case LW_BENCH_MEND: return lw_sim_mend(sim, request->n);
    case LW_BENCH_MEND_ALL: return mend_all(sim, dashboard->picture->n_damages);
    case LW_BENCH_PLUG: return lw_sim_plug(sim, request->unit, request->is_on);
    case LW_BENCH_POWER: return lw_sim_power(sim, request->unit, request->is_on);
    case LW_BENCH_SUPPLY: lw_sim_supply(sim, request->is_on); return 0;
    default: return 0;
    }
}

bool lw_dashboard_bench_key(struct lw_dashboard *dashboard, int code, uint64_t mono_ns)
{
    struct lw_bench_request request;
    char message[LW_SOURCE_TEXT] = "not possible now";
    if (!dashboard->picture || dashboard->state.page != LW_PAGE_BENCH
        || !lw_bench_state_key(&dashboard->state.on_bench, dashboard->picture, code, &request))
        return false;
    int rc = carry_out(dashboard, &request, message);
    if (rc != 0)
        lw_dashboard_say(dashboard, mono_ns, "%s", rc == -ENOSPC ? "Too many faults at once: mend some first." : message);
    else if (request.kind != LW_BENCH_NO_REQUEST)
        lw_dashboard_say(dashboard, mono_ns, "On the bench: %s.", request.words);
    lw_dashboard_bench_look(dashboard);
    return true;
}
