/* SPDX-License-Identifier: MIT
 *
 * The inference apart from what feeds it: what readings do to the ranking, what may be called certain, which check is
 * proposed, and that a verdict does not flicker.
 */
#include "loomwatch/core/verdict.h"

#include "../../src/core/verdict_parts.h"
#include "cases.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const uint64_t ms = 1000000;
static const struct lw_readings no_readings;

struct answer { uint8_t fact, answer; };

#define YES(fact) { LW_FACT_##fact, LW_ANSWER_YES }
#define NO(fact) { LW_FACT_##fact, LW_ANSWER_NO }

/* Bus off in the middle of good traffic, all else untold. */
static const struct answer bus_off[] = { YES(BUS_OFF), YES(TROUBLE), YES(OTHERS_BEFORE), YES(OUT_OF_THE_BLUE) };
/* Nothing heard from the start, by an adapter that would tell errors. */
static const struct answer nothing[] = { NO(OTHERS_NOW), NO(OTHERS_BEFORE), NO(OWN_SENT), NO(TROUBLE), NO(ERRORS), YES(TELLS_ERRORS), NO(JUST_BEGUN) };

static struct lw_verdict judged(const struct answer *answers, size_t n, const struct lw_readings *readings)
{
    struct lw_fact_value facts[LW_N_FACTS] = { 0 };
    struct lw_verdict verdict;
    for (size_t i = 0; i < n; i++)
        facts[answers[i].fact].answer = answers[i].answer;
    lw_verdict_judge(facts, readings, &verdict);
    return verdict;
}

static double probability(const struct lw_verdict *verdict, enum lw_cause cause)
{
    for (unsigned i = 0; i < verdict->n_named; i++)
        if (verdict->named[i].cause == cause)
            return verdict->named[i].probability;
    return 0;
}

static struct lw_readings one_reading(enum lw_measurement kind, double value)
{
    return (struct lw_readings){ .n = 1, .all = { { .kind = (uint8_t)kind, .value = value } } };
}

static void verdict_of_nothing_known_is_no_trouble(void **state)
{
    (void)state;
    struct lw_verdict verdict = judged(NULL, 0, &no_readings);
    assert_false(lw_pictures[verdict.picture].is_trouble);
    assert_int_not_equal(verdict.confidence, LW_CERTAIN);
}

static void verdict_readings_move_the_ranking(void **state)
{
    static const struct {
        enum lw_measurement kind;
        double value;
        enum lw_cause up, down;
    } rows[] = {
        { LW_MEASURE_OHM, 0.4, LW_CAUSE_SHORT, LW_CAUSE_TRANSCEIVER }, { LW_MEASURE_OHM, 60, LW_CAUSE_TRANSCEIVER, LW_CAUSE_SHORT },
        { LW_MEASURE_OHM, 120, LW_CAUSE_WIRE_OPEN, LW_CAUSE_TO_RAIL }, { LW_MEASURE_OHM, 120, LW_CAUSE_TERMINATOR_MISSING, LW_CAUSE_SHORT },
        { LW_MEASURE_OHM, INFINITY, LW_CAUSE_WIRE_OPEN, LW_CAUSE_TRANSCEIVER }, { LW_MEASURE_VOLT_H, 12, LW_CAUSE_TO_RAIL, LW_CAUSE_SHORT },
        { LW_MEASURE_VOLT_H, 0, LW_CAUSE_TO_RAIL, LW_CAUSE_SHORT }, { LW_MEASURE_VOLT_L, 24, LW_CAUSE_TO_RAIL, LW_CAUSE_TRANSCEIVER },
    };
    (void)state;
    struct lw_verdict before = judged(bus_off, N_ROWS(bus_off), &no_readings);
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_readings readings = one_reading(rows[i].kind, rows[i].value);
        struct lw_verdict after = judged(bus_off, N_ROWS(bus_off), &readings);
        assert_int_equal(after.picture, LW_PICTURE_BUS_OFF);
        assert_true(probability(&after, rows[i].up) > probability(&before, rows[i].up));
        assert_true(probability(&after, rows[i].down) < probability(&before, rows[i].down));
        assert_int_not_equal(after.confidence, LW_CERTAIN);
    }
}

