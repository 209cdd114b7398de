/* SPDX-License-Identifier: MIT
 *
 * Makes a plant of a bench file whose values are all in range, and judges what can be judged only now: who is meant by a
 * pattern, what a step does. Called by bench_file.c.
 */
#include "bench_file_parts.h"

#include "loomwatch/bench/adapter.h"
#include "loomwatch/bench/damage.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A well-made unit jumps as far as its second phase segment lets it, but no more than the four quanta of old controllers. */
enum { MAX_USUAL_SJW = 4 };

static uint32_t whole(cfg_t *cfg, const char *name, double factor)
{
    return (uint32_t)llround(cfg_getfloat(cfg, name) * factor);
}

static unsigned point_of(cfg_t *root, const char *name)
{
    cfg_t *trunk = cfg_getsec(root, "trunk");
    unsigned i = 0;
    while (strcmp(cfg_title(cfg_getnsec(trunk, "point", i)), name) != 0)
        i++;
    return i;
}

static void take_trunk(cfg_t *root, struct lw_plant *out)
{
    cfg_t *trunk = cfg_getsec(root, "trunk");
    for (unsigned i = 0; i < cfg_size(trunk, "point"); i++) {
        cfg_t *point = cfg_getnsec(trunk, "point", i);
        snprintf(out->points[i].name, LW_PLANT_NAME, "%s", cfg_title(point));
        out->points[i].segment_mm = i + 1 < cfg_size(trunk, "point") ? whole(point, "to-next-m", 1000) : 0;
    }
    for (unsigned i = 0; i < cfg_size(trunk, "terminator"); i++) {
        cfg_t *terminator = cfg_getnsec(trunk, "terminator", i);
        out->terminators[i] = (struct lw_plant_terminator){
            .point = (uint8_t)point_of(root, cfg_getstr(terminator, "at")), .ohm = whole(terminator, "ohm", 1),
            .is_split = cfg_getbool(terminator, "split"),
        };
    }
    out->n_points = cfg_size(trunk, "point");
    out->n_terminators = cfg_size(trunk, "terminator");
}

static uint32_t rate_of(cfg_t *root, cfg_t *unit, const char *name)
{
    double own = cfg_getfloat(unit, name);
    return (uint32_t)(own > 0 ? own : cfg_getfloat(root, name));
}

static void take_timing(uint32_t bit_rate_bps, double sample_point, unsigned sjw, struct lw_bit_timing *out)
{
    uint32_t permille = (uint32_t)llround(sample_point * 10);
    lw_bit_timing_for(bit_rate_bps, permille, sjw, out);
    if (sjw == 0)
        lw_bit_timing_for(bit_rate_bps, permille, out->phase_seg2 < MAX_USUAL_SJW ? out->phase_seg2 : MAX_USUAL_SJW, out);
}

static void take_unit(cfg_t *root, cfg_t *section, struct lw_plant_unit *out)
{
    snprintf(out->name, LW_PLANT_NAME, "%s", cfg_title(section));
    out->point = (uint8_t)point_of(root, cfg_getstr(section, "at"));
    out->stub_mm = whole(section, "stub-m", 1000);
    out->own_ohm = whole(section, "terminator-ohm", 1);
    out->is_listen_only = cfg_getbool(section, "listen-only");
    out->is_one_shot = cfg_getbool(section, "one-shot");
    uint64_t plug_ns = 0;
    lw_bench_time(cfg_getstr(section, "plug-at"), &plug_ns);
    out->plug_ms = (uint32_t)(plug_ns / 1000000);
    out->is_plugged = cfg_getbool(section, "plugged") && out->plug_ms == 0;
    out->boot_ms = whole(section, "boot-ms", 1);
    out->crystal_ppm = (int32_t)llround(cfg_getfloat(section, "crystal-ppm"));
    out->loop_delay_ns = whole(section, "loop-delay-ns", 1);
    out->restart_ms = whole(section, "restart-ms", 1);
    double sample_point = cfg_getfloat(section, "sample-point");
    take_timing(rate_of(root, section, "bit-rate"), sample_point, whole(section, "sjw", 1), &out->timing);
    if (!cfg_getbool(section, "classic") && cfg_getfloat(root, "data-bit-rate") > 0)
        take_timing(rate_of(root, section, "data-bit-rate"), sample_point, 0, &out->data_timing);
}

/* Only of units: our adapter does not sleep. */
static void take_sleep(cfg_t *section, struct lw_plant_unit *out)
{
    out->runs_ms = whole(section, "runs-for-ms", 1);
    out->sleeps_ms = whole(section, "sleeps-after-ms", 1);
    out->wakes_ms = whole(section, "wakes-after-ms", 1);
    out->is_traffic_ignored = !cfg_getbool(section, "wakes-on-traffic");
}

/* The patterns' units are looked up when all units are known. */
static int take_patterns(cfg_t *section, const struct lw_plant *plant, struct lw_plant_message *out)
{
    char of_unit[LW_PLANT_NAME], wrong[LW_BENCH_WRONG];
    for (unsigned i = 0; i < cfg_size(section, "patterns"); i++) {
        lw_bench_pattern(cfg_getnstr(section, "patterns", i), &out->patterns[i], of_unit, wrong);
        int unit = of_unit[0] ? lw_damage_find_unit(plant, of_unit) : 0;
        if (unit < 0)
            return lw_bench_refuse(lw_bench_noted_line(section, i), "\"%s\" %s: write the name of a unit, with dashes for spaces",
                                   of_unit, unit == -1 ? "is no unit" : "may be several units");
        out->patterns[i].unit = (uint8_t)unit;
    }
    return 0;
}

