/* SPDX-License-Identifier: MIT
 *
 * The error frames of our adapter: what its driver makes of an error on the wire and of a change of state, by personality.
 * Called by adapter.c only.
 */
#include "adapter_parts.h"

/* linux/can/error.h: bytes of an error frame, values of data[1] and data[2], and one of data[3]. */
enum { BYTE_CONTROLLER = 1, BYTE_VIOLATION = 2, BYTE_PLACE = 3, BYTE_TEC = 6, BYTE_REC = 7 };
enum {
    REPORT_RX_WARNING = 0x04, REPORT_TX_WARNING = 0x08,
    REPORT_RX_PASSIVE = 0x10, REPORT_TX_PASSIVE = 0x20, REPORT_ACTIVE = 0x40,
};
enum {
    VIOLATION_BIT = 0x01, VIOLATION_FORM = 0x02, VIOLATION_STUFF = 0x04, VIOLATION_BIT0 = 0x08, VIOLATION_BIT1 = 0x10,
    VIOLATION_SENDING = 0x80,
};
enum { PLACE_CRC = 0x08 };

/* Source: linux/can/error.h, CAN_ERROR_WARNING_THRESHOLD and the two after it; 128 and 256 are ISO 11898-1. */
enum { WARNING_AT = 96, PASSIVE_AT = 128, BUS_OFF_AT = 256 };

static enum lw_bus_state state_of(unsigned counter)
{
    return counter >= BUS_OFF_AT   ? LW_STATE_BUS_OFF
           : counter >= PASSIVE_AT ? LW_STATE_ERROR_PASSIVE
           : counter >= WARNING_AT ? LW_STATE_ERROR_WARNING
                                   : LW_STATE_ERROR_ACTIVE;
}

/* Source: can_change_state() of the kernel: the worse of the two states is the new one, and the counters that are in it
 * are named. */
static uint8_t report_of(enum lw_bus_state state, bool is_tx, bool is_rx)
{
    if (state == LW_STATE_ERROR_WARNING)
        return (uint8_t)((is_tx ? REPORT_TX_WARNING : 0) | (is_rx ? REPORT_RX_WARNING : 0));
    if (state == LW_STATE_ERROR_PASSIVE)
        return (uint8_t)((is_tx ? REPORT_TX_PASSIVE : 0) | (is_rx ? REPORT_RX_PASSIVE : 0));
    return REPORT_ACTIVE;
}

static void put_counters(const struct lw_adapter *adapter, struct lw_error *error)
{
    error->class_bits |= LW_CLASS_COUNTERS;
    error->data[BYTE_TEC] = (uint8_t)(adapter->tec > UINT8_MAX ? UINT8_MAX : adapter->tec);
    error->data[BYTE_REC] = (uint8_t)(adapter->rec > UINT8_MAX ? UINT8_MAX : adapter->rec);
}

void lw_adapter_set_state(struct lw_adapter *adapter, enum lw_bus_state state, uint64_t t_ns)
{
    struct lw_link *link = &adapter->link;
    if (state == LW_STATE_BUS_OFF)
        lw_adapter_count_up(adapter, &link->n_bus_off, t_ns);
    else if (state > adapter->state)
        lw_adapter_count_up(adapter, state == LW_STATE_ERROR_PASSIVE ? &link->n_error_passive : &link->n_error_warning, t_ns);
    adapter->state = state;
    if (adapter->personality.has_state_by_netlink) {
        link->state = state;
        link->has_carrier = state != LW_STATE_BUS_OFF;
        lw_adapter_note_news(adapter, t_ns);
    }
}