static void verdict_newest_reading_of_a_kind_counts(void **state)
{
    (void)state;
    struct lw_readings both = { .n = 2, .all = { { .kind = LW_MEASURE_OHM, .value = 0.3 }, { .kind = LW_MEASURE_OHM, .value = 60 } } };
    struct lw_readings last = one_reading(LW_MEASURE_OHM, 60);
    struct lw_verdict a = judged(bus_off, N_ROWS(bus_off), &both), b = judged(bus_off, N_ROWS(bus_off), &last);
    assert_memory_equal(a.named, b.named, sizeof(a.named));
    assert_int_equal(a.check, b.check);
}

/* The meter is not asked again for what it has told. */
static void verdict_check_is_one_not_done_yet(void **state)
{
    (void)state;
    struct lw_verdict first = judged(bus_off, N_ROWS(bus_off), &no_readings);
    assert_int_equal(first.check, LW_CHECK_OHM);
    struct lw_readings readings = one_reading(LW_MEASURE_OHM, 60);
    struct lw_verdict second = judged(bus_off, N_ROWS(bus_off), &readings);
    assert_int_not_equal(second.check, LW_CHECK_OHM);
    assert_true(second.check < 0 || second.check_bits > 0);
}

/* Between two causes alone: the check in whose outcomes they differ. */
static void verdict_check_separates_a_pair(void **state)
{
    static const struct { enum lw_cause a, b; int check; } rows[] = {
        { LW_CAUSE_SHORT, LW_CAUSE_TRANSCEIVER, LW_CHECK_OHM }, { LW_CAUSE_ALONE, LW_CAUSE_OTHERS_LISTEN, LW_CHECK_WAKE },
        { LW_CAUSE_OWN_RATE, LW_CAUSE_OTHERS_LISTEN, LW_CHECK_RATE }, { LW_CAUSE_OTHER_RATE, LW_CAUSE_TRANSCEIVER, LW_CHECK_UNPLUG },
        { LW_CAUSE_TERMINATOR_MISSING, LW_CAUSE_UNIT_RESET, LW_CHECK_OHM }, { LW_CAUSE_TIMING, LW_CAUSE_OTHER_RATE, -1 },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_fact_value facts[LW_N_FACTS] = { [LW_FACT_AFTER_CHANGE] = { .answer = LW_ANSWER_YES } };
        double p[LW_N_CAUSES] = { 0 }, bits;
        p[rows[i].a] = p[rows[i].b] = 0.5;
        assert_int_equal(lw_verdict_check(p, facts, &no_readings, &bits), rows[i].check);
        assert_true(bits >= 0 && bits <= 1 + 1e-9);         /* a bit tells two apart, no check tells more */
    }
}

static void verdict_check_to_unplug_needs_something_plugged(void **state)
{
    struct lw_fact_value facts[LW_N_FACTS] = { 0 };
    double p[LW_N_CAUSES] = { 0 }, bits;
    (void)state;
    p[LW_CAUSE_OTHER_RATE] = p[LW_CAUSE_TRANSCEIVER] = 0.5;
    assert_int_not_equal(lw_verdict_check(p, facts, &no_readings, &bits), LW_CHECK_UNPLUG);
    facts[LW_FACT_MUTE].answer = LW_ANSWER_YES;
    assert_int_equal(lw_verdict_check(p, facts, &no_readings, &bits), LW_CHECK_UNPLUG);
}

static uint64_t draw(uint64_t *random, uint64_t n)
{
    *random ^= *random << 13;
    *random ^= *random >> 7;
    *random ^= *random << 17;
    return *random % n;
}

static bool proof_holds(const struct lw_cause_info *cause, const struct lw_fact_value *facts)
{
    unsigned n = 0;
    for (; n < LW_MAX_PROOFS && (cause->proof[n].fact != 0 || cause->proof[n].how != 0); n++) {
        bool is_always = cause->proof[n].how == LW_ALWAYS;
        assert_true(is_always || cause->proof[n].how == LW_NEVER);
        if (facts[cause->proof[n].fact].answer != (is_always ? LW_ANSWER_YES : LW_ANSWER_NO))
            return false;
    }
    return n > 0;
}

