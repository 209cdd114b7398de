/* SPDX-License-Identifier: MIT
 *
 * The calculator `timing`: who asks for which sample point. They contradict each other, so that none makes another wrong.
 */
#include "timing_parts.h"

#include <math.h>
#include <stdio.h>

/* From rate to rate, in kbit/s; points in percent. */
static const struct recommendation {
    const char *who;
    double from_kbps, to_kbps, min_pct, max_pct, best_pct;
} recommendations[] = {
    { "CiA 301 4.2.0 (2nd hand)", 10, 500, 85, 90, 87.5 },
    { "CiA 301 4.2.0 (2nd hand)", 800, 1000, 75, 90, 87.5 },
    { "CiA 102 2.0 (2nd hand)", 10, 500, 87.5, 87.5, 87.5 },
    { "CiA 102 2.0 (2nd hand)", 800, 800, 80, 80, 80 },
    { "CiA 102 2.0 (2nd hand)", 1000, 1000, 75, 75, 75 },
    { "Linux, if not told", 1, 500, 87.5, 87.5, 87.5 },
    { "Linux, if not told", 500.6, 800, 80, 80, 80 },
    { "Linux, if not told", 800.9, 8000, 75, 75, 75 },
    { "TI SLLA270: typically", 10, 1000, 75, 75, 75 },
    { "SAE J1939 (Perkins 1200F manual)", 250, 250, 87, 87, 87 },
    { "ISO 15765-4:2005, testers", 250, 250, 80, 81.25, NAN },
    { "ISO 15765-4:2005, testers", 500, 500, 80, 81.25, NAN },
};

static bool is_for(const struct recommendation *r, double rate_bps)
{
    return rate_bps / 1000 > r->from_kbps * 0.999 && rate_bps / 1000 < r->to_kbps * 1.001;
}

static const char *position(const struct recommendation *r, const struct lw_timing *timing)
{
    double pct = 100 * lw_timing_sample_point(timing), quantum_pct = 100.0 / lw_timing_quanta(timing);
    if (pct >= r->min_pct - 1e-6 && pct <= r->max_pct + 1e-6)
        return "there";
    if (pct > r->min_pct - quantum_pct && pct < r->max_pct + quantum_pct)
        return "within a quantum";
    return pct < r->min_pct ? "earlier" : "later";
}

void timing_points(struct timing_job *job)
{
    double rate_bps = lw_timing_rate_bps(&job->bus.timing);
    char title[LW_SHEET_TITLE], asks[2 * LW_SHEET_CELL], rate[TIMING_TEXT];
    snprintf(title, sizeof(title), "who samples where at %s: none of them makes another wrong", timing_rate_text(rate_bps, rate));
    struct lw_sheet_table *table = lw_sheet_table(job->sheet, title);
    lw_table_heads(table, job->has_module ? 4 : 3, (const char *const[]){ "", "asks for", job->has_module ? job->bus.who : "this setting is",
                                                                          "the module" });
    for (size_t i = 0; i < sizeof(recommendations) / sizeof(*recommendations); i++) {
        const struct recommendation *r = &recommendations[i];
        if (!is_for(r, rate_bps))
            continue;
        if (r->max_pct > r->min_pct && !isnan(r->best_pct))
            snprintf(asks, sizeof(asks), "%g to %g %%, best %g %%", r->min_pct, r->max_pct, r->best_pct);
        else if (r->max_pct > r->min_pct)
            snprintf(asks, sizeof(asks), "%g or %g %%", r->min_pct, r->max_pct);
        else
            snprintf(asks, sizeof(asks), "%g %%", r->min_pct);
        lw_table_row(table, LW_FINDING_NONE, (const char *const[]){ r->who, asks, position(r, &job->bus.timing),
                                                                    job->has_module ? position(r, &job->module.timing) : "" });
    }
}
