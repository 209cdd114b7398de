/* SPDX-License-Identifier: MIT
 *
 * usage: diagnosis_peace [runs] [first seed] [minutes a run] [judge]
 *
 * Healthy machines: they are switched on, sleep and wake, get a healthy module, lose frames in this computer. Counts what the
 * verdict says is wrong although it is not.
 */
#include "truth.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SETTLE_MS = 6000, EVERY_MS = 45000, MAX_DEEDS = 64 };

#define C(cause) (UINT32_C(1) << LW_CAUSE_##cause)

enum deed_kind { DEED_ALL_SLEEP, DEED_UNIT_SLEEPS, DEED_OUT_AND_IN, DEED_LOSS, N_DEEDS };

struct deed {
    enum deed_kind kind;
    uint64_t from_ms, until_ms;      /* while it may rightly be told; settling included */
    bool is_done, is_undone;
};

static struct lw_snapshot snapshot;

/* What may be named meanwhile: what really happens. */
static const uint32_t allowed[N_DEEDS] = {
    [DEED_ALL_SLEEP] = C(ASLEEP) | C(ALONE) | C(UNIT_GONE), [DEED_UNIT_SLEEPS] = C(UNIT_GONE) | C(UNIT_RESET),
    [DEED_OUT_AND_IN] = C(UNIT_GONE), [DEED_LOSS] = C(HOST_LATE) | C(UNIT_GONE) | C(ADAPTER_LIES),
};

static unsigned plan(struct deed deeds[MAX_DEEDS], uint64_t *random, unsigned minutes)
{
    unsigned n = 0;
    for (uint64_t t = 25000; t < minutes * UINT64_C(60000) - 30000 && n < MAX_DEEDS; t += EVERY_MS / 2 + scenario_draw(random, EVERY_MS)) {
        enum deed_kind kind = (enum deed_kind)scenario_draw(random, N_DEEDS);
        uint64_t lasts = kind == DEED_LOSS ? 50 + scenario_draw(random, 300) : 3000 + scenario_draw(random, 10000);
        deeds[n++] = (struct deed){ kind, t, t + lasts, false, false };
    }
    return n;
}

static void damage_for(struct scenario_run *run, enum lw_damage_kind kind, enum lw_damage_place place, unsigned index, const struct deed *deed)
{
    struct lw_damage damage = scenario_damage(&run->plant, kind, place, index);
    damage.from_ns = lw_sim_now_ns(run->sim);
    damage.until_ns = damage.from_ns + (deed->until_ms - deed->from_ms) * 1000000;
    lw_sim_damage(run->sim, &damage);
}

static void do_deed(struct scenario_run *run, struct deed *deed, uint64_t *random)
{
    unsigned other = 1 + (unsigned)scenario_draw(random, run->plant.n_units - 1);
    deed->is_done = true;
    switch (deed->kind) {
    case DEED_ALL_SLEEP: damage_for(run, LW_DAMAGE_ASLEEP, LW_AT_NOWHERE, 0, deed); break;
    case DEED_UNIT_SLEEPS: damage_for(run, LW_DAMAGE_ASLEEP, LW_AT_UNIT, other, deed); break;
    case DEED_LOSS: damage_for(run, LW_DAMAGE_OVERRUN, LW_AT_NOWHERE, 0, deed); break;
    default:                         /* the newcomer out, and in again; the second half of the time it is in */
        lw_monitor_mark(run->monitor, LW_MARK_UNPLUGGED);
        lw_sim_plug(run->sim, scenario_newcomer(&run->plant), false);
        break;
    }
}

static void plug_in_again(struct scenario_run *run, struct deed *deed)
{
    deed->is_undone = true;
    lw_monitor_mark(run->monitor, LW_MARK_PLUGGED);
    lw_sim_plug(run->sim, scenario_newcomer(&run->plant), true);
}

/* The deeds that are going on or have just ended. */
static uint32_t allowed_now(const struct deed *deeds, unsigned n, uint64_t now_ms, bool *is_calm)
{
    uint32_t causes = 0;
    *is_calm = true;
    for (unsigned i = 0; i < n; i++)
        if (now_ms >= deeds[i].from_ms && now_ms < deeds[i].until_ms + SETTLE_MS) {
            causes |= allowed[deeds[i].kind];
            *is_calm = false;
        }
    return causes;
}

