/* SPDX-License-Identifier: MIT
 *
 * A CAN protocol controller, bit by bit (medium access control of ISO 11898-1): frames, arbitration, stuffing, acknowledge,
 * error and overload flags, fault confinement. Fed with one sampled bit at a time, it says what to send in the next.
 * Knows neither wires nor time; bit_clock.h decides when a bit is sampled.
 */
#ifndef LOOMWATCH_BENCH_MAC_H
#define LOOMWATCH_BENCH_MAC_H

#include "loomwatch/bench/confinement.h"
#include "loomwatch/core/event.h"

enum { LW_MAC_QUEUE = 16 };

/* What a sampled bit led to; several at once are possible. */
enum lw_mac_report {
    LW_MAC_RECEIVED = 1 << 0,        /* mac->rx is a good frame of another unit */
    LW_MAC_SENT = 1 << 1,            /* mac->rx is our own, acknowledged */
    LW_MAC_ERROR = 1 << 2,           /* mac->error says what and where */
    LW_MAC_STATE = 1 << 3,           /* error state changed */
    LW_MAC_LOST_ARBITRATION = 1 << 4,
    LW_MAC_BUS_OFF = 1 << 5,
    LW_MAC_RECOVERED = 1 << 6,       /* from bus off */
    LW_MAC_FRAME_BEGINS = 1 << 7,    /* start of frame seen or sent */
};

/* The five errors of ISO 11898-1, and what the kernel's report knows of them. */
enum lw_mac_error_kind { LW_MAC_BIT_ERROR, LW_MAC_STUFF_ERROR, LW_MAC_CRC_ERROR, LW_MAC_FORM_ERROR, LW_MAC_ACK_ERROR };

struct lw_mac_error {
    uint8_t kind;                    /* enum lw_mac_error_kind */
    uint8_t place;                   /* data[3] of linux/can/error.h */
    bool is_transmitter;
    bool sent_dominant;              /* of a bit error: dominant was sent, recessive read */
};

/* Which rate the bit being sampled belongs to. */
enum lw_mac_rate { LW_MAC_NOMINAL, LW_MAC_DATA };

struct lw_mac;

struct lw_mac_options {
    bool is_listen_only, is_one_shot, has_fd;
};

/* The controller starts as after power-on: it waits for 11 recessive bits, then takes part. NULL without memory; nothing is
 * allocated later. */
struct lw_mac *lw_mac_create(const struct lw_mac_options *options);
void lw_mac_destroy(struct lw_mac *mac);                 /* takes NULL */
void lw_mac_reset(struct lw_mac *mac, const struct lw_mac_options *options);   /* queue and counters emptied */

/* Queues a frame; the lowest identifier goes first, equal ones in order. Lengths that the format lacks are rounded as
 * lw_wire_length does. Returns 0, -ENOBUFS, or -EINVAL for what this controller cannot send: an FD frame without has_fd,
 * an identifier out of range, anything when listen-only. */
int lw_mac_send(struct lw_mac *mac, const struct lw_frame *frame);
bool lw_mac_has_to_send(const struct lw_mac *mac);
void lw_mac_drop_queue(struct lw_mac *mac);              /* a frame on the wire is finished, but not repeated */

/* One bit was sampled. Returns enum lw_mac_report bits. */
unsigned lw_mac_sample(struct lw_mac *mac, bool is_dominant);

/* What to drive from the start of the next bit. */
bool lw_mac_drives_dominant(const struct lw_mac *mac);

/* Of the bit that comes next: changes at the sample points of BRS and of the CRC delimiter, and where an error is found. */
enum lw_mac_rate lw_mac_rate(const struct lw_mac *mac);

/* Hard synchronisation is due at the next edge (idle, intermission but its first bit, and a receiver's edge from FDF to res);
 * else resynchronisation. No synchronisation at all while the controller itself drives dominant: its own start of frame
 * comes back late. Source: ISO 11898-1. */
bool lw_mac_wants_hard_sync(const struct lw_mac *mac);

/* Idle, nothing queued or waiting: only an edge can change it. Also bus off until lw_mac_restart: nothing can change that. */
bool lw_mac_is_idle(const struct lw_mac *mac);

/* Bus off recovery was asked for (128 × 11 recessive bits follow). No effect if not bus off. The queue is kept. */
void lw_mac_restart(struct lw_mac *mac);

bool lw_mac_is_transmitter(const struct lw_mac *mac);    /* it sends, or has just sent */

/* So many recessive bits it samples at least before it may drive dominant, if they are all recessive and nothing is queued
 * or restarted meanwhile that it could begin with; 0: perhaps in the next bit. */
unsigned lw_mac_silent_bits(const struct lw_mac *mac);

/* For a bench that samples for several controllers at once; all of it holds inside a classic frame, from behind the start of
 * frame to the CRC delimiter. */

/* Its next bit lies between start of frame and CRC delimiter. */
bool lw_mac_is_in_frame(const struct lw_mac *mac);

/* The bits of the frame that this controller sends, start of frame to end of CRC, and how many of them were sampled. */
struct lw_mac_sending {
    const uint8_t *bits;             /* 1 recessive; the controller's own, until it sends another frame */
    unsigned n_bits, n_sampled;
};

/* False if it is no sender, or not inside a classic frame. */
bool lw_mac_sending(const struct lw_mac *mac, struct lw_mac_sending *out);

/* Both have read the same of the same frame: equal bits then change both in the same way, save that only a sender compares
 * and drives. Frames that wait and error counters may differ. */
bool lw_mac_is_abreast(const struct lw_mac *a, const struct lw_mac *b);

/* Makes mac, which was abreast of leader, abreast again after leader alone was given bits, all as sent. n_sampled: bits of
 * the frame that leader has now sampled. */
void lw_mac_catch_up(struct lw_mac *mac, const struct lw_mac *leader, unsigned n_sampled);

const struct lw_confinement *lw_mac_confinement(const struct lw_mac *mac);
const struct lw_frame *lw_mac_frame(const struct lw_mac *mac);         /* after RECEIVED or SENT */
const struct lw_mac_error *lw_mac_error(const struct lw_mac *mac);     /* after ERROR */

/* For the view of the bits: the field that the last sampled bit belonged to, and whether it was a stuff bit. A stuff bit
 * belongs to the field it precedes, one behind the CRC to the CRC. LW_IN_CRC holds the FD stuff count too. */
enum lw_mac_field {
    LW_IN_IDLE, LW_IN_SOF, LW_IN_ID, LW_IN_CONTROL, LW_IN_DATA, LW_IN_CRC, LW_IN_CRC_DELIMITER,
    LW_IN_ACK, LW_IN_ACK_DELIMITER, LW_IN_EOF, LW_IN_INTERMISSION, LW_IN_SUSPEND, LW_IN_ERROR_FLAG,
    LW_IN_ERROR_DELIMITER, LW_IN_OVERLOAD, LW_IN_BUS_OFF, LW_IN_JOINING, LW_N_MAC_FIELDS,
};
enum lw_mac_field lw_mac_last_field(const struct lw_mac *mac);
bool lw_mac_last_was_stuff(const struct lw_mac *mac);

#endif
