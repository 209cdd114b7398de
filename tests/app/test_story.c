/* SPDX-License-Identifier: MIT
 *
 * Stories of invented sessions on the sweeper: what is told, in which order, what is merged, and what is never lost in silence.
 */
#include "story.h"

#include "cases.h"
#include "sweeper.h"

static struct traffic *traffic;
static struct lw_story story;
static struct lw_story_line *lines;
static size_t n_lines;

static int set_up(void **state)
{
    (void)state;
    traffic = sweeper_create(1);
    lw_story_init(&story, traffic->monitor);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    lw_story_finish(&story);
    traffic_destroy(traffic);
    free(lines);
    lines = NULL;
    return 0;
}

static void run(unsigned duration_ms)
{
    for (unsigned done = 0; done < duration_ms; done += 10) {
        sweeper_run(traffic, 10);
        lw_story_listen(&story);
    }
}

static void tell(void)
{
    lw_monitor_end(traffic->monitor, 0);
    lw_story_close(&story);
    assert_int_equal(lw_story_tell(&story, traffic_look(traffic), &lines, &n_lines), 0);
}

static void print_all(void)
{
    for (size_t i = 0; i < n_lines; i++)
        print_message("%8.3f %s: %s\n", (double)lines[i].at_ns / 1e9, lw_story_kind(lines[i].kind), lines[i].words);
}

/* The line after the nth whose words hold this; fails if there is none. */
static size_t find(size_t from, const char *words)
{
    for (size_t i = from; i < n_lines; i++)
        if (strstr(lines[i].words, words))
            return i + 1;
    print_all();
    fail_msg("nothing says \"%s\" from line %zu on", words, from);
    return 0;
}

static bool says(const char *words)
{
    for (size_t i = 0; i < n_lines; i++)
        if (strstr(lines[i].words, words))
            return true;
    return false;
}

static void bus_error(unsigned n)
{
    for (unsigned i = 0; i < n; i++)
        traffic_error(traffic, 0, (struct lw_error){ .class_bits = LW_CLASS_PROTOCOL | LW_CLASS_BUS_ERROR, .data = { 0, 0, 4 } });
}

static void story_of_a_session_is_told_in_order(void **state)
{
    (void)state;
    static const struct lw_meter_reading ohms = { .kind = LW_MEASURE_OHM, .value = 120 };
    run(8000);
    bus_error(2);
    run(4000);
    lw_monitor_mark(traffic->monitor, LW_MARK_UNPLUGGED);
    sweeper_switch(traffic, "hopper control", true);
    run(5000);
    lw_monitor_reading(traffic->monitor, 0, &ohms);
    sweeper_switch(traffic, "hopper control", false);
    run(5000);
    sweeper_switch(traffic, "hopper control", true);
    run(3000);
    tell();
    size_t at = find(0, "the watch begins: 24 messages in all, 24 of them heard in the first second; 1 unit told apart; bit rate 500 kbit/s");
    at = find(at, "2 bus errors, healed");
    at = find(at, "marked: unplugged");
    at = find(at, "4 messages went quiet together, 0B0 first (unit A)");
    at = find(at, "verdict: Messages went quiet while the rest goes on.");
    at = find(at, "meter reading taken: 120 ohm");
    at = find(at, "unit A is back: 4 messages");
    at = find(at, "unit A went quiet: 4 messages, 0B0 first");
    at = find(at, "the end: 24 messages, 4 of them quiet. ");
    assert_int_equal(at, n_lines);
    assert_true(story.has_trouble);
    for (size_t i = 1; i < n_lines; i++)
        assert_true(lines[i].at_ns >= lines[i - 1].at_ns);
    assert_false(says("no more bus errors"));
}

static void story_dates_what_went_by_when_it_was_first_missed(void **state)
{
    (void)state;
    run(8000);
    sweeper_switch(traffic, "hopper control", true);
    run(3000);
    tell();
    size_t at = find(0, "4 messages went quiet together");
    assert_in_range(lines[at - 1].at_ns, 8000 * ms - 1000, 8011 * ms);
}

static void story_of_a_quiet_watch_has_two_lines(void **state)
{
    (void)state;
    run(10000);
    tell();
    assert_int_equal(n_lines, 2);
    assert_string_equal(lines[1].words, "the end: 24 messages. All is well. ");
    assert_false(story.has_trouble);
}

static void story_errors_that_go_on_are_not_called_healed(void **state)
{
    (void)state;
    run(3000);
    for (unsigned i = 0; i < 30; i++) {
        bus_error(1);
        run(1500);
    }
    tell();
    find(0, "30 bus errors until 0:46.5, not over at the end");
}

static void story_that_ends_in_bus_off_says_so(void **state)
{
    (void)state;
    run(3000);
    sweeper_short(traffic, 0);
    run(5000);
    tell();
    size_t at = find(0, "1 bus error, then bus off");
    at = find(at, "adapter: bus off");
    find(at, "verdict: Bus off");
}

/* Two hours of a contact that opens every seven seconds: no line is lost, all are told as few. */
static void story_of_a_long_watch_is_merged_and_keeps_its_beginning(void **state)
{
    (void)state;
    run(6000);
    lw_monitor_mark(traffic->monitor, LW_MARK_PLUGGED);
    for (unsigned i = 0; i < 400; i++) {
        sweeper_switch(traffic, "hopper control", i % 2 == 0);
        run(4000);
    }
    tell();
    assert_true(lw_monitor_diary(traffic->monitor)->n_ever > LW_DIARY_SIZE);
    assert_int_equal(story.n_dropped, 0);
    assert_in_range(n_lines, 3, LW_STORY_LINES);
    find(0, "marked: plugged in");
    size_t at = find(0, "4 messages went quiet together, 0B0 first (unit A) (and 199 more of this kind until 26:");
    assert_int_equal(lines[at - 1].n, 200);
    find(0, "verdict: Messages go and come back again and again.");
}

static void story_counts_what_the_diary_forgot_between_two_looks(void **state)
{
    (void)state;
    run(100);
    for (unsigned i = 0; i < LW_DIARY_SIZE + 50; i++)
        lw_monitor_mark(traffic->monitor, LW_MARK_PLAIN);
    tell();
    assert_int_equal(story.n_dropped, 50);
    find(0, "50 more things happened than could be kept.");
}

static void story_kinds_are_all_named(void **state)
{
    (void)state;
    for (unsigned a = 0; a <= LW_N_HAPPENINGS; a++)
        for (unsigned b = 0; b < a; b++)
            assert_string_not_equal(lw_story_kind(a), lw_story_kind(b));
    assert_string_equal(lw_story_kind(LW_HAPPENED_JOINED), "joined");
    assert_string_equal(lw_story_kind(LW_HAPPENED_READING), "reading");
    assert_string_equal(lw_story_kind(LW_HAPPENED_SOUND), "back");
}

#define STORY_TEST(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        STORY_TEST(story_of_a_session_is_told_in_order),
        STORY_TEST(story_dates_what_went_by_when_it_was_first_missed),
        STORY_TEST(story_of_a_quiet_watch_has_two_lines),
        STORY_TEST(story_errors_that_go_on_are_not_called_healed),
        STORY_TEST(story_that_ends_in_bus_off_says_so),
        STORY_TEST(story_of_a_long_watch_is_merged_and_keeps_its_beginning),
        STORY_TEST(story_counts_what_the_diary_forgot_between_two_looks),
        STORY_TEST(story_kinds_are_all_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
