/* SPDX-License-Identifier: MIT
 *
 * Events by chance, the same for the same seed, of the kinds and contents that a capture can hold; and
 * whether two of them say the same.
 */
#ifndef LOOMWATCH_TEST_RANDOM_EVENT_H
#define LOOMWATCH_TEST_RANDOM_EVENT_H

#include "loomwatch/core/event.h"

#include <math.h>
#include <string.h>

/* Marsaglia's xorshift64; seed must not be 0. */
static inline uint64_t random_bits(uint64_t *seed)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return *seed;
}

static inline uint32_t random_below(uint64_t *seed, uint32_t limit)
{
    return (uint32_t)((random_bits(seed) >> 32) % limit);
}

static inline void random_fill(uint64_t *seed, uint8_t *out, size_t n)
{
    for (size_t i = 0; i < n; i++)
        out[i] = (uint8_t)random_below(seed, 256);
}

static inline struct lw_frame random_frame(uint64_t *seed)
{
    struct lw_frame frame = { 0 };
    bool is_extended = random_below(seed, 2);
    unsigned form = random_below(seed, 4);
    frame.id = random_below(seed, is_extended ? LW_EXTENDED_ID_MAX + 1u : LW_STANDARD_ID_MAX + 1u);
    frame.flags = is_extended ? LW_FRAME_EXTENDED : 0;
    if (form == 0) {
        frame.flags |= LW_FRAME_REMOTE;
        return frame;
    }
    if (form == 1)
        frame.flags |= (uint8_t)(LW_FRAME_FD | (random_bits(seed) & (LW_FRAME_BRS | LW_FRAME_ESI)));
    frame.len = (uint8_t)lw_len_from_dlc(random_below(seed, form == 1 ? LW_N_DLC : 9));
    random_fill(seed, frame.data, frame.len);
    return frame;
}

static inline struct lw_error random_error(uint64_t *seed)
{
    struct lw_error error = { .class_bits = random_below(seed, LW_EXTENDED_ID_MAX) | 1u << random_below(seed, 10) };
    random_fill(seed, error.data, sizeof(error.data));
    return error;
}

static inline struct lw_link random_link(uint64_t *seed)
{
    struct lw_link link = lw_link_unknown();
    link.is_present = random_below(seed, 2);
    link.is_up = random_below(seed, 2);
    link.has_carrier = random_below(seed, 2);
    link.controller = (enum lw_controller_presence)random_below(seed, LW_CONTROLLER_REAL + 1);
    link.state = (enum lw_bus_state)random_below(seed, LW_STATE_SLEEPING + 1);
    if (random_below(seed, 2))
        link.bit_rate_bps = LW_KNOWN(1 + random_below(seed, 0xFFFFFF));
    if (random_below(seed, 2))
        link.data_bit_rate_bps = LW_KNOWN((1 + random_below(seed, 0xFF)) * 100000);
    return link;
}

/* t_ns is left at 0. */
static inline struct lw_event random_event(uint64_t *seed)
{
    struct lw_event event = { .kind = LW_EVENT_FRAME };
    unsigned chance = random_below(seed, 8);
    event.kind = (uint8_t)(chance > LW_EVENT_VERDICT ? LW_EVENT_FRAME : chance);
    switch (event.kind) {
    case LW_EVENT_FRAME: event.frame = random_frame(seed); break;
    case LW_EVENT_ERROR: event.error = random_error(seed); break;
    case LW_EVENT_LINK: event.link = random_link(seed); break;
    case LW_EVENT_LOSS:
        event.loss.n_frames = (uint32_t)random_bits(seed);
        event.loss.place = random_below(seed, 2) ? LW_LOSS_ADAPTER : LW_LOSS_SOCKET;
        break;
    case LW_EVENT_MARK: event.mark = (uint8_t)random_below(seed, LW_N_MARKS); break;
    case LW_EVENT_METER:
        event.meter.kind = (uint8_t)random_below(seed, LW_N_MEASUREMENTS);
        event.meter.value = random_below(seed, 8) ? (double)random_below(seed, 1000000) / 1000 : INFINITY;
        break;
    case LW_EVENT_VERDICT: random_fill(seed, (uint8_t *)&event.told, sizeof(event.told)); break;
    default: break;
    }
    return event;
}

static inline bool is_same_reading(struct lw_reading a, struct lw_reading b)
{
    return a.is_known == b.is_known && (!a.is_known || a.value == b.value);
}

static inline bool is_same_link(const struct lw_link *a, const struct lw_link *b)
{
    return a->is_present == b->is_present && a->is_up == b->is_up && a->has_carrier == b->has_carrier
           && a->controller == b->controller && a->state == b->state
           && is_same_reading(a->bit_rate_bps, b->bit_rate_bps)
           && is_same_reading(a->data_bit_rate_bps, b->data_bit_rate_bps) && is_same_reading(a->tec, b->tec)
           && is_same_reading(a->restart_ms, b->restart_ms);
}

/* Kind and content; not time, bus and stamp. */
static inline bool is_same_event(const struct lw_event *a, const struct lw_event *b)
{
    if (a->kind != b->kind)
        return false;
    switch (a->kind) {
    case LW_EVENT_FRAME:
        return a->frame.id == b->frame.id && a->frame.flags == b->frame.flags && a->frame.len == b->frame.len
               && memcmp(a->frame.data, b->frame.data, sizeof(a->frame.data)) == 0;
    case LW_EVENT_ERROR:
        return a->error.class_bits == b->error.class_bits && memcmp(a->error.data, b->error.data, 8) == 0;
    case LW_EVENT_LINK: return is_same_link(&a->link, &b->link);
    case LW_EVENT_LOSS: return a->loss.place == b->loss.place && a->loss.n_frames == b->loss.n_frames;
    case LW_EVENT_MARK: return a->mark == b->mark;
    case LW_EVENT_METER:
        return a->meter.kind == b->meter.kind && (a->meter.value == b->meter.value || fabs(a->meter.value - b->meter.value) < 0.001);
    case LW_EVENT_VERDICT: return memcmp(&a->told, &b->told, sizeof(a->told)) == 0;
    default: return true;
    }
}

#endif
