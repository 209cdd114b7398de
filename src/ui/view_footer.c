/* SPDX-License-Identifier: MIT
 *
 * The last row: the filter while it is typed, the answer to the last key, else the keys of this page.
 */
#include "loomwatch/ui/views.h"

/* What only the drawn bench can do is not offered elsewhere; where Esc leads back, the page's own key needs no room. */
static bool is_shown(const struct lw_key *key, const struct lw_view_state *state)
{
    enum lw_page page = lw_view_state_keys_page(state);
    if (!key->label || !(key->pages >> page & 1))
        return false;
    switch (key->action) {
    case LW_ACTION_SUPPLY: case LW_ACTION_MEND: return state->picture != NULL;
    case LW_ACTION_BITS: return state->picture && page != LW_PAGE_BITS;
    case LW_ACTION_BENCH: return state->picture ? page != LW_PAGE_BENCH && page != LW_PAGE_BITS : state->n_bench > 0;
    default: return true;
    }
}

static const char *label_of(const struct lw_key *key, const struct lw_view_state *state)
{
    enum lw_page page = lw_view_state_keys_page(state);
    if (key->action == LW_ACTION_OPEN && page == LW_PAGE_BENCH)
        return state->picture ? "menu" : "do it";
    if (key->action == LW_ACTION_OPEN && page == LW_PAGE_BITS)
        return "zoom";
    if (key->action == LW_ACTION_OPEN && page == LW_PAGE_CALC)
        return "type";
    if (key->action == LW_ACTION_PAUSE && page == LW_PAGE_BITS)
        return state->on_bench.is_held ? "go on" : "hold";
    if (key->action == LW_ACTION_LAST_ERROR && state->on_bench.shows_last_error)
        return "latest";
    return key->label;
}

static int key_columns(const struct lw_key *key, const struct lw_view_state *state)
{
    return lw_text_columns(key->cap) + 1 + lw_text_columns(label_of(key, state)) + 2;
}

static int put_key(const struct lw_key *key, const struct lw_view_state *state, struct lw_rect rect, int x,
                   struct lw_grid *grid)
{
    x = lw_grid_put(grid, rect, x, 0, LW_ROLE_KEY, key->cap);
    return lw_grid_put(grid, rect, x + 1, 0, LW_ROLE_NORMAL, label_of(key, state)) + 2;
}

/* Help and quit, the last of the table, keep their place at the right however little room there is. */
static void put_keys(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    size_t n_left = lw_n_keys - 2;
    int right = rect.w - key_columns(&lw_keys[n_left], state) - key_columns(&lw_keys[n_left + 1], state), x = 1;
    for (size_t i = 0; i < n_left; i++)
        if (is_shown(&lw_keys[i], state) && x + key_columns(&lw_keys[i], state) <= right)
            x = put_key(&lw_keys[i], state, rect, x, grid);
    x = put_key(&lw_keys[n_left], state, rect, right, grid);
    put_key(&lw_keys[n_left + 1], state, rect, x, grid);
}

void lw_view_footer(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    if (state->is_typing_filter) {
        int x = lw_grid_print(grid, rect, 1, 0, LW_ROLE_STRONG, "show only: %s_", state->filter);
        lw_grid_put(grid, rect, x + 3, 0, LW_ROLE_DIM, "Enter keeps it, Esc drops it");
    } else if (state->is_typing_reading) {
        int x = lw_grid_print(grid, rect, 1, 0, LW_ROLE_STRONG, "reading: %s_", state->reading);
        lw_grid_put(grid, rect, x + 3, 0, LW_ROLE_DIM, "120 ohm (supply off), open, H 3.9 V, L 2.1 V; Esc drops it");
    } else if (state->is_choosing_mark) {
        lw_grid_put(grid, rect, 1, 0, LW_ROLE_STRONG, "done: p plugged in  u unplugged  c configured  w wiggled  Enter just a mark");
    } else if (state->page == LW_PAGE_BENCH && state->picture && state->on_bench.mode == LW_BENCH_VALUE) {
        lw_grid_put(grid, rect, 1, 0, LW_ROLE_STRONG, "type a value, or Enter for the one shown; Esc goes back");
    } else if (state->page == LW_PAGE_CALC && state->calc.is_editing) {
        lw_grid_put(grid, rect, 1, 0, LW_ROLE_STRONG, "type a value with its unit; Enter takes it, Esc drops it");
    } else if (state->message[0] != '\0') {
        lw_grid_put(grid, rect, 1, 0, LW_ROLE_STRONG, state->message);
    } else {
        put_keys(state, rect, grid);
    }
}
