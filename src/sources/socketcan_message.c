/* SPDX-License-Identifier: MIT
 *
 * From the bytes of struct can_frame or canfd_frame, and the control data beside them, to an event. No I/O. Called by
 * socketcan.c only.
 */
#include "socketcan_message.h"

#include <linux/can.h>
#include <linux/can/error.h>
#include <linux/errqueue.h>
#include <string.h>
#include <time.h>

_Static_assert(LW_CLASSIC_MESSAGE == CAN_MTU && LW_FD_MESSAGE == CANFD_MTU, "sizes of linux/can.h");

static uint64_t stamp_ns(const struct timespec *t)
{
    return t->tv_sec <= 0 ? 0 : (uint64_t)t->tv_sec * 1000000000u + (uint64_t)t->tv_nsec;
}

void lw_socketcan_control(struct msghdr *header, struct lw_can_message *message)
{
    for (struct cmsghdr *c = CMSG_FIRSTHDR(header); c; c = CMSG_NXTHDR(header, c)) {
        if (c->cmsg_level != SOL_SOCKET)
            continue;
        if (c->cmsg_type == SO_RXQ_OVFL && c->cmsg_len >= CMSG_LEN(sizeof(uint32_t))) {
            memcpy(&message->n_dropped, CMSG_DATA(c), sizeof(uint32_t));
        } else if (c->cmsg_type == SCM_TIMESTAMPING && c->cmsg_len >= CMSG_LEN(sizeof(struct scm_timestamping))) {
            struct scm_timestamping stamps;

            memcpy(&stamps, CMSG_DATA(c), sizeof(stamps));
            message->kernel_ns = stamp_ns(&stamps.ts[0]);
            message->hw_ns = stamp_ns(&stamps.ts[2]);
        }
    }
}

uint64_t lw_socketcan_time(const struct lw_can_message *message)
{
    return message->kernel_ns ? message->kernel_ns : message->host_ns;
}

static enum lw_stamp stamp_of(const struct lw_can_message *message)
{
    if (message->hw_ns)
        return LW_STAMP_HARDWARE;
    return message->kernel_ns ? LW_STAMP_KERNEL : LW_STAMP_HOST;
}

static void take_error(const struct canfd_frame *raw, struct lw_error *out)
{
    size_t len = raw->len < CAN_ERR_DLC ? raw->len : CAN_ERR_DLC;

    out->class_bits = raw->can_id & CAN_ERR_MASK;
    memset(out->data, 0, sizeof(out->data));
    memcpy(out->data, raw->data, len);
}

static void take_frame(const struct canfd_frame *raw, bool is_fd, bool is_own, struct lw_frame *out)
{
    bool is_extended = raw->can_id & CAN_EFF_FLAG;
    uint8_t max = is_fd ? LW_FRAME_MAX_LEN : LW_CLASSIC_MAX_LEN;
    size_t n_data;

    out->id = raw->can_id & (is_extended ? CAN_EFF_MASK : CAN_SFF_MASK);
    out->flags = (is_extended ? LW_FRAME_EXTENDED : 0) | (is_own ? LW_FRAME_OWN : 0);
    out->len = raw->len < max ? raw->len : max;
    if (is_fd)
        out->flags |= LW_FRAME_FD | (raw->flags & CANFD_BRS ? LW_FRAME_BRS : 0) |
                      (raw->flags & CANFD_ESI ? LW_FRAME_ESI : 0);
    else if (raw->can_id & CAN_RTR_FLAG)   /* CAN FD has no remote frames */
        out->flags |= LW_FRAME_REMOTE;
    n_data = out->flags & LW_FRAME_REMOTE ? 0 : out->len;
    memcpy(out->data, raw->data, n_data);
    memset(out->data + n_data, 0, sizeof(out->data) - n_data);
}

bool lw_socketcan_event(const struct lw_can_message *message, uint8_t bus, struct lw_event *out)
{
    struct canfd_frame raw;

    if (message->n_bytes != CAN_MTU && message->n_bytes != CANFD_MTU)
        return false;
    memcpy(&raw, message->bytes, message->n_bytes);
    out->t_ns = lw_socketcan_time(message);
    out->hw_ns = message->hw_ns;
    out->bus = bus;
    out->stamp = (uint8_t)stamp_of(message);
    if (raw.can_id & CAN_ERR_FLAG) {
        out->kind = LW_EVENT_ERROR;
        take_error(&raw, &out->error);
    } else {
        out->kind = LW_EVENT_FRAME;
        take_frame(&raw, message->n_bytes == CANFD_MTU, message->flags & MSG_DONTROUTE, &out->frame);
    }
    return true;
}
