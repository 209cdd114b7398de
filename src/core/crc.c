/* SPDX-License-Identifier: MIT
 *
 * Shift registers of the three CRCs, as the standard draws them.
 */
#include "loomwatch/core/crc.h"

const struct lw_crc_kind lw_crc15 = { 15, 0x4599 };
const struct lw_crc_kind lw_crc17 = { 17, 0x1685B };
const struct lw_crc_kind lw_crc21 = { 21, 0x102899 };

uint32_t lw_crc_bit(const struct lw_crc_kind *kind, uint32_t crc, unsigned bit)
{
    uint32_t top = crc >> (kind->n_bits - 1) & 1;
    crc = crc << 1 & ((1u << kind->n_bits) - 1);
    return top ^ bit ? crc ^ kind->polynomial : crc;
}

uint32_t lw_crc_bits(const struct lw_crc_kind *kind, uint32_t crc, uint64_t value, unsigned n_bits)
{
    while (n_bits-- > 0)
        crc = lw_crc_bit(kind, crc, value >> n_bits & 1);
    return crc;
}
