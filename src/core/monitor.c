/* SPDX-License-Identifier: MIT
 *
 * The monitor's front: events in, buttons, baseline. What time alone tells is in monitor_time.c and monitor_judge.c.
 */
#include "monitor_state.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct lw_monitor *lw_monitor_create(const struct lw_monitor_config *config)
{
    struct lw_monitor *monitor = calloc(1, sizeof(*monitor));
    if (!monitor)
        return NULL;
    monitor->config = *config;
    lw_id_table_init(&monitor->table);
    lw_units_init(&monitor->units);
    lw_alarms_init(&monitor->alarms, config->sequence);
    lw_diary_init(&monitor->diary);
    for (unsigned i = 0; i < config->n_buses; i++) {
        lw_load_init(&monitor->buses[i].load);
        lw_load_set_bit_rate(&monitor->buses[i].load, config->bit_rate_bps, config->data_bit_rate_bps);
        lw_controller_init(&monitor->buses[i].controller);
        lw_evidence_init(&monitor->buses[i].evidence);
        lw_claims_init(&monitor->buses[i].claims);
        lw_verdict_keeper_init(&monitor->buses[i].verdict);
    }
    return monitor;
}

void lw_monitor_destroy(struct lw_monitor *monitor)
{
    free(monitor);
}

static struct lw_id_key bus_key(unsigned bus)
{
    return (struct lw_id_key){ .bus = (uint8_t)bus };
}

static void note_new_id(struct lw_monitor *monitor, struct lw_id_entry *entry, uint64_t t_ns)
{
    if (monitor->has_baseline && entry->expected == LW_NO_INDEX) {
        entry->conditions |= LW_UNEXPECTED;
        entry->condition_since_ns = t_ns;
        monitor->buses[entry->key.bus].n_unexpected++;
        lw_evidence_change(&monitor->buses[entry->key.bus].evidence, t_ns);
        lw_monitor_note(monitor, LW_HAPPENED_UNEXPECTED, entry->key, t_ns, 0);
    } else if (!monitor->has_baseline && monitor->has_mark) {
        lw_monitor_note(monitor, LW_HAPPENED_NEW_ID, entry->key, t_ns, 0);
    }
}

/* NULL where the table is full, which is shown. */
struct lw_id_entry *lw_monitor_place(struct lw_monitor *monitor, struct bus *bus, struct lw_id_key key, uint64_t t_ns)
{
    int index = lw_id_table_place(&monitor->table, key);
    if (index != LW_NO_INDEX)
        return &monitor->table.entries[index];
    if (!monitor->has_overflowed)
        lw_monitor_note(monitor, LW_HAPPENED_TABLE_FULL, key, t_ns, 0);
    monitor->has_overflowed = true;
    bus->last_overflow_ns = t_ns;
    return NULL;
}

/* Silence beside a hole is not a gap of the sender's rhythm, but a baseline must know it: so long it may be unheard when
 * the bus comes and goes. */
static void note_wait(const struct bus *bus, struct lw_id_entry *entry, uint64_t t_ns)
{
    uint64_t after = t_ns > bus->back_ns ? t_ns - bus->back_ns : 0;
    uint64_t before = entry->last_data_ns != 0 && bus->hole_from_ns > entry->last_data_ns
        ? bus->hole_from_ns - entry->last_data_ns : 0;
    uint64_t wait = after > before ? after : before;
    if (wait > entry->longest_wait_ns)
        entry->longest_wait_ns = wait;
}

