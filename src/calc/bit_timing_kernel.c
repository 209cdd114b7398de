/* SPDX-License-Identifier: MIT
 *
 * The setting Linux 6.1 makes of a bit rate, after what it is seen to do: from many quanta to few, the prescaler rounded up
 * and down; the smallest error of the rate, then the nearest sample point that is not later than wanted; the first one wins.
 * All division is that of whole numbers, as there: otherwise ties would end differently. Held against the kernel itself
 * in tests/kernel.
 */
#include "loomwatch/calc/bit_timing.h"

#include <errno.h>
#include <stdlib.h>

enum { MAX_RATE_ERROR_PERMILLE = 50, ROUNDED_UP = 1, ROUNDED_DOWN = 0 };

struct split {
    uint32_t tseg1, tseg2, sample_error_permille;
};

struct candidate {
    uint32_t brp;
    uint64_t rate_error_bps;
    struct split split;
};

uint32_t lw_timing_kernel_sample_permille(uint32_t rate_bps)
{
    return rate_bps > 800000 ? 750 : rate_bps > 500000 ? 800 : 875;
}

static uint32_t held_between(uint32_t value, uint32_t min, uint32_t max)
{
    return value < min ? min : value > max ? max : value;
}

/* Returns false where every possible sample point is later than wanted. */
static bool split_bit(const struct lw_timing_limits *limits, uint32_t wanted_permille, uint32_t quanta, struct split *out)
{
    uint32_t after_sample = quanta - wanted_permille * quanta / 1000;
    bool has_one = false;
    for (uint32_t later = 0; later <= 1; later++) {
        uint32_t tseg2 = held_between(after_sample > later ? after_sample - later : 0, limits->tseg2_min, limits->tseg2_max);
        uint32_t tseg1 = quanta - 1 - tseg2;
        if (tseg1 > limits->tseg1_max) {
            tseg1 = limits->tseg1_max;
            tseg2 = quanta - 1 - tseg1;
        }
        uint32_t sample_permille = 1000 * (quanta - tseg2) / quanta;
        if (sample_permille > wanted_permille)
            continue;
        struct split split = { tseg1, tseg2, wanted_permille - sample_permille };
        if (!has_one || split.sample_error_permille < out->sample_error_permille)
            *out = split;
        has_one = true;
    }
    return has_one;
}

static uint64_t distance_of(uint64_t a, uint64_t b)
{
    return a > b ? a - b : b - a;
}

/* The better of the best so far and the bit of so many quanta. */
static void try_quanta(const struct lw_timing_wish *wish, uint32_t sample_permille, uint32_t quanta, uint32_t rounded,
                       struct candidate *best)
{
    const struct lw_timing_limits *limits = &wish->limits;
    uint64_t brp = wish->clock_hz / ((uint64_t)quanta * wish->rate_bps) + rounded;
    struct candidate candidate;
    brp = brp / limits->brp_inc * limits->brp_inc;
    if (brp < limits->brp_min || brp > limits->brp_max)
        return;
    candidate.brp = (uint32_t)brp;
    candidate.rate_error_bps = distance_of(wish->rate_bps, wish->clock_hz / (brp * quanta));
    if (candidate.rate_error_bps > best->rate_error_bps || !split_bit(limits, sample_permille, quanta, &candidate.split))
        return;
    if (candidate.rate_error_bps < best->rate_error_bps ||
        candidate.split.sample_error_permille < best->split.sample_error_permille)
        *best = candidate;
}

static uint32_t kernel_sjw(const struct lw_timing_wish *wish, uint32_t tseg2)
{
    uint32_t sjw = held_between(wish->sjw, 1, wish->limits.sjw_max);
    return sjw > tseg2 ? tseg2 : sjw;
}

int lw_timing_kernel_choice(const struct lw_timing_wish *wish, struct lw_timing *out)
{
    const struct lw_timing_limits *limits = &wish->limits;
    struct candidate best = { .rate_error_bps = UINT64_MAX };
    uint32_t sample_permille = (uint32_t)(wish->sample_point * 1000 + 0.5);
    if (sample_permille == 0)
        sample_permille = lw_timing_kernel_sample_permille(wish->rate_bps);
    for (uint32_t tseg = limits->tseg1_max + limits->tseg2_max; tseg >= limits->tseg1_min + limits->tseg2_min; tseg--) {
        try_quanta(wish, sample_permille, 1 + tseg, ROUNDED_UP, &best);
        try_quanta(wish, sample_permille, 1 + tseg, ROUNDED_DOWN, &best);
    }
    if (best.rate_error_bps == UINT64_MAX || best.rate_error_bps * 1000 / wish->rate_bps > MAX_RATE_ERROR_PERMILLE)
        return -ERANGE;
    uint32_t prop_seg = best.split.tseg1 / 2;
    *out = (struct lw_timing){ wish->clock_hz, best.brp, prop_seg, best.split.tseg1 - prop_seg, best.split.tseg2,
                               kernel_sjw(wish, best.split.tseg2) };
    return 0;
}
