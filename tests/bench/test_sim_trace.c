/* SPDX-License-Identifier: MIT
 *
 * The frames that the bench keeps bit by bit for its page: the last one, and the last one with an error, which stays however
 * much comes after it.
 */
#include "sim_bench.h"

#include <stdlib.h>

#include "cases.h"

static struct lw_bench_picture *look(struct sim_bench *bench, unsigned unit)
{
    static struct lw_bench_picture picture;
    lw_sim_picture(bench->sim, unit, &picture);
    return &picture;
}

static unsigned n_errors(const struct lw_bench_trace *trace)
{
    unsigned n = 0;
    for (unsigned i = 0; i < trace->n; i++)
        n += trace->bits[i].has_error;
    return n;
}

static struct sim_bench traced_bench(void)
{
    struct sim_bench bench = sim_bench_of(3, 500000, 5000);
    sim_bench_message(&bench, 1, 0x123, 8, 10);
    sim_bench_message(&bench, 2, 0x234, 4, 7);
    sim_bench_start(&bench, 1);
    return bench;
}

static void frame_with_an_error_is_kept_while_good_ones_follow(void **state)
{
    (void)state;
    struct sim_bench bench = traced_bench();
    sim_bench_run(&bench, 100);
    assert_int_equal(look(&bench, 0)->error_trace.n, 0);
    assert_int_equal(n_errors(&look(&bench, 0)->trace), 0);
    sim_bench_fault(&bench, "bit-rate at unit-2 250000 for 30ms");
    sim_bench_run(&bench, 2000);
    assert_true(bench.seen.n_errors > 0);
    const struct lw_bench_picture *picture = look(&bench, 0);
    assert_int_equal(n_errors(&picture->trace), 0);
    assert_true(n_errors(&picture->error_trace) > 0);
    assert_in_range(picture->error_trace.begins_ns, 100 * SIM_BENCH_MS, 140 * SIM_BENCH_MS);
    assert_in_range(picture->trace.begins_ns, 1980 * (uint64_t)SIM_BENCH_MS, 2000 * (uint64_t)SIM_BENCH_MS);
    sim_bench_stop(&bench);
}

/* Nobody else is there: TEC 128 after 16 errors, none of them in a frame that came later than the last attempt. */
static void newest_of_several_errors_is_the_one_kept(void **state)
{
    (void)state;
    struct sim_bench bench = traced_bench();
    look(&bench, 1);
    sim_bench_run(&bench, 100);
    lw_sim_plug(bench.sim, 0, false);
    lw_sim_plug(bench.sim, 2, false);
    sim_bench_run(&bench, 500);
    const struct lw_bench_picture *picture = look(&bench, 1);
    assert_int_equal(n_errors(&picture->error_trace), 1);
    assert_in_range(picture->error_trace.begins_ns, 498 * SIM_BENCH_MS, 500 * SIM_BENCH_MS);
    sim_bench_stop(&bench);
}

/* The frame that puts its sender bus off is seen at once, not when the next one begins. */
static void frame_that_leads_to_bus_off_is_there_at_once(void **state)
{
    (void)state;
    struct sim_bench bench = traced_bench();
    look(&bench, 1);
    sim_bench_run(&bench, 100);
    sim_bench_fault(&bench, "short at unit-1 0.1");
    sim_bench_run(&bench, 200);
    assert_true(sim_bench_facts(&bench, 1).is_bus_off);
    const struct lw_bench_picture *picture = look(&bench, 1);
    assert_true(n_errors(&picture->error_trace) > 0);
    assert_int_equal(picture->trace.begins_ns, picture->error_trace.begins_ns);
    sim_bench_stop(&bench);
}

static void another_unit_begins_without_a_past(void **state)
{
    (void)state;
    struct sim_bench bench = traced_bench();
    sim_bench_fault(&bench, "bit-rate at unit-2 250000 for 30ms");
    sim_bench_run(&bench, 500);
    assert_true(look(&bench, 0)->error_trace.n > 0);
    assert_int_equal(look(&bench, 0)->trace_since_ns, 0);
    const struct lw_bench_picture *picture = look(&bench, 2);
    assert_int_equal(picture->error_trace.n, 0);
    assert_int_equal(picture->trace_unit, 2);
    assert_int_equal(picture->trace_since_ns, 500 * SIM_BENCH_MS);
    sim_bench_stop(&bench);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(frame_with_an_error_is_kept_while_good_ones_follow),
        cmocka_unit_test(newest_of_several_errors_is_the_one_kept),
        cmocka_unit_test(frame_that_leads_to_bus_off_is_there_at_once),
        cmocka_unit_test(another_unit_begins_without_a_past),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
