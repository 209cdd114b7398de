/* SPDX-License-Identifier: MIT
 *
 * Reads an edit of the bench as a person types it, and says what to type instead where it makes no sense. The grammar is in
 * damage.h; the same for the bench page, the command line and bench files.
 */
#include "damage_place.h"
#include "damage_reader.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* How long a supply is gone in a reset that says no time: a short dip (common practice, no source). */
enum { RESET_NS = 20000000 };

int lw_damage_refuse(struct lw_damage_reader *reader, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    vsnprintf(reader->message, LW_DAMAGE_TEXT, format, args);
    va_end(args);
    return -EINVAL;
}

const char *lw_damage_word(const struct lw_damage_reader *reader)
{
    return reader->next < reader->n_words ? reader->words[reader->next] : "";
}

static int split(struct lw_damage_reader *reader, const char *text)
{
    if (strlen(text) >= sizeof reader->text)
        return lw_damage_refuse(reader, "too long: write a fault in less than %d letters", LW_DAMAGE_TEXT);
    strcpy(reader->text, text);
    char *save = NULL;
    for (char *w = strtok_r(reader->text, " \t\r\n", &save); w; w = strtok_r(NULL, " \t\r\n", &save)) {
        if (reader->n_words == LW_DAMAGE_WORDS)
            return lw_damage_refuse(reader, "too many words: write FAULT at PLACE VALUE for TIME");
        reader->words[reader->n_words++] = w;
    }
    return 0;
}

/* How many letters must change to make one of the other (Levenshtein). */
static unsigned distance(const char *a, const char *b)
{
    unsigned row[LW_PLANT_NAME + 1], n = (unsigned)strlen(b);
    if (n > LW_PLANT_NAME)
        return n;
    for (unsigned i = 0; i <= n; i++)
        row[i] = i;
    for (unsigned i = 1; *a; a++, i++) {
        unsigned corner = row[0];
        row[0] = i;
        for (unsigned k = 1; k <= n; k++) {
            unsigned best = corner + (tolower((unsigned char)*a) != tolower((unsigned char)b[k - 1]));
            best = row[k] + 1 < best ? row[k] + 1 : best;
            best = row[k - 1] + 1 < best ? row[k - 1] + 1 : best;
            corner = row[k];
            row[k] = best;
        }
    }
    return row[n];
}

static const char *nearest_kind(const char *text)
{
    const char *best = lw_damages[0].word;
    for (unsigned i = 1; i < LW_N_DAMAGES; i++)
        if (distance(text, lw_damages[i].word) < distance(text, best))
            best = lw_damages[i].word;
    return best;
}

static int read_kind(struct lw_damage_reader *reader)
{
    if (reader->n_words == 0)
        return lw_damage_refuse(reader, "nothing there: write a fault such as \"short at point 1\"");
    for (unsigned i = 0; i < LW_N_DAMAGES; i++)
        if (strcmp(lw_damage_word(reader), lw_damages[i].word) == 0) {
            reader->info = &lw_damages[i];
            reader->out->kind = (uint8_t)i;
            reader->next++;
            return 0;
        }
    return lw_damage_refuse(reader, "no fault \"%.32s\": write for instance %s", lw_damage_word(reader), nearest_kind(lw_damage_word(reader)));
}

/* "at a unit, at point 1 to 7 or at segment 1 to 6": where this kind may be. */
static int refuse_place(struct lw_damage_reader *reader, const char *what)
{
    const struct lw_plant *plant = reader->plant;
    unsigned places = reader->info->places;
    char list[64] = "";
    if (places & 1 << LW_AT_UNIT)
        snprintf(list, sizeof list, " at a unit");
    if (places & 1 << LW_AT_POINT)
        snprintf(list + strlen(list), sizeof list - strlen(list), "%sat point 1 to %u", list[0] ? " or " : " ", plant->n_points);
    if (places & 1 << LW_AT_SEGMENT)
        snprintf(list + strlen(list), sizeof list - strlen(list), "%sat segment 1 to %u", list[0] ? " or " : " ",
                 plant->n_points > 0 ? plant->n_points - 1 : 0);
    return lw_damage_refuse(reader, "%s: write %s%s", what, reader->info->word, list);
}

static bool is_number(const char *text, unsigned *out)
{
    char *end;
    unsigned long value = strtoul(text, &end, 10);
    *out = value < 1000 ? (unsigned)value : 0;
    return isdigit((unsigned char)text[0]) && *end == '\0';
}

/* "point 3" or "segment 2". Returns the number of words, 0 if it is no such place. */
static unsigned numbered_place(struct lw_damage_reader *reader)
{
    unsigned n = 0;
    bool is_point = strcmp(lw_damage_word(reader), "point") == 0, is_segment = strcmp(lw_damage_word(reader), "segment") == 0;
    unsigned count = reader->plant->n_points - (is_segment && reader->plant->n_points > 0);
    if ((!is_point && !is_segment) || reader->next + 1 >= reader->n_words || !is_number(reader->words[reader->next + 1], &n))
        return 0;
    reader->out->place = is_point ? LW_AT_POINT : LW_AT_SEGMENT;
    reader->out->index = (uint8_t)(n - 1);
    return n >= 1 && n <= count ? 2 : 0;
}

