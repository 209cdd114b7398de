/* SPDX-License-Identifier: MIT
 *
 * How a machine of the bench is described: as tables of data. Written by the machine files (bench_harrow40.c), read by
 * whatever simulates its bus. Private to the bench; a bit-accurate simulation can read the same tables.
 */
#ifndef LOOMWATCH_SOURCES_BENCH_MACHINE_H
#define LOOMWATCH_SOURCES_BENCH_MACHINE_H

#include "loomwatch/sources/source.h"

enum { LW_BENCH_MAX_UNITS = 16, LW_BENCH_MAX_MESSAGES = 64, LW_BENCH_PATTERNS = 4 };

struct lw_bench_unit {
    const char *name;
    int16_t clock_ppm;     /* how much longer its milliseconds are than true ones */
    uint16_t boot_ms;      /* from power to its first message */
    bool is_resident;      /* on the bus from the start */
};

/* What moves in the data of a message. A byte without pattern stays as it is in the constant. */
enum lw_bench_pattern_kind {
    LW_BENCH_STILL,        /* no pattern */
    LW_BENCH_COUNTER,      /* counts frames in the bits of mask, which start at bit 0 */
    LW_BENCH_DRIFT,        /* goes slowly up and down by swing over every_ms: two bytes, high one first, if mask is 0 */
    LW_BENCH_TOGGLE,       /* the bits of mask change every every_ms */
    LW_BENCH_PRESENCE,     /* the bits of mask are set while the unit is on the bus */
    LW_BENCH_CHECKSUM,     /* exclusive or of the other bytes and the identifier's low byte; put it last */
};

struct lw_bench_pattern {
    uint8_t kind;          /* enum lw_bench_pattern_kind */
    uint8_t byte, mask, unit;
    uint16_t swing;
    uint32_t every_ms;
};

struct lw_bench_message {
    const char *name;
    uint8_t unit;          /* index into the machine's units */
    bool is_extended, is_boot;   /* boot message: sent once, when its unit starts */
    uint32_t id;
    uint8_t len;
    uint32_t period_ms;    /* 0 = not cyclic */
    uint32_t jitter_us;    /* released up to this much after its time */
    uint32_t event_ms;     /* mean time between events that send it; 0 = none. With a period: both kinds.
                              The first comes within half a second of the start */
    uint8_t constant[LW_CLASSIC_MAX_LEN];
    struct lw_bench_pattern patterns[LW_BENCH_PATTERNS];
};

enum lw_bench_deed {
    LW_BENCH_PLUG, LW_BENCH_UNPLUG, LW_BENCH_SWAP,         /* of the unit; swap: whichever it is not */
    LW_BENCH_ERROR_BURST, LW_BENCH_BUS_OFF, LW_BENCH_NO_ACKNOWLEDGE, LW_BENCH_OVERRUN,
};

struct lw_bench_deed_row {
    uint8_t deed;          /* enum lw_bench_deed */
    uint8_t unit;
};

struct lw_bench_machine {
    const char *name, *title;
    uint32_t bit_rate_bps, sample_point_permille, restart_ms;
    const struct lw_bench_unit *units;
    size_t n_units;
    const struct lw_bench_message *messages;
    size_t n_messages;
    const struct lw_source_action *actions;      /* what the user may do, and */
    const struct lw_bench_deed_row *deeds;       /* what each does, in the same order */
    size_t n_actions;
    uint8_t joining_unit;  /* plugged in by itself at join_ms, unless it was plugged in before */
    uint32_t join_ms;
};

extern const struct lw_bench_machine lw_bench_harrow40;

#endif
