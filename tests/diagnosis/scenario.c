/* SPDX-License-Identifier: MIT
 *
 * The scenarios of scenario.h.
 */
#include "scenario.h"

#include "loomwatch/sources/bench_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const uint64_t ms_ns = 1000000;

uint64_t scenario_draw(uint64_t *state, uint64_t n)
{
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return *state % n;
}

static uint64_t seeded(uint64_t seed)
{
    uint64_t state = (seed + 1) * UINT64_C(0x9E3779B97F4A7C15);
    for (int i = 0; i < 8; i++)
        scenario_draw(&state, 2);
    return state | 1;
}

static void die(const char *what)
{
    fprintf(stderr, "scenario: %s\n", what);
    exit(2);
}

/* What a bit rate carries over, and how long its lines are, well inside what is usual. */
static const struct { uint32_t bps, max_mm, shortest_ms; } rates[] = {
    { 125000, 60000, 50 }, { 250000, 30000, 20 }, { 500000, 15000, 10 }, { 1000000, 8000, 10 },
};

static void add_messages(struct lw_plant *plant, unsigned unit, uint32_t *id, bool is_extended, unsigned shortest_ms, uint64_t *random)
{
    static const unsigned factors[] = { 1, 2, 2, 5, 10, 10, 20 };
    unsigned n = 1 + (unsigned)scenario_draw(random, 3);
    for (unsigned i = 0; i < n && plant->n_messages < LW_PLANT_MAX_MESSAGES; i++) {
        struct lw_plant_message *message = &plant->messages[plant->n_messages++];
        *id += 1 + (uint32_t)scenario_draw(random, is_extended ? 0x10000 : 0x20);
        *message = (struct lw_plant_message){
            .unit = (uint8_t)unit, .id = *id, .flags = is_extended ? LW_FRAME_EXTENDED : 0,
            .len = (uint8_t)(1 + scenario_draw(random, 8)), .jitter_us = 100 + (uint32_t)scenario_draw(random, 900),
            .period_ms = shortest_ms * factors[scenario_draw(random, sizeof(factors) / sizeof(factors[0]))],
        };
        snprintf(message->name, sizeof(message->name), "message %X", (unsigned)*id);
        for (unsigned b = 0; b < message->len; b++)
            message->constant[b] = (uint8_t)scenario_draw(random, 256);
        if (scenario_draw(random, 3) != 0)
            message->patterns[0] = (struct lw_pattern){ .kind = LW_PATTERN_COUNTER, .byte = (uint8_t)scenario_draw(random, message->len), .mask = 0xFF };
    }
}

static void add_unit(struct lw_plant *plant, uint32_t bps, uint64_t *random)
{
    unsigned u = plant->n_units++;
    struct lw_plant_unit *unit = &plant->units[u];
    *unit = (struct lw_plant_unit){
        .point = (uint8_t)u, .stub_mm = 100 + (uint32_t)scenario_draw(random, bps >= 1000000 ? 200 : 900), .is_plugged = true,
        .boot_ms = u == 0 ? 0 : 20 + (uint32_t)scenario_draw(random, 300), .crystal_ppm = (int32_t)scenario_draw(random, 200) - 100,
        .loop_delay_ns = 120 + (uint32_t)scenario_draw(random, 60), .restart_ms = scenario_draw(random, 2) ? 100 : 0, .is_adapter = u == 0,
    };
    snprintf(unit->name, sizeof(unit->name), u == 0 ? "our adapter" : "unit %u", u);
    if (lw_bit_timing_for(bps, bps >= 1000000 ? 750 : 875, 4, &unit->timing) != 0)
        die("no bit timing");
}

