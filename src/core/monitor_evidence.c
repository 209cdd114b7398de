/* SPDX-License-Identifier: MIT
 *
 * What the monitor knows beside the events, for the evidence: which messages are quiet, doubled, new or never heard.
 */
#include "monitor_state.h"

#include <math.h>
#include <string.h>

static const uint64_t ms = LW_NS_PER_MS;

enum { RETURNED_MS = 10000, AGAIN_MS = 60000, AFTER_HOLE_MS = 500 };

void lw_monitor_note_went(struct lw_id_entry *entry, uint64_t t_ns)
{
    memmove(entry->went_ns + 1, entry->went_ns, (LW_WENT - 1) * sizeof(entry->went_ns[0]));
    entry->went_ns[0] = t_ns;
}

void lw_monitor_note_coming(struct bus *bus, uint64_t t_ns)
{
    bus->n_returned = bus->returned_ns != 0 && t_ns < bus->returned_ns + RETURNED_MS * ms ? bus->n_returned + 1 : 1;
    bus->returned_ns = t_ns;
}

void lw_monitor_note_claim(struct lw_monitor *monitor, unsigned index, const struct lw_frame *frame, uint64_t t_ns)
{
    struct lw_clash clash = lw_claims_frame(&monitor->buses[index].claims, frame, t_ns);
    uint64_t value = (uint64_t)clash.kind << 16 | (uint64_t)clash.address << 8 | clash.moved_to;
    if (clash.kind != LW_CLASH_NONE)
        lw_monitor_note(monitor, LW_HAPPENED_ADDRESS, lw_frame_key(frame, index), t_ns, value);
}

static bool may_be_quiet(const struct lw_monitor *monitor, const struct lw_id_entry *entry)
{
    return monitor->has_baseline && entry->expected != LW_NO_INDEX && monitor->baseline.ids[entry->expected].may_pause;
}

/* Silent by itself: after a hole of the whole bus it is given its turn first. */
static bool is_quiet(const struct lw_monitor *monitor, const struct bus *bus, const struct lw_id_entry *entry)
{
    uint64_t period = entry->period.period_ns != 0 ? entry->period.period_ns : entry->settled_period_ns;
    bool had_its_turn = bus->now_ns > bus->back_ns + 3 * period + AFTER_HOLE_MS * ms;
    return (entry->conditions & LW_ABSENT) || (entry->is_quiet && had_its_turn && !may_be_quiet(monitor, entry));
}

static void count_entry(const struct lw_monitor *monitor, const struct bus *bus, const struct lw_id_entry *entry,
                        struct lw_surroundings *out, uint32_t *most_hz, uint32_t *all_hz)
{
    bool is_expected = monitor->has_baseline && entry->expected != LW_NO_INDEX;
    if (entry->n_frames == 0) {
        out->n_never_heard += is_expected && (entry->conditions & LW_ABSENT);
        return;
    }
    out->is_heard_since_plugged |= entry->first_seen_ns > bus->plugged_ns;
    bool is_ours = entry->n_own == entry->n_frames;     /* that this computer sends no more is no unit gone */
    /* Bursts of a message on event may look like a rhythm for a while: only one that settled, or is expected, can be missed. */
    bool has_period = !is_ours && (entry->settled_period_ns != 0
        || (is_expected && lw_rhythm_has_period(monitor->baseline.ids[entry->expected].rhythm)));
    out->n_cyclic += has_period;
    bool is_gone = has_period && is_quiet(monitor, bus, entry);
    if (is_gone) {
        out->n_quiet++;
        out->quiet_since_ns = entry->last_data_ns > out->quiet_since_ns ? entry->last_data_ns : out->quiet_since_ns;
    }
    unsigned n_went = 0;
    for (unsigned i = 0; i < LW_WENT; i++)
        n_went += entry->went_ns[i] != 0 && bus->now_ns < entry->went_ns[i] + AGAIN_MS * ms;
    out->n_comings = has_period && n_went > out->n_comings ? n_went : out->n_comings;
    out->n_doubled += (entry->conditions & LW_SECOND_SENDER) != 0;
    bool is_since_mark = monitor->has_mark && entry->first_seen_ns > bus->mark_ns;
    bool is_new = is_since_mark || (entry->conditions & LW_UNEXPECTED);
    out->n_new += has_period && is_new && !is_gone;
    *all_hz += entry->rate_hz;
    *most_hz = entry->rate_hz > *most_hz ? entry->rate_hz : *most_hz;
}

