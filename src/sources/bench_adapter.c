/* SPDX-License-Identifier: MIT
 *
 * The adapter of the bench: counts as ISO 11898-1 wants, reports as a Linux driver does. Called by bench_bus.c and
 * bench_trouble.c only.
 */
#include "bench_adapter.h"

#include <assert.h>
#include <string.h>

/* linux/can/error.h: data[1] of a controller report. */
enum {
    REPORT_RX_OVERRUN = 0x01, REPORT_RX_WARNING = 0x04, REPORT_TX_WARNING = 0x08,
    REPORT_RX_PASSIVE = 0x10, REPORT_TX_PASSIVE = 0x20, REPORT_ACTIVE = 0x40,
};

/* Source: linux/can/error.h, CAN_ERROR_WARNING_THRESHOLD and the two after it; 128 and 256 are ISO 11898-1. */
enum { WARNING_AT = 96, PASSIVE_AT = 128, BUS_OFF_AT = 256 };

enum { ASKED_EVERY_MS = 500 };

/* A frame and the reports that one step can cause all find room: the bus takes them before it goes on. */
static struct lw_event *append(struct lw_bench_adapter *adapter, enum lw_event_kind kind, uint64_t t_ns)
{
    assert(adapter->n_waiting < LW_BENCH_WAITING);
    struct lw_event *event = &adapter->waiting[(adapter->first + adapter->n_waiting++) % LW_BENCH_WAITING];
    memset(event, 0, sizeof *event);
    if (t_ns > adapter->last_ns)
        adapter->last_ns = t_ns;
    event->t_ns = adapter->last_ns;
    event->bus = (uint8_t)adapter->bus;
    event->kind = (uint8_t)kind;
    event->stamp = LW_STAMP_BENCH;
    return event;
}

static struct lw_error *append_error(struct lw_bench_adapter *adapter, uint32_t class_bits, uint64_t t_ns)
{
    struct lw_error *error = &append(adapter, LW_EVENT_ERROR, t_ns)->error;
    error->class_bits = class_bits;
    if (class_bits & LW_CLASS_COUNTERS) {
        error->data[6] = (uint8_t)adapter->tec;
        error->data[7] = (uint8_t)adapter->rec;
    }
    return error;
}

/* The link differs from what was told: the driver, asked twice a second, will tell it next time. */
static void note_news(struct lw_bench_adapter *adapter)
{
    uint64_t every_ns = (uint64_t)ASKED_EVERY_MS * 1000000;
    if (adapter->link_due_ns == UINT64_MAX)
        adapter->link_due_ns = (adapter->last_ns / every_ns + 1) * every_ns;
}

static void count_up(struct lw_bench_adapter *adapter, struct lw_reading *reading)
{
    reading->value++;
    note_news(adapter);
}

void lw_bench_adapter_init(struct lw_bench_adapter *adapter, const struct lw_bench_machine *machine, unsigned bus)
{
    memset(adapter, 0, sizeof *adapter);
    adapter->bus = bus;
    adapter->link = (struct lw_link){
        .is_present = true, .is_up = true, .has_carrier = true,
        .controller = LW_CONTROLLER_REAL, .state = LW_STATE_ERROR_ACTIVE,
        .bit_rate_bps = LW_KNOWN(machine->bit_rate_bps), .data_bit_rate_bps = LW_UNKNOWN,
        .sample_point_permille = LW_KNOWN(machine->sample_point_permille),
        .tec = LW_KNOWN(0), .rec = LW_KNOWN(0), .restart_ms = LW_KNOWN(machine->restart_ms),
        .listen_only = LW_KNOWN(0), .error_reporting = LW_KNOWN(1), .one_shot = LW_KNOWN(0),
        .n_bus_errors = LW_KNOWN(0), .n_error_warning = LW_KNOWN(0), .n_error_passive = LW_KNOWN(0),
        .n_bus_off = LW_KNOWN(0), .n_arbitration_lost = LW_KNOWN(0), .n_restarts = LW_KNOWN(0),
    };
    lw_bench_adapter_tell_link(adapter, 0);
}

