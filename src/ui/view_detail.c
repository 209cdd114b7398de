/* SPDX-License-Identifier: MIT
 *
 * One message in full: rhythm, expectation, counters, gaps as a plot, and which bits move.
 */
#include "loomwatch/core/text.h"
#include "loomwatch/ui/glyphs.h"
#include "loomwatch/ui/views.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { CAPTION = 9, BITS_NOW_MS = 2000, BYTE_COLUMNS = 9, PLOT_ROWS = 3, WIDE_PLOT = 100 };

static void caption(struct lw_grid *grid, struct lw_rect *rect, const char *text, struct lw_rect *row)
{
    *row = lw_rect_take_top(rect, 1);
    lw_grid_put(grid, *row, 1, 0, LW_ROLE_DIM, text);
    lw_rect_take_left(row, CAPTION + 1);
}

static void put_title(const struct lw_snapshot *snapshot, struct lw_rect row, struct lw_grid *grid)
{
    char id[LW_ID_TEXT], text[160];
    const struct lw_id_entry *entry = &snapshot->detail;
    const struct lw_expected *expected = &snapshot->detail_expected;
    bool has_name = snapshot->has_detail_expected && expected->name[0] != '\0';
    snprintf(text, sizeof(text), "%s on %s%s%s", lw_id_text(entry->key, id), snapshot->buses[entry->key.bus].name,
             has_name ? " · " : "", has_name ? expected->name : "");
    lw_grid_put_rule(grid, row, text);
}

static void put_rhythm(const struct lw_snapshot *snapshot, struct lw_rect *rect, struct lw_grid *grid)
{
    const struct lw_period *period = &snapshot->detail.period;
    const struct lw_expected *expected = &snapshot->detail_expected;
    char a[LW_NUMBER_TEXT], b[LW_NUMBER_TEXT], c[LW_NUMBER_TEXT], lengths[3 * LW_NUMBER_TEXT];
    struct lw_rect row;
    caption(grid, rect, "now", &row);
    int x = period->rhythm == LW_RHYTHM_EVENT
        ? lw_grid_put(grid, row, 0, 0, LW_ROLE_STRONG, "on event")
        : lw_grid_print(grid, row, 0, 0, LW_ROLE_STRONG, "every %s ±%s, %s", lw_text_duration(period->period_ns, a),
                        lw_text_jitter(period->jitter_ns, period->period_ns, b), lw_rhythm_name(period->rhythm));
    lw_grid_print(grid, row, x + 3, 0, LW_ROLE_NORMAL, "length %s   gaps %s to %s",
                  lw_text_lengths(snapshot->detail.dlc_seen, lengths), lw_text_duration(period->shortest_ns, b),
                  lw_text_duration(period->longest_ns, c));
    caption(grid, rect, "should", &row);
    if (!snapshot->has_detail_expected) {
        lw_grid_put(grid, row, 0, 0, LW_ROLE_NORMAL, snapshot->has_baseline ? "not in the baseline" : "no baseline yet");
        return;
    }
    x = expected->period_ns == 0
        ? lw_grid_put(grid, row, 0, 0, LW_ROLE_NORMAL, lw_rhythm_name(expected->rhythm))
        : lw_grid_print(grid, row, 0, 0, LW_ROLE_NORMAL, "every %s ±%s, %s", lw_text_duration(expected->period_ns, a),
                        lw_text_duration(expected->tolerance_ns, b), lw_rhythm_name(expected->rhythm));
    lw_grid_print(grid, row, x + 3, 0, LW_ROLE_NORMAL, "length %s%s", lw_text_lengths(expected->dlc_seen, lengths),
                  expected->may_pause ? "   may pause" : "");
}