static void check_verdict(const struct lw_verdict *verdict, const struct lw_fact_value *facts)
{
    double sum = 0;
    uint32_t seen = 0;
    for (unsigned i = 0; i < verdict->n_named; i++) {
        double p = verdict->named[i].probability;
        assert_true(p > 0 && p <= 1 && (i == 0 || p <= verdict->named[i - 1].probability));
        assert_true(lw_causes[verdict->named[i].cause].pictures >> verdict->picture & 1);
        assert_int_not_equal(verdict->named[i].cause, LW_CAUSE_NONE_OF_THESE);
        assert_false(seen >> verdict->named[i].cause & 1);
        seen |= UINT32_C(1) << verdict->named[i].cause;
        sum += p;
    }
    assert_true(sum <= 1 + 1e-9 && (verdict->confidence == LW_CANNOT_SAY || sum > 0.3));
    assert_true(verdict->check >= -1 && verdict->check < LW_N_CHECKS);
    if (verdict->confidence == LW_CERTAIN)
        assert_true(proof_holds(&lw_causes[verdict->named[0].cause], facts));
}

/* Whatever the facts: probabilities are some, named in their order; nothing is certain but by its proof. */
static void verdict_of_any_facts_keeps_the_rules(void **state)
{
    uint64_t random = 0x9E3779B97F4A7C15;
    (void)state;
    for (unsigned n = 0; n < 20000; n++) {
        struct lw_fact_value facts[LW_N_FACTS] = { 0 };
        struct lw_readings readings = { .n = (unsigned)draw(&random, 4) };
        struct lw_verdict verdict;
        unsigned density = 1 + (unsigned)draw(&random, 8);
        for (int fact = 0; fact < LW_N_FACTS; fact++)
            facts[fact].answer = (uint8_t)(draw(&random, density) == 0 ? draw(&random, 3) : LW_ANSWER_UNKNOWN);
        for (unsigned i = 0; i < readings.n; i++)
            readings.all[i] = (struct lw_meter_reading){ .kind = (uint8_t)draw(&random, LW_N_MEASUREMENTS), .value = (double)draw(&random, 200) };
        lw_verdict_judge(facts, &readings, &verdict);
        check_verdict(&verdict, facts);
    }
}

static void verdict_ratio_of_an_unknown_fact_is_one(void **state)
{
    (void)state;
    for (int cause = 0; cause < LW_N_CAUSES; cause++)
        for (int fact = 0; fact < LW_N_FACTS; fact++) {
            double yes = lw_cause_ratio((enum lw_cause)cause, (enum lw_fact)fact, LW_ANSWER_YES);
            double no = lw_cause_ratio((enum lw_cause)cause, (enum lw_fact)fact, LW_ANSWER_NO);
            assert_true(lw_cause_ratio((enum lw_cause)cause, (enum lw_fact)fact, LW_ANSWER_UNKNOWN) == 1);
            assert_true(yes > 0 && no > 0 && ((yes >= 1) == (no <= 1) || yes == 1 || no == 1));   /* never both for it */
        }
}

static void verdict_says_that_a_blind_adapter_cannot_tell(void **state)
{
    static const struct answer blind[] = { NO(OTHERS_NOW), NO(OTHERS_BEFORE), NO(OWN_SENT), NO(TELLS_ERRORS), NO(TELLS_STATE) };
    char words[LW_VERDICT_TEXT];
    (void)state;
    struct lw_verdict verdict = judged(blind, N_ROWS(blind), &no_readings);
    assert_non_null(strstr(lw_verdict_words(&verdict, NULL, words), "cannot tell"));
    verdict = judged(nothing, N_ROWS(nothing), &no_readings);
    assert_int_equal(verdict.picture, LW_PICTURE_NOTHING);
    assert_null(strstr(lw_verdict_words(&verdict, NULL, words), "cannot tell"));
}

/* A keeper that shows a healthy bus, and what it shows later. */
static struct lw_verdict of(enum lw_picture picture, enum lw_cause cause)
{
    return (struct lw_verdict){ .picture = (uint8_t)picture, .confidence = LW_LIKELY, .n_named = 1, .named = { { (uint8_t)cause, 0.9 } }, .check = -1 };
}

static struct lw_verdict_keeper settled(struct lw_verdict verdict)
{
    struct lw_verdict_keeper keeper;
    lw_verdict_keeper_init(&keeper);
    assert_int_equal(keeper.current.picture, LW_PICTURE_WAITING);
    assert_true(lw_verdict_keep(&keeper, &verdict, 1000 * ms));
    return keeper;
}

