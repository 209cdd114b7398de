/* SPDX-License-Identifier: MIT
 *
 * Plots as characters.
 */
#include "layout_parts.h"

#include "loomwatch/calc/plot.h"
#include "utf8.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LABEL_MOST = 26, VALUE_COLUMNS = 12, CURVE_ROWS = 14, AXIS_COLUMNS = 9, CURVE_MOST = 100 };

static const char line_letters[] = "abcd";

/* A bar of blocks, with the limit as an upright stroke. */
static void put_bar(struct lw_layout *layout, const struct lw_sheet_plot *plot, const struct lw_sheet_bar *bar,
                    const struct lw_plot_axis *axis, int label_columns)
{
    char line[LW_LINE_TEXT], label[LW_SHEET_CELL], value[LW_NUMBER_UNIT_TEXT];
    int room = layout->width - label_columns - VALUE_COLUMNS - 4;
    int filled = isnan(bar->value) ? 0 : (int)lround(lw_plot_place(axis, bar->value) * (room - 1));
    int limit = isnan(bar->limit) ? -1 : (int)lround(lw_plot_place(axis, bar->limit) * (room - 1));
    snprintf(label, sizeof(label), "%s", bar->label);
    label[lw_utf8_bytes(label, label_columns)] = '\0';
    size_t n = (size_t)snprintf(line, sizeof(line), "  %s%*s ", label, label_columns - lw_utf8_columns(label), "");
    for (int x = 0; x < room; x++)
        n += (size_t)snprintf(line + n, sizeof(line) - n, "%s", x == limit ? "│" : x < filled ? "█" : " ");
    snprintf(line + n, sizeof(line) - n, " %*s", VALUE_COLUMNS, lw_number_text(bar->value, lw_plot_unit(plot->x_words), value));
    lw_layout_put(layout, LW_LINE_PLOT, bar->finding, line);
}

static void put_bars(struct lw_layout *layout, const struct lw_sheet_plot *plot)
{
    struct lw_plot_axis x, y;
    char line[160];
    int label_columns = 4;
    bool has_limit = false;
    lw_plot_axes(plot, &x, &y);
    for (unsigned i = 0; i < plot->n_bars; i++) {
        int n = lw_utf8_columns(plot->bars[i].label);
        label_columns = n > label_columns ? n : label_columns;
        has_limit = has_limit || !isnan(plot->bars[i].limit);
    }
    int most = layout->width / 3 < LABEL_MOST ? layout->width / 3 : LABEL_MOST;
    label_columns = label_columns < most ? label_columns : most;
    for (unsigned i = 0; i < plot->n_bars; i++)
        put_bar(layout, plot, &plot->bars[i], &x, label_columns);
    snprintf(line, sizeof(line), "  █ %s%s", plot->x_words, has_limit ? "   │ its limit" : "");
    lw_layout_put(layout, LW_LINE_PLOT, LW_FINDING_NONE, line);
    if (plot->n_bars_left_out > 0) {
        snprintf(line, sizeof(line), "  and %u more, not shown", plot->n_bars_left_out);
        lw_layout_put(layout, LW_LINE_SOURCE, LW_FINDING_NONE, line);
    }
}

struct canvas {
    int w, h;
    char cells[CURVE_ROWS][CURVE_MOST];
};

static void mark(struct canvas *canvas, double x, double y, char letter)
{
    if (!isnan(x) && !isnan(y))
        canvas->cells[canvas->h - 1 - (int)lround(y * (canvas->h - 1))][(int)lround(x * (canvas->w - 1))] = letter;
}

static void draw_series(struct canvas *canvas, const struct lw_sheet_series *series, char letter,
                        const struct lw_plot_axis *x_axis, const struct lw_plot_axis *y_axis)
{
    for (unsigned i = 0; i < series->n_points; i++)
        mark(canvas, lw_plot_place(x_axis, series->x[i]), lw_plot_place(y_axis, series->y[i]), letter);
    if (series->is_marks)
        return;
    for (int column = 0; column < canvas->w; column++) {
        double x = lw_plot_value(x_axis, column / (double)(canvas->w - 1));
        double y = lw_series_height(series, x_axis, y_axis, x);
        if (!isnan(y))
            mark(canvas, lw_plot_place(x_axis, x), lw_plot_place(y_axis, y), letter);
    }
}

