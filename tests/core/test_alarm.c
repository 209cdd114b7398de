/* SPDX-License-Identifier: MIT
 *
 * The annunciator: every transition of every table, and the published sequences step by step.
 */
#include "loomwatch/core/alarm.h"

#include "cases.h"
#include "random_event.h"

static const bool both[] = { false, true };

static bool guard_allows(unsigned guard, bool is_abnormal, bool has_first)
{
    return guard == LW_IF_ANY || (guard == LW_IF_ABNORMAL && is_abnormal) || (guard == LW_IF_CLEARED && !is_abnormal)
           || (guard == LW_IF_NO_FIRST && !has_first) || (guard == LW_IF_HAS_FIRST && has_first);
}

/* Where a table's rows lead, worked out here: -1 if no row speaks. Fails on two rows that contradict each other. */
static int row_target(const struct lw_sequence_table *table, unsigned from, unsigned input, bool is_abnormal, bool has_first)
{
    int to = -1;
    for (size_t i = 0; i < table->n_rows; i++) {
        const struct lw_sequence_row *row = &table->rows[i];
        if (row->from != from || row->input != input || !guard_allows(row->guard, is_abnormal, has_first))
            continue;
        assert_int_equal(to, -1);
        to = row->to;
    }
    return to;
}

static void sequence_every_row_of_every_table_is_followed(void **state)
{
    (void)state;
    for (int s = 0; s < LW_N_SEQUENCES; s++)
        for (size_t i = 0; i < lw_sequences[s].n_rows; i++) {
            const struct lw_sequence_row *row = &lw_sequences[s].rows[i];
            unsigned n_followed = 0;
            for (int a = 0; a < 2; a++)
                for (int f = 0; f < 2; f++) {
                    if (!guard_allows(row->guard, both[a], both[f]))
                        continue;
                    n_followed++;
                    assert_int_equal(lw_sequence_next(&lw_sequences[s], row->from, row->input, both[a], both[f]), row->to);
                }
            assert_true(n_followed > 0);
            assert_in_range(row->to, 0, LW_N_WINDOW_STATES - 1);
        }
}

static void sequence_state_and_input_without_a_row_stay(void **state)
{
    (void)state;
    unsigned n_stay = 0;
    for (int s = 0; s < LW_N_SEQUENCES; s++)
        for (unsigned from = 0; from < LW_N_WINDOW_STATES; from++)
            for (unsigned input = 0; input < LW_N_ALARM_INPUTS; input++)
                for (unsigned k = 0; k < 4; k++) {
                    int to = row_target(&lw_sequences[s], from, input, both[k & 1], both[k >> 1]);
                    n_stay += to < 0;
                    assert_int_equal(lw_sequence_next(&lw_sequences[s], from, input, both[k & 1], both[k >> 1]),
                                     to < 0 ? (int)from : to);
                }
    assert_true(n_stay > 0);
}

static void sequence_without_first_out_never_reaches_its_states(void **state)
{
    (void)state;
    for (int s = 0; s < LW_N_SEQUENCES; s++)
        for (size_t i = 0; i < lw_sequences[s].n_rows; i++)
            if (s == LW_SEQUENCE_A || s == LW_SEQUENCE_M)
                assert_true(lw_sequences[s].rows[i].to < LW_WINDOW_FIRST_NEW);
    assert_string_equal(lw_sequences[LW_SEQUENCE_A].name, "A");
    assert_string_equal(lw_sequences[LW_SEQUENCE_M].name, "M");
    assert_string_equal(lw_sequences[LW_SEQUENCE_F2M].name, "F2M");
    assert_string_equal(lw_sequences[LW_SEQUENCE_F3M].name, "F3M");
}

/* Scenarios: two windows, what happens, and what is then seen and heard. */
enum what { ALARM_1, CLEAR_1, ALARM_2, CLEAR_2, SILENCE, ACKNOWLEDGE, RESET, FIRST_RESET };

struct step {
    enum what what;
    enum lw_lamp lamp_1, lamp_2;
    bool has_horn;
    int first;      /* 1, 2, or 0 for none */
};

static const enum lw_window window_1 = LW_WINDOW_ABSENT, window_2 = LW_WINDOW_BUS_ERRORS;

