/* SPDX-License-Identifier: MIT
 *
 * The wires of a bench as units use them: TXD in, RXD out. Every change of a TXD goes to every receiver, which sees it after
 * half the sender's loop delay and the way along the wires; its RXD follows half its own loop delay later. A change of the
 * wiring itself takes effect everywhere at once.
 */
#include "loomwatch/bench/wires.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "under_way.h"

/* Transceivers let a TXD go that is dominant for longer. Typical of data sheets (TI TCAN1042, SLLSES7D: 1.2 to 3.8 ms;
 * from memory). */
static const uint64_t dominant_limit_ps = UINT64_C(2000000000);

/* Of a sender in a frame: five equal ones and a stuff bit, rounded up. */
enum { MOST_BITS_DOMINANT = 8 };

struct lw_wires {
    const struct lw_plant *plant;
    struct lw_levels *levels;
    struct lw_receiver *receivers;
    uint32_t txd, driving;           /* dominant TXDs; those that the transceivers pass on */
    uint32_t able, listening;        /* units that can drive, that can receive */
    uint64_t newest_ps;              /* of all times asked or driven */
    uint64_t deadline_ps[LW_PLANT_MAX_UNITS], first_deadline_ps;    /* of dominant TXDs */
    uint64_t txd_delay_ps[LW_PLANT_MAX_UNITS], rxd_delay_ps[LW_PLANT_MAX_UNITS];
    struct lw_under_way under_way;
    bool is_plain;                   /* each receiver has each change in its queue at once, and takes it in alone */
    uint32_t steady_known[LW_PLANT_MAX_UNITS];                      /* of each sender: units whose steady holds */
    struct lw_steady steady[LW_PLANT_MAX_UNITS][LW_PLANT_MAX_UNITS];
};

static void split_loop_delays(struct lw_wires *wires)
{
    for (unsigned u = 0; u < wires->plant->n_units; u++) {
        uint64_t loop_ps = wires->plant->units[u].loop_delay_ns * UINT64_C(1000);
        wires->txd_delay_ps[u] = loop_ps / 2;
        wires->rxd_delay_ps[u] = loop_ps - loop_ps / 2;
    }
}

struct lw_wires *lw_wires_create(const struct lw_plant *plant)
{
    assert(plant->n_points >= 1 && plant->n_points <= LW_PLANT_MAX_POINTS && plant->n_units <= LW_PLANT_MAX_UNITS);
    struct lw_wires *wires = calloc(1, sizeof(*wires));
    if (!wires)
        return NULL;
    wires->plant = plant;
    wires->first_deadline_ps = LW_NEVER;
    wires->levels = lw_levels_create(plant);
    wires->receivers = calloc(plant->n_units + 1, sizeof(*wires->receivers));
    if (!wires->levels || !wires->receivers) {
        lw_wires_destroy(wires);
        return NULL;
    }
    split_loop_delays(wires);
    struct lw_wiring wiring = { 0 };
    for (unsigned u = 0; u < plant->n_units; u++) {
        lw_receiver_init(&wires->receivers[u], wires->levels, u);
        wiring.transceivers[u] = plant->units[u].is_plugged ? LW_TRANSCEIVER_NORMAL : LW_TRANSCEIVER_UNPLUGGED;
    }
    lw_wires_set(wires, &wiring, 0);
    return wires;
}

void lw_wires_destroy(struct lw_wires *wires)
{
    if (!wires)
        return;
    lw_levels_destroy(wires->levels);
    free(wires->receivers);
    free(wires);
}

static uint64_t bus_time(const struct lw_wires *wires, unsigned unit, uint64_t t_ps)
{
    return t_ps > wires->rxd_delay_ps[unit] ? t_ps - wires->rxd_delay_ps[unit] : 0;
}

static void queue_all(struct lw_wires *wires)
{
    for (uint32_t left = wires->listening; left; left &= left - 1)
        lw_under_way_queue(&wires->under_way, &wires->receivers[__builtin_ctz(left)]);
    lw_under_way_clear(&wires->under_way);
}

void lw_wires_take_singly(struct lw_wires *wires)
{
    wires->is_plain = true;
    queue_all(wires);
}

static void send_out(struct lw_wires *wires, unsigned sender, bool is_dominant, uint64_t t_ps)
{
    lw_under_way_send(&wires->under_way, (struct lw_arrival){ t_ps, (uint8_t)sender, is_dominant });
    if (wires->is_plain || wires->under_way.n == LW_UNDER_WAY_CHANGES)
        queue_all(wires);
    wires->driving ^= UINT32_C(1) << sender;
}

