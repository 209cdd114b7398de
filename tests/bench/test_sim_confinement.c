/* SPDX-License-Identifier: MIT
 *
 * Fault confinement on the whole bench, wires and clocks included. Rules: Bosch CAN Specification 2.0 part B, chapter 8;
 * the same in ISO 11898-1:2003, 13.1.4.2.
 */
#include "sim_bench.h"

#include <inttypes.h>

#include "cases.h"

static const uint32_t rates[] = { 125000, 250000, 500000, 1000000 };

static struct sim_bench lone_bench(uint32_t bit_rate_bps, unsigned period_ms)
{
    struct sim_bench bench = sim_bench_of(2, bit_rate_bps, 2000);
    bench.plant->units[1].is_plugged = false;
    sim_bench_message(&bench, SIM_BENCH_ADAPTER, 0x123, 8, period_ms);
    return bench;
}

/* Rule 3, exception 1; "alone on the bus: error passive possible, not bus off". */
static void lone_sender_climbs_by_8_to_128_and_stays(void **state)
{
    (void)state;
    for (unsigned i = 0; i < N_ROWS(rates); i++) {
        struct sim_bench bench = lone_bench(rates[i], 100);
        sim_bench_start(&bench, i);
        sim_bench_run(&bench, 2000);
        const struct sim_evidence *seen = &bench.seen;
        assert_true(seen->n_shown > 40);
        for (unsigned k = 0; k < seen->n_shown; k++) {
            assert_int_equal(seen->shown[k].data[6], k < 16 ? 8 * (k + 1) : 128);
            assert_int_equal(seen->shown[k].data[3], LW_PLACE_ACK_SLOT);
        }
        assert_int_equal(seen->tec_max, 128);
        assert_int_equal(seen->rec_max, 0);
        assert_int_equal(seen->n_no_ack, seen->n_errors);
        assert_int_equal(seen->n_bus_off + seen->n_own, 0);
        assert_int_equal(seen->link.state, LW_STATE_ERROR_PASSIVE);
        struct lw_sim_unit facts = sim_bench_facts(&bench, SIM_BENCH_ADAPTER);
        assert_int_equal(facts.n_errors_by_kind[LW_MAC_ACK_ERROR], facts.n_errors);
        sim_bench_stop(&bench);
    }
}

/* Rule 7: a second node acknowledges, and each frame takes one off. Rule 11: active again at 127. */
static void second_node_heals_by_one_a_frame(void **state)
{
    (void)state;
    struct sim_bench bench = lone_bench(500000, 10);
    sim_bench_start(&bench, 1);
    sim_bench_run(&bench, 200);
    assert_int_equal(sim_bench_facts(&bench, 0).tec, 128);
    sim_bench_forget(&bench);
    lw_sim_plug(bench.sim, 1, true);
    unsigned n_own = 0;
    for (unsigned ms = 201; ms < 2200; ms++) {
        sim_bench_run(&bench, ms);
        if (bench.seen.n_own == n_own)
            continue;
        n_own = bench.seen.n_own;
        assert_int_equal(sim_bench_facts(&bench, 0).tec, n_own < 128 ? 128 - n_own : 0);
    }
    assert_true(n_own > 150);
    assert_in_range(bench.seen.n_errors, 1, 3);          /* back to warning, to active, and a frame begun alone */
    assert_int_equal(bench.seen.reports & ~(0x40 | 0x08), 0);
    assert_int_equal(bench.seen.link.state, LW_STATE_ERROR_ACTIVE);
    sim_bench_stop(&bench);
}

