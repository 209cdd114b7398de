/* SPDX-License-Identifier: MIT
 *
 * The command line: one table of options gives parsing, --help and the man page.
 */
#ifndef LOOMWATCH_APP_OPTIONS_H
#define LOOMWATCH_APP_OPTIONS_H

#include "loomwatch/calc/calculator.h"
#include "loomwatch/core/alarm.h"
#include "loomwatch/core/frame.h"
#include "loomwatch/core/reading.h"
#include "loomwatch/sources/source.h"
#include "loomwatch/ui/theme.h"

enum lw_command { LW_COMMAND_NONE, LW_COMMAND_WATCH, LW_COMMAND_BASELINE, LW_COMMAND_COMPARE, LW_COMMAND_BENCH, LW_COMMAND_CALC,
    LW_COMMAND_HELP, LW_COMMAND_VERSION, LW_COMMAND_MAN };

/* Exit status of every command. */
enum { LW_EXIT_FINE = 0, LW_EXIT_DIFFERS = 1, LW_EXIT_TROUBLE = 2 };

enum { LW_MAX_FAULTS = 16, LW_MAX_WORDS = 64 };

struct lw_options {
    enum lw_command command;
    const struct lw_calculator *calculator;  /* of LW_COMMAND_CALC; with LW_COMMAND_HELP the one that is asked about, or NULL */
    unsigned n_arguments;                    /* sources (at most LW_MAX_BUSES), what compare takes, words of a calculator */
    const char *arguments[LW_MAX_WORDS];     /* borrowed from argv */
    bool is_once, is_json, is_swapped, is_ascii, is_muted, may_replace;
    uint64_t for_ns;                         /* 0 = not given */
    const char *record, *baseline, *module, *output, *onto;
    unsigned n_faults;                       /* to put on the bench */
    const char *faults[LW_MAX_FAULTS];       /* in the words of the bench */
    uint64_t fault_at_ns[LW_MAX_FAULTS], at_ns;   /* at_ns: for the faults that follow on the command line */
    uint32_t bit_rate_bps, data_bit_rate_bps;
    unsigned n_readings;                     /* of the meter, for the first source */
    struct lw_meter_reading readings[LW_MAX_READINGS];
    bool has_pace;
    struct lw_pace pace;
    enum lw_sequence sequence;
    uint32_t load_limit_permille;
    bool has_theme;
    enum lw_theme_index theme;
    uint64_t seed;
};

/* Reads argv. Returns 0, or -EINVAL after printing what is wrong, and what to write instead, to stderr. */
int lw_options_parse(struct lw_options *options, int argc, char **argv);

/* calculator: the one whose own help is wanted; NULL = the program's. */
void lw_options_print_help(const struct lw_calculator *calculator);
void lw_options_print_man(void);

#endif
