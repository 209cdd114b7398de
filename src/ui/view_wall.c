/* SPDX-License-Identifier: MIT
 *
 * The wall: every message a tile, alive ones filled, so that one that goes dark is a hole seen from two metres.
 */
#include "loomwatch/core/text.h"
#include "loomwatch/ui/glyphs.h"
#include "loomwatch/ui/tile_look.h"
#include "loomwatch/ui/views.h"

#include <string.h>

/* The ways to draw a tile, largest first. */
struct size {
    int w, h;      /* with the gap to the next */
    bool has_id, has_period;
};

static int id_columns(const struct lw_snapshot *snapshot)
{
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        if (snapshot->tiles[i].key.is_extended)
            return 8;
    return 3;
}

static struct size fitting(const struct lw_snapshot *snapshot, size_t n, struct lw_rect rect)
{
    int id = id_columns(snapshot);
    int tall = id + 2 > 9 ? id + 2 : 9;
    const struct size sizes[] = {
        { tall + 1, 3, true, true }, { id + 4, 2, true, false }, { id + 2, 1, true, false }, { 1, 1, false, false },
    };
    size_t i = 0;
    for (; i + 1 < sizeof(sizes) / sizeof(sizes[0]); i++) {
        size_t columns = (size_t)(rect.w / sizes[i].w), rows = (size_t)((rect.h + (sizes[i].h > 1)) / sizes[i].h);
        if (columns * rows >= n)
            break;
    }
    return sizes[i];
}

static void put_tile(const struct lw_tile *tile, bool is_chosen, struct size size, struct lw_rect cell,
                     struct lw_grid *grid)
{
    struct lw_tile_look look = lw_tile_look(tile);
    enum lw_role role = is_chosen ? LW_ROLE_CHOSEN : look.role;
    char id[LW_ID_TEXT], period[LW_NUMBER_TEXT];
    struct lw_rect glyph = { cell.x, cell.y, cell.w > 0 ? 1 : 0, 1 };
    lw_grid_fill(grid, cell, ' ', role);
    lw_grid_fill(grid, glyph, is_chosen && size.has_id ? LW_GLYPH_CHOSEN : look.glyph, role);
    if (size.has_id)
        lw_grid_put(grid, cell, 1, 0, role, lw_id_text(tile->key, id));
    if (size.has_period)
        lw_grid_put(grid, cell, 1, 1, role, tile->rhythm == LW_RHYTHM_EVENT ? "event"
                    : lw_text_duration(tile->period_ns, period));
}

static size_t count_passing(const struct lw_snapshot *snapshot, const struct lw_view_state *state)
{
    size_t n = 0;
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        n += lw_view_state_passes(state, &snapshot->tiles[i]);
    return n;
}

void lw_view_wall(const struct lw_snapshot *snapshot, struct lw_view_state *state, struct lw_rect rect,
                  struct lw_grid *grid)
{
    size_t n = count_passing(snapshot, state);
    if (rect.w <= 0 || rect.h <= 0)
        return;
    struct size size = fitting(snapshot, n, rect);
    int columns = rect.w / size.w > 0 ? rect.w / size.w : 1;
    size_t room = (size_t)columns * (size_t)((rect.h + (size.h > 1)) / size.h), k = 0;
    int gap = size.has_id ? 1 : 0;
    state->columns_of_wall = columns;
    for (size_t i = 0; i < snapshot->n_tiles && k < room; i++) {
        const struct lw_tile *tile = &snapshot->tiles[i];
        if (!lw_view_state_passes(state, tile))
            continue;
        bool is_chosen = state->has_choice && lw_id_key_equal(tile->key, state->choice);
        int x = (int)(k % (size_t)columns) * size.w, y = (int)(k / (size_t)columns) * size.h;
        int h = size.h > 1 ? size.h - 1 : 1;
        struct lw_rect cell = { rect.x + x, rect.y + y, size.w - gap, h < rect.h - y ? h : rect.h - y };
        put_tile(tile, is_chosen, size, cell, grid);
        k++;
    }
    if (n > room)
        lw_grid_print(grid, rect, rect.w - 12, rect.h - 1, LW_ROLE_ALARM, " +%zu more ", n - room);
    if (n == 0)
        lw_grid_put(grid, rect, 1, 0, LW_ROLE_DIM,
                    state->filter[0] ? "no message passes the filter" : "no message heard yet");
}
