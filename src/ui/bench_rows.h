/* SPDX-License-Identifier: MIT
 *
 * The bus as rows, from its first point down to its last. Private to the drawing of the bench.
 */
#ifndef LOOMWATCH_SRC_UI_BENCH_ROWS_H
#define LOOMWATCH_SRC_UI_BENCH_ROWS_H

#include "loomwatch/bench/picture.h"

enum lw_bench_row_kind {
    LW_ROW_POINT,                /* a point that no unit hangs on */
    LW_ROW_UNIT,                 /* a unit, its stub as one double line */
    LW_ROW_UNIT_H, LW_ROW_UNIT_L,    /* the same in two rows, a wire each */
    LW_ROW_TERMINATOR,           /* in a row of its own */
    LW_ROW_DAMAGE,               /* of a point: from wire to wire, or from a wire away */
    LW_ROW_SEGMENT,
};

/* How much room the bus gets: a row a unit; and one a segment; and two a unit. */
enum lw_bench_detail { LW_DETAIL_CLOSE, LW_DETAIL_SEGMENTS, LW_DETAIL_WIRES };

struct lw_bench_row {
    uint8_t kind;                /* enum lw_bench_row_kind */
    bool is_first;               /* of its point */
    uint8_t point;               /* of a segment: the one before it */
    uint8_t unit, damage;        /* where the kind has one */
};

enum { LW_BENCH_MAX_ROWS = 3 * LW_PLANT_MAX_POINTS + 2 * LW_PLANT_MAX_UNITS + LW_MAX_DAMAGES };

/* Returns the number of rows. */
unsigned lw_bench_rows(const struct lw_bench_picture *picture, enum lw_bench_detail detail,
                       struct lw_bench_row out[LW_BENCH_MAX_ROWS]);

/* The most that fits into so many rows; what is wrong at the moment does not change it. */
enum lw_bench_detail lw_bench_detail_for(const struct lw_bench_picture *picture, int n_rows);

/* A damage of that kind that holds now at that place, or NULL. */
const struct lw_damage *lw_bench_damage_at(const struct lw_bench_picture *picture, enum lw_damage_kind kind,
                                           enum lw_damage_place place, unsigned index);

#endif
