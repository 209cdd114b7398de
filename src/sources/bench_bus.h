/* SPDX-License-Identifier: MIT
 *
 * The seam of the bench: a simulated bus that yields its events in order and takes deeds. Above it bench.c knows time,
 * pace and the contract of a source; below it stands a simulation at frame level, to be replaced by one of bits.
 */
#ifndef LOOMWATCH_SOURCES_BENCH_BUS_H
#define LOOMWATCH_SOURCES_BENCH_BUS_H

#include "bench_adapter.h"

enum { LW_BENCH_PENDING = 16 };

/* When a message goes out next. UINT64_MAX: never. */
struct lw_bench_slot {
    uint64_t base_ns, cyclic_ns, event_ns;
    uint64_t n_cycles, n_events, n_sent;
};

/* A trouble under way: its next step, and how many it has made. */
struct lw_bench_trouble {
    bool is_active;
    uint64_t next_ns;
    unsigned step;
};

struct lw_bench_pending {
    uint64_t t_ns;
    struct lw_bench_deed_row deed;
};

struct lw_bench_bus {
    const struct lw_bench_machine *machine;
    uint64_t seed;
    uint64_t free_ns;                    /* the wire is idle from then on */
    uint64_t join_ns;                    /* UINT64_MAX once the joining unit was plugged in */
    bool has_unit[LW_BENCH_MAX_UNITS];
    struct lw_bench_slot slots[LW_BENCH_MAX_MESSAGES];
    struct lw_bench_trouble burst, bus_off, no_acknowledge;
    uint32_t n_to_drop, n_dropped;       /* adapter overrun under way */
    unsigned n_pending;
    struct lw_bench_pending pending[LW_BENCH_PENDING];   /* oldest first */
    struct lw_bench_adapter adapter;
};

void lw_bench_bus_init(struct lw_bench_bus *self, const struct lw_bench_machine *machine, uint64_t seed, unsigned bus);

/* The next event not later than until_ns. False: there is none. Events depend on the seed and on the deeds and their
 * times alone, not on how often this is called. */
bool lw_bench_bus_next(struct lw_bench_bus *self, uint64_t until_ns, struct lw_event *out);

/* No event comes before this time. */
uint64_t lw_bench_bus_due_ns(const struct lw_bench_bus *self);

/* Does it at t_ns, or after the newest event taken if that is later. Returns 0, or -EINVAL where too many wait. */
int lw_bench_bus_do(struct lw_bench_bus *self, struct lw_bench_deed_row deed, uint64_t t_ns);

/* In bench_message.c: what a message does by itself. Numbers are drawn by hashing the seed with what they are for, so
 * that they do not depend on order. */
uint64_t lw_bench_draw(uint64_t seed, uint32_t what, uint64_t n);
void lw_bench_slot_start(struct lw_bench_bus *self, size_t message, uint64_t t_ns);
void lw_bench_slot_stop(struct lw_bench_slot *slot);
uint64_t lw_bench_slot_release_ns(const struct lw_bench_slot *slot);
void lw_bench_slot_advance(struct lw_bench_bus *self, size_t message);
void lw_bench_frame(const struct lw_bench_bus *self, size_t message, uint64_t t_ns, struct lw_frame *out);

/* In bench_trouble.c: what goes wrong on the bus. */
void lw_bench_trouble_begin(struct lw_bench_bus *self, enum lw_bench_deed deed, uint64_t t_ns);
uint64_t lw_bench_trouble_next_ns(const struct lw_bench_bus *self);
void lw_bench_trouble_step(struct lw_bench_bus *self, uint64_t t_ns);
bool lw_bench_trouble_is_deaf(const struct lw_bench_bus *self);

#endif
