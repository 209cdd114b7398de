/* SPDX-License-Identifier: MIT
 *
 * What a protocol controller remembers, and the rows its state machine is made of. Private to src/bench/mac*.c.
 *
 *   mac.c             the doors of mac.h; one sampled bit goes to the function that its row names
 *   mac_rows.c        the table: each part of a frame and of the space between frames, as the standard lists them
 *   mac_fields.c      what the value of a finished field decides: which field follows
 *   mac_bits.c        one bit inside a frame: comparing, arbitration, stuffing, CRC
 *   mac_ending.c      CRC delimiter, acknowledge, end of frame
 *   mac_error.c       errors, flags, delimiters, overload
 *   mac_interframe.c  intermission, suspend transmission, idle, joining, bus off
 *   mac_queue.c       what waits to be sent
 *   mac_stream.c      a frame as the bits to send
 *   mac_lockstep.c    controllers that read the same bits, one for all
 *
 * A bit is 1 recessive, 0 dominant, as in the standard.
 */
#ifndef LOOMWATCH_BENCH_MAC_STATE_H
#define LOOMWATCH_BENCH_MAC_STATE_H

#include "loomwatch/bench/mac.h"
#include "loomwatch/core/crc.h"
#include "loomwatch/core/wire.h"

enum { DOMINANT = 0, RECESSIVE = 1 };

enum {
    EQUAL_BITS = 5,                  /* then a stuff bit */
    FIXED_STUFF_EVERY = 4,
    FLAG_BITS = 6,
    DELIMITER_BITS = 8,
    JOINING_BITS = 11,
    RECOVERY_SEQUENCES = 128,        /* of JOINING_BITS: rule 12 */
    MAX_OVERLOADS = 2,
    FD_CRC17_MAX_LEN = 16,
};

/* data[3] of linux/can/error.h. */
enum {
    PLACE_UNSPECIFIED = 0x00, PLACE_ID_28_21 = 0x02, PLACE_SOF = 0x03, PLACE_SRTR = 0x04, PLACE_IDE = 0x05,
    PLACE_ID_20_18 = 0x06, PLACE_ID_17_13 = 0x07, PLACE_CRC = 0x08, PLACE_RES0 = 0x09, PLACE_DATA = 0x0A, PLACE_DLC = 0x0B,
    PLACE_RTR = 0x0C, PLACE_RES1 = 0x0D, PLACE_ID_4_0 = 0x0E, PLACE_ID_12_5 = 0x0F, PLACE_INTERMISSION = 0x12,
    PLACE_CRC_DELIMITER = 0x18, PLACE_ACK_SLOT = 0x19, PLACE_EOF = 0x1A, PLACE_ACK_DELIMITER = 0x1B,
};

enum part {
    PART_JOINING, PART_IDLE, PART_SOF, PART_ID_28_21, PART_ID_20_18, PART_SRTR, PART_IDE, PART_ID_17_13, PART_ID_12_5,
    PART_ID_4_0, PART_RTR, PART_FDF_BASE, PART_FDF_EXTENDED, PART_R0, PART_RES, PART_BRS, PART_ESI, PART_DLC, PART_DATA,
    PART_CRC15, PART_LAST_STUFF, PART_STUFF_COUNT, PART_CRC17, PART_CRC21, PART_CRC_DELIMITER, PART_ACK_SLOT,
    PART_ACK_DELIMITER, PART_EOF, PART_INTERMISSION, PART_SUSPEND, PART_ACTIVE_FLAG, PART_PASSIVE_FLAG, PART_ERROR_TAIL,
    PART_ERROR_DELIMITER, PART_OVERLOAD_FLAG, PART_OVERLOAD_TAIL, PART_OVERLOAD_DELIMITER, PART_BUS_OFF, N_PARTS,
};

enum row_rule {
    RULE_ARBITRATION = 1 << 0,       /* recessive sent and dominant read is no error but a loss */
    RULE_IN_CRC = 1 << 1,            /* its bits are covered by the CRC */
};

struct row {
    uint8_t n_bits;
    uint8_t then;                    /* enum part; where an end function decides, the usual one */
    uint8_t field;                   /* enum lw_mac_field */
    uint8_t place;
    uint8_t rules;
    void (*sample)(struct lw_mac *mac, const struct row *row, unsigned bit);
    void (*end)(struct lw_mac *mac); /* or NULL: then is all there is */
};

extern const struct row lw_mac_rows[N_PARTS];

/* Which CRC must be carried along. Unknown until FDF tells. */
enum format { FORMAT_UNKNOWN, FORMAT_CLASSIC, FORMAT_FD };

struct slot {
    struct lw_frame frame;
    uint32_t order;                  /* of arrival */
    bool is_used;
};

enum { NO_SLOT = -1 };

struct stream {
    uint16_t n;
    uint8_t bit[LW_WIRE_MAX_BITS];   /* start of frame to end of CRC, stuff bits included */
};

