/* SPDX-License-Identifier: MIT
 *
 * When the units' messages are released: cyclic with jitter by the unit's own clock, on events, once at boot; and what
 * damages do to that. Called by sim.c only.
 */
#include "messages.h"

#include "loomwatch/core/wire.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { NS_PER_US = 1000, NS_PER_MS = 1000000, NS_PER_S = 1000000000 };

/* What a number is drawn for. */
enum { DRAW_PHASE = 1, DRAW_FIRST_EVENT, DRAW_JITTER, DRAW_EVENT };

/* A unit also tells soon after its start how things stand, so that a short watch has heard of every message. */
enum { FIRST_EVENT_WITHIN_MS = 500 };

/* A babbling unit's next frame waits before the last one is through, in 16ths of the time a frame takes. */
enum { BABBLE_16THS = 15 };

/* Source of the mixing function: splitmix64 (Vigna), from memory. */
static uint64_t hash(uint64_t seed, uint64_t what, uint64_t n)
{
    uint64_t x = seed + 0x9E3779B97F4A7C15U * (n + 1) + (what << 40);
    for (int round = 0; round < 2; round++) {
        x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9U;
        x = (x ^ (x >> 27)) * 0x94D049BB133111EBU;
        x ^= x >> 31;
    }
    return x;
}

/* Of a message and its sender, so that a duplicate has its own. */
static uint64_t draw(const struct lw_messages *m, const struct lw_message_slot *slot, unsigned what, uint64_t n)
{
    return hash(m->seed, (uint64_t)slot->message << 8 | (uint64_t)slot->unit << 3 | what, n);
}

/* A span of time as the unit's own clock makes it. */
static uint64_t by_clock(const struct lw_messages *m, unsigned unit, uint64_t ns)
{
    return ns + (uint64_t)((int64_t)ns / 1000 * m->crystal_ppm[unit] / 1000);
}

/* What a frame of a babbling unit takes, nearly. */
static uint64_t babble_ns(const struct lw_messages *m, const struct lw_message_slot *slot)
{
    struct lw_frame frame;
    lw_messages_frame(m, slot, 0, &frame);
    struct lw_wire_length length = lw_wire_length(&frame);
    return lw_wire_time_ns(&length, m->plant->bit_rate_bps, m->plant->data_bit_rate_bps) * BABBLE_16THS / 16;
}

static uint64_t period_ns(const struct lw_messages *m, const struct lw_message_slot *slot)
{
    if (slot->message == LW_BABBLE)
        return babble_ns(m, slot);
    return by_clock(m, slot->unit, (uint64_t)m->plant->messages[slot->message].period_ms * NS_PER_MS);
}

static void set_cyclic(const struct lw_messages *m, struct lw_message_slot *slot)
{
    uint64_t jitter_us = slot->message == LW_BABBLE ? 0 : m->plant->messages[slot->message].jitter_us;
    slot->cyclic_ns = slot->nominal_ns + draw(m, slot, DRAW_JITTER, slot->n_cycles) % (jitter_us * NS_PER_US + 1);
}

/* A square of an even draw: many short gaps, few long ones, the mean as given, and no rhythm in it. */
static uint64_t event_gap_ns(const struct lw_messages *m, const struct lw_message_slot *slot)
{
    uint64_t mean_us = (uint64_t)m->plant->messages[slot->message].event_ms * 1000;
    uint64_t u = draw(m, slot, DRAW_EVENT, slot->n_events) >> 48;
    return (mean_us / 20 + mean_us * 57 / 20 * (u * u >> 16) / 65536) * NS_PER_US;
}

static void stop(struct lw_message_slot *slot)
{
    slot->nominal_ns = slot->cyclic_ns = slot->event_ns = UINT64_MAX;
    slot->n_cycles = slot->n_events = slot->n_sent = 0;
}

