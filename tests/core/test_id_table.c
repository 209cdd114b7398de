/* SPDX-License-Identifier: MIT
 *
 * The frame table: bounded under a flood, and exact in what it keeps of each message.
 */
#include "loomwatch/core/id_table.h"

#include "cases.h"
#include "random_event.h"

#include <stdlib.h>

static const uint64_t ms = 1000000;

static struct lw_id_key standard(uint32_t id)
{
    return (struct lw_id_key){ .id = id };
}

static struct lw_event frame_at(uint64_t t_ns, uint8_t flags, uint8_t len, uint8_t first_byte)
{
    return (struct lw_event){ .t_ns = t_ns, .frame = { .id = 0x123, .flags = flags, .len = len, .data = { first_byte } } };
}

static int set_up(void **state)
{
    struct lw_id_table *table = malloc(sizeof(*table));
    if (!table)
        return -1;
    lw_id_table_init(table);
    *state = table;
    return 0;
}

static int tear_down(void **state)
{
    free(*state);
    return 0;
}

static struct lw_id_entry *entry_of(struct lw_id_table *table, struct lw_id_key key)
{
    return &table->entries[lw_id_table_place(table, key)];
}

static void table_flooded_with_random_ids_fills_and_changes_nothing_else(void **state)
{
    struct lw_id_table *table = *state;
    static uint32_t ids[LW_MAX_IDS];
    uint64_t seed = 0xF100D;
    unsigned n_refused = 0;
    for (unsigned i = 0; i < 50000; i++) {
        struct lw_id_key key = { random_below(&seed, LW_EXTENDED_ID_MAX + 1u), 0, true };
        size_t n_before = table->n_entries;
        int index = lw_id_table_place(table, key);
        if (index == LW_NO_INDEX)
            n_refused++;
        else if (table->n_entries > n_before)
            ids[index] = key.id;
        assert_true(table->n_entries <= LW_MAX_IDS);
    }
    assert_int_equal(table->n_entries, LW_MAX_IDS);
    assert_true(n_refused > 40000);
    for (int i = 0; i < LW_MAX_IDS; i++) {
        assert_int_equal(lw_id_table_find(table, (struct lw_id_key){ ids[i], 0, true }), i);   /* entries never move */
        assert_int_equal(table->entries[i].n_frames, 0);
        assert_int_equal(table->entries[i].expected, LW_NO_INDEX);
    }
    assert_int_equal(table->n_overflow_frames, 0);      /* counting is the caller's */
}

static void table_keeps_buses_and_formats_apart(void **state)
{
    struct lw_id_table *table = *state;
    static const struct lw_id_key keys[] = {
        { 0x123, 0, false }, { 0x123, 1, false }, { 0x123, 7, false }, { 0x123, 0, true }, { 0x123, 7, true },
        { 0x000, 0, false }, { 0x000, 0, true }, { 0x1FFFFFFF, 7, true },
    };
    for (size_t i = 0; i < N_ROWS(keys); i++) {
        assert_int_equal(lw_id_table_find(table, keys[i]), LW_NO_INDEX);
        assert_int_equal(lw_id_table_place(table, keys[i]), i);
    }
    for (size_t i = 0; i < N_ROWS(keys); i++) {
        assert_int_equal(lw_id_table_place(table, keys[i]), i);
        assert_int_equal(lw_id_table_find(table, keys[i]), i);
    }
    assert_int_equal(table->n_entries, N_ROWS(keys));
}

static void entry_counts_frames_by_kind(void **state)
{
    struct lw_id_entry *entry = entry_of(*state, standard(0x123));
    static const uint8_t flags[] = { 0, LW_FRAME_REMOTE, LW_FRAME_FD | LW_FRAME_BRS, LW_FRAME_OWN, LW_FRAME_REMOTE };
    for (size_t i = 0; i < N_ROWS(flags); i++) {
        struct lw_event event = frame_at((i + 1) * ms, flags[i], 2, 0);
        lw_id_entry_add(entry, &event, false);
        assert_int_equal(entry->last_flags, flags[i]);
    }
    assert_int_equal(entry->n_frames, 5);
    assert_int_equal(entry->n_remote, 2);
    assert_int_equal(entry->n_fd, 1);
    assert_int_equal(entry->n_own, 1);
    assert_int_equal(entry->first_seen_ns, ms);
    assert_int_equal(entry->last_seen_ns, 5 * ms);
}

