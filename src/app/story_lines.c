/* SPDX-License-Identifier: MIT
 *
 * Tells a story: entries of the diary in the order in which they happened, bursts of errors as one, units by the names that
 * are known at the end, and not more lines than a person reads.
 */
#include "story.h"

#include "loomwatch/core/text.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct telling {
    const struct lw_story *story;
    const struct lw_snapshot *snapshot;
    struct lw_story_line *lines;
    size_t n;
    bool *is_told;               /* by entry: told with an earlier one */
};

static const uint64_t second = UINT64_C(1000000000);

const char *lw_story_kind(unsigned kind)
{
    static const char *const names[LW_N_HAPPENINGS + 1] = {
        "start", "mark", "baseline", "new", "unexpected", "absent", "quiet", "returned", "period", "length", "second-sender",
        "state", "errors", "no-acknowledge", "errors-over", "restarted", "loss", "link-down", "link-up", "link-gone", "link-back",
        "silent", "back", "load", "table-full", "record-failed", "verdict", "reading", "woke", "joined", "address", "end",
    };
    return names[kind <= LW_N_HAPPENINGS ? kind : LW_N_HAPPENINGS];
}

/* What went is dated by when it should have come, not by when that was noticed. */
static uint64_t began_ns(const struct lw_happening *happening)
{
    uint64_t noticed_after = happening->missed_ns != 0 && happening->missed_ns < happening->t_ns
        ? happening->t_ns - happening->missed_ns : 0;
    return happening->elapsed_ns > noticed_after ? happening->elapsed_ns - noticed_after : 0;
}

static struct lw_story_line *add(struct telling *telling, const struct lw_happening *happening)
{
    struct lw_story_line *line = &telling->lines[telling->n++];
    *line = (struct lw_story_line){
        .at_ns = began_ns(happening), .bus = happening->key.bus, .kind = happening->kind, .n = 1,
    };
    line->detail = happening->kind == LW_HAPPENED_STATE ? (unsigned)happening->value
        : happening->kind == LW_HAPPENED_VERDICT        ? (unsigned)(happening->value >> 16 & 0xFF)
                                                        : 0;
    line->until_ns = happening->elapsed_ns + (happening->last_ns > happening->t_ns ? happening->last_ns - happening->t_ns : 0);
    return line;
}

struct census {
    unsigned n_messages, n_at_once, n_quiet, n_units;
};

static bool is_first_of_unit(const struct lw_snapshot *snapshot, size_t index)
{
    const struct lw_tile *tile = &snapshot->tiles[index];
    for (size_t i = 0; i < index; i++)
        if (snapshot->tiles[i].key.bus == tile->key.bus && strcmp(snapshot->tiles[i].unit, tile->unit) == 0)
            return false;
    return true;
}

static struct census count(const struct lw_snapshot *snapshot, unsigned bus)
{
    struct census census = { 0 };
    for (size_t i = 0; i < snapshot->n_tiles; i++) {
        const struct lw_tile *tile = &snapshot->tiles[i];
        if (tile->key.bus != bus || !tile->is_heard)
            continue;
        census.n_messages++;
        census.n_at_once += tile->first_seen_ns < snapshot->buses[bus].start_ns + second;
        census.n_quiet += tile->is_quiet || (tile->conditions & LW_ABSENT);
        census.n_units += tile->unit[0] != '\0' && is_first_of_unit(snapshot, i);
    }
    return census;
}

static const char *plural(uint64_t n)
{
    return n == 1 ? "" : "s";
}

static void tell_start(struct telling *telling, const struct lw_happening *happening)
{
    struct lw_story_line *line = add(telling, happening);
    const struct lw_bus_view *bus = &telling->snapshot->buses[line->bus];
    struct census census = count(telling->snapshot, line->bus);
    char rate[LW_NUMBER_TEXT], units[64];
    if (census.n_messages == 0) {
        snprintf(line->words, LW_STORY_TEXT, "the watch begins; nothing is ever heard");
        return;
    }
    snprintf(units, sizeof(units), "%u unit%s told apart", census.n_units, plural(census.n_units));
    snprintf(line->words, LW_STORY_TEXT, "the watch begins: %u message%s in all, %u of them heard in the first second; %s; bit rate %s",
             census.n_messages, plural(census.n_messages), census.n_at_once,
             census.n_units > 0 ? units : "units not told apart",
             bus->bit_rate_bps.is_known ? lw_text_bit_rate(bus->bit_rate_bps, rate) : "not told");
}