static void take_step(struct lw_alarms *alarms, enum what what, uint64_t now_ns)
{
    switch (what) {
    case ALARM_1: lw_alarms_set(alarms, window_1, true, now_ns); break;
    case CLEAR_1: lw_alarms_set(alarms, window_1, false, now_ns); break;
    case ALARM_2: lw_alarms_set(alarms, window_2, true, now_ns); break;
    case CLEAR_2: lw_alarms_set(alarms, window_2, false, now_ns); break;
    case SILENCE: lw_alarms_press(alarms, LW_INPUT_SILENCE); break;
    case ACKNOWLEDGE: lw_alarms_press(alarms, LW_INPUT_ACKNOWLEDGE); break;
    case RESET: lw_alarms_press(alarms, LW_INPUT_RESET); break;
    default: lw_alarms_press(alarms, LW_INPUT_FIRST_OUT_RESET); break;
    }
}

static void play(enum lw_sequence sequence, const struct step *steps, size_t n)
{
    struct lw_alarms alarms;
    lw_alarms_init(&alarms, sequence);
    assert_int_equal(lw_alarms_lamp(&alarms, window_1), LW_LAMP_OFF);
    assert_false(lw_alarms_has_horn(&alarms));
    for (size_t i = 0; i < n; i++) {
        take_step(&alarms, steps[i].what, 1000 * (i + 1));
        int first = lw_alarms_first_out(&alarms);
        print_message("  %s step %zu\n", lw_sequences[sequence].name, i + 1);
        assert_int_equal(lw_alarms_lamp(&alarms, window_1), steps[i].lamp_1);
        assert_int_equal(lw_alarms_lamp(&alarms, window_2), steps[i].lamp_2);
        assert_int_equal(lw_alarms_has_horn(&alarms), steps[i].has_horn);
        assert_int_equal(first == window_1 ? 1 : first == window_2 ? 2 : 0, steps[i].first);
    }
}

#define OFF LW_LAMP_OFF
#define ON LW_LAMP_ON
#define FLASH LW_LAMP_FLASH
#define FIRST LW_LAMP_FIRST_FLASH
#define SLOW LW_LAMP_SLOW_FLASH

static void sequence_m_as_quoted_by_makers_is_kept(void **state)
{
    (void)state;
    /* ANSI/ISA-18.1 sequence M, as quoted in makers' manuals of annunciators */
    static const struct step steps[] = {
        { ALARM_1, FLASH, OFF, true, 0 }, { RESET, FLASH, OFF, true, 0 }, { ACKNOWLEDGE, ON, OFF, false, 0 },
        { RESET, ON, OFF, false, 0 },     /* still abnormal */
        { CLEAR_1, ON, OFF, false, 0 }, { RESET, OFF, OFF, false, 0 },
        { ALARM_2, OFF, FLASH, true, 0 }, { SILENCE, OFF, FLASH, false, 0 }, { ALARM_1, FLASH, FLASH, true, 0 },
        { ACKNOWLEDGE, ON, ON, false, 0 }, { CLEAR_1, ON, ON, false, 0 }, { RESET, OFF, ON, false, 0 },
    };
    play(LW_SEQUENCE_M, steps, N_ROWS(steps));
}

static void sequence_a_as_quoted_by_makers_is_kept(void **state)
{
    (void)state;
    /* ANSI/ISA-18.1 sequence A, as quoted in makers' manuals of annunciators: lock-in of momentary alarms */
    static const struct step steps[] = {
        { ALARM_1, FLASH, OFF, true, 0 }, { ACKNOWLEDGE, ON, OFF, false, 0 }, { CLEAR_1, OFF, OFF, false, 0 },
        { ALARM_1, FLASH, OFF, true, 0 }, { CLEAR_1, FLASH, OFF, true, 0 }, { ACKNOWLEDGE, OFF, OFF, false, 0 },
        { ALARM_2, OFF, FLASH, true, 0 }, { SILENCE, OFF, FLASH, false, 0 }, { CLEAR_2, OFF, FLASH, false, 0 },
        { RESET, OFF, FLASH, false, 0 }, { ACKNOWLEDGE, OFF, OFF, false, 0 },
    };
    play(LW_SEQUENCE_A, steps, N_ROWS(steps));
}

