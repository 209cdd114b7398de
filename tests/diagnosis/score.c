/* SPDX-License-Identifier: MIT
 *
 * usage: diagnosis_score [runs] [first seed] [train|judge] [show]
 *
 * Plays scenarios and judges the verdicts: is the true cause among those named, does it stand first where physics allows one
 * only, was anything claimed that is wrong, how long did it take. Prints every miss, and a row a run, which scripts/score-diagnosis
 * adds up. show: one after another told as they go instead. Ends with 1 if something was claimed certain and wrong.
 */
#include "truth.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct lw_snapshot snapshot;

static bool is_named(const struct lw_verdict *verdict, uint32_t causes)
{
    for (unsigned i = 0; i < verdict->n_named; i++)
        if (causes >> verdict->named[i].cause & 1)
            return true;
    return false;
}

static void play_healthy_twin(const struct scenario *scenario, struct scenario_run *twin)
{
    struct scenario healthy = *scenario;
    healthy.damage.kind = LW_N_DAMAGES;
    scenario_start(twin, &healthy);
    while (twin->now_ms < SCENARIO_END_MS)
        scenario_step(twin);
    scenario_stop(twin);
}

static void print_miss(const char *what, const struct scenario *s, const struct lw_plant *plant, const struct lw_verdict *verdict)
{
    char text[LW_DAMAGE_TEXT];
    printf("%s: %s, seed %u, %s, %s%s%s%s: \"%s\" → %s, %s:", what, plant->name, (unsigned)s->seed, lw_personalities[s->personality].name,
           scenario_role_name(s->role), s->has_baseline ? ", baseline" : "", s->is_sending ? ", sending" : "", s->is_listening_only ? ", listen-only" : "",
           s->damage.kind < LW_N_DAMAGES ? lw_damage_text(plant, &s->damage, text) : "healthy", lw_pictures[verdict->picture].name,
           lw_confidence_name((enum lw_confidence)verdict->confidence));
    for (unsigned i = 0; i < verdict->n_named; i++)
        printf(" %s %.2f", lw_causes[verdict->named[i].cause].name, verdict->named[i].probability);
    printf("\n");
}

/* What became of one run. */
struct outcome {
    struct truth truth;
    struct lw_verdict last, wrong;   /* wrong: the first claimed certain that is not so; else its confidence is not certain */
    unsigned right_ms;               /* since when the last verdict names the true cause, from the fault on if later than it; 0 = it does not */
    bool is_visible;
};

static void follow(const struct scenario_run *run, const struct lw_verdict *verdict, struct outcome *out)
{
    bool is_after = run->now_ms > SCENARIO_FAULT_MS;
    if (!is_named(verdict, out->truth.causes))
        out->right_ms = 0;
    else if (out->right_ms == 0)
        out->right_ms = (unsigned)run->now_ms;
    bool is_wrong = is_after && verdict->confidence == LW_CERTAIN && lw_pictures[verdict->picture].is_trouble
        && !(out->truth.causes >> verdict->named[0].cause & 1);
    if (is_wrong && out->wrong.confidence != LW_CERTAIN)
        out->wrong = *verdict;
}

static struct outcome play(struct scenario_run *run)
{
    struct outcome out = { .truth = truth_of(&run->scenario, &run->plant) };
    struct scenario_run twin;
    while (run->now_ms < SCENARIO_END_MS) {
        scenario_step(run);
        lw_monitor_snapshot(run->monitor, NULL, &snapshot);
        follow(run, &snapshot.buses[0].verdict, &out);
    }
    out.last = snapshot.buses[0].verdict;
    out.right_ms = out.right_ms > SCENARIO_FAULT_MS ? out.right_ms - SCENARIO_FAULT_MS : out.right_ms;
    play_healthy_twin(&run->scenario, &twin);
    out.is_visible = truth_is_visible(run, &twin);
    return out;
}

