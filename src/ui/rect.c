/* SPDX-License-Identifier: MIT
 *
 * Cutting rectangles.
 */
#include "loomwatch/ui/rect.h"

static int at_most(int n, int most)
{
    if (n < 0)
        return 0;
    return n < most ? n : most;
}

struct lw_rect lw_rect_take_top(struct lw_rect *rect, int n)
{
    n = at_most(n, rect->h);
    struct lw_rect strip = { rect->x, rect->y, rect->w, n };
    rect->y += n;
    rect->h -= n;
    return strip;
}

struct lw_rect lw_rect_take_bottom(struct lw_rect *rect, int n)
{
    n = at_most(n, rect->h);
    rect->h -= n;
    return (struct lw_rect){ rect->x, rect->y + rect->h, rect->w, n };
}

struct lw_rect lw_rect_take_left(struct lw_rect *rect, int n)
{
    n = at_most(n, rect->w);
    struct lw_rect strip = { rect->x, rect->y, n, rect->h };
    rect->x += n;
    rect->w -= n;
    return strip;
}
