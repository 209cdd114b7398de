/* SPDX-License-Identifier: MIT
 *
 * A case of the trade as a row: what is wrong with the wires or a unit, and what our adapter tells of it. Run by
 * test_sim_pictures.c (our adapter sends) and test_sim_pictures_heard.c (it listens).
 */
#ifndef LOOMWATCH_TEST_SIM_CASE_H
#define LOOMWATCH_TEST_SIM_CASE_H

#include "sim_bench.h"

struct sim_case {
    const char *name;
    const char *tells;               /* personality of our adapter */
    unsigned n_units;
    uint32_t bit_rate_bps, length_mm;
    unsigned own_ms, peer_ms;        /* periods of our adapter's message, of one of each other unit; 0 = none */
    void (*change)(struct sim_bench *bench);   /* the plant, before the start; or NULL */
    const char *fault;               /* put on at 100 ms; NULL = wrong from the start, and all of it counts */
    unsigned for_ms;

    /* What follows: exactly these bits over all error frames, but places where place 0 always may be. */
    uint32_t classes;
    uint8_t reports, violations;
    uint32_t places;                 /* 0 = none but 0; ANY_PLACE = not looked at */
    unsigned tec[2], rec[2];         /* range of the controller's own counters at the end */
    unsigned frames[2], own[2];      /* range of what arrived, of what was sent */
    uint64_t off_within_ns;          /* of the first error; 0 = never bus off */
    void (*check)(const struct sim_bench *bench);   /* the rest, or NULL */
};

#define AT(place) (UINT32_C(1) << (place))
#define ANY_PLACE UINT32_MAX
#define MANY 100000

/* data[3] of linux/can/error.h */
enum { IN_SOF = 0x03, IN_DATA = 0x0A, IN_ACK = 0x19 };

/* data[2] and data[1] of it */
enum { FORM = 0x02, STUFF = 0x04, BIT0 = 0x08, BIT1 = 0x10, SENDING = 0x80 };
enum { OVERRUN = 0x01, RX_WARNING = 0x04, TX_WARNING = 0x08, RX_PASSIVE = 0x10, TX_PASSIVE = 0x20 };

/* Fails with the name of the case. */
void sim_case_run(const struct sim_case *row);

#endif