/* Others that sleep or boot: 8, 16, 24 …, then down again by one for each good frame. */
static void waking_bus_leaves_a_ladder_that_heals(void **state)
{
    (void)state;
    struct sim_bench bench = sim_bench_of(4, 500000, 5000);
    sim_bench_message(&bench, SIM_BENCH_ADAPTER, 0x123, 2, 10);
    sim_bench_start(&bench, 5);
    sim_bench_run(&bench, 100);
    assert_int_equal(bench.seen.n_errors, 0);
    sim_bench_fault(&bench, "asleep for 11ms");          /* the adapter sends once or twice meanwhile, and repeats it */
    sim_bench_run(&bench, 112);
    unsigned highest = sim_bench_facts(&bench, 0).tec;
    assert_in_range(highest, 8, 128);
    assert_int_equal(bench.seen.shown[0].data[6], 8);
    assert_int_equal(bench.seen.shown[1].data[6], 16);
    sim_bench_run(&bench, 112 + 10 * (highest + 1));
    assert_int_equal(sim_bench_facts(&bench, 0).tec, 0);
    sim_bench_run(&bench, 112 + 10 * (highest + 1) + 600);   /* the driver is asked twice a second */
    assert_int_equal(bench.seen.link.tec.value + bench.seen.link.rec.value, 0);
    sim_bench_stop(&bench);
}

/* Bosch 2.0 B, 3.1.1: the lowest identifier goes on undisturbed; who loses tries again, and nothing counts it. */
static void arbitration_lets_the_lowest_win_and_counts_nothing(void **state)
{
    (void)state;
    struct sim_bench bench = sim_bench_of(5, 125000, 20000);
    for (unsigned u = 0; u < 5; u++)                     /* a frame takes most of a millisecond: one of five goes through */
        sim_bench_message(&bench, u, 0x400 - 0x80 * u, 8, 1)->flags = u == 2 ? LW_FRAME_EXTENDED : 0;
    bench.plant->messages[2].id = 0x300 << 18;           /* 11 bits of it as unit 2's would be */
    for (unsigned u = 0; u < 3; u++)
        bench.plant->messages[u].period_ms = 50;
    bench.plant->messages[4].period_ms = bench.plant->messages[3].period_ms = 2;
    sim_bench_start(&bench, 9);
    sim_bench_run(&bench, 2000);
    assert_int_equal(sim_bench_errors(&bench), 0);
    assert_in_range(sim_bench_facts(&bench, 4).n_sent, 999, 1001);
    assert_in_range(sim_bench_facts(&bench, 3).n_sent, 997, 1001);
    assert_true(sim_bench_facts(&bench, 2).n_sent < 45);     /* what is left is not enough for the others */
    assert_true(sim_bench_facts(&bench, 0).n_sent < sim_bench_facts(&bench, 1).n_sent + 2);
    assert_true(bench.seen.link.n_arbitration_lost.value > 20);
    for (unsigned u = 0; u < 5; u++)
        assert_int_equal(sim_bench_facts(&bench, u).tec + sim_bench_facts(&bench, u).rec, 0);
    sim_bench_stop(&bench);
}

static void one_shot_sender_tries_once(void **state)
{
    (void)state;
    struct sim_bench bench = lone_bench(250000, 100);
    bench.plant->units[SIM_BENCH_ADAPTER].is_one_shot = true;
    sim_bench_start(&bench, 1);
    sim_bench_run(&bench, 500);
    assert_int_equal(bench.seen.n_errors, 5);
    assert_int_equal(sim_bench_facts(&bench, 0).tec, 5 * 8);
    assert_int_equal(bench.seen.n_own, 0);
    sim_bench_stop(&bench);
}

/* Rules 3 and 10: 32 errors of 8. The sender's own bits do not come back. */
static void short_between_the_wires_puts_the_sender_off(void **state)
{
    (void)state;
    for (unsigned i = 0; i < N_ROWS(rates); i++) {
        struct sim_bench bench = sim_bench_of(3, rates[i], 5000);
        sim_bench_message(&bench, SIM_BENCH_ADAPTER, 0x123, 8, 10);
        bench.plant->units[SIM_BENCH_ADAPTER].personality.restart_ms = 0;
        sim_bench_start(&bench, 1);
        sim_bench_run(&bench, 100);
        sim_bench_fault(&bench, "short at point 2");
        sim_bench_run(&bench, 3000);
        struct lw_sim_unit facts = sim_bench_facts(&bench, SIM_BENCH_ADAPTER);
        assert_true(facts.is_bus_off);
        assert_int_equal(facts.tec, 256);
        assert_int_equal(facts.n_errors, 32);
        assert_int_equal(facts.n_errors_by_kind[LW_MAC_BIT_ERROR], 32);
        assert_int_equal(bench.seen.n_bus_off, 1);
        assert_int_equal(bench.seen.n_restarted, 0);         /* without a restart time it stays */
        assert_false(bench.seen.link.has_carrier);
        for (unsigned u = 1; u < 3; u++)                     /* the others hear nothing of it */
            assert_int_equal(sim_bench_facts(&bench, u).n_errors, 0);
        sim_bench_stop(&bench);
    }
}

