/* SPDX-License-Identifier: MIT
 *
 * watch on a terminal: one poll loop over sources, keys and signals; draws at most fifteen times a second, and only
 * when there is news.
 */
#include "commands.h"
#include "dashboard_bench.h"
#include "dashboard_calc.h"
#include "stop_signals.h"

#include "loomwatch/ui/terminal.h"
#include "loomwatch/ui/views.h"

#include <errno.h>
#include <langinfo.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/signalfd.h>
#include <unistd.h>

enum { DRAW_MS = 66, IDLE_MS = 250, FAST_PHASE_MS = 250, SLOW_PHASE_MS = 1000, FLUSH_MS = 200, BELL_MS = 2000,
    MESSAGE_MS = 6000 };

static const uint64_t ms = UINT64_C(1000000);

static void take_snapshot(struct lw_dashboard *dashboard)
{
    struct lw_view_state *state = &dashboard->state;
    const struct lw_id_key *detail = state->has_choice ? &state->choice : NULL;
    static struct lw_snapshot fresh;   /* while paused: how far behind the screen is */
    dashboard->n_events_drawn = dashboard->run.n_events;
    if (!state->is_paused) {
        lw_monitor_snapshot(dashboard->run.monitor, detail, dashboard->snapshot);
        return;
    }
    lw_monitor_snapshot(dashboard->run.monitor, detail, &fresh);
    if (detail && !(dashboard->snapshot->has_detail && lw_id_key_equal(dashboard->snapshot->detail.key, *detail))) {
        dashboard->snapshot->detail = fresh.detail;   /* chosen since: only the present is there to be shown */
        dashboard->snapshot->has_detail = fresh.has_detail;
        dashboard->snapshot->detail_expected = fresh.detail_expected;
        dashboard->snapshot->has_detail_expected = fresh.has_detail_expected;
    }
    state->n_behind = lw_dashboard_frames(&fresh) - dashboard->n_frames_paused;
    state->behind_ns = fresh.elapsed_ns - state->paused_elapsed_ns;
    dashboard->snapshot->alarms = fresh.alarms;   /* an alarm must not wait for the pause to end */
}

static void describe_recording(struct lw_dashboard *dashboard)
{
    const struct lw_run_bus *bus = &dashboard->run.buses[0];
    if (!bus->recorder)
        return;
    snprintf(dashboard->state.record, sizeof(dashboard->state.record), "%s%.100s",
             dashboard->run.has_record_failed ? "FAILED " : "", bus->record_path);
}

static void ring(struct lw_dashboard *dashboard, uint64_t now)
{
    bool has_horn = lw_alarms_has_horn(&dashboard->snapshot->alarms);
    bool is_due = has_horn && (!dashboard->had_horn || now - dashboard->bell_ns >= BELL_MS * ms);
    dashboard->had_horn = has_horn;
    if (!is_due || dashboard->state.is_muted)
        return;
    lw_terminal_bell();
    dashboard->bell_ns = now;
}

static void draw(struct lw_dashboard *dashboard, uint64_t now)
{
    int w, h;
    struct lw_view_state *state = &dashboard->state;
    lw_terminal_size(&w, &h);
    if (dashboard->grid.w != w || dashboard->grid.h != h)
        if (lw_grid_resize(&dashboard->grid, w, h) != 0)
            return;
    if (state->message[0] != '\0' && now - dashboard->message_ns > MESSAGE_MS * ms)
        state->message[0] = '\0';
    dashboard->grid.is_ascii = state->is_ascii;
    state->is_fast_phase = now / ms / FAST_PHASE_MS % 2 == 0;
    state->is_slow_phase = now / ms / SLOW_PHASE_MS % 2 == 0;
    take_snapshot(dashboard);
    lw_dashboard_bench_look(dashboard);
    describe_recording(dashboard);
    lw_view_screen(dashboard->snapshot, state, &dashboard->grid);
    ring(dashboard, now);
    lw_terminal_paint(&dashboard->grid);
    dashboard->drawn_ns = now;
    dashboard->must_draw = false;
}

/* How long the loop may sleep. A busy bus wakes it by itself; a flashing lamp and an idle one need a clock. */
static int wait_ms(struct lw_dashboard *dashboard, uint64_t now)
{
    uint64_t most = IDLE_MS * ms, due = lw_run_due_ns(&dashboard->run, now);
    bool has_news = dashboard->must_draw || dashboard->run.n_events != dashboard->n_events_drawn;
    if (has_news)
        most = dashboard->drawn_ns + DRAW_MS * ms > now ? dashboard->drawn_ns + DRAW_MS * ms - now : 0;
    uint64_t until_due = due > now ? due - now : 0;
    uint64_t wait = until_due < most ? until_due : most;
    return (int)((wait + ms - 1) / ms);
}

static void take_signals(struct lw_dashboard *dashboard)
{
    struct signalfd_siginfo info;
    while (read(dashboard->signal_fd, &info, sizeof(info)) == (ssize_t)sizeof(info)) {
        dashboard->must_draw = true;
        if (info.ssi_signo == SIGTSTP) {
            lw_terminal_suspend();
            raise(SIGSTOP);
            lw_terminal_resume();
        } else if (info.ssi_signo == SIGCONT) {
            lw_terminal_resume();   /* stopped in another way: who knows what is on the screen */
        } else if (info.ssi_signo != SIGWINCH) {
            dashboard->is_asked_to_quit = true;
        }
    }
}

static void take_keys(struct lw_dashboard *dashboard, uint64_t now)
{
    int key;
    while ((key = lw_terminal_key()) != LW_KEY_NONE)
        lw_dashboard_key(dashboard, key, now);
}

