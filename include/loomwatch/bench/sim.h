/* SPDX-License-Identifier: MIT
 *
 * The bench at work: units, wires and damage, bit by bit, in bus time from 0. Repeats itself exactly for equal plants,
 * seeds and deeds. No I/O, no clock.
 */
#ifndef LOOMWATCH_BENCH_SIM_H
#define LOOMWATCH_BENCH_SIM_H

#include "loomwatch/bench/picture.h"

struct lw_sim;

/* Everything it will need is allocated here; plant is copied. NULL without memory; destroy takes NULL. */
struct lw_sim *lw_sim_create(const struct lw_plant *plant, uint64_t seed, unsigned bus);
void lw_sim_destroy(struct lw_sim *sim);

/* Runs until the adapter has an event to deliver, or until until_ns. True: *out is the next event. Events come in order. */
bool lw_sim_next(struct lw_sim *sim, uint64_t until_ns, struct lw_event *out);

uint64_t lw_sim_now_ns(const struct lw_sim *sim);

/* Puts an edit on at its from_ns, or at once if that is past. Returns 0, or -ENOSPC. */
int lw_sim_damage(struct lw_sim *sim, const struct lw_damage *damage);

/* Takes off the nth edit of the picture. Returns 0 or -EINVAL. */
int lw_sim_mend(struct lw_sim *sim, size_t n);

/* Plugs a unit in or out; power on or off. */
int lw_sim_plug(struct lw_sim *sim, unsigned unit, bool is_plugged);
int lw_sim_power(struct lw_sim *sim, unsigned unit, bool is_powered);

/* The supply of the whole machine: off for measuring ohms. */
void lw_sim_supply(struct lw_sim *sim, bool is_on);

/* The present picture, for the page. trace_unit: whose frames to keep bit by bit from now on; those of another are forgotten. */
void lw_sim_picture(struct lw_sim *sim, unsigned trace_unit, struct lw_bench_picture *out);

/* For tests: from now on all units are simulated bit by bit, in the order of time. Slower, with the same events. */
void lw_sim_forbid_lockstep(struct lw_sim *sim);

/* For tests and scores: what a unit's controller counts and has seen, which no adapter would tell. */
struct lw_sim_unit {
    uint16_t tec, rec;
    bool is_bus_off, is_passive, is_on_bus;
    uint64_t n_sent, n_received, n_errors;
    uint64_t n_errors_by_kind[5];    /* enum lw_mac_error_kind */
};
void lw_sim_unit_facts(const struct lw_sim *sim, unsigned unit, struct lw_sim_unit *out);

#endif
