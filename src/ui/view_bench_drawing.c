/* SPDX-License-Identifier: MIT
 *
 * The bus as a drawing: the two wires of the trunk run from top to bottom, H left and L right, terminators and shorts lie
 * between them, stubs lead to the units on the right. What is broken is drawn broken, and said beside it.
 */
#include "bench_menu.h"
#include "bench_rows.h"
#include "loomwatch/ui/glyphs.h"
#include "view_bench_columns.h"
#include "view_bench_parts.h"

#include <stdio.h>
#include <string.h>

struct sheet {
    const struct lw_bench_picture *picture;
    struct lw_grid *grid;
    struct lw_rect row;
    struct lw_bench_columns at;
    struct lw_bench_place chosen;
    unsigned metered;            /* point at which the meter is held */
};

static void put_glyph(const struct sheet *sheet, int x, uint32_t glyph, enum lw_role role)
{
    struct lw_rect cell = { sheet->row.x + x, sheet->row.y, x >= 0 && x < sheet->row.w ? 1 : 0, sheet->row.h > 0 ? 1 : 0 };
    lw_grid_fill(sheet->grid, cell, glyph, role);
}

static void put_line(const struct sheet *sheet, int x, int w, uint32_t glyph, enum lw_role role)
{
    for (int i = 0; i < w; i++)
        put_glyph(sheet, x + i, glyph, role);
}

static void put_centred(const struct sheet *sheet, int x, int w, enum lw_role role, const char *text)
{
    int n = lw_text_columns(text);
    lw_grid_put(sheet->grid, sheet->row, x + (n < w ? (w - n) / 2 : 0), 0, role, text);
}

/* Text cut to w columns, with a sign where it was. */
static void put_cut(const struct sheet *sheet, int x, int w, enum lw_role role, const char *text)
{
    struct lw_rect field = sheet->row;
    field.w = x + w < field.w ? x + w : field.w;
    lw_grid_put(sheet->grid, field, x, 0, role, text);
    if (lw_text_columns(text) > w && w > 0)
        put_glyph(sheet, x + w - 1, LW_GLYPH_LATE, role);
}

/* Between the wires: what ends the bus here, or ought to. */
static void put_terminator(const struct sheet *sheet, unsigned point)
{
    const struct lw_bench_picture *picture = sheet->picture;
    unsigned n = 0;
    double siemens = 0;
    for (unsigned i = 0; i < picture->n_terminators; i++)
        if (picture->terminators[i].point == point && picture->terminators[i].ohm > 0) {
            n++;
            siemens += 1.0 / picture->terminators[i].ohm;
        }
    bool is_gone = lw_bench_damage_at(picture, LW_DAMAGE_NO_TERMINATOR, LW_AT_POINT, point) != NULL;
    if (n == 0) {
        put_centred(sheet, sheet->at.h + 1, LW_BENCH_BETWEEN, LW_ROLE_ALARM, is_gone ? "none" : "");
        return;
    }
    char text[32];
    put_line(sheet, sheet->at.h + 1, LW_BENCH_BETWEEN, LW_GLYPH_RULE, LW_ROLE_NORMAL);
    snprintf(text, sizeof(text), n == 1 ? "%.4gΩ" : "=%.4gΩ", 1 / siemens);
    put_centred(sheet, sheet->at.h + 1, LW_BENCH_BETWEEN, n == 1 ? LW_ROLE_STRONG : LW_ROLE_CAUTION, text);
}

static void put_name(const struct sheet *sheet, unsigned point, bool has_length)
{
    char name[LW_PLANT_NAME], length[16];
    bool is_chosen = sheet->chosen.kind == LW_AT_POINT && sheet->chosen.index == point;
    lw_bench_point_name(sheet->picture, point, name);
    put_glyph(sheet, 0, is_chosen ? LW_GLYPH_CHOSEN : ' ', LW_ROLE_STRONG);
    put_cut(sheet, 1, sheet->at.name_w, is_chosen ? LW_ROLE_CHOSEN : LW_ROLE_TITLE, name);
    if (!has_length || point + 1 >= sheet->picture->n_points)
        return;
    bool is_segment = sheet->chosen.kind == LW_AT_SEGMENT && sheet->chosen.index == point;
    snprintf(length, sizeof(length), "%.3g m", sheet->picture->points[point].segment_mm / 1000.0);
    int x = sheet->at.h - 2 - lw_text_columns(length);
    if (sheet->at.length_w > 0)
        put_cut(sheet, x, sheet->at.length_w, is_segment ? LW_ROLE_CHOSEN : LW_ROLE_DIM, length);
    if (is_segment)
        put_glyph(sheet, sheet->at.length_w > 0 ? x - 1 : sheet->at.h - 1, LW_GLYPH_CHOSEN, LW_ROLE_STRONG);
}

