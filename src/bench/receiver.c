/* SPDX-License-Identifier: MIT
 *
 * A receiver's voltage is a chain of exponentials: from where it is at an arrival towards the level of the senders seen
 * from then on. Thresholds with hysteresis turn it into a bit; the crossing time is computed, not stepped to.
 */
#include "receiver.h"

#include <math.h>
#include <string.h>

/* Receiver thresholds: recessive below 0.5 V, dominant above 0.9 V. Source: TI SN55HVD233-SP data sheet (2017), after
 * ISO 11898-2. */
static const double recessive_volt = 0.5, dominant_volt = 0.9;

/* After so many time constants the rest (6e-6) counts as nothing: a picosecond of the next crossing. */
static const double settled_constants = 12;

static double settled_volt(const struct lw_seen *seen, uint64_t t_ps)
{
    double constants = (double)(t_ps - seen->t_ps) * seen->target.per_ps;
    if (constants > settled_constants)
        return seen->target.volt;
    return seen->target.volt + (seen->volt - seen->target.volt) * exp(-constants);
}

/* Picoseconds from its voltage to the threshold, which lies between it and the target. */
static uint64_t way_to(struct lw_crossing *known, const struct lw_seen *seen, double threshold)
{
    const struct lw_level *target = &seen->target;
    if (known->from == seen->volt && known->to == target->volt && known->per_ps == target->per_ps)
        return known->after_ps;
    double ps = log((seen->volt - target->volt) / (threshold - target->volt)) / target->per_ps;
    *known = (struct lw_crossing){ seen->volt, target->volt, target->per_ps, ps < 1e18 ? (uint64_t)(ps + 0.5) : LW_NEVER };
    return known->after_ps;
}

static uint64_t next_crossing(struct lw_crossing known[2], const struct lw_seen *seen)
{
    double target = seen->target.volt;
    uint64_t way = LW_NEVER;
    if (!seen->is_dominant && target > dominant_volt)
        way = seen->volt >= dominant_volt ? 0 : way_to(&known[1], seen, dominant_volt);
    else if (seen->is_dominant && target < recessive_volt)
        way = seen->volt <= recessive_volt ? 0 : way_to(&known[0], seen, recessive_volt);
    return way == LW_NEVER ? LW_NEVER : seen->t_ps + way;
}

static void cross(struct lw_seen *seen)
{
    seen->is_dominant = !seen->is_dominant;
    seen->changed_ps = seen->crossing_ps;
    if (seen->is_dominant)
        seen->edge_ps = seen->crossing_ps;
    seen->crossing_ps = LW_NEVER;
}

static void move_to(struct lw_seen *seen, uint64_t t_ps)
{
    if (seen->crossing_ps <= t_ps)
        cross(seen);
    if (t_ps > seen->t_ps) {
        seen->volt = settled_volt(seen, t_ps);
        seen->t_ps = t_ps;
    }
}

/* It goes fastest where it begins, so it cannot reach the threshold sooner than if it kept that speed. 1: rounding. */
static bool crosses_after(const struct lw_seen *seen, uint64_t t_ps)
{
    double way = (seen->is_dominant ? recessive_volt : dominant_volt) - seen->volt, whole = seen->target.volt - seen->volt;
    return way / (whole * seen->target.per_ps) > (double)(t_ps - seen->t_ps) + 1;
}

/* next_ps: the next arrival will be taken in right now. A crossing that comes after it need not be known. */
static void aim(struct lw_receiver *receiver, struct lw_seen *seen, uint64_t next_ps)
{
    seen->target = lw_levels_at(receiver->levels, receiver->unit, seen->senders, &seen->pull);
    seen->is_open = next_ps != LW_NEVER && crosses_after(seen, next_ps);
    seen->crossing_ps = seen->is_open ? LW_NEVER : next_crossing(receiver->known, seen);
}

static void count_pull(const struct lw_receiver *receiver, struct lw_seen *seen, unsigned sender, bool is_added)
{
    const struct lw_pull *pull = lw_levels_pull(receiver->levels, sender, receiver->unit);
    int64_t flip = is_added ? 0 : -1;                /* (n ^ -1) + 1 is -n: quicker than to multiply */
    seen->pull.h += (pull->h ^ flip) - flip;
    seen->pull.l += (pull->l ^ flip) - flip;
    seen->pull.h_up += (pull->h_up ^ flip) - flip;
    seen->pull.l_up += (pull->l_up ^ flip) - flip;
}

static void set_senders(const struct lw_receiver *receiver, struct lw_seen *seen, uint32_t senders)
{
    seen->senders = senders;
    seen->pull = (struct lw_pull){ 0 };
    for (uint32_t left = senders; left; left &= left - 1)
        count_pull(receiver, seen, (unsigned)__builtin_ctz(left), true);
}

