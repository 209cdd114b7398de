/* SPDX-License-Identifier: MIT
 *
 * What the diagnosis makes of real captures: named in LW_CAPTURES, not part of the project. None holds an error frame, and
 * every machine in them worked: a verdict of trouble is right only where something really ceased.
 */
#include "capture_session.h"
#include "cases.h"

#include "loomwatch/core/monitor.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { SKIPPED = 77, TICK_MS = 10 };

static const uint64_t ms_ns = 1000000;

struct playback {
    struct lw_monitor *monitor;
    uint64_t start_ns, now_ns;
    unsigned n_troubles;             /* verdicts of trouble that came to count */
    unsigned trouble_ms[64];         /* when, since the start */
    uint8_t picture[64], last_picture;
    bool was_certain;
};

static struct lw_snapshot snapshot;
static struct lw_event events[512];

static void look(struct playback *play)
{
    lw_monitor_snapshot(play->monitor, NULL, &snapshot);
    const struct lw_verdict *verdict = &snapshot.buses[0].verdict;
    bool is_trouble = lw_pictures[verdict->picture].is_trouble;
    if (is_trouble && verdict->picture != play->last_picture && play->n_troubles < N_ROWS(play->picture)) {
        play->trouble_ms[play->n_troubles] = (unsigned)((play->now_ns - play->start_ns) / ms_ns);
        play->picture[play->n_troubles++] = verdict->picture;
    }
    play->was_certain |= is_trouble && verdict->confidence == LW_CERTAIN && verdict->picture != LW_PICTURE_NO_ADDRESS;
    play->last_picture = verdict->picture;
}

static void pass_until(struct playback *play, uint64_t t_ns)
{
    if (play->start_ns == 0)
        play->start_ns = play->now_ns = t_ns;
    while (play->now_ns + TICK_MS * ms_ns <= t_ns) {
        play->now_ns += TICK_MS * ms_ns;
        lw_monitor_tick(play->monitor, 0, play->now_ns);
        look(play);
    }
}

/* Plays a capture as an interface would deliver it that tells nothing but frames. */
static struct playback played(const char *name, uint32_t bit_rate_bps)
{
    char path[512];
    struct lw_monitor_config config = { .n_buses = 1, .bit_rate_bps = bit_rate_bps, .sequence = LW_SEQUENCE_F3M, .load_limit_permille = 800 };
    struct lw_capture_options options = { .pace = { LW_PACE_FULL, 1 } };
    struct playback play = { .monitor = lw_monitor_create(&config) };
    assert_non_null(play.monitor);
    snprintf(path, sizeof(path), "%s/%s.pcap", getenv("LW_CAPTURES"), name);
    struct capture_session session = session_open_path(path, &options);
    if (session.error)
        print_message("  %s\n", session.message);
    assert_int_equal(session.error, 0);
    int n;
    while ((n = session_read(&session, UINT64_MAX / 4, events, N_ROWS(events))) >= 0)
        for (int i = 0; i < n; i++) {
            pass_until(&play, events[i].t_ns);
            events[i].bus = 0;
            lw_monitor_feed(play.monitor, &events[i]);
        }
    session_close(&session);
    lw_monitor_snapshot(play.monitor, NULL, &snapshot);
    return play;
}

static void tell(const struct playback *play)
{
    char text[LW_HAPPENING_TEXT];
    for (unsigned i = 0; i < play->n_troubles; i++)
        print_message("  %.2f s: %s\n", play->trouble_ms[i] / 1000.0, lw_pictures[play->picture[i]].words);
    for (size_t i = snapshot.n_diary; i-- > 0;)
        print_message("  %8.3f s  %s\n", (double)snapshot.diary[i].elapsed_ns / 1e9, lw_happening_words(&snapshot.diary[i], text));
}

static bool has_words(const char *words)
{
    char text[LW_HAPPENING_TEXT];
    for (size_t i = 0; i < snapshot.n_diary; i++)
        if (strstr(lw_happening_words(&snapshot.diary[i], text), words))
            return true;
    return false;
}

static unsigned told(enum lw_happening_kind kind)
{
    unsigned n = 0;
    for (size_t i = 0; i < snapshot.n_diary; i++)
        n += snapshot.diary[i].kind == kind ? snapshot.diary[i].count : 0;
    return n;
}

