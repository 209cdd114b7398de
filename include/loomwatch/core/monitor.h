/* SPDX-License-Identifier: MIT
 *
 * The core as a whole: takes events, knows the state of every watched bus, raises alarms, keeps the diary. No I/O,
 * no clock: time comes with each event and each tick.
 */
#ifndef LOOMWATCH_CORE_MONITOR_H
#define LOOMWATCH_CORE_MONITOR_H

#include "loomwatch/core/snapshot.h"

struct lw_monitor_config {
    unsigned n_buses;                             /* 1..LW_MAX_BUSES */
    char bus_names[LW_MAX_BUSES][LW_BUS_NAME_MAX];
    uint32_t bit_rate_bps, data_bit_rate_bps;     /* stated by the user; 0 = as the link tells */
    enum lw_sequence sequence;
    uint32_t load_limit_permille;                 /* the load window lights above it */
};

struct lw_monitor;

/* Everything it will ever need is allocated here. NULL if there is no memory. Destroy takes NULL. */
struct lw_monitor *lw_monitor_create(const struct lw_monitor_config *config);
void lw_monitor_destroy(struct lw_monitor *monitor);

/* Takes one event. event->bus beyond the configured ones is counted as lost. */
void lw_monitor_feed(struct lw_monitor *monitor, const struct lw_event *event);

/* Judges what only the passing of time tells: late, absent, silent, rates, alarms that clear. now_ns is bus time of that
 * bus; call it at least every 100 ms of bus time. The first tick or event of a bus starts its watch. */
void lw_monitor_tick(struct lw_monitor *monitor, unsigned bus, uint64_t now_ns);

/* The source of this bus will deliver no more (end of a capture): from now on nothing becomes absent on it. */
void lw_monitor_end(struct lw_monitor *monitor, unsigned bus);

/* Marks this moment on every bus, and what was done: what is heard for the first time after it counts as new since the mark. */
void lw_monitor_mark(struct lw_monitor *monitor, enum lw_mark mark);

/* Takes a meter reading of a bus as evidence, entered now; the oldest is forgotten when there are too many. */
void lw_monitor_reading(struct lw_monitor *monitor, unsigned bus, const struct lw_meter_reading *reading);

/* Whether frames came on this bus within the last second: then ohms cannot be measured on it. */
bool lw_monitor_is_live(const struct lw_monitor *monitor, unsigned bus);

/* Learns the baseline from all that was seen since the start of the watch, and compares with it from now on. */
void lw_monitor_take_baseline(struct lw_monitor *monitor);

/* Compares with a given baseline (copied). Its nth bus is the nth watched one. */
void lw_monitor_set_baseline(struct lw_monitor *monitor, const struct lw_baseline *baseline);

/* The baseline that it compares with, borrowed until the next one is taken or set; NULL = none yet. */
const struct lw_baseline *lw_monitor_baseline(const struct lw_monitor *monitor);

/* The baseline as it would be learned now; names of a present baseline are kept. */
void lw_monitor_learn(const struct lw_monitor *monitor, struct lw_baseline *out);

/* The recording cannot be written any more, or can again. */
void lw_monitor_set_record_failed(struct lw_monitor *monitor, bool has_failed);

/* The annunciator, for its buttons. Borrowed; lives as long as the monitor. */
struct lw_alarms *lw_monitor_alarms(struct lw_monitor *monitor);

/* Copies the present picture out. detail: the message to copy whole, or NULL. */
void lw_monitor_snapshot(const struct lw_monitor *monitor, const struct lw_id_key *detail, struct lw_snapshot *out);

#endif
