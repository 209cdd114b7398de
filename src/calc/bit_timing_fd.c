/* SPDX-License-Identifier: MIT
 *
 * The data phase: how far oscillators may be off around the changes of rate, and the sender's own delay.
 */
#include "loomwatch/calc/bit_timing.h"

#include <math.h>

/* The segments of a phase in ns, as the conditions mix the quanta of both. */
struct in_ns {
    double quantum, bit, phase_seg2, smaller_phase, sjw;
};

static struct in_ns in_ns(const struct lw_timing *timing)
{
    double tq = lw_timing_tq_ns(timing);
    uint32_t smaller = timing->phase_seg1 < timing->phase_seg2 ? timing->phase_seg1 : timing->phase_seg2;
    return (struct in_ns){ tq, lw_timing_bit_ns(timing), timing->phase_seg2 * tq, smaller * tq, timing->sjw * tq };
}

void lw_timing_fd_tolerance(const struct lw_timing *nominal, const struct lw_timing *data, double out[LW_FD_CONDITIONS])
{
    const struct in_ns n = in_ns(nominal), d = in_ns(data);
    struct lw_tolerance first_two = lw_timing_tolerance(nominal);
    out[0] = first_two.by_sjw;
    out[1] = first_two.by_phase;
    out[2] = d.sjw / (20 * d.bit);
    out[3] = n.smaller_phase / (2 * (6 * d.bit - d.phase_seg2 + 7 * n.bit));
    out[4] = (d.sjw - fmax(0, n.quantum - d.quantum)) / (2 * (2 * n.bit - n.phase_seg2 + d.phase_seg2 + 4 * d.bit));
}

struct lw_delay_compensation lw_timing_delay_compensation(const struct lw_timing *data, double loop_delay_ns)
{
    double bit_ns = lw_timing_bit_ns(data);
    return (struct lw_delay_compensation){
        .is_needed = loop_delay_ns >= bit_ns * lw_timing_sample_point(data),
        .is_possible = data->brp <= 2,
        .offset_clocks = (1 + data->prop_seg + data->phase_seg1) * data->brp,
        .delay_bits = loop_delay_ns / bit_ns,
    };
}
