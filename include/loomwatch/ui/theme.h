/* SPDX-License-Identifier: MIT
 *
 * Roles: what a cell means. Themes: how that looks. Views know roles only; a colour never carries a meaning alone, a
 * glyph or a word goes with it.
 */
#ifndef LOOMWATCH_UI_THEME_H
#define LOOMWATCH_UI_THEME_H

#include <stdint.h>

enum lw_role {
    LW_ROLE_NORMAL, LW_ROLE_DIM, LW_ROLE_TITLE, LW_ROLE_STRONG, LW_ROLE_KEY,
    LW_ROLE_GOOD, LW_ROLE_CAUTION, LW_ROLE_ALARM,
    LW_ROLE_LAMP_OFF, LW_ROLE_LAMP_ON, LW_ROLE_LAMP_BRIGHT, LW_ROLE_LAMP_FIRST,
    LW_ROLE_TILE_ALIVE, LW_ROLE_TILE_EVENT, LW_ROLE_TILE_NEW, LW_ROLE_TILE_DARK, LW_ROLE_TILE_LATE,
    LW_ROLE_TILE_CHANGED, LW_ROLE_TILE_QUIET,
    LW_ROLE_CHOSEN, LW_ROLE_PLOT, LW_ROLE_PAUSED,
    LW_N_ROLES,
};

enum lw_style_attribute { LW_BOLD = 1, LW_FAINT = 2, LW_REVERSE = 4, LW_UNDERLINE = 8 };

enum { LW_COLOUR_DEFAULT = -1 };   /* the terminal's own */

struct lw_style {
    int16_t foreground, background;   /* 0..7, or 0..255 where the terminal has them, or LW_COLOUR_DEFAULT */
    int16_t few_foreground, few_background;   /* with eight colours */
    uint8_t attributes;               /* enum lw_style_attribute */
};

enum lw_theme_index {
    LW_THEME_DEFAULT, LW_THEME_HIGH_CONTRAST, LW_THEME_COLOUR_BLIND, LW_THEME_MONOCHROME, LW_N_THEMES
};

struct lw_theme {
    const char *name;       /* as on the command line: "high-contrast" */
    struct lw_style styles[LW_N_ROLES];
};

extern const struct lw_theme lw_themes[LW_N_THEMES];

/* Index of a theme by name, or -1. */
int lw_theme_find(const char *name);

/* One letter a role, for screens written as text. */
char lw_role_letter(enum lw_role role);

#endif
