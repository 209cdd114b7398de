/* SPDX-License-Identifier: MIT
 *
 * Questions to rtnetlink about CAN interfaces, and the socket that tells of changes. libsocketcan answers neither which
 * interfaces exist nor which details a driver can tell, and it prints to standard error when asked in vain. Called by
 * link_watch.c and socketcan_advice.c.
 */
#include "link_list.h"

#include <errno.h>
#include <linux/can/netlink.h>
#include <linux/if.h>
#include <linux/if_arp.h>
#include <linux/rtnetlink.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <unistd.h>

#include "loomwatch/sources/link_watch.h"

enum { ANSWER_BYTES = 32768, MODES_BYTES = sizeof(uint32_t) };

/* Room for one answer, aligned as netlink wants it. */
struct answer {
    union {
        struct nlmsghdr header;
        char bytes[ANSWER_BYTES];
    };
};

static int open_route(int flags, unsigned groups)
{
    struct sockaddr_nl address = { .nl_family = AF_NETLINK, .nl_groups = groups };
    int fd = socket(AF_NETLINK, SOCK_RAW | SOCK_CLOEXEC | flags, NETLINK_ROUTE);
    int error;

    if (fd < 0)
        return -errno;
    if (bind(fd, (struct sockaddr *)&address, sizeof(address)) == 0)
        return fd;
    error = -errno;
    close(fd);
    return error;
}

int lw_link_listen(void)
{
    return open_route(SOCK_NONBLOCK, RTMGRP_LINK);
}

/* Opens a socket and asks. interface NULL: for all of them. Returns the socket or -errno. */
static int ask(const char *interface)
{
    struct timeval limit = { .tv_sec = 2 };
    struct {
        struct nlmsghdr header;
        struct ifinfomsg info;
        struct rtattr name_header;
        char name[IFNAMSIZ];
    } request = { .header = { .nlmsg_type = RTM_GETLINK, .nlmsg_flags = NLM_F_REQUEST, .nlmsg_seq = 1 } };
    int fd = open_route(0, 0), error;

    if (fd < 0)
        return fd;
    request.header.nlmsg_len = NLMSG_LENGTH(sizeof(request.info));
    if (interface) {
        request.name_header.rta_type = IFLA_IFNAME;
        request.name_header.rta_len = (unsigned short)RTA_LENGTH(strlen(interface) + 1);
        strncpy(request.name, interface, sizeof(request.name) - 1);
        request.header.nlmsg_len += RTA_ALIGN(request.name_header.rta_len);
    } else {
        request.header.nlmsg_flags |= NLM_F_DUMP;
    }
    setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof(limit));
    if (send(fd, &request, request.header.nlmsg_len, 0) >= 0)
        return fd;
    error = -errno;
    close(fd);
    return error;
}

static ssize_t hear(int fd, struct answer *answer)
{
    ssize_t n = recv(fd, answer->bytes, sizeof(answer->bytes), 0);

    if (n < 0)
        return errno == EAGAIN ? -ETIMEDOUT : -errno;
    return n;
}

static struct lw_reading bit_rate_of(const struct rtattr *a)
{
    struct can_bittiming timing;

    if (RTA_PAYLOAD(a) < sizeof(timing))
        return LW_UNKNOWN;
    memcpy(&timing, RTA_DATA(a), sizeof(timing));
    return timing.bitrate ? LW_KNOWN(timing.bitrate) : LW_UNKNOWN;
}

/* IFLA_INFO_DATA of a CAN controller. */
static void read_details(const struct rtattr *data, struct lw_link_facts *facts)
{
    unsigned left = (unsigned)RTA_PAYLOAD(data);

    for (const struct rtattr *a = RTA_DATA(data); RTA_OK(a, left); a = RTA_NEXT(a, left)) {
        unsigned type = a->rta_type & NLA_TYPE_MASK;
        const struct rtattr *inner = RTA_DATA(a);

        if (type < 32)
            facts->details |= 1u << type;
        if (type == IFLA_CAN_DATA_BITTIMING)
            facts->data_bit_rate_bps = bit_rate_of(a);
        else if (type == IFLA_CAN_CTRLMODE && RTA_PAYLOAD(a) >= sizeof(struct can_ctrlmode))
            facts->modes = ((const struct can_ctrlmode *)RTA_DATA(a))->flags;
        else if (type == IFLA_CAN_CTRLMODE_EXT && RTA_PAYLOAD(a) >= RTA_LENGTH(MODES_BYTES) &&
                 (inner->rta_type & NLA_TYPE_MASK) == IFLA_CAN_CTRLMODE_SUPPORTED)
            memcpy(&facts->modes_supported, RTA_DATA(inner), MODES_BYTES);
    }
}

