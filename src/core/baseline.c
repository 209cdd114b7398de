/* SPDX-License-Identifier: MIT
 *
 * Learning what a bus carries, and how long its messages may be silent.
 */
#include "loomwatch/core/baseline.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TOLERANCE_PCT = 10, TOLERANCE_JITTERS = 4, TOLERANCE_MIN_NS = 1000000, ABSENT_PERIODS = 3 };

static const uint64_t ms = UINT64_C(1000000);

static uint64_t max_of(uint64_t a, uint64_t b)
{
    return a > b ? a : b;
}

void lw_baseline_init(struct lw_baseline *baseline)
{
    baseline->n_buses = 0;
    baseline->n_ids = 0;
}

static int by_key(const void *a, const void *b)
{
    return lw_id_key_order(((const struct lw_expected *)a)->key, ((const struct lw_expected *)b)->key);
}

int lw_baseline_find(const struct lw_baseline *baseline, struct lw_id_key key)
{
    struct lw_expected wanted = { .key = key };
    const struct lw_expected *found =
        bsearch(&wanted, baseline->ids, baseline->n_ids, sizeof(baseline->ids[0]), by_key);
    return found ? (int)(found - baseline->ids) : LW_NO_INDEX;
}

int lw_baseline_sort(struct lw_baseline *baseline)
{
    qsort(baseline->ids, baseline->n_ids, sizeof(baseline->ids[0]), by_key);
    for (size_t i = 1; i < baseline->n_ids; i++)
        if (lw_id_key_equal(baseline->ids[i - 1].key, baseline->ids[i].key))
            return (int)i - 1;
    return LW_NO_INDEX;
}

uint64_t lw_expected_late_ns(const struct lw_expected *expected)
{
    uint64_t overdue = max_of(2 * expected->period_ns + expected->tolerance_ns, LW_LATE_FLOOR_MS * ms);
    return max_of(overdue, expected->longest_gap_ns + expected->longest_gap_ns / 4);
}

uint64_t lw_expected_absent_ns(const struct lw_expected *expected)
{
    uint64_t gone = max_of(ABSENT_PERIODS * expected->period_ns, LW_ABSENT_FLOOR_MS * ms);
    return max_of(gone, expected->longest_gap_ns + expected->longest_gap_ns / 4);
}

static uint64_t longest_silence_ns(const struct lw_id_entry *entry)
{
    return max_of(entry->period.longest_ns, entry->longest_wait_ns);
}

/* A message with a rhythm that was not there all the time. What is allowed is three periods, as for absence. */
static bool has_paused(const struct lw_id_entry *entry, const struct lw_learn_bus *bus, uint64_t period_ns)
{
    uint64_t allowed = max_of(ABSENT_PERIODS * period_ns, LW_ABSENT_FLOOR_MS * ms);
    uint64_t could_be_heard = max_of(entry->last_data_ns, bus->back_ns);
    return could_be_heard + allowed < bus->end_ns || longest_silence_ns(entry) > allowed;
}

static uint64_t alive_ns(const struct lw_id_entry *entry, const struct lw_learn_bus *bus)
{
    uint64_t span = entry->last_seen_ns - entry->first_seen_ns;
    return span > bus->hole_ns ? span - bus->hole_ns : span;
}

/* Bursts look cyclic in the newest gaps; over the whole watch they do not. */
static bool keeps_rhythm(const struct lw_id_entry *entry, const struct lw_learn_bus *bus, uint64_t period_ns)
{
    return entry->n_frames * period_ns >= alive_ns(entry, bus) / 3;
}

/* As it would be sent with the data heard last. A message of which only remote frames were heard has no data. */
static struct lw_wire_length heard_length(const struct lw_id_entry *entry, uint8_t format)
{
    struct lw_frame frame = { .id = entry->key.id, .flags = format, .len = entry->last_len };
    frame.flags |= entry->key.is_extended ? LW_FRAME_EXTENDED : 0;
    frame.flags |= entry->n_remote == entry->n_frames ? LW_FRAME_REMOTE : 0;
    memcpy(frame.data, entry->last_data, sizeof(frame.data));
    return lw_wire_length(&frame);
}

static void learn_frame(struct lw_expected *out, const struct lw_id_entry *entry)
{
    out->dlc_seen = entry->dlc_seen;
    if (entry->n_fd > 0)
        out->format = LW_FRAME_FD | (entry->last_flags & LW_FRAME_BRS);
    out->heard = heard_length(entry, out->format);
}

