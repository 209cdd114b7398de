/* SPDX-License-Identifier: MIT
 *
 * All settings that reach a bit rate, and the order between them.
 */
#include "loomwatch/calc/bit_timing.h"

#include <math.h>
#include <string.h>

/* Rounding of the last digit is no difference. */
static const double SAME = 1e-9;

struct ranking {
    struct lw_timing_choice *best;
    size_t max, n_kept, n_found;
};

static bool is_better(const struct lw_timing_choice *a, const struct lw_timing_choice *b)
{
    uint32_t quanta_a = lw_timing_quanta(&a->timing), quanta_b = lw_timing_quanta(&b->timing);
    if (fabs(fabs(a->rate_error) - fabs(b->rate_error)) > SAME)
        return fabs(a->rate_error) < fabs(b->rate_error);
    if (fabs(a->sample_error - b->sample_error) > SAME)
        return a->sample_error < b->sample_error;
    if (quanta_a != quanta_b)
        return quanta_a > quanta_b;
    return a->tolerance > b->tolerance + SAME;
}

static void rank(struct ranking *ranking, const struct lw_timing_choice *choice)
{
    size_t place = ranking->n_kept;
    ranking->n_found++;
    while (place > 0 && is_better(choice, &ranking->best[place - 1]))
        place--;
    if (place >= ranking->max)
        return;
    if (ranking->n_kept < ranking->max)
        ranking->n_kept++;
    memmove(&ranking->best[place + 1], &ranking->best[place], (ranking->n_kept - place - 1) * sizeof(*choice));
    ranking->best[place] = *choice;
}

static uint32_t smallest_of(uint32_t a, uint32_t b, uint32_t c)
{
    uint32_t smaller = a < b ? a : b;
    return smaller < c ? smaller : c;
}

static struct lw_timing_choice choice_of(const struct lw_timing_wish *wish, uint32_t brp, uint32_t tseg1, uint32_t tseg2)
{
    const struct lw_timing together = { wish->clock_hz, brp, 0, tseg1, tseg2, 1 };
    struct lw_timing_choice choice = { .timing = lw_timing_split_anew(&together) };
    struct lw_timing *timing = &choice.timing;
    if (timing->prop_seg == 0 && timing->phase_seg1 > 1) {   /* some way there always is */
        timing->prop_seg = 1;
        timing->phase_seg1--;
    }
    timing->sjw = smallest_of(timing->phase_seg1, timing->phase_seg2, wish->limits.sjw_max);
    if (wish->sjw > 0 && wish->sjw < timing->sjw)
        timing->sjw = wish->sjw;
    choice.rate_error = lw_timing_rate_bps(timing) / wish->rate_bps - 1;
    choice.sample_error = fabs(lw_timing_sample_point(timing) - wish->sample_point);
    choice.tolerance = lw_tolerance_smaller(lw_timing_tolerance(timing));
    return choice;
}

/* Whether a controller can be set to that prescaler. */
static bool is_prescaler(const struct lw_timing_limits *limits, uint64_t brp)
{
    return brp >= limits->brp_min && brp <= limits->brp_max && brp % limits->brp_inc == 0;
}

static void try_splits(const struct lw_timing_wish *wish, uint32_t quanta, uint32_t brp, struct ranking *ranking)
{
    const struct lw_timing_limits *limits = &wish->limits;
    for (uint32_t tseg2 = limits->tseg2_min; tseg2 <= limits->tseg2_max && tseg2 + limits->tseg1_min < quanta; tseg2++) {
        uint32_t tseg1 = quanta - 1 - tseg2;
        if (tseg1 > limits->tseg1_max)
            continue;
        struct lw_timing_choice choice = choice_of(wish, brp, tseg1, tseg2);
        rank(ranking, &choice);
    }
}

static uint32_t fewest_quanta(const struct lw_timing_limits *limits)
{
    return 1 + limits->tseg1_min + limits->tseg2_min;
}

static uint32_t most_quanta(const struct lw_timing_limits *limits)
{
    return 1 + limits->tseg1_max + limits->tseg2_max;
}

size_t lw_timing_search(const struct lw_timing_wish *wish, struct lw_timing_choice *best, size_t max)
{
    struct ranking ranking = { .best = best, .max = max };
    for (uint32_t quanta = fewest_quanta(&wish->limits); quanta <= most_quanta(&wish->limits); quanta++) {
        double wanted = (double)wish->clock_hz / ((double)wish->rate_bps * quanta);
        uint64_t first = (uint64_t)floor(wanted / (1 + wish->max_rate_error));
        uint64_t last = (uint64_t)ceil(wanted / (1 - wish->max_rate_error));
        for (uint64_t brp = first > 0 ? first : 1; brp <= last && brp <= wish->limits.brp_max; brp++) {
            double error = wanted / (double)brp - 1;
            if (is_prescaler(&wish->limits, brp) && fabs(error) <= wish->max_rate_error + SAME)
                try_splits(wish, quanta, (uint32_t)brp, &ranking);
        }
    }
    return ranking.n_found;
}

/* The allowed prescalers around a number of clock periods: the first not above it, the next one, or the nearest limit. */
static uint32_t allowed_prescaler(const struct lw_timing_limits *limits, double wanted, uint32_t steps_up)
{
    uint32_t first = (limits->brp_min + limits->brp_inc - 1) / limits->brp_inc, last = limits->brp_max / limits->brp_inc;
    double step = floor(wanted / limits->brp_inc) + steps_up;
    return limits->brp_inc * (step < first ? first : step > last ? last : (uint32_t)step);
}

double lw_timing_nearest_bps(const struct lw_timing_wish *wish)
{
    double nearest = 0;
    for (uint32_t quanta = fewest_quanta(&wish->limits); quanta <= most_quanta(&wish->limits); quanta++)
        for (uint32_t steps_up = 0; steps_up <= 1; steps_up++) {
            double wanted = (double)wish->clock_hz / ((double)quanta * wish->rate_bps);
            double bps = wish->clock_hz / ((double)allowed_prescaler(&wish->limits, wanted, steps_up) * quanta);
            if (nearest == 0 || fabs(bps - wish->rate_bps) < fabs(nearest - wish->rate_bps))
                nearest = bps;
        }
    return nearest;
}
