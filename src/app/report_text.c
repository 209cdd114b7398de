/* SPDX-License-Identifier: MIT
 *
 * The summary as text.
 */
#include "report.h"

#include "loomwatch/core/text.h"
#include "loomwatch/core/units.h"

#include <inttypes.h>
#include <string.h>

char *lw_conditions_text(uint8_t conditions, char buf[LW_CONDITIONS_TEXT])
{
    size_t n = 0;
    buf[0] = '\0';
    for (int i = 0; i < LW_N_CONDITIONS; i++)
        if (conditions >> i & 1)
            n += (size_t)snprintf(buf + n, LW_CONDITIONS_TEXT - n, "%s%s", n > 0 ? ", " : "",
                                  lw_condition_name((enum lw_condition)(1 << i)));
    return buf;
}

/* Pads by characters, not bytes: a µ or a dash is one column. */
static void put_padded(FILE *file, const char *text, int width)
{
    int columns = 0;
    for (const char *c = text; *c != '\0'; c++)
        columns += ((unsigned char)*c & 0xC0) != 0x80;
    fprintf(file, "%s%*s", text, columns < width ? width - columns : 1, "");
}

static const char *answer_name(uint8_t answer)
{
    return answer == LW_ANSWER_YES ? "yes" : "no";
}

/* What is wrong, what may be behind it, and what speaks for that. Nothing where all is well. */
static void put_verdict(const struct lw_bus_view *bus, FILE *file)
{
    const struct lw_verdict *verdict = &bus->verdict;
    char text[LW_VERDICT_TEXT];
    fprintf(file, "  verdict     %s (%s)\n", lw_pictures[verdict->picture].words, lw_confidence_name((enum lw_confidence)verdict->confidence));
    if (!lw_pictures[verdict->picture].is_trouble)
        return;
    for (unsigned i = 0; i < verdict->n_named; i++)
        fprintf(file, "    %3.0f in 100  %s\n", verdict->named[i].probability * 100, lw_causes[verdict->named[i].cause].words);
    for (unsigned fact = 0; fact < LW_N_FACTS && verdict->n_named > 0; fact++) {
        const struct lw_fact_value *value = &bus->facts[fact];
        double ratio = lw_verdict_ratio(verdict, 0, (enum lw_fact)fact, (enum lw_answer)value->answer);
        if (ratio != 1)
            fprintf(file, "    %-11s %s: %s\n", ratio > 1 ? "for" : "against", lw_facts[fact].name, answer_name(value->answer));
    }
    if (verdict->check >= 0)
        fprintf(file, "    next        %s\n", lw_verdict_check_words(verdict, text));
    for (unsigned i = 0; verdict->check >= 0 && i < lw_checks[verdict->check].n_outcomes; i++)
        if (lw_verdict_outcome_words(verdict, i, text) > 0)
            fprintf(file, "                %s\n", text);
    if (verdict->check >= 0 && lw_checks[verdict->check].caution)
        fprintf(file, "    caution     %s\n", lw_checks[verdict->check].caution);
}

static void put_bus(const struct lw_bus_view *bus, FILE *file)
{
    char a[LW_NUMBER_TEXT], b[LW_NUMBER_TEXT], c[LW_NUMBER_TEXT], d[LW_NUMBER_TEXT];
    const struct lw_controller *controller = &bus->controller;
    const char *state = controller->has_link && !controller->link.is_present ? "interface gone"
        : controller->has_link && !controller->link.is_up                   ? "interface down"
                                                                            : lw_bus_state_name(controller->state);
    fprintf(file, "%s\n", bus->name);
    fprintf(file, "  bit rate    %s\n", lw_text_bit_rate(bus->bit_rate_bps, a));
    fprintf(file, "  adapter     %s%s, TEC %s, REC %s\n",
            controller->has_link && controller->link.controller == LW_CONTROLLER_NONE ? "no controller, " : "", state,
            lw_text_reading(controller->tec, a), lw_text_reading(controller->rec, b));
    fprintf(file, "  load        %s, peak %s\n", lw_text_permille(bus->load_permille, c),
            lw_text_permille(bus->load_peak_permille, d));
    struct lw_reading lost = bus->can_tell_losses ? LW_KNOWN(bus->n_lost) : LW_UNKNOWN;
    struct lw_reading errors = bus->can_tell_errors ? LW_KNOWN(controller->bus_errors.n) : LW_UNKNOWN;
    fprintf(file, "  frames      %" PRIu64 ", lost %s, sent by this computer %" PRIu64 "\n", bus->n_frames,
            lw_text_reading(lost, a), bus->n_own);
    fprintf(file, "  bus errors  %s\n", lw_text_reading(errors, b));
    put_verdict(bus, file);
    for (int i = 0; i < LW_N_ERROR_FIELDS; i++)
        if (controller->fields[i].n > 0)
            fprintf(file, "    %6" PRIu64 " × %s: %s\n", controller->fields[i].n, lw_error_fields[i].name,
                    lw_error_fields[i].words);
}

