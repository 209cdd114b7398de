/* SPDX-License-Identifier: MIT
 *
 * Choosing and filtering messages.
 */
#include "loomwatch/ui/view_state.h"

#include "loomwatch/ui/tile_look.h"

#include <string.h>

void lw_view_state_init(struct lw_view_state *state)
{
    memset(state, 0, sizeof(*state));
    state->columns_of_wall = 1;
    state->is_fast_phase = state->is_slow_phase = true;
}

enum lw_page lw_view_state_keys_page(const struct lw_view_state *state)
{
    bool has_bits = state->page == LW_PAGE_BENCH && state->picture && state->on_bench.mode == LW_BENCH_BITS;
    return has_bits ? LW_PAGE_BITS : state->page;
}

bool lw_view_state_passes(const struct lw_view_state *state, const struct lw_tile *tile)
{
    char id[LW_ID_TEXT];
    if (state->filter[0] == '\0')
        return true;
    return strcasestr(lw_id_text(tile->key, id), state->filter) || strcasestr(tile->name, state->filter)
        || strcasestr(lw_tile_look(tile).word, state->filter);
}

/* Positions of the tiles that pass, and of the chosen one among them; -1 = none. */
static size_t passing(const struct lw_view_state *state, const struct lw_snapshot *snapshot, size_t out[LW_MAX_IDS],
                      long *chosen)
{
    size_t n = 0;
    *chosen = -1;
    for (size_t i = 0; i < snapshot->n_tiles; i++) {
        if (!lw_view_state_passes(state, &snapshot->tiles[i]))
            continue;
        if (state->has_choice && lw_id_key_equal(snapshot->tiles[i].key, state->choice))
            *chosen = (long)n;
        out[n++] = i;
    }
    return n;
}

static long moved(long from, enum lw_action direction, long columns, long n)
{
    long to = from;
    switch (direction) {
    case LW_ACTION_LEFT: to = from - 1; break;
    case LW_ACTION_RIGHT: to = from + 1; break;
    case LW_ACTION_UP: to = from - columns; break;
    case LW_ACTION_DOWN: to = from + columns; break;
    case LW_ACTION_FIRST: return 0;
    case LW_ACTION_LAST: return n - 1;
    default: break;
    }
    return to < 0 || to >= n ? from : to;
}

void lw_view_state_choose(struct lw_view_state *state, const struct lw_snapshot *snapshot, enum lw_action direction)
{
    size_t tiles[LW_MAX_IDS];
    long chosen;
    size_t n = passing(state, snapshot, tiles, &chosen);
    if (n == 0)
        return;
    long to = chosen < 0 ? (direction == LW_ACTION_LAST ? (long)n - 1 : 0)
                         : moved(chosen, direction, state->columns_of_wall, (long)n);
    state->choice = snapshot->tiles[tiles[to]].key;
    state->has_choice = true;
}

void lw_view_state_choose_worst(struct lw_view_state *state, const struct lw_snapshot *snapshot)
{
    int worst = -1;
    for (size_t i = 0; i < snapshot->n_tiles; i++) {
        const struct lw_tile *tile = &snapshot->tiles[i];
        if (!lw_view_state_passes(state, tile) || lw_tile_look(tile).urgency <= worst)
            continue;
        worst = lw_tile_look(tile).urgency;
        state->choice = tile->key;
        state->has_choice = true;
    }
}

static void type(char *text, size_t size, int code)
{
    size_t n = strlen(text);
    if (code == LW_KEY_BACKSPACE && n > 0) {
        text[n - 1] = '\0';
    } else if (code >= ' ' && code < 0x7F && n + 1 < size) {
        text[n] = (char)code;
        text[n + 1] = '\0';
    }
}

bool lw_view_state_type_reading(struct lw_view_state *state, int code)
{
    if (code == LW_KEY_ENTER || code == LW_KEY_ESCAPE)
        state->is_typing_reading = false;
    else
        type(state->reading, sizeof(state->reading), code);
    return code == LW_KEY_ENTER && state->reading[0] != '\0';
}

bool lw_view_state_choose_mark(struct lw_view_state *state, int code, enum lw_mark *out)
{
    static const struct { int code; enum lw_mark mark; } offered[] = {
        { 'p', LW_MARK_PLUGGED }, { 'u', LW_MARK_UNPLUGGED }, { 'c', LW_MARK_CONFIGURED }, { 'w', LW_MARK_WIGGLED },
        { LW_KEY_ENTER, LW_MARK_PLAIN }, { 'm', LW_MARK_PLAIN },
    };
    state->is_choosing_mark = false;
    for (size_t i = 0; i < sizeof(offered) / sizeof(offered[0]); i++)
        if (offered[i].code == code) {
            *out = offered[i].mark;
            return true;
        }
    return false;
}

void lw_view_state_type_filter(struct lw_view_state *state, int code)
{
    if (code == LW_KEY_ENTER || code == LW_KEY_ESCAPE) {
        state->is_typing_filter = false;
        if (code == LW_KEY_ESCAPE)
            state->filter[0] = '\0';
    } else {
        type(state->filter, sizeof(state->filter), code);
    }
}
