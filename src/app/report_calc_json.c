/* SPDX-License-Identifier: MIT
 *
 * A worksheet as JSON, through jansson. Values that are not known are null.
 */
#include "report_calc.h"

#include <errno.h>
#include <jansson.h>
#include <math.h>

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *finding_word(unsigned finding)
{
    return finding == LW_FINDING_NONE ? json_null() : json_string(lw_finding_words((enum lw_finding)finding));
}

static json_t *input_object(const struct lw_calc_input *input)
{
    json_t *object = json_object();
    for (unsigned i = 0; i < input->calculator->n_fields; i++) {
        json_t *values = json_array();
        for (unsigned j = 0; j < input->slots[i].n; j++)
            json_array_append_new(values, json_string(input->slots[i].values[j].text));
        json_object_set_new(object, input->calculator->fields[i].name, values);
    }
    return object;
}

static json_t *answers(const struct lw_worksheet *sheet)
{
    json_t *list = json_array();
    for (unsigned i = 0; i < sheet->n_answers; i++)
        json_array_append_new(list, json_pack("{s:o,s:s}", "verdict", finding_word(sheet->answers[i].finding), "text",
                                              sheet->answers[i].text));
    return list;
}

static json_t *rows(const struct lw_worksheet *sheet)
{
    json_t *list = json_array();
    const char *heading = "";
    for (unsigned i = 0; i < sheet->n_rows; i++) {
        const struct lw_sheet_row *row = &sheet->rows[i];
        if (row->is_heading)
            heading = row->label;
        else
            json_array_append_new(list, json_pack("{s:s,s:s,s:s,s:s,s:s}", "heading", heading, "label", row->label, "value",
                                                  row->value, "working", row->working, "source", row->source));
    }
    return list;
}

static json_t *table_object(const struct lw_sheet_table *table)
{
    json_t *heads = json_array(), *lines = json_array();
    for (unsigned i = 0; i < table->n_columns; i++)
        json_array_append_new(heads, json_string(table->heads[i]));
    for (unsigned i = 0; i < table->n_rows; i++) {
        json_t *cells = json_array();
        for (unsigned j = 0; j < table->n_columns; j++)
            json_array_append_new(cells, json_string(table->cells[i][j]));
        json_array_append_new(lines, json_pack("{s:o,s:o}", "verdict", finding_word(table->findings[i]), "cells", cells));
    }
    return json_pack("{s:s,s:o,s:o,s:i}", "title", table->title, "columns", heads, "rows", lines, "left_out", (int)table->n_left_out);
}

static json_t *plot_object(const struct lw_sheet_plot *plot)
{
    json_t *bars = json_array(), *series = json_array();
    for (unsigned i = 0; i < plot->n_bars; i++)
        json_array_append_new(bars, json_pack("{s:s,s:o,s:o,s:o}", "label", plot->bars[i].label, "value", number(plot->bars[i].value),
                                              "limit", number(plot->bars[i].limit), "verdict", finding_word(plot->bars[i].finding)));
    for (unsigned i = 0; i < plot->n_series; i++) {
        json_t *points = json_array();
        for (unsigned j = 0; j < plot->series[i].n_points; j++)
            json_array_append_new(points, json_pack("[o,o]", number(plot->series[i].x[j]), number(plot->series[i].y[j])));
        json_array_append_new(series, json_pack("{s:s,s:o}", "name", plot->series[i].name, "points", points));
    }
    return json_pack("{s:s,s:s,s:s,s:o,s:o,s:i}", "title", plot->title, "x", plot->x_words, "y", plot->y_words, "bars", bars, "series",
                     series, "left_out", (int)plot->n_bars_left_out);
}

int lw_report_sheet_json(FILE *out, const struct lw_calc_input *input, const struct lw_worksheet *sheet)
{
    json_t *root = json_object(), *cautions = json_array(), *tables = json_array(), *plots = json_array();
    for (unsigned i = 0; i < sheet->n_cautions; i++)
        json_array_append_new(cautions, json_string(sheet->cautions[i]));
    for (unsigned i = 0; i < sheet->n_tables; i++)
        json_array_append_new(tables, table_object(&sheet->tables[i]));
    for (unsigned i = 0; i < sheet->n_plots; i++)
        json_array_append_new(plots, plot_object(&sheet->plots[i]));
    json_object_set_new(root, "calculator", json_string(input->calculator->name));
    json_object_set_new(root, "input", input_object(input));
    json_object_set_new(root, "verdict", finding_word(lw_sheet_finding(sheet)));
    json_object_set_new(root, "cautions", cautions);
    json_object_set_new(root, "answers", answers(sheet));
    json_object_set_new(root, "tables", tables);
    json_object_set_new(root, "plots", plots);
    json_object_set_new(root, "rows", rows(sheet));
    json_object_set_new(root, "left_out", json_integer(sheet->n_left_out));
    int rc = json_dumpf(root, out, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
    json_decref(root);
    return rc == 0 && fputc('\n', out) != EOF ? 0 : -EIO;
}
