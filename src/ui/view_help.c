/* SPDX-License-Identifier: MIT
 *
 * The help page: keys, signs, cautions.
 */
#include "loomwatch/ui/glyphs.h"
#include "loomwatch/ui/views.h"

enum { KEYS_COLUMNS = 46 };

static const struct {
    uint32_t glyph;
    enum lw_role role;
    const char *words;
} signs[] = {
    { LW_GLYPH_ALIVE, LW_ROLE_TILE_ALIVE, "heard in its rhythm" },
    { LW_GLYPH_EVENT, LW_ROLE_TILE_EVENT, "sent on event" },
    { LW_GLYPH_UNEXPECTED, LW_ROLE_TILE_NEW, "unexpected, or new since mark" },
    { LW_GLYPH_ABSENT, LW_ROLE_TILE_DARK, "absent" },
    { LW_GLYPH_LATE, LW_ROLE_TILE_LATE, "late" },
    { LW_GLYPH_CHANGED, LW_ROLE_TILE_CHANGED, "other period or length" },
    { LW_GLYPH_DOUBLED, LW_ROLE_TILE_CHANGED, "twice as often" },
    { LW_GLYPH_QUIET, LW_ROLE_TILE_QUIET, "quiet, or the whole bus silent" },
    { '1', LW_ROLE_LAMP_FIRST, "window: came first" },
    { '!', LW_ROLE_LAMP_BRIGHT, "window: not acknowledged" },
    { '*', LW_ROLE_LAMP_ON, "window: acknowledged" },
    { '~', LW_ROLE_LAMP_ON, "behind a window: over by now" },
};

static const char cautions[] =
    "Disconnect the supply before measuring resistance. Never work near airbag or high-voltage parts, or on a moving "
    "machine, without its maker's procedure. Local law, the maker's information and licensed people come first. "
    "loomwatch only listens: it sends nothing on the bus.";

static void put_keys(struct lw_rect rect, struct lw_grid *grid)
{
    int y = 0;
    for (size_t i = 0; i < lw_n_keys && y < rect.h; i++) {
        if (!lw_keys[i].words)
            continue;
        lw_grid_put(grid, rect, 1, y, LW_ROLE_KEY, lw_keys[i].cap);
        lw_grid_put(grid, rect, 8, y++, LW_ROLE_NORMAL, lw_keys[i].words);
    }
}

static void put_signs(struct lw_rect rect, struct lw_grid *grid)
{
    for (size_t i = 0; i < sizeof(signs) / sizeof(signs[0]) && (int)i < rect.h; i++) {
        struct lw_rect cell = { rect.x + 1, rect.y + (int)i, rect.w > 1 ? 1 : 0, 1 };
        lw_grid_fill(grid, cell, signs[i].glyph, signs[i].role);
        lw_grid_put(grid, rect, 4, (int)i, LW_ROLE_NORMAL, signs[i].words);
    }
}

/* Keys and signs side by side where there is room, else the keys alone. The cautions always have theirs. */
void lw_view_help(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    (void)state;
    int rows = (lw_text_columns(cautions) + rect.w) / (rect.w > 0 ? rect.w : 1) + 1;
    struct lw_rect caution = lw_rect_take_bottom(&rect, rows < rect.h / 3 ? rows : rect.h / 3);
    lw_rect_take_left(&caution, 1);
    lw_grid_put_wrapped(grid, caution, LW_ROLE_CAUTION, cautions);
    put_keys(lw_rect_take_left(&rect, rect.w >= KEYS_COLUMNS + 20 ? KEYS_COLUMNS : rect.w), grid);
    put_signs(rect, grid);
}