static void find_first_deadline(struct lw_wires *wires)
{
    wires->first_deadline_ps = LW_NEVER;
    for (uint32_t left = wires->driving; left; left &= left - 1) {
        uint64_t deadline_ps = wires->deadline_ps[__builtin_ctz(left)];
        if (deadline_ps < wires->first_deadline_ps)
            wires->first_deadline_ps = deadline_ps;
    }
}

/* first_deadline_ps may be too early, as a TXD that went recessive is not taken out of it: then nothing happens here. */
static void let_go_of_stuck(struct lw_wires *wires, uint64_t t_ps)
{
    while (wires->first_deadline_ps <= t_ps) {
        for (uint32_t left = wires->driving; left; left &= left - 1) {
            unsigned u = (unsigned)__builtin_ctz(left);
            if (wires->deadline_ps[u] == wires->first_deadline_ps)
                send_out(wires, u, false, wires->first_deadline_ps);
        }
        find_first_deadline(wires);
    }
}

static void pass_to(struct lw_wires *wires, uint64_t t_ps)
{
    if (wires->first_deadline_ps <= t_ps)
        let_go_of_stuck(wires, t_ps);
    if (t_ps > wires->newest_ps)
        wires->newest_ps = t_ps;
}

void lw_wires_drive(struct lw_wires *wires, unsigned unit, bool is_dominant, uint64_t t_ps)
{
    uint32_t bit = UINT32_C(1) << unit;
    pass_to(wires, t_ps);
    if (((wires->txd & bit) != 0) == is_dominant || !(wires->able & bit))
        return;
    wires->txd ^= bit;
    if (is_dominant) {
        wires->deadline_ps[unit] = t_ps + dominant_limit_ps;
        if (wires->deadline_ps[unit] < wires->first_deadline_ps)
            wires->first_deadline_ps = wires->deadline_ps[unit];
    }
    if (((wires->driving & bit) != 0) != is_dominant)
        send_out(wires, unit, is_dominant, t_ps);
}

bool lw_wires_rxd(struct lw_wires *wires, unsigned unit, uint64_t t_ps)
{
    struct lw_receiver *receiver = &wires->receivers[unit];
    pass_to(wires, t_ps);
    if (!(wires->listening >> unit & 1))
        return false;
    uint64_t bus_ps = bus_time(wires, unit, t_ps);
    lw_under_way_advance(&wires->under_way, receiver, bus_ps);
    receiver->asked_ps = bus_ps;
    return receiver->now.is_dominant != (receiver->now.changed_ps > bus_ps);
}

uint64_t lw_wires_last_edge_ps(const struct lw_wires *wires, unsigned unit)
{
    uint64_t edge_ps = wires->receivers[unit].now.edge_ps;
    return edge_ps == 0 ? 0 : edge_ps + wires->rxd_delay_ps[unit];
}

/* Of the senders seen, the one that the time-out takes away next. */
static struct lw_arrival next_let_go(const struct lw_wires *wires, unsigned unit, uint32_t senders)
{
    struct lw_arrival first = { LW_NEVER, 0, false };
    for (uint32_t left = senders & wires->driving; left; left &= left - 1) {
        unsigned sender = (unsigned)__builtin_ctz(left);
        uint64_t t_ps = wires->deadline_ps[sender] + wires->under_way.way_ps[unit][sender];
        if (t_ps < first.t_ps)
            first = (struct lw_arrival){ t_ps, (uint8_t)sender, false };
    }
    return first;
}

static uint64_t find_next_change(const struct lw_wires *wires, unsigned unit)
{
    struct lw_receiver *receiver = &wires->receivers[unit];
    struct lw_seen ahead = receiver->now;
    lw_receiver_look_ahead(receiver, &ahead);
    for (;;) {
        struct lw_arrival let_go = next_let_go(wires, unit, ahead.senders);
        if (ahead.crossing_ps <= let_go.t_ps)
            return ahead.crossing_ps;
        lw_receiver_take(receiver, &ahead, &let_go, LW_NEVER);
    }
}

uint64_t lw_wires_next_change_ps(struct lw_wires *wires, unsigned unit)
{
    struct lw_receiver *receiver = &wires->receivers[unit];
    if (!(wires->listening >> unit & 1))
        return LW_NEVER;
    if (receiver->now.changed_ps > receiver->asked_ps)
        return receiver->now.changed_ps + wires->rxd_delay_ps[unit];
    lw_under_way_queue(&wires->under_way, receiver);
    if (!receiver->is_next_known || receiver->next_change_ps <= receiver->now.changed_ps) {
        receiver->next_change_ps = find_next_change(wires, unit);
        receiver->is_next_known = true;
    }
    return receiver->next_change_ps == LW_NEVER ? LW_NEVER : receiver->next_change_ps + wires->rxd_delay_ps[unit];
}

