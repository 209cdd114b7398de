/* SPDX-License-Identifier: MIT
 *
 * Partition refinement over the messages of a bus.
 */
#include "loomwatch/core/units.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { N_LETTERS = 26, MISSED_PERIODS = 5, FIRST_NO_SENDER = 0xFE };   /* FEh: no address could be claimed; FFh: everybody (kernel j1939.h) */

static const uint64_t ms = UINT64_C(1000000);
static const uint64_t chain_ns = LW_UNIT_CHAIN_MS * UINT64_C(1000000);

void lw_units_init(struct lw_units *units)
{
    memset(units, 0, sizeof(*units));
    for (size_t i = 0; i < LW_MAX_IDS; i++)
        units->unit_of[i] = LW_NO_UNIT;
    for (unsigned bus = 0; bus < LW_MAX_BUSES; bus++)
        units->buses[bus].base = units->buses[bus].newest = LW_NO_UNIT;
}

bool lw_unit_is_together(uint64_t from_ns, uint64_t to_ns, uint64_t lo_ns, uint64_t hi_ns)
{
    return lo_ns <= to_ns + chain_ns && hi_ns + chain_ns >= from_ns;
}

static int create(struct lw_units *units, enum lw_unit_origin origin, unsigned bus, uint64_t t_ns)
{
    for (int i = 0; i < LW_MAX_UNITS; i++)
        if (units->units[i].origin == LW_UNIT_FREE) {
            units->units[i] = (struct lw_unit){
                .origin = (uint8_t)origin, .bus = (uint8_t)bus, .first_ns = t_ns, .last_ns = t_ns,
            };
            return i;
        }
    units->n_overflow++;
    return LW_NO_UNIT;
}

static void forget_in(struct lw_unit_moment *moments, int unit)
{
    for (unsigned m = 0; m < LW_UNIT_MOMENTS; m++) {
        moments[m].to[unit] = LW_NO_UNIT;
        for (int i = 0; i < LW_MAX_UNITS; i++)
            if (moments[m].to[i] == unit)
                moments[m].to[i] = LW_NO_UNIT;
    }
}

/* An empty group is free for others, so nothing may point at it. */
static void forget(struct lw_units *units, int unit)
{
    struct lw_unit_bus *bus = &units->buses[units->units[unit].bus];
    forget_in(bus->gone, unit);
    forget_in(bus->back, unit);
    if (bus->newest == unit)
        bus->newest = LW_NO_UNIT;
    if (bus->base == unit)
        bus->base = LW_NO_UNIT;
    units->units[unit] = (struct lw_unit){ .origin = LW_UNIT_FREE };
}

static void move(struct lw_units *units, int index, int to)
{
    int from = units->unit_of[index];
    units->unit_of[index] = (int16_t)to;
    bool is_cyclic = units->period_ns[index] != 0;
    units->units[to].n_messages++;
    units->units[to].n_cyclic += is_cyclic;
    if (from != LW_NO_UNIT)
        units->units[from].n_cyclic -= is_cyclic;
    if (from != LW_NO_UNIT && --units->units[from].n_messages == 0)
        forget(units, from);
}

static void settle_later(struct lw_units *units, int unit, uint64_t t_ns)
{
    uint64_t settled_ns = t_ns + LW_UNIT_SETTLE_MS * ms;
    if (settled_ns > units->units[unit].settled_ns)
        units->units[unit].settled_ns = settled_ns;
}

/* Of the members. */
static uint64_t longest_period_ns(const struct lw_units *units, int unit)
{
    uint64_t longest = 0;
    for (int i = 0; i < LW_MAX_IDS; i++)
        if (units->unit_of[i] == unit && units->period_ns[i] > longest)
            longest = units->period_ns[i];
    return longest;
}

static bool is_claim(struct lw_id_key key)
{
    return key.is_extended && (key.id & 0x03FFFF00) == 0x00EEFF00;   /* any priority, to everybody */
}

static bool has_address(const struct lw_units *units, struct lw_id_key key)
{
    return units->buses[key.bus].has_claims && key.is_extended && (key.id & 0xFF) < FIRST_NO_SENDER;
}

static int address_unit(struct lw_units *units, struct lw_id_key key, bool is_late, uint64_t t_ns)
{
    for (int i = 0; i < LW_MAX_UNITS; i++) {
        const struct lw_unit *unit = &units->units[i];
        if (unit->origin == LW_UNIT_ADDRESS && unit->bus == key.bus && unit->address == (key.id & 0xFF))
            return i;
    }
    int unit = create(units, LW_UNIT_ADDRESS, key.bus, t_ns);
    if (unit != LW_NO_UNIT) {
        units->units[unit].address = key.id & 0xFF;
        units->units[unit].is_late = is_late;
    }
    return unit;
}

static uint64_t since_back_ns(const struct lw_unit_bus *bus, uint64_t t_ns)
{
    return t_ns > bus->back_ns ? t_ns - bus->back_ns : 0;
}

static bool is_waking(const struct lw_unit_bus *bus, uint64_t t_ns)
{
    return since_back_ns(bus, t_ns) < LW_UNIT_BASE_MS * ms;
}

