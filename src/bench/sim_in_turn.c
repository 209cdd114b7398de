/* SPDX-License-Identifier: MIT
 *
 * While the wires rest recessive and no controller can drive for some bits (end of frame, intermission, delimiters), no unit
 * learns of another: each is taken through its bits on its own, instead of all in the order of time. The adapter goes first,
 * and where it has something to tell, the others follow it no further. Called by the loop, after samples.
 */
#include "sim_state.h"

enum { LEAST_SILENT_BITS = 3 };

/* When a unit may drive at the earliest. */
static uint64_t may_drive_ps(const struct lw_sim_node *node)
{
    unsigned n_bits = lw_mac_silent_bits(node->mac);
    if (node->phase == LW_PHASE_OFF || node->phase == LW_PHASE_PARKED)
        return LW_NEVER;
    if (n_bits == 0 || node->is_driving || node->clock.rate != 0)
        return 0;
    return node->clock.end_ps + (n_bits - (node->phase == LW_PHASE_BEFORE_SAMPLE)) * node->clock.bit_ps[0];
}

static uint64_t soonest_drive_ps(const struct lw_sim *sim)
{
    uint64_t soonest = LW_NEVER;
    for (unsigned i = 0; i < sim->plant.n_units; i++) {
        uint64_t may = may_drive_ps(&sim->nodes[i]);
        if (may <= sim->now_ps)
            return 0;
        soonest = may < soonest ? may : soonest;
    }
    return soonest;
}

/* What happens to a unit before end_ps, at most to something that the loop has to look at. Returns when its last was. */
static uint64_t take(struct lw_sim *sim, unsigned unit, uint64_t end_ps, bool stops)
{
    uint64_t last_ps = 0;
    while (sim->nodes[unit].next_ps < end_ps && !(stops && sim->is_other_stale)) {
        bool is_first = last_ps == 0;
        last_ps = sim->now_ps = sim->nodes[unit].next_ps;
        if (is_first)
            lw_sim_node_event(sim, unit);            /* RXD may have changed since it looked last */
        else
            lw_sim_node_rest(sim, unit);
    }
    return last_ps;
}

static uint64_t take_all(struct lw_sim *sim, uint64_t end_ps)
{
    unsigned adapter = (unsigned)sim->adapter_unit;
    uint64_t newest_ps = take(sim, adapter, end_ps, true);
    bool is_stopped = sim->is_other_stale;
    if (is_stopped)
        end_ps = newest_ps;
    for (unsigned i = 0; i < sim->plant.n_units; i++) {
        if (i == adapter)
            continue;
        bool is_before = is_stopped && i < adapter;  /* of equal times the first unit comes first */
        uint64_t last_ps = take(sim, i, end_ps + is_before, false);
        newest_ps = last_ps > newest_ps ? last_ps : newest_ps;
    }
    return newest_ps;
}

void lw_sim_try_in_turn(struct lw_sim *sim, unsigned unit, uint64_t until_ps)
{
    uint64_t now_ps = sim->now_ps;
    if (lw_mac_silent_bits(sim->nodes[unit].mac) < LEAST_SILENT_BITS || sim->is_other_stale || sim->adapter_unit < 0)
        return;
    uint64_t end_ps = soonest_drive_ps(sim);
    end_ps = sim->other_due_ps < end_ps ? sim->other_due_ps : end_ps;
    end_ps = until_ps < end_ps ? until_ps + 1 : end_ps;
    if (end_ps <= now_ps || !lw_wires_rest(sim->wires, now_ps))
        return;
    uint64_t newest_ps = take_all(sim, end_ps);
    sim->now_ps = newest_ps > now_ps ? newest_ps : now_ps;
}
