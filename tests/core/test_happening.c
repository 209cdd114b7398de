/* SPDX-License-Identifier: MIT
 *
 * The diary: what is joined, what never is, what the ring forgets, and its sentences.
 */
#include "loomwatch/core/happening.h"

#include "cases.h"
#include "random_event.h"

#include <stdio.h>

static const uint64_t ms = 1000000;

static struct lw_happening about(enum lw_happening_kind kind, uint32_t id, unsigned bus, uint64_t t_ms)
{
    return (struct lw_happening){
        .kind = (uint8_t)kind, .key = { .id = id, .bus = (uint8_t)bus }, .t_ns = t_ms * ms, .count = 1,
    };
}

static void add(struct lw_diary *diary, enum lw_happening_kind kind, uint32_t id, unsigned bus, uint64_t t_ms)
{
    struct lw_happening happening = about(kind, id, bus, t_ms);
    lw_diary_add(diary, &happening);
}

static void diary_empty_has_no_entry(void **state)
{
    (void)state;
    struct lw_diary diary;
    lw_diary_init(&diary);
    assert_null(lw_diary_newest(&diary, 0));
    assert_null(lw_diary_newest(&diary, LW_DIARY_SIZE));
}

static void diary_joins_like_things_that_happen_together(void **state)
{
    (void)state;
    struct lw_diary diary;
    lw_diary_init(&diary);
    for (unsigned i = 0; i < 40; i++)
        add(&diary, LW_HAPPENED_QUIET, 0x1A0 + i, 0, 1000 + 20 * i);
    assert_int_equal(diary.n_ever, 1);
    const struct lw_happening *entry = lw_diary_newest(&diary, 0);
    assert_int_equal(entry->count, 40);
    assert_int_equal(entry->key.id, 0x1A0);
    assert_int_equal(entry->t_ns, 1000 * ms);
    assert_int_equal(entry->last_ns, 1780 * ms);
}

static void diary_keeps_apart_what_does_not_belong_together(void **state)
{
    (void)state;
    static const struct {
        enum lw_happening_kind first, second;
        unsigned bus, apart_ms;
        bool joins;
    } rows[] = {
        { LW_HAPPENED_QUIET, LW_HAPPENED_QUIET, 0, 999, true },
        { LW_HAPPENED_QUIET, LW_HAPPENED_QUIET, 0, 1000, false },
        { LW_HAPPENED_QUIET, LW_HAPPENED_QUIET, 1, 10, false },
        { LW_HAPPENED_QUIET, LW_HAPPENED_ABSENT, 0, 10, false },
        { LW_HAPPENED_MARK, LW_HAPPENED_MARK, 0, 0, false },
        { LW_HAPPENED_STATE, LW_HAPPENED_STATE, 0, 999, true },      /* the same state */
        { LW_HAPPENED_BASELINE, LW_HAPPENED_BASELINE, 0, 0, false },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_diary diary;
        lw_diary_init(&diary);
        add(&diary, rows[i].first, 1, 0, 5000);
        add(&diary, rows[i].second, 2, rows[i].bus, 5000 + rows[i].apart_ms);
        assert_int_equal(diary.n_ever, rows[i].joins ? 1 : 2);
    }
}

static void diary_what_came_after_a_mark_stays_after_it(void **state)
{
    (void)state;
    struct lw_diary diary;
    lw_diary_init(&diary);
    add(&diary, LW_HAPPENED_NEW_ID, 1, 0, 100);
    add(&diary, LW_HAPPENED_MARK, 0, 0, 110);
    add(&diary, LW_HAPPENED_NEW_ID, 2, 0, 120);
    assert_int_equal(diary.n_ever, 3);
    assert_int_equal(lw_diary_newest(&diary, 0)->key.id, 2);
    assert_int_equal(lw_diary_newest(&diary, 1)->kind, LW_HAPPENED_MARK);
}

static void diary_joins_through_other_things_in_between(void **state)
{
    (void)state;
    struct lw_diary diary;
    lw_diary_init(&diary);
    for (unsigned i = 0; i < 30; i++) {
        add(&diary, LW_HAPPENED_QUIET, i, 0, 100 + i);
        add(&diary, LW_HAPPENED_ERRORS, 0, 0, 100 + i);
    }
    assert_int_equal(diary.n_ever, 2);
    assert_int_equal(lw_diary_newest(&diary, 0)->count, 30);
    assert_int_equal(lw_diary_newest(&diary, 1)->count, 30);
}

