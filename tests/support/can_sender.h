/* SPDX-License-Identifier: MIT
 *
 * Plays the other units of a bus: writes frames and error frames to an interface. For in-kernel tests and bus_player; the
 * program itself never sends.
 */
#ifndef LOOMWATCH_TEST_CAN_SENDER_H
#define LOOMWATCH_TEST_CAN_SENDER_H

#include "loomwatch/core/error_frame.h"
#include "loomwatch/core/frame.h"

/* Returns a socket that sends to the interface, classic and FD, and receives nothing; or -errno. */
int can_sender_open(const char *interface);

/* Waits while the queue is full. Returns 0 or -errno. LW_FRAME_OWN is ignored. */
int can_sender_frame(int fd, const struct lw_frame *frame);

/* A virtual interface hands an error frame on as if a driver had written it. Returns 0 or -errno. */
int can_sender_error(int fd, const struct lw_error *error);

#endif
