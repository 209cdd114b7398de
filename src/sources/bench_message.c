/* SPDX-License-Identifier: MIT
 *
 * What a message of the bench does by itself: when it is released to the bus, and what its data say. Called by
 * bench_bus.c only.
 */
#include "bench_bus.h"

#include <string.h>

enum { NS_PER_US = 1000, NS_PER_MS = 1000000 };

/* What a number is drawn for. */
enum { DRAW_PHASE = 1, DRAW_JITTER, DRAW_EVENT };

/* A unit also tells soon after its start how things stand, so that a short watch has heard of every message. */
static const uint64_t first_event_within_ns = 500000000;

/* Source of the mixing function: splitmix64 (Vigna), from memory. */
uint64_t lw_bench_draw(uint64_t seed, uint32_t what, uint64_t n)
{
    uint64_t x = seed + 0x9E3779B97F4A7C15U * (n + 1) + ((uint64_t)what << 40);
    for (int round = 0; round < 2; round++) {
        x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9U;
        x = (x ^ (x >> 27)) * 0x94D049BB133111EBU;
        x ^= x >> 31;
    }
    return x;
}

static uint64_t draw(const struct lw_bench_bus *bus, size_t message, uint32_t what, uint64_t n)
{
    return lw_bench_draw(bus->seed, (uint32_t)message << 4 | what, n);
}

/* The period as the unit's own clock makes it. */
static uint64_t period_ns(const struct lw_bench_bus *bus, size_t message)
{
    const struct lw_bench_message *row = &bus->machine->messages[message];
    int64_t period = (int64_t)row->period_ms * NS_PER_MS;
    return (uint64_t)(period + period / 1000000 * bus->machine->units[row->unit].clock_ppm);
}

static uint64_t cyclic_ns(const struct lw_bench_bus *bus, size_t message)
{
    const struct lw_bench_slot *slot = &bus->slots[message];
    uint64_t jitter_ns = (uint64_t)bus->machine->messages[message].jitter_us * NS_PER_US;
    return slot->base_ns + slot->n_cycles * period_ns(bus, message) +
           draw(bus, message, DRAW_JITTER, slot->n_cycles) % (jitter_ns + 1);
}

/* A square of an even draw: many short gaps, few long ones, the mean as given, and no rhythm in it. */
static uint64_t event_gap_ns(const struct lw_bench_bus *bus, size_t message)
{
    uint64_t mean_us = (uint64_t)bus->machine->messages[message].event_ms * 1000;
    uint64_t u = draw(bus, message, DRAW_EVENT, bus->slots[message].n_events) >> 48;
    return (mean_us / 20 + mean_us * 57 / 20 * (u * u >> 16) / 65536) * NS_PER_US;
}

/* Another unit that sends the same message, if one does: two senders that started together would collide for ever, so
 * the second is set half a period off the first. */
static const struct lw_bench_slot *slot_of_same_id(const struct lw_bench_bus *bus, size_t message)
{
    const struct lw_bench_message *rows = bus->machine->messages;
    for (size_t i = 0; i < bus->machine->n_messages; i++)
        if (i != message && rows[i].id == rows[message].id && rows[i].is_extended == rows[message].is_extended &&
            bus->slots[i].cyclic_ns != UINT64_MAX)
            return &bus->slots[i];
    return NULL;
}

static uint64_t first_ns(const struct lw_bench_bus *bus, size_t message, uint64_t ready_ns)
{
    uint64_t period = period_ns(bus, message);
    const struct lw_bench_slot *other = slot_of_same_id(bus, message);
    if (!other)
        return ready_ns + draw(bus, message, DRAW_PHASE, ready_ns) % period;
    uint64_t first = other->cyclic_ns + period / 2;
    while (first < ready_ns)
        first += period;
    return first;
}

