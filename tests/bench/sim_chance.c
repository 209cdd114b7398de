/* SPDX-License-Identifier: MIT
 *
 * The chance of sim_chance.h.
 */
#include "sim_chance.h"

unsigned sim_chance_places(const struct lw_plant *plant, unsigned place)
{
    return place == LW_AT_NOWHERE ? 1 : place == LW_AT_SEGMENT ? plant->n_points - 1 : place == LW_AT_POINT ? plant->n_points
                                                                                     : plant->n_units;
}

struct lw_damage sim_chance_damage_of(const struct lw_plant *plant, unsigned kind, unsigned place, unsigned index)
{
    struct lw_damage damage = { .kind = (uint8_t)kind, .place = (uint8_t)place, .index = (uint8_t)index,
                                .value = lw_damages[kind].default_value };
    if (kind == LW_DAMAGE_DUPLICATE)
        damage.value = 1;
    if (kind == LW_DAMAGE_BIT_RATE)
        damage.value = plant->bit_rate_bps / 2;
    return damage;
}

uint64_t sim_chance_draw(uint64_t *state, uint64_t n)
{
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return *state % n;
}

static struct lw_damage random_damage(const struct sim_bench *bench, uint64_t *random)
{
    static const double scales[] = { 0.01, 0.5, 1, 1, 3, 50 };
    unsigned kind = (unsigned)sim_chance_draw(random, LW_N_DAMAGES), place;
    do {
        place = (unsigned)sim_chance_draw(random, LW_AT_UNIT + 1);
    } while (!(lw_damages[kind].places >> place & 1));
    unsigned index = (unsigned)sim_chance_draw(random, sim_chance_places(bench->plant, place));
    struct lw_damage damage = sim_chance_damage_of(bench->plant, kind, place, index);
    bool is_physical = kind <= LW_DAMAGE_LONG_STUB;
    if (kind == LW_DAMAGE_DUPLICATE)
        damage.value = (double)(1 + sim_chance_draw(random, bench->plant->n_messages)) * (sim_chance_draw(random, 2) ? 1 : -1);
    else if (is_physical)
        damage.value *= scales[sim_chance_draw(random, sizeof(scales) / sizeof(scales[0]))];
    damage.from_ns = lw_sim_now_ns(bench->sim) + sim_chance_draw(random, 20) * SIM_BENCH_MS;
    damage.until_ns = sim_chance_draw(random, 3) == 0 ? UINT64_MAX : damage.from_ns + sim_chance_draw(random, 60000) * 1000;
    return damage;
}

void sim_chance_do_something(struct sim_bench *bench, uint64_t *random)
{
    unsigned unit = (unsigned)sim_chance_draw(random, bench->plant->n_units);
    struct lw_damage damage = random_damage(bench, random);
    switch (sim_chance_draw(random, 12)) {
    case 0: lw_sim_plug(bench->sim, unit, sim_chance_draw(random, 2)); break;
    case 1: lw_sim_power(bench->sim, unit, sim_chance_draw(random, 2)); break;
    case 2: lw_sim_supply(bench->sim, sim_chance_draw(random, 3) > 0); break;
    case 3: lw_sim_mend(bench->sim, sim_chance_draw(random, 4)); break;
    case 4: sim_bench_meter(bench, 0); break;
    default: lw_sim_damage(bench->sim, &damage); break;      /* may find no room: 32 are enough */
    }
}