bool lw_bench_adapter_take(struct lw_bench_adapter *adapter, uint64_t until_ns, struct lw_event *out)
{
    if (!adapter->n_waiting || adapter->waiting[adapter->first].t_ns > until_ns)
        return false;
    *out = adapter->waiting[adapter->first];
    adapter->first = (adapter->first + 1) % LW_BENCH_WAITING;
    adapter->n_waiting--;
    return true;
}

void lw_bench_adapter_tell_link(struct lw_bench_adapter *adapter, uint64_t t_ns)
{
    append(adapter, LW_EVENT_LINK, t_ns)->link = adapter->link;
    adapter->link_due_ns = UINT64_MAX;
}

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

static void go_bus_off(struct lw_bench_adapter *adapter, uint64_t t_ns)
{
    append_error(adapter, LW_CLASS_BUS_OFF, t_ns);
    adapter->link.has_carrier = false;
    count_up(adapter, &adapter->link.n_bus_off);
    lw_bench_adapter_tell_link(adapter, t_ns);
}

static void change_state(struct lw_bench_adapter *adapter, enum lw_bus_state tx, enum lw_bus_state rx, uint64_t t_ns)
{
    struct lw_link *link = &adapter->link;
    enum lw_bus_state state = tx > rx ? tx : rx;
    if (state == link->state)
        return;
    bool is_worse = state > link->state;
    link->state = state;
    note_news(adapter);
    if (state == LW_STATE_BUS_OFF) {
        go_bus_off(adapter, t_ns);
        return;
    }
    struct lw_error *error = append_error(adapter, LW_CLASS_CONTROLLER | LW_CLASS_COUNTERS, t_ns);
    error->data[1] = report_of(state, tx >= rx, tx <= rx);
    if (is_worse)
        count_up(adapter, state == LW_STATE_ERROR_PASSIVE ? &link->n_error_passive : &link->n_error_warning);
}

void lw_bench_adapter_count(struct lw_bench_adapter *adapter, unsigned tec, unsigned rec, uint64_t t_ns)
{
    if (tec == adapter->tec && rec == adapter->rec)
        return;
    adapter->tec = tec;
    adapter->rec = rec;
    adapter->link.tec = LW_KNOWN(tec);
    adapter->link.rec = LW_KNOWN(rec);
    note_news(adapter);
    change_state(adapter, state_of(tec), state_of(rec), t_ns);
}

void lw_bench_adapter_frame(struct lw_bench_adapter *adapter, const struct lw_frame *frame, uint64_t t_ns)
{
    append(adapter, LW_EVENT_FRAME, t_ns)->frame = *frame;
    lw_bench_adapter_count(adapter, adapter->tec ? adapter->tec - 1 : 0, adapter->rec ? adapter->rec - 1 : 0, t_ns);
}

void lw_bench_adapter_error(struct lw_bench_adapter *adapter, uint32_t class_bits, uint8_t violation, uint8_t place,
                            uint64_t t_ns)
{
    uint32_t all = class_bits | LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR | LW_CLASS_COUNTERS;
    struct lw_error *error = append_error(adapter, all, t_ns);
    error->data[2] = violation;
    error->data[3] = place;
    count_up(adapter, &adapter->link.n_bus_errors);
}

void lw_bench_adapter_restart(struct lw_bench_adapter *adapter, uint64_t t_ns)
{
    adapter->tec = adapter->rec = 0;
    adapter->link.tec = adapter->link.rec = LW_KNOWN(0);
    adapter->link.state = LW_STATE_ERROR_ACTIVE;
    adapter->link.has_carrier = true;
    count_up(adapter, &adapter->link.n_restarts);
    append_error(adapter, LW_CLASS_RESTARTED, t_ns);
    lw_bench_adapter_tell_link(adapter, t_ns);
}

void lw_bench_adapter_overrun(struct lw_bench_adapter *adapter, uint32_t n_frames, uint64_t t_ns)
{
    append_error(adapter, LW_CLASS_CONTROLLER, t_ns)->data[1] = REPORT_RX_OVERRUN;
    append(adapter, LW_EVENT_LOSS, t_ns)->loss = (struct lw_loss){ n_frames, LW_LOSS_ADAPTER };
}