static void make_up(struct lw_plant *plant, uint64_t seed)
{
    uint64_t random = seeded(seed);
    unsigned rate = (unsigned)scenario_draw(&random, sizeof(rates) / sizeof(rates[0])), n_units = 4 + (unsigned)scenario_draw(&random, 6);
    bool is_extended = scenario_draw(&random, 3) == 0;
    memset(plant, 0, sizeof(*plant));
    snprintf(plant->name, sizeof(plant->name), "line %u", (unsigned)seed);
    plant->bit_rate_bps = rates[rate].bps;
    plant->supply_mv = scenario_draw(&random, 2) ? 12000 : 24000;
    plant->mohm_per_m = 70;
    plant->ps_per_mm = 5;
    plant->pf_per_m = 40;
    plant->pf_per_unit = 50;
    uint32_t id = is_extended ? 0x08F00000 : 0x080;
    for (unsigned u = 0; u < n_units; u++) {
        add_unit(plant, rates[rate].bps, &random);
        if (u > 0)
            add_messages(plant, u, &id, is_extended, rates[rate].shortest_ms, &random);
    }
    plant->n_points = n_units;
    uint32_t length_mm = 2000 + (uint32_t)scenario_draw(&random, rates[rate].max_mm - 2000);
    for (unsigned p = 0; p + 1 < n_units; p++)
        plant->points[p].segment_mm = length_mm / (n_units - 1);
    plant->n_terminators = 2;
    plant->terminators[0] = (struct lw_plant_terminator){ .point = 0, .ohm = 120 };
    plant->terminators[1] = (struct lw_plant_terminator){ .point = (uint8_t)(n_units - 1), .ohm = 120 };
    unsigned at = (unsigned)scenario_draw(&random, n_units);   /* our adapter: not always at the end */
    plant->units[0].point = (uint8_t)at;
    plant->units[at].point = at == 0 ? 0 : plant->units[at].point;
}

static void add_own_message(struct lw_plant *plant, unsigned adapter)
{
    struct lw_plant_message *message = &plant->messages[plant->n_messages++];
    *message = (struct lw_plant_message){ .unit = (uint8_t)adapter, .id = 0x6F0, .len = 4, .period_ms = 100, .jitter_us = 500 };
    snprintf(message->name, sizeof(message->name), "from this computer");
}

void scenario_plant(const struct scenario *scenario, struct lw_plant *plant)
{
    char message[256];
    if (!scenario->file)
        make_up(plant, scenario->seed);
    else if (lw_bench_load(scenario->file, plant, message, sizeof(message)) != 0)
        die(message);
    unsigned adapter = (unsigned)lw_plant_adapter(plant);
    plant->n_steps = 0;
    for (unsigned u = 0; u < plant->n_units; u++)      /* what plugs itself in is there, or is the newcomer */
        if (plant->units[u].plug_ms > 0) {
            plant->units[u].plug_ms = 0;
            plant->units[u].is_plugged = scenario->role != ROLE_NEWCOMER || scenario->damage.place == LW_AT_UNIT;
        }
    plant->units[adapter].personality = lw_personalities[scenario->personality];
    plant->units[adapter].is_listen_only = scenario->is_listening_only;
    if (scenario->is_sending && !scenario->is_listening_only)
        add_own_message(plant, adapter);
    if (scenario->role == ROLE_NEWCOMER && scenario->damage.place == LW_AT_UNIT)   /* also of the twin with which nothing is wrong */
        plant->units[scenario->damage.index].is_plugged = false;
}

unsigned scenario_places(const struct lw_plant *plant, enum lw_damage_place place)
{
    return place == LW_AT_NOWHERE ? 1 : place == LW_AT_SEGMENT ? plant->n_points - 1
         : place == LW_AT_POINT ? plant->n_points : plant->n_units;
}

/* The first message of another unit, of those that are sent often enough to be heard twice as often within the run. */
static double message_of_another(const struct lw_plant *plant, unsigned unit)
{
    for (unsigned m = 0; m < plant->n_messages; m++)
        if (plant->messages[m].unit != unit && plant->messages[m].period_ms > 0 && plant->messages[m].period_ms <= 100 && !plant->units[plant->messages[m].unit].is_adapter)
            return m + 1;
    return 1;
}

