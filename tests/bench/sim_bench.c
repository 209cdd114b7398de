/* SPDX-License-Identifier: MIT
 *
 * The bench of sim_bench.h.
 */
#include "sim_bench.h"

#include "loomwatch/sources/bench_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cases.h"

const char *const sim_bench_files[SIM_BENCH_FILES] = { "bare-bench", "fd-bench", "harrow40", "harrow40-drive", "long-bus" };

enum { REPEAT_WITHIN_NS = 2000000 };

struct sim_bench sim_bench_of(unsigned n_units, uint32_t bit_rate_bps, uint32_t length_mm)
{
    struct sim_bench bench = { .plant = calloc(1, sizeof(struct lw_plant)) };
    struct lw_plant *plant = bench.plant;
    assert_non_null(plant);
    snprintf(plant->name, sizeof(plant->name), "test bench");
    plant->bit_rate_bps = bit_rate_bps;
    plant->supply_mv = 12000;
    plant->mohm_per_m = 70;          /* the values of plant.h */
    plant->ps_per_mm = 5;
    plant->pf_per_m = 40;
    plant->pf_per_unit = 50;
    plant->n_units = n_units;
    plant->n_points = n_units > 1 ? n_units : 2;
    for (unsigned u = 0; u < n_units; u++) {
        struct lw_plant_unit *unit = &plant->units[u];
        *unit = (struct lw_plant_unit){ .point = (uint8_t)u, .stub_mm = 100, .is_plugged = true, .loop_delay_ns = 150 };
        snprintf(unit->name, sizeof(unit->name), u == SIM_BENCH_ADAPTER ? "our adapter" : "unit %u", u);
        unit->is_adapter = u == SIM_BENCH_ADAPTER;
        sim_bench_timing(&bench, u, bit_rate_bps, 875, 0);
    }
    for (unsigned p = 0; p + 1 < plant->n_points; p++)
        plant->points[p].segment_mm = (length_mm > 500 ? length_mm : 500) / (plant->n_points - 1);
    plant->n_terminators = 2;
    plant->terminators[0] = (struct lw_plant_terminator){ .point = 0, .ohm = 120 };
    plant->terminators[1] = (struct lw_plant_terminator){ .point = (uint8_t)(plant->n_points - 1), .ohm = 120 };
    sim_bench_tells(&bench, "each-error");
    return bench;
}

struct sim_bench sim_bench_of_file(const char *name)
{
    struct sim_bench bench = { .plant = calloc(1, sizeof(struct lw_plant)) };
    char message[256] = "";
    assert_non_null(bench.plant);
    if (lw_bench_load(name, bench.plant, message, sizeof(message)) != 0)
        fail_msg("%s", message);
    return bench;
}

void sim_bench_timing(struct sim_bench *bench, unsigned unit, uint32_t bit_rate_bps, unsigned sample_permille, unsigned sjw)
{
    struct lw_bit_timing *timing = &bench->plant->units[unit].timing;
    assert_int_equal(lw_bit_timing_for(bit_rate_bps, sample_permille, sjw ? sjw : 99, timing), 0);
}

void sim_bench_tells(struct sim_bench *bench, const char *personality)
{
    const struct lw_personality *found = lw_personality_find(personality);
    assert_non_null(found);
    bench->plant->units[SIM_BENCH_ADAPTER].personality = *found;
}

struct lw_plant_message *sim_bench_message(struct sim_bench *bench, unsigned unit, uint32_t id, unsigned len, unsigned period_ms)
{
    struct lw_plant_message *message = &bench->plant->messages[bench->plant->n_messages++];
    *message = (struct lw_plant_message){ .unit = (uint8_t)unit, .id = id, .len = (uint8_t)len, .period_ms = period_ms };
    snprintf(message->name, sizeof(message->name), "message %X", id);
    for (unsigned i = 0; i < len && i < LW_FRAME_MAX_LEN; i++)
        message->constant[i] = (uint8_t)(0x5A + 37 * i);
    return message;
}

void sim_bench_start(struct sim_bench *bench, uint64_t seed)
{
    bench->sim = lw_sim_create(bench->plant, seed, 0);
    assert_non_null(bench->sim);
    sim_bench_forget(bench);
}

void sim_bench_stop(struct sim_bench *bench)
{
    lw_sim_destroy(bench->sim);
    free(bench->plant);
    *bench = (struct sim_bench){ 0 };
}

void sim_bench_forget(struct sim_bench *bench)
{
    struct lw_link link = bench->seen.link;
    uint64_t newest_ns = bench->seen.newest_ns;
    memset(&bench->seen, 0, sizeof(bench->seen));
    bench->seen.first_frame_ns = bench->seen.first_error_ns = bench->seen.bus_off_ns = bench->seen.restarted_ns = UINT64_MAX;
    bench->seen.link = link;
    bench->seen.newest_ns = newest_ns;
}

static void count_frame(struct sim_evidence *seen, const struct lw_event *event)
{
    const struct lw_frame *frame = &event->frame;
    if (frame->flags & LW_FRAME_OWN) {
        seen->n_own++;
        return;
    }
    bool is_same = seen->n_frames > 0 && frame->id == seen->last.id && frame->flags == seen->last.flags
                && frame->len == seen->last.len && memcmp(frame->data, seen->last.data, frame->len) == 0;
    seen->n_repeats += is_same && event->t_ns - seen->last_ns <= REPEAT_WITHIN_NS;
    seen->last = *frame;
    seen->last_ns = event->t_ns;
    seen->n_frames++;
    if (seen->first_frame_ns == UINT64_MAX)
        seen->first_frame_ns = event->t_ns;
}

