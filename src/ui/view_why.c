/* SPDX-License-Identifier: MIT
 *
 * The why page: what speaks for and against the causes named, with numbers; the check that separates them best; readings; what the
 * adapter cannot tell; and how the verdict changed. Written as lines into a scrolling column.
 */
#include "loomwatch/core/text.h"
#include "loomwatch/ui/views.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { INDENT = 3, HISTORY_ROWS = 12, LINE = 512 };

static const double speaks_for = 1.15, speaks_against = 0.85;

/* Lines go through here: what lies above the first row shown is counted, not drawn. */
struct column {
    struct lw_grid *grid;
    struct lw_rect rect;
    int y, from;
};

static void put_line(struct column *column, int indent, enum lw_role role, const char *text)
{
    struct lw_grid nowhere = { 0 };
    struct lw_rect room = { 0, 0, column->rect.w - indent, LINE };
    int rows = lw_grid_put_wrapped(&nowhere, room, role, text);
    int y = column->y - column->from;
    struct lw_rect rect = { column->rect.x + indent, column->rect.y + y, column->rect.w - indent, column->rect.h - y };
    column->y += rows;
    if (y >= 0 && y < column->rect.h)
        lw_grid_put_wrapped(column->grid, rect, role, text);
}

static void put_caption(struct column *column, const char *text)
{
    put_line(column, 1, LW_ROLE_TITLE, text);
}

static const char *named_number(const struct lw_fact_info *info, const struct lw_fact_value *fact, char buf[48])
{
    if (fact->answer != LW_ANSWER_YES || info->unit[0] == '\0' || isinf(fact->value))
        return "";
    snprintf(buf, 48, " (%.4g %s)", fact->value, info->unit);
    return buf;
}

/* One fact that bears on the cause, as a sentence with its number. */
static void put_fact(struct column *column, const struct lw_bus_view *bus, enum lw_fact index, double ratio)
{
    const struct lw_fact_info *info = &lw_facts[index];
    const struct lw_fact_value *fact = &bus->facts[index];
    char text[LINE], number[48], clock[LW_NUMBER_TEXT] = "";
    if (fact->since_ns > bus->start_ns)
        snprintf(text, sizeof(text), " since %s", lw_text_clock_tenths(fact->since_ns - bus->start_ns, clock));
    else
        text[0] = '\0';
    char line[LINE];
    snprintf(line, sizeof(line), "%s %s%s%s", ratio >= 1 ? "for:" : "against:", fact->answer == LW_ANSWER_YES ? info->yes : info->no,
             named_number(info, fact, number), text);
    put_line(column, INDENT, ratio >= 1 ? LW_ROLE_NORMAL : LW_ROLE_CAUTION, line);
}

static void put_cause(struct column *column, const struct lw_bus_view *bus, unsigned nth, bool is_whole)
{
    const struct lw_suspect *suspect = &bus->verdict.named[nth];
    const struct lw_cause_info *info = &lw_causes[suspect->cause];
    char text[LINE];
    snprintf(text, sizeof(text), "%.0f in 100: %s", suspect->probability * 100, info->words);
    put_line(column, 1, LW_ROLE_STRONG, text);
    if (!is_whole)
        return;
    for (int pass = 0; pass < 2; pass++)
        for (int fact = 0; fact < LW_N_FACTS; fact++) {
            double ratio = lw_verdict_ratio(&bus->verdict, nth, (enum lw_fact)fact, (enum lw_answer)bus->facts[fact].answer);
            if (pass == 0 ? ratio > speaks_for : ratio < speaks_against)
                put_fact(column, bus, (enum lw_fact)fact, ratio);
        }
    snprintf(text, sizeof(text), "if so: %s%s From: %s.", info->next, strchr(info->next, '?') ? "" : ".", info->source);
    put_line(column, INDENT, LW_ROLE_DIM, text);
}

static void put_check(struct column *column, const struct lw_verdict *verdict)
{
    char text[LW_VERDICT_TEXT];
    if (verdict->check < 0)
        return;
    put_caption(column, "Check next");
    put_line(column, 1, LW_ROLE_STRONG, lw_verdict_check_words(verdict, text));
    for (unsigned i = 0; i < lw_checks[verdict->check].n_outcomes; i++)
        if (lw_verdict_outcome_words(verdict, i, text) > 0)
            put_line(column, INDENT, LW_ROLE_NORMAL, text);
    if (lw_checks[verdict->check].caution)
        put_line(column, INDENT, LW_ROLE_CAUTION, lw_checks[verdict->check].caution);
}