static bool is_false_alarm(const struct lw_verdict *verdict, uint32_t causes, bool is_calm)
{
    if (!lw_pictures[verdict->picture].is_trouble)
        return false;
    if (is_calm)
        return true;
    for (unsigned i = 0; i < verdict->n_named; i++)
        if (causes >> verdict->named[i].cause & 1)
            return false;
    return true;
}

/* Returns how many times a false alarm began. */
static unsigned play(uint64_t seed, unsigned minutes, bool is_judging)
{
    static const char *const training[] = { "harrow40", NULL, NULL, NULL }, *const judging[] = { "harrow40-drive", NULL, "bare-bench", NULL };
    uint64_t random = (seed + 99) * UINT64_C(0x9E3779B97F4A7C15) | 1;
    for (int i = 0; i < 9; i++)
        scenario_draw(&random, 2);
    struct scenario scenario = { .file = (is_judging ? judging : training)[seed % 4], .seed = seed,
        .personality = (unsigned)scenario_draw(&random, LW_N_PERSONALITIES), .role = ROLE_NEWCOMER, .has_baseline = scenario_draw(&random, 2),
        .is_sending = scenario_draw(&random, 2), .is_listening_only = scenario_draw(&random, 6) == 0, .damage = { .kind = LW_N_DAMAGES, .place = LW_AT_UNIT, .index = 1 } };
    /* With one other unit, to listen only is to leave it unacknowledged: that is no healthy machine. */
    if (scenario.file && strcmp(scenario.file, "bare-bench") == 0)
        scenario.is_listening_only = false;
    struct deed deeds[MAX_DEEDS];
    struct scenario_run run;
    unsigned n = plan(deeds, &random, minutes), n_false = 0;
    bool was_false = false;
    scenario_start(&run, &scenario);
    while (run.now_ms < minutes * UINT64_C(60000)) {
        for (unsigned i = 0; i < n; i++) {
            if (!deeds[i].is_done && run.now_ms >= deeds[i].from_ms)
                do_deed(&run, &deeds[i], &random);
            if (!deeds[i].is_undone && deeds[i].kind == DEED_OUT_AND_IN && run.now_ms >= deeds[i].until_ms)
                plug_in_again(&run, &deeds[i]);
        }
        scenario_step(&run);
        if (run.now_ms % 50 != 0)
            continue;
        lw_monitor_snapshot(run.monitor, NULL, &snapshot);
        bool is_calm;
        uint32_t causes = allowed_now(deeds, n, run.now_ms, &is_calm);
        /* Old adapter software lies at any time, and may be called so. */
        bool is_liar = lw_personalities[scenario.personality].repeats_last_error && snapshot.buses[0].verdict.picture == LW_PICTURE_CONTRADICTORY;
        bool is_false = run.now_ms > SCENARIO_FAULT_MS + SETTLE_MS && !is_liar && is_false_alarm(&snapshot.buses[0].verdict, causes, is_calm);
        if (is_false && !was_false) {
            char words[LW_VERDICT_TEXT];
            n_false++;
            printf("false alarm: %s, seed %u, %s, at %.2f s: %s\n", run.plant.name, (unsigned)seed, lw_personalities[scenario.personality].name,
                   run.now_ms / 1000.0, lw_verdict_words(&snapshot.buses[0].verdict, NULL, words));
        }
        was_false = is_false;
    }
    scenario_stop(&run);
    return n_false;
}

int main(int argc, char **argv)
{
    unsigned n_runs = argc > 1 ? (unsigned)atoi(argv[1]) : 4, from = argc > 2 ? (unsigned)atoi(argv[2]) : 0, n_false = 0, n_bad = 0;
    unsigned minutes = argc > 3 ? (unsigned)atoi(argv[3]) : 10;
    bool is_judging = argc > 4 && strcmp(argv[4], "judge") == 0;
    for (unsigned seed = from; seed < from + n_runs; seed++) {
        unsigned here = play(seed, minutes, is_judging);
        n_false += here;
        n_bad += here > 0;
    }
    printf("healthy runs %u of %u minutes: false alarms %u, in %u runs\n", n_runs, minutes, n_false, n_bad);
    return n_false > 0;
}
