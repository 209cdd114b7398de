/* SPDX-License-Identifier: MIT
 *
 * The monitor and its baseline: learning one, taking one, tying the messages to it.
 */
#include "monitor_state.h"

struct lw_learn_bus lw_monitor_learn_bus(const struct lw_monitor *monitor, unsigned bus)
{
    const struct bus *b = &monitor->buses[bus];
    return (struct lw_learn_bus){
        .name = monitor->config.bus_names[bus],
        .bit_rate_bps = b->load.bit_rate_bps != 0 ? LW_KNOWN(b->load.bit_rate_bps) : LW_UNKNOWN,
        .data_bit_rate_bps = b->load.data_bit_rate_bps != 0 ? LW_KNOWN(b->load.data_bit_rate_bps) : LW_UNKNOWN,
        .start_ns = b->first_frame_ns != 0 ? b->first_frame_ns : b->start_ns,
        .end_ns = b->silent_since_ns != 0 || b->has_ended ? b->last_frame_ns : b->now_ns,
        .back_ns = b->back_ns, .hole_ns = b->hole_ns,
    };
}

void lw_monitor_learn(const struct lw_monitor *monitor, struct lw_baseline *out)
{
    struct lw_learn_bus buses[LW_MAX_BUSES];
    for (unsigned i = 0; i < monitor->config.n_buses; i++)
        buses[i] = lw_monitor_learn_bus(monitor, i);
    lw_baseline_learn(out, monitor->has_baseline ? &monitor->baseline : NULL, &monitor->table, buses,
                      monitor->config.n_buses);
}

const struct lw_baseline *lw_monitor_baseline(const struct lw_monitor *monitor)
{
    return monitor->has_baseline ? &monitor->baseline : NULL;
}

/* Ties every entry to the baseline anew, and gives each expected message an entry, heard or not. */
static void tie_to_baseline(struct lw_monitor *monitor)
{
    struct lw_id_table *table = &monitor->table;
    for (unsigned i = 0; i < monitor->config.n_buses; i++)
        monitor->buses[i].shortest_expected_ns = 0;
    for (size_t i = 0; i < monitor->baseline.n_ids; i++) {
        const struct lw_expected *expected = &monitor->baseline.ids[i];
        if (expected->key.bus >= monitor->config.n_buses)
            continue;
        struct bus *bus = &monitor->buses[expected->key.bus];
        lw_monitor_place(monitor, bus, expected->key, bus->now_ns);
        uint64_t period = expected->may_pause ? 0 : expected->period_ns;
        if (period != 0 && (bus->shortest_expected_ns == 0 || period < bus->shortest_expected_ns))
            bus->shortest_expected_ns = period;
    }
    for (size_t i = 0; i < table->n_entries; i++) {
        struct lw_id_entry *entry = &table->entries[i];
        entry->expected = (int16_t)lw_baseline_find(&monitor->baseline, entry->key);
        /* What is missing now does not become present by being taken into a baseline. */
        entry->is_quiet = entry->is_quiet || (entry->n_frames > 0 && (entry->conditions & LW_ABSENT));
        entry->conditions = entry->n_frames > 0 && entry->expected == LW_NO_INDEX ? LW_UNEXPECTED : 0;
        entry->condition_since_ns = entry->first_seen_ns;
    }
    monitor->has_baseline = true;
    for (unsigned i = 0; i < monitor->config.n_buses; i++) {
        struct bus *bus = &monitor->buses[i];
        bus->watched_from_ns = bus->now_ns;
        bus->last_unexpected_ns = bus->last_late_ns = 0;
        bus->n_absent = bus->n_changed = bus->n_second_sender = bus->n_unexpected = 0;
    }
}

void lw_monitor_take_baseline(struct lw_monitor *monitor)
{
    const struct lw_id_key first_bus = { .bus = 0 };
    lw_monitor_learn(monitor, &monitor->scratch);
    monitor->baseline = monitor->scratch;
    for (size_t i = 0; i < monitor->table.n_entries; i++)
        monitor->table.entries[i].settled_period_ns = 0;
    tie_to_baseline(monitor);
    monitor->is_baseline_from_file = false;
    monitor->baseline_elapsed_ns = lw_monitor_elapsed_ns(monitor);
    lw_monitor_note(monitor, LW_HAPPENED_BASELINE, first_bus, monitor->buses[0].now_ns, 0);
    lw_monitor_judge_windows(monitor, monitor->buses[0].now_ns);
}

void lw_monitor_set_baseline(struct lw_monitor *monitor, const struct lw_baseline *baseline)
{
    monitor->baseline = *baseline;
    tie_to_baseline(monitor);
    monitor->is_baseline_from_file = true;
    monitor->baseline_elapsed_ns = lw_monitor_elapsed_ns(monitor);
}