void lw_bench_slot_start(struct lw_bench_bus *self, size_t message, uint64_t t_ns)
{
    const struct lw_bench_message *row = &self->machine->messages[message];
    struct lw_bench_slot *slot = &self->slots[message];
    uint64_t ready_ns = t_ns + (uint64_t)self->machine->units[row->unit].boot_ms * NS_PER_MS;
    lw_bench_slot_stop(slot);
    slot->n_cycles = 0;
    if (row->period_ms) {
        slot->base_ns = first_ns(self, message, ready_ns);
        slot->cyclic_ns = cyclic_ns(self, message);
    }
    if (row->is_boot)
        slot->event_ns = ready_ns;
    else if (row->event_ms)
        slot->event_ns = ready_ns + draw(self, message, DRAW_PHASE, ready_ns) % first_event_within_ns;
}

void lw_bench_slot_stop(struct lw_bench_slot *slot)
{
    slot->cyclic_ns = slot->event_ns = UINT64_MAX;
}

uint64_t lw_bench_slot_release_ns(const struct lw_bench_slot *slot)
{
    return slot->cyclic_ns < slot->event_ns ? slot->cyclic_ns : slot->event_ns;
}

/* The message has gone out: when the next one? */
void lw_bench_slot_advance(struct lw_bench_bus *self, size_t message)
{
    struct lw_bench_slot *slot = &self->slots[message];
    slot->n_sent++;
    if (slot->cyclic_ns <= slot->event_ns) {
        slot->n_cycles++;
        slot->cyclic_ns = cyclic_ns(self, message);
    } else {
        slot->n_events++;
        slot->event_ns = self->machine->messages[message].is_boot ? UINT64_MAX
                                                                  : slot->event_ns + event_gap_ns(self, message);
    }
}

/* Up and down between 0 and swing. */
static uint16_t drift(const struct lw_bench_pattern *pattern, uint64_t t_ns)
{
    uint64_t whole = (uint64_t)pattern->every_ms * 1000, at = t_ns / NS_PER_US % whole;
    uint64_t up = at < whole / 2 ? at : whole - at;
    return (uint16_t)(up * 2 * pattern->swing / whole);
}

static void put_bits(uint8_t *byte, uint8_t mask, unsigned value)
{
    *byte = (uint8_t)((*byte & ~mask) | (value & mask));
}

static void apply(const struct lw_bench_bus *bus, size_t message, const struct lw_bench_pattern *pattern, uint64_t t_ns,
                  struct lw_frame *frame)
{
    uint8_t *byte = &frame->data[pattern->byte];
    uint16_t value;
    switch (pattern->kind) {
    case LW_BENCH_COUNTER:
        put_bits(byte, pattern->mask, (unsigned)bus->slots[message].n_sent);
        break;
    case LW_BENCH_DRIFT:
        value = drift(pattern, t_ns);
        if (pattern->mask)
            put_bits(byte, pattern->mask, value);
        else {
            byte[0] = (uint8_t)(value >> 8);
            byte[1] = (uint8_t)value;
        }
        break;
    case LW_BENCH_TOGGLE:
        put_bits(byte, pattern->mask, t_ns / NS_PER_MS / pattern->every_ms % 2 ? 0xFF : 0);
        break;
    case LW_BENCH_PRESENCE:
        put_bits(byte, pattern->mask, bus->has_unit[pattern->unit] ? 0xFF : 0);
        break;
    case LW_BENCH_CHECKSUM:
        *byte = (uint8_t)frame->id;
        for (unsigned i = 0; i < frame->len; i++)
            if (i != pattern->byte)
                *byte ^= frame->data[i];
        break;
    default:
        break;
    }
}

void lw_bench_frame(const struct lw_bench_bus *self, size_t message, uint64_t t_ns, struct lw_frame *out)
{
    const struct lw_bench_message *row = &self->machine->messages[message];
    memset(out, 0, sizeof *out);
    out->id = row->id;
    out->flags = row->is_extended ? LW_FRAME_EXTENDED : 0;
    out->len = row->len;
    memcpy(out->data, row->constant, sizeof row->constant);
    for (unsigned i = 0; i < LW_BENCH_PATTERNS; i++)
        apply(self, message, &row->patterns[i], t_ns, out);
}
