/* SPDX-License-Identifier: MIT
 *
 * Many units that begin and end to drive at nearly the same time, seen by receivers that take them in together and by others
 * that take in each alone: the same to the picosecond.
 */
#include "wire_bench.h"

enum { PLAIN, TOGETHER, N_WAYS, UNITS = 30, ROUNDS = 4000 };

static const uint64_t ns = 1000;

static uint64_t draw(uint64_t *random, uint64_t n)
{
    *random = *random * UINT64_C(6364136223846793005) + 1442695040888963407u;
    return (*random >> 33) % n;
}

static void drive_some(struct wire_bench *benches, bool is_dominant, unsigned spared, uint64_t *random, uint64_t *t_ps)
{
    unsigned first = (unsigned)draw(random, UNITS);
    for (unsigned i = 0; i < UNITS; i++) {
        unsigned unit = (first + 7 * i) % UNITS;
        if (spared > 0 && draw(random, spared) == 0)
            continue;
        for (unsigned way = 0; way < N_WAYS; way++)
            lw_wires_drive(benches[way].wires, unit, is_dominant, *t_ps);
        *t_ps += draw(random, 12 * ns);
    }
}

static void compare(struct wire_bench *benches, uint64_t *random, uint64_t *t_ps)
{
    for (uint64_t n = 1 + draw(random, 3); n > 0; n--) {
        *t_ps += draw(random, 400 * ns);
        for (unsigned u = draw(random, 2); u < UNITS; u += 1 + (unsigned)draw(random, 2)) {
            struct lw_wires *a = benches[PLAIN].wires, *b = benches[TOGETHER].wires;
            assert_int_equal(lw_wires_rxd(a, u, *t_ps), lw_wires_rxd(b, u, *t_ps));
            assert_int_equal(lw_wires_last_edge_ps(a, u), lw_wires_last_edge_ps(b, u));
            assert_int_equal(lw_wires_next_change_ps(a, u), lw_wires_next_change_ps(b, u));
        }
    }
}

static void crowd_is_seen_as_one_after_the_other(void **state)
{
    (void)state;
    struct wire_bench benches[N_WAYS];
    uint64_t random = 1, t_ps = 1000 * ns;
    for (unsigned way = 0; way < N_WAYS; way++)
        benches[way] = wire_bench_running(UNITS, 15000, 120);
    lw_wires_take_singly(benches[PLAIN].wires);
    for (unsigned round = 0; round < ROUNDS; round++) {
        drive_some(benches, true, (unsigned)draw(&random, 4), &random, &t_ps);
        compare(benches, &random, &t_ps);
        for (unsigned way = 0; round % 5 == 0 && way < N_WAYS; way++)
            lw_wires_set(benches[way].wires, &benches[way].wiring, t_ps);
        drive_some(benches, false, round % 3 ? 0 : 4, &random, &t_ps);
        compare(benches, &random, &t_ps);
    }
    for (unsigned way = 0; way < N_WAYS; way++)
        wire_bench_stop(&benches[way]);
}

int main(void)
{
    static const struct CMUnitTest tests[] = { cmocka_unit_test(crowd_is_seen_as_one_after_the_other) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
