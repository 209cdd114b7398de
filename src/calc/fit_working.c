/* SPDX-License-Identifier: MIT
 *
 * `fit`, how its numbers come about: the load, the way of the tightest message, and everything that was assumed.
 */
#include "fit_parts.h"

#include <math.h>
#include <stdio.h>

#define ANALYSIS "Davis, Burns, Bril, Lukkien, Real-Time Systems 35:239 (2007), from memory; held against simulation"
#define LENGTHS "Linux include/linux/can/length.h: one stuff bit in four; SAE J1939-21 counts one in five, too few"
#define RECOVERY "Bosch CAN 2.0 part B: flags 12, delimiter 8, intermission 3, suspend transmission 8"

static void put_share(struct lw_worksheet *sheet, const char *label, double before, double after, const char *working)
{
    char value[LW_SHEET_VALUE];
    snprintf(value, sizeof(value), "%.1f %% -> %.1f %%", 100 * before, 100 * after);
    lw_sheet_row(sheet, label, value, NULL, "%s", working);
}

static void put_load(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    const struct lw_traffic *traffic = fit->traffic;
    lw_sheet_heading(sheet, "Load, before and after");
    put_share(sheet, "usual", traffic->before.usual, traffic->after.usual,
              "what has a period: of the bus with the stuff bits of the data heard last, of the module the longest frames");
    put_share(sheet, "at the worst", traffic->before.worst, traffic->after.worst,
              "everything, as close together as assumed, longest frames");
}

/* "135 bits", or of a frame that switches "33 bits and 97 at the data bit rate". */
static void write_bits(const struct lw_wire_length *length, char buf[LW_SHEET_VALUE])
{
    unsigned nominal = length->nominal_bits + LW_INTERMISSION_BITS;
    if (length->data_bits > 0)
        snprintf(buf, LW_SHEET_VALUE, "%u bits and %u at the data bit rate", nominal, length->data_bits);
    else
        snprintf(buf, LW_SHEET_VALUE, "%u bits", nominal);
}

static void put_waiting(const struct lw_traffic_message *message, unsigned n_faults, struct lw_worksheet *sheet)
{
    const struct lw_response *after = &message->after;
    char value[LW_NUMBER_UNIT_TEXT], blocking[LW_NUMBER_UNIT_TEXT];
    lw_fit_time(after->blocking_ns, blocking);
    lw_sheet_row(sheet, "blocked, B", blocking, NULL, "the longest frame of lower priority has just begun");
    lw_sheet_row(sheet, "waits for the bus, w", lw_fit_time(after->queueing_ns, value), NULL,
                 "the least w = B%s + all that goes before it within w", n_faults > 0 ? " + faults" : "");
}

/* The first frame of a busy time is not always the slowest: a later one may begin with a queue before it. */
static void put_response(const struct lw_traffic_message *message, struct lw_worksheet *sheet)
{
    const struct lw_response *after = &message->after;
    char value[LW_NUMBER_UNIT_TEXT], jitter[LW_NUMBER_UNIT_TEXT], waiting[LW_NUMBER_UNIT_TEXT], frame[LW_NUMBER_UNIT_TEXT];
    char earlier[LW_NUMBER_UNIT_TEXT], periods[LW_SHEET_CELL] = "";
    lw_number_text((double)message->demand.jitter_ns, "ns", jitter);
    lw_fit_time(after->queueing_ns, waiting);
    lw_fit_time(message->demand.frame_ns, frame);
    lw_fit_response(after, value);
    if (after->instance > 0)
        snprintf(periods, sizeof(periods), " - %s",
                 lw_fit_time(after->instance * message->demand.period_ns, earlier));
    lw_sheet_row(sheet, "arrives within, R", value, ANALYSIS, "R = J + w%s + C = %s + %s%s + %s; the slowest is frame %u of %u "
                 "in one busy time", after->instance > 0 ? " - q T" : "", jitter, waiting, periods, frame, after->instance + 1,
                 after->n_instances);
}

