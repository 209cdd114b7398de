/* SPDX-License-Identifier: MIT
 *
 * A baseline and a module of a few messages, for tests of what becomes of them.
 */
#ifndef LOOMWATCH_TEST_SMALL_TRAFFIC_H
#define LOOMWATCH_TEST_SMALL_TRAFFIC_H

#include "loomwatch/calc/traffic.h"

#include <stdio.h>
#include <string.h>

struct small_traffic {
    struct lw_baseline baseline;
    struct lw_module module;
    struct lw_traffic traffic;
    struct lw_traffic_question question;
};

/* A bus of 500 kbit/s with nothing on it, a module that sends nothing. */
static inline void small_traffic_begin(struct small_traffic *small)
{
    memset(small, 0, sizeof(*small));
    small->baseline.n_buses = 1;
    snprintf(small->baseline.buses[0].name, LW_BUS_NAME_MAX, "can0");
    small->baseline.buses[0].bit_rate_bps = LW_KNOWN(500000);
    small->baseline.buses[0].watched_ns = UINT64_C(60000000000);
    small->question = (struct lw_traffic_question){ .baseline = &small->baseline, .module = &small->module,
                                                    .bit_rate_bps = 500000, .assumed_gap_ns = 100000000 };
}

/* A cyclic message of 8 bytes with a known jitter of less than a microsecond. */
static inline struct lw_expected *small_traffic_hear(struct small_traffic *small, const char *id, uint64_t period_us)
{
    struct lw_expected *out = &small->baseline.ids[small->baseline.n_ids++];
    memset(out, 0, sizeof(*out));
    lw_id_parse(id, &out->key);
    out->dlc_seen = 1 << 8;
    out->rhythm = LW_RHYTHM_CYCLIC;
    out->period_ns = out->shortest_gap_ns = period_us * 1000;
    out->tolerance_ns = out->period_ns / 10;
    return out;
}

static inline struct lw_module_message *small_traffic_add(struct small_traffic *small, const char *id, uint64_t period_us)
{
    struct lw_module_message *out = &small->module.messages[small->module.n_messages++];
    memset(out, 0, sizeof(*out));
    lw_id_parse(id, &out->key);
    out->len = 8;
    out->period_ns = period_us * 1000;
    return out;
}

/* The message of this identifier: the module's where both send it. */
static inline const struct lw_traffic_message *small_traffic_find(const struct small_traffic *small, const char *id)
{
    struct lw_id_key key = { 0 };
    const struct lw_traffic_message *found = NULL;
    lw_id_parse(id, &key);
    for (size_t i = 0; i < small->traffic.n; i++)
        if (lw_id_key_equal(small->traffic.messages[i].key, key))
            found = &small->traffic.messages[i];
    return found;
}

#endif