/* Errors and missing acknowledges of one bus until the diary says that they are over. */
static void tell_errors(struct telling *telling, size_t first)
{
    const struct lw_story *story = telling->story;
    const struct lw_happening *begun = &story->entries[first].happening;
    struct lw_story_line *line = add(telling, begun);
    uint64_t n[2] = { 0 };
    bool has_healed = false, is_bus_off = false;
    for (size_t i = first; i < story->n_entries && !has_healed; i++) {
        const struct lw_happening *here = &story->entries[i].happening;
        bool is_error = here->kind == LW_HAPPENED_ERRORS || here->kind == LW_HAPPENED_NO_ACKNOWLEDGE;
        if (here->count == 0 || here->key.bus != line->bus)
            continue;
        if (here->kind == LW_HAPPENED_STATE)
            is_bus_off = here->value == LW_STATE_BUS_OFF;
        has_healed = here->kind == LW_HAPPENED_ERRORS_OVER;
        if (!is_error)
            continue;
        telling->is_told[i] = true;
        n[here->kind == LW_HAPPENED_NO_ACKNOWLEDGE] += here->count;
        line->until_ns = here->elapsed_ns + (here->last_ns - here->t_ns);
    }
    char errors[48], acknowledges[64], until[LW_NUMBER_TEXT + 8] = "", clock[LW_NUMBER_TEXT];
    snprintf(errors, sizeof(errors), "%" PRIu64 " bus error%s", n[0], plural(n[0]));
    snprintf(acknowledges, sizeof(acknowledges), "%" PRIu64 " frame%s of this adapter not acknowledged", n[1], plural(n[1]));
    if (line->until_ns >= line->at_ns + second / 10)
        snprintf(until, sizeof(until), " until %s", lw_text_clock_tenths(line->until_ns, clock));
    snprintf(line->words, LW_STORY_TEXT, "%s%s%s%s, %s", n[0] > 0 ? errors : "", n[0] > 0 && n[1] > 0 ? " and " : "",
             n[1] > 0 ? acknowledges : "", until, is_bus_off ? "then bus off" : has_healed ? "healed" : "not over at the end");
}

/* What happens and what may be behind it; what to do next is for the end. */
static void tell_verdict(struct telling *telling, const struct lw_story_entry *entry)
{
    struct lw_story_line *line = add(telling, &entry->happening);
    char words[LW_VERDICT_TEXT], clock[LW_NUMBER_TEXT];
    if (!entry->has_verdict) {
        lw_happening_words(&entry->happening, line->words);
        return;
    }
    char *next = strstr(lw_verdict_words(&entry->verdict, NULL, words), " Next: ");
    if (next)
        *next = '\0';
    snprintf(line->words, LW_STORY_TEXT, "verdict: %s", words);
    for (const struct lw_story_line *earlier = telling->lines; earlier < line; earlier++)
        if (earlier->kind == line->kind && earlier->bus == line->bus && strcmp(earlier->words, line->words) == 0) {
            snprintf(line->words, LW_STORY_TEXT, "verdict as at %s: %s.", lw_text_clock_tenths(earlier->at_ns, clock),
                     lw_pictures[entry->verdict.picture].words);
            return;
        }
}

static const struct lw_tile *tile_of(const struct lw_snapshot *snapshot, struct lw_id_key key)
{
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        if (lw_id_key_equal(snapshot->tiles[i].key, key))
            return &snapshot->tiles[i];
    return NULL;
}

static unsigned n_of_unit(const struct lw_snapshot *snapshot, const struct lw_tile *tile)
{
    unsigned n = 0;
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        n += snapshot->tiles[i].key.bus == tile->key.bus && strcmp(snapshot->tiles[i].unit, tile->unit) == 0;
    return n;
}

/* Missed since the bus came back: these went during its silence, not at the moment they are dated by. */
static bool stayed_away(const struct lw_story *story, const struct lw_happening *happening)
{
    for (size_t i = 0; i < story->n_entries && happening->kind != LW_HAPPENED_RETURNED; i++) {
        const struct lw_happening *other = &story->entries[i].happening;
        if (other->kind == LW_HAPPENED_SOUND && other->key.bus == happening->key.bus && other->t_ns == happening->since_ns)
            return true;
    }
    return false;
}

/* A unit that was told apart by this very event has its name only now. */
static void tell_messages(struct telling *telling, const struct lw_happening *happening)
{
    const struct lw_tile *tile = tile_of(telling->snapshot, happening->key);
    char *words = lw_happening_words(happening, add(telling, happening)->words);
    size_t n = strlen(words);
    if (stayed_away(telling->story, happening))
        snprintf(words + n, LW_STORY_TEXT - n, " (not heard since the bus is back)");
    else if (tile && tile->unit[0] != '\0' && happening->unit[0] == '\0' && !happening->has_more_units && happening->count > 1
             && happening->count <= n_of_unit(telling->snapshot, tile))
        snprintf(words + n, LW_STORY_TEXT - n, " (%s)", tile->unit);
}

static void tell_entry(struct telling *telling, size_t index)
{
    const struct lw_story_entry *entry = &telling->story->entries[index];
    const struct lw_happening *happening = &entry->happening;
    if (happening->count == 0 || telling->is_told[index])
        return;
    switch (happening->kind) {
    case LW_HAPPENED_START: tell_start(telling, happening); break;
    case LW_HAPPENED_ERRORS: case LW_HAPPENED_NO_ACKNOWLEDGE: tell_errors(telling, index); break;
    case LW_HAPPENED_ERRORS_OVER: break;
    case LW_HAPPENED_VERDICT: tell_verdict(telling, entry); break;
    case LW_HAPPENED_ABSENT: case LW_HAPPENED_QUIET: case LW_HAPPENED_RETURNED: tell_messages(telling, happening); break;
    default: lw_happening_words(happening, add(telling, happening)->words); break;
    }
}

