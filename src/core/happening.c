/* SPDX-License-Identifier: MIT
 *
 * The diary's ring, and its sentences.
 */
#include "loomwatch/core/happening.h"

#include "loomwatch/core/claims.h"
#include "loomwatch/core/controller.h"
#include "loomwatch/core/text.h"
#include "loomwatch/core/units.h"
#include "loomwatch/core/verdict.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

void lw_diary_init(struct lw_diary *diary)
{
    memset(diary, 0, sizeof(*diary));
}

static bool can_join(enum lw_happening_kind kind)
{
    return kind != LW_HAPPENED_ADDRESS && kind != LW_HAPPENED_MARK && kind != LW_HAPPENED_BASELINE && kind != LW_HAPPENED_START && kind != LW_HAPPENED_READING;
}

static bool is_together(const struct lw_happening *earlier, const struct lw_happening *happening)
{
    uint64_t window_ns = LW_DIARY_TOGETHER_MS * UINT64_C(1000000);
    bool is_back = happening->kind == LW_HAPPENED_RETURNED || happening->kind == LW_HAPPENED_WOKE || happening->kind == LW_HAPPENED_SOUND;
    if (is_back && happening->period_ns > window_ns)
        window_ns = happening->period_ns;
    if (happening->t_ns < earlier->last_ns + window_ns)
        return true;
    return happening->since_ns != 0 && earlier->since_ns != 0
        && lw_unit_is_together(earlier->since_ns, earlier->until_ns, happening->since_ns, happening->since_ns + happening->period_ns);
}

static struct lw_happening *joinable(struct lw_diary *diary, const struct lw_happening *happening)
{
    if (!can_join((enum lw_happening_kind)happening->kind) || happening->kind == LW_HAPPENED_JOINED)
        return NULL;   /* who joined was counted already, and is told later than others */
    for (size_t i = 0; i < LW_DIARY_LOOK_BACK && i < diary->n_ever; i++) {
        struct lw_happening *earlier = &diary->ring[(diary->n_ever - 1 - i) % LW_DIARY_SIZE];
        if (!can_join((enum lw_happening_kind)earlier->kind))
            return NULL;   /* what came after a mark stays after it */
        bool has_state = happening->kind == LW_HAPPENED_STATE || happening->kind == LW_HAPPENED_VERDICT;
        bool is_same_state = !has_state || earlier->value == happening->value;
        if (earlier->kind == happening->kind && earlier->key.bus == happening->key.bus && is_same_state)
            return is_together(earlier, happening) ? earlier : NULL;
    }
    return NULL;
}

static void join(struct lw_happening *earlier, const struct lw_happening *happening)
{
    earlier->count += happening->count;
    earlier->n_messages += happening->n_messages;
    earlier->value += happening->kind == LW_HAPPENED_LOSS ? happening->value : 0;
    earlier->last_ns = happening->t_ns;
    bool is_close = happening->since_ns + LW_UNIT_CHAIN_MS * UINT64_C(1000000) >= earlier->since_ns;
    if (is_close && happening->since_ns < earlier->since_ns)
        earlier->since_ns = happening->since_ns;
    if (happening->since_ns > earlier->until_ns)
        earlier->until_ns = happening->since_ns;
    if (happening->missed_ns != 0 && happening->missed_ns < earlier->missed_ns) {
        earlier->missed_ns = happening->missed_ns;
        earlier->key = happening->key;
    }
    earlier->has_more_units |= strcmp(earlier->unit, happening->unit) != 0;
}

void lw_diary_add(struct lw_diary *diary, const struct lw_happening *happening)
{
    struct lw_happening *earlier = joinable(diary, happening);
    if (earlier)
        join(earlier, happening);
    if (earlier || happening->count == 0)
        return;
    struct lw_happening *fresh = &diary->ring[diary->n_ever++ % LW_DIARY_SIZE];
    *fresh = *happening;
    fresh->last_ns = happening->t_ns;
}

const struct lw_happening *lw_diary_newest(const struct lw_diary *diary, size_t n)
{
    if (n >= LW_DIARY_SIZE || n >= diary->n_ever)
        return NULL;
    return &diary->ring[(diary->n_ever - 1 - n) % LW_DIARY_SIZE];
}

struct phrase {
    const char *one;    /* with the message as %s where it names one */
    const char *many;   /* with count and first message */
    const char *unit, *units;   /* what its unit did, where the messages are of one that is known; or several */
};