static void put_counters(const struct lw_snapshot *snapshot, struct lw_rect *rect, struct lw_grid *grid)
{
    const struct lw_id_entry *entry = &snapshot->detail;
    uint64_t start = snapshot->buses[entry->key.bus].start_ns;
    char first[LW_NUMBER_TEXT], last[LW_NUMBER_TEXT];
    struct lw_rect row;
    caption(grid, rect, "heard", &row);
    if (entry->n_frames == 0)
        lw_grid_put(grid, row, 0, 0, LW_ROLE_ALARM, "never on this watch");
    else
        lw_grid_print(grid, row, 0, 0, LW_ROLE_NORMAL, "%" PRIu64 " times, %u/s, first %s, last %s", entry->n_frames,
                      entry->rate_hz, lw_text_clock_tenths(entry->first_seen_ns - start, first),
                      lw_text_clock_tenths(entry->last_seen_ns - start, last));
    caption(grid, rect, "trouble", &row);
    lw_grid_print(grid, row, 0, 0, LW_ROLE_NORMAL, "cycles missed %" PRIu64 "   absences %" PRIu64
                  "   length changes %" PRIu64 "   doubled %" PRIu64, entry->n_missed, entry->n_absences,
                  entry->n_length_changes, entry->n_second_sender);
    if (entry->n_remote + entry->n_fd + entry->n_own == 0)
        return;
    caption(grid, rect, "of these", &row);
    lw_grid_print(grid, row, 0, 0, LW_ROLE_NORMAL, "remote %" PRIu64 "   FD %" PRIu64
                  "   sent by this computer %" PRIu64, entry->n_remote, entry->n_fd, entry->n_own);
}

/* Who sends it, as far as told or inferred, and what else comes from there. */
static void put_unit(const struct lw_snapshot *snapshot, struct lw_rect *rect, struct lw_grid *grid)
{
    char id[LW_ID_TEXT];
    struct lw_rect row;
    const struct lw_tile *own = NULL;
    caption(grid, rect, "unit", &row);
    for (size_t i = 0; i < snapshot->n_tiles && !own; i++)
        if (lw_id_key_equal(snapshot->tiles[i].key, snapshot->detail.key))
            own = &snapshot->tiles[i];
    if (!own || own->unit[0] == '\0') {
        lw_grid_put(grid, row, 0, 0, LW_ROLE_NORMAL, "not told apart: units are known once they come or go");
        return;
    }
    int x = lw_grid_put(grid, row, 0, 0, LW_ROLE_STRONG, own->unit);
    const char *before = ", with";
    for (size_t i = 0; i < snapshot->n_tiles; i++) {
        const struct lw_tile *tile = &snapshot->tiles[i];
        if (tile == own || tile->key.bus != own->key.bus || strcmp(tile->unit, own->unit) != 0)
            continue;
        bool has_room = x + (int)strlen(before) + LW_ID_TEXT + 1 < row.w;
        x = lw_grid_print(grid, row, x, 0, LW_ROLE_NORMAL, "%s %s", before, has_room ? lw_id_text(tile->key, id) : "…");
        before = "";
        if (!has_room)
            return;
    }
}

/* Bars of the newest gaps; the scale is twice the period, so that a steady message is a half-high band. */
static void put_gaps(const struct lw_snapshot *snapshot, struct lw_rect *rect, struct lw_grid *grid)
{
    uint32_t gaps[LW_PERIOD_GAPS];
    size_t n = lw_period_history(&snapshot->detail.period, gaps);
    uint64_t full = 2 * snapshot->detail.period.period_ns / 1000;
    char number[LW_NUMBER_TEXT];
    int pitch = rect->w >= WIDE_PLOT ? 2 : 1;
    struct lw_rect plot = lw_rect_take_top(rect, PLOT_ROWS);
    lw_grid_put(grid, plot, 1, 0, LW_ROLE_DIM, "gaps");
    lw_rect_take_left(&plot, CAPTION);
    if (full == 0 || n == 0) {
        lw_grid_put(grid, plot, 0, 0, LW_ROLE_DIM, "—");
        return;
    }
    for (size_t i = 0; i < n; i++) {
        int level = gaps[i] >= full ? PLOT_ROWS * LW_N_BARS : (int)((uint64_t)gaps[i] * (PLOT_ROWS * LW_N_BARS) / full);
        for (int row = 0; row < plot.h; row++) {
            int x = (int)i * pitch, here = level - (PLOT_ROWS - 1 - row) * LW_N_BARS;
            struct lw_rect cell = { plot.x + x, plot.y + row, x < plot.w ? 1 : 0, 1 };
            lw_grid_fill(grid, cell, lw_glyph_bar(here), gaps[i] >= full ? LW_ROLE_ALARM : LW_ROLE_PLOT);
        }
    }
    int x = (int)n * pitch + 1;
    lw_grid_print(grid, plot, x, 0, LW_ROLE_DIM, "%s", lw_text_duration(full * 1000, number));
    lw_grid_put(grid, plot, x, PLOT_ROWS - 1, LW_ROLE_DIM, "0, newest right");
}

