/* SPDX-License-Identifier: MIT
 *
 * The quick levels of many senders against the exact ones, on a bench too large to remember all sets of senders.
 */
#include "levels.h"

#include "wire_bench.h"

static uint32_t random_next(uint64_t *seed)
{
    *seed = *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)(*seed >> 32);
}

static struct lw_pull pull_of(const struct lw_levels *levels, uint32_t senders, unsigned unit)
{
    struct lw_pull sum = { 0 };
    for (unsigned u = 0; u < LW_PLANT_MAX_UNITS; u++) {
        if (senders >> u & 1)
            sum = lw_pull_sum(sum, *lw_levels_pull(levels, u, unit));
    }
    return sum;
}

static char bit_of(double volt)
{
    return volt > 0.9 ? 'd' : volt < 0.5 ? 'r' : '-';
}

/* Largest difference over random sets; the bit must be the same in all of them. */
static double worst_difference(const struct wire_bench *bench, struct lw_levels *levels)
{
    double worst = 0;
    uint64_t seed = 11;
    for (unsigned k = 0; k < 400; k++) {
        uint32_t senders = random_next(&seed) & (k % 2 ? random_next(&seed) : UINT32_MAX);
        unsigned unit = random_next(&seed) % bench->plant->n_units;
        struct lw_pull pull = pull_of(levels, senders, unit);
        struct lw_level level = lw_levels_at(levels, unit, senders, &pull);
        struct lw_volts volts = lw_levels_volts(levels, lw_levels_loom(levels)->units[unit], senders);
        double expected = fabs(volts.h + volts.l) / 2 <= 12 ? volts.h - volts.l : 0;
        if (bit_of(level.volt) != bit_of(expected))
            fail_msg("%.3f V instead of %.3f V at unit %u for senders %08x", level.volt, expected, unit, senders);
        worst = fmax(worst, fabs(level.volt - expected));
    }
    return worst;
}

static void levels_of_many_senders_are_near_the_exact_ones(void **state)
{
    (void)state;
    /* Limits: 2 % of 5 V where no copper is broken or shorted; else what was found, and the bit is right all the same. */
    static const struct { int kind; enum lw_damage_place place; unsigned index; double value; } damages[] = {
        { -1, LW_AT_NOWHERE, 0, 0 }, { LW_DAMAGE_SWAPPED, LW_AT_UNIT, 9, 0 }, { LW_DAMAGE_OPEN_H, LW_AT_UNIT, 4, 0 },
        { LW_DAMAGE_OPEN_L, LW_AT_SEGMENT, 12, 0 }, { LW_DAMAGE_OPEN_BOTH, LW_AT_SEGMENT, 20, 0 },
        { LW_DAMAGE_SHORT_H_L, LW_AT_POINT, 3, 0 }, { LW_DAMAGE_SHORT_H_L, LW_AT_POINT, 30, 20 },
        { LW_DAMAGE_H_TO_SUPPLY, LW_AT_POINT, 16, 0 }, { LW_DAMAGE_L_TO_SUPPLY, LW_AT_POINT, 16, 0 },
        { LW_DAMAGE_H_TO_GROUND, LW_AT_POINT, 16, 0 }, { LW_DAMAGE_L_TO_GROUND, LW_AT_POINT, 16, 0 },
        { LW_DAMAGE_NO_TERMINATOR, LW_AT_POINT, 31, 0 },
    };
    static const uint32_t lengths_mm[] = { 3100, 40000 };
    for (size_t i = 0; i < N_ROWS(damages) * N_ROWS(lengths_mm); i++) {
        size_t k = i % N_ROWS(damages);
        struct wire_bench bench = wire_bench_of(32, lengths_mm[i / N_ROWS(damages)], 120);
        if (damages[k].kind >= 0)
            bench.wiring.damages[bench.wiring.n_damages++] = (struct lw_damage){
                .kind = (uint8_t)damages[k].kind, .place = damages[k].place, .index = (uint8_t)damages[k].index,
                .value = damages[k].value };
        struct lw_levels *levels = lw_levels_create(bench.plant);
        assert_non_null(levels);
        lw_levels_set(levels, &bench.wiring);
        assert_true(worst_difference(&bench, levels) < (damages[k].kind < 0 ? 0.1 : 0.7));
        lw_levels_destroy(levels);
        wire_bench_stop(&bench);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(levels_of_many_senders_are_near_the_exact_ones),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
