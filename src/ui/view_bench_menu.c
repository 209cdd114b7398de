/* SPDX-License-Identifier: MIT
 *
 * The menu of the bench page: what can be done at the chosen place, and the value that is typed for it.
 */
#include "bench_menu.h"
#include "loomwatch/ui/glyphs.h"
#include "view_bench_parts.h"

#include <string.h>

static void put_value(const struct lw_view_state *state, const struct lw_bench_entry *entry, struct lw_rect row, int x,
                      struct lw_grid *grid)
{
    double value = 0;
    const char *unit = lw_bench_entry_value(state->picture, entry, &value);
    if (!unit)
        return;
    bool has_default = state->on_bench.mode != LW_BENCH_VALUE || state->on_bench.value[0] == '\0';
    if (!has_default)
        x = lw_grid_print(grid, row, x, 0, LW_ROLE_STRONG, "%s_ ", state->on_bench.value);
    else if (entry->n != LW_DAMAGE_DUPLICATE)
        x = lw_grid_print(grid, row, x, 0, LW_ROLE_DIM, "%.10g ", value);
    lw_grid_put(grid, row, x, 0, LW_ROLE_DIM, unit);
}

void lw_view_bench_menu(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    struct lw_bench_entry entries[LW_BENCH_MAX_ENTRIES];
    struct lw_bench_place place = lw_bench_state_place(&state->on_bench, state->picture);
    int n = (int)lw_bench_menu(state->picture, place, entries), choice = (int)state->on_bench.menu_choice;
    choice = choice < n ? choice : n - 1;
    int first = choice - rect.h / 2;
    first = first > n - rect.h ? n - rect.h : first;
    first = first < 0 ? 0 : first;
    for (int y = 0; y < rect.h && first + y < n; y++) {
        struct lw_rect row = { rect.x, rect.y + y, rect.w, 1 };
        bool is_chosen = first + y == choice;
        char words[LW_DAMAGE_TEXT];
        struct lw_rect mark = { row.x + 1, row.y, row.w > 1 ? 1 : 0, 1 };
        lw_bench_entry_words(state->picture, place, &entries[first + y], words);
        lw_grid_fill(grid, mark, is_chosen ? LW_GLYPH_CHOSEN : ' ', LW_ROLE_STRONG);
        int x = lw_grid_put(grid, row, 3, 0, is_chosen ? LW_ROLE_CHOSEN : LW_ROLE_NORMAL, words);
        if (is_chosen)
            put_value(state, &entries[first + y], row, x + 2, grid);
    }
    struct lw_rect edge = { rect.x + rect.w - 1, rect.y, rect.w > 0 ? 1 : 0, rect.h > 0 ? 1 : 0 };
    if (first > 0)
        lw_grid_fill(grid, edge, 0x2191, LW_ROLE_KEY);
    edge.y = rect.y + rect.h - 1;
    if (first + rect.h < n)
        lw_grid_fill(grid, edge, 0x2193, LW_ROLE_KEY);
}
