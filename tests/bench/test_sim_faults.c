/* SPDX-License-Identifier: MIT
 *
 * Everything that can be made wrong, at every place it may be, on every shipped bench: time goes on, nothing hangs, and once
 * all is mended the bus is well again within two seconds. Then chance does it: many faults at once, plugs, supplies.
 */
#include "sim_chance.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cases.h"

enum { WELL_WITHIN_MS = 2000, WELL_FOR_MS = 100, STEP_MS = 20, MAX_EVENTS_A_MS = 60 };

static uint64_t now_ms(const struct sim_bench *bench)
{
    return lw_sim_now_ns(bench->sim) / SIM_BENCH_MS;
}

/* Runs on, and holds that the adapter does not tell without end. */
static void run_for(struct sim_bench *bench, unsigned ms)
{
    sim_bench_forget(bench);
    sim_bench_run(bench, (unsigned)now_ms(bench) + ms);
    const struct sim_evidence *seen = &bench->seen;
    assert_true(seen->n_frames + seen->n_errors + seen->n_links + seen->n_losses <= (ms + 1) * MAX_EVENTS_A_MS);
    assert_false(seen->is_disordered);
}

static bool is_anybody_off(const struct sim_bench *bench)
{
    for (unsigned u = 0; u < bench->plant->n_units; u++)
        if (sim_bench_facts(bench, u).is_on_bus && sim_bench_facts(bench, u).is_bus_off)
            return true;
    return false;
}

/* Two seconds; harrow40's adapter waits for three before it comes back from bus off, which it needs babble for. */
static unsigned limit_ms(const struct sim_bench *bench)
{
    int adapter = lw_plant_adapter(bench->plant);
    bool is_off = sim_bench_facts(bench, (unsigned)adapter).is_bus_off;
    return WELL_WITHIN_MS + (is_off ? bench->plant->units[adapter].personality.restart_ms : 0);
}

/* For a tenth of a second: frames, no error at any unit, nobody bus off. */
static bool becomes_well(struct sim_bench *bench)
{
    unsigned well_ms = 0, n_frames = 0, limit = limit_ms(bench);
    for (unsigned ms = 0; ms < limit && (well_ms < WELL_FOR_MS || n_frames == 0); ms += STEP_MS) {
        uint64_t n_errors = sim_bench_errors(bench);
        run_for(bench, STEP_MS);
        bool is_well = sim_bench_errors(bench) == n_errors && !is_anybody_off(bench);
        well_ms = is_well ? well_ms + STEP_MS : 0;
        n_frames = is_well ? n_frames + bench->seen.n_frames : 0;
    }
    return well_ms >= WELL_FOR_MS && n_frames > 0;
}

static void put_on_and_off(struct sim_bench *bench, const struct lw_damage *wanted, unsigned ms)
{
    struct lw_damage damage = *wanted;
    char text[LW_DAMAGE_TEXT];
    damage.from_ns = lw_sim_now_ns(bench->sim) + 3 * SIM_BENCH_MS;
    damage.until_ns = damage.from_ns + ms * (uint64_t)SIM_BENCH_MS;
    assert_int_equal(lw_sim_damage(bench->sim, &damage), 0);
    run_for(bench, ms + 4);
    assert_int_equal(lw_sim_mend(bench->sim, 0), -EINVAL);   /* it is over */
    if (!becomes_well(bench))
        fail_msg("%s: not well %u ms after \"%s\"", bench->plant->name, WELL_WITHIN_MS,
                 lw_damage_text(bench->plant, &damage, text));
}

/* One bench lives through all of them, one after another. */
static void put_every_damage_on(const char *name)
{
    struct sim_bench bench = sim_bench_of_file(name);
    sim_bench_start(&bench, 1);
    for (unsigned u = 0; u < bench.plant->n_units; u++)      /* those that wait for a person stay out: they are no help */
        lw_sim_plug(bench.sim, u, bench.plant->units[u].is_plugged || bench.plant->units[u].plug_ms > 0);
    run_for(&bench, 600);
    for (unsigned kind = 0; kind < LW_N_DAMAGES; kind++)
        for (unsigned place = LW_AT_NOWHERE; place <= LW_AT_UNIT; place++)
            for (unsigned i = 0; lw_damages[kind].places >> place & 1 && i < sim_chance_places(bench.plant, place); i++) {
                struct lw_damage damage = sim_chance_damage_of(bench.plant, kind, place, i);
                put_on_and_off(&bench, &damage, 37);
            }
    sim_bench_stop(&bench);
}

