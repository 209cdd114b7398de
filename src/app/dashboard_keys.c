/* SPDX-License-Identifier: MIT
 *
 * What the keys do.
 */
#include "dashboard_bench.h"
#include "dashboard_calc.h"

#include "loomwatch/ui/terminal.h"
#include "loomwatch/ui/views.h"

#include <stdarg.h>
#include <stdio.h>

void lw_dashboard_say(struct lw_dashboard *dashboard, uint64_t mono_ns, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    vsnprintf(dashboard->state.message, sizeof(dashboard->state.message), format, args);
    va_end(args);
    dashboard->message_ns = mono_ns;
}

uint64_t lw_dashboard_frames(const struct lw_snapshot *snapshot)
{
    uint64_t n = 0;
    for (unsigned i = 0; i < snapshot->n_buses; i++)
        n += snapshot->buses[i].n_frames;
    return n;
}

static void take_baseline(struct lw_dashboard *dashboard, uint64_t mono_ns)
{
    static struct lw_snapshot now;   /* not the one on the screen: that may be paused */
    lw_monitor_snapshot(dashboard->run.monitor, NULL, &now);
    if (now.counts.n_ids == 0) {
        lw_dashboard_say(dashboard, mono_ns, "Nothing was heard yet: there is nothing to take as a baseline.");
        return;
    }
    lw_monitor_take_baseline(dashboard->run.monitor);
    lw_monitor_snapshot(dashboard->run.monitor, NULL, &now);
    if (now.counts.n_quiet > 0)
        lw_dashboard_say(dashboard, mono_ns, "Baseline of %u message%s, %u of them silent now: their absence is no alarm.",
                         now.counts.n_expected, now.counts.n_expected == 1 ? "" : "s", now.counts.n_quiet);
    else
        lw_dashboard_say(dashboard, mono_ns, "Baseline taken of %u message%s. What is new or missing from now on is shown.",
                         now.counts.n_expected, now.counts.n_expected == 1 ? "" : "s");
}

static void toggle_pause(struct lw_dashboard *dashboard)
{
    struct lw_view_state *state = &dashboard->state;
    state->is_paused = !state->is_paused;
    state->paused_elapsed_ns = dashboard->snapshot->elapsed_ns;
    dashboard->n_frames_paused = lw_dashboard_frames(dashboard->snapshot);
    state->n_behind = state->behind_ns = 0;
}

static void go_back(struct lw_view_state *state)
{
    switch (state->page) {
    case LW_PAGE_WATCH:
        state->has_choice = false;
        state->filter[0] = '\0';
        break;
    case LW_PAGE_DETAIL: state->page = LW_PAGE_WATCH; break;
    case LW_PAGE_HELP: state->page = state->page_under_help; break;
    default: state->page = state->page_before; break;
    }
}

/* A page's own key leaves it, too. Help lies over any page; bench, diary and adapter over the watch or a message. */
static void go_to(struct lw_view_state *state, enum lw_page page)
{
    if (state->page == page) {
        go_back(state);
        return;
    }
    if (page == LW_PAGE_HELP)
        state->page_under_help = state->page;
    else if (state->page == LW_PAGE_WATCH || state->page == LW_PAGE_DETAIL)
        state->page_before = state->page;
    state->page = page;
}

/* Enter on the wall: open the chosen message, or the one that most needs a look. */
static void open_choice(struct lw_dashboard *dashboard)
{
    struct lw_view_state *state = &dashboard->state;
    if (state->page == LW_PAGE_BENCH)
        return;
    if (!state->has_choice)
        lw_view_state_choose_worst(state, dashboard->snapshot);
    if (state->has_choice)
        state->page = LW_PAGE_DETAIL;
}

static void move(struct lw_dashboard *dashboard, enum lw_action action)
{
    struct lw_view_state *state = &dashboard->state;
    if (state->page == LW_PAGE_WHY) {
        state->why_from += action == LW_ACTION_DOWN ? 1 : action == LW_ACTION_UP && state->why_from > 0 ? -1 : 0;
        state->why_from = action == LW_ACTION_FIRST ? 0 : action == LW_ACTION_LAST ? LW_WHY_END : state->why_from;
        return;
    }
    if (state->page == LW_PAGE_DIARY) {
        if (action == LW_ACTION_UP && state->diary_from > 0)
            state->diary_from--;
        if (action == LW_ACTION_DOWN && state->diary_from + 1 < dashboard->snapshot->n_diary)
            state->diary_from++;
        return;
    }
    if (state->page != LW_PAGE_BENCH)
        lw_view_state_choose(state, dashboard->snapshot, action);
}

static void change_looks(struct lw_dashboard *dashboard, enum lw_action action, uint64_t mono_ns)
{
    struct lw_view_state *state = &dashboard->state;
    if (action == LW_ACTION_MUTE) {
        state->is_muted = !state->is_muted;
        lw_dashboard_say(dashboard, mono_ns, state->is_muted ? "The bell is muted." : "The bell sounds again.");
    } else if (action == LW_ACTION_GLYPHS) {
        state->is_ascii = !state->is_ascii;
    } else {
        state->theme = (state->theme + 1) % LW_N_THEMES;
        lw_terminal_set_theme(state->theme);
        lw_dashboard_say(dashboard, mono_ns, "Colours: %s.", lw_themes[state->theme].name);
    }
}

