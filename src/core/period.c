/* SPDX-License-Identifier: MIT
 *
 * Robust rhythm of one message: the fullest cluster of its newest gaps. A mean would be spoilt by one hole, a median by
 * bursts.
 */
#include "loomwatch/core/period.h"

#include <stdlib.h>
#include <string.h>

enum {
    CLUSTER_PCT = 15,             /* half width of the cluster */
    CYCLIC_PCT = 80, BOTH_PCT = 40,   /* share of the gaps inside it */
    COVERED_PCT = 50,             /* share of the time that ordinary gaps must cover */
    DECAY_NS_LOG2 = 36,           /* about 69 s: older time counts half */
};

static const uint64_t min_observed_ns = UINT64_C(500000000);

void lw_period_init(struct lw_period *period)
{
    memset(period, 0, sizeof(*period));
}

static uint32_t to_us(uint64_t ns)
{
    uint64_t us = (ns + 500) / 1000;
    return us > UINT32_MAX ? UINT32_MAX : (uint32_t)us;
}

void lw_period_add(struct lw_period *period, uint64_t gap_ns)
{
    period->gap_us[period->next] = to_us(gap_ns);
    period->next = (period->next + 1) % LW_PERIOD_GAPS;
    if (period->n_gaps < LW_PERIOD_GAPS)
        period->n_gaps++;
    period->is_stale = true;
    if (period->shortest_ns == 0 || gap_ns < period->shortest_ns)
        period->shortest_ns = gap_ns;
    if (gap_ns > period->longest_ns)
        period->longest_ns = gap_ns;
    /* Before a period is known every gap is ordinary. */
    if (period->period_ns == 0 || gap_ns <= period->period_ns * 5 / 2)
        period->regular_ns += gap_ns;
    period->total_ns += gap_ns;
    if (period->total_ns >> DECAY_NS_LOG2) {
        period->total_ns /= 2;
        period->regular_ns /= 2;
    }
}

static int by_value(const void *a, const void *b)
{
    uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return (x > y) - (x < y);
}

struct cluster {
    size_t first, n;
};

/* The fullest run of sorted gaps whose ends lie within ±CLUSTER_PCT of their middle. Of equally full ones the slower wins:
 * it explains more of the time. */
static struct cluster fullest(const uint32_t *gaps, size_t n)
{
    struct cluster best = { 0, 0 };
    for (size_t first = 0, end = 0; first < n; first++) {
        uint64_t limit = (uint64_t)gaps[first] * (100 + CLUSTER_PCT) / (100 - CLUSTER_PCT) + 1;
        while (end < n && gaps[end] <= limit)
            end++;
        if (end - first >= best.n)
            best = (struct cluster){ first, end - first };
    }
    return best;
}

static uint32_t median_distance(const uint32_t *gaps, struct cluster cluster, uint32_t middle)
{
    uint32_t distance[LW_PERIOD_GAPS];
    for (size_t i = 0; i < cluster.n; i++) {
        uint32_t gap = gaps[cluster.first + i];
        distance[i] = gap > middle ? gap - middle : middle - gap;
    }
    qsort(distance, cluster.n, sizeof(distance[0]), by_value);
    return distance[cluster.n / 2];
}

static uint64_t mean_without_longest_ns(const uint32_t *sorted, size_t n)
{
    uint64_t sum_us = 0;
    for (size_t i = 0; i + 1 < n; i++)
        sum_us += sorted[i];
    return n > 1 ? sum_us * 1000 / (n - 1) : 0;
}

static uint64_t median_unsteady_ns(const struct lw_period *period)
{
    uint32_t gaps[LW_PERIOD_GAPS], changes[LW_PERIOD_GAPS];
    size_t n = lw_period_history(period, gaps);
    for (size_t i = 0; i + 2 < n; i++)
        changes[i] = gaps[i] > gaps[i + 2] ? gaps[i] - gaps[i + 2] : gaps[i + 2] - gaps[i];
    if (n < 3)
        return UINT64_MAX;
    qsort(changes, n - 2, sizeof(changes[0]), by_value);
    return (uint64_t)changes[(n - 2) / 2] * 1000;
}

static uint64_t median_pair_ns(const struct lw_period *period)
{
    uint32_t gaps[LW_PERIOD_GAPS], sums[LW_PERIOD_GAPS];
    size_t n = lw_period_history(period, gaps);
    for (size_t i = 0; i + 1 < n; i++)
        sums[i] = gaps[i] + gaps[i + 1] < gaps[i] ? UINT32_MAX : gaps[i] + gaps[i + 1];
    if (n < 2)
        return 0;
    qsort(sums, n - 1, sizeof(sums[0]), by_value);
    return (uint64_t)sums[(n - 1) / 2] * 1000;
}

