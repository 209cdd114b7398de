/* SPDX-License-Identifier: MIT
 *
 * Units that stop, sleep and are woken: who takes part when, and the ladder of the first frames that nobody acknowledges.
 */
#include "sim_bench.h"

#include "cases.h"

enum { RUNS_MS = 200, SLEEPS_MS = 100, BOOT_MS = 5 };

/* Our adapter and units that send every 10 ms, stop after 200 ms and sleep after 100 ms of silence. */
static struct sim_bench sleepy_bench(unsigned n_units)
{
    struct sim_bench bench = sim_bench_of(n_units, 500000, 5000);
    for (unsigned u = 1; u < n_units; u++) {
        struct lw_plant_unit *unit = &bench.plant->units[u];
        unit->runs_ms = RUNS_MS;
        unit->sleeps_ms = SLEEPS_MS;
        unit->boot_ms = BOOT_MS;
        sim_bench_message(&bench, u, 0x100 * u, 8, 10);
    }
    return bench;
}

static bool is_awake(const struct sim_bench *bench, unsigned unit)
{
    return sim_bench_facts(bench, unit).is_on_bus;
}

static bool is_shown_asleep(struct sim_bench *bench, unsigned unit)
{
    static struct lw_bench_picture picture;
    lw_sim_picture(bench->sim, SIM_BENCH_ADAPTER, &picture);
    return picture.units[unit].is_asleep;
}

static void unit_stops_sending_first_and_sleeps_after_silence(void **state)
{
    (void)state;
    struct sim_bench bench = sleepy_bench(3);
    sim_bench_start(&bench, 1);
    sim_bench_run(&bench, BOOT_MS + RUNS_MS);
    assert_in_range(bench.seen.n_frames, 38, 40);
    sim_bench_forget(&bench);
    sim_bench_run(&bench, BOOT_MS + RUNS_MS + SLEEPS_MS - 15);
    assert_in_range(bench.seen.n_frames, 0, 1);          /* one may have waited in the queue */
    for (unsigned u = 1; u < 3; u++)
        assert_true(is_awake(&bench, u) && !is_shown_asleep(&bench, u));
    sim_bench_run(&bench, BOOT_MS + RUNS_MS + SLEEPS_MS + 5);
    for (unsigned u = 1; u < 3; u++)
        assert_true(!is_awake(&bench, u) && is_shown_asleep(&bench, u));
    sim_bench_run(&bench, 5000);
    assert_in_range(bench.seen.n_frames, 0, 1);
    assert_int_equal(bench.seen.n_errors, 0);
    sim_bench_stop(&bench);
}

/* Who still hears others stays awake, and acknowledges them. */
static void traffic_keeps_a_stopped_unit_awake(void **state)
{
    (void)state;
    struct sim_bench bench = sleepy_bench(2);
    sim_bench_message(&bench, SIM_BENCH_ADAPTER, 0x300, 4, SLEEPS_MS - 30);
    sim_bench_start(&bench, 1);
    sim_bench_run(&bench, 3000);
    assert_true(is_awake(&bench, 1));
    assert_int_equal(sim_bench_errors(&bench), 0);
    assert_in_range(bench.seen.n_own, 41, 43);
    assert_in_range(sim_bench_facts(&bench, 1).n_sent, RUNS_MS / 10 - 1, RUNS_MS / 10);
    sim_bench_stop(&bench);
}

/* The reported picture of a wake-up: TEC 8, 16, 24 while all others boot, then down by one for each good frame. Bosch CAN
 * Specification 2.0 part B, chapter 8, rules 3 and 7. */
