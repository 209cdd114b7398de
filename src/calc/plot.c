/* SPDX-License-Identifier: MIT
 *
 * Axes of plots.
 */
#include "loomwatch/calc/plot.h"

#include <math.h>
#include <string.h>

static void widen(struct lw_plot_axis *axis, double value)
{
    if (!isfinite(value) || (axis->is_log && value <= 0))
        return;
    axis->low = value < axis->low ? value : axis->low;
    axis->high = value > axis->high ? value : axis->high;
}

/* An axis of no values, or of one, is still an axis. Logarithmic ones end at whole decades where these are near. */
static void round_ends(struct lw_plot_axis *axis)
{
    if (!(axis->low <= axis->high))
        axis->low = axis->high = axis->is_log ? 1 : 0;
    if (axis->is_log) {
        double low = pow(10, floor(log10(axis->low))), high = pow(10, ceil(log10(axis->high)));
        axis->low = axis->low / low < 2 ? low : axis->low;
        axis->high = high / axis->high < 2 ? high : axis->high;
        if (axis->high <= axis->low)
            axis->high = axis->low * 10;
    } else if (axis->high <= axis->low) {
        axis->high = axis->low + 1;
    }
}

void lw_plot_axes(const struct lw_sheet_plot *plot, struct lw_plot_axis *x, struct lw_plot_axis *y)
{
    *x = (struct lw_plot_axis){ INFINITY, -INFINITY, plot->is_log_x };
    *y = (struct lw_plot_axis){ INFINITY, -INFINITY, plot->is_log_y };
    if (plot->kind == LW_PLOT_BARS) {
        *y = (struct lw_plot_axis){ 0, 1, false };
        if (!x->is_log)
            widen(x, 0);
    }
    for (unsigned i = 0; i < plot->n_bars; i++) {
        widen(x, plot->bars[i].value);
        widen(x, plot->bars[i].limit);
    }
    for (unsigned i = 0; i < plot->n_series; i++)
        for (unsigned j = 0; j < plot->series[i].n_points; j++) {
            widen(x, plot->series[i].x[j]);
            widen(y, plot->series[i].y[j]);
        }
    round_ends(x);
    if (plot->kind == LW_PLOT_CURVE)
        round_ends(y);
}

double lw_plot_place(const struct lw_plot_axis *axis, double value)
{
    double place = axis->is_log ? value > 0 ? log(value / axis->low) / log(axis->high / axis->low) : 0
                                : (value - axis->low) / (axis->high - axis->low);
    return place < 0 ? 0 : place > 1 ? 1 : place;
}

double lw_plot_value(const struct lw_plot_axis *axis, double place)
{
    return axis->is_log ? axis->low * pow(axis->high / axis->low, place) : axis->low + place * (axis->high - axis->low);
}

/* 1, 2, 5 times a power of ten, so that about five fall on the axis. */
static double linear_step(const struct lw_plot_axis *axis)
{
    double rough = (axis->high - axis->low) / 5, power = pow(10, floor(log10(rough)));
    double times = rough / power;
    return power * (times <= 1 ? 1 : times <= 2 ? 2 : times <= 5 ? 5 : 10);
}

/* Whole decades; over few of them 2 and 5 between too. */
static unsigned log_ticks(const struct lw_plot_axis *axis, double out[LW_PLOT_TICKS])
{
    static const double within[] = { 1, 2, 5 };
    bool is_short = axis->high / axis->low < 1000;
    unsigned n = 0;
    for (double decade = pow(10, floor(log10(axis->low))); decade <= axis->high * (1 + 1e-9); decade *= 10)
        for (int i = 0; i < (is_short ? 3 : 1); i++) {
            double tick = decade * within[i];
            if (tick >= axis->low * (1 - 1e-9) && tick <= axis->high * (1 + 1e-9) && n < LW_PLOT_TICKS)
                out[n++] = tick;
        }
    return n;
}

unsigned lw_plot_ticks(const struct lw_plot_axis *axis, double out[LW_PLOT_TICKS])
{
    unsigned n = 0;
    double slack = 1e-9 * (axis->high - axis->low);
    if (axis->is_log)
        return log_ticks(axis, out);
    double step = linear_step(axis), first = ceil(axis->low / step - 1e-9) * step;
    for (; first + n * step <= axis->high + slack && n < LW_PLOT_TICKS; n++)
        out[n] = first + n * step;
    return n;
}

double lw_series_height(const struct lw_sheet_series *series, const struct lw_plot_axis *x_axis, const struct lw_plot_axis *y_axis,
                        double x)
{
    for (unsigned i = 0; i + 1 < series->n_points; i++) {
        double from = series->x[i], to = series->x[i + 1];
        if (x < from || x > to)
            continue;
        double a = lw_plot_place(x_axis, from), b = lw_plot_place(x_axis, to), at = lw_plot_place(x_axis, x);
        double share = b > a ? (at - a) / (b - a) : 1;
        double low = lw_plot_place(y_axis, series->y[i]), high = lw_plot_place(y_axis, series->y[i + 1]);
        return lw_plot_value(y_axis, low + share * (high - low));
    }
    return NAN;
}

const char *lw_plot_unit(const char *words)
{
    const char *comma = strrchr(words, ',');
    return comma ? comma + 1 + strspn(comma + 1, " ") : "";
}
