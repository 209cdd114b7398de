/* SPDX-License-Identifier: MIT
 *
 * Puts a plant and what is wrong with it into a network of resistors, and measures the way along it. Two nodes (H, L) at
 * each junction of the trunk and at the pins of each unit. A touch or an extra terminator sits at a junction or at a
 * unit's pins, a break in a segment or in a stub.
 */
#include "loom.h"

#include <assert.h>
#include <string.h>

static const double longest_ps = 1e12;    /* a second: no bench is longer */

/* Transceiver pins against ground. Normal: 2.5 V behind 25 kohm a wire; source: ISO 11898-2:2016 allows 6 to 50 kohm a wire
 * (from memory), recessive 2.0 to 3.0 V (TI TCAN1145-Q1, SLLSF80B). Unpowered: what data sheets give as leakage, about
 * 5 uA at 5 V (from memory). The leak keeps loose ends defined and lies far above what an ohm meter reads. */
static const double rest_volt = 2.5, input_ohm = 25e3, unpowered_ohm = 1e6, leak_ohm = 1e9, least_wire_ohm = 1e-3;

enum { TRANSITION_PS = 50000 };    /* TI SLLA270, 4.8: 50 ns make a critical length of 5 m */

/* Damage, sorted by where it applies. */
struct breaks {
    bool segment_h[LW_PLANT_MAX_POINTS], segment_l[LW_PLANT_MAX_POINTS];
    bool stub_h[LW_PLANT_MAX_UNITS], stub_l[LW_PLANT_MAX_UNITS];
    bool point_bare[LW_PLANT_MAX_POINTS], unit_bare[LW_PLANT_MAX_UNITS];    /* terminator taken out */
    double stub_mm[LW_PLANT_MAX_UNITS];
};

static double value_of(const struct lw_damage *damage)
{
    return damage->value > 0 ? damage->value : lw_damages[damage->kind].default_value;
}

static void note_open(struct breaks *breaks, const struct lw_damage *damage)
{
    bool h = damage->kind != LW_DAMAGE_OPEN_L, l = damage->kind != LW_DAMAGE_OPEN_H;
    if (damage->place == LW_AT_SEGMENT) {
        breaks->segment_h[damage->index] |= h;
        breaks->segment_l[damage->index] |= l;
    } else if (damage->place == LW_AT_UNIT) {
        breaks->stub_h[damage->index] |= h;
        breaks->stub_l[damage->index] |= l;
    }
}

static bool is_in_plant(const struct lw_plant *plant, const struct lw_damage *damage)
{
    return damage->kind < LW_N_DAMAGES && damage->place != LW_AT_NOWHERE &&
           damage->index < (damage->place == LW_AT_UNIT ? plant->n_units : plant->n_points);
}

static void note_damage(struct lw_loom *loom, struct breaks *breaks, const struct lw_damage *damage)
{
    bool is_unit = damage->place == LW_AT_UNIT;
    switch (damage->kind) {
    case LW_DAMAGE_OPEN_H: case LW_DAMAGE_OPEN_L: case LW_DAMAGE_OPEN_BOTH: case LW_DAMAGE_LOOSE:
        note_open(breaks, damage);
        break;
    case LW_DAMAGE_SWAPPED:
        if (is_unit)
            loom->is_swapped[damage->index] = true;
        break;
    case LW_DAMAGE_NO_TERMINATOR:
        (is_unit ? breaks->unit_bare : breaks->point_bare)[damage->index] = true;
        break;
    case LW_DAMAGE_LONG_STUB:
        if (is_unit)
            breaks->stub_mm[damage->index] = value_of(damage);
        break;
    default:
        break;
    }
}

/* In the order in which elimination is cheap: along the trunk, the units of a junction before the junction itself. */
static void number_nodes(struct lw_loom *loom, const struct lw_plant *plant)
{
    uint16_t n = 0;
    for (unsigned p = 0; p < plant->n_points; p++) {
        for (unsigned u = 0; u < plant->n_units; u++)
            if (plant->units[u].point == p) {
                loom->units[u] = (struct lw_pair){ n, (uint16_t)(n + 1) };
                n = (uint16_t)(n + 2);
            }
        loom->points[p] = (struct lw_pair){ n, (uint16_t)(n + 1) };
        n = (uint16_t)(n + 2);
    }
    loom->n_nodes = n;
}

static double wire_ohm(const struct lw_plant *plant, double mm)
{
    double ohm = plant->mohm_per_m * 1e-6 * mm;
    return ohm > least_wire_ohm ? ohm : least_wire_ohm;
}

