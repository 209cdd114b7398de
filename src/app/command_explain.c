/* SPDX-License-Identifier: MIT
 *
 * explain: the diagnosis over a capture, told as a dated story.
 */
#include "commands.h"

#include "report.h"

#include <stdlib.h>
#include <string.h>

enum { DEFAULT_FOR_S = 10 };

static int print_story(const struct lw_options *options, const struct lw_story *story, const struct lw_snapshot *snapshot)
{
    struct lw_story_line *lines;
    size_t n_lines;
    int rc = lw_story_tell(story, snapshot, &lines, &n_lines);
    if (rc != 0) {
        fprintf(stderr, "loomwatch: %s\n", strerror(-rc));
        return LW_EXIT_TROUBLE;
    }
    if (options->is_json)
        lw_report_story_json(lines, n_lines, snapshot, stdout);
    else
        lw_report_story(lines, n_lines, snapshot, stdout);
    free(lines);
    int status = lw_status_of(snapshot);
    return status == LW_EXIT_FINE && story->has_trouble ? LW_EXIT_DIFFERS : status;
}

static int explain(const struct lw_options *options, struct lw_run *run, struct lw_snapshot *snapshot)
{
    struct lw_story story;
    lw_story_init(&story, run->monitor);
    run->listen = lw_story_listen;
    run->listen_context = &story;
    lw_run_to_end(run);
    lw_story_close(&story);
    lw_monitor_snapshot(run->monitor, NULL, snapshot);
    int status = print_story(options, &story, snapshot);
    lw_story_finish(&story);
    if (run->n_unwatched > 0)
        fprintf(stderr, "loomwatch: %zu messages of the baseline are of buses that are not watched\n", run->n_unwatched);
    return lw_print_source_notes(run) ? LW_EXIT_TROUBLE : status;
}

int lw_command_explain(const struct lw_options *given)
{
    struct lw_options options = lw_with_default_time(given, 0, DEFAULT_FOR_S);
    struct lw_run run;
    struct lw_snapshot *snapshot = lw_open_without_screen(&run, &options);
    if (!snapshot)
        return LW_EXIT_TROUBLE;
    int status = explain(&options, &run, snapshot);
    free(snapshot);
    lw_run_close(&run);
    return status;
}
