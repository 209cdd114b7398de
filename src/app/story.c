/* SPDX-License-Identifier: MIT
 *
 * Keeps the diary whole.
 */
#include "story.h"

#include <stdlib.h>
#include <string.h>

enum { FIRST_ROOM = 64 };

void lw_story_init(struct lw_story *story, const struct lw_monitor *monitor)
{
    memset(story, 0, sizeof(*story));
    story->monitor = monitor;
}

void lw_story_finish(struct lw_story *story)
{
    free(story->entries);
    story->entries = NULL;
    story->n_entries = 0;
}

static bool make_room(struct lw_story *story)
{
    if (story->n_entries < story->n_room)
        return true;
    size_t n_room = story->n_room > 0 ? 2 * story->n_room : FIRST_ROOM;
    if (story->n_room >= LW_STORY_ENTRIES)
        return false;
    struct lw_story_entry *entries = realloc(story->entries, n_room * sizeof(entries[0]));
    if (!entries)
        return false;
    story->entries = entries;
    story->n_room = n_room;
    return true;
}

/* The nth of the diary, NULL where the ring has forgotten it. */
static const struct lw_happening *nth(const struct lw_diary *diary, uint64_t n)
{
    return lw_diary_newest(diary, (size_t)(diary->n_ever - 1 - n));
}

static void add(struct lw_story *story, const struct lw_happening *happening)
{
    struct lw_story_entry *entry = &story->entries[story->n_entries++];
    memset(entry, 0, sizeof(*entry));
    if (!happening) {
        story->n_dropped++;
        return;
    }
    entry->happening = *happening;
    if (happening->kind != LW_HAPPENED_VERDICT)
        return;
    entry->verdict = *lw_monitor_verdict(story->monitor, happening->key.bus);
    entry->has_verdict = entry->verdict.picture == (happening->value >> 16 & 0xFF);
    story->has_trouble = true;   /* no other verdict stands in a diary */
}

/* Entries can still be joined by later ones, until too many stand after them. */
static void copy(struct lw_story *story, const struct lw_diary *diary, size_t end)
{
    for (; story->n_final < end; story->n_final++) {
        const struct lw_happening *happening = nth(diary, story->n_final);
        if (happening)
            story->entries[story->n_final].happening = *happening;
    }
}

void lw_story_listen(void *context)
{
    struct lw_story *story = context;
    const struct lw_diary *diary = lw_monitor_diary(story->monitor);
    if (diary->n_ever == story->n_ever)
        return;
    story->n_ever = diary->n_ever;
    while (story->n_entries < diary->n_ever && make_room(story))
        add(story, nth(diary, story->n_entries));
    if (story->n_entries > LW_DIARY_LOOK_BACK)
        copy(story, diary, story->n_entries - LW_DIARY_LOOK_BACK);
}

void lw_story_close(struct lw_story *story)
{
    lw_story_listen(story);
    copy(story, lw_monitor_diary(story->monitor), story->n_entries);
    story->n_dropped += story->n_ever - story->n_entries;
}
