/* SPDX-License-Identifier: MIT
 *
 * `fit` in tables and bars: the module's messages, the tightest of the bus, response times against deadlines.
 */
#include "fit_parts.h"

#include <math.h>
#include <stdio.h>

enum { TIGHTEST_MOST = 10 };

static enum lw_finding finding_of(const struct lw_traffic_message *message)
{
    static const enum lw_finding of_passage[] = {
        [LW_PASSAGE_FREE] = LW_FINDING_FITS, [LW_PASSAGE_PUSHED] = LW_FINDING_DOES_NOT, [LW_PASSAGE_LATE] = LW_FINDING_DOES_NOT,
        [LW_PASSAGE_LATE_BEFORE] = LW_FINDING_CANNOT_TELL,
    };
    return message->is_twin ? LW_FINDING_DOES_NOT : of_passage[message->passage];
}

/* "100 ms", or ">= 50 ms" on event. */
static void write_rhythm(const struct lw_traffic_message *message, char buf[LW_SHEET_CELL])
{
    char period[LW_NUMBER_UNIT_TEXT];
    lw_fit_time(message->demand.period_ns, period);
    if (message->is_cyclic)
        snprintf(buf, LW_SHEET_CELL, "%s", period);
    else
        snprintf(buf, LW_SHEET_CELL, ">= %s", period);
}

/* The most urgent message of the bus that waits for this one. */
static void write_first_beaten(const struct lw_traffic *traffic, size_t index, char buf[LW_ID_TEXT])
{
    size_t next = index + 1;
    while (next < traffic->n && traffic->messages[next].is_module)
        next++;
    if (next < traffic->n)
        lw_id_text(traffic->messages[next].key, buf);
    else
        snprintf(buf, LW_ID_TEXT, "—");
}

static void put_module_row(const struct lw_fit *fit, size_t index, struct lw_sheet_table *table)
{
    const struct lw_traffic_message *message = &fit->traffic->messages[index];
    char name[LW_FIT_NAME], rhythm[LW_SHEET_CELL], beaten[LW_SHEET_CELL], from[LW_ID_TEXT];
    char response[LW_NUMBER_UNIT_TEXT], deadline[LW_NUMBER_UNIT_TEXT];
    snprintf(beaten, sizeof(beaten), "%zu of %zu", lw_traffic_n_beaten(fit->traffic, index),
             fit->traffic->n - fit->traffic->n_module);
    write_first_beaten(fit->traffic, index, from);
    write_rhythm(message, rhythm);
    lw_table_row(table, finding_of(message), (const char *[]){
        lw_fit_name(message, name), rhythm, beaten, from, lw_fit_response(&message->after, response),
        lw_fit_time(message->deadline_ns, deadline) });
}

static void put_module(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    struct lw_sheet_table *table = lw_sheet_table(sheet, "What the module sends, and beats on the bus");
    lw_table_heads(table, 6, (const char *[]){ "message", ">every", ">beats", ">from", ">within", ">due in" });
    for (size_t i = 0; i < fit->traffic->n; i++)
        if (fit->traffic->messages[i].is_module)
            put_module_row(fit, i, table);
}

/* The next message nearest to its deadline below the one before it; LW_NO_INDEX at the end. Of equals the one that goes first. */
static int next_tightest(const struct lw_traffic *traffic, int before, bool with_module)
{
    int best = LW_NO_INDEX;
    double limit = before == LW_NO_INDEX ? INFINITY : lw_traffic_share(&traffic->messages[before]), most = -1;
    for (int i = 0; i < (int)traffic->n; i++) {
        double share = lw_traffic_share(&traffic->messages[i]);
        bool is_after = share < limit || (share == limit && i > before);
        if (is_after && share > most && (with_module || !traffic->messages[i].is_module)) {
            most = share;
            best = i;
        }
    }
    return best;
}

static void put_bus_row(const struct lw_traffic_message *message, struct lw_sheet_table *table)
{
    char name[LW_FIT_NAME], before[LW_NUMBER_UNIT_TEXT], after[LW_NUMBER_UNIT_TEXT], period[LW_NUMBER_UNIT_TEXT];
    char share[LW_SHEET_CELL];
    snprintf(share, sizeof(share), isinf(lw_traffic_share(message)) ? "—" : "%.1f %%", 100 * lw_traffic_share(message));
    lw_table_row(table, finding_of(message), (const char *[]){
        lw_fit_name(message, name), lw_fit_time(message->deadline_ns, period), lw_fit_response(&message->before, before),
        lw_fit_response(&message->after, after), share });
}

static size_t count_timed(const struct lw_traffic *traffic)
{
    size_t n = 0;
    for (size_t i = 0; i < traffic->n; i++)
        n += !traffic->messages[i].is_module && traffic->messages[i].deadline_ns != 0;
    return n;
}

static void put_bus(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    size_t n_timed = count_timed(fit->traffic), n_shown = n_timed < TIGHTEST_MOST ? n_timed : TIGHTEST_MOST;
    char title[LW_SHEET_TITLE];
    snprintf(title, sizeof(title), "The %zu tightest of the bus arrive within (%zu others, %zu without period)", n_shown,
             n_timed - n_shown, fit->traffic->n - fit->traffic->n_module - n_timed);
    struct lw_sheet_table *table = lw_sheet_table(sheet, title);
    lw_table_heads(table, 5, (const char *[]){ "message", ">period", ">before", ">after", ">of period" });
    int index = LW_NO_INDEX;
    for (size_t i = 0; i < n_shown; i++) {
        index = next_tightest(fit->traffic, index, false);
        put_bus_row(&fit->traffic->messages[index], table);
    }
}

static void put_bars(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    struct lw_sheet_plot *plot = lw_sheet_plot(sheet, LW_PLOT_BARS, "Response time against deadline, the tightest first");
    if (!plot)
        return;
    snprintf(plot->x_words, sizeof(plot->x_words), "response time in parts of the deadline, %%");
    int index = LW_NO_INDEX;
    for (unsigned i = 0; i < TIGHTEST_MOST && (index = next_tightest(fit->traffic, index, true)) != LW_NO_INDEX; i++) {
        const struct lw_traffic_message *message = &fit->traffic->messages[index];
        char name[LW_FIT_NAME];
        double share = lw_traffic_share(message);
        lw_plot_bar(plot, lw_fit_name(message, name), isinf(share) ? NAN : 100 * share, 100, finding_of(message));
    }
}

void lw_fit_tables(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    put_module(fit, sheet);
    put_bus(fit, sheet);
    put_bars(fit, sheet);
}
