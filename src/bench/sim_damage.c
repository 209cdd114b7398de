/* SPDX-License-Identifier: MIT
 *
 * Damage over time: what holds now, and what it does to wires, transceivers, clocks and messages. Nothing here says what
 * errors follow.
 */
#include "sim_state.h"

#include <errno.h>
#include <string.h>

/* The machine falls asleep as a whole; our adapter does not. */
static bool is_at(const struct lw_sim *sim, const struct lw_damage *damage, unsigned unit)
{
    if (damage->place == LW_AT_NOWHERE)
        return damage->kind == LW_DAMAGE_ASLEEP && (int)unit != sim->adapter_unit;
    return damage->place == LW_AT_UNIT && damage->index == unit;
}

bool lw_sim_is_damaged(const struct lw_sim *sim, unsigned unit, enum lw_damage_kind kind, double *value)
{
    for (unsigned i = 0; i < sim->n_damages; i++) {
        const struct lw_sim_damage *d = &sim->damages[i];
        if (d->is_on && d->damage.kind == kind && is_at(sim, &d->damage, unit)) {
            *value = d->damage.value;
            return true;
        }
    }
    return false;
}

static bool has(const struct lw_sim *sim, unsigned unit, enum lw_damage_kind kind)
{
    double ignored;
    return lw_sim_is_damaged(sim, unit, kind, &ignored);
}

static enum lw_transceiver transceiver_of(const struct lw_sim *sim, unsigned unit)
{
    const struct lw_sim_node *node = &sim->nodes[unit];
    if (!node->is_plugged || has(sim, unit, LW_DAMAGE_UNPLUGGED))
        return LW_TRANSCEIVER_UNPLUGGED;
    if (!sim->is_supply_on || !node->is_powered || has(sim, unit, LW_DAMAGE_UNPOWERED) || has(sim, unit, LW_DAMAGE_RESET))
        return LW_TRANSCEIVER_UNPOWERED;
    if (node->is_asleep || has(sim, unit, LW_DAMAGE_STANDBY) || has(sim, unit, LW_DAMAGE_ASLEEP))
        return LW_TRANSCEIVER_STANDBY;
    return LW_TRANSCEIVER_NORMAL;
}

/* A standby transceiver's controller runs and hears nothing; an unplugged or sleeping unit's does not run. */
static bool should_run(const struct lw_sim *sim, unsigned unit, enum lw_transceiver transceiver)
{
    return transceiver == LW_TRANSCEIVER_NORMAL
        || (transceiver == LW_TRANSCEIVER_STANDBY && !sim->nodes[unit].is_asleep && !has(sim, unit, LW_DAMAGE_ASLEEP));
}

static void set_wires(struct lw_sim *sim, const enum lw_transceiver transceivers[LW_PLANT_MAX_UNITS])
{
    struct lw_wiring wiring = { 0 };
    for (unsigned i = 0; i < sim->n_damages; i++) {
        const struct lw_sim_damage *d = &sim->damages[i];
        if (d->is_on && (d->damage.kind != LW_DAMAGE_LOOSE || d->is_open))
            wiring.damages[wiring.n_damages++] = d->damage;
    }
    for (unsigned i = 0; i < sim->plant.n_units; i++)
        wiring.transceivers[i] = (uint8_t)transceivers[i];
    lw_wires_set(sim->wires, &wiring, sim->now_ps);
}

static void run_units(struct lw_sim *sim, const enum lw_transceiver transceivers[LW_PLANT_MAX_UNITS])
{
    for (unsigned i = 0; i < sim->plant.n_units; i++) {
        bool runs = sim->nodes[i].phase != LW_PHASE_OFF, should = should_run(sim, i, transceivers[i]);
        if (runs && !should)
            lw_sim_node_stop(sim, i);
        else if (!runs && should)
            lw_sim_node_start(sim, i);
        else if (runs)
            lw_sim_node_refit(sim, i);
    }
}

static void damage_messages(struct lw_sim *sim)
{
    struct lw_damage on[LW_MAX_DAMAGES];
    unsigned n = 0;
    bool is_late = false;
    for (unsigned i = 0; i < sim->n_damages; i++)
        if (sim->damages[i].is_on) {
            on[n++] = sim->damages[i].damage;
            is_late = is_late || sim->damages[i].damage.kind == LW_DAMAGE_OVERRUN;
        }
    lw_messages_damage(&sim->messages, on, n, lw_sim_ns(sim));
    lw_adapter_set_late(&sim->adapter, is_late, lw_sim_ns(sim));
}

void lw_sim_apply_damage(struct lw_sim *sim)
{
    lw_sim_leave_lockstep(sim, sim->lockstep.done_ps);
    sim->is_other_stale = true;
    enum lw_transceiver transceivers[LW_PLANT_MAX_UNITS];
    for (unsigned i = 0; i < sim->plant.n_units; i++) {
        transceivers[i] = transceiver_of(sim, i);
        if (transceivers[i] >= LW_TRANSCEIVER_UNPOWERED)
            lw_sim_sleep_forget(sim, i);
    }
    set_wires(sim, transceivers);
    damage_messages(sim);
    run_units(sim, transceivers);
    for (unsigned i = 0; i < sim->plant.n_units; i++)
        lw_sim_look_ahead(sim, i);
}

