/* SPDX-License-Identifier: MIT
 *
 * What the data of a unit's message say at a moment: constants, and the patterns that move in them. Called by messages.c.
 */
#include "messages.h"

#include <string.h>

enum { NS_PER_US = 1000, NS_PER_MS = 1000000 };

/* Up and down between 0 and swing. */
static uint16_t drift(const struct lw_pattern *pattern, uint64_t t_ns)
{
    uint64_t whole = (uint64_t)pattern->every_ms * 1000;
    if (whole == 0)
        return pattern->swing;
    uint64_t at = t_ns / NS_PER_US % whole, up = at < whole / 2 ? at : whole - at;
    return (uint16_t)(up * 2 * pattern->swing / whole);
}

static void put_bits(uint8_t *byte, uint8_t mask, unsigned value)
{
    *byte = (uint8_t)((*byte & ~mask) | (value & mask));
}

static uint8_t checksum(const struct lw_frame *frame, unsigned byte)
{
    uint8_t sum = (uint8_t)frame->id;
    for (unsigned i = 0; i < frame->len; i++)
        if (i != byte)
            sum ^= frame->data[i];
    return sum;
}

static void put_drift(uint8_t *byte, const struct lw_pattern *pattern, uint64_t t_ns)
{
    uint16_t value = drift(pattern, t_ns);
    if (pattern->mask) {
        put_bits(byte, pattern->mask, value);
        return;
    }
    byte[0] = (uint8_t)(value >> 8);
    byte[1] = (uint8_t)value;
}

static void apply(const struct lw_messages *m, const struct lw_pattern *pattern, uint64_t n_sent, uint64_t t_ns,
                  struct lw_frame *frame)
{
    uint8_t *byte = &frame->data[pattern->byte];
    unsigned n_bytes = pattern->kind == LW_PATTERN_DRIFT && pattern->mask == 0 ? 2 : 1;
    if (pattern->byte + n_bytes > LW_FRAME_MAX_LEN)
        return;
    if (pattern->kind == LW_PATTERN_COUNTER)
        put_bits(byte, pattern->mask, (unsigned)n_sent);
    else if (pattern->kind == LW_PATTERN_DRIFT)
        put_drift(byte, pattern, t_ns);
    else if (pattern->kind == LW_PATTERN_TOGGLE)
        put_bits(byte, pattern->mask, pattern->every_ms && t_ns / NS_PER_MS / pattern->every_ms % 2 ? 0xFF : 0);
    else if (pattern->kind == LW_PATTERN_PRESENCE)
        put_bits(byte, pattern->mask, m->present >> pattern->unit & 1 ? 0xFF : 0);
    else if (pattern->kind == LW_PATTERN_CHECKSUM)
        *byte = checksum(frame, pattern->byte);
}

static void format_as_sender_does(const struct lw_messages *m, const struct lw_message_slot *slot, struct lw_frame *frame)
{
    if (m->foreign >> slot->unit & 1)
        frame->id = m->foreign_ids[slot->message];
    if ((m->fd >> slot->unit & 1) && !(frame->flags & LW_FRAME_REMOTE))
        frame->flags |= LW_FRAME_FD | (m->plant->units[slot->unit].data_timing.tq_ps ? LW_FRAME_BRS : 0);
}

/* Where the original stands in its count, for a duplicate with equal data. */
static uint64_t count_of(const struct lw_messages *m, const struct lw_message_slot *slot)
{
    return slot->has_equal_data ? m->slots[slot->message].n_sent : slot->n_sent;
}

void lw_messages_frame(const struct lw_messages *m, const struct lw_message_slot *slot, uint64_t t_ns, struct lw_frame *out)
{
    memset(out, 0, sizeof *out);
    if (slot->message == LW_BABBLE) {
        out->id = LW_BABBLE_ID + slot->unit;
        out->len = LW_CLASSIC_MAX_LEN;
        memset(out->data, 0xA5, out->len);
        return;
    }
    const struct lw_plant_message *row = &m->plant->messages[slot->message];
    out->id = row->id;
    out->flags = row->flags;
    out->len = row->len;
    format_as_sender_does(m, slot, out);
    if (row->flags & LW_FRAME_REMOTE)
        return;
    memcpy(out->data, row->constant, row->len);
    for (unsigned i = 0; i < LW_PATTERNS; i++)
        apply(m, &row->patterns[i], count_of(m, slot), t_ns, out);
}
