/* SPDX-License-Identifier: MIT
 *
 * The bench as its page shows it, the meter included.
 */
#include "sim_state.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static enum lw_bus_state state_of(const struct lw_sim_node *node)
{
    const struct lw_confinement *confinement = lw_mac_confinement(node->mac);
    if (node->phase == LW_PHASE_OFF)
        return LW_STATE_UNKNOWN;
    if (confinement->is_bus_off)
        return LW_STATE_BUS_OFF;
    if (lw_confinement_is_passive(confinement))
        return LW_STATE_ERROR_PASSIVE;
    return lw_confinement_is_warning(confinement) ? LW_STATE_ERROR_WARNING : LW_STATE_ERROR_ACTIVE;
}

static void picture_unit(const struct lw_sim *sim, unsigned unit, struct lw_bench_unit_picture *out)
{
    const struct lw_plant_unit *plant = &sim->plant.units[unit];
    const struct lw_sim_node *node = &sim->nodes[unit];
    double value;
    memset(out, 0, sizeof(*out));
    snprintf(out->name, sizeof(out->name), "%s", plant->name);
    out->point = plant->point;
    out->stub_mm = lw_sim_is_damaged(sim, unit, LW_DAMAGE_LONG_STUB, &value) ? (uint32_t)value : plant->stub_mm;
    out->is_plugged = node->is_plugged && !lw_sim_is_damaged(sim, unit, LW_DAMAGE_UNPLUGGED, &value);
    out->is_powered = sim->is_supply_on && node->is_powered && !lw_sim_is_damaged(sim, unit, LW_DAMAGE_UNPOWERED, &value);
    out->is_standby = lw_sim_is_damaged(sim, unit, LW_DAMAGE_STANDBY, &value);
    out->is_asleep = node->is_asleep || lw_sim_is_damaged(sim, unit, LW_DAMAGE_ASLEEP, &value);
    out->is_swapped = lw_sim_is_damaged(sim, unit, LW_DAMAGE_SWAPPED, &value);
    out->is_adapter = plant->is_adapter;
    out->is_terminated = (plant->own_ohm != 0 && !lw_sim_is_damaged(sim, unit, LW_DAMAGE_NO_TERMINATOR, &value))
                      || lw_sim_is_damaged(sim, unit, LW_DAMAGE_EXTRA_TERMINATOR, &value);
    out->state = state_of(node);
    out->tec = lw_mac_confinement(node->mac)->tec;
    out->rec = lw_mac_confinement(node->mac)->rec;
    out->n_sent = node->facts.n_sent;
    out->n_errors = node->facts.n_errors;
}

static bool is_terminator_gone(const struct lw_sim *sim, unsigned point)
{
    for (unsigned i = 0; i < sim->n_damages; i++) {
        const struct lw_damage *damage = &sim->damages[i].damage;
        if (sim->damages[i].is_on && damage->kind == LW_DAMAGE_NO_TERMINATOR && damage->place == LW_AT_POINT
            && damage->index == point)
            return true;
    }
    return false;
}

static void picture_terminators(const struct lw_sim *sim, struct lw_bench_picture *out)
{
    out->n_terminators = 0;
    for (unsigned i = 0; i < sim->plant.n_terminators; i++)
        if (!is_terminator_gone(sim, sim->plant.terminators[i].point))
            out->terminators[out->n_terminators++] = sim->plant.terminators[i];
    for (unsigned i = 0; i < sim->n_damages && out->n_terminators < LW_PLANT_MAX_TERMINATORS; i++) {
        const struct lw_damage *damage = &sim->damages[i].damage;
        if (sim->damages[i].is_on && damage->kind == LW_DAMAGE_EXTRA_TERMINATOR && damage->place == LW_AT_POINT)
            out->terminators[out->n_terminators++] =
                (struct lw_plant_terminator){ .point = damage->index, .ohm = (uint32_t)damage->value };
    }
}

/* An averaging meter shows the rest level, moved by the share of time in which somebody drives. */
static struct lw_bench_meter measure(struct lw_sim *sim, unsigned point)
{
    const struct lw_sim_meter *meter = &sim->meter;
    struct lw_bench_meter out = { .is_supply_off = !sim->is_supply_on, .ohm = NAN, .h_volt = NAN, .l_volt = NAN };
    if (out.is_supply_off) {
        out.ohm = lw_wires_ohms(sim->wires, point);
        return out;
    }
    uint64_t so_far_ps = sim->now_ps - meter->since_ps;
    double share = meter->has_share ? meter->share : so_far_ps > 0 ? (double)meter->dominant_ps / (double)so_far_ps : 0;
    /* Where the window ran out long ago nobody has driven since. */
    if (so_far_ps > UINT64_C(2) * LW_METER_NS * LW_PS_PER_NS && meter->drivers == 0)
        share = 0;
    struct lw_volts rest = lw_wires_point_volts(sim->wires, point, 0);
    struct lw_volts driven = lw_wires_point_volts(sim->wires, point, meter->last_drivers);
    out.h_volt = rest.h + share * (driven.h - rest.h);
    out.l_volt = rest.l + share * (driven.l - rest.l);
    return out;
}

static void picture_trace(struct lw_sim *sim, unsigned unit, struct lw_bench_picture *out)
{
    struct lw_sim_trace *trace = &sim->trace;
    if (trace->unit != unit && unit < sim->plant.n_units) {
        memset(trace, 0, sizeof(*trace));
        trace->unit = unit;
        trace->since_ns = lw_sim_ns(sim);
    }
    out->trace_unit = trace->unit;
    out->trace_since_ns = trace->since_ns;
    lw_sim_copy_trace(&out->trace, &trace->last);
    lw_sim_copy_trace(&out->error_trace, &trace->last_error);
}

void lw_sim_picture(struct lw_sim *sim, unsigned trace_unit, struct lw_bench_picture *out)
{
    lw_sim_leave_lockstep(sim, sim->lockstep.done_ps);
    memcpy(out->name, sim->plant.name, sizeof(out->name));
    memcpy(out->title, sim->plant.title, sizeof(out->title));
    out->now_ns = lw_sim_ns(sim);
    out->bit_rate_bps = sim->plant.bit_rate_bps;
    out->is_supply_on = sim->is_supply_on;
    out->n_points = sim->plant.n_points;
    out->n_units = sim->plant.n_units;
    out->n_damages = sim->n_damages;
    for (unsigned i = 0; i < out->n_points; i++) {
        out->points[i] = sim->plant.points[i];
        out->meters[i] = measure(sim, i);
    }
    for (unsigned i = 0; i < out->n_units; i++)
        picture_unit(sim, i, &out->units[i]);
    picture_terminators(sim, out);
    for (unsigned i = 0; i < out->n_damages; i++) {
        out->damages[i] = sim->damages[i].damage;
        lw_damage_words(&sim->plant, &sim->damages[i].damage, out->damage_words[i]);
    }
    picture_trace(sim, trace_unit, out);
}
