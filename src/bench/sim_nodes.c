/* SPDX-License-Identifier: MIT
 *
 * One unit's controller in time: its bit clock asks when to sample, its RXD gives the edges to synchronise to, its MAC says
 * what to drive.
 */
#include "sim_state.h"

#include <string.h>

void lw_sim_note_drive(struct lw_sim *sim, unsigned unit, bool is_dominant)
{
    struct lw_sim_meter *meter = &sim->meter;
    uint32_t bit = UINT32_C(1) << unit;
    if (meter->drivers != 0)
        meter->dominant_ps += sim->now_ps - meter->changed_ps;
    meter->changed_ps = sim->now_ps;
    if (meter->drivers == 0 && is_dominant)
        meter->last_drivers = bit;       /* who began: acknowledging ones add a little, for a bit a frame */
    meter->drivers = is_dominant ? meter->drivers | bit : meter->drivers & ~bit;
    uint64_t window_ps = (uint64_t)LW_METER_NS * LW_PS_PER_NS, so_far_ps = sim->now_ps - meter->since_ps;
    if (so_far_ps >= window_ps) {
        meter->share = (double)meter->dominant_ps / (double)so_far_ps;
        meter->has_share = true;
        meter->since_ps = sim->now_ps;
        meter->dominant_ps = 0;
    }
}

static void drive(struct lw_sim *sim, unsigned unit, bool is_dominant)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    if (node->is_driving == is_dominant)
        return;
    node->is_driving = is_dominant;
    lw_sim_note_drive(sim, unit, is_dominant);
    lw_wires_drive(sim->wires, unit, is_dominant, sim->now_ps);
    lw_sim_look_ahead_after(sim, unit);
    if (is_dominant && sim->n_asleep > 0)
        lw_sim_sleep_hear(sim);
}

static void start_bit(struct lw_sim *sim, unsigned unit, uint64_t t_ps)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    lw_bit_clock_start_bit(&node->clock, t_ps, lw_mac_rate(node->mac));
    node->phase = LW_PHASE_BEFORE_SAMPLE;
    lw_sim_due_at(sim, unit, node->clock.sample_ps);
    drive(sim, unit, lw_mac_drives_dominant(node->mac));
}

void lw_sim_node_wake(struct lw_sim *sim, unsigned unit)
{
    if (sim->nodes[unit].phase == LW_PHASE_PARKED)
        start_bit(sim, unit, sim->now_ps);
}

static uint32_t sample_permille(const struct lw_bit_timing *timing)
{
    unsigned before = 1u + timing->prop_seg + timing->phase_seg1;
    return 1000u * before / (before + timing->phase_seg2);
}

/* The timing that plant and damage give a unit. */
static struct lw_bit_timing fitted_timing(const struct lw_sim *sim, unsigned unit)
{
    struct lw_bit_timing timing = sim->plant.units[unit].timing;
    double rate_bps = 1e12 / (double)lw_bit_timing_bit_ps(&timing), sample = sample_permille(&timing), sjw = timing.sjw;
    bool has_rate = lw_sim_is_damaged(sim, unit, LW_DAMAGE_BIT_RATE, &rate_bps);
    bool has_sample = lw_sim_is_damaged(sim, unit, LW_DAMAGE_SAMPLE_POINT, &sample);
    lw_sim_is_damaged(sim, unit, LW_DAMAGE_SJW, &sjw);
    if (has_rate || has_sample)   /* refused: the plant's timing stays */
        lw_bit_timing_for((uint32_t)(rate_bps + 0.5), (uint32_t)sample, (unsigned)sjw, &timing);
    timing.sjw = (uint8_t)(sjw >= 1 ? sjw : 1);
    return timing;
}

static bool is_same_timing(const struct lw_bit_timing *a, const struct lw_bit_timing *b)
{
    return a->tq_ps == b->tq_ps && a->prop_seg == b->prop_seg && a->phase_seg1 == b->phase_seg1
        && a->phase_seg2 == b->phase_seg2 && a->sjw == b->sjw;
}