/* The two wires at a point: joined to something here, or running past. */
static void put_wires(const struct sheet *sheet, unsigned point, bool is_joined_h, bool is_joined_l)
{
    uint32_t joint = sheet->metered == point ? LW_GLYPH_PROBE : LW_GLYPH_JOINT;
    enum lw_role role = sheet->metered == point ? LW_ROLE_CAUTION : LW_ROLE_STRONG;
    put_glyph(sheet, sheet->at.h, is_joined_h ? joint : LW_GLYPH_WIRE, is_joined_h ? role : LW_ROLE_NORMAL);
    put_glyph(sheet, sheet->at.l, is_joined_l ? joint : LW_GLYPH_WIRE, is_joined_l ? role : LW_ROLE_NORMAL);
}

/* How damage shows in a stub: in one double line, or in the rows of H and L. */
static const struct { uint8_t kind; const char *both, *h, *l; } marks[] = {
    { LW_DAMAGE_OPEN_BOTH, " ╳ ", " ╳ ", " ╳ " },
    { LW_DAMAGE_OPEN_H, " H╳ ", " ╳ ", NULL },
    { LW_DAMAGE_OPEN_L, " L╳ ", NULL, " ╳ " },
    { LW_DAMAGE_SHORT_H_L, "H─L", "┬", "┴" },
    { LW_DAMAGE_H_TO_SUPPLY, "H→supply", "→supply", NULL },
    { LW_DAMAGE_L_TO_SUPPLY, "L→supply", NULL, "→supply" },
    { LW_DAMAGE_H_TO_GROUND, "H→ground", "→ground", NULL },
    { LW_DAMAGE_L_TO_GROUND, "L→ground", NULL, "→ground" },
    { LW_DAMAGE_SWAPPED, "swapped", "╲╱", "╱╲" },
    { LW_DAMAGE_LOOSE, "loose", "loose", "loose" },
    { LW_DAMAGE_LONG_STUB, "long", "long", NULL },
    { LW_DAMAGE_EXTRA_TERMINATOR, "+Ω", "┬", "Ω" },
    { LW_DAMAGE_NO_TERMINATOR, "no Ω", "no Ω", NULL },
};

static const char *stub_mark(const struct lw_bench_picture *picture, unsigned unit, enum lw_bench_row_kind kind)
{
    for (size_t i = 0; i < sizeof(marks) / sizeof(marks[0]); i++) {
        const char *mark = kind == LW_ROW_UNIT ? marks[i].both : kind == LW_ROW_UNIT_H ? marks[i].h : marks[i].l;
        if (mark && lw_bench_damage_at(picture, marks[i].kind, LW_AT_UNIT, unit))
            return mark;
    }
    return NULL;
}

/* The pins' names show a swapped pair where it ends. */
static void put_pin(const struct sheet *sheet, unsigned unit, enum lw_bench_row_kind kind)
{
    bool is_h = (kind == LW_ROW_UNIT_H) != sheet->picture->units[unit].is_swapped;
    put_glyph(sheet, sheet->at.unit - 1, is_h ? 'H' : 'L', sheet->picture->units[unit].is_swapped ? LW_ROLE_ALARM : LW_ROLE_DIM);
}

static void put_stub(const struct sheet *sheet, unsigned unit, enum lw_bench_row_kind kind)
{
    const struct lw_bench_unit_picture *u = &sheet->picture->units[unit];
    bool is_pair = kind == LW_ROW_UNIT;
    int x = sheet->at.l + 1, w = sheet->at.stub_w - !is_pair;
    char length[16];
    if (kind == LW_ROW_UNIT_H) {
        put_line(sheet, sheet->at.h + 1, LW_BENCH_BETWEEN, LW_GLYPH_RULE, LW_ROLE_NORMAL);
        put_glyph(sheet, sheet->at.l, LW_GLYPH_WIRE, LW_ROLE_NORMAL);
    }
    put_line(sheet, x, w, is_pair ? LW_GLYPH_PAIR : LW_GLYPH_RULE, LW_ROLE_NORMAL);
    if (!is_pair)
        put_pin(sheet, unit, kind);
    if (!u->is_plugged) {
        lw_grid_put(sheet->grid, sheet->row, x + w - 3, 0, LW_ROLE_CAUTION, "> <");
        w -= 3;
    }
    const char *mark = stub_mark(sheet->picture, unit, kind);
    const char *others = is_pair ? NULL : stub_mark(sheet->picture, unit, LW_ROW_UNIT);
    snprintf(length, sizeof(length), " %.3g m ", u->stub_mm / 1000.0);
    if (mark)
        put_centred(sheet, x, w, LW_ROLE_ALARM, mark);
    else if (kind != LW_ROW_UNIT_H && !others && u->stub_mm > 0 && w >= lw_text_columns(length) + 4)
        put_centred(sheet, x, w, LW_ROLE_DIM, length);
}

