/* SPDX-License-Identifier: MIT
 *
 * Numbers as people read them: times, rates and readings in a few characters, the same on screen and in reports.
 */
#ifndef LOOMWATCH_CORE_TEXT_H
#define LOOMWATCH_CORE_TEXT_H

#include "loomwatch/core/event.h"

enum { LW_NUMBER_TEXT = 24 };

/* "10.0 ms", "1.25 s", "850 µs"; "—" for 0, which means unknown. Returns buf, as all of these do. */
char *lw_text_duration(uint64_t ns, char buf[LW_NUMBER_TEXT]);

/* How far gaps are off a period: as above, "<1 µs" for less than can be told, "—" where there is no period. */
char *lw_text_jitter(uint64_t jitter_ns, uint64_t period_ns, char buf[LW_NUMBER_TEXT]);

/* "0:42", "12:07", "1:02:33": time since the start of the watch. */
char *lw_text_clock(uint64_t ns, char buf[LW_NUMBER_TEXT]);

/* The same with tenths of a second: "0:42.3". */
char *lw_text_clock_tenths(uint64_t ns, char buf[LW_NUMBER_TEXT]);

/* "500 kbit/s", "83.3 kbit/s", "1 Mbit/s"; "— bit/s" if unknown. */
char *lw_text_bit_rate(struct lw_reading bps, char buf[LW_NUMBER_TEXT]);

/* "128" or "—". */
char *lw_text_reading(struct lw_reading reading, char buf[LW_NUMBER_TEXT]);

/* "31.4 %" from permille, or "—". */
char *lw_text_permille(struct lw_reading permille, char buf[LW_NUMBER_TEXT]);

/* Lengths in bytes from a set of data length codes: "8", "4 6 8", "—" for none. */
char *lw_text_lengths(uint16_t dlc_seen, char buf[3 * LW_NUMBER_TEXT]);

#endif
