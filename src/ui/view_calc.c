/* SPDX-License-Identifier: MIT
 *
 * The arithmetic page: the calculators, the fields of the chosen one, and its worksheet beside or below them.
 */
#include "loomwatch/calc/layout.h"
#include "loomwatch/ui/glyphs.h"
#include "loomwatch/ui/views.h"

#include <stdio.h>
#include <string.h>

enum { NAME_COLUMN = 3, VALUE_COLUMN = 18, VALUE_COLUMNS = 19, WIDE = 120, FIELDS_COLUMNS = 64, FULL_RESULT = 9, WORDS_ROWS = 3 };

static void put_calculators(const struct lw_calc_state *state, struct lw_rect row, struct lw_grid *grid)
{
    int x = 1;
    for (unsigned i = 0; i < LW_N_CALCULATORS; i++) {
        bool is_chosen = i == state->calculator;
        x = lw_grid_put(grid, row, x, 0, is_chosen ? LW_ROLE_STRONG : LW_ROLE_DIM, is_chosen ? "▸" : " ");
        x = lw_grid_put(grid, row, x, 0, is_chosen ? LW_ROLE_CHOSEN : LW_ROLE_NORMAL, lw_calculators[i]->name) + 1;
    }
    lw_grid_put(grid, row, x + 1, 0, LW_ROLE_DIM, lw_calculators[state->calculator]->words);
}

/* Where the values stand: clear of the longest name. */
static int value_column(const struct lw_calculator *calculator)
{
    int column = VALUE_COLUMN;
    for (unsigned i = 0; i < calculator->n_fields; i++) {
        int end = NAME_COLUMN + (int)strlen(calculator->fields[i].name) + 1;
        column = end > column ? end : column;
    }
    return column;
}

static void put_field(const struct lw_calc_state *state, unsigned index, struct lw_rect row, struct lw_grid *grid)
{
    const struct lw_calc_field *field = &lw_calculators[state->calculator]->fields[index];
    const char *typed = state->texts[state->calculator][index];
    bool is_chosen = index == state->field, is_edited = is_chosen && state->is_editing;
    struct lw_rect words = row;
    int column = value_column(lw_calculators[state->calculator]), words_column = column + VALUE_COLUMNS;
    char value[LW_CALC_TEXT + 2], help[200], limits[160];
    lw_grid_put(grid, row, 1, 0, LW_ROLE_STRONG, is_chosen ? "▸" : " ");
    lw_grid_put(grid, row, NAME_COLUMN, 0, is_chosen ? LW_ROLE_CHOSEN : LW_ROLE_NORMAL, field->name);
    snprintf(value, sizeof(value), "%s%s", is_edited ? state->edit : *typed != '\0' ? typed : field->preset ? field->preset : "—",
             is_edited ? "_" : "");
    int x = lw_grid_put(grid, row, column, 0, is_edited || *typed != '\0' ? LW_ROLE_STRONG : LW_ROLE_DIM, value);
    lw_rect_take_left(&words, x + 2 > words_column ? x + 2 : words_column);
    if (is_edited)
        snprintf(help, sizeof(help), "%s", lw_calc_field_limits(field, limits, sizeof(limits)));
    lw_grid_put(grid, words, 0, 0, LW_ROLE_DIM, is_edited ? help : field->words);
}

/* As many fields as there are rows, the chosen one among them. */
static void put_fields(const struct lw_calc_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    unsigned n = lw_calculators[state->calculator]->n_fields;
    unsigned first = rect.h > 0 && state->field >= (unsigned)rect.h ? state->field - (unsigned)rect.h + 1 : 0;
    for (unsigned i = first; i < n && rect.h > 0; i++)
        put_field(state, i, lw_rect_take_top(&rect, 1), grid);
}

struct painting {
    struct lw_grid *grid;     /* NULL: lines are only counted */
    struct lw_rect rect;
    int y;
    bool is_short;            /* no room for cautions: the heading says what matters most, help says all */
};

