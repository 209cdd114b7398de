/* SPDX-License-Identifier: MIT
 *
 * Learning: what a watch is taken to promise, what is marked as pausing, and how long a message may be silent.
 */
#include "loomwatch/core/baseline.h"

#include "cases.h"
#include "random_event.h"

#include <stdlib.h>

static const uint64_t ms = 1000000;

/* A watch of ten seconds, from 100 s on. */
enum { START_MS = 100000, END_MS = 110000 };

struct learning {
    struct lw_id_table table;
    struct lw_baseline out, names;
    struct lw_learn_bus bus;
};

static int set_up(void **state)
{
    struct learning *learning = calloc(1, sizeof(*learning));
    if (!learning)
        return -1;
    lw_id_table_init(&learning->table);
    learning->bus = (struct lw_learn_bus){
        .name = "can0", .bit_rate_bps = LW_KNOWN(500000), .data_bit_rate_bps = LW_KNOWN(2000000), .start_ns = START_MS * ms, .end_ns = END_MS * ms,
        .back_ns = START_MS * ms,
    };
    *state = learning;
    return 0;
}

static int tear_down(void **state)
{
    free(*state);
    return 0;
}

static void hear_one(struct learning *learning, uint32_t id, uint64_t t_ns)
{
    struct lw_event event = { .t_ns = t_ns, .frame = { .id = id, .len = 8 } };
    int index = lw_id_table_place(&learning->table, lw_frame_key(&event.frame, 0));
    struct lw_id_entry *entry = &learning->table.entries[index];
    uint64_t could_be_heard_ns = learning->bus.back_ns > START_MS * ms ? learning->bus.back_ns : START_MS * ms;
    if (entry->n_frames == 0 && t_ns > could_be_heard_ns)
        entry->longest_wait_ns = t_ns - could_be_heard_ns;   /* as the monitor notes it */
    lw_id_entry_add(entry, &event, false);
}

static void hear(struct learning *learning, uint32_t id, uint64_t from_ms, uint64_t to_ms, uint64_t period_ms)
{
    for (uint64_t t = from_ms; t < to_ms; t += period_ms)
        hear_one(learning, id, t * ms);
}

static const struct lw_expected *learn(struct learning *learning, uint32_t id)
{
    lw_baseline_learn(&learning->out, &learning->names, &learning->table, &learning->bus, 1);
    int index = lw_baseline_find(&learning->out, (struct lw_id_key){ .id = id });
    return index == LW_NO_INDEX ? NULL : &learning->out.ids[index];
}

static void learn_steady_message_gives_period_and_tolerance(void **state)
{
    static const struct {
        unsigned period_ms, tolerance_us;
    } rows[] = { { 5, 1000 }, { 10, 1000 }, { 20, 2000 }, { 100, 10000 }, { 1000, 100000 } };
    struct learning *learning = *state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        uint32_t id = 0x100 + (uint32_t)i;
        hear(learning, id, START_MS + 1, END_MS, rows[i].period_ms);
        const struct lw_expected *learnt = learn(learning, id);
        assert_non_null(learnt);
        assert_int_equal(learnt->rhythm, LW_RHYTHM_CYCLIC);
        assert_int_equal(learnt->period_ns, rows[i].period_ms * ms);
        assert_int_equal(learnt->tolerance_ns, rows[i].tolerance_us * UINT64_C(1000));
        assert_int_equal(learnt->dlc_seen, 1 << 8);
        assert_int_equal(learnt->longest_gap_ns, rows[i].period_ms * ms);
        assert_int_equal(learnt->shortest_gap_ns, rows[i].period_ms * ms);
        assert_int_equal(learnt->jitter_ns, 0);
        assert_false(learnt->may_pause);
    }
    assert_int_equal(learning->out.n_ids, N_ROWS(rows));
    assert_string_equal(learning->out.buses[0].name, "can0");
    assert_int_equal(learning->out.buses[0].watched_ns, (END_MS - START_MS) * ms);
    assert_true(is_same_reading(learning->out.buses[0].bit_rate_bps, LW_KNOWN(500000)));
    assert_true(is_same_reading(learning->out.buses[0].data_bit_rate_bps, LW_KNOWN(2000000)));
}

