/* SPDX-License-Identifier: MIT
 *
 * The revised analysis: for each message the longest time in which the bus is busy with it and what goes before it, and in
 * that time every instance of the message. Each delay is the least solution of w = f(w) with a growing f, found by going up
 * from below; what is known to lie below shortens the way.
 */
#include "loomwatch/calc/response_time.h"

enum {
    MAX_INSTANCES = 20000, MAX_ROUNDS = 10000,    /* of one message */
    MAX_STEPS = 200000000,                        /* of all messages: about half a second */
};

static const uint64_t longest_ns = UINT64_C(3600000000000);

struct level {
    const struct lw_demand *demands;
    size_t m;                 /* the message */
    uint64_t blocking_ns;     /* B */
    uint64_t faults_ns;       /* E */
    uint64_t bit_ns;
    unsigned rounds_left;
    uint64_t *steps_left;     /* of all levels together */
};

double lw_demand_share(const struct lw_demand *demands, size_t n)
{
    double share = 0;
    for (size_t i = 0; i < n; i++)
        share += (1.0 + demands[i].n_more) * (double)demands[i].frame_ns / (double)demands[i].period_ns;
    return share;
}

static uint64_t max_of(uint64_t a, uint64_t b)
{
    return a > b ? a : b;
}

static uint64_t longest_frame_ns(const struct lw_demand *demands, size_t from, size_t to)
{
    uint64_t longest = 0;
    for (size_t i = from; i < to; i++)
        longest = max_of(longest, demands[i].frame_ns);
    return longest;
}

static uint64_t all_frames_ns(const struct lw_demand *demand)
{
    return (1 + (uint64_t)demand->n_more) * demand->frame_ns;
}

/* What the first n messages can bring in a window of this length that is open at its end by `open`. */
static uint64_t brought_ns(const struct lw_demand *demands, size_t n, uint64_t window_ns, uint64_t open_ns)
{
    uint64_t sum = 0;
    for (size_t i = 0; i < n; i++) {
        const struct lw_demand *d = &demands[i];
        uint64_t brought, n_instances = (window_ns + d->jitter_ns + open_ns + d->period_ns - 1) / d->period_ns;
        if (__builtin_mul_overflow(n_instances, all_frames_ns(d), &brought) || brought > longest_ns || sum > longest_ns)
            return longest_ns + 1;
        sum += brought;
    }
    return sum;
}

/* Goes up from start, which lies at or below it, to the least w = constant + what comes in w. False if that is out of reach. */
static bool climb(struct level *level, size_t n, uint64_t constant_ns, uint64_t open_ns, uint64_t start_ns, uint64_t *out_ns)
{
    uint64_t w = start_ns, next = start_ns;
    do {
        w = next;
        if (level->rounds_left == 0 || *level->steps_left < n || w > longest_ns)
            return false;
        level->rounds_left--;
        *level->steps_left -= n;
        next = max_of(w, constant_ns + brought_ns(level->demands, n, w, open_ns));
    } while (next != w);
    *out_ns = w;
    return true;
}

/* busy_ns: in, a busy time that is not longer; out, the one of this level. */
static bool busy_time(struct level *level, uint64_t *busy_ns)
{
    uint64_t start = max_of(*busy_ns, level->demands[level->m].frame_ns);
    return climb(level, level->m + 1, level->blocking_ns + level->faults_ns, 0, start, busy_ns);
}

static bool walk_instances(struct level *level, uint64_t busy_ns, struct lw_response *out)
{
    const struct lw_demand *own = &level->demands[level->m];
    uint64_t n_instances = (busy_ns + own->jitter_ns + own->period_ns - 1) / own->period_ns;
    uint64_t w = level->blocking_ns;
    if (n_instances > MAX_INSTANCES)
        return false;
    for (uint64_t q = 0; q < n_instances; q++) {
        uint64_t own_before = q * all_frames_ns(own) + own->n_more * own->frame_ns;
        uint64_t constant = level->blocking_ns + level->faults_ns + own_before;
        if (!climb(level, level->m, constant, level->bit_ns, w, &w))
            return false;
        uint64_t finished = own->jitter_ns + w + own->frame_ns, wanted = q * own->period_ns;
        if (finished > wanted && finished - wanted > out->response_ns) {
            out->response_ns = finished - wanted;
            out->queueing_ns = w;
            out->instance = (uint32_t)q;
        }
        w += own->frame_ns;
    }
    out->n_instances = (uint32_t)n_instances;
    return true;
}

static struct level make_level(const struct lw_demand *demands, size_t n, size_t m, const struct lw_response_setting *setting,
                               uint64_t *steps_left)
{
    struct level level = { .demands = demands, .m = m, .bit_ns = setting->bit_ns, .rounds_left = MAX_ROUNDS,
                           .steps_left = steps_left };
    level.blocking_ns = longest_frame_ns(demands, m + 1, n);
    /* Each fault at the end of the longest frame that then goes again before, or as, this message. */
    uint64_t one_fault = LW_RECOVERY_BITS * setting->bit_ns + longest_frame_ns(demands, 0, m + 1);
    level.faults_ns = setting->n_faults * one_fault;
    return level;
}

/* busy_ns: of the level above, to begin with. One that was too long stays so: it grows from level to level, since what a
 * message no longer blocks it brings itself. */
static struct lw_response respond(struct level *level, uint64_t *busy_ns)
{
    struct lw_response out = { .blocking_ns = level->blocking_ns };
    if (*busy_ns <= longest_ns && !busy_time(level, busy_ns))
        *busy_ns = UINT64_MAX;
    out.is_bounded = *busy_ns <= longest_ns && walk_instances(level, *busy_ns, &out);
    if (!out.is_bounded)
        out.response_ns = 0;
    return out;
}

void lw_response_times(const struct lw_demand *demands, size_t n, const struct lw_response_setting *setting,
                       struct lw_response *out)
{
    double share = 0;
    uint64_t busy_ns = 0, steps_left = MAX_STEPS;
    for (size_t m = 0; m < n; m++) {
        struct level level = make_level(demands, n, m, setting, &steps_left);
        share += lw_demand_share(&demands[m], 1);
        if (share < 1)
            out[m] = respond(&level, &busy_ns);
        else
            out[m] = (struct lw_response){ .blocking_ns = level.blocking_ns };
    }
}
