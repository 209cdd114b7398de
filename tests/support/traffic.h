/* SPDX-License-Identifier: MIT
 *
 * A machine's bus in fake time: cyclic senders that can be taken off, whole buses that can fall dead, and a monitor that
 * watches them, ticked every 10 ms as the program does.
 */
#ifndef LOOMWATCH_TEST_TRAFFIC_H
#define LOOMWATCH_TEST_TRAFFIC_H

#include "cases.h"
#include "loomwatch/core/monitor.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TRAFFIC_SENDERS = 128, TRAFFIC_TICK_MS = 10 };

static const uint64_t ms = 1000000;

struct sender {
    struct lw_frame frame;
    uint8_t bus;
    bool is_off;
    uint64_t period_ns, next_ns;     /* the schedule; frames come up to jitter_ns after it, less than a period */
    uint64_t jitter_ns, jitter_seed;
};

struct traffic {
    struct lw_monitor *monitor;
    uint64_t start_ns, now_ns, tick_ns;
    unsigned n_buses, n_senders;
    struct sender senders[TRAFFIC_SENDERS];
    bool is_dead[LW_MAX_BUSES];      /* nobody on this bus sends */
    struct lw_snapshot snapshot;
};

static inline struct traffic *traffic_create(unsigned n_buses, uint64_t start_ns)
{
    struct lw_monitor_config config = {
        .n_buses = n_buses, .bit_rate_bps = 500000, .sequence = LW_SEQUENCE_F3M, .load_limit_permille = 800,
    };
    struct traffic *traffic = calloc(1, sizeof(*traffic));
    for (unsigned i = 0; i < n_buses; i++)
        snprintf(config.bus_names[i], sizeof(config.bus_names[i]), "can%u", i);
    if (traffic)
        traffic->monitor = lw_monitor_create(&config);
    if (!traffic || !traffic->monitor)
        abort();
    traffic->n_buses = n_buses;
    traffic->start_ns = traffic->now_ns = traffic->tick_ns = start_ns;
    return traffic;
}

static inline void traffic_destroy(struct traffic *traffic)
{
    lw_monitor_destroy(traffic->monitor);
    free(traffic);
}

/* The first frame comes phase_ms from now. */
static inline struct sender *traffic_add(struct traffic *traffic, uint32_t id, unsigned period_ms, unsigned phase_ms)
{
    if (traffic->n_senders == TRAFFIC_SENDERS)
        abort();
    struct sender *sender = &traffic->senders[traffic->n_senders++];
    *sender = (struct sender){ .frame = { .id = id, .len = 8 }, .period_ns = period_ms * ms,
                               .next_ns = traffic->now_ns + phase_ms * ms };
    return sender;
}

/* A machine's worth of senders: n of them from id 0x100 on, periods 10 to 1000 ms, phases spread. */
static inline void traffic_add_machine(struct traffic *traffic, unsigned n, unsigned bus)
{
    static const unsigned periods_ms[] = { 100, 10, 20, 50, 100, 200, 500, 1000, 100, 20 };
    for (unsigned i = 0; i < n; i++)
        traffic_add(traffic, 0x100 + i, periods_ms[i % N_ROWS(periods_ms)], 1 + 7 * i % 10)->bus = (uint8_t)bus;
}

static inline struct sender *traffic_sender(struct traffic *traffic, uint32_t id)
{
    for (unsigned i = 0; i < traffic->n_senders; i++)
        if (traffic->senders[i].frame.id == id)
            return &traffic->senders[i];
    abort();
}

static inline void traffic_feed(struct traffic *traffic, unsigned bus, struct lw_event event)
{
    event.t_ns = traffic->now_ns;
    event.bus = (uint8_t)bus;
    lw_monitor_feed(traffic->monitor, &event);
}

static inline void traffic_error(struct traffic *traffic, unsigned bus, struct lw_error error)
{
    traffic_feed(traffic, bus, (struct lw_event){ .kind = LW_EVENT_ERROR, .error = error });
}

static inline struct sender *traffic_next(struct traffic *traffic)
{
    struct sender *next = NULL;
    for (unsigned i = 0; i < traffic->n_senders; i++)
        if (!next || traffic->senders[i].next_ns < next->next_ns)
            next = &traffic->senders[i];
    return next;
}

static inline void traffic_schedule(struct sender *sender)
{
    uint64_t schedule_ns = sender->next_ns - (sender->jitter_ns > 0 ? sender->jitter_seed % sender->jitter_ns : 0);
    sender->jitter_seed = sender->jitter_seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);   /* Knuth */
    sender->jitter_seed >>= 8;
    sender->next_ns = schedule_ns + sender->period_ns + (sender->jitter_ns > 0 ? sender->jitter_seed % sender->jitter_ns : 0);
}

/* Lets the machine run for so long. */
static inline void traffic_pass(struct traffic *traffic, uint64_t duration_ns)
{
    uint64_t end_ns = traffic->now_ns + duration_ns;
    for (;;) {
        struct sender *next = traffic_next(traffic);
        if (next && next->next_ns < traffic->tick_ns && next->next_ns < end_ns) {
            traffic->now_ns = next->next_ns;
            if (!next->is_off && !traffic->is_dead[next->bus])
                traffic_feed(traffic, next->bus, (struct lw_event){ .kind = LW_EVENT_FRAME, .frame = next->frame });
            traffic_schedule(next);
            continue;
        }
        if (traffic->tick_ns >= end_ns)
            break;
        traffic->now_ns = traffic->tick_ns;
        for (unsigned i = 0; i < traffic->n_buses; i++)
            lw_monitor_tick(traffic->monitor, i, traffic->now_ns);
        traffic->tick_ns += TRAFFIC_TICK_MS * ms;
    }
    traffic->now_ns = end_ns;
}

static inline void traffic_run(struct traffic *traffic, unsigned duration_ms)
{
    traffic_pass(traffic, duration_ms * ms);
}

static inline const struct lw_snapshot *traffic_look(struct traffic *traffic)
{
    lw_monitor_snapshot(traffic->monitor, NULL, &traffic->snapshot);
    return &traffic->snapshot;
}

static inline const struct lw_tile *traffic_tile(struct traffic *traffic, unsigned bus, uint32_t id)
{
    const struct lw_snapshot *snapshot = traffic_look(traffic);
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        if (snapshot->tiles[i].key.id == id && snapshot->tiles[i].key.bus == bus)
            return &snapshot->tiles[i];
    return NULL;
}

static inline bool traffic_is_lit(struct traffic *traffic, enum lw_window window)
{
    return traffic_look(traffic)->alarms.windows[window].is_abnormal;
}

/* How often a kind stands in the diary, joined ones counted singly. */
static inline unsigned traffic_told(struct traffic *traffic, enum lw_happening_kind kind)
{
    const struct lw_snapshot *snapshot = traffic_look(traffic);
    unsigned n = 0;
    for (size_t i = 0; i < snapshot->n_diary; i++)
        n += snapshot->diary[i].kind == kind ? snapshot->diary[i].count : 0;
    return n;
}

/* Windows that are or were lit. */
static inline unsigned traffic_n_windows(struct traffic *traffic)
{
    const struct lw_snapshot *snapshot = traffic_look(traffic);
    unsigned n = 0;
    for (int i = 0; i < LW_N_WINDOWS; i++)
        n += snapshot->alarms.windows[i].state != LW_WINDOW_NORMAL;
    return n;
}

#endif
