/* SPDX-License-Identifier: MIT
 *
 * The two wires of a bench: a resistive network that gives every unit its own voltage for every set of senders, and the
 * time it takes to get there. Knows no protocol.
 */
#ifndef LOOMWATCH_BENCH_WIRES_H
#define LOOMWATCH_BENCH_WIRES_H

#include "loomwatch/bench/damage.h"

struct lw_wires;

/* How a unit's transceiver stands. */
enum lw_transceiver { LW_TRANSCEIVER_NORMAL, LW_TRANSCEIVER_STANDBY, LW_TRANSCEIVER_UNPOWERED, LW_TRANSCEIVER_UNPLUGGED };

/* The state of wires and transceivers, as the bench wants it now. */
struct lw_wiring {
    unsigned n_damages;
    struct lw_damage damages[LW_MAX_DAMAGES];            /* those that hold now; kinds that are not about wires are ignored */
    uint8_t transceivers[LW_PLANT_MAX_UNITS];            /* enum lw_transceiver */
};

/* Everything is allocated here. NULL without memory; destroy takes NULL. plant must outlive it. */
struct lw_wires *lw_wires_create(const struct lw_plant *plant);
void lw_wires_destroy(struct lw_wires *wires);

/* From now on every receiver takes in every change alone and in its order, never many at once: the same results, slower. */
void lw_wires_take_singly(struct lw_wires *wires);

/* Rebuilds the network at t_ps. Units keep what they drive; those whose transceiver cannot drive are let go. */
void lw_wires_set(struct lw_wires *wires, const struct lw_wiring *wiring, uint64_t t_ps);

/* The unit's TXD changes at t_ps. Calls come in order of time. A TXD that stays dominant for longer than the
 * transceiver's time-out (2 ms) is let go by it. */
void lw_wires_drive(struct lw_wires *wires, unsigned unit, bool is_dominant, uint64_t t_ps);

/* The unit's RXD at t_ps: true = dominant. Calls for one unit come in order of time, none earlier than what was driven. */
bool lw_wires_rxd(struct lw_wires *wires, unsigned unit, uint64_t t_ps);

/* The newest recessive-to-dominant edge of the unit's RXD at or before the last time asked; 0 = none yet. */
uint64_t lw_wires_last_edge_ps(const struct lw_wires *wires, unsigned unit);

/* The time of the unit's next RXD change after the last time asked, as far as it is decided by what was driven so far;
 * UINT64_MAX: none. */
uint64_t lw_wires_next_change_ps(struct lw_wires *wires, unsigned unit);

/* A time that this change does not come before, for little work; is_exact: it is that of the change itself. */
uint64_t lw_wires_soonest_change_ps(struct lw_wires *wires, unsigned unit, bool *is_exact);

/* The unit's RXD does not learn sooner of what the sender's TXD does at t_ps. */
uint64_t lw_wires_reach_ps(const struct lw_wires *wires, unsigned sender, unsigned unit, uint64_t t_ps);

/* Nobody drives and every RXD is recessive, for ever if nobody begins. */
bool lw_wires_is_idle(struct lw_wires *wires);

/* Units whose receivers work, as a set. */
uint32_t lw_wires_listening(const struct lw_wires *wires);

/* For one sender among listeners, each of whose changes comes bit_ps or more after the one before, the next at from_ps at
 * the earliest. True if the unit's RXD then follows every change of its TXD exactly after_ps[is_dominant] later, less than
 * bit_ps and more than 0, as long as nobody else drives and the wiring stays: it is calm, sees this sender, and its voltage
 * settles within a bit. */
bool lw_wires_is_steady(struct lw_wires *wires, unsigned sender, unsigned unit, uint64_t bit_ps, uint64_t from_ps,
                        uint64_t after_ps[2]);

/* The sender's TXD has changed at these times, by turns, instead of by lw_wires_drive: every listening unit was steady. */
void lw_wires_resume(struct lw_wires *wires, unsigned sender, const uint64_t *changes_ps, unsigned n_changes);

/* At t_ps, not earlier than what was driven: nobody drives, and nothing is on its way to any receiver. */
bool lw_wires_rest(struct lw_wires *wires, uint64_t t_ps);

struct lw_volts {
    double h, l;                 /* against ground */
};

/* Direct-current picture with a given set of senders (bit n: unit n drives dominant), at a unit's pins or at a point. */
struct lw_volts lw_wires_unit_volts(struct lw_wires *wires, unsigned unit, uint32_t drivers);
struct lw_volts lw_wires_point_volts(struct lw_wires *wires, unsigned point, uint32_t drivers);

/* Ohms between H and L at a point, supply off (every transceiver unpowered); INFINITY above 10 megohm. */
double lw_wires_ohms(struct lw_wires *wires, unsigned point);

/* Time constant of the recessive edge at a unit (resistance between its pins × capacitance), for whoever explains the
 * model; 0 where its receiver is off. */
double lw_wires_settle_ns(struct lw_wires *wires, unsigned unit);

#endif
