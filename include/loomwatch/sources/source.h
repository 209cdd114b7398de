/* SPDX-License-Identifier: MIT
 *
 * The contract of a source: whatever delivers events of one bus. A table of functions with an instance pointer; the
 * event loop knows no source by name. Sources of one program run in one thread unless their header says otherwise.
 */
#ifndef LOOMWATCH_SOURCES_SOURCE_H
#define LOOMWATCH_SOURCES_SOURCE_H

#include "loomwatch/core/event.h"

enum { LW_SOURCE_TEXT = 512, LW_SOURCE_MAX_FDS = 4 };

struct lw_source_info {
    char name[64];           /* "can0", file name without its folder, "harrow40" */
    char kind[32];           /* "interface", "capture", "bench" */
    char note[LW_SOURCE_TEXT];   /* what the user should know: cut-off file, swapped identifiers; may be empty */
};

struct lw_source_ops {
    /* Descriptors to poll for reading; they may change when the source reports a link change. Returns how many were
     * written, 0 for a source that only has due times. */
    size_t (*poll_fds)(void *self, int out[LW_SOURCE_MAX_FDS]);

    /* When read() will have something though no descriptor becomes readable, on the monotonic clock given to read().
     * At or before mono_ns: at once. UINT64_MAX: never. */
    uint64_t (*due_ns)(void *self, uint64_t mono_ns);

    /* Never blocks. Writes up to max events in bus-time order, all of one bus, whose index was given at creation.
     * Returns their number, 0 if there is none now, -ENODATA after the last one ever, or another -errno if the source
     * cannot go on; lost and returning interfaces are events, not errors. */
    int (*read)(void *self, uint64_t mono_ns, struct lw_event *out, size_t max);

    /* Bus time at this moment: what event times are compared with. 0 before the first event where it has no clock. */
    uint64_t (*now_ns)(void *self, uint64_t mono_ns);

    void (*describe)(void *self, struct lw_source_info *out);

    void (*destroy)(void *self);     /* takes NULL */
};

struct lw_source {
    const struct lw_source_ops *ops;
    void *self;                      /* owned; NULL = no source */
};

enum lw_pace_kind { LW_PACE_REAL, LW_PACE_TIMES, LW_PACE_FULL };

/* How fast recorded or simulated time passes. */
struct lw_pace {
    enum lw_pace_kind kind;
    double times;                    /* with LW_PACE_TIMES: 0.01 .. 1000 */
};

/* Destroys what source holds and empties it. Takes an empty one. */
void lw_source_finish(struct lw_source *source);

#endif
