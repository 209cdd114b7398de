/* SPDX-License-Identifier: MIT
 *
 * Fault confinement as a table: a row an event, what it adds to which counter. Used by the protocol controller alone.
 */
#include "loomwatch/bench/confinement.h"

/* Source: Bosch CAN Specification 2.0 part B, chapter 8; ISO 11898-1:2003, 13.1.4.2. The warning limit: "about 96" there. */
enum {
    WARNING_FROM = 96,
    PASSIVE_FROM = 128,            /* rule 9 */
    BUS_OFF_FROM = 256,            /* rule 10 */
    REC_AFTER_GOOD_WHEN_PASSIVE = 119,   /* rule 8: 119 to 127 */
    REC_MAX = 255,                 /* addendum of 1997: need not go above 128; controllers hold eight bits */
};

struct rule {
    int8_t to_tec, to_rec;
};

static const struct rule rules[LW_N_CONFINEMENT_EVENTS] = {
    /*                                        TEC  REC */
    [LW_RX_ERROR]                         = {   0,  +1 },   /* rule 1 */
    [LW_RX_DOMINANT_AFTER_FLAG]           = {   0,  +8 },   /* rule 2 */
    [LW_TX_ERROR]                         = {  +8,   0 },   /* rule 3 */
    [LW_TX_ERROR_PASSIVE_ACK]             = {   0,   0 },   /* rule 3, exception 1 */
    [LW_TX_ERROR_STUFF_IN_ARBITRATION]    = {   0,   0 },   /* rule 3, exception 2 */
    [LW_TX_BIT_ERROR_IN_FLAG]             = {  +8,   0 },   /* rule 4 */
    [LW_RX_BIT_ERROR_IN_FLAG]             = {   0,  +8 },   /* rule 5 */
    [LW_TX_DOMINANT_TOO_LONG]             = {  +8,   0 },   /* rule 6 */
    [LW_RX_DOMINANT_TOO_LONG]             = {   0,  +8 },   /* rule 6 */
    [LW_TX_GOOD]                          = {  -1,   0 },   /* rule 7 */
    [LW_RX_GOOD]                          = {   0,  -1 },   /* rule 8 */
};

void lw_confinement_init(struct lw_confinement *confinement)
{
    *confinement = (struct lw_confinement){ 0 };
}

bool lw_confinement_is_passive(const struct lw_confinement *confinement)
{
    return confinement->tec >= PASSIVE_FROM || confinement->rec >= PASSIVE_FROM;
}

bool lw_confinement_is_warning(const struct lw_confinement *confinement)
{
    return confinement->tec >= WARNING_FROM || confinement->rec >= WARNING_FROM;
}

/* Active 0, warning 1, passive 2, bus off 3. */
static int state_of(const struct lw_confinement *confinement)
{
    if (confinement->is_bus_off)
        return 3;
    return lw_confinement_is_warning(confinement) + lw_confinement_is_passive(confinement);
}

static uint16_t sum(uint16_t counter, int change, int max)
{
    int value = counter + change;
    return (uint16_t)(value < 0 ? 0 : value > max ? max : value);
}

bool lw_confinement_apply(struct lw_confinement *confinement, enum lw_confinement_event event)
{
    int before = state_of(confinement);
    if (event == LW_BUS_OFF_RECOVERED) {                       /* rule 12 */
        lw_confinement_init(confinement);
        return before != 0;
    }
    if (confinement->is_bus_off)
        return false;
    if (event == LW_RX_GOOD && confinement->rec >= PASSIVE_FROM)
        confinement->rec = REC_AFTER_GOOD_WHEN_PASSIVE;        /* rule 8 */
    else
        confinement->rec = sum(confinement->rec, rules[event].to_rec, REC_MAX);
    confinement->tec = sum(confinement->tec, rules[event].to_tec, UINT16_MAX);
    confinement->is_bus_off = confinement->tec >= BUS_OFF_FROM;
    return state_of(confinement) != before;
}