uint64_t lw_wires_soonest_change_ps(struct lw_wires *wires, unsigned unit, bool *is_exact)
{
    const struct lw_receiver *receiver = &wires->receivers[unit];
    const struct lw_seen *now = &receiver->now;
    uint64_t kept_ps = lw_under_way_soonest_ps(&wires->under_way, unit);
    bool is_known = receiver->is_next_known && kept_ps > receiver->next_change_ps;
    *is_exact = is_known || now->changed_ps > receiver->asked_ps || !(wires->listening >> unit & 1);
    if (*is_exact)
        return lw_wires_next_change_ps(wires, unit);
    uint64_t soonest_ps = wires->first_deadline_ps < now->crossing_ps ? wires->first_deadline_ps : now->crossing_ps;
    if (kept_ps < soonest_ps)
        soonest_ps = kept_ps;
    if (receiver->first < receiver->end && receiver->arrivals[receiver->first].t_ps < soonest_ps)
        soonest_ps = receiver->arrivals[receiver->first].t_ps;
    return soonest_ps == LW_NEVER ? LW_NEVER : soonest_ps + wires->rxd_delay_ps[unit];
}

uint64_t lw_wires_reach_ps(const struct lw_wires *wires, unsigned sender, unsigned unit, uint64_t t_ps)
{
    return t_ps + wires->under_way.way_ps[unit][sender] + wires->rxd_delay_ps[unit];
}

bool lw_wires_is_idle(struct lw_wires *wires)
{
    if (wires->driving)
        return false;
    queue_all(wires);
    for (uint32_t left = wires->listening; left; left &= left - 1) {
        unsigned u = (unsigned)__builtin_ctz(left);
        if (!lw_receiver_is_quiet(&wires->receivers[u], bus_time(wires, u, wires->newest_ps)))
            return false;
    }
    return true;
}

bool lw_wires_rest(struct lw_wires *wires, uint64_t t_ps)
{
    if (wires->driving)
        return false;
    for (uint32_t left = wires->listening; left; left &= left - 1) {
        unsigned u = (unsigned)__builtin_ctz(left);
        lw_under_way_advance(&wires->under_way, &wires->receivers[u], bus_time(wires, u, t_ps));
        if (!lw_receiver_is_calm(&wires->receivers[u], 0, false))
            return false;
    }
    return true;
}

static void measure_ways(struct lw_wires *wires)
{
    const struct lw_loom *loom = lw_levels_loom(wires->levels);
    for (unsigned sender = 0; sender < wires->plant->n_units; sender++)
        for (unsigned u = 0; u < wires->plant->n_units; u++)
            wires->under_way.way_ps[u][sender] = wires->txd_delay_ps[sender] + loom->delay_ps[sender][u];
    lw_under_way_measured(&wires->under_way, wires->plant->n_units);
}

void lw_wires_set(struct lw_wires *wires, const struct lw_wiring *wiring, uint64_t t_ps)
{
    uint32_t listened = wires->listening;
    pass_to(wires, t_ps);
    queue_all(wires);
    for (uint32_t left = listened; left; left &= left - 1)
        lw_receiver_advance(&wires->receivers[__builtin_ctz(left)], t_ps);
    lw_levels_set(wires->levels, wiring);
    wires->able = lw_levels_able(wires->levels);
    wires->driving &= wires->able;
    wires->txd &= wires->able;
    wires->listening = 0;
    for (unsigned u = 0; u < wires->plant->n_units; u++) {
        if (!lw_levels_can_receive(wires->levels, u))
            continue;
        wires->listening |= UINT32_C(1) << u;
        if (listened >> u & 1)
            lw_receiver_rewire(&wires->receivers[u], wires->able, t_ps);
        else
            lw_receiver_restart(&wires->receivers[u], wires->driving, t_ps);
    }
    measure_ways(wires);
    memset(wires->steady_known, 0, sizeof(wires->steady_known));
    find_first_deadline(wires);
}

uint32_t lw_wires_listening(const struct lw_wires *wires)
{
    return wires->listening;
}

static const struct lw_steady *steady_of(struct lw_wires *wires, unsigned sender, unsigned unit)
{
    struct lw_steady *steady = &wires->steady[sender][unit];
    if (!(wires->steady_known[sender] >> unit & 1)) {
        *steady = lw_receiver_steady(&wires->receivers[unit], sender);
        wires->steady_known[sender] |= UINT32_C(1) << unit;
    }
    return steady;
}

