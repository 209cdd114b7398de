/* SPDX-License-Identifier: MIT
 *
 * Opening a capture, and saying in plain words why it cannot be. For capture.c only.
 */
#ifndef LOOMWATCH_CAPTURE_FILE_H
#define LOOMWATCH_CAPTURE_FILE_H

#include "loomwatch/sources/source.h"

#include <pcap/pcap.h>

/* Opens the file for times in nanoseconds and checks its link type. On success *out is the caller's to
 * close; errors as of lw_capture_open, and then message says what is wrong and what would be right. */
int lw_capture_file_open(const char *path, pcap_t **out, char message[LW_SOURCE_TEXT]);

#endif
