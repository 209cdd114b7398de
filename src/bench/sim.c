/* SPDX-License-Identifier: MIT
 *
 * The bench's loop: whatever comes next, in the order of time. A bit clock's sample or bit end, a change of a unit's
 * RXD, a message released, a boot over, a damage beginning. While the bus rests nothing is simulated.
 */
#include "sim_state.h"

#include <stdlib.h>

static bool create_nodes(struct lw_sim *sim)
{
    lw_sim_due_init(sim);
    for (unsigned i = 0; i < sim->plant.n_units; i++) {
        const struct lw_plant_unit *unit = &sim->plant.units[i];
        struct lw_mac_options options = { unit->is_listen_only, unit->is_one_shot, unit->data_timing.tq_ps != 0 };
        struct lw_sim_node *node = &sim->nodes[i];
        node->mac = lw_mac_create(&options);
        node->is_plugged = unit->is_plugged;
        node->is_powered = true;
        node->boot_ns = node->restart_ns = node->rest_ns = node->wake_ns = LW_NEVER;
        if (!node->mac)
            return false;
    }
    return true;
}

struct lw_sim *lw_sim_create(const struct lw_plant *plant, uint64_t seed, unsigned bus)
{
    struct lw_sim *sim = calloc(1, sizeof(*sim));
    if (!sim)
        return NULL;
    sim->plant = *plant;
    sim->seed = seed;
    sim->is_supply_on = true;
    sim->adapter_unit = lw_plant_adapter(&sim->plant);
    sim->trace.unit = sim->adapter_unit >= 0 ? (unsigned)sim->adapter_unit : 0;
    sim->damage_ns = LW_NEVER;
    sim->is_other_stale = true;
    sim->wires = lw_wires_create(&sim->plant);
    if (!sim->wires || !create_nodes(sim)) {
        lw_sim_destroy(sim);
        return NULL;
    }
    lw_messages_init(&sim->messages, &sim->plant, seed);
    lw_adapter_init(&sim->adapter, &sim->plant, bus);
    lw_sim_take_steps(sim, 0);
    lw_sim_apply_damage(sim);
    return sim;
}

void lw_sim_destroy(struct lw_sim *sim)
{
    if (!sim)
        return;
    for (unsigned i = 0; i < LW_PLANT_MAX_UNITS; i++)
        lw_mac_destroy(sim->nodes[i].mac);
    lw_wires_destroy(sim->wires);
    free(sim);
}

void lw_sim_forbid_lockstep(struct lw_sim *sim)
{
    lw_sim_leave_lockstep(sim, sim->lockstep.done_ps);
    sim->lockstep.is_forbidden = true;
    lw_wires_take_singly(sim->wires);
}

uint64_t lw_sim_now_ns(const struct lw_sim *sim)
{
    return lw_sim_ns(sim);
}

/* What is due next besides bits, in nanoseconds. */
static uint64_t soonest_ns(const struct lw_sim *sim)
{
    uint64_t soonest = lw_messages_due_ns(&sim->messages);
    const uint64_t others[] = { sim->damage_ns, sim->plug_ns, lw_adapter_due_ns(&sim->adapter) };
    for (size_t i = 0; i < sizeof(others) / sizeof(others[0]); i++)
        soonest = others[i] < soonest ? others[i] : soonest;
    if (sim->next_step < sim->plant.n_steps && sim->plant.steps[sim->next_step].at_ns < soonest)
        soonest = sim->plant.steps[sim->next_step].at_ns;
    return soonest;
}

static uint64_t to_ps(uint64_t ns)
{
    return ns > LW_NEVER / LW_PS_PER_NS ? LW_NEVER : ns * LW_PS_PER_NS;
}

static uint64_t other_due_ps(const struct lw_sim *sim)
{
    uint64_t soonest = soonest_ns(sim);
    for (unsigned i = 0; i < sim->plant.n_units; i++) {
        const struct lw_sim_node *node = &sim->nodes[i];
        soonest = node->boot_ns < soonest ? node->boot_ns : soonest;
        soonest = node->restart_ns < soonest ? node->restart_ns : soonest;
        soonest = lw_sim_sleep_next_ns(node) < soonest ? lw_sim_sleep_next_ns(node) : soonest;
    }
    return to_ps(soonest);
}

enum { LEAVE_LOCKSTEP = -2, OTHER = -1 };