/* Each source that ends or fails is named, once. */
static void say_if_over(struct lw_dashboard *dashboard, uint64_t now)
{
    for (unsigned i = 0; i < dashboard->run.n_buses; i++) {
        const struct lw_run_bus *bus = &dashboard->run.buses[i];
        struct lw_source_info info;
        if (!bus->is_over || dashboard->has_told_end[i])
            continue;
        dashboard->has_told_end[i] = dashboard->must_draw = true;
        bus->source.ops->describe(bus->source.self, &info);
        lw_dashboard_say(dashboard, now, "%s: %s. %s", bus->info.name, bus->failure ? strerror(-bus->failure) : "the end",
                         info.note);
    }
}

static void loop(struct lw_dashboard *dashboard)
{
    while (!dashboard->is_asked_to_quit) {
        struct pollfd fds[LW_RUN_MAX_FDS + 2];
        size_t n = lw_run_poll_fds(&dashboard->run, fds);
        fds[n++] = (struct pollfd){ .fd = dashboard->signal_fd, .events = POLLIN };
        fds[n++] = (struct pollfd){ .fd = STDIN_FILENO, .events = POLLIN };
        poll(fds, n, wait_ms(dashboard, lw_monotonic_ns()));
        if (fds[n - 1].revents & (POLLHUP | POLLERR | POLLNVAL))
            return;
        uint64_t now = lw_monotonic_ns();
        take_signals(dashboard);
        take_keys(dashboard, now);
        lw_run_pump(&dashboard->run, now);
        say_if_over(dashboard, now);
        if (now - dashboard->flushed_ns >= FLUSH_MS * ms) {
            lw_run_flush(&dashboard->run);
            dashboard->flushed_ns = now;
        }
        bool has_news = dashboard->must_draw || dashboard->run.n_events != dashboard->n_events_drawn;
        if (now - dashboard->drawn_ns >= (has_news ? DRAW_MS : IDLE_MS) * ms)
            draw(dashboard, now);
    }
}

/* Signals come through a descriptor. Blocked before the sources start their threads, so that those inherit it. */
static int block_signals(void)
{
    sigset_t set;
    sigemptyset(&set);
    static const int signals[] = { SIGINT, SIGQUIT, SIGTERM, SIGHUP, SIGWINCH, SIGTSTP, SIGCONT };
    for (size_t i = 0; i < sizeof(signals) / sizeof(signals[0]); i++)
        sigaddset(&set, signals[i]);
    sigprocmask(SIG_BLOCK, &set, NULL);
    return signalfd(-1, &set, SFD_NONBLOCK | SFD_CLOEXEC);
}

static enum lw_theme_index theme_of(const struct lw_options *options)
{
    const char *no_color = getenv("NO_COLOR");
    if (!options->has_theme && no_color && no_color[0] != '\0')
        return LW_THEME_MONOCHROME;
    return options->theme;
}

/* Returns the exit status. */
static int run_screen(struct lw_dashboard *dashboard, const struct lw_options *options)
{
    struct lw_view_state *state = &dashboard->state;
    char error[LW_CALC_ERROR];
    lw_view_state_init(state);
    state->theme = theme_of(options);
    /* Where the locale is not UTF-8, curses would show blanks. */
    state->is_ascii = options->is_ascii || strcmp(nl_langinfo(CODESET), "UTF-8") != 0;
    state->is_muted = options->is_muted;
    if (lw_dashboard_calc_open(dashboard, options->module, error) != 0) {
        fprintf(stderr, "loomwatch: %s\n", error);
        return LW_EXIT_TROUBLE;
    }
    if (lw_dashboard_bench_open(dashboard) != 0)
        return LW_EXIT_TROUBLE;
    lw_crash_restore_terminal();
    int rc = lw_terminal_open(state->theme);
    if (rc != 0) {
        fprintf(stderr, "loomwatch: this terminal will not do (%s); try --once\n", strerror(-rc));
        return LW_EXIT_TROUBLE;
    }
    if (dashboard->run.n_unwatched > 0)
        lw_dashboard_say(dashboard, lw_monotonic_ns(), "%zu messages of the baseline are of buses that are not watched.",
                         dashboard->run.n_unwatched);
    dashboard->must_draw = true;
    loop(dashboard);
    lw_terminal_close();
    lw_run_flush(&dashboard->run);
    lw_print_source_notes(&dashboard->run);
    if (dashboard->run.has_record_failed)
        fprintf(stderr, "loomwatch: the recording is incomplete: it could not be written to the end\n");
    return LW_EXIT_FINE;
}

int lw_command_watch(const struct lw_options *options)
{
    if (options->is_once || options->is_json || !isatty(STDOUT_FILENO) || !isatty(STDIN_FILENO))
        return lw_command_once(options);
    struct lw_pace pace = options->has_pace ? options->pace : (struct lw_pace){ LW_PACE_REAL, 1 };
    struct lw_dashboard *dashboard = calloc(1, sizeof(*dashboard));
    char message[LW_RUN_TEXT] = "out of memory";
    int status = LW_EXIT_TROUBLE;
    if (dashboard && (dashboard->snapshot = calloc(1, sizeof(*dashboard->snapshot)))) {
        dashboard->signal_fd = block_signals();
        if (lw_run_open(&dashboard->run, options, 0, pace, message) == 0) {
            message[0] = '\0';
            status = run_screen(dashboard, options);
            lw_dashboard_bench_close(dashboard);
            lw_run_close(&dashboard->run);
            lw_grid_finish(&dashboard->grid);
        }
        close(dashboard->signal_fd);
        free(dashboard->snapshot);
    }
    if (message[0] != '\0')
        fprintf(stderr, "loomwatch: %s\n", message);
    free(dashboard);
    return status;
}
