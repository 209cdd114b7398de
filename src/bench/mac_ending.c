/* SPDX-License-Identifier: MIT
 *
 * The bits of fixed form that close a frame: CRC delimiter, acknowledge slot and delimiter, end of frame. Called through
 * the table of rows. Source: ISO 11898-1; Bosch CAN Specification 2.0 part B.
 */
#include "mac_state.h"

enum { EOF_BITS = 7 };

/* Dominant where the frame has recessive: to the sender it is a bit error, to a receiver a form error. */
static void fail_form(struct lw_mac *mac, const struct row *row)
{
    lw_mac_fail(mac, mac->is_transmitter ? LW_MAC_BIT_ERROR : LW_MAC_FORM_ERROR, row->place);
}

void lw_mac_crc_delimiter(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    if (bit == DOMINANT) {
        fail_form(mac, row);
        return;
    }
    mac->rate = LW_MAC_NOMINAL;
    mac->drives_dominant = !mac->is_transmitter && mac->is_crc_good;
    lw_mac_enter(mac, row->then);
}

/* An FD sender waits one bit more for the acknowledge: see below. */
static void ack_slot_of_sender(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    mac->is_acknowledged = bit == DOMINANT;
    if (bit == RECESSIVE && mac->format != FORMAT_FD)
        lw_mac_fail(mac, LW_MAC_ACK_ERROR, row->place);
    else
        lw_mac_enter(mac, row->then);
}

void lw_mac_ack_slot(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    if (mac->is_transmitter) {
        ack_slot_of_sender(mac, row, bit);
        return;
    }
    if (mac->sent_dominant && bit == RECESSIVE) {
        lw_mac_fail(mac, LW_MAC_BIT_ERROR, row->place);
        return;
    }
    lw_mac_enter(mac, row->then);
    if (mac->is_crc_good)
        lw_mac_count(mac, LW_RX_GOOD);               /* rule 8 counts here, not at the end of frame */
}

/* In FD frames the acknowledge of a distant unit may come one bit late (its clock changed rate at its own CRC delimiter):
 * one dominant bit more is taken as acknowledge. Source: ISO 11898-1:2015, from memory. */
void lw_mac_ack_delimiter(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    if (bit == DOMINANT) {
        if (mac->format != FORMAT_FD || mac->is_second_ack_bit)
            fail_form(mac, row);
        else
            mac->is_second_ack_bit = mac->is_acknowledged = true;
    } else if (mac->is_transmitter && !mac->is_acknowledged) {
        lw_mac_fail(mac, LW_MAC_ACK_ERROR, PLACE_ACK_SLOT);
    } else if (!mac->is_transmitter && !mac->is_crc_good) {
        lw_mac_fail(mac, LW_MAC_CRC_ERROR, PLACE_CRC);   /* the flag begins behind the acknowledge delimiter */
    } else {
        lw_mac_enter(mac, row->then);
    }
}

static void frame_sent(struct lw_mac *mac)
{
    mac->report |= LW_MAC_SENT;
    lw_mac_free_sending_slot(mac);
    lw_mac_count(mac, LW_TX_GOOD);
}

/* Good for a receiver at the last but one bit, for the sender at the last. A receiver answers a dominant last bit with an
 * overload flag: addendum of 1997. */
void lw_mac_end_of_frame(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    bool is_last = mac->n_bits == EOF_BITS - 1;
    if (bit == DOMINANT) {
        if (is_last && !mac->is_transmitter)
            lw_mac_overload(mac, row->place);
        else
            fail_form(mac, row);
        return;
    }
    if (mac->n_bits == EOF_BITS - 2 && !mac->is_transmitter)
        mac->report |= LW_MAC_RECEIVED;
    mac->n_bits++;
    if (!is_last)
        return;
    lw_mac_enter(mac, row->then);
    if (mac->is_transmitter)
        frame_sent(mac);
}
