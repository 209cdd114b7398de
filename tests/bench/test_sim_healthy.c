/* SPDX-License-Identifier: MIT
 *
 * A bench in good order: equal runs are equal, nothing is lost, time on the wire is what the frames' bits take, and a bus
 * inside its tolerances runs clean while one outside them does not. With LW_LONG=1 in the environment a million frames
 * for each published tolerance instead of thousands in all: two minutes.
 */
#include "sim_bench.h"

#include "loomwatch/core/wire.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cases.h"

/* In steps of different lengths up to two milliseconds, or whole. */
static uint64_t digest_of(const char *name, uint64_t seed, unsigned ms, bool in_steps)
{
    struct sim_bench bench = sim_bench_of_file(name);
    uint64_t at_ns = 0, end_ns = (uint64_t)ms * SIM_BENCH_MS, step_ns = 1;
    sim_bench_start(&bench, seed);
    sim_bench_fault(&bench, "loose at segment 1 20");        /* chance in the wires too */
    while (in_steps && at_ns < end_ns) {
        step_ns = (step_ns * 7919 + 1) % 2000003;
        at_ns = at_ns + step_ns < end_ns ? at_ns + step_ns : end_ns;
        sim_bench_run_ns(&bench, at_ns);
    }
    sim_bench_run_ns(&bench, end_ns);
    uint64_t digest = bench.seen.digest;
    assert_true(bench.seen.n_frames > 0);
    sim_bench_stop(&bench);
    return digest;
}

static void sim_with_equal_seeds_gives_equal_events(void **state)
{
    (void)state;
    for (unsigned i = 0; i < SIM_BENCH_FILES; i++) {
        uint64_t first = digest_of(sim_bench_files[i], 42, 1000, false);
        assert_int_equal(digest_of(sim_bench_files[i], 42, 1000, false), first);
        assert_int_equal(digest_of(sim_bench_files[i], 42, 1000, true), first);
        assert_int_not_equal(digest_of(sim_bench_files[i], 43, 1000, false), first);
    }
}

static void run_without_error(const char *name, uint64_t seed)
{
    struct sim_bench bench = sim_bench_of_file(name);
    sim_bench_start(&bench, seed);
    sim_bench_run(&bench, 10000);
    const struct sim_evidence *seen = &bench.seen;
    if (sim_bench_errors(&bench) != 0)
        fail_msg("%s, seed %" PRIu64 ": %" PRIu64 " errors", name, seed, sim_bench_errors(&bench));
    assert_int_equal(seen->n_errors, 0);
    assert_int_equal(seen->n_lost, 0);
    assert_false(seen->is_disordered);
    /* What is on the wire just now has been received, not yet sent: one bit lies between. */
    assert_in_range(seen->n_frames + seen->n_own - sim_bench_sent(&bench), 0, 1);
    assert_in_range(seen->n_frames, 200, 20000);
    assert_int_equal(seen->link.state, LW_STATE_ERROR_ACTIVE);
    assert_int_equal(seen->link.n_bus_errors.value, 0);
    for (unsigned u = 0; u < bench.plant->n_units; u++) {
        struct lw_sim_unit facts = sim_bench_facts(&bench, u);
        assert_int_equal(facts.tec + facts.rec, 0);
        assert_false(facts.is_bus_off || facts.is_passive);
    }
    sim_bench_stop(&bench);
}

static void shipped_benches_run_ten_seconds_without_error(void **state)
{
    (void)state;
    for (unsigned i = 0; i < SIM_BENCH_FILES; i++)
        for (uint64_t seed = 1; seed <= 8; seed++)
            run_without_error(sim_bench_files[i], seed);
}

/* A bus on which more waits than fits: frame follows frame, and each takes its bits and three of intermission. */
static const struct saturated {
    const char *name;
    uint8_t flags, len;
    uint32_t bit_rate_bps, data_bit_rate_bps;
} saturated[] = {
    { "classic, no data", 0, 0, 500000, 0 },
    { "classic, eight bytes", 0, 8, 500000, 0 },
    { "29 bits, five bytes", LW_FRAME_EXTENDED, 5, 250000, 0 },
    { "remote", LW_FRAME_REMOTE, 0, 125000, 0 },
    { "FD, one rate", LW_FRAME_FD, 16, 500000, 0 },
    { "FD, two rates", LW_FRAME_FD | LW_FRAME_BRS, 12, 500000, 2000000 },
    { "FD, two rates, 29 bits, 64 bytes", LW_FRAME_FD | LW_FRAME_BRS | LW_FRAME_EXTENDED, 64, 500000, 2000000 },
};