static void diary_sums_lost_frames(void **state)
{
    (void)state;
    struct lw_diary diary;
    lw_diary_init(&diary);
    for (unsigned i = 0; i < 3; i++) {
        struct lw_happening loss = about(LW_HAPPENED_LOSS, 0, 0, 100 + i);
        loss.value = 10;
        lw_diary_add(&diary, &loss);
    }
    char words[LW_HAPPENING_TEXT];
    assert_int_equal(lw_diary_newest(&diary, 0)->value, 30);
    assert_string_equal(lw_happening_words(lw_diary_newest(&diary, 0), words),
                        "30 frames lost: this computer or its adapter was too slow");
}

static struct lw_happening went(uint32_t id, uint64_t t_ms, uint64_t since_ms, uint64_t period_ms, const char *unit)
{
    struct lw_happening happening = about(LW_HAPPENED_QUIET, id, 0, t_ms);
    happening.since_ns = happening.until_ns = since_ms * ms;
    happening.period_ns = period_ms * ms;
    snprintf(happening.unit, sizeof(happening.unit), "%s", unit);
    return happening;
}

static void diary_slow_message_that_is_missed_later_joins_its_unit(void **state)
{
    (void)state;
    static const struct {
        struct lw_happening late;
        bool joins;
    } rows[] = {
        { { .t_ns = 24300 * 1000000ull, .since_ns = 19300 * 1000000ull, .period_ns = 1000 * 1000000ull }, true },
        { { .t_ns = 24300 * 1000000ull, .since_ns = 18200 * 1000000ull, .period_ns = 1000 * 1000000ull }, false },
        { { .t_ns = 24300 * 1000000ull, .since_ns = 20800 * 1000000ull, .period_ns = 1000 * 1000000ull }, false },
        { { .t_ns = 24300 * 1000000ull, .since_ns = 20600 * 1000000ull, .period_ns = 1000 * 1000000ull }, true },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_diary diary;
        struct lw_happening fast = went(0x0B0, 21000, 20000, 10, ""), late = went(0x3F0, 0, 0, 0, "");
        lw_diary_init(&diary);
        lw_diary_add(&diary, &fast);
        late.t_ns = rows[i].late.t_ns;
        late.since_ns = late.until_ns = rows[i].late.since_ns;
        late.period_ns = rows[i].late.period_ns;
        lw_diary_add(&diary, &late);
        assert_int_equal(diary.n_ever, rows[i].joins ? 1 : 2);
    }
}

static void diary_names_the_unit_and_says_when_there_are_more(void **state)
{
    (void)state;
    struct lw_diary diary;
    char words[LW_HAPPENING_TEXT];
    lw_diary_init(&diary);
    for (unsigned i = 0; i < 5; i++) {
        struct lw_happening happening = went(0x0B0 + i, 21000 + i, 20000, 10, "hopper control");
        lw_diary_add(&diary, &happening);
    }
    const struct lw_happening *entry = lw_diary_newest(&diary, 0);
    assert_string_equal(lw_happening_words(entry, words), "hopper control went quiet: 5 messages, 0B0 first");
    struct lw_happening other = went(0x120, 21100, 20000, 10, "sweep control");
    lw_diary_add(&diary, &other);
    assert_string_equal(lw_happening_words(entry, words), "hopper control and others went quiet: 6 messages, 0B0 first");
    struct lw_happening one = went(0x0B0, 1, 1, 10, "hopper control");
    assert_string_equal(lw_happening_words(&one, words), "0B0 went quiet (hopper control)");
}

static void diary_counts_what_comes_with_the_bus_only_where_its_waking_is_told(void **state)
{
    (void)state;
    struct lw_diary diary;
    char words[LW_HAPPENING_TEXT];
    struct lw_happening message = about(LW_HAPPENED_WOKE, 1, 0, 19800);
    message.count = 0;
    message.n_messages = 1;
    lw_diary_init(&diary);
    lw_diary_add(&diary, &message);
    assert_int_equal(diary.n_ever, 0);
    add(&diary, LW_HAPPENED_WOKE, 0, 0, 19800);
    for (unsigned i = 0; i < 58; i++) {
        message.t_ns = (19800 + 700 * i / 57) * ms;
        lw_diary_add(&diary, &message);
    }
    assert_int_equal(diary.n_ever, 1);
    assert_string_equal(lw_happening_words(lw_diary_newest(&diary, 0), words), "the bus woke: 58 messages in 0.7 s");
}

