/* SPDX-License-Identifier: MIT
 *
 * Chance on a bench: damages and deeds of a script that a number decides. Used by the tests of the whole simulation.
 */
#ifndef LOOMWATCH_TEST_SIM_CHANCE_H
#define LOOMWATCH_TEST_SIM_CHANCE_H

#include "sim_bench.h"

/* From 0 to n - 1. *state must not be 0. */
uint64_t sim_chance_draw(uint64_t *state, uint64_t n);

unsigned sim_chance_places(const struct lw_plant *plant, unsigned place);
struct lw_damage sim_chance_damage_of(const struct lw_plant *plant, unsigned kind, unsigned place, unsigned index);

/* One step of chance: mostly another damage, sometimes another deed. */
void sim_chance_do_something(struct sim_bench *bench, uint64_t *state);

#endif
