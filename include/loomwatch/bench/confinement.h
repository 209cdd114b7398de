/* SPDX-License-Identifier: MIT
 *
 * Fault confinement: the two error counters and what they decide, rule by rule. Source: Bosch CAN Specification 2.0 part B,
 * chapter 8, rules 1 to 12, and the addendum of 1997; the same in ISO 11898-1:2003, 13.1.4.2.
 */
#ifndef LOOMWATCH_BENCH_CONFINEMENT_H
#define LOOMWATCH_BENCH_CONFINEMENT_H

#include <stdbool.h>
#include <stdint.h>

struct lw_confinement {
    uint16_t tec, rec;         /* tec up to 256 and more: bus off */
    bool is_bus_off;
};

/* What happened to a controller, as the rules tell it apart. */
enum lw_confinement_event {
    LW_RX_ERROR,               /* rule 1: a receiver detects an error: REC + 1 */
    LW_RX_DOMINANT_AFTER_FLAG, /* rule 2: dominant as first bit after its error flag: REC + 8 */
    LW_TX_ERROR,               /* rule 3: a transmitter sends an error flag: TEC + 8 */
    LW_TX_ERROR_PASSIVE_ACK,   /* rule 3, exception 1: error passive, acknowledge error, no dominant bit in its flag: unchanged */
    LW_TX_ERROR_STUFF_IN_ARBITRATION,   /* rule 3, exception 2: unchanged */
    LW_TX_BIT_ERROR_IN_FLAG,   /* rule 4: TEC + 8 */
    LW_RX_BIT_ERROR_IN_FLAG,   /* rule 5: REC + 8 */
    LW_TX_DOMINANT_TOO_LONG,   /* rule 6: the 14th, or 8th after a passive flag, and each further 8: TEC + 8 */
    LW_RX_DOMINANT_TOO_LONG,   /* rule 6: REC + 8 */
    LW_TX_GOOD,                /* rule 7: TEC - 1 */
    LW_RX_GOOD,                /* rule 8: REC - 1, from above 127 to 119..127 (here 119) */
    LW_BUS_OFF_RECOVERED,      /* rule 12: both 0 */
    LW_N_CONFINEMENT_EVENTS,
};

void lw_confinement_init(struct lw_confinement *confinement);

/* Applies one rule. Returns true if the state (active, warning, passive, bus off) changed. */
bool lw_confinement_apply(struct lw_confinement *confinement, enum lw_confinement_event event);

bool lw_confinement_is_passive(const struct lw_confinement *confinement);   /* rule 9, left by rule 11 */
bool lw_confinement_is_warning(const struct lw_confinement *confinement);   /* a counter at 96 or more */

#endif