static void start(struct lw_messages *m, struct lw_message_slot *slot, uint64_t t_ns)
{
    stop(slot);
    uint64_t period = period_ns(m, slot);
    if (period > 0) {
        slot->nominal_ns = t_ns + draw(m, slot, DRAW_PHASE, t_ns) % period;
        set_cyclic(m, slot);
    }
    if (slot->message == LW_BABBLE)
        return;
    const struct lw_plant_message *row = &m->plant->messages[slot->message];
    if (row->is_boot)
        slot->event_ns = t_ns;
    else if (row->event_ms)
        slot->event_ns = t_ns + draw(m, slot, DRAW_FIRST_EVENT, t_ns) % ((uint64_t)FIRST_EVENT_WITHIN_MS * NS_PER_MS);
}

static uint64_t release_ns(const struct lw_message_slot *slot)
{
    return slot->cyclic_ns < slot->event_ns ? slot->cyclic_ns : slot->event_ns;
}

static struct lw_id_key key_of(const struct lw_messages *m, const struct lw_message_slot *slot)
{
    if (slot->message == LW_BABBLE)
        return (struct lw_id_key){ .id = LW_BABBLE_ID + slot->unit };
    const struct lw_plant_message *row = &m->plant->messages[slot->message];
    bool is_foreign = m->foreign >> slot->unit & 1;
    return (struct lw_id_key){ .id = is_foreign ? m->foreign_ids[slot->message] : row->id,
                               .is_extended = row->flags & LW_FRAME_EXTENDED };
}

static void find_due(struct lw_messages *m)
{
    m->due_ns = UINT64_MAX;
    for (unsigned i = 0; i < m->n_slots; i++) {
        uint64_t release = release_ns(&m->slots[i]);
        if (release < m->due_ns || (release == m->due_ns && release != UINT64_MAX &&
            lw_id_key_order(key_of(m, &m->slots[i]), key_of(m, &m->slots[m->due_slot])) < 0)) {
            m->due_ns = release;
            m->due_slot = i;
        }
    }
}

static bool is_taken(const struct lw_messages *m, unsigned n_done, uint32_t id, bool is_extended)
{
    for (unsigned i = 0; i < m->plant->n_messages; i++) {
        const struct lw_plant_message *row = &m->plant->messages[i];
        if (!!(row->flags & LW_FRAME_EXTENDED) == is_extended && (row->id == id || (i < n_done && m->foreign_ids[i] == id)))
            return true;
    }
    return false;
}

/* Each message's identifier on another machine: not far off in priority, and free on this one. */
static void choose_foreign_ids(struct lw_messages *m)
{
    enum { OFFSET = 0x2B };
    for (unsigned i = 0; i < m->plant->n_messages; i++) {
        bool is_extended = m->plant->messages[i].flags & LW_FRAME_EXTENDED;
        uint32_t mask = is_extended ? LW_EXTENDED_ID_MAX : LW_STANDARD_ID_MAX;
        uint32_t id = (m->plant->messages[i].id + OFFSET) & mask;
        while (is_taken(m, i, id, is_extended))
            id = (id + 1) & mask;
        m->foreign_ids[i] = id;
    }
}

void lw_messages_init(struct lw_messages *m, const struct lw_plant *plant, uint64_t seed)
{
    assert(plant->n_units <= LW_PLANT_MAX_UNITS && plant->n_messages <= LW_PLANT_MAX_MESSAGES);
    memset(m, 0, sizeof *m);
    m->plant = plant;
    m->seed = seed;
    m->due_ns = UINT64_MAX;
    m->n_slots = plant->n_messages;
    for (unsigned i = 0; i < plant->n_units; i++)
        m->crystal_ppm[i] = plant->units[i].crystal_ppm;
    for (unsigned i = 0; i < m->n_slots; i++) {
        m->slots[i] = (struct lw_message_slot){ .message = (uint16_t)i, .unit = plant->messages[i].unit };
        stop(&m->slots[i]);
    }
    choose_foreign_ids(m);
}

void lw_messages_start(struct lw_messages *m, unsigned unit, uint64_t t_ns)
{
    m->present |= UINT32_C(1) << unit;
    m->running |= UINT32_C(1) << unit;
    for (unsigned i = 0; i < m->n_slots; i++)
        if (m->slots[i].unit == unit)
            start(m, &m->slots[i], t_ns);
    find_due(m);
}