static void read_link_info(const struct rtattr *info, struct lw_link_facts *facts)
{
    unsigned left = (unsigned)RTA_PAYLOAD(info);
    const struct rtattr *data = NULL;
    bool is_can_kind = false;

    for (const struct rtattr *a = RTA_DATA(info); RTA_OK(a, left); a = RTA_NEXT(a, left)) {
        unsigned type = a->rta_type & NLA_TYPE_MASK;
        const char *text = RTA_DATA(a);

        if (type == IFLA_INFO_KIND) {
            is_can_kind = strncmp(text, "can", RTA_PAYLOAD(a)) == 0;
            if (strncmp(text, "vcan", RTA_PAYLOAD(a)) == 0 || strncmp(text, "vxcan", RTA_PAYLOAD(a)) == 0)
                facts->controller = LW_CONTROLLER_NONE;
        } else if (type == IFLA_INFO_DATA) {
            data = a;
        } else if (type == IFLA_INFO_XSTATS) {
            facts->has_statistics = RTA_PAYLOAD(a) >= sizeof(struct can_device_stats);
        }
    }
    if (is_can_kind && data) {    /* the data of other kinds means other things */
        facts->controller = LW_CONTROLLER_REAL;
        read_details(data, facts);
    }
}

/* Reads one RTM_NEWLINK. name (IFNAMSIZ bytes) may stay empty. */
static void read_link(const struct nlmsghdr *h, struct lw_link_facts *facts, char name[IFNAMSIZ])
{
    const struct ifinfomsg *info = NLMSG_DATA(h);
    unsigned left = (unsigned)IFLA_PAYLOAD(h);

    memset(facts, 0, sizeof(*facts));
    memset(name, 0, IFNAMSIZ);
    facts->ifindex = (unsigned)info->ifi_index;
    facts->is_can = info->ifi_type == ARPHRD_CAN;
    facts->is_up = info->ifi_flags & IFF_UP;
    facts->has_carrier = info->ifi_flags & IFF_LOWER_UP;
    for (const struct rtattr *a = IFLA_RTA(info); RTA_OK(a, left); a = RTA_NEXT(a, left)) {
        unsigned type = a->rta_type & NLA_TYPE_MASK;

        if (type == IFLA_IFNAME)
            strncpy(name, RTA_DATA(a), IFNAMSIZ - 1);
        else if (type == IFLA_LINKINFO && facts->is_can)
            read_link_info(a, facts);
    }
}

static bool is_link(const struct nlmsghdr *h)
{
    return (h->nlmsg_type == RTM_NEWLINK || h->nlmsg_type == RTM_DELLINK) &&
           h->nlmsg_len >= NLMSG_LENGTH(sizeof(struct ifinfomsg));
}

int lw_link_facts(const char *interface, struct lw_link_facts *out)
{
    struct answer answer;
    char name[IFNAMSIZ];
    int fd, result = -EPROTO;
    ssize_t n;

    memset(out, 0, sizeof(*out));
    if (strlen(interface) >= IFNAMSIZ)
        return -ENODEV;
    fd = ask(interface);
    if (fd < 0)
        return fd;
    n = hear(fd, &answer);
    if (n < 0) {
        result = (int)n;
    } else if (NLMSG_OK(&answer.header, n) && is_link(&answer.header)) {
        read_link(&answer.header, out, name);
        result = 0;
    } else if (NLMSG_OK(&answer.header, n) && answer.header.nlmsg_type == NLMSG_ERROR) {
        result = ((const struct nlmsgerr *)NLMSG_DATA(&answer.header))->error;
    }
    close(fd);
    return result;
}

/* Takes the names in one part of the answer. Returns false after the last part. */
static bool take_names(const struct answer *answer, ssize_t n, char names[][IFNAMSIZ], size_t max, size_t *n_names)
{
    for (const struct nlmsghdr *h = &answer->header; NLMSG_OK(h, n); h = NLMSG_NEXT(h, n)) {
        struct lw_link_facts facts;
        char name[IFNAMSIZ];

        if (h->nlmsg_type == NLMSG_DONE || h->nlmsg_type == NLMSG_ERROR)
            return false;
        if (!is_link(h))
            continue;
        read_link(h, &facts, name);
        if (facts.is_can && *n_names < max)
            memcpy(names[(*n_names)++], name, IFNAMSIZ);
    }
    return true;
}

size_t lw_link_list(char names[][16], size_t max)
{
    struct answer answer;
    size_t n_names = 0;
    int fd = ask(NULL);
    ssize_t n;

    if (fd < 0)
        return 0;
    do {
        n = hear(fd, &answer);
    } while (n > 0 && take_names(&answer, n, names, max, &n_names));
    close(fd);
    return n_names;
}

bool lw_link_heard(int fd, const char *interface, unsigned ifindex)
{
    struct answer answer;
    bool is_ours = false;
    ssize_t n;

    while ((n = hear(fd, &answer)) > 0) {
        for (const struct nlmsghdr *h = &answer.header; NLMSG_OK(h, n); h = NLMSG_NEXT(h, n)) {
            struct lw_link_facts facts;
            char name[IFNAMSIZ];

            if (!is_link(h))
                continue;
            read_link(h, &facts, name);
            is_ours |= strcmp(name, interface) == 0 || (ifindex && facts.ifindex == ifindex);
        }
    }
    return is_ours || n == -ENOBUFS;   /* overrun: anything may have changed */
}
