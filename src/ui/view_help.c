/* SPDX-License-Identifier: MIT
 *
 * The help page: keys, signs, cautions.
 */
#include "loomwatch/ui/glyphs.h"
#include "loomwatch/ui/views.h"

enum { KEYS_COLUMNS = 44 };

static const struct {
    uint32_t glyph;
    enum lw_role role;
    const char *words;
} signs[] = {
    { LW_GLYPH_ALIVE, LW_ROLE_TILE_ALIVE, "in its rhythm" },
    { LW_GLYPH_EVENT, LW_ROLE_TILE_EVENT, "sent on event" },
    { LW_GLYPH_UNEXPECTED, LW_ROLE_TILE_NEW, "new" },
    { LW_GLYPH_ABSENT, LW_ROLE_TILE_DARK, "absent" },
    { LW_GLYPH_LATE, LW_ROLE_TILE_LATE, "late" },
    { LW_GLYPH_CHANGED, LW_ROLE_TILE_CHANGED, "period, length" },
    { LW_GLYPH_DOUBLED, LW_ROLE_TILE_CHANGED, "twice as often" },
    { LW_GLYPH_QUIET, LW_ROLE_TILE_QUIET, "quiet" },
    { '1', LW_ROLE_LAMP_FIRST, "came first" },
    { '!', LW_ROLE_LAMP_BRIGHT, "alarm, new" },
    { '?', LW_ROLE_LAMP_BRIGHT, "over, not seen" },
    { '*', LW_ROLE_LAMP_ON, "acknowledged" },
};

static const char cautions[] =
    "Disconnect the supply before measuring resistance. Never work near airbag or high-voltage parts, or on a moving "
    "machine, without its maker's procedure. Local law, the maker's information and licensed people come first. "
    "loomwatch only listens: it sends nothing.";

/* As many as there are rows, the first n being elsewhere. Returns how many have found their place by then. */
static int put_keys(int n, struct lw_rect rect, struct lw_grid *grid)
{
    int y = -n;
    for (size_t i = 0; i < lw_n_keys && y < rect.h; i++) {
        if (!lw_keys[i].words)
            continue;
        lw_grid_put(grid, rect, 1, y, LW_ROLE_KEY, lw_keys[i].cap);
        lw_grid_put(grid, rect, 8, y++, LW_ROLE_NORMAL, lw_keys[i].words);
    }
    return n + y;
}

/* Two a row. */
static int put_signs(struct lw_rect rect, struct lw_grid *grid)
{
    int n = sizeof(signs) / sizeof(signs[0]), half = rect.w / 2;
    for (int i = 0; i < n && i / 2 < rect.h; i++) {
        struct lw_rect place = { rect.x + i % 2 * half, rect.y + i / 2, half, 1 };
        struct lw_rect cell = { place.x + 1, place.y, half > 1 ? 1 : 0, 1 };
        lw_grid_fill(grid, cell, signs[i].glyph, signs[i].role);
        lw_grid_put(grid, place, 3, 0, LW_ROLE_NORMAL, signs[i].words);
    }
    return (n + 1) / 2;
}

static int rows_of_cautions(int w)
{
    struct lw_grid nowhere = { 0 };
    struct lw_rect rect = { 0, 0, w, (int)sizeof(cautions) };
    return lw_grid_put_wrapped(&nowhere, rect, LW_ROLE_NORMAL, cautions);
}

/* Takes the cautions' place off the bottom: what they need, but not more than a share of the room. */
static void put_cautions(struct lw_rect *rect, int share, struct lw_grid *grid)
{
    int rows = rows_of_cautions(rect->w - 1), most = rect->h / share;
    struct lw_rect place = lw_rect_take_bottom(rect, rows < most ? rows : most);
    lw_rect_take_left(&place, 1);
    lw_grid_put_wrapped(grid, place, LW_ROLE_CAUTION, cautions);
}

/* Cautions always have their place, at the bottom. Above them keys, where there is room in two columns; signs above the second. */
void lw_view_help(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    (void)state;
    int n = 0;
    bool is_wide = rect.w >= KEYS_COLUMNS + 20;
    put_cautions(&rect, 3, grid);
    if (is_wide) {
        n = put_keys(0, lw_rect_take_left(&rect, KEYS_COLUMNS), grid);
        lw_rect_take_top(&rect, put_signs(rect, grid));
    }
    put_keys(n, rect, grid);
}
