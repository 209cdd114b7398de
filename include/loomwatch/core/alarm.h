/* SPDX-License-Identifier: MIT
 *
 * The annunciator: alarm windows with sequence, acknowledge and first-out, after ANSI/ISA-18.1. The sequences
 * are tables; the engine knows none of them by name. Sequences A, M and F2M as quoted in makers' manuals of
 * annunciators; F3M from memory (the standard's text was not at hand). Ours, beyond the standard: an acknowledged
 * window whose alarm has cleared and comes again flashes anew, since an intermittent fault must not hide.
 */
#ifndef LOOMWATCH_CORE_ALARM_H
#define LOOMWATCH_CORE_ALARM_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum lw_window {
    LW_WINDOW_BUS_OFF, LW_WINDOW_NO_ACKNOWLEDGE, LW_WINDOW_ERROR_PASSIVE, LW_WINDOW_ERROR_WARNING,
    LW_WINDOW_BUS_ERRORS, LW_WINDOW_LINK_DOWN, LW_WINDOW_BUS_SILENT, LW_WINDOW_LOAD_HIGH,
    LW_WINDOW_UNEXPECTED, LW_WINDOW_ABSENT, LW_WINDOW_LATE, LW_WINDOW_CHANGED,
    LW_WINDOW_SECOND_SENDER, LW_WINDOW_FRAMES_LOST, LW_WINDOW_TABLE_FULL, LW_WINDOW_RECORD_FAILED,
    LW_N_WINDOWS,
};

struct lw_window_info {
    const char *caption;    /* at most 7 characters, as engraved on the window */
    const char *name;       /* in running text: "no acknowledge" */
    const char *meaning;    /* one sentence for a fitter: what it says and what to look at */
};

extern const struct lw_window_info lw_windows[LW_N_WINDOWS];

enum lw_sequence { LW_SEQUENCE_A, LW_SEQUENCE_M, LW_SEQUENCE_F2M, LW_SEQUENCE_F3M, LW_N_SEQUENCES };

/* Where a window stands in its sequence. The first-out states exist in F2M and F3M only. */
enum lw_window_state {
    LW_WINDOW_NORMAL, LW_WINDOW_NEW, LW_WINDOW_SILENCED, LW_WINDOW_ACKNOWLEDGED,
    LW_WINDOW_FIRST_NEW, LW_WINDOW_FIRST_SILENCED, LW_WINDOW_FIRST_ACKNOWLEDGED,
    LW_N_WINDOW_STATES,
};

enum lw_alarm_input {
    LW_INPUT_ALARM,             /* the condition begins */
    LW_INPUT_CLEAR,             /* the condition ends */
    LW_INPUT_SILENCE, LW_INPUT_ACKNOWLEDGE, LW_INPUT_RESET, LW_INPUT_FIRST_OUT_RESET,
    LW_N_ALARM_INPUTS,
};

enum lw_alarm_guard { LW_IF_ANY, LW_IF_ABNORMAL, LW_IF_CLEARED, LW_IF_NO_FIRST, LW_IF_HAS_FIRST };

enum lw_lamp { LW_LAMP_OFF, LW_LAMP_ON, LW_LAMP_FLASH, LW_LAMP_FIRST_FLASH, LW_LAMP_SLOW_FLASH };

/* One transition. A state and input without a row stays where it is. */
struct lw_sequence_row {
    uint8_t from;      /* enum lw_window_state */
    uint8_t input;     /* enum lw_alarm_input */
    uint8_t guard;     /* enum lw_alarm_guard */
    uint8_t to;        /* enum lw_window_state */
};

struct lw_sequence_table {
    const char *name;                              /* "F3M" */
    const struct lw_sequence_row *rows;
    size_t n_rows;
    enum lw_lamp lamps[LW_N_WINDOW_STATES];
    bool has_horn[LW_N_WINDOW_STATES];
};

extern const struct lw_sequence_table lw_sequences[LW_N_SEQUENCES];

struct lw_alarm {
    enum lw_window_state state;
    bool is_abnormal;         /* the condition holds now */
    uint32_t n_inputs;        /* of how many messages or buses; one more while it is lit is an alarm of its own */
    uint32_t n_times;         /* how often it began since the last reset to normal */
    uint64_t began_ns;        /* last time it began; 0 = never */
    uint64_t cleared_ns;      /* last time it ended; 0 = never */
};

struct lw_alarms {
    enum lw_sequence sequence;
    struct lw_alarm windows[LW_N_WINDOWS];
    bool is_testing;          /* operational test: every lamp flashes, the horn sounds */
};

void lw_alarms_init(struct lw_alarms *alarms, enum lw_sequence sequence);

/* Tells the condition of one window: for how many messages or buses it holds, 0 = it does not. A window that is lit already
 * alarms again when their number rises: the second unit that goes silent must not hide behind the first. Returns
 * true if this began an alarm. */
bool lw_alarms_set(struct lw_alarms *alarms, enum lw_window window, uint32_t n_inputs, uint64_t now_ns);

/* A button: silence, acknowledge, reset or first-out reset, for every window at once. */
void lw_alarms_press(struct lw_alarms *alarms, enum lw_alarm_input button);

enum lw_lamp lw_alarms_lamp(const struct lw_alarms *alarms, enum lw_window window);
bool lw_alarms_has_horn(const struct lw_alarms *alarms);

/* The window that came first, or -1. */
int lw_alarms_first_out(const struct lw_alarms *alarms);

/* One step of one window, the engine itself; for tests and for those who add a sequence. */
enum lw_window_state lw_sequence_next(const struct lw_sequence_table *table, enum lw_window_state state,
                                      enum lw_alarm_input input, bool is_abnormal, bool has_first);

#endif
