/* SPDX-License-Identifier: MIT
 *
 * What can be done at a place of the bench. Private to the bench page: its keys and its view go through the same list.
 */
#ifndef LOOMWATCH_SRC_UI_BENCH_MENU_H
#define LOOMWATCH_SRC_UI_BENCH_MENU_H

#include "loomwatch/ui/bench_state.h"

enum { LW_BENCH_MAX_ENTRIES = LW_MAX_DAMAGES + LW_N_DAMAGES + 4 };

struct lw_bench_entry {
    uint8_t request;             /* enum lw_bench_request_kind */
    uint8_t n;                   /* kind of damage to put on, or number of the one to take off */
    bool is_on;
};

/* Returns the number of entries; there is always one. */
unsigned lw_bench_menu(const struct lw_bench_picture *picture, struct lw_bench_place place,
                       struct lw_bench_entry out[LW_BENCH_MAX_ENTRIES]);

/* "take off: H wire broken at the hopper control". Returns buf. */
char *lw_bench_entry_words(const struct lw_bench_picture *picture, struct lw_bench_place place,
                           const struct lw_bench_entry *entry, char buf[LW_DAMAGE_TEXT]);

/* The unit of the value that the entry takes, or NULL if it takes none; *value is then the default, 0 where only the plant
 * knows one. */
const char *lw_bench_entry_value(const struct lw_bench_picture *picture, const struct lw_bench_entry *entry, double *value);

/* Whether a damage holds now; and whether it is at that place. */
bool lw_bench_is_on(const struct lw_bench_picture *picture, const struct lw_damage *damage);
bool lw_bench_is_at(const struct lw_damage *damage, struct lw_bench_place place);

/* A point's name, or its number where it has none. Returns buf. */
char *lw_bench_point_name(const struct lw_bench_picture *picture, unsigned point, char buf[LW_PLANT_NAME]);

#endif
