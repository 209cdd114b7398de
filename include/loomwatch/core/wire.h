/* SPDX-License-Identifier: MIT
 *
 * How long a frame is on the wire, exactly: real CRC, real stuff bits. The bus load is built on it.
 */
#ifndef LOOMWATCH_CORE_WIRE_H
#define LOOMWATCH_CORE_WIRE_H

#include "loomwatch/core/frame.h"

enum {
    LW_INTERMISSION_BITS = 3,  /* ISO 11898-1: the least that separates two frames */
    LW_WIRE_MAX_BITS = 800,    /* no frame is longer, stuffing included */
};

/* Bits from start of frame to end of frame, stuff bits included, intermission not. */
struct lw_wire_length {
    uint16_t nominal_bits;   /* sent at the bit rate of the bus */
    uint16_t data_bits;      /* sent at the data bit rate: 0 unless the frame switches (BRS) */
    uint16_t stuff_bits;     /* of both together, fixed ones included */
};

/* Source: ISO 11898-1 (classic and FD frame formats, stuffing). Dynamic stuffing of an FD frame ends with the
 * data field; where it would ask for a stuff bit just there, the fixed stuff bit that opens the CRC field serves
 * (from memory). The bits in which the rate switches, BRS and CRC delimiter, count whole to the nominal rate. */
struct lw_wire_length lw_wire_length(const struct lw_frame *frame);

/* The longest that a frame of this format and length can be, whatever its identifier and data: one stuff bit for every
 * four after the first. flags as in struct lw_frame, REMOTE included; len is taken as lw_wire_length takes it. An upper
 * bound: not every format can reach it. Of a frame that switches, as many stuff bits as possible count to the nominal
 * rate, which is the slower one.
 * Source: kernel include/linux/can/length.h, can_frame_bits; the older 1-in-5 rule is too short. */
struct lw_wire_length lw_wire_worst_length(uint8_t flags, unsigned len);

/* The CRC sequence of a classic frame. */
uint16_t lw_wire_crc15(const struct lw_frame *frame);

/* Inserts stuff bits into n bits (one a byte, 0 or 1) after ISO 11898-1; out holds at least n + n/4 + 1 bytes.
 * Returns the stuffed length. */
size_t lw_wire_stuff(const uint8_t *bits, size_t n, uint8_t *out);

/* Time on the wire with intermission, in nanoseconds. 0 where a bit rate that the frame needs is unknown (0). */
uint64_t lw_wire_time_ns(const struct lw_wire_length *length, uint32_t bit_rate_bps, uint32_t data_bit_rate_bps);

#endif