static void put_tile(const struct lw_snapshot *snapshot, const struct lw_tile *tile, FILE *file)
{
    char id[LW_ID_TEXT], number[LW_NUMBER_TEXT], lengths[3 * LW_NUMBER_TEXT], words[LW_CONDITIONS_TEXT];
    fputs("  ", file);
    put_padded(file, lw_id_text(tile->key, id), 10);
    if (snapshot->n_buses > 1)
        put_padded(file, snapshot->buses[tile->key.bus].name, 16);
    put_padded(file, lw_rhythm_name(tile->rhythm), 9);
    put_padded(file, lw_text_duration(tile->period_ns, number), 10);
    put_padded(file, lw_text_jitter(tile->jitter_ns, tile->period_ns, number), 10);
    put_padded(file, lw_text_lengths(tile->dlc_seen, lengths), 8);
    snprintf(number, sizeof(number), "%" PRIu64, tile->n_frames);
    put_padded(file, number, 9);
    lw_conditions_text(tile->conditions, words);
    fprintf(file, "%s%s%s", words[0] ? words : tile->is_quiet ? "quiet" : "", tile->name[0] ? "  " : "", tile->name);
    fprintf(file, tile->unit[0] ? "  (%s)\n" : "%s\n", tile->unit);
}

/* Of the windows that alarmed and are not told yet, the earliest; -1 if there is none. */
static int next_alarm(const struct lw_snapshot *snapshot, const bool is_told[LW_N_WINDOWS])
{
    int next = -1;
    for (int i = 0; i < LW_N_WINDOWS; i++) {
        bool is_earlier = next < 0 || snapshot->window_cause[i].elapsed_ns < snapshot->window_cause[next].elapsed_ns;
        if (snapshot->alarms.windows[i].began_ns != 0 && !is_told[i] && is_earlier)
            next = i;
    }
    return next;
}

static void put_alarms(const struct lw_snapshot *snapshot, FILE *file)
{
    char clock[LW_NUMBER_TEXT];
    bool is_told[LW_N_WINDOWS] = { false };
    int first = lw_alarms_first_out(&snapshot->alarms), i = next_alarm(snapshot, is_told);
    fputs("\nAlarms\n", file);
    if (i < 0)
        fputs("  none\n", file);
    for (; i >= 0; i = next_alarm(snapshot, is_told)) {
        is_told[i] = true;
        fprintf(file, "  %s %s, %s%s. %s\n", lw_text_clock_tenths(snapshot->window_cause[i].elapsed_ns, clock),
                lw_windows[i].name, snapshot->alarms.windows[i].is_abnormal ? "still there" : "over by now",
                i == first ? ", came first" : "", lw_windows[i].meaning);
    }
}

static void put_diary(const struct lw_snapshot *snapshot, FILE *file)
{
    char clock[LW_NUMBER_TEXT], words[LW_HAPPENING_TEXT];
    fputs("\nWhat happened\n", file);
    for (size_t i = snapshot->n_diary; i-- > 0;) {
        const struct lw_happening *happening = &snapshot->diary[i];
        fprintf(file, "  %8s  %s%s%s\n", lw_text_clock_tenths(happening->elapsed_ns, clock),
                snapshot->n_buses > 1 ? snapshot->buses[happening->key.bus].name : "", snapshot->n_buses > 1 ? ": " : "",
                lw_happening_words(happening, words));
    }
}

void lw_report_text(const struct lw_snapshot *snapshot, FILE *file)
{
    char clock[LW_NUMBER_TEXT];
    fprintf(file, "Watched for %s. %s\n\n", lw_text_clock_tenths(snapshot->elapsed_ns, clock), snapshot->words);
    for (unsigned i = 0; i < snapshot->n_buses; i++)
        put_bus(&snapshot->buses[i], file);
    put_alarms(snapshot, file);
    put_diary(snapshot, file);
    fputs("\nMessages\n  id        ", file);
    if (snapshot->n_buses > 1)
        put_padded(file, "bus", 16);
    fputs("kind     period    jitter    bytes   frames   \n", file);
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        put_tile(snapshot, &snapshot->tiles[i], file);
    if (snapshot->n_overflow_frames > 0)
        fprintf(file, "  and %" PRIu64 " frames of messages beyond the %d that are kept\n", snapshot->n_overflow_frames,
                LW_MAX_IDS);
    if (snapshot->n_overflow_units > 0)
        fprintf(file, "  %" PRIu64 " times a message was not told apart from others: more groups than the %d that are kept\n",
                snapshot->n_overflow_units, LW_MAX_UNITS);
}
