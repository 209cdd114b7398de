/* SPDX-License-Identifier: MIT
 *
 * Keys of the arithmetic page. A digit begins a value at once; letters keep their meaning until Enter opens the field.
 */
#include "loomwatch/ui/calc_state.h"

#include "loomwatch/ui/keys.h"

#include <errno.h>
#include <string.h>

static const struct lw_calc_field *field_of(const struct lw_calc_state *state)
{
    const struct lw_calculator *calculator = lw_calculators[state->calculator];
    return state->field < calculator->n_fields ? &calculator->fields[state->field] : NULL;
}

static char *text_of(struct lw_calc_state *state)
{
    return state->texts[state->calculator][state->field];
}

static void begin_edit(struct lw_calc_state *state, const char *text)
{
    state->is_editing = true;
    strcpy(state->edit, text);
}

/* A choice needs no typing: each Enter takes the next word, and after the last none. */
static bool next_choice(struct lw_calc_state *state, const struct lw_calc_field *field)
{
    unsigned next = 0;
    char *text = text_of(state);
    while (*text != '\0' && field->choices[next] && strcmp(field->choices[next], text) != 0)
        next++;
    next += *text != '\0' && field->choices[next];
    strcpy(text, field->choices[next] ? field->choices[next] : "");
    return true;
}

/* Returns whether the value has changed. */
static bool end_edit(struct lw_calc_state *state)
{
    state->is_editing = false;
    state->from = 0;
    strcpy(text_of(state), state->edit);
    return true;
}

static void type(struct lw_calc_state *state, int code)
{
    size_t n = strlen(state->edit);
    if (code == LW_KEY_BACKSPACE && n > 0)
        state->edit[n - 1] = '\0';
    else if (code >= ' ' && code < 0x7F && n + 1 < sizeof(state->edit)) {
        state->edit[n] = (char)code;
        state->edit[n + 1] = '\0';
    }
}

static void move(struct lw_calc_state *state, int code)
{
    unsigned n = lw_calculators[state->calculator]->n_fields, last = n > 0 ? n - 1 : 0;
    switch (code) {
    case LW_KEY_UP:
        if (state->from > 0)
            state->from--;
        else if (state->field > 0)
            state->field--;
        break;
    case LW_KEY_DOWN:
        if (state->field < last)
            state->field++;
        else
            state->from++;
        break;
    case LW_KEY_HOME: state->field = state->from = 0; break;
    default: state->field = last; break;
    }
}

static bool turn(struct lw_calc_state *state, int code)
{
    state->calculator = (state->calculator + (code == LW_KEY_RIGHT ? 1 : LW_N_CALCULATORS - 1)) % LW_N_CALCULATORS;
    state->field = state->from = 0;
    return true;
}

static bool edit_key(struct lw_calc_state *state, int code)
{
    if (code == LW_KEY_ESCAPE) {
        state->is_editing = false;
        return false;
    }
    if (code != LW_KEY_ENTER && code != LW_KEY_UP && code != LW_KEY_DOWN) {
        type(state, code);
        return false;
    }
    bool has_changed = end_edit(state);
    if (code != LW_KEY_ENTER)
        move(state, code);
    return has_changed;
}

static bool opens_edit(int code)
{
    return (code >= '0' && code <= '9') || code == '.' || code == '-';
}

bool lw_calc_state_key(struct lw_calc_state *state, int key_code, bool *has_changed)
{
    const struct lw_calc_field *field = field_of(state);
    *has_changed = false;
    if (state->is_editing) {
        *has_changed = edit_key(state, key_code);
    } else if (key_code == LW_KEY_LEFT || key_code == LW_KEY_RIGHT) {
        *has_changed = turn(state, key_code);
    } else if (key_code == LW_KEY_UP || key_code == LW_KEY_DOWN || key_code == LW_KEY_HOME || key_code == LW_KEY_END) {
        move(state, key_code);
    } else if (field && key_code == LW_KEY_ENTER) {
        if (field->kind == LW_FIELD_CHOICE)
            *has_changed = next_choice(state, field);
        else
            begin_edit(state, text_of(state));
    } else if (field && field->kind != LW_FIELD_CHOICE && opens_edit(key_code)) {
        begin_edit(state, "");
        type(state, key_code);
    } else {
        return false;
    }
    return true;
}

int lw_calc_state_input(const struct lw_calc_state *state, struct lw_calc_input *input, char error[LW_CALC_ERROR])
{
    const struct lw_calculator *calculator = lw_calculators[state->calculator];
    lw_calc_input_init(input, calculator);
    for (unsigned i = 0; i < calculator->n_fields; i++) {
        const char *text = state->texts[state->calculator][i];
        if (*text != '\0' && lw_calc_input_put(input, i, text, error) != 0)
            return -EINVAL;
    }
    return lw_calc_input_finish(input, error);
}
