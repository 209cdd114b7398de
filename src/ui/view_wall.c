/* SPDX-License-Identifier: MIT
 *
 * The wall: every message a tile, alive ones filled, so that one that goes dark is a hole seen from two metres.
 */
#include "loomwatch/core/text.h"
#include "loomwatch/ui/glyphs.h"
#include "loomwatch/ui/tile_look.h"
#include "loomwatch/ui/views.h"

#include <stdio.h>

/* The ways to draw a tile, largest first. */
struct size {
    int w, h;      /* with the gap to the next */
    bool has_id, has_period;
};

enum { N_SIZES = 4 };

static int id_columns(const struct lw_snapshot *snapshot)
{
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        if (snapshot->tiles[i].key.is_extended)
            return 8;
    return 3;
}

static void put_tile(const struct lw_tile *tile, bool is_chosen, struct size size, struct lw_rect cell,
                     struct lw_grid *grid)
{
    struct lw_tile_look look = lw_tile_look(tile);
    char id[LW_ID_TEXT], period[LW_NUMBER_TEXT];
    struct lw_rect glyph = { cell.x, cell.y, cell.w > 0 ? 1 : 0, 1 };
    lw_grid_fill(grid, cell, ' ', look.role);
    lw_grid_fill(grid, glyph, look.glyph, is_chosen && !size.has_id ? LW_ROLE_CHOSEN : look.role);
    if (size.has_id)
        lw_grid_put(grid, cell, 1, 0, look.role, lw_id_text(tile->key, id));
    if (size.has_period)
        lw_grid_put(grid, cell, 1, 1, look.role, tile->rhythm == LW_RHYTHM_EVENT ? "event"
                    : lw_text_duration(tile->period_ns, period));
    if (is_chosen && size.has_id) {   /* beside it: the chosen tile is the one being watched, its own look must stay */
        struct lw_rect beside = { cell.x + cell.w, cell.y, 1, 1 };
        lw_grid_fill(grid, beside, LW_GLYPH_CHOSEN_TILE, LW_ROLE_CHOSEN);
    }
}

static bool is_on(const struct lw_view_state *state, const struct lw_tile *tile, unsigned bus)
{
    return tile->key.bus == bus && lw_view_state_passes(state, tile);
}

static size_t count_on(const struct lw_snapshot *snapshot, const struct lw_view_state *state, unsigned bus)
{
    size_t n = 0;
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        n += is_on(state, &snapshot->tiles[i], bus);
    return n;
}

static void one_wall(const struct lw_snapshot *snapshot, struct lw_view_state *state, unsigned bus, struct size size,
                     struct lw_rect rect, struct lw_grid *grid)
{
    int columns = rect.w / size.w > 0 ? rect.w / size.w : 1;
    size_t n = count_on(snapshot, state, bus), k = 0;
    size_t room = (size_t)columns * (size_t)((rect.h + (size.h > 1)) / size.h);
    state->columns_of_wall = columns;
    for (size_t i = 0; i < snapshot->n_tiles && k < room; i++) {
        const struct lw_tile *tile = &snapshot->tiles[i];
        if (!is_on(state, tile, bus))
            continue;
        bool is_chosen = state->has_choice && lw_id_key_equal(tile->key, state->choice);
        int x = (int)(k % (size_t)columns) * size.w, y = (int)(k / (size_t)columns) * size.h;
        int h = size.h > 1 ? size.h - 1 : 1;
        struct lw_rect cell = { rect.x + x, rect.y + y, size.w - (size.has_id ? 1 : 0), h < rect.h - y ? h : rect.h - y };
        put_tile(tile, is_chosen, size, cell, grid);
        k++;
    }
    if (n > room)
        lw_grid_print(grid, rect, rect.w - 18, rect.h - 1, LW_ROLE_ALARM, " no room for %zu ", n - room);
    if (n == 0)
        lw_grid_put(grid, rect, 1, 0, LW_ROLE_DIM,
                    state->filter[0] ? "no message passes the filter" : "no message heard yet");
}

/* Rows that n tiles take. */
static int rows_for(size_t n, struct size size, int w)
{
    int columns = w / size.w > 0 ? w / size.w : 1;
    int rows = ((int)n + columns - 1) / columns * size.h - (size.h > 1);
    return rows > 1 ? rows : 1;
}

/* Rows that the walls of all buses take, captions included. */
static int rows_for_all(const struct lw_snapshot *snapshot, const struct lw_view_state *state, struct size size, int w)
{
    int rows = 0;
    for (unsigned bus = 0; bus < snapshot->n_buses; bus++)
        rows += rows_for(count_on(snapshot, state, bus), size, w) + 1;
    return rows;
}

static struct size largest_that_fits(const struct lw_snapshot *snapshot, const struct lw_view_state *state,
                                     struct lw_rect rect)
{
    int id = id_columns(snapshot);
    int tall = id + 2 > 9 ? id + 2 : 9;
    const struct size sizes[N_SIZES] = {
        { tall + 1, 3, true, true }, { id + 4, 2, true, false }, { id + 2, 1, true, false }, { 1, 1, false, false },
    };
    for (size_t i = 0; i + 1 < N_SIZES; i++)
        if (rows_for_all(snapshot, state, sizes[i], rect.w) <= rect.h)
            return sizes[i];
    return sizes[N_SIZES - 1];
}

int lw_view_wall_rows(const struct lw_snapshot *snapshot, const struct lw_view_state *state, struct lw_rect rect)
{
    int rows = rows_for_all(snapshot, state, largest_that_fits(snapshot, state, rect), rect.w);
    return rows < rect.h ? rows : rect.h;
}

static void put_caption(const struct lw_snapshot *snapshot, const struct lw_view_state *state, unsigned bus,
                        struct lw_rect row, struct lw_grid *grid)
{
    char caption[LW_BUS_NAME_MAX + LW_FILTER_MAX + 32];
    bool has_filter = state->filter[0] != '\0', has_many = snapshot->n_buses > 1;
    snprintf(caption, sizeof(caption), "%s%s%s%s%s", has_filter ? "messages with \"" : "all messages", state->filter,
             has_filter ? "\"" : "", has_many ? " of " : "", has_many ? snapshot->buses[bus].name : "");
    lw_grid_put_rule(grid, row, caption);
}

/* A wall a bus, under its name: the same identifier on two buses is two messages. */
void lw_view_wall(const struct lw_snapshot *snapshot, struct lw_view_state *state, struct lw_rect rect,
                  struct lw_grid *grid)
{
    if (rect.w <= 0 || rect.h <= 0)
        return;
    struct size size = largest_that_fits(snapshot, state, rect);
    for (unsigned bus = 0; bus < snapshot->n_buses; bus++) {
        bool is_last = bus + 1 == snapshot->n_buses;
        put_caption(snapshot, state, bus, lw_rect_take_top(&rect, 1), grid);
        int rows = rows_for(count_on(snapshot, state, bus), size, rect.w);
        int most = is_last ? rect.h : rect.h - 2 * (int)(snapshot->n_buses - bus - 1);
        struct lw_rect wall = lw_rect_take_top(&rect, is_last || rows > most ? most : rows);
        one_wall(snapshot, state, bus, size, wall, grid);
    }
}
