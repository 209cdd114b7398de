/* SPDX-License-Identifier: MIT
 *
 * What every fuzz target is to the library that runs it, and how it states what must hold.
 */
#ifndef LOOMWATCH_FUZZ_TARGET_H
#define LOOMWATCH_FUZZ_TARGET_H

#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* As assert, in every build. */
#define MUST(condition) ((condition) ? (void)0 : abort())

#endif
