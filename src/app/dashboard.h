/* SPDX-License-Identifier: MIT
 *
 * The dashboard at work: a watch, a screen, and what the person at it has chosen. The loop is in dashboard.c, what keys do
 * in dashboard_keys.c.
 */
#ifndef LOOMWATCH_APP_DASHBOARD_H
#define LOOMWATCH_APP_DASHBOARD_H

#include "watch_run.h"

#include "loomwatch/ui/grid.h"
#include "loomwatch/ui/view_state.h"

struct lw_dashboard {
    struct lw_run run;
    struct lw_view_state state;
    struct lw_grid grid;
    struct lw_snapshot *snapshot;        /* what is on the screen; stands still while paused */
    const struct lw_source *bench;       /* the first source that is a bench, borrowed; NULL = none */
    struct lw_bench_picture *picture;    /* of it; owned */
    int signal_fd;
    bool is_asked_to_quit, must_draw;
    uint64_t n_events_drawn;             /* run.n_events when the snapshot was taken */
    uint64_t n_frames_paused;            /* frames when the view was paused */
    uint64_t drawn_ns, flushed_ns, bell_ns, message_ns;   /* monotonic */
    bool had_horn, has_told_end[LW_MAX_BUSES];
};

/* Does what a key is for. Returns false for a key without meaning here. */
bool lw_dashboard_key(struct lw_dashboard *dashboard, int code, uint64_t mono_ns);

/* Shows an answer on the last row for a few seconds. */
__attribute__((format(printf, 3, 4)))
void lw_dashboard_say(struct lw_dashboard *dashboard, uint64_t mono_ns, const char *format, ...);

/* Frames on all buses so far. */
uint64_t lw_dashboard_frames(const struct lw_snapshot *snapshot);

#endif
