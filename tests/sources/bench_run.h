/* SPDX-License-Identifier: MIT
 *
 * Runs the bench on a fake clock with a script of actions, and keeps every event. For the tests of the bench.
 */
#ifndef TESTS_SOURCES_BENCH_RUN_H
#define TESTS_SOURCES_BENCH_RUN_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <cmocka.h>

#include "bench_machine.h"
#include "loomwatch/sources/bench.h"

enum { RUN_BUS = 2 };

static const uint64_t run_start_mono_ns = 77000000123;

/* The actions in their order, which is part of the contract with the keys of the dashboard. */
enum action {
    PLUG_SENSOR, UNPLUG_SENSOR, HOPPER_OFF, HOPPER_ON, ERROR_BURST, BUS_OFF, NO_ACKNOWLEDGE, OVERRUN, SECOND_SENDER,
    N_ACTIONS,
};

struct script {
    uint64_t at_ms;
    enum action action;
};

struct run {
    struct lw_event *events;
    size_t n, room;
};

static const struct script every_trouble[] = {
    { 1000, PLUG_SENSOR }, { 2000, ERROR_BURST }, { 2100, NO_ACKNOWLEDGE }, { 2200, OVERRUN }, { 3000, ERROR_BURST },
    { 6000, BUS_OFF }, { 6500, NO_ACKNOWLEDGE }, { 7000, HOPPER_OFF }, { 10000, SECOND_SENDER }, { 11000, HOPPER_ON },
    { 12000, UNPLUG_SENSOR }, { 15000, NO_ACKNOWLEDGE }, { 16000, BUS_OFF }, { 22000, OVERRUN }, { 25000, PLUG_SENSOR },
};
static const size_t n_every_trouble = sizeof every_trouble / sizeof *every_trouble;

static inline struct lw_source open_bench(uint64_t seed, struct lw_pace pace)
{
    struct lw_source source;
    const struct lw_bench_options options = { .pace = pace, .seed = seed };
    assert_int_equal(lw_bench_open(&source, "harrow40", RUN_BUS, &options), 0);
    return source;
}

static inline void run_read(struct run *run, struct lw_source *source, uint64_t mono_ns)
{
    for (;;) {
        if (run->room - run->n < 64) {
            run->room = run->room ? 2 * run->room : 4096;
            run->events = realloc(run->events, run->room * sizeof *run->events);
            assert_non_null(run->events);
        }
        int n = source->ops->read(source->self, mono_ns, run->events + run->n, 64);
        assert_in_range(n, 0, 64);
        run->n += (size_t)n;
        if (n == 0)
            return;
    }
}

/* Reads every step_ns of real pace, and acts as the script says, each at its time to the nanosecond. */
static inline struct run run_bench_stepping(uint64_t seed, uint64_t for_ms, const struct script *script, size_t n_steps,
                                            uint64_t step_ns)
{
    struct run run = { 0 };
    struct lw_source source = open_bench(seed, (struct lw_pace){ LW_PACE_REAL, 1 });
    size_t done = 0;
    run_read(&run, &source, run_start_mono_ns);
    for (uint64_t t_ns = 0; t_ns <= for_ms * 1000000; t_ns += step_ns) {
        for (; done < n_steps && script[done].at_ms * 1000000 <= t_ns; done++) {
            uint64_t at_ns = run_start_mono_ns + script[done].at_ms * 1000000;
            run_read(&run, &source, at_ns);
            assert_int_equal(source.ops->act(source.self, script[done].action, at_ns), 0);
        }
        run_read(&run, &source, run_start_mono_ns + t_ns);
    }
    run_read(&run, &source, run_start_mono_ns + for_ms * 1000000);
    source.ops->destroy(source.self);
    return run;
}

static inline struct run run_bench(uint64_t seed, uint64_t for_ms, const struct script *script, size_t n_steps)
{
    return run_bench_stepping(seed, for_ms, script, n_steps, 1000000);
}

static inline void run_finish(struct run *run)
{
    free(run->events);
}

/* Frames of one message, or of all with id 0, received from from_ms on and before to_ms. */
static inline size_t run_count(const struct run *run, uint32_t id, uint64_t from_ms, uint64_t to_ms)
{
    size_t n = 0;
    for (size_t i = 0; i < run->n; i++) {
        uint64_t t_ns = run->events[i].t_ns;
        n += run->events[i].kind == LW_EVENT_FRAME && (!id || run->events[i].frame.id == id) &&
             t_ns >= from_ms * 1000000 && t_ns < to_ms * 1000000;
    }
    return n;
}

static inline uint64_t run_first_ms(const struct run *run, uint32_t id)
{
    for (size_t i = 0; i < run->n; i++)
        if (run->events[i].kind == LW_EVENT_FRAME && run->events[i].frame.id == id)
            return run->events[i].t_ns / 1000000;
    return UINT64_MAX;
}

#endif