static void put_byte(const struct lw_id_entry *entry, size_t byte, struct lw_rect cell, struct lw_grid *grid)
{
    uint32_t now_ms = (uint32_t)((entry->last_seen_ns - entry->first_seen_ns) / 1000000);
    lw_grid_print(grid, cell, 0, 0, LW_ROLE_STRONG, "%02X", entry->last_data[byte]);
    lw_grid_print(grid, cell, 3, 0, LW_ROLE_DIM, "%zu", byte);
    for (int bit = 0; bit < 8; bit++) {
        bool has_changed = entry->bits_changed[byte] >> bit & 1;
        bool is_now = has_changed && now_ms - entry->bit_changed_ms[8 * byte + (size_t)bit] < BITS_NOW_MS;
        struct lw_rect dot = { cell.x + 7 - bit, cell.y + 1, 7 - bit < cell.w ? 1 : 0, cell.h > 1 ? 1 : 0 };
        lw_grid_fill(grid, dot, is_now ? LW_GLYPH_BIT_NOW : has_changed ? LW_GLYPH_BIT_EVER : LW_GLYPH_BIT_NEVER,
                     is_now ? LW_ROLE_STRONG : has_changed ? LW_ROLE_NORMAL : LW_ROLE_DIM);
    }
}

static void put_data(const struct lw_snapshot *snapshot, struct lw_rect rect, struct lw_grid *grid)
{
    const struct lw_id_entry *entry = &snapshot->detail;
    lw_grid_put(grid, rect, 1, 0, LW_ROLE_DIM, "data");
    lw_grid_put(grid, rect, 1, 1, LW_ROLE_DIM, "bits");
    lw_rect_take_left(&rect, CAPTION);
    int per_row = (rect.w + 1) / BYTE_COLUMNS;
    if (entry->n_frames == entry->n_remote || per_row <= 0)
        return;
    per_row = per_row >= 16 ? 16 : per_row >= 8 ? 8 : 4;
    for (size_t byte = 0; byte < entry->last_len; byte++) {
        int x = (int)byte % per_row * BYTE_COLUMNS, y = (int)byte / per_row * 2;
        struct lw_rect cell = { rect.x + x, rect.y + y, rect.w - x, rect.h - y > 2 ? 2 : rect.h - y };
        if (y < rect.h)
            put_byte(entry, byte, cell, grid);
    }
    int rows = (entry->last_len + per_row - 1) / per_row * 2;
    if (rows + 1 < rect.h)
        lw_grid_put(grid, rect, 0, rows, LW_ROLE_DIM, "▪ changed in the last 2 s   ▫ changed before   · never");
}

void lw_view_detail(const struct lw_snapshot *snapshot, struct lw_rect rect, struct lw_grid *grid)
{
    if (!snapshot->has_detail) {
        lw_grid_put(grid, rect, 1, 0, LW_ROLE_NORMAL, "No message is chosen. Esc goes back.");
        return;
    }
    put_title(snapshot, lw_rect_take_top(&rect, 1), grid);
    put_rhythm(snapshot, &rect, grid);
    put_unit(snapshot, &rect, grid);
    put_counters(snapshot, &rect, grid);
    put_gaps(snapshot, &rect, grid);
    put_data(snapshot, rect, grid);
}
