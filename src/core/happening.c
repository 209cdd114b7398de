/* SPDX-License-Identifier: MIT
 *
 * The diary's ring, and its sentences.
 */
#include "loomwatch/core/happening.h"

#include "loomwatch/core/claims.h"
#include "loomwatch/core/controller.h"
#include "loomwatch/core/text.h"
#include "loomwatch/core/verdict.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum { LOOK_BACK = 8 };   /* like things interleave with others when a unit goes off */

void lw_diary_init(struct lw_diary *diary)
{
    memset(diary, 0, sizeof(*diary));
}

static bool can_join(enum lw_happening_kind kind)
{
    return kind != LW_HAPPENED_ADDRESS && kind != LW_HAPPENED_MARK && kind != LW_HAPPENED_BASELINE && kind != LW_HAPPENED_START && kind != LW_HAPPENED_READING;
}

static struct lw_happening *joinable(struct lw_diary *diary, const struct lw_happening *happening)
{
    if (!can_join((enum lw_happening_kind)happening->kind))
        return NULL;
    for (size_t i = 0; i < LOOK_BACK && i < diary->n_ever; i++) {
        struct lw_happening *earlier = &diary->ring[(diary->n_ever - 1 - i) % LW_DIARY_SIZE];
        if (!can_join((enum lw_happening_kind)earlier->kind))
            return NULL;   /* what came after a mark stays after it */
        bool has_state = happening->kind == LW_HAPPENED_STATE || happening->kind == LW_HAPPENED_VERDICT;
        bool is_same_state = !has_state || earlier->value == happening->value;
        if (earlier->kind == happening->kind && earlier->key.bus == happening->key.bus && is_same_state)
            return happening->t_ns < earlier->last_ns + LW_DIARY_TOGETHER_MS * UINT64_C(1000000) ? earlier : NULL;
    }
    return NULL;
}

void lw_diary_add(struct lw_diary *diary, const struct lw_happening *happening)
{
    struct lw_happening *earlier = joinable(diary, happening);
    if (earlier) {
        earlier->count += happening->count;
        earlier->value += happening->kind == LW_HAPPENED_LOSS ? happening->value : 0;
        earlier->last_ns = happening->t_ns;
        return;
    }
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
};

static const struct phrase phrases[LW_N_HAPPENINGS] = {
    [LW_HAPPENED_START] = { "watching begins", NULL },
    [LW_HAPPENED_BASELINE] = { "baseline taken", NULL },
    [LW_HAPPENED_NEW_ID] = { "%s heard for the first time", "%u messages heard for the first time, %s first" },
    [LW_HAPPENED_UNEXPECTED] = { "%s is not in the baseline", "%u messages not in the baseline, %s first" },
    [LW_HAPPENED_ABSENT] = { "%s is absent", "%u messages absent together, %s first" },
    [LW_HAPPENED_QUIET] = { "%s went quiet", "%u messages went quiet together, %s first" },
    [LW_HAPPENED_RETURNED] = { "%s is back", "%u messages are back, %s first" },
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
        snprintf(buf, LW_HAPPENING_TEXT, "two units claim address %u", address);
    else if (kind == LW_CLASH_MOVED && address < LW_ADDRESS_NONE)
        snprintf(buf, LW_HAPPENING_TEXT, "of the units that claimed address %u one moved to %u", address, moved_to);
    else if (kind == LW_CLASH_MOVED)
        snprintf(buf, LW_HAPPENING_TEXT, "a unit that had found no free address now claims %u", moved_to);
    else if (kind == LW_CLASH_NO_ADDRESS && address < LW_ADDRESS_NONE)
        snprintf(buf, LW_HAPPENING_TEXT, "a unit that claimed address %u had to give it up and found no other", address);
    else if (kind == LW_CLASH_NO_ADDRESS)
        snprintf(buf, LW_HAPPENING_TEXT, "a unit found no free address");
    else
        snprintf(buf, LW_HAPPENING_TEXT, "more units claim addresses than the table holds");
}

static void with_value(const struct lw_happening *happening, char *buf)
{
    char number[LW_NUMBER_TEXT];
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
        snprintf(buf, LW_HAPPENING_TEXT, "the bus is back after %s of silence",
                 lw_text_duration(happening->value, number));
        break;
    default:
        snprintf(buf, LW_HAPPENING_TEXT, "load rose to %s",
                 lw_text_permille(LW_KNOWN(happening->value), number));
        break;
    }
}

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
char *lw_happening_words(const struct lw_happening *happening, char buf[LW_HAPPENING_TEXT])
{
    const struct phrase *phrase = &phrases[happening->kind < LW_N_HAPPENINGS ? happening->kind : LW_HAPPENED_START];
    char id[LW_ID_TEXT];
    lw_id_text(happening->key, id);
    if (!phrase->one)
        with_value(happening, buf);
    else if (happening->count > 1 && phrase->many)
        snprintf(buf, LW_HAPPENING_TEXT, phrase->many, (unsigned)happening->count, id);
    else
        snprintf(buf, LW_HAPPENING_TEXT, phrase->one, id);
    return buf;
}
#pragma GCC diagnostic pop
