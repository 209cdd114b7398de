/* SPDX-License-Identifier: MIT
 *
 * The built-in bench as a source: a machine from a bench file, simulated to the bit, that can be watched, and troubled,
 * without hardware.
 */
#ifndef LOOMWATCH_SOURCES_BENCH_H
#define LOOMWATCH_SOURCES_BENCH_H

#include "loomwatch/bench/sim.h"
#include "loomwatch/sources/source.h"

struct lw_bench_options {
    struct lw_pace pace;
    uint64_t seed;         /* equal seeds give equal events, to the nanosecond */
};

/* Starts the bench of that name, or of that file (bench_file.h says where they are looked for). Bus time begins at 0 with
 * the first read; its first event is a link report with bit rate and controller state. Errors: -ENOENT no such bench, -EINVAL a
 * fault in its file; message says which, where, and what there is or what to write. */
int lw_bench_open(struct lw_source *out, const char *name, unsigned bus, const struct lw_bench_options *options,
                  char message[LW_SOURCE_TEXT]);

/* The simulation behind a source, to look at and to change between two reads; NULL if the source is no bench. Borrowed. */
struct lw_sim *lw_bench_sim(const struct lw_source *source);

/* Puts a fault on at at_ns of bus time, in the words of damage.h. Returns 0, -ENOSPC, or -EINVAL with message: what is
 * wrong and what to write; also if the source is no bench. */
int lw_bench_fault(const struct lw_source *source, const char *text, uint64_t at_ns, char message[LW_SOURCE_TEXT]);

#endif
