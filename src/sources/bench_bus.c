/* SPDX-License-Identifier: MIT
 *
 * The bus of a bench machine at frame level: who is on it, whose frame wins the wire, how long it takes. Called by
 * bench.c only, through the seam in bench_bus.h.
 */
#include "bench_bus.h"

#include "loomwatch/core/wire.h"

#include <assert.h>
#include <errno.h>
#include <string.h>

enum { NS_PER_MS = 1000000 };

/* The frame that goes out next. */
struct plan {
    size_t message;
    uint64_t start_ns;       /* UINT64_MAX: none */
    uint64_t end_ns;         /* of its last bit: when it is received */
    uint64_t free_ns;        /* after the intermission */
    struct lw_frame frame;
};

static void set_unit(struct lw_bench_bus *bus, unsigned unit, bool is_on, uint64_t t_ns)
{
    if (bus->has_unit[unit] == is_on)
        return;
    bus->has_unit[unit] = is_on;
    if (is_on && unit == bus->machine->joining_unit)
        bus->join_ns = UINT64_MAX;
    for (size_t i = 0; i < bus->machine->n_messages; i++) {
        if (bus->machine->messages[i].unit != unit)
            continue;
        if (is_on)
            lw_bench_slot_start(bus, i, t_ns);
        else
            lw_bench_slot_stop(&bus->slots[i]);
    }
}

void lw_bench_bus_init(struct lw_bench_bus *self, const struct lw_bench_machine *machine, uint64_t seed, unsigned bus)
{
    assert(machine->n_units <= LW_BENCH_MAX_UNITS && machine->n_messages <= LW_BENCH_MAX_MESSAGES);
    memset(self, 0, sizeof *self);
    self->machine = machine;
    self->seed = seed;
    self->join_ns = (uint64_t)machine->join_ms * NS_PER_MS;
    lw_bench_adapter_init(&self->adapter, machine, bus);
    for (size_t i = 0; i < machine->n_messages; i++)
        lw_bench_slot_stop(&self->slots[i]);
    for (unsigned i = 0; i < machine->n_units; i++)
        set_unit(self, i, machine->units[i].is_resident, 0);
}

static struct lw_id_key key_of(const struct lw_bench_message *message)
{
    return (struct lw_id_key){ .id = message->id, .is_extended = message->is_extended };
}

static uint64_t earliest_release_ns(const struct lw_bench_bus *bus)
{
    uint64_t earliest = UINT64_MAX;
    for (size_t i = 0; i < bus->machine->n_messages; i++) {
        uint64_t release = lw_bench_slot_release_ns(&bus->slots[i]);
        earliest = release < earliest ? release : earliest;
    }
    return earliest;
}

/* Of all that wait when the wire falls idle, the one that wins arbitration. */
static size_t winner(const struct lw_bench_bus *bus, uint64_t start_ns)
{
    const struct lw_bench_message *rows = bus->machine->messages;
    size_t best = bus->machine->n_messages;
    for (size_t i = 0; i < bus->machine->n_messages; i++)
        if (lw_bench_slot_release_ns(&bus->slots[i]) <= start_ns &&
            (best == bus->machine->n_messages || lw_id_key_order(key_of(&rows[i]), key_of(&rows[best])) < 0))
            best = i;
    return best;
}

static void plan_frame(const struct lw_bench_bus *bus, struct plan *plan)
{
    uint64_t release = earliest_release_ns(bus);
    plan->start_ns = plan->end_ns = UINT64_MAX;
    if (release == UINT64_MAX)
        return;
    uint32_t rate = bus->machine->bit_rate_bps;
    plan->start_ns = release > bus->free_ns ? release : bus->free_ns;
    plan->message = winner(bus, plan->start_ns);
    lw_bench_frame(bus, plan->message, plan->start_ns, &plan->frame);
    struct lw_wire_length length = lw_wire_length(&plan->frame);
    plan->free_ns = plan->start_ns + lw_wire_time_ns(&length, rate, 0);
    plan->end_ns = plan->free_ns - (uint64_t)LW_INTERMISSION_BITS * 1000000000 / rate;
}

