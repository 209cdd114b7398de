/* SPDX-License-Identifier: MIT
 *
 * What the person at the arithmetic page has chosen and typed.
 */
#ifndef LOOMWATCH_UI_CALC_STATE_H
#define LOOMWATCH_UI_CALC_STATE_H

#include "loomwatch/calc/calculator.h"

/* All zero at start: the first calculator, its first field, nothing typed. */
struct lw_calc_state {
    unsigned calculator;                 /* index into lw_calculators */
    unsigned field;
    unsigned from;                       /* first line of the result in sight */
    bool is_editing;
    char edit[LW_CALC_TEXT];             /* what is being typed into the field */
    char texts[LW_N_CALCULATORS][LW_CALC_FIELDS][LW_CALC_TEXT];   /* as typed; empty = not given */
};

/* Takes a key of the page: arrows, Home, End, Enter, and while a value is typed every key. Returns whether it was one of
 * its own; *has_changed then says whether the result must be worked out anew. */
bool lw_calc_state_key(struct lw_calc_state *state, int key_code, bool *has_changed);

/* The input as typed. Returns 0, or -EINVAL with what is wrong in error. */
int lw_calc_state_input(const struct lw_calc_state *state, struct lw_calc_input *input, char error[LW_CALC_ERROR]);

#endif
