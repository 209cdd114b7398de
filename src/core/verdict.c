/* SPDX-License-Identifier: MIT
 *
 * The inference: likelihood ratios over the table of causes, and what may be claimed of the outcome.
 */
#include "verdict_parts.h"

#include <math.h>
#include <string.h>

/* How often a fact holds, in the words of the table. */
static const double how_often[LW_N_HOWS] = {
    [LW_NEVER] = 0.03, [LW_SELDOM] = 0.2, [LW_HALF] = 0.5, [LW_MOSTLY] = 0.8, [LW_ALWAYS] = 0.97,
};

static const double likely = 0.75, worth_naming = 0.02, none_of_these = 0.5;
static const uint64_t hold_ns = 250000000, hold_calm_ns = 1500000000;

static const struct lw_sign *sign_of(const struct lw_cause_info *cause, enum lw_fact fact)
{
    for (unsigned i = 0; i < LW_MAX_SIGNS; i++)
        if (cause->signs[i].fact == fact && (fact != 0 || cause->signs[i].how != 0))
            return &cause->signs[i];
    return NULL;
}

double lw_cause_ratio(enum lw_cause cause, enum lw_fact fact, enum lw_answer answer)
{
    const struct lw_sign *sign = sign_of(&lw_causes[cause], fact);
    if (!sign || answer == LW_ANSWER_UNKNOWN)
        return 1;
    double yes = how_often[sign->how], usual = lw_facts[fact].usual;
    return answer == LW_ANSWER_YES ? yes / usual : (1 - yes) / (1 - usual);
}

const struct lw_meter_reading *lw_verdict_reading(const struct lw_readings *readings, enum lw_measurement kind)
{
    for (unsigned i = readings->n; i-- > 0;)
        if (readings->all[i].kind == kind)
            return &readings->all[i];
    return NULL;
}

double lw_verdict_ratio(const struct lw_verdict *verdict, unsigned nth, enum lw_fact fact, enum lw_answer answer)
{
    return verdict->given >> fact & 1 ? 1 : lw_cause_ratio((enum lw_cause)verdict->named[nth].cause, fact, answer);
}

/* The newest reading of each kind. */
static double weigh_readings(enum lw_cause cause, const struct lw_readings *readings)
{
    double weight = 1;
    for (int kind = 0; kind < LW_N_MEASUREMENTS; kind++) {
        const struct lw_meter_reading *reading = lw_verdict_reading(readings, (enum lw_measurement)kind);
        if (reading)
            weight *= lw_verdict_outcome(cause, (enum lw_check)kind, lw_reading_range(reading)) * LW_READING_RANGES;
    }
    return weight;
}

static void weigh(const struct lw_fact_value *facts, uint64_t given, const struct lw_readings *readings, enum lw_picture picture,
                  double probabilities[LW_N_CAUSES])
{
    double sum = 0;
    for (int cause = 0; cause < LW_N_CAUSES; cause++) {
        const struct lw_cause_info *info = &lw_causes[cause];
        probabilities[cause] = info->pictures >> picture & 1 ? info->weight : 0;
        for (int fact = 0; fact < LW_N_FACTS && probabilities[cause] > 0; fact++)
            if (!(given >> fact & 1))
                probabilities[cause] *= lw_cause_ratio((enum lw_cause)cause, (enum lw_fact)fact, (enum lw_answer)facts[fact].answer);
        probabilities[cause] *= weigh_readings((enum lw_cause)cause, readings);
        sum += probabilities[cause];
    }
    for (int cause = 0; cause < LW_N_CAUSES; cause++)
        probabilities[cause] /= sum;
}

/* Those that are worth it, most likely first; of equal ones the first of the table. */
static void name_causes(const double probabilities[LW_N_CAUSES], struct lw_verdict *out)
{
    for (int cause = LW_CAUSE_NONE_OF_THESE + 1; cause < LW_N_CAUSES; cause++) {
        double p = probabilities[cause];
        unsigned at = 0;
        while (at < out->n_named && out->named[at].probability >= p)
            at++;
        if (p < worth_naming || at == LW_MAX_NAMED)
            continue;
        out->n_named += out->n_named < LW_MAX_NAMED;
        memmove(&out->named[at + 1], &out->named[at], (out->n_named - 1 - at) * sizeof(out->named[0]));
        out->named[at] = (struct lw_suspect){ (uint8_t)cause, p };
    }
}

static bool is_proven(const struct lw_cause_info *cause, const struct lw_fact_value *facts)
{
    unsigned n = 0;
    for (; n < LW_MAX_PROOFS && (cause->proof[n].fact != 0 || cause->proof[n].how != 0); n++) {
        enum lw_answer needed = cause->proof[n].how == LW_ALWAYS ? LW_ANSWER_YES : LW_ANSWER_NO;
        if (facts[cause->proof[n].fact].answer != needed)
            return false;
    }
    return n > 0;
}

