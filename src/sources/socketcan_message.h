/* SPDX-License-Identifier: MIT
 *
 * One message of a CAN_RAW socket as an event. Apart from the socket so that any bytes can be tried on it without a
 * kernel that has CAN. For socketcan.c and its tests.
 */
#ifndef LOOMWATCH_SRC_SOURCES_SOCKETCAN_MESSAGE_H
#define LOOMWATCH_SRC_SOURCES_SOCKETCAN_MESSAGE_H

#include <sys/socket.h>

#include "loomwatch/core/event.h"

enum { LW_CLASSIC_MESSAGE = 16, LW_FD_MESSAGE = 72 };   /* bytes the kernel delivers: CAN_MTU, CANFD_MTU */

struct lw_can_message {
    const uint8_t *bytes;
    size_t n_bytes;
    int flags;                       /* msg_flags of recvmsg */
    uint64_t kernel_ns, hw_ns;       /* 0 = no such stamp */
    uint64_t host_ns;                /* when it was read: the last resort */
    uint32_t n_dropped;              /* what the socket had lost, since its creation, before this message */
};

/* Takes stamps and the loss count out of the control data. What is not there is left alone.
 * Source: socket(7), Documentation/networking/timestamping.rst. */
void lw_socketcan_control(struct msghdr *header, struct lw_can_message *message);

/* Time of the message, as the event will have it. */
uint64_t lw_socketcan_time(const struct lw_can_message *message);

/* Any bytes are accepted: lengths are limited to what the format can carry, bytes behind them are zero. Returns false,
 * with nothing written, if this is neither a classic nor an FD frame by its size.
 * Source: linux/can.h; Documentation/networking/can.rst (the size tells the format, flags of a classic frame mean
 * nothing; MSG_DONTROUTE marks what this computer sent). */
bool lw_socketcan_event(const struct lw_can_message *message, uint8_t bus, struct lw_event *out);

#endif
