/* SPDX-License-Identifier: MIT
 *
 * A CAN interface of Linux as a source: receives frames and error frames, follows the link. It never transmits.
 */
#ifndef LOOMWATCH_SOURCES_SOCKETCAN_H
#define LOOMWATCH_SOURCES_SOCKETCAN_H

#include "loomwatch/sources/source.h"

/* Opens the interface for listening. Frames carry the kernel's time stamp, and the adapter's where it gives one
 * (SO_TIMESTAMPING). All error classes are subscribed; losses of the socket queue become LW_EVENT_LOSS. The first event
 * is the link report. If the interface disappears, that is an event, and watching resumes when it comes back.
 * Errors: -ENODEV no such interface, -EAFNOSUPPORT no CAN in this kernel, -ENOTSUP the interface is not CAN, or what
 * the kernel said. advice (LW_SOURCE_TEXT bytes) then says what to do: the interfaces that exist, the commands that
 * bring this one up. An interface that is down is no error.
 * Source: Linux Documentation/networking/can.rst, timestamping.rst, socket(7). */
int lw_socketcan_open(struct lw_source *out, const char *interface, unsigned bus, char advice[LW_SOURCE_TEXT]);

#endif
