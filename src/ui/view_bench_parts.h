/* SPDX-License-Identifier: MIT
 *
 * The parts of the bench page, private to it. Each draws into its rectangle, whatever its size.
 */
#ifndef LOOMWATCH_SRC_UI_VIEW_BENCH_PARTS_H
#define LOOMWATCH_SRC_UI_VIEW_BENCH_PARTS_H

#include "loomwatch/ui/views.h"

/* The bus from end to end; scrolls so that the chosen place is in sight. rows: how many it wants in that much room. */
int lw_view_bench_drawing_rows(const struct lw_bench_picture *picture, struct lw_rect rect);
void lw_view_bench_drawing(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid);

/* The meter at the chosen place, what its reading means, and what is wrong there. */
void lw_view_bench_meter(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid);

/* What can be done at the chosen place. */
void lw_view_bench_menu(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid);

/* The last frame bit by bit. */
void lw_view_bench_bits(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid);

#endif
