/* SPDX-License-Identifier: MIT
 *
 * What differs between a baseline and an observation. The same rules serve the live dashboard, the summary and
 * the comparison of two baselines.
 */
#ifndef LOOMWATCH_CORE_COMPARE_H
#define LOOMWATCH_CORE_COMPARE_H

#include "loomwatch/core/baseline.h"

/* The rules, for one message. Both give a set of enum lw_condition; absent and late are judged by the caller, who knows
 * the time. period_ns 0 means no period could be made out, which is no difference. */
uint8_t lw_compare_rhythm(const struct lw_expected *expected, enum lw_rhythm rhythm, uint64_t period_ns,
                          uint64_t mean_ns);
uint8_t lw_compare_lengths(const struct lw_expected *expected, uint16_t dlc_seen);

struct lw_difference {
    struct lw_id_key key;
    uint8_t conditions;         /* enum lw_condition */
    int expected, observed;     /* indices into the two baselines, or LW_NO_INDEX */
};

enum lw_compare_result { LW_COMPARE_SAME, LW_COMPARE_DIFFERS, LW_COMPARE_CANNOT_TELL };

struct lw_comparison {
    size_t n_differences;
    struct lw_difference differences[2 * LW_MAX_IDS];
    size_t n_compared;          /* messages in both */
    size_t n_too_short;         /* expected ones not seen, but not watched for three of their periods either */
};

/* Compares two baselines bus by bus, in their order. A message missing from observed is absent unless it comes
 * on event only, may pause, or was not watched for long enough (counted). Nothing observed at all, or any that was
 * too short with no difference found, cannot be told. */
enum lw_compare_result lw_compare(const struct lw_baseline *expected, const struct lw_baseline *observed,
                                  struct lw_comparison *out);

const char *lw_condition_name(enum lw_condition condition);   /* "unexpected", "absent", … one word or two */

#endif