/* Rule 12: asked for after restart-ms, back after 128 times 11 recessive bits: 1408 on a silent bus. */
static void bus_off_sender_is_back_after_128_times_11_bits(void **state)
{
    (void)state;
    for (unsigned i = 0; i < N_ROWS(rates); i++) {
        struct sim_bench bench = sim_bench_of(2, rates[i], 5000);
        sim_bench_message(&bench, SIM_BENCH_ADAPTER, 0x123, 8, 1);      /* something always waits */
        bench.plant->units[SIM_BENCH_ADAPTER].personality.restart_ms = 50;
        sim_bench_start(&bench, 1);
        sim_bench_fault(&bench, "short at point 2 for 40ms");
        while (bench.seen.n_restarted == 0)
            sim_bench_run_ns(&bench, lw_sim_now_ns(bench.sim) + SIM_BENCH_MS / 10);
        assert_int_equal(bench.seen.n_own, 0);
        assert_in_range(bench.seen.restarted_ns, bench.seen.bus_off_ns + 50 * (uint64_t)SIM_BENCH_MS,
                        bench.seen.bus_off_ns + 50 * (uint64_t)SIM_BENCH_MS + 1000);
        uint64_t bit_ns = 1000000000 / rates[i], back_ns = bench.seen.restarted_ns + 1408 * bit_ns;
        sim_bench_run_ns(&bench, back_ns + 100 * bit_ns);
        assert_int_equal(bench.seen.n_own, 0);               /* its first frame is not yet over */
        sim_bench_run_ns(&bench, back_ns + 140 * bit_ns);
        assert_int_equal(bench.seen.n_own, 1);
        struct lw_sim_unit facts = sim_bench_facts(&bench, SIM_BENCH_ADAPTER);
        assert_int_equal(facts.tec + facts.rec + facts.is_bus_off, 0);
        sim_bench_stop(&bench);
    }
}

/* What was queued before is not sent after: the sender is back with what it has to say then, a frame each 10 ms, whether it
 * is our adapter or a unit. Source: can_restart in drivers/net/can/dev/dev.c of Linux, from memory. */
static void stale_frames_are_not_sent_after_bus_off(void **state)
{
    (void)state;
    for (unsigned sender = 0; sender < 2; sender++) {
        struct sim_bench bench = sim_bench_of(3, 500000, 5000);
        sim_bench_message(&bench, sender, 0x123, 8, 10)->patterns[0] = (struct lw_pattern){ LW_PATTERN_COUNTER, 0, 0xFF, 0, 0, 0 };
        bench.plant->units[sender].restart_ms = bench.plant->units[SIM_BENCH_ADAPTER].personality.restart_ms = 500;
        sim_bench_start(&bench, 1);
        sim_bench_fault(&bench, "short at point 2 for 400ms");
        sim_bench_run(&bench, 400);
        assert_true(sim_bench_facts(&bench, sender).is_bus_off);
        assert_int_equal(sim_bench_facts(&bench, sender).n_sent, 0);
        while (sim_bench_facts(&bench, sender).is_bus_off)
            sim_bench_run_ns(&bench, lw_sim_now_ns(bench.sim) + SIM_BENCH_MS);
        sim_bench_run_ns(&bench, lw_sim_now_ns(bench.sim) + 95 * (uint64_t)SIM_BENCH_MS);
        assert_in_range(sim_bench_facts(&bench, sender).n_sent, 9, 10);
        if (sender != SIM_BENCH_ADAPTER)
            assert_true(bench.seen.last.data[0] > 50);       /* of those released meanwhile none was sent */
        sim_bench_stop(&bench);
    }
}

