/* SPDX-License-Identifier: MIT
 *
 * Writes events to a capture file (pcap, nanoseconds, link type 227) that survives a kill at any moment: only
 * what was not yet flushed is lost, and what a full disk cut off is taken back to the last whole record.
 */
#ifndef LOOMWATCH_SOURCES_RECORDER_H
#define LOOMWATCH_SOURCES_RECORDER_H

#include "loomwatch/core/event.h"

struct lw_recorder;

/* Creates or empties the file. Returns 0 or -errno. */
int lw_recorder_create(struct lw_recorder **out, const char *path);

/* Appends one event. Returns 0, or the -errno with which writing stopped; after that it does nothing and
 * returns the same. */
int lw_recorder_add(struct lw_recorder *recorder, const struct lw_event *event);

/* Hands what was added to the kernel. Call it a few times a second. Returns as lw_recorder_add. */
int lw_recorder_flush(struct lw_recorder *recorder);

uint64_t lw_recorder_count(const struct lw_recorder *recorder);   /* events safely handed over */

/* Flushes and closes. Takes NULL. Returns as lw_recorder_flush. */
int lw_recorder_destroy(struct lw_recorder *recorder);

#endif
