/* SPDX-License-Identifier: MIT
 *
 * The two things always on top: what is watched, and how each bus is.
 */
#include "loomwatch/core/text.h"
#include "loomwatch/ui/glyphs.h"
#include "loomwatch/ui/views.h"

#include <inttypes.h>
#include <stdio.h>

enum { WIDE = 110, STATE_COLUMNS = 15, PLOT_COLUMNS = 12, ROOM_FOR_HISTORY = 20, TOO_WIDE = 10000 };

/* The clock on the screen stands where something was last heard or told: an idle bus leaves the screen as it is. */
static uint64_t last_heard_ns(const struct lw_snapshot *snapshot)
{
    uint64_t latest = 0;
    for (unsigned i = 0; i < snapshot->n_buses; i++) {
        const struct lw_bus_view *bus = &snapshot->buses[i];
        uint64_t error_ns = bus->controller.error_frames.last_ns;
        uint64_t last_ns = error_ns > bus->last_frame_ns ? error_ns : bus->last_frame_ns;
        uint64_t elapsed = last_ns > bus->start_ns ? last_ns - bus->start_ns : 0;
        latest = elapsed > latest ? elapsed : latest;
    }
    return latest;
}

static bool has_ended(const struct lw_snapshot *snapshot)
{
    for (unsigned i = 0; i < snapshot->n_buses; i++)
        if (!snapshot->buses[i].has_ended)
            return false;
    return snapshot->n_buses > 0;
}

void lw_view_heading(const struct lw_snapshot *snapshot, const struct lw_view_state *state, struct lw_rect rect,
                     struct lw_grid *grid)
{
    char clock[LW_NUMBER_TEXT];
    int x = lw_grid_put(grid, rect, 1, 0, LW_ROLE_TITLE, "loomwatch");
    x = lw_grid_print(grid, rect, x + 2, 0, LW_ROLE_NORMAL, "%s", lw_text_clock(last_heard_ns(snapshot), clock));
    if (!snapshot->has_baseline)
        x = lw_grid_put(grid, rect, x + 3, 0, LW_ROLE_CAUTION, "no baseline");
    else if (snapshot->is_baseline_from_file)
        x = lw_grid_print(grid, rect, x + 3, 0, LW_ROLE_NORMAL, "baseline from file, %u message%s",
                          snapshot->counts.n_expected, snapshot->counts.n_expected == 1 ? "" : "s");
    else
        x = lw_grid_print(grid, rect, x + 3, 0, LW_ROLE_NORMAL, "baseline of %s, %u message%s",
                          lw_text_clock(snapshot->baseline_elapsed_ns, clock), snapshot->counts.n_expected,
                          snapshot->counts.n_expected == 1 ? "" : "s");
    if (snapshot->has_mark)
        x = lw_grid_print(grid, rect, x + 3, 0, LW_ROLE_NORMAL, "mark %s",
                          lw_text_clock(snapshot->mark_elapsed_ns, clock));
    char right[LW_MESSAGE_MAX + 16];
    snprintf(right, sizeof(right), "%s%s%s ", state->is_muted ? "muted  " : "", state->record[0] ? "rec " : "",
             state->record);
    if (x + lw_text_columns(right) < rect.w)
        lw_grid_put_right(grid, rect, 0, LW_ROLE_CAUTION, right);
    if (has_ended(snapshot)) {
        lw_grid_fill(grid, rect, ' ', LW_ROLE_PAUSED);
        lw_grid_print(grid, rect, 1, 0, LW_ROLE_PAUSED, "ENDED at %s   nothing more comes: this is how it stood then",
                      lw_text_clock(snapshot->elapsed_ns, clock));
    }
    if (state->is_paused) {
        lw_grid_fill(grid, rect, ' ', LW_ROLE_PAUSED);
        lw_grid_print(grid, rect, 1, 0, LW_ROLE_PAUSED, "PAUSED at %s   watching goes on: %" PRIu64
                      " frames and %" PRIu64 " s behind   Space goes on",
                      lw_text_clock(state->paused_elapsed_ns, clock), state->n_behind,
                      state->behind_ns / UINT64_C(1000000000));
    }
}

