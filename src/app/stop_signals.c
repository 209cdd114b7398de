/* SPDX-License-Identifier: MIT
 *
 * Signal handlers.
 */
#include "stop_signals.h"

#include "loomwatch/ui/terminal.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>

static volatile sig_atomic_t is_asked;

static void ask(int signal_number)
{
    (void)signal_number;
    is_asked = 1;
}

void lw_stop_catch(void)
{
    static const int signals[] = { SIGINT, SIGTERM, SIGHUP };
    struct sigaction action = { .sa_handler = ask };
    for (size_t i = 0; i < sizeof(signals) / sizeof(signals[0]); i++)
        sigaction(signals[i], &action, NULL);
}

bool lw_stop_is_asked(void)
{
    return is_asked != 0;
}

static void crash(int signal_number)
{
    lw_terminal_restore_in_signal();
    raise(signal_number);   /* SA_RESETHAND: this time it kills, with a core where wanted */
}

void lw_crash_restore_terminal(void)
{
    static const int signals[] = { SIGSEGV, SIGBUS, SIGILL, SIGFPE, SIGABRT };
    /* A stack of its own: the crash may be an overflow of the ordinary one. */
    static char stack_bytes[64 * 1024];
    stack_t stack = { .ss_sp = stack_bytes, .ss_size = sizeof(stack_bytes) };
    struct sigaction action = { .sa_handler = crash, .sa_flags = (int)(SA_RESETHAND | SA_ONSTACK | SA_NODEFER) };
    sigaltstack(&stack, NULL);
    for (size_t i = 0; i < sizeof(signals) / sizeof(signals[0]); i++)
        sigaction(signals[i], &action, NULL);
}
