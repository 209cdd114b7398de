/* SPDX-License-Identifier: MIT
 *
 * When a controller samples: its oscillator, time segments, hard synchronisation and resynchronisation of ISO 11898-1.
 * Works in picoseconds, so that one part per million of a bit is still a number.
 */
#ifndef LOOMWATCH_BENCH_BIT_CLOCK_H
#define LOOMWATCH_BENCH_BIT_CLOCK_H

#include "loomwatch/bench/plant.h"

struct lw_bit_clock {
    uint64_t tq_ps[2];               /* by this unit's crystal; nominal and data rate */
    uint64_t to_sample_ps[2], bit_ps[2];   /* rounded once for the whole part, not for each quantum */
    uint16_t before_sample[2];       /* quanta from the start of the bit to the sample point */
    uint16_t after_sample[2];        /* phase_seg2 */
    uint16_t sjw[2];
    uint64_t bit_start_ps;           /* of the running bit, shifted by synchronisation */
    uint64_t sample_ps, end_ps;      /* of the running bit */
    uint8_t rate;                    /* of the running bit: enum lw_mac_rate */
    bool is_synchronised;            /* one synchronisation between two sample points: this one and the last */
    bool is_next_synchronised;       /* this one and the next */
};

/* data may be NULL, or have tq_ps 0: a controller of one rate. crystal_ppm: how much longer a bit is. */
void lw_bit_clock_init(struct lw_bit_clock *clock, const struct lw_bit_timing *nominal, const struct lw_bit_timing *data,
                       int32_t crystal_ppm);

/* A bit begins at t_ps: usually end_ps of the one before. */
void lw_bit_clock_start_bit(struct lw_bit_clock *clock, uint64_t t_ps, unsigned rate);

/* The rate changes at the sample point of the running bit (BRS, CRC delimiter; an error in the data phase): what follows
 * the sample point is phase_seg2 of the new rate. For callers that want this; else the next start_bit changes it whole. */
void lw_bit_clock_switch_rate(struct lw_bit_clock *clock, unsigned rate);

/* A recessive-to-dominant edge came at edge_ps, seen with the resolution of a time quantum. Hard: the bit begins
 * anew with that quantum, its sample point ahead, even if it had been sampled already. Else the phase error lengthens the
 * part before the sample point or shortens the part after it, by sjw at most; end_ps may then lie a quantum before edge_ps.
 * A second edge between two sample points changes nothing, hard or not. The caller asks only where the standard allows a
 * synchronisation: the bit sampled last was recessive, and the controller does not itself drive dominant in the running bit
 * (its own edge comes back late, a positive phase error). Source: ISO 11898-1:2003, 12.4.2; Bosch CAN 2.0 part B, 10. */
void lw_bit_clock_edge(struct lw_bit_clock *clock, uint64_t edge_ps, bool is_hard);

#endif