static void sequence_f2m_as_quoted_by_makers_is_kept(void **state)
{
    (void)state;
    /* ANSI/ISA-18.1 sequence F2M-1, as quoted in makers' manuals of annunciators */
    static const struct step steps[] = {
        { ALARM_1, FIRST, OFF, true, 1 }, { ALARM_2, FIRST, ON, true, 1 }, { CLEAR_1, FIRST, ON, true, 1 },
        { SILENCE, FIRST, ON, false, 1 }, { ACKNOWLEDGE, ON, ON, false, 0 }, { CLEAR_2, ON, ON, false, 0 },
        { RESET, OFF, OFF, false, 0 },
        { ALARM_2, OFF, FIRST, true, 2 }, { ALARM_1, ON, FIRST, true, 2 }, { ACKNOWLEDGE, ON, ON, false, 0 },
        { RESET, ON, ON, false, 0 }, { CLEAR_2, ON, ON, false, 0 }, { RESET, ON, OFF, false, 0 },
        { ALARM_2, ON, FIRST, true, 2 },      /* acknowledge has reset first-out: a new first */
    };
    play(LW_SEQUENCE_F2M, steps, N_ROWS(steps));
}

static void sequence_f3m_keeps_the_first_until_first_out_reset(void **state)
{
    (void)state;
    /* Sequence F3M: from memory */
    static const struct step steps[] = {
        { ALARM_1, FIRST, OFF, true, 1 }, { ALARM_2, FIRST, FLASH, true, 1 }, { SILENCE, FIRST, FLASH, false, 1 },
        { ACKNOWLEDGE, SLOW, ON, false, 1 }, { CLEAR_2, SLOW, ON, false, 1 }, { CLEAR_1, SLOW, ON, false, 1 },
        { RESET, SLOW, OFF, false, 1 },       /* the later one goes off, the first keeps its mark */
        { ALARM_2, SLOW, FLASH, true, 1 }, { FIRST_RESET, ON, FLASH, true, 0 }, { ACKNOWLEDGE, ON, ON, false, 0 },
        { RESET, OFF, ON, false, 0 }, { CLEAR_2, OFF, ON, false, 0 }, { RESET, OFF, OFF, false, 0 },
        { ALARM_2, OFF, FIRST, true, 2 }, { FIRST_RESET, OFF, FLASH, true, 0 },   /* whether normal or not */
        { ALARM_1, FIRST, FLASH, true, 1 }, { SILENCE, FIRST, FLASH, false, 1 }, { FIRST_RESET, FLASH, FLASH, false, 0 },
    };
    play(LW_SEQUENCE_F3M, steps, N_ROWS(steps));
}

static void alarm_that_comes_again_flashes_anew_and_is_counted(void **state)
{
    (void)state;
    for (int s = 0; s < LW_N_SEQUENCES; s++) {
        struct lw_alarms alarms;
        lw_alarms_init(&alarms, (enum lw_sequence)s);
        lw_alarms_set(&alarms, window_1, true, 100);
        lw_alarms_set(&alarms, window_1, true, 200);        /* no change, no effect */
        assert_int_equal(alarms.windows[window_1].n_times, 1);
        assert_int_equal(alarms.windows[window_1].began_ns, 100);
        lw_alarms_set(&alarms, window_1, false, 300);
        assert_int_equal(alarms.windows[window_1].cleared_ns, 300);
        lw_alarms_press(&alarms, LW_INPUT_SILENCE);
        lw_alarms_set(&alarms, window_1, true, 400);
        assert_true(lw_alarms_has_horn(&alarms));
        assert_int_equal(alarms.windows[window_1].n_times, 2);
        assert_int_equal(alarms.windows[window_1].began_ns, 400);
        lw_alarms_press(&alarms, LW_INPUT_ACKNOWLEDGE);
        lw_alarms_set(&alarms, window_1, false, 500);
        lw_alarms_set(&alarms, window_1, true, 600);
        assert_true(lw_alarms_has_horn(&alarms));
        assert_int_equal(alarms.windows[window_1].n_times, s == LW_SEQUENCE_A ? 1 : 3);   /* A went back to normal */
    }
}

