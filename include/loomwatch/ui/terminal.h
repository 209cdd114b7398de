/* SPDX-License-Identifier: MIT
 *
 * The terminal: the only place that knows curses. Paints grids, reads keys, and leaves the terminal as it was, after
 * a crash too.
 */
#ifndef LOOMWATCH_UI_TERMINAL_H
#define LOOMWATCH_UI_TERMINAL_H

#include "loomwatch/ui/grid.h"

/* Takes over the terminal on stdin and stdout. Returns 0, or -ENOTTY, or -EIO where terminfo does not know it or
 * it cannot place its cursor. While it is open, stderr goes to a file in memory, shown when it closes. Not reentrant:
 * one terminal. */
int lw_terminal_open(enum lw_theme_index theme);

/* Gives the terminal back and prints what was written to stderr meanwhile. Harmless when not open. */
void lw_terminal_close(void);

/* Before stopping (SIGTSTP), and after going on. */
void lw_terminal_suspend(void);
void lw_terminal_resume(void);

/* Async-signal-safe: writes the bytes that restore the terminal, prepared when it was opened. For crash handlers. */
void lw_terminal_restore_in_signal(void);

void lw_terminal_set_theme(enum lw_theme_index theme);
void lw_terminal_size(int *w, int *h);      /* as the terminal says now */

/* Paints the grid; only what differs from the last is written. Returns true if anything differed. */
bool lw_terminal_paint(const struct lw_grid *grid);

/* The next key (enum lw_key_code), or LW_KEY_NONE. Never waits. */
int lw_terminal_key(void);
void lw_terminal_bell(void);

#endif