/* A loose contact is closed for a random time, then open for a short one: value openings a second on average. */
static uint64_t toggle_after_ns(const struct lw_sim *sim, const struct lw_sim_damage *d, uint64_t now_ns)
{
    uint64_t x = (sim->seed + d->damage.from_ns + d->n_toggles) * UINT64_C(0x9E3779B97F4A7C15);
    x ^= x >> 29;
    x *= UINT64_C(0xBF58476D1CE4E5B9);
    x ^= x >> 32;
    double share = (double)(x >> 11) / (double)(UINT64_C(1) << 53), rate = d->damage.value > 0 ? d->damage.value : 5;
    double seconds = d->is_open ? 0.0002 + share * 0.02 : 0.1 / rate + share * 1.8 / rate;
    return now_ns + (uint64_t)(seconds * 1e9);
}

static void note_next(struct lw_sim *sim)
{
    sim->damage_ns = LW_NEVER;
    sim->is_other_stale = true;
    for (unsigned i = 0; i < sim->n_damages; i++) {
        const struct lw_sim_damage *d = &sim->damages[i];
        uint64_t next = d->is_on ? d->damage.until_ns : d->damage.from_ns;
        if (d->is_on && d->damage.kind == LW_DAMAGE_LOOSE && d->toggle_ns < next)
            next = d->toggle_ns;
        sim->damage_ns = next < sim->damage_ns ? next : sim->damage_ns;
    }
}

static void begin_or_toggle(struct lw_sim *sim, struct lw_sim_damage *d, uint64_t now_ns)
{
    if (!d->is_on && d->damage.from_ns <= now_ns) {
        d->is_on = true;
        d->toggle_ns = toggle_after_ns(sim, d, now_ns);
    } else if (d->is_on && d->damage.kind == LW_DAMAGE_LOOSE && d->toggle_ns <= now_ns) {
        d->is_open = !d->is_open;
        d->n_toggles++;
        d->toggle_ns = toggle_after_ns(sim, d, now_ns);
    }
}

void lw_sim_damage_due(struct lw_sim *sim, uint64_t now_ns)
{
    if (sim->damage_ns > now_ns)
        return;
    for (unsigned i = 0; i < sim->n_damages;) {
        struct lw_sim_damage *d = &sim->damages[i];
        if (d->damage.until_ns <= now_ns) {
            *d = sim->damages[--sim->n_damages];
            continue;
        }
        begin_or_toggle(sim, d, now_ns);
        i++;
    }
    note_next(sim);
    lw_sim_apply_damage(sim);
}

int lw_sim_damage(struct lw_sim *sim, const struct lw_damage *damage)
{
    if (sim->n_damages == LW_MAX_DAMAGES)
        return -ENOSPC;
    uint64_t now_ns = lw_sim_ns(sim);
    struct lw_sim_damage *d = &sim->damages[sim->n_damages++];
    *d = (struct lw_sim_damage){ .damage = *damage };
    if (d->damage.from_ns < now_ns)
        d->damage.from_ns = now_ns;
    note_next(sim);
    lw_sim_damage_due(sim, now_ns);
    return 0;
}

int lw_sim_mend(struct lw_sim *sim, size_t n)
{
    if (n >= sim->n_damages)
        return -EINVAL;
    memmove(&sim->damages[n], &sim->damages[n + 1], (sim->n_damages - n - 1) * sizeof(sim->damages[0]));
    sim->n_damages--;
    note_next(sim);
    lw_sim_apply_damage(sim);
    return 0;
}

int lw_sim_plug(struct lw_sim *sim, unsigned unit, bool is_plugged)
{
    if (unit >= sim->plant.n_units)
        return -EINVAL;
    sim->nodes[unit].is_plugged = is_plugged;
    lw_sim_apply_damage(sim);
    return 0;
}

int lw_sim_power(struct lw_sim *sim, unsigned unit, bool is_powered)
{
    if (unit >= sim->plant.n_units)
        return -EINVAL;
    sim->nodes[unit].is_powered = is_powered;
    lw_sim_apply_damage(sim);
    return 0;
}

void lw_sim_supply(struct lw_sim *sim, bool is_on)
{
    sim->is_supply_on = is_on;
    lw_sim_apply_damage(sim);
}

/* Units that plug themselves in: once, and not if a person was faster. */
static void plug_in_due(struct lw_sim *sim, uint64_t now_ns)
{
    uint64_t next = LW_NEVER;
    for (unsigned i = 0; i < sim->plant.n_units; i++) {
        struct lw_plant_unit *unit = &sim->plant.units[i];
        uint64_t at_ns = unit->plug_ms * UINT64_C(1000000);
        if (unit->plug_ms == 0)
            continue;
        if (at_ns <= now_ns || sim->nodes[i].is_plugged) {
            unit->plug_ms = 0;
            if (!sim->nodes[i].is_plugged)
                lw_sim_plug(sim, i, true);
        } else if (at_ns < next) {
            next = at_ns;
        }
    }
    sim->plug_ns = next;
}

void lw_sim_take_steps(struct lw_sim *sim, uint64_t now_ns)
{
    while (sim->next_step < sim->plant.n_steps && sim->plant.steps[sim->next_step].at_ns <= now_ns) {
        const struct lw_plant_step *step = &sim->plant.steps[sim->next_step++];
        struct lw_damage damage;
        char message[LW_DAMAGE_TEXT];
        /* Checked when the file was read; one that fails now has no effect. */
        if (lw_damage_parse(&sim->plant, step->words, step->at_ns, &damage, message) == 0)
            lw_sim_damage(sim, &damage);
    }
    if (sim->plug_ns <= now_ns)
        plug_in_due(sim, now_ns);
}
