/* SPDX-License-Identifier: MIT
 *
 * The annunciator's engine: runs any sequence table over the windows.
 */
#include "loomwatch/core/alarm.h"

#include <string.h>

void lw_alarms_init(struct lw_alarms *alarms, enum lw_sequence sequence)
{
    memset(alarms, 0, sizeof(*alarms));
    alarms->sequence = sequence;
}

static bool guard_holds(enum lw_alarm_guard guard, bool is_abnormal, bool has_first)
{
    switch (guard) {
    case LW_IF_ABNORMAL: return is_abnormal;
    case LW_IF_CLEARED: return !is_abnormal;
    case LW_IF_NO_FIRST: return !has_first;
    case LW_IF_HAS_FIRST: return has_first;
    default: return true;
    }
}

enum lw_window_state lw_sequence_next(const struct lw_sequence_table *table, enum lw_window_state state,
                                      enum lw_alarm_input input, bool is_abnormal, bool has_first)
{
    for (size_t i = 0; i < table->n_rows; i++) {
        const struct lw_sequence_row *row = &table->rows[i];
        if (row->from == state && row->input == input
            && guard_holds((enum lw_alarm_guard)row->guard, is_abnormal, has_first))
            return (enum lw_window_state)row->to;
    }
    return state;
}

int lw_alarms_first_out(const struct lw_alarms *alarms)
{
    for (int i = 0; i < LW_N_WINDOWS; i++)
        if (alarms->windows[i].state >= LW_WINDOW_FIRST_NEW)
            return i;
    return -1;
}

static void step(struct lw_alarms *alarms, struct lw_alarm *alarm, enum lw_alarm_input input)
{
    bool has_first = lw_alarms_first_out(alarms) >= 0;
    alarm->state =
        lw_sequence_next(&lw_sequences[alarms->sequence], alarm->state, input, alarm->is_abnormal, has_first);
}

static void begin(struct lw_alarms *alarms, struct lw_alarm *alarm, uint64_t now_ns)
{
    alarm->n_times = alarm->state == LW_WINDOW_NORMAL ? 1 : alarm->n_times + 1;
    alarm->began_ns = now_ns;
    alarm->is_abnormal = true;
    step(alarms, alarm, LW_INPUT_ALARM);
}

bool lw_alarms_set(struct lw_alarms *alarms, enum lw_window window, uint32_t n_inputs, uint64_t now_ns)
{
    struct lw_alarm *alarm = &alarms->windows[window];
    bool has_begun = n_inputs > alarm->n_inputs;
    alarm->n_inputs = n_inputs;
    if (has_begun) {
        begin(alarms, alarm, now_ns);
    } else if (n_inputs == 0 && alarm->is_abnormal) {
        alarm->cleared_ns = now_ns;
        alarm->is_abnormal = false;
        step(alarms, alarm, LW_INPUT_CLEAR);
    }
    return has_begun;
}

void lw_alarms_press(struct lw_alarms *alarms, enum lw_alarm_input button)
{
    for (int i = 0; i < LW_N_WINDOWS; i++)
        step(alarms, &alarms->windows[i], button);
}

enum lw_lamp lw_alarms_lamp(const struct lw_alarms *alarms, enum lw_window window)
{
    if (alarms->is_testing)
        return LW_LAMP_FLASH;
    return lw_sequences[alarms->sequence].lamps[alarms->windows[window].state];
}

bool lw_alarms_has_horn(const struct lw_alarms *alarms)
{
    for (int i = 0; i < LW_N_WINDOWS; i++)
        if (lw_sequences[alarms->sequence].has_horn[alarms->windows[i].state])
            return true;
    return alarms->is_testing;
}