static void put_trunk(const struct lw_loom *loom, const struct lw_plant *plant, const struct breaks *breaks,
                      struct lw_network *network)
{
    for (unsigned p = 0; p + 1 < plant->n_points; p++) {
        double ohm = wire_ohm(plant, plant->points[p].segment_mm);
        if (!breaks->segment_h[p])
            lw_network_resistor(network, loom->points[p].h, loom->points[p + 1].h, ohm);
        if (!breaks->segment_l[p])
            lw_network_resistor(network, loom->points[p].l, loom->points[p + 1].l, ohm);
    }
    for (unsigned i = 0; i < plant->n_terminators; i++) {
        const struct lw_plant_terminator *terminator = &plant->terminators[i];
        struct lw_pair at = loom->points[terminator->point];
        if (!breaks->point_bare[terminator->point] && terminator->ohm > 0)
            lw_network_resistor(network, at.h, at.l, terminator->ohm);
    }
}

static void put_transceiver(struct lw_pair pins, enum lw_transceiver transceiver, struct lw_network *network)
{
    double volt = transceiver == LW_TRANSCEIVER_NORMAL ? rest_volt : 0;
    double ohm = transceiver == LW_TRANSCEIVER_UNPOWERED ? unpowered_ohm : input_ohm;
    lw_network_source(network, pins.h, volt, ohm);
    lw_network_source(network, pins.l, volt, ohm);
}

static void put_unit(const struct lw_loom *loom, const struct lw_plant *plant, unsigned u, const struct breaks *breaks,
                     struct lw_network *network)
{
    const struct lw_plant_unit *unit = &plant->units[u];
    struct lw_pair pins = loom->units[u], at = loom->points[unit->point];
    if (loom->transceivers[u] == LW_TRANSCEIVER_UNPLUGGED)
        return;
    put_transceiver(pins, loom->transceivers[u], network);
    if (unit->own_ohm > 0 && !breaks->unit_bare[u])
        lw_network_resistor(network, pins.h, pins.l, unit->own_ohm);
    double ohm = wire_ohm(plant, breaks->stub_mm[u]);
    if (!breaks->stub_h[u])
        lw_network_resistor(network, loom->is_swapped[u] ? pins.l : pins.h, at.h, ohm);
    if (!breaks->stub_l[u])
        lw_network_resistor(network, loom->is_swapped[u] ? pins.h : pins.l, at.l, ohm);
}

static void put_damage(const struct lw_loom *loom, const struct lw_plant *plant, const struct lw_damage *damage,
                       bool is_supply_off, struct lw_network *network)
{
    struct lw_pair at = damage->place == LW_AT_UNIT ? loom->units[damage->index] : loom->points[damage->index];
    double supply = is_supply_off ? 0 : plant->supply_mv / 1000.0, ohm = value_of(damage);
    if (damage->place == LW_AT_SEGMENT || ohm <= 0)
        return;
    switch (damage->kind) {
    case LW_DAMAGE_SHORT_H_L: case LW_DAMAGE_EXTRA_TERMINATOR:
        lw_network_resistor(network, at.h, at.l, ohm);
        break;
    case LW_DAMAGE_H_TO_SUPPLY: lw_network_source(network, at.h, supply, ohm); break;
    case LW_DAMAGE_L_TO_SUPPLY: lw_network_source(network, at.l, supply, ohm); break;
    case LW_DAMAGE_H_TO_GROUND: lw_network_source(network, at.h, 0, ohm); break;
    case LW_DAMAGE_L_TO_GROUND: lw_network_source(network, at.l, 0, ohm); break;
    default: break;
    }
}

/* Numbers the pieces of wire: those of H even, those of L odd; what hangs on a broken stub is a piece of its own. */
static void number_copper(struct lw_loom *loom, const struct lw_plant *plant, const struct breaks *breaks)
{
    unsigned h_of[LW_PLANT_MAX_POINTS], l_of[LW_PLANT_MAX_POINTS], h = 0, l = 1, own = 2 * LW_PLANT_MAX_POINTS;
    for (unsigned p = 0; p < plant->n_points; p++) {
        h_of[p] = h;
        l_of[p] = l;
        h += breaks->segment_h[p] ? 2 : 0;
        l += breaks->segment_l[p] ? 2 : 0;
    }
    for (unsigned u = 0; u < plant->n_units; u++) {
        unsigned point = plant->units[u].point, is_swapped = loom->is_swapped[u];
        loom->copper[u][is_swapped] = (uint8_t)(breaks->stub_h[u] ? own++ : h_of[point]);
        loom->copper[u][!is_swapped] = (uint8_t)(breaks->stub_l[u] ? own++ : l_of[point]);
    }
}

