/* SPDX-License-Identifier: MIT
 *
 * usage: diagnosis_score [runs] [first seed] [train|judge] [show|rows]
 *
 * Plays scenarios and judges the verdicts: is the true cause among those named, does it stand first where physics allows one
 * only, was anything claimed that is wrong, how long did it take. Prints every miss. show: one after another told as they go.
 * rows: a line a run for scripts/score-diagnosis. Ends with 1 if something was claimed certain and wrong.
 */
#include "truth.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MAX_TIMES = 8192 };

struct tally {
    unsigned n, n_invisible, n_named, n_first, n_certain, n_certain_wrong;
};

struct score {
    struct tally by_damage[LW_N_DAMAGES], all;
    unsigned single, single_first, confusion[LW_N_DAMAGES][LW_N_PICTURES];
    unsigned n_times;
    unsigned times_ms[MAX_TIMES];
};

static struct score score;
static bool is_printing_rows;
static struct lw_snapshot snapshot;

static bool is_named(const struct lw_verdict *verdict, uint32_t causes)
{
    for (unsigned i = 0; i < verdict->n_named; i++)
        if (causes >> verdict->named[i].cause & 1)
            return true;
    return false;
}

static bool is_right(const struct lw_verdict *verdict, uint32_t causes)
{
    return verdict->n_named > 0 && is_named(verdict, causes);
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

static const char *role_name(enum scenario_role role)
{
    static const char *const names[N_ROLES] = { "sitting", "newcomer", "from the start" };
    return names[role];
}

static void print_miss(const char *what, const struct scenario *s, const struct lw_plant *plant, const struct lw_verdict *verdict)
{
    char text[LW_DAMAGE_TEXT];
    printf("%s: %s, seed %u, %s, %s%s%s%s: \"%s\" → %s, %s:", what, plant->name, (unsigned)s->seed, lw_personalities[s->personality].name,
           role_name(s->role), s->has_baseline ? ", baseline" : "", s->is_sending ? ", sending" : "", s->is_listening_only ? ", listen-only" : "",
           s->damage.kind < LW_N_DAMAGES ? lw_damage_text(plant, &s->damage, text) : "healthy", lw_pictures[verdict->picture].name,
           lw_confidence_name((enum lw_confidence)verdict->confidence));
    for (unsigned i = 0; i < verdict->n_named; i++)
        printf(" %s %.2f", lw_causes[verdict->named[i].cause].name, verdict->named[i].probability);
    printf("\n");
}

/* When the verdict became right for good. */
static void play(const struct scenario *scenario)
{
    struct scenario_run run, twin;
    scenario_start(&run, scenario);
    struct truth truth = truth_of(scenario, &run.plant);
    unsigned right_since = 0;
    struct lw_verdict first_certain_wrong = { 0 };
    while (run.now_ms < SCENARIO_END_MS) {
        scenario_step(&run);
        lw_monitor_snapshot(run.monitor, NULL, &snapshot);
        const struct lw_verdict *verdict = &snapshot.buses[0].verdict;
        bool is = is_right(verdict, truth.causes);
        right_since = !is ? 0 : right_since == 0 ? (unsigned)run.now_ms : right_since;
        bool is_wrong_claim = run.now_ms > SCENARIO_FAULT_MS && verdict->confidence == LW_CERTAIN && lw_pictures[verdict->picture].is_trouble
            && !(truth.causes >> verdict->named[0].cause & 1);
        if (is_wrong_claim && first_certain_wrong.confidence != LW_CERTAIN)
            first_certain_wrong = *verdict;
    }
    play_healthy_twin(scenario, &twin);
    bool is_visible = truth_is_visible(&run, &twin);
    const struct lw_verdict *verdict = &snapshot.buses[0].verdict;
    struct tally *tally = &score.by_damage[scenario->damage.kind];
    bool is_certain_wrong = first_certain_wrong.confidence == LW_CERTAIN, is_named_here = is_right(verdict, truth.causes);
    bool is_first_here = verdict->n_named > 0 && (truth.causes >> verdict->named[0].cause & 1);
    if (is_printing_rows)
        printf("row\t%s\t%s\t%d\t%d\t%d\t%d\t%d\t%d\t%u\t%u\t%s\n", lw_damages[scenario->damage.kind].word, lw_pictures[verdict->picture].name, is_visible,
               is_named_here, is_first_here, truth.is_single, verdict->confidence == LW_CERTAIN, is_certain_wrong, verdict->n_named,
               right_since > SCENARIO_FAULT_MS ? right_since - SCENARIO_FAULT_MS : right_since, verdict->n_named > 0 ? lw_causes[verdict->named[0].cause].name : "-");
    if (first_certain_wrong.confidence == LW_CERTAIN) {
        tally->n_certain_wrong++;
        print_miss("CERTAIN AND WRONG", scenario, &run.plant, &first_certain_wrong);
    }
    tally->n++;
    if (!is_visible) {
        tally->n_invisible++;
    } else {
        bool is_first = verdict->n_named > 0 && truth.causes >> verdict->named[0].cause & 1;
        score.confusion[scenario->damage.kind][verdict->picture]++;
        tally->n_named += is_right(verdict, truth.causes);
        tally->n_first += is_first;
        tally->n_certain += verdict->confidence == LW_CERTAIN;
        score.single += truth.is_single;
        score.single_first += truth.is_single && is_first;
        if (!is_right(verdict, truth.causes))
            print_miss("not named", scenario, &run.plant, verdict);
        else if (truth.is_single && !is_first)
            print_miss("not first", scenario, &run.plant, verdict);
        else if (score.n_times < MAX_TIMES)
            score.times_ms[score.n_times++] = right_since > SCENARIO_FAULT_MS ? right_since - SCENARIO_FAULT_MS : right_since;
    }
    scenario_stop(&run);
}

/* Files are given: those to judge on are not those to write the table by. */
static struct scenario scenario_of(uint64_t n, bool is_judging)
{
    static const char *const training[] = { "harrow40", NULL, NULL, NULL }, *const judging[] = { "harrow40-drive", "bare-bench", NULL, NULL, "fd-bench", NULL, "long-bus", NULL };
    uint64_t random = (n + 17) * UINT64_C(0x9E3779B97F4A7C15) | 1;
    for (int i = 0; i < 9; i++)
        scenario_draw(&random, 2);
    struct scenario s = { .seed = n, .file = is_judging ? judging[n % 8] : training[n % 4],
        .personality = (unsigned)scenario_draw(&random, LW_N_PERSONALITIES), .role = (enum scenario_role)scenario_draw(&random, N_ROLES),
        .has_baseline = scenario_draw(&random, 2), .is_sending = scenario_draw(&random, 2), .is_listening_only = scenario_draw(&random, 8) == 0 };
    struct lw_plant plant;
    enum lw_damage_kind kind = (enum lw_damage_kind)(n % LW_N_DAMAGES);
    enum lw_damage_place place;
    scenario_plant(&s, &plant);
    do {
        place = (enum lw_damage_place)scenario_draw(&random, LW_AT_UNIT + 1);
    } while (!(lw_damages[kind].places >> place & 1));
    unsigned index = (unsigned)scenario_draw(&random, scenario_places(&plant, place));
    s.is_baseline_of_machine = s.has_baseline && s.role != ROLE_SITTING && scenario_draw(&random, 2);
    bool is_own = place == LW_AT_UNIT && (int)index == lw_plant_adapter(&plant);
    if (s.role == ROLE_NEWCOMER && (place != LW_AT_UNIT || is_own))
        s.role = ROLE_SITTING;
    s.damage = scenario_damage(&plant, kind, place, index);
    return s;
}

static int by_value(const void *a, const void *b)
{
    return (int)*(const unsigned *)a - (int)*(const unsigned *)b;
}

static double share(unsigned n, unsigned of)
{
    return of > 0 ? 100.0 * n / of : 0;
}

/* One scenario, told as it goes: each verdict that counts, and the facts at the end. */
static void show(const struct scenario *scenario)
{
    struct scenario_run run;
    char words[LW_VERDICT_TEXT], last[LW_VERDICT_TEXT] = "", text[LW_DAMAGE_TEXT];
    scenario_start(&run, scenario);
    printf("%s, %s, %s: %s\n", run.plant.name, lw_personalities[scenario->personality].name, role_name(scenario->role),
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

static void print_score(void)
{
    printf("\n%-18s %5s %9s %7s %7s %8s %6s  pictures\n", "fault", "runs", "invisible", "named", "first", "certain", "wrong");
    for (unsigned kind = 0; kind < LW_N_DAMAGES; kind++) {
        const struct tally *t = &score.by_damage[kind];
        unsigned seen = t->n - t->n_invisible;
        printf("%-18s %5u %9u %6.1f%% %6.1f%% %8u %6u ", lw_damages[kind].word, t->n, t->n_invisible, share(t->n_named, seen),
               share(t->n_first, seen), t->n_certain, t->n_certain_wrong);
        for (unsigned p = 0; p < LW_N_PICTURES; p++)
            if (score.confusion[kind][p])
                printf(" %s %u", lw_pictures[p].name, score.confusion[kind][p]);
        printf("\n");
        score.all.n += t->n;
        score.all.n_invisible += t->n_invisible;
        score.all.n_named += t->n_named;
        score.all.n_first += t->n_first;
        score.all.n_certain_wrong += t->n_certain_wrong;
    }
    unsigned seen = score.all.n - score.all.n_invisible;
    qsort(score.times_ms, score.n_times, sizeof(score.times_ms[0]), by_value);
    printf("\nruns %u, of which nothing can be seen from our adapter in %u\n", score.all.n, score.all.n_invisible);
    printf("true cause among those named   %6.2f %%   goal 98\n", share(score.all.n_named, seen));
    printf("first where only one is possible %5.2f %%  goal 95   (%u runs)\n", share(score.single_first, score.single), score.single);
    printf("certain, and wrong             %6u     goal 0\n", score.all.n_certain_wrong);
    if (score.n_times > 0)
        printf("time to the right verdict, median %.2f s of bus time, goal 2; nine of ten within %.2f s\n",
               score.times_ms[score.n_times / 2] / 1000.0, score.times_ms[score.n_times * 9 / 10] / 1000.0);
}

int main(int argc, char **argv)
{
    unsigned n_runs = argc > 1 ? (unsigned)atoi(argv[1]) : 280, from = argc > 2 ? (unsigned)atoi(argv[2]) : 0;
    bool is_judging = argc > 3 && strcmp(argv[3], "judge") == 0, is_showing = argc > 4 && strcmp(argv[4], "show") == 0;
    is_printing_rows = argc > 4 && strcmp(argv[4], "rows") == 0;
    for (unsigned n = from; n < from + n_runs; n++) {
        struct scenario scenario = scenario_of(n, is_judging);
        if (is_showing)
            show(&scenario);
        else
            play(&scenario);
    }
    if (is_showing || is_printing_rows)
        return 0;
    print_score();
    return score.all.n_certain_wrong > 0;
}
