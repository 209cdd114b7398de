/* SPDX-License-Identifier: MIT
 *
 * Lockstep: while one unit sends a classic frame and all others only listen, its bits are known beforehand, and every RXD
 * follows its TXD after a constant time (lw_wires_is_steady). So each unit's bit clock is led from edge to edge alone, and as
 * long as every change is proven to come between the samples of the bits that it parts, all read the bits that were sent:
 * one controller is given them, the others take over what it knows. The proof ends where a unit may drive, at the latest
 * behind the CRC delimiter; then, and whenever somebody wants to know or change anything, each unit is put to where its own
 * events would have led it. Called by the loop, after samples.
 */
#include "sim_state.h"

enum { LEAST_BITS = 8 };             /* for fewer it does not pay */

static bool is_sent_dominant(const struct lw_sim_lockstep *lockstep, unsigned bit)
{
    return bit < lockstep->sending.n_bits && lockstep->sending.bits[bit] == 0;
}

static uint64_t drive_ps(const struct lw_sim_lockstep *lockstep, unsigned bit)
{
    return lockstep->start_ps + (bit - lockstep->sending.n_sampled) * lockstep->bit_ps;
}

/* When it samples a bit, from its clock's on, if no edge comes between. */
static uint64_t sample_ps(const struct lw_sim_pace *pace, unsigned bit)
{
    const struct lw_bit_clock *clock = &pace->clock;
    if (bit == pace->bit)
        return clock->sample_ps;
    return clock->end_ps + (bit - pace->bit - 1) * clock->bit_ps[0] + clock->to_sample_ps[0];
}

static void go_to_bit(struct lw_sim_pace *pace, unsigned bit)
{
    struct lw_bit_clock *clock = &pace->clock;
    if (bit == pace->bit)
        return;
    if (bit - pace->bit > 1)
        clock->is_next_synchronised = false;
    lw_bit_clock_start_bit(clock, clock->end_ps + (bit - pace->bit - 1) * clock->bit_ps[0], 0);
    pace->bit = bit;
}

/* The edge that begins a bit, as a listener's clock takes it: still in the bit before, or already in that one. */
static void take_edge(struct lw_sim_pace *pace, unsigned bit, uint64_t edge_ps)
{
    uint64_t end_ps = pace->clock.end_ps + (bit - 1 - pace->bit) * pace->clock.bit_ps[0];
    go_to_bit(pace, end_ps <= edge_ps ? bit : bit - 1);
    lw_bit_clock_edge(&pace->clock, edge_ps, false);
}

static bool is_change_dominant(const struct lw_sim_lockstep *lockstep, unsigned change)
{
    return is_sent_dominant(lockstep, lockstep->changes[change]);
}

static uint64_t change_ps(const struct lw_sim_lockstep *lockstep, unsigned unit, unsigned change)
{
    return drive_ps(lockstep, lockstep->changes[change]) + lockstep->after_ps[unit][is_change_dominant(lockstep, change)];
}

static void take_change(const struct lw_sim_lockstep *lockstep, unsigned unit, struct lw_sim_pace *pace, unsigned change)
{
    if (!is_change_dominant(lockstep, change))
        return;
    pace->edge_bit = lockstep->changes[change];
    pace->edge_ps = change_ps(lockstep, unit, change);
    if (unit != lockstep->sender)                /* its own edge comes back while it drives */
        take_edge(pace, pace->edge_bit, pace->edge_ps);
}

/* If the sender's bit begins so much after the unit's own, a change of either kind parts the samples, and an edge lies in the
 * synchronisation segment, where it moves nothing. */
static bool is_quiet_at(const struct lw_sim_lockstep *lockstep, unsigned unit, const struct lw_bit_clock *clock, int64_t late_ps)
{
    int64_t recessive_ps = late_ps + (int64_t)lockstep->after_ps[unit][0];
    int64_t dominant_ps = late_ps + (int64_t)lockstep->after_ps[unit][1];
    int64_t latest_ps = (int64_t)clock->to_sample_ps[0], earliest_ps = latest_ps - (int64_t)clock->bit_ps[0];
    if (recessive_ps <= earliest_ps || recessive_ps > latest_ps)
        return false;
    if (unit == lockstep->sender)
        return dominant_ps > earliest_ps && dominant_ps <= latest_ps;
    return dominant_ps >= 0 && dominant_ps < (int64_t)clock->tq_ps[0];
}

