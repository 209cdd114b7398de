/* SPDX-License-Identifier: MIT
 *
 * A bit timing as a controller holds it, and what it can be set to: what an interface tells and the calculators reckon
 * with. (The bench has its own, in picoseconds: there every clock is the same, and no prescaler is needed.)
 */
#ifndef LOOMWATCH_CORE_BIT_TIMING_H
#define LOOMWATCH_CORE_BIT_TIMING_H

#include <stdint.h>

/* A setting, in the terms of ISO 11898-1. A bit is 1 + prop_seg + phase_seg1 + phase_seg2 quanta long, a quantum is `brp`
 * periods of the clock, and the bit is sampled at the end of phase_seg1. No segment is 0 but prop_seg. */
struct lw_timing {
    uint32_t clock_hz;
    uint32_t brp;                    /* the prescaler */
    uint32_t prop_seg, phase_seg1, phase_seg2, sjw;
};

/* What a controller can be set to. tseg1 is prop_seg + phase_seg1, which have one register in common, tseg2 is phase_seg2:
 * so called by linux/can/netlink.h. All at least 1. */
struct lw_timing_limits {
    uint32_t tseg1_min, tseg1_max, tseg2_min, tseg2_max, sjw_max, brp_min, brp_max, brp_inc;
};

#endif
