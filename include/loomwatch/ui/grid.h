/* SPDX-License-Identifier: MIT
 *
 * A screen of cells in memory. Every view draws into one; only the terminal knows curses.
 */
#ifndef LOOMWATCH_UI_GRID_H
#define LOOMWATCH_UI_GRID_H

#include "loomwatch/ui/rect.h"
#include "loomwatch/ui/theme.h"

#include <stdbool.h>
#include <stddef.h>

struct lw_cell {
    uint32_t glyph;     /* Unicode, one column wide */
    uint8_t role;       /* enum lw_role */
};

struct lw_grid {
    int w, h;
    bool is_ascii;      /* glyphs beyond ASCII are replaced as they are put */
    struct lw_cell *cells;   /* w × h, row by row; owned */
};

/* Starts with a size of 0 × 0. finish takes a zeroed grid. */
void lw_grid_init(struct lw_grid *grid);
void lw_grid_finish(struct lw_grid *grid);

/* Sets the size and clears. Returns 0 or -ENOMEM, the grid then being 0 × 0. */
int lw_grid_resize(struct lw_grid *grid, int w, int h);
void lw_grid_clear(struct lw_grid *grid);
struct lw_rect lw_grid_rect(const struct lw_grid *grid);

/* Puts UTF-8 text at column x, row y of rect, clipped to it. Control, wide and combining characters, scripts that
 * terminals do not set one letter a column, and broken UTF-8 become '?'. Returns the column after the text, even where
 * it was clipped. */
int lw_grid_put(struct lw_grid *grid, struct lw_rect rect, int x, int y, enum lw_role role, const char *text);

/* The same with a format. At most 512 bytes of text. */
__attribute__((format(printf, 6, 7)))
int lw_grid_print(struct lw_grid *grid, struct lw_rect rect, int x, int y, enum lw_role role, const char *format, ...);

/* The same, ending at the right edge of rect; returns the first column used. */
int lw_grid_put_right(struct lw_grid *grid, struct lw_rect rect, int y, enum lw_role role, const char *text);

/* Text broken at spaces over the rows of rect. Returns the rows used. */
int lw_grid_put_wrapped(struct lw_grid *grid, struct lw_rect rect, enum lw_role role, const char *text);

/* A ruled line with a caption. */
void lw_grid_put_rule(struct lw_grid *grid, struct lw_rect row, const char *caption);

/* Fills rect with one glyph; glyph 0 leaves glyphs and sets the role alone. */
void lw_grid_fill(struct lw_grid *grid, struct lw_rect rect, uint32_t glyph, enum lw_role role);

/* Columns that text takes. */
int lw_text_columns(const char *text);

/* Writes the plane of glyphs (UTF-8) or of role letters as lines of text; trailing blanks cut. Returns the bytes, as
 * snprintf does. */
size_t lw_grid_to_text(const struct lw_grid *grid, bool roles, char *buf, size_t size);

#endif