/* lw_wire_length counts the two bits in which the rate changes whole to the slow rate. They are of both rates: each
 * changes at its sample point (ISO 11898-1:2015, from memory). */
static uint64_t changing_ns(const struct lw_plant_unit *unit)
{
    const struct lw_bit_timing *slow = &unit->timing, *fast = &unit->data_timing;
    uint64_t behind_slow_ps = slow->tq_ps * slow->phase_seg2, behind_fast_ps = fast->tq_ps * fast->phase_seg2;
    uint64_t brs_ps = behind_slow_ps - behind_fast_ps;
    uint64_t delimiter_ps = lw_bit_timing_bit_ps(slow) - (lw_bit_timing_bit_ps(fast) - behind_fast_ps + behind_slow_ps);
    return (brs_ps + delimiter_ps) / 1000;
}

static void run_saturated(const struct saturated *row)
{
    struct sim_bench bench = sim_bench_of(3, row->bit_rate_bps, 1000);
    for (unsigned u = 0; u < 3; u++)
        if (row->flags & LW_FRAME_FD)
            lw_bit_timing_for(row->data_bit_rate_bps ? row->data_bit_rate_bps : row->bit_rate_bps, 800, 2,
                              &bench.plant->units[u].data_timing);
    for (unsigned i = 0; i < 16; i++) {
        struct lw_plant_message *message = sim_bench_message(&bench, 1, 0x0F0 + 0x51 * i, row->len, 1);
        message->flags = row->flags;
        message->patterns[0] = (struct lw_pattern){ LW_PATTERN_COUNTER, .byte = (uint8_t)(row->len / 2), .mask = 0xFF };
        message->patterns[0].kind = row->len ? LW_PATTERN_COUNTER : LW_PATTERN_STILL;
    }
    sim_bench_start(&bench, 3);
    sim_bench_run(&bench, 20);
    uint64_t before_ns = bench.seen.last_ns, busy_ns = 0, n = 0;
    struct lw_event event;
    while (lw_sim_next(bench.sim, 120 * SIM_BENCH_MS, &event)) {
        if (event.kind != LW_EVENT_FRAME)
            continue;
        struct lw_wire_length length = lw_wire_length(&event.frame);
        uint64_t wire_ns = lw_wire_time_ns(&length, row->bit_rate_bps, row->data_bit_rate_bps), took_ns = event.t_ns - before_ns;
        wire_ns -= row->flags & LW_FRAME_BRS ? changing_ns(&bench.plant->units[0]) : 0;
        /* A receiver sees an edge to within a time quantum; the sender jumps to the late edge of the acknowledge. */
        const struct lw_bit_timing *timing = &bench.plant->units[0].timing;
        uint64_t quantum_ns = timing->tq_ps / 1000 + 1;
        if (took_ns + quantum_ns < wire_ns || took_ns > wire_ns + (1u + timing->sjw) * quantum_ns)
            fail_msg("%s: %" PRIu64 " ns on the wire instead of %" PRIu64, row->name, took_ns, wire_ns);
        before_ns = event.t_ns;
        busy_ns += wire_ns;
        n++;
    }
    assert_true(n > 50);
    uint64_t share = busy_ns * 1000 / (before_ns - bench.seen.last_ns);
    assert_in_range(share, 996, 1000);
    sim_bench_stop(&bench);
}

static void saturated_bus_takes_the_time_of_its_bits(void **state)
{
    (void)state;
    for (unsigned i = 0; i < N_ROWS(saturated); i++)
        run_saturated(&saturated[i]);
}

/* Bit rates, with the lengths of TI SLLA270, table 1, where it has one. Ohms a metre by length: common data sheets of CAN
 * cable, as CiA 303-1 has them (from memory). */
