/* SPDX-License-Identifier: MIT
 *
 * Rectangles of the screen, cut up by taking strips off their sides. Empty ones are fine everywhere.
 */
#ifndef LOOMWATCH_UI_RECT_H
#define LOOMWATCH_UI_RECT_H

struct lw_rect {
    int x, y, w, h;   /* cells; w and h never negative */
};

/* Cuts a strip of n cells off one side of rect, or all of it where there is less, and returns the strip. */
struct lw_rect lw_rect_take_top(struct lw_rect *rect, int n);
struct lw_rect lw_rect_take_bottom(struct lw_rect *rect, int n);
struct lw_rect lw_rect_take_left(struct lw_rect *rect, int n);

#endif
