/* SPDX-License-Identifier: MIT
 *
 * A plant for tests of the wires: a trunk with a terminator at each end and units at equal distances, each on its own
 * junction, and edits of its wiring.
 */
#ifndef LOOMWATCH_TEST_WIRE_BENCH_H
#define LOOMWATCH_TEST_WIRE_BENCH_H

#include "loomwatch/bench/wires.h"

#include <math.h>
#include <stdlib.h>

#include "cases.h"

struct wire_bench {
    struct lw_plant *plant;
    struct lw_wires *wires;
    struct lw_wiring wiring;
};

/* The plant may be changed until wire_bench_start. end_ohm 0: no terminators. */
static inline struct wire_bench wire_bench_of(unsigned n_units, uint32_t length_mm, uint32_t end_ohm)
{
    struct wire_bench bench = { .plant = calloc(1, sizeof(struct lw_plant)) };
    struct lw_plant *plant = bench.plant;
    assert_non_null(plant);
    plant->supply_mv = 12000;
    plant->mohm_per_m = 70;          /* the values of plant.h */
    plant->ps_per_mm = 5;
    plant->pf_per_m = 40;
    plant->pf_per_unit = 50;
    plant->n_units = n_units;
    plant->n_points = n_units;
    for (unsigned u = 0; u < n_units; u++) {
        plant->units[u] = (struct lw_plant_unit){ .point = (uint8_t)u, .is_plugged = true, .loop_delay_ns = 100 };
        plant->points[u].segment_mm = u + 1 < n_units ? length_mm / (n_units - 1) : 0;
    }
    if (end_ohm) {
        plant->n_terminators = 2;
        plant->terminators[0] = (struct lw_plant_terminator){ .point = 0, .ohm = end_ohm };
        plant->terminators[1] = (struct lw_plant_terminator){ .point = (uint8_t)(n_units - 1), .ohm = end_ohm };
    }
    return bench;
}

static inline void wire_bench_start(struct wire_bench *bench)
{
    bench->wires = lw_wires_create(bench->plant);
    assert_non_null(bench->wires);
}

static inline struct wire_bench wire_bench_running(unsigned n_units, uint32_t length_mm, uint32_t end_ohm)
{
    struct wire_bench bench = wire_bench_of(n_units, length_mm, end_ohm);
    wire_bench_start(&bench);
    return bench;
}

static inline void wire_bench_stop(struct wire_bench *bench)
{
    lw_wires_destroy(bench->wires);
    free(bench->plant);
}

static inline void put_on(struct wire_bench *bench, enum lw_damage_kind kind, enum lw_damage_place place, unsigned index,
                          double value, uint64_t t_ps)
{
    bench->wiring.damages[bench->wiring.n_damages++] =
        (struct lw_damage){ .kind = (uint8_t)kind, .place = (uint8_t)place, .index = (uint8_t)index, .value = value };
    lw_wires_set(bench->wires, &bench->wiring, t_ps);
}

static inline void take_off(struct wire_bench *bench, uint64_t t_ps)
{
    bench->wiring.n_damages = 0;
    lw_wires_set(bench->wires, &bench->wiring, t_ps);
}

static inline void assert_near(double value, double expected, double tolerance)
{
    if (!(fabs(value - expected) <= tolerance))
        fail_msg("%.9g instead of %.9g ± %.3g", value, expected, tolerance);
}

#endif
