/* SPDX-License-Identifier: MIT
 *
 * What the monitor tells the units, and what the units are called.
 */
#include "monitor_state.h"

#include <stdio.h>
#include <string.h>

static int index_of(const struct lw_monitor *monitor, const struct lw_id_entry *entry)
{
    return (int)(entry - monitor->table.entries);
}

/* By the same measures as a message is missed: one that would not be missed must not count as having stayed. */
static uint64_t period_of(const struct lw_monitor *monitor, const struct lw_id_entry *entry)
{
    if (lw_rhythm_has_period(entry->period.rhythm))
        return entry->period.period_ns;
    if (monitor->has_baseline && entry->expected != LW_NO_INDEX)
        return monitor->baseline.ids[entry->expected].may_pause ? 0 : monitor->baseline.ids[entry->expected].period_ns;
    return entry->conditions & LW_UNEXPECTED ? entry->settled_period_ns : 0;
}

void lw_monitor_unit_new(struct lw_monitor *monitor, const struct lw_id_entry *entry, uint64_t t_ns)
{
    lw_units_new(&monitor->units, index_of(monitor, entry), entry->key, t_ns);
}

void lw_monitor_unit_gone(struct lw_monitor *monitor, const struct lw_id_entry *entry, uint64_t last_ns, uint64_t t_ns)
{
    lw_units_gone(&monitor->units, index_of(monitor, entry), last_ns, period_of(monitor, entry), t_ns);
}

void lw_monitor_unit_back(struct lw_monitor *monitor, const struct lw_id_entry *entry, uint64_t t_ns)
{
    lw_units_back(&monitor->units, index_of(monitor, entry), period_of(monitor, entry), t_ns);
}

void lw_monitor_unit_rhythm(struct lw_monitor *monitor, const struct lw_id_entry *entry)
{
    lw_units_rhythm(&monitor->units, index_of(monitor, entry), period_of(monitor, entry));
}

/* Where a mark or a baseline is set, each new message is told as it comes. */
static void note_joined(struct lw_monitor *monitor, int index)
{
    const struct lw_unit *unit = &monitor->units.units[index];
    if (unit->origin == LW_UNIT_JOINED)
        lw_evidence_change(&monitor->buses[unit->bus].evidence, unit->first_ns);
    if ((unit->origin != LW_UNIT_JOINED && !unit->is_late) || monitor->has_baseline || monitor->has_mark)
        return;
    const struct bus *bus = &monitor->buses[unit->bus];
    struct lw_happening happening = {
        .kind = LW_HAPPENED_JOINED, .t_ns = unit->first_ns, .count = unit->n_messages, .value = unit->last_ns - unit->first_ns,
        .elapsed_ns = unit->first_ns > bus->start_ns ? unit->first_ns - bus->start_ns : 0,
    };
    int first = -1;
    for (size_t i = monitor->table.n_entries; i-- > 0;)
        if (monitor->units.unit_of[i] == index
            && (first < 0 || monitor->table.entries[i].first_seen_ns <= monitor->table.entries[first].first_seen_ns))
            first = (int)i;
    happening.key = monitor->table.entries[first].key;
    lw_units_name(&monitor->units, first, happening.unit);
    lw_diary_add(&monitor->diary, &happening);
}

void lw_monitor_settle_units(struct lw_monitor *monitor, unsigned bus, uint64_t t_ns)
{
    int unit;
    while ((unit = lw_units_settle(&monitor->units, bus, t_ns)) != LW_NO_UNIT)
        note_joined(monitor, unit);
}

char *lw_monitor_unit_name(const struct lw_monitor *monitor, const struct lw_id_entry *entry, char buf[LW_UNIT_NAME_MAX])
{
    bool is_expected = monitor->has_baseline && entry->expected != LW_NO_INDEX;
    if (is_expected && monitor->baseline.ids[entry->expected].sender[0] != '\0')
        snprintf(buf, LW_UNIT_NAME_MAX, "%s", monitor->baseline.ids[entry->expected].sender);
    else
        lw_units_name(&monitor->units, index_of(monitor, entry), buf);
    return buf;
}
