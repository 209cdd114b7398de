/* SPDX-License-Identifier: MIT
 *
 * The calculators there are, and what running one has in common.
 */
#include "loomwatch/calc/calculator.h"

#include <stdio.h>
#include <string.h>

const struct lw_calculator *const lw_calculators[LW_N_CALCULATORS] = {
    &lw_calc_meter, &lw_calc_timing, &lw_calc_stub, &lw_calc_fit,
};

const struct lw_calculator *lw_calculator_find(const char *name)
{
    for (int i = 0; i < LW_N_CALCULATORS; i++)
        if (strcmp(lw_calculators[i]->name, name) == 0)
            return lw_calculators[i];
    return NULL;
}

void lw_calc_run(const struct lw_calc_input *input, struct lw_worksheet *sheet)
{
    const struct lw_calculator *calculator = input->calculator;
    lw_sheet_init(sheet);
    snprintf(sheet->title, sizeof(sheet->title), "%s: %s", calculator->name, calculator->words);
    if (calculator->has_cautions) {
        lw_sheet_caution(sheet, "Switch the supply off, and wait, ten seconds at least, until stored charge is gone, before you "
                         "measure resistance or touch a connector.");
        lw_sheet_caution(sheet, "Airbag and high-voltage parts, and machines that may move: only with the procedure of the "
                         "maker. Local law, the maker's information and licensed people come first.");
    }
    calculator->run(input, sheet);
}
