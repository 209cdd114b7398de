/* SPDX-License-Identifier: MIT
 *
 * Surveys which facts hold for which fault on the training benches: what the table of causes is written from.
 */
#include "scenario.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MAX_ROWS = 512, AFTER_MS = 2500 };

struct row { char name[64]; unsigned n, yes[LW_N_FACTS], no[LW_N_FACTS]; };
static struct row rows[MAX_ROWS];
static unsigned n_rows;

static struct row *row_of(const char *name)
{
    for (unsigned i = 0; i < n_rows; i++)
        if (strcmp(rows[i].name, name) == 0)
            return &rows[i];
    snprintf(rows[n_rows].name, sizeof(rows[0].name), "%s", name);
    return &rows[n_rows++];
}

int main(int argc, char **argv)
{
    static const char *const roles[] = { "sitting", "newcomer", "start" };
    static struct lw_snapshot snapshot;
    unsigned n_seeds = argc > 1 ? (unsigned)atoi(argv[1]) : 3, from = argc > 2 ? (unsigned)atoi(argv[2]) : 0;
    const char *only = argc > 3 ? argv[3] : NULL;
    for (unsigned kind = 0; kind < LW_N_DAMAGES; kind++)
        for (unsigned seed = from; seed < from + n_seeds; seed++)
            for (unsigned role = 0; role < N_ROLES; role++)
                for (unsigned place = LW_AT_NOWHERE; place <= LW_AT_UNIT; place++) {
                    if (!(lw_damages[kind].places >> place & 1) || (only && strcmp(lw_damages[kind].word, only) != 0))
                        continue;
                    uint64_t random = seed * 977 + kind * 31 + role * 7 + place + 1;
                    for (int i = 0; i < 9; i++) scenario_draw(&random, 2);
                    struct scenario s = { .file = seed % 4 == 0 ? "harrow40" : NULL, .seed = seed, .personality = (unsigned)scenario_draw(&random, LW_N_PERSONALITIES),
                        .role = role, .has_baseline = scenario_draw(&random, 2), .is_sending = scenario_draw(&random, 2), .is_listening_only = scenario_draw(&random, 6) == 0 };
                    struct lw_plant plant;
                    scenario_plant(&s, &plant);
                    unsigned index = (unsigned)scenario_draw(&random, scenario_places(&plant, place));
                    s.damage = scenario_damage(&plant, kind, place, index);
                    bool is_own = place == LW_AT_UNIT && index == (unsigned)lw_plant_adapter(&plant);
                    if (role == ROLE_NEWCOMER && (place != LW_AT_UNIT || is_own))
                        continue;
                    struct scenario_run run;
                    scenario_start(&run, &s);
                    unsigned end = role == ROLE_FROM_START ? 3500 : SCENARIO_FAULT_MS + AFTER_MS;
                    while (run.now_ms < end)
                        scenario_step(&run);
                    lw_monitor_snapshot(run.monitor, NULL, &snapshot);
                    if (getenv("LW_DOUBLED")) for (size_t t = 0; t < snapshot.n_tiles; t++) if (snapshot.tiles[t].conditions & LW_SECOND_SENDER) printf("%s seed %u base %d: %X period %.1f expected %.1f rhythm %d first %.2f n %u\n", lw_damages[kind].word, seed, s.has_baseline, snapshot.tiles[t].key.id, snapshot.tiles[t].period_ns/1e6, snapshot.tiles[t].expected_period_ns/1e6, snapshot.tiles[t].rhythm, snapshot.tiles[t].first_seen_ns/1e9, (unsigned)snapshot.tiles[t].n_frames);
                    char name[64];
                    snprintf(name, sizeof(name), "%s %s/%s/%s%s", lw_pictures[snapshot.buses[0].verdict.picture].name, lw_damages[kind].word, is_own ? "own" : place == LW_AT_UNIT ? "unit" : place == LW_AT_NOWHERE ? "-" : "trunk",
                             roles[role], "");
                    struct row *row = row_of(name);
                    row->n++;
                    for (unsigned f = 0; f < LW_N_FACTS; f++) {
                        row->yes[f] += snapshot.buses[0].facts[f].answer == LW_ANSWER_YES;
                        row->no[f] += snapshot.buses[0].facts[f].answer == LW_ANSWER_NO;
                    }
                    scenario_stop(&run);
                }
    for (unsigned i = 0; i < n_rows; i++) {
        printf("%-34s %3u:", rows[i].name, rows[i].n);
        for (unsigned f = 0; f < LW_N_FACTS; f++)
            if (rows[i].yes[f])
                printf(" %s=%u/%u", lw_facts[f].name, rows[i].yes[f], rows[i].yes[f] + rows[i].no[f]);
        printf("\n");
    }
    return 0;
}