static enum lw_role role_of(const struct lw_line *line)
{
    static const enum lw_role by_kind[] = {
        [LW_LINE_ANSWER] = LW_ROLE_STRONG, [LW_LINE_CAUTION] = LW_ROLE_CAUTION, [LW_LINE_HEADING] = LW_ROLE_TITLE,
        [LW_LINE_WORKING] = LW_ROLE_DIM, [LW_LINE_SOURCE] = LW_ROLE_DIM, [LW_LINE_HEADS] = LW_ROLE_DIM, [LW_LINE_PLOT] = LW_ROLE_PLOT,
        [LW_LINE_CELLS] = LW_ROLE_NORMAL,
    };
    static const enum lw_role by_finding[] = {
        [LW_FINDING_FITS] = LW_ROLE_GOOD, [LW_FINDING_CANNOT_TELL] = LW_ROLE_CAUTION, [LW_FINDING_MARGINAL] = LW_ROLE_CAUTION,
        [LW_FINDING_DOES_NOT] = LW_ROLE_ALARM,
    };
    bool has_finding = line->finding != LW_FINDING_NONE && (line->kind == LW_LINE_ANSWER || line->kind == LW_LINE_CELLS);
    return has_finding ? by_finding[line->finding] : by_kind[line->kind];
}

static void take_line(void *context, const struct lw_line *line)
{
    struct painting *painting = context;
    if (painting->is_short && (line->kind == LW_LINE_CAUTION || line->kind == LW_LINE_BLANK))
        return;
    if (painting->grid && painting->y >= 0 && painting->y < painting->rect.h)
        lw_grid_put(painting->grid, painting->rect, 0, painting->y, role_of(line), line->text);
    painting->y++;
}

static void put_result(struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    struct lw_calc_state *calc = &state->calc;
    bool is_short = rect.h < FULL_RESULT;
    struct painting count = { .rect = rect, .is_short = is_short }, paint = { grid, rect, 0, is_short };
    if (rect.h == 0)
        return;
    if (state->calc_error) {
        lw_grid_put_wrapped(grid, rect, LW_ROLE_CAUTION, state->calc_error);
        return;
    }
    if (!state->worksheet)
        return;
    lw_sheet_lay_out(state->worksheet, rect.w, take_line, &count);
    unsigned most = count.y > rect.h ? (unsigned)(count.y - rect.h) : 0;
    calc->from = calc->from < most ? calc->from : most;
    paint.y = -(int)calc->from;
    lw_sheet_lay_out(state->worksheet, rect.w, take_line, &paint);
    if (calc->from < most)
        lw_grid_put_right(grid, rect, rect.h - 1, LW_ROLE_DIM, " ↓ more");
}

/* The words of the chosen field in full: beside the fields they are cut off. */
static const char *words_of_choice(const struct lw_calc_state *state)
{
    const struct lw_calculator *calculator = lw_calculators[state->calculator];
    return state->field < calculator->n_fields ? calculator->fields[state->field].words : calculator->words;
}

void lw_view_calc(struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    int n = (int)lw_calculators[state->calc.calculator]->n_fields;
    bool is_at_machine = lw_calculators[state->calc.calculator]->has_cautions;
    struct lw_rect fields;
    lw_grid_put_rule(grid, lw_rect_take_top(&rect, rect.h > 4 ? 1 : 0),
                     is_at_machine ? "supply off before you measure ohms" : "arithmetic before the crimp tool");
    put_calculators(&state->calc, lw_rect_take_top(&rect, 1), grid);
    if (rect.w >= WIDE) {
        fields = lw_rect_take_left(&rect, FIELDS_COLUMNS);
        lw_rect_take_left(&rect, 1);
        if (fields.h > n + WORDS_ROWS) {
            struct lw_rect words = lw_rect_take_bottom(&fields, fields.h - n - 1);
            lw_rect_take_left(&words, NAME_COLUMN);
            words.w -= words.w > 0;
            lw_grid_put_wrapped(grid, words, LW_ROLE_NORMAL, words_of_choice(&state->calc));
        }
    } else {
        int most = rect.h > 8 ? rect.h / 3 : rect.h / 2;
        fields = lw_rect_take_top(&rect, n < most ? n : most);
        lw_rect_take_left(&rect, rect.w > 50 ? 1 : 0);
        if (rect.h > 6)
            lw_grid_put_rule(grid, lw_rect_take_top(&rect, 1), words_of_choice(&state->calc));
    }
    put_fields(&state->calc, fields, grid);
    put_result(state, rect, grid);
}
