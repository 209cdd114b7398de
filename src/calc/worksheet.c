/* SPDX-License-Identifier: MIT
 *
 * Filling worksheets: every list is bounded, and what finds no room is counted.
 */
#include "loomwatch/calc/worksheet.h"

#include "utf8.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static void set_text(char *buf, size_t size, const char *text)
{
    snprintf(buf, size, "%s", text ? text : "");
    lw_utf8_mend_end(buf);
}

void lw_sheet_init(struct lw_worksheet *sheet)
{
    memset(sheet, 0, sizeof(*sheet));
}

void lw_sheet_answer(struct lw_worksheet *sheet, enum lw_finding finding, const char *format, ...)
{
    va_list args;
    if (sheet->n_answers == LW_SHEET_ANSWERS) {
        sheet->n_left_out++;
        return;
    }
    struct lw_sheet_answer *answer = &sheet->answers[sheet->n_answers++];
    answer->finding = (uint8_t)finding;
    va_start(args, format);
    vsnprintf(answer->text, sizeof(answer->text), format, args);
    va_end(args);
    lw_utf8_mend_end(answer->text);
}

void lw_sheet_caution(struct lw_worksheet *sheet, const char *text)
{
    if (sheet->n_cautions == LW_SHEET_CAUTIONS)
        sheet->n_left_out++;
    else
        sheet->cautions[sheet->n_cautions++] = text;
}

static struct lw_sheet_row *next_row(struct lw_worksheet *sheet, const char *label)
{
    if (sheet->n_rows == LW_SHEET_ROWS) {
        sheet->n_left_out++;
        return NULL;
    }
    struct lw_sheet_row *row = &sheet->rows[sheet->n_rows++];
    memset(row, 0, sizeof(*row));
    set_text(row->label, sizeof(row->label), label);
    return row;
}

void lw_sheet_heading(struct lw_worksheet *sheet, const char *text)
{
    struct lw_sheet_row *row = next_row(sheet, text);
    if (row)
        row->is_heading = true;
}

void lw_sheet_row(struct lw_worksheet *sheet, const char *label, const char *value, const char *source,
                  const char *working, ...)
{
    va_list args;
    struct lw_sheet_row *row = next_row(sheet, label);
    if (!row)
        return;
    set_text(row->value, sizeof(row->value), value);
    set_text(row->source, sizeof(row->source), source);
    va_start(args, working);
    vsnprintf(row->working, sizeof(row->working), working, args);
    va_end(args);
    lw_utf8_mend_end(row->working);
}

void lw_sheet_refuse(struct lw_worksheet *sheet, const char *format, ...)
{
    va_list args;
    if (sheet->refusal[0] != '\0')
        return;
    va_start(args, format);
    vsnprintf(sheet->refusal, sizeof(sheet->refusal), format, args);
    va_end(args);
    lw_utf8_mend_end(sheet->refusal);
}

struct lw_sheet_table *lw_sheet_table(struct lw_worksheet *sheet, const char *title)
{
    if (sheet->n_tables == LW_SHEET_TABLES) {
        sheet->n_left_out++;
        return NULL;
    }
    struct lw_sheet_table *table = &sheet->tables[sheet->n_tables++];
    memset(table, 0, sizeof(*table));
    set_text(table->title, sizeof(table->title), title);
    return table;
}

struct lw_sheet_plot *lw_sheet_plot(struct lw_worksheet *sheet, enum lw_plot_kind kind, const char *title)
{
    if (sheet->n_plots == LW_SHEET_PLOTS) {
        sheet->n_left_out++;
        return NULL;
    }
    struct lw_sheet_plot *plot = &sheet->plots[sheet->n_plots++];
    memset(plot, 0, sizeof(*plot));
    plot->kind = (uint8_t)kind;
    set_text(plot->title, sizeof(plot->title), title);
    return plot;
}

void lw_table_heads(struct lw_sheet_table *table, unsigned n_columns, const char *const heads[])
{
    if (!table)
        return;
    table->n_columns = n_columns < LW_SHEET_COLUMNS ? n_columns : LW_SHEET_COLUMNS;
    for (unsigned i = 0; i < table->n_columns; i++) {
        table->is_right[i] = heads[i][0] == '>';
        set_text(table->heads[i], sizeof(table->heads[i]), heads[i] + table->is_right[i]);
    }
}

void lw_table_row(struct lw_sheet_table *table, enum lw_finding finding, const char *const cells[])
{
    if (!table)
        return;
    if (table->n_rows == LW_SHEET_TABLE_ROWS) {
        table->n_left_out++;
        return;
    }
    for (unsigned i = 0; i < table->n_columns; i++)
        set_text(table->cells[table->n_rows][i], LW_SHEET_CELL, cells[i]);
    table->findings[table->n_rows++] = (uint8_t)finding;
}