bool lw_wires_is_steady(struct lw_wires *wires, unsigned sender, unsigned unit, uint64_t bit_ps, uint64_t from_ps,
                        uint64_t after_ps[2])
{
    const struct lw_receiver *receiver = &wires->receivers[unit];
    uint32_t bit = UINT32_C(1) << sender;
    if (!(wires->able & bit) || wires->driving & ~bit || wires->txd != wires->driving || !(wires->listening >> unit & 1)
        || bit_ps >= dominant_limit_ps / MOST_BITS_DOMINANT || lw_under_way_soonest_ps(&wires->under_way, unit) != LW_NEVER
        || !lw_receiver_is_calm(receiver, wires->driving, wires->driving != 0))
        return false;
    const struct lw_steady *steady = steady_of(wires, sender, unit);
    if (bit_ps < steady->settle_ps || from_ps + wires->under_way.way_ps[unit][sender] < receiver->now.t_ps + steady->settle_ps)
        return false;
    for (unsigned is_dominant = 0; is_dominant < 2; is_dominant++) {
        if (steady->after_ps[is_dominant] >= bit_ps)
            return false;
        after_ps[is_dominant] = wires->under_way.way_ps[unit][sender] + steady->after_ps[is_dominant] + wires->rxd_delay_ps[unit];
        if (after_ps[is_dominant] >= bit_ps || after_ps[is_dominant] == 0)
            return false;
    }
    return true;
}

/* The last change but one, which has crossed; the newest edge is its own, or that of the change before it. */
static void resume(struct lw_wires *wires, unsigned sender, unsigned unit, const uint64_t *last_ps, unsigned n_changes,
                   bool is_dominant)
{
    struct lw_receiver *receiver = &wires->receivers[unit];
    const struct lw_steady *steady = steady_of(wires, sender, unit);
    uint64_t way_ps = wires->under_way.way_ps[unit][sender], edge_ps = receiver->now.edge_ps;
    if (n_changes >= 2) {
        if (!is_dominant)
            edge_ps = last_ps[-1] + way_ps + steady->after_ps[1];
        else if (n_changes >= 3)
            edge_ps = last_ps[-2] + way_ps + steady->after_ps[1];
        lw_receiver_resume(receiver, steady, (struct lw_arrival){ last_ps[-1] + way_ps, (uint8_t)sender, !is_dominant }, edge_ps);
    }
    lw_receiver_expect(receiver, (struct lw_arrival){ last_ps[0] + way_ps, (uint8_t)sender, is_dominant });
}

void lw_wires_resume(struct lw_wires *wires, unsigned sender, const uint64_t *changes_ps, unsigned n_changes)
{
    if (n_changes == 0)
        return;
    const uint64_t *last_ps = &changes_ps[n_changes - 1];
    bool is_dominant = (wires->driving != 0) == (n_changes % 2 == 0);
    for (uint32_t left = wires->listening; left; left &= left - 1)
        resume(wires, sender, (unsigned)__builtin_ctz(left), last_ps, n_changes, is_dominant);
    wires->txd = wires->driving = is_dominant ? UINT32_C(1) << sender : 0;
    if (is_dominant || n_changes >= 2) {
        wires->deadline_ps[sender] = (is_dominant ? last_ps[0] : last_ps[-1]) + dominant_limit_ps;
        if (wires->deadline_ps[sender] < wires->first_deadline_ps)
            wires->first_deadline_ps = wires->deadline_ps[sender];
    }
    if (*last_ps > wires->newest_ps)
        wires->newest_ps = *last_ps;
}

struct lw_volts lw_wires_unit_volts(struct lw_wires *wires, unsigned unit, uint32_t drivers)
{
    return lw_levels_volts(wires->levels, lw_levels_loom(wires->levels)->units[unit], drivers);
}

struct lw_volts lw_wires_point_volts(struct lw_wires *wires, unsigned point, uint32_t drivers)
{
    return lw_levels_volts(wires->levels, lw_levels_loom(wires->levels)->points[point], drivers);
}

double lw_wires_ohms(struct lw_wires *wires, unsigned point)
{
    return lw_levels_ohms(wires->levels, lw_levels_loom(wires->levels)->points[point]);
}

double lw_wires_settle_ns(struct lw_wires *wires, unsigned unit)
{
    if (!lw_levels_can_receive(wires->levels, unit))
        return 0;
    struct lw_pull nobody = { 0 };
    return 1e-3 / lw_levels_at(wires->levels, unit, 0, &nobody).per_ps;
}
