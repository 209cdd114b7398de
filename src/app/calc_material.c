/* SPDX-License-Identifier: MIT
 *
 * Files that calculators need.
 */
#include "calc_material.h"

int lw_calc_material_read(struct lw_calc_input *input, char error[LW_CALC_ERROR])
{
    error[0] = '\0';
    input->material = NULL;
    return 0;
}
