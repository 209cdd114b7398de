/* SPDX-License-Identifier: MIT
 *
 * Ends of the fields of a frame: what their value means, and which field follows where the format or the length decides.
 * Called through the table of rows; the field that usually follows is entered already. Source: ISO 11898-1.
 */
#include "mac_state.h"

static unsigned last_bits(const struct lw_mac *mac, unsigned n)
{
    return mac->value & ((1u << n) - 1);
}

void lw_mac_end_sof(struct lw_mac *mac)
{
    mac->report |= LW_MAC_FRAME_BEGINS;
}

void lw_mac_end_base_id(struct lw_mac *mac)
{
    mac->rx.id = last_bits(mac, 11);
}

void lw_mac_end_srtr(struct lw_mac *mac)
{
    mac->is_remote_bit_set = last_bits(mac, 1) == RECESSIVE;
}

/* A dominant SRR is taken as it comes: addendum of 1997 to the Bosch specification. */
void lw_mac_end_ide(struct lw_mac *mac)
{
    if (last_bits(mac, 1) == RECESSIVE) {
        mac->rx.flags |= LW_FRAME_EXTENDED;
        lw_mac_enter(mac, PART_ID_17_13);
    }
}

void lw_mac_end_extended_id(struct lw_mac *mac)
{
    mac->rx.id = mac->rx.id << 18 | last_bits(mac, 18);
}

void lw_mac_end_rtr(struct lw_mac *mac)
{
    mac->is_remote_bit_set = last_bits(mac, 1) == RECESSIVE;
}

void lw_mac_end_fdf(struct lw_mac *mac)
{
    if (last_bits(mac, 1) == DOMINANT) {
        mac->format = FORMAT_CLASSIC;
        mac->rx.flags |= mac->is_remote_bit_set ? LW_FRAME_REMOTE : 0;
    } else if (mac->options.has_fd) {
        mac->format = FORMAT_FD;
        mac->rx.flags |= LW_FRAME_FD;
        lw_mac_enter(mac, PART_RES);
    } else {
        /* A reserved bit that a strict classic controller wants dominant. */
        lw_mac_fail(mac, LW_MAC_FORM_ERROR, lw_mac_rows[mac->last_part].place);
    }
}

/* Recessive is kept for what comes after CAN FD: here a form error, as with the protocol exception event switched off. */
void lw_mac_end_res(struct lw_mac *mac)
{
    if (last_bits(mac, 1) == RECESSIVE)
        lw_mac_fail(mac, LW_MAC_FORM_ERROR, PLACE_RES0);
}

void lw_mac_end_brs(struct lw_mac *mac)
{
    if (last_bits(mac, 1) == RECESSIVE) {
        mac->rx.flags |= LW_FRAME_BRS;
        mac->rate = LW_MAC_DATA;
    }
}

void lw_mac_end_esi(struct lw_mac *mac)
{
    mac->rx.flags |= last_bits(mac, 1) == RECESSIVE ? LW_FRAME_ESI : 0;
}

/* The CRC field of an FD frame opens with a fixed stuff bit, which also serves where a dynamic one would be due. */
static void enter_crc(struct lw_mac *mac)
{
    mac->until_fixed = 0;
    lw_mac_enter(mac, mac->format == FORMAT_FD ? PART_STUFF_COUNT : PART_CRC15);
}

void lw_mac_end_dlc(struct lw_mac *mac)
{
    unsigned len = lw_len_from_dlc(last_bits(mac, 4));
    if (mac->format != FORMAT_FD && len > LW_CLASSIC_MAX_LEN)
        len = LW_CLASSIC_MAX_LEN;                    /* addendum of 1997: codes above 8 mean 8 */
    mac->rx.len = (uint8_t)len;
    mac->n_bytes_due = mac->rx.flags & LW_FRAME_REMOTE ? 0 : (uint8_t)len;
    if (mac->n_bytes_due == 0)
        enter_crc(mac);
}

void lw_mac_end_data(struct lw_mac *mac)
{
    mac->rx.data[mac->n_bytes++] = (uint8_t)last_bits(mac, 8);
    if (mac->n_bytes == mac->n_bytes_due)
        enter_crc(mac);
}

void lw_mac_end_crc15(struct lw_mac *mac)
{
    mac->is_crc_good = last_bits(mac, 15) == mac->crc15;
    if (mac->run == EQUAL_BITS)
        lw_mac_enter(mac, PART_LAST_STUFF);
}

/* A wrong stuff count is a CRC error. Source: ISO 11898-1:2015, from memory. */
void lw_mac_end_stuff_count(struct lw_mac *mac)
{
    mac->is_crc_good = last_bits(mac, 4) == lw_mac_stuff_count_field(mac->n_stuff);
    if (mac->n_bytes_due > FD_CRC17_MAX_LEN)
        lw_mac_enter(mac, PART_CRC21);
}

void lw_mac_end_crc17(struct lw_mac *mac)
{
    mac->is_crc_good = mac->is_crc_good && last_bits(mac, 17) == mac->crc17;
}

void lw_mac_end_crc21(struct lw_mac *mac)
{
    mac->is_crc_good = mac->is_crc_good && last_bits(mac, 21) == mac->crc21;
}
