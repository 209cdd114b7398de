/* SPDX-License-Identifier: MIT
 *
 * The bit clock of one controller: pure arithmetic on picoseconds. The bench asks it when to sample and tells it of edges.
 */
#include "loomwatch/bench/bit_clock.h"

enum { SYNC_SEG = 1, PPM = 1000000 };

/* n quanta by a crystal that makes everything longer by ppm, to the nearest picosecond. */
static uint64_t quanta_ps(unsigned n, uint64_t tq_ps, int32_t ppm)
{
    return (n * tq_ps * (uint64_t)(PPM + (int64_t)ppm) + PPM / 2) / PPM;
}

static void set_rate(struct lw_bit_clock *clock, unsigned rate, const struct lw_bit_timing *timing, int32_t ppm)
{
    unsigned before = SYNC_SEG + (unsigned)timing->prop_seg + timing->phase_seg1;
    clock->tq_ps[rate] = quanta_ps(1, timing->tq_ps, ppm);
    clock->to_sample_ps[rate] = quanta_ps(before, timing->tq_ps, ppm);
    clock->bit_ps[rate] = quanta_ps(before + timing->phase_seg2, timing->tq_ps, ppm);
    clock->before_sample[rate] = (uint16_t)before;
    clock->after_sample[rate] = timing->phase_seg2;
    clock->sjw[rate] = timing->sjw;
}

void lw_bit_clock_init(struct lw_bit_clock *clock, const struct lw_bit_timing *nominal, const struct lw_bit_timing *data,
                       int32_t crystal_ppm)
{
    *clock = (struct lw_bit_clock){ 0 };
    set_rate(clock, 0, nominal, crystal_ppm);
    set_rate(clock, 1, data && data->tq_ps > 0 ? data : nominal, crystal_ppm);
    lw_bit_clock_start_bit(clock, 0, 0);
}

static void place_bit(struct lw_bit_clock *clock, uint64_t start_ps)
{
    clock->bit_start_ps = start_ps;
    clock->sample_ps = start_ps + clock->to_sample_ps[clock->rate];
    clock->end_ps = start_ps + clock->bit_ps[clock->rate];
}

void lw_bit_clock_start_bit(struct lw_bit_clock *clock, uint64_t t_ps, unsigned rate)
{
    clock->rate = rate != 0;
    clock->is_synchronised = clock->is_next_synchronised;
    clock->is_next_synchronised = false;
    place_bit(clock, t_ps);
}

void lw_bit_clock_switch_rate(struct lw_bit_clock *clock, unsigned rate)
{
    clock->rate = rate != 0;
    clock->end_ps = clock->sample_ps + clock->bit_ps[clock->rate] - clock->to_sample_ps[clock->rate];
    /* Where the bit would have begun at the new rate: edges count their quanta from there. */
    uint64_t before_ps = clock->to_sample_ps[clock->rate];
    clock->bit_start_ps = clock->sample_ps > before_ps ? clock->sample_ps - before_ps : 0;
}

static unsigned lesser(uint64_t a, unsigned b)
{
    return a < b ? (unsigned)a : b;
}

/* Before the sample point the quantum of the edge is the phase error; behind it, what is missing to the next sync segment. */
static void resynchronise(struct lw_bit_clock *clock, uint64_t quantum)
{
    unsigned before = clock->before_sample[clock->rate], sjw = clock->sjw[clock->rate];
    uint64_t length = before + (uint64_t)clock->after_sample[clock->rate], tq_ps = clock->tq_ps[clock->rate];
    if (quantum < before)
        place_bit(clock, clock->bit_start_ps + lesser(quantum, sjw) * tq_ps);
    else if (quantum < length)
        clock->end_ps -= lesser(length - quantum, sjw) * tq_ps;
}

void lw_bit_clock_edge(struct lw_bit_clock *clock, uint64_t edge_ps, bool is_hard)
{
    uint64_t tq_ps = clock->tq_ps[clock->rate];
    uint64_t quantum = edge_ps > clock->bit_start_ps ? (edge_ps - clock->bit_start_ps) / tq_ps : 0;
    bool is_sampled = quantum >= clock->before_sample[clock->rate];
    bool *is_used = is_sampled ? &clock->is_next_synchronised : &clock->is_synchronised;
    if (*is_used)
        return;
    *is_used = true;
    if (!is_hard) {
        resynchronise(clock, quantum);
        return;
    }
    place_bit(clock, clock->bit_start_ps + quantum * tq_ps);
    clock->is_synchronised = true;
    clock->is_next_synchronised = false;
}
