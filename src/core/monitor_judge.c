/* SPDX-License-Identifier: MIT
 *
 * Judgement: what is wrong with each message, and which windows that lights.
 */
#include "monitor_state.h"

static const uint64_t ms = LW_NS_PER_MS;

static uint64_t max_of(uint64_t a, uint64_t b)
{
    return a > b ? a : b;
}

/* When a message could last be heard: not before the watch, the baseline or the bus's return. */
static uint64_t heard_ns(const struct bus *bus, const struct lw_id_entry *entry)
{
    return max_of(max_of(entry->last_data_ns, bus->back_ns), max_of(bus->start_ns, bus->watched_from_ns));
}

/* How long a message has not been heard, though it could have been, and only as far as the bus proves that it lives. */
static uint64_t unheard_ns(const struct bus *bus, const struct lw_id_entry *entry, uint64_t t_ns)
{
    uint64_t since = heard_ns(bus, entry);
    uint64_t alive = bus->last_frame_ns + lw_monitor_pause_ns(bus);
    uint64_t until = t_ns < alive ? t_ns : alive;
    return until > since ? until - since : 0;
}

bool lw_monitor_is_deaf(const struct bus *bus)
{
    const struct lw_controller *controller = &bus->controller;
    return controller->state == LW_STATE_BUS_OFF
        || (controller->has_link && (!controller->link.is_present || !controller->link.is_up));
}

static bool is_blind(const struct bus *bus)
{
    return bus->has_ended || bus->silent_since_ns != 0 || bus->first_frame_ns == 0 || lw_monitor_is_deaf(bus);
}

static uint8_t judge_missing(const struct bus *bus, const struct lw_id_entry *entry, const struct lw_expected *expected,
                             uint64_t t_ns)
{
    if (is_blind(bus))
        return entry->conditions & (LW_ABSENT | LW_LATE);   /* what was known stays known */
    /* After a pause of the whole bus that was too short to be called silence, a message is given its turn first. */
    if (t_ns < bus->resumed_ns + expected->period_ns + expected->period_ns / 4)
        return entry->conditions & (LW_ABSENT | LW_LATE);
    if (!lw_rhythm_has_period(expected->rhythm) || expected->may_pause)
        return 0;
    uint64_t unheard = unheard_ns(bus, entry, t_ns);
    if (unheard > lw_expected_absent_ns(expected))
        return LW_ABSENT;
    return unheard > lw_expected_late_ns(expected) ? LW_LATE : 0;
}

/* Half the mean gap may come of a burst: what a sender had queued while nobody heard it. Two senders of one period show otherwise:
 * any two gaps in a row make up the period, and every other gap is alike, which events in between are not. */
static uint8_t judge_rhythm(const struct lw_expected *expected, const struct lw_id_entry *entry)
{
    const struct lw_period *period = &entry->period;
    uint8_t conditions = lw_compare_rhythm(expected, period->rhythm, period->period_ns, period->mean_ns);
    uint64_t pair = period->pair_ns, usual = expected->period_ns;
    bool is_interleaved = pair * 100 > usual * 80 && pair * 100 < usual * 120 && period->unsteady_ns < usual / 8;
    bool is_own = 2 * entry->n_own > entry->n_frames;
    return is_interleaved && !is_own ? conditions : conditions & (uint8_t)~LW_SECOND_SENDER;
}

static uint8_t judge_expected(const struct bus *bus, const struct lw_id_entry *entry, const struct lw_expected *expected,
                              uint64_t t_ns)
{
    uint8_t conditions = judge_missing(bus, entry, expected, t_ns);
    if (entry->n_frames == 0 || (conditions & LW_ABSENT))
        return conditions;
    const struct lw_period *period = &entry->period;
    conditions |= lw_compare_lengths(expected, entry->dlc_seen);
    /* Until enough gaps are in, nothing is known. */
    if (period->n_gaps >= LW_PERIOD_MIN_GAPS)
        conditions |= judge_rhythm(expected, entry);
    return conditions;
}

