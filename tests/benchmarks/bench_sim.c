/* SPDX-License-Identifier: MIT
 *
 * How many times faster than real time the bench runs, healthy, at 500 kbit/s: the shipped harrow40, and thirty units on a
 * line. Run by meson test --benchmark.
 */
#include "loomwatch/bench/adapter.h"
#include "loomwatch/bench/sim.h"
#include "loomwatch/core/wire.h"
#include "loomwatch/sources/bench_file.h"

#include <inttypes.h>
#include <stdio.h>
#include <time.h>

enum { SECONDS = 20, ROUNDS = 3, MANY_UNITS = 30 };

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

/* Seconds taken; the frames and how long they were on the wire. */
static double run_once(const struct lw_plant *plant, uint64_t *n_frames, uint64_t *busy_ns)
{
    struct lw_event event;
    struct lw_sim *sim = lw_sim_create(plant, 1, 0);
    *n_frames = *busy_ns = 0;
    double start = now_s();
    while (sim && lw_sim_next(sim, SECONDS * UINT64_C(1000000000), &event)) {
        if (event.kind != LW_EVENT_FRAME)
            continue;
        struct lw_wire_length length = lw_wire_length(&event.frame);
        *busy_ns += lw_wire_time_ns(&length, plant->bit_rate_bps, plant->data_bit_rate_bps);
        ++*n_frames;
    }
    double taken = now_s() - start;
    lw_sim_destroy(sim);
    return taken;
}

static void measure(const char *name, const struct lw_plant *plant, unsigned goal)
{
    double best = 1e9;
    uint64_t n_frames = 0, busy_ns = 0;
    for (int i = 0; i < ROUNDS; i++) {
        double taken = run_once(plant, &n_frames, &busy_ns);
        best = taken < best ? taken : best;
    }
    printf("bench %s, %u units, load %.0f %%, healthy, best of %d: bus time to real time, ratio %.1f (goal %u); %" PRIu64 " frames\n",
           name, plant->n_units, (double)busy_ns / (SECONDS * 1e7), ROUNDS, SECONDS / best, goal, n_frames);
}

/* Thirty units half a metre apart, each with a fast and a slow message: a bus half full. */
static void build_line(struct lw_plant *plant)
{
    *plant = (struct lw_plant){ .name = "line", .bit_rate_bps = 500000, .supply_mv = 24000, .mohm_per_m = 70, .ps_per_mm = 5,
                                .pf_per_m = 40, .pf_per_unit = 50, .n_points = MANY_UNITS, .n_units = MANY_UNITS };
    for (unsigned u = 0; u < MANY_UNITS; u++) {
        struct lw_plant_unit *unit = &plant->units[u];
        *unit = (struct lw_plant_unit){ .point = (uint8_t)u, .stub_mm = 200, .is_plugged = true, .boot_ms = 20,
                                        .crystal_ppm = (int)(u * 37 % 101) - 50, .loop_delay_ns = 150, .restart_ms = 100 };
        lw_bit_timing_for(500000, 875, 2, &unit->timing);
        plant->points[u].segment_mm = u + 1 < MANY_UNITS ? 500 : 0;
        for (unsigned i = 0; i < 2; i++)
            plant->messages[plant->n_messages++] = (struct lw_plant_message){
                .unit = (uint8_t)u, .id = 0x100 + 0x200 * i + 7 * u, .len = 8, .period_ms = i ? 100 : 15, .jitter_us = 500,
                .patterns = { { LW_PATTERN_COUNTER, .byte = 3, .mask = 0xFF }, { LW_PATTERN_CHECKSUM, .byte = 7 } } };
    }
    plant->n_terminators = 2;
    plant->terminators[0] = (struct lw_plant_terminator){ .point = 0, .ohm = 120 };
    plant->terminators[1] = (struct lw_plant_terminator){ .point = MANY_UNITS - 1, .ohm = 120 };
    plant->units[MANY_UNITS / 2].is_adapter = true;
    plant->units[MANY_UNITS / 2].personality = lw_personalities[0];
}

int main(void)
{
    static struct lw_plant plant;
    char message[512];
    if (lw_bench_load("harrow40", &plant, message, sizeof(message)) != 0) {
        puts(message);
        return 1;
    }
    measure("harrow40", &plant, 50);
    build_line(&plant);
    measure("line", &plant, 10);
    return 0;
}
