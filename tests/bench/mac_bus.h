/* SPDX-License-Identifier: MIT
 *
 * An ideal wire for tests of the protocol controller: all units sample the same bit at the same time, dominant if one of
 * them drives it; a unit can be made to misread single bits. Counts what every unit reports.
 */
#ifndef LOOMWATCH_TEST_MAC_BUS_H
#define LOOMWATCH_TEST_MAC_BUS_H

#include "loomwatch/bench/mac.h"

enum { MAC_BUS_UNITS = 6 };

struct bus_unit {
    struct lw_mac *mac;
    bool misreads;                   /* the next bit, once */
    unsigned report;                 /* of the last bit */
    unsigned n_received, n_sent, n_errors, n_lost, n_bus_off, n_recovered, n_begun;
    struct lw_frame frame;           /* last received or sent */
    struct lw_mac_error first_error, last_error;
};

struct mac_bus {
    unsigned n;
    struct bus_unit unit[MAC_BUS_UNITS];
    uint64_t n_bits;
    bool is_held_dominant;           /* by somebody outside, every bit */
    bool is_cut;                     /* nobody hears anything but recessive */
    bool was_dominant;
};

/* n units with the same options, joined: the bus is idle. */
void bus_begin(struct mac_bus *bus, unsigned n, struct lw_mac_options options);
void bus_end(struct mac_bus *bus);
void bus_replace(struct mac_bus *bus, unsigned unit, struct lw_mac_options options);

void bus_bit(struct mac_bus *bus);
void bus_bits(struct mac_bus *bus, unsigned n);

/* Until all are idle, or limit bits have passed. Returns the number of bits. */
unsigned bus_settle(struct mac_bus *bus, unsigned limit);

/* Until unit reports its next frame as sent; asserts that it comes. */
void bus_run_until_sent(struct mac_bus *bus, unsigned unit);
void bus_queue(struct mac_bus *bus, unsigned unit, const struct lw_frame *frame);
void bus_assert_counters(const struct mac_bus *bus, unsigned unit, unsigned tec, unsigned rec);
void bus_assert_same_frame(const struct lw_frame *got, const struct lw_frame *expected);

/* As if the unit had come so far by errors of its own. */
void bus_set_counters(struct mac_bus *bus, unsigned unit, unsigned tec, unsigned rec);

#endif
