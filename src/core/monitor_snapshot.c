/* SPDX-License-Identifier: MIT
 *
 * Copies the monitor's picture out, whole and without pointers.
 */
#include "monitor_state.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A source that has no controller to ask, or whose driver tells nothing of it, and has not reported an error yet, cannot be said
 * to have none. */
static bool can_tell_errors(const struct bus *bus)
{
    const struct lw_controller *controller = &bus->controller;
    const struct lw_link *link = &controller->link;
    bool is_off = link->error_reporting.is_known && link->error_reporting.value == 0;
    bool tells_something = link->error_reporting.is_known || controller->tec.is_known || controller->state != LW_STATE_UNKNOWN
        || link->n_bus_errors.is_known;
    return controller->bus_errors.n > 0
        || (controller->has_link && link->controller == LW_CONTROLLER_REAL && !is_off && tells_something);
}

static void copy_bus(const struct lw_monitor *monitor, unsigned index, struct lw_bus_view *out)
{
    const struct bus *bus = &monitor->buses[index];
    snprintf(out->name, sizeof(out->name), "%s", monitor->config.bus_names[index]);
    out->has_ended = bus->has_ended;
    out->now_ns = bus->now_ns;
    out->start_ns = bus->start_ns;
    out->last_frame_ns = bus->last_frame_ns;
    out->silent_since_ns = bus->silent_since_ns;
    out->controller = bus->controller;
    out->bit_rate_bps = bus->load.bit_rate_bps != 0 ? LW_KNOWN(bus->load.bit_rate_bps) : LW_UNKNOWN;
    out->is_deaf = lw_monitor_is_deaf(bus);
    out->load_permille = out->is_deaf ? LW_UNKNOWN : lw_load_permille(&bus->load);
    out->load_peak_permille = lw_load_peak_permille(&bus->load);
    out->n_frames = bus->n_frames;
    out->can_tell_errors = can_tell_errors(bus);
    out->can_tell_losses = bus->controller.has_link || bus->n_lost > 0;
    out->n_lost = bus->n_lost;
    out->n_own = bus->n_own;
    out->frames_hz = out->is_deaf || bus->has_ended ? LW_UNKNOWN : LW_KNOWN(bus->frames_hz);
    out->errors_hz = bus->errors_hz;
    out->n_history = bus->n_history;
    memcpy(out->load_history, bus->load_history, sizeof(out->load_history));
    memcpy(out->frames_history, bus->frames_history, sizeof(out->frames_history));
    memcpy(out->errors_history, bus->errors_history, sizeof(out->errors_history));
    out->loss = bus->loss;
    memcpy(out->facts, bus->evidence.facts, sizeof(out->facts));
    out->verdict = bus->verdict.current;
    out->readings = bus->readings;
}

static void copy_tile(const struct lw_monitor *monitor, const struct lw_id_entry *entry, struct lw_tile *out)
{
    static const struct lw_expected none;
    const struct lw_expected *expected =
        entry->expected != LW_NO_INDEX ? &monitor->baseline.ids[entry->expected] : &none;
    const struct bus *bus = &monitor->buses[entry->key.bus];
    memset(out, 0, sizeof(*out));
    out->key = entry->key;
    memcpy(out->name, expected->name, sizeof(out->name));
    lw_monitor_unit_name(monitor, entry, out->unit);
    out->conditions = entry->conditions;
    out->is_heard = entry->n_frames > 0;
    out->is_since_mark = monitor->has_mark && out->is_heard && entry->first_seen_ns > bus->mark_ns;
    out->is_stale = bus->silent_since_ns != 0 || lw_monitor_is_deaf(bus);
    out->is_quiet = entry->is_quiet;
    out->rhythm = entry->period.rhythm;
    out->period_ns = entry->period.rhythm == LW_RHYTHM_EVENT ? 0 : entry->period.period_ns;
    out->jitter_ns = out->period_ns != 0 ? entry->period.jitter_ns : 0;
    out->expected_period_ns = expected->period_ns;
    out->first_seen_ns = entry->first_seen_ns;
    out->last_seen_ns = entry->last_seen_ns;
    out->condition_since_ns = entry->condition_since_ns;
    out->n_frames = entry->n_frames;
    out->n_missed = entry->n_missed;
    out->rate_hz = entry->rate_hz;
    out->dlc_seen = entry->dlc_seen;
    out->expected_dlc = expected->dlc_seen;
    out->last_len = entry->last_len;
}