struct lw_mac {
    struct lw_mac_options options;
    struct lw_confinement confinement;
    bool drives_dominant;            /* in the next bit */
    bool sent_dominant;              /* in the bit just sampled */
    bool is_transmitter;             /* until idle, or arbitration is lost */
    bool is_ack_excused;             /* rule 3, exception 1 may hold: no dominant bit seen in the passive flag yet */
    bool is_recovering;              /* from bus off */
    uint8_t n_overloads;
    uint8_t n_sequences;
    unsigned report;
    struct lw_mac_error error;

    /* The frame on the wire, up to rx: inside a frame, what all who read the same bits know of it. See mac_lockstep.c. */
    uint32_t value;                  /* the last 32 bits, without stuff bits */
    uint8_t part;                    /* the bit sampled next belongs to it */
    uint8_t n_bits;                  /* of that part so far */
    uint8_t last_part;
    bool last_was_stuff;
    uint8_t run, last_bit;           /* equal bits so far */
    uint8_t format;
    uint8_t rate;
    uint8_t until_fixed;             /* bits before the next fixed stuff bit */
    uint8_t n_stuff;                 /* dynamic ones */
    uint8_t n_bytes, n_bytes_due;
    bool is_remote_bit_set, is_crc_good, is_acknowledged, is_second_ack_bit;
    uint32_t crc15, crc17, crc21;
    struct lw_frame rx;

    /* What is to be sent. */
    int sending_slot;                /* NO_SLOT: nothing, or dropped while on the wire */
    struct slot queue[LW_MAC_QUEUE];
    uint32_t n_queued, next_order;
    bool sends_extended;
    uint16_t n_sent_bits;
    struct stream stream;
};

static inline void lw_mac_enter(struct lw_mac *mac, enum part part)
{
    mac->part = (uint8_t)part;
    mac->n_bits = 0;
}

/* mac_bits.c */
void lw_mac_begin_frame(struct lw_mac *mac);
void lw_mac_stuffed_bit(struct lw_mac *mac, const struct row *row, unsigned bit);
void lw_mac_last_stuff_bit(struct lw_mac *mac, const struct row *row, unsigned bit);
void lw_mac_fixed_stuffed_bit(struct lw_mac *mac, const struct row *row, unsigned bit);

/* mac_fields.c: at the end of the field they are named after. */
void lw_mac_end_sof(struct lw_mac *mac);
void lw_mac_end_base_id(struct lw_mac *mac);
void lw_mac_end_srtr(struct lw_mac *mac);
void lw_mac_end_ide(struct lw_mac *mac);
void lw_mac_end_extended_id(struct lw_mac *mac);
void lw_mac_end_rtr(struct lw_mac *mac);
void lw_mac_end_fdf(struct lw_mac *mac);
void lw_mac_end_res(struct lw_mac *mac);
void lw_mac_end_brs(struct lw_mac *mac);
void lw_mac_end_esi(struct lw_mac *mac);
void lw_mac_end_dlc(struct lw_mac *mac);
void lw_mac_end_data(struct lw_mac *mac);
void lw_mac_end_crc15(struct lw_mac *mac);
void lw_mac_end_stuff_count(struct lw_mac *mac);
void lw_mac_end_crc17(struct lw_mac *mac);
void lw_mac_end_crc21(struct lw_mac *mac);

/* mac_ending.c */
void lw_mac_crc_delimiter(struct lw_mac *mac, const struct row *row, unsigned bit);
void lw_mac_ack_slot(struct lw_mac *mac, const struct row *row, unsigned bit);
void lw_mac_ack_delimiter(struct lw_mac *mac, const struct row *row, unsigned bit);
void lw_mac_end_of_frame(struct lw_mac *mac, const struct row *row, unsigned bit);

/* mac_error.c */
void lw_mac_fail(struct lw_mac *mac, enum lw_mac_error_kind kind, uint8_t place);
void lw_mac_overload(struct lw_mac *mac, uint8_t place);
void lw_mac_dominant_flag(struct lw_mac *mac, const struct row *row, unsigned bit);
void lw_mac_passive_flag(struct lw_mac *mac, const struct row *row, unsigned bit);
void lw_mac_flag_tail(struct lw_mac *mac, const struct row *row, unsigned bit);
void lw_mac_delimiter(struct lw_mac *mac, const struct row *row, unsigned bit);
/* Applies a rule of fault confinement; false if it led to bus off, which is then entered. */
bool lw_mac_count(struct lw_mac *mac, enum lw_confinement_event event);

/* mac_interframe.c */
void lw_mac_intermission(struct lw_mac *mac, const struct row *row, unsigned bit);
void lw_mac_suspend(struct lw_mac *mac, const struct row *row, unsigned bit);
void lw_mac_idle(struct lw_mac *mac, const struct row *row, unsigned bit);
void lw_mac_joining(struct lw_mac *mac, const struct row *row, unsigned bit);
void lw_mac_bus_off(struct lw_mac *mac, const struct row *row, unsigned bit);

/* mac_queue.c */
int lw_mac_next_slot(const struct lw_mac *mac);             /* the one to send first, or NO_SLOT */
void lw_mac_free_sending_slot(struct lw_mac *mac);

/* mac_stream.c */
void lw_mac_build_stream(struct stream *stream, const struct lw_frame *frame, bool is_passive);
unsigned lw_mac_stuff_count_field(unsigned n_stuff);        /* 4 bits */

#endif
