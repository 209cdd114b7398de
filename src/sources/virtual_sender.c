/* SPDX-License-Identifier: MIT
 *
 * The only file that writes to a CAN socket. It opens none but virtual interfaces, and asks the kernel for their kind rather
 * than trusting a name.
 */
#include "loomwatch/sources/virtual_sender.h"

#include "link_list.h"

#include <errno.h>
#include <linux/can.h>
#include <linux/can/error.h>
#include <linux/can/raw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

struct lw_virtual_sender {
    int fd;
};

static int check(const char *interface, struct lw_link_facts *facts, char message[LW_SOURCE_TEXT])
{
    int rc = lw_link_facts(interface, facts);
    if (rc != 0) {
        snprintf(message, LW_SOURCE_TEXT, "%s: %s. A virtual interface is made so: sudo ip link add dev %s type vcan && "
                 "sudo ip link set %s mtu 72 up", interface, strerror(-rc), interface, interface);
        return rc;
    }
    if (facts->is_can && facts->controller == LW_CONTROLLER_NONE)
        return 0;
    snprintf(message, LW_SOURCE_TEXT, "%s is not a virtual CAN interface (vcan or vxcan). A bench is never played onto a real "
             "bus: what it says could move a machine", interface);
    return -EPERM;
}

static int open_socket(unsigned ifindex)
{
    int fd = socket(PF_CAN, SOCK_RAW | SOCK_CLOEXEC | SOCK_NONBLOCK, CAN_RAW), on = 1;
    struct sockaddr_can address = { .can_family = AF_CAN, .can_ifindex = (int)ifindex };
    if (fd < 0)
        return -errno;
    /* It only sends: no filter, nothing is received. */
    if (setsockopt(fd, SOL_CAN_RAW, CAN_RAW_FILTER, NULL, 0) != 0
        || setsockopt(fd, SOL_CAN_RAW, CAN_RAW_FD_FRAMES, &on, sizeof(on)) != 0
        || bind(fd, (struct sockaddr *)&address, sizeof(address)) != 0) {
        int rc = -errno;
        close(fd);
        return rc;
    }
    return fd;
}

int lw_virtual_sender_open(struct lw_virtual_sender **out, const char *interface, char message[LW_SOURCE_TEXT])
{
    struct lw_link_facts facts;
    int rc = check(interface, &facts, message);
    if (rc != 0)
        return rc;
    struct lw_virtual_sender *sender = calloc(1, sizeof(*sender));
    if (!sender)
        return -ENOMEM;
    sender->fd = open_socket(facts.ifindex);
    if (sender->fd < 0) {
        rc = sender->fd;
        snprintf(message, LW_SOURCE_TEXT, "%s: %s", interface, strerror(-rc));
        free(sender);
        return rc;
    }
    *out = sender;
    return 0;
}

void lw_virtual_sender_close(struct lw_virtual_sender *sender)
{
    if (!sender)
        return;
    close(sender->fd);
    free(sender);
}

static size_t to_frame(const struct lw_frame *frame, struct canfd_frame *out)
{
    bool is_fd = frame->flags & LW_FRAME_FD;
    out->can_id = frame->id | (frame->flags & LW_FRAME_EXTENDED ? CAN_EFF_FLAG : 0)
        | (frame->flags & LW_FRAME_REMOTE ? CAN_RTR_FLAG : 0);
    out->len = frame->len;
    if (is_fd)
        out->flags = (uint8_t)((frame->flags & LW_FRAME_BRS ? CANFD_BRS : 0) | (frame->flags & LW_FRAME_ESI ? CANFD_ESI : 0));
    memcpy(out->data, frame->data, frame->len);
    return is_fd ? CANFD_MTU : CAN_MTU;
}

int lw_virtual_sender_send(struct lw_virtual_sender *sender, const struct lw_event *event)
{
    struct canfd_frame frame = { 0 };
    size_t size = CAN_MTU;
    if (event->kind == LW_EVENT_FRAME) {
        size = to_frame(&event->frame, &frame);
    } else if (event->kind == LW_EVENT_ERROR) {
        frame.can_id = (event->error.class_bits & CAN_ERR_MASK) | CAN_ERR_FLAG;
        frame.len = CAN_ERR_DLC;
        memcpy(frame.data, event->error.data, CAN_ERR_DLC);
    } else {
        return 0;
    }
    if (write(sender->fd, &frame, size) == (ssize_t)size)
        return 0;
    return errno == ENOBUFS ? -EAGAIN : -errno;
}