static const struct reach {
    uint32_t bit_rate_bps, data_bit_rate_bps, length_mm, mohm_per_m;
    unsigned sample_permille;
} reaches[] = {
    { 10000, 0, 1000000, 20, 875 },   { 20000, 0, 1000000, 20, 875 },  { 50000, 0, 1000000, 20, 875 },
    { 100000, 0, 500000, 40, 875 },   { 125000, 0, 250000, 60, 875 },  { 250000, 0, 200000, 60, 875 },
    { 500000, 0, 100000, 60, 875 },   { 800000, 0, 40000, 70, 800 },   { 1000000, 0, 40000, 70, 800 },
    { 250000, 1000000, 10000, 70, 800 }, { 500000, 2000000, 10000, 70, 800 }, { 1000000, 2000000, 3000, 70, 750 },
    { 1000000, 4000000, 500, 70, 800 },
};

static void every_bit_rate_over_its_length_runs_clean(void **state)
{
    (void)state;
    for (unsigned i = 0; i < N_ROWS(reaches); i++) {
        const struct reach *row = &reaches[i];
        bool is_fd = row->data_bit_rate_bps != 0;
        struct sim_bench bench = sim_bench_of(4, row->bit_rate_bps, row->length_mm);
        bench.plant->mohm_per_m = row->mohm_per_m;
        for (unsigned u = 0; u < 4; u++) {
            sim_bench_timing(&bench, u, row->bit_rate_bps, row->sample_permille, 0);
            if (is_fd)
                lw_bit_timing_for(row->data_bit_rate_bps, 800, 2, &bench.plant->units[u].data_timing);
            sim_bench_message(&bench, u, 0x080 + 0x111 * u, is_fd ? 64 : 8, 15000000 / row->bit_rate_bps)->flags =
                is_fd ? LW_FRAME_FD | LW_FRAME_BRS : 0;
        }
        sim_bench_start(&bench, i);
        sim_bench_run(&bench, 300000000 / row->bit_rate_bps);
        if (sim_bench_errors(&bench) != 0 || bench.seen.n_frames < 25)
            fail_msg("%u bit/s over %u mm: %" PRIu64 " errors in %u frames", row->bit_rate_bps, row->length_mm,
                     sim_bench_errors(&bench), bench.seen.n_frames);
        sim_bench_stop(&bench);
    }
}

/* Published bit timings with the largest difference of an oscillator to its nominal frequency, both ends wrong at once:
 * df <= SJW / (20 tbit) and df <= min(PS1, PS2) / (2 (13 tbit - PS2)); ISO 11898-1:2003, 12.4.2.5. */
static const struct tolerance {
    const char *source;
    uint32_t bit_rate_bps;
    struct lw_bit_timing timing;
    unsigned loop_ns, length_mm;     /* driver and receiver, line */
    double published_pct, clear_pct; /* clear_pct: outside both conditions */
} tolerances[] = {
    { "Bosch TTCAN UM 1.6, p. 52: 0.39 %", 1000000, { 100000, 6, 1, 2, 1 }, 80, 40000, 0.39, 0.8 },
    { "TI SPRUIW9C: 1.58 %", 100000, { 1000000, 1, 4, 4, 4 }, 280, 40000, 1.58, 2.4 },
    { "Bosch TTCAN UM 1.6, p. 50: 1.58 % up to 125 kbit/s", 125000, { 800000, 1, 4, 4, 4 }, 150, 40000, 1.58, 2.4 },
    { "OpenLCB CAN Physical TN: 0.980 %, 320 m", 125000, { 400000, 10, 4, 5, 4 }, 200, 320000, 0.980, 1.6 },
    { "OpenLCB calculator: 0.938 %, 310 m", 125000, { 500000, 7, 4, 4, 3 }, 200, 310000, 0.938, 1.6 },
    { "the formulas: 0.3125 % of 16 quanta, SJW 1", 500000, { 125000, 7, 6, 2, 1 }, 150, 40000, 0.3125, 0.7 },
};

/* As few edges as there can be, ten bits apart: with their stuff bits these data are five dominant, five recessive ones. */
static const uint8_t few_edges[8] = { 0xF8, 0x78, 0x78, 0x78, 0x78, 0x78, 0x78, 0x78 };

