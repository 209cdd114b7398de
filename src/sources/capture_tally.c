/* SPDX-License-Identifier: MIT
 *
 * What was found in a capture besides its events, in words: nothing of a file is dropped in silence. Called
 * by capture.c.
 */
#include "capture_tally.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void lw_capture_tally_fault(struct lw_capture_tally *tally, enum lw_record_fault fault, const uint8_t *bytes, size_t n)
{
    struct lw_event probe;
    tally->n_faults[fault]++;
    if (fault == LW_RECORD_BAD_ID && lw_capture_decode(bytes, n, !tally->is_swapped, &probe) == LW_RECORD_GOOD)
        tally->n_other_way_round++;
}

__attribute__((format(printf, 2, 3)))
static void add_sentence(char note[LW_SOURCE_TEXT], const char *format, ...)
{
    size_t used = strlen(note);
    if (used && used + 1 < LW_SOURCE_TEXT)
        note[used++] = ' ';
    va_list args;
    va_start(args, format);
    vsnprintf(note + used, LW_SOURCE_TEXT - used, format, args);
    va_end(args);
}

static void note_end(const struct lw_capture_tally *tally, char note[LW_SOURCE_TEXT])
{
    if (tally->is_cut_off)
        add_sentence(note, "The file is cut off; the %" PRIu64 " records before the cut are whole.", tally->n_records);
    else if (tally->trouble[0])
        add_sentence(note, "Reading stopped after record %" PRIu64 " (%s); what follows is not used.", tally->n_records,
                     tally->trouble);
}

static void note_identifiers(const struct lw_capture_tally *tally, char note[LW_SOURCE_TEXT])
{
    const char *advice = tally->is_swapped
        ? "identifiers look stored the usual way, try without --swapped-ids."
        : "identifiers look byte-swapped, try --swapped-ids.";
    if (tally->n_other_way_round)
        add_sentence(note, "%" PRIu64 " of %" PRIu64 " records have more identifier bits than their format: %s",
                     tally->n_other_way_round, tally->n_records, advice);
}

static void note_faults(const struct lw_capture_tally *tally, char note[LW_SOURCE_TEXT])
{
    static const char *const reasons[LW_N_RECORD_FAULTS] = {
        [LW_RECORD_SHORT] = "shorter than their own length",
        [LW_RECORD_BAD_LENGTH] = "with a length that no CAN frame has",
        [LW_RECORD_BAD_ID] = "with an identifier out of range",
        [LW_RECORD_OTHER] = "of CAN XL, which this program does not handle",
    };
    for (int fault = LW_RECORD_GOOD + 1; fault < LW_N_RECORD_FAULTS; fault++)
        if (tally->n_faults[fault])
            add_sentence(note, "Not used: %" PRIu64 " records %s.", tally->n_faults[fault], reasons[fault]);
}

void lw_capture_tally_note(const struct lw_capture_tally *tally, char note[LW_SOURCE_TEXT])
{
    note[0] = '\0';
    note_identifiers(tally, note);
    note_end(tally, note);
    note_faults(tally, note);
    if (tally->n_backwards)
        add_sentence(note, "At %" PRIu64 " records the file's time goes back; it is held there.", tally->n_backwards);
}
