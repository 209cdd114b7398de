/* SPDX-License-Identifier: MIT
 *
 * The system calls of listening to CAN: options, bind, batches. Called by socketcan.c only.
 */
#include "socketcan_socket.h"

#include <errno.h>
#include <linux/can.h>
#include <linux/can/raw.h>
#include <linux/net_tstamp.h>
#include <linux/sock_diag.h>
#include <unistd.h>

enum { RECEIVE_BUFFER = 64 * 1024 * 1024 };   /* seconds of a full bus, should this program be held up */

static void reset_headers(struct lw_can_socket *s, unsigned n)
{
    for (unsigned i = 0; i < n; i++) {
        s->vectors[i] = (struct iovec){ s->bytes[i], sizeof(s->bytes[i]) };
        s->headers[i].msg_hdr = (struct msghdr){ .msg_iov = &s->vectors[i], .msg_iovlen = 1,
            .msg_control = s->control[i], .msg_controllen = sizeof(s->control[i]) };
    }
}

void lw_can_socket_init(struct lw_can_socket *s)
{
    s->fd = -1;
    s->n = s->next = 0;
    s->host_ns = 0;
    reset_headers(s, LW_CAN_BATCH);
}

static void set_option(int fd, int level, int name, int value)
{
    setsockopt(fd, level, name, &value, sizeof(value));
}

/* What an old kernel or an ordinary user cannot have is left out: stamps, sizes and counters only get coarser. */
static void set_comforts(int fd)
{
    int size = RECEIVE_BUFFER;

    if (setsockopt(fd, SOL_SOCKET, SO_RCVBUFFORCE, &size, sizeof(size)) != 0)
        set_option(fd, SOL_SOCKET, SO_RCVBUF, size);
    set_option(fd, SOL_SOCKET, SO_RXQ_OVFL, 1);
    set_option(fd, SOL_SOCKET, SO_TIMESTAMPING, SOF_TIMESTAMPING_RX_SOFTWARE | SOF_TIMESTAMPING_SOFTWARE |
               SOF_TIMESTAMPING_RX_HARDWARE | SOF_TIMESTAMPING_RAW_HARDWARE);
    set_option(fd, SOL_CAN_RAW, CAN_RAW_FD_FRAMES, 1);
}

int lw_can_socket_open(struct lw_can_socket *s, unsigned ifindex)
{
    struct sockaddr_can address = { .can_family = AF_CAN, .can_ifindex = (int)ifindex };
    can_err_mask_t all_errors = CAN_ERR_MASK;
    int error;

    s->fd = socket(AF_CAN, SOCK_RAW | SOCK_NONBLOCK | SOCK_CLOEXEC, CAN_RAW);
    if (s->fd < 0)
        return -errno;
    set_comforts(s->fd);
    if (setsockopt(s->fd, SOL_CAN_RAW, CAN_RAW_ERR_FILTER, &all_errors, sizeof(all_errors)) == 0 &&
        bind(s->fd, (struct sockaddr *)&address, sizeof(address)) == 0)
        return 0;
    error = -errno;
    lw_can_socket_close(s);
    return error;
}

void lw_can_socket_close(struct lw_can_socket *s)
{
    if (s->fd >= 0)
        close(s->fd);
    s->fd = -1;
}

int lw_can_socket_fill(struct lw_can_socket *s, uint64_t (*clock_ns)(void))
{
    int n;

    if (s->next < s->n)
        return 1;
    reset_headers(s, s->n);    /* the kernel has shortened the control lengths */
    s->n = s->next = 0;
    if (s->fd < 0)
        return 0;
    do {
        n = recvmmsg(s->fd, s->headers, LW_CAN_BATCH, MSG_DONTWAIT, NULL);
    } while (n < 0 && errno == EINTR);
    if (n <= 0)
        return n == 0 || errno == EAGAIN ? 0 : -errno;
    s->n = (unsigned)n;
    s->host_ns = clock_ns();
    return 1;
}

struct lw_can_message lw_can_socket_peek(struct lw_can_socket *s, uint32_t n_dropped)
{
    struct mmsghdr *header = &s->headers[s->next];
    struct lw_can_message message = { .bytes = s->bytes[s->next], .n_bytes = header->msg_len,
        .flags = header->msg_hdr.msg_flags, .host_ns = s->host_ns, .n_dropped = n_dropped };

    lw_socketcan_control(&header->msg_hdr, &message);
    return message;
}

bool lw_can_socket_dropped(const struct lw_can_socket *s, uint32_t *out)
{
    uint32_t info[SK_MEMINFO_VARS] = { 0 };
    socklen_t size = sizeof(info);

    if (s->fd < 0 || getsockopt(s->fd, SOL_SOCKET, SO_MEMINFO, info, &size) != 0 ||
        size <= SK_MEMINFO_DROPS * sizeof(info[0]))
        return false;
    *out = info[SK_MEMINFO_DROPS];
    return true;
}
