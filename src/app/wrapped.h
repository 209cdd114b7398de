/* SPDX-License-Identifier: MIT
 *
 * Text broken at spaces, for what is printed on a terminal.
 */
#ifndef LOOMWATCH_APP_WRAPPED_H
#define LOOMWATCH_APP_WRAPPED_H

#include <stdio.h>

/* Prints text and a newline. Every line begins with indent blanks and ends before column width, where words allow. */
void lw_put_wrapped(FILE *file, const char *text, int indent, int width);

/* The same where the first line stands at column indent already. */
void lw_put_hanging(FILE *file, const char *text, int indent, int width);

#endif
