/* SPDX-License-Identifier: MIT
 *
 * Between frames: intermission, suspend transmission, idle; and the times a controller stands aside: joining after its start,
 * and bus off. Called through the table of rows. Source: ISO 11898-1; Bosch CAN Specification 2.0 part B, 3.1.5 and 8.
 */
#include "mac_state.h"

enum { INTERMISSION_BITS = 3, SUSPEND_BITS = 8 };

/* Makes the first in the queue the frame that this controller sends. */
static void take_from_queue(struct lw_mac *mac)
{
    mac->sending_slot = lw_mac_next_slot(mac);
    const struct lw_frame *frame = &mac->queue[mac->sending_slot].frame;
    mac->is_transmitter = true;
    mac->sends_extended = (frame->flags & LW_FRAME_EXTENDED) != 0;
    lw_mac_build_stream(&mac->stream, frame, lw_confinement_is_passive(&mac->confinement));
    mac->n_sent_bits = 1;                            /* start of frame: by its caller */
}

/* The bus is free: a frame that waits begins with the next bit. */
static void be_free(struct lw_mac *mac)
{
    mac->is_transmitter = false;
    if (mac->n_queued == 0) {
        lw_mac_enter(mac, PART_IDLE);
        return;
    }
    take_from_queue(mac);
    lw_mac_begin_frame(mac);
    mac->drives_dominant = true;
}

/* A dominant bit was somebody's start of frame. A controller with a frame of its own takes it for its own and goes on with
 * the identifier, if it may. */
static void join_frame(struct lw_mac *mac, bool may_send)
{
    mac->is_transmitter = false;
    if (may_send && mac->n_queued > 0)
        take_from_queue(mac);
    lw_mac_begin_frame(mac);
    mac->sent_dominant = mac->is_transmitter;
    mac->last_part = PART_SOF;
    lw_mac_stuffed_bit(mac, &lw_mac_rows[PART_SOF], DOMINANT);
}

static bool must_suspend(const struct lw_mac *mac)
{
    return mac->is_transmitter && lw_confinement_is_passive(&mac->confinement);
}

void lw_mac_intermission(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    bool is_last = mac->n_bits == INTERMISSION_BITS - 1;
    if (bit == DOMINANT && is_last)
        join_frame(mac, !must_suspend(mac));
    else if (bit == DOMINANT)
        lw_mac_overload(mac, row->place);
    else if (!is_last)
        mac->n_bits++;
    else if (must_suspend(mac))
        lw_mac_enter(mac, PART_SUSPEND);
    else
        be_free(mac);
}

void lw_mac_suspend(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    (void)row;
    if (bit == DOMINANT)
        join_frame(mac, false);
    else if (++mac->n_bits == SUSPEND_BITS)
        be_free(mac);
}

void lw_mac_idle(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    (void)row;
    if (bit == DOMINANT)
        join_frame(mac, true);
    else if (mac->n_queued > 0)
        be_free(mac);
}

void lw_mac_joining(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    if (bit == DOMINANT)
        mac->n_bits = 0;
    else if (++mac->n_bits == row->n_bits)
        be_free(mac);
}

void lw_mac_bus_off(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    if (!mac->is_recovering)
        return;
    if (bit == DOMINANT) {
        mac->n_bits = 0;
        return;
    }
    if (++mac->n_bits < row->n_bits)
        return;
    mac->n_bits = 0;
    if (++mac->n_sequences < RECOVERY_SEQUENCES)
        return;
    mac->is_recovering = false;
    mac->report |= LW_MAC_RECOVERED;
    lw_mac_count(mac, LW_BUS_OFF_RECOVERED);
    be_free(mac);
}

unsigned lw_mac_silent_bits(const struct lw_mac *mac)
{
    enum { ANY = 1000 };
    unsigned left = lw_mac_rows[mac->part].n_bits - mac->n_bits;
    switch (mac->part) {
    case PART_ACK_DELIMITER:
        return (mac->is_transmitter ? mac->is_acknowledged : mac->is_crc_good)
            ? left + lw_mac_rows[PART_EOF].n_bits + INTERMISSION_BITS : 0;
    case PART_EOF: case PART_ERROR_DELIMITER: case PART_OVERLOAD_DELIMITER:
        return left + INTERMISSION_BITS;
    case PART_INTERMISSION: case PART_SUSPEND: case PART_JOINING:
        return left;
    case PART_IDLE:
        return mac->n_queued > 0 ? 1 : ANY;
    case PART_BUS_OFF:
        return mac->is_recovering ? left : ANY;
    default:
        return 0;
    }
}
