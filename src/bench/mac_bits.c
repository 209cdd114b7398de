/* SPDX-License-Identifier: MIT
 *
 * One bit of a frame from its start to its CRC: compared with what was sent, taken out of the stuffing, into the CRC, into
 * its field. The busiest code of the bench. Called through the table of rows.
 */
#include "mac_state.h"

/* CRC starts of FD frames: highest bit set. Source: ISO 11898-1:2015, from memory. */
enum { CRC17_START = 1 << 16, CRC21_START = 1 << 20 };

void lw_mac_begin_frame(struct lw_mac *mac)
{
    mac->rx = (struct lw_frame){ 0 };
    mac->value = 0;
    mac->run = 0;
    mac->last_bit = RECESSIVE;
    mac->format = mac->options.has_fd ? FORMAT_UNKNOWN : FORMAT_CLASSIC;
    mac->rate = LW_MAC_NOMINAL;
    mac->n_stuff = mac->n_bytes = mac->n_bytes_due = 0;
    mac->n_overloads = 0;
    mac->is_acknowledged = mac->is_second_ack_bit = mac->is_crc_good = false;
    mac->crc15 = 0;
    mac->crc17 = CRC17_START;
    mac->crc21 = CRC21_START;
    lw_mac_enter(mac, PART_SOF);
}

/* As lw_crc_bit, without branches. */
static inline uint32_t crc_bit(uint32_t crc, unsigned bit, unsigned n_bits, uint32_t polynomial)
{
    uint32_t is_set = (crc >> (n_bits - 1) ^ bit) & 1;
    return (crc << 1 ^ (-is_set & polynomial)) & ((1u << n_bits) - 1);
}

static inline void fd_crc_bit(struct lw_mac *mac, unsigned bit)
{
    if (mac->format == FORMAT_CLASSIC)
        return;
    mac->crc17 = crc_bit(mac->crc17, bit, 17, lw_crc17.polynomial);
    mac->crc21 = crc_bit(mac->crc21, bit, 21, lw_crc21.polynomial);
}

static inline void all_crc_bit(struct lw_mac *mac, unsigned bit)
{
    if (mac->format != FORMAT_FD)
        mac->crc15 = crc_bit(mac->crc15, bit, 15, lw_crc15.polynomial);
    fd_crc_bit(mac, bit);
}

static inline void drive_next(struct lw_mac *mac)
{
    if (mac->is_transmitter && mac->n_sent_bits < mac->stream.n)
        mac->drives_dominant = mac->stream.bit[mac->n_sent_bits++] == DOMINANT;
}

static inline void take(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    mac->value = mac->value << 1 | bit;
    if (++mac->n_bits == row->n_bits) {
        lw_mac_enter(mac, row->then);
        if (row->end)
            row->end(mac);
    }
}

/* IDE belongs to the arbitration field of the extended format only. */
static bool is_arbitrating(const struct lw_mac *mac, const struct row *row)
{
    return row->rules & RULE_ARBITRATION && (mac->part != PART_IDE || mac->sends_extended);
}

/* What was sent is not what is there. True if the controller goes on, as a receiver. */
static bool survives_difference(struct lw_mac *mac, const struct row *row)
{
    if (mac->sent_dominant || !is_arbitrating(mac, row)) {
        lw_mac_fail(mac, LW_MAC_BIT_ERROR, row->place);
        return false;
    }
    if (mac->run == EQUAL_BITS) {                    /* a stuff bit: all who still send want it recessive */
        lw_mac_fail(mac, LW_MAC_STUFF_ERROR, row->place);
        return false;
    }
    mac->is_transmitter = false;
    mac->report |= LW_MAC_LOST_ARBITRATION;
    if (mac->options.is_one_shot)
        lw_mac_free_sending_slot(mac);
    mac->sending_slot = NO_SLOT;
    return true;
}

static inline bool is_as_sent(const struct lw_mac *mac, unsigned bit)
{
    return !mac->is_transmitter || bit != mac->sent_dominant;    /* dominant is 0: as sent means different numbers */
}

static void stuff_bit(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    mac->last_was_stuff = true;
    if (bit == mac->last_bit) {
        lw_mac_fail(mac, LW_MAC_STUFF_ERROR, row->place);
        return;
    }
    mac->last_bit = (uint8_t)bit;
    mac->run = 1;
    mac->n_stuff++;
    fd_crc_bit(mac, bit);                            /* classic CRC: over the bits without stuffing */
    drive_next(mac);
}

void lw_mac_stuffed_bit(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    if (!is_as_sent(mac, bit) && !survives_difference(mac, row))
        return;
    if (mac->run == EQUAL_BITS) {
        stuff_bit(mac, row, bit);
        return;
    }
    mac->run = bit == mac->last_bit ? mac->run + 1 : 1;
    mac->last_bit = (uint8_t)bit;
    if (row->rules & RULE_IN_CRC)
        all_crc_bit(mac, bit);
    drive_next(mac);
    take(mac, row, bit);
}

void lw_mac_last_stuff_bit(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    lw_mac_stuffed_bit(mac, row, bit);
    if (mac->part == PART_LAST_STUFF)                /* no error */
        lw_mac_enter(mac, row->then);
}

/* The CRC field of an FD frame: a stuff bit at fixed places, the opposite of the bit before. It is not in the CRC; a wrong
 * one is a form error. Source: ISO 11898-1:2015, from memory. */
void lw_mac_fixed_stuffed_bit(struct lw_mac *mac, const struct row *row, unsigned bit)
{
    bool is_stuff = mac->until_fixed == 0;
    mac->last_was_stuff = is_stuff;
    if (!is_as_sent(mac, bit)) {
        lw_mac_fail(mac, LW_MAC_BIT_ERROR, row->place);
        return;
    }
    if (is_stuff && bit == mac->last_bit) {
        lw_mac_fail(mac, LW_MAC_FORM_ERROR, row->place);
        return;
    }
    mac->until_fixed = is_stuff ? FIXED_STUFF_EVERY : mac->until_fixed - 1;
    mac->last_bit = (uint8_t)bit;
    drive_next(mac);
    if (is_stuff)
        return;
    if (row->rules & RULE_IN_CRC)
        fd_crc_bit(mac, bit);
    take(mac, row, bit);
}
