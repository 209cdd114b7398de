/* SPDX-License-Identifier: MIT
 *
 * Units on a whole watch: what the diary says when one goes, comes or joins; the bus waking; senders of a baseline.
 */
#include "sweeper.h"

/* How the nth newest entry of a kind reads; fails if there is none. */
static const char *said(struct traffic *traffic, enum lw_happening_kind kind, unsigned nth)
{
    static char words[LW_HAPPENING_TEXT];
    const struct lw_snapshot *snapshot = traffic_look(traffic);
    for (size_t i = 0; i < snapshot->n_diary; i++)
        if (snapshot->diary[i].kind == kind && nth-- == 0)
            return lw_happening_words(&snapshot->diary[i], words);
    fail_msg("no entry of kind %u", kind);
    return NULL;
}

static unsigned n_entries(struct traffic *traffic, enum lw_happening_kind kind)
{
    const struct lw_snapshot *snapshot = traffic_look(traffic);
    unsigned n = 0;
    for (size_t i = 0; i < snapshot->n_diary; i++)
        n += snapshot->diary[i].kind == kind;
    return n;
}

static void unit_that_goes_twice_is_told_once_each_and_by_name_the_second_time(void **state)
{
    (void)state;
    struct traffic *traffic = sweeper_create(1);
    sweeper_run(traffic, 10000);
    for (unsigned times = 0; times < 2; times++) {
        sweeper_switch(traffic, "lighting", true);       /* 50, 50, 200 and 1000 ms */
        sweeper_run(traffic, 8000);
        sweeper_switch(traffic, "lighting", false);
        sweeper_run(traffic, 4000);
    }
    assert_int_equal(n_entries(traffic, LW_HAPPENED_QUIET), 2);
    assert_string_equal(said(traffic, LW_HAPPENED_QUIET, 1), "4 messages went quiet together, 308 first");
    assert_string_equal(said(traffic, LW_HAPPENED_QUIET, 0), "unit A went quiet: 4 messages, 308 first");
    assert_string_equal(said(traffic, LW_HAPPENED_RETURNED, 0), "unit A is back: 4 messages, 308 first");
    assert_string_equal(traffic_tile(traffic, 0, 0x3F0)->unit, "unit A");
    assert_string_equal(traffic_tile(traffic, 0, 0x0A0)->unit, "");
    traffic_destroy(traffic);
}

static void unit_named_by_the_baseline_is_called_so(void **state)
{
    (void)state;
    struct traffic *traffic = sweeper_create(1);
    sweeper_run(traffic, 10000);
    sweeper_settle(traffic);
    sweeper_run(traffic, 1000);
    sweeper_switch(traffic, "lighting", true);
    sweeper_run(traffic, 6000);
    assert_int_equal(n_entries(traffic, LW_HAPPENED_ABSENT), 1);
    assert_string_equal(said(traffic, LW_HAPPENED_ABSENT, 0), "lighting is absent: 4 messages, 308 first");
    assert_string_equal(traffic_tile(traffic, 0, 0x3F0)->unit, "lighting");
    traffic_destroy(traffic);
}

static void module_that_joins_is_told_in_one_entry(void **state)
{
    (void)state;
    struct traffic *traffic = sweeper_create(1);
    sweeper_run(traffic, 8000);
    sweeper_plug_sensor(traffic);
    sweeper_run(traffic, 6000);
    assert_int_equal(n_entries(traffic, LW_HAPPENED_JOINED), 1);
    assert_string_equal(said(traffic, LW_HAPPENED_JOINED, 0), "3 new messages, 6D0 first: a module joined (unit A)");
    assert_string_equal(traffic_tile(traffic, 0, 0x3D0)->unit, "unit A");
    traffic_destroy(traffic);
}

static void bus_that_wakes_counts_its_messages(void **state)
{
    (void)state;
    struct traffic *traffic = sweeper_create(1);
    traffic->is_dead[0] = true;
    sweeper_run(traffic, 20000);
    traffic->is_dead[0] = false;
    sweeper_run(traffic, 10000);
    assert_string_equal(said(traffic, LW_HAPPENED_WOKE, 0), "the bus woke: 24 messages");
    traffic->is_dead[0] = true;
    sweeper_run(traffic, 5000);
    traffic->is_dead[0] = false;
    sweeper_run(traffic, 10000);
    const char *words = said(traffic, LW_HAPPENED_SOUND, 0);
    assert_true(strncmp(words, "the bus is back after 5.0", 25) == 0 && strstr(words, " of silence: 24 messages"));
    assert_int_equal(n_entries(traffic, LW_HAPPENED_QUIET) + n_entries(traffic, LW_HAPPENED_JOINED), 0);
    for (unsigned i = 0; i < N_ROWS(sweeper_messages); i++)
        assert_string_equal(traffic_tile(traffic, 0, sweeper_messages[i].id)->unit, "");
    traffic_destroy(traffic);
}

static void learning_suggests_units_as_senders(void **state)
{
    (void)state;
    struct traffic *traffic = sweeper_create(1);
    struct lw_baseline *baseline = malloc(sizeof(*baseline));
    assert_non_null(baseline);
    sweeper_run(traffic, 8000);
    sweeper_plug_sensor(traffic);
    sweeper_run(traffic, 6000);
    lw_monitor_learn(traffic->monitor, baseline);
    assert_string_equal(baseline->ids[lw_baseline_find(baseline, (struct lw_id_key){ .id = 0x2D0 })].sender, "unit A");
    assert_string_equal(baseline->ids[lw_baseline_find(baseline, (struct lw_id_key){ .id = 0x0A0 })].sender, "");
    lw_monitor_set_baseline(traffic->monitor, baseline);
    snprintf(baseline->ids[lw_baseline_find(baseline, (struct lw_id_key){ .id = 0x2D0 })].sender, LW_NAME_MAX, "load sensor");
    lw_monitor_set_baseline(traffic->monitor, baseline);
    lw_monitor_learn(traffic->monitor, baseline);
    assert_string_equal(baseline->ids[lw_baseline_find(baseline, (struct lw_id_key){ .id = 0x2D0 })].sender, "load sensor");
    free(baseline);
    traffic_destroy(traffic);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unit_that_goes_twice_is_told_once_each_and_by_name_the_second_time),
        cmocka_unit_test(unit_named_by_the_baseline_is_called_so),
        cmocka_unit_test(module_that_joins_is_told_in_one_entry),
        cmocka_unit_test(bus_that_wakes_counts_its_messages),
        cmocka_unit_test(learning_suggests_units_as_senders),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