/* Errors of a bus whose two senders are apart by twice pct, after so many frames or a limit of time. */
static uint64_t errors_at(const struct tolerance *row, double pct, unsigned n_frames, uint64_t *n_sent)
{
    struct sim_bench bench = sim_bench_of(3, row->bit_rate_bps, row->length_mm);
    for (unsigned u = 0; u < 3; u++) {
        struct lw_plant_unit *unit = &bench.plant->units[u];
        unit->timing = row->timing;
        unit->loop_delay_ns = row->loop_ns;
        unit->stub_mm = 0;
        unit->crystal_ppm = (int32_t)lround((u == 2 ? -pct : pct) * 1e4);
        for (unsigned i = 0; u > 0 && i < 8; i++)
            memcpy(sim_bench_message(&bench, u, 0x0F0 * u + i, 8, 1)->constant, few_edges, 8);
    }
    bench.plant->mohm_per_m = 20;
    sim_bench_start(&bench, 11);
    uint64_t frame_us = 135000000 / row->bit_rate_bps, limit_ms = n_frames * frame_us * 2 / 1000;
    for (uint64_t ms = 0; sim_bench_sent(&bench) < n_frames && ms < limit_ms; ms += 100)
        sim_bench_run(&bench, (unsigned)ms + 100);
    uint64_t n_errors = sim_bench_errors(&bench);
    *n_sent = sim_bench_sent(&bench);
    sim_bench_stop(&bench);
    return n_errors;
}

static void clocks_inside_the_published_tolerance_run_clean(void **state)
{
    (void)state;
    bool is_long = getenv("LW_LONG") != NULL;
    for (unsigned i = 0; i < N_ROWS(tolerances); i++) {
        uint64_t n_sent;
        unsigned n_frames = is_long ? 1000000 : 20000 / N_ROWS(tolerances);
        uint64_t n_errors = errors_at(&tolerances[i], 0.99 * tolerances[i].published_pct, n_frames, &n_sent);
        if (n_errors != 0 || n_sent < n_frames)
            fail_msg("%s: %" PRIu64 " errors, %" PRIu64 " sent", tolerances[i].source, n_errors, n_sent);
    }
}

static void clocks_clearly_outside_fail(void **state)
{
    (void)state;
    for (unsigned i = 0; i < N_ROWS(tolerances); i++) {
        uint64_t n_sent, n_errors = errors_at(&tolerances[i], tolerances[i].clear_pct, 300, &n_sent);
        if (n_errors < 50)
            fail_msg("%s: %" PRIu64 " errors, %" PRIu64 " sent", tolerances[i].source, n_errors, n_sent);
    }
}

/* 64 bytes of data at 2 Mbit/s, from the file. */
static void fd_bench_delivers_long_frames(void **state)
{
    (void)state;
    struct sim_bench bench = sim_bench_of_file("fd-bench");
    struct lw_event event;
    unsigned n_long = 0;
    sim_bench_start(&bench, 1);
    while (lw_sim_next(bench.sim, 3000 * (uint64_t)SIM_BENCH_MS, &event)) {
        if (event.kind != LW_EVENT_FRAME || event.frame.id != 0x0C0)
            continue;
        assert_int_equal(event.frame.flags, LW_FRAME_FD | LW_FRAME_BRS);
        assert_int_equal(event.frame.len, 64);
        assert_int_equal(event.frame.data[62], n_long++ % 256);
        uint8_t sum = 0xC0;
        for (unsigned i = 0; i < 64; i++)
            sum ^= event.frame.data[i];
        assert_int_equal(sum, 0);                /* exclusive or of all, its checksum among them, and the identifier */
    }
    assert_in_range(n_long, (3000 - 400) / 20 - 1, (3000 - 400) / 20 + 1);
    sim_bench_stop(&bench);
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(sim_with_equal_seeds_gives_equal_events),
        cmocka_unit_test(shipped_benches_run_ten_seconds_without_error),
        cmocka_unit_test(saturated_bus_takes_the_time_of_its_bits),
        cmocka_unit_test(every_bit_rate_over_its_length_runs_clean),
        cmocka_unit_test(clocks_inside_the_published_tolerance_run_clean),
        cmocka_unit_test(clocks_clearly_outside_fail),
        cmocka_unit_test(fd_bench_delivers_long_frames),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