static void learn_jittering_message_widens_the_tolerance(void **state)
{
    struct learning *learning = *state;
    for (uint64_t i = 0; i < 100; i++)
        hear_one(learning, 0x100, (START_MS + 100 * i + (i % 4 < 2 ? 0 : 8)) * ms);   /* gaps of 92, 100 and 108 ms */
    for (uint64_t i = 0; i < 100; i++)
        hear_one(learning, 0x101, (START_MS + 100 * i + (i % 2 ? 0 : 6)) * ms);       /* gaps of 94 and 106 ms */
    const struct lw_expected *learnt = learn(learning, 0x101);
    assert_int_equal(learnt->rhythm, LW_RHYTHM_CYCLIC);
    assert_in_range(learnt->period_ns, 94 * ms, 106 * ms);
    assert_in_range(learnt->tolerance_ns, 10 * ms * 94 / 100, 48 * ms);
    assert_int_equal(learn(learning, 0x100)->rhythm, LW_RHYTHM_CYCLIC);
    assert_int_equal(learn(learning, 0x100)->jitter_ns, 8 * ms);
    assert_int_equal(learn(learning, 0x100)->shortest_gap_ns, 92 * ms);
}

static void learn_hole_and_hurry_are_no_jitter(void **state)
{
    struct learning *learning = *state;
    hear(learning, 0x100, START_MS, START_MS + 8000, 100);
    hear(learning, 0x100, START_MS + 8200, START_MS + 8201, 1);      /* one lost */
    hear(learning, 0x100, START_MS + 8201, START_MS + 8202, 1);      /* and one too early */
    hear(learning, 0x100, START_MS + 8303, END_MS, 100);
    const struct lw_expected *learnt = learn(learning, 0x100);
    assert_int_equal(learnt->rhythm, LW_RHYTHM_CYCLIC);
    assert_int_equal(learnt->jitter_ns, 2 * ms);
    assert_int_equal(learnt->shortest_gap_ns, 1 * ms);
}

static void learn_message_on_event_keeps_its_shortest_gap(void **state)
{
    static const unsigned gaps_ms[] = { 900, 40, 2100, 310, 1700, 65, 1200, 700 };
    struct learning *learning = *state;
    uint64_t t_ms = START_MS;
    for (size_t i = 0; i < N_ROWS(gaps_ms); i++) {
        t_ms += gaps_ms[i];
        hear_one(learning, 0x540, t_ms * ms);
    }
    const struct lw_expected *learnt = learn(learning, 0x540);
    assert_int_equal(learnt->rhythm, LW_RHYTHM_EVENT);
    assert_int_equal(learnt->shortest_gap_ns, 40 * ms);
    hear_one(learning, 0x6D0, END_MS * ms);
    assert_int_equal(learn(learning, 0x6D0)->shortest_gap_ns, 0);    /* heard once: not known */
}

static void learn_message_of_both_kinds_keeps_how_many_come_at_once(void **state)
{
    struct learning *learning = *state;
    for (uint64_t t = START_MS; t + 100 < END_MS; t += 100) {
        hear_one(learning, 0x200, t * ms);
        if (t / 100 % 3 == 0) {
            hear_one(learning, 0x200, (t + 20) * ms);
            hear_one(learning, 0x200, (t + 21) * ms);
        }
    }
    const struct lw_expected *learnt = learn(learning, 0x200);
    assert_int_equal(learnt->rhythm, LW_RHYTHM_BOTH);
    assert_int_equal(learnt->period_ns, 100 * ms);
    assert_int_equal(learnt->most_at_once, 3);
}

static void learn_keeps_format_and_length_of_the_last_frame(void **state)
{
    struct learning *learning = *state;
    static const struct lw_frame frames[] = {
        { 0x123, 0, 8, { 1, 2, 3, 4, 5, 6, 7, 8 } }, { 0x124, LW_FRAME_REMOTE, 0, { 0 } },
        { 0x18FEF100, LW_FRAME_EXTENDED, 8, { 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF } },
        { 0x125, LW_FRAME_FD, 8, { 9 } }, { 0x126, LW_FRAME_FD | LW_FRAME_BRS, 64, { 9, 9 } },
    };
    for (size_t i = 0; i < N_ROWS(frames); i++) {
        struct lw_event event = { .t_ns = (START_MS + 1) * ms, .frame = frames[i] };
        struct lw_id_key key = lw_frame_key(&frames[i], 0);
        lw_id_entry_add(&learning->table.entries[lw_id_table_place(&learning->table, key)], &event, false);
        lw_baseline_learn(&learning->out, NULL, &learning->table, &learning->bus, 1);
        const struct lw_expected *learnt = &learning->out.ids[lw_baseline_find(&learning->out, key)];
        struct lw_wire_length length = lw_wire_length(&frames[i]);
        assert_int_equal(learnt->heard.nominal_bits, length.nominal_bits);
        assert_int_equal(learnt->heard.data_bits, length.data_bits);
        assert_int_equal(learnt->format, frames[i].flags & (LW_FRAME_FD | LW_FRAME_BRS));
    }
}

