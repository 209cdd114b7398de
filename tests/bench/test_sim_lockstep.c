/* SPDX-License-Identifier: MIT
 *
 * Lockstep is a way to compute, not a model: a bench with it and one without live through the same, event by event and
 * picosecond by picosecond. Shipped benches and lines of up to thirty units, healthy and under random scripts, looked at
 * at random times in the middle of frames. LW_LONG=1: more of it.
 */
#include "sim_chance.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cases.h"

enum { FAST, SLOW, N_WAYS };

struct pair {
    struct sim_bench bench[N_WAYS];
    char name[64];
};

static void start(struct pair *pair, uint64_t seed)
{
    for (unsigned way = 0; way < N_WAYS; way++)
        sim_bench_start(&pair->bench[way], seed);
    lw_sim_forbid_lockstep(pair->bench[SLOW].sim);
    snprintf(pair->name, sizeof(pair->name), "%.40s, seed %u", pair->bench[FAST].plant->name, (unsigned)seed);
}

static void stop(struct pair *pair)
{
    for (unsigned way = 0; way < N_WAYS; way++)
        sim_bench_stop(&pair->bench[way]);
}

static void differ(const struct pair *pair, const char *what)
{
    fail_msg("%s: %s differ at %llu ns", pair->name, what, (unsigned long long)lw_sim_now_ns(pair->bench[FAST].sim));
}

static bool is_same_frame(const struct lw_frame *a, const struct lw_frame *b)
{
    return a->id == b->id && a->flags == b->flags && a->len == b->len && memcmp(a->data, b->data, a->len) == 0;
}

static bool is_same_event(const struct lw_event *a, const struct lw_event *b)
{
    if (a->kind != b->kind || a->t_ns != b->t_ns)
        return false;
    switch (a->kind) {
    case LW_EVENT_FRAME: return is_same_frame(&a->frame, &b->frame);
    case LW_EVENT_ERROR: return memcmp(&a->error, &b->error, sizeof(a->error)) == 0;
    case LW_EVENT_LOSS: return a->loss.n_frames == b->loss.n_frames;
    default:
        return a->link.state == b->link.state && a->link.n_bus_errors.value == b->link.n_bus_errors.value
            && a->link.tec.value == b->link.tec.value && a->link.rec.value == b->link.rec.value;
    }
}

static void compare_facts(const struct pair *pair)
{
    for (unsigned u = 0; u < pair->bench[FAST].plant->n_units; u++) {
        struct lw_sim_unit a = sim_bench_facts(&pair->bench[FAST], u), b = sim_bench_facts(&pair->bench[SLOW], u);
        if (a.tec != b.tec || a.rec != b.rec || a.is_bus_off != b.is_bus_off || a.is_on_bus != b.is_on_bus
            || a.n_sent != b.n_sent || a.n_received != b.n_received || a.n_errors != b.n_errors
            || memcmp(a.n_errors_by_kind, b.n_errors_by_kind, sizeof(a.n_errors_by_kind)) != 0)
            differ(pair, "facts");
    }
}

/* Reads both to until_ns. */
static unsigned run(struct pair *pair, uint64_t until_ns)
{
    struct lw_event events[N_WAYS];
    for (unsigned n = 0;; n++) {
        bool has[N_WAYS];
        for (unsigned way = 0; way < N_WAYS; way++)
            has[way] = lw_sim_next(pair->bench[way].sim, until_ns, &events[way]);
        if (has[FAST] != has[SLOW] || lw_sim_now_ns(pair->bench[FAST].sim) != lw_sim_now_ns(pair->bench[SLOW].sim))
            differ(pair, "times");
        compare_facts(pair);
        if (!has[FAST])
            return n;
        if (!is_same_event(&events[FAST], &events[SLOW]))
            differ(pair, "events");
    }
}

static bool is_same_trace(const struct lw_bench_trace *a, const struct lw_bench_trace *b)
{
    if (a->n != b->n || (a->n > 0 && a->begins_ns != b->begins_ns))
        return false;
    for (unsigned i = 0; i < a->n; i++) {
        const struct lw_trace_bit *x = &a->bits[i], *y = &b->bits[i];
        if (x->field != y->field || x->is_dominant != y->is_dominant || x->is_stuff != y->is_stuff
            || x->is_driven != y->is_driven || x->has_error != y->has_error || x->sample_permille != y->sample_permille)
            return false;
    }
    return true;
}

/* A picture ends lockstep wherever it is just now: both are looked at, or only the fast one. */
static void look(struct pair *pair, unsigned trace_unit)
{
    static struct lw_bench_picture pictures[N_WAYS];
    for (unsigned way = 0; way < N_WAYS; way++)
        lw_sim_picture(pair->bench[way].sim, trace_unit, &pictures[way]);
    if (!is_same_trace(&pictures[FAST].trace, &pictures[SLOW].trace)
        || !is_same_trace(&pictures[FAST].error_trace, &pictures[SLOW].error_trace))
        differ(pair, "traces");
    for (unsigned i = 0; i < pictures[FAST].n_points; i++)
        if (memcmp(&pictures[FAST].meters[i].h_volt, &pictures[SLOW].meters[i].h_volt, 2 * sizeof(double)) != 0)
            differ(pair, "meters");
}

/* deed, or NULL: done to both before each step. */
static void live(struct pair *pair, uint64_t seed, unsigned n_steps, uint64_t longest_ns,
                 void (*deed)(struct sim_bench *bench, uint64_t *random))
{
    uint64_t random = seed * UINT64_C(0x9E3779B97F4A7C15) + 1, at_ns = deed ? 450 * (uint64_t)SIM_BENCH_MS : 0;
    start(pair, seed);
    unsigned n_events = run(pair, at_ns);
    for (unsigned step = 0; step < n_steps; step++) {
        uint64_t chance = random;
        for (unsigned way = 0; deed && way < N_WAYS; way++) {
            random = chance;
            deed(&pair->bench[way], &random);
        }
        at_ns += sim_chance_draw(&random, longest_ns);
        n_events += run(pair, at_ns);
        look(pair, (unsigned)sim_chance_draw(&random, pair->bench[FAST].plant->n_units));
    }
    assert_true(n_events > 0);
    stop(pair);
}

