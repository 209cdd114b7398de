/* SPDX-License-Identifier: MIT
 *
 * The rhythm of one message, estimated so that holes, bursts and a few odd gaps do not spoil it.
 */
#ifndef LOOMWATCH_CORE_PERIOD_H
#define LOOMWATCH_CORE_PERIOD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { LW_PERIOD_GAPS = 32, LW_PERIOD_MIN_GAPS = 6 };

enum lw_rhythm {
    LW_RHYTHM_UNKNOWN,   /* too few frames to say */
    LW_RHYTHM_CYCLIC,
    LW_RHYTHM_EVENT,     /* sent when something happens */
    LW_RHYTHM_BOTH,      /* cyclic, and in between when something happens */
};

struct lw_period {
    uint32_t gap_us[LW_PERIOD_GAPS];   /* ring of the newest gaps */
    uint16_t n_gaps, next;
    bool is_stale;                     /* gaps came in since the last estimate */
    enum lw_rhythm rhythm;
    uint64_t period_ns;                /* 0 = unknown */
    uint64_t jitter_ns;                /* median distance of the regular gaps from the period */
    uint64_t mean_ns;                  /* of the window without its longest gap: half the period if two send */
    uint64_t pair_ns;                  /* median of the sums of two gaps in a row: the period if two send, twice it if one does */
    uint64_t unsteady_ns;              /* median change from a gap to the next but one: small if two senders take turns */
    uint64_t regular_ns, total_ns;     /* time covered by ordinary gaps, and by all: decays */
    uint64_t shortest_ns, longest_ns;  /* gaps ever; 0 = none yet. Holes of the whole bus do not count */
};

void lw_period_init(struct lw_period *period);
void lw_period_add(struct lw_period *period, uint64_t gap_ns);

/* Recomputes rhythm, period and jitter if gaps came in. Period = middle of the fullest cluster of gaps within
 * ±15 %. Cyclic if the cluster holds four fifths of the gaps, both from two fifths, else on event; and
 * only if ordinary gaps cover half of the time, so that bursts are not taken for a fast rhythm. */
void lw_period_estimate(struct lw_period *period);

/* How far the newest regular gaps are off the period at most; the period must have been estimated. 0 if it is unknown. */
uint64_t lw_period_widest_ns(const struct lw_period *period);

/* The most frames that came within a time shorter than window_ns, by the newest gaps: 1 at least, 0 without gaps. */
unsigned lw_period_most_within(const struct lw_period *period, uint64_t window_ns);

/* The newest gaps, oldest first, in microseconds. Returns how many, at most LW_PERIOD_GAPS. */
size_t lw_period_history(const struct lw_period *period, uint32_t out_us[LW_PERIOD_GAPS]);

bool lw_rhythm_has_period(enum lw_rhythm rhythm);    /* cyclic or both */
const char *lw_rhythm_name(enum lw_rhythm rhythm);   /* "cyclic", "event", "both", "unknown" */

#endif