static int64_t late_ps(const struct lw_sim_lockstep *lockstep, const struct lw_sim_pace *pace, unsigned bit)
{
    return (int64_t)(drive_ps(lockstep, bit) - pace->clock.end_ps - (bit - pace->bit - 1) * pace->clock.bit_ps[0]);
}

/* From this change on to the last nothing moves the unit's clock, so that the last edge is all that it needs to take. As both
 * clocks then run evenly, what holds at the first and the last of these bits holds at all between. */
static bool is_quiet_from(const struct lw_sim_lockstep *lockstep, unsigned unit, const struct lw_sim_pace *pace,
                          unsigned change, uint64_t end_ps)
{
    unsigned first = lockstep->changes[change], last = lockstep->changes[lockstep->n_changes - 1];
    return first > pace->bit && change_ps(lockstep, unit, change) > pace->clock.sample_ps
        && change_ps(lockstep, unit, lockstep->n_changes - 1) < end_ps
        && is_quiet_at(lockstep, unit, &pace->clock, late_ps(lockstep, pace, first))
        && is_quiet_at(lockstep, unit, &pace->clock, late_ps(lockstep, pace, last));
}

static void take_last_edge(const struct lw_sim_lockstep *lockstep, unsigned unit, struct lw_sim_pace *pace, unsigned from)
{
    unsigned last = lockstep->n_changes - 1;
    if (is_change_dominant(lockstep, last))
        take_change(lockstep, unit, pace, last);
    else if (last > from)
        take_change(lockstep, unit, pace, last - 1);
}

/* Leads a unit through the changes before end_ps. Returns up to when what it sampled is known to be what was sent. */
static uint64_t lead(const struct lw_sim_lockstep *lockstep, unsigned unit, struct lw_sim_pace *pace, uint64_t end_ps)
{
    for (unsigned i = 0; i < lockstep->n_changes; i++) {
        unsigned bit = lockstep->changes[i];
        if (is_quiet_from(lockstep, unit, pace, i, end_ps)) {
            take_last_edge(lockstep, unit, pace, i);
            return end_ps;
        }
        uint64_t at_ps = change_ps(lockstep, unit, i), own_ps = sample_ps(pace, bit);
        if (at_ps > own_ps)
            return own_ps < end_ps ? own_ps : end_ps;
        if (at_ps >= end_ps)
            break;
        if (at_ps <= (bit - 1 == pace->bit ? pace->clock.sample_ps : own_ps - pace->clock.bit_ps[0]))
            return at_ps;
        take_change(lockstep, unit, pace, i);
    }
    return end_ps;
}

static struct lw_sim_pace pace_at_start(const struct lw_sim *sim, unsigned unit)
{
    return (struct lw_sim_pace){ .clock = sim->nodes[unit].clock, .bit = sim->lockstep.sending.n_sampled - 1 };
}

static void find_changes(struct lw_sim_lockstep *lockstep)
{
    lockstep->n_changes = 0;
    for (unsigned bit = lockstep->sending.n_sampled + 1; bit <= lockstep->sending.n_bits; bit++)
        if (is_sent_dominant(lockstep, bit) != is_sent_dominant(lockstep, bit - 1))
            lockstep->changes[lockstep->n_changes++] = (uint16_t)bit;
}

/* Up to the first end of a CRC delimiter: behind it acknowledges are driven. */
static void plan(struct lw_sim *sim)
{
    struct lw_sim_lockstep *lockstep = &sim->lockstep;
    find_changes(lockstep);
    lockstep->end_ps = LW_NEVER;
    for (uint32_t left = lockstep->units; left; left &= left - 1) {
        unsigned unit = (unsigned)__builtin_ctz(left);
        struct lw_sim_pace *pace = &lockstep->paces[unit];
        *pace = pace_at_start(sim, unit);
        lockstep->end_ps = lead(lockstep, unit, pace, lockstep->end_ps);
        uint64_t ack_ps = sample_ps(pace, lockstep->sending.n_bits + 1) - pace->clock.to_sample_ps[0];
        lockstep->end_ps = ack_ps < lockstep->end_ps ? ack_ps : lockstep->end_ps;
    }
}

/* Has sampled as much as the one that has just sampled, knows the same of the frame, and is not in the middle of something. */
static bool is_in_step(const struct lw_sim_node *node, const struct lw_mac *mac)
{
    return node->phase == LW_PHASE_AFTER_SAMPLE && !node->is_deaf && lw_mac_drives_dominant(node->mac) == node->is_driving
        && lw_mac_is_abreast(node->mac, mac);
}

