/* SPDX-License-Identifier: MIT
 *
 * The last row: the filter while it is typed, the answer to the last key, else the keys of this page.
 */
#include "loomwatch/ui/views.h"

static bool is_shown(const struct lw_key *key, const struct lw_view_state *state)
{
    if (!key->label || !(key->pages >> state->page & 1))
        return false;
    return key->action != LW_ACTION_BENCH || state->n_bench > 0;
}

static int key_columns(const struct lw_key *key)
{
    return lw_text_columns(key->cap) + 1 + lw_text_columns(key->label) + 2;
}

static int put_key(const struct lw_key *key, enum lw_page page, struct lw_rect rect, int x, struct lw_grid *grid)
{
    bool is_bench_enter = key->action == LW_ACTION_OPEN && page == LW_PAGE_BENCH;
    x = lw_grid_put(grid, rect, x, 0, LW_ROLE_KEY, key->cap);
    return lw_grid_put(grid, rect, x + 1, 0, LW_ROLE_NORMAL, is_bench_enter ? "do it" : key->label) + 2;
}

/* Help and quit, the last of the table, keep their place at the right however little room there is. */
static void put_keys(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    size_t n_left = lw_n_keys - 2;
    int right = rect.w - key_columns(&lw_keys[n_left]) - key_columns(&lw_keys[n_left + 1]), x = 1;
    for (size_t i = 0; i < n_left; i++)
        if (is_shown(&lw_keys[i], state) && x + key_columns(&lw_keys[i]) <= right)
            x = put_key(&lw_keys[i], state->page, rect, x, grid);
    x = put_key(&lw_keys[n_left], state->page, rect, right, grid);
    put_key(&lw_keys[n_left + 1], state->page, rect, x, grid);
}

void lw_view_footer(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    if (state->is_typing_filter) {
        int x = lw_grid_print(grid, rect, 1, 0, LW_ROLE_STRONG, "show only: %s_", state->filter);
        lw_grid_put(grid, rect, x + 3, 0, LW_ROLE_DIM, "Enter keeps it, Esc drops it");
    } else if (state->message[0] != '\0') {
        lw_grid_put(grid, rect, 1, 0, LW_ROLE_STRONG, state->message);
    } else {
        put_keys(state, rect, grid);
    }
}
