/* SPDX-License-Identifier: MIT
 *
 * The diary of a watch: what happened, when, on which bus. Bounded ring; like things that happen together are
 * one entry with a count, so that forty messages going quiet are one line.
 */
#ifndef LOOMWATCH_CORE_HAPPENING_H
#define LOOMWATCH_CORE_HAPPENING_H

#include "loomwatch/core/event.h"

enum { LW_UNIT_NAME_MAX = 32 };

const char *lw_mark_words(enum lw_mark mark);   /* "plugged in" */

enum lw_happening_kind {
    LW_HAPPENED_START, LW_HAPPENED_MARK, LW_HAPPENED_BASELINE,
    LW_HAPPENED_NEW_ID, LW_HAPPENED_UNEXPECTED, LW_HAPPENED_ABSENT, LW_HAPPENED_QUIET, LW_HAPPENED_RETURNED,
    LW_HAPPENED_PERIOD, LW_HAPPENED_LENGTH, LW_HAPPENED_SECOND_SENDER,
    LW_HAPPENED_STATE, LW_HAPPENED_ERRORS, LW_HAPPENED_NO_ACKNOWLEDGE, LW_HAPPENED_ERRORS_OVER, LW_HAPPENED_RESTARTED,
    LW_HAPPENED_LOSS, LW_HAPPENED_LINK_DOWN, LW_HAPPENED_LINK_UP, LW_HAPPENED_LINK_GONE, LW_HAPPENED_LINK_BACK,
    LW_HAPPENED_SILENT, LW_HAPPENED_SOUND, LW_HAPPENED_LOAD, LW_HAPPENED_TABLE_FULL, LW_HAPPENED_RECORD_FAILED,
    LW_HAPPENED_VERDICT, LW_HAPPENED_READING, LW_HAPPENED_WOKE, LW_HAPPENED_JOINED, LW_HAPPENED_ADDRESS,
    LW_N_HAPPENINGS,
};

struct lw_happening {
    uint64_t t_ns;           /* bus time of the first of them */
    uint64_t elapsed_ns;     /* the same since the watch of that bus began */
    uint64_t last_ns;        /* of the newest of them */
    struct lw_id_key key;    /* the first of them, where it is about a message; key.bus always */
    uint8_t kind;            /* enum lw_happening_kind */
    uint32_t count;          /* how many of them, at least 1 */
    uint32_t n_messages;     /* that came with it, where it is about the whole bus waking; 0 = not counted */
    uint64_t since_ns, until_ns;   /* bus time when the first and the last of messages that went were heard last; 0 = unknown */
    uint64_t missed_ns;      /* bus time when the first of them, which key names, should have come; 0 = unknown */
    uint64_t period_ns;      /* of a message that went or came back: by so much it may be later than others. 0 = unknown */
    char unit[LW_UNIT_NAME_MAX];   /* whose messages these are; "" = not known */
    bool has_more_units;     /* and not of that unit alone */
    uint64_t value;          /* state, lost frames, silence in ns, permille, ns from the first to the last new message; of a verdict picture, confidence and
                                cause, a byte each; enum lw_mark; of a struct lw_clash kind, address and
                                moved_to, a byte each */
};

/* The value of LW_HAPPENED_READING: thousandths of ohm or volt << 8 | enum lw_measurement. */
#define LW_READING_OPEN (UINT64_MAX >> 8)

/* LOOK_BACK: like things interleave with others when a unit goes off; an entry further back is never joined. */
enum { LW_DIARY_SIZE = 256, LW_DIARY_TOGETHER_MS = 1000, LW_DIARY_LOOK_BACK = 16, LW_HAPPENING_TEXT = 160 };

struct lw_diary {
    struct lw_happening ring[LW_DIARY_SIZE];
    uint64_t n_ever;         /* entries ever written; the ring keeps the last LW_DIARY_SIZE */
};

void lw_diary_init(struct lw_diary *diary);

/* Adds one, or joins it to an entry of the same kind and bus less than LW_DIARY_TOGETHER_MS older (never for
 * marks and baselines; states only with the same one). Messages that went belong together if they can have stopped together: a
 * slow one is missed later. One that came back belongs to those before it if it is no later than its period. A count of 0 adds
 * only its messages, and only to an entry that is there. */
void lw_diary_add(struct lw_diary *diary, const struct lw_happening *happening);

/* The nth newest, 0 first, or NULL. Valid until the next add. */
const struct lw_happening *lw_diary_newest(const struct lw_diary *diary, size_t n);

/* One sentence without the time: "35 messages went quiet together, 1A0 first". Returns buf. */
char *lw_happening_words(const struct lw_happening *happening, char buf[LW_HAPPENING_TEXT]);

#endif