static void set_clock(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    const struct lw_plant_unit *plant = &sim->plant.units[unit];
    double ppm = plant->crystal_ppm;
    lw_sim_is_damaged(sim, unit, LW_DAMAGE_CRYSTAL, &ppm);
    node->timing = fitted_timing(sim, unit);
    node->crystal_ppm = (int32_t)ppm;
    lw_bit_clock_init(&node->clock, &node->timing, &plant->data_timing, node->crystal_ppm);
    if ((int)unit == sim->adapter_unit)
        lw_adapter_set_timing(&sim->adapter, &node->timing, &plant->data_timing);
}

static bool should_listen_only(const struct lw_sim *sim, unsigned unit)
{
    double ignored;
    return sim->plant.units[unit].is_listen_only || lw_sim_is_damaged(sim, unit, LW_DAMAGE_LISTEN_ONLY, &ignored);
}

/* Edges that came while it did not listen are none of its own. */
static void set_ears(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    double ignored;
    node->is_deaf = lw_sim_is_damaged(sim, unit, LW_DAMAGE_STANDBY, &ignored);
    node->edge_ps = lw_wires_last_edge_ps(sim->wires, unit);
}

/* The controller as after power-on, its bit clock running from now. */
static void reset_controller(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    const struct lw_plant_unit *plant = &sim->plant.units[unit];
    node->is_listen_only = should_listen_only(sim, unit);
    struct lw_mac_options options = { node->is_listen_only, plant->is_one_shot, plant->data_timing.tq_ps != 0 };
    lw_mac_reset(node->mac, &options);
    node->restart_ns = LW_NEVER;
    set_clock(sim, unit);
    node->was_recessive = true;
    set_ears(sim, unit);
    start_bit(sim, unit, sim->now_ps);
}

void lw_sim_node_refit(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    struct lw_bit_timing timing = fitted_timing(sim, unit);
    double ppm = sim->plant.units[unit].crystal_ppm, ignored;
    lw_sim_is_damaged(sim, unit, LW_DAMAGE_CRYSTAL, &ppm);
    if (node->is_deaf != lw_sim_is_damaged(sim, unit, LW_DAMAGE_STANDBY, &ignored))
        set_ears(sim, unit);
    if (node->is_listen_only != should_listen_only(sim, unit)) {
        reset_controller(sim, unit);
    } else if (!is_same_timing(&timing, &node->timing) || node->crystal_ppm != (int32_t)ppm) {
        set_clock(sim, unit);
        start_bit(sim, unit, sim->now_ps);
    }
}

void lw_sim_node_start(struct lw_sim *sim, unsigned unit)
{
    reset_controller(sim, unit);
    sim->nodes[unit].boot_ns = lw_sim_ns(sim) + sim->plant.units[unit].boot_ms * UINT64_C(1000000);
    sim->is_other_stale = true;
}

void lw_sim_node_stop(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    drive(sim, unit, false);
    node->phase = LW_PHASE_OFF;
    node->boot_ns = node->restart_ns = LW_NEVER;
    lw_sim_look_ahead(sim, unit);
    sim->is_other_stale = true;
    lw_sim_due_at(sim, unit, LW_NEVER);
    lw_messages_stop(&sim->messages, unit);
}

/* After a sample, what comes next: the end of the bit if the unit then drives something else, or stops taking part; else
 * straight the next sample, for the end of the bit changes nothing. */
static void expect_next(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    bool is_eventless = lw_mac_drives_dominant(node->mac) == node->is_driving && !lw_mac_is_idle(node->mac);
    uint64_t end_ps = node->clock.end_ps;
    lw_sim_due_at(sim, unit, is_eventless ? end_ps + node->clock.to_sample_ps[lw_mac_rate(node->mac)] : end_ps);
}