/* The next n words with dashes between them. Together they are no longer than the text was. */
static char *joined(const struct lw_damage_reader *reader, unsigned n, char name[LW_DAMAGE_TEXT])
{
    name[0] = '\0';
    for (unsigned i = 0; i < n; i++) {
        strcat(name, reader->words[reader->next + i]);
        strcat(name, i + 1 < n ? "-" : "");
    }
    return name;
}

/* As many words as make a name: what comes behind is the value. A place where this kind cannot be is told apart from one
 * that is not there. */
static int read_named_place(struct lw_damage_reader *reader)
{
    char name[LW_DAMAGE_TEXT], what[80];
    const unsigned anywhere = 1 << LW_AT_UNIT | 1 << LW_AT_POINT, rounds[] = { reader->info->places, anywhere };
    bool is_unclear = false;
    for (unsigned round = 0; round < 2 && !is_unclear; round++)
        for (unsigned n = reader->n_words - reader->next; n > 0; n--) {
            int rc = lw_damage_name_place(reader->plant, rounds[round], joined(reader, n, name), reader->out);
            reader->next += rc == 0 ? n : 0;
            if (rc == 0)
                return 0;
            is_unclear |= rc == -EEXIST;
        }
    if (is_unclear)
        return lw_damage_refuse(reader, "\"%.32s\" may be several: write the whole name, with dashes", lw_damage_word(reader));
    snprintf(what, sizeof what, "no place \"%.32s\"", lw_damage_word(reader));
    return refuse_place(reader, what);
}

static bool has_terminator(const struct lw_plant *plant, const struct lw_damage *damage)
{
    if (damage->place == LW_AT_UNIT)
        return plant->units[damage->index].own_ohm > 0;
    for (unsigned i = 0; i < plant->n_terminators; i++)
        if (plant->terminators[i].point == damage->index)
            return true;
    return false;
}

static int refuse_terminator(struct lw_damage_reader *reader)
{
    const struct lw_plant *plant = reader->plant;
    char list[64] = "";
    for (unsigned i = 0; i < plant->n_terminators && strlen(list) < 48; i++)
        snprintf(list + strlen(list), sizeof list - strlen(list), "%s at point %u", i ? " or" : "",
                 plant->terminators[i].point + 1u);
    return lw_damage_refuse(reader, "no terminator there: write no-terminator%s", list[0] ? list : " at a unit that has one inside");
}

static int read_place(struct lw_damage_reader *reader)
{
    unsigned places = reader->info->places;
    if (strcmp(lw_damage_word(reader), "at") != 0) {
        if (places & 1 << LW_AT_NOWHERE)
            return 0;
        return refuse_place(reader, "the place is missing");
    }
    reader->next++;
    if (places == 1 << LW_AT_NOWHERE)
        return lw_damage_refuse(reader, "%s has no place: write it without \"at\"", reader->info->word);
    if (reader->next == reader->n_words)
        return refuse_place(reader, "the place is missing");
    unsigned n = numbered_place(reader);
    reader->next += n;
    int rc = n ? 0 : read_named_place(reader);
    if (rc == 0 && !(places & 1 << reader->out->place))
        return refuse_place(reader, "it cannot be there");
    if (rc == 0 && reader->out->kind == LW_DAMAGE_NO_TERMINATOR && !has_terminator(reader->plant, reader->out))
        return refuse_terminator(reader);
    return rc;
}

static int read_time(struct lw_damage_reader *reader)
{
    static const struct { const char *unit; double ns; } rows[] = {
        { "ns", 1 }, { "us", 1e3 }, { "ms", 1e6 }, { "s", 1e9 }, { "min", 60e9 },
    };
    if (reader->next == reader->n_words) {
        if (reader->out->kind == LW_DAMAGE_RESET)
            reader->out->until_ns = reader->out->from_ns + RESET_NS;
        return 0;
    }
    if (strcmp(lw_damage_word(reader), "for") != 0)
        return lw_damage_refuse(reader, "\"%.32s\" is one word too many: write for TIME, or nothing", lw_damage_word(reader));
    reader->next++;
    const char *text = lw_damage_word(reader);
    char *end;
    double value = strtod(text, &end);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (end != text && strcmp(end, rows[i].unit) == 0 && value > 0 && value * rows[i].ns < 1e18 &&
            reader->next + 1 == reader->n_words) {
            reader->out->until_ns = reader->out->from_ns + (uint64_t)llround(value * rows[i].ns);
            return 0;
        }
    return lw_damage_refuse(reader, "time \"%.32s\": write one such as 5s, 200ms or 2min, and nothing behind it", text);
}

int lw_damage_parse(const struct lw_plant *plant, const char *text, uint64_t now_ns, struct lw_damage *out,
                    char message[LW_DAMAGE_TEXT])
{
    struct lw_damage_reader reader = { .plant = plant, .out = out, .message = message };
    *out = (struct lw_damage){ .place = LW_AT_NOWHERE, .from_ns = now_ns, .until_ns = UINT64_MAX };
    message[0] = '\0';
    int rc = split(&reader, text);
    rc = rc ? rc : read_kind(&reader);
    rc = rc ? rc : read_place(&reader);
    rc = rc ? rc : lw_damage_read_value(&reader);
    return rc ? rc : read_time(&reader);
}
