/* SPDX-License-Identifier: MIT
 *
 * What rtnetlink says of interfaces: which are CAN, of what kind, and which details their driver can tell. For
 * link_watch.c, which then asks libsocketcan only for what is there, and for the advice about an absent interface.
 */
#ifndef LOOMWATCH_SRC_SOURCES_LINK_LIST_H
#define LOOMWATCH_SRC_SOURCES_LINK_LIST_H

#include "loomwatch/core/event.h"

struct lw_link_facts {
    unsigned ifindex;
    bool is_can;                       /* hardware type ARPHRD_CAN */
    bool is_up, has_carrier;
    enum lw_controller_presence controller;
    uint32_t details;                  /* bit n: attribute n of linux/can/netlink.h (IFLA_CAN_…) is told */
    bool has_statistics;
    uint32_t modes, modes_supported;   /* CAN_CTRLMODE_…; supported only if IFLA_CAN_CTRLMODE_EXT is told */
    struct lw_reading data_bit_rate_bps;
};

/* Returns 0, -ENODEV if there is no such interface, -ETIMEDOUT if the kernel does not answer within two seconds, or
 * another -errno. Source: rtnetlink(7), linux/can/netlink.h. */
int lw_link_facts(const char *interface, struct lw_link_facts *out);

/* A socket that receives every change of an interface. Non-blocking; the caller closes it. Or -errno. */
int lw_link_listen(void);

/* Empties such a socket. Returns whether the interface was among the changes, or may have been: by name, or by the
 * index it last had (0 = none). */
bool lw_link_heard(int fd, const char *interface, unsigned ifindex);

#endif
