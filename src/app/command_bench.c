/* SPDX-License-Identifier: MIT
 *
 * bench NAME --onto vcan0: plays the bench onto a virtual interface.
 */
#include "commands.h"

#include "open_source.h"
#include "stop_signals.h"

#include "loomwatch/sources/virtual_sender.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

enum { BATCH = 64, WAIT_MS = 2 };

struct played {
    uint64_t n_frames, n_errors, n_dropped;
};

/* A full queue of a virtual interface empties at once; one that stays full has nobody to blame but is not waited for. */
static void play(struct lw_virtual_sender *sender, const struct lw_event *event, struct played *played)
{
    int rc = lw_virtual_sender_send(sender, event);
    if (rc == -EAGAIN) {
        poll(NULL, 0, 1);
        rc = lw_virtual_sender_send(sender, event);
    }
    if (rc != 0)
        played->n_dropped++;
    else if (event->kind == LW_EVENT_FRAME)
        played->n_frames++;
    else if (event->kind == LW_EVENT_ERROR)
        played->n_errors++;
}

static struct played play_until(const struct lw_options *options, struct lw_source *source, struct lw_virtual_sender *sender)
{
    struct lw_event events[BATCH];
    struct played played = { 0 };
    uint64_t bus_ns = 0;
    while (!lw_stop_is_asked() && (options->for_ns == 0 || bus_ns < options->for_ns)) {
        uint64_t now = lw_monotonic_ns();
        int n = source->ops->read(source->self, now, events, BATCH);
        for (int i = 0; i < n; i++)
            play(sender, &events[i], &played);
        bus_ns = source->ops->now_ns(source->self, now);
        if (n < BATCH && source->ops->due_ns(source->self, now) > now)
            poll(NULL, 0, WAIT_MS);
    }
    return played;
}

static int play_bench(const struct lw_options *options, struct lw_source *source)
{
    struct lw_virtual_sender *sender;
    char message[LW_SOURCE_TEXT] = "";
    int rc = lw_virtual_sender_open(&sender, options->onto, message);
    if (rc != 0) {
        fprintf(stderr, "loomwatch: %s\n", message[0] ? message : strerror(-rc));
        return LW_EXIT_TROUBLE;
    }
    printf("Playing bench %s onto %s, a virtual interface: nothing leaves this computer. Ctrl-C ends it.\n",
           options->arguments[0], options->onto);
    fflush(stdout);
    struct played played = play_until(options, source, sender);
    lw_virtual_sender_close(sender);
    printf("%llu frames and %llu error frames played, %llu not taken\n", (unsigned long long)played.n_frames,
           (unsigned long long)played.n_errors, (unsigned long long)played.n_dropped);
    return played.n_dropped == 0 ? LW_EXIT_FINE : LW_EXIT_TROUBLE;
}

int lw_command_bench(const struct lw_options *options)
{
    struct lw_source source = { 0 };
    char word[256], message[LW_RUN_TEXT] = "";
    struct lw_pace pace = options->has_pace ? options->pace : (struct lw_pace){ LW_PACE_REAL, 1 };
    snprintf(word, sizeof(word), "bench:%s", options->arguments[0]);
    lw_stop_catch();
    if (lw_open_source(&source, word, 0, options, pace, message) != 0) {
        fprintf(stderr, "loomwatch: %s\n", message);
        return LW_EXIT_TROUBLE;
    }
    int status = play_bench(options, &source);
    lw_source_finish(&source);
    return status;
}