static void sort_by_address(struct lw_units *units, unsigned bus, uint64_t t_ns)
{
    for (int i = 0; i < LW_MAX_IDS; i++)
        if (units->unit_of[i] != LW_NO_UNIT && units->keys[i].bus == bus && has_address(units, units->keys[i])) {
            int unit = address_unit(units, units->keys[i], false, t_ns);
            if (unit != LW_NO_UNIT)
                move(units, i, unit);
        }
}

static int behaviour_unit(struct lw_units *units, unsigned index, uint64_t t_ns)
{
    struct lw_unit_bus *bus = &units->buses[index];
    if (bus->alive_ns + since_back_ns(bus, t_ns) < LW_UNIT_BASE_MS * ms) {
        if (bus->base == LW_NO_UNIT)
            bus->base = (int16_t)create(units, LW_UNIT_BASE, index, t_ns);
        return bus->base;
    }
    if (bus->newest == LW_NO_UNIT || t_ns > units->units[bus->newest].last_ns + chain_ns)
        bus->newest = (int16_t)create(units, is_waking(bus, t_ns) ? LW_UNIT_WOKE : LW_UNIT_JOINED, index, t_ns);
    return bus->newest;
}

void lw_units_woke(struct lw_units *units, unsigned index, uint64_t hole_ns, uint64_t t_ns)
{
    struct lw_unit_bus *bus = &units->buses[index];
    if (bus->has_started && hole_ns > bus->back_ns)
        bus->alive_ns += hole_ns - bus->back_ns;
    bus->has_started = true;
    bus->back_ns = t_ns;
}

void lw_units_new(struct lw_units *units, int index, struct lw_id_key key, uint64_t t_ns)
{
    struct lw_unit_bus *bus = &units->buses[key.bus];
    if (!bus->has_started)
        lw_units_woke(units, key.bus, t_ns, t_ns);
    units->keys[index] = key;
    if (is_claim(key) && !bus->has_claims) {
        bus->has_claims = true;
        sort_by_address(units, key.bus, t_ns);
    }
    int unit = has_address(units, key) ? address_unit(units, key, !is_waking(bus, t_ns), t_ns) : behaviour_unit(units, key.bus, t_ns);
    if (unit == LW_NO_UNIT)
        return;
    move(units, index, unit);
    settle_later(units, unit, t_ns);
    if (t_ns > units->units[unit].last_ns)
        units->units[unit].last_ns = t_ns;
}

/* The newest group that was still arriving less than a period before this one. */
static int late_for(const struct lw_units *units, int own, uint64_t period_ns)
{
    const struct lw_unit *unit = &units->units[own];
    int found = LW_NO_UNIT;
    for (int i = 0; i < LW_MAX_UNITS; i++) {
        const struct lw_unit *other = &units->units[i];
        bool has_arrived = other->origin == LW_UNIT_BASE || other->origin == LW_UNIT_JOINED || other->origin == LW_UNIT_WOKE;
        if (i == own || !has_arrived || other->bus != unit->bus || other->last_ns > unit->first_ns
            || unit->first_ns - other->last_ns > period_ns + chain_ns)
            continue;
        if (found == LW_NO_UNIT || other->last_ns > units->units[found].last_ns)
            found = i;
    }
    return found;
}

void lw_units_rhythm(struct lw_units *units, int index, uint64_t period_ns)
{
    int own = units->unit_of[index];
    bool was_cyclic = units->period_ns[index] != 0;
    units->period_ns[index] = period_ns;
    if (own == LW_NO_UNIT)
        return;
    units->units[own].n_cyclic += period_ns != 0;
    units->units[own].n_cyclic -= was_cyclic;
    if (was_cyclic || period_ns == 0 || units->units[own].n_messages != 1
        || units->units[own].origin != LW_UNIT_JOINED || units->units[own].letter != 0)
        return;
    int earlier = late_for(units, own, period_ns);
    if (earlier != LW_NO_UNIT)
        move(units, index, earlier);
}

static struct lw_unit_moment *moment_of(struct lw_unit_moment moments[LW_UNIT_MOMENTS], unsigned *n, uint64_t lo_ns,
                                        uint64_t hi_ns, uint64_t at_ns)
{
    unsigned oldest = *n > LW_UNIT_MOMENTS ? *n - LW_UNIT_MOMENTS : 0;
    for (unsigned i = oldest; i < *n; i++) {
        struct lw_unit_moment *moment = &moments[i % LW_UNIT_MOMENTS];
        if (!lw_unit_is_together(moment->from_ns, moment->to_ns, lo_ns, hi_ns))
            continue;
        if (lw_unit_is_together(moment->from_ns, moment->to_ns, at_ns, at_ns)) {
            moment->from_ns = at_ns < moment->from_ns ? at_ns : moment->from_ns;
            moment->to_ns = at_ns > moment->to_ns ? at_ns : moment->to_ns;
        }
        return moment;
    }
    struct lw_unit_moment *fresh = &moments[(*n)++ % LW_UNIT_MOMENTS];
    fresh->from_ns = fresh->to_ns = at_ns;
    for (int i = 0; i < LW_MAX_UNITS; i++)
        fresh->to[i] = LW_NO_UNIT;
    return fresh;
}

