/* SPDX-License-Identifier: MIT
 *
 * The themes, as tables. Every role differs from its neighbours in the monochrome theme too, by attribute or by the
 * glyph that always goes with it.
 */
#include "loomwatch/ui/theme.h"

#include <string.h>

#define D LW_COLOUR_DEFAULT
#define PLAIN(attributes) { D, D, D, D, attributes }
#define BASE(fg, bg, attributes) { fg, bg, fg, bg, attributes }

enum { BLACK, RED, GREEN, YELLOW, BLUE, MAGENTA, CYAN, WHITE };
enum { ORANGE = 208, SKY = 39, DEEP_BLUE = 25, GREY = 244 };   /* of the 256-colour palette */

const struct lw_theme lw_themes[LW_N_THEMES] = {
    [LW_THEME_DEFAULT] = { "default", {
        [LW_ROLE_NORMAL] = PLAIN(0),
        [LW_ROLE_DIM] = { GREY, D, D, D, 0 },
        [LW_ROLE_TITLE] = BASE(CYAN, D, LW_BOLD),
        [LW_ROLE_STRONG] = PLAIN(LW_BOLD),
        [LW_ROLE_KEY] = PLAIN(LW_REVERSE),
        [LW_ROLE_GOOD] = BASE(GREEN, D, LW_BOLD),
        [LW_ROLE_CAUTION] = BASE(YELLOW, D, LW_BOLD),
        [LW_ROLE_ALARM] = BASE(RED, D, LW_BOLD),
        [LW_ROLE_LAMP_OFF] = { GREY, D, D, D, 0 },
        [LW_ROLE_LAMP_ON] = BASE(BLACK, YELLOW, 0),
        [LW_ROLE_LAMP_BRIGHT] = BASE(WHITE, RED, LW_BOLD),
        [LW_ROLE_LAMP_FIRST] = BASE(WHITE, MAGENTA, LW_BOLD),
        [LW_ROLE_TILE_ALIVE] = BASE(BLACK, GREEN, 0),
        [LW_ROLE_TILE_EVENT] = BASE(GREEN, D, 0),
        [LW_ROLE_TILE_NEW] = BASE(BLACK, CYAN, LW_BOLD),
        [LW_ROLE_TILE_DARK] = BASE(RED, D, LW_BOLD),
        [LW_ROLE_TILE_LATE] = BASE(YELLOW, D, LW_BOLD),
        [LW_ROLE_TILE_CHANGED] = BASE(BLACK, YELLOW, 0),
        [LW_ROLE_TILE_QUIET] = { GREY, D, D, D, 0 },
        [LW_ROLE_CHOSEN] = PLAIN(LW_REVERSE | LW_BOLD),
        [LW_ROLE_PLOT] = BASE(CYAN, D, 0),
        [LW_ROLE_PAUSED] = BASE(BLACK, YELLOW, LW_BOLD),
    } },
    [LW_THEME_HIGH_CONTRAST] = { "high-contrast", {
        [LW_ROLE_NORMAL] = PLAIN(LW_BOLD),
        [LW_ROLE_DIM] = PLAIN(0),
        [LW_ROLE_TITLE] = PLAIN(LW_BOLD | LW_UNDERLINE),
        [LW_ROLE_STRONG] = PLAIN(LW_BOLD),
        [LW_ROLE_KEY] = PLAIN(LW_REVERSE | LW_BOLD),
        [LW_ROLE_GOOD] = PLAIN(LW_BOLD),
        [LW_ROLE_CAUTION] = BASE(YELLOW, D, LW_BOLD),
        [LW_ROLE_ALARM] = BASE(WHITE, RED, LW_BOLD),
        [LW_ROLE_LAMP_OFF] = PLAIN(0),
        [LW_ROLE_LAMP_ON] = BASE(BLACK, WHITE, LW_BOLD),
        [LW_ROLE_LAMP_BRIGHT] = BASE(BLACK, WHITE, LW_BOLD | LW_UNDERLINE),
        [LW_ROLE_LAMP_FIRST] = BASE(BLACK, YELLOW, LW_BOLD),
        [LW_ROLE_TILE_ALIVE] = PLAIN(LW_REVERSE),
        [LW_ROLE_TILE_EVENT] = PLAIN(0),
        [LW_ROLE_TILE_NEW] = BASE(BLACK, CYAN, LW_BOLD),
        [LW_ROLE_TILE_DARK] = BASE(RED, D, LW_BOLD | LW_UNDERLINE),
        [LW_ROLE_TILE_LATE] = BASE(YELLOW, D, LW_BOLD | LW_UNDERLINE),
        [LW_ROLE_TILE_CHANGED] = BASE(BLACK, YELLOW, LW_BOLD),
        [LW_ROLE_TILE_QUIET] = PLAIN(0),
        [LW_ROLE_CHOSEN] = PLAIN(LW_REVERSE | LW_BOLD | LW_UNDERLINE),
        [LW_ROLE_PLOT] = PLAIN(LW_BOLD),
        [LW_ROLE_PAUSED] = BASE(BLACK, YELLOW, LW_BOLD),
    } },
    [LW_THEME_COLOUR_BLIND] = { "colour-blind", {
        [LW_ROLE_NORMAL] = PLAIN(0),
        [LW_ROLE_DIM] = { GREY, D, D, D, 0 },
        [LW_ROLE_TITLE] = PLAIN(LW_BOLD),
        [LW_ROLE_STRONG] = PLAIN(LW_BOLD),
        [LW_ROLE_KEY] = PLAIN(LW_REVERSE),
        [LW_ROLE_GOOD] = { SKY, D, BLUE, D, LW_BOLD },
        [LW_ROLE_CAUTION] = { ORANGE, D, YELLOW, D, 0 },
        [LW_ROLE_ALARM] = { ORANGE, D, YELLOW, D, LW_BOLD | LW_UNDERLINE },
        [LW_ROLE_LAMP_OFF] = { GREY, D, D, D, 0 },
        [LW_ROLE_LAMP_ON] = BASE(BLACK, WHITE, 0),
        [LW_ROLE_LAMP_BRIGHT] = { BLACK, ORANGE, BLACK, YELLOW, LW_BOLD },
        [LW_ROLE_LAMP_FIRST] = { WHITE, DEEP_BLUE, WHITE, BLUE, LW_BOLD | LW_UNDERLINE },
        [LW_ROLE_TILE_ALIVE] = { WHITE, DEEP_BLUE, WHITE, BLUE, 0 },
        [LW_ROLE_TILE_EVENT] = { SKY, D, BLUE, D, 0 },
        [LW_ROLE_TILE_NEW] = BASE(BLACK, WHITE, LW_BOLD),
        [LW_ROLE_TILE_DARK] = { ORANGE, D, YELLOW, D, LW_BOLD | LW_UNDERLINE },
        [LW_ROLE_TILE_LATE] = { ORANGE, D, YELLOW, D, 0 },
        [LW_ROLE_TILE_CHANGED] = { BLACK, ORANGE, BLACK, YELLOW, 0 },
        [LW_ROLE_TILE_QUIET] = { GREY, D, D, D, 0 },
        [LW_ROLE_CHOSEN] = PLAIN(LW_REVERSE | LW_BOLD),
        [LW_ROLE_PLOT] = { SKY, D, BLUE, D, 0 },
        [LW_ROLE_PAUSED] = { BLACK, ORANGE, BLACK, YELLOW, LW_BOLD },
    } },
    [LW_THEME_MONOCHROME] = { "monochrome", {
        [LW_ROLE_NORMAL] = PLAIN(0),
        [LW_ROLE_DIM] = PLAIN(0),
        [LW_ROLE_TITLE] = PLAIN(LW_BOLD),
        [LW_ROLE_STRONG] = PLAIN(LW_BOLD),
        [LW_ROLE_KEY] = PLAIN(LW_REVERSE),
        [LW_ROLE_GOOD] = PLAIN(0),
        [LW_ROLE_CAUTION] = PLAIN(LW_BOLD),
        [LW_ROLE_ALARM] = PLAIN(LW_BOLD | LW_UNDERLINE),
        [LW_ROLE_LAMP_OFF] = PLAIN(0),
        [LW_ROLE_LAMP_ON] = PLAIN(LW_REVERSE),
        [LW_ROLE_LAMP_BRIGHT] = PLAIN(LW_REVERSE | LW_BOLD),
        [LW_ROLE_LAMP_FIRST] = PLAIN(LW_REVERSE | LW_BOLD | LW_UNDERLINE),
        [LW_ROLE_TILE_ALIVE] = PLAIN(LW_REVERSE),
        [LW_ROLE_TILE_EVENT] = PLAIN(0),
        [LW_ROLE_TILE_NEW] = PLAIN(LW_REVERSE | LW_BOLD),
        [LW_ROLE_TILE_DARK] = PLAIN(LW_BOLD | LW_UNDERLINE),
        [LW_ROLE_TILE_LATE] = PLAIN(LW_BOLD),
        [LW_ROLE_TILE_CHANGED] = PLAIN(LW_REVERSE | LW_UNDERLINE),
        [LW_ROLE_TILE_QUIET] = PLAIN(0),
        [LW_ROLE_CHOSEN] = PLAIN(LW_REVERSE | LW_BOLD | LW_UNDERLINE),
        [LW_ROLE_PLOT] = PLAIN(0),
        [LW_ROLE_PAUSED] = PLAIN(LW_REVERSE | LW_BOLD),
    } },
};

int lw_theme_find(const char *name)
{
    for (int i = 0; i < LW_N_THEMES; i++)
        if (strcmp(lw_themes[i].name, name) == 0)
            return i;
    return -1;
}

char lw_role_letter(enum lw_role role)
{
    static const char letters[LW_N_ROLES + 1] = ".dTSKgca" "oObf" "AENDLCQ" "XpP";
    return role < LW_N_ROLES ? letters[role] : '?';
}
