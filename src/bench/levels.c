/* SPDX-License-Identifier: MIT
 *
 * Levels for sets of senders: exact and remembered where the bench is small or senders are few; on a larger bench the quick
 * way, which costs no system of equations, so that thirty units can acknowledge at once. Where a decision is near or the
 * quick way is not good enough, exact again.
 */
#include "levels.h"

#include <math.h>
#include <stdlib.h>

enum {
    SMALL_BENCH = 10,            /* units: all their sets are remembered */
    CACHE_LOG2 = 13, N_CACHED = 1 << CACHE_LOG2,      /* of 32 units about as many sets as are remembered: 4 MB */
    MAX_REMEMBERED_SENDERS = 3,  /* on a larger bench */
};

/* Common-mode range of receivers: ISO 11898-2:2016, from memory; 2003 has -2 to +7 V. */
static const double common_mode_volt = 12;

struct lw_levels {
    const struct lw_plant *plant;
    struct lw_wiring wiring;
    struct lw_loom loom;
    struct lw_network network, dead;     /* dead: supply off, reduced when first asked */
    bool has_dead;
    struct lw_ports ports;
    struct lw_two_nodes around[LW_PLANT_MAX_UNITS];
    struct lw_pull pulls[LW_PLANT_MAX_UNITS][LW_PLANT_MAX_UNITS];
    uint32_t quick;                      /* units at which the two nodes are good enough */
    uint32_t good[LW_PLANT_MAX_UNITS];   /* any senders of this set make the unit dominant; on a larger bench */
    uint32_t epoch, keys[N_CACHED], epochs[N_CACHED];
    struct lw_level *cached;             /* [entry × n_units + unit] */
};

struct lw_levels *lw_levels_create(const struct lw_plant *plant)
{
    struct lw_levels *levels = calloc(1, sizeof(*levels));
    if (!levels)
        return NULL;
    levels->plant = plant;
    size_t n_cached = plant->n_units <= SMALL_BENCH ? (size_t)1 << plant->n_units : N_CACHED;
    levels->cached = calloc(n_cached * (plant->n_units + 1), sizeof(*levels->cached));
    unsigned n_nodes = 2 * (plant->n_points + plant->n_units);
    if (levels->cached && lw_network_init(&levels->network, n_nodes) == 0 && lw_network_init(&levels->dead, n_nodes) == 0)
        return levels;
    lw_levels_destroy(levels);
    return NULL;
}

void lw_levels_destroy(struct lw_levels *levels)
{
    if (!levels)
        return;
    lw_network_finish(&levels->network);
    lw_network_finish(&levels->dead);
    free(levels->cached);
    free(levels);
}

const struct lw_loom *lw_levels_loom(const struct lw_levels *levels)
{
    return &levels->loom;
}

bool lw_levels_can_receive(const struct lw_levels *levels, unsigned unit)
{
    return levels->loom.transceivers[unit] <= LW_TRANSCEIVER_STANDBY;
}

uint32_t lw_levels_able(const struct lw_levels *levels)
{
    uint32_t able = 0;
    for (unsigned u = 0; u < levels->plant->n_units; u++)
        able |= (uint32_t)(levels->loom.transceivers[u] == LW_TRANSCEIVER_NORMAL) << u;
    return able;
}

const struct lw_pull *lw_levels_pull(const struct lw_levels *levels, unsigned sender, unsigned unit)
{
    return &levels->pulls[sender][unit];
}

struct lw_volts lw_levels_volts(struct lw_levels *levels, struct lw_pair at, uint32_t senders)
{
    struct lw_currents currents;
    lw_ports_find_currents(&levels->ports, senders & lw_levels_able(levels), &currents);
    return lw_ports_volts(&levels->ports, &currents, at);
}

static double speed(const struct lw_levels *levels, unsigned unit, double ohm)
{
    return 1 / (ohm * fmax(levels->loom.pf[unit], 1));     /* ohm × picofarad is a picosecond */
}

static double level_volt(struct lw_volts volts)
{
    return fabs(volts.h + volts.l) / 2 <= common_mode_volt ? volts.h - volts.l : 0;
}

static struct lw_level exact_at(const struct lw_levels *levels, unsigned unit, const struct lw_currents *currents,
                                const struct lw_pull *pull)
{
    struct lw_volts unused;
    double ohm = lw_two_nodes_solve(&levels->around[unit], pull, &unused);
    struct lw_volts volts = lw_ports_volts(&levels->ports, currents, levels->loom.units[unit]);
    return (struct lw_level){ level_volt(volts), speed(levels, unit, ohm) };
}

static struct lw_pull sum_of_pulls(const struct lw_levels *levels, uint32_t senders, unsigned unit)
{
    struct lw_pull sum = { 0 };
    for (uint32_t left = senders; left; left &= left - 1)
        sum = lw_pull_sum(sum, levels->pulls[__builtin_ctz(left)][unit]);
    return sum;
}