void lw_sim_expect(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    if (node->phase == LW_PHASE_BEFORE_SAMPLE)
        lw_sim_due_at(sim, unit, node->clock.sample_ps);
    else
        expect_next(sim, unit);
    lw_sim_look_ahead(sim, unit);
}

/* The bit may have ended meanwhile without an event of its own. */
static void catch_up(struct lw_sim *sim, unsigned unit, uint64_t t_ps)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    if (node->phase == LW_PHASE_AFTER_SAMPLE && node->clock.end_ps <= t_ps && node->next_ps > node->clock.end_ps)
        start_bit(sim, unit, node->clock.end_ps);
}

static void synchronise(struct lw_sim *sim, unsigned unit, uint64_t edge_ps)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    if (node->phase == LW_PHASE_PARKED) {
        start_bit(sim, unit, edge_ps);
        lw_bit_clock_edge(&node->clock, edge_ps, true);
        lw_sim_due_at(sim, unit, node->clock.sample_ps);
        return;
    }
    catch_up(sim, unit, edge_ps);
    if (!node->was_recessive || node->is_driving)
        return;
    bool is_hard = lw_mac_wants_hard_sync(node->mac);
    lw_bit_clock_edge(&node->clock, edge_ps, is_hard);
    if (is_hard && node->clock.sample_ps > edge_ps)      /* not refused: the bit has begun anew */
        node->phase = LW_PHASE_BEFORE_SAMPLE;
    if (node->phase == LW_PHASE_BEFORE_SAMPLE)
        lw_sim_due_at(sim, unit, node->clock.sample_ps);
    else
        expect_next(sim, unit);
}

/* Takes what RXD has done up to now: an edge to dominant synchronises, where the standard lets it. */
static void follow_rxd(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    node->is_rxd_dominant = lw_wires_rxd(sim->wires, unit, sim->now_ps) && !node->is_deaf;
    uint64_t edge_ps = lw_wires_last_edge_ps(sim->wires, unit);
    if (edge_ps != node->edge_ps) {
        node->edge_ps = edge_ps;
        if (!node->is_deaf)
            synchronise(sim, unit, edge_ps);
    }
    if (node->is_rxd_dominant)
        lw_sim_node_wake(sim, unit);     /* out of standby in the middle of a dominant bit: its edge was not heard */
    lw_sim_look_ahead(sim, unit);
}

void lw_sim_copy_trace(struct lw_bench_trace *to, const struct lw_bench_trace *from)
{
    to->n = from->n;
    to->begins_ns = from->begins_ns;
    memcpy(to->bits, from->bits, from->n * sizeof(from->bits[0]));
}

static void end_trace(struct lw_sim_trace *trace)
{
    if (!trace->is_running)
        return;
    trace->is_running = false;
    lw_sim_copy_trace(&trace->last, &trace->running);
    if (trace->has_error)
        lw_sim_copy_trace(&trace->last_error, &trace->running);
}

static void begin_trace(struct lw_sim *sim)
{
    struct lw_sim_trace *trace = &sim->trace;
    trace->is_running = true;
    trace->has_error = false;
    trace->running.n = 0;
    trace->running.begins_ns = lw_sim_ns(sim);
}

static struct lw_trace_bit traced_bit(const struct lw_sim_node *node, bool is_dominant, unsigned reports)
{
    uint64_t length_ps = node->clock.end_ps - node->clock.bit_start_ps;
    return (struct lw_trace_bit){
        .field = (uint8_t)lw_mac_last_field(node->mac), .is_dominant = is_dominant,
        .is_stuff = lw_mac_last_was_stuff(node->mac), .is_driven = node->is_driving,
        .has_error = (reports & LW_MAC_ERROR) != 0,
        .sample_permille =
            (uint16_t)(length_ps > 0 ? (node->clock.sample_ps - node->clock.bit_start_ps) * 1000 / length_ps : 0),
    };
}