static void put_readings(struct column *column, const struct lw_bus_view *bus)
{
    char text[LINE], words[LW_READING_TEXT], clock[LW_NUMBER_TEXT];
    if (bus->readings.n == 0)
        return;
    put_caption(column, "Meter readings");
    for (unsigned i = bus->readings.n; i-- > 0;) {
        const struct lw_meter_reading *reading = &bus->readings.all[i];
        uint64_t elapsed = reading->t_ns > bus->start_ns ? reading->t_ns - bus->start_ns : 0;
        snprintf(text, sizeof(text), "%s  %s%s", lw_text_clock_tenths(elapsed, clock), lw_reading_words(reading, words),
                 reading->kind == LW_MEASURE_OHM ? ", supply off" : "");
        put_line(column, INDENT, LW_ROLE_NORMAL, text);
    }
}

/* What silence of this adapter does not prove. */
static void put_limits(struct column *column, const struct lw_bus_view *bus)
{
    put_caption(column, "What this adapter cannot tell");
    bool tells_errors = bus->facts[LW_FACT_TELLS_ERRORS].answer == LW_ANSWER_YES, tells_state = bus->facts[LW_FACT_TELLS_STATE].answer == LW_ANSWER_YES;
    if (!tells_errors)
        put_line(column, INDENT, LW_ROLE_NORMAL, "single errors: it has reported none, and may never do");
    if (!tells_state)
        put_line(column, INDENT, LW_ROLE_NORMAL, "its own state and error counters");
    if (bus->facts[LW_FACT_LISTENS_ONLY].answer == LW_ANSWER_YES)
        put_line(column, INDENT, LW_ROLE_NORMAL, "whether it would be acknowledged: it listens only");
    put_line(column, INDENT, LW_ROLE_NORMAL, "terminators, stubs and the wires themselves: only a meter can");
}

static void put_history(struct column *column, const struct lw_snapshot *snapshot, unsigned index)
{
    char text[LINE], words[LW_HAPPENING_TEXT], clock[LW_NUMBER_TEXT];
    put_caption(column, "How the verdict changed, newest first");
    unsigned n = 0;
    for (size_t i = 0; i < snapshot->n_diary && n < HISTORY_ROWS; i++) {
        const struct lw_happening *happening = &snapshot->diary[i];
        if (happening->kind != LW_HAPPENED_VERDICT || happening->key.bus != index)
            continue;
        snprintf(text, sizeof(text), "%s  %s", lw_text_clock_tenths(happening->elapsed_ns, clock), lw_happening_words(happening, words));
        put_line(column, INDENT, LW_ROLE_NORMAL, text);
        n++;
    }
    if (n == 0)
        put_line(column, INDENT, LW_ROLE_DIM, "it did not");
}

static void put_bus(struct column *column, const struct lw_snapshot *snapshot, unsigned index)
{
    const struct lw_bus_view *bus = &snapshot->buses[index];
    const struct lw_verdict *verdict = &bus->verdict;
    char text[LINE], clock[LW_NUMBER_TEXT];
    uint64_t since = verdict->since_ns > bus->start_ns ? verdict->since_ns - bus->start_ns : 0;
    snprintf(text, sizeof(text), "%s: %s, since %s. Why: %s.", bus->name, lw_pictures[verdict->picture].words, lw_text_clock_tenths(since, clock),
             lw_confidence_name((enum lw_confidence)verdict->confidence));
    put_line(column, 1, LW_ROLE_STRONG, text);
    for (unsigned i = 0; i < verdict->n_named; i++)
        put_cause(column, bus, i, i < 2);
    put_check(column, verdict);
    put_readings(column, bus);
    put_limits(column, bus);
    put_history(column, snapshot, index);
}

static int put_all(struct column column, const struct lw_snapshot *snapshot)
{
    for (unsigned i = 0; i < snapshot->n_buses; i++)
        put_bus(&column, snapshot, i);
    return column.y;
}

void lw_view_why(const struct lw_snapshot *snapshot, struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    lw_grid_put_rule(grid, lw_rect_take_top(&rect, 1), "why");
    int n_rows = put_all((struct column){ grid, rect, 0, LW_WHY_END }, snapshot);   /* all above the first row shown: only counted */
    int most = n_rows > rect.h ? n_rows - rect.h : 0;
    if (state->why_from > most)
        state->why_from = most;
    put_all((struct column){ grid, rect, 0, state->why_from }, snapshot);
}
