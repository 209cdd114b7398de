/* SPDX-License-Identifier: MIT
 *
 * The checks: what to do, what can come out, and which of them is expected to tell most.
 */
#include "verdict_parts.h"

#include <math.h>

static const char moving[] = "Parts may move: nobody near them. Not near airbag or high-voltage parts without the maker's procedure.";
static const char common[] = "Not near airbag or high-voltage parts, nor on a moving machine, without its maker's procedure.";

const struct lw_check_info lw_checks[LW_N_CHECKS] = {
    [LW_CHECK_OHM] = { NULL, LW_READING_RANGES, { NULL }, common },
    [LW_CHECK_VOLT_H] = { NULL, LW_READING_RANGES, { NULL }, common },
    [LW_CHECK_VOLT_L] = { NULL, LW_READING_RANGES, { NULL }, common },
    [LW_CHECK_UNPLUG] = { "Unplug what was plugged in last", 2, { "it heals", "it stays" }, common },
    [LW_CHECK_WAKE] = { "Switch the machine on, wake it", 2, { "it heals", "it stays" }, moving },
    [LW_CHECK_WIGGLE] = { "Wiggle each connector, one at a time", 2, { "it changes", "it stays" }, common },
    [LW_CHECK_RATE] = { "Try other bit rates here, listening only", 2, { "frames come", "it stays" }, NULL },
};

/* A reading outside what a cause lets expect is possible, but odd. */
static const double unexpected = 0.02;

double lw_verdict_outcome(enum lw_cause cause, enum lw_check check, unsigned outcome)
{
    unsigned expected = lw_causes[cause].outcomes[check], n = lw_checks[check].n_outcomes;
    unsigned n_expected = (unsigned)__builtin_popcount(expected);
    if (n_expected == 0 || n_expected == n)
        return 1.0 / n;
    return expected >> outcome & 1 ? (1 - unexpected) / n_expected : unexpected / (n - n_expected);
}

/* Mutual information between the outcome and the cause. */
static double information(const double probabilities[LW_N_CAUSES], enum lw_check check)
{
    double bits = 0;
    for (unsigned outcome = 0; outcome < lw_checks[check].n_outcomes; outcome++) {
        double all = 0;
        for (int cause = 0; cause < LW_N_CAUSES; cause++)
            all += probabilities[cause] * lw_verdict_outcome((enum lw_cause)cause, check, outcome);
        for (int cause = 0; cause < LW_N_CAUSES; cause++) {
            double p = lw_verdict_outcome((enum lw_cause)cause, check, outcome);
            if (probabilities[cause] > 0 && all > 0)
                bits += probabilities[cause] * p * log2(p / all);
        }
    }
    return bits;
}

static bool was_read(const struct lw_readings *readings, int check)
{
    return check < LW_N_MEASUREMENTS && lw_verdict_reading(readings, (enum lw_measurement)check);
}

/* Where nothing was plugged in, there is nothing to unplug. */
static bool makes_sense(int check, const struct lw_fact_value *facts)
{
    return check != LW_CHECK_UNPLUG || facts[LW_FACT_AFTER_CHANGE].answer == LW_ANSWER_YES
        || facts[LW_FACT_NEWCOMER].answer == LW_ANSWER_YES || facts[LW_FACT_MUTE].answer == LW_ANSWER_YES;
}

int lw_verdict_check(const double probabilities[LW_N_CAUSES], const struct lw_fact_value *facts, const struct lw_readings *readings,
                     double *bits)
{
    static const double too_little = 0.08;
    int best = -1;
    *bits = too_little;
    for (int check = 0; check < LW_N_CHECKS; check++) {
        double here = was_read(readings, check) || !makes_sense(check, facts) ? 0 : information(probabilities, (enum lw_check)check);
        if (here <= *bits)
            continue;
        best = check;
        *bits = here;
    }
    if (best < 0)
        *bits = 0;
    return best;
}
