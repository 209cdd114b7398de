/* SPDX-License-Identifier: MIT
 *
 * The meter of the bench page: ohms between the wires with the supply off, volts against ground with it on, and in words
 * what such a reading means. Below it, what is wrong at the chosen place.
 */
#include "bench_menu.h"
#include "loomwatch/ui/glyphs.h"
#include "view_bench_parts.h"

#include <math.h>
#include <stdio.h>

enum { ROOMY = 60 };

/* What ohms between H and L tell, with two terminators of 120 ohm as it should be. Common practice, no source; the
 * arithmetic is that of resistors side by side. */
static const struct { double below; const char *words; } ohm_words[] = {
    { 5, "H and L touch each other: a short." },
    { 35, "Too low: a short of some ohms, or far too many terminators." },
    { 45, "40 ohm = three terminators of 120 ohm: one too many." },
    { 55, "Lower than 60 ohm: something lies between the wires besides two terminators." },
    { 70, "60 ohm = both terminators, two times 120 ohm side by side: as it should be." },
    { 110, "Higher than 60 ohm: a terminator of a wrong value, or a bad joint." },
    { 135, "120 ohm = one terminator alone: the other is missing, or a wire to it is broken." },
    { 1000, "Too high: no terminator of 120 ohm is connected to this point." },
    { INFINITY, "Thousands of ohms: no terminator at all, only what units have inside." },
};

static const char *words_of_ohm(double ohm)
{
    if (isinf(ohm))
        return "Open: nothing is connected between H and L here.";
    size_t i = 0;
    while (i + 1 < sizeof(ohm_words) / sizeof(ohm_words[0]) && ohm >= ohm_words[i].below)
        i++;
    return ohm_words[i].words;
}

/* A healthy pair rests at 2.5 V; who sends pulls H to 3.5 V and L to 1.5 V, and a meter shows the average. Source:
 * ISO 11898-2, levels of the high-speed transceiver. */
static const char *words_of_volts(double h, double l)
{
    double middle = (h + l) / 2;
    if (fabs(h - l) < 0.02 && middle > 1.5 && middle < 3.5)
        return "H and L are equal, at rest: nobody is sending here, or they touch each other.";
    if (h > 5.5 || l > 5.5)
        return "More than 5 V: a wire touches the supply.";
    if (h < 0.5 || l < 0.5)
        return "Nearly 0 V: a wire touches ground, or every unit is off or asleep.";
    if (l > h)
        return "L is above H: the wires are swapped here.";
    if (middle < 2.1 || middle > 2.9)
        return "Not around 2.5 V in the middle: look for a wire that is broken or touches something.";
    return "H a little above 2.5 V, L as much below: the average of a bus at work.";
}

static bool is_unknown(const struct lw_bench_meter *meter)
{
    return meter->is_supply_off ? isnan(meter->ohm) : isnan(meter->h_volt) || isnan(meter->l_volt);
}

static void put_reading(const struct lw_bench_meter *meter, const char *point, struct lw_rect *rect, struct lw_grid *grid)
{
    struct lw_rect row = lw_rect_take_top(rect, 1);
    char ohm[32];
    int x = lw_grid_put(grid, row, 1, 0, LW_ROLE_DIM, "meter");
    bool is_roomy = row.w >= ROOMY;   /* else the sign in the drawing alone tells where it is */
    struct lw_rect probe = { row.x + x + 1, row.y, x + 1 < row.w ? 1 : 0, row.h };
    lw_grid_fill(grid, probe, LW_GLYPH_PROBE, LW_ROLE_CAUTION);
    x += 3;
    if (is_unknown(meter)) {
        lw_grid_put(grid, row, x, 0, LW_ROLE_DIM, "—");
        return;
    }
    if (!meter->is_supply_off) {
        x = lw_grid_print(grid, row, x, 0, LW_ROLE_STRONG, "H %.2f V  L %.2f V", meter->h_volt, meter->l_volt) + 1;
        lw_grid_print(grid, row, x, 0, LW_ROLE_DIM, is_roomy ? "to ground, at %s" : "to ground", point);
        return;
    }
    if (isinf(meter->ohm))
        snprintf(ohm, sizeof(ohm), "open");
    else if (meter->ohm >= 1000)
        snprintf(ohm, sizeof(ohm), "%.3g kohm", meter->ohm / 1000);
    else
        snprintf(ohm, sizeof(ohm), "%.3g ohm", meter->ohm);
    x = lw_grid_put(grid, row, x, 0, LW_ROLE_STRONG, ohm) + 1;
    lw_grid_print(grid, row, x, 0, LW_ROLE_DIM, is_roomy ? "H to L, at %s" : "H to L", point);
}

static void put_words(struct lw_rect *rect, enum lw_role role, const char *text, struct lw_grid *grid)
{
    struct lw_rect room = *rect;
    lw_rect_take_left(&room, 1);
    lw_rect_take_top(rect, lw_grid_put_wrapped(grid, room, role, text));
}

/* Returns the row after the last. */
static int put_wrongs(const struct lw_bench_picture *picture, struct lw_bench_place place, bool is_here, int y,
                      struct lw_rect rect, struct lw_grid *grid)
{
    for (unsigned i = 0; i < picture->n_damages; i++) {
        if (lw_bench_is_at(&picture->damages[i], place) != is_here)
            continue;
        bool is_on = lw_bench_is_on(picture, &picture->damages[i]);
        lw_grid_print(grid, rect, 1, y++, is_on ? LW_ROLE_ALARM : LW_ROLE_DIM, "! %s%s", picture->damage_words[i],
                      is_on ? "" : " (not yet)");
    }
    return y;
}

/* What is wrong here; below it what is wrong elsewhere, as far as there is room. */
static void put_all_wrongs(const struct lw_bench_picture *picture, struct lw_bench_place place, struct lw_rect rect,
                           struct lw_grid *grid)
{
    if (picture->n_damages == 0) {
        put_words(&rect, LW_ROLE_DIM, "No fault is put in. Enter shows what can be done here.", grid);
        return;
    }
    int y = put_wrongs(picture, place, true, 0, rect, grid);
    if ((unsigned)y == picture->n_damages)
        return;
    if (place.kind != LW_AT_NOWHERE)
        lw_grid_print(grid, rect, 1, y, LW_ROLE_DIM, y > 0 ? "%u more elsewhere%s" : "No fault here; %u elsewhere%s",
                      picture->n_damages - (unsigned)y, rect.h > y + 1 ? ":" : ".");
    put_wrongs(picture, place, false, y + (place.kind != LW_AT_NOWHERE), rect, grid);
}

void lw_view_bench_meter(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    const struct lw_bench_picture *picture = state->picture;
    if (picture->n_points == 0)
        return;
    unsigned point = lw_bench_state_point(&state->on_bench, picture);
    const struct lw_bench_meter *meter = &picture->meters[point];
    char name[LW_PLANT_NAME];
    put_reading(meter, lw_bench_point_name(picture, point, name), &rect, grid);
    if (!is_unknown(meter))
        put_words(&rect, LW_ROLE_NORMAL, meter->is_supply_off ? words_of_ohm(meter->ohm)
                  : words_of_volts(meter->h_volt, meter->l_volt), grid);
    if (meter->is_supply_off)
        put_words(&rect, LW_ROLE_DIM, "The supply is off, as it must be to measure resistance: p turns it on.", grid);
    else
        put_words(&rect, LW_ROLE_CAUTION, "Disconnect the supply before measuring resistance: p turns it off.", grid);
    put_all_wrongs(picture, lw_bench_state_place(&state->on_bench, picture), rect, grid);
}
