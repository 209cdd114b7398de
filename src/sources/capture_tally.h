/* SPDX-License-Identifier: MIT
 *
 * What was found in a capture besides its events, counted and put in words for the user. For capture.c only.
 */
#ifndef LOOMWATCH_CAPTURE_TALLY_H
#define LOOMWATCH_CAPTURE_TALLY_H

#include "loomwatch/sources/capture_record.h"
#include "loomwatch/sources/source.h"

#include <pcap/pcap.h>

enum { LW_N_RECORD_FAULTS = LW_RECORD_OTHER + 1 };

struct lw_capture_tally {
    bool is_swapped;                     /* the identifiers are read the other way round */
    uint64_t n_records;                  /* whole ones */
    uint64_t n_faults[LW_N_RECORD_FAULTS];
    uint64_t n_other_way_round;          /* of the bad identifiers: good if read the other way round */
    uint64_t n_backwards;                /* records whose time is before that of the record before */
    bool is_cut_off;
    char trouble[PCAP_ERRBUF_SIZE];      /* libpcap's words on why reading stopped; empty at a proper end */
};

/* Counts one record that could not be used. */
void lw_capture_tally_fault(struct lw_capture_tally *tally, enum lw_record_fault fault, const uint8_t *bytes, size_t n);

/* Writes the note; empty where all is well. */
void lw_capture_tally_note(const struct lw_capture_tally *tally, char note[LW_SOURCE_TEXT]);

#endif