/* Returns whether something was claimed that is wrong. */
static bool judge(const struct scenario *scenario)
{
    struct scenario_run run;
    scenario_start(&run, scenario);
    struct outcome out = play(&run);
    const struct lw_verdict *last = &out.last;
    bool is_wrong = out.wrong.confidence == LW_CERTAIN, names_it = is_named(last, out.truth.causes);
    bool is_first = last->n_named > 0 && (out.truth.causes >> last->named[0].cause & 1);
    printf("row\t%s\t%s\t%d\t%d\t%d\t%d\t%d\t%d\t%u\t%u\t%s\n", lw_damages[scenario->damage.kind].word, lw_pictures[last->picture].name,
           out.is_visible, names_it, is_first, out.truth.is_single, last->confidence == LW_CERTAIN, is_wrong, last->n_named, out.right_ms,
           last->n_named > 0 ? lw_causes[last->named[0].cause].name : "-");
    if (is_wrong)
        print_miss("CERTAIN AND WRONG", scenario, &run.plant, &out.wrong);
    if (out.is_visible && !names_it)
        print_miss("not named", scenario, &run.plant, last);
    else if (out.is_visible && out.truth.is_single && !is_first)
        print_miss("not first", scenario, &run.plant, last);
    scenario_stop(&run);
    return is_wrong;
}

/* One scenario, told as it goes: each verdict that counts, and the facts at the end. */
static void show(const struct scenario *scenario)
{
    struct scenario_run run;
    char words[LW_VERDICT_TEXT], last[LW_VERDICT_TEXT] = "", text[LW_DAMAGE_TEXT];
    scenario_start(&run, scenario);
    printf("%s, %s, %s: %s\n", run.plant.name, lw_personalities[scenario->personality].name, scenario_role_name(scenario->role),
           scenario->damage.kind < LW_N_DAMAGES ? lw_damage_text(&run.plant, &scenario->damage, text) : "healthy");
    while (run.now_ms < SCENARIO_END_MS) {
        scenario_step(&run);
        lw_monitor_snapshot(run.monitor, NULL, &snapshot);
        lw_verdict_words(&snapshot.buses[0].verdict, NULL, words);
        if (strcmp(words, last) != 0)
            printf("%5.2f s  %s\n", run.now_ms / 1000.0, strcpy(last, words));
    }
    for (unsigned f = 0; f < LW_N_FACTS; f++) {
        const struct lw_fact_value *fact = &snapshot.buses[0].facts[f];
        if (fact->answer != LW_ANSWER_UNKNOWN)
            printf("  %s: %s (%.4g %s)\n", lw_facts[f].name, fact->answer == LW_ANSWER_YES ? lw_facts[f].yes : lw_facts[f].no, fact->value, lw_facts[f].unit);
    }
    for (unsigned i = 0; i < snapshot.n_tiles; i++)
        printf("  %08X period %.2f expected %.2f rhythm %d frames %u conditions %X quiet %d\n", snapshot.tiles[i].key.id, snapshot.tiles[i].period_ns / 1e6, snapshot.tiles[i].expected_period_ns / 1e6,
               snapshot.tiles[i].rhythm, (unsigned)snapshot.tiles[i].n_frames, snapshot.tiles[i].conditions, snapshot.tiles[i].is_quiet);
    scenario_stop(&run);
}

int main(int argc, char **argv)
{
    unsigned n_runs = argc > 1 ? (unsigned)atoi(argv[1]) : 280, from = argc > 2 ? (unsigned)atoi(argv[2]) : 0, n_wrong = 0;
    bool is_judging = argc > 3 && strcmp(argv[3], "judge") == 0, is_showing = argc > 4 && strcmp(argv[4], "show") == 0;
    for (unsigned n = from; n < from + n_runs; n++) {
        struct scenario scenario = scenario_drawn(n, is_judging);
        if (is_showing)
            show(&scenario);
        else
            n_wrong += judge(&scenario);
    }
    return n_wrong > 0;
}
