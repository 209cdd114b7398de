/* SPDX-License-Identifier: MIT
 *
 * Our adapter: what its controller does, as its driver tells it. The same fault looks different through different ones; the
 * bench has a personality for each family of drivers. Knows no wires and no bits.
 */
#ifndef LOOMWATCH_BENCH_ADAPTER_H
#define LOOMWATCH_BENCH_ADAPTER_H

#include "loomwatch/bench/mac.h"
#include "loomwatch/bench/plant.h"

enum { LW_N_PERSONALITIES = 12, LW_ADAPTER_QUEUE = 256 };

extern const struct lw_personality lw_personalities[LW_N_PERSONALITIES];

/* The one of that name, or NULL. The first of the table is what a bench file gets that names none. */
const struct lw_personality *lw_personality_find(const char *name);

struct lw_adapter {
    struct lw_personality personality;
    struct lw_link link;                 /* what the driver would tell if asked now */
    enum lw_bus_state state;             /* what it knows, told or not */
    uint16_t tec, rec;
    uint8_t last_violation;              /* data[2] of the last error, for old firmware */
    uint64_t link_due_ns, last_ns;       /* when the driver is asked next; time of the newest event */
    uint8_t bus;
    bool is_recovering;                  /* restarted, and told so, while the controller still waits for an idle bus */
    bool is_late;
    uint32_t n_late;                     /* frames not fetched in time since the last report of it */
    uint32_t n_lost;                     /* events that found the queue full, not yet told */
    unsigned n_waiting, first;
    struct lw_event waiting[LW_ADAPTER_QUEUE];   /* ring */
};

/* The adapter of the plant: up, error active, counters zero. A link report at time 0 waits. */
void lw_adapter_init(struct lw_adapter *adapter, const struct lw_plant *plant, unsigned bus);

/* Its bit timing was changed (damage); data may be that of a classic-only controller. */
void lw_adapter_set_timing(struct lw_adapter *adapter, const struct lw_bit_timing *nominal, const struct lw_bit_timing *data);

/* What lw_mac_sample returned, with the controller's error, counters and frame after it; error and frame are looked at only
 * where reports has their bit. Not to be called for reports of 0. Own frames are told as LW_FRAME_OWN. Where the queue is
 * full, the event is lost and counted, and told as a loss once there is room. */
void lw_adapter_report(struct lw_adapter *adapter, unsigned reports, const struct lw_mac_error *error,
                       const struct lw_confinement *confinement, const struct lw_frame *frame, uint64_t t_ns);

/* Recovery from bus off was asked for. A driver tells "restarted" and "error active" now, not when the controller is back.
 * If this is never called, a report in which the controller is not bus off any more tells it. */
void lw_adapter_restart(struct lw_adapter *adapter, uint64_t t_ns);

/* The computer is late from now on, or no longer: most frames are lost, and told as overrun and loss. */
void lw_adapter_set_late(struct lw_adapter *adapter, bool is_late, uint64_t t_ns);

/* The driver is asked for its link twice a second, while something of it is news: when next, and do it. UINT64_MAX: no news.
 * Bus off and restart are told at once. */
uint64_t lw_adapter_due_ns(const struct lw_adapter *adapter);
void lw_adapter_ask(struct lw_adapter *adapter, uint64_t t_ns);

/* Takes the oldest event. False: there is none. */
bool lw_adapter_take(struct lw_adapter *adapter, struct lw_event *out);

#endif
