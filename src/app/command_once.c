/* SPDX-License-Identifier: MIT
 *
 * watch --once: no screen, a summary at the end, an exit status for scripts.
 */
#include "commands.h"

#include "open_source.h"
#include "report.h"
#include "stop_signals.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { DEFAULT_FOR_S = 10, FLUSH_MS = 200, MAX_WAIT_MS = 50 };

static const uint64_t second = UINT64_C(1000000000);

static bool has_endless(const struct lw_options *options, unsigned first)
{
    if (options->n_arguments == first)
        return true;
    for (unsigned i = first; i < options->n_arguments; i++)
        if (lw_is_endless(options->arguments[i]))
            return true;
    return false;
}

struct lw_options lw_with_default_time(const struct lw_options *options, unsigned first, unsigned default_s)
{
    struct lw_options with = *options;
    if (with.for_ns == 0 && has_endless(options, first))
        with.for_ns = default_s * second;
    return with;
}

struct lw_pace lw_pace_without_screen(const struct lw_options *options)
{
    return options->has_pace ? options->pace : (struct lw_pace){ LW_PACE_FULL, 1 };
}

static int wait_ms(struct lw_run *run, uint64_t mono_ns)
{
    uint64_t due = lw_run_due_ns(run, mono_ns);
    if (due <= mono_ns)
        return 0;
    uint64_t ms = (due - mono_ns) / 1000000 + 1;
    return ms < MAX_WAIT_MS ? (int)ms : MAX_WAIT_MS;
}

void lw_run_to_end(struct lw_run *run)
{
    uint64_t flush_ns = 0;
    while (!lw_run_is_over(run) && !lw_stop_is_asked()) {
        uint64_t now = lw_monotonic_ns();
        bool has_more = lw_run_pump(run, now);
        if (now >= flush_ns) {
            lw_run_flush(run);
            flush_ns = now + FLUSH_MS * UINT64_C(1000000);
        }
        struct pollfd fds[LW_RUN_MAX_FDS];
        size_t n = lw_run_poll_fds(run, fds);
        if (!has_more && !lw_run_is_over(run))
            poll(fds, n, wait_ms(run, now));
    }
    lw_run_flush(run);
}

bool lw_print_source_notes(const struct lw_run *run)
{
    bool has_failed = false;
    for (unsigned i = 0; i < run->n_buses; i++) {
        const struct lw_run_bus *bus = &run->buses[i];
        struct lw_source_info info;
        bus->source.ops->describe(bus->source.self, &info);
        if (info.note[0] != '\0')
            fprintf(stderr, "loomwatch: %s: %s\n", info.name, info.note);
        if (bus->failure != 0) {
            fprintf(stderr, "loomwatch: %s: %s\n", info.name, strerror(-bus->failure));
            has_failed = true;
        }
    }
    return has_failed;
}

/* Differences from the baseline, and faults of the bus itself, whether or not they are over by now. */
static int status_of(const struct lw_snapshot *snapshot)
{
    static const enum lw_window faults[] = {
        LW_WINDOW_BUS_OFF, LW_WINDOW_NO_ACKNOWLEDGE, LW_WINDOW_ERROR_PASSIVE, LW_WINDOW_ERROR_WARNING,
        LW_WINDOW_BUS_ERRORS, LW_WINDOW_LINK_DOWN, LW_WINDOW_FRAMES_LOST, LW_WINDOW_TABLE_FULL, LW_WINDOW_RECORD_FAILED,
    };
    const struct lw_counts *counts = &snapshot->counts;
    if (counts->n_ids == 0)
        return LW_EXIT_TROUBLE;   /* nothing heard: nothing can be said of the bus */
    for (size_t i = 0; i < sizeof(faults) / sizeof(faults[0]); i++)
        if (snapshot->alarms.windows[faults[i]].began_ns != 0)
            return LW_EXIT_DIFFERS;
    bool differs = snapshot->has_baseline && counts->n_unexpected + counts->n_absent + counts->n_changed > 0;
    return differs ? LW_EXIT_DIFFERS : LW_EXIT_FINE;
}

int lw_command_once(const struct lw_options *given)
{
    struct lw_options options = lw_with_default_time(given, 0, DEFAULT_FOR_S);
    struct lw_run run;
    char message[LW_RUN_TEXT];
    struct lw_snapshot *snapshot = malloc(sizeof(*snapshot));
    lw_stop_catch();
    if (given->module) {
        fprintf(stderr, "loomwatch: --module is for the dashboard; without a screen write: loomwatch fit BASELINE %s\n",
                given->module);
        free(snapshot);
        return LW_EXIT_TROUBLE;
    }
    if (!snapshot || lw_run_open(&run, &options, 0, lw_pace_without_screen(&options), message) != 0) {
        fprintf(stderr, "loomwatch: %s\n", snapshot ? message : "out of memory");
        free(snapshot);
        return LW_EXIT_TROUBLE;
    }
    lw_run_to_end(&run);
    lw_monitor_snapshot(run.monitor, NULL, snapshot);
    if (options.is_json)
        lw_report_json(snapshot, stdout);
    else
        lw_report_text(snapshot, stdout);
    int status = status_of(snapshot);
    if (run.n_unwatched > 0)
        fprintf(stderr, "loomwatch: %zu messages of the baseline are of buses that are not watched\n", run.n_unwatched);
    if (lw_print_source_notes(&run))
        status = LW_EXIT_TROUBLE;
    free(snapshot);
    lw_run_close(&run);
    return status;
}
