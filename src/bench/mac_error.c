/* SPDX-License-Identifier: MIT
 *
 * Errors and overloads: which rule of fault confinement counts, which flag is sent, when it is over, and the delimiter.
 * Called by the other mac files and through the table of rows. Source: Bosch CAN Specification 2.0 part B, 3.1.3, 3.1.4, 8.
 */
#include "mac_state.h"

enum { TOLERATED_DOMINANT = 8 };     /* rule 6: the 14th with the flag's six, the 8th after a passive flag */

static void enter_bus_off(struct lw_mac *mac)
{
    lw_mac_enter(mac, PART_BUS_OFF);
    mac->drives_dominant = mac->is_transmitter = mac->is_recovering = false;
    mac->n_sequences = 0;
    mac->sending_slot = NO_SLOT;
    mac->rate = LW_MAC_NOMINAL;
    mac->report |= LW_MAC_BUS_OFF;
}

bool lw_mac_count(struct lw_mac *mac, enum lw_confinement_event event)
{
    if (lw_confinement_apply(&mac->confinement, event))
        mac->report |= LW_MAC_STATE;
    if (mac->confinement.is_bus_off)
        enter_bus_off(mac);
    return !mac->confinement.is_bus_off;
}

static void begin_flag(struct lw_mac *mac, bool is_passive)
{
    lw_mac_enter(mac, is_passive ? PART_PASSIVE_FLAG : PART_ACTIVE_FLAG);
    mac->drives_dominant = !is_passive;
    mac->run = 0;
    mac->rate = LW_MAC_NOMINAL;
}

/* An error that makes a controller error passive is still answered with an active flag: rule 9. */
static void fail_by_rule(struct lw_mac *mac, struct lw_mac_error error, enum lw_confinement_event rule)
{
    bool is_passive = lw_confinement_is_passive(&mac->confinement);
    mac->error = error;
    mac->report |= LW_MAC_ERROR;
    mac->is_ack_excused = rule == LW_TX_ERROR_PASSIVE_ACK;
    if (mac->options.is_one_shot)
        lw_mac_free_sending_slot(mac);
    mac->sending_slot = NO_SLOT;
    if (lw_mac_count(mac, rule))
        begin_flag(mac, is_passive);
}

/* A sender finds a stuff error in one place only, during arbitration: else it is a bit error. */
static enum lw_confinement_event rule_for(const struct lw_mac *mac, enum lw_mac_error_kind kind)
{
    if (!mac->is_transmitter)
        return LW_RX_ERROR;
    if (kind == LW_MAC_STUFF_ERROR)
        return LW_TX_ERROR_STUFF_IN_ARBITRATION;
    if (kind == LW_MAC_ACK_ERROR && lw_confinement_is_passive(&mac->confinement))
        return LW_TX_ERROR_PASSIVE_ACK;
    return LW_TX_ERROR;
}

void lw_mac_fail(struct lw_mac *mac, enum lw_mac_error_kind kind, uint8_t place)
{
    struct lw_mac_error error = {
        .kind = (uint8_t)kind, .place = place, .is_transmitter = mac->is_transmitter,
        .sent_dominant = kind == LW_MAC_BIT_ERROR && mac->sent_dominant,
    };
    fail_by_rule(mac, error, rule_for(mac, kind));
}

/* Where two overload frames did not help, a further disturbance counts as an error of form. */
void lw_mac_overload(struct lw_mac *mac, uint8_t place)
{
    if (mac->n_overloads == MAX_OVERLOADS) {
        lw_mac_fail(mac, LW_MAC_FORM_ERROR, place);
        return;
    }
    mac->n_overloads++;
    lw_mac_enter(mac, PART_OVERLOAD_FLAG);
    mac->drives_dominant = true;
}

/* Active error flag, overload flag: rules 4 and 5. */
void lw_mac_dominant_flag(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    if (bit == RECESSIVE) {
        struct lw_mac_error error = {
            .kind = LW_MAC_BIT_ERROR, .place = row->place, .is_transmitter = mac->is_transmitter, .sent_dominant = true,
        };
        fail_by_rule(mac, error, mac->is_transmitter ? LW_TX_BIT_ERROR_IN_FLAG : LW_RX_BIT_ERROR_IN_FLAG);
    } else if (++mac->n_bits == row->n_bits) {
        lw_mac_enter(mac, row->then);
    } else {
        mac->drives_dominant = true;
    }
}

/* Over after six equal bits, whoever sent them. */
void lw_mac_passive_flag(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    mac->run = bit == mac->last_bit ? mac->run + 1 : 1;
    mac->last_bit = (uint8_t)bit;
    if (mac->run == row->n_bits)
        lw_mac_enter(mac, row->then);
    if (bit == DOMINANT && mac->is_ack_excused) {
        mac->is_ack_excused = false;                 /* somebody is there: rule 3 without its exception */
        lw_mac_count(mac, LW_TX_ERROR);
    }
}

/* Behind a flag, until the first recessive bit, which is already the delimiter's: rules 2 and 6. */
void lw_mac_flag_tail(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    if (bit == RECESSIVE) {
        lw_mac_enter(mac, row->then);
        mac->n_bits = 1;
        return;
    }
    mac->n_bits++;
    if (mac->n_bits == 1 && mac->part == PART_ERROR_TAIL && !mac->is_transmitter)
        lw_mac_count(mac, LW_RX_DOMINANT_AFTER_FLAG);
    if (mac->n_bits % TOLERATED_DOMINANT == 0) {
        mac->n_bits = TOLERATED_DOMINANT;            /* counts on in eights, never as the first again */
        lw_mac_count(mac, mac->is_transmitter ? LW_TX_DOMINANT_TOO_LONG : LW_RX_DOMINANT_TOO_LONG);
    }
}

void lw_mac_delimiter(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    bool is_last = mac->n_bits == row->n_bits - 1;
    if (bit == RECESSIVE) {
        mac->n_bits++;
        if (is_last)
            lw_mac_enter(mac, row->then);
    } else if (is_last) {
        lw_mac_overload(mac, row->place);
    } else {
        lw_mac_fail(mac, LW_MAC_FORM_ERROR, row->place);
    }
}
