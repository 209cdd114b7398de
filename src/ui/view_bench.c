/* SPDX-License-Identifier: MIT
 *
 * The bench page: the drawing of the bus with the meter below or beside it, the menu of the chosen place over both, or the
 * bits of the last frame. Where the source is no bench it says so.
 */
#include "bench_menu.h"
#include "loomwatch/ui/glyphs.h"
#include "view_bench_parts.h"

#include <stdio.h>

enum { METER_ROWS = 4, METER_COLUMNS = 44, WIDE = 124, MENU_COLUMNS = 50, FIRST_WIRES = 8 };

/* Benches that have no picture yet offer a list. */
static void put_list(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    lw_grid_put_rule(grid, lw_rect_take_top(&rect, 1), "the bench: choose and press Enter");
    if (state->n_bench == 0) {
        struct lw_rect words = rect;
        lw_rect_take_left(&words, 1);
        lw_grid_put_wrapped(grid, words, LW_ROLE_NORMAL, "This source is a real bus or a recording: there is nothing to do "
                            "to it here. The built-in bench opens with: loomwatch watch bench:harrow40");
        return;
    }
    int first = (int)state->bench_choice >= rect.h ? (int)state->bench_choice - rect.h + 1 : 0;
    for (int y = 0; y < rect.h && (size_t)(first + y) < state->n_bench; y++) {
        bool is_chosen = (size_t)(first + y) == state->bench_choice;
        struct lw_rect cell = { rect.x + 1, rect.y + y, rect.w > 1 ? 1 : 0, 1 };
        lw_grid_fill(grid, cell, is_chosen ? LW_GLYPH_CHOSEN : ' ', LW_ROLE_STRONG);
        lw_grid_put(grid, rect, 3, y, is_chosen ? LW_ROLE_CHOSEN : LW_ROLE_NORMAL, state->bench[first + y]);
    }
}

/* The bench as a whole is a place too, above the first point. */
static void put_heading(const struct lw_view_state *state, struct lw_rect row, struct lw_grid *grid)
{
    const struct lw_bench_picture *picture = state->picture;
    bool is_chosen = lw_bench_state_place(&state->on_bench, picture).kind == LW_AT_NOWHERE;
    char text[256], faults[32] = "no fault put in";
    if (picture->n_damages > 0)
        snprintf(faults, sizeof(faults), "%u fault%s put in", picture->n_damages, picture->n_damages == 1 ? "" : "s");
    snprintf(text, sizeof(text), "%sbench %s · supply %s · %s", is_chosen ? "▸ " : "", picture->name,
             picture->is_supply_on ? "on" : "OFF", faults);
    lw_grid_put_rule(grid, row, text);
}

static char *place_title(const struct lw_view_state *state, char buf[256])
{
    const struct lw_bench_picture *picture = state->picture;
    struct lw_bench_place place = lw_bench_state_place(&state->on_bench, picture);
    char a[LW_PLANT_NAME], b[LW_PLANT_NAME];
    const struct lw_bench_unit_picture *unit = &picture->units[place.index < LW_PLANT_MAX_UNITS ? place.index : 0];
    switch (place.kind) {
    case LW_AT_POINT:
        snprintf(buf, 256, "%s, point %u of the trunk", lw_bench_point_name(picture, place.index, a), place.index + 1u);
        break;
    case LW_AT_SEGMENT:
        snprintf(buf, 256, "%s to %s, %.3g m", lw_bench_point_name(picture, place.index, a),
                 lw_bench_point_name(picture, place.index + 1u, b), picture->points[place.index].segment_mm / 1000.0);
        break;
    case LW_AT_UNIT:
        snprintf(buf, 256, "%s, stub of %.3g m at %s", unit->name, unit->stub_mm / 1000.0,
                 lw_bench_point_name(picture, unit->point, a));
        break;
    default: snprintf(buf, 256, "%s", picture->title[0] != '\0' ? picture->title : "the whole bench"); break;
    }
    return buf;
}

/* The menu lies over the right of the page, so that the trunk stays in sight. */
static void put_menu(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    int w = rect.w > MENU_COLUMNS + 12 ? MENU_COLUMNS : rect.w;
    char title[256];
    rect.x += rect.w - w;
    rect.w = w;
    lw_grid_fill(grid, rect, ' ', LW_ROLE_NORMAL);
    lw_grid_put_rule(grid, lw_rect_take_top(&rect, 1), place_title(state, title));
    if (rect.h > 2)
        lw_grid_put(grid, lw_rect_take_bottom(&rect, 1), 3, 0, LW_ROLE_DIM, "↑↓ choose, Enter does it, Esc closes");
    lw_view_bench_menu(state, rect, grid);
}

/* Beside the drawing on a wide screen, else below it, with what room the drawing leaves. */
static void put_drawing(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    char title[256];
    struct lw_rect meter;
    if (rect.w >= WIDE) {
        struct lw_rect drawing = lw_rect_take_left(&rect, rect.w - METER_COLUMNS);
        meter = rect;
        rect = drawing;
    } else {
        struct lw_rect room = rect;
        int least = rect.h > METER_ROWS + FIRST_WIRES ? METER_ROWS : rect.h / 3;
        lw_rect_take_bottom(&room, least);
        int spare = room.h - lw_view_bench_drawing_rows(state->picture, room);
        meter = lw_rect_take_bottom(&rect, least + (spare > 0 ? spare : 0));
    }
    lw_view_bench_drawing(state, rect, grid);
    if (meter.h > 2)
        lw_grid_put_rule(grid, lw_rect_take_top(&meter, 1), place_title(state, title));
    lw_view_bench_meter(state, meter, grid);
}

void lw_view_bench(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    if (!state->picture) {
        put_list(state, rect, grid);
        return;
    }
    if (state->on_bench.mode == LW_BENCH_BITS || state->page == LW_PAGE_BITS) {
        lw_view_bench_bits(state, rect, grid);
        return;
    }
    struct lw_rect page = rect;
    put_heading(state, lw_rect_take_top(&rect, 1), grid);
    put_drawing(state, rect, grid);
    lw_rect_take_top(&page, page.h > METER_ROWS ? 1 : 0);
    if (state->on_bench.mode == LW_BENCH_MENU || state->on_bench.mode == LW_BENCH_VALUE)
        put_menu(state, page, grid);
}
