/* SPDX-License-Identifier: MIT
 *
 * Turns what the controller of our adapter did into the events that a Linux driver makes of it: frames, error frames as
 * linux/can/error.h defines them, link reports, losses. Called by sim.c.
 */
#include "adapter_parts.h"

#include <assert.h>
#include <string.h>

/* linux/can/error.h: data[1], data[2] and a value of data[1]. */
enum { BYTE_CONTROLLER = 1, BYTE_VIOLATION = 2, REPORT_RX_OVERRUN = 0x01 };

enum { ASKED_EVERY_MS = 500 };

/* A late computer: so many frames are lost before it fetches again, and then so many come through. */
enum { LATE_LOST = 24, LATE_KEPT = 8 };

static bool is_full(const struct lw_adapter *adapter)
{
    return adapter->n_waiting == LW_ADAPTER_QUEUE;
}

static void append(struct lw_adapter *adapter, struct lw_event *event, uint64_t t_ns)
{
    if (t_ns > adapter->last_ns)
        adapter->last_ns = t_ns;
    if (is_full(adapter)) {
        adapter->n_lost++;
        return;
    }
    event->t_ns = adapter->last_ns;
    event->bus = adapter->bus;
    event->stamp = LW_STAMP_BENCH;
    adapter->waiting[(adapter->first + adapter->n_waiting++) % LW_ADAPTER_QUEUE] = *event;
}

void lw_adapter_append_error(struct lw_adapter *adapter, const struct lw_error *error, uint64_t t_ns)
{
    if (error->class_bits)
        append(adapter, &(struct lw_event){ .kind = LW_EVENT_ERROR, .error = *error }, t_ns);
}

static void append_loss(struct lw_adapter *adapter, uint32_t n_frames, uint64_t t_ns)
{
    struct lw_loss loss = { .n_frames = n_frames, .place = LW_LOSS_ADAPTER };
    append(adapter, &(struct lw_event){ .kind = LW_EVENT_LOSS, .loss = loss }, t_ns);
}

void lw_adapter_note_news(struct lw_adapter *adapter, uint64_t t_ns)
{
    const uint64_t every_ns = (uint64_t)ASKED_EVERY_MS * 1000000;
    if (adapter->link_due_ns == UINT64_MAX)
        adapter->link_due_ns = (t_ns / every_ns + 1) * every_ns;
}

void lw_adapter_count_up(struct lw_adapter *adapter, struct lw_reading *reading, uint64_t t_ns)
{
    if (!reading->is_known)
        return;
    reading->value++;
    lw_adapter_note_news(adapter, t_ns);
}

void lw_adapter_set_timing(struct lw_adapter *adapter, const struct lw_bit_timing *nominal, const struct lw_bit_timing *data)
{
    const uint64_t second_ps = 1000000000000, bit_ps = lw_bit_timing_bit_ps(nominal);
    uint64_t before_ps = nominal->tq_ps * (1u + nominal->prop_seg + nominal->phase_seg1);
    adapter->link.bit_rate_bps = adapter->link.data_bit_rate_bps = adapter->link.sample_point_permille = LW_UNKNOWN;
    if (bit_ps > 0) {
        adapter->link.bit_rate_bps = LW_KNOWN((second_ps + bit_ps / 2) / bit_ps);
        adapter->link.sample_point_permille = LW_KNOWN((before_ps * 1000 + bit_ps / 2) / bit_ps);
    }
    if (data->tq_ps > 0)
        adapter->link.data_bit_rate_bps = LW_KNOWN(second_ps / lw_bit_timing_bit_ps(data));
    lw_adapter_note_news(adapter, adapter->last_ns);
}

void lw_adapter_init(struct lw_adapter *adapter, const struct lw_plant *plant, unsigned bus)
{
    int index = lw_plant_adapter(plant);
    assert(index >= 0);
    const struct lw_plant_unit *unit = &plant->units[index];
    const struct lw_personality *personality = &unit->personality;
    memset(adapter, 0, sizeof *adapter);
    adapter->personality = *personality;
    adapter->bus = (uint8_t)bus;
    adapter->state = LW_STATE_ERROR_ACTIVE;
    bool has_netlink = personality->has_state_by_netlink;
    struct lw_reading zero = has_netlink ? LW_KNOWN(0) : LW_UNKNOWN;
    adapter->link = (struct lw_link){
        .is_present = true, .is_up = true, .has_carrier = true, .controller = LW_CONTROLLER_REAL,
        .state = has_netlink ? LW_STATE_ERROR_ACTIVE : LW_STATE_UNKNOWN,
        .restart_ms = has_netlink ? LW_KNOWN(personality->restart_ms) : LW_UNKNOWN,
        .tec = personality->has_counters_by_netlink ? LW_KNOWN(0) : LW_UNKNOWN,
        .rec = personality->has_counters_by_netlink ? LW_KNOWN(0) : LW_UNKNOWN,
        .listen_only = personality->has_listen_only ? LW_KNOWN(unit->is_listen_only) : LW_UNKNOWN,
        .error_reporting = personality->reporting == LW_REPORTING_NO_SWITCH ? LW_UNKNOWN
                           : LW_KNOWN(personality->reporting == LW_REPORTING_ON),
        .one_shot = has_netlink ? LW_KNOWN(unit->is_one_shot) : LW_UNKNOWN,
        .n_bus_errors = zero, .n_error_warning = zero, .n_error_passive = zero, .n_bus_off = zero,
        .n_arbitration_lost = zero, .n_restarts = zero,
    };
    lw_adapter_set_timing(adapter, &unit->timing, &unit->data_timing);
    lw_adapter_ask(adapter, 0);
}