/* A trace holds one frame as one unit saw it, from its start of frame on, be that all it came to. */
void lw_sim_trace_bit(struct lw_sim *sim, const struct lw_sim_node *node, bool is_dominant, unsigned reports)
{
    struct lw_sim_trace *trace = &sim->trace;
    enum lw_mac_field field = lw_mac_last_field(node->mac);
    bool is_cut_short = field == LW_IN_SOF && reports & LW_MAC_ERROR;
    if (reports & LW_MAC_FRAME_BEGINS || is_cut_short) {
        end_trace(trace);
        begin_trace(sim);
    }
    if (!trace->is_running)
        return;
    bool is_over = field == LW_IN_IDLE || field == LW_IN_JOINING;
    if (!is_over) {
        trace->has_error |= (reports & LW_MAC_ERROR) != 0;
        trace->running.bits[trace->running.n++] = traced_bit(node, is_dominant, reports);
    }
    if (is_over || reports & LW_MAC_BUS_OFF || trace->running.n == LW_TRACE_BITS)
        end_trace(trace);
}

static void count_reports(struct lw_sim_node *node, unsigned reports)
{
    node->facts.n_sent += (reports & LW_MAC_SENT) != 0;
    node->facts.n_received += (reports & LW_MAC_RECEIVED) != 0;
    if (reports & LW_MAC_ERROR) {
        node->facts.n_errors++;
        node->facts.n_errors_by_kind[lw_mac_error(node->mac)->kind]++;
    }
}

static void sample(struct lw_sim *sim, unsigned unit, bool is_dominant)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    unsigned rate = node->clock.rate;
    unsigned reports = lw_mac_sample(node->mac, is_dominant);
    node->was_recessive = !is_dominant;
    node->phase = LW_PHASE_AFTER_SAMPLE;
    if (lw_mac_rate(node->mac) != rate)
        lw_bit_clock_switch_rate(&node->clock, lw_mac_rate(node->mac));
    expect_next(sim, unit);
    if (unit == sim->trace.unit)
        lw_sim_trace_bit(sim, node, is_dominant, reports);
    if (reports == 0)
        return;
    count_reports(node, reports);
    node->heard_ns = lw_sim_ns(sim);
    sim->is_other_stale = true;
    if ((int)unit == sim->adapter_unit)
        lw_adapter_report(&sim->adapter, reports, lw_mac_error(node->mac), lw_mac_confinement(node->mac),
                          lw_mac_frame(node->mac), lw_sim_ns(sim));
    if (reports & LW_MAC_BUS_OFF) {
        uint32_t restart_ms = (int)unit == sim->adapter_unit ? sim->adapter.personality.restart_ms
                                                             : sim->plant.units[unit].restart_ms;
        node->restart_ns = restart_ms > 0 ? lw_sim_ns(sim) + restart_ms * UINT64_C(1000000) : LW_NEVER;
    }
}

static void end_bit(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    if (lw_mac_is_idle(node->mac) && !node->is_rxd_dominant) {
        drive(sim, unit, false);
        node->phase = LW_PHASE_PARKED;
        lw_sim_due_at(sim, unit, LW_NEVER);
        return;
    }
    start_bit(sim, unit, node->clock.end_ps);
}

bool lw_sim_node_event(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    follow_rxd(sim, unit);
    if (node->next_ps > sim->now_ps)
        return false;
    catch_up(sim, unit, sim->now_ps);
    if (node->phase == LW_PHASE_BEFORE_SAMPLE && node->clock.sample_ps <= sim->now_ps) {
        sample(sim, unit, node->is_rxd_dominant);
        return true;
    }
    if (node->phase == LW_PHASE_AFTER_SAMPLE)
        end_bit(sim, unit);
    return false;
}

void lw_sim_node_rest(struct lw_sim *sim, unsigned unit)
{
    catch_up(sim, unit, sim->now_ps);
    if (sim->nodes[unit].phase == LW_PHASE_BEFORE_SAMPLE)
        sample(sim, unit, false);
    else
        end_bit(sim, unit);
}