/* Capacitance hangs together as far as both wires are whole. */
static void share_capacitance(struct lw_loom *loom, const struct lw_plant *plant, const struct breaks *breaks)
{
    double pieces[LW_PLANT_MAX_POINTS] = { 0 };
    unsigned piece_of[LW_PLANT_MAX_POINTS] = { 0 };
    for (unsigned p = 0, piece = 0; p < plant->n_points; p++) {
        piece_of[p] = piece;
        pieces[piece] += plant->pf_per_m * 1e-3 * (p + 1 < plant->n_points ? plant->points[p].segment_mm : 0);
        piece += breaks->segment_h[p] || breaks->segment_l[p];
    }
    for (unsigned u = 0; u < plant->n_units; u++) {
        bool is_plugged = loom->transceivers[u] != LW_TRANSCEIVER_UNPLUGGED;
        loom->pf[u] = plant->pf_per_m * 1e-3 * breaks->stub_mm[u] + (is_plugged ? plant->pf_per_unit : 0);
        if (!breaks->stub_h[u] && !breaks->stub_l[u])
            pieces[piece_of[plant->units[u].point]] += loom->pf[u];
    }
    for (unsigned u = 0; u < plant->n_units; u++)
        if (!breaks->stub_h[u] && !breaks->stub_l[u])
            loom->pf[u] = pieces[piece_of[plant->units[u].point]];
}

/* A wave that passes the junction of a stub goes on with 2/3 of its height; the third thrown back comes a round trip
 * through the stub late. As one edge: late by a third of the round trip. Stubs under a third of the critical length do
 * not matter (TI SLLA270, 4.8); the third is the reflection at three equal impedances, a simplification. */
static double late_by_stub_mm(const struct lw_plant *plant, const struct breaks *breaks, unsigned u)
{
    double critical_mm = TRANSITION_PS / (2.0 * (plant->ps_per_mm ? plant->ps_per_mm : 1));
    if (breaks->stub_mm[u] <= critical_mm / 3 || breaks->stub_h[u] || breaks->stub_l[u])
        return 0;
    return 2 * breaks->stub_mm[u] / 3;
}

static void measure(struct lw_loom *loom, const struct lw_plant *plant, const struct breaks *breaks)
{
    double position[LW_PLANT_MAX_POINTS] = { 0 }, late[LW_PLANT_MAX_POINTS] = { 0 };
    for (unsigned u = 0; u < plant->n_units; u++)
        late[plant->units[u].point] += late_by_stub_mm(plant, breaks, u);
    for (unsigned p = 0; p + 1 < plant->n_points; p++)
        position[p + 1] = position[p] + plant->points[p].segment_mm;
    for (unsigned a = 0; a < plant->n_units; a++)
        for (unsigned b = a; b < plant->n_units; b++) {
            unsigned pa = plant->units[a].point, pb = plant->units[b].point;
            unsigned from = pa < pb ? pa : pb, to = pa < pb ? pb : pa;
            double mm = a == b ? 0 : position[to] - position[from] + breaks->stub_mm[a] + breaks->stub_mm[b];
            for (unsigned p = from; p <= to; p++)
                mm += late[p];
            double ps = mm * plant->ps_per_mm + 0.5;
            loom->delay_ps[a][b] = loom->delay_ps[b][a] = (uint64_t)(ps < longest_ps ? ps : longest_ps);
        }
}

void lw_loom_lay(struct lw_loom *loom, const struct lw_plant *plant, const struct lw_wiring *wiring, bool is_supply_off,
                 struct lw_network *network)
{
    struct breaks breaks = { 0 };
    memset(loom->is_swapped, 0, sizeof(loom->is_swapped));
    number_nodes(loom, plant);
    for (unsigned u = 0; u < plant->n_units; u++) {
        enum lw_transceiver transceiver = wiring->transceivers[u];
        loom->transceivers[u] = is_supply_off && transceiver != LW_TRANSCEIVER_UNPLUGGED ? LW_TRANSCEIVER_UNPOWERED : transceiver;
        breaks.stub_mm[u] = plant->units[u].stub_mm;
    }
    for (unsigned i = 0; i < wiring->n_damages; i++)
        if (is_in_plant(plant, &wiring->damages[i]))
            note_damage(loom, &breaks, &wiring->damages[i]);
    lw_network_clear(network, loom->n_nodes, leak_ohm);
    put_trunk(loom, plant, &breaks, network);
    for (unsigned u = 0; u < plant->n_units; u++)
        put_unit(loom, plant, u, &breaks, network);
    for (unsigned i = 0; i < wiring->n_damages; i++)
        if (is_in_plant(plant, &wiring->damages[i]))
            put_damage(loom, plant, &wiring->damages[i], is_supply_off, network);
    number_copper(loom, plant, &breaks);
    share_capacitance(loom, plant, &breaks);
    measure(loom, plant, &breaks);
}