static void count_comings(const struct bus *bus, struct lw_surroundings *out)
{
    bool is_fresh = bus->returned_ns != 0 && bus->now_ns < bus->returned_ns + RETURNED_MS * ms;
    out->n_returned = is_fresh ? bus->n_returned : 0;
}

void lw_monitor_reading(struct lw_monitor *monitor, unsigned index, const struct lw_meter_reading *reading)
{
    if (index >= monitor->config.n_buses || reading->kind >= LW_N_MEASUREMENTS)
        return;
    struct bus *bus = &monitor->buses[index];
    struct lw_readings *readings = &bus->readings;
    if (readings->n == LW_MAX_READINGS)
        memmove(readings->all, readings->all + 1, --readings->n * sizeof(readings->all[0]));
    readings->all[readings->n] = *reading;
    readings->all[readings->n++].t_ns = bus->now_ns;
    uint64_t thousandths = isinf(reading->value) ? LW_READING_OPEN : (uint64_t)(reading->value * 1000 + 0.5);
    lw_monitor_note(monitor, LW_HAPPENED_READING, (struct lw_id_key){ .bus = (uint8_t)index }, bus->now_ns, thousandths << 8 | reading->kind);
}

bool lw_monitor_is_live(const struct lw_monitor *monitor, unsigned index)
{
    const struct bus *bus = &monitor->buses[index];
    return bus->last_frame_ns != 0 && bus->silent_since_ns == 0 && bus->now_ns < bus->last_frame_ns + 1000 * ms && !bus->has_ended;
}

/* Into the diary goes what was wrong and what became of it, not that all is well from the start. */
static void note_verdict(struct lw_monitor *monitor, unsigned index, uint64_t t_ns)
{
    const struct lw_verdict *verdict = &monitor->buses[index].verdict.current;
    uint64_t value = (uint64_t)verdict->picture << 16 | (uint64_t)verdict->confidence << 8
        | (verdict->n_named > 0 ? verdict->named[0].cause : LW_CAUSE_NONE_OF_THESE);
    if (lw_pictures[verdict->picture].is_trouble)
        lw_monitor_note(monitor, LW_HAPPENED_VERDICT, (struct lw_id_key){ .bus = (uint8_t)index }, t_ns, value);
}

static void look_around(const struct lw_monitor *monitor, unsigned index, struct lw_surroundings *out)
{
    const struct bus *bus = &monitor->buses[index];
    *out = (struct lw_surroundings){
        .controller = &bus->controller, .start_ns = bus->start_ns,
        .silent_since_ns = bus->silent_since_ns, .silence_ns = lw_monitor_silence_ns(bus),
        .load_permille = lw_load_permille(&bus->load), .plugged_ns = bus->plugged_ns,
        .claims = lw_claims_trouble(&bus->claims, bus->now_ns),
        .bit_rate_bps = bus->load.bit_rate_bps != 0 ? LW_KNOWN(bus->load.bit_rate_bps) : LW_UNKNOWN,
    };
    uint32_t most_hz = 0, all_hz = 0;
    out->is_heard_since_plugged = bus->returned_ns > bus->plugged_ns || bus->back_ns > bus->plugged_ns;
    for (size_t i = 0; i < monitor->table.n_entries; i++)
        if (monitor->table.entries[i].key.bus == index)
            count_entry(monitor, bus, &monitor->table.entries[i], out, &most_hz, &all_hz);
    if (bus->silent_since_ns != 0)
        out->n_new = 0;              /* nobody is heard, newcomers neither */
    out->hog_permille = all_hz > 0 ? most_hz * 1000 / all_hz : 0;
    count_comings(bus, out);
}

void lw_monitor_judge_evidence(struct lw_monitor *monitor, unsigned index, bool is_tick, uint64_t t_ns)
{
    struct bus *bus = &monitor->buses[index];
    struct lw_surroundings around;
    struct lw_verdict now;
    if (bus->has_ended)
        return;                      /* the verdict is that of the last moment */
    look_around(monitor, index, &around);
    if (is_tick)
        lw_evidence_tick(&bus->evidence, &around, t_ns);
    else
        lw_evidence_judge(&bus->evidence, &around, t_ns);
    lw_verdict_judge(bus->evidence.facts, &bus->readings, &now);
    if (lw_verdict_keep(&bus->verdict, &now, t_ns))
        note_verdict(monitor, index, t_ns);
}
