/* SPDX-License-Identifier: MIT
 *
 * The bench as a source: maps the monotonic clock to bus time by the chosen pace and hands on what the simulated bus
 * yields. Knows no machine and no frame; what happens on the bus is behind bench_bus.h.
 */
#include "loomwatch/sources/bench.h"

#include "bench_bus.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct bench {
    const struct lw_bench_machine *machine;
    struct lw_pace pace;
    bool has_begun;
    uint64_t start_mono_ns;      /* of the first read, which is bus time 0 */
    struct lw_bench_bus bus;
};

static const struct lw_bench_machine *const machines[] = { &lw_bench_harrow40 };
enum { N_MACHINES = sizeof machines / sizeof *machines };

static uint64_t bus_now_ns(const struct bench *bench, uint64_t mono_ns)
{
    if (!bench->has_begun)
        return 0;
    if (bench->pace.kind == LW_PACE_FULL)
        return bench->bus.adapter.last_ns;
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
    if (!bench->has_begun || bench->pace.kind == LW_PACE_FULL)
        return mono_ns;
    uint64_t due_ns = lw_bench_bus_due_ns(&bench->bus);
    if (due_ns == UINT64_MAX)
        return UINT64_MAX;
    if (bench->pace.kind == LW_PACE_TIMES)
        due_ns = (uint64_t)ceil((double)due_ns / bench->pace.times);
    uint64_t due_mono_ns = bench->start_mono_ns + due_ns;
    /* Rounding may have come out a nanosecond early: do not wake for nothing. */
    while (bus_now_ns(bench, due_mono_ns) < lw_bench_bus_due_ns(&bench->bus))
        due_mono_ns++;
    return due_mono_ns;
}

static int bench_read(void *self, uint64_t mono_ns, struct lw_event *out, size_t max)
{
    struct bench *bench = self;
    if (!bench->has_begun) {
        bench->has_begun = true;
        bench->start_mono_ns = mono_ns;
    }
    uint64_t until_ns = bench->pace.kind == LW_PACE_FULL ? UINT64_MAX : bus_now_ns(bench, mono_ns);
    int n = 0;
    while ((size_t)n < max && lw_bench_bus_next(&bench->bus, until_ns, &out[n]))
        n++;
    return n;
}

static uint64_t bench_now_ns(void *self, uint64_t mono_ns)
{
    return bus_now_ns(self, mono_ns);
}

static void bench_describe(void *self, struct lw_source_info *out)
{
    const struct bench *bench = self;
    memset(out, 0, sizeof *out);
    snprintf(out->name, sizeof out->name, "%s", bench->machine->name);
    snprintf(out->kind, sizeof out->kind, "bench");
    snprintf(out->note, sizeof out->note, "simulated: %s", bench->machine->title);
}

static const struct lw_source_action *bench_actions(void *self, size_t *n)
{
    const struct bench *bench = self;
    *n = bench->machine->n_actions;
    return bench->machine->actions;
}

static int bench_act(void *self, size_t index, uint64_t mono_ns)
{
    struct bench *bench = self;
    if (index >= bench->machine->n_actions)
        return -EINVAL;
    return lw_bench_bus_do(&bench->bus, bench->machine->deeds[index], bus_now_ns(bench, mono_ns));
}

static const struct lw_source_ops bench_ops = {
    .poll_fds = bench_poll_fds, .due_ns = bench_due_ns, .read = bench_read, .now_ns = bench_now_ns,
    .describe = bench_describe, .actions = bench_actions, .act = bench_act, .destroy = free,
};

static const struct lw_bench_machine *find_machine(const char *name)
{
    for (size_t i = 0; i < N_MACHINES; i++)
        if (strcmp(machines[i]->name, name) == 0)
            return machines[i];
    return NULL;
}

int lw_bench_open(struct lw_source *out, const char *name, unsigned bus, const struct lw_bench_options *options)
{
    const struct lw_bench_machine *machine = find_machine(name);
    if (!machine)
        return -ENOENT;
    struct bench *bench = calloc(1, sizeof *bench);
    if (!bench)
        return -ENOMEM;
    bench->machine = machine;
    bench->pace = options->pace;
    lw_bench_bus_init(&bench->bus, machine, options->seed, bus);
    *out = (struct lw_source){ .ops = &bench_ops, .self = bench };
    return 0;
}

const char *const *lw_bench_names(void)
{
    static const char *names[N_MACHINES + 1];
    for (size_t i = 0; i < N_MACHINES; i++)
        names[i] = machines[i]->name;
    return names;
}
