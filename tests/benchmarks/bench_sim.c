/* SPDX-License-Identifier: MIT
 *
 * How many times faster than real time the bench runs: harrow40, healthy. Run by meson test --benchmark.
 */
#include "loomwatch/bench/sim.h"
#include "loomwatch/sources/bench_file.h"

#include <inttypes.h>
#include <stdio.h>
#include <time.h>

enum { SECONDS = 20, ROUNDS = 3 };

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static double run_once(const struct lw_plant *plant, uint64_t *n_events)
{
    struct lw_event event;
    struct lw_sim *sim = lw_sim_create(plant, 1, 0);
    double start = now_s();
    while (sim && lw_sim_next(sim, SECONDS * UINT64_C(1000000000), &event))
        ++*n_events;
    double taken = now_s() - start;
    lw_sim_destroy(sim);
    return taken;
}

int main(void)
{
    static struct lw_plant plant;
    char message[512];
    double best = 1e9;
    uint64_t n_events = 0;
    if (lw_bench_load("harrow40", &plant, message, sizeof(message)) != 0) {
        puts(message);
        return 1;
    }
    for (int i = 0; i < ROUNDS; i++) {
        double taken = run_once(&plant, &n_events);
        best = taken < best ? taken : best;
    }
    printf("bench harrow40, %u units, healthy, best of %d: bus time to real time, ratio %.1f (goal 50); %" PRIu64 " events\n",
           plant.n_units, ROUNDS, SECONDS / best, n_events / ROUNDS);
    return 0;
}
