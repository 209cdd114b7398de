/* SPDX-License-Identifier: MIT
 *
 * What a calculator gives back, as data: the answer first, cautions, the working line by line, tables and plots. It knows
 * nothing of how it is shown: terminal, JSON, SVG and dashboard each have one renderer for all calculators.
 */
#ifndef LOOMWATCH_CALC_WORKSHEET_H
#define LOOMWATCH_CALC_WORKSHEET_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    LW_SHEET_ANSWERS = 24, LW_SHEET_ANSWER_TEXT = 400,
    LW_SHEET_CAUTIONS = 8,
    LW_SHEET_ROWS = 64, LW_SHEET_LABEL = 64, LW_SHEET_VALUE = 64, LW_SHEET_WORKING = 240, LW_SHEET_SOURCE = 160,
    LW_SHEET_TABLES = 4, LW_SHEET_COLUMNS = 8, LW_SHEET_TABLE_ROWS = 128, LW_SHEET_CELL = 48, LW_SHEET_TITLE = 120,
    LW_SHEET_PLOTS = 3, LW_SHEET_BARS = 128, LW_SHEET_SERIES = 4, LW_SHEET_POINTS = 64,
};

/* In the order of weight: the finding of a worksheet is the largest of its answers. */
enum lw_finding {
    LW_FINDING_NONE,          /* a remark that decides nothing */
    LW_FINDING_FITS,
    LW_FINDING_CANNOT_TELL,
    LW_FINDING_MARGINAL,
    LW_FINDING_DOES_NOT,
};

struct lw_sheet_answer {
    uint8_t finding;          /* enum lw_finding */
    char text[LW_SHEET_ANSWER_TEXT];
};

struct lw_sheet_row {
    bool is_heading;          /* only label then */
    char label[LW_SHEET_LABEL];
    char value[LW_SHEET_VALUE];          /* with its unit */
    char working[LW_SHEET_WORKING];      /* the formula with the numbers in it; empty = none */
    char source[LW_SHEET_SOURCE];        /* where formula or number come from; empty = none */
};

struct lw_sheet_table {
    char title[LW_SHEET_TITLE];
    unsigned n_columns, n_rows;
    unsigned n_left_out;      /* rows that found no room */
    bool is_right[LW_SHEET_COLUMNS];     /* set to the right: numbers */
    char heads[LW_SHEET_COLUMNS][LW_SHEET_CELL];
    char cells[LW_SHEET_TABLE_ROWS][LW_SHEET_COLUMNS][LW_SHEET_CELL];
    uint8_t findings[LW_SHEET_TABLE_ROWS];   /* enum lw_finding */
};

enum lw_plot_kind { LW_PLOT_BARS, LW_PLOT_CURVE };

struct lw_sheet_bar {
    char label[LW_SHEET_CELL];
    double value;
    double limit;             /* drawn as a mark; NaN = none */
    uint8_t finding;
};

struct lw_sheet_series {
    char name[LW_SHEET_CELL];
    bool is_marks;            /* single marks instead of a line: "you are here" */
    unsigned n_points;        /* in the order of x */
    double x[LW_SHEET_POINTS], y[LW_SHEET_POINTS];
};

struct lw_sheet_plot {
    uint8_t kind;             /* enum lw_plot_kind */
    char title[LW_SHEET_TITLE];
    char x_words[LW_SHEET_CELL], y_words[LW_SHEET_CELL];   /* quantity and unit; bars have only x_words */
    bool is_log_x, is_log_y;  /* all values above 0 then */
    unsigned n_bars, n_bars_left_out;
    struct lw_sheet_bar bars[LW_SHEET_BARS];
    unsigned n_series;
    struct lw_sheet_series series[LW_SHEET_SERIES];
};

/* About 150 kB: no thing for a stack. */
struct lw_worksheet {
    char title[LW_SHEET_TITLE];
    char refusal[LW_SHEET_ANSWER_TEXT];  /* the input contradicts itself: what is wrong and what to write; empty = fine */
    unsigned n_answers, n_cautions, n_rows, n_tables, n_plots;
    unsigned n_left_out;                 /* answers, cautions, rows, tables, plots that found no room */
    struct lw_sheet_answer answers[LW_SHEET_ANSWERS];
    const char *cautions[LW_SHEET_CAUTIONS];   /* of static life */
    struct lw_sheet_row rows[LW_SHEET_ROWS];
    struct lw_sheet_table tables[LW_SHEET_TABLES];
    struct lw_sheet_plot plots[LW_SHEET_PLOTS];
};

/* Empty, on the caller's memory. */
void lw_sheet_init(struct lw_worksheet *sheet);

/* Each adds one thing at the end. What finds no room is counted in n_left_out; text is cut at a whole character. */
__attribute__((format(printf, 3, 4)))
void lw_sheet_answer(struct lw_worksheet *sheet, enum lw_finding finding, const char *format, ...);
void lw_sheet_caution(struct lw_worksheet *sheet, const char *text);
void lw_sheet_heading(struct lw_worksheet *sheet, const char *text);

/* working is a printf format. source may be NULL. value as lw_number_text gives it. */
__attribute__((format(printf, 5, 6)))
void lw_sheet_row(struct lw_worksheet *sheet, const char *label, const char *value, const char *source,
                  const char *working, ...);

/* The input contradicts itself. The first refusal stays. */
__attribute__((format(printf, 2, 3)))
void lw_sheet_refuse(struct lw_worksheet *sheet, const char *format, ...);

/* A new table or plot to fill in, all zero but the title; NULL where there is no room. */
struct lw_sheet_table *lw_sheet_table(struct lw_worksheet *sheet, const char *title);
struct lw_sheet_plot *lw_sheet_plot(struct lw_worksheet *sheet, enum lw_plot_kind kind, const char *title);

/* These take NULL for table and plot, and do nothing then. A head that begins with '>' is set to the right. Cells: as
 * many as the table has columns. */
void lw_table_heads(struct lw_sheet_table *table, unsigned n_columns, const char *const heads[]);
void lw_table_row(struct lw_sheet_table *table, enum lw_finding finding, const char *const cells[]);
void lw_plot_bar(struct lw_sheet_plot *plot, const char *label, double value, double limit, enum lw_finding finding);
struct lw_sheet_series *lw_plot_series(struct lw_sheet_plot *plot, const char *name);   /* NULL: no room */
void lw_series_point(struct lw_sheet_series *series, double x, double y);

/* The largest finding of all answers. */
enum lw_finding lw_sheet_finding(const struct lw_worksheet *sheet);

/* "fits", "marginal", "does not fit", "cannot tell"; "" for none. */
const char *lw_finding_words(enum lw_finding finding);

/* A number with a handy unit: (118, "ohm") "118 ohm", (500000, "bit/s") "500 kbit/s", (2.4, "m") "2.4 m"; NaN is a dash,
 * INFINITY "open". Units: ohm, V, m, mm2, bit/s, ns, Hz, and any other as it is; "" = a bare number. Four digits count. */
enum { LW_NUMBER_UNIT_TEXT = 40 };
char *lw_number_text(double value, const char *unit, char buf[LW_NUMBER_UNIT_TEXT]);

/* Two of them: "48.5 to 65 ohm", "900 ohm to 1.2 kohm"; one alone where both read the same. */
enum { LW_RANGE_TEXT = 2 * LW_NUMBER_UNIT_TEXT };
char *lw_range_text(double low, double high, const char *unit, char buf[LW_RANGE_TEXT]);

#endif
