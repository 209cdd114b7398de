/* SPDX-License-Identifier: MIT
 *
 * When each unit is due: the next event of its bit clock, or an edge that synchronises it; and which of them comes first.
 * Used by the loop and by whoever moves a unit in time.
 */
#include "sim_state.h"

enum { NOBODY = -1 };

void lw_sim_due_init(struct lw_sim *sim)
{
    for (unsigned i = 0; i < LW_PLANT_MAX_UNITS; i++)
        sim->nodes[i].next_ps = sim->due_ps[i] = sim->edge_due_ps[i] = LW_NEVER;
    sim->stale_groups = (UINT32_C(1) << LW_SOONEST_GROUPS) - 1;
}

static void note_due(struct lw_sim *sim, unsigned unit)
{
    uint64_t next_ps = sim->nodes[unit].next_ps, edge_ps = sim->edge_due_ps[unit];
    sim->due_ps[unit] = next_ps < edge_ps ? next_ps : edge_ps;
    sim->stale_groups |= UINT32_C(1) << unit / LW_SOONEST_OF;
}

void lw_sim_due_at(struct lw_sim *sim, unsigned unit, uint64_t t_ps)
{
    sim->nodes[unit].next_ps = t_ps;
    note_due(sim, unit);
}

static void edge_due_at(struct lw_sim *sim, unsigned unit, uint64_t t_ps, bool is_exact)
{
    uint32_t bit = UINT32_C(1) << unit;
    sim->edge_due_ps[unit] = t_ps;
    sim->guessed = is_exact ? sim->guessed & ~bit : sim->guessed | bit;
    note_due(sim, unit);
}

/* Only edges to dominant synchronise, and none while the unit drives; the others are seen when the bit is sampled. */
static bool waits_for_edge(const struct lw_sim_node *node)
{
    return node->phase != LW_PHASE_OFF && !node->is_deaf && !node->is_rxd_dominant && !node->is_driving;
}

/* A guess is enough until it is due: somebody else may drive first. */
void lw_sim_look_ahead(struct lw_sim *sim, unsigned unit)
{
    bool is_exact = true, is_waiting = waits_for_edge(&sim->nodes[unit]);
    uint32_t bit = UINT32_C(1) << unit;
    sim->waiting = is_waiting ? sim->waiting | bit : sim->waiting & ~bit;
    uint64_t t_ps = is_waiting ? lw_wires_soonest_change_ps(sim->wires, unit, &is_exact) : LW_NEVER;
    if (t_ps != sim->edge_due_ps[unit] || !is_exact)
        edge_due_at(sim, unit, t_ps, is_exact);
}

/* What reaches a unit no sooner than the edge that it waits for, be that known or guessed, cannot alter it. */
void lw_sim_look_ahead_after(struct lw_sim *sim, unsigned driver)
{
    lw_sim_look_ahead(sim, driver);
    for (uint32_t left = sim->waiting; left; left &= left - 1) {
        unsigned unit = (unsigned)__builtin_ctz(left);
        if (lw_wires_reach_ps(sim->wires, driver, unit, sim->now_ps) < sim->edge_due_ps[unit])
            lw_sim_look_ahead(sim, unit);
    }
}

static inline uint64_t sooner(uint64_t a, uint64_t b)
{
    return a < b ? a : b;
}

static inline uint64_t soonest_of_four(const uint64_t t_ps[4])
{
    return sooner(sooner(t_ps[0], t_ps[1]), sooner(t_ps[2], t_ps[3]));
}

/* Which of four is the soonest, of equal ones the first. Without branches: it cannot be foreseen. */
static inline unsigned first_of_four(const uint64_t t_ps[4])
{
    unsigned half = 2u * (sooner(t_ps[2], t_ps[3]) < sooner(t_ps[0], t_ps[1]));
    return half + (t_ps[half + 1] < t_ps[half]);
}

/* Of equal ones the first. */
static struct lw_sim_soonest soonest_of_all(struct lw_sim *sim, uint64_t before_ps)
{
    _Static_assert(LW_SOONEST_OF == 4 && LW_SOONEST_GROUPS == 8, "twice four groups of four");
    for (uint32_t left = sim->stale_groups; left; left &= left - 1) {
        unsigned stale = (unsigned)__builtin_ctz(left);
        sim->soonest_ps[stale] = soonest_of_four(&sim->due_ps[stale * LW_SOONEST_OF]);
    }
    sim->stale_groups = 0;
    const uint64_t *groups_ps = sim->soonest_ps;
    unsigned group = 4u * (soonest_of_four(groups_ps + 4) < soonest_of_four(groups_ps));
    group += first_of_four(groups_ps + group);
    if (groups_ps[group] >= before_ps)
        return (struct lw_sim_soonest){ before_ps, NOBODY };
    unsigned unit = group * LW_SOONEST_OF + first_of_four(&sim->due_ps[group * LW_SOONEST_OF]);
    return (struct lw_sim_soonest){ groups_ps[group], (int)unit };
}

struct lw_sim_soonest lw_sim_soonest(struct lw_sim *sim, uint64_t before_ps)
{
    for (;;) {
        struct lw_sim_soonest soonest = soonest_of_all(sim, before_ps);
        if (soonest.unit < 0)
            return soonest;
        unsigned unit = (unsigned)soonest.unit;
        if (!(sim->guessed >> unit & 1) || sim->edge_due_ps[unit] > soonest.t_ps)
            return soonest;
        edge_due_at(sim, unit, lw_wires_next_change_ps(sim->wires, unit), true);
    }
}