/* Without a place in a baseline a message can only be held against its own past. One that is new since the baseline is the
 * module being joined: it must not go again unnoticed. */
static uint8_t judge_by_past(const struct bus *bus, const struct lw_id_entry *entry, uint64_t t_ns)
{
    if (entry->settled_period_ns == 0)
        return 0;
    struct lw_expected past = {
        .rhythm = LW_RHYTHM_CYCLIC, .period_ns = entry->settled_period_ns, .tolerance_ns = UINT64_MAX,
        .longest_gap_ns = entry->period.longest_ns,
    };
    uint8_t missing = entry->conditions & LW_UNEXPECTED ? judge_missing(bus, entry, &past, t_ns) & LW_ABSENT : 0;
    if (missing)
        return missing;
    return judge_rhythm(&past, entry);
}

static void note_gone(struct lw_monitor *monitor, enum lw_happening_kind kind, const struct lw_id_entry *entry, uint64_t t_ns)
{
    uint64_t last_ns = heard_ns(&monitor->buses[entry->key.bus], entry);
    lw_monitor_note_message(monitor, kind, entry, last_ns, t_ns);
    lw_monitor_unit_gone(monitor, entry, last_ns, t_ns);
}

static void note_begun(struct lw_monitor *monitor, struct lw_id_entry *entry, uint8_t begun, uint64_t t_ns)
{
    if (begun & LW_ABSENT) {
        entry->n_absences++;
        lw_monitor_note_went(entry, t_ns);
        note_gone(monitor, LW_HAPPENED_ABSENT, entry, t_ns);
    }
    if (begun & LW_PERIOD_CHANGED)
        lw_monitor_note(monitor, LW_HAPPENED_PERIOD, entry->key, t_ns, 0);
    if (begun & LW_LENGTH_CHANGED)
        lw_monitor_note(monitor, LW_HAPPENED_LENGTH, entry->key, t_ns, 0);
    if (begun & LW_SECOND_SENDER) {
        entry->n_second_sender++;
        lw_monitor_note(monitor, LW_HAPPENED_SECOND_SENDER, entry->key, t_ns, 0);
    }
}

static void judge_quiet(struct lw_monitor *monitor, const struct bus *bus, struct lw_id_entry *entry, uint64_t t_ns)
{
    if (entry->is_quiet || entry->n_frames == 0 || is_blind(bus) || (entry->conditions & LW_ABSENT)
        || !lw_rhythm_has_period(entry->period.rhythm))
        return;
    uint64_t limit = max_of(LW_QUIET_PERIODS * entry->period.period_ns, LW_QUIET_MIN_MS * ms);
    if (unheard_ns(bus, entry, t_ns) <= limit)
        return;
    entry->is_quiet = true;
    lw_monitor_note_went(entry, t_ns);
    if (entry->expected == LW_NO_INDEX)
        entry->n_absences++;
    note_gone(monitor, LW_HAPPENED_QUIET, entry, t_ns);
}

static void settle(struct lw_id_entry *entry)
{
    struct lw_period *period = &entry->period;
    lw_period_estimate(period);
    if (period->rhythm != LW_RHYTHM_CYCLIC)
        return;
    if (entry->settled_period_ns == 0 && period->n_gaps >= LW_SETTLED_GAPS)
        entry->settled_period_ns = period->period_ns;
}

/* The shortest period of those that are there: one that was not heard since the bus came back, or was given up, says
 * nothing of how soon the next frame is due. */
static void note_shortest(uint64_t *shortest_ns, const struct bus *bus, const struct lw_id_entry *entry)
{
    const struct lw_period *period = &entry->period;
    if (period->rhythm != LW_RHYTHM_CYCLIC || entry->last_data_ns < bus->back_ns || entry->is_quiet
        || (entry->conditions & LW_ABSENT))
        return;
    if (*shortest_ns == 0 || period->period_ns < *shortest_ns)
        *shortest_ns = period->period_ns;
}