static struct lw_level remembered(struct lw_levels *levels, unsigned unit, uint32_t senders)
{
    bool is_small = levels->plant->n_units <= SMALL_BENCH;
    unsigned entry = is_small ? senders : (senders * UINT32_C(2654435769)) >> (32 - CACHE_LOG2);
    struct lw_level *row = levels->cached + (size_t)entry * levels->plant->n_units;
    if (levels->epochs[entry] != levels->epoch || levels->keys[entry] != senders) {
        struct lw_currents currents;
        lw_ports_find_currents(&levels->ports, senders, &currents);
        for (unsigned u = 0; u < levels->plant->n_units; u++) {
            struct lw_pull pull = sum_of_pulls(levels, senders, u);
            if (lw_levels_can_receive(levels, u))
                row[u] = exact_at(levels, u, &currents, &pull);
        }
        levels->keys[entry] = senders;
        levels->epochs[entry] = levels->epoch;
    }
    return row[unit];
}

static bool has_more_than(uint32_t senders, unsigned n)
{
    while (senders && n--)
        senders &= senders - 1;
    return senders != 0;
}

uint32_t lw_levels_good_senders(const struct lw_levels *levels, unsigned unit)
{
    return levels->good[unit];
}

/* The quick way is good at a unit if it is with everybody sending: that is where it is worst, as the copper that senders
 * share is what it does not know. */
static void find_quick_ones(struct lw_levels *levels, uint32_t all)
{
    static const double good_volt = 0.25;
    struct lw_currents currents;
    levels->quick = 0;
    lw_ports_find_currents(&levels->ports, all, &currents);
    for (unsigned u = 0; u < levels->plant->n_units; u++) {
        struct lw_pull pull = sum_of_pulls(levels, all, u);
        struct lw_volts quick;
        lw_two_nodes_solve(&levels->around[u], &pull, &quick);
        struct lw_volts exact = lw_ports_volts(&levels->ports, &currents, levels->loom.units[u]);
        levels->quick |= (uint32_t)(fabs(quick.h - exact.h) < good_volt && fabs(quick.l - exact.l) < good_volt) << u;
    }
}

/* Senders that alone make a unit dominant, and all together too: then any of them do, as each only adds to the difference. */
static void find_good_ones(struct lw_levels *levels, uint32_t all)
{
    static const double sure_volt = 1.2;
    struct lw_currents currents;
    uint32_t solved = 0;
    for (unsigned u = 0; u < levels->plant->n_units; u++) {
        uint32_t good = 0;
        for (uint32_t left = all; left && lw_levels_can_receive(levels, u); left &= left - 1)
            if (remembered(levels, u, left & -left).volt > sure_volt)
                good |= left & -left;
        if (good != solved)
            lw_ports_find_currents(&levels->ports, good, &currents);
        struct lw_pull pull = { 0 };
        solved = good;
        levels->good[u] = good && exact_at(levels, u, &currents, &pull).volt > sure_volt ? good : 0;
    }
}

struct lw_level lw_levels_at(struct lw_levels *levels, unsigned unit, uint32_t senders, const struct lw_pull *pull)
{
    if (levels->plant->n_units <= SMALL_BENCH || !has_more_than(senders, MAX_REMEMBERED_SENDERS))
        return remembered(levels, unit, senders);
    struct lw_volts volts;
    double ohm = lw_two_nodes_solve(&levels->around[unit], pull, &volts);
    double difference = volts.h - volts.l, common = fabs(volts.h + volts.l) / 2;
    bool is_near = (difference > 0.2 && difference < 1.5) || fabs(common - common_mode_volt) < 1;
    if (!is_near && levels->quick >> unit & 1)
        return (struct lw_level){ level_volt(volts), speed(levels, unit, ohm) };
    struct lw_currents currents;
    lw_ports_find_currents(&levels->ports, senders, &currents);
    return exact_at(levels, unit, &currents, pull);
}

void lw_levels_set(struct lw_levels *levels, const struct lw_wiring *wiring)
{
    struct lw_network *network = &levels->network;
    levels->wiring = *wiring;
    levels->has_dead = false;
    levels->epoch++;
    lw_loom_lay(&levels->loom, levels->plant, wiring, false, network);
    lw_network_reduce(network);
    lw_ports_measure(&levels->ports, &levels->loom, levels->plant->n_units, network);
    for (unsigned u = 0; u < levels->plant->n_units; u++) {
        levels->around[u] = lw_two_nodes_around(&levels->ports, u);
        for (unsigned sender = 0; sender < levels->plant->n_units; sender++)
            levels->pulls[sender][u] = lw_two_nodes_pull(&levels->ports, sender, u);
    }
    if (levels->plant->n_units > SMALL_BENCH) {
        find_quick_ones(levels, lw_levels_able(levels));
        find_good_ones(levels, lw_levels_able(levels));
    }
}

double lw_levels_ohms(struct lw_levels *levels, struct lw_pair at)
{
    static const double meter_limit_ohm = 10e6;
    if (!levels->has_dead) {
        struct lw_loom loom;
        lw_loom_lay(&loom, levels->plant, &levels->wiring, true, &levels->dead);
        lw_network_reduce(&levels->dead);
        levels->has_dead = true;
    }
    double work[LW_LOOM_MAX_NODES];
    double ohms = lw_network_ohms(&levels->dead, at.h, at.l, work);
    return ohms > meter_limit_ohm ? INFINITY : ohms;
}
