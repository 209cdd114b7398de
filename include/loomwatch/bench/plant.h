/* SPDX-License-Identifier: MIT
 *
 * What stands on the bench: wires, terminators, units with their messages. Plain data, read from a bench file, never
 * changed while it runs; what breaks is in damage.h. Everything else of the bench is computed from this.
 */
#ifndef LOOMWATCH_BENCH_PLANT_H
#define LOOMWATCH_BENCH_PLANT_H

#include "loomwatch/core/event.h"

enum {
    LW_PLANT_MAX_UNITS = 32,         /* our adapter is one of them */
    LW_PLANT_MAX_POINTS = 34,        /* junctions along the trunk, both ends included */
    LW_PLANT_MAX_TERMINATORS = 8,
    LW_PLANT_MAX_MESSAGES = 256,
    LW_PLANT_MAX_STEPS = 64,
    LW_PLANT_NAME = 32,
    LW_PLANT_WORDS = 96,
    LW_PATTERNS = 4,
};

/* A junction of the trunk. Segment i runs from point i to point i + 1. */
struct lw_plant_point {
    char name[LW_PLANT_NAME];        /* "front connector"; may be empty */
    uint32_t segment_mm;             /* length to the next point; 0 for the last */
};

struct lw_plant_terminator {
    uint8_t point;
    uint32_t ohm;                    /* 120 */
    bool is_split;                   /* two halves with a capacitor to ground: the same to direct current */
};

/* Bit timing as a data sheet gives it (ISO 11898-1). The bit is 1 + prop_seg + phase_seg1 + phase_seg2 time quanta long. */
struct lw_bit_timing {
    uint64_t tq_ps;                  /* one time quantum by a perfect crystal, in picoseconds */
    uint8_t prop_seg, phase_seg1, phase_seg2, sjw;
};

/* What moves in the data of a message. A byte without pattern stays as it is in the constant. */
enum lw_pattern_kind {
    LW_PATTERN_STILL,                /* no pattern */
    LW_PATTERN_COUNTER,              /* counts frames in the bits of mask, which start at bit 0 */
    LW_PATTERN_DRIFT,                /* up and down by swing over every_ms: two bytes, high one first, if mask is 0 */
    LW_PATTERN_TOGGLE,               /* the bits of mask change every every_ms */
    LW_PATTERN_PRESENCE,             /* the bits of mask are set while the unit is on the bus */
    LW_PATTERN_CHECKSUM,             /* exclusive or of the other bytes and the identifier's low byte; last */
};

struct lw_pattern {
    uint8_t kind;                    /* enum lw_pattern_kind */
    uint8_t byte, mask, unit;
    uint16_t swing;
    uint32_t every_ms;
};

struct lw_plant_message {
    char name[LW_PLANT_NAME];
    uint8_t unit;
    uint32_t id;
    uint8_t flags;                   /* LW_FRAME_EXTENDED, _REMOTE, _FD, _BRS */
    uint8_t len;
    bool is_boot;                    /* sent once, when its unit has booted */
    uint32_t period_ms;              /* 0 = not cyclic */
    uint32_t jitter_us;              /* released up to this much after its time */
    uint32_t event_ms;               /* mean time between events that send it; 0 = none */
    uint8_t constant[LW_FRAME_MAX_LEN];
    struct lw_pattern patterns[LW_PATTERNS];
};

/* How an adapter's driver reports. Source: drivers of Linux 6.12; the ones there are: bench/adapter.h. */
struct lw_personality {
    char name[LW_PLANT_NAME];        /* "each-error", "states-only" … */
    bool has_each_error;             /* an error frame for each error, else for state changes only */
    bool has_ack_class, has_ack_place;   /* how a missing acknowledge shows; neither: never */
    bool has_places;                 /* tells where in the frame each error was; else only of acknowledge and CRC */
    bool has_directions;             /* marks what went wrong while sending */
    bool has_states;                 /* error frames for state changes, bus off and restart; else none */
    bool repeats_last_error;         /* old firmware: an error report after each good frame, once there was an error */
    enum lw_counters_in { LW_COUNTERS_NEVER, LW_COUNTERS_WITH_STATE, LW_COUNTERS_EACH } counters_in_frames;
    enum lw_reporting { LW_REPORTING_NO_SWITCH, LW_REPORTING_ON, LW_REPORTING_OFF } reporting;   /* of single errors */
    bool has_counters_by_netlink, has_state_by_netlink, has_listen_only;
    uint32_t restart_ms;             /* 0 = stays bus off */
};

