/* SPDX-License-Identifier: MIT
 *
 * The messages that need a look, worst first, each with what is wrong and what was expected.
 */
#include "loomwatch/core/text.h"
#include "loomwatch/ui/tile_look.h"
#include "loomwatch/ui/views.h"

#include <stdio.h>

/* Walks the tiles by urgency, most urgent first. Returns the nth that passes, or NULL. */
static const struct lw_tile *nth(const struct lw_snapshot *snapshot, const struct lw_view_state *state, int n)
{
    for (int urgency = LW_MOST_URGENT; urgency > 0; urgency--)
        for (size_t i = 0; i < snapshot->n_tiles; i++) {
            const struct lw_tile *tile = &snapshot->tiles[i];
            if (tile->conditions == 0 || lw_tile_look(tile).urgency != urgency || !lw_view_state_passes(state, tile))
                continue;
            if (n-- == 0)
                return tile;
        }
    return NULL;
}

int lw_view_attention_count(const struct lw_snapshot *snapshot, const struct lw_view_state *state)
{
    int n = 0;
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        n += snapshot->tiles[i].conditions != 0 && lw_view_state_passes(state, &snapshot->tiles[i]);
    return n;
}

/* What is wrong, in words: "silent, was every 100 ms". */
static void explain(const struct lw_tile *tile, char *buf, size_t size)
{
    char now[LW_NUMBER_TEXT], jitter[LW_NUMBER_TEXT], was[LW_NUMBER_TEXT];
    char lengths[3 * LW_NUMBER_TEXT], expected[3 * LW_NUMBER_TEXT];
    lw_text_duration(tile->period_ns, now);
    lw_text_jitter(tile->jitter_ns, tile->period_ns, jitter);
    lw_text_duration(tile->expected_period_ns, was);
    lw_text_lengths(tile->dlc_seen, lengths);
    lw_text_lengths(tile->expected_dlc, expected);
    if ((tile->conditions & LW_ABSENT) && (tile->conditions & LW_UNEXPECTED))
        snprintf(buf, size, "new, has stopped again; came every %s", now);
    else if (tile->conditions & (LW_ABSENT | LW_LATE))
        snprintf(buf, size, "%s, should come every %s", tile->is_heard ? "stopped" : "never heard", was);
    else if (tile->conditions & LW_SECOND_SENDER)
        snprintf(buf, size, "twice as often as %s%s: a second sender?", tile->expected_period_ns ? "every " : "before",
                 tile->expected_period_ns ? was : "");
    else if (tile->conditions & LW_LENGTH_CHANGED)
        snprintf(buf, size, "length %s seen, expected %s", lengths, expected);
    else if (tile->conditions & LW_PERIOD_CHANGED)
        snprintf(buf, size, "every %s, expected %s", now, was);
    else if (tile->period_ns != 0)
        snprintf(buf, size, "every %s ±%s, length %s", now, jitter, lengths);
    else
        snprintf(buf, size, "%llu so far, length %s", (unsigned long long)tile->n_frames, lengths);
}

static uint64_t since_ns(const struct lw_snapshot *snapshot, const struct lw_tile *tile)
{
    uint64_t since = tile->conditions & LW_ABSENT && tile->is_heard ? tile->last_seen_ns : tile->condition_since_ns;
    uint64_t start = snapshot->buses[tile->key.bus].start_ns;
    return since > start ? since - start : 0;
}

static void put_line(const struct lw_snapshot *snapshot, const struct lw_view_state *state, const struct lw_tile *tile,
                     struct lw_rect rect, int y, struct lw_grid *grid)
{
    char id[LW_ID_TEXT], clock[LW_NUMBER_TEXT], text[128];
    struct lw_tile_look look = lw_tile_look(tile);
    struct lw_rect glyph = { rect.x + 1, rect.y + y, rect.w > 1 ? 1 : 0, 1 };
    bool is_chosen = state->has_choice && lw_id_key_equal(tile->key, state->choice);
    explain(tile, text, sizeof(text));
    lw_grid_fill(grid, glyph, look.glyph, look.role);
    int x = lw_grid_print(grid, rect, 3, y, is_chosen ? LW_ROLE_CHOSEN : LW_ROLE_STRONG, "%s", lw_id_text(tile->key, id));
    if (snapshot->n_buses > 1)
        x = lw_grid_print(grid, rect, x + 1, y, LW_ROLE_DIM, "%s", snapshot->buses[tile->key.bus].name);
    x = lw_grid_print(grid, rect, x + 2, y, look.role, "%-12s", look.word);
    x = lw_grid_print(grid, rect, x + 1, y, LW_ROLE_NORMAL, "since %-7s %s",
                      lw_text_clock(since_ns(snapshot, tile), clock), text);
    if (tile->name[0] != '\0')
        lw_grid_print(grid, rect, x + 2, y, LW_ROLE_DIM, "%s", tile->name);
}

void lw_view_attention(const struct lw_snapshot *snapshot, const struct lw_view_state *state, struct lw_rect rect,
                       struct lw_grid *grid)
{
    int n = lw_view_attention_count(snapshot, state);
    bool has_more = n > rect.h;
    for (int y = 0; y < rect.h && y < n; y++) {
        if (has_more && y == rect.h - 1) {
            lw_grid_print(grid, rect, 3, y, LW_ROLE_ALARM, "and %d more", n - y);
            return;
        }
        put_line(snapshot, state, nth(snapshot, state, y), rect, y, grid);
    }
}