static const struct phrase phrases[LW_N_HAPPENINGS] = {
    [LW_HAPPENED_START] = { "watching begins", NULL },
    [LW_HAPPENED_BASELINE] = { "baseline taken", NULL },
    [LW_HAPPENED_NEW_ID] = { "%s heard for the first time", "%u messages heard for the first time, %s first" },
    [LW_HAPPENED_UNEXPECTED] = { "%s is not in the baseline", "%u messages not in the baseline, %s first" },
    [LW_HAPPENED_ABSENT] = { "%s is absent", "%u messages absent together, %s first", "is absent", "are absent" },
    [LW_HAPPENED_QUIET] = { "%s went quiet", "%u messages went quiet together, %s first", "went quiet", "went quiet" },
    [LW_HAPPENED_RETURNED] = { "%s is back", "%u messages are back, %s first", "is back", "are back" },
    [LW_HAPPENED_PERIOD] = { "%s has another period", "%u messages have another period, %s first" },
    [LW_HAPPENED_LENGTH] = { "%s has another length", "%u messages have another length, %s first" },
    [LW_HAPPENED_SECOND_SENDER] = { "%s comes twice as often: a second sender?",
                                    "%u messages come twice as often, %s first: a second sender?" },
    [LW_HAPPENED_ERRORS] = { "bus error", "%u bus errors" },
    [LW_HAPPENED_NO_ACKNOWLEDGE] = { "a frame of this adapter was not acknowledged",
                                     "%u frames of this adapter were not acknowledged" },
    [LW_HAPPENED_ERRORS_OVER] = { "no more bus errors", NULL },
    [LW_HAPPENED_RESTARTED] = { "the adapter came back from bus off", NULL },
    [LW_HAPPENED_LINK_DOWN] = { "the interface is down", NULL },
    [LW_HAPPENED_LINK_UP] = { "the interface is up", NULL },
    [LW_HAPPENED_LINK_GONE] = { "the interface is gone: unplugged?", NULL },
    [LW_HAPPENED_LINK_BACK] = { "the interface is back", NULL },
    [LW_HAPPENED_SILENT] = { "the whole bus fell silent", NULL },
    [LW_HAPPENED_TABLE_FULL] = { "more messages than the table holds", NULL },
    [LW_HAPPENED_RECORD_FAILED] = { "the recording cannot be written", NULL },
};

const char *lw_mark_words(enum lw_mark mark)
{
    static const char *const words[LW_N_MARKS] = { "moment marked", "plugged in", "unplugged", "configured", "wiggled" };
    return words[mark < LW_N_MARKS ? mark : LW_MARK_PLAIN];
}

/* Value: picture, confidence and first cause, a byte each. */
static void say_verdict(uint64_t value, char *buf)
{
    const struct lw_picture_info *picture = &lw_pictures[(value >> 16 & 0xFF) % LW_N_PICTURES];
    enum lw_confidence confidence = (enum lw_confidence)((value >> 8 & 0xFF) % LW_N_CONFIDENCES);
    const char *cause = lw_causes[(value & 0xFF) % LW_N_CAUSES].words;
    if (confidence >= LW_LIKELY)
        snprintf(buf, LW_HAPPENING_TEXT, "verdict: %s; %s: %s", picture->name, lw_confidence_name(confidence), cause);
    else
        snprintf(buf, LW_HAPPENING_TEXT, "verdict: %s; several causes possible", picture->name);
}

/* Value: thousandths in the upper bits, the measurement in the lowest byte. */
static const char *say_reading(uint64_t value, char number[LW_NUMBER_TEXT])
{
    static const char *const wires[LW_N_MEASUREMENTS] = { "", "H ", "L " };
    unsigned kind = (value & 0xFF) % LW_N_MEASUREMENTS;
    if (value >> 8 == LW_READING_OPEN)
        snprintf(number, LW_NUMBER_TEXT, "open");
    else
        snprintf(number, LW_NUMBER_TEXT, "%s%.5g %s", wires[kind], (double)(value >> 8) / 1000, lw_measurements[kind].unit);
    return number;
}

/* Value: kind, address, and where it moved to, a byte each. */
static void say_address(uint64_t value, char *buf)
{
    unsigned kind = value >> 16 & 0xFF, address = value >> 8 & 0xFF, moved_to = value & 0xFF;
    if (kind == LW_CLASH_BEGAN)
        snprintf(buf, LW_HAPPENING_TEXT, "two units claim address %u (%02X)", address, address);
    else if (kind == LW_CLASH_MOVED && address < LW_ADDRESS_NONE)
        snprintf(buf, LW_HAPPENING_TEXT, "of the units that claimed address %u (%02X) one moved to %u (%02X)", address, address, moved_to, moved_to);
    else if (kind == LW_CLASH_MOVED)
        snprintf(buf, LW_HAPPENING_TEXT, "a unit that had found no free address now claims %u (%02X)", moved_to, moved_to);
    else if (kind == LW_CLASH_NO_ADDRESS && address < LW_ADDRESS_NONE)
        snprintf(buf, LW_HAPPENING_TEXT, "a unit that claimed address %u (%02X) had to give it up and found no other", address, address);
    else if (kind == LW_CLASH_NO_ADDRESS)
        snprintf(buf, LW_HAPPENING_TEXT, "a unit found no free address");
    else
        snprintf(buf, LW_HAPPENING_TEXT, "more units claim addresses than the table holds");
}