static bool is_hurt(const struct lw_bench_picture *picture, unsigned unit)
{
    struct lw_bench_place place = { LW_AT_UNIT, (uint8_t)unit };
    for (unsigned i = 0; i < picture->n_damages; i++)
        if (lw_bench_is_at(&picture->damages[i], place) && lw_bench_is_on(picture, &picture->damages[i]))
            return true;
    return false;
}

static const char *state_of(const struct lw_bench_unit_picture *unit, enum lw_role *role)
{
    static const struct { const char *word; enum lw_role role; } states[] = {
        [LW_STATE_UNKNOWN] = { "off", LW_ROLE_DIM }, [LW_STATE_ERROR_ACTIVE] = { "active", LW_ROLE_GOOD },
        [LW_STATE_ERROR_WARNING] = { "warning", LW_ROLE_CAUTION }, [LW_STATE_ERROR_PASSIVE] = { "passive", LW_ROLE_ALARM },
        [LW_STATE_BUS_OFF] = { "bus off", LW_ROLE_ALARM },
    };
    *role = LW_ROLE_DIM;
    if (!unit->is_plugged)
        return "unplugged";
    if (!unit->is_powered)
        return "no supply";
    *role = LW_ROLE_CAUTION;
    if (unit->is_asleep)
        return "asleep";
    if (unit->is_standby)
        return "standby";
    unsigned i = unit->state <= LW_STATE_BUS_OFF ? unit->state : LW_STATE_UNKNOWN;
    *role = states[i].role;
    return states[i].word;
}

/* Units stand in brackets, our adapter in pointed ones; in front of the name, a sign that it is chosen or hurt. */
static void put_unit(const struct sheet *sheet, unsigned unit)
{
    const struct lw_bench_unit_picture *u = &sheet->picture->units[unit];
    const struct lw_bench_columns *at = &sheet->at;
    bool is_chosen = sheet->chosen.kind == LW_AT_UNIT && sheet->chosen.index == unit;
    bool has_damage = is_hurt(sheet->picture, unit);
    enum lw_role role, name_role = is_chosen ? LW_ROLE_CHOSEN : has_damage ? LW_ROLE_ALARM
        : u->is_adapter ? LW_ROLE_TITLE : u->is_plugged ? LW_ROLE_NORMAL : LW_ROLE_DIM;
    put_glyph(sheet, at->unit, u->is_adapter ? '<' : '[', LW_ROLE_STRONG);
    put_glyph(sheet, at->unit + 1, is_chosen ? LW_GLYPH_CHOSEN : has_damage ? '!' : ' ',
              is_chosen ? LW_ROLE_STRONG : LW_ROLE_ALARM);
    const char *word = state_of(u, &role);
    int end = at->unit + 2 + at->unit_w;
    /* Without a column for it, a state other than the usual one goes before the end of the name. */
    int word_w = at->state_w > 0 || role == LW_ROLE_GOOD ? 0 : lw_text_columns(word) + 1;
    put_cut(sheet, at->unit + 2, at->unit_w - word_w, name_role, u->name);
    if (word_w > 0)
        put_cut(sheet, end - word_w + 1, word_w - 1, role, word);
    put_glyph(sheet, end, u->is_adapter ? '>' : ']', LW_ROLE_STRONG);
    if (u->is_terminated)
        put_glyph(sheet, end - 1, 0x03A9, LW_ROLE_STRONG);
    if (at->state_w > 0)
        put_cut(sheet, end + 2, at->state_w, role, word);
    if (at->counters_w > 0 && u->state != LW_STATE_UNKNOWN)
        lw_grid_print(sheet->grid, sheet->row, end + 2 + at->state_w, 0, u->tec > 0 || u->rec > 0 ? LW_ROLE_STRONG : LW_ROLE_DIM,
                      "%u/%u", u->tec, u->rec);
}

