/* SPDX-License-Identifier: MIT
 *
 * Every option, in the order of the help.
 */
#include "option_table.h"

#include "options.h"

#include <stddef.h>

#define WATCH (1 << LW_COMMAND_WATCH)
#define BASELINE (1 << LW_COMMAND_BASELINE)
#define COMPARE (1 << LW_COMMAND_COMPARE)
#define BENCH (1 << LW_COMMAND_BENCH)
#define CALC (1 << LW_COMMAND_CALC)
#define ALL (WATCH | BASELINE | COMPARE | BENCH)

const struct lw_option lw_option_table[LW_N_OPTIONS] = {
    { LW_OPTION_ONCE, "once", NULL, WATCH, NULL,
      "no screen: watch, then print a summary. The default when stdout is no terminal" },
    { LW_OPTION_FOR, "for", "TIME", ALL, "a time such as 10s, 500ms or 2min",
      "how long to watch, in time of the bus. Default: --once and compare 10s, baseline 30s, captures to their end" },
    { LW_OPTION_JSON, "json", NULL, WATCH | CALC, NULL, "the summary, or the worksheet, as JSON" },
    { LW_OPTION_BASELINE, "baseline", "FILE", WATCH, "a file", "compare with this baseline from the start" },
    { LW_OPTION_MODULE, "module", "FILE", WATCH, "a file",
      "the module that is to join: on the dashboard w weighs its messages against the present baseline" },
    { LW_OPTION_RECORD, "record", "FILE", WATCH | BASELINE, "a file",
      "write every event to a capture (pcap, nanoseconds). With several sources each gets a file: FILE with its name put in" },
    { LW_OPTION_OUTPUT, "output", "FILE", BASELINE | CALC, "a file",
      "where the baseline goes, -o for short; else stdout. Of a calculation: FILE.svg, where its plot goes" },
    { LW_OPTION_REPLACE, "replace", NULL, WATCH | BASELINE | CALC, NULL,
      "overwrite an existing recording, plot or baseline file; of a baseline, names and senders are kept, comments are not" },
    { LW_OPTION_BITRATE, "bitrate", "RATE", WATCH | BASELINE | COMPARE, "a bit rate such as 500k, 1M or 250000",
      "the bit rate of the bus, where the source does not tell it: the load is computed from it" },
    { LW_OPTION_DATA_BITRATE, "data-bitrate", "RATE", WATCH | BASELINE | COMPARE, "a bit rate such as 2M",
      "the data bit rate of CAN FD, which no driver tells us" },
    { LW_OPTION_PACE, "pace", "PACE", ALL, "real, full, or a number and x, such as 10x",
      "how fast a capture or the bench runs: real, full, or 10x. Default: real on the screen, else full" },
    { LW_OPTION_SWAPPED, "swapped-ids", NULL, WATCH | BASELINE | COMPARE, NULL,
      "the capture stores identifiers the other way round; loomwatch says so when it looks like that" },
    { LW_OPTION_SEQUENCE, "sequence", "NAME", WATCH, "A, M, F2M or F3M",
      "alarm sequence after ISA-18.1: A, M, F2M or F3M. Default F3M" },
    { LW_OPTION_LOAD_LIMIT, "load-limit", "PERCENT", WATCH, "a percentage from 1 to 100",
      "the load window lights above it. Default 80" },
    { LW_OPTION_THEME, "theme", "NAME", WATCH, "default, high-contrast, colour-blind or monochrome",
      "default, high-contrast, colour-blind or monochrome. NO_COLOR in the environment means monochrome" },
    { LW_OPTION_ASCII, "ascii", NULL, WATCH, NULL, "plain ASCII characters on the screen" },
    { LW_OPTION_MUTE, "mute", NULL, WATCH, NULL, "no bell" },
    { LW_OPTION_SEED, "seed", "NUMBER", ALL, "a whole number", "makes the bench repeat itself exactly. Default 1" },
    { LW_OPTION_FAULT, "fault", "TEXT", ALL, "a fault such as \"open-h at hopper-load-sensor for 5s\"",
      "put a fault on the bench, in the words of its page: WHAT [at WHERE] [VALUE] [for TIME]; may stand several times" },
    { LW_OPTION_AT, "at", "TIME", ALL, "a time such as 12s", "when the faults that follow it begin. Default: at once" },
    { LW_OPTION_ONTO, "onto", "INTERFACE", BENCH, "a virtual interface such as vcan0",
      "where bench sends: vcan and vxcan only, never a real bus" },
    { LW_OPTION_READING, "reading", "TEXT", WATCH, "a meter reading such as \"120 ohm\", \"open\", \"H 3.9 V\" or \"L 2.1 V\"",
      "a meter reading as evidence: ohms between H and L with the supply off, or volts of H or L to ground; may stand several times" },
    { LW_OPTION_HELP, "help", NULL, ALL | CALC, NULL, "this help, -h for short" },
    { LW_OPTION_VERSION, "version", NULL, ALL, NULL, "the version" },
    { LW_OPTION_MAN, "man", NULL, ALL, NULL, NULL },
};
