/* SPDX-License-Identifier: MIT
 *
 * Watches a source as the event loop does, and keeps what it delivered. For in-kernel tests.
 */
#ifndef LOOMWATCH_TEST_WATCHING_H
#define LOOMWATCH_TEST_WATCHING_H

#include "loomwatch/sources/source.h"

enum { WATCHING_MAX = 20000, WATCHING_LIMIT_MS = 10000 };

struct watching {
    struct lw_source source;
    size_t step;                /* events a read; 0 = 512 */
    size_t n;                   /* all events kept, link reports and losses included */
    struct lw_event events[WATCHING_MAX];
};

uint64_t watching_mono_ns(void);

/* Opens the interface, or fails the test with the source's own advice. */
struct watching *watching_open(const char *interface, unsigned bus);
void watching_close(struct watching *w);

/* Goes on until is_enough, or the time limit (WATCHING_LIMIT_MS). Polls the source's descriptors and obeys its due time
 * only: a source that does not say it has something is not read. Returns is_enough's last answer. */
bool watching_until(struct watching *w, bool (*is_enough)(const struct watching *w, const void *argument),
                    const void *argument);

/* Until n events of the kind are there; fails the test otherwise. */
void watching_count(struct watching *w, enum lw_event_kind kind, size_t n);

/* The nth (from 0) event of the kind, or NULL. */
const struct lw_event *watching_nth(const struct watching *w, enum lw_event_kind kind, size_t nth);

/* The newest link report, or NULL. */
const struct lw_link *watching_link(const struct watching *w);

/* Until the newest link report says so; fails the test otherwise. */
void watching_link_is(struct watching *w, bool is_present, bool is_up);

void watching_forget(struct watching *w);    /* empties the list */

#endif
