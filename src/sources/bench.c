/* SPDX-License-Identifier: MIT
 *
 * The bench as a source: reads a bench file, runs the simulation at the chosen pace and hands on what its adapter tells. The
 * physics is in src/bench.
 */
#include "loomwatch/sources/bench.h"

#include "loomwatch/sources/bench_file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct bench {
    char name[LW_PLANT_NAME], title[LW_PLANT_WORDS];
    struct lw_sim *sim;
    struct lw_plant *plant;      /* for the words of faults */
    struct lw_pace pace;
    bool has_begun;
    uint64_t start_mono_ns;      /* of the first read, which is bus time 0 */
    uint64_t last_ns;            /* bus time of the newest event */
};

/* At full pace an endless bench must still return now and then though nothing happens on it. */
static const uint64_t full_step_ns = UINT64_C(100000000);
/* How often a bench that runs by the clock is looked at: finer than any message's period. */
static const uint64_t look_ns = UINT64_C(4000000);

static uint64_t bus_now_ns(const struct bench *bench, uint64_t mono_ns)
{
    if (!bench->has_begun)
        return 0;
    if (bench->pace.kind == LW_PACE_FULL)
        return bench->last_ns;
    uint64_t passed = mono_ns > bench->start_mono_ns ? mono_ns - bench->start_mono_ns : 0;
    return bench->pace.kind == LW_PACE_TIMES ? (uint64_t)((double)passed * bench->pace.times) : passed;
}

static size_t bench_poll_fds(void *self, int out[LW_SOURCE_MAX_FDS])
{
    (void)self;
    (void)out;
    return 0;
}

static uint64_t bench_due_ns(void *self, uint64_t mono_ns)
{
    const struct bench *bench = self;
    return !bench->has_begun || bench->pace.kind == LW_PACE_FULL ? mono_ns : mono_ns + look_ns;
}

static int bench_read(void *self, uint64_t mono_ns, struct lw_event *out, size_t max)
{
    struct bench *bench = self;
    if (!bench->has_begun) {
        bench->has_begun = true;
        bench->start_mono_ns = mono_ns;
    }
    bool is_full = bench->pace.kind == LW_PACE_FULL;
    uint64_t until_ns = is_full ? lw_sim_now_ns(bench->sim) + full_step_ns : bus_now_ns(bench, mono_ns);
    int n = 0;
    while ((size_t)n < max && lw_sim_next(bench->sim, until_ns, &out[n]))
        bench->last_ns = out[n++].t_ns;
    if (is_full && (size_t)n < max)
        bench->last_ns = until_ns;
    return n;
}

static uint64_t bench_now_ns(void *self, uint64_t mono_ns)
{
    return bus_now_ns(self, mono_ns);
}

static void bench_describe(void *self, struct lw_source_info *out)
{
    const struct bench *bench = self;
    memset(out, 0, sizeof(*out));
    snprintf(out->name, sizeof(out->name), "%s", bench->name);
    snprintf(out->kind, sizeof(out->kind), "bench");
    snprintf(out->note, sizeof(out->note), "simulated: %s", bench->title);
}

static void bench_destroy(void *self)
{
    struct bench *bench = self;
    if (!bench)
        return;
    lw_sim_destroy(bench->sim);
    free(bench->plant);
    free(bench);
}

static const struct lw_source_ops bench_ops = {
    .poll_fds = bench_poll_fds, .due_ns = bench_due_ns, .read = bench_read, .now_ns = bench_now_ns,
    .describe = bench_describe, .destroy = bench_destroy,
};

int lw_bench_open(struct lw_source *out, const char *name, unsigned bus, const struct lw_bench_options *options,
                  char message[LW_SOURCE_TEXT])
{
    int rc = -ENOMEM;
    struct bench *bench = calloc(1, sizeof(*bench));
    if (!bench || !(bench->plant = calloc(1, sizeof(*bench->plant))))
        goto fail;
    rc = lw_bench_load(name, bench->plant, message, LW_SOURCE_TEXT);
    if (rc != 0)
        goto fail;
    rc = -ENOMEM;
    bench->pace = options->pace;
    snprintf(bench->name, sizeof(bench->name), "%s", bench->plant->name);
    snprintf(bench->title, sizeof(bench->title), "%s", bench->plant->title);
    bench->sim = lw_sim_create(bench->plant, options->seed, bus);
    if (!bench->sim)
        goto fail;
    *out = (struct lw_source){ .ops = &bench_ops, .self = bench };
    return 0;

fail:
    bench_destroy(bench);
    return rc;
}

struct lw_sim *lw_bench_sim(const struct lw_source *source)
{
    return source->ops == &bench_ops ? ((struct bench *)source->self)->sim : NULL;
}

int lw_bench_fault(const struct lw_source *source, const char *text, uint64_t at_ns, char message[LW_SOURCE_TEXT])
{
    struct lw_damage damage;
    if (source->ops != &bench_ops) {
        snprintf(message, LW_SOURCE_TEXT, "faults can be put on a bench only: write bench:harrow40 or another as the source");
        return -EINVAL;
    }
    const struct bench *bench = source->self;
    int rc = lw_damage_parse(bench->plant, text, at_ns, &damage, message);
    return rc == 0 ? lw_sim_damage(bench->sim, &damage) : rc;
}
