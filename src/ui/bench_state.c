/* SPDX-License-Identifier: MIT
 *
 * The keys of the bench page. On the drawing, up and down walk along the trunk, point and segment in turn, or from unit to
 * unit; left and right go between the two.
 */
#include "loomwatch/ui/bench_state.h"

#include "bench_menu.h"
#include "loomwatch/ui/keys.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SCROLL_BITS = 8 };

static unsigned adapter_of(const struct lw_bench_picture *picture)
{
    for (unsigned i = 0; i < picture->n_units; i++)
        if (picture->units[i].is_adapter)
            return i;
    return 0;
}

static bool is_there(const struct lw_bench_picture *picture, struct lw_bench_place place)
{
    switch (place.kind) {
    case LW_AT_SEGMENT: return place.index + 1u < picture->n_points;
    case LW_AT_POINT: return place.index < picture->n_points;
    case LW_AT_UNIT: return place.index < picture->n_units;
    default: return true;
    }
}

struct lw_bench_place lw_bench_state_place(const struct lw_bench_state *state, const struct lw_bench_picture *picture)
{
    struct lw_bench_place adapter = { LW_AT_UNIT, (uint8_t)adapter_of(picture) };
    if (state->has_place && is_there(picture, state->place))
        return state->place;
    return is_there(picture, adapter) ? adapter : (struct lw_bench_place){ LW_AT_NOWHERE, 0 };
}

unsigned lw_bench_state_point(const struct lw_bench_state *state, const struct lw_bench_picture *picture)
{
    struct lw_bench_place place = lw_bench_state_place(state, picture);
    unsigned unit = place.kind == LW_AT_NOWHERE ? adapter_of(picture) : place.index;
    unsigned point = place.kind == LW_AT_POINT || place.kind == LW_AT_SEGMENT ? place.index
        : unit < picture->n_units ? picture->units[unit].point : 0;
    return point < picture->n_points ? point : 0;
}

unsigned lw_bench_state_trace_unit(const struct lw_bench_state *state, const struct lw_bench_picture *picture)
{
    if (state->has_bits_unit && (!picture || state->bits_unit < picture->n_units))
        return state->bits_unit;
    return picture ? adapter_of(picture) : 0;
}

bool lw_bench_state_wants_picture(const struct lw_bench_state *state)
{
    return state->mode != LW_BENCH_BITS || !state->is_held;
}

const struct lw_bench_trace *lw_bench_state_trace(const struct lw_bench_state *state, const struct lw_bench_picture *picture)
{
    return state->shows_last_error ? &picture->error_trace : &picture->trace;
}

void lw_bench_state_look(struct lw_bench_state *state, const struct lw_bench_picture *picture)
{
    if (state->mode != LW_BENCH_BITS || state->shows_last_error
        || picture->trace_unit != lw_bench_state_trace_unit(state, picture))
        return;
    for (unsigned i = 0; i < picture->trace.n && i < LW_TRACE_BITS; i++)
        if (picture->trace.bits[i].has_error)
            state->is_held = true;
}

/* Units are passed in the order of the drawing: by point, then by number. */
static int neighbour_unit(const struct lw_bench_picture *picture, unsigned from, int step)
{
    int best = -1, n = (int)picture->n_units;
    int here = picture->units[from].point * LW_PLANT_MAX_UNITS + (int)from;
    for (int i = 0; i < n; i++) {
        int there = picture->units[i].point * LW_PLANT_MAX_UNITS + i;
        int best_there = best < 0 ? 0 : picture->units[best].point * LW_PLANT_MAX_UNITS + best;
        if ((there - here) * step > 0 && (best < 0 || (there - best_there) * step < 0))
            best = i;
    }
    return best;
}

static int nearest_unit(const struct lw_bench_picture *picture, unsigned point)
{
    int best = -1, best_distance = 0;
    for (unsigned i = 0; i < picture->n_units; i++) {
        int distance = abs(picture->units[i].point - (int)point);
        if (best < 0 || distance < best_distance) {
            best = (int)i;
            best_distance = distance;
        }
    }
    return best;
}

