/* SPDX-License-Identifier: MIT
 *
 * The help page: keys, signs, cautions.
 */
#include "loomwatch/ui/glyphs.h"
#include "loomwatch/ui/views.h"

enum { KEYS_COLUMNS = 45 };

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
    { '?', LW_ROLE_LAMP_BRIGHT, "the same, but over; - after *" },
    { '*', LW_ROLE_LAMP_ON, "window: acknowledged" },
};

static const char cautions[] =
    "Disconnect the supply before measuring resistance. Airbag or high-voltage parts, moving machines: maker's procedure "
    "only. Local law, the maker's information and licensed people come first. loomwatch only listens.";

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

static int put_signs(struct lw_rect rect, struct lw_grid *grid)
{
    for (size_t i = 0; i < sizeof(signs) / sizeof(signs[0]) && (int)i < rect.h; i++) {
        struct lw_rect cell = { rect.x + 1, rect.y + (int)i, rect.w > 1 ? 1 : 0, 1 };
        lw_grid_fill(grid, cell, signs[i].glyph, signs[i].role);
        lw_grid_put(grid, rect, 4, (int)i, LW_ROLE_NORMAL, signs[i].words);
    }
    return sizeof(signs) / sizeof(signs[0]);
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

/* Keys beside signs and cautions where there is room, else keys above cautions, which always have their place. Keys for
 * which their column is too short go on below the signs. */
void lw_view_help(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    (void)state;
    bool is_wide = rect.w >= KEYS_COLUMNS + 20;
    int n = 0;
    if (is_wide)
        n = put_keys(0, lw_rect_take_left(&rect, KEYS_COLUMNS), grid);
    put_cautions(&rect, is_wide ? 2 : 3, grid);
    if (is_wide)
        lw_rect_take_top(&rect, put_signs(rect, grid));
    put_keys(n, rect, grid);
}
