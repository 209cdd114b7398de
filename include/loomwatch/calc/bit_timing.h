/* SPDX-License-Identifier: MIT
 *
 * Bit timing as arithmetic: what a setting gives, which settings give what is wanted, what two settings make of each other.
 * Everything is computed from clock, prescaler and quanta; no rounded length of a quantum is ever used.
 */
#ifndef LOOMWATCH_CALC_BIT_TIMING_H
#define LOOMWATCH_CALC_BIT_TIMING_H

#include "loomwatch/core/bit_timing.h"

#include <stdbool.h>
#include <stddef.h>

/* Of most controllers without data phase: 16, 8, 4, 64. Source: the driver sja1000 of Linux 6.1 as it tells of itself. */
extern const struct lw_timing_limits lw_timing_classic_limits;
/* Nominal and data phase of a controller with one. Source: Documentation/networking/can.rst of Linux 6.1; SJW and the data
 * prescaler from memory. */
extern const struct lw_timing_limits lw_timing_fd_limits, lw_timing_fd_data_limits;

uint32_t lw_timing_quanta(const struct lw_timing *timing);
double lw_timing_rate_bps(const struct lw_timing *timing);
double lw_timing_bit_ns(const struct lw_timing *timing);
double lw_timing_tq_ns(const struct lw_timing *timing);
double lw_timing_sample_point(const struct lw_timing *timing);     /* 0 to 1 */

/* phase_seg1 beyond phase_seg2 widens no tolerance, as the smaller of the two counts, and only prop_seg + phase_seg1 places
 * the sample point: the same setting with what is too much of phase_seg1 counted to prop_seg. */
struct lw_timing lw_timing_split_anew(const struct lw_timing *timing);

/* How far each oscillator may be off, as a fraction (0.01 = 1 %). Two nodes may differ by twice that.
 * Source: ISO 11898-1:2003, 12.4.2.5. */
struct lw_tolerance {
    double by_phase;                 /* the bit after an error flag: min(PS1, PS2) / (2 (13 bit - PS2)) */
    double by_sjw;                   /* ten bits between two edges: SJW / (20 bit) */
};
struct lw_tolerance lw_timing_tolerance(const struct lw_timing *timing);
double lw_tolerance_smaller(struct lw_tolerance tolerance);

/* The SJW from which on by_sjw is no longer the smaller one. Never more than the smaller phase segment. */
uint32_t lw_timing_sjw_wanted(const struct lw_timing *timing);

/* The signal's way: to the far end of the bus and back, each time through a transceiver. Source: Microchip,
 * 38.3.3.2, eq. 38-9: t_prop = 2 (loop delay + length x delay). */
struct lw_way {
    double loop_delay_ns;            /* of a transceiver, TXD to RXD */
    double delay_ns_per_m;           /* of the cable */
};
/* Longest bus between two such nodes that prop_seg has room for, in metres; negative if the transceivers alone take more. */
double lw_timing_longest_m(const struct lw_timing *timing, const struct lw_way *way);
/* Room prop_seg leaves on a bus of that length, in ns; negative: too little. */
double lw_timing_prop_left_ns(const struct lw_timing *timing, const struct lw_way *way, double length_m);

struct lw_timing_wish {
    uint32_t clock_hz, rate_bps;
    double sample_point;             /* 0 to 1 */
    double max_rate_error;           /* as a fraction */
    uint32_t sjw;                    /* 0: the largest allowed */
    struct lw_timing_limits limits;
};

struct lw_timing_choice {
    struct lw_timing timing;         /* split as by lw_timing_split_anew */
    double rate_error;               /* real rate / wanted rate - 1 */
    double sample_error;             /* distance from the wanted sample point */
    double tolerance;                /* the smaller one */
};

/* All settings within the limits whose rate is within max_rate_error: the best `max` of them into `best`, best first: by
 * rate, then sample point, then quanta (more are finer), then tolerance. Returns how many there are in all. */
size_t lw_timing_search(const struct lw_timing_wish *wish, struct lw_timing_choice *best, size_t max);

/* The rate nearest to the wanted one that the limits allow, whatever the sample point. */
double lw_timing_nearest_bps(const struct lw_timing_wish *wish);

/* Where the kernel samples if nobody says: 0.75 above 800 kbit/s, 0.8 above 500 kbit/s, else 0.875; in permille. */
uint32_t lw_timing_kernel_sample_permille(uint32_t rate_bps);

/* The setting that Linux 6.1 makes of a bit rate; wish->sample_point 0: of its own liking. SJW 1, if wish->sjw is 0. Returns
 * 0, or -ERANGE where the kernel refuses: more than 5 % off. max_rate_error is not looked at. */
int lw_timing_kernel_choice(const struct lw_timing_wish *wish, struct lw_timing *out);

/* Oscillator tolerance of a controller with data phase: five conditions, a fraction each. The first two are those above; the
 * others tell of edges around the change of the rate. 3 to 5 from memory, after papers on the robustness of CAN FD. */
enum { LW_FD_CONDITIONS = 5 };
void lw_timing_fd_tolerance(const struct lw_timing *nominal, const struct lw_timing *data, double out[LW_FD_CONDITIONS]);

/* Transmitter delay compensation: the sender compares a data bit later, by what its own signal takes to come back. */
struct lw_delay_compensation {
    bool is_needed;                  /* the loop delay reaches beyond the sample point */
    bool is_possible;                /* prescaler 1 or 2 (from memory) */
    uint32_t offset_clocks;          /* of the secondary sample point: as the data sample point, in periods of the clock */
    double delay_bits;               /* the loop delay in data bits */
};
struct lw_delay_compensation lw_timing_delay_compensation(const struct lw_timing *data, double loop_delay_ns);

/* Two nodes on one bus. */
struct lw_timing_pair {
    double rate_difference;          /* fraction */
    double allowed_difference;       /* of their clocks: twice the smaller tolerance */
    double clock_margin;             /* what is left after rates and both oscillators; negative: too little */
    double longest_m;                /* the shorter of the two */
    bool is_first_shorter, is_first_weaker;    /* which one limits length and clocks; false where they are equal */
};
/* oscillator: how far each is off at most, fraction. Both settings count as split anew. */
struct lw_timing_pair lw_timing_compare(const struct lw_timing *first, const struct lw_timing *second,
                                        const struct lw_way *way, double oscillator);

#endif
