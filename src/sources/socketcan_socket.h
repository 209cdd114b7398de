/* SPDX-License-Identifier: MIT
 *
 * A listening raw CAN socket and the batch of messages last received from it. For socketcan.c, and for benchmarks that
 * compare with it. There is no call here that could send (raw CAN sockets cannot be shut down for writing).
 */
#ifndef LOOMWATCH_SRC_SOURCES_SOCKETCAN_SOCKET_H
#define LOOMWATCH_SRC_SOURCES_SOCKETCAN_SOCKET_H

#include <sys/socket.h>
#include <sys/uio.h>

#include "socketcan_message.h"

enum {
    LW_CAN_BATCH = 256,
    LW_CAN_CONTROL_BYTES = 128,    /* loss counter 24, stamps 64 */
};

struct lw_can_socket {
    int fd;                        /* -1: closed */
    unsigned n, next;              /* messages in the batch, and the first one that is not yet used */
    uint64_t host_ns;              /* when the batch was received */
    struct mmsghdr headers[LW_CAN_BATCH];
    struct iovec vectors[LW_CAN_BATCH];
    uint8_t bytes[LW_CAN_BATCH][LW_FD_MESSAGE];
    _Alignas(struct cmsghdr) uint8_t control[LW_CAN_BATCH][LW_CAN_CONTROL_BYTES];
};

/* Closed and empty. */
void lw_can_socket_init(struct lw_can_socket *s);

/* Listens to one interface; 0 means all of them. The batch keeps what it holds. Returns 0 or -errno: -EAFNOSUPPORT,
 * -EPROTONOSUPPORT without CAN in the kernel, -ENODEV no such CAN interface. One that is down is no error.
 * Source: Documentation/networking/can.rst, timestamping.rst, socket(7). */
int lw_can_socket_open(struct lw_can_socket *s, unsigned ifindex);
void lw_can_socket_close(struct lw_can_socket *s);

/* Receives a batch if the last one is used up, and reads the clock for it. Never blocks. Returns 1 if a message is
 * there, 0 if not, or what befell the interface, which is told once: -ENETDOWN, -ENODEV, or another -errno. */
int lw_can_socket_fill(struct lw_can_socket *s, uint64_t (*clock_ns)(void));

/* The first unused message. n_dropped: what it says if the kernel tells of no loss. Use it up by s->next++. */
struct lw_can_message lw_can_socket_peek(struct lw_can_socket *s, uint32_t n_dropped);

/* Messages lost since the socket was opened, those included after which none came through. False if unknown. */
bool lw_can_socket_dropped(const struct lw_can_socket *s, uint32_t *out);

#endif