static void learn_message_not_there_all_the_time_may_pause(void **state)
{
    static const struct {
        unsigned from_ms, to_ms, hole_from_ms, hole_to_ms;
        bool may_pause;
    } rows[] = {
        { START_MS, END_MS, 0, 0, false },
        { START_MS + 200, END_MS - 100, 0, 0, false },
        { START_MS + 2000, END_MS, 0, 0, true },                             /* began late */
        { START_MS, END_MS - 2000, 0, 0, true },                             /* stopped early */
        { START_MS, END_MS, START_MS + 3000, START_MS + 3900, true },        /* paused */
        { START_MS, END_MS, START_MS + 3000, START_MS + 3200, false },       /* lost a frame or two */
    };
    struct learning *learning = *state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        uint32_t id = 0x100 + (uint32_t)i;
        for (uint64_t t = rows[i].from_ms; t < rows[i].to_ms; t += 100)
            if (t <= rows[i].hole_from_ms || t >= rows[i].hole_to_ms)
                hear_one(learning, id, t * ms);
        print_message("  row %zu\n", i);
        const struct lw_expected *learnt = learn(learning, id);
        assert_int_equal(learnt->rhythm, LW_RHYTHM_CYCLIC);
        assert_int_equal(learnt->may_pause, rows[i].may_pause);
        assert_int_equal(learnt->longest_gap_ns == 0, rows[i].may_pause);
    }
}

static void learn_message_heard_from_the_bus_return_on_does_not_pause(void **state)
{
    struct learning *learning = *state;
    learning->bus.back_ns = (START_MS + 4000) * ms;
    learning->bus.hole_ns = 3000 * ms;
    hear(learning, 0x100, START_MS + 4050, END_MS, 100);
    assert_false(learn(learning, 0x100)->may_pause);
}

static void learn_rare_and_irregular_messages_are_not_cyclic(void **state)
{
    struct learning *learning = *state;
    hear(learning, 0x100, START_MS, START_MS + 3000, 1000);                  /* three frames: too few to say */
    for (unsigned burst = 0; burst < 6; burst++)                             /* bursts of six at 10 ms */
        hear(learning, 0x101, START_MS + 1000 + 1300 * burst, START_MS + 1060 + 1300 * burst, 10);
    assert_int_equal(learn(learning, 0x100)->rhythm, LW_RHYTHM_UNKNOWN);
    assert_int_equal(learn(learning, 0x100)->period_ns, 0);
    assert_int_equal(learn(learning, 0x101)->rhythm, LW_RHYTHM_EVENT);
    assert_int_equal(learn(learning, 0x101)->period_ns, 0);
    assert_false(learn(learning, 0x101)->may_pause);
}

static void learn_leaves_out_what_was_never_heard(void **state)
{
    struct learning *learning = *state;
    hear(learning, 0x100, START_MS, END_MS, 100);
    lw_id_table_place(&learning->table, (struct lw_id_key){ .id = 0x200 });
    lw_id_table_place(&learning->table, (struct lw_id_key){ .id = 0x100, .bus = 3 });
    assert_null(learn(learning, 0x200));
    assert_int_equal(learning->out.n_ids, 1);
}

static void learn_keeps_names_and_senders_by_key(void **state)
{
    struct learning *learning = *state;
    learning->names.n_ids = 2;
    learning->names.ids[0] = (struct lw_expected){ .key = { .id = 0x100 }, .name = "Hopper load", .sender = "hopper" };
    learning->names.ids[1] = (struct lw_expected){ .key = { .id = 0x300 }, .name = "Gone" };
    hear(learning, 0x200, START_MS, END_MS, 100);
    hear(learning, 0x100, START_MS, END_MS, 100);
    assert_string_equal(learn(learning, 0x100)->name, "Hopper load");
    assert_string_equal(learn(learning, 0x100)->sender, "hopper");
    assert_string_equal(learn(learning, 0x200)->name, "");
    lw_baseline_learn(&learning->out, NULL, &learning->table, &learning->bus, 1);
    assert_string_equal(learning->out.ids[0].name, "");
}

