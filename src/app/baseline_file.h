/* SPDX-License-Identifier: MIT
 *
 * Baselines as text files, in the syntax of libconfuse: readable, editable, commented.
 */
#ifndef LOOMWATCH_APP_BASELINE_FILE_H
#define LOOMWATCH_APP_BASELINE_FILE_H

#include "loomwatch/core/baseline.h"

#include <stdio.h>

enum { LW_BASELINE_MESSAGE = 512 };

/* Reads a baseline. Returns 0; -errno if the file cannot be read, -EINVAL if it is wrong. message then says file, line,
 * what is wrong, and what to write instead. */
int lw_baseline_read(const char *path, struct lw_baseline *out, char *message, size_t size);

/* Writes a baseline with comments that explain it. Returns 0 or -EIO. */
int lw_baseline_print(const struct lw_baseline *baseline, FILE *file);

/* The same to a path, whole or not at all: written beside it, then renamed. Returns 0 or -errno. */
int lw_baseline_write(const struct lw_baseline *baseline, const char *path);

/* True if the file looks like a baseline: its first words are its format line. */
bool lw_baseline_is_baseline(const char *path);

#endif