static void press(struct lw_dashboard *dashboard, enum lw_action action)
{
    static const enum lw_alarm_input buttons[LW_N_ACTIONS] = {
        [LW_ACTION_ACKNOWLEDGE] = LW_INPUT_ACKNOWLEDGE, [LW_ACTION_SILENCE] = LW_INPUT_SILENCE,
        [LW_ACTION_RESET] = LW_INPUT_RESET, [LW_ACTION_FIRST_OUT_RESET] = LW_INPUT_FIRST_OUT_RESET,
    };
    struct lw_alarms *alarms = lw_monitor_alarms(dashboard->run.monitor);
    if (action == LW_ACTION_TEST)
        alarms->is_testing = !alarms->is_testing;
    else
        lw_alarms_press(alarms, buttons[action]);
    dashboard->snapshot->alarms = *alarms;   /* answers at once, on a paused view too */
}

static void mark(struct lw_dashboard *dashboard, enum lw_mark mark, uint64_t mono_ns)
{
    lw_run_mark(&dashboard->run, mark);
    if (mark == LW_MARK_PLAIN)
        lw_dashboard_say(dashboard, mono_ns, "Moment marked. What is heard for the first time from now on counts as new.");
    else
        lw_dashboard_say(dashboard, mono_ns, "Marked: %s. What is heard for the first time from now on counts as new.",
                         lw_mark_words(mark));
}

/* The reading belongs to the bus of the chosen message, else to the first. */
static void take_reading(struct lw_dashboard *dashboard, uint64_t mono_ns)
{
    struct lw_view_state *state = &dashboard->state;
    unsigned bus = state->has_choice ? state->choice.bus : 0;
    struct lw_meter_reading reading;
    char message[LW_READING_MESSAGE], words[LW_READING_TEXT];
    if (lw_reading_parse(state->reading, &reading, message) != 0)
        lw_dashboard_say(dashboard, mono_ns, "%s", message);
    else if (reading.kind == LW_MEASURE_OHM && lw_monitor_is_live(dashboard->run.monitor, bus))
        lw_dashboard_say(dashboard, mono_ns, "Not taken: the supply is on, frames come. Ohms only with the supply off.");
    else {
        lw_run_reading(&dashboard->run, bus, &reading);
        lw_dashboard_say(dashboard, mono_ns, "Taken for %s: %s%s.", dashboard->snapshot->buses[bus].name, lw_reading_words(&reading, words),
                         reading.kind == LW_MEASURE_OHM ? ", supply off" : "");
    }
}

static void do_action(struct lw_dashboard *dashboard, enum lw_action action, uint64_t mono_ns)
{
    struct lw_view_state *state = &dashboard->state;
    switch (action) {
    case LW_ACTION_ACKNOWLEDGE: case LW_ACTION_SILENCE: case LW_ACTION_RESET: case LW_ACTION_FIRST_OUT_RESET:
    case LW_ACTION_TEST: press(dashboard, action); break;
    case LW_ACTION_BASELINE: take_baseline(dashboard, mono_ns); break;
    case LW_ACTION_MARK:
        state->is_choosing_mark = true;
        break;
    case LW_ACTION_READING:
        state->is_typing_reading = true;
        state->reading[0] = '\0';
        break;
    case LW_ACTION_WHY: go_to(state, LW_PAGE_WHY); break;
    case LW_ACTION_PAUSE: toggle_pause(dashboard); break;
    case LW_ACTION_UP: case LW_ACTION_DOWN: case LW_ACTION_LEFT: case LW_ACTION_RIGHT: case LW_ACTION_FIRST:
    case LW_ACTION_LAST: move(dashboard, action); break;
    case LW_ACTION_OPEN: open_choice(dashboard); break;
    case LW_ACTION_BACK: go_back(state); break;
    case LW_ACTION_FILTER: state->is_typing_filter = true; break;
    case LW_ACTION_BENCH: go_to(state, LW_PAGE_BENCH); break;
    case LW_ACTION_ADAPTER: go_to(state, LW_PAGE_ADAPTER); break;
    case LW_ACTION_DIARY: go_to(state, LW_PAGE_DIARY); break;
    case LW_ACTION_CALC:
        go_to(state, LW_PAGE_CALC);
        lw_dashboard_calc_work(dashboard);
        break;
    case LW_ACTION_HELP: go_to(state, LW_PAGE_HELP); break;
    case LW_ACTION_MUTE: case LW_ACTION_THEME: case LW_ACTION_GLYPHS: change_looks(dashboard, action, mono_ns); break;
    case LW_ACTION_QUIT: dashboard->is_asked_to_quit = true; break;
    default: break;
    }
}

bool lw_dashboard_key(struct lw_dashboard *dashboard, int code, uint64_t mono_ns)
{
    struct lw_view_state *state = &dashboard->state;
    dashboard->must_draw = true;
    state->message[0] = '\0';
    if (state->is_typing_filter) {
        lw_view_state_type_filter(state, code);
        return true;
    }
    if (state->is_typing_reading) {
        if (lw_view_state_type_reading(state, code))
            take_reading(dashboard, mono_ns);
        return true;
    }
    if (state->is_choosing_mark) {
        enum lw_mark done;
        if (lw_view_state_choose_mark(state, code, &done))
            mark(dashboard, done, mono_ns);
        return true;
    }
    if (lw_dashboard_bench_key(dashboard, code, mono_ns) || lw_dashboard_calc_key(dashboard, code))
        return true;
    enum lw_action action = lw_keys_action(code, lw_view_state_keys_page(state));
    do_action(dashboard, action, mono_ns);
    return action != LW_ACTION_NONE;
}