static void count_error(struct sim_evidence *seen, const struct lw_event *event)
{
    const struct lw_error *error = &event->error;
    if (seen->n_errors++ == 0)
        seen->first_error_ns = event->t_ns;
    if (seen->n_shown < SIM_BENCH_SHOWN)
        seen->shown[seen->n_shown++] = *error;
    seen->classes |= error->class_bits;
    seen->reports |= error->class_bits & LW_CLASS_CONTROLLER ? error->data[1] : 0;
    seen->violations |= error->data[2];
    seen->places |= UINT32_C(1) << (error->data[3] & 31);
    seen->n_no_ack += lw_error_is_no_acknowledge(error);
    seen->n_overruns += lw_error_is_overrun(error);
    if (error->class_bits & LW_CLASS_BUS_OFF && seen->n_bus_off++ == 0)
        seen->bus_off_ns = event->t_ns;
    if (error->class_bits & LW_CLASS_RESTARTED && seen->n_restarted++ == 0)
        seen->restarted_ns = event->t_ns;
    if (!lw_error_counters(error, &seen->tec, &seen->rec))
        return;
    seen->n_counters++;
    seen->tec_max = seen->tec > seen->tec_max ? seen->tec : seen->tec_max;
    seen->rec_max = seen->rec > seen->rec_max ? seen->rec : seen->rec_max;
}

static void add_to_digest(uint64_t *digest, const void *bytes, size_t n)
{
    for (size_t i = 0; i < n; i++)               /* FNV-1a */
        *digest = (*digest ^ ((const unsigned char *)bytes)[i]) * UINT64_C(0x100000001B3);
}

static void count(struct sim_evidence *seen, const struct lw_event *event)
{
    seen->is_disordered |= event->t_ns < seen->newest_ns;
    seen->newest_ns = event->t_ns;
    add_to_digest(&seen->digest, &event->t_ns, sizeof(event->t_ns));
    add_to_digest(&seen->digest, &event->kind, sizeof(event->kind));
    switch (event->kind) {
    case LW_EVENT_FRAME:
        add_to_digest(&seen->digest, &event->frame.id, sizeof(event->frame.id));
        add_to_digest(&seen->digest, &event->frame.flags, 1);
        add_to_digest(&seen->digest, event->frame.data, event->frame.len);
        count_frame(seen, event);
        break;
    case LW_EVENT_ERROR:
        add_to_digest(&seen->digest, &event->error, sizeof(event->error));
        count_error(seen, event);
        break;
    case LW_EVENT_LOSS:
        add_to_digest(&seen->digest, &event->loss.n_frames, sizeof(event->loss.n_frames));
        seen->n_losses++;
        seen->n_lost += event->loss.n_frames;
        break;
    case LW_EVENT_LINK:
        seen->n_links++;
        seen->link = event->link;
        break;
    default:
        fail_msg("an event of kind %u", event->kind);
    }
}

void sim_bench_run_ns(struct sim_bench *bench, uint64_t until_ns)
{
    struct lw_event event;
    while (lw_sim_next(bench->sim, until_ns, &event))
        count(&bench->seen, &event);
    assert_int_equal(lw_sim_now_ns(bench->sim), until_ns);
}

void sim_bench_run(struct sim_bench *bench, unsigned until_ms)
{
    sim_bench_run_ns(bench, (uint64_t)until_ms * SIM_BENCH_MS);
}

void sim_bench_fault(struct sim_bench *bench, const char *words)
{
    struct lw_damage damage;
    char message[LW_DAMAGE_TEXT];
    if (lw_damage_parse(bench->plant, words, lw_sim_now_ns(bench->sim), &damage, message) != 0)
        fail_msg("\"%s\": %s", words, message);
    assert_int_equal(lw_sim_damage(bench->sim, &damage), 0);
}

void sim_bench_mend(struct sim_bench *bench)
{
    while (lw_sim_mend(bench->sim, 0) == 0)
        continue;
}

struct lw_sim_unit sim_bench_facts(const struct sim_bench *bench, unsigned unit)
{
    struct lw_sim_unit facts;
    lw_sim_unit_facts(bench->sim, unit, &facts);
    return facts;
}

struct lw_bench_meter sim_bench_meter(struct sim_bench *bench, unsigned point)
{
    struct lw_bench_picture *picture = malloc(sizeof(*picture));
    assert_non_null(picture);
    lw_sim_picture(bench->sim, 0, picture);
    struct lw_bench_meter meter = picture->meters[point];
    free(picture);
    return meter;
}

uint64_t sim_bench_errors(const struct sim_bench *bench)
{
    uint64_t n = 0;
    for (unsigned u = 0; u < bench->plant->n_units; u++)
        n += sim_bench_facts(bench, u).n_errors;
    return n;
}

uint64_t sim_bench_sent(const struct sim_bench *bench)
{
    uint64_t n = 0;
    for (unsigned u = 0; u < bench->plant->n_units; u++)
        n += sim_bench_facts(bench, u).n_sent;
    return n;
}
