/* SPDX-License-Identifier: MIT
 *
 * One record of a capture, link type LINKTYPE_CAN_SOCKETCAN (227): bytes to event and back. Used by the
 * reader and the writer. Source: the link type's page of the tcpdump group.
 */
#ifndef LOOMWATCH_SOURCES_CAPTURE_RECORD_H
#define LOOMWATCH_SOURCES_CAPTURE_RECORD_H

#include "loomwatch/core/event.h"

enum {
    LW_CAPTURE_LINK_TYPE = 227,
    LW_CAPTURE_RECORD_MAX = 72,   /* bytes, without the packet header */
};

enum lw_record_fault {
    LW_RECORD_GOOD,
    LW_RECORD_SHORT,             /* fewer bytes than header and length say */
    LW_RECORD_BAD_LENGTH,        /* a length no CAN frame has */
    LW_RECORD_BAD_ID,            /* 11-bit format with more than 11 bits, or no error class: stored byte-swapped? */
    LW_RECORD_OTHER,             /* CAN XL, which this program does not handle */
};

/* Any bytes are accepted. Sets kind and content of out, not its times, bus and stamp; a record that is not
 * good may leave it changed. is_swapped: the file stores identifiers the other way round. */
enum lw_record_fault lw_capture_decode(const uint8_t *bytes, size_t n, bool is_swapped, struct lw_event *out);

/* Writes one event, padded as Linux pads it: 16 bytes, 72 for FD. Returns that number. Link changes,
 * losses and marks have no form of their own in this link type: they are written as error frames with no
 * class bit set, which no kernel sends, and the letters LW first in the data; lw_capture_decode knows
 * them. Not kept: time, bus and stamp; LW_FRAME_OWN; the length a remote frame asks for, which the
 * definition wants to be 0; class bits of the high half without one of the low half; of a link report all
 * but present, up, carrier, controller, state, the bit rate (to 16.7 Mbit/s) and the data bit rate (in
 * whole 100 kbit/s, to 25.5 Mbit/s). */
size_t lw_capture_encode(const struct lw_event *event, uint8_t out[LW_CAPTURE_RECORD_MAX]);

#endif
