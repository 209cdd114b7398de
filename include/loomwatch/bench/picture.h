/* SPDX-License-Identifier: MIT
 *
 * The bench as its page shows it: a copy without pointers, for the view and for tests.
 */
#ifndef LOOMWATCH_BENCH_PICTURE_H
#define LOOMWATCH_BENCH_PICTURE_H

#include "loomwatch/bench/damage.h"

enum { LW_TRACE_BITS = 800 };

struct lw_bench_unit_picture {
    char name[LW_PLANT_NAME];
    uint8_t point;
    uint32_t stub_mm;
    bool is_plugged, is_powered, is_standby, is_asleep, is_swapped, is_adapter, is_terminated;
    enum lw_bus_state state;         /* of its controller; unknown while it is off */
    uint16_t tec, rec;
    uint64_t n_sent, n_errors;
};

struct lw_bench_meter {
    bool is_supply_off;
    double ohm;                      /* between H and L, supply off; INFINITY = open; NAN = supply is on */
    double h_volt, l_volt;           /* average against ground over the last 100 ms; NAN = supply is off */
};

/* One bit of a frame as a unit saw it. */
struct lw_trace_bit {
    uint8_t field;                   /* enum lw_mac_field */
    bool is_dominant, is_stuff, is_driven;   /* sampled; a stuff bit; driven dominant by this unit */
    bool has_error;                  /* the bit at which this unit raised an error */
    uint16_t sample_permille;        /* where in the bit it was sampled, after synchronisation */
};

/* One frame bit by bit, from its start of frame to the end of the pause behind it. */
struct lw_bench_trace {
    unsigned n;                      /* 0: none was seen yet */
    uint64_t begins_ns;
    struct lw_trace_bit bits[LW_TRACE_BITS];
};

struct lw_bench_picture {
    char name[LW_PLANT_NAME], title[LW_PLANT_WORDS];
    uint64_t now_ns;
    uint32_t bit_rate_bps;
    bool is_supply_on;
    unsigned n_points, n_units, n_terminators, n_damages;
    struct lw_plant_point points[LW_PLANT_MAX_POINTS];
    struct lw_plant_terminator terminators[LW_PLANT_MAX_TERMINATORS];   /* those in place now, extra ones too */
    struct lw_bench_unit_picture units[LW_PLANT_MAX_UNITS];
    struct lw_damage damages[LW_MAX_DAMAGES];
    char damage_words[LW_MAX_DAMAGES][LW_DAMAGE_TEXT];
    struct lw_bench_meter meters[LW_PLANT_MAX_POINTS];    /* at each point */
    unsigned trace_unit;             /* whose traces these are */
    uint64_t trace_since_ns;         /* since when frames are seen through its eyes */
    struct lw_bench_trace trace, error_trace;   /* the last frame; the last one with an error */
};

#endif
