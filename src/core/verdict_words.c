/* SPDX-License-Identifier: MIT
 *
 * The verdict in plain words: what happens, what may be behind it, what to check next.
 */
#include "loomwatch/core/verdict.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum { NAMED_IN_LINE = 3, NAMED_PER_OUTCOME = 2 };

struct line {
    char *buf;
    size_t n, size;
};

__attribute__((format(printf, 2, 3))) static void say(struct line *line, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    int n = vsnprintf(line->buf + line->n, line->size - line->n, format, args);
    va_end(args);
    line->n += (size_t)n;
    if (line->n > line->size - 1)
        line->n = line->size - 1;
}

static void say_causes(const struct lw_verdict *verdict, struct line *line)
{
    const char *first = verdict->n_named > 0 ? lw_causes[verdict->named[0].cause].words : "";
    switch (verdict->confidence) {
    case LW_CERTAIN: say(line, "Certain: %s. ", first); return;
    case LW_LIKELY: say(line, "Likely: %s. ", first); return;
    case LW_CANNOT_SAY: say(line, "From here it cannot be told why. "); return;
    default: break;
    }
    say(line, "One of: %s", first);
    for (unsigned i = 1; i < verdict->n_named && i < NAMED_IN_LINE; i++)
        say(line, "; %s", lw_causes[verdict->named[i].cause].words);
    if (verdict->n_named > NAMED_IN_LINE)
        say(line, "; or %u more", verdict->n_named - NAMED_IN_LINE);
    say(line, ". ");
}

static const char *what_to_do(int check)
{
    return check < LW_N_MEASUREMENTS ? lw_measurements[check].how : lw_checks[check].words;
}

static void say_next(struct line *line, const char *what)
{
    say(line, "Next: %s%s", what, strchr(what, '?') ? "" : ".");
}

static void say_reasons(const struct lw_verdict *verdict, struct line *line)
{
    if (verdict->picture == LW_PICTURE_WELL || verdict->picture == LW_PICTURE_UNTOLD || verdict->picture == LW_PICTURE_WAITING)
        return;
    if (verdict->is_blind)
        say(line, "This adapter cannot tell why: it reports no errors. ");
    say_causes(verdict, line);
    if (verdict->confidence <= LW_ONE_OF && verdict->check >= 0)
        say_next(line, what_to_do(verdict->check));
    else if (verdict->n_named > 0 && lw_pictures[verdict->picture].is_trouble)
        say_next(line, lw_causes[verdict->named[0].cause].next);
}

char *lw_verdict_reasons(const struct lw_verdict *verdict, char buf[LW_VERDICT_TEXT])
{
    struct line line = { buf, 0, LW_VERDICT_TEXT };
    buf[0] = '\0';
    say_reasons(verdict, &line);
    return buf;
}

char *lw_verdict_words(const struct lw_verdict *verdict, const char *bus, char buf[LW_VERDICT_TEXT])
{
    struct line line = { buf, 0, LW_VERDICT_TEXT };
    say(&line, "%s%s%s. ", bus ? bus : "", bus ? ": " : "", lw_pictures[verdict->picture].words);
    say_reasons(verdict, &line);
    return buf;
}

static const char *outcome_words(int check, unsigned outcome)
{
    return check < LW_N_MEASUREMENTS ? lw_measurements[check].ranges[outcome].words : lw_checks[check].outcomes[outcome];
}

/* The named causes that let this outcome expect, most likely first. */
static unsigned say_outcome(const struct lw_verdict *verdict, unsigned outcome, struct line *line)
{
    unsigned n = 0;
    for (unsigned i = 0; i < verdict->n_named; i++) {
        unsigned expected = lw_causes[verdict->named[i].cause].outcomes[verdict->check];
        if (!(expected >> outcome & 1))
            continue;
        if (n < NAMED_PER_OUTCOME)
            say(line, "%s%s", n == 0 ? "" : "; or ", lw_causes[verdict->named[i].cause].words);
        n++;
    }
    if (n > NAMED_PER_OUTCOME)
        say(line, "; or %u more", n - NAMED_PER_OUTCOME);
    return n;
}

unsigned lw_verdict_outcome_words(const struct lw_verdict *verdict, unsigned nth, char buf[LW_VERDICT_TEXT])
{
    struct line line = { buf, 0, LW_VERDICT_TEXT };
    buf[0] = '\0';
    if (verdict->check < 0 || nth >= lw_checks[verdict->check].n_outcomes)
        return 0;
    say(&line, "%s → ", outcome_words(verdict->check, nth));
    return say_outcome(verdict, nth, &line);
}

char *lw_verdict_check_words(const struct lw_verdict *verdict, char buf[LW_VERDICT_TEXT])
{
    struct line line = { buf, 0, LW_VERDICT_TEXT };
    buf[0] = '\0';
    if (verdict->check >= 0)
        say(&line, "%s:", what_to_do(verdict->check));
    return buf;
}
