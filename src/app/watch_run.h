/* SPDX-License-Identifier: MIT
 *
 * A watch under way: sources feeding one monitor and, if wished, one recording a source. Used by every command; knows no
 * screen.
 */
#ifndef LOOMWATCH_APP_WATCH_RUN_H
#define LOOMWATCH_APP_WATCH_RUN_H

#include "options.h"

#include "loomwatch/core/monitor.h"
#include "loomwatch/sources/recorder.h"

#include <poll.h>

enum { LW_RUN_TEXT = 640, LW_RUN_MAX_FDS = LW_MAX_BUSES * LW_SOURCE_MAX_FDS };

struct lw_run_bus {
    struct lw_source source;
    const char *word;                  /* as on the command line */
    struct lw_source_info info;
    struct lw_recorder *recorder;      /* NULL = not recorded */
    char record_path[256];
    bool is_over, has_begun;
    uint64_t begin_ns;                 /* bus time of its first event */
    struct lw_told_verdict told;       /* the verdict last written to the recording */
    int failure;                       /* -errno with which the source ended, 0 = none */
};

struct lw_run {
    struct lw_monitor *monitor;        /* owned */
    unsigned n_buses;
    struct lw_run_bus buses[LW_MAX_BUSES];
    uint64_t for_ns;                   /* 0 = until all sources end */
    uint64_t n_events;
    bool has_record_failed;
    void (*listen)(void *context);     /* called after each event and tick, NULL = nobody listens */
    void *listen_context;
    size_t n_unwatched;                /* messages of the given baseline that are of buses not watched */
};

/* Opens the sources of the options (the demo bench if there are none), the recordings, and the baseline if one is given.
 * Returns 0 or -errno; message (LW_RUN_TEXT bytes) then says what is wrong and what to do. */
int lw_run_open(struct lw_run *run, const struct lw_options *options, unsigned first_argument, struct lw_pace pace,
                char message[LW_RUN_TEXT]);
void lw_run_close(struct lw_run *run);

/* Takes what the sources have, without waiting, at most a few thousand events. Returns true if there may be more at
 * once. */
bool lw_run_pump(struct lw_run *run, uint64_t mono_ns);

/* What to wait for: descriptors, and the monotonic time at which a source is due. */
size_t lw_run_poll_fds(struct lw_run *run, struct pollfd out[LW_RUN_MAX_FDS]);
uint64_t lw_run_due_ns(struct lw_run *run, uint64_t mono_ns);

/* Hands recordings to the kernel; a failure becomes an alarm. Call it a few times a second. */
void lw_run_flush(struct lw_run *run);

/* Marks this moment and what was done, in the recordings too. */
void lw_run_mark(struct lw_run *run, enum lw_mark mark);

/* Takes a meter reading of a bus, into its recording too. */
void lw_run_reading(struct lw_run *run, unsigned bus, const struct lw_meter_reading *reading);

bool lw_run_is_over(const struct lw_run *run);

uint64_t lw_monotonic_ns(void);

#endif
