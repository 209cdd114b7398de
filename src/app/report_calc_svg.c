/* SPDX-License-Identifier: MIT
 *
 * The plots of a worksheet as SVG: plain shapes and text, black on white, lines told apart by their dashes as well.
 */
#include "report_calc.h"

#include "loomwatch/calc/plot.h"

#include <math.h>

enum { WIDTH = 800, LEFT = 90, RIGHT = 30, TOP = 44, CURVE_HEIGHT = 340, BAR_HEIGHT = 18, BAR_LEFT = 220, BELOW = 66, NAME_ROW = 18 };

static const char *const colours[] = { "#0072b2", "#d55e00", "#009e73", "#cc79a7" };   /* Okabe and Ito: for every eye */
static const char *const dashes[] = { "none", "8 4", "2 3", "10 3 2 3" };

static void print_escaped(FILE *out, const char *text)
{
    for (; *text != '\0'; text++) {
        switch (*text) {
        case '&': fputs("&amp;", out); break;
        case '<': fputs("&lt;", out); break;
        case '>': fputs("&gt;", out); break;
        case '"': fputs("&quot;", out); break;
        default: fputc((unsigned char)*text < ' ' ? '?' : *text, out); break;
        }
    }
}

static void print_text(FILE *out, double x, double y, const char *anchor, const char *text)
{
    fprintf(out, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"%s\">", x, y, anchor);
    print_escaped(out, text);
    fputs("</text>\n", out);
}

static void print_line(FILE *out, double x1, double y1, double x2, double y2, const char *colour)
{
    fprintf(out, "<line x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\" stroke=\"%s\"/>\n", x1, y1, x2, y2, colour);
}

/* The area that values fall into. */
struct frame {
    double left, right, top, bottom;
    struct lw_plot_axis x, y;
};

static double x_of(const struct frame *frame, double value)
{
    return frame->left + lw_plot_place(&frame->x, value) * (frame->right - frame->left);
}

static double y_of(const struct frame *frame, double value)
{
    return frame->bottom - lw_plot_place(&frame->y, value) * (frame->bottom - frame->top);
}

static void print_axes(FILE *out, const struct lw_sheet_plot *plot, const struct frame *frame)
{
    double ticks[LW_PLOT_TICKS];
    char text[LW_NUMBER_UNIT_TEXT];
    unsigned n = lw_plot_ticks(&frame->x, ticks);
    for (unsigned i = 0; i < n; i++) {
        double x = x_of(frame, ticks[i]);
        print_line(out, x, frame->top, x, frame->bottom, "#ccc");
        print_text(out, x, frame->bottom + 16, "middle", lw_number_text(ticks[i], lw_plot_unit(plot->x_words), text));
    }
    n = plot->kind == LW_PLOT_CURVE ? lw_plot_ticks(&frame->y, ticks) : 0;
    for (unsigned i = 0; i < n; i++) {
        double y = y_of(frame, ticks[i]);
        print_line(out, frame->left, y, frame->right, y, "#ccc");
        print_text(out, frame->left - 6, y + 4, "end", lw_number_text(ticks[i], lw_plot_unit(plot->y_words), text));
    }
    print_line(out, frame->left, frame->bottom, frame->right, frame->bottom, "#000");
    print_line(out, frame->left, frame->top, frame->left, frame->bottom, "#000");
    print_text(out, (frame->left + frame->right) / 2, frame->bottom + 36, "middle", plot->x_words);
    print_text(out, frame->left, frame->top - 8, "start", plot->y_words);
}

