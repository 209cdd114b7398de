/* SPDX-License-Identifier: MIT
 *
 * What differs between two baselines, as text.
 */
#include "report.h"

#include "loomwatch/core/text.h"

static void put_numbers(const struct lw_difference *difference, const struct lw_baseline *expected,
                        const struct lw_baseline *observed, FILE *file)
{
    char was[3 * LW_NUMBER_TEXT], is[3 * LW_NUMBER_TEXT];
    const struct lw_expected *before = difference->expected >= 0 ? &expected->ids[difference->expected] : NULL;
    const struct lw_expected *now = difference->observed >= 0 ? &observed->ids[difference->observed] : NULL;
    if (difference->conditions & LW_ABSENT)
        fprintf(file, ": expected every %s", lw_text_duration(before->period_ns, was));
    if (difference->conditions & LW_UNEXPECTED)
        fprintf(file, ": %s, every %s, %s bytes", lw_rhythm_name(now->rhythm), lw_text_duration(now->period_ns, was),
                lw_text_lengths(now->dlc_seen, is));
    if (difference->conditions & (LW_PERIOD_CHANGED | LW_SECOND_SENDER))
        fprintf(file, ": every %s, expected %s", lw_text_duration(now->period_ns, is),
                lw_text_duration(before->period_ns, was));
    if (difference->conditions & LW_LENGTH_CHANGED)
        fprintf(file, ": %s bytes, expected %s", lw_text_lengths(now->dlc_seen, is),
                lw_text_lengths(before->dlc_seen, was));
}

static void put_difference(const struct lw_difference *difference, const struct lw_baseline *expected,
                           const struct lw_baseline *observed, FILE *file)
{
    char id[LW_ID_TEXT], words[LW_CONDITIONS_TEXT];
    fprintf(file, "  %-9s %s", lw_id_text(difference->key, id), lw_conditions_text(difference->conditions, words));
    put_numbers(difference, expected, observed, file);
    const char *name = difference->expected >= 0 ? expected->ids[difference->expected].name : "";
    fprintf(file, "%s%s%s\n", name[0] ? " (" : "", name, name[0] ? ")" : "");
}

void lw_report_comparison(const struct lw_baseline *expected, const struct lw_baseline *observed,
                          const struct lw_comparison *comparison, FILE *file)
{
    if (observed->n_ids == 0)
        fputs("Could not tell: nothing was heard.\n", file);
    else if (expected->n_ids == 0)
        fputs("Could not tell: the baseline holds no message.\n", file);
    else if (comparison->n_differences > 0)
        fprintf(file, "%zu difference%s; %zu messages are in both.\n", comparison->n_differences,
                comparison->n_differences == 1 ? "" : "s", comparison->n_compared);
    else if (comparison->n_too_short > 0)
        fprintf(file, "Could not tell: %zu messages are too slow for so short a watch; watch longer with --for.\n",
                comparison->n_too_short);
    else
        fprintf(file, "No difference in %zu messages.\n", comparison->n_compared);
    for (size_t i = 0; i < comparison->n_differences; i++)
        put_difference(&comparison->differences[i], expected, observed, file);
    if (comparison->n_differences > 0 && comparison->n_too_short > 0)
        fprintf(file, "  %zu more were not watched for long enough to tell.\n", comparison->n_too_short);
}