static void alarm_momentary_stays_visible_until_acknowledged(void **state)
{
    (void)state;
    for (int s = 0; s < LW_N_SEQUENCES; s++) {
        struct lw_alarms alarms;
        lw_alarms_init(&alarms, (enum lw_sequence)s);
        lw_alarms_set(&alarms, window_1, true, 100);
        lw_alarms_set(&alarms, window_1, false, 101);
        lw_alarms_press(&alarms, LW_INPUT_RESET);
        lw_alarms_press(&alarms, LW_INPUT_FIRST_OUT_RESET);
        assert_int_not_equal(lw_alarms_lamp(&alarms, window_1), LW_LAMP_OFF);
        assert_true(lw_alarms_has_horn(&alarms));
    }
}

static void alarm_random_inputs_never_give_two_firsts(void **state)
{
    (void)state;
    uint64_t seed = 0xA1A;
    for (int s = 0; s < LW_N_SEQUENCES; s++) {
        struct lw_alarms alarms;
        lw_alarms_init(&alarms, (enum lw_sequence)s);
        for (unsigned i = 0; i < 20000; i++) {
            if (random_below(&seed, 3))
                lw_alarms_set(&alarms, random_below(&seed, LW_N_WINDOWS), random_below(&seed, 2), i);
            else
                lw_alarms_press(&alarms, LW_INPUT_SILENCE + random_below(&seed, 4));
            unsigned n_firsts = 0;
            for (int w = 0; w < LW_N_WINDOWS; w++) {
                n_firsts += alarms.windows[w].state >= LW_WINDOW_FIRST_NEW;
                /* What is abnormal is never dark. */
                assert_true(!alarms.windows[w].is_abnormal || lw_alarms_lamp(&alarms, w) != LW_LAMP_OFF);
            }
            assert_true(n_firsts <= (s >= LW_SEQUENCE_F2M));
            assert_int_equal(lw_alarms_first_out(&alarms) >= 0, n_firsts == 1);
        }
    }
}

static void operational_test_lights_all_and_changes_nothing(void **state)
{
    (void)state;
    struct lw_alarms alarms, before;
    lw_alarms_init(&alarms, LW_SEQUENCE_F3M);
    lw_alarms_set(&alarms, window_2, true, 5);
    before = alarms;
    alarms.is_testing = true;
    for (int w = 0; w < LW_N_WINDOWS; w++)
        assert_int_equal(lw_alarms_lamp(&alarms, w), LW_LAMP_FLASH);
    assert_true(lw_alarms_has_horn(&alarms));
    alarms.is_testing = false;
    assert_memory_equal(&alarms, &before, sizeof(alarms));
    lw_alarms_init(&alarms, LW_SEQUENCE_A);
    alarms.is_testing = true;
    assert_true(lw_alarms_has_horn(&alarms));
}

static void windows_all_have_caption_name_and_meaning(void **state)
{
    (void)state;
    for (int w = 0; w < LW_N_WINDOWS; w++) {
        assert_in_range(strlen(lw_windows[w].caption), 2, 10);
        assert_true(strlen(lw_windows[w].name) > 2 && strlen(lw_windows[w].meaning) > 20);
        for (int other = 0; other < w; other++)
            assert_string_not_equal(lw_windows[w].caption, lw_windows[other].caption);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sequence_every_row_of_every_table_is_followed),
        cmocka_unit_test(sequence_state_and_input_without_a_row_stay),
        cmocka_unit_test(sequence_without_first_out_never_reaches_its_states),
        cmocka_unit_test(sequence_m_as_quoted_by_makers_is_kept),
        cmocka_unit_test(sequence_a_as_quoted_by_makers_is_kept),
        cmocka_unit_test(sequence_f2m_as_quoted_by_makers_is_kept),
        cmocka_unit_test(sequence_f3m_keeps_the_first_until_first_out_reset),
        cmocka_unit_test(alarm_that_comes_again_flashes_anew_and_is_counted),
        cmocka_unit_test(alarm_momentary_stays_visible_until_acknowledged),
        cmocka_unit_test(alarm_random_inputs_never_give_two_firsts),
        cmocka_unit_test(operational_test_lights_all_and_changes_nothing),
        cmocka_unit_test(windows_all_have_caption_name_and_meaning),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
