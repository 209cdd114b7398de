/* SPDX-License-Identifier: MIT
 *
 * A bus for tests of response times: frames as lengths of time, the highest priority that waits goes next and is not
 * interrupted. It shares nothing with the analysis.
 */
#ifndef LOOMWATCH_TEST_ARBITRATION_H
#define LOOMWATCH_TEST_ARBITRATION_H

#include "loomwatch/calc/response_time.h"

#include "random_event.h"

enum { ARBITRATION_MAX = 16 };

struct arbitration {
    size_t n;
    const struct lw_demand *demands;       /* winner first */
    uint64_t phase[ARBITRATION_MAX];       /* when the first moment that counts is */
    bool is_worst_jitter;                  /* the first is queued as late as may be, all others at once; else by chance */
    uint64_t busy_until;                   /* by something that nobody knows */
    unsigned n_faults;                     /* put where chance wants them */
    uint64_t recovery, *seed;
    /* Moved on by the run. */
    uint64_t nominal[ARBITRATION_MAX], queued[ARBITRATION_MAX], worst[ARBITRATION_MAX];
    uint32_t n_more[ARBITRATION_MAX];      /* of the instance, still to be sent after the next */
};

static inline uint64_t arbitration_jitter(const struct arbitration *bus, size_t i, bool is_first)
{
    uint64_t jitter = bus->demands[i].jitter_ns;
    if (bus->is_worst_jitter)
        return is_first ? jitter : 0;
    return jitter > 0 ? random_bits(bus->seed) % (jitter + 1) : 0;
}

/* The next instance of message i. A unit sends its frames in their order: none is queued before the one ahead of it. */
static inline void arbitration_release(struct arbitration *bus, size_t i, bool is_first)
{
    uint64_t before = is_first ? 0 : bus->queued[i];
    bus->nominal[i] = is_first ? bus->phase[i] : bus->nominal[i] + bus->demands[i].period_ns;
    bus->queued[i] = bus->nominal[i] + arbitration_jitter(bus, i, is_first);
    if (bus->queued[i] < before)
        bus->queued[i] = before;
    bus->n_more[i] = bus->demands[i].n_more;
}

static inline size_t arbitration_winner(const struct arbitration *bus, uint64_t now)
{
    size_t i = 0;
    while (i < bus->n && bus->queued[i] > now)
        i++;
    return i;
}

static inline uint64_t arbitration_next_queued(const struct arbitration *bus)
{
    uint64_t next = UINT64_MAX;
    for (size_t i = 0; i < bus->n; i++)
        next = bus->queued[i] < next ? bus->queued[i] : next;
    return next;
}

/* Runs until `end`; worst[] holds the longest time each message took then, from the moment that counts. */
static inline void arbitration_run(struct arbitration *bus, uint64_t end)
{
    for (size_t i = 0; i < bus->n; i++) {
        bus->worst[i] = 0;
        arbitration_release(bus, i, true);
    }
    unsigned faults_left = bus->n_faults;
    for (uint64_t now = bus->busy_until; now < end;) {
        size_t i = arbitration_winner(bus, now);
        if (i == bus->n) {
            now = arbitration_next_queued(bus);
            continue;
        }
        uint64_t frame = bus->demands[i].frame_ns;
        if (faults_left > 0 && random_below(bus->seed, 4) == 0) {
            faults_left--;
            now += 1 + random_bits(bus->seed) % frame + bus->recovery;
            continue;
        }
        now += frame;
        if (now - bus->nominal[i] > bus->worst[i])
            bus->worst[i] = now - bus->nominal[i];
        if (bus->n_more[i] > 0)
            bus->n_more[i]--;
        else
            arbitration_release(bus, i, false);
    }
}

#endif