static void put_canvas(struct lw_layout *layout, const struct canvas *canvas, const struct lw_plot_axis *y_axis, const char *unit)
{
    double ticks[LW_PLOT_TICKS];
    unsigned n_ticks = lw_plot_ticks(y_axis, ticks);
    for (int row = 0; row < canvas->h; row++) {
        char line[LW_LINE_TEXT], text[LW_NUMBER_UNIT_TEXT] = "";
        for (unsigned i = 0; i < n_ticks; i++)
            if (canvas->h - 1 - (int)lround(lw_plot_place(y_axis, ticks[i]) * (canvas->h - 1)) == row)
                lw_number_text(ticks[i], unit, text);
        text[lw_utf8_bytes(text, AXIS_COLUMNS)] = '\0';
        snprintf(line, sizeof(line), "%*s%s %s%.*s", AXIS_COLUMNS - lw_utf8_columns(text), "", text, *text != '\0' ? "┤" : "│",
                 canvas->w, canvas->cells[row]);
        lw_layout_put(layout, LW_LINE_PLOT, LW_FINDING_NONE, line);
    }
}

/* The numbers below the x axis, as far as they do not run into each other. */
static void put_x_axis(struct lw_layout *layout, int w, const struct lw_plot_axis *axis, const char *unit)
{
    double ticks[LW_PLOT_TICKS];
    unsigned n_ticks = lw_plot_ticks(axis, ticks);
    char line[LW_LINE_TEXT], numbers[LW_LINE_TEXT] = "";
    size_t n = (size_t)snprintf(line, sizeof(line), "%*s└", AXIS_COLUMNS + 1, "");
    int used = 0;
    for (int column = 0; column < w; column++) {
        bool is_tick = false;
        for (unsigned i = 0; i < n_ticks; i++) {
            if ((int)lround(lw_plot_place(axis, ticks[i]) * (w - 1)) != column)
                continue;
            char text[LW_NUMBER_UNIT_TEXT];
            int at = AXIS_COLUMNS + 2 + column - (int)strlen(lw_number_text(ticks[i], unit, text)) / 2;
            is_tick = true;
            at = at + (int)strlen(text) > layout->width ? layout->width - (int)strlen(text) : at;
            if (at >= used + (used > 0) && at + (int)strlen(text) <= layout->width)
                used += snprintf(numbers + used, sizeof(numbers) - (size_t)used, "%*s%s", at - used, "", text);
        }
        n += (size_t)snprintf(line + n, sizeof(line) - n, "%s", is_tick ? "┬" : "─");
    }
    lw_layout_put(layout, LW_LINE_PLOT, LW_FINDING_NONE, line);
    lw_layout_put(layout, LW_LINE_PLOT, LW_FINDING_NONE, numbers);
}

static void put_curve(struct lw_layout *layout, const struct lw_sheet_plot *plot)
{
    struct lw_plot_axis x, y;
    struct canvas canvas;
    char line[LW_LINE_TEXT];
    lw_plot_axes(plot, &x, &y);
    canvas.h = CURVE_ROWS;
    canvas.w = layout->width - AXIS_COLUMNS - 2 < CURVE_MOST ? layout->width - AXIS_COLUMNS - 2 : CURVE_MOST;
    memset(canvas.cells, ' ', sizeof(canvas.cells));
    for (unsigned i = 0; i < plot->n_series; i++)
        draw_series(&canvas, &plot->series[i], plot->series[i].is_marks ? '*' : line_letters[i], &x, &y);
    snprintf(line, sizeof(line), "%*s %s", AXIS_COLUMNS, "", plot->y_words);
    lw_layout_put(layout, LW_LINE_PLOT, LW_FINDING_NONE, line);
    put_canvas(layout, &canvas, &y, lw_plot_unit(plot->y_words));
    put_x_axis(layout, canvas.w, &x, lw_plot_unit(plot->x_words));
    snprintf(line, sizeof(line), "%*s %s", AXIS_COLUMNS, "", plot->x_words);
    lw_layout_put(layout, LW_LINE_PLOT, LW_FINDING_NONE, line);
    for (unsigned i = 0; i < plot->n_series; i++) {
        snprintf(line, sizeof(line), "%c  ", plot->series[i].is_marks ? '*' : line_letters[i]);
        lw_layout_wrap(layout, LW_LINE_PLOT, LW_FINDING_NONE, line, 3, plot->series[i].name);
    }
}

void lw_layout_plot(struct lw_layout *layout, const struct lw_sheet_plot *plot)
{
    if (plot->kind == LW_PLOT_BARS)
        put_bars(layout, plot);
    else
        put_curve(layout, plot);
}
