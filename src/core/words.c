/* SPDX-License-Identifier: MIT
 *
 * The line of plain words: first the verdicts, then how complete the bus is.
 */
#include "loomwatch/core/snapshot.h"

#include "loomwatch/core/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

struct line {
    char *buf;
    size_t n;
};

__attribute__((format(printf, 2, 3))) static void say(struct line *line, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    int n = vsnprintf(line->buf + line->n, LW_WORDS_TEXT - line->n, format, args);
    va_end(args);
    line->n += (size_t)n;
    if (line->n > LW_WORDS_TEXT - 1)
        line->n = LW_WORDS_TEXT - 1;
}

/* The first message with a condition, for the sentence that names it. */
static const char *first_with(const struct lw_snapshot *snapshot, uint8_t conditions, char buf[LW_ID_TEXT])
{
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        if (snapshot->tiles[i].conditions & conditions)
            return lw_id_text(snapshot->tiles[i].key, buf);
    return "";
}

static const char *plural(unsigned n)
{
    return n == 1 ? "" : "s";
}

/* Pictures that make everything else said doubtful, so they stand alone. */
static bool stands_alone(enum lw_picture picture)
{
    return picture == LW_PICTURE_GONE || picture == LW_PICTURE_DOWN || picture == LW_PICTURE_BUS_OFF || picture == LW_PICTURE_SILENT
        || picture == LW_PICTURE_NOTHING || picture == LW_PICTURE_UNACKNOWLEDGED;
}

static void say_presence(const struct lw_snapshot *snapshot, struct line *line)
{
    const struct lw_counts *counts = &snapshot->counts;
    char id[LW_ID_TEXT];
    if (!snapshot->has_baseline && counts->n_ids == 0)
        say(line, "Nothing heard yet. ");
    else if (!snapshot->has_baseline)
        say(line, "%u message%s heard. Take a baseline before you plug anything in. ", counts->n_ids, plural(counts->n_ids));
    else if (counts->n_absent > 0)
        say(line, "%u of %u expected message%s absent, %s first. ", counts->n_absent, counts->n_expected,
            plural(counts->n_expected), first_with(snapshot, LW_ABSENT, id));
    else
        say(line, "%u of %u expected message%s present. ", counts->n_present, counts->n_expected,
            plural(counts->n_expected));
    if (counts->n_quiet > 0)
        say(line, "%u quiet%s. ", counts->n_quiet, snapshot->has_baseline ? ", as when the baseline was learned" : "");
}

/* Which messages are missing says more than that some are. */
static bool tells_by_names(const struct lw_snapshot *snapshot, enum lw_picture picture)
{
    return picture == LW_PICTURE_QUIET && snapshot->n_buses == 1 && snapshot->has_baseline && snapshot->counts.n_absent > 0;
}

static bool has_said_names(const struct lw_snapshot *snapshot)
{
    return tells_by_names(snapshot, (enum lw_picture)snapshot->buses[0].verdict.picture);
}

/* What is wrong, or was, a bus after another. Returns true if nothing more should be said. */
static bool say_verdicts(const struct lw_snapshot *snapshot, struct line *line)
{
    bool is_alone = false;
    for (unsigned i = 0; i < snapshot->n_buses; i++) {
        const struct lw_bus_view *bus = &snapshot->buses[i];
        enum lw_picture picture = (enum lw_picture)bus->verdict.picture;
        char words[LW_VERDICT_TEXT];
        if (!lw_pictures[picture].is_trouble && picture != LW_PICTURE_HEALED && picture != LW_PICTURE_RETURNED)
            continue;
        if (tells_by_names(snapshot, picture)) {
            say_presence(snapshot, line);
            say(line, "%s ", lw_verdict_reasons(&bus->verdict, words));
        } else {
            say(line, "%s ", lw_verdict_words(&bus->verdict, snapshot->n_buses > 1 ? bus->name : NULL, words));
        }
        is_alone |= stands_alone(picture);
    }
    return is_alone;
}

static void say_changes(const struct lw_snapshot *snapshot, struct line *line)
{
    const struct lw_counts *counts = &snapshot->counts;
    char id[LW_ID_TEXT], clock[LW_NUMBER_TEXT];
    if (counts->n_unexpected > 0)
        say(line, "%u not in the baseline%s. ", counts->n_unexpected,
            counts->n_stopped == 0 ? "" : counts->n_stopped == counts->n_unexpected ? ", stopped again" : ", some stopped again");
    if (counts->n_changed > 0)
        say(line, "%u changed, %s first. ", counts->n_changed,
            first_with(snapshot, LW_PERIOD_CHANGED | LW_LENGTH_CHANGED | LW_SECOND_SENDER, id));
    if (counts->n_late > 0)
        say(line, "%u late. ", counts->n_late);
    if (snapshot->has_mark)
        say(line, "%u new since the mark at %s. ", counts->n_since_mark, lw_text_clock(snapshot->mark_elapsed_ns, clock));
    if (snapshot->n_overflow_frames > 0)
        say(line, "%llu frames of further messages not kept. ", (unsigned long long)snapshot->n_overflow_frames);
}

/* What silence about errors is worth: an adapter that cannot or will not tell is not a bus without errors. */
static const char *no_errors(const struct lw_bus_view *bus)
{
    const struct lw_link *link = &bus->controller.link;
    if (bus->can_tell_errors)
        return "no errors.";
    if (bus->controller.has_link && link->controller == LW_CONTROLLER_NONE)
        return "no errors reported: a virtual bus has no controller that could.";
    if (link->error_reporting.is_known && link->error_reporting.value == 0)
        return "no errors reported, but this adapter's error reporting is off.";
    if (bus->controller.has_link && link->controller == LW_CONTROLLER_REAL)
        return "no errors reported: this adapter tells neither errors nor its state.";
    return "no error reports in this source.";
}

static bool is_same_for_all(const struct lw_snapshot *snapshot)
{
    for (unsigned i = 1; i < snapshot->n_buses; i++)
        if (strcmp(no_errors(&snapshot->buses[i]), no_errors(&snapshot->buses[0])) != 0)
            return false;
    return true;
}

static void say_health(const struct lw_snapshot *snapshot, struct line *line)
{
    uint64_t n_errors = 0;
    for (unsigned i = 0; i < snapshot->n_buses; i++)
        n_errors += snapshot->buses[i].controller.bus_errors.n;
    if (n_errors > 0) {
        say(line, "%llu bus error%s so far.", (unsigned long long)n_errors, n_errors == 1 ? "" : "s");
        return;
    }
    if (is_same_for_all(snapshot)) {
        const char *words = no_errors(&snapshot->buses[0]);
        say(line, "N%s", words + 1);   /* at the beginning of a sentence */
        return;
    }
    for (unsigned i = 0; i < snapshot->n_buses; i++)
        say(line, "%s: %s ", snapshot->buses[i].name, no_errors(&snapshot->buses[i]));
}

void lw_snapshot_words(const struct lw_snapshot *snapshot, char buf[LW_WORDS_TEXT])
{
    struct line line = { buf, 0 };
    buf[0] = '\0';
    if (say_verdicts(snapshot, &line))
        return;
    if (!has_said_names(snapshot))
        say_presence(snapshot, &line);
    say_changes(snapshot, &line);
    say_health(snapshot, &line);
}
