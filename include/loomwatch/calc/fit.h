/* SPDX-License-Identifier: MIT
 *
 * What the calculator `fit` needs besides its fields: a baseline and a module, read or learned by the app.
 */
#ifndef LOOMWATCH_CALC_FIT_H
#define LOOMWATCH_CALC_FIT_H

#include "loomwatch/calc/calculator.h"
#include "loomwatch/calc/traffic.h"

/* The fields of lw_calc_fit, in their order. */
enum lw_fit_field {
    LW_FIT_BASELINE, LW_FIT_MODULE, LW_FIT_BUS, LW_FIT_RATE, LW_FIT_DATA_RATE, LW_FIT_FAULTS, LW_FIT_GAP, LW_FIT_N_FIELDS,
};

/* input->material of lw_calc_fit. Everything is borrowed. */
struct lw_fit_material {
    const struct lw_baseline *baseline;
    const char *baseline_words;         /* where it comes from: a file's name, "this watch" */
    const struct lw_module *module;
    struct lw_traffic *traffic;         /* room to work in */
};

#endif