static enum lw_role state_role(enum lw_bus_state state)
{
    switch (state) {
    case LW_STATE_ERROR_ACTIVE: return LW_ROLE_GOOD;
    case LW_STATE_ERROR_WARNING: return LW_ROLE_CAUTION;
    case LW_STATE_ERROR_PASSIVE:
    case LW_STATE_BUS_OFF: return LW_ROLE_ALARM;
    default: return LW_ROLE_DIM;
    }
}

static const char *state_word(const struct lw_bus_view *bus)
{
    const struct lw_controller *controller = &bus->controller;
    const struct lw_link *link = &controller->link;
    if (bus->has_ended)
        return "ended";
    if (controller->has_link && !link->is_present)
        return "gone";
    if (controller->has_link && !link->is_up)
        return "down";
    if (controller->state == LW_STATE_UNKNOWN)
        return controller->has_link && link->controller == LW_CONTROLLER_NONE ? "no controller" : "state unknown";
    return lw_bus_state_name(controller->state);
}

/* A small plot of the newest seconds, scaled to its own highest or to full. Blank where nothing is known. */
static int plot(struct lw_grid *grid, struct lw_rect rect, int x, int y, const uint16_t history[LW_HISTORY],
                uint32_t n_history, unsigned full)
{
    unsigned highest = full;
    for (int i = 0; i < LW_HISTORY; i++)
        if (history[i] > highest)
            highest = history[i];
    for (int i = 0; i < PLOT_COLUMNS; i++) {
        int second = LW_HISTORY - PLOT_COLUMNS + i;
        bool is_valid = (uint32_t)(LW_HISTORY - second) <= n_history;
        int level = is_valid && highest > 0 ? (int)((history[second] * LW_N_BARS + highest - 1) / highest) : 0;
        struct lw_rect cell = { rect.x + x + i, rect.y + y, x + i < rect.w ? 1 : 0, 1 };
        lw_grid_fill(grid, cell, lw_glyph_bar(level), LW_ROLE_PLOT);
    }
    return x + PLOT_COLUMNS;
}

static int counter(struct lw_grid *grid, struct lw_rect rect, int x, int y, const char *caption,
                   struct lw_reading reading)
{
    char number[LW_NUMBER_TEXT];
    enum lw_role role = !reading.is_known ? LW_ROLE_DIM : reading.value >= 96 ? LW_ROLE_ALARM : LW_ROLE_STRONG;
    x = lw_grid_put(grid, rect, x, y, LW_ROLE_DIM, caption);
    return lw_grid_put(grid, rect, x + 1, y, role, lw_text_reading(reading, number)) + 4
        - lw_text_columns(number);
}

/* Padded by hand: the dash for unknown is three bytes and one column. Thousands stand for what is too wide for its column. */
static int put_count(struct lw_grid *grid, struct lw_rect rect, int x, int y, int width, struct lw_reading reading,
                     enum lw_role role)
{
    char number[LW_NUMBER_TEXT];
    lw_text_reading(reading, number);
    if (width < 0 && reading.is_known && reading.value >= TOO_WIDE)
        snprintf(number, sizeof(number), "%lluk", (unsigned long long)reading.value / 1000);
    int columns = lw_text_columns(number);
    int before = width > columns ? width - columns : 0, after = -width > columns ? -width - columns : width < 0;
    return lw_grid_put(grid, rect, x + before, y, reading.is_known ? role : LW_ROLE_DIM, number) + after;
}

