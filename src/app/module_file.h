/* SPDX-License-Identifier: MIT
 *
 * Modules as text files: what a module will send, written by a person from its papers. config/modules has one to copy.
 */
#ifndef LOOMWATCH_APP_MODULE_FILE_H
#define LOOMWATCH_APP_MODULE_FILE_H

#include "loomwatch/calc/module.h"

enum { LW_MODULE_MESSAGE = 512 };

/* Reads a module. Returns 0; -errno if the file cannot be read, -EINVAL if it is wrong. message then says file, line,
 * what is wrong, and what to write instead. */
int lw_module_read(const char *path, struct lw_module *out, char *message, size_t size);

#endif
