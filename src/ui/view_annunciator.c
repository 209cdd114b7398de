/* SPDX-License-Identifier: MIT
 *
 * The alarm windows. Each shows its state by signs in front as well as by light. First column: 1 for the alarm that came
 * first. Second: ! not yet acknowledged, ? the same but over by now, * acknowledged, - the same but over by now.
 */
#include "loomwatch/core/text.h"
#include "loomwatch/ui/views.h"

#include <stdio.h>

enum { MIN_COLUMNS = 10, MAX_PER_ROW = 8 };

static int per_row(int w)
{
    int n = w / MIN_COLUMNS;
    return n < 1 ? 1 : n > MAX_PER_ROW ? MAX_PER_ROW : n;
}

int lw_view_annunciator_rows(int w, bool is_tall)
{
    int n = per_row(w);
    return (LW_N_WINDOWS + n - 1) / n * (is_tall ? 2 : 1);
}

static bool is_first(const struct lw_alarm *alarm)
{
    return alarm->state >= LW_WINDOW_FIRST_NEW;
}

static char sign(const struct lw_alarm *alarm, bool is_testing)
{
    if (is_testing)
        return '!';
    switch (alarm->state) {
    case LW_WINDOW_NORMAL: return ' ';
    case LW_WINDOW_ACKNOWLEDGED:
    case LW_WINDOW_FIRST_ACKNOWLEDGED: return alarm->is_abnormal ? '*' : '-';
    default: return alarm->is_abnormal ? '!' : '?';
    }
}

static enum lw_role lamp_role(enum lw_lamp lamp, const struct lw_view_state *state)
{
    switch (lamp) {
    case LW_LAMP_ON: return LW_ROLE_LAMP_ON;
    case LW_LAMP_FLASH: return state->is_fast_phase ? LW_ROLE_LAMP_BRIGHT : LW_ROLE_ALARM;
    case LW_LAMP_FIRST_FLASH: return state->is_fast_phase ? LW_ROLE_LAMP_FIRST : LW_ROLE_ALARM;
    case LW_LAMP_SLOW_FLASH: return state->is_slow_phase ? LW_ROLE_LAMP_FIRST : LW_ROLE_ALARM;
    default: return LW_ROLE_LAMP_OFF;
    }
}

/* Second row of a tall window: when it lit, what lit it, how often. */
static void put_cause(const struct lw_snapshot *snapshot, int window, struct lw_rect cell, enum lw_role role,
                      struct lw_grid *grid)
{
    const struct lw_alarm *alarm = &snapshot->alarms.windows[window];
    const struct lw_happening *cause = &snapshot->window_cause[window];
    char clock[LW_NUMBER_TEXT], id[LW_ID_TEXT] = "", times[16] = "";
    if (alarm->state == LW_WINDOW_NORMAL || cause->count == 0)
        return;
    if (window >= LW_WINDOW_UNEXPECTED && window <= LW_WINDOW_SECOND_SENDER)
        lw_id_text(cause->key, id);
    if (alarm->n_times > 1)
        snprintf(times, sizeof(times), "×%u", (unsigned)alarm->n_times);
    lw_grid_print(grid, cell, 2, 1, role, "%s%s%s %s", lw_text_clock(cause->elapsed_ns, clock), id[0] ? " " : "", id,
                  times);
}

static void put_window(const struct lw_snapshot *snapshot, const struct lw_view_state *state, int window,
                       struct lw_rect cell, struct lw_grid *grid)
{
    const struct lw_alarm *alarm = &snapshot->alarms.windows[window];
    enum lw_role role = lamp_role(lw_alarms_lamp(&snapshot->alarms, (enum lw_window)window), state);
    lw_grid_fill(grid, cell, ' ', role);
    lw_grid_print(grid, cell, 0, 0, role, "%c%c%s", is_first(alarm) ? '1' : ' ',
                  sign(alarm, snapshot->alarms.is_testing), lw_windows[window].caption);
    if (cell.h > 1)
        put_cause(snapshot, window, cell, role, grid);
}

/* Where there is no room for all sixteen: those that are not off, in their order. */
static void put_lit_ones(const struct lw_snapshot *snapshot, const struct lw_view_state *state, struct lw_rect rect,
                         struct lw_grid *grid)
{
    int n = per_row(rect.w), pitch = rect.w / n, k = 0;
    for (int i = 0; i < LW_N_WINDOWS && k / n < rect.h; i++) {
        if (lw_alarms_lamp(&snapshot->alarms, (enum lw_window)i) == LW_LAMP_OFF)
            continue;
        struct lw_rect cell = { rect.x + k % n * pitch, rect.y + k / n, pitch - 1, 1 };
        put_window(snapshot, state, i, cell, grid);
        k++;
    }
    if (k == 0)
        lw_grid_put(grid, rect, 1, 0, LW_ROLE_DIM, "no alarm window is lit");
}

void lw_view_annunciator(const struct lw_snapshot *snapshot, const struct lw_view_state *state, struct lw_rect rect,
                         bool is_tall, struct lw_grid *grid)
{
    int n = per_row(rect.w), pitch = rect.w / n, height = is_tall ? 2 : 1;
    if (rect.h < lw_view_annunciator_rows(rect.w, is_tall)) {
        put_lit_ones(snapshot, state, rect, grid);
        return;
    }
    for (int i = 0; i < LW_N_WINDOWS; i++) {
        struct lw_rect cell = { rect.x + i % n * pitch, rect.y + i / n * height, pitch - 1, height };
        put_window(snapshot, state, i, cell, grid);
    }
}

bool lw_view_flashes(const struct lw_snapshot *snapshot)
{
    for (int i = 0; i < LW_N_WINDOWS; i++)
        if (lw_alarms_lamp(&snapshot->alarms, (enum lw_window)i) >= LW_LAMP_FLASH)
            return true;
    return false;
}
