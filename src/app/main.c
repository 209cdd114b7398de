/* SPDX-License-Identifier: MIT
 *
 * Reads the command line and runs a command.
 */
#include "commands.h"

#include <locale.h>
#include <signal.h>
#include <stdio.h>

int main(int argc, char **argv)
{
    struct lw_options options;
    setlocale(LC_ALL, "");
    setlocale(LC_NUMERIC, "C");   /* numbers in files and reports are the same everywhere */
    signal(SIGXFSZ, SIG_IGN);     /* a file at its size limit is a failed recording, not the end of watching */
    if (lw_options_parse(&options, argc, argv) != 0)
        return LW_EXIT_TROUBLE;
    switch (options.command) {
    case LW_COMMAND_WATCH: return lw_command_watch(&options);
    case LW_COMMAND_BASELINE: return lw_command_baseline(&options);
    case LW_COMMAND_COMPARE: return lw_command_compare(&options);
    case LW_COMMAND_BENCH: return lw_command_bench(&options);
    case LW_COMMAND_CALC: return lw_command_calc(&options);
    case LW_COMMAND_VERSION: puts("loomwatch " LW_VERSION); return LW_EXIT_FINE;
    case LW_COMMAND_MAN: lw_options_print_man(); return LW_EXIT_FINE;
    default: lw_options_print_help(options.calculator); return LW_EXIT_FINE;
    }
}