struct lw_damage scenario_damage(const struct lw_plant *plant, enum lw_damage_kind kind, enum lw_damage_place place, unsigned index)
{
    struct lw_damage damage = { .kind = (uint8_t)kind, .place = (uint8_t)place, .index = (uint8_t)index,
                                .value = lw_damages[kind].default_value, .until_ns = UINT64_MAX };
    if (kind == LW_DAMAGE_DUPLICATE)
        damage.value = message_of_another(plant, index);
    if (kind == LW_DAMAGE_BIT_RATE)
        damage.value = plant->bit_rate_bps > 125000 ? plant->bit_rate_bps / 2 : plant->bit_rate_bps * 2;
    return damage;
}

static struct lw_monitor *monitor_of(const struct lw_plant *plant)
{
    struct lw_monitor_config config = { .n_buses = 1, .sequence = LW_SEQUENCE_F3M, .load_limit_permille = 800 };
    snprintf(config.bus_names[0], sizeof(config.bus_names[0]), "can0");
    config.bit_rate_bps = 0;
    config.data_bit_rate_bps = plant->data_bit_rate_bps;
    return lw_monitor_create(&config);
}

/* As it was learned when all was well, the newcomer there. */
static void learn_machine(struct scenario_run *run)
{
    struct scenario well = run->scenario;
    struct scenario_run twin;
    well.is_baseline_of_machine = well.has_baseline = false;
    well.role = ROLE_SITTING;
    well.damage.kind = LW_N_DAMAGES;
    scenario_start(&twin, &well);
    while (twin.now_ms < SCENARIO_END_MS)
        scenario_step(&twin);
    run->baseline = calloc(1, sizeof(*run->baseline));
    if (!run->baseline)
        die("no memory");
    lw_monitor_learn(twin.monitor, run->baseline);
    lw_monitor_set_baseline(run->monitor, run->baseline);
    scenario_stop(&twin);
}

void scenario_start(struct scenario_run *run, const struct scenario *scenario)
{
    memset(run, 0, sizeof(*run));
    run->scenario = *scenario;
    scenario_plant(scenario, &run->plant);
    run->adapter = lw_plant_adapter(&run->plant);
    run->sim = lw_sim_create(&run->plant, scenario->seed, 0);
    run->monitor = monitor_of(&run->plant);
    if (!run->sim || !run->monitor)
        die("no memory");
    if (scenario->is_baseline_of_machine)
        learn_machine(run);
    struct lw_damage damage = scenario->damage;
    if (damage.kind < LW_N_DAMAGES && scenario->role == ROLE_FROM_START) {
        damage.from_ns = 0;
        damage.until_ns = damage.kind == LW_DAMAGE_RESET ? 20 * ms_ns : damage.until_ns;
        lw_sim_damage(run->sim, &damage);
    }
}

unsigned scenario_newcomer(const struct lw_plant *plant)
{
    for (unsigned u = 0; u < plant->n_units; u++)
        if (!plant->units[u].is_plugged)
            return u;
    return plant->n_units - 1;
}

bool scenario_is_deed(enum lw_damage_kind kind)
{
    switch (kind) {
    case LW_DAMAGE_SWAPPED: case LW_DAMAGE_EXTRA_TERMINATOR: case LW_DAMAGE_LONG_STUB: case LW_DAMAGE_BIT_RATE: case LW_DAMAGE_SJW:
    case LW_DAMAGE_CRYSTAL: case LW_DAMAGE_SAMPLE_POINT: case LW_DAMAGE_LISTEN_ONLY: case LW_DAMAGE_FD_SENDER: case LW_DAMAGE_DUPLICATE:
    case LW_DAMAGE_FOREIGN:
        return true;
    default:
        return false;
    }
}

static void begin(struct scenario_run *run)
{
    struct lw_damage damage = run->scenario.damage;
    bool is_newcomer = run->scenario.role == ROLE_NEWCOMER;
    if (is_newcomer)
        lw_monitor_mark(run->monitor, LW_MARK_PLUGGED);
    else if (run->scenario.role == ROLE_SITTING && scenario_is_deed((enum lw_damage_kind)damage.kind))
        lw_monitor_mark(run->monitor, LW_MARK_CONFIGURED);
    if (damage.kind < LW_N_DAMAGES && run->scenario.role != ROLE_FROM_START) {
        damage.from_ns = lw_sim_now_ns(run->sim);
        if (damage.kind == LW_DAMAGE_RESET)
            damage.until_ns = damage.from_ns + 20 * ms_ns;
        lw_sim_damage(run->sim, &damage);
    }
    if (is_newcomer)
        lw_sim_plug(run->sim, scenario_newcomer(&run->plant), true);
}

