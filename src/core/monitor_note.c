/* SPDX-License-Identifier: MIT
 *
 * Entries of the monitor's diary.
 */
#include "monitor_state.h"

uint64_t lw_monitor_elapsed_ns(const struct lw_monitor *monitor)
{
    uint64_t most = 0;
    for (unsigned i = 0; i < monitor->config.n_buses; i++) {
        uint64_t here = monitor->buses[i].now_ns - monitor->buses[i].start_ns;
        most = here > most ? here : most;
    }
    return most;
}

const struct lw_diary *lw_monitor_diary(const struct lw_monitor *monitor)
{
    return &monitor->diary;
}

const struct lw_verdict *lw_monitor_verdict(const struct lw_monitor *monitor, unsigned bus)
{
    return &monitor->buses[bus].verdict.current;
}

static struct lw_happening happening_at(const struct lw_monitor *monitor, enum lw_happening_kind kind, struct lw_id_key key,
                                        uint64_t t_ns)
{
    uint64_t start_ns = monitor->buses[key.bus].start_ns;
    return (struct lw_happening){
        .t_ns = t_ns, .elapsed_ns = t_ns > start_ns ? t_ns - start_ns : 0, .key = key, .kind = (uint8_t)kind, .count = 1,
    };
}

void lw_monitor_note(struct lw_monitor *monitor, enum lw_happening_kind kind, struct lw_id_key key, uint64_t t_ns,
                     uint64_t value)
{
    struct lw_happening happening = happening_at(monitor, kind, key, t_ns);
    happening.value = value;
    lw_diary_add(&monitor->diary, &happening);
}

void lw_monitor_note_message(struct lw_monitor *monitor, enum lw_happening_kind kind, const struct lw_id_entry *entry,
                             uint64_t last_ns, uint64_t t_ns)
{
    struct lw_happening happening = happening_at(monitor, kind, entry->key, t_ns);
    happening.since_ns = happening.until_ns = kind == LW_HAPPENED_RETURNED ? 0 : last_ns;
    happening.period_ns = entry->period.period_ns;
    happening.missed_ns = kind == LW_HAPPENED_RETURNED ? 0 : last_ns + happening.period_ns;
    lw_monitor_unit_name(monitor, entry, happening.unit);
    lw_diary_add(&monitor->diary, &happening);
}

void lw_monitor_waking(struct lw_monitor *monitor, const struct lw_id_entry *entry, uint64_t t_ns)
{
    struct bus *bus = &monitor->buses[entry->key.bus];
    if (bus->waking_ns == 0)
        return;
    if (t_ns > bus->waking_ns + LW_UNIT_CHAIN_MS * (uint64_t)LW_NS_PER_MS) {
        bus->waking_ns = 0;
        return;
    }
    bus->waking_ns = t_ns;
    enum lw_happening_kind kind = bus->hole_from_ns != 0 ? LW_HAPPENED_SOUND : LW_HAPPENED_WOKE;
    struct lw_happening happening = happening_at(monitor, kind, entry->key, t_ns);
    happening.count = 0;
    happening.n_messages = 1;
    lw_diary_add(&monitor->diary, &happening);
}
