/* SPDX-License-Identifier: MIT
 *
 * The rules of comparison, and their application to two whole baselines.
 */
#include "loomwatch/core/compare.h"

#include <string.h>

enum { MIN_WATCHED_PERIODS = 3 };

/* True if the rate is about double: between 1.7 and 2.3 times. */
static bool is_doubled(uint64_t expected_ns, uint64_t mean_ns)
{
    return mean_ns * 17 <= expected_ns * 10 && mean_ns * 23 >= expected_ns * 10;
}

uint8_t lw_compare_rhythm(const struct lw_expected *expected, enum lw_rhythm rhythm, uint64_t period_ns,
                          uint64_t mean_ns)
{
    if (expected->rhythm != LW_RHYTHM_CYCLIC || rhythm == LW_RHYTHM_UNKNOWN || period_ns == 0)
        return 0;
    if (mean_ns != 0 && is_doubled(expected->period_ns, mean_ns))
        return LW_SECOND_SENDER;
    if (!lw_rhythm_has_period(rhythm))
        return 0;
    /* A window of gaps with two rhythms in it is on its way from one to the other: wait what it becomes. */
    if (mean_ns != 0 && (mean_ns * 4 < period_ns * 3 || mean_ns * 4 > period_ns * 5))
        return 0;
    uint64_t off = period_ns > expected->period_ns ? period_ns - expected->period_ns : expected->period_ns - period_ns;
    return off > expected->tolerance_ns ? LW_PERIOD_CHANGED : 0;
}

uint8_t lw_compare_lengths(const struct lw_expected *expected, uint16_t dlc_seen)
{
    return expected->dlc_seen != 0 && (dlc_seen & ~expected->dlc_seen) ? LW_LENGTH_CHANGED : 0;
}

static void add(struct lw_comparison *out, struct lw_id_key key, uint8_t conditions, int expected, int observed)
{
    if (conditions != 0)
        out->differences[out->n_differences++] = (struct lw_difference){ key, conditions, expected, observed };
}

static void judge_missing(const struct lw_baseline *expected, int index, const struct lw_baseline *observed,
                          struct lw_comparison *out)
{
    const struct lw_expected *id = &expected->ids[index];
    if (!lw_rhythm_has_period(id->rhythm) || id->may_pause)
        return;
    uint64_t needed = lw_expected_absent_ns(id);
    if (observed->buses[id->key.bus].watched_ns < needed)
        out->n_too_short++;
    else
        add(out, id->key, LW_ABSENT, index, LW_NO_INDEX);
}

static uint8_t judge_both(const struct lw_expected *expected, const struct lw_expected *observed)
{
    return lw_compare_rhythm(expected, observed->rhythm, observed->period_ns, observed->period_ns)
        | lw_compare_lengths(expected, observed->dlc_seen);
}

enum lw_compare_result lw_compare(const struct lw_baseline *expected, const struct lw_baseline *observed,
                                  struct lw_comparison *out)
{
    memset(out, 0, sizeof(*out));
    for (size_t i = 0; i < expected->n_ids; i++) {
        const struct lw_expected *id = &expected->ids[i];
        int found = lw_baseline_find(observed, id->key);
        if (id->key.bus >= observed->n_buses)
            out->n_too_short++;
        else if (found == LW_NO_INDEX)
            judge_missing(expected, (int)i, observed, out);
        else {
            out->n_compared++;
            add(out, id->key, judge_both(id, &observed->ids[found]), (int)i, found);
        }
    }
    for (size_t i = 0; i < observed->n_ids; i++)
        if (lw_baseline_find(expected, observed->ids[i].key) == LW_NO_INDEX)
            add(out, observed->ids[i].key, LW_UNEXPECTED, LW_NO_INDEX, (int)i);
    if (observed->n_ids == 0 || expected->n_ids == 0)
        return LW_COMPARE_CANNOT_TELL;
    if (out->n_differences > 0)
        return LW_COMPARE_DIFFERS;
    return out->n_too_short > 0 ? LW_COMPARE_CANNOT_TELL : LW_COMPARE_SAME;
}

const char *lw_condition_name(enum lw_condition condition)
{
    switch (condition) {
    case LW_UNEXPECTED: return "unexpected";
    case LW_ABSENT: return "absent";
    case LW_LATE: return "late";
    case LW_PERIOD_CHANGED: return "other period";
    case LW_LENGTH_CHANGED: return "other length";
    case LW_SECOND_SENDER: return "second sender?";
    default: return "settled";
    }
}
