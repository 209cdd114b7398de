/* SPDX-License-Identifier: MIT
 *
 * What goes wrong on the bench bus: error burst, bus off, missing acknowledge, adapter overrun. Each is a sequence of
 * steps in time. Called by bench_bus.c only.
 */
#include "bench_bus.h"

#include "loomwatch/core/wire.h"

#include <stddef.h>

enum { NS_PER_US = 1000, NS_PER_MS = 1000000 };

/* linux/can/error.h: data[2], which rule was violated. */
enum { VIOLATION_FORM = 0x02, VIOLATION_STUFF = 0x04, VIOLATION_BIT1 = 0x10, VIOLATION_SENDING = 0x80 };

/* linux/can/error.h: data[3], where in the frame. */
enum { PLACE_UNSPECIFIED = 0x00, PLACE_CRC = 0x08, PLACE_DATA = 0x0A, PLACE_ID_4_0 = 0x0E, PLACE_CRC_DELIMITER = 0x18 };

/* The burst: bouts of interference, each spoiling so many frames in a row that the adapter, first to notice, counts up
 * to error warning; good frames heal it again. ISO 11898-1: 1 for the error, 8 for the dominant bit after the flag. */
enum { BURST_BOUTS = 2, BURST_PER_BOUT = 11, BURST_BETWEEN_MS = 290, REC_PER_ERROR = 9 };

/* What an error costs on the wire besides the spoiled part: flags 6 to 12 bits, delimiter 8, intermission 3. */
enum { ERROR_FRAME_BITS = 12 + 8 + LW_INTERMISSION_BITS, SPOILED_MIN_BITS = 30, SPOILED_MAX_BITS = 100 };

/* Bus off, of a wire stuck dominant: after the flag the counter rises by 8 at the 14th dominant bit and with every eight
 * more (ISO 11898-1), up to 256. */
enum { TEC_STEP = 8, STUCK_FIRST_BITS = 14, STUCK_NEXT_BITS = 8, BUS_OFF_TEC = 256, PASSIVE_TEC = 128 };

/* Missing acknowledge. A controller repeats without pause, thousands of times a second; adapters that report errors
 * over a slow line pass on a part of them (common practice, no source). So many a second can also be followed by eye. */
enum { NO_ACKNOWLEDGE_MS = 2000, NO_ACKNOWLEDGE_EVERY_US = 12500 };

enum { OVERRUN_FRAMES = 24 };

enum { DRAW_BURST = 1 << 16 };

static const struct { uint8_t violation, place; } burst_errors[] = {
    { VIOLATION_STUFF, PLACE_DATA },   { VIOLATION_STUFF, PLACE_ID_4_0 },
    { 0, PLACE_CRC },                  { VIOLATION_FORM, PLACE_CRC_DELIMITER },
};

static uint64_t bits_ns(const struct lw_bench_bus *bus, uint64_t n_bits)
{
    return n_bits * 1000000000 / bus->machine->bit_rate_bps;
}

static void begin(struct lw_bench_trouble *trouble, uint64_t t_ns)
{
    if (!trouble->is_active)
        *trouble = (struct lw_bench_trouble){ .is_active = true, .next_ns = t_ns };
}

void lw_bench_trouble_begin(struct lw_bench_bus *self, enum lw_bench_deed deed, uint64_t t_ns)
{
    if (deed == LW_BENCH_ERROR_BURST)
        begin(&self->burst, t_ns);
    else if (deed == LW_BENCH_BUS_OFF)
        begin(&self->bus_off, t_ns);
    else if (deed == LW_BENCH_NO_ACKNOWLEDGE)
        begin(&self->no_acknowledge, t_ns);
    else if (deed == LW_BENCH_OVERRUN && !self->n_to_drop)
        self->n_to_drop = OVERRUN_FRAMES;
}

bool lw_bench_trouble_is_deaf(const struct lw_bench_bus *self)
{
    return self->bus_off.is_active || self->no_acknowledge.is_active;
}