static void judge_id(struct lw_monitor *monitor, struct bus *bus, struct lw_id_entry *entry, uint64_t t_ns)
{
    settle(entry);
    lw_monitor_unit_rhythm(monitor, entry);
    uint8_t conditions = entry->conditions & LW_UNEXPECTED;
    if (entry->expected != LW_NO_INDEX)
        conditions |= judge_expected(bus, entry, &monitor->baseline.ids[entry->expected], t_ns);
    else
        conditions |= judge_by_past(bus, entry, t_ns);
    uint8_t begun = conditions & (uint8_t)~entry->conditions;
    if (begun != 0) {
        entry->condition_since_ns = t_ns;
        note_begun(monitor, entry, begun, t_ns);
    }
    entry->conditions = conditions;
    judge_quiet(monitor, bus, entry, t_ns);
}

/* Counts messages with one of the conditions; which: the one that got it last. */
static void count(unsigned *n, struct lw_id_key *which, uint64_t *since_ns, const struct lw_id_entry *entry,
                  uint8_t conditions)
{
    if (!(entry->conditions & conditions))
        return;
    (*n)++;
    if (entry->condition_since_ns >= *since_ns) {
        *which = entry->key;
        *since_ns = entry->condition_since_ns;
    }
}

void lw_monitor_judge_ids(struct lw_monitor *monitor, unsigned index, uint64_t t_ns)
{
    struct bus *bus = &monitor->buses[index];
    uint64_t shortest_ns = 0, since_ns[3] = { 0 };
    bus->n_absent = bus->n_changed = bus->n_second_sender = 0;
    for (size_t i = 0; i < monitor->table.n_entries; i++) {
        struct lw_id_entry *entry = &monitor->table.entries[i];
        if (entry->key.bus != index)
            continue;
        judge_id(monitor, bus, entry, t_ns);
        note_shortest(&shortest_ns, bus, entry);
        count(&bus->n_absent, &bus->absent, &since_ns[0], entry, LW_ABSENT);
        count(&bus->n_changed, &bus->changed, &since_ns[1], entry, LW_PERIOD_CHANGED | LW_LENGTH_CHANGED);
        count(&bus->n_second_sender, &bus->second_sender, &since_ns[2], entry, LW_SECOND_SENDER);
    }
    bus->shortest_period_ns = shortest_ns;
}

void lw_monitor_returned(struct lw_monitor *monitor, struct lw_id_entry *entry, uint64_t t_ns)
{
    struct bus *bus = &monitor->buses[entry->key.bus];
    bool was_heard = entry->n_frames > 0;
    if ((entry->conditions & LW_ABSENT) || (entry->is_quiet && was_heard)) {
        lw_monitor_note_message(monitor, LW_HAPPENED_RETURNED, entry, 0, t_ns);
        lw_monitor_unit_back(monitor, entry, t_ns);
        lw_monitor_note_coming(bus, t_ns);
    }
    if ((entry->conditions & (LW_ABSENT | LW_LATE)) == LW_LATE) {
        bus->last_late_ns = t_ns;
        bus->late = entry->key;
    }
    entry->conditions &= (uint8_t)~(LW_ABSENT | LW_LATE);
    entry->is_quiet = false;
}

static bool is_recent(uint64_t last_ns, uint64_t now_ns, uint64_t hold_ms)
{
    return last_ns != 0 && now_ns < last_ns + hold_ms * ms;
}

/* For how many messages or buses a window should be lit by this bus; which: the newest message it is about, where it is
 * about one. */
