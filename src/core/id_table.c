/* SPDX-License-Identifier: MIT
 *
 * Open addressing over a fixed array: entries stay in order of arrival and never move.
 */
#include "loomwatch/core/id_table.h"

#include <string.h>

void lw_id_table_init(struct lw_id_table *table)
{
    table->n_entries = 0;
    table->n_overflow_frames = 0;
    for (size_t i = 0; i < LW_ID_SLOTS; i++)
        table->slots[i] = LW_NO_INDEX;
}

static size_t slot_of(struct lw_id_key key)
{
    uint32_t mixed = (key.id ^ (uint32_t)key.bus << 29 ^ (key.is_extended ? UINT32_C(0x55555555) : 0)) * UINT32_C(2654435761);
    return mixed >> 16 & (LW_ID_SLOTS - 1);
}

/* The slot that holds the key, or the free one where it belongs. There is always a free one: the slots outnumber the
 * entries. */
static size_t probe(const struct lw_id_table *table, struct lw_id_key key)
{
    size_t slot = slot_of(key);
    while (table->slots[slot] != LW_NO_INDEX && !lw_id_key_equal(table->entries[table->slots[slot]].key, key))
        slot = (slot + 1) & (LW_ID_SLOTS - 1);
    return slot;
}

int lw_id_table_find(const struct lw_id_table *table, struct lw_id_key key)
{
    return table->slots[probe(table, key)];
}

int lw_id_table_place(struct lw_id_table *table, struct lw_id_key key)
{
    size_t slot = probe(table, key);
    if (table->slots[slot] != LW_NO_INDEX)
        return table->slots[slot];
    if (table->n_entries == LW_MAX_IDS)
        return LW_NO_INDEX;
    struct lw_id_entry *entry = &table->entries[table->n_entries];
    memset(entry, 0, sizeof(*entry));
    entry->key = key;
    entry->expected = LW_NO_INDEX;
    table->slots[slot] = (int16_t)table->n_entries;
    return (int)table->n_entries++;
}

static void note_bits(struct lw_id_entry *entry, const struct lw_frame *frame, uint64_t t_ns)
{
    size_t n = frame->len < entry->last_len ? frame->len : entry->last_len;
    uint32_t ms = (uint32_t)((t_ns - entry->first_seen_ns) / 1000000);
    for (size_t i = 0; i < n; i++) {
        uint8_t changed = frame->data[i] ^ entry->last_data[i];
        entry->bits_changed[i] |= changed;
        for (unsigned bit = 0; changed != 0; bit++, changed >>= 1)
            if (changed & 1)
                entry->bit_changed_ms[8 * i + bit] = ms;
    }
}

static void note_data(struct lw_id_entry *entry, const struct lw_frame *frame, uint64_t t_ns)
{
    bool had_data = entry->n_frames > entry->n_remote;
    if (had_data) {
        note_bits(entry, frame, t_ns);
        entry->n_length_changes += frame->len != entry->last_len;
    }
    entry->dlc_seen |= (uint16_t)(1u << lw_dlc_from_len(frame->len));
    entry->last_len = frame->len;
    memcpy(entry->last_data, frame->data, frame->len);
}

/* The adapter's own clock is the better ruler where both stamps have it. */
static uint64_t gap_ns(const struct lw_id_entry *entry, const struct lw_event *event)
{
    if (event->hw_ns > entry->last_hw_ns && entry->last_hw_ns != 0)
        return event->hw_ns - entry->last_hw_ns;
    return event->t_ns > entry->last_data_ns ? event->t_ns - entry->last_data_ns : 0;
}

static void note_gap(struct lw_id_entry *entry, const struct lw_event *event)
{
    uint64_t gap = gap_ns(entry, event), period = entry->settled_period_ns;
    if (period != 0 && gap > period + period / 2)
        entry->n_missed += (gap + period / 2) / period - 1;
    lw_period_add(&entry->period, gap);
}

static void add_data(struct lw_id_entry *entry, const struct lw_event *event, uint64_t t_ns, bool skip_gap)
{
    if (!skip_gap && entry->n_frames > entry->n_remote)
        note_gap(entry, event);
    note_data(entry, &event->frame, t_ns);
    entry->last_data_ns = t_ns;
    entry->last_hw_ns = event->hw_ns;
}

void lw_id_entry_add(struct lw_id_entry *entry, const struct lw_event *event, bool skip_gap)
{
    const struct lw_frame *frame = &event->frame;
    bool is_remote = frame->flags & LW_FRAME_REMOTE;
    uint64_t t_ns = event->t_ns > entry->last_seen_ns ? event->t_ns : entry->last_seen_ns;
    if (entry->n_frames == 0)
        entry->first_seen_ns = t_ns;
    if (!is_remote)
        add_data(entry, event, t_ns, skip_gap);
    entry->n_frames++;
    entry->n_remote += is_remote;
    entry->n_fd += (frame->flags & LW_FRAME_FD) != 0;
    entry->n_own += (frame->flags & LW_FRAME_OWN) != 0;
    entry->last_flags = frame->flags;
    entry->last_seen_ns = t_ns;
}
