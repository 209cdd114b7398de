/* SPDX-License-Identifier: MIT
 *
 * How many events a second the core takes from memory: 150 messages, classic frames, whole monitor. Beside it, in the
 * same run, a bare loop that only walks and sums the same events. Run by `meson test --benchmark`.
 */
#include "loomwatch/core/monitor.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { N_IDS = 150, N_EVENTS = 300000, ROUNDS = 5, STEP_NS = 100000, TICK_EVERY = 1000 };

static double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

/* 150 messages of 15 ms each, with a counter, a slow signal and a little jitter. */
static struct lw_event *make_events(void)
{
    struct lw_event *events = calloc(N_EVENTS, sizeof *events);
    for (size_t i = 0; events && i < N_EVENTS; i++) {
        struct lw_event *event = &events[i];
        event->t_ns = (i + 1) * STEP_NS + i * 7919 % 20000;
        event->kind = LW_EVENT_FRAME;
        event->stamp = LW_STAMP_BENCH;
        event->frame.id = (uint32_t)(0x080 + i % N_IDS * 11);
        event->frame.len = 8;
        for (unsigned byte = 0; byte < 8; byte++)
            event->frame.data[byte] = (uint8_t)(i / N_IDS >> byte);
    }
    return events;
}

static double bare(const struct lw_event *events, uint64_t *sum)
{
    double start = seconds();
    for (size_t i = 0; i < N_EVENTS; i++) {
        const struct lw_event *event = &events[i];
        *sum += event->t_ns + event->kind + event->frame.id;
        for (unsigned byte = 0; byte < event->frame.len; byte++)
            *sum += event->frame.data[byte];
    }
    return seconds() - start;
}

static double feed(const struct lw_event *events)
{
    const struct lw_monitor_config config = {
        .n_buses = 1, .bit_rate_bps = 1000000, .sequence = LW_SEQUENCE_F3M, .load_limit_permille = 800,
    };
    struct lw_monitor *monitor = lw_monitor_create(&config);
    if (!monitor)
        return -1;
    double start = seconds();
    for (size_t i = 0; i < N_EVENTS; i++) {
        lw_monitor_feed(monitor, &events[i]);
        if (i % TICK_EVERY == 0)
            lw_monitor_tick(monitor, 0, events[i].t_ns);
    }
    double took = seconds() - start;
    lw_monitor_destroy(monitor);
    return took;
}

int main(void)
{
    struct lw_event *events = make_events();
    if (!events)
        return 1;
    uint64_t sum = 0;
    double best_bare = 1e9, best_feed = 1e9;
    for (int round = 0; round < ROUNDS; round++) {
        double took_bare = bare(events, &sum), took_feed = feed(events);
        if (took_feed < 0)
            return 1;
        best_bare = took_bare < best_bare ? took_bare : best_bare;
        best_feed = took_feed < best_feed ? took_feed : best_feed;
    }
    free(events);
    printf("core from memory, %d messages, best of %d: %.0f events/s; bare walk %.0f events/s (sum %016llx); "
           "ratio %.3f\n", N_IDS, ROUNDS, N_EVENTS / best_feed, N_EVENTS / best_bare, (unsigned long long)sum,
           best_bare / best_feed);
    return 0;
}