static unsigned bus_inputs(const struct lw_monitor *monitor, const struct bus *bus, enum lw_window window,
                           struct lw_id_key *which)
{
    const struct lw_controller *controller = &bus->controller;
    uint64_t now = bus->now_ns;
    switch (window) {
    case LW_WINDOW_BUS_OFF: return controller->state == LW_STATE_BUS_OFF;
    case LW_WINDOW_NO_ACKNOWLEDGE: return is_recent(controller->no_acknowledge.last_ns, now, LW_ERRORS_HOLD_MS);
    case LW_WINDOW_ERROR_PASSIVE: return controller->state == LW_STATE_ERROR_PASSIVE;
    case LW_WINDOW_ERROR_WARNING: return controller->state == LW_STATE_ERROR_WARNING;
    case LW_WINDOW_BUS_ERRORS: return is_recent(controller->bus_errors.last_ns, now, LW_ERRORS_HOLD_MS);
    case LW_WINDOW_LINK_DOWN:
        return controller->has_link && (!controller->link.is_present || !controller->link.is_up);
    case LW_WINDOW_BUS_SILENT: return bus->silent_since_ns != 0;
    case LW_WINDOW_LOAD_HIGH: return lw_load_permille(&bus->load).value > monitor->config.load_limit_permille;
    case LW_WINDOW_UNEXPECTED: *which = bus->unexpected;
        return is_recent(bus->last_unexpected_ns, now, LW_UNEXPECTED_HOLD_MS) ? bus->n_unexpected : 0;
    case LW_WINDOW_ABSENT: *which = bus->absent; return bus->n_absent;
    case LW_WINDOW_LATE: *which = bus->late;
        return is_recent(bus->last_late_ns, now, LW_UNEXPECTED_HOLD_MS);
    case LW_WINDOW_CHANGED: *which = bus->changed; return bus->n_changed;
    case LW_WINDOW_SECOND_SENDER: *which = bus->second_sender; return bus->n_second_sender;
    case LW_WINDOW_FRAMES_LOST: return is_recent(bus->loss.last_ns, now, LW_LOSS_HOLD_MS);
    case LW_WINDOW_TABLE_FULL: return is_recent(bus->last_overflow_ns, now, LW_UNEXPECTED_HOLD_MS);
    case LW_WINDOW_RECORD_FAILED: return monitor->has_record_failed && bus == &monitor->buses[0];
    default: return 0;
    }
}

static void note_cause(struct lw_monitor *monitor, unsigned index, enum lw_window window, struct lw_id_key which)
{
    const struct bus *bus = &monitor->buses[index];
    monitor->window_cause[window] = (struct lw_happening){
        .t_ns = bus->now_ns, .elapsed_ns = bus->now_ns - bus->start_ns, .key = which, .count = 1,
    };
    /* The others have their diary entry from where they are found. */
    if (window == LW_WINDOW_LOAD_HIGH)
        lw_monitor_note(monitor, LW_HAPPENED_LOAD, which, bus->now_ns, lw_load_permille(&bus->load).value);
}

/* The bus whose share of a window's inputs rose is the one that the new alarm is about. */
static void judge_window(struct lw_monitor *monitor, enum lw_window window, uint64_t t_ns)
{
    unsigned n_inputs = 0, newest = 0;
    struct lw_id_key which = { 0 };
    for (unsigned i = 0; i < monitor->config.n_buses; i++) {
        struct bus *bus = &monitor->buses[i];
        struct lw_id_key here = { .bus = (uint8_t)i };
        unsigned n = bus_inputs(monitor, bus, window, &here);
        if (n > bus->n_inputs[window]) {
            newest = i;
            which = here;
        }
        bus->n_inputs[window] = n;
        n_inputs += n;
    }
    if (lw_alarms_set(&monitor->alarms, window, n_inputs, t_ns))
        note_cause(monitor, newest, window, which);
}

void lw_monitor_judge_windows(struct lw_monitor *monitor, uint64_t t_ns)
{
    for (int i = 0; i < LW_N_WINDOWS; i++)
        judge_window(monitor, (enum lw_window)i, t_ns);
}
