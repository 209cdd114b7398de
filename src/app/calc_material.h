/* SPDX-License-Identifier: MIT
 *
 * What calculators need from files: read here, since they do no I/O.
 */
#ifndef LOOMWATCH_APP_CALC_MATERIAL_H
#define LOOMWATCH_APP_CALC_MATERIAL_H

#include "loomwatch/calc/calculator.h"
#include "loomwatch/core/baseline.h"

/* Reads the files that the FILE fields of a finished input name, and points input->material at what they hold, until the
 * next call. present: the baseline of the watch that runs, taken where none is named; NULL = there is none. Nothing to do
 * for calculators without such fields. Returns 0, or -errno having said in error what is wrong. */
int lw_calc_material_read(struct lw_calc_input *input, const struct lw_baseline *present, char error[LW_CALC_ERROR]);

#endif