/* What is wrong at a place, all of it after one another. */
static void put_wrongs(const struct sheet *sheet, int x, struct lw_bench_place place)
{
    for (unsigned i = 0; i < sheet->picture->n_damages; i++)
        if (lw_bench_is_at(&sheet->picture->damages[i], place) && lw_bench_is_on(sheet->picture, &sheet->picture->damages[i]))
            x = lw_grid_put(sheet->grid, sheet->row, x, 0, LW_ROLE_ALARM, sheet->picture->damage_words[i]) + 2;
}

static void put_segment(const struct sheet *sheet, unsigned segment, bool has_length)
{
    const struct lw_bench_picture *picture = sheet->picture;
    bool is_both = lw_bench_damage_at(picture, LW_DAMAGE_OPEN_BOTH, LW_AT_SEGMENT, segment) != NULL;
    bool is_h = is_both || lw_bench_damage_at(picture, LW_DAMAGE_OPEN_H, LW_AT_SEGMENT, segment);
    bool is_l = is_both || lw_bench_damage_at(picture, LW_DAMAGE_OPEN_L, LW_AT_SEGMENT, segment);
    bool is_loose = lw_bench_damage_at(picture, LW_DAMAGE_LOOSE, LW_AT_SEGMENT, segment) != NULL;
    uint32_t whole = is_loose ? LW_GLYPH_LOOSE : LW_GLYPH_WIRE;
    put_glyph(sheet, sheet->at.h, is_h ? LW_GLYPH_BROKEN : whole, is_h || is_loose ? LW_ROLE_ALARM : LW_ROLE_NORMAL);
    put_glyph(sheet, sheet->at.l, is_l ? LW_GLYPH_BROKEN : whole, is_l || is_loose ? LW_ROLE_ALARM : LW_ROLE_NORMAL);
    put_wrongs(sheet, sheet->at.l + 3, (struct lw_bench_place){ LW_AT_SEGMENT, (uint8_t)segment });
    bool is_chosen = sheet->chosen.kind == LW_AT_SEGMENT && sheet->chosen.index == segment;
    char length[16];
    if (!has_length)
        return;
    snprintf(length, sizeof(length), "%.3g m", picture->points[segment].segment_mm / 1000.0);
    put_glyph(sheet, 0, is_chosen ? LW_GLYPH_CHOSEN : ' ', LW_ROLE_STRONG);
    put_cut(sheet, 2, sheet->at.h - 3, is_chosen ? LW_ROLE_CHOSEN : LW_ROLE_DIM, length);
}

/* H hurts to the left, L to the right; a short lies between them. */
static void put_damage(const struct sheet *sheet, unsigned n)
{
    const struct lw_damage *damage = &sheet->picture->damages[n];
    const struct lw_bench_columns *at = &sheet->at;
    bool is_short = damage->kind == LW_DAMAGE_SHORT_H_L;
    bool is_h = damage->kind == LW_DAMAGE_H_TO_SUPPLY || damage->kind == LW_DAMAGE_H_TO_GROUND;
    bool is_supply = damage->kind == LW_DAMAGE_H_TO_SUPPLY || damage->kind == LW_DAMAGE_L_TO_SUPPLY;
    int x = at->l + 3;
    put_glyph(sheet, at->h, is_short ? 0x251C : is_h ? 0x2524 : LW_GLYPH_WIRE, LW_ROLE_ALARM);
    put_glyph(sheet, at->l, is_short ? 0x2524 : is_h ? LW_GLYPH_WIRE : 0x251C, LW_ROLE_ALARM);
    if (is_short) {
        char ohm[32];
        snprintf(ohm, sizeof(ohm), "%.3gΩ", damage->value);
        put_line(sheet, at->h + 1, LW_BENCH_BETWEEN, LW_GLYPH_RULE, LW_ROLE_ALARM);
        put_centred(sheet, at->h + 1, LW_BENCH_BETWEEN, LW_ROLE_ALARM, ohm);
    } else if (is_h) {
        lw_grid_put(sheet->grid, sheet->row, at->h - 8, 0, LW_ROLE_ALARM, is_supply ? "supply──" : "ground──");
    } else {
        x = lw_grid_put(sheet->grid, sheet->row, at->l + 1, 0, LW_ROLE_ALARM, is_supply ? "──supply" : "──ground") + 1;
    }
    lw_grid_put(sheet->grid, sheet->row, x, 0, LW_ROLE_ALARM, sheet->picture->damage_words[n]);
}