static void feed_frame(struct lw_monitor *monitor, const struct lw_event *event)
{
    struct bus *bus = &monitor->buses[event->bus];
    struct lw_id_key key = lw_frame_key(&event->frame, event->bus);
    lw_monitor_heard(monitor, event->bus, event->t_ns);
    bool is_own = event->frame.flags & LW_FRAME_OWN;
    if (lw_controller_heard(&bus->controller, is_own, event->t_ns))
        lw_monitor_note(monitor, LW_HAPPENED_RESTARTED, bus_key(event->bus), event->t_ns, 0);
    bus->n_frames++;
    bus->n_own += is_own;
    struct lw_wire_length length = lw_wire_length(&event->frame);
    uint64_t wire_ns = lw_load_add(&bus->load, &length, event->t_ns);
    lw_evidence_frame(&bus->evidence, &event->frame, event->bus, wire_ns, bus->load.bit_rate_bps, event->t_ns);
    lw_monitor_note_claim(monitor, event->bus, &event->frame, event->t_ns);

    struct lw_id_entry *entry = lw_monitor_place(monitor, bus, key, event->t_ns);
    if (!entry) {
        monitor->table.n_overflow_frames++;
        return;
    }
    bool is_first = entry->n_frames == 0;
    bool is_remote = event->frame.flags & LW_FRAME_REMOTE;   /* to be asked for is not to be there */
    if (!is_remote && ((entry->conditions & (LW_ABSENT | LW_LATE)) || entry->is_quiet))
        lw_monitor_returned(monitor, entry, event->t_ns);
    bool is_past_hole = entry->last_data_ns < bus->back_ns;
    if (!is_remote && is_past_hole) {
        note_wait(bus, entry, event->t_ns);
        lw_monitor_waking(monitor, entry, event->t_ns);
    }
    uint64_t n_missed = entry->n_missed;
    lw_id_entry_add(entry, event, is_past_hole);
    if (entry->settled_period_ns != 0 || entry->expected != LW_NO_INDEX)
        lw_evidence_missed(&bus->evidence, entry->n_missed - n_missed, event->t_ns);
    if (is_first)
        lw_monitor_unit_new(monitor, entry, event->t_ns);
    if (is_first)
        note_new_id(monitor, entry, event->t_ns);
    if (entry->conditions & LW_UNEXPECTED) {
        bool was_lit = !is_first && bus->n_inputs[LW_WINDOW_UNEXPECTED] > 0;
        bus->last_unexpected_ns = event->t_ns;
        bus->unexpected = key;
        if (!was_lit)
            lw_monitor_judge_windows(monitor, event->t_ns);
    }
}

static void take_loss(struct lw_monitor *monitor, unsigned index, uint32_t n_frames, uint64_t t_ns)
{
    struct bus *bus = &monitor->buses[index];
    bus->n_lost += n_frames;
    bus->loss.n++;
    bus->loss.last_ns = t_ns;
    lw_evidence_loss(&bus->evidence, t_ns);
    lw_monitor_note(monitor, LW_HAPPENED_LOSS, bus_key(index), t_ns, n_frames);
}

static void feed_error(struct lw_monitor *monitor, const struct lw_event *event)
{
    struct bus *bus = &monitor->buses[event->bus];
    uint64_t n_no_ack = bus->controller.no_acknowledge.n, n_bus_errors = bus->controller.bus_errors.n;
    bool has_changed = lw_controller_error(&bus->controller, &event->error, event->t_ns);
    struct lw_id_key key = bus_key(event->bus);
    lw_evidence_error(&bus->evidence, &event->error, &bus->controller, event->t_ns);
    if (bus->controller.no_acknowledge.n > n_no_ack)
        lw_monitor_note(monitor, LW_HAPPENED_NO_ACKNOWLEDGE, key, event->t_ns, 0);
    else if (bus->controller.bus_errors.n > n_bus_errors)
        lw_monitor_note(monitor, LW_HAPPENED_ERRORS, key, event->t_ns, 0);
    if (bus->controller.bus_errors.n > n_bus_errors)
        bus->is_in_errors = true;
    if (lw_error_is_overrun(&event->error))
        take_loss(monitor, event->bus, 1, event->t_ns);   /* how many is not told: one at least */
    if (event->error.class_bits & LW_CLASS_RESTARTED)
        lw_monitor_note(monitor, LW_HAPPENED_RESTARTED, key, event->t_ns, 0);
    if (has_changed) {
        lw_monitor_note(monitor, LW_HAPPENED_STATE, key, event->t_ns, bus->controller.state);
        lw_monitor_judge_evidence(monitor, event->bus, false, event->t_ns);
    }
    lw_monitor_judge_windows(monitor, event->t_ns);
}

static void note_link_change(struct lw_monitor *monitor, unsigned bus, const struct lw_link *before,
                             const struct lw_link *now, uint64_t t_ns)
{
    enum lw_happening_kind kind;
    if (before->is_present != now->is_present)
        kind = now->is_present ? LW_HAPPENED_LINK_BACK : LW_HAPPENED_LINK_GONE;
    else if (before->is_up != now->is_up)
        kind = now->is_up ? LW_HAPPENED_LINK_UP : LW_HAPPENED_LINK_DOWN;
    else
        return;
    lw_monitor_note(monitor, kind, bus_key(bus), t_ns, 0);
}

static uint32_t first_known(uint32_t stated, struct lw_reading told)
{
    return stated != 0 ? stated : told.is_known ? told.value : 0;
}