/* The level of plenty of senders is taken as reached at once, and computed only when they become few. */
static void reach_plenty(struct lw_receiver *receiver, struct lw_seen *seen)
{
    if (!seen->is_plenty)
        return;
    set_senders(receiver, seen, seen->senders);
    aim(receiver, seen, LW_NEVER);
    seen->volt = seen->target.volt;
    seen->is_plenty = false;
}

void lw_receiver_init(struct lw_receiver *receiver, struct lw_levels *levels, unsigned unit)
{
    memset(receiver, 0, sizeof(*receiver));
    receiver->levels = levels;
    receiver->unit = unit;
    receiver->now.crossing_ps = LW_NEVER;
    receiver->known[0].from = receiver->known[1].from = NAN;
}

void lw_receiver_restart(struct lw_receiver *receiver, uint32_t senders, uint64_t t_ps)
{
    struct lw_seen *now = &receiver->now;
    receiver->first = receiver->end = 0;
    receiver->is_next_known = false;
    receiver->good = lw_levels_good_senders(receiver->levels, receiver->unit);
    now->t_ps = t_ps;
    now->is_dominant = now->is_plenty = false;
    set_senders(receiver, now, senders);
    now->target = lw_levels_at(receiver->levels, receiver->unit, senders, &now->pull);
    now->volt = now->target.volt;
    now->crossing_ps = next_crossing(receiver->known, now);
    move_to(now, t_ps);
}

void lw_receiver_rewire(struct lw_receiver *receiver, uint32_t able, uint64_t t_ps)
{
    struct lw_seen *now = &receiver->now;
    unsigned kept = receiver->first;
    for (unsigned i = receiver->first; i < receiver->end; i++)
        if (able >> receiver->arrivals[i].sender & 1)
            receiver->arrivals[kept++] = receiver->arrivals[i];
    receiver->end = kept;
    receiver->is_next_known = now->is_plenty = false;
    receiver->good = lw_levels_good_senders(receiver->levels, receiver->unit);
    move_to(now, t_ps);
    set_senders(receiver, now, now->senders & able);
    aim(receiver, now, LW_NEVER);
}

/* An arrival that changes nothing after all. */
static void close_crossing(struct lw_receiver *receiver, struct lw_seen *seen, uint64_t next_ps)
{
    seen->is_open = seen->is_open && next_ps != LW_NEVER && crosses_after(seen, next_ps);
    seen->crossing_ps = seen->is_open ? LW_NEVER : next_crossing(receiver->known, seen);
}

void lw_receiver_take(struct lw_receiver *receiver, struct lw_seen *seen, const struct lw_arrival *arrival, uint64_t next_ps)
{
    uint32_t senders = seen->senders ^ UINT32_C(1) << arrival->sender;
    if ((senders > seen->senders) != arrival->is_dominant) {
        if (seen->is_open)
            close_crossing(receiver, seen, next_ps);
        return;
    }
    bool have_plenty = lw_receiver_are_plenty(receiver, senders);
    if (seen->is_plenty && have_plenty) {
        seen->senders = senders;
        return;
    }
    reach_plenty(receiver, seen);
    move_to(seen, arrival->t_ps);
    seen->senders = senders;
    count_pull(receiver, seen, arrival->sender, arrival->is_dominant);
    seen->is_plenty = have_plenty && seen->is_dominant;
    if (seen->is_plenty) {
        seen->crossing_ps = LW_NEVER;
        seen->is_open = false;
    } else {
        aim(receiver, seen, next_ps);
    }
}

static uint64_t arrival_ps(const struct lw_receiver *receiver, unsigned i)
{
    return i < receiver->end ? receiver->arrivals[i].t_ps : LW_NEVER;
}

/* All until t_ps will be taken. */
static void take_first(struct lw_receiver *receiver, uint64_t t_ps)
{
    uint64_t next_ps = arrival_ps(receiver, receiver->first + 1);
    lw_receiver_take(receiver, &receiver->now, &receiver->arrivals[receiver->first], next_ps <= t_ps ? next_ps : LW_NEVER);
    if (++receiver->first == receiver->end)
        receiver->first = receiver->end = 0;
}

/* As long as there are plenty of senders, only who they are. */
static void take_among_plenty(struct lw_receiver *receiver, uint64_t t_ps)
{
    uint32_t senders = receiver->now.senders;
    unsigned i = receiver->first;
    for (; i < receiver->end && receiver->arrivals[i].t_ps <= t_ps; i++) {
        uint32_t bit = UINT32_C(1) << receiver->arrivals[i].sender;
        uint32_t then = receiver->arrivals[i].is_dominant ? senders | bit : senders & ~bit;
        if (!lw_receiver_are_plenty(receiver, then))
            break;
        senders = then;
    }
    receiver->now.senders = senders;
    receiver->first = i;
    if (i == receiver->end)
        receiver->first = receiver->end = 0;
}