/* Steps along the trunk: the bench as a whole is at -1, point i at 2 i, the segment after it at 2 i + 1. */
static struct lw_bench_place trunk_place(const struct lw_bench_picture *picture, int step)
{
    int last = 2 * (int)picture->n_points - 2;
    step = step > last ? last : step;
    if (step < 0)
        return (struct lw_bench_place){ LW_AT_NOWHERE, 0 };
    return (struct lw_bench_place){ step % 2 ? LW_AT_SEGMENT : LW_AT_POINT, (uint8_t)(step / 2) };
}

static int trunk_step(struct lw_bench_place place)
{
    return place.kind == LW_AT_NOWHERE ? -1 : 2 * place.index + (place.kind == LW_AT_SEGMENT);
}

static void set_place(struct lw_bench_state *state, uint8_t kind, int index)
{
    if (index < 0)
        return;
    state->has_place = true;
    state->place = (struct lw_bench_place){ kind, (uint8_t)index };
}

static void walk(struct lw_bench_state *state, const struct lw_bench_picture *picture, enum lw_action action)
{
    struct lw_bench_place place = lw_bench_state_place(state, picture);
    int step = action == LW_ACTION_UP ? -1 : 1;
    if (action == LW_ACTION_FIRST || action == LW_ACTION_LAST) {
        place = trunk_place(picture, action == LW_ACTION_FIRST ? -1 : 2 * LW_PLANT_MAX_POINTS);
        set_place(state, place.kind, place.index);
    } else if (action == LW_ACTION_LEFT) {
        if (place.kind == LW_AT_UNIT)
            set_place(state, LW_AT_POINT, (int)lw_bench_state_point(state, picture));
    } else if (action == LW_ACTION_RIGHT) {
        if (place.kind != LW_AT_UNIT)
            set_place(state, LW_AT_UNIT, nearest_unit(picture, lw_bench_state_point(state, picture)));
    } else if (place.kind == LW_AT_UNIT) {
        int unit = neighbour_unit(picture, place.index, step);
        set_place(state, unit < 0 && step < 0 ? LW_AT_NOWHERE : LW_AT_UNIT, unit < 0 && step < 0 ? 0 : unit);
    } else {
        place = trunk_place(picture, trunk_step(place) + step);
        set_place(state, place.kind, place.index);
    }
}

/* Names in an edit's text have dashes for spaces; a trunk place goes by its number. */
static void damage_text(const struct lw_bench_picture *picture, const struct lw_damage *damage, const char *value,
                        char buf[LW_DAMAGE_TEXT])
{
    int n = snprintf(buf, LW_DAMAGE_TEXT, "%s", lw_damages[damage->kind].word);
    if (damage->place == LW_AT_UNIT) {
        n += snprintf(buf + n, LW_DAMAGE_TEXT - (size_t)n, " at ");
        for (const char *c = picture->units[damage->index].name; *c != '\0' && n < LW_DAMAGE_TEXT - 1; c++)
            buf[n++] = *c == ' ' ? '-' : *c;
        buf[n] = '\0';
    } else if (damage->place != LW_AT_NOWHERE) {
        n += snprintf(buf + n, LW_DAMAGE_TEXT - (size_t)n, " at %s %u",
                      damage->place == LW_AT_POINT ? "point" : "segment", damage->index + 1u);
    }
    if (value[0] != '\0' && n < LW_DAMAGE_TEXT)
        snprintf(buf + n, LW_DAMAGE_TEXT - (size_t)n, " %s", value);
}

static double plain_number(const char *text, double otherwise)
{
    char *end;
    double value = strtod(text, &end);
    if (text[0] == '\0')
        return otherwise;
    return *end == '\0' && end != text ? value : 0;
}

