/* SPDX-License-Identifier: MIT
 *
 * The one table of keys: dispatch, footer, help page and man page all come from it.
 */
#ifndef LOOMWATCH_UI_KEYS_H
#define LOOMWATCH_UI_KEYS_H

#include <stddef.h>
#include <stdint.h>

enum lw_key_code {
    LW_KEY_NONE = 0,             /* printable keys are their ASCII code */
    LW_KEY_ENTER = 0x100, LW_KEY_ESCAPE, LW_KEY_BACKSPACE, LW_KEY_UP, LW_KEY_DOWN, LW_KEY_LEFT, LW_KEY_RIGHT,
    LW_KEY_HOME, LW_KEY_END,
};

enum lw_action {
    LW_ACTION_NONE,
    LW_ACTION_ACKNOWLEDGE, LW_ACTION_SILENCE, LW_ACTION_RESET, LW_ACTION_FIRST_OUT_RESET, LW_ACTION_TEST,
    LW_ACTION_BASELINE, LW_ACTION_MARK, LW_ACTION_PAUSE,
    LW_ACTION_UP, LW_ACTION_DOWN, LW_ACTION_LEFT, LW_ACTION_RIGHT, LW_ACTION_FIRST, LW_ACTION_LAST,
    LW_ACTION_OPEN, LW_ACTION_BACK, LW_ACTION_FILTER, LW_ACTION_BENCH, LW_ACTION_ADAPTER, LW_ACTION_DIARY, LW_ACTION_WHY,
    LW_ACTION_CALC, LW_ACTION_READING, LW_ACTION_SUPPLY, LW_ACTION_MEND, LW_ACTION_BITS, LW_ACTION_LAST_ERROR,
    LW_ACTION_MUTE, LW_ACTION_THEME, LW_ACTION_GLYPHS, LW_ACTION_HELP, LW_ACTION_QUIT,
    LW_N_ACTIONS,
};

/* LW_PAGE_BITS is the bench page while it shows the bits of a frame: for keys a page of its own. */
enum lw_page { LW_PAGE_WATCH, LW_PAGE_DETAIL, LW_PAGE_HELP, LW_PAGE_BENCH, LW_PAGE_ADAPTER, LW_PAGE_DIARY, LW_PAGE_BITS, LW_PAGE_WHY,
    LW_PAGE_CALC,
    LW_N_PAGES };

struct lw_key {
    int code;               /* enum lw_key_code, or ASCII */
    enum lw_action action;
    const char *cap;        /* what is on the key: "a", "Enter", "←" */
    const char *label;      /* for the footer, one word; NULL: not shown there */
    const char *words;      /* for help and man page; NULL: another key of the same action has them */
    uint16_t pages;         /* bit n: works on enum lw_page n */
};

extern const struct lw_key lw_keys[];
extern const size_t lw_n_keys;

/* What a key does on a page; LW_ACTION_NONE if nothing. */
enum lw_action lw_keys_action(int code, enum lw_page page);

#endif