/* It is where this moment put it already. */
static bool has_changed(const struct lw_unit_moment *moment, int unit)
{
    for (int i = 0; i < LW_MAX_UNITS; i++)
        if (moment->to[i] == unit)
            return true;
    return false;
}

/* All of a group changed after all: it was no split. */
static void rejoin(struct lw_units *units, struct lw_unit_moment *moment, int from, int to)
{
    for (int i = 0; i < LW_MAX_IDS; i++)
        if (units->unit_of[i] == to)
            move(units, i, from);
    moment->to[from] = (int16_t)from;
}

static void change(struct lw_units *units, struct lw_unit_moment *moment, int index, uint64_t t_ns)
{
    int from = units->unit_of[index];
    if (has_changed(moment, from))
        return;
    int to = moment->to[from];
    if (to == LW_NO_UNIT && (to = create(units, LW_UNIT_SPLIT, units->units[from].bus, t_ns)) == LW_NO_UNIT)
        return;
    moment->to[from] = (int16_t)to;
    /* What was one unit so far will mostly go as one. */
    bool is_unit = units->units[from].origin != LW_UNIT_BASE;
    settle_later(units, to, t_ns + (is_unit ? MISSED_PERIODS * longest_period_ns(units, from) : 0));
    /* The emptied group must outlive the move to be gone back to. */
    units->units[from].n_messages++;
    move(units, index, to);
    if (units->units[from].n_cyclic == 0)
        rejoin(units, moment, from, to);
    units->units[from].n_messages--;
}

static bool is_split(const struct lw_units *units, int index)
{
    int unit = units->unit_of[index];
    return unit != LW_NO_UNIT && units->units[unit].origin != LW_UNIT_ADDRESS;
}

void lw_units_gone(struct lw_units *units, int index, uint64_t last_ns, uint64_t period_ns, uint64_t t_ns)
{
    struct lw_unit_bus *bus = &units->buses[units->keys[index].bus];
    if (is_split(units, index))
        change(units, moment_of(bus->gone, &bus->n_gone, last_ns, last_ns + period_ns, last_ns), index, t_ns);
}

void lw_units_back(struct lw_units *units, int index, uint64_t period_ns, uint64_t t_ns)
{
    struct lw_unit_bus *bus = &units->buses[units->keys[index].bus];
    uint64_t lo_ns = t_ns > period_ns ? t_ns - period_ns : 0;
    if (is_split(units, index))
        change(units, moment_of(bus->back, &bus->n_back, lo_ns, t_ns, t_ns), index, t_ns);
}

/* One message that paused is no unit yet, nor is something on event that was never heard before. */
static bool can_be_named(const struct lw_units *units, int i)
{
    const struct lw_unit *unit = &units->units[i];
    if (unit->origin == LW_UNIT_SPLIT)
        return unit->n_messages > 1;
    bool is_new = unit->origin == LW_UNIT_JOINED || unit->origin == LW_UNIT_WOKE || unit->is_late;
    return is_new && unit->n_cyclic > 0;
}

int lw_units_settle(struct lw_units *units, unsigned bus, uint64_t t_ns)
{
    for (int i = 0; i < LW_MAX_UNITS; i++) {
        struct lw_unit *unit = &units->units[i];
        if (unit->origin == LW_UNIT_FREE || unit->bus != bus || unit->is_told
            || t_ns < unit->settled_ns || !can_be_named(units, i))
            continue;
        unit->is_told = true;
        if (unit->origin != LW_UNIT_ADDRESS)
            unit->letter = ++units->n_letters;
        return i;
    }
    return LW_NO_UNIT;
}

void lw_units_skip_letter(struct lw_units *units, const char *sender)
{
    unsigned number = 0;
    char letter, more;
    if (sscanf(sender, "unit %c%c", &letter, &more) == 1 && letter >= 'A' && letter <= 'Z')
        number = (unsigned)(letter - 'A') + 1;
    else if (sscanf(sender, "unit %u%c", &number, &more) != 1 || number > UINT16_MAX / 2)
        return;
    if (number > units->n_letters)
        units->n_letters = (uint16_t)number;
}

char *lw_units_name(const struct lw_units *units, int index, char buf[LW_UNIT_TEXT])
{
    static const struct lw_unit none;
    int i = units->unit_of[index];
    const struct lw_unit *unit = i != LW_NO_UNIT ? &units->units[i] : &none;
    buf[0] = '\0';
    if (unit->origin == LW_UNIT_ADDRESS)
        snprintf(buf, LW_UNIT_TEXT, "unit at address %u (%02X)", unit->address, unit->address);
    else if (unit->letter > N_LETTERS)
        snprintf(buf, LW_UNIT_TEXT, "unit %u", unit->letter);
    else if (unit->letter > 0)
        snprintf(buf, LW_UNIT_TEXT, "unit %c", 'A' + unit->letter - 1);
    return buf;
}
