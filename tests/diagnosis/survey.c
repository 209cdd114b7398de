/* SPDX-License-Identifier: MIT
 *
 * usage: diagnosis_survey [runs] [first seed] [fault]
 *
 * Surveys which facts hold for which fault on the training benches: what the table of causes is written from. Of each group of
 * runs, by picture, fault, place and role: facts that held, of how many runs in which they were known.
 */
#include "scenario.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MAX_ROWS = 512, AFTER_MS = 2500, NAME = 64 };

struct row {
    char name[NAME];
    unsigned n, yes[LW_N_FACTS], no[LW_N_FACTS];
};

static struct row rows[MAX_ROWS];
static unsigned n_rows;
static struct lw_snapshot snapshot;

static struct row *row_of(const char *name)
{
    unsigned i = 0;
    while (i < n_rows && strcmp(rows[i].name, name) != 0)
        i++;
    if (i == MAX_ROWS)
        exit(2);
    if (i == n_rows)
        snprintf(rows[n_rows++].name, sizeof(rows[i].name), "%s", name);
    return &rows[i];
}

static const char *place_name(const struct scenario_run *run)
{
    const struct lw_damage *damage = &run->scenario.damage;
    if (damage->place == LW_AT_UNIT)
        return (int)damage->index == run->adapter ? "our adapter" : "unit";
    return damage->place == LW_AT_NOWHERE ? "nowhere" : "trunk";
}

static void survey(const struct scenario *scenario)
{
    struct scenario_run run;
    char name[NAME];
    scenario_start(&run, scenario);
    while (run.now_ms < SCENARIO_FAULT_MS + AFTER_MS)
        scenario_step(&run);
    lw_monitor_snapshot(run.monitor, NULL, &snapshot);
    const struct lw_bus_view *bus = &snapshot.buses[0];
    snprintf(name, sizeof(name), "%s, %s, %s, %s", lw_pictures[bus->verdict.picture].name, lw_damages[scenario->damage.kind].word,
             place_name(&run), scenario_role_name(scenario->role));
    struct row *row = row_of(name);
    row->n++;
    for (unsigned f = 0; f < LW_N_FACTS; f++) {
        row->yes[f] += bus->facts[f].answer == LW_ANSWER_YES;
        row->no[f] += bus->facts[f].answer == LW_ANSWER_NO;
    }
    scenario_stop(&run);
}

static void print_row(const struct row *row)
{
    printf("%s; %u runs:", row->name, row->n);
    for (unsigned f = 0; f < LW_N_FACTS; f++)
        if (row->yes[f] > 0)
            printf(" %s %u/%u;", lw_facts[f].name, row->yes[f], row->yes[f] + row->no[f]);
    printf("\n");
}

int main(int argc, char **argv)
{
    unsigned n_runs = argc > 1 ? (unsigned)atoi(argv[1]) : 280, from = argc > 2 ? (unsigned)atoi(argv[2]) : 0;
    const char *only = argc > 3 ? argv[3] : NULL;
    for (unsigned n = from; n < from + n_runs; n++) {
        struct scenario scenario = scenario_drawn(n, false);
        if (!only || strcmp(lw_damages[scenario.damage.kind].word, only) == 0)
            survey(&scenario);
    }
    for (unsigned i = 0; i < n_rows; i++)
        print_row(&rows[i]);
    return 0;
}