/* False if there is another sender already, or one of another kind. */
static bool note_unit(struct lw_sim_lockstep *lockstep, const struct lw_sim_node *node, unsigned unit, bool *has_sender)
{
    struct lw_mac_sending sending;
    lockstep->units |= UINT32_C(1) << unit;
    if (!lw_mac_sending(node->mac, &sending))
        return !node->is_driving && !lw_mac_is_transmitter(node->mac);
    if (*has_sender)
        return false;
    *has_sender = true;
    lockstep->sender = unit;
    lockstep->sending = sending;
    return true;
}

/* The one that sends, if there is one and all are in step. Usually it is asked too soon, and the unit that was not in step
 * when it was asked before still is not: so that one comes first. */
static bool find_sender(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_lockstep *lockstep = &sim->lockstep;
    bool has_sender = false;
    lockstep->units = 0;
    for (unsigned n = 0, i = lockstep->late_unit; n < sim->plant.n_units; n++, i = i + 1 < sim->plant.n_units ? i + 1 : 0) {
        const struct lw_sim_node *node = &sim->nodes[i];
        if (node->phase == LW_PHASE_OFF)
            continue;
        if (!is_in_step(node, sim->nodes[unit].mac) || !note_unit(lockstep, node, i, &has_sender)) {
            lockstep->late_unit = i;
            return false;
        }
    }
    return has_sender && lockstep->sending.n_bits <= LW_LOCKSTEP_BITS
        && lockstep->sending.n_bits - lockstep->sending.n_sampled >= LEAST_BITS
        && lw_wires_listening(sim->wires) == lockstep->units;
}

static bool are_steady(struct lw_sim *sim)
{
    struct lw_sim_lockstep *lockstep = &sim->lockstep;
    const struct lw_bit_clock *clock = &sim->nodes[lockstep->sender].clock;
    lockstep->start_ps = clock->end_ps;
    lockstep->bit_ps = clock->bit_ps[0];
    for (uint32_t left = lockstep->units; left; left &= left - 1) {
        unsigned unit = (unsigned)__builtin_ctz(left);
        if (!lw_wires_is_steady(sim->wires, lockstep->sender, unit, lockstep->bit_ps, lockstep->start_ps + lockstep->bit_ps,
                                lockstep->after_ps[unit]))
            return false;
    }
    return true;
}

void lw_sim_try_lockstep(struct lw_sim *sim, unsigned unit)
{
    struct lw_sim_lockstep *lockstep = &sim->lockstep;
    if (sim->now_ps < lockstep->retry_ps || !lw_mac_is_in_frame(sim->nodes[unit].mac) || !find_sender(sim, unit)
        || !are_steady(sim))
        return;
    plan(sim);
    lockstep->retry_ps = lockstep->end_ps;
    lockstep->done_ps = sim->now_ps;
    lockstep->is_on = lockstep->end_ps > sim->now_ps + LEAST_BITS * lockstep->bit_ps;
}

/* The sender's TXD up to t_ps, in the wires and for the meter. */
static void drive_until(struct lw_sim *sim, uint64_t t_ps)
{
    const struct lw_sim_lockstep *lockstep = &sim->lockstep;
    uint64_t times_ps[LW_LOCKSTEP_BITS], now_ps = sim->now_ps;
    bool is_dominant = is_sent_dominant(lockstep, lockstep->sending.n_sampled);
    unsigned n = 0;
    for (; n < lockstep->n_changes && drive_ps(lockstep, lockstep->changes[n]) < t_ps; n++) {
        sim->now_ps = times_ps[n] = drive_ps(lockstep, lockstep->changes[n]);
        is_dominant = !is_dominant;
        lw_sim_note_drive(sim, lockstep->sender, is_dominant);
    }
    sim->now_ps = now_ps;
    sim->nodes[lockstep->sender].is_driving = is_dominant;
    lw_wires_resume(sim->wires, lockstep->sender, times_ps, n);
}

/* Number of the bits that it has sampled before t_ps. */
static unsigned n_sampled(const struct lw_sim_pace *pace, uint64_t t_ps)
{
    uint64_t next_ps = sample_ps(pace, pace->bit + 1);
    if (pace->clock.sample_ps >= t_ps)
        return pace->bit;
    return pace->bit + 1 + (next_ps < t_ps ? 1 + (unsigned)((t_ps - 1 - next_ps) / pace->clock.bit_ps[0]) : 0);
}

