/* SPDX-License-Identifier: MIT
 *
 * The views. Each is a pure function of snapshot and state that draws into a rectangle of a grid, whatever its
 * size. lw_view_screen is the whole screen; the others are its parts.
 */
#ifndef LOOMWATCH_UI_VIEWS_H
#define LOOMWATCH_UI_VIEWS_H

#include "loomwatch/ui/grid.h"
#include "loomwatch/ui/view_state.h"

enum { LW_SCREEN_MIN_W = 40, LW_SCREEN_MIN_H = 10 };

/* Everything. state is written to only where the header of view_state.h says so. */
void lw_view_screen(const struct lw_snapshot *snapshot, struct lw_view_state *state, struct lw_grid *grid);

/* True if the screen holds something that flashes, so that it must be drawn again without news. */
bool lw_view_flashes(const struct lw_snapshot *snapshot);

/* What is watched, baseline, recording: one row. */
void lw_view_heading(const struct lw_snapshot *snapshot, const struct lw_view_state *state, struct lw_rect rect,
                     struct lw_grid *grid);

/* One bus a row: controller, counters, load, frames, errors, losses, with histories where there is room; a single bus on a
 * narrow screen takes a second row for them. */
int lw_view_vitals_rows(const struct lw_snapshot *snapshot, struct lw_rect rect);
void lw_view_vitals(const struct lw_snapshot *snapshot, struct lw_rect rect, struct lw_grid *grid);

/* The alarm windows. rows_wanted: how many rows they take at this width, with one or two text rows a window. */
int lw_view_annunciator_rows(int w, bool is_tall);
void lw_view_annunciator(const struct lw_snapshot *snapshot, const struct lw_view_state *state, struct lw_rect rect,
                         bool is_tall, struct lw_grid *grid);

/* Messages that need a look, worst first; their number tells how many rows they want. */
int lw_view_attention_count(const struct lw_snapshot *snapshot, const struct lw_view_state *state);
void lw_view_attention(const struct lw_snapshot *snapshot, const struct lw_view_state *state, struct lw_rect rect,
                       struct lw_grid *grid);

/* Every message as a tile, as large as lets all be seen, under a caption a bus. rows: how many of the rows of rect it
 * needs. */
int lw_view_wall_rows(const struct lw_snapshot *snapshot, const struct lw_view_state *state, struct lw_rect rect);
void lw_view_wall(const struct lw_snapshot *snapshot, struct lw_view_state *state, struct lw_rect rect,
                  struct lw_grid *grid);

/* The diary, newest first, from the nth on. */
void lw_view_diary(const struct lw_snapshot *snapshot, size_t from, struct lw_rect rect, struct lw_grid *grid);

/* The adapters: settings, state, and every kind of error report so far. */
void lw_view_adapter(const struct lw_snapshot *snapshot, struct lw_rect rect, struct lw_grid *grid);

/* Why the verdicts are what they are: evidence for and against, the check that separates the causes, readings, what the
 * adapter cannot tell, and how the verdict changed. Keeps state->why_from within what there is. */
void lw_view_why(const struct lw_snapshot *snapshot, struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid);

/* One message in full. */
void lw_view_detail(const struct lw_snapshot *snapshot, struct lw_rect rect, struct lw_grid *grid);

void lw_view_help(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid);
void lw_view_bench(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid);
/* The calculators, their fields, and the worksheet. Writes to state->calc.from. */
void lw_view_calc(struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid);
void lw_view_footer(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid);

#endif
