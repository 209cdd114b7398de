/* SPDX-License-Identifier: MIT
 *
 * Tells interfaces, captures and benches apart.
 */
#include "open_source.h"

#include "loomwatch/sources/bench.h"
#include "loomwatch/sources/capture.h"
#include "loomwatch/sources/socketcan.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>

static const char bench_prefix[] = "bench:";

static bool is_bench(const char *word)
{
    return strncmp(word, bench_prefix, strlen(bench_prefix)) == 0;
}

static bool is_file(const char *word)
{
    struct stat info;
    return strchr(word, '/') || strchr(word, '.') || (stat(word, &info) == 0 && S_ISREG(info.st_mode));
}

bool lw_is_endless(const char *word)
{
    return is_bench(word) || !is_file(word);
}

static int open_bench(struct lw_source *out, const char *name, unsigned bus, const struct lw_options *options,
                      struct lw_pace pace, char *message)
{
    struct lw_bench_options bench = { .pace = pace, .seed = options->seed };
    int rc = lw_bench_open(out, name, bus, &bench, message);
    for (unsigned i = 0; rc == 0 && i < options->n_faults; i++)
        rc = lw_bench_fault(out, options->faults[i], options->fault_at_ns[i], message);
    return rc;
}

int lw_open_source(struct lw_source *out, const char *word, unsigned bus, const struct lw_options *options,
                   struct lw_pace pace, char *message)
{
    if (is_bench(word))
        return open_bench(out, word + strlen(bench_prefix), bus, options, pace, message);
    if (!is_file(word))
        return lw_socketcan_open(out, word, bus, message);
    struct lw_capture_options capture = { .pace = pace, .is_swapped = options->is_swapped };
    return lw_capture_open(out, word, bus, &capture, message);
}