static void step_burst(struct lw_bench_bus *bus, struct lw_bench_trouble *trouble, uint64_t t_ns)
{
    uint64_t lot = lw_bench_draw(bus->seed, DRAW_BURST, t_ns);
    size_t which = lot % (sizeof burst_errors / sizeof *burst_errors);
    if (!lw_bench_trouble_is_deaf(bus)) {
        struct lw_bench_adapter *adapter = &bus->adapter;
        unsigned rec = adapter->rec < PASSIVE_TEC ? adapter->rec + REC_PER_ERROR : adapter->rec;
        lw_bench_adapter_count(adapter, adapter->tec, rec, t_ns);
        lw_bench_adapter_error(adapter, 0, burst_errors[which].violation, burst_errors[which].place, t_ns);
    }
    trouble->step++;
    trouble->is_active = trouble->step < BURST_BOUTS * BURST_PER_BOUT;
    uint64_t spoiled = SPOILED_MIN_BITS + (lot >> 32) % (SPOILED_MAX_BITS - SPOILED_MIN_BITS);
    bool is_last_of_bout = trouble->step % BURST_PER_BOUT == 0;
    uint64_t busy_bits = ERROR_FRAME_BITS + (is_last_of_bout ? 0 : spoiled);
    uint64_t end_ns = (t_ns > bus->free_ns ? t_ns : bus->free_ns) + bits_ns(bus, busy_bits);
    bus->free_ns = end_ns;
    trouble->next_ns = is_last_of_bout ? t_ns + (uint64_t)BURST_BETWEEN_MS * NS_PER_MS : end_ns;
}

static void step_bus_off(struct lw_bench_bus *bus, struct lw_bench_trouble *trouble, uint64_t t_ns)
{
    struct lw_bench_adapter *adapter = &bus->adapter;
    if (adapter->link.state == LW_STATE_BUS_OFF) {
        trouble->is_active = false;
        lw_bench_adapter_restart(adapter, t_ns);
        return;
    }
    unsigned tec = adapter->tec + TEC_STEP;
    lw_bench_adapter_count(adapter, tec > BUS_OFF_TEC ? BUS_OFF_TEC : tec, adapter->rec, t_ns);
    if (trouble->step++ == 0)
        lw_bench_adapter_error(adapter, 0, VIOLATION_BIT1 | VIOLATION_SENDING, PLACE_UNSPECIFIED, t_ns);
    if (adapter->link.state == LW_STATE_BUS_OFF)
        trouble->next_ns = t_ns + (uint64_t)bus->machine->restart_ms * NS_PER_MS;
    else
        trouble->next_ns = t_ns + bits_ns(bus, trouble->step == 1 ? STUCK_FIRST_BITS : STUCK_NEXT_BITS);
}

static void step_no_acknowledge(struct lw_bench_bus *bus, struct lw_bench_trouble *trouble, uint64_t t_ns)
{
    struct lw_bench_adapter *adapter = &bus->adapter;
    if (!bus->bus_off.is_active) {
        /* An error passive sender that only misses the acknowledge counts no further (ISO 11898-1). */
        unsigned tec = adapter->tec < PASSIVE_TEC ? adapter->tec + TEC_STEP : adapter->tec;
        lw_bench_adapter_count(adapter, tec < PASSIVE_TEC ? tec : PASSIVE_TEC, adapter->rec, t_ns);
        lw_bench_adapter_error(adapter, LW_CLASS_NO_ACKNOWLEDGE, VIOLATION_SENDING, LW_PLACE_ACK_SLOT, t_ns);
    }
    trouble->step++;
    trouble->is_active = trouble->step < NO_ACKNOWLEDGE_MS * 1000 / NO_ACKNOWLEDGE_EVERY_US;
    trouble->next_ns = t_ns + (uint64_t)NO_ACKNOWLEDGE_EVERY_US * NS_PER_US;
}

static uint64_t next_of(const struct lw_bench_trouble *trouble)
{
    return trouble->is_active ? trouble->next_ns : UINT64_MAX;
}

static uint64_t earlier(uint64_t a, uint64_t b)
{
    return a < b ? a : b;
}

uint64_t lw_bench_trouble_next_ns(const struct lw_bench_bus *self)
{
    return earlier(next_of(&self->bus_off), earlier(next_of(&self->no_acknowledge), next_of(&self->burst)));
}

void lw_bench_trouble_step(struct lw_bench_bus *self, uint64_t t_ns)
{
    if (next_of(&self->bus_off) == t_ns)
        step_bus_off(self, &self->bus_off, t_ns);
    else if (next_of(&self->no_acknowledge) == t_ns)
        step_no_acknowledge(self, &self->no_acknowledge, t_ns);
    else if (next_of(&self->burst) == t_ns)
        step_burst(self, &self->burst, t_ns);
}