/* Beneath a unit's name, in the row of its L wire: what is wrong with it, or what it has done. */
static void put_unit_words(const struct sheet *sheet, unsigned unit)
{
    const struct lw_bench_unit_picture *u = &sheet->picture->units[unit];
    int x = sheet->at.unit + 2;
    if (is_hurt(sheet->picture, unit))
        put_wrongs(sheet, x, (struct lw_bench_place){ LW_AT_UNIT, (uint8_t)unit });
    else
        lw_grid_print(sheet->grid, sheet->row, x, 0, LW_ROLE_DIM, "sent %llu, errors %llu", (unsigned long long)u->n_sent,
                      (unsigned long long)u->n_errors);
}

static void put_row(const struct sheet *sheet, const struct lw_bench_row *row, enum lw_bench_detail detail)
{
    bool is_close = detail == LW_DETAIL_CLOSE;
    if (row->is_first)
        put_name(sheet, row->point, is_close);
    switch (row->kind) {
    case LW_ROW_POINT:
        put_wires(sheet, row->point, true, true);
        put_terminator(sheet, row->point);
        break;
    case LW_ROW_UNIT:
        put_wires(sheet, row->point, row->is_first, true);
        if (row->is_first)
            put_terminator(sheet, row->point);
        put_stub(sheet, row->unit, LW_ROW_UNIT);
        put_unit(sheet, row->unit);
        break;
    case LW_ROW_UNIT_H:
        put_wires(sheet, row->point, true, false);
        put_stub(sheet, row->unit, LW_ROW_UNIT_H);
        put_unit(sheet, row->unit);
        break;
    case LW_ROW_UNIT_L:
        put_wires(sheet, row->point, false, true);
        put_stub(sheet, row->unit, LW_ROW_UNIT_L);
        put_unit_words(sheet, row->unit);
        break;
    case LW_ROW_TERMINATOR:
        put_wires(sheet, row->point, true, true);
        put_terminator(sheet, row->point);
        break;
    case LW_ROW_DAMAGE: put_damage(sheet, row->damage); break;
    default: put_segment(sheet, row->point, !is_close); break;
    }
}

static bool is_row_of(const struct lw_bench_row *row, struct lw_bench_place place, enum lw_bench_detail detail)
{
    switch (place.kind) {
    case LW_AT_POINT: return row->is_first && row->point == place.index;
    case LW_AT_UNIT: return row->kind >= LW_ROW_UNIT && row->kind <= LW_ROW_UNIT_H && row->unit == place.index;
    case LW_AT_SEGMENT:
        return row->point == place.index && (detail == LW_DETAIL_CLOSE ? row->is_first : row->kind == LW_ROW_SEGMENT);
    default: return false;
    }
}

int lw_view_bench_drawing_rows(const struct lw_bench_picture *picture, struct lw_rect rect)
{
    struct lw_bench_row rows[LW_BENCH_MAX_ROWS];
    return (int)lw_bench_rows(picture, lw_bench_detail_for(picture, rect.h), rows);
}

void lw_view_bench_drawing(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    struct lw_bench_row rows[LW_BENCH_MAX_ROWS];
    enum lw_bench_detail detail = lw_bench_detail_for(state->picture, rect.h);
    int n = (int)lw_bench_rows(state->picture, detail, rows), chosen = 0;
    struct sheet sheet = { .picture = state->picture, .grid = grid, .at = lw_bench_columns(rect.w),
        .chosen = lw_bench_state_place(&state->on_bench, state->picture),
        .metered = lw_bench_state_point(&state->on_bench, state->picture) };
    for (int i = 0; i < n; i++)
        if (is_row_of(&rows[i], sheet.chosen, detail))
            chosen = i;
    /* The chosen row stays in the middle, but no room is left empty at the ends. */
    int first = chosen - rect.h / 2;
    first = first > n - rect.h ? n - rect.h : first;
    first = first < 0 ? 0 : first;
    for (int y = 0; y < rect.h && first + y < n; y++) {
        sheet.row = (struct lw_rect){ rect.x, rect.y + y, rect.w, 1 };
        put_row(&sheet, &rows[first + y], detail);
    }
    sheet.row = (struct lw_rect){ rect.x, rect.y, rect.w, 1 };
    if (first > 0)
        put_glyph(&sheet, rect.w - 1, 0x2191, LW_ROLE_KEY);
    sheet.row.y = rect.y + rect.h - 1;
    if (first + rect.h < n)
        put_glyph(&sheet, rect.w - 1, 0x2193, LW_ROLE_KEY);
}