void lw_plot_bar(struct lw_sheet_plot *plot, const char *label, double value, double limit, enum lw_finding finding)
{
    if (!plot)
        return;
    if (plot->n_bars == LW_SHEET_BARS) {
        plot->n_bars_left_out++;
        return;
    }
    struct lw_sheet_bar *bar = &plot->bars[plot->n_bars++];
    *bar = (struct lw_sheet_bar){ .value = value, .limit = limit, .finding = (uint8_t)finding };
    set_text(bar->label, sizeof(bar->label), label);
}

struct lw_sheet_series *lw_plot_series(struct lw_sheet_plot *plot, const char *name)
{
    if (!plot || plot->n_series == LW_SHEET_SERIES)
        return NULL;
    struct lw_sheet_series *series = &plot->series[plot->n_series++];
    set_text(series->name, sizeof(series->name), name);
    return series;
}

void lw_series_point(struct lw_sheet_series *series, double x, double y)
{
    if (!series || series->n_points == LW_SHEET_POINTS)
        return;
    series->x[series->n_points] = x;
    series->y[series->n_points++] = y;
}

enum lw_finding lw_sheet_finding(const struct lw_worksheet *sheet)
{
    enum lw_finding finding = LW_FINDING_NONE;
    for (unsigned i = 0; i < sheet->n_answers; i++)
        if (sheet->answers[i].finding > finding)
            finding = (enum lw_finding)sheet->answers[i].finding;
    return finding;
}

const char *lw_finding_words(enum lw_finding finding)
{
    switch (finding) {
    case LW_FINDING_FITS: return "fits";
    case LW_FINDING_CANNOT_TELL: return "cannot tell";
    case LW_FINDING_MARGINAL: return "marginal";
    case LW_FINDING_DOES_NOT: return "does not fit";
    default: return "";
    }
}

char *lw_number_text(double value, const char *unit, char buf[LW_NUMBER_UNIT_TEXT])
{
    static const struct { const char *unit; double from, factor; const char *word; } handy[] = {
        { "ohm", 1e6, 1e6, "Mohm" }, { "ohm", 1e4, 1e3, "kohm" }, { "ohm", 0.5, 1, "ohm" }, { "ohm", 1e-6, 1e-3, "mohm" },
        { "bit/s", 1e6, 1e6, "Mbit/s" }, { "bit/s", 1e3, 1e3, "kbit/s" },
        { "ns", 1e6, 1e6, "ms" }, { "ns", 1e3, 1e3, "us" }, { "Hz", 1e6, 1e6, "MHz" }, { "Hz", 1e3, 1e3, "kHz" },
        { "m", 0.01, 1, "m" }, { "m", 1e-6, 1e-3, "mm" },
    };
    if (!isfinite(value)) {
        snprintf(buf, LW_NUMBER_UNIT_TEXT, "%s", isnan(value) ? "—" : "open");
        return buf;
    }
    for (size_t i = 0; i < sizeof handy / sizeof *handy; i++)
        if (strcmp(handy[i].unit, unit) == 0 && fabs(value) >= handy[i].from * (1 - 1e-12)) {
            value /= handy[i].factor;
            unit = handy[i].word;
            break;
        }
    double tidy = fabs(value) < 1e-9 ? 0 : value;   /* never "-0" */
    snprintf(buf, LW_NUMBER_UNIT_TEXT, fabs(tidy) >= 1000 && fabs(tidy) < 1e7 ? "%.0f%s%.16s" : "%.4g%s%.16s", tidy,
             *unit != '\0' && *unit != '%' ? " " : "", *unit == '%' ? " %" : unit);
    return buf;
}

char *lw_range_text(double low, double high, const char *unit, char buf[LW_RANGE_TEXT])
{
    char from[LW_NUMBER_UNIT_TEXT], to[LW_NUMBER_UNIT_TEXT];
    lw_number_text(low, unit, from);
    lw_number_text(high, unit, to);
    const char *from_unit = strchr(from, ' '), *to_unit = strchr(to, ' ');
    bool is_same_unit = from_unit && to_unit && strcmp(from_unit, to_unit) == 0;
    if (strcmp(from, to) == 0)
        snprintf(buf, LW_RANGE_TEXT, "%s", from);
    else
        snprintf(buf, LW_RANGE_TEXT, "%.*s to %s", (int)(is_same_unit ? from_unit - from : LW_NUMBER_UNIT_TEXT), from, to);
    return buf;
}
