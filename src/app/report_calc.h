/* SPDX-License-Identifier: MIT
 *
 * Worksheets as text, JSON and SVG: one renderer each, for every calculator.
 */
#ifndef LOOMWATCH_APP_REPORT_CALC_H
#define LOOMWATCH_APP_REPORT_CALC_H

#include "loomwatch/calc/calculator.h"

#include <stdio.h>

/* Lines of at most `width` columns. */
void lw_report_sheet_text(FILE *out, const struct lw_worksheet *sheet, int width);

/* One object: the input as typed, finding, answers, cautions, rows, tables, plots. Returns 0 or -EIO. */
int lw_report_sheet_json(FILE *out, const struct lw_calc_input *input, const struct lw_worksheet *sheet);

/* The plots of the worksheet, one below the other, as an SVG document that needs nothing else. */
void lw_report_sheet_svg(FILE *out, const struct lw_worksheet *sheet);

#endif