static void entry_notes_which_bits_changed_and_when(void **state)
{
    struct lw_id_entry *entry = entry_of(*state, standard(0x123));
    static const struct {
        uint64_t t_ms;
        uint8_t first_byte, changed;
    } rows[] = { { 1000, 0x00, 0x00 }, { 1100, 0x01, 0x01 }, { 1200, 0x01, 0x01 }, { 1350, 0x81, 0x81 }, { 1400, 0x80, 0x81 } };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_event event = frame_at(rows[i].t_ms * ms, 0, 8, rows[i].first_byte);
        lw_id_entry_add(entry, &event, false);
        assert_int_equal(entry->bits_changed[0], rows[i].changed);
        assert_int_equal(entry->bits_changed[1], 0);
    }
    assert_int_equal(entry->bit_changed_ms[0], 400);
    assert_int_equal(entry->bit_changed_ms[7], 350);
    assert_int_equal(entry->last_data[0], 0x80);
}

static void entry_notes_lengths_and_counts_their_changes(void **state)
{
    struct lw_id_entry *entry = entry_of(*state, standard(0x123));
    static const struct {
        uint8_t flags, len;
        unsigned n_changes;
    } rows[] = {
        { 0, 8, 0 }, { 0, 8, 0 }, { 0, 4, 1 }, { LW_FRAME_REMOTE, 1, 1 }, { 0, 4, 1 }, { 0, 8, 2 },
        { LW_FRAME_FD, 12, 3 }, { LW_FRAME_FD, 64, 4 }, { LW_FRAME_FD, 0, 5 },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_event event = frame_at((i + 1) * ms, rows[i].flags, rows[i].len, 0xFF);
        lw_id_entry_add(entry, &event, false);
        assert_int_equal(entry->n_length_changes, rows[i].n_changes);
    }
    assert_int_equal(entry->dlc_seen, 1 << 0 | 1 << 4 | 1 << 8 | 1 << 9 | 1 << 15);
    assert_int_equal(entry->bits_changed[0], 0);
    assert_int_equal(entry->last_len, 0);
}

static void entry_of_remote_frames_only_has_no_data(void **state)
{
    struct lw_id_entry *entry = entry_of(*state, standard(0x123));
    for (uint64_t t = 1; t < 20; t++) {
        struct lw_event event = frame_at(t * 100 * ms, LW_FRAME_REMOTE, 8, 0);
        lw_id_entry_add(entry, &event, false);
    }
    assert_int_equal(entry->dlc_seen, 0);
    assert_int_equal(entry->period.n_gaps, 0);
    assert_int_equal(entry->n_remote, entry->n_frames);
}

/* A unit asked by remote frame answers at once: the rhythm is that of the answers, not the distance to the question. */
static void entry_period_ignores_remote_frames_in_between(void **state)
{
    struct lw_id_entry *entry = entry_of(*state, standard(0x123));
    for (uint64_t i = 1; i <= 20; i++) {
        struct lw_event question = frame_at(i * 1000 * ms, LW_FRAME_REMOTE, 8, 0);
        struct lw_event answer = frame_at(i * 1000 * ms + ms, 0, 8, 1);
        lw_id_entry_add(entry, &question, false);
        lw_id_entry_add(entry, &answer, false);
    }
    lw_period_estimate(&entry->period);
    assert_int_equal(entry->period.period_ns, 1000 * ms);
    assert_int_equal(entry->period.shortest_ns, 1000 * ms);
}