uint64_t lw_adapter_due_ns(const struct lw_adapter *adapter)
{
    return adapter->link_due_ns;
}

/* A report that finds no room is not lost: the driver is asked again. */
void lw_adapter_ask(struct lw_adapter *adapter, uint64_t t_ns)
{
    adapter->link_due_ns = UINT64_MAX;
    if (is_full(adapter))
        lw_adapter_note_news(adapter, t_ns);
    else
        append(adapter, &(struct lw_event){ .kind = LW_EVENT_LINK, .link = adapter->link }, t_ns);
}

bool lw_adapter_take(struct lw_adapter *adapter, struct lw_event *out)
{
    if (adapter->n_waiting == 0)
        return false;
    *out = adapter->waiting[adapter->first];
    adapter->first = (adapter->first + 1) % LW_ADAPTER_QUEUE;
    adapter->n_waiting--;
    uint32_t n_lost = adapter->n_lost;
    adapter->n_lost = 0;
    if (n_lost > 0)
        append_loss(adapter, n_lost, adapter->last_ns);
    return true;
}

static void take_counters(struct lw_adapter *adapter, const struct lw_confinement *confinement, uint64_t t_ns)
{
    if (adapter->tec == confinement->tec && adapter->rec == confinement->rec)
        return;
    adapter->tec = confinement->tec;
    adapter->rec = confinement->rec;
    if (adapter->personality.has_counters_by_netlink) {
        adapter->link.tec = LW_KNOWN(adapter->tec);
        adapter->link.rec = LW_KNOWN(adapter->rec);
        lw_adapter_note_news(adapter, t_ns);
    }
}

static void tell_overrun(struct lw_adapter *adapter, uint64_t t_ns)
{
    struct lw_error error = { .class_bits = LW_CLASS_CONTROLLER, .data[BYTE_CONTROLLER] = REPORT_RX_OVERRUN };
    if (adapter->personality.has_states)
        lw_adapter_append_error(adapter, &error, t_ns);
    append_loss(adapter, adapter->n_late < LATE_LOST ? adapter->n_late : LATE_LOST, t_ns);
}

static void deliver(struct lw_adapter *adapter, const struct lw_frame *frame, bool is_own, uint64_t t_ns)
{
    struct lw_event event = { .kind = LW_EVENT_FRAME, .frame = *frame };
    event.frame.flags |= is_own ? LW_FRAME_OWN : 0;
    if (adapter->is_late && adapter->n_late++ < LATE_LOST)
        return;
    if (adapter->is_late && adapter->n_late == LATE_LOST + 1)
        tell_overrun(adapter, t_ns);
    if (adapter->n_late >= LATE_LOST + LATE_KEPT)
        adapter->n_late = 0;
    append(adapter, &event, t_ns);
    if (adapter->personality.repeats_last_error && adapter->last_violation) {
        struct lw_error stale = { .class_bits = LW_CLASS_CONTROLLER | LW_CLASS_PROTOCOL,
                                  .data[BYTE_VIOLATION] = adapter->last_violation };
        lw_adapter_append_error(adapter, &stale, t_ns);
    }
}

void lw_adapter_set_late(struct lw_adapter *adapter, bool is_late, uint64_t t_ns)
{
    if (adapter->is_late == is_late)
        return;
    if (adapter->n_late > 0 && adapter->n_late <= LATE_LOST)
        tell_overrun(adapter, t_ns);
    adapter->is_late = is_late;
    adapter->n_late = 0;
}

void lw_adapter_restart(struct lw_adapter *adapter, uint64_t t_ns)
{
    if (adapter->state != LW_STATE_BUS_OFF)
        return;
    struct lw_confinement zero = { 0 };
    adapter->is_recovering = true;
    take_counters(adapter, &zero, t_ns);
    lw_adapter_set_state(adapter, LW_STATE_ERROR_ACTIVE, t_ns);
    lw_adapter_count_up(adapter, &adapter->link.n_restarts, t_ns);
    if (adapter->personality.has_states)
        lw_adapter_append_error(adapter, &(struct lw_error){ .class_bits = LW_CLASS_RESTARTED }, t_ns);
    lw_adapter_ask(adapter, t_ns);
}

void lw_adapter_report(struct lw_adapter *adapter, unsigned reports, const struct lw_mac_error *error,
                       const struct lw_confinement *confinement, const struct lw_frame *frame, uint64_t t_ns)
{
    if (!confinement->is_bus_off && !(reports & LW_MAC_BUS_OFF)) {   /* it recovered, or was reset */
        lw_adapter_restart(adapter, t_ns);
        adapter->is_recovering = false;
    }
    bool is_out = adapter->is_recovering || adapter->state == LW_STATE_BUS_OFF;
    if (!is_out)
        take_counters(adapter, confinement, t_ns);
    if (reports & (LW_MAC_RECEIVED | LW_MAC_SENT))
        deliver(adapter, frame, reports & LW_MAC_SENT, t_ns);
    if (reports & LW_MAC_LOST_ARBITRATION)
        lw_adapter_count_up(adapter, &adapter->link.n_arbitration_lost, t_ns);
    if (!is_out)
        lw_adapter_tell_errors(adapter, reports, error, confinement->is_bus_off || (reports & LW_MAC_BUS_OFF), t_ns);
}
