/* SPDX-License-Identifier: MIT
 *
 * The story of a watch: every entry of the diary from the first to the last, kept as they come since the diary itself forgets;
 * and told at the end, when it is known which messages belong together and what healed.
 */
#ifndef LOOMWATCH_APP_STORY_H
#define LOOMWATCH_APP_STORY_H

#include "loomwatch/core/monitor.h"

enum {
    LW_STORY_ENTRIES = 20000,    /* more are counted, not kept */
    LW_STORY_LINES = 40,         /* told in about so many, the ends included: like things are merged until they fit */
    LW_STORY_TEXT = LW_VERDICT_TEXT + 256,
};

struct lw_story_entry {
    struct lw_happening happening;   /* count 0: lost */
    struct lw_verdict verdict;       /* of a verdict: in full, if has_verdict */
    bool has_verdict;
};

struct lw_story {
    const struct lw_monitor *monitor;    /* borrowed */
    struct lw_story_entry *entries;      /* the nth of the diary is the nth here; owned */
    size_t n_entries, n_room, n_final;   /* n_final: copied, and cannot be joined any more */
    uint64_t n_ever, n_dropped;          /* entries of the diary as of the last look; those that could not be kept */
    bool has_trouble;                    /* a verdict of trouble stood at any time */
};

struct lw_story_line {
    uint64_t at_ns, until_ns;    /* since the watch of its bus began; until the newest of what was merged into it */
    uint8_t bus;
    uint8_t kind;                /* enum lw_happening_kind; LW_N_HAPPENINGS: the end */
    unsigned detail;             /* picture of a verdict, state of the adapter: only lines that agree in it are merged */
    unsigned n;                  /* how many lines it was before merging */
    char words[LW_STORY_TEXT];
};

void lw_story_init(struct lw_story *story, const struct lw_monitor *monitor);
void lw_story_finish(struct lw_story *story);

/* Takes what is new in the diary. Call it after each event: a diary that overflows between two calls is counted as dropped.
 * context: the story. */
void lw_story_listen(void *context);

/* The watch is over: takes what was still being joined. Once, before telling. */
void lw_story_close(struct lw_story *story);

/* Tells it: writes the lines, which the caller frees, and their number. snapshot: of the end. Returns 0 or -ENOMEM. */
int lw_story_tell(const struct lw_story *story, const struct lw_snapshot *snapshot, struct lw_story_line **lines, size_t *n_lines);

/* A word for programs: "quiet", "errors", "end". */
const char *lw_story_kind(unsigned kind);

#endif