void lw_verdict_judge(const struct lw_fact_value facts[LW_N_FACTS], const struct lw_readings *readings, struct lw_verdict *out)
{
    double probabilities[LW_N_CAUSES];
    memset(out, 0, sizeof(*out));
    uint64_t given;
    enum lw_picture picture = lw_verdict_picture(facts, readings, &given);
    out->picture = (uint8_t)picture;
    out->given = given;
    weigh(facts, given, readings, picture, probabilities);
    name_causes(probabilities, out);
    bool is_quiet = picture == LW_PICTURE_SILENT || picture == LW_PICTURE_NOTHING;
    out->is_blind = is_quiet && facts[LW_FACT_TELLS_ERRORS].answer == LW_ANSWER_NO && facts[LW_FACT_TELLS_STATE].answer == LW_ANSWER_NO;
    out->check = lw_verdict_check(probabilities, facts, readings, &out->check_bits);
    if (out->n_named == 0 || probabilities[LW_CAUSE_NONE_OF_THESE] > none_of_these)
        out->confidence = LW_CANNOT_SAY;
    else if (is_proven(&lw_causes[out->named[0].cause], facts))
        out->confidence = LW_CERTAIN;
    else
        out->confidence = out->named[0].probability >= likely ? LW_LIKELY : LW_ONE_OF;
}

static bool is_same(const struct lw_verdict *a, const struct lw_verdict *b)
{
    return a->picture == b->picture && a->confidence == b->confidence && (a->n_named > 0) == (b->n_named > 0)
        && a->named[0].cause == b->named[0].cause;
}

static void adopt(struct lw_verdict *current, const struct lw_verdict *now, uint64_t since_ns)
{
    *current = *now;
    current->since_ns = since_ns;
}

void lw_verdict_keeper_init(struct lw_verdict_keeper *keeper)
{
    memset(keeper, 0, sizeof(*keeper));
    keeper->current.picture = LW_PICTURE_WAITING;
    keeper->current.check = -1;
}

bool lw_verdict_keep(struct lw_verdict_keeper *keeper, const struct lw_verdict *now, uint64_t t_ns)
{
    if (keeper->has_current && is_same(&keeper->current, now)) {
        adopt(&keeper->current, now, keeper->current.since_ns);
        keeper->candidate_since_ns = keeper->trouble_since_ns = 0;
        return false;
    }
    bool is_alarming = !lw_pictures[keeper->current.picture].is_trouble && lw_pictures[now->picture].is_trouble;
    keeper->trouble_since_ns = !is_alarming ? 0 : keeper->trouble_since_ns == 0 ? t_ns : keeper->trouble_since_ns;
    /* Another picture need only last; which cause stands first in it may change meanwhile. Within one picture the cause must last. */
    bool is_other_picture = !keeper->has_current || now->picture != keeper->current.picture;
    bool goes_on = keeper->candidate_since_ns != 0
        && (is_other_picture ? keeper->candidate.picture == now->picture : is_same(&keeper->candidate, now));
    if (!goes_on)
        keeper->candidate_since_ns = t_ns;
    adopt(&keeper->candidate, now, keeper->candidate_since_ns);
    bool is_connection = now->picture == LW_PICTURE_GONE || now->picture == LW_PICTURE_DOWN || now->picture == LW_PICTURE_BUS_OFF;
    bool was_connection = keeper->has_current && (keeper->current.picture == LW_PICTURE_GONE || keeper->current.picture == LW_PICTURE_DOWN);
    bool is_calming = keeper->has_current && lw_pictures[keeper->current.picture].is_trouble && !lw_pictures[now->picture].is_trouble;
    uint64_t hold = (is_connection && is_other_picture) || was_connection || !keeper->has_current ? 0 : is_calming ? hold_calm_ns : hold_ns;
    /* Trouble that changes its name too often to last is trouble all the same. */
    bool is_overdue = is_alarming && t_ns >= keeper->trouble_since_ns + hold_calm_ns;
    if (t_ns < keeper->candidate_since_ns + hold && !is_overdue)
        return false;
    adopt(&keeper->current, now, keeper->candidate_since_ns);
    keeper->has_current = true;
    keeper->candidate_since_ns = keeper->trouble_since_ns = 0;
    return true;
}

const char *lw_confidence_name(enum lw_confidence confidence)
{
    static const char *const names[LW_N_CONFIDENCES] = { "cannot tell", "one of these", "likely", "certain" };
    return names[confidence];
}