struct lw_plant_unit {
    char name[LW_PLANT_NAME];
    uint8_t point;                   /* of the trunk */
    uint32_t stub_mm;
    uint32_t own_ohm;                /* terminator inside the unit; 0 = none */
    bool is_adapter;                 /* what the program listens with: one unit of a plant */
    bool is_listen_only;
    bool is_plugged;                 /* at power-on; a unit that is not waits for plug_ms or a person */
    uint32_t plug_ms;                /* plugged in by itself then; 0 = only by a person */
    uint32_t boot_ms;                /* from supply or waking to its first message; woken it takes no part before */
    uint32_t runs_ms;                /* its application stops so long after it began; 0 = runs for ever */
    uint32_t sleeps_ms;              /* once stopped, it sleeps when the bus was silent for so long; 0 = stays awake */
    uint32_t wakes_ms;               /* wakes by itself after so long asleep; 0 = never */
    bool is_traffic_ignored;         /* a dominant bit does not wake it */
    int32_t crystal_ppm;             /* how much slower its clock runs: a bit is longer by this */
    uint32_t loop_delay_ns;          /* transceiver, TXD to RXD; half of it each way */
    struct lw_bit_timing timing, data_timing;   /* data_timing.tq_ps 0: classic only, FD frames are errors to it */
    bool is_one_shot;                /* no retransmission */
    uint32_t restart_ms;             /* bus off recovery is asked for so long after; 0 = never */
    struct lw_personality personality;   /* of the adapter */
};

/* One line of a bench file's script: something done by itself at its time. */
struct lw_plant_step {
    uint64_t at_ns;
    char words[LW_PLANT_WORDS];      /* as lw_damage_parse takes them */
};

struct lw_plant {
    char name[LW_PLANT_NAME], title[LW_PLANT_WORDS];
    uint32_t bit_rate_bps, data_bit_rate_bps;   /* of the bus: what the units' timing should be */
    uint32_t supply_mv;              /* of the machine: 12000 or 24000 */
    uint32_t mohm_per_m;             /* of each wire: 70 */
    uint32_t ps_per_mm;              /* propagation: 5 (5 ns/m) */
    uint32_t pf_per_m, pf_per_unit;  /* capacitance between the wires: 40 a metre, 50 a unit */
    unsigned n_points, n_terminators, n_units, n_messages, n_steps;
    struct lw_plant_point points[LW_PLANT_MAX_POINTS];
    struct lw_plant_terminator terminators[LW_PLANT_MAX_TERMINATORS];
    struct lw_plant_unit units[LW_PLANT_MAX_UNITS];
    struct lw_plant_message messages[LW_PLANT_MAX_MESSAGES];
    struct lw_plant_step steps[LW_PLANT_MAX_STEPS];
};

/* Timing for a bit rate and sample point (permille) of 8 to 25 quanta a bit, by a clock of 80 MHz; sjw in quanta, 0 = 1.
 * Returns 0, or -ERANGE where no whole number of quanta comes within 0.1 % of the rate. */
int lw_bit_timing_for(uint32_t bit_rate_bps, uint32_t sample_point_permille, unsigned sjw, struct lw_bit_timing *out);

/* Length of a bit in picoseconds by a perfect crystal. */
uint64_t lw_bit_timing_bit_ps(const struct lw_bit_timing *timing);

/* Index of a unit by name, or -1. */
int lw_plant_find_unit(const struct lw_plant *plant, const char *name);
int lw_plant_adapter(const struct lw_plant *plant);   /* index of our adapter, or -1 */

/* Distance along the wires between two units' pins, in millimetres. */
uint32_t lw_plant_distance_mm(const struct lw_plant *plant, unsigned unit_a, unsigned unit_b);

#endif