static void one_bus(const struct lw_bus_view *bus, struct lw_rect rect, int y, int name_columns, struct lw_grid *grid)
{
    char text[LW_NUMBER_TEXT];
    bool is_wide = rect.w >= WIDE;
    int x = lw_grid_print(grid, rect, 1, y, LW_ROLE_STRONG, "%-*.*s", name_columns, name_columns, bus->name);
    if (is_wide)
        x = lw_grid_print(grid, rect, x + 1, y, LW_ROLE_NORMAL, "%-11s", lw_text_bit_rate(bus->bit_rate_bps, text));
    enum lw_role role = state_role(bus->controller.state);
    lw_grid_put(grid, rect, x + 1, y, role, state_word(bus));
    x = counter(grid, rect, x + STATE_COLUMNS + 1, y, "TEC", bus->controller.tec);
    x = counter(grid, rect, x, y, "REC", bus->controller.rec);
    x = lw_grid_put(grid, rect, x, y, LW_ROLE_DIM, "load");
    lw_grid_put(grid, rect, x + 1, y, LW_ROLE_STRONG, lw_text_permille(bus->load_permille, text));
    x += 8;
    if (is_wide)
        x = plot(grid, rect, x, y, bus->load_history, bus->load_permille.is_known ? bus->n_history : 0, 1000) + 1;
    x = put_count(grid, rect, x, y, 5, bus->frames_hz, LW_ROLE_STRONG);
    x = lw_grid_put(grid, rect, x, y, LW_ROLE_DIM, "/s ");
    if (is_wide)
        x = plot(grid, rect, x, y, bus->frames_history, bus->n_history, 0) + 1;
    bool has_errors = bus->controller.bus_errors.n > 0;
    x = lw_grid_put(grid, rect, x, y, LW_ROLE_DIM, "errors");
    struct lw_reading errors = bus->can_tell_errors ? LW_KNOWN(bus->controller.bus_errors.n) : LW_UNKNOWN;
    x = put_count(grid, rect, x + 1, y, -4, errors, has_errors ? LW_ROLE_ALARM : LW_ROLE_STRONG);
    if (is_wide)
        x = plot(grid, rect, x, y, bus->errors_history, bus->n_history, 0) + 1;
    x = lw_grid_put(grid, rect, x, y, LW_ROLE_DIM, "lost");
    struct lw_reading lost = bus->can_tell_losses ? LW_KNOWN(bus->n_lost) : LW_UNKNOWN;
    put_count(grid, rect, x + 1, y, 0, lost, bus->n_lost > 0 ? LW_ROLE_ALARM : LW_ROLE_STRONG);
}

/* The histories of a bus, each with its caption, in a row of their own. */
static void history_row(const struct lw_bus_view *bus, struct lw_rect rect, int y, struct lw_grid *grid)
{
    char text[LW_NUMBER_TEXT];
    int x = lw_grid_print(grid, rect, 1, y, LW_ROLE_NORMAL, "%-11s", lw_text_bit_rate(bus->bit_rate_bps, text));
    x = lw_grid_put(grid, rect, x + 1, y, LW_ROLE_DIM, "load ");
    x = plot(grid, rect, x, y, bus->load_history, bus->load_permille.is_known ? bus->n_history : 0, 1000);
    x = lw_grid_put(grid, rect, x, y, LW_ROLE_DIM, " frames ");
    x = plot(grid, rect, x, y, bus->frames_history, bus->n_history, 0);
    x = lw_grid_put(grid, rect, x, y, LW_ROLE_DIM, " errors ");
    x = plot(grid, rect, x, y, bus->errors_history, bus->n_history, 0);
    lw_grid_put(grid, rect, x, y, LW_ROLE_DIM, " 12 s");
}

int lw_view_vitals_rows(const struct lw_snapshot *snapshot, struct lw_rect rect)
{
    bool has_history_row = snapshot->n_buses == 1 && rect.w < WIDE && rect.h >= ROOM_FOR_HISTORY;
    return (int)snapshot->n_buses + has_history_row;
}

void lw_view_vitals(const struct lw_snapshot *snapshot, struct lw_rect rect, struct lw_grid *grid)
{
    int name_columns = 5;
    for (unsigned i = 0; i < snapshot->n_buses; i++) {
        int n = lw_text_columns(snapshot->buses[i].name);
        name_columns = n > name_columns ? n : name_columns;
    }
    int most = rect.w >= WIDE ? 18 : 8;
    for (unsigned i = 0; i < snapshot->n_buses; i++)
        one_bus(&snapshot->buses[i], rect, (int)i, name_columns < most ? name_columns : most, grid);
    if (rect.h > (int)snapshot->n_buses && rect.w < WIDE)
        history_row(&snapshot->buses[0], rect, rect.h - 1, grid);
}
