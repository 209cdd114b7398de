/* SPDX-License-Identifier: MIT
 *
 * An interface as material of the calculator `timing`.
 */
#ifndef LOOMWATCH_APP_CALC_INTERFACE_H
#define LOOMWATCH_APP_CALC_INTERFACE_H

#include "loomwatch/calc/calculator.h"
#include "loomwatch/calc/timing.h"

/* Asks the kernel once; it may take as long as that does. Returns 0, or -EINVAL having said in error why nothing is known. */
int lw_calc_ask_interface(const char *interface, struct lw_timing_told *out, char error[LW_CALC_ERROR]);

#endif
