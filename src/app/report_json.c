/* SPDX-License-Identifier: MIT
 *
 * The summary as JSON, through jansson. What is unknown is null, never 0.
 */
#include "report.h"

#include <jansson.h>
#include <math.h>

static json_t *reading(struct lw_reading value)
{
    return value.is_known ? json_integer(value.value) : json_null();
}

static json_t *share(struct lw_reading permille)
{
    return permille.is_known ? json_real(permille.value / 10.0) : json_null();
}

static json_t *counted(bool can_tell, uint64_t n)
{
    return can_tell ? json_integer((json_int_t)n) : json_null();
}

static json_t *milliseconds(uint64_t ns)
{
    return ns != 0 ? json_real((double)ns / 1e6) : json_null();
}

static json_t *seconds(uint64_t ns)
{
    return json_real((double)ns / 1e9);
}

/* JSON is UTF-8; names come from people and from file names, which may be any bytes. */
static json_t *text(const char *name)
{
    char plain[LW_WORDS_TEXT];
    json_t *string = json_string(name);
    if (string)
        return string;
    snprintf(plain, sizeof(plain), "%s", name);
    for (char *c = plain; *c != '\0'; c++)
        if ((unsigned char)*c >= 0x80)
            *c = '?';
    return json_string(plain);
}

static json_t *error_fields(const struct lw_controller *controller)
{
    json_t *fields = json_object();
    for (int i = 0; i < LW_N_ERROR_FIELDS; i++)
        if (controller->fields[i].n > 0)
            json_object_set_new(fields, lw_error_fields[i].name, json_integer((json_int_t)controller->fields[i].n));
    return fields;
}

/* Numbers and names, so that no program needs to read sentences. */
static json_t *facts(const struct lw_bus_view *view)
{
    json_t *object = json_object();
    for (int i = 0; i < LW_N_FACTS; i++) {
        const struct lw_fact_value *fact = &view->facts[i];
        json_t *is = fact->answer == LW_ANSWER_UNKNOWN ? json_null() : json_boolean(fact->answer == LW_ANSWER_YES);
        bool has_value = fact->answer != LW_ANSWER_UNKNOWN && lw_facts[i].unit[0] != '\0' && isfinite(fact->value);
        json_object_set_new(object, lw_facts[i].name, json_pack("{s:o, s:o, s:s}", "is", is, "value",
                            has_value ? json_real(fact->value) : json_null(), "unit", lw_facts[i].unit));
    }
    return object;
}

static json_t *verdict(const struct lw_bus_view *view)
{
    const struct lw_verdict *verdict = &view->verdict;
    json_t *causes = json_array(), *readings = json_array();
    char words[LW_VERDICT_TEXT], check[LW_VERDICT_TEXT], reading[LW_READING_TEXT];
    for (unsigned i = 0; i < verdict->n_named; i++)
        json_array_append_new(causes, json_pack("{s:s, s:s, s:f}", "name", lw_causes[verdict->named[i].cause].name, "words",
                              lw_causes[verdict->named[i].cause].words, "probability", verdict->named[i].probability));
    for (unsigned i = 0; i < view->readings.n; i++)
        json_array_append_new(readings, json_string(lw_reading_words(&view->readings.all[i], reading)));
    return json_pack("{s:s, s:s, s:b, s:s, s:o, s:s, s:o, s:o}", "picture", lw_pictures[verdict->picture].name,
        "confidence", lw_confidence_name((enum lw_confidence)verdict->confidence), "is-trouble", lw_pictures[verdict->picture].is_trouble,
        "words", lw_verdict_words(verdict, NULL, words), "causes", causes, "next", lw_verdict_check_words(verdict, check),
        "readings", readings, "facts", facts(view));
}

static json_t *bus(const struct lw_bus_view *view)
{
    const struct lw_controller *controller = &view->controller;
    const struct lw_link *link = &controller->link;
    json_t *state = controller->state == LW_STATE_UNKNOWN ? json_null() : json_string(lw_bus_state_name(controller->state));
    return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:I, s:o, s:I, s:o, s:o, s:o, s:o, s:o}",
        "name", text(view->name), "bit-rate", reading(view->bit_rate_bps), "state", state, "tec", reading(controller->tec),
        "rec", reading(controller->rec), "load-percent", share(view->load_permille),
        "load-peak-percent", share(view->load_peak_permille), "frames", (json_int_t)view->n_frames,
        "lost", counted(view->can_tell_losses, view->n_lost), "sent-by-this-computer", (json_int_t)view->n_own,
        "bus-errors", counted(view->can_tell_errors, controller->bus_errors.n), "error-reports", error_fields(controller),
        "verdict", verdict(view),
        "is-present", controller->has_link ? json_boolean(link->is_present) : json_null(),
        "is-up", controller->has_link ? json_boolean(link->is_up) : json_null());
}

