/* SPDX-License-Identifier: MIT
 *
 * The passing of bus time: start of a watch, whole seconds, and silence of the whole bus.
 */
#include "monitor_state.h"

#include <string.h>

static const uint64_t second_ns = UINT64_C(1000000000);
static const uint64_t judge_ns = LW_JUDGE_MS * (uint64_t)LW_NS_PER_MS;

static struct lw_id_key bus_key(unsigned bus)
{
    return (struct lw_id_key){ .bus = (uint8_t)bus };
}

uint64_t lw_monitor_bus_time(const struct bus *bus, uint64_t t_ns)
{
    uint64_t sane = t_ns > INT64_MAX ? INT64_MAX : t_ns == 0 ? 1 : t_ns;
    sane += bus->set_back_ns;
    return sane > INT64_MAX ? INT64_MAX : sane;
}

/* Only if no event since the last tick says otherwise: a capture may hold frames in another order than their times. */
void lw_monitor_follow_clock(struct bus *bus, uint64_t t_ns)
{
    uint64_t margin = LW_SET_BACK_MS * (uint64_t)LW_NS_PER_MS;
    bool is_back = t_ns + margin < bus->now_ns && bus->newest_ns + margin < bus->now_ns;
    bus->newest_ns = 0;
    if (is_back)
        bus->set_back_ns += bus->now_ns - t_ns;
}

static void start(struct lw_monitor *monitor, unsigned index, uint64_t t_ns)
{
    struct bus *bus = &monitor->buses[index];
    bus->has_started = true;
    bus->start_ns = bus->now_ns = bus->second_ns = bus->watched_from_ns = t_ns;
    bus->judge_ns = t_ns + judge_ns;
    lw_monitor_note(monitor, LW_HAPPENED_START, bus_key(index), t_ns, 0);
}

static void push(uint16_t history[LW_HISTORY], uint32_t value)
{
    memmove(history, history + 1, (LW_HISTORY - 1) * sizeof(history[0]));
    history[LW_HISTORY - 1] = (uint16_t)(value > UINT16_MAX ? UINT16_MAX : value);
}

static void roll_second(struct lw_monitor *monitor, unsigned index)
{
    struct bus *bus = &monitor->buses[index];
    bus->frames_hz = (uint32_t)(bus->n_frames - bus->n_frames_at_second);
    bus->errors_hz = (uint32_t)(bus->controller.bus_errors.n - bus->n_errors_at_second);
    bus->n_frames_at_second = bus->n_frames;
    bus->n_errors_at_second = bus->controller.bus_errors.n;
    push(bus->frames_history, bus->frames_hz);
    push(bus->errors_history, bus->errors_hz);
    push(bus->load_history, lw_load_permille(&bus->load).value);
    if (bus->n_history < LW_HISTORY)
        bus->n_history++;
    for (size_t i = 0; i < monitor->table.n_entries; i++) {
        struct lw_id_entry *entry = &monitor->table.entries[i];
        if (entry->key.bus != index)
            continue;
        entry->rate_hz = (uint32_t)(entry->n_frames - entry->n_at_second);
        entry->n_at_second = entry->n_frames;
    }
    bus->second_ns += second_ns;
}

uint64_t lw_monitor_pause_ns(const struct bus *bus)
{
    return bus->shortest_period_ns + bus->shortest_period_ns / 4;
}

uint64_t lw_monitor_silence_ns(const struct bus *bus)
{
    /* What is there tells best; before anything has settled, the baseline does. */
    uint64_t shortest = bus->shortest_period_ns != 0 ? bus->shortest_period_ns : bus->shortest_expected_ns;
    if (shortest == 0)
        return LW_SILENCE_DEFAULT_MS * (uint64_t)LW_NS_PER_MS;
    uint64_t limit = 3 * shortest, least = LW_SILENCE_MIN_MS * (uint64_t)LW_NS_PER_MS;
    return limit > least ? limit : least;
}

/* A bus that never spoke is silent only if something is expected of it. */
static void judge_silence(struct lw_monitor *monitor, unsigned index, uint64_t t_ns)
{
    struct bus *bus = &monitor->buses[index];
    bool has_spoken = bus->first_frame_ns != 0;
    if (bus->silent_since_ns != 0 || bus->has_ended || (!has_spoken && !monitor->has_baseline))
        return;
    uint64_t since = has_spoken ? bus->last_frame_ns : bus->start_ns;
    if (t_ns <= since + lw_monitor_silence_ns(bus))
        return;
    bus->silent_since_ns = since;
    lw_monitor_note(monitor, LW_HAPPENED_SILENT, bus_key(index), since, 0);
}

static void judge(struct lw_monitor *monitor, unsigned index, uint64_t t_ns)
{
    struct bus *bus = &monitor->buses[index];
    lw_load_advance(&bus->load, t_ns);
    if (t_ns >= bus->second_ns + second_ns)
        roll_second(monitor, index);
    judge_silence(monitor, index, t_ns);
    if (bus->is_in_errors
        && t_ns > bus->controller.bus_errors.last_ns + LW_ERRORS_OVER_MS * (uint64_t)LW_NS_PER_MS) {
        bus->is_in_errors = false;
        lw_monitor_note(monitor, LW_HAPPENED_ERRORS_OVER, bus_key(index), t_ns, 0);
    }
    lw_monitor_judge_ids(monitor, index, t_ns);
    lw_monitor_judge_evidence(monitor, index, true, t_ns);
    lw_monitor_judge_windows(monitor, t_ns);
}

/* A clock set forward or a capture pieced together may jump by years: what lies between is one hole, not a million
 * judgements. */
static void jump(struct lw_monitor *monitor, unsigned index, uint64_t t_ns)
{
    struct bus *bus = &monitor->buses[index];
    enum { AT_MOST_S = 3600 };
    if (t_ns < bus->judge_ns + AT_MOST_S * second_ns)
        return;
    judge(monitor, index, bus->judge_ns);
    bus->second_ns = t_ns;
    bus->judge_ns = t_ns;
}

void lw_monitor_advance(struct lw_monitor *monitor, unsigned index, uint64_t t_ns)
{
    struct bus *bus = &monitor->buses[index];
    if (!bus->has_started)
        start(monitor, index, t_ns);
    if (t_ns <= bus->now_ns)
        return;
    jump(monitor, index, t_ns);
    while (t_ns >= bus->judge_ns) {
        bus->now_ns = bus->judge_ns;
        judge(monitor, index, bus->judge_ns);
        bus->judge_ns += judge_ns;
    }
    bus->now_ns = t_ns;
}

void lw_monitor_heard(struct lw_monitor *monitor, unsigned index, uint64_t t_ns)
{
    struct bus *bus = &monitor->buses[index];
    if (bus->first_frame_ns == 0)
        bus->first_frame_ns = bus->back_ns = t_ns;
    if (bus->silent_since_ns != 0) {
        uint64_t hole = t_ns > bus->silent_since_ns ? t_ns - bus->silent_since_ns : 0;
        bus->back_ns = t_ns;
        bus->hole_from_ns = bus->silent_since_ns;
        bus->hole_ns += hole;
        bus->silent_since_ns = 0;
        lw_monitor_note(monitor, LW_HAPPENED_SOUND, bus_key(index), t_ns, hole);
    }
    if (bus->shortest_period_ns != 0 && t_ns > bus->last_frame_ns + lw_monitor_pause_ns(bus))
        bus->resumed_ns = t_ns;
    if (t_ns > bus->last_frame_ns)
        bus->last_frame_ns = t_ns;
}