static void learn_one(struct lw_expected *out, const struct lw_id_entry *entry, const struct lw_learn_bus *bus)
{
    struct lw_period period = entry->period;
    lw_period_estimate(&period);
    memset(out, 0, sizeof(*out));
    out->key = entry->key;
    out->rhythm = period.rhythm;
    out->shortest_gap_ns = period.shortest_ns;
    learn_frame(out, entry);
    if (!lw_rhythm_has_period(period.rhythm))
        return;
    if (!keeps_rhythm(entry, bus, period.period_ns)) {
        out->rhythm = LW_RHYTHM_EVENT;
        return;
    }
    out->period_ns = period.period_ns;
    out->jitter_ns = lw_period_widest_ns(&period);
    if (period.rhythm == LW_RHYTHM_BOTH)
        out->most_at_once = (uint16_t)lw_period_most_within(&period, period.period_ns * LW_AT_ONCE_PCT / 100);
    out->tolerance_ns = max_of(max_of(period.period_ns * TOLERANCE_PCT / 100, TOLERANCE_JITTERS * period.jitter_ns),
                               TOLERANCE_MIN_NS);
    out->may_pause = has_paused(entry, bus, period.period_ns);
    out->longest_gap_ns = out->may_pause ? 0 : longest_silence_ns(entry);
}

static void keep_names(struct lw_expected *id, const struct lw_baseline *names)
{
    int found = names ? lw_baseline_find(names, id->key) : LW_NO_INDEX;
    if (found != LW_NO_INDEX) {
        memcpy(id->name, names->ids[found].name, sizeof(id->name));
        memcpy(id->sender, names->ids[found].sender, sizeof(id->sender));
    }
}

static void learn_bus(struct lw_baseline_bus *out, const struct lw_learn_bus *bus)
{
    memset(out, 0, sizeof(*out));
    snprintf(out->name, sizeof(out->name), "%s", bus->name);
    out->bit_rate_bps = bus->bit_rate_bps;
    out->data_bit_rate_bps = bus->data_bit_rate_bps;
    out->watched_ns = bus->end_ns - bus->start_ns;
}

void lw_baseline_learn(struct lw_baseline *out, const struct lw_baseline *names, const struct lw_id_table *table,
                       const struct lw_learn_bus *buses, unsigned n_buses)
{
    out->n_buses = n_buses;
    for (unsigned i = 0; i < n_buses; i++)
        learn_bus(&out->buses[i], &buses[i]);
    out->n_ids = 0;
    for (size_t i = 0; i < table->n_entries; i++) {
        const struct lw_id_entry *entry = &table->entries[i];
        if (entry->n_frames == 0 || entry->key.bus >= n_buses)
            continue;
        struct lw_expected *id = &out->ids[out->n_ids++];
        learn_one(id, entry, &buses[entry->key.bus]);
        keep_names(id, names);
    }
    lw_baseline_sort(out);
}

/* For each bus of the baseline the watched one it stands for, or -1. */
static void match_buses(const struct lw_baseline *baseline, const char *const *watched, unsigned n_watched,
                        int to[LW_MAX_BUSES])
{
    bool is_taken[LW_MAX_BUSES] = { false };
    for (unsigned i = 0; i < baseline->n_buses; i++) {
        to[i] = -1;
        for (unsigned k = 0; k < n_watched && to[i] < 0; k++)
            if (!is_taken[k] && strcmp(baseline->buses[i].name, watched[k]) == 0) {
                to[i] = (int)k;
                is_taken[k] = true;
            }
    }
    for (unsigned i = 0; i < baseline->n_buses && baseline->n_buses == n_watched; i++)
        if (to[i] < 0 && !is_taken[i])
            to[i] = (int)i;
}

size_t lw_baseline_match(struct lw_baseline *baseline, const char *const *watched, unsigned n_watched)
{
    int to[LW_MAX_BUSES];
    struct lw_baseline_bus buses[LW_MAX_BUSES] = { 0 };
    size_t n_kept = 0, n_before = baseline->n_ids;
    match_buses(baseline, watched, n_watched, to);
    for (unsigned i = 0; i < baseline->n_buses; i++)
        if (to[i] >= 0)
            buses[to[i]] = baseline->buses[i];
    for (size_t i = 0; i < n_before; i++) {
        struct lw_expected id = baseline->ids[i];
        if (to[id.key.bus] < 0)
            continue;
        id.key.bus = (uint8_t)to[id.key.bus];
        baseline->ids[n_kept++] = id;
    }
    memcpy(baseline->buses, buses, sizeof(buses));
    for (unsigned i = 0; i < n_watched; i++)
        snprintf(baseline->buses[i].name, LW_BUS_NAME_MAX, "%s", watched[i]);
    baseline->n_buses = n_watched;
    baseline->n_ids = n_kept;
    lw_baseline_sort(baseline);
    return n_before - n_kept;
}