static int take_message(cfg_t *root, cfg_t *section, unsigned unit, struct lw_plant *plant)
{
    struct lw_plant_message *out = &plant->messages[plant->n_messages++];
    struct lw_id_key key = { 0 };
    lw_id_parse(cfg_getstr(section, "id"), &key);
    snprintf(out->name, LW_PLANT_NAME, "%s", cfg_title(section));
    out->unit = (uint8_t)unit;
    out->id = key.id;
    bool is_fd = cfg_getbool(section, "fd"), has_switch = cfg_getbool(section, "switch-rate");
    out->flags = (uint8_t)((key.is_extended ? LW_FRAME_EXTENDED : 0) | (is_fd ? LW_FRAME_FD : 0) |
                           (is_fd && has_switch && cfg_getfloat(root, "data-bit-rate") > 0 ? LW_FRAME_BRS : 0) |
                           (cfg_getbool(section, "remote") ? LW_FRAME_REMOTE : 0));
    out->len = (uint8_t)lw_bench_length(section);
    out->is_boot = cfg_getbool(section, "at-boot");
    out->period_ms = whole(section, "every-ms", 1);
    out->jitter_us = whole(section, "jitter-us", 1);
    out->event_ms = whole(section, "on-event-ms", 1);
    lw_bench_data(cfg_getstr(section, "data"), out->constant);
    return take_patterns(section, plant, out);
}

static int take_messages(cfg_t *root, const char *kind, unsigned first_unit, struct lw_plant *out)
{
    for (unsigned i = 0; i < cfg_size(root, kind); i++) {
        cfg_t *unit = cfg_getnsec(root, kind, i);
        for (unsigned k = 0; k < cfg_size(unit, "message"); k++)
            if (take_message(root, cfg_getnsec(unit, "message", k), first_unit + i, out) != 0)
                return -EINVAL;
    }
    return 0;
}

static void take_units(cfg_t *root, struct lw_plant *out)
{
    for (unsigned i = 0; i < cfg_size(root, "unit"); i++) {
        cfg_t *section = cfg_getnsec(root, "unit", i);
        take_unit(root, section, &out->units[out->n_units]);
        take_sleep(section, &out->units[out->n_units++]);
    }
    cfg_t *section = cfg_getnsec(root, "adapter", 0);
    struct lw_plant_unit *adapter = &out->units[out->n_units++];
    take_unit(root, section, adapter);
    adapter->is_adapter = true;
    adapter->personality = *lw_personality_find(cfg_getstr(section, "tells"));
    adapter->personality.restart_ms = adapter->restart_ms;
}

static int order_of_steps(const void *a, const void *b)
{
    const struct lw_plant_step *x = a, *y = b;
    return x->at_ns < y->at_ns ? -1 : x->at_ns > y->at_ns;
}

static int take_steps(cfg_t *root, struct lw_plant *out)
{
    struct lw_damage damage;
    char wrong[LW_DAMAGE_TEXT];
    for (unsigned i = 0; i < cfg_size(root, "step"); i++) {
        cfg_t *section = cfg_getnsec(root, "step", i);
        struct lw_plant_step *step = &out->steps[out->n_steps++];
        lw_bench_time(cfg_getstr(section, "at"), &step->at_ns);
        snprintf(step->words, sizeof step->words, "%s", cfg_getstr(section, "do"));
        if (lw_damage_parse(out, step->words, step->at_ns, &damage, wrong) != 0)
            return lw_bench_refuse(lw_bench_noted_line(section, 0), "%s", wrong);
    }
    qsort(out->steps, out->n_steps, sizeof *out->steps, order_of_steps);
    return 0;
}

int lw_bench_take(cfg_t *root, struct lw_plant *out)
{
    if (cfg_getint(root, "loomwatch-bench") != 1)
        return lw_bench_refuse(1, "this is no bench: write loomwatch-bench = 1 as its first line");
    if (cfg_size(root, "trunk") == 0)
        return lw_bench_refuse(root->line, "no trunk: write trunk { point \"front end\" { to-next-m = 5 } point \"rear end\" { } }");
    if (cfg_size(root, "adapter") == 0)
        return lw_bench_refuse(root->line, "no adapter, so nobody listens: write adapter \"our adapter\" { at = and a point }");
    snprintf(out->title, sizeof out->title, "%s", cfg_getstr(root, "title"));
    out->bit_rate_bps = whole(root, "bit-rate", 1);
    out->data_bit_rate_bps = whole(root, "data-bit-rate", 1);
    out->supply_mv = whole(root, "supply-volt", 1000);
    cfg_t *wires = cfg_getsec(root, "wires");
    out->mohm_per_m = whole(wires, "ohm-per-km", 1);
    out->ps_per_mm = whole(wires, "ns-per-m", 1);
    out->pf_per_m = whole(wires, "pf-per-m", 1);
    out->pf_per_unit = whole(wires, "pf-per-unit", 1);
    take_trunk(root, out);
    take_units(root, out);
    if (take_messages(root, "unit", 0, out) != 0 || take_messages(root, "adapter", cfg_size(root, "unit"), out) != 0)
        return -EINVAL;
    return take_steps(root, out);
}