static void sort_orders_as_the_wire_and_finds_duplicates(void **state)
{
    struct lw_baseline *baseline = &((struct learning *)*state)->out;
    static const struct lw_id_key keys[] = {
        { 0x0CF00400, 0, true }, { 0x123, 1, false }, { 0x123, 0, false }, { 0x00CC0001, 0, true }, { 0x033, 0, false },
    };
    lw_baseline_init(baseline);
    for (size_t i = 0; i < N_ROWS(keys); i++)
        baseline->ids[baseline->n_ids++] = (struct lw_expected){ .key = keys[i] };
    assert_int_equal(lw_baseline_sort(baseline), LW_NO_INDEX);
    for (size_t i = 1; i < baseline->n_ids; i++)
        assert_true(lw_id_key_order(baseline->ids[i - 1].key, baseline->ids[i].key) < 0);
    for (size_t i = 0; i < N_ROWS(keys); i++) {
        int index = lw_baseline_find(baseline, keys[i]);
        assert_true(index >= 0 && lw_id_key_equal(baseline->ids[index].key, keys[i]));
    }
    assert_int_equal(lw_baseline_find(baseline, (struct lw_id_key){ 0x123, 0, true }), LW_NO_INDEX);
    baseline->ids[baseline->n_ids++] = (struct lw_expected){ .key = { 0x123, 0, false } };
    int first = lw_baseline_sort(baseline);
    assert_int_equal(first, 2);
    assert_int_equal(baseline->ids[first].key.id, baseline->ids[first + 1].key.id);
    lw_baseline_init(baseline);
    assert_int_equal(lw_baseline_sort(baseline), LW_NO_INDEX);
    assert_int_equal(lw_baseline_find(baseline, keys[0]), LW_NO_INDEX);
}

static void limits_of_lateness_and_absence_keep_their_floors(void **state)
{
    (void)state;
    static const struct {
        unsigned period_ms, tolerance_ms, longest_ms, late_ms, absent_ms;
    } rows[] = {
        { 10, 1, 0, 100, 250 }, { 100, 10, 0, 210, 300 }, { 1000, 100, 0, 2100, 3000 }, { 83, 8, 0, 174, 250 },
        { 100, 10, 280, 350, 350 },     /* a longer gap was met while learning: a quarter above it */
        { 10, 1, 40, 100, 250 },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_expected expected = { .rhythm = LW_RHYTHM_CYCLIC, .period_ns = rows[i].period_ms * ms,
                                        .tolerance_ns = rows[i].tolerance_ms * ms,
                                        .longest_gap_ns = rows[i].longest_ms * ms };
        assert_int_equal(lw_expected_late_ns(&expected), rows[i].late_ms * ms);
        assert_int_equal(lw_expected_absent_ns(&expected), rows[i].absent_ms * ms);
    }
}

static void learn_of_random_senders_never_calls_its_own_rhythm_changed(void **state)
{
    struct learning *learning = *state;
    uint64_t seed = 0x1EA;
    for (uint32_t id = 0; id < 300; id++) {
        uint64_t period = (10 + random_below(&seed, 990)) * ms, width = 1 + period / 100 * random_below(&seed, 6);
        uint64_t phase = random_bits(&seed) % period;
        for (uint64_t t = START_MS * ms + phase; t < END_MS * ms; t += period)
            hear_one(learning, id, t + random_bits(&seed) % width);
        const struct lw_expected *learnt = learn(learning, id);
        if (period > 1500 * ms)
            continue;
        assert_int_equal(learnt->rhythm, LW_RHYTHM_CYCLIC);
        assert_false(learnt->may_pause);
        uint64_t off = learnt->period_ns > period ? learnt->period_ns - period : period - learnt->period_ns;
        assert_true(off <= learnt->tolerance_ns);
        assert_true(lw_expected_late_ns(learnt) > learnt->longest_gap_ns);
    }
}

int main(void)
{
#define ON_LEARNING(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        ON_LEARNING(learn_steady_message_gives_period_and_tolerance),
        ON_LEARNING(learn_jittering_message_widens_the_tolerance),
        ON_LEARNING(learn_hole_and_hurry_are_no_jitter),
        ON_LEARNING(learn_message_on_event_keeps_its_shortest_gap),
        ON_LEARNING(learn_message_of_both_kinds_keeps_how_many_come_at_once),
        ON_LEARNING(learn_keeps_format_and_length_of_the_last_frame),
        ON_LEARNING(learn_message_not_there_all_the_time_may_pause),
        ON_LEARNING(learn_message_heard_from_the_bus_return_on_does_not_pause),
        ON_LEARNING(learn_rare_and_irregular_messages_are_not_cyclic),
        ON_LEARNING(learn_leaves_out_what_was_never_heard),
        ON_LEARNING(learn_keeps_names_and_senders_by_key),
        ON_LEARNING(sort_orders_as_the_wire_and_finds_duplicates),
        cmocka_unit_test(limits_of_lateness_and_absence_keep_their_floors),
        ON_LEARNING(learn_of_random_senders_never_calls_its_own_rhythm_changed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
