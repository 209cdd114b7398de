/* SPDX-License-Identifier: MIT
 *
 * The inside of the monitor, shared by the monitor_*.c files only.
 */
#ifndef LOOMWATCH_CORE_MONITOR_STATE_H
#define LOOMWATCH_CORE_MONITOR_STATE_H

#include "loomwatch/core/claims.h"
#include "loomwatch/core/compare.h"
#include "loomwatch/core/evidence.h"
#include "loomwatch/core/load.h"
#include "loomwatch/core/monitor.h"
#include "loomwatch/core/units.h"
#include "loomwatch/core/verdict.h"

enum {
    LW_JUDGE_MS = 50,              /* how often the passing of time is judged, in bus time */
    LW_SILENCE_MIN_MS = 100,       /* a hole of the whole bus is at least this long */
    LW_SILENCE_DEFAULT_MS = 1000,  /* while no rhythm is known */
    LW_QUIET_PERIODS = 5, LW_QUIET_MIN_MS = 1000,
    LW_SLEPT_MS = 1000,            /* a bus whose first frame comes later was asleep when the watch began */
    LW_ERRORS_HOLD_MS = 1000,      /* an error report keeps its window lit for so long */
    LW_ERRORS_OVER_MS = 2000,
    LW_LOSS_HOLD_MS = 2000,
    LW_UNEXPECTED_HOLD_MS = 5000,
    LW_SETTLED_GAPS = 12,          /* gaps before a rhythm is taken as the sender's own */
    LW_SET_BACK_MS = 2000,         /* a clock further back than that was set back: frames do not wait so long */
    LW_NS_PER_MS = 1000000,
};

struct bus {
    bool has_started, has_ended, is_in_errors;
    uint64_t start_ns, now_ns, judge_ns, second_ns;
    uint64_t set_back_ns;          /* by how much the source's clock was set back, all together */
    uint64_t newest_ns;            /* newest event since the last tick; 0 = none */
    uint64_t first_frame_ns, last_frame_ns;
    uint64_t back_ns;              /* when frames last came back after a hole, or first came at all */
    uint64_t resumed_ns;           /* the last frame that ended a pause of the whole bus, however short; 0 = none yet */
    uint64_t silent_since_ns;      /* 0 = frames are coming */
    uint64_t hole_from_ns;         /* where the last hole began; 0 = none yet */
    uint64_t hole_ns;              /* all holes together */
    uint64_t waking_ns;            /* newest of the messages that came with the bus's return; 0 = all came, or none yet */
    uint64_t shortest_period_ns;   /* of the cyclic messages that are there; 0 = none known */
    uint64_t shortest_expected_ns; /* of those in the baseline; 0 = none */
    uint64_t mark_ns, watched_from_ns;   /* start of comparison: start of the watch, or when the baseline was set */
    uint64_t n_frames, n_lost, n_own, n_frames_at_second, n_errors_at_second;
    uint32_t frames_hz, errors_hz, n_history;
    uint16_t load_history[LW_HISTORY], frames_history[LW_HISTORY], errors_history[LW_HISTORY];
    uint64_t last_overflow_ns, last_unexpected_ns;
    unsigned n_unexpected;         /* messages not in the baseline, since it was set */
    uint32_t n_inputs[LW_N_WINDOWS];   /* what this bus gives to each window */
    struct lw_id_key unexpected;   /* the newest */
    unsigned n_absent, n_changed, n_second_sender;   /* as of the last judgement */
    struct lw_id_key absent, changed, second_sender;   /* one of each */
    /* The window tells of a message that came late. One that stays away is absent, and must not be preceded by it as the
     * alarm that came first. */
    uint64_t last_late_ns;
    struct lw_id_key late;
    struct lw_load load;
    struct lw_controller controller;
    struct lw_tally loss;
    struct lw_evidence evidence;
    struct lw_claims claims;
    struct lw_verdict_keeper verdict;
    struct lw_readings readings;
    uint64_t returned_ns;          /* when a quiet message last came back; 0 = never */
    unsigned n_returned;           /* how many of late */
    uint64_t plugged_ns;           /* when something was marked as plugged in; 0 = never, or unplugged since */
};

struct lw_monitor {
    struct lw_monitor_config config;
    struct bus buses[LW_MAX_BUSES];
    struct lw_id_table table;
    struct lw_units units;
    struct lw_baseline baseline, scratch;
    bool has_baseline, is_baseline_from_file, has_mark, has_record_failed, has_overflowed;
    uint64_t baseline_elapsed_ns, mark_elapsed_ns;
    struct lw_alarms alarms;
    struct lw_happening window_cause[LW_N_WINDOWS];
    struct lw_diary diary;
};

