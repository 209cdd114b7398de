/* SPDX-License-Identifier: MIT
 *
 * What a frame's bits mean, in words. Private to the view of the bits.
 */
#ifndef LOOMWATCH_SRC_UI_VIEW_BENCH_BITS_H
#define LOOMWATCH_SRC_UI_VIEW_BENCH_BITS_H

#include "loomwatch/bench/picture.h"

enum { LW_BITS_WORDS = 320 };

/* One sentence on what the unit of that name sees, after a first one that says what frame it is. Returns buf. */
char *lw_bits_words(const struct lw_bench_trace *trace, const char *unit, char buf[LW_BITS_WORDS]);

/* The identifier as far as these bits tell it: "0B0", or "?". Returns buf. */
char *lw_bits_identifier(const struct lw_bench_trace *trace, char buf[LW_ID_TEXT]);

/* "data", "acknowledge slot". field: enum lw_mac_field. */
const char *lw_bits_field_name(unsigned field);

/* First bit with an error, or -1. */
int lw_bits_error(const struct lw_bench_trace *trace);

/* Bits there are: never more than there is room for. */
unsigned lw_bits_count(const struct lw_bench_trace *trace);

#endif
