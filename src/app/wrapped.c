/* SPDX-License-Identifier: MIT
 *
 * Breaks text at spaces.
 */
#include "wrapped.h"

#include <stdbool.h>
#include <string.h>

/* Characters, not bytes: a µ or a dash is one column. */
static int columns_of(const char *text, int n)
{
    int columns = 0;
    for (int i = 0; i < n; i++)
        columns += ((unsigned char)text[i] & 0xC0) != 0x80;
    return columns;
}

/* x: the column reached; 0 at the beginning of a line. */
static void put(FILE *file, const char *text, int x, int indent, int width)
{
    bool is_fresh = true;   /* nothing stands on this line yet */
    while (*text != '\0') {
        int n = (int)strcspn(text, " "), columns = columns_of(text, n);
        if (!is_fresh && x + 1 + columns > width) {
            putc('\n', file);
            x = 0;
            is_fresh = true;
        }
        int blanks = !is_fresh ? 1 : x == 0 ? indent : 0;
        fprintf(file, "%*s%.*s", blanks, "", n, text);
        x += blanks + columns;
        is_fresh = false;
        text += n + (int)strspn(text + n, " ");
    }
    putc('\n', file);
}

void lw_put_wrapped(FILE *file, const char *text, int indent, int width)
{
    put(file, text, 0, indent, width);
}

void lw_put_hanging(FILE *file, const char *text, int indent, int width)
{
    put(file, text, indent, indent, width);
}