/* Share of the time that ordinary gaps cover, for the first estimate: until then all were counted as ordinary. Gaps that the
 * ring no longer holds are taken to have been like those it holds. */
static uint64_t ordinary_permille(const uint32_t *gaps, size_t n, uint32_t middle)
{
    uint64_t ordinary_us = 0, all_us = 0;
    for (size_t i = 0; i < n; i++) {
        all_us += gaps[i];
        ordinary_us += gaps[i] <= (uint64_t)middle * 5 / 2 ? gaps[i] : 0;
    }
    return ordinary_us * 1000 / all_us;
}

static enum lw_rhythm judge(const struct lw_period *period, size_t n_in_cluster)
{
    size_t share = n_in_cluster * 100 / period->n_gaps;
    if (share < BOTH_PCT || period->regular_ns < period->total_ns / 100 * COVERED_PCT)
        return LW_RHYTHM_EVENT;
    return share < CYCLIC_PCT ? LW_RHYTHM_BOTH : LW_RHYTHM_CYCLIC;
}

void lw_period_estimate(struct lw_period *period)
{
    if (!period->is_stale)
        return;
    period->is_stale = false;
    if (period->n_gaps < LW_PERIOD_MIN_GAPS || period->total_ns < min_observed_ns) {
        period->rhythm = LW_RHYTHM_UNKNOWN;
        return;
    }
    uint32_t sorted[LW_PERIOD_GAPS];
    memcpy(sorted, period->gap_us, period->n_gaps * sizeof(sorted[0]));
    qsort(sorted, period->n_gaps, sizeof(sorted[0]), by_value);
    struct cluster cluster = fullest(sorted, period->n_gaps);
    uint32_t middle = sorted[cluster.first + cluster.n / 2];
    if (period->period_ns == 0 && middle > 0)
        period->regular_ns = period->total_ns / 1000 * ordinary_permille(sorted, period->n_gaps, middle);
    period->mean_ns = mean_without_longest_ns(sorted, period->n_gaps);
    period->pair_ns = median_pair_ns(period);
    period->unsteady_ns = median_unsteady_ns(period);
    period->period_ns = (uint64_t)middle * 1000;
    period->jitter_ns = (uint64_t)median_distance(sorted, cluster, middle) * 1000;
    period->rhythm = middle > 0 ? judge(period, cluster.n) : LW_RHYTHM_EVENT;
}

uint64_t lw_period_widest_ns(const struct lw_period *period)
{
    uint64_t middle = period->period_ns / 1000, widest = 0;
    for (size_t i = 0; i < period->n_gaps; i++) {
        uint64_t gap = period->gap_us[i], off = gap > middle ? gap - middle : middle - gap;
        /* A cluster is no wider than this on either side of its middle. */
        if (off * (100 - CLUSTER_PCT) <= middle * 2 * CLUSTER_PCT && off > widest)
            widest = off;
    }
    return widest * 1000;
}

size_t lw_period_history(const struct lw_period *period, uint32_t out_us[LW_PERIOD_GAPS])
{
    size_t start = period->n_gaps < LW_PERIOD_GAPS ? 0 : period->next;
    for (size_t i = 0; i < period->n_gaps; i++)
        out_us[i] = period->gap_us[(start + i) % LW_PERIOD_GAPS];
    return period->n_gaps;
}

unsigned lw_period_most_within(const struct lw_period *period, uint64_t window_ns)
{
    uint32_t gaps[LW_PERIOD_GAPS];
    size_t n = lw_period_history(period, gaps), first = 0;
    unsigned most = n > 0 ? 1 : 0;
    uint64_t span_us = 0;
    for (size_t last = 0; last < n; last++) {
        span_us += gaps[last];
        while (first <= last && span_us * 1000 >= window_ns)
            span_us -= gaps[first++];
        if (last + 2 - first > most)
            most = (unsigned)(last + 2 - first);
    }
    return most;
}

bool lw_rhythm_has_period(enum lw_rhythm rhythm)
{
    return rhythm == LW_RHYTHM_CYCLIC || rhythm == LW_RHYTHM_BOTH;
}

const char *lw_rhythm_name(enum lw_rhythm rhythm)
{
    static const char *const names[] = {
        [LW_RHYTHM_UNKNOWN] = "unknown", [LW_RHYTHM_CYCLIC] = "cyclic", [LW_RHYTHM_EVENT] = "event",
        [LW_RHYTHM_BOTH] = "both",
    };
    return names[rhythm];
}
