/* SPDX-License-Identifier: MIT
 *
 * The built-in bench as a source: an invented machine whose bus can be watched, and troubled, without hardware.
 */
#ifndef LOOMWATCH_SOURCES_BENCH_H
#define LOOMWATCH_SOURCES_BENCH_H

#include "loomwatch/sources/source.h"

struct lw_bench_options {
    struct lw_pace pace;
    uint64_t seed;         /* equal seeds give equal events, to the nanosecond */
};

/* Starts the bench of that name. Bus time begins at 0 with the first read; its first event is a link report with bit
 * rate and controller state. Errors: -ENOENT no bench of that name; lw_bench_names() tells which there are. */
int lw_bench_open(struct lw_source *out, const char *name, unsigned bus, const struct lw_bench_options *options);

/* NULL-terminated list of names. */
const char *const *lw_bench_names(void);

#endif