/* Adds a change of state to error, if there is one. */
static void put_state(struct lw_adapter *adapter, struct lw_error *error, bool is_bus_off, uint64_t t_ns)
{
    enum lw_bus_state tx = is_bus_off ? LW_STATE_BUS_OFF : state_of(adapter->tec), rx = state_of(adapter->rec);
    enum lw_bus_state state = tx > rx ? tx : rx;
    if (state == adapter->state || adapter->state == LW_STATE_BUS_OFF)
        return;   /* out of bus off leads a restart only */
    lw_adapter_set_state(adapter, state, t_ns);
    if (!adapter->personality.has_states)
        return;
    if (state == LW_STATE_BUS_OFF) {
        error->class_bits |= LW_CLASS_BUS_OFF;
        return;
    }
    error->class_bits |= LW_CLASS_CONTROLLER;
    error->data[BYTE_CONTROLLER] = report_of(state, tx >= rx, tx <= rx);
    if (adapter->personality.counters_in_frames != LW_COUNTERS_NEVER)
        put_counters(adapter, error);
}

/* data[2]: a controller that tells places tells no more of a bit error than that it was one. */
static uint8_t violation_of(const struct lw_adapter *adapter, const struct lw_mac_error *error)
{
    bool is_tx_marked = adapter->personality.has_directions && error->is_transmitter;
    uint8_t sending = is_tx_marked ? VIOLATION_SENDING : 0;
    switch (error->kind) {
    case LW_MAC_BIT_ERROR:
        if (adapter->personality.has_places)
            return VIOLATION_BIT | sending;
        return (error->sent_dominant ? VIOLATION_BIT0 : VIOLATION_BIT1) | sending;
    case LW_MAC_STUFF_ERROR:
        return VIOLATION_STUFF | sending;
    case LW_MAC_FORM_ERROR:
        return VIOLATION_FORM | sending;
    default:
        return sending;
    }
}

static uint8_t place_of(const struct lw_adapter *adapter, const struct lw_mac_error *error)
{
    if (error->kind == LW_MAC_ACK_ERROR)
        return adapter->personality.has_ack_place ? LW_PLACE_ACK_SLOT : 0;
    if (adapter->personality.has_places)
        return error->place;
    return error->kind == LW_MAC_CRC_ERROR ? PLACE_CRC : 0;
}

/* Adds an error on the wire, if this driver tells it. */
static void put_violation(struct lw_adapter *adapter, const struct lw_mac_error *error, struct lw_error *out, uint64_t t_ns)
{
    const struct lw_personality *personality = &adapter->personality;
    bool is_ack = error->kind == LW_MAC_ACK_ERROR;
    adapter->last_violation = violation_of(adapter, error);
    if (!personality->has_each_error || personality->reporting == LW_REPORTING_OFF)
        return;
    lw_adapter_count_up(adapter, &adapter->link.n_bus_errors, t_ns);
    if (is_ack && !personality->has_ack_class && !personality->has_ack_place)
        return;
    out->class_bits |= LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR;
    if (is_ack && personality->has_ack_class)
        out->class_bits |= LW_CLASS_NO_ACKNOWLEDGE;
    out->data[BYTE_VIOLATION] = adapter->last_violation;
    out->data[BYTE_PLACE] = place_of(adapter, error);
    if (personality->counters_in_frames == LW_COUNTERS_EACH && adapter->state != LW_STATE_BUS_OFF)
        put_counters(adapter, out);
}

/* Drivers that put the counters into each frame make one of an error and the change of state it caused; the others make
 * two, the state first. */
void lw_adapter_tell_errors(struct lw_adapter *adapter, unsigned reports, const struct lw_mac_error *error, bool is_bus_off,
                        uint64_t t_ns)
{
    struct lw_error state = { 0 }, violation = { 0 };
    bool is_one = adapter->personality.counters_in_frames == LW_COUNTERS_EACH;
    put_state(adapter, &state, is_bus_off, t_ns);
    if (reports & LW_MAC_ERROR)
        put_violation(adapter, error, is_one ? &state : &violation, t_ns);
    lw_adapter_append_error(adapter, &state, t_ns);
    lw_adapter_append_error(adapter, &violation, t_ns);
    if (state.class_bits & LW_CLASS_BUS_OFF)
        lw_adapter_ask(adapter, t_ns);
}
