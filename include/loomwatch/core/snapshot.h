/* SPDX-License-Identifier: MIT
 *
 * Everything a view or a report needs, copied out of the monitor at one moment. Holds no pointers: a paused screen keeps
 * its snapshot while the capture goes on.
 */
#ifndef LOOMWATCH_CORE_SNAPSHOT_H
#define LOOMWATCH_CORE_SNAPSHOT_H

#include "loomwatch/core/alarm.h"
#include "loomwatch/core/baseline.h"
#include "loomwatch/core/controller.h"
#include "loomwatch/core/evidence.h"
#include "loomwatch/core/happening.h"
#include "loomwatch/core/verdict.h"

enum { LW_HISTORY = 60, LW_SNAPSHOT_DIARY = LW_DIARY_SIZE, LW_WORDS_TEXT = 1000 };

/* One message, as much as a tile or a list line needs. */
struct lw_tile {
    struct lw_id_key key;
    char name[LW_NAME_MAX];
    char unit[LW_UNIT_NAME_MAX];     /* its sender in the baseline, else as behaviour tells; "" = not told apart */
    uint8_t conditions;              /* enum lw_condition */
    bool is_since_mark;              /* first heard after the mark */
    bool is_heard;                   /* false: expected, never heard on this watch */
    bool is_stale;                   /* nothing can be heard of it now: its bus is silent, or the interface down */
    bool is_quiet;                   /* stopped, without that being an alarm */
    enum lw_rhythm rhythm;
    uint64_t period_ns, jitter_ns, expected_period_ns;   /* 0 = unknown */
    uint64_t first_seen_ns, last_seen_ns, condition_since_ns;   /* bus time */
    uint64_t n_frames, n_missed;
    uint32_t rate_hz;
    uint16_t dlc_seen, expected_dlc;
    uint8_t last_len;
};

struct lw_bus_view {
    char name[LW_BUS_NAME_MAX];
    bool has_ended;                  /* the capture is over */
    uint64_t now_ns, start_ns, last_frame_ns;
    uint64_t silent_since_ns;        /* 0 = frames are coming */
    struct lw_controller controller;
    struct lw_reading bit_rate_bps, load_permille, load_peak_permille;
    uint64_t n_frames, n_lost, n_own;
    bool is_deaf;                    /* bus off, interface down or gone: nothing can be heard */
    bool can_tell_errors, can_tell_losses;   /* whether 0 means none */
    struct lw_reading frames_hz;     /* of the last whole second */
    uint32_t errors_hz;
    uint32_t n_history;              /* valid seconds in the histories, newest last */
    uint16_t load_history[LW_HISTORY];     /* permille */
    uint16_t frames_history[LW_HISTORY];
    uint16_t errors_history[LW_HISTORY];
    struct lw_tally loss;
    struct lw_fact_value facts[LW_N_FACTS];
    struct lw_verdict verdict;
    struct lw_readings readings;
};

struct lw_counts {
    unsigned n_ids, n_expected, n_present, n_unexpected, n_absent, n_late, n_changed, n_since_mark;
    unsigned n_quiet;      /* had a rhythm and stopped, which is no alarm */
    unsigned n_stopped;    /* new since the baseline, and gone again */
};

struct lw_snapshot {
    unsigned n_buses;
    struct lw_bus_view buses[LW_MAX_BUSES];
    bool has_baseline;
    uint64_t baseline_elapsed_ns;    /* when taken, since the start; 0 = read from a file */
    bool is_baseline_from_file;
    bool has_mark;
    uint64_t mark_elapsed_ns, elapsed_ns;   /* of the bus that is furthest on */
    struct lw_counts counts;
    uint64_t n_overflow_frames;
    uint64_t n_overflow_units;       /* messages that were not told apart for want of room */
    struct lw_alarms alarms;
    struct lw_happening window_cause[LW_N_WINDOWS];   /* what lit the window; count 0 = unknown */
    size_t n_diary;
    struct lw_happening diary[LW_SNAPSHOT_DIARY];     /* newest first */
    char words[LW_WORDS_TEXT];       /* what is going on, in plain words */
    size_t n_tiles;
    struct lw_tile tiles[LW_MAX_IDS];   /* lw_id_key_order: heard and expected ones */
    bool has_detail;
    struct lw_id_entry detail;       /* of the message asked for; n_frames 0 if never heard */
    struct lw_expected detail_expected;
    bool has_detail_expected;
};

/* The line of plain words, from counts, alarms and bus states of a snapshot that is otherwise filled. */
void lw_snapshot_words(const struct lw_snapshot *snapshot, char buf[LW_WORDS_TEXT]);

#endif