static int by_time(const void *a, const void *b)
{
    const struct lw_story_line *first = a, *other = b;
    if (first->at_ns != other->at_ns)
        return first->at_ns < other->at_ns ? -1 : 1;
    bool is_first_bus = first->kind == LW_HAPPENED_SOUND, is_other_bus = other->kind == LW_HAPPENED_SOUND;
    return is_first_bus != is_other_bus ? (is_first_bus ? -1 : 1) : (int)first->kind - (int)other->kind;
}

/* Where a line of the same kind ended so short before that the two are one. */
static struct lw_story_line *mergeable(struct lw_story_line *lines, size_t n, const struct lw_story_line *line, uint64_t window_ns)
{
    for (size_t i = n; i-- > 0;)
        if (lines[i].kind == line->kind && lines[i].bus == line->bus && lines[i].detail == line->detail)
            return line->at_ns <= lines[i].until_ns || line->at_ns - lines[i].until_ns <= window_ns ? &lines[i] : NULL;
    return NULL;
}

static size_t merge(struct lw_story_line *lines, size_t n, uint64_t window_ns)
{
    size_t n_kept = 0;
    for (size_t i = 0; i < n; i++) {
        struct lw_story_line *earlier = mergeable(lines, n_kept, &lines[i], window_ns);
        if (!earlier) {
            lines[n_kept++] = lines[i];
            continue;
        }
        earlier->n += lines[i].n;
        earlier->until_ns = lines[i].until_ns > earlier->until_ns ? lines[i].until_ns : earlier->until_ns;
    }
    return n_kept;
}

/* Wider and wider windows, until it is short enough to be read; the widest leaves one line a kind and bus. */
static size_t shorten(struct lw_story_line *lines, size_t n, size_t n_wanted)
{
    static const unsigned windows_s[] = { 1, 3, 10, 30, 100, 600, 3600, 1000000 };
    for (size_t i = 0; i < sizeof(windows_s) / sizeof(windows_s[0]) && n > n_wanted; i++)
        n = merge(lines, n, windows_s[i] * second);
    return n;
}

static void say_merged(struct lw_story_line *line)
{
    char clock[LW_NUMBER_TEXT];
    size_t n = strlen(line->words);
    if (line->n > 1)
        snprintf(line->words + n, LW_STORY_TEXT - n, " (and %u more of this kind until %s)", line->n - 1,
                 lw_text_clock_tenths(line->until_ns, clock));
}

static void tell_end(struct telling *telling, unsigned index)
{
    const struct lw_bus_view *bus = &telling->snapshot->buses[index];
    struct lw_story_line *line = &telling->lines[telling->n++];
    struct census census = count(telling->snapshot, index);
    char words[LW_VERDICT_TEXT], quiet[48] = "", lost[80] = "";
    *line = (struct lw_story_line){ .at_ns = bus->now_ns - bus->start_ns, .bus = (uint8_t)index, .kind = LW_N_HAPPENINGS, .n = 1 };
    line->until_ns = line->at_ns;
    if (census.n_quiet > 0)
        snprintf(quiet, sizeof(quiet), ", %u of them quiet", census.n_quiet);
    if (telling->story->n_dropped > 0 && index == 0)
        snprintf(lost, sizeof(lost), " %" PRIu64 " more things happened than could be kept.", telling->story->n_dropped);
    snprintf(line->words, LW_STORY_TEXT, "the end: %u message%s%s. %s%s%s", census.n_messages, plural(census.n_messages), quiet,
             lw_verdict_words(&bus->verdict, NULL, words), lost,
             index == 0 && telling->snapshot->n_overflow_units > 0 ? " More groups than are kept: not all were told apart." : "");
}

int lw_story_tell(const struct lw_story *story, const struct lw_snapshot *snapshot, struct lw_story_line **lines, size_t *n_lines)
{
    struct telling telling = { .story = story, .snapshot = snapshot };
    telling.lines = calloc(story->n_entries + LW_MAX_BUSES, sizeof(telling.lines[0]));
    telling.is_told = calloc(story->n_entries + 1, sizeof(telling.is_told[0]));
    if (!telling.lines || !telling.is_told) {
        free(telling.lines);
        free(telling.is_told);
        return -ENOMEM;
    }
    for (size_t i = 0; i < story->n_entries; i++)
        tell_entry(&telling, i);
    qsort(telling.lines, telling.n, sizeof(telling.lines[0]), by_time);
    telling.n = shorten(telling.lines, telling.n, LW_STORY_LINES - snapshot->n_buses);
    for (size_t i = 0; i < telling.n; i++)
        say_merged(&telling.lines[i]);
    for (unsigned bus = 0; bus < snapshot->n_buses; bus++)
        tell_end(&telling, bus);
    free(telling.is_told);
    *lines = telling.lines;
    *n_lines = telling.n;
    return 0;
}