static void entry_gap_comes_from_the_adapter_clock_where_it_has_one(void **state)
{
    struct lw_id_entry *entry = entry_of(*state, standard(0x123));
    uint64_t seed = 0x4A4D;
    for (uint64_t i = 1; i <= 20; i++) {
        struct lw_event event = frame_at(i * 100 * ms + random_below(&seed, 30 * ms), 0, 8, 0);
        event.hw_ns = 5000 * ms + i * 100 * ms;
        event.stamp = LW_STAMP_HARDWARE;
        lw_id_entry_add(entry, &event, false);
    }
    assert_int_equal(entry->period.shortest_ns, 100 * ms);
    assert_int_equal(entry->period.longest_ns, 100 * ms);
    /* The adapter's clock starts anew: the kernel's is the ruler for this one gap. */
    struct lw_event event = frame_at(entry->last_seen_ns + 101 * ms, 0, 8, 0);
    event.hw_ns = 7;
    lw_id_entry_add(entry, &event, false);
    assert_int_equal(entry->period.longest_ns, 101 * ms);
}

static void entry_counts_missed_cycles_against_the_settled_period(void **state)
{
    struct lw_id_entry *entry = entry_of(*state, standard(0x123));
    static const struct {
        unsigned gap_ms, n_missed;
        bool skip_gap;
    } rows[] = { { 100, 0, false }, { 149, 0, false }, { 151, 1, false }, { 200, 1, false }, { 290, 2, false },
                 { 1000, 9, false }, { 5000, 0, true } };
    uint64_t t = 1000 * ms, n_missed = 0;
    struct lw_event event = frame_at(t, 0, 8, 0);
    lw_id_entry_add(entry, &event, false);
    entry->settled_period_ns = 100 * ms;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        event.t_ns = t += rows[i].gap_ms * ms;
        lw_id_entry_add(entry, &event, rows[i].skip_gap);
        n_missed += rows[i].n_missed;
        assert_int_equal(entry->n_missed, n_missed);
    }
    assert_int_equal(entry->period.longest_ns, 1000 * ms);      /* the skipped one did not count */
}

static void entry_with_time_running_backwards_stands_still(void **state)
{
    struct lw_id_entry *entry = entry_of(*state, standard(0x123));
    static const uint64_t times_ms[] = { 5000, 4000, 5000, 1, 0, 5100 };
    for (size_t i = 0; i < N_ROWS(times_ms); i++) {
        struct lw_event event = frame_at(times_ms[i] * ms, 0, 8, (uint8_t)i);
        lw_id_entry_add(entry, &event, false);
        assert_int_equal(entry->first_seen_ns, 5000 * ms);
        assert_true(entry->last_seen_ns >= 5000 * ms);
        assert_true(entry->bit_changed_ms[0] <= 100);
    }
    assert_int_equal(entry->n_frames, N_ROWS(times_ms));
    assert_int_equal(entry->period.longest_ns, 100 * ms);
    assert_int_equal(entry->n_missed, 0);
}

static void entry_with_extreme_time_stamps_stays_sound(void **state)
{
    struct lw_id_entry *entry = entry_of(*state, standard(0x123));
    static const uint64_t times[] = { 0, UINT64_MAX, 0, 1, UINT64_MAX - 1, UINT64_MAX };
    entry->settled_period_ns = 1;
    for (size_t i = 0; i < N_ROWS(times); i++) {
        struct lw_event event = frame_at(times[i], 0, 8, (uint8_t)(i * 0x55));
        event.hw_ns = times[N_ROWS(times) - 1 - i];
        lw_id_entry_add(entry, &event, false);
        lw_period_estimate(&entry->period);
    }
    assert_int_equal(entry->n_frames, N_ROWS(times));
}

int main(void)
{
#define ON_TABLE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        ON_TABLE(table_flooded_with_random_ids_fills_and_changes_nothing_else),
        ON_TABLE(table_keeps_buses_and_formats_apart),
        ON_TABLE(entry_counts_frames_by_kind),
        ON_TABLE(entry_notes_which_bits_changed_and_when),
        ON_TABLE(entry_notes_lengths_and_counts_their_changes),
        ON_TABLE(entry_of_remote_frames_only_has_no_data),
        ON_TABLE(entry_period_ignores_remote_frames_in_between),
        ON_TABLE(entry_gap_comes_from_the_adapter_clock_where_it_has_one),
        ON_TABLE(entry_counts_missed_cycles_against_the_settled_period),
        ON_TABLE(entry_with_time_running_backwards_stands_still),
        ON_TABLE(entry_with_extreme_time_stamps_stays_sound),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
