/* SPDX-License-Identifier: MIT
 *
 * A worksheet as text.
 */
#include "report_calc.h"

#include "loomwatch/calc/layout.h"

static void print_line(void *context, const struct lw_line *line)
{
    fprintf(context, "%s\n", line->text);
}

void lw_report_sheet_text(FILE *out, const struct lw_worksheet *sheet, int width)
{
    lw_sheet_lay_out(sheet, width, print_line, out);
}
