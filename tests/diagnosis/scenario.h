/* SPDX-License-Identifier: MIT
 *
 * Scenarios for the diagnosis: a bench, an adapter, one thing made wrong somewhere, and when; played into a monitor as a
 * socket would deliver it. Each repeats itself exactly from its numbers.
 */
#ifndef LOOMWATCH_TEST_SCENARIO_H
#define LOOMWATCH_TEST_SCENARIO_H

#include "loomwatch/bench/adapter.h"
#include "loomwatch/bench/sim.h"
#include "loomwatch/core/monitor.h"

enum scenario_role {
    ROLE_SITTING,        /* it happens to a bus that ran well, and nobody did anything */
    ROLE_NEWCOMER,       /* a unit is plugged in with it; the moment was marked */
    ROLE_FROM_START,     /* it was so before watching began */
    N_ROLES,
};

enum { SCENARIO_WATCH_MS = 500, SCENARIO_BASELINE_MS = 9600, SCENARIO_FAULT_MS = 10000, SCENARIO_END_MS = 16000, SCENARIO_STEP_MS = 10 };

/* A bench of the shipped ones by name, or a line of units made up from the seed: NULL. */
struct scenario {
    const char *file;
    uint64_t seed;
    unsigned personality;
    enum scenario_role role;
    bool has_baseline, is_sending, is_listening_only;
    bool is_baseline_of_machine;     /* the baseline is of a machine that is as it should be, newcomer included */
    struct lw_damage damage;         /* kind LW_N_DAMAGES: nothing is wrong */
};

struct scenario_run {
    struct scenario scenario;
    struct lw_plant plant;
    int adapter;
    struct lw_sim *sim;
    struct lw_monitor *monitor;
    struct lw_baseline *baseline;    /* NULL = none from before */
    uint64_t now_ms, n_errors_after, n_frames_after;   /* error frames and frames since the fault began */
};

/* Builds the plant of a scenario: file or made up, with personality, role and sending put in. */
void scenario_plant(const struct scenario *scenario, struct lw_plant *out);

/* How many places of a kind there are on a plant, our adapter's own included. */
unsigned scenario_places(const struct lw_plant *plant, enum lw_damage_place place);

/* A damage of that kind with a value that does harm on that plant. */
struct lw_damage scenario_damage(const struct lw_plant *plant, enum lw_damage_kind kind, enum lw_damage_place place,
                                 unsigned index);

/* The unit that is plugged in later: the first that is not plugged. */
unsigned scenario_newcomer(const struct lw_plant *plant);

/* Whether a person must have done it: wiring, setting, choice of module. Such a thing is not there without a mark. */
bool scenario_is_deed(enum lw_damage_kind kind);

void scenario_start(struct scenario_run *run, const struct scenario *scenario);
void scenario_step(struct scenario_run *run);           /* SCENARIO_STEP_MS of bus time */
void scenario_stop(struct scenario_run *run);

/* The nth of all scenarios: kinds of fault in turn, the rest by chance. The benches to judge on are not those that the table
 * of causes was written by. */
struct scenario scenario_drawn(uint64_t n, bool is_judging);

const char *scenario_role_name(enum scenario_role role);

uint64_t scenario_draw(uint64_t *state, uint64_t n);    /* 0..n-1 */

#endif