void lw_messages_stop(struct lw_messages *m, unsigned unit)
{
    m->present &= ~(UINT32_C(1) << unit);
    m->running &= ~(UINT32_C(1) << unit);
    for (unsigned i = 0; i < m->n_slots; i++)
        if (m->slots[i].unit == unit)
            stop(&m->slots[i]);
    find_due(m);
}

/* Finds the slot that a damage added before among the old ones, or begins one. */
static void add_slot(struct lw_messages *m, struct lw_message_slot wanted, const struct lw_message_slot *old, unsigned n_old,
                     uint64_t t_ns)
{
    for (unsigned i = m->plant->n_messages; i < m->n_slots; i++)
        if (m->slots[i].message == wanted.message && m->slots[i].unit == wanted.unit)
            return;
    if (m->n_slots == m->plant->n_messages + LW_MAX_DAMAGES)
        return;   /* more damages than there can be */
    struct lw_message_slot *slot = &m->slots[m->n_slots++];
    *slot = wanted;
    stop(slot);
    for (unsigned i = 0; i < n_old; i++)
        if (old[i].message == wanted.message && old[i].unit == wanted.unit) {
            *slot = old[i];
            slot->has_equal_data = wanted.has_equal_data;
            return;
        }
    if (m->running >> wanted.unit & 1)
        start(m, slot, t_ns);
}

static void put_on(struct lw_messages *m, const struct lw_damage *damage, const struct lw_message_slot *old, unsigned n_old,
                   uint64_t t_ns)
{
    struct lw_message_slot slot = { .message = LW_BABBLE, .unit = damage->index, .is_added = true };
    double message = fabs(damage->value);
    if (damage->place != LW_AT_UNIT || damage->index >= m->plant->n_units)
        return;
    if (damage->kind == LW_DAMAGE_BABBLE)
        add_slot(m, slot, old, n_old, t_ns);
    if (damage->kind == LW_DAMAGE_DUPLICATE && message >= 1 && message <= m->plant->n_messages) {
        slot.message = (uint16_t)(message - 1);
        slot.has_equal_data = damage->value < 0;
        add_slot(m, slot, old, n_old, t_ns);
    }
    if (damage->kind == LW_DAMAGE_FOREIGN)
        m->foreign |= UINT32_C(1) << damage->index;
    if (damage->kind == LW_DAMAGE_FD_SENDER)
        m->fd |= UINT32_C(1) << damage->index;
    if (damage->kind == LW_DAMAGE_CRYSTAL)
        m->crystal_ppm[damage->index] = (int32_t)damage->value;
}

void lw_messages_damage(struct lw_messages *m, const struct lw_damage *damages, unsigned n, uint64_t t_ns)
{
    struct lw_message_slot old[LW_MAX_DAMAGES];
    unsigned n_old = m->n_slots - m->plant->n_messages;
    memcpy(old, &m->slots[m->plant->n_messages], n_old * sizeof *old);
    m->n_slots = m->plant->n_messages;
    m->foreign = m->fd = 0;
    for (unsigned i = 0; i < m->plant->n_units; i++)
        m->crystal_ppm[i] = m->plant->units[i].crystal_ppm;
    for (unsigned i = 0; i < n; i++)
        put_on(m, &damages[i], old, n_old, t_ns);
    find_due(m);
}

/* A slot whose release was taken: when the next one? */
static void advance(struct lw_messages *m, struct lw_message_slot *slot)
{
    slot->n_sent++;
    if (slot->cyclic_ns <= slot->event_ns) {
        slot->n_cycles++;
        slot->nominal_ns += period_ns(m, slot);
        set_cyclic(m, slot);
    } else {
        slot->n_events++;
        bool is_boot = m->plant->messages[slot->message].is_boot;
        slot->event_ns = is_boot ? UINT64_MAX : slot->event_ns + event_gap_ns(m, slot);
    }
}

bool lw_messages_take(struct lw_messages *m, uint64_t t_ns, unsigned *unit, struct lw_frame *out)
{
    if (m->due_ns > t_ns || m->due_ns == UINT64_MAX)
        return false;
    struct lw_message_slot *slot = &m->slots[m->due_slot];
    *unit = slot->unit;
    lw_messages_frame(m, slot, m->due_ns, out);
    advance(m, slot);
    find_due(m);
    return true;
}
