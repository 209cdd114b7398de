/* SPDX-License-Identifier: MIT
 *
 * Places by name, for damage_parse.c only.
 */
#ifndef LOOMWATCH_SRC_BENCH_DAMAGE_PLACE_H
#define LOOMWATCH_SRC_BENCH_DAMAGE_PLACE_H

#include "loomwatch/bench/damage.h"

/* Sets place and index of out to the unit or point that text names; places: bit n, whether it may be at enum
 * lw_damage_place n. A whole name goes before words of one. Returns 0, -ENOENT no such, or -EEXIST several. */
int lw_damage_name_place(const struct lw_plant *plant, unsigned places, const char *text, struct lw_damage *out);

#endif
