/* SPDX-License-Identifier: MIT
 *
 * The adapter with which the bench is watched: error counters, state, and the reports a driver makes of them. Private
 * to the bench.
 */
#ifndef LOOMWATCH_SOURCES_BENCH_ADAPTER_H
#define LOOMWATCH_SOURCES_BENCH_ADAPTER_H

#include "bench_machine.h"

enum { LW_BENCH_WAITING = 8 };

struct lw_bench_adapter {
    unsigned tec, rec;
    struct lw_link link;                /* what the driver would tell if asked now */
    uint64_t link_due_ns;               /* when the driver is asked next; UINT64_MAX: there are no news */
    uint64_t last_ns;                   /* time of the newest event: none is earlier */
    unsigned bus;
    unsigned n_waiting, first;
    struct lw_event waiting[LW_BENCH_WAITING];   /* ring */
};

/* Up, error active, all counters zero. The first event, a link report at time 0, is waiting. */
void lw_bench_adapter_init(struct lw_bench_adapter *adapter, const struct lw_bench_machine *machine, unsigned bus);

/* Takes the oldest waiting event not later than until_ns. False: there is none. */
bool lw_bench_adapter_take(struct lw_bench_adapter *adapter, uint64_t until_ns, struct lw_event *out);

/* A good frame was received. Both counters heal by one: REC by ISO 11898-1; TEC because the other program on this
 * computer whose frames went wrong is now getting them through (they are not shown). */
void lw_bench_adapter_frame(struct lw_bench_adapter *adapter, const struct lw_frame *frame, uint64_t t_ns);

/* An error on the wire, reported as linux/can/error.h says: class bits (protocol, bus error and counters are added),
 * violation (data[2]) and place (data[3]). The counters must have been raised by lw_bench_adapter_count before. */
void lw_bench_adapter_error(struct lw_bench_adapter *adapter, uint32_t class_bits, uint8_t violation, uint8_t place,
                            uint64_t t_ns);

/* Sets the counters, and reports the change of state if there is one. tec of 256 is bus off. */
void lw_bench_adapter_count(struct lw_bench_adapter *adapter, unsigned tec, unsigned rec, uint64_t t_ns);

/* Ends bus off: counters zero, error active, restart report. */
void lw_bench_adapter_restart(struct lw_bench_adapter *adapter, uint64_t t_ns);

/* The adapter's memory ran over: n_frames were not kept. */
void lw_bench_adapter_overrun(struct lw_bench_adapter *adapter, uint32_t n_frames, uint64_t t_ns);

/* The driver is asked: its answer waits as an event. */
void lw_bench_adapter_tell_link(struct lw_bench_adapter *adapter, uint64_t t_ns);

#endif
