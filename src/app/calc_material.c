/* SPDX-License-Identifier: MIT
 *
 * Files and interfaces that calculators need.
 */
#include "calc_material.h"

#include "calc_interface.h"

int lw_calc_material_read(struct lw_calc_input *input, char error[LW_CALC_ERROR])
{
    static struct lw_timing_told told;
    int rc = 0;
    error[0] = '\0';
    input->material = NULL;
    if (input->calculator == &lw_calc_timing && lw_calc_has(input, LW_TIMING_INTERFACE)) {
        rc = lw_calc_ask_interface(input->slots[LW_TIMING_INTERFACE].values[0].text, &told, error);
        input->material = rc == 0 ? &told : NULL;
    }
    return rc;
}