void scenario_step(struct scenario_run *run)
{
    struct lw_event event;
    if (run->now_ms == SCENARIO_BASELINE_MS && run->scenario.has_baseline && !run->baseline)
        lw_monitor_take_baseline(run->monitor);
    if (run->now_ms == SCENARIO_FAULT_MS)
        begin(run);
    run->now_ms += SCENARIO_STEP_MS;
    while (lw_sim_next(run->sim, run->now_ms * ms_ns, &event)) {
        /* Watching begins when the machine has been on for a while; only the link is told from the start. */
        bool is_before = run->scenario.role != ROLE_FROM_START && run->now_ms <= SCENARIO_WATCH_MS;
        if (is_before && event.kind != LW_EVENT_LINK)
            continue;
        event.t_ns = is_before ? SCENARIO_WATCH_MS * ms_ns : event.t_ns;
        event.t_ns += 1000 * ms_ns;                /* 0 means never */
        lw_monitor_feed(run->monitor, &event);
        bool is_after = run->now_ms > SCENARIO_FAULT_MS;
        run->n_errors_after += is_after && event.kind == LW_EVENT_ERROR;
        run->n_frames_after += is_after && event.kind == LW_EVENT_FRAME;
    }
    if (run->scenario.role == ROLE_FROM_START || run->now_ms > SCENARIO_WATCH_MS)
        lw_monitor_tick(run->monitor, 0, run->now_ms * ms_ns + 1000 * ms_ns);
}

void scenario_stop(struct scenario_run *run)
{
    lw_sim_destroy(run->sim);
    lw_monitor_destroy(run->monitor);
    free(run->baseline);
}

const char *scenario_role_name(enum scenario_role role)
{
    static const char *const names[N_ROLES] = { "sitting", "newcomer", "from the start" };
    return names[role];
}

struct scenario scenario_drawn(uint64_t n, bool is_judging)
{
    static const char *const training[] = { "harrow40", NULL, NULL, NULL }, *const judging[] = { "harrow40-drive", "bare-bench", NULL, NULL, "fd-bench", NULL, "long-bus", NULL };
    uint64_t random = (n + 17) * UINT64_C(0x9E3779B97F4A7C15) | 1;
    for (int i = 0; i < 9; i++)
        scenario_draw(&random, 2);
    struct scenario s = { .seed = n, .file = is_judging ? judging[n % 8] : training[n % 4],
        .personality = (unsigned)scenario_draw(&random, LW_N_PERSONALITIES), .role = (enum scenario_role)scenario_draw(&random, N_ROLES),
        .has_baseline = scenario_draw(&random, 2), .is_sending = scenario_draw(&random, 2), .is_listening_only = scenario_draw(&random, 8) == 0 };
    struct lw_plant plant;
    enum lw_damage_kind kind = (enum lw_damage_kind)(n % LW_N_DAMAGES);
    enum lw_damage_place place;
    scenario_plant(&s, &plant);
    do {
        place = (enum lw_damage_place)scenario_draw(&random, LW_AT_UNIT + 1);
    } while (!(lw_damages[kind].places >> place & 1));
    unsigned index = (unsigned)scenario_draw(&random, scenario_places(&plant, place));
    s.is_baseline_of_machine = s.has_baseline && s.role != ROLE_SITTING && scenario_draw(&random, 2);
    bool is_own = place == LW_AT_UNIT && (int)index == lw_plant_adapter(&plant);
    if (s.role == ROLE_NEWCOMER && (place != LW_AT_UNIT || is_own))
        s.role = ROLE_SITTING;
    s.damage = scenario_damage(&plant, kind, place, index);
    return s;
}
