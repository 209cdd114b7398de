/* SPDX-License-Identifier: MIT
 *
 * The option table itself, for options.c and the manual.
 */
#ifndef LOOMWATCH_APP_OPTION_TABLE_H
#define LOOMWATCH_APP_OPTION_TABLE_H

#include <stdint.h>

enum lw_option_id {
    LW_OPTION_ONCE, LW_OPTION_FOR, LW_OPTION_JSON, LW_OPTION_BASELINE, LW_OPTION_MODULE, LW_OPTION_RECORD,
    LW_OPTION_OUTPUT, LW_OPTION_REPLACE, LW_OPTION_BITRATE, LW_OPTION_DATA_BITRATE, LW_OPTION_PACE, LW_OPTION_SWAPPED,
    LW_OPTION_SEQUENCE, LW_OPTION_LOAD_LIMIT, LW_OPTION_THEME, LW_OPTION_ASCII, LW_OPTION_MUTE, LW_OPTION_SEED,
    LW_OPTION_FAULT, LW_OPTION_AT, LW_OPTION_ONTO, LW_OPTION_READING,
    LW_OPTION_HELP, LW_OPTION_VERSION, LW_OPTION_MAN,
    LW_N_OPTIONS,
};

struct lw_option {
    enum lw_option_id id;
    const char *name;        /* without the dashes */
    const char *argument;    /* NULL = takes none */
    uint8_t commands;        /* where it works: bit n for enum lw_command n */
    const char *example;     /* what a good value looks like, for error messages */
    const char *words;       /* NULL: not listed */
};

extern const struct lw_option lw_option_table[LW_N_OPTIONS];

#endif