static void captures_of_a_steady_bus_show_no_trouble(void **state)
{
    static const struct { const char *name; uint32_t bps; } rows[] = {
        { "boat-running", 250000 }, { "one-module-on-the-bench", 500000 }, { "battery-pack-with-tester", 500000 }, { "boat-running", 0 }, { "one-module-on-the-bench", 0 },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct playback play = played(rows[i].name, rows[i].bps);
        if (play.n_troubles > 0)
            tell(&play);
        if (play.n_troubles > 0 || lw_pictures[snapshot.buses[0].verdict.picture].is_trouble)
            fail_msg("%s is told to be in trouble", rows[i].name);
        lw_monitor_destroy(play.monitor);
    }
}

static void captures_a_hole_is_of_the_whole_bus_and_leaves_nothing_new(void **state)
{
    struct playback play = played("car-with-hole", 500000);
    (void)state;
    if (play.n_troubles != 1)
        tell(&play);
    assert_int_equal(play.n_troubles, 1);
    assert_int_equal(play.picture[0], LW_PICTURE_SILENT);
    assert_true(has_words("the whole bus fell silent"));
    assert_true(has_words("the bus is back"));
    assert_false(lw_pictures[snapshot.buses[0].verdict.picture].is_trouble);
    assert_int_equal(told(LW_HAPPENED_UNEXPECTED) + told(LW_HAPPENED_NEW_ID) + told(LW_HAPPENED_QUIET) + told(LW_HAPPENED_ABSENT), 0);
    assert_int_equal(snapshot.counts.n_unexpected + snapshot.counts.n_since_mark, 0);
    assert_false(play.was_certain);
    lw_monitor_destroy(play.monitor);
}

static void captures_a_power_cycle_is_a_group_that_went_quiet(void **state)
{
    struct playback play = played("car-power-cycle", 500000);
    (void)state;
    assert_true(has_words("went quiet together"));
    assert_int_equal(play.picture[play.n_troubles - 1], LW_PICTURE_QUIET);
    assert_false(play.was_certain);
    lw_monitor_destroy(play.monitor);
}

/* Looked up in the file: units stop at 30 s, nothing at all from 33.77 to 39.51 s, units stop again at 39.5 s. */
static void captures_of_a_machine_tell_its_hole_and_units_that_go(void **state)
{
    static const struct { uint8_t picture; unsigned from_ms, to_ms; } wanted[] = {
        { LW_PICTURE_QUIET, 30900, 31400 }, { LW_PICTURE_SILENT, 33800, 34500 }, { LW_PICTURE_QUIET, 40500, 41000 },
    };
    struct playback play = played("machine-29bit", 250000);
    (void)state;
    if (play.n_troubles != N_ROWS(wanted))
        tell(&play);
    assert_int_equal(play.n_troubles, N_ROWS(wanted));
    for (size_t i = 0; i < N_ROWS(wanted); i++) {
        assert_int_equal(play.picture[i], wanted[i].picture);
        assert_in_range(play.trouble_ms[i], wanted[i].from_ms, wanted[i].to_ms);
    }
    assert_false(play.was_certain);
    assert_false(lw_pictures[snapshot.buses[0].verdict.picture].is_trouble);
    assert_false(has_words("claim address"));
    lw_monitor_destroy(play.monitor);
}

/* 18EEFF16 comes twice within 21 ms with two NAMEs; then one of the two claims 0x17. */
static void captures_two_units_claim_one_address_and_one_moves(void **state)
{
    struct playback play = played("boat-power-on", 250000);
    (void)state;
    assert_true(has_words("two units claim address 22 (16)"));
    assert_true(has_words("of the units that claimed address 22 (16) one moved to 23 (17)"));
    assert_int_equal(told(LW_HAPPENED_ADDRESS), 2);
    assert_int_equal(snapshot.buses[0].facts[LW_FACT_ADDRESS_SHARED].answer, LW_ANSWER_NO);
    assert_int_not_equal(snapshot.buses[0].verdict.picture, LW_PICTURE_NO_ADDRESS);
    for (unsigned i = 0; i < play.n_troubles; i++)
        assert_int_not_equal(play.picture[i], LW_PICTURE_NO_ADDRESS);
    lw_monitor_destroy(play.monitor);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(captures_of_a_steady_bus_show_no_trouble),
        cmocka_unit_test(captures_a_hole_is_of_the_whole_bus_and_leaves_nothing_new),
        cmocka_unit_test(captures_a_power_cycle_is_a_group_that_went_quiet),
        cmocka_unit_test(captures_of_a_machine_tell_its_hole_and_units_that_go),
        cmocka_unit_test(captures_two_units_claim_one_address_and_one_moves),
    };
    const char *folder = getenv("LW_CAPTURES");
    if (!folder || access(folder, R_OK) != 0) {
        printf("skipped: no captures in LW_CAPTURES\n");
        return SKIPPED;
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
