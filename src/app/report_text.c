/* SPDX-License-Identifier: MIT
 *
 * The summary as text.
 */
#include "report.h"

#include "loomwatch/core/text.h"

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
    fprintf(file, "  frames      %" PRIu64 ", lost %" PRIu64 ", sent by this computer %" PRIu64 "\n", bus->n_frames,
            bus->n_lost, bus->n_own);
    fprintf(file, "  bus errors  %" PRIu64 "\n", controller->bus_errors.n);
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
    put_padded(file, tile->period_ns != 0 ? lw_text_duration(tile->jitter_ns, number) : "—", 10);
    put_padded(file, lw_text_lengths(tile->dlc_seen, lengths), 8);
    snprintf(number, sizeof(number), "%" PRIu64, tile->n_frames);
    put_padded(file, number, 9);
    lw_conditions_text(tile->conditions, words);
    fprintf(file, "%s%s%s\n", words[0] ? words : tile->is_quiet ? "quiet" : "", tile->name[0] ? "  " : "", tile->name);
}

static void put_alarms(const struct lw_snapshot *snapshot, FILE *file)
{
    char clock[LW_NUMBER_TEXT];
    int first = lw_alarms_first_out(&snapshot->alarms);
    fputs("\nAlarms\n", file);
    bool has_any = false;
    for (int i = 0; i < LW_N_WINDOWS; i++) {
        const struct lw_alarm *alarm = &snapshot->alarms.windows[i];
        if (alarm->began_ns == 0)
            continue;
        has_any = true;
        fprintf(file, "  %s %s, %s%s. %s\n", lw_text_clock_tenths(snapshot->window_cause[i].elapsed_ns, clock),
                lw_windows[i].name, alarm->is_abnormal ? "still there" : "over by now", i == first ? ", came first" : "",
                lw_windows[i].meaning);
    }
    if (!has_any)
        fputs("  none\n", file);
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
}
