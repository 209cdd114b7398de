/* SPDX-License-Identifier: MIT
 *
 * The ideal wire of mac_bus.h.
 */
#include "mac_bus.h"

#include "cases.h"

#include <string.h>

void bus_begin(struct mac_bus *bus, unsigned n, struct lw_mac_options options)
{
    memset(bus, 0, sizeof(*bus));
    bus->n = n;
    for (unsigned i = 0; i < n; i++) {
        bus->unit[i].mac = lw_mac_create(&options);
        assert_non_null(bus->unit[i].mac);
    }
    bus_bits(bus, 11);               /* ISO 11898-1: bus integration */
    for (unsigned i = 0; i < n; i++)
        assert_true(lw_mac_is_idle(bus->unit[i].mac));
    bus->n_bits = 0;
}

void bus_end(struct mac_bus *bus)
{
    for (unsigned i = 0; i < bus->n; i++)
        lw_mac_destroy(bus->unit[i].mac);
}

void bus_replace(struct mac_bus *bus, unsigned unit, struct lw_mac_options options)
{
    lw_mac_reset(bus->unit[unit].mac, &options);
    bus_bits(bus, 11);
    bus->n_bits = 0;
}

static void note(struct bus_unit *unit)
{
    unit->n_received += (unit->report & LW_MAC_RECEIVED) != 0;
    unit->n_sent += (unit->report & LW_MAC_SENT) != 0;
    unit->n_lost += (unit->report & LW_MAC_LOST_ARBITRATION) != 0;
    unit->n_bus_off += (unit->report & LW_MAC_BUS_OFF) != 0;
    unit->n_recovered += (unit->report & LW_MAC_RECOVERED) != 0;
    unit->n_begun += (unit->report & LW_MAC_FRAME_BEGINS) != 0;
    if (unit->report & (LW_MAC_RECEIVED | LW_MAC_SENT))
        unit->frame = *lw_mac_frame(unit->mac);
    if (unit->report & LW_MAC_ERROR) {
        unit->last_error = *lw_mac_error(unit->mac);
        if (unit->n_errors++ == 0)
            unit->first_error = unit->last_error;
    }
}

void bus_bit(struct mac_bus *bus)
{
    bool is_dominant = bus->is_held_dominant;
    for (unsigned i = 0; i < bus->n; i++)
        is_dominant |= lw_mac_drives_dominant(bus->unit[i].mac);
    is_dominant &= !bus->is_cut;
    bus->was_dominant = is_dominant;
    for (unsigned i = 0; i < bus->n; i++) {
        struct bus_unit *unit = &bus->unit[i];
        unit->report = lw_mac_sample(unit->mac, is_dominant != unit->misreads);
        unit->misreads = false;
        note(unit);
    }
    bus->n_bits++;
}

void bus_bits(struct mac_bus *bus, unsigned n)
{
    while (n-- > 0)
        bus_bit(bus);
}

unsigned bus_settle(struct mac_bus *bus, unsigned limit)
{
    unsigned n = 0;
    for (; n < limit; n++) {
        bool is_idle = true;
        for (unsigned i = 0; i < bus->n; i++)
            is_idle &= lw_mac_is_idle(bus->unit[i].mac);
        if (is_idle)
            break;
        bus_bit(bus);
    }
    return n;
}

void bus_run_until_sent(struct mac_bus *bus, unsigned unit)
{
    unsigned n_sent = bus->unit[unit].n_sent;
    for (unsigned i = 0; i < 5000 && bus->unit[unit].n_sent == n_sent; i++)
        bus_bit(bus);
    assert_int_equal(bus->unit[unit].n_sent, n_sent + 1);
}

void bus_queue(struct mac_bus *bus, unsigned unit, const struct lw_frame *frame)
{
    assert_int_equal(lw_mac_send(bus->unit[unit].mac, frame), 0);
}

void bus_assert_counters(const struct mac_bus *bus, unsigned unit, unsigned tec, unsigned rec)
{
    assert_int_equal(lw_mac_confinement(bus->unit[unit].mac)->tec, tec);
    assert_int_equal(lw_mac_confinement(bus->unit[unit].mac)->rec, rec);
}

void bus_assert_same_frame(const struct lw_frame *got, const struct lw_frame *expected)
{
    assert_int_equal(got->id, expected->id);
    assert_int_equal(got->flags, expected->flags);
    assert_int_equal(got->len, expected->len);
    if (!(expected->flags & LW_FRAME_REMOTE))
        assert_memory_equal(got->data, expected->data, expected->len);
}

void bus_set_counters(struct mac_bus *bus, unsigned unit, unsigned tec, unsigned rec)
{
    struct lw_confinement *confinement = (struct lw_confinement *)lw_mac_confinement(bus->unit[unit].mac);
    confinement->tec = (uint16_t)tec;
    confinement->rec = (uint16_t)rec;
}