static void every_damage_at_every_place_mends(void **state)
{
    (void)state;
    for (unsigned i = 0; i < SIM_BENCH_FILES; i++)
        put_every_damage_on(sim_bench_files[i]);
}

static uint64_t run_random_script(const char *name, uint64_t seed)
{
    struct sim_bench bench = sim_bench_of_file(name);
    uint64_t random = seed * UINT64_C(0x9E3779B97F4A7C15) + 1, digest = 0;
    sim_bench_start(&bench, seed);
    run_for(&bench, 450);
    for (unsigned step = 0; step < 25; step++) {
        sim_chance_do_something(&bench, &random);
        run_for(&bench, (unsigned)sim_chance_draw(&random, 25));
        digest = digest * 31 + bench.seen.digest;
    }
    sim_bench_mend(&bench);
    lw_sim_supply(bench.sim, true);
    for (unsigned u = 0; u < bench.plant->n_units; u++) {
        lw_sim_power(bench.sim, u, true);
        lw_sim_plug(bench.sim, u, bench.plant->units[u].is_plugged);
    }
    if (!becomes_well(&bench))
        fail_msg("%s, script %u: not well %u ms after all was mended", name, (unsigned)seed, WELL_WITHIN_MS);
    sim_bench_stop(&bench);
    return digest;
}

static void random_scripts_mend_and_repeat_themselves(void **state)
{
    (void)state;
    unsigned n_scripts = getenv("LW_LONG") ? 400 : 12;
    for (unsigned i = 0; i < SIM_BENCH_FILES; i++)
        for (unsigned seed = 1; seed <= n_scripts; seed++) {
            uint64_t digest = run_random_script(sim_bench_files[i], seed);
            if (seed <= 2)
                assert_int_equal(run_random_script(sim_bench_files[i], seed), digest);
        }
}

/* As many as there is room for, and one more. */
static void thirty_third_damage_is_refused(void **state)
{
    (void)state;
    struct sim_bench bench = sim_bench_of_file("harrow40");
    struct lw_damage damage = sim_chance_damage_of(bench.plant, LW_DAMAGE_EXTRA_TERMINATOR, LW_AT_POINT, 2);
    damage.until_ns = UINT64_MAX;
    sim_bench_start(&bench, 1);
    for (unsigned i = 0; i < LW_MAX_DAMAGES; i++)
        assert_int_equal(lw_sim_damage(bench.sim, &damage), 0);
    assert_int_equal(lw_sim_damage(bench.sim, &damage), -ENOSPC);
    run_for(&bench, 50);
    assert_int_equal(lw_sim_mend(bench.sim, LW_MAX_DAMAGES), -EINVAL);
    sim_bench_mend(&bench);
    assert_true(becomes_well(&bench));
    sim_bench_stop(&bench);
}

/* A script of the bench's own does the same as a hand. */
static void step_of_a_bench_file_is_a_damage_put_on_then(void **state)
{
    uint64_t digests[2];
    (void)state;
    for (unsigned i = 0; i < 2; i++) {
        struct sim_bench bench = sim_bench_of_file("harrow40");
        if (i == 0) {
            bench.plant->n_steps = 1;
            bench.plant->steps[0].at_ns = 700 * (uint64_t)SIM_BENCH_MS;
            strcpy(bench.plant->steps[0].words, "swapped at hopper-control for 200ms");
        }
        sim_bench_start(&bench, 3);
        sim_bench_run(&bench, 700);
        if (i == 1)
            sim_bench_fault(&bench, "swapped at hopper-control for 200ms");
        sim_bench_run(&bench, 2000);
        assert_true(sim_bench_facts(&bench, 1).n_errors > 0);
        digests[i] = bench.seen.digest;
        sim_bench_stop(&bench);
    }
    assert_int_equal(digests[0], digests[1]);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_damage_at_every_place_mends),
        cmocka_unit_test(random_scripts_mend_and_repeat_themselves),
        cmocka_unit_test(thirty_third_damage_is_refused),
        cmocka_unit_test(step_of_a_bench_file_is_a_damage_put_on_then),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
