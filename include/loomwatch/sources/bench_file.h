/* SPDX-License-Identifier: MIT
 *
 * Bench files: a bus, its units and their messages as text, in the syntax of libconfuse. What stands in them: the comments
 * of config/benches/harrow40.bench. Not for several threads: libconfuse reports through globals.
 */
#ifndef LOOMWATCH_SOURCES_BENCH_FILE_H
#define LOOMWATCH_SOURCES_BENCH_FILE_H

#include "loomwatch/bench/plant.h"

/* Reads the bench of that name, or at that path (see lw_bench_file_find); harrow40 is there without any file. Returns 0,
 * or -ENOENT, -EINVAL or what the system said, with message: the file, the line, what is wrong and what to write. */
int lw_bench_load(const char *name, struct lw_plant *out, char *message, size_t size);

/* Reads a bench file. The plant's name is the file's without folder and ".bench". Returns as lw_bench_load does; out is
 * then of no use. */
int lw_bench_file_read(const char *path, struct lw_plant *out, char *message, size_t size);

/* The same from a text in memory; name stands for the file in messages. */
int lw_bench_text_read(const char *name, const char *text, struct lw_plant *out, char *message, size_t size);

/* The path of a bench: a name with a slash, or ending in ".bench", is one already. Others are looked for in $LW_BENCHES, the
 * source tree's config/benches and the installed folder. Returns 0, -ENOENT, or -ENAMETOOLONG. */
int lw_bench_file_find(const char *name, char *path, size_t size);

/* Writes the names of all that lw_bench_load would find, in order, with a space between; what does not fit is left out.
 * Returns their number. */
size_t lw_bench_file_names(char *names, size_t size);

#endif
