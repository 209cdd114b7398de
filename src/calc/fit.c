/* SPDX-License-Identifier: MIT
 *
 * The calculator `fit`: not worked out yet, and says so.
 */
#include "loomwatch/calc/calculator.h"

static void run(const struct lw_calc_input *input, struct lw_worksheet *sheet)
{
    (void)input;
    lw_sheet_answer(sheet, LW_FINDING_CANNOT_TELL, "This calculator is not built yet.");
}

const struct lw_calculator lw_calc_fit = {
    .name = "fit", .words = "not built yet", .example = "", .run = run,
};
