/* SPDX-License-Identifier: MIT
 *
 * Plays events onto a virtual CAN interface, so that any program can be tested against a misbehaving bus. The one thing of
 * this program that sends, and it sends only where there is no wire.
 */
#ifndef LOOMWATCH_SOURCES_VIRTUAL_SENDER_H
#define LOOMWATCH_SOURCES_VIRTUAL_SENDER_H

#include "loomwatch/sources/source.h"

struct lw_virtual_sender;

/* Opens a vcan or vxcan interface. Errors: -ENODEV, -EPERM if the interface is not virtual or not known to be, or what the
 * kernel said; message says so, and why. */
int lw_virtual_sender_open(struct lw_virtual_sender **out, const char *interface, char message[LW_SOURCE_TEXT]);
void lw_virtual_sender_close(struct lw_virtual_sender *sender);   /* takes NULL */

/* Sends a frame, or an error frame as a driver would deliver it; other events have no form there and are passed over.
 * Returns 0 or -errno; -EAGAIN if the queue is full: try again. */
int lw_virtual_sender_send(struct lw_virtual_sender *sender, const struct lw_event *event);

#endif