static void ask(struct lw_bench_state *state, const struct lw_bench_picture *picture, const struct lw_bench_entry *entry,
                struct lw_bench_request *out)
{
    struct lw_bench_place place = lw_bench_state_place(state, picture);
    *out = (struct lw_bench_request){ .kind = entry->request, .is_on = entry->is_on, .n = entry->n };
    lw_bench_entry_words(picture, place, entry, out->words);
    if (place.kind == LW_AT_UNIT)
        out->unit = place.index;
    if (entry->request == LW_BENCH_PUT_DAMAGE) {
        double value = 0;
        bool has_value = lw_bench_entry_value(picture, entry, &value) != NULL;
        out->damage = (struct lw_damage){ .kind = entry->n, .place = place.kind, .index = place.index,
            .until_ns = UINT64_MAX, .value = has_value ? plain_number(state->value, value) : 0 };
        if (entry->n == LW_DAMAGE_DUPLICATE)
            out->damage.value = 0;
        damage_text(picture, &out->damage, has_value ? state->value : "", out->text);
    }
    state->mode = LW_BENCH_DRAWING;
}

static void ask_supply_or_mend(struct lw_bench_state *state, const struct lw_bench_picture *picture, bool is_supply,
                               struct lw_bench_request *out)
{
    struct lw_bench_entry entry = { .request = is_supply ? LW_BENCH_SUPPLY : LW_BENCH_MEND_ALL,
                                    .is_on = is_supply && !picture->is_supply_on };
    ask(state, picture, &entry, out);
}

static void open_bits(struct lw_bench_state *state, const struct lw_bench_picture *picture)
{
    struct lw_bench_place place = lw_bench_state_place(state, picture);
    unsigned unit = place.kind == LW_AT_UNIT ? place.index : adapter_of(picture);
    for (unsigned i = 0; place.kind == LW_AT_POINT && i < picture->n_units; i++)
        if (picture->units[i].point == place.index) {
            unit = i;
            break;
        }
    state->has_bits_unit = true;
    state->bits_unit = (uint8_t)unit;
    state->bits_from = 0;
    state->is_held = state->shows_last_error = false;
    state->mode = LW_BENCH_BITS;
}

static bool drawing_key(struct lw_bench_state *state, const struct lw_bench_picture *picture, enum lw_action action,
                        struct lw_bench_request *out)
{
    switch (action) {
    case LW_ACTION_UP: case LW_ACTION_DOWN: case LW_ACTION_LEFT: case LW_ACTION_RIGHT: case LW_ACTION_FIRST:
    case LW_ACTION_LAST: walk(state, picture, action); return true;
    case LW_ACTION_OPEN: state->mode = LW_BENCH_MENU; state->menu_choice = 0; return true;
    case LW_ACTION_BITS: open_bits(state, picture); return true;
    case LW_ACTION_SUPPLY: ask_supply_or_mend(state, picture, true, out); return true;
    case LW_ACTION_MEND: ask_supply_or_mend(state, picture, false, out); return true;
    default: return false;
    }
}

/* An entry that takes a value asks for it first. */
static void choose_entry(struct lw_bench_state *state, const struct lw_bench_picture *picture,
                         const struct lw_bench_entry *entry, struct lw_bench_request *out)
{
    double ignored;
    if (!lw_bench_entry_value(picture, entry, &ignored)) {
        ask(state, picture, entry, out);
        return;
    }
    state->value[0] = '\0';
    state->mode = LW_BENCH_VALUE;
}

/* Keys that are not the menu's close it. */
static bool menu_key(struct lw_bench_state *state, const struct lw_bench_picture *picture, enum lw_action action,
                     struct lw_bench_request *out)
{
    struct lw_bench_entry entries[LW_BENCH_MAX_ENTRIES];
    unsigned n = lw_bench_menu(picture, lw_bench_state_place(state, picture), entries);
    unsigned choice = state->menu_choice < n ? state->menu_choice : n - 1;
    switch (action) {
    case LW_ACTION_UP: choice -= choice > 0; break;
    case LW_ACTION_DOWN: choice += choice + 1 < n; break;
    case LW_ACTION_FIRST: choice = 0; break;
    case LW_ACTION_LAST: choice = n - 1; break;
    case LW_ACTION_OPEN: choose_entry(state, picture, &entries[choice], out); break;
    case LW_ACTION_LEFT: case LW_ACTION_BACK: state->mode = LW_BENCH_DRAWING; break;
    case LW_ACTION_RIGHT: break;
    default: state->mode = LW_BENCH_DRAWING; return drawing_key(state, picture, action, out);
    }
    state->menu_choice = choice;
    return true;
}