/* Writes into the diary. key.bus names the bus. */
void lw_monitor_note(struct lw_monitor *monitor, enum lw_happening_kind kind, struct lw_id_key key, uint64_t t_ns,
                     uint64_t value);

/* The same about a message that went or came back, with its unit. last_ns: when it was heard before that. */
void lw_monitor_note_message(struct lw_monitor *monitor, enum lw_happening_kind kind, const struct lw_id_entry *entry,
                             uint64_t last_ns, uint64_t t_ns);

/* What the units learn of a message: first heard, missed (last heard at last_ns), back, its rhythm; and of a bus. */
void lw_monitor_unit_new(struct lw_monitor *monitor, const struct lw_id_entry *entry, uint64_t t_ns);
void lw_monitor_unit_gone(struct lw_monitor *monitor, const struct lw_id_entry *entry, uint64_t last_ns, uint64_t t_ns);
void lw_monitor_unit_back(struct lw_monitor *monitor, const struct lw_id_entry *entry, uint64_t t_ns);
void lw_monitor_unit_rhythm(struct lw_monitor *monitor, const struct lw_id_entry *entry);
void lw_monitor_settle_units(struct lw_monitor *monitor, unsigned bus, uint64_t t_ns);

/* Counts a message that came with the bus's return. */
void lw_monitor_waking(struct lw_monitor *monitor, const struct lw_id_entry *entry, uint64_t t_ns);

/* The unit of a message as people call it: its sender in the baseline, else what behaviour tells; "" if neither does. */
char *lw_monitor_unit_name(const struct lw_monitor *monitor, const struct lw_id_entry *entry, char buf[LW_UNIT_NAME_MAX]);

/* Nobody at all is heard for longer than this: it may be the bus that is silent. Early enough that no message is given up
 * before the bus is. */
uint64_t lw_monitor_pause_ns(const struct bus *bus);

/* So long nobody may be heard before the whole bus counts as silent. */
uint64_t lw_monitor_silence_ns(const struct bus *bus);

/* Bus time of a source's time stamp: never 0, which means never; never so late that sums run over; and going on where it
 * stood when the source's clock is set back. */
uint64_t lw_monitor_bus_time(const struct bus *bus, uint64_t t_ns);

/* A tick says t_ns (bus time). Notices a clock that was set back. */
void lw_monitor_follow_clock(struct bus *bus, uint64_t t_ns);

/* Bus time moves to t_ns: seconds roll, silence is noticed, messages and alarms are judged. */
void lw_monitor_advance(struct lw_monitor *monitor, unsigned bus, uint64_t t_ns);

/* The bus carries a frame again, or for the first time. */
void lw_monitor_heard(struct lw_monitor *monitor, unsigned bus, uint64_t t_ns);

/* Judges every message of a bus, and the windows. */
void lw_monitor_judge_ids(struct lw_monitor *monitor, unsigned bus, uint64_t t_ns);
void lw_monitor_judge_windows(struct lw_monitor *monitor, uint64_t t_ns);

/* Bus off, interface down or gone: nothing can be heard. */
bool lw_monitor_is_deaf(const struct bus *bus);

/* Works facts and verdict out: is_tick once every LW_JUDGE_MS, else because something happened that cannot wait. */
void lw_monitor_judge_evidence(struct lw_monitor *monitor, unsigned bus, bool is_tick, uint64_t t_ns);

/* A frame may be an address claim: keeps the table, writes into the diary what came of it. */
void lw_monitor_note_claim(struct lw_monitor *monitor, unsigned bus, const struct lw_frame *frame, uint64_t t_ns);

/* A message went absent or quiet now. */
void lw_monitor_note_went(struct lw_id_entry *entry, uint64_t t_ns);

/* A message that was quiet is heard again. */
void lw_monitor_note_coming(struct bus *bus, uint64_t t_ns);

/* A message that was missing is heard. */
void lw_monitor_returned(struct lw_monitor *monitor, struct lw_id_entry *entry, uint64_t t_ns);

/* Bus time since the start, of the bus that is furthest on. */
uint64_t lw_monitor_elapsed_ns(const struct lw_monitor *monitor);

/* The entry of a message, made if need be. NULL where the table is full, which is noted. */
struct lw_id_entry *lw_monitor_place(struct lw_monitor *monitor, struct bus *bus, struct lw_id_key key, uint64_t t_ns);

/* The beginning and end of a bus's watch, as learning wants it. */
struct lw_learn_bus lw_monitor_learn_bus(const struct lw_monitor *monitor, unsigned bus);

#endif
