/* SPDX-License-Identifier: MIT
 *
 * A worksheet as lines: answers, cautions, working, tables. Plots are in layout_plot.c.
 */
#include "layout_parts.h"

#include "utf8.h"

#include <stdio.h>
#include <string.h>

enum { ROW_INDENT = 2, WORKING_INDENT = 6, VALUE_COLUMN = 46, COLUMN_GAP = 2, LEAST_COLUMN = 5 };

void lw_layout_put(struct lw_layout *layout, enum lw_line_kind kind, enum lw_finding finding, const char *text)
{
    char cut[LW_LINE_TEXT];
    snprintf(cut, sizeof(cut), "%s", text);
    lw_utf8_mend_end(cut);
    cut[lw_utf8_bytes(cut, layout->width)] = '\0';
    for (size_t n = strlen(cut); n > 0 && cut[n - 1] == ' '; n--)
        cut[n - 1] = '\0';
    layout->take(layout->context, &(struct lw_line){ (uint8_t)kind, (uint8_t)finding, cut });
}

/* How much of text goes on a line of n columns: up to the last blank that fits, or n columns of a word that is too long. */
static size_t line_end(const char *text, int n)
{
    size_t most = lw_utf8_bytes(text, n), end = most;
    if (text[most] == '\0')
        return most;
    while (end > 0 && text[end] != ' ')
        end--;
    return end > 0 ? end : most;
}

void lw_layout_wrap(struct lw_layout *layout, enum lw_line_kind kind, enum lw_finding finding, const char *first, int indent,
                    const char *text)
{
    char line[LW_LINE_TEXT];
    int used = lw_utf8_columns(first);
    indent = indent < layout->width / 2 ? indent : layout->width / 2;
    do {
        size_t n = line_end(text, layout->width - used);
        snprintf(line, sizeof(line), "%*s%s%.*s", *first != '\0' ? 0 : indent, "", first, (int)n, text);
        lw_layout_put(layout, kind, finding, line);
        text += n + strspn(text + n, " ");
        first = "";
        used = indent;
    } while (*text != '\0');
}

static void put_answers(struct lw_layout *layout, const struct lw_worksheet *sheet)
{
    for (unsigned i = 0; i < sheet->n_answers; i++) {
        const struct lw_sheet_answer *answer = &sheet->answers[i];
        char mark[32] = "";
        if (answer->finding != LW_FINDING_NONE)
            snprintf(mark, sizeof(mark), "[%s] ", lw_finding_words(answer->finding));
        lw_layout_wrap(layout, LW_LINE_ANSWER, answer->finding, mark, 0, answer->text);
    }
}

static void put_cautions(struct lw_layout *layout, const struct lw_worksheet *sheet)
{
    for (unsigned i = 0; i < sheet->n_cautions; i++)
        lw_layout_wrap(layout, LW_LINE_CAUTION, LW_FINDING_NONE, i == 0 ? "Caution: " : "", 0, sheet->cautions[i]);
}

static void put_rule(struct lw_layout *layout, const char *caption)
{
    char line[LW_LINE_TEXT];
    size_t n = (size_t)snprintf(line, sizeof(line), "── %s ", caption);
    for (int x = lw_utf8_columns(line); x < layout->width && n + 4 < sizeof(line); x++)
        n += (size_t)snprintf(line + n, sizeof(line) - n, "─");
    lw_layout_put(layout, LW_LINE_HEADING, LW_FINDING_NONE, line);
}

static void put_row(struct lw_layout *layout, const struct lw_sheet_row *row)
{
    char line[LW_LINE_TEXT];
    int label = lw_utf8_columns(row->label) + ROW_INDENT, value = lw_utf8_columns(row->value);
    int column = layout->width >= VALUE_COLUMN + 24 ? VALUE_COLUMN : layout->width - value;
    if (label + 1 > column || value > layout->width - column) {
        lw_layout_wrap(layout, LW_LINE_ROW, LW_FINDING_NONE, "  ", ROW_INDENT + 2, row->label);
        lw_layout_wrap(layout, LW_LINE_ROW, LW_FINDING_NONE, "", WORKING_INDENT, row->value);
    } else {
        snprintf(line, sizeof(line), "  %s%*s%s", row->label, column - label, "", row->value);
        lw_layout_put(layout, LW_LINE_ROW, LW_FINDING_NONE, line);
    }
    if (row->working[0] != '\0')
        lw_layout_wrap(layout, LW_LINE_WORKING, LW_FINDING_NONE, "      ", WORKING_INDENT, row->working);
    if (row->source[0] != '\0') {
        snprintf(line, sizeof(line), "[%s]", row->source);
        lw_layout_wrap(layout, LW_LINE_SOURCE, LW_FINDING_NONE, "      ", WORKING_INDENT, line);
    }
}

