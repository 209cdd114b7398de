/* SPDX-License-Identifier: MIT
 *
 * Frames onto an interface. Used by in-kernel tests and bus_player.
 */
#include "can_sender.h"

#include <errno.h>
#include <linux/can.h>
#include <linux/can/raw.h>
#include <net/if.h>
#include <poll.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

int can_sender_open(const char *interface)
{
    struct sockaddr_can address = { .can_family = AF_CAN, .can_ifindex = (int)if_nametoindex(interface) };
    int fd, error, on = 1;

    if (!address.can_ifindex)
        return -ENODEV;
    fd = socket(AF_CAN, SOCK_RAW | SOCK_CLOEXEC, CAN_RAW);
    if (fd < 0)
        return -errno;
    if (setsockopt(fd, SOL_CAN_RAW, CAN_RAW_FD_FRAMES, &on, sizeof(on)) == 0 &&
        setsockopt(fd, SOL_CAN_RAW, CAN_RAW_FILTER, NULL, 0) == 0 &&
        bind(fd, (struct sockaddr *)&address, sizeof(address)) == 0)
        return fd;
    error = -errno;
    close(fd);
    return error;
}

static int put(int fd, const struct canfd_frame *raw, size_t size)
{
    while (write(fd, raw, size) < 0) {
        if (errno != ENOBUFS && errno != EINTR)
            return -errno;
        poll(NULL, 0, 1);
    }
    return 0;
}

int can_sender_frame(int fd, const struct lw_frame *frame)
{
    struct canfd_frame raw = { .can_id = frame->id, .len = frame->len };

    if (frame->flags & LW_FRAME_EXTENDED)
        raw.can_id |= CAN_EFF_FLAG;
    if (frame->flags & LW_FRAME_REMOTE)
        raw.can_id |= CAN_RTR_FLAG;
    memcpy(raw.data, frame->data, sizeof(raw.data));
    if (!(frame->flags & LW_FRAME_FD))
        return put(fd, &raw, CAN_MTU);
    raw.flags = (frame->flags & LW_FRAME_BRS ? CANFD_BRS : 0) | (frame->flags & LW_FRAME_ESI ? CANFD_ESI : 0);
    return put(fd, &raw, CANFD_MTU);
}

int can_sender_error(int fd, const struct lw_error *error)
{
    struct canfd_frame raw = { .can_id = error->class_bits | CAN_ERR_FLAG, .len = sizeof(error->data) };

    memcpy(raw.data, error->data, sizeof(error->data));
    return put(fd, &raw, CAN_MTU);
}
