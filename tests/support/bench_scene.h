/* SPDX-License-Identifier: MIT
 *
 * A bench at work for tests of its page: seven points, eight units, our adapter, as a real simulation. Invented.
 */
#ifndef LOOMWATCH_TEST_BENCH_SCENE_H
#define LOOMWATCH_TEST_BENCH_SCENE_H

#include "loomwatch/bench/adapter.h"
#include "loomwatch/bench/sim.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SCENE_SWEEP, SCENE_HOPPER, SCENE_PUMP, SCENE_PANEL, SCENE_LIGHTING, SCENE_GATEWAY, SCENE_SENSOR, SCENE_SECOND_PANEL,
    SCENE_ADAPTER, SCENE_N_UNITS, SCENE_N_POINTS = 7 };

struct bench_scene {
    struct lw_plant plant;
    struct lw_sim *sim;
    struct lw_bench_picture picture;
};

static inline void bench_scene_unit(struct lw_plant *plant, unsigned i, const char *name, unsigned point, bool is_plugged)
{
    struct lw_plant_unit *unit = &plant->units[i];
    snprintf(unit->name, sizeof(unit->name), "%s", name);
    unit->point = (uint8_t)point;
    unit->stub_mm = 200 + 100 * i;
    unit->is_plugged = is_plugged;
    unit->boot_ms = 20 + 5 * i;
    unit->crystal_ppm = (int32_t)(17 * i) - 60;
    unit->loop_delay_ns = 150;
    lw_bit_timing_for(plant->bit_rate_bps, 875, 2, &unit->timing);
}

static inline void bench_scene_message(struct lw_plant *plant, unsigned unit, uint32_t id, uint32_t period_ms)
{
    struct lw_plant_message *message = &plant->messages[plant->n_messages++];
    *message = (struct lw_plant_message){ .unit = (uint8_t)unit, .id = id, .len = 4, .period_ms = period_ms,
        .jitter_us = 200, .constant = { 0x40, 0x01, 0x00, 0xC7 }, .patterns = { { LW_PATTERN_COUNTER, 2, 0xFF, 0, 0, 0 } } };
}

static inline void bench_scene_plant(struct lw_plant *plant)
{
    static const struct { const char *name; uint32_t mm; } points[SCENE_N_POINTS] = {
        { "front end", 1500 }, { "cab", 2000 }, { "diagnosis", 2500 }, { "pump bay", 2000 }, { "hopper", 2500 },
        { "", 1500 }, { "rear end", 0 } };
    static const struct { const char *name; unsigned point; bool is_plugged; } units[SCENE_N_UNITS] = {
        { "sweep control", 5, true }, { "hopper control", 4, true }, { "water pump unit", 3, true },
        { "operator panel", 1, true }, { "lighting", 6, true }, { "body gateway", 0, true },
        { "hopper load sensor", 4, false }, { "second operator panel", 1, false }, { "our adapter", 2, true } };
    memset(plant, 0, sizeof(*plant));
    snprintf(plant->name, sizeof(plant->name), "sweeper");
    snprintf(plant->title, sizeof(plant->title), "body bus of an invented sweeper");
    plant->bit_rate_bps = 500000;
    plant->supply_mv = 12000;
    plant->mohm_per_m = 70;
    plant->ps_per_mm = 5;
    plant->pf_per_m = 40;
    plant->pf_per_unit = 50;
    plant->n_points = SCENE_N_POINTS;
    plant->n_units = SCENE_N_UNITS;
    for (unsigned i = 0; i < SCENE_N_POINTS; i++) {
        snprintf(plant->points[i].name, sizeof(plant->points[i].name), "%s", points[i].name);
        plant->points[i].segment_mm = points[i].mm;
    }
    plant->n_terminators = 2;
    plant->terminators[0] = (struct lw_plant_terminator){ .point = 0, .ohm = 120 };
    plant->terminators[1] = (struct lw_plant_terminator){ .point = SCENE_N_POINTS - 1, .ohm = 120 };
    for (unsigned i = 0; i < SCENE_N_UNITS; i++)
        bench_scene_unit(plant, i, units[i].name, units[i].point, units[i].is_plugged);
    plant->units[SCENE_ADAPTER].is_adapter = true;
    plant->units[SCENE_ADAPTER].personality = lw_personalities[0];
    for (unsigned i = 0; i < SCENE_ADAPTER; i++)
        bench_scene_message(plant, i, 0x0A0 + 0x10 * i, 10 + 10 * i);
}

static inline void bench_scene_begin(struct bench_scene *scene)
{
    memset(scene, 0, sizeof(*scene));
    bench_scene_plant(&scene->plant);
    scene->sim = lw_sim_create(&scene->plant, 1, 0);
    if (!scene->sim)
        abort();
}

/* Runs for so long, then looks through the eyes of that unit. */
static inline void bench_scene_run(struct bench_scene *scene, unsigned us, unsigned trace_unit)
{
    struct lw_event event;
    uint64_t until_ns = lw_sim_now_ns(scene->sim) + us * UINT64_C(1000);
    lw_sim_picture(scene->sim, trace_unit, &scene->picture);
    while (lw_sim_next(scene->sim, until_ns, &event))
        continue;
    lw_sim_picture(scene->sim, trace_unit, &scene->picture);
}

/* In the words of a bench file; what they are not is the test's mistake. */
static inline void bench_scene_damage(struct bench_scene *scene, const char *text)
{
    struct lw_damage damage;
    char message[LW_DAMAGE_TEXT];
    if (lw_damage_parse(&scene->plant, text, lw_sim_now_ns(scene->sim), &damage, message) != 0
        || lw_sim_damage(scene->sim, &damage) != 0)
        abort();
}

static inline void bench_scene_end(struct bench_scene *scene)
{
    lw_sim_destroy(scene->sim);
    scene->sim = NULL;
}

#endif
