/* SPDX-License-Identifier: MIT
 *
 * What to tell a person who wants to watch an interface that is not there or not up. For socketcan.c.
 */
#ifndef LOOMWATCH_SRC_SOURCES_SOCKETCAN_ADVICE_H
#define LOOMWATCH_SRC_SOURCES_SOCKETCAN_ADVICE_H

#include <stddef.h>

/* Each writes at most size bytes, the terminator included. The commands are for the person: this program runs none. */
void lw_advise_absent(const char *interface, char *buf, size_t size);       /* looks which interfaces exist */
void lw_advise_down(const char *interface, char *buf, size_t size);
void lw_advise_not_can(const char *interface, char *buf, size_t size);
void lw_advise_error(const char *interface, int error, char *buf, size_t size);   /* error: -errno of the socket */

#endif
