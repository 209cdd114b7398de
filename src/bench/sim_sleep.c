/* SPDX-License-Identifier: MIT
 *
 * Units that stop by themselves, as when the key is turned off: the application stops sending, the controller goes on
 * listening and acknowledging, and when the bus has been silent for a while the unit sleeps. It wakes by itself, or by the
 * first dominant bit that reaches its pins; until it has booted nobody hears or acknowledges in its place. The other ways into
 * sleep are damages.
 */
#include "sim_state.h"

/* Between H and L, for a transceiver in its low-power mode. Source: ISO 11898-2:2016, from memory. */
static const double wake_volt = 1.15;

enum { NS_PER_MS = 1000000 };

static uint64_t after_ms(uint64_t now_ns, uint32_t ms)
{
    return ms > 0 ? now_ns + (uint64_t)ms * NS_PER_MS : LW_NEVER;
}

void lw_sim_sleep_begin(struct lw_sim *sim, unsigned unit, uint64_t now_ns)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    node->is_stopped = false;
    node->rest_ns = after_ms(now_ns, sim->plant.units[unit].runs_ms);
    sim->is_other_stale = true;
}

static void set_asleep(struct lw_sim *sim, struct lw_sim_node *node, bool is_asleep)
{
    sim->n_asleep += is_asleep;
    sim->n_asleep -= node->is_asleep;
    node->is_asleep = is_asleep;
}

void lw_sim_sleep_forget(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    set_asleep(sim, node, false);
    node->is_stopped = false;
    node->rest_ns = node->wake_ns = LW_NEVER;
}

void lw_sim_sleep_hear(struct lw_sim *sim)
{
    for (unsigned i = 0; i < sim->plant.n_units; i++) {
        struct lw_sim_node *node = &sim->nodes[i];
        const struct lw_plant_unit *plant = &sim->plant.units[i];
        uint64_t awake_ns = lw_sim_ns(sim) + (uint64_t)plant->boot_ms * NS_PER_MS;
        if (!node->is_asleep || plant->is_traffic_ignored || node->wake_ns <= awake_ns)
            continue;
        struct lw_volts volts = lw_wires_unit_volts(sim->wires, i, sim->meter.drivers);
        if (volts.h - volts.l < wake_volt)
            continue;
        node->wake_ns = awake_ns;
        sim->is_other_stale = true;
    }
}

/* Time enough has passed: the application stops, or, when it has, the unit sleeps if the bus was silent meanwhile. */
static void rest(struct lw_sim *sim, unsigned unit, uint64_t now_ns)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    const struct lw_plant_unit *plant = &sim->plant.units[unit];
    if (!node->is_stopped) {
        node->is_stopped = true;
        lw_messages_stop(&sim->messages, unit);
        node->rest_ns = after_ms(now_ns, plant->sleeps_ms);
        return;
    }
    uint64_t silent_ns = after_ms(node->heard_ns, plant->sleeps_ms);
    if (silent_ns > now_ns) {
        node->rest_ns = silent_ns;
        return;
    }
    set_asleep(sim, node, true);
    node->rest_ns = LW_NEVER;
    node->wake_ns = after_ms(now_ns, plant->wakes_ms);
    lw_sim_apply_damage(sim);
}

/* It has booted meanwhile. */
static void wake(struct lw_sim *sim, unsigned unit, uint64_t now_ns)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    node->wake_ns = LW_NEVER;
    set_asleep(sim, node, false);
    lw_sim_apply_damage(sim);
    if (node->phase != LW_PHASE_OFF)
        node->boot_ns = now_ns;
}

void lw_sim_sleep_due(struct lw_sim *sim, uint64_t now_ns)
{
    for (unsigned i = 0; i < sim->plant.n_units; i++) {
        if (sim->nodes[i].rest_ns <= now_ns)
            rest(sim, i, now_ns);
        if (sim->nodes[i].wake_ns <= now_ns)
            wake(sim, i, now_ns);
    }
}