static void diary_ring_keeps_the_newest_and_counts_all(void **state)
{
    (void)state;
    struct lw_diary diary;
    lw_diary_init(&diary);
    for (unsigned i = 0; i < LW_DIARY_SIZE + 44; i++)
        add(&diary, LW_HAPPENED_QUIET, i, 0, 5000 * (i + 1));
    assert_int_equal(diary.n_ever, LW_DIARY_SIZE + 44);
    for (unsigned n = 0; n < LW_DIARY_SIZE; n++)
        assert_int_equal(lw_diary_newest(&diary, n)->key.id, LW_DIARY_SIZE + 43 - n);
    assert_null(lw_diary_newest(&diary, LW_DIARY_SIZE));
}

static void diary_counts_are_conserved(void **state)
{
    (void)state;
    uint64_t seed = 0xD1A;
    struct lw_diary diary;
    lw_diary_init(&diary);
    uint64_t t_ms = 10, n_added = 0;
    for (unsigned i = 0; i < 400 && diary.n_ever < LW_DIARY_SIZE; i++) {
        t_ms += random_below(&seed, 8) ? random_below(&seed, 50) : random_below(&seed, 4000);
        add(&diary, random_below(&seed, LW_N_HAPPENINGS), i, random_below(&seed, 2), t_ms);
        n_added++;
    }
    uint64_t n_counted = 0;
    const struct lw_happening *entry;
    for (size_t n = 0; (entry = lw_diary_newest(&diary, n)); n++)
        n_counted += entry->count;
    assert_int_equal(n_counted, n_added);
}

static void words_of_every_kind_are_a_sentence(void **state)
{
    (void)state;
    for (unsigned kind = 0; kind < LW_N_HAPPENINGS; kind++)
        for (unsigned count = 1; count < 3; count++) {
            char words[LW_HAPPENING_TEXT];
            struct lw_happening happening = about(kind, 0x1FFFFFFF, 0, 1);
            happening.key.is_extended = true;
            happening.count = count;
            happening.value = 3;
            assert_ptr_equal(lw_happening_words(&happening, words), words);
            assert_in_range(strlen(words), 8, LW_HAPPENING_TEXT - 2);
            assert_true(!strstr(words, "%s") && !strstr(words, "%u"));
            happening.count = UINT32_MAX;
            happening.value = UINT64_MAX;
            assert_true(strlen(lw_happening_words(&happening, words)) < LW_HAPPENING_TEXT - 1);
        }
}

static void words_say_one_or_many_and_name_the_first(void **state)
{
    (void)state;
    static const struct {
        struct lw_happening happening;
        const char *words;
    } rows[] = {
        { { .kind = LW_HAPPENED_QUIET, .key = { .id = 0x1A0 }, .count = 35 }, "35 messages went quiet together, 1A0 first" },
        { { .kind = LW_HAPPENED_ABSENT, .key = { .id = 0x1A0 }, .count = 1 }, "1A0 is absent" },
        { { .kind = LW_HAPPENED_UNEXPECTED, .key = { 0x123, 0, true }, .count = 1 }, "00000123 is not in the baseline" },
        { { .kind = LW_HAPPENED_STATE, .value = LW_STATE_BUS_OFF, .count = 1 }, "adapter: bus off" },
        { { .kind = LW_HAPPENED_SOUND, .value = 2500000000, .count = 1 }, "the bus is back after 2.50 s of silence" },
        { { .kind = LW_HAPPENED_ERRORS, .count = 7 }, "7 bus errors" },
        { { .kind = LW_HAPPENED_MARK, .count = 1 }, "moment marked" },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        char words[LW_HAPPENING_TEXT];
        assert_string_equal(lw_happening_words(&rows[i].happening, words), rows[i].words);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(diary_empty_has_no_entry),
        cmocka_unit_test(diary_joins_like_things_that_happen_together),
        cmocka_unit_test(diary_keeps_apart_what_does_not_belong_together),
        cmocka_unit_test(diary_what_came_after_a_mark_stays_after_it),
        cmocka_unit_test(diary_joins_through_other_things_in_between),
        cmocka_unit_test(diary_sums_lost_frames),
        cmocka_unit_test(diary_slow_message_that_is_missed_later_joins_its_unit),
        cmocka_unit_test(diary_names_the_unit_and_says_when_there_are_more),
        cmocka_unit_test(diary_counts_what_comes_with_the_bus_only_where_its_waking_is_told),
        cmocka_unit_test(diary_ring_keeps_the_newest_and_counts_all),
        cmocka_unit_test(diary_counts_are_conserved),
        cmocka_unit_test(words_of_every_kind_are_a_sentence),
        cmocka_unit_test(words_say_one_or_many_and_name_the_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