static void feed_link(struct lw_monitor *monitor, const struct lw_event *event)
{
    struct bus *bus = &monitor->buses[event->bus];
    struct lw_link before = bus->controller.has_link ? bus->controller.link : lw_link_unknown();
    const struct lw_monitor_config *config = &monitor->config;
    bool has_changed = lw_controller_link(&bus->controller, &event->link, event->t_ns);
    lw_load_set_bit_rate(&bus->load, first_known(config->bit_rate_bps, event->link.bit_rate_bps),
                         first_known(config->data_bit_rate_bps, event->link.data_bit_rate_bps));
    lw_evidence_link(&bus->evidence, &bus->controller, event->t_ns);
    note_link_change(monitor, event->bus, &before, &event->link, event->t_ns);
    if (has_changed && bus->controller.state > LW_STATE_ERROR_ACTIVE)
        lw_monitor_note(monitor, LW_HAPPENED_STATE, bus_key(event->bus), event->t_ns, bus->controller.state);
    lw_monitor_judge_evidence(monitor, event->bus, false, event->t_ns);
    lw_monitor_judge_windows(monitor, event->t_ns);
}

static void feed_loss(struct lw_monitor *monitor, const struct lw_event *event)
{
    take_loss(monitor, event->bus, event->loss.n_frames, event->t_ns);
    lw_monitor_judge_windows(monitor, event->t_ns);
}

void lw_monitor_feed(struct lw_monitor *monitor, const struct lw_event *event)
{
    if (event->bus >= monitor->config.n_buses) {
        monitor->buses[0].n_lost++;
        return;
    }
    struct bus *bus = &monitor->buses[event->bus];
    struct lw_event timed;
    uint64_t t_ns = lw_monitor_bus_time(bus, event->t_ns);
    if (t_ns != event->t_ns) {
        timed = *event;
        timed.t_ns = t_ns;
        event = &timed;
    }
    bus->newest_ns = t_ns > bus->newest_ns ? t_ns : bus->newest_ns;
    lw_monitor_advance(monitor, event->bus, t_ns);
    switch (event->kind) {
    case LW_EVENT_FRAME: feed_frame(monitor, event); break;
    case LW_EVENT_ERROR: feed_error(monitor, event); break;
    case LW_EVENT_LINK: feed_link(monitor, event); break;
    case LW_EVENT_LOSS: feed_loss(monitor, event); break;
    case LW_EVENT_VERDICT: break;
    case LW_EVENT_METER: lw_monitor_reading(monitor, event->bus, &event->meter); break;
    default: lw_monitor_mark(monitor, event->mark < LW_N_MARKS ? (enum lw_mark)event->mark : LW_MARK_PLAIN); break;
    }
}

void lw_monitor_tick(struct lw_monitor *monitor, unsigned bus, uint64_t now_ns)
{
    if (bus >= monitor->config.n_buses)
        return;
    struct bus *b = &monitor->buses[bus];
    lw_monitor_follow_clock(b, lw_monitor_bus_time(b, now_ns));
    lw_monitor_advance(monitor, bus, lw_monitor_bus_time(b, now_ns));
}

void lw_monitor_end(struct lw_monitor *monitor, unsigned bus)
{
    if (bus >= monitor->config.n_buses)
        return;
    monitor->buses[bus].has_ended = true;
    lw_monitor_settle_units(monitor, bus, UINT64_MAX);
}

void lw_monitor_mark(struct lw_monitor *monitor, enum lw_mark mark)
{
    for (unsigned i = 0; i < monitor->config.n_buses; i++) {
        monitor->buses[i].mark_ns = monitor->buses[i].now_ns;
        lw_evidence_change(&monitor->buses[i].evidence, monitor->buses[i].now_ns);
        if (mark == LW_MARK_PLUGGED || mark == LW_MARK_UNPLUGGED)
            monitor->buses[i].plugged_ns = mark == LW_MARK_PLUGGED ? monitor->buses[i].now_ns : 0;
        if (mark == LW_MARK_UNPLUGGED)
            lw_claims_settle(&monitor->buses[i].claims);
    }
    monitor->has_mark = true;
    monitor->mark_elapsed_ns = lw_monitor_elapsed_ns(monitor);
    lw_monitor_note(monitor, LW_HAPPENED_MARK, bus_key(0), monitor->buses[0].now_ns, mark);
}

void lw_monitor_set_record_failed(struct lw_monitor *monitor, bool has_failed)
{
    if (has_failed && !monitor->has_record_failed)
        lw_monitor_note(monitor, LW_HAPPENED_RECORD_FAILED, bus_key(0), monitor->buses[0].now_ns, 0);
    monitor->has_record_failed = has_failed;
    lw_monitor_judge_windows(monitor, monitor->buses[0].now_ns);
}

struct lw_alarms *lw_monitor_alarms(struct lw_monitor *monitor)
{
    return &monitor->alarms;
}