static void put_rows(struct lw_layout *layout, const struct lw_worksheet *sheet)
{
    if (sheet->n_rows > 0 && !sheet->rows[0].is_heading)
        put_rule(layout, "the working");
    for (unsigned i = 0; i < sheet->n_rows; i++) {
        if (sheet->rows[i].is_heading)
            put_rule(layout, sheet->rows[i].label);
        else
            put_row(layout, &sheet->rows[i]);
    }
}

static int larger(int a, int b)
{
    return a > b ? a : b;
}

/* Columns as wide as what stands in them; where that is too much, the widest give way first. */
static void column_widths(const struct lw_sheet_table *table, int room, int widths[LW_SHEET_COLUMNS])
{
    int total = 0;
    for (unsigned i = 0; i < table->n_columns; i++) {
        widths[i] = lw_utf8_columns(table->heads[i]);
        for (unsigned j = 0; j < table->n_rows; j++)
            widths[i] = larger(widths[i], lw_utf8_columns(table->cells[j][i]));
        total += widths[i] + COLUMN_GAP;
    }
    while (total > room) {
        unsigned widest = 0;
        for (unsigned i = 1; i < table->n_columns; i++)
            widest = widths[i] > widths[widest] ? i : widest;
        if (widths[widest] <= LEAST_COLUMN)
            break;
        widths[widest]--;
        total--;
    }
}

static void put_cells(struct lw_layout *layout, const struct lw_sheet_table *table, const int widths[],
                      const char (*cells)[LW_SHEET_CELL], enum lw_line_kind kind, enum lw_finding finding)
{
    char line[LW_LINE_TEXT], cell[LW_SHEET_CELL];
    size_t n = (size_t)snprintf(line, sizeof(line), "  ");
    for (unsigned i = 0; i < table->n_columns; i++) {
        snprintf(cell, sizeof(cell), "%s", cells[i]);
        if (lw_utf8_columns(cell) > widths[i]) {
            cell[lw_utf8_bytes(cell, widths[i] - 1)] = '\0';
            strncat(cell, "~", sizeof(cell) - strlen(cell) - 1);
        }
        int blanks = widths[i] - lw_utf8_columns(cell);
        n += (size_t)snprintf(line + n, sizeof(line) - n, "%*s%s%*s", table->is_right[i] ? blanks : 0, "", cell,
                              (table->is_right[i] ? 0 : blanks) + COLUMN_GAP, "");
    }
    snprintf(line + n, sizeof(line) - n, "%s", kind == LW_LINE_HEADS ? "" : lw_finding_words(finding));
    lw_layout_put(layout, kind, finding, line);
}

static void put_table(struct lw_layout *layout, const struct lw_sheet_table *table)
{
    int widths[LW_SHEET_COLUMNS], room = layout->width - ROW_INDENT, words = 0;
    char line[80];
    for (unsigned i = 0; i < table->n_rows; i++)
        words = larger(words, lw_utf8_columns(lw_finding_words(table->findings[i])));
    column_widths(table, room - words, widths);
    put_rule(layout, table->title);
    put_cells(layout, table, widths, table->heads, LW_LINE_HEADS, LW_FINDING_NONE);
    for (unsigned i = 0; i < table->n_rows; i++)
        put_cells(layout, table, widths, table->cells[i], LW_LINE_CELLS, table->findings[i]);
    if (table->n_left_out > 0) {
        snprintf(line, sizeof(line), "  and %u more, not shown", table->n_left_out);
        lw_layout_put(layout, LW_LINE_SOURCE, LW_FINDING_NONE, line);
    }
}

void lw_sheet_lay_out(const struct lw_worksheet *sheet, int width, void (*take)(void *context, const struct lw_line *line),
                      void *context)
{
    char line[80];
    struct lw_layout layout = { width < LW_LAYOUT_MIN ? LW_LAYOUT_MIN : width > LW_LAYOUT_MAX ? LW_LAYOUT_MAX : width, take, context };
    if (sheet->refusal[0] != '\0') {
        lw_layout_wrap(&layout, LW_LINE_ANSWER, LW_FINDING_CANNOT_TELL, "", 0, sheet->refusal);
        return;
    }
    put_cautions(&layout, sheet);
    if (sheet->n_cautions > 0)
        lw_layout_put(&layout, LW_LINE_BLANK, LW_FINDING_NONE, "");
    put_answers(&layout, sheet);
    for (unsigned i = 0; i < sheet->n_tables; i++)
        put_table(&layout, &sheet->tables[i]);
    for (unsigned i = 0; i < sheet->n_plots; i++) {
        put_rule(&layout, sheet->plots[i].title);
        lw_layout_plot(&layout, &sheet->plots[i]);
    }
    put_rows(&layout, sheet);
    if (sheet->n_left_out > 0) {
        snprintf(line, sizeof(line), "%u more lines found no room", sheet->n_left_out);
        lw_layout_put(&layout, LW_LINE_SOURCE, LW_FINDING_NONE, line);
    }
}
