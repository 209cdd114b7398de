/* SPDX-License-Identifier: MIT
 *
 * What can be asked of a plant without running it: bit timing for a bit rate, units by name, distances along the wires.
 */
#include "loomwatch/bench/plant.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

enum {
    CLOCK_HZ = 80000000, CLOCK_PS = 12500,
    MIN_QUANTA = 8, MAX_QUANTA = 25,           /* of a bit: Bosch CAN Specification 2.0, part B, chapter 10 */
    MAX_SEGMENT = 8, MIN_PHASE_SEG2 = 2,       /* quanta: the same; 2 = information processing time */
    MAX_RATE_ERROR_PPM = 1000,
};

struct candidate {
    uint64_t tq_ps, rate_error_ppm;
    unsigned before_sample, after_sample;      /* quanta: prop_seg + phase_seg1, phase_seg2 */
    unsigned sample_error_permille;
};

static uint64_t distance_of(uint64_t a, uint64_t b)
{
    return a > b ? a - b : b - a;
}

/* A bit of n quanta: the nearest prescaler, the nearest sample point. */
static bool try_quanta(uint32_t bit_rate_bps, uint32_t sample_point_permille, unsigned n, struct candidate *out)
{
    uint64_t n_clocks = ((uint64_t)CLOCK_HZ + (uint64_t)bit_rate_bps * n / 2) / ((uint64_t)bit_rate_bps * n);
    if (n_clocks == 0)
        return false;
    /* With the prescaler p the rate is clock / (n p): wrong by clock / (n p rate) - 1. */
    uint64_t wanted = (uint64_t)bit_rate_bps * n * n_clocks;
    out->rate_error_ppm = distance_of(CLOCK_HZ, wanted) * 1000000 / wanted;
    out->tq_ps = n_clocks * CLOCK_PS;
    unsigned at_sample = (n * sample_point_permille + 500) / 1000;     /* with the synchronisation quantum */
    unsigned latest = n - MIN_PHASE_SEG2, earliest = n - MAX_SEGMENT;
    if (latest > 1 + 2 * MAX_SEGMENT)
        latest = 1 + 2 * MAX_SEGMENT;
    if (earliest < 3 || n < MAX_SEGMENT)
        earliest = 3;
    at_sample = at_sample > latest ? latest : at_sample < earliest ? earliest : at_sample;
    out->before_sample = at_sample - 1;
    out->after_sample = n - at_sample;
    out->sample_error_permille = (unsigned)distance_of(at_sample * 1000 / n, sample_point_permille);
    return true;
}

static bool is_better(const struct candidate *a, const struct candidate *b)
{
    if (a->rate_error_ppm != b->rate_error_ppm)
        return a->rate_error_ppm < b->rate_error_ppm;
    return a->sample_error_permille < b->sample_error_permille;
}

int lw_bit_timing_for(uint32_t bit_rate_bps, uint32_t sample_point_permille, unsigned sjw, struct lw_bit_timing *out)
{
    struct candidate best = { .rate_error_ppm = UINT64_MAX };
    for (unsigned n = MAX_QUANTA; bit_rate_bps > 0 && n >= MIN_QUANTA; n--) {
        struct candidate candidate;
        if (try_quanta(bit_rate_bps, sample_point_permille, n, &candidate) && is_better(&candidate, &best))
            best = candidate;
    }
    if (best.rate_error_ppm > MAX_RATE_ERROR_PPM)
        return -ERANGE;
    unsigned prop_seg = best.before_sample / 2, phase_seg1 = best.before_sample - prop_seg;
    unsigned widest = phase_seg1 < best.after_sample ? phase_seg1 : best.after_sample;
    *out = (struct lw_bit_timing){
        .tq_ps = best.tq_ps, .prop_seg = (uint8_t)prop_seg, .phase_seg1 = (uint8_t)phase_seg1,
        .phase_seg2 = (uint8_t)best.after_sample, .sjw = (uint8_t)(sjw == 0 ? 1 : sjw > widest ? widest : sjw),
    };
    return 0;
}

uint64_t lw_bit_timing_bit_ps(const struct lw_bit_timing *timing)
{
    return timing->tq_ps * (1U + timing->prop_seg + timing->phase_seg1 + timing->phase_seg2);
}

int lw_plant_find_unit(const struct lw_plant *plant, const char *name)
{
    for (unsigned i = 0; i < plant->n_units; i++)
        if (strcmp(plant->units[i].name, name) == 0)
            return (int)i;
    return -1;
}

int lw_plant_adapter(const struct lw_plant *plant)
{
    for (unsigned i = 0; i < plant->n_units; i++)
        if (plant->units[i].is_adapter)
            return (int)i;
    return -1;
}

uint32_t lw_plant_distance_mm(const struct lw_plant *plant, unsigned unit_a, unsigned unit_b)
{
    if (unit_a == unit_b)
        return 0;
    const struct lw_plant_unit *a = &plant->units[unit_a], *b = &plant->units[unit_b];
    unsigned from = a->point < b->point ? a->point : b->point, to = a->point < b->point ? b->point : a->point;
    uint64_t mm = (uint64_t)a->stub_mm + b->stub_mm;
    for (unsigned i = from; i < to; i++)
        mm += plant->points[i].segment_mm;
    return mm > UINT32_MAX ? UINT32_MAX : (uint32_t)mm;
}