static unsigned n_seeds(unsigned usual)
{
    return getenv("LW_LONG") ? 25 * usual : usual;
}

static struct pair pair_of_file(const char *name)
{
    return (struct pair){ .bench = { sim_bench_of_file(name), sim_bench_of_file(name) } };
}

static void shipped_benches_live_the_same_in_lockstep(void **state)
{
    (void)state;
    for (unsigned i = 0; i < SIM_BENCH_FILES; i++)
        for (uint64_t seed = 1; seed <= n_seeds(4); seed++) {
            struct pair pair = pair_of_file(sim_bench_files[i]);
            live(&pair, seed, 300, 3 * SIM_BENCH_MS, NULL);
        }
}

static void random_scripts_lead_to_the_same_in_lockstep(void **state)
{
    (void)state;
    for (unsigned i = 0; i < SIM_BENCH_FILES; i++)
        for (uint64_t seed = 1; seed <= n_seeds(12); seed++) {
            struct pair pair = pair_of_file(sim_bench_files[i]);
            live(&pair, seed, 40, 12 * SIM_BENCH_MS, sim_chance_do_something);
        }
}

/* Half a bit to two bits of another unit's, for less than a frame: until it is out of step it knows what the others know. */
static void hurry_a_clock(struct sim_bench *bench, uint64_t *random)
{
    static const double factors[] = { 0.5, 1.6, 2, 2 };
    struct lw_damage damage = { .kind = LW_DAMAGE_BIT_RATE, .place = LW_AT_UNIT };
    damage.index = (uint8_t)sim_chance_draw(random, bench->plant->n_units);
    damage.value = bench->plant->bit_rate_bps * factors[sim_chance_draw(random, sizeof(factors) / sizeof(factors[0]))];
    damage.from_ns = lw_sim_now_ns(bench->sim);
    damage.until_ns = damage.from_ns + sim_chance_draw(random, 60000);
    lw_sim_damage(bench->sim, &damage);
}

static void clocks_that_hurry_in_a_frame_lead_to_the_same(void **state)
{
    (void)state;
    for (unsigned i = 0; i < SIM_BENCH_FILES; i++)
        for (uint64_t seed = 1; seed <= n_seeds(6); seed++) {
            struct pair pair = pair_of_file(sim_bench_files[i]);
            live(&pair, seed, 300, 2 * SIM_BENCH_MS, hurry_a_clock);
        }
}

/* Stops, falls asleep in the first pause, wakes by itself or by what it hears. */
static void sleeper(struct lw_plant_unit *unit)
{
    unit->boot_ms = 3;
    unit->runs_ms = 25;
    unit->sleeps_ms = 1;
    unit->wakes_ms = 30;
}

/* More units than the remembered levels hold, sending base and extended frames, one only listening; from a bus with time to
 * spare to one too long or too fast for its clocks. */
static struct sim_bench line(unsigned variant)
{
    static const struct { uint32_t bit_rate_bps, length_mm; unsigned n_units, ppm; } kinds[] = {
        { 500000, 14500, 30, 50 }, { 1000000, 5000, 12, 50 }, { 250000, 60000, 30, 3000 }, { 1000000, 40000, 16, 500 },
        { 125000, 300000, 20, 8000 }, { 500000, 90000, 9, 100 },
    };
    unsigned kind = variant % (sizeof(kinds) / sizeof(kinds[0]));
    struct sim_bench bench = sim_bench_of(kinds[kind].n_units, kinds[kind].bit_rate_bps, kinds[kind].length_mm);
    for (unsigned u = 0; u < kinds[kind].n_units; u++) {
        int ppm = (int)kinds[kind].ppm;
        bench.plant->units[u].crystal_ppm = (int)(u * 7919 % (2 * kinds[kind].ppm + 1)) - ppm;
        bench.plant->units[u].is_listen_only = u == 5 && variant % 2;
        if (u % 5 == 2 && variant % 4 >= 2)
            sleeper(&bench.plant->units[u]);
        sim_bench_timing(&bench, u, kinds[kind].bit_rate_bps, u % 3 ? 875 : 800, 1 + u % 4);
        for (unsigned i = 0; i < 2; i++) {
            unsigned period_ms = (i ? 100 : 15) * (1000000 / kinds[kind].bit_rate_bps + 1) / 3;
            struct lw_plant_message *message = sim_bench_message(&bench, u, 0x100 + 0x200 * i + 7 * u, (u + i) % 9, period_ms);
            message->jitter_us = 500;
            message->flags = u % 4 == 1 ? LW_FRAME_EXTENDED : 0;
        }
    }
    return bench;
}

static void lines_live_the_same_in_lockstep(void **state)
{
    (void)state;
    for (unsigned variant = 0; variant < n_seeds(12); variant++) {
        struct pair pair = { .bench = { line(variant), line(variant) } };
        live(&pair, variant + 1, 60, 4 * SIM_BENCH_MS, variant % 3 == 2 ? sim_chance_do_something : NULL);
    }
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(shipped_benches_live_the_same_in_lockstep),
        cmocka_unit_test(random_scripts_lead_to_the_same_in_lockstep),
        cmocka_unit_test(clocks_that_hurry_in_a_frame_lead_to_the_same),
        cmocka_unit_test(lines_live_the_same_in_lockstep),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
