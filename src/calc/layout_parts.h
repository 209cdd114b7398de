/* SPDX-License-Identifier: MIT
 *
 * What the layout_*.c files share: a place to write lines to.
 */
#ifndef LOOMWATCH_SRC_CALC_LAYOUT_PARTS_H
#define LOOMWATCH_SRC_CALC_LAYOUT_PARTS_H

#include "loomwatch/calc/layout.h"

struct lw_layout {
    int width;
    void (*take)(void *context, const struct lw_line *line);
    void *context;
};

void lw_layout_put(struct lw_layout *layout, enum lw_line_kind kind, enum lw_finding finding, const char *text);

/* Text broken at blanks: the first line begins with `first`, the others with `indent` blanks. */
void lw_layout_wrap(struct lw_layout *layout, enum lw_line_kind kind, enum lw_finding finding, const char *first, int indent,
                    const char *text);

void lw_layout_plot(struct lw_layout *layout, const struct lw_sheet_plot *plot);

#endif
