/* SPDX-License-Identifier: MIT
 *
 * Runs the rows of sim_case.h.
 */
#include "sim_case.h"

#include <inttypes.h>

#include "cases.h"

enum { FAULT_AT_MS = 100 };

static struct sim_bench bench_of(const struct sim_case *row)
{
    struct sim_bench bench = sim_bench_of(row->n_units, row->bit_rate_bps, row->length_mm);
    sim_bench_tells(&bench, row->tells);
    if (row->own_ms)
        sim_bench_message(&bench, SIM_BENCH_ADAPTER, 0x123, 8, row->own_ms);
    for (unsigned u = 1; u < row->n_units && row->peer_ms; u++)
        sim_bench_message(&bench, u, 0x100 + 0x41 * u, 8, row->peer_ms)->patterns[0] =
            (struct lw_pattern){ LW_PATTERN_COUNTER, .byte = 3, .mask = 0xFF };
    if (row->change)
        row->change(&bench);
    return bench;
}

static void check_range(const struct sim_case *row, const char *what, uint64_t value, const unsigned range[2])
{
    if (value < range[0] || value > range[1])
        fail_msg("%s, through %s: %s %" PRIu64 ", not %u to %u", row->name, row->tells, what, value, range[0], range[1]);
}

static void check_bits(const struct sim_case *row, const char *what, uint32_t value, uint32_t expected)
{
    if (value != expected)
        fail_msg("%s, through %s: %s %X instead of %X", row->name, row->tells, what, value, expected);
}

static void check_off(const struct sim_case *row, const struct sim_evidence *seen)
{
    bool is_off = seen->bus_off_ns != UINT64_MAX;
    if (is_off != (row->off_within_ns != 0))
        fail_msg("%s, through %s: bus off %d times", row->name, row->tells, seen->n_bus_off);
    if (is_off && seen->bus_off_ns - seen->first_error_ns > row->off_within_ns)
        fail_msg("%s: bus off after %" PRIu64 " ns", row->name, seen->bus_off_ns - seen->first_error_ns);
}

void sim_case_run(const struct sim_case *row)
{
    struct sim_bench bench = bench_of(row);
    sim_bench_start(&bench, 1);
    if (row->fault) {
        sim_bench_run(&bench, FAULT_AT_MS);
        check_range(row, "errors before the fault", bench.seen.n_errors, (const unsigned[2]){ 0, 0 });
        sim_bench_forget(&bench);
        sim_bench_fault(&bench, row->fault);
    }
    sim_bench_run(&bench, FAULT_AT_MS + row->for_ms);
    struct lw_sim_unit adapter = sim_bench_facts(&bench, SIM_BENCH_ADAPTER);
    const struct sim_evidence *seen = &bench.seen;
    check_range(row, "TEC", adapter.tec, row->tec);
    check_range(row, "REC", adapter.rec, row->rec);
    check_range(row, "frames", seen->n_frames, row->frames);
    check_range(row, "own frames", seen->n_own, row->own);
    check_bits(row, "classes", seen->classes, row->classes);
    check_bits(row, "data[1]", seen->reports, row->reports);
    check_bits(row, "data[2]", seen->violations, row->violations);
    if (row->places != ANY_PLACE)
        check_bits(row, "places", seen->places & ~1u, row->places);
    check_off(row, seen);
    assert_false(seen->is_disordered);
    if (row->check)
        row->check(&bench);
    sim_bench_stop(&bench);
}
