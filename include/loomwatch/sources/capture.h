/* SPDX-License-Identifier: MIT
 *
 * A capture file (pcap or pcapng) as a source, read through libpcap.
 */
#ifndef LOOMWATCH_SOURCES_CAPTURE_H
#define LOOMWATCH_SOURCES_CAPTURE_H

#include "loomwatch/sources/source.h"

struct lw_capture_options {
    struct lw_pace pace;
    bool is_swapped;       /* identifiers are stored byte-swapped */
};

/* Opens a capture. Bus time is the file's own, except that it never goes back: where the file's does, the
 * time is held, and where its clock was set back (a second or more), what follows is moved to continue
 * from there. A file cut off at its end delivers all that is whole; describe() then has a note, as it has
 * for times that go back, identifiers that look byte-swapped and records that could not be used. When
 * paced, now_ns() never passes an event not yet read.
 * Errors: -ENOENT and the like for the file, -EINVAL not a capture or not a regular file, -ENOTSUP another
 * link type; message (LW_SOURCE_TEXT bytes) says which, and what would be right. */
int lw_capture_open(struct lw_source *out, const char *path, unsigned bus, const struct lw_capture_options *options,
                    char message[LW_SOURCE_TEXT]);

/* True if the file begins as a pcap or pcapng file does; false also if it cannot be read. */
bool lw_capture_is_capture(const char *path);

#endif