/* Units go on sending whether the adapter hears them or not. */
static void send_frame(struct lw_bench_bus *bus, const struct plan *plan)
{
    bus->free_ns = plan->free_ns;
    lw_bench_slot_advance(bus, plan->message);
    if (lw_bench_trouble_is_deaf(bus))
        return;
    if (!bus->n_to_drop) {
        lw_bench_adapter_frame(&bus->adapter, &plan->frame, plan->end_ns);
        return;
    }
    if (++bus->n_dropped == bus->n_to_drop) {
        lw_bench_adapter_overrun(&bus->adapter, bus->n_dropped, plan->end_ns);
        bus->n_to_drop = bus->n_dropped = 0;
    }
}

static void do_now(struct lw_bench_bus *bus, struct lw_bench_deed_row row, uint64_t t_ns)
{
    if (row.deed <= LW_BENCH_SWAP)
        set_unit(bus, row.unit, row.deed == LW_BENCH_SWAP ? !bus->has_unit[row.unit] : row.deed == LW_BENCH_PLUG, t_ns);
    else
        lw_bench_trouble_begin(bus, row.deed, t_ns);
}

static uint64_t pending_ns(const struct lw_bench_bus *bus)
{
    return bus->n_pending ? bus->pending[0].t_ns : UINT64_MAX;
}

static void do_pending(struct lw_bench_bus *bus)
{
    struct lw_bench_pending first = bus->pending[0];
    memmove(bus->pending, bus->pending + 1, --bus->n_pending * sizeof *bus->pending);
    do_now(bus, first.deed, first.t_ns);
}

/* What happens next besides frames: deeds, the joining unit, troubles, link reports; in this order at equal times. */
static uint64_t next_change_ns(const struct lw_bench_bus *bus)
{
    const uint64_t times[] = { pending_ns(bus), bus->join_ns, lw_bench_trouble_next_ns(bus), bus->adapter.link_due_ns };
    uint64_t next = UINT64_MAX;
    for (size_t i = 0; i < sizeof times / sizeof *times; i++)
        next = times[i] < next ? times[i] : next;
    return next;
}

static void change(struct lw_bench_bus *bus, uint64_t t_ns)
{
    if (pending_ns(bus) == t_ns)
        do_pending(bus);
    else if (bus->join_ns == t_ns)
        set_unit(bus, bus->machine->joining_unit, true, t_ns);
    else if (lw_bench_trouble_next_ns(bus) == t_ns)
        lw_bench_trouble_step(bus, t_ns);
    else
        lw_bench_adapter_tell_link(&bus->adapter, t_ns);
}

/* A frame on the wire is finished before a change takes effect; one that has not begun comes after it. So the order
 * does not depend on how far the caller looked. */
bool lw_bench_bus_next(struct lw_bench_bus *self, uint64_t until_ns, struct lw_event *out)
{
    for (;;) {
        if (self->adapter.n_waiting)
            return lw_bench_adapter_take(&self->adapter, until_ns, out);
        struct plan plan;
        plan_frame(self, &plan);
        uint64_t change_ns = next_change_ns(self);
        bool is_change = change_ns <= plan.start_ns;
        uint64_t next_ns = is_change ? change_ns : plan.end_ns;
        if (next_ns > until_ns || next_ns == UINT64_MAX)
            return false;
        if (is_change)
            change(self, change_ns);
        else
            send_frame(self, &plan);
    }
}

uint64_t lw_bench_bus_due_ns(const struct lw_bench_bus *self)
{
    if (self->adapter.n_waiting)
        return self->adapter.waiting[self->adapter.first].t_ns;
    struct plan plan;
    plan_frame(self, &plan);
    uint64_t change_ns = next_change_ns(self);
    bool is_change = change_ns <= plan.start_ns || lw_bench_trouble_is_deaf(self);
    return is_change ? change_ns : plan.end_ns;
}

int lw_bench_bus_do(struct lw_bench_bus *self, struct lw_bench_deed_row deed, uint64_t t_ns)
{
    if (self->n_pending == LW_BENCH_PENDING)
        return -EINVAL;
    uint64_t newest = self->n_pending ? self->pending[self->n_pending - 1].t_ns : self->adapter.last_ns;
    self->pending[self->n_pending++] =
        (struct lw_bench_pending){ .t_ns = t_ns > newest ? t_ns : newest, .deed = deed };
    return 0;
}