static void put_tightest(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    if (fit->traffic->tightest == LW_NO_INDEX || !fit->traffic->messages[fit->traffic->tightest].after.is_bounded)
        return;
    const struct lw_traffic_message *message = &fit->traffic->messages[fit->traffic->tightest];
    char name[LW_FIT_NAME], heading[LW_SHEET_LABEL], bits[LW_SHEET_VALUE], value[LW_NUMBER_UNIT_TEXT];
    char rate[LW_NUMBER_UNIT_TEXT];
    snprintf(heading, sizeof(heading), "The tightest: %s", lw_fit_name(message, name));
    write_bits(&message->worst, bits);
    lw_sheet_heading(sheet, heading);
    lw_sheet_row(sheet, "longest frame, C", lw_fit_time(message->demand.frame_ns, value), NULL,
                 "%s at %s, intermission included", bits, lw_number_text(fit->question.bit_rate_bps, "bit/s", rate));
    put_waiting(message, fit->question.n_faults, sheet);
    put_response(message, sheet);
}

static void put_count(struct lw_worksheet *sheet, const struct lw_traffic *traffic, enum lw_assumed bit, const char *label,
                      const char *working)
{
    char value[LW_SHEET_VALUE];
    unsigned index = 0;
    while (1u << index != (unsigned)bit)
        index++;
    size_t n = traffic->n_assumed[index];
    snprintf(value, sizeof(value), "%zu message%s", n, n == 1 ? "" : "s");
    if (n > 0)
        lw_sheet_row(sheet, label, value, NULL, "%s", working);
}

static void put_assumed_messages(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    char gap[LW_NUMBER_UNIT_TEXT], words[LW_SHEET_WORKING];
    const struct lw_traffic *traffic = fit->traffic;
    put_count(sheet, traffic, LW_ASSUMED_SHORTEST_GAP, "on event",
              "as if they always came as close together as the closest two heard");
    put_count(sheet, traffic, LW_ASSUMED_AT_ONCE, "cyclic and on event",
              "in each four fifths of their period as many at once as were heard in one");
    put_count(sheet, traffic, LW_ASSUMED_TWO_AT_ONCE, "cyclic and on event, unknown",
              "two at once in each four fifths of their period: the baseline does not tell how many");
    snprintf(words, sizeof(words), "every %s: no two were heard (gap= says another time)",
             lw_fit_time(fit->question.assumed_gap_ns, gap));
    put_count(sheet, traffic, LW_ASSUMED_GAP, "gap unknown", words);
    put_count(sheet, traffic, LW_ASSUMED_JITTER, "jitter unknown",
              "the tolerance of their period: the baseline is from an older version or written by hand");
    put_count(sheet, traffic, LW_ASSUMED_LENGTH, "length unknown", "as long as their format allows");
}

static void put_faults(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    char value[LW_SHEET_VALUE];
    if (fit->question.n_faults == 0) {
        lw_sheet_row(sheet, "disturbance", "none", NULL, "no frame is destroyed; faults=1 allows for one");
        return;
    }
    snprintf(value, sizeof(value), "%u frame%s destroyed", fit->question.n_faults, fit->question.n_faults == 1 ? "" : "s");
    lw_sheet_row(sheet, "disturbance", value, RECOVERY, "each costs %d bits and the longest frame that goes again",
                 LW_RECOVERY_BITS);
}

static void put_assumed(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    char rate[LW_NUMBER_UNIT_TEXT], watched[LW_NUMBER_UNIT_TEXT];
    lw_sheet_heading(sheet, "What was assumed");
    lw_sheet_row(sheet, "the bus", fit->bus->name, NULL, "%s; %s, watched for %s: what did not occur then is not in it",
                 lw_number_text(fit->question.bit_rate_bps, "bit/s", rate), fit->material->baseline_words,
                 lw_number_text(fit->bus->watched_ns > 0 ? round((double)fit->bus->watched_ns / 1e9) : NAN, "s", watched));
    lw_sheet_row(sheet, "frames", "the longest", LENGTHS, "whatever their data: every stuff bit that can be");
    put_faults(fit, sheet);
    lw_sheet_row(sheet, "cyclic", "period, jitter", NULL,
                 "of the bus as heard: the widest of the newest regular gaps; of the module as its file says");
    put_assumed_messages(fit, sheet);
    lw_sheet_row(sheet, "units", "the urgent first", NULL, "each offers the most urgent of its waiting frames");
}

void lw_fit_working(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    put_load(fit, sheet);
    put_tightest(fit, sheet);
    put_assumed(fit, sheet);
}
