/* SPDX-License-Identifier: MIT
 *
 * A CAN frame as it was on the wire, and the name of a message: bus, identifier and format. Everything that
 * handles frames starts here. Plain data; any layer may use it.
 */
#ifndef LOOMWATCH_CORE_FRAME_H
#define LOOMWATCH_CORE_FRAME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    LW_MAX_BUSES = 8,         /* a gateway has two sides; a large machine a handful */
    LW_FRAME_MAX_LEN = 64,    /* bytes, CAN FD */
    LW_CLASSIC_MAX_LEN = 8,   /* bytes */
    LW_STANDARD_ID_MAX = 0x7FF,
    LW_EXTENDED_ID_MAX = 0x1FFFFFFF,
    LW_N_DLC = 16,            /* values of the data length code */
    LW_ID_TEXT = 12,          /* bytes for lw_id_text, terminator included */
};

enum lw_frame_flag {
    LW_FRAME_EXTENDED = 1 << 0, /* 29-bit identifier */
    LW_FRAME_REMOTE = 1 << 1,   /* no data; len is the requested length */
    LW_FRAME_FD = 1 << 2,
    LW_FRAME_BRS = 1 << 3,      /* FD: data phase at its own bit rate */
    LW_FRAME_ESI = 1 << 4,      /* FD: the sender is error passive */
    LW_FRAME_OWN = 1 << 5,      /* sent by this computer, not heard from another unit */
};

struct lw_frame {
    uint32_t id;    /* 11 or 29 bits */
    uint8_t flags;  /* enum lw_frame_flag */
    uint8_t len;    /* data bytes, 0..64 */
    uint8_t data[LW_FRAME_MAX_LEN];
};

/* What the frame table and the baseline are keyed by. 11-bit 123 and 29-bit 00000123 are two messages. */
struct lw_id_key {
    uint32_t id;
    uint8_t bus;
    bool is_extended;
};

struct lw_id_key lw_frame_key(const struct lw_frame *frame, unsigned bus);
bool lw_id_key_equal(struct lw_id_key a, struct lw_id_key b);

/* Orders by bus, then as the wire does: the one that wins arbitration first. An 11-bit identifier beats the
 * 29-bit one with the same leading 11 bits (ISO 11898-1: SRR and IDE are sent recessive there). */
int lw_id_key_order(struct lw_id_key a, struct lw_id_key b);

/* Writes 3 hexadecimal digits for an 11-bit identifier, 8 for a 29-bit one; the number of digits is what tells
 * the two formats apart, everywhere in this program. Returns buf. */
char *lw_id_text(struct lw_id_key key, char buf[LW_ID_TEXT]);

/* Reads what lw_id_text writes. key->bus is left alone. Returns 0, or -EINVAL for any other number of digits, a
 * foreign character, or a value out of range. */
int lw_id_parse(const char *text, struct lw_id_key *key);

/* Data length code to bytes and back; lw_dlc_from_len rounds up to the next length CAN FD can carry.
 * Source: ISO 11898-1, table of DLC values. */
unsigned lw_len_from_dlc(unsigned dlc);
unsigned lw_dlc_from_len(unsigned len);

#endif