static json_t *lengths(uint16_t dlc_seen)
{
    json_t *array = json_array();
    for (unsigned dlc = 0; dlc < LW_N_DLC; dlc++)
        if (dlc_seen >> dlc & 1)
            json_array_append_new(array, json_integer(lw_len_from_dlc(dlc)));
    return array;
}

static json_t *conditions(uint8_t set)
{
    json_t *array = json_array();
    for (int i = 0; i < LW_N_CONDITIONS; i++)
        if (set >> i & 1)
            json_array_append_new(array, json_string(lw_condition_name((enum lw_condition)(1 << i))));
    return array;
}

static json_t *message(const struct lw_snapshot *snapshot, const struct lw_tile *tile)
{
    char id[LW_ID_TEXT];
    uint64_t start = snapshot->buses[tile->key.bus].start_ns;
    return json_pack("{s:s, s:o, s:o, s:o, s:s, s:o, s:o, s:o, s:o, s:I, s:o, s:I, s:o, s:b}",
        "id", lw_id_text(tile->key, id), "bus", text(snapshot->buses[tile->key.bus].name), "name", text(tile->name),
        "unit", tile->unit[0] != '\0' ? text(tile->unit) : json_null(),
        "kind", lw_rhythm_name(tile->rhythm), "period-ms", milliseconds(tile->period_ns),
        "jitter-ms", tile->period_ns != 0 ? json_real((double)tile->jitter_ns / 1e6) : json_null(),
        "expected-period-ms", milliseconds(tile->expected_period_ns), "lengths", lengths(tile->dlc_seen),
        "frames", (json_int_t)tile->n_frames,
        "last-heard-s", tile->is_heard ? seconds(tile->last_seen_ns - start) : json_null(),
        "cycles-missed", (json_int_t)tile->n_missed,
        "conditions", conditions(tile->conditions), "is-quiet", tile->is_quiet);
}

static json_t *alarms(const struct lw_snapshot *snapshot)
{
    json_t *array = json_array();
    int first = lw_alarms_first_out(&snapshot->alarms);
    for (int i = 0; i < LW_N_WINDOWS; i++) {
        const struct lw_alarm *alarm = &snapshot->alarms.windows[i];
        if (alarm->began_ns != 0)
            json_array_append_new(array, json_pack("{s:s, s:o, s:b, s:b, s:i}", "name", lw_windows[i].name,
                "at-s", seconds(snapshot->window_cause[i].elapsed_ns), "is-there-now", alarm->is_abnormal,
                "came-first", i == first, "times", (int)alarm->n_times));
    }
    return array;
}

static json_t *diary(const struct lw_snapshot *snapshot)
{
    json_t *array = json_array();
    for (size_t i = snapshot->n_diary; i-- > 0;) {
        char words[LW_HAPPENING_TEXT];
        const struct lw_happening *happening = &snapshot->diary[i];
        json_array_append_new(array, json_pack("{s:o, s:o, s:s, s:I}", "at-s", seconds(happening->elapsed_ns),
            "bus", text(snapshot->buses[happening->key.bus].name), "words", lw_happening_words(happening, words),
            "count", (json_int_t)happening->count));
    }
    return array;
}

static void put(json_t *report, FILE *file)
{
    json_dumpf(report, file, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
    fputc('\n', file);
    json_decref(report);
}

void lw_report_json(const struct lw_snapshot *snapshot, FILE *file)
{
    json_t *buses = json_array(), *messages = json_array();
    for (unsigned i = 0; i < snapshot->n_buses; i++)
        json_array_append_new(buses, bus(&snapshot->buses[i]));
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        json_array_append_new(messages, message(snapshot, &snapshot->tiles[i]));
    const struct lw_counts *counts = &snapshot->counts;
    json_t *report = json_pack("{s:o, s:o, s:b, s:{s:i, s:i, s:i, s:i, s:i, s:i}, s:o, s:o, s:o, s:o, s:I, s:I}",
        "watched-s", seconds(snapshot->elapsed_ns), "words", text(snapshot->words), "has-baseline", snapshot->has_baseline,
        "counts", "messages", (int)counts->n_ids, "expected", (int)counts->n_expected, "present", (int)counts->n_present,
        "unexpected", (int)counts->n_unexpected, "absent", (int)counts->n_absent, "changed", (int)counts->n_changed,
        "buses", buses, "alarms", alarms(snapshot), "diary", diary(snapshot), "messages", messages,
        "frames-beyond-table", (json_int_t)snapshot->n_overflow_frames, "groups-beyond-table", (json_int_t)snapshot->n_overflow_units);
    put(report, file);
}

void lw_report_story_json(const struct lw_story_line *lines, size_t n_lines, const struct lw_snapshot *snapshot, FILE *file)
{
    json_t *story = json_array();
    for (size_t i = 0; i < n_lines; i++)
        json_array_append_new(story, json_pack("{s:o, s:o, s:s, s:o}", "at-s", seconds(lines[i].at_ns),
            "bus", text(snapshot->buses[lines[i].bus].name), "kind", lw_story_kind(lines[i].kind), "words", text(lines[i].words)));
    put(story, file);
}
