/* SPDX-License-Identifier: MIT
 *
 * A body bus of the invented street sweeper Harrow 40 in fake time, for screens and reports: named messages, data that
 * move, an adapter that tells of itself. Made of traffic.h; identifiers and names belong to no real machine.
 */
#ifndef LOOMWATCH_TEST_SWEEPER_H
#define LOOMWATCH_TEST_SWEEPER_H

#include "traffic.h"

static const struct sweeper_message {
    uint32_t id;
    unsigned period_ms, len;
    const char *name, *sender;
} sweeper_messages[] = {
    { 0x088, 10, 8, "chassis speed", "body gateway" },       { 0x090, 10, 8, "joystick", "operator panel" },
    { 0x0A0, 10, 8, "brush speed", "sweep control" },        { 0x0B0, 10, 8, "hopper lift", "hopper control" },
    { 0x0C8, 10, 6, "pump drive", "water pump unit" },       { 0x120, 20, 6, "brush arm", "sweep control" },
    { 0x128, 20, 8, "hopper hydraulics", "hopper control" }, { 0x130, 20, 8, "water flow", "water pump unit" },
    { 0x138, 20, 6, "levers", "operator panel" },            { 0x140, 20, 8, "engine speed", "body gateway" },
    { 0x1C0, 20, 8, "suction fan", "sweep control" },        { 0x1C8, 50, 4, "hopper door", "hopper control" },
    { 0x1D0, 50, 8, "nozzle pressures", "water pump unit" }, { 0x1D8, 50, 5, "steering", "body gateway" },
    { 0x200, 100, 4, "keys", "operator panel" },             { 0x210, 50, 8, "lamp currents", "lighting" },
    { 0x218, 50, 3, "beacon", "lighting" },                  { 0x2E0, 100, 4, "sweep status", "sweep control" },
    { 0x2E8, 100, 5, "hopper status", "hopper control" },    { 0x2F0, 200, 3, "water tank", "water pump unit" },
    { 0x308, 200, 4, "lamp state", "lighting" },             { 0x310, 100, 8, "equipment present", "body gateway" },
    { 0x3F0, 1000, 8, "lighting status", "lighting" },       { 0x400, 1000, 8, "clock", "body gateway" },
};

static const uint64_t sweeper_start_ns = UINT64_C(1700000000000000000);

/* The adapter says how it is. */
static inline void sweeper_adapter(struct traffic *traffic, unsigned bus, enum lw_bus_state state, unsigned tec,
                                   unsigned rec)
{
    struct lw_link link = lw_link_unknown();
    link.controller = LW_CONTROLLER_REAL;
    link.has_carrier = state != LW_STATE_BUS_OFF;
    link.state = state;
    link.bit_rate_bps = LW_KNOWN(500000);
    link.sample_point_permille = LW_KNOWN(875);
    link.tec = LW_KNOWN(tec);
    link.rec = LW_KNOWN(rec);
    link.error_reporting = LW_KNOWN(1);
    traffic_feed(traffic, bus, (struct lw_event){ .kind = LW_EVENT_LINK, .link = link });
}

/* n_buses buses with an adapter each; the sweeper's messages on the first. */
static inline struct traffic *sweeper_create(unsigned n_buses)
{
    struct traffic *traffic = traffic_create(n_buses, sweeper_start_ns);
    for (unsigned bus = 0; bus < n_buses; bus++)
        sweeper_adapter(traffic, bus, LW_STATE_ERROR_ACTIVE, 0, 0);
    for (unsigned i = 0; i < N_ROWS(sweeper_messages); i++) {
        const struct sweeper_message *message = &sweeper_messages[i];
        struct sender *sender = traffic_add(traffic, message->id, message->period_ms, 1 + 7 * i % 10);
        sender->frame.len = (uint8_t)message->len;
        for (unsigned byte = 0; byte < message->len; byte++)
            sender->frame.data[byte] = (uint8_t)(16 * i + 3 * byte);
    }
    return traffic;
}

/* Lets it run; a counter in the last byte and a slow signal in the first move. */
static inline void sweeper_run(struct traffic *traffic, unsigned duration_ms)
{
    for (unsigned done = 0; done < duration_ms; done += 10) {
        for (unsigned i = 0; i < traffic->n_senders; i++) {
            struct lw_frame *frame = &traffic->senders[i].frame;
            frame->data[frame->len > 0 ? frame->len - 1 : 0] += frame->len > 1;
            frame->data[0] ^= done % 5000 == 0 ? 1 : 0;
        }
        traffic_run(traffic, 10);
    }
}

/* What a fitter would have written into the baseline file. */
static inline void sweeper_name(struct lw_baseline *baseline)
{
    for (size_t i = 0; i < baseline->n_ids; i++)
        for (size_t k = 0; k < N_ROWS(sweeper_messages); k++)
            if (baseline->ids[i].key.id == sweeper_messages[k].id) {
                snprintf(baseline->ids[i].name, LW_NAME_MAX, "%s", sweeper_messages[k].name);
                snprintf(baseline->ids[i].sender, LW_NAME_MAX, "%s", sweeper_messages[k].sender);
            }
}

/* Learns what was heard, names it, and compares with it from now on. */
static inline void sweeper_settle(struct traffic *traffic)
{
    struct lw_baseline *baseline = malloc(sizeof(*baseline));
    if (!baseline)
        abort();
    lw_monitor_learn(traffic->monitor, baseline);
    sweeper_name(baseline);
    lw_monitor_set_baseline(traffic->monitor, baseline);
    free(baseline);
}

/* The hopper load sensor: boots, then sends. */
static inline void sweeper_plug_sensor(struct traffic *traffic)
{
    traffic_feed(traffic, 0, (struct lw_event){ .frame = { .id = 0x6D0, .len = 8, .data = { 0x4C, 0x34, 0x30 } } });
    traffic_add(traffic, 0x2D0, 100, 3)->frame.len = 6;
    traffic_add(traffic, 0x3D0, 500, 7)->frame.len = 4;
}

/* Takes a control unit off, or puts it back. */
static inline void sweeper_switch(struct traffic *traffic, const char *sender, bool is_off)
{
    for (size_t k = 0; k < N_ROWS(sweeper_messages); k++)
        if (strcmp(sweeper_messages[k].sender, sender) == 0)
            traffic_sender(traffic, sweeper_messages[k].id)->is_off = is_off;
}

/* A wire stuck dominant: errors, warning, passive, bus off, as an adapter reports them. */
static inline void sweeper_short(struct traffic *traffic, unsigned bus)
{
    static const struct { enum lw_bus_state state; unsigned tec; } steps[] = {
        { LW_STATE_ERROR_WARNING, 96 }, { LW_STATE_ERROR_PASSIVE, 128 }, { LW_STATE_BUS_OFF, 256 },
    };
    traffic->is_dead[bus] = true;
    traffic_error(traffic, bus, (struct lw_error){ .class_bits = LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR,
                                                   .data = { 0, 0, 0x90 } });
    for (size_t i = 0; i < N_ROWS(steps); i++) {
        sweeper_run(traffic, 10);
        sweeper_adapter(traffic, bus, steps[i].state, steps[i].tec, 0);
    }
}

#endif
