/* SPDX-License-Identifier: MIT
 *
 * Glyphs and their ASCII stand-ins.
 */
#include "loomwatch/ui/glyphs.h"

#include <stddef.h>

uint32_t lw_glyph_bar(int level)
{
    if (level <= 0)
        return ' ';
    return 0x2580 + (uint32_t)(level < LW_N_BARS ? level : LW_N_BARS);
}

static const struct {
    uint32_t glyph;
    char ascii;
} stand_ins[] = {
    { LW_GLYPH_ALIVE, '#' }, { LW_GLYPH_EVENT, 'o' }, { LW_GLYPH_ABSENT, 'x' }, { LW_GLYPH_LATE, ':' },
    { LW_GLYPH_CHANGED, '*' }, { LW_GLYPH_QUIET, '.' }, { LW_GLYPH_RULE, '-' }, { LW_GLYPH_CHOSEN, '>' },
    { LW_GLYPH_CHOSEN_TILE, '<' }, { LW_GLYPH_DOUBLED, '=' },
    { 0x2581, '.' }, { 0x2582, '.' }, { 0x2583, ':' }, { 0x2584, ':' }, { 0x2585, '|' }, { 0x2586, '|' },
    { 0x2587, '#' }, { 0x2588, '#' }, { 0x2014, '-' }, { 0x00B5, 'u' }, { 0x00B1, '~' }, { 0x03A9, 'R' },
    { 0x2190, '<' }, { 0x2191, '^' }, { 0x2192, '>' }, { 0x2193, 'v' }, { LW_GLYPH_JOINT, '*' },
    { LW_GLYPH_WIRE, '|' }, { LW_GLYPH_PAIR, '=' }, { LW_GLYPH_PROBE, 'o' }, { LW_GLYPH_BROKEN, 'X' },
    { LW_GLYPH_LOOSE, ':' }, { LW_GLYPH_DRIVEN, '=' }, { 0x250C, '+' }, { 0x2510, '+' }, { 0x2514, '+' }, { 0x2518, '+' },
    { 0x251C, '+' }, { 0x2524, '+' }, { 0x252C, '+' }, { 0x2534, '+' }, { 0x2571, '/' }, { 0x2572, '\\' },
};

char lw_glyph_ascii(uint32_t glyph)
{
    if (glyph < 0x80)
        return (char)glyph;
    for (size_t i = 0; i < sizeof(stand_ins) / sizeof(stand_ins[0]); i++)
        if (stand_ins[i].glyph == glyph)
            return stand_ins[i].ascii;
    return '?';
}