static void print_bars(FILE *out, const struct lw_sheet_plot *plot, const struct frame *frame)
{
    char text[LW_NUMBER_UNIT_TEXT];
    for (unsigned i = 0; i < plot->n_bars; i++) {
        const struct lw_sheet_bar *bar = &plot->bars[i];
        double y = frame->top + i * BAR_HEIGHT, x = isnan(bar->value) ? frame->left : x_of(frame, bar->value);
        print_text(out, frame->left - 6, y + BAR_HEIGHT - 5, "end", bar->label);
        fprintf(out, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%d\" fill=\"%s\"/>\n", frame->left, y + 3, x - frame->left,
                BAR_HEIGHT - 6, bar->finding >= LW_FINDING_MARGINAL ? colours[1] : colours[0]);
        if (!isnan(bar->limit))
            fprintf(out, "<rect x=\"%.1f\" y=\"%.1f\" width=\"2\" height=\"%d\" fill=\"#000\"/>\n", x_of(frame, bar->limit) - 1, y + 1,
                    BAR_HEIGHT - 2);
        print_text(out, x + 6, y + BAR_HEIGHT - 5, "start", lw_number_text(bar->value, lw_plot_unit(plot->x_words), text));
    }
}

static void print_series(FILE *out, const struct lw_sheet_series *series, unsigned index, const struct frame *frame)
{
    double name_y = frame->bottom + BELOW - 12 + index * NAME_ROW;
    const char *colour = colours[index % 4];
    for (unsigned i = 0; series->is_marks && i < series->n_points; i++)
        fprintf(out, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"5\" fill=\"%s\"/>\n", x_of(frame, series->x[i]), y_of(frame, series->y[i]), colour);
    if (!series->is_marks) {
        fprintf(out, "<polyline fill=\"none\" stroke=\"%s\" stroke-width=\"2\" stroke-dasharray=\"%s\" points=\"", colour, dashes[index % 4]);
        for (unsigned i = 0; i < series->n_points; i++)
            fprintf(out, "%.1f,%.1f ", x_of(frame, series->x[i]), y_of(frame, series->y[i]));
        fprintf(out, "\"/>\n<line x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\" stroke=\"%s\" stroke-width=\"2\" stroke-dasharray=\"%s\"/>\n",
                frame->left, name_y - 4, frame->left + 40, name_y - 4, colour, dashes[index % 4]);
    } else {
        fprintf(out, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"5\" fill=\"%s\"/>\n", frame->left + 20, name_y - 4, colour);
    }
    print_text(out, frame->left + 48, name_y, "start", series->name);
}

static double plot_height(const struct lw_sheet_plot *plot)
{
    double inner = plot->kind == LW_PLOT_BARS ? plot->n_bars * BAR_HEIGHT + 4 : CURVE_HEIGHT;
    return TOP + inner + BELOW + plot->n_series * NAME_ROW;
}

static void print_plot(FILE *out, const struct lw_sheet_plot *plot, double top)
{
    double names = plot->n_series * NAME_ROW;
    struct frame frame = { .left = plot->kind == LW_PLOT_BARS ? BAR_LEFT : LEFT, .right = WIDTH - RIGHT - (plot->kind == LW_PLOT_BARS) * 70,
                           .top = top + TOP, .bottom = top + plot_height(plot) - BELOW - names };
    lw_plot_axes(plot, &frame.x, &frame.y);
    fputs("<g font-weight=\"bold\">", out);
    print_text(out, 10, top + 18, "start", plot->title);
    fputs("</g>\n", out);
    print_axes(out, plot, &frame);
    print_bars(out, plot, &frame);
    for (unsigned i = 0; i < plot->n_series; i++)
        print_series(out, &plot->series[i], i, &frame);
}

void lw_report_sheet_svg(FILE *out, const struct lw_worksheet *sheet)
{
    double height = 10, top = 0;
    for (unsigned i = 0; i < sheet->n_plots; i++)
        height += plot_height(&sheet->plots[i]);
    fprintf(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%.0f\" "
            "viewBox=\"0 0 %d %.0f\" font-family=\"sans-serif\" font-size=\"12\">\n<title>", WIDTH, height, WIDTH, height);
    print_escaped(out, sheet->title);
    fprintf(out, "</title>\n<rect width=\"%d\" height=\"%.0f\" fill=\"#fff\"/>\n", WIDTH, height);
    for (unsigned i = 0; i < sheet->n_plots; i++) {
        print_plot(out, &sheet->plots[i], top);
        top += plot_height(&sheet->plots[i]);
    }
    fputs("</svg>\n", out);
}