/* Where a unit's clock stands at t_ps: as planned, if it then had taken the same edges. */
static struct lw_sim_pace pace_at(const struct lw_sim *sim, unsigned unit, uint64_t t_ps)
{
    if (sim->lockstep.paces[unit].edge_ps < t_ps)
        return sim->lockstep.paces[unit];
    struct lw_sim_pace pace = pace_at_start(sim, unit);
    lead(&sim->lockstep, unit, &pace, t_ps);
    return pace;
}

/* Gives a unit's controller the bits from one to before another. The clock stands in some bit without synchronisation: the
 * trace wants to know where in its bit a sample lies. */
static void read_bits(struct lw_sim *sim, unsigned unit, unsigned from, unsigned to)
{
    struct lw_sim_node *node = &sim->nodes[unit];
    bool is_traced = unit == sim->trace.unit;
    if (is_traced)
        lw_bit_clock_start_bit(&node->clock, node->clock.end_ps, 0);
    for (unsigned bit = from; bit < to; bit++) {
        bool is_dominant = is_sent_dominant(&sim->lockstep, bit);
        node->is_driving = is_dominant && unit == sim->lockstep.sender;
        unsigned reports = lw_mac_sample(node->mac, is_dominant);
        if (is_traced)
            lw_sim_trace_bit(sim, node, is_dominant, reports);
    }
}

/* Puts a unit to where it stands at t_ps, its controller having read all before bit n already. */
static void settle(struct lw_sim *sim, unsigned unit, unsigned n, uint64_t t_ps)
{
    const struct lw_sim_lockstep *lockstep = &sim->lockstep;
    struct lw_sim_node *node = &sim->nodes[unit];
    struct lw_sim_pace pace = lockstep->paces[unit];
    bool is_in_next = pace.bit == n;
    if (!is_in_next)
        go_to_bit(&pace, n - 1);
    if (unit == lockstep->sender && is_sent_dominant(lockstep, n) != is_sent_dominant(lockstep, n - 1)
        && drive_ps(lockstep, n) < t_ps) {
        go_to_bit(&pace, n);
        is_in_next = true;
    }
    node->clock = pace.clock;
    node->phase = is_in_next ? LW_PHASE_BEFORE_SAMPLE : LW_PHASE_AFTER_SAMPLE;
    node->was_recessive = !is_sent_dominant(lockstep, n - 1);
    node->is_rxd_dominant = !node->was_recessive || pace.edge_bit == n;
    if (pace.edge_bit > 0)
        node->edge_ps = pace.edge_ps;
    lw_sim_expect(sim, unit);
}

void lw_sim_leave_lockstep(struct lw_sim *sim, uint64_t t_ps)
{
    struct lw_sim_lockstep *lockstep = &sim->lockstep;
    unsigned n[LW_PLANT_MAX_UNITS], fewest = lockstep->sending.n_bits;
    if (!lockstep->is_on)
        return;
    unsigned leader = lockstep->units >> sim->trace.unit & 1 ? sim->trace.unit : lockstep->sender;
    lockstep->is_on = false;
    lockstep->retry_ps = 0;
    for (uint32_t left = lockstep->units; left; left &= left - 1) {
        unsigned unit = (unsigned)__builtin_ctz(left);
        lockstep->paces[unit] = pace_at(sim, unit, t_ps);
        n[unit] = n_sampled(&lockstep->paces[unit], t_ps);
        fewest = n[unit] < fewest ? n[unit] : fewest;
    }
    read_bits(sim, leader, lockstep->sending.n_sampled, fewest);
    for (uint32_t left = lockstep->units; left; left &= left - 1)
        lw_mac_catch_up(sim->nodes[__builtin_ctz(left)].mac, sim->nodes[leader].mac, fewest);
    for (uint32_t left = lockstep->units; left; left &= left - 1)
        read_bits(sim, (unsigned)__builtin_ctz(left), fewest, n[__builtin_ctz(left)]);
    drive_until(sim, t_ps);
    for (uint32_t left = lockstep->units; left; left &= left - 1)
        settle(sim, (unsigned)__builtin_ctz(left), n[__builtin_ctz(left)], t_ps);
}