void lw_receiver_expect(struct lw_receiver *receiver, struct lw_arrival arrival)
{
    if (receiver->end == LW_RECEIVER_ARRIVALS) {
        if (receiver->first == 0)
            take_first(receiver, 0);
        memmove(receiver->arrivals, receiver->arrivals + receiver->first,
                (receiver->end - receiver->first) * sizeof(receiver->arrivals[0]));
        receiver->end -= receiver->first;
        receiver->first = 0;
    }
    const struct lw_arrival *first = receiver->arrivals + receiver->first;
    struct lw_arrival *at = receiver->arrivals + receiver->end++;
    for (; at > first && at[-1].t_ps > arrival.t_ps; at--) {
        if (at[-1].sender == arrival.sender) {
            arrival.t_ps = at[-1].t_ps;
            break;
        }
        *at = at[-1];
    }
    *at = arrival;
    if (arrival.t_ps <= receiver->next_change_ps)   /* a later one cannot alter what is known to come first */
        receiver->is_next_known = false;
}

void lw_receiver_advance(struct lw_receiver *receiver, uint64_t t_ps)
{
    while (receiver->first < receiver->end && receiver->arrivals[receiver->first].t_ps <= t_ps) {
        take_first(receiver, t_ps);
        if (receiver->now.is_plenty)
            take_among_plenty(receiver, t_ps);
    }
    if (receiver->now.crossing_ps <= t_ps)
        cross(&receiver->now);
}

void lw_receiver_look_ahead(struct lw_receiver *receiver, struct lw_seen *seen)
{
    for (unsigned i = receiver->first; i < receiver->end && seen->crossing_ps > receiver->arrivals[i].t_ps; i++)
        lw_receiver_take(receiver, seen, &receiver->arrivals[i], arrival_ps(receiver, i + 1));
}

bool lw_receiver_is_quiet(struct lw_receiver *receiver, uint64_t t_ps)
{
    const struct lw_seen *now = &receiver->now;
    if (receiver->first == receiver->end && now->crossing_ps > t_ps)
        return !now->is_dominant && now->crossing_ps == LW_NEVER;
    struct lw_seen ahead = *now;
    for (unsigned i = receiver->first; i < receiver->end; i++) {
        if (receiver->arrivals[i].t_ps > t_ps)
            return false;
        lw_receiver_take(receiver, &ahead, &receiver->arrivals[i], LW_NEVER);
    }
    move_to(&ahead, t_ps > ahead.t_ps ? t_ps : ahead.t_ps);
    return !ahead.is_dominant && ahead.crossing_ps == LW_NEVER;
}

struct lw_steady lw_receiver_steady(const struct lw_receiver *receiver, unsigned sender)
{
    struct lw_crossing unknown[2] = { { .from = NAN }, { .from = NAN } };
    struct lw_steady steady = { .settle_ps = 0 };
    for (unsigned is_dominant = 0; is_dominant < 2; is_dominant++) {
        struct lw_pull pull = is_dominant ? *lw_levels_pull(receiver->levels, sender, receiver->unit) : (struct lw_pull){ 0 };
        steady.level[is_dominant] = lw_levels_at(receiver->levels, receiver->unit, is_dominant << sender, &pull);
    }
    for (unsigned is_dominant = 0; is_dominant < 2; is_dominant++) {
        const struct lw_level *level = &steady.level[is_dominant];
        struct lw_seen seen = { .volt = steady.level[!is_dominant].volt, .target = *level, .is_dominant = !is_dominant };
        steady.after_ps[is_dominant] = next_crossing(unknown, &seen);
        double settle_ps = settled_constants / level->per_ps + 2;        /* 2: rounding */
        uint64_t ps = settle_ps < 1e18 ? (uint64_t)settle_ps : LW_NEVER;
        steady.settle_ps = ps > steady.settle_ps ? ps : steady.settle_ps;
    }
    return steady;
}

bool lw_receiver_is_calm(const struct lw_receiver *receiver, uint32_t senders, bool is_dominant)
{
    const struct lw_seen *now = &receiver->now;
    return receiver->first == receiver->end && now->crossing_ps == LW_NEVER && !now->is_plenty && now->senders == senders
        && now->is_dominant == is_dominant;
}

void lw_receiver_resume(struct lw_receiver *receiver, const struct lw_steady *steady, struct lw_arrival arrival,
                        uint64_t edge_ps)
{
    struct lw_seen *now = &receiver->now;
    now->t_ps = arrival.t_ps;
    now->crossing_ps = LW_NEVER;
    now->changed_ps = arrival.t_ps + steady->after_ps[arrival.is_dominant];
    now->edge_ps = edge_ps;
    now->volt = steady->level[!arrival.is_dominant].volt;
    now->target = steady->level[arrival.is_dominant];
    set_senders(receiver, now, arrival.is_dominant ? UINT32_C(1) << arrival.sender : 0);
    now->is_dominant = arrival.is_dominant;
    receiver->is_next_known = false;
    receiver->asked_ps = now->changed_ps > receiver->asked_ps ? now->changed_ps : receiver->asked_ps;
}
