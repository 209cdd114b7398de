/* SPDX-License-Identifier: MIT
 *
 * The three cyclic redundancy checks of ISO 11898-1, bit by bit. Used by the wire length and by whoever builds
 * or checks frames.
 */
#ifndef LOOMWATCH_CORE_CRC_H
#define LOOMWATCH_CORE_CRC_H

#include <stdint.h>

struct lw_crc_kind {
    uint8_t n_bits;
    uint32_t polynomial;     /* without its highest term */
};

/* Classic frames; FD frames up to 16 bytes; longer FD frames. Source: ISO 11898-1 (CRC-15: Bosch CAN 2.0 B). */
extern const struct lw_crc_kind lw_crc15, lw_crc17, lw_crc21;

/* Takes one more bit (0 or 1) into crc and returns the new value. */
uint32_t lw_crc_bit(const struct lw_crc_kind *kind, uint32_t crc, unsigned bit);

/* Takes n_bits of value, most significant first. */
uint32_t lw_crc_bits(const struct lw_crc_kind *kind, uint32_t crc, uint64_t value, unsigned n_bits);

#endif