/* Time of what comes next. unit: whose bit or edge it is, or one of the above. */
static uint64_t next_due(struct lw_sim *sim, int *unit)
{
    if (sim->is_other_stale) {
        sim->other_due_ps = other_due_ps(sim);
        sim->is_other_stale = false;
    }
    if (sim->lockstep.is_on) {
        bool is_over = sim->lockstep.end_ps < sim->other_due_ps;
        *unit = is_over ? LEAVE_LOCKSTEP : OTHER;
        return is_over ? sim->lockstep.end_ps : sim->other_due_ps;
    }
    struct lw_sim_soonest soonest = lw_sim_soonest(sim, sim->other_due_ps);
    *unit = soonest.unit < 0 ? OTHER : soonest.unit;
    return soonest.t_ps;
}

/* What waited is stale by now: Linux gives up the frames in the controller and starts that anew (can_restart in
 * drivers/net/can/dev/dev.c, from memory), and so does the software of units (common practice, no source). */
static void restart(struct lw_sim *sim, unsigned unit, uint64_t now_ns)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    node->restart_ns = LW_NEVER;
    lw_mac_drop_queue(node->mac);
    lw_mac_restart(node->mac);
    if ((int)unit == sim->adapter_unit)
        lw_adapter_restart(&sim->adapter, now_ns);
    lw_sim_node_wake(sim, unit);
}

static void boot_and_restart(struct lw_sim *sim, uint64_t now_ns)
{
    for (unsigned i = 0; i < sim->plant.n_units; i++) {
        struct lw_sim_node *node = &sim->nodes[i];
        if (node->boot_ns <= now_ns) {
            node->boot_ns = LW_NEVER;
            lw_messages_start(&sim->messages, i, now_ns);
            lw_sim_sleep_begin(sim, i, now_ns);
        }
        if (node->restart_ns <= now_ns)
            restart(sim, i, now_ns);
    }
}

static void release_messages(struct lw_sim *sim, uint64_t now_ns)
{
    unsigned unit;
    struct lw_frame frame;
    while (lw_messages_take(&sim->messages, now_ns, &unit, &frame)) {
        if (sim->nodes[unit].phase == LW_PHASE_OFF)
            continue;
        lw_mac_send(sim->nodes[unit].mac, &frame);   /* a full queue: the unit's own software drops it, as real ones do */
        lw_sim_node_wake(sim, unit);
    }
}

static void do_due(struct lw_sim *sim, int unit, uint64_t until_ps)
{
    uint64_t now_ns = lw_sim_ns(sim);
    if (unit >= 0) {
        if (lw_sim_node_event(sim, (unsigned)unit) && !sim->lockstep.is_forbidden) {
            lw_sim_try_lockstep(sim, (unsigned)unit);
            lw_sim_try_in_turn(sim, (unsigned)unit, until_ps);
        }
        return;
    }
    if (unit == LEAVE_LOCKSTEP) {
        lw_sim_leave_lockstep(sim, sim->now_ps);
        return;
    }
    sim->is_other_stale = true;
    lw_sim_take_steps(sim, now_ns);
    lw_sim_damage_due(sim, now_ns);
    lw_sim_sleep_due(sim, now_ns);
    boot_and_restart(sim, now_ns);
    release_messages(sim, now_ns);
    if (lw_adapter_due_ns(&sim->adapter) <= now_ns)
        lw_adapter_ask(&sim->adapter, now_ns);
}

bool lw_sim_next(struct lw_sim *sim, uint64_t until_ns, struct lw_event *out)
{
    uint64_t until_ps = to_ps(until_ns);
    while (!lw_adapter_take(&sim->adapter, out)) {
        int unit;
        uint64_t due_ps = next_due(sim, &unit);
        if (due_ps > until_ps || due_ps == LW_NEVER) {
            if (until_ps != LW_NEVER && until_ps > sim->now_ps)
                sim->now_ps = until_ps;
            if (until_ps + 1 > sim->lockstep.done_ps)
                sim->lockstep.done_ps = until_ps + 1;
            return false;
        }
        if (due_ps > sim->now_ps)
            sim->now_ps = due_ps;
        sim->lockstep.done_ps = sim->now_ps;
        do_due(sim, unit, until_ps);
    }
    return true;
}

void lw_sim_unit_facts(const struct lw_sim *sim, unsigned unit, struct lw_sim_unit *out)
{
    const struct lw_sim_node *node = &sim->nodes[unit];
    const struct lw_confinement *confinement = lw_mac_confinement(node->mac);
    *out = node->facts;
    out->is_on_bus = node->phase != LW_PHASE_OFF;
    out->tec = confinement->tec;
    out->rec = confinement->rec;
    out->is_bus_off = confinement->is_bus_off;
    out->is_passive = lw_confinement_is_passive(confinement);
}