static void first_frames_to_a_sleeping_bus_go_unacknowledged(void **state)
{
    (void)state;
    struct sim_bench bench = sleepy_bench(3);
    sim_bench_message(&bench, SIM_BENCH_ADAPTER, 0x300, 4, 1000);
    sim_bench_start(&bench, 3);
    sim_bench_run(&bench, 400);
    while (sim_bench_facts(&bench, 1).is_on_bus || bench.seen.n_errors == 0)
        sim_bench_run_ns(&bench, lw_sim_now_ns(bench.sim) + SIM_BENCH_MS / 10);
    uint64_t woken_ns = lw_sim_now_ns(bench.sim);
    unsigned n_own = bench.seen.n_own;
    assert_int_equal(bench.seen.shown[0].data[6], 8);
    sim_bench_run_ns(&bench, woken_ns + (BOOT_MS - 1) * (uint64_t)SIM_BENCH_MS);
    assert_int_equal(bench.seen.shown[1].data[6], 16);
    assert_int_equal(bench.seen.shown[2].data[6], 24);
    assert_int_equal(bench.seen.n_own, n_own);
    assert_false(is_awake(&bench, 1) || is_awake(&bench, 2));
    unsigned highest = sim_bench_facts(&bench, SIM_BENCH_ADAPTER).tec;
    assert_in_range(highest, 24, 128);
    sim_bench_run_ns(&bench, woken_ns + (BOOT_MS + 2) * (uint64_t)SIM_BENCH_MS);
    assert_true(is_awake(&bench, 1) && is_awake(&bench, 2));
    assert_int_equal(bench.seen.n_own, n_own + 1);
    assert_in_range(sim_bench_facts(&bench, SIM_BENCH_ADAPTER).tec, highest - 1, highest + 15);
    sim_bench_forget(&bench);
    sim_bench_run_ns(&bench, woken_ns + (BOOT_MS + RUNS_MS) * (uint64_t)SIM_BENCH_MS);
    assert_in_range(bench.seen.n_frames, 36, 40);        /* their applications run again */
    sim_bench_stop(&bench);
}

static void unit_wakes_by_itself_and_wakes_those_that_listen(void **state)
{
    (void)state;
    struct sim_bench bench = sleepy_bench(5);
    bench.plant->units[1].wakes_ms = 1000;
    bench.plant->units[3].is_traffic_ignored = true;
    sim_bench_start(&bench, 1);
    sim_bench_run(&bench, 1000);
    for (unsigned u = 1; u < 5; u++)
        assert_false(is_awake(&bench, u));
    sim_bench_fault(&bench, "open at unit-4");           /* a dominant bit must reach its pins */
    sim_bench_forget(&bench);
    sim_bench_run(&bench, BOOT_MS + RUNS_MS + SLEEPS_MS + 1000 + 50);
    assert_true(is_awake(&bench, 1) && is_awake(&bench, 2));
    assert_false(is_awake(&bench, 3) || is_awake(&bench, 4));
    assert_true(bench.seen.n_frames > 4);
    sim_bench_run(&bench, 2 * (RUNS_MS + SLEEPS_MS + 1000) + 100);   /* again, and again */
    assert_true(is_awake(&bench, 1) && is_awake(&bench, 2));
    assert_false(is_awake(&bench, 3) || is_awake(&bench, 4));
    sim_bench_stop(&bench);
}

static void unit_without_supply_forgets_that_it_slept(void **state)
{
    (void)state;
    struct sim_bench bench = sleepy_bench(3);
    sim_bench_start(&bench, 1);
    sim_bench_run(&bench, 1000);
    assert_false(is_awake(&bench, 1));
    lw_sim_power(bench.sim, 1, false);
    assert_false(is_shown_asleep(&bench, 1));
    lw_sim_power(bench.sim, 1, true);
    sim_bench_forget(&bench);
    sim_bench_run(&bench, 1000 + BOOT_MS + RUNS_MS);
    assert_true(is_awake(&bench, 1) && is_awake(&bench, 2));
    assert_true(bench.seen.n_frames > 2 * 15);
    sim_bench_stop(&bench);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(unit_stops_sending_first_and_sleeps_after_silence),
        cmocka_unit_test(traffic_keeps_a_stopped_unit_awake),
        cmocka_unit_test(first_frames_to_a_sleeping_bus_go_unacknowledged),
        cmocka_unit_test(unit_wakes_by_itself_and_wakes_those_that_listen),
        cmocka_unit_test(unit_without_supply_forgets_that_it_slept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
