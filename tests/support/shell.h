/* SPDX-License-Identifier: MIT
 *
 * Commands that a person would type, typed by a test: mostly `ip link`.
 */
#ifndef LOOMWATCH_TEST_SHELL_H
#define LOOMWATCH_TEST_SHELL_H

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

/* Returns the command's exit status, or -1. */
__attribute__((format(printf, 1, 2)))
static inline int shell(const char *format, ...)
{
    char command[512];
    va_list arguments;
    int n, status;

    va_start(arguments, format);
    n = vsnprintf(command, sizeof(command), format, arguments);
    va_end(arguments);
    if (n < 0 || n >= (int)sizeof(command))
        return -1;
    status = system(command);
    return status >= 0 && WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

#endif
