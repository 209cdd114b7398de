/* SPDX-License-Identifier: MIT
 *
 * Counting and cutting UTF-8 text by characters, each one column wide. For this layer only; the screen has its own, which
 * also guards against characters that are not.
 */
#ifndef LOOMWATCH_SRC_CALC_UTF8_H
#define LOOMWATCH_SRC_CALC_UTF8_H

#include <stddef.h>

/* Takes a character off the end that was cut in the middle. */
void lw_utf8_mend_end(char *text);

int lw_utf8_columns(const char *text);

/* Bytes of the first n characters, or of all where there are fewer. */
size_t lw_utf8_bytes(const char *text, int n);

#endif