/* Frames follow each other without a pause: acknowledge delimiter, end of frame and intermission are one eleven a frame. */
static void recovery_on_a_full_bus_takes_128_frames(void **state)
{
    (void)state;
    struct sim_bench bench = sim_bench_of(3, 500000, 5000);
    for (unsigned i = 0; i < 8; i++)
        sim_bench_message(&bench, 1, 0x200 + i, 8, 1);
    sim_bench_message(&bench, SIM_BENCH_ADAPTER, 0x001, 8, 10);
    bench.plant->units[SIM_BENCH_ADAPTER].personality.restart_ms = 20;
    sim_bench_start(&bench, 3);
    sim_bench_run(&bench, 20);
    sim_bench_fault(&bench, "standby at our-adapter for 15ms");
    sim_bench_run(&bench, 20 + 15);
    assert_int_equal(bench.seen.n_bus_off, 1);
    while (bench.seen.n_restarted == 0)
        sim_bench_run_ns(&bench, lw_sim_now_ns(bench.sim) + SIM_BENCH_MS / 100);
    uint64_t before = sim_bench_facts(&bench, 1).n_sent, own = bench.seen.n_own;
    while (bench.seen.n_own == own)
        sim_bench_run_ns(&bench, lw_sim_now_ns(bench.sim) + SIM_BENCH_MS / 100);
    assert_in_range(sim_bench_facts(&bench, 1).n_sent - before, 127, 130);
    sim_bench_stop(&bench);
}

/* ISO 11898-1:2003, 10.12: bus monitoring sends nothing dominant, so nobody acknowledges; the frame comes again and again. */
static void listen_only_adapter_leaves_a_lone_sender_unacknowledged(void **state)
{
    (void)state;
    struct sim_bench bench = sim_bench_of(2, 500000, 2000);
    sim_bench_message(&bench, 1, 0x181, 8, 1000);
    sim_bench_start(&bench, 1);
    sim_bench_fault(&bench, "listen-only at our-adapter");
    sim_bench_run(&bench, 1100);
    struct lw_sim_unit sender = sim_bench_facts(&bench, 1), adapter = sim_bench_facts(&bench, SIM_BENCH_ADAPTER);
    assert_int_equal(sender.tec, 128);
    assert_int_equal(sender.n_sent + sender.rec + sender.is_bus_off, 0);
    assert_int_equal(adapter.tec + adapter.rec, 0);
    assert_true(bench.seen.n_frames > 100);
    assert_int_equal(bench.seen.n_repeats, bench.seen.n_frames - 1);
    assert_int_equal(bench.seen.n_no_ack, 0);
    sim_bench_mend(&bench);                                  /* now it acknowledges */
    sim_bench_run(&bench, 1200);
    assert_int_equal(sim_bench_facts(&bench, 1).tec, 127);
    assert_int_equal(sim_bench_facts(&bench, 1).n_sent, 1);
    sim_bench_stop(&bench);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(lone_sender_climbs_by_8_to_128_and_stays),
        cmocka_unit_test(second_node_heals_by_one_a_frame),
        cmocka_unit_test(waking_bus_leaves_a_ladder_that_heals),
        cmocka_unit_test(arbitration_lets_the_lowest_win_and_counts_nothing),
        cmocka_unit_test(one_shot_sender_tries_once),
        cmocka_unit_test(short_between_the_wires_puts_the_sender_off),
        cmocka_unit_test(bus_off_sender_is_back_after_128_times_11_bits),
        cmocka_unit_test(stale_frames_are_not_sent_after_bus_off),
        cmocka_unit_test(recovery_on_a_full_bus_takes_128_frames),
        cmocka_unit_test(listen_only_adapter_leaves_a_lone_sender_unacknowledged),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
