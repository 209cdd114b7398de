/* SPDX-License-Identifier: MIT
 *
 * How a message's condition shows, the same on the wall, in lists and to the filter.
 */
#ifndef LOOMWATCH_UI_TILE_LOOK_H
#define LOOMWATCH_UI_TILE_LOOK_H

#include "loomwatch/core/snapshot.h"
#include "loomwatch/ui/theme.h"

struct lw_tile_look {
    uint32_t glyph;
    enum lw_role role;
    int urgency;          /* 0 = settled; LW_MOST_URGENT = look at this first */
    const char *word;
};

enum { LW_MOST_URGENT = 6 };

/* Of several conditions the worst shows. */
struct lw_tile_look lw_tile_look(const struct lw_tile *tile);

#endif
