/* SPDX-License-Identifier: MIT
 *
 * baseline: learns a bus and writes it down.
 */
#include "commands.h"

#include "baseline_file.h"
#include "stop_signals.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { DEFAULT_FOR_S = 30 };

/* A file that people edited must not be lost by a slip. Its names are carried over. */
static int check_output(const struct lw_options *options, struct lw_run *run, struct lw_baseline *baseline)
{
    char message[LW_BASELINE_MESSAGE];
    if (!options->output || access(options->output, F_OK) != 0)
        return 0;
    if (!options->may_replace) {
        fprintf(stderr, "loomwatch: %s exists; write --replace to renew it (names and senders are kept, comments are not)\n",
                options->output);
        return -EEXIST;
    }
    int rc = lw_baseline_read(options->output, baseline, message, sizeof(message));
    if (rc != 0)
        fprintf(stderr, "loomwatch: %s\nloomwatch: so its names cannot be kept; mend it or move it away\n", message);
    else
        lw_monitor_set_baseline(run->monitor, baseline);
    return rc;
}

static size_t count_pausing(const struct lw_baseline *baseline)
{
    size_t n = 0;
    for (size_t i = 0; i < baseline->n_ids; i++)
        n += baseline->ids[i].may_pause;
    return n;
}

static int write_baseline(const struct lw_options *options, const struct lw_baseline *baseline)
{
    int rc = options->output ? lw_baseline_write(baseline, options->output) : lw_baseline_print(baseline, stdout);
    if (rc != 0)
        fprintf(stderr, "loomwatch: %s: %s\n", options->output ? options->output : "stdout", strerror(-rc));
    else if (options->output)
        printf("%zu messages of %u bus%s learned, written to %s\n", baseline->n_ids, baseline->n_buses,
               baseline->n_buses == 1 ? "" : "es", options->output);
    if (rc == 0 && count_pausing(baseline) > 0)
        fprintf(stderr, "loomwatch: %zu of them fell silent meanwhile and are marked may-pause: their absence will be no alarm; "
                "learn while nothing is switched, or edit the file\n", count_pausing(baseline));
    return rc == 0 ? LW_EXIT_FINE : LW_EXIT_TROUBLE;
}

static int learn(const struct lw_options *options, struct lw_run *run, struct lw_baseline *baseline)
{
    if (check_output(options, run, baseline) != 0)
        return LW_EXIT_TROUBLE;
    lw_run_to_end(run);
    bool has_failed = lw_print_source_notes(run);
    lw_monitor_learn(run->monitor, baseline);
    if (baseline->n_ids == 0) {
        fprintf(stderr, "loomwatch: nothing was heard, so nothing was written\n");
        return LW_EXIT_TROUBLE;
    }
    int status = write_baseline(options, baseline);
    return has_failed ? LW_EXIT_TROUBLE : status;
}

int lw_command_baseline(const struct lw_options *given)
{
    struct lw_options options = lw_with_default_time(given, 0, DEFAULT_FOR_S);
    struct lw_run run;
    char message[LW_RUN_TEXT];
    options.baseline = NULL;
    lw_stop_catch();
    if (lw_run_open(&run, &options, 0, lw_pace_without_screen(&options), message) != 0) {
        fprintf(stderr, "loomwatch: %s\n", message);
        return LW_EXIT_TROUBLE;
    }
    struct lw_baseline *baseline = malloc(sizeof(*baseline));
    int status = baseline ? learn(&options, &run, baseline) : LW_EXIT_TROUBLE;
    free(baseline);
    lw_run_close(&run);
    return status;
}
