/* SPDX-License-Identifier: MIT
 *
 * Ending well: SIGINT, SIGTERM and SIGHUP end a watch without a screen after what it has so far; crashes give the
 * terminal back first.
 */
#ifndef LOOMWATCH_APP_STOP_SIGNALS_H
#define LOOMWATCH_APP_STOP_SIGNALS_H

#include <stdbool.h>

/* From now on the stop signals only set a flag. For commands without a screen. */
void lw_stop_catch(void);
bool lw_stop_is_asked(void);

/* On SIGSEGV and its like: restore the terminal, then die of the same signal. */
void lw_crash_restore_terminal(void);

#endif
