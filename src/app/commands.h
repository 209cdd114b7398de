/* SPDX-License-Identifier: MIT
 *
 * The commands, one file each. Each returns the program's exit status (LW_EXIT_*), having printed what there is to say.
 */
#ifndef LOOMWATCH_APP_COMMANDS_H
#define LOOMWATCH_APP_COMMANDS_H

#include "watch_run.h"

/* watch: the dashboard where stdout is a terminal, else as lw_command_once. */
int lw_command_watch(const struct lw_options *options);
int lw_command_once(const struct lw_options *options);
int lw_command_baseline(const struct lw_options *options);
/* bench --onto: the only command that sends, and to virtual interfaces alone. */
int lw_command_bench(const struct lw_options *options);
int lw_command_compare(const struct lw_options *options);
/* A calculator: the worksheet on stdout. 0 it fits, 1 it is marginal or does not, 2 it cannot be told, or bad input. */
int lw_command_calc(const struct lw_options *options);

/* Runs a watch to its end without a screen. */
void lw_run_to_end(struct lw_run *run);

/* The options' pace, or full for what can be read at will. */
struct lw_pace lw_pace_without_screen(const struct lw_options *options);

/* The options with a time to watch for, where none is given and one of the sources would never end by itself. first: the
 * first argument that is a source. */
struct lw_options lw_with_default_time(const struct lw_options *options, unsigned first, unsigned default_s);

/* Says what a source wants the user to know, and what made it end. Returns true if one of them failed. */
bool lw_print_source_notes(const struct lw_run *run);

#endif