static void keeper_waits_as_long_as_it_should(void **state)
{
    static const struct { uint8_t from, to; unsigned after_ms; } rows[] = {
        { LW_PICTURE_WELL, LW_PICTURE_SPOILT, 250 }, { LW_PICTURE_SPOILT, LW_PICTURE_WELL, 1500 }, { LW_PICTURE_WELL, LW_PICTURE_BUS_OFF, 0 },
        { LW_PICTURE_WELL, LW_PICTURE_GONE, 0 }, { LW_PICTURE_GONE, LW_PICTURE_WELL, 0 }, { LW_PICTURE_WELL, LW_PICTURE_DOWN, 0 },
        { LW_PICTURE_SPOILT, LW_PICTURE_UNACKNOWLEDGED, 250 }, { LW_PICTURE_BUS_OFF, LW_PICTURE_HEALED, 1500 }, { LW_PICTURE_WELL, LW_PICTURE_HEALED, 250 },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_verdict_keeper keeper = settled(of((enum lw_picture)rows[i].from, LW_CAUSE_WELL));
        struct lw_verdict now = of((enum lw_picture)rows[i].to, LW_CAUSE_LOOSE);
        unsigned at_ms = 0;
        while (!lw_verdict_keep(&keeper, &now, (2000 + at_ms) * ms))
            assert_true((at_ms += 10) < 5000);
        assert_int_equal(at_ms, rows[i].after_ms);
        assert_int_equal(keeper.current.picture, rows[i].to);
        assert_int_equal(keeper.current.since_ns, 2000 * ms);
    }
}

static void keeper_does_not_flicker(void **state)
{
    struct lw_verdict well = of(LW_PICTURE_WELL, LW_CAUSE_WELL), spoilt = of(LW_PICTURE_SPOILT, LW_CAUSE_LOOSE), other = of(LW_PICTURE_SPOILT, LW_CAUSE_TIMING);
    (void)state;
    struct lw_verdict_keeper a = settled(well), b = settled(spoilt);
    for (unsigned tick = 0; tick < 400; tick++) {
        assert_false(lw_verdict_keep(&a, tick % 2 ? &well : &spoilt, (2000 + 50 * tick) * ms));
        assert_false(lw_verdict_keep(&b, tick % 2 ? &spoilt : &other, (2000 + 50 * tick) * ms));
    }
    assert_int_equal(a.current.picture, LW_PICTURE_WELL);
    assert_int_equal(b.current.named[0].cause, LW_CAUSE_LOOSE);
}

/* Two pictures of trouble in turn: neither lasts, but that all is well lasts least. */
static void keeper_does_not_stay_calm_while_trouble_changes_its_name(void **state)
{
    struct lw_verdict spoilt = of(LW_PICTURE_SPOILT, LW_CAUSE_LOOSE), none = of(LW_PICTURE_NO_GOOD_FRAME, LW_CAUSE_LOOSE);
    (void)state;
    struct lw_verdict_keeper keeper = settled(of(LW_PICTURE_WELL, LW_CAUSE_WELL));
    unsigned n_changes = 0;
    for (unsigned tick = 0; tick < 40; tick++)
        n_changes += lw_verdict_keep(&keeper, tick % 2 ? &spoilt : &none, (2000 + 50 * tick) * ms);
    assert_int_equal(n_changes, 1);
    assert_true(lw_pictures[keeper.current.picture].is_trouble);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(verdict_of_nothing_known_is_no_trouble),
        cmocka_unit_test(verdict_readings_move_the_ranking),
        cmocka_unit_test(verdict_newest_reading_of_a_kind_counts),
        cmocka_unit_test(verdict_check_is_one_not_done_yet),
        cmocka_unit_test(verdict_check_separates_a_pair),
        cmocka_unit_test(verdict_check_to_unplug_needs_something_plugged),
        cmocka_unit_test(verdict_of_any_facts_keeps_the_rules),
        cmocka_unit_test(verdict_ratio_of_an_unknown_fact_is_one),
        cmocka_unit_test(verdict_says_that_a_blind_adapter_cannot_tell),
        cmocka_unit_test(keeper_waits_as_long_as_it_should),
        cmocka_unit_test(keeper_does_not_flicker),
        cmocka_unit_test(keeper_does_not_stay_calm_while_trouble_changes_its_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
