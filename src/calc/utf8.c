/* SPDX-License-Identifier: MIT
 *
 * Counting and cutting UTF-8 text.
 */
#include "utf8.h"

#include <stdbool.h>
#include <string.h>

static bool is_continuation(char c)
{
    return ((unsigned char)c & 0xC0) == 0x80;
}

void lw_utf8_mend_end(char *text)
{
    size_t n = strlen(text), start = n;
    while (start > 0 && is_continuation(text[start - 1]))
        start--;
    if (start == 0)
        return;
    unsigned char lead = (unsigned char)text[start - 1];
    size_t wanted = lead >= 0xF0 ? 3 : lead >= 0xE0 ? 2 : lead >= 0xC0 ? 1 : 0;
    if (n - start < wanted)
        text[start - 1] = '\0';
}

int lw_utf8_columns(const char *text)
{
    int n = 0;
    for (; *text != '\0'; text++)
        n += !is_continuation(*text);
    return n;
}

size_t lw_utf8_bytes(const char *text, int n)
{
    size_t i = 0;
    for (; text[i] != '\0'; i++)
        if (!is_continuation(text[i]) && n-- == 0)
            break;
    return i;
}
