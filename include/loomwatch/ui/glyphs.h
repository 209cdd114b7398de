/* SPDX-License-Identifier: MIT
 *
 * The glyphs that carry meaning, and what stands for them where only ASCII can be shown.
 */
#ifndef LOOMWATCH_UI_GLYPHS_H
#define LOOMWATCH_UI_GLYPHS_H

#include <stdint.h>

enum {
    LW_GLYPH_ALIVE = 0x25AA,      /* ▪ heard in its rhythm */
    LW_GLYPH_EVENT = 0x25AB,      /* ▫ sent on event */
    LW_GLYPH_UNEXPECTED = 0x002B, /* + */
    LW_GLYPH_ABSENT = 0x00D7,     /* × */
    LW_GLYPH_LATE = 0x2026,       /* … */
    LW_GLYPH_CHANGED = 0x2260,    /* ≠ */
    LW_GLYPH_DOUBLED = 0x2016,    /* ‖ */
    LW_GLYPH_QUIET = 0x00B7,      /* · */
    LW_GLYPH_RULE = 0x2500,       /* ─ */
    LW_GLYPH_CHOSEN = 0x25B8,     /* ▸ in front of a line */
    LW_GLYPH_CHOSEN_TILE = 0x25C2,   /* ◂ behind a tile */
    LW_GLYPH_BIT_NEVER = 0x00B7,  /* · */
    LW_GLYPH_BIT_EVER = 0x25AB,   /* ▫ */
    LW_GLYPH_BIT_NOW = 0x25AA,    /* ▪ */
    LW_GLYPH_WIRE = 0x2502,       /* │ one wire of the trunk */
    LW_GLYPH_PAIR = 0x2550,       /* ═ both wires of a stub */
    LW_GLYPH_JOINT = 0x25CF,      /* ● something hangs on the wire here */
    LW_GLYPH_PROBE = 0x25CE,      /* ◎ the same, with the meter on it */
    LW_GLYPH_BROKEN = 0x2573,     /* ╳ a wire, or where an error was raised */
    LW_GLYPH_LOOSE = 0x250A,      /* ┊ a wire that opens by itself */
    LW_GLYPH_DRIVEN = 0x2501,     /* ━ a bit that this unit drives */
    LW_N_BARS = 8,
};

/* ▁ to █ for level 1..8; a blank for 0. */
uint32_t lw_glyph_bar(int level);

/* The ASCII character that stands for a glyph: itself if it is ASCII, '?' if it has none. */
char lw_glyph_ascii(uint32_t glyph);

#endif