static void value_key(struct lw_bench_state *state, const struct lw_bench_picture *picture, int code,
                      struct lw_bench_request *out)
{
    struct lw_bench_entry entries[LW_BENCH_MAX_ENTRIES];
    unsigned n = lw_bench_menu(picture, lw_bench_state_place(state, picture), entries);
    size_t length = strlen(state->value);
    if (code == LW_KEY_ESCAPE || (code == LW_KEY_BACKSPACE && length == 0)) {
        state->mode = LW_BENCH_MENU;
    } else if (code == LW_KEY_ENTER) {
        ask(state, picture, &entries[state->menu_choice < n ? state->menu_choice : n - 1], out);
    } else if (code == LW_KEY_BACKSPACE) {
        state->value[length - 1] = '\0';
    } else if (code >= ' ' && code < 0x7F && length + 1 < sizeof(state->value)) {
        state->value[length] = (char)code;
        state->value[length + 1] = '\0';
    }
}

static void scroll_bits(struct lw_bench_state *state, const struct lw_bench_picture *picture, enum lw_action action)
{
    unsigned n = lw_bench_state_trace(state, picture)->n, last = n > 0 ? n - 1 : 0;
    unsigned from = state->bits_from < last ? state->bits_from : last;
    switch (action) {
    case LW_ACTION_LEFT: from -= from < SCROLL_BITS ? from : SCROLL_BITS; break;
    case LW_ACTION_RIGHT: from += from + SCROLL_BITS <= last ? SCROLL_BITS : 0; break;
    case LW_ACTION_FIRST: from = 0; break;
    default: from = last > SCROLL_BITS ? last - SCROLL_BITS : 0; break;
    }
    state->bits_from = from;
}

static bool bits_key(struct lw_bench_state *state, const struct lw_bench_picture *picture, enum lw_action action)
{
    unsigned unit = lw_bench_state_trace_unit(state, picture);
    switch (action) {
    case LW_ACTION_UP: case LW_ACTION_DOWN: {
        int next = unit < picture->n_units ? neighbour_unit(picture, unit, action == LW_ACTION_UP ? -1 : 1) : -1;
        state->bits_unit = (uint8_t)(next >= 0 ? next : (int)unit);
        state->has_bits_unit = true;
        state->is_held = state->is_held && next < 0;
        return true;
    }
    case LW_ACTION_LEFT: case LW_ACTION_RIGHT: case LW_ACTION_FIRST: case LW_ACTION_LAST:
        scroll_bits(state, picture, action);
        return true;
    case LW_ACTION_OPEN: state->is_zoomed = !state->is_zoomed; return true;
    case LW_ACTION_PAUSE: state->is_held = !state->is_held; return true;
    case LW_ACTION_LAST_ERROR:
        state->shows_last_error = !state->shows_last_error;
        state->is_held = false;
        state->bits_from = 0;
        return true;
    case LW_ACTION_BITS: case LW_ACTION_BACK:
        state->mode = LW_BENCH_DRAWING;
        state->is_held = false;
        return true;
    default: return false;
    }
}

bool lw_bench_state_key(struct lw_bench_state *state, const struct lw_bench_picture *picture, int key_code,
                        struct lw_bench_request *out)
{
    *out = (struct lw_bench_request){ .kind = LW_BENCH_NO_REQUEST };
    if (!picture)
        return false;
    switch (state->mode) {
    case LW_BENCH_VALUE: value_key(state, picture, key_code, out); return true;
    case LW_BENCH_MENU: return menu_key(state, picture, lw_keys_action(key_code, LW_PAGE_BENCH), out);
    case LW_BENCH_BITS: return bits_key(state, picture, lw_keys_action(key_code, LW_PAGE_BITS));
    default: return drawing_key(state, picture, lw_keys_action(key_code, LW_PAGE_BENCH), out);
    }
}
