/* SPDX-License-Identifier: MIT
 *
 * Where the values of a plot fall: shared by the plots of characters and those in SVG, so that both show the same.
 */
#ifndef LOOMWATCH_CALC_PLOT_H
#define LOOMWATCH_CALC_PLOT_H

#include "loomwatch/calc/worksheet.h"

enum { LW_PLOT_TICKS = 12 };

struct lw_plot_axis {
    double low, high;         /* low < high, both finite; above 0 where is_log */
    bool is_log;
};

/* The axes that hold every finite value of the plot. Bars have the x axis alone, from 0; y is then 0 to 1. */
void lw_plot_axes(const struct lw_sheet_plot *plot, struct lw_plot_axis *x, struct lw_plot_axis *y);

/* 0 at low, 1 at high; held between them. NaN stays NaN. */
double lw_plot_place(const struct lw_plot_axis *axis, double value);

/* The inverse, for 0 to 1. */
double lw_plot_value(const struct lw_plot_axis *axis, double place);

/* Round values along the axis, in order. Returns how many. */
unsigned lw_plot_ticks(const struct lw_plot_axis *axis, double out[LW_PLOT_TICKS]);

/* The height of a line through the points of a series at x, straight between the points as they are drawn; NaN outside. */
double lw_series_height(const struct lw_sheet_series *series, const struct lw_plot_axis *x_axis, const struct lw_plot_axis *y_axis,
                        double x);

/* The first word behind the last comma of an axis' words is its unit: "length, m". "" if there is none. */
const char *lw_plot_unit(const char *words);

#endif