/* " in 1.2 s"; nothing for what came at one stroke. */
static const char *in_time(uint64_t ns, char number[LW_NUMBER_TEXT])
{
    char duration[LW_NUMBER_TEXT - 4];
    number[0] = '\0';
    if (ns >= 50000000) {
        snprintf(duration, sizeof(duration), "%.1f s", (double)ns / 1e9);
        snprintf(number, LW_NUMBER_TEXT, " in %s", duration);
    }
    return number;
}

static void say_messages(const struct lw_happening *happening, char *buf, int n)
{
    char number[LW_NUMBER_TEXT];
    if (happening->n_messages > 0)
        snprintf(buf + n, LW_HAPPENING_TEXT - (size_t)n, ": %u message%s%s", (unsigned)happening->n_messages,
                 happening->n_messages == 1 ? "" : "s", in_time(happening->last_ns - happening->t_ns, number));
}

static void say_joined(const struct lw_happening *happening, const char *id, char *buf)
{
    char number[LW_NUMBER_TEXT];
    int n = happening->count == 1
        ? snprintf(buf, LW_HAPPENING_TEXT, "1 new message, %s: a module joined", id)
        : snprintf(buf, LW_HAPPENING_TEXT, "%u new messages%s, %s first: a module joined", (unsigned)happening->count,
                   in_time(happening->value, number), id);
    if (happening->unit[0] != '\0')
        snprintf(buf + n, LW_HAPPENING_TEXT - (size_t)n, " (%s)", happening->unit);
}

static void with_value(const struct lw_happening *happening, const char *id, char *buf)
{
    char number[LW_NUMBER_TEXT];
    int n;
    switch (happening->kind) {
    case LW_HAPPENED_STATE:
        snprintf(buf, LW_HAPPENING_TEXT, happening->count > 1 ? "adapter: %s, %u times" : "adapter: %s",
                 lw_bus_state_name((enum lw_bus_state)happening->value), (unsigned)happening->count);
        break;
    case LW_HAPPENED_MARK:
        snprintf(buf, LW_HAPPENING_TEXT, "%s%s", happening->value == LW_MARK_PLAIN ? "" : "marked: ",
                 lw_mark_words((enum lw_mark)happening->value));
        break;
    case LW_HAPPENED_VERDICT:
        say_verdict(happening->value, buf);
        break;
    case LW_HAPPENED_READING:
        snprintf(buf, LW_HAPPENING_TEXT, "meter reading taken: %s", say_reading(happening->value, number));
        break;
    case LW_HAPPENED_ADDRESS:
        say_address(happening->value, buf);
        break;
    case LW_HAPPENED_LOSS:
        snprintf(buf, LW_HAPPENING_TEXT, "%" PRIu64 " frames lost: this computer or its adapter was too slow", happening->value);
        break;
    case LW_HAPPENED_SOUND:
        n = snprintf(buf, LW_HAPPENING_TEXT, "the bus is back after %s of silence", lw_text_duration(happening->value, number));
        say_messages(happening, buf, n);
        break;
    case LW_HAPPENED_WOKE:
        say_messages(happening, buf, snprintf(buf, LW_HAPPENING_TEXT, "the bus woke"));
        break;
    case LW_HAPPENED_JOINED:
        say_joined(happening, id, buf);
        break;
    default:
        snprintf(buf, LW_HAPPENING_TEXT, "load rose to %s",
                 lw_text_permille(LW_KNOWN(happening->value), number));
        break;
    }
}

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
/* "hopper control went quiet: 5 messages, 0B0 first" */
static void with_unit(const struct lw_happening *happening, const struct phrase *phrase, const char *id, char *buf)
{
    if (happening->count == 1)
        snprintf(buf, LW_HAPPENING_TEXT, phrase->one, id);
    else
        snprintf(buf, LW_HAPPENING_TEXT, "%s%s %s: %u messages, %s first", happening->unit,
                 happening->has_more_units ? " and others" : "", happening->has_more_units ? phrase->units : phrase->unit,
                 (unsigned)happening->count, id);
    size_t n = strlen(buf);
    if (happening->count == 1)
        snprintf(buf + n, LW_HAPPENING_TEXT - n, " (%s)", happening->unit);
}

char *lw_happening_words(const struct lw_happening *happening, char buf[LW_HAPPENING_TEXT])
{
    const struct phrase *phrase = &phrases[happening->kind < LW_N_HAPPENINGS ? happening->kind : LW_HAPPENED_START];
    char id[LW_ID_TEXT];
    lw_id_text(happening->key, id);
    if (!phrase->one)
        with_value(happening, id, buf);
    else if (phrase->unit && happening->unit[0] != '\0')
        with_unit(happening, phrase, id, buf);
    else if (happening->count > 1 && phrase->many)
        snprintf(buf, LW_HAPPENING_TEXT, phrase->many, (unsigned)happening->count, id);
    else
        snprintf(buf, LW_HAPPENING_TEXT, phrase->one, id);
    return buf;
}
#pragma GCC diagnostic pop
