/* SPDX-License-Identifier: MIT
 *
 * A worksheet as lines of text of a given width, in the order in which it is read: answer, cautions, working, tables,
 * plots. What the terminal prints and the dashboard shows are these lines.
 */
#ifndef LOOMWATCH_CALC_LAYOUT_H
#define LOOMWATCH_CALC_LAYOUT_H

#include "loomwatch/calc/worksheet.h"

enum { LW_LAYOUT_MIN = 30, LW_LAYOUT_MAX = 160, LW_LINE_TEXT = 1024 };

enum lw_line_kind {
    LW_LINE_BLANK, LW_LINE_ANSWER, LW_LINE_CAUTION, LW_LINE_HEADING, LW_LINE_ROW, LW_LINE_WORKING, LW_LINE_SOURCE,
    LW_LINE_HEADS, LW_LINE_CELLS, LW_LINE_PLOT,
};

struct lw_line {
    uint8_t kind;             /* enum lw_line_kind */
    uint8_t finding;          /* enum lw_finding, of answers and rows of tables */
    const char *text;         /* UTF-8, one column a character, no line feed; valid during the call */
};

/* Gives every line to take(). width is held between LW_LAYOUT_MIN and LW_LAYOUT_MAX columns. No line is wider, whatever the
 * worksheet holds: what does not fit is wrapped, in tables cut. */
void lw_sheet_lay_out(const struct lw_worksheet *sheet, int width, void (*take)(void *context, const struct lw_line *line),
                      void *context);

#endif