static int by_key(const void *a, const void *b)
{
    return lw_id_key_order(((const struct lw_tile *)a)->key, ((const struct lw_tile *)b)->key);
}

static void copy_tiles(const struct lw_monitor *monitor, struct lw_snapshot *out)
{
    out->n_tiles = 0;
    for (size_t i = 0; i < monitor->table.n_entries; i++) {
        const struct lw_id_entry *entry = &monitor->table.entries[i];
        if (entry->n_frames > 0 || entry->expected != LW_NO_INDEX)
            copy_tile(monitor, entry, &out->tiles[out->n_tiles++]);
    }
    qsort(out->tiles, out->n_tiles, sizeof(out->tiles[0]), by_key);
}

static void count_tile(const struct lw_tile *tile, bool has_baseline, struct lw_counts *counts)
{
    bool is_new = tile->conditions & LW_UNEXPECTED, is_absent = tile->conditions & LW_ABSENT;
    bool is_expected = has_baseline && !is_new;
    counts->n_ids += tile->is_heard;
    counts->n_unexpected += is_new;
    counts->n_stopped += is_new && is_absent;
    counts->n_absent += !is_new && is_absent;
    counts->n_late += (tile->conditions & LW_LATE) != 0;
    counts->n_changed += (tile->conditions & (LW_PERIOD_CHANGED | LW_LENGTH_CHANGED | LW_SECOND_SENDER)) != 0;
    counts->n_since_mark += tile->is_since_mark;
    counts->n_expected += is_expected;
    counts->n_quiet += !is_new && tile->is_quiet;
    /* One on event need not have been heard yet. */
    bool may_wait = tile->expected_period_ns == 0 && !tile->is_quiet;
    counts->n_present += is_expected && !is_absent && !tile->is_quiet && (tile->is_heard || may_wait);
}

static void count_tiles(const struct lw_monitor *monitor, struct lw_snapshot *out)
{
    memset(&out->counts, 0, sizeof(out->counts));
    for (size_t i = 0; i < out->n_tiles; i++)
        count_tile(&out->tiles[i], monitor->has_baseline, &out->counts);
}

static void copy_detail(const struct lw_monitor *monitor, const struct lw_id_key *key, struct lw_snapshot *out)
{
    int index = key ? lw_id_table_find(&monitor->table, *key) : LW_NO_INDEX;
    out->has_detail = index != LW_NO_INDEX;
    out->has_detail_expected = false;
    if (!out->has_detail)
        return;
    out->detail = monitor->table.entries[index];
    out->has_detail_expected = monitor->has_baseline && out->detail.expected != LW_NO_INDEX;
    if (out->has_detail_expected)
        out->detail_expected = monitor->baseline.ids[out->detail.expected];
}

static void copy_diary(const struct lw_monitor *monitor, struct lw_snapshot *out)
{
    const struct lw_happening *happening;
    out->n_diary = 0;
    while (out->n_diary < LW_SNAPSHOT_DIARY && (happening = lw_diary_newest(&monitor->diary, out->n_diary)))
        out->diary[out->n_diary++] = *happening;
}

void lw_monitor_snapshot(const struct lw_monitor *monitor, const struct lw_id_key *detail, struct lw_snapshot *out)
{
    out->n_buses = monitor->config.n_buses;
    out->elapsed_ns = 0;
    for (unsigned i = 0; i < out->n_buses; i++) {
        copy_bus(monitor, i, &out->buses[i]);
        uint64_t elapsed = out->buses[i].now_ns - out->buses[i].start_ns;
        out->elapsed_ns = elapsed > out->elapsed_ns ? elapsed : out->elapsed_ns;
    }
    out->has_baseline = monitor->has_baseline;
    out->is_baseline_from_file = monitor->is_baseline_from_file;
    out->baseline_elapsed_ns = monitor->baseline_elapsed_ns;
    out->has_mark = monitor->has_mark;
    out->mark_elapsed_ns = monitor->mark_elapsed_ns;
    out->n_overflow_frames = monitor->table.n_overflow_frames;
    out->n_overflow_units = monitor->units.n_overflow;
    out->alarms = monitor->alarms;
    memcpy(out->window_cause, monitor->window_cause, sizeof(out->window_cause));
    copy_diary(monitor, out);
    copy_tiles(monitor, out);
    count_tiles(monitor, out);
    copy_detail(monitor, detail, out);
    lw_snapshot_words(out, out->words);
}
