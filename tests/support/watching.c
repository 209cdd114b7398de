/* SPDX-License-Identifier: MIT
 *
 * The event loop of in-kernel tests: one source, poll, a time limit. Used by tests/kernel.
 */
#include "watching.h"

#include <poll.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <cmocka.h>

#include "loomwatch/sources/socketcan.h"

uint64_t watching_mono_ns(void)
{
    struct timespec t;

    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint64_t)t.tv_sec * 1000000000u + (uint64_t)t.tv_nsec;
}

struct watching *watching_open(const char *interface, unsigned bus)
{
    struct watching *w = calloc(1, sizeof(*w));
    char advice[LW_SOURCE_TEXT];
    int error;

    assert_non_null(w);
    error = lw_socketcan_open(&w->source, interface, bus, advice);
    if (error != 0)
        fail_msg("%s: %s (%s)", interface, strerror(-error), advice);
    return w;
}

void watching_close(struct watching *w)
{
    lw_source_finish(&w->source);
    free(w);
}

static void wait_for_source(struct watching *w, uint64_t until_ns)
{
    int fds[LW_SOURCE_MAX_FDS];
    struct pollfd polled[LW_SOURCE_MAX_FDS] = { 0 };
    uint64_t now = watching_mono_ns(), due = w->source.ops->due_ns(w->source.self, now);
    size_t n = w->source.ops->poll_fds(w->source.self, fds);

    for (size_t i = 0; i < n; i++)
        polled[i] = (struct pollfd){ .fd = fds[i], .events = POLLIN };
    if (due > until_ns)
        due = until_ns;
    poll(polled, n, due <= now ? 0 : (int)((due - now) / 1000000 + 1));
}

static void read_source(struct watching *w)
{
    size_t room = WATCHING_MAX - w->n, step = w->step ? w->step : 512;
    int n = w->source.ops->read(w->source.self, watching_mono_ns(), &w->events[w->n], step < room ? step : room);

    assert_true(room > 0);
    assert_true(n >= 0);
    w->n += (size_t)n;
}

bool watching_until(struct watching *w, bool (*is_enough)(const struct watching *w, const void *argument),
                    const void *argument)
{
    uint64_t until_ns = watching_mono_ns() + WATCHING_LIMIT_MS * 1000000ull;

    while (!is_enough(w, argument)) {
        if (watching_mono_ns() >= until_ns)
            return false;
        wait_for_source(w, until_ns);
        read_source(w);
    }
    return true;
}

const struct lw_event *watching_nth(const struct watching *w, enum lw_event_kind kind, size_t nth)
{
    for (size_t i = 0; i < w->n; i++)
        if (w->events[i].kind == kind && nth-- == 0)
            return &w->events[i];
    return NULL;
}

struct wish {
    enum lw_event_kind kind;
    size_t n;
};

static bool has_count(const struct watching *w, const void *argument)
{
    const struct wish *wish = argument;

    return wish->n == 0 || watching_nth(w, wish->kind, wish->n - 1);
}

void watching_count(struct watching *w, enum lw_event_kind kind, size_t n)
{
    struct wish wish = { kind, n };

    if (!watching_until(w, has_count, &wish))
        fail_msg("fewer than %zu events of kind %d among %zu", n, (int)kind, w->n);
}

const struct lw_link *watching_link(const struct watching *w)
{
    for (size_t i = w->n; i-- > 0;)
        if (w->events[i].kind == LW_EVENT_LINK)
            return &w->events[i].link;
    return NULL;
}

static bool is_link(const struct watching *w, const void *argument)
{
    const struct lw_link *wanted = argument, *link = watching_link(w);

    return link && link->is_present == wanted->is_present && link->is_up == wanted->is_up;
}

void watching_link_is(struct watching *w, bool is_present, bool is_up)
{
    struct lw_link wanted = { .is_present = is_present, .is_up = is_up };

    if (!watching_until(w, is_link, &wanted))
        fail_msg("the link did not become present %d, up %d", is_present, is_up);
}

void watching_forget(struct watching *w)
{
    w->n = 0;
}
