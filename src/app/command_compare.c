/* SPDX-License-Identifier: MIT
 *
 * compare: a baseline against a source or against another baseline.
 */
#include "commands.h"

#include "baseline_file.h"
#include "report.h"
#include "stop_signals.h"

#include <stdlib.h>

enum { DEFAULT_FOR_S = 10 };

struct workspace {
    struct lw_baseline expected, observed;
    struct lw_comparison comparison;
};

/* What the source carries now, learned the way a baseline is. */
static int observe(const struct lw_options *given, struct lw_baseline *observed)
{
    struct lw_options options = lw_with_default_time(given, 1, DEFAULT_FOR_S);
    struct lw_run run;
    char message[LW_RUN_TEXT];
    options.baseline = NULL;
    lw_stop_catch();
    if (lw_run_open(&run, &options, 1, lw_pace_without_screen(&options), message) != 0) {
        fprintf(stderr, "loomwatch: %s\n", message);
        return -1;
    }
    lw_run_to_end(&run);
    bool has_failed = lw_print_source_notes(&run);
    lw_monitor_learn(run.monitor, observed);
    lw_run_close(&run);
    return has_failed ? -1 : 0;
}

static int read_baseline(const char *path, struct lw_baseline *out)
{
    char message[LW_BASELINE_MESSAGE];
    int rc = lw_baseline_read(path, out, message, sizeof(message));
    if (rc != 0)
        fprintf(stderr, "loomwatch: %s\n", message);
    return rc;
}

static int compare(const struct lw_options *options, struct workspace *work)
{
    static const int statuses[] = {
        [LW_COMPARE_SAME] = LW_EXIT_FINE, [LW_COMPARE_DIFFERS] = LW_EXIT_DIFFERS, [LW_COMPARE_CANNOT_TELL] = LW_EXIT_TROUBLE,
    };
    const char *other = options->arguments[1];
    if (read_baseline(options->arguments[0], &work->expected) != 0)
        return LW_EXIT_TROUBLE;
    int rc = lw_baseline_is_baseline(other) ? read_baseline(other, &work->observed) : observe(options, &work->observed);
    if (rc != 0)
        return LW_EXIT_TROUBLE;
    const char *names[LW_MAX_BUSES];
    for (unsigned i = 0; i < work->observed.n_buses; i++)
        names[i] = work->observed.buses[i].name;
    size_t n_unwatched = lw_baseline_match(&work->expected, names, work->observed.n_buses);
    if (n_unwatched > 0)
        fprintf(stderr, "loomwatch: %zu messages of the baseline are of buses that are not in the comparison\n", n_unwatched);
    enum lw_compare_result result = lw_compare(&work->expected, &work->observed, &work->comparison);
    lw_report_comparison(&work->expected, &work->observed, &work->comparison, stdout);
    return statuses[result];
}

int lw_command_compare(const struct lw_options *options)
{
    struct workspace *work = malloc(sizeof(*work));
    if (!work)
        return LW_EXIT_TROUBLE;
    int status = compare(options, work);
    free(work);
    return status;
}
