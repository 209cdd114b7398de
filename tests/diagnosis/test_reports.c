/* SPDX-License-Identifier: MIT
 *
 * Reports that mislead: harmless ones, late ones, zeros that are no counters, one that is all there is. Bytes as in
 * linux/can/error.h; how drivers send them as in the sources of kernel 6.12.
 */
#include "player.h"

static const struct setting warm = { .bit_rate_bps = 500000, .is_warm = true }, cold = { .bit_rate_bps = 250000 };

static bool is_trouble(struct player *player)
{
    return lw_pictures[player_verdict(player)->picture].is_trouble;
}

static enum lw_answer answer(struct player *player, enum lw_fact fact)
{
    return (enum lw_answer)traffic_look(player->traffic)->buses[0].facts[fact].answer;
}

static void expect(struct player *player, enum lw_picture picture)
{
    char words[LW_VERDICT_TEXT];
    if (player_verdict(player)->picture != picture)
        fail_msg("%s", player_words(player, words));
}

static void reports_of_giving_way_or_of_overload_are_no_trouble(void **state)
{
    static const struct { uint32_t id; const char *bytes; } rows[] = {
        { 0x20000002, "1F" }, { 0x20000008, "00 00 20" }, { 0x20000008, "00 00 40" }, { 0x20000004, "00 40" }, { 0x20000100, "" },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct player *player = player_create(driver_named("sja1000"), &warm);
        for (unsigned k = 0; k < 100; k++) {
            player_raw(player, rows[i].id, rows[i].bytes);
            player_pass(player, 20000);
        }
        char words[LW_VERDICT_TEXT];
        if (is_trouble(player))
            fail_msg("row %zu: %s", i, player_words(player, words));
        player_destroy(player);
    }
}

static void reports_of_bus_off_carry_zeros_that_are_no_counters(void **state)
{
    (void)state;
    for (size_t d = 0; d < N_DRIVERS; d++) {
        if (drivers[d].tells_nothing)
            continue;
        struct player *player = player_create(&drivers[d], &cold);
        player_silence(player);
        player_raw(player, 0x20000240, "00 00 00 00 00 00 00 00");
        assert_false(traffic_look(player->traffic)->buses[0].controller.tec.is_known);
        player->state = LW_STATE_BUS_OFF;
        player->tec = 0;
        player_pass(player, 3000000);
        expect(player, LW_PICTURE_BUS_OFF);
        assert_int_not_equal(answer(player, LW_FACT_SEND_TROUBLE), LW_ANSWER_NO);
        assert_int_not_equal(answer(player, LW_FACT_BEYOND_128), LW_ANSWER_NO);
        assert_false(player->was_certain);
        player_destroy(player);
    }
}

static void reports_of_one_bus_off_that_is_over_are_told_as_past(void **state)
{
    (void)state;
    for (size_t d = 0; d < N_DRIVERS; d++) {
        if (drivers[d].tells_nothing)
            continue;
        struct player *player = player_create(&drivers[d], &warm);
        player_bus_off(player);
        player_pass(player, 100000);
        assert_int_equal(player_verdict(player)->picture, LW_PICTURE_BUS_OFF);
        player_restart(player);
        player_pass(player, 6000000);
        assert_false(is_trouble(player));
        player_destroy(player);
    }
}

/* Delivered late and together: a slow adapter, or a capture with coarse time stamps. */
static void reports_in_bundles_say_the_same(void **state)
{
    static const unsigned every_ms[] = { 20, 100, 400 };
    (void)state;
    for (size_t i = 0; i < N_ROWS(every_ms); i++) {
        struct player *player = player_create(driver_named("mcp251xfd"), &cold);
        for (unsigned t = 0; t < 4000; t += every_ms[i]) {
            for (unsigned k = 0; k < every_ms[i]; k++)
                player_no_acknowledge(player);
            player_pass(player, every_ms[i] * 1000);
        }
        expect(player, LW_PICTURE_UNACKNOWLEDGED);
        assert_true(player_names(player, LW_CAUSE_ALONE));
        assert_false(player->was_certain);
        player_destroy(player);
    }
}

/* Also told by frames of the newcomer that come too late to be believed: it began when the plug went in. */
static void reports_that_begin_with_a_plug_name_what_was_plugged(void **state)
{
    (void)state;
    for (size_t d = 0; d < N_DRIVERS; d++) {
        if (drivers[d].tells_nothing)
            continue;
        struct player *player = player_create(&drivers[d], &warm);
        lw_monitor_mark(player->traffic->monitor, LW_MARK_PLUGGED);
        player_pass(player, 300000);
        player_silence(player);
        for (unsigned i = 0; i < 3000; i++) {
            static const uint8_t places[] = { 0x0A, 0x08, 0x18, 0x0F };
            player_spoilt(player, i % 2 ? 0x04 : 0x02, places[i / 2 % N_ROWS(places)]);
            player_pass(player, 700);
        }
        expect(player, LW_PICTURE_NO_GOOD_FRAME);
        assert_int_equal(answer(player, LW_FACT_AFTER_CHANGE), LW_ANSWER_YES);
        assert_true(player_names(player, LW_CAUSE_TIMING) && player_names(player, LW_CAUSE_OTHER_RATE) && player_names(player, LW_CAUSE_SWAPPED));
        assert_false(player_names(player, LW_CAUSE_OWN_RATE) && player_verdict(player)->named[0].cause == LW_CAUSE_OWN_RATE);
        assert_false(player->was_certain);
        player->traffic->is_dead[0] = false;             /* unplugged again */
        lw_monitor_mark(player->traffic->monitor, LW_MARK_UNPLUGGED);
        player_count(player, 0, 119);
        player_count(player, 0, 0);
        player_pass(player, 6000000);
        assert_false(is_trouble(player));
        player_destroy(player);
    }
}

static void reports_of_a_warning_without_errors_are_no_trouble_while_frames_flow(void **state)
{
    (void)state;
    for (size_t d = 0; d < N_DRIVERS; d++) {
        struct player *player = player_create(&drivers[d], &warm);
        player_count(player, 100, 0);
        player_pass(player, 10000000);
        expect(player, drivers[d].tells_nothing ? LW_PICTURE_UNTOLD : LW_PICTURE_HEALED);
        player_destroy(player);
    }
}

/* Single errors in good traffic, as every long bus has them: told while they are fresh, and then as past. */
static void reports_of_a_rare_error_are_over_in_seconds(void **state)
{
    (void)state;
    struct player *player = player_create(driver_named("sja1000"), &warm);
    player_spoilt(player, 0x04, 0x0A);
    player_pass(player, 1000000);
    assert_false(player->was_certain);
    player_pass(player, 6000000);
    assert_false(is_trouble(player));
    player_destroy(player);
}

static void reports_switched_off_leave_errors_unknown(void **state)
{
    struct player *player = player_create(driver_named("flexcan"), &warm);
    (void)state;
    player->link.error_reporting = LW_KNOWN(0);
    player_pass(player, 3000000);
    assert_int_equal(answer(player, LW_FACT_TELLS_ERRORS), LW_ANSWER_NO);
    assert_int_equal(answer(player, LW_FACT_ERRORS), LW_ANSWER_UNKNOWN);
    assert_int_equal(answer(player, LW_FACT_NO_ACKNOWLEDGE), LW_ANSWER_UNKNOWN);
    player_destroy(player);
}

/* A transceiver that tells which wire: linux/can/error.h, data[4]. */
static void reports_of_the_transceiver_name_the_wire(void **state)
{
    static const struct { const char *bytes; enum lw_cause cause; } rows[] = {
        { "00 00 00 00 04", LW_CAUSE_WIRE_OPEN }, { "00 00 00 00 40", LW_CAUSE_WIRE_OPEN }, { "00 00 00 00 05", LW_CAUSE_TO_RAIL },
        { "00 00 00 00 06", LW_CAUSE_TO_RAIL }, { "00 00 00 00 07", LW_CAUSE_TO_RAIL }, { "00 00 00 00 50", LW_CAUSE_TO_RAIL },
        { "00 00 00 00 70", LW_CAUSE_TO_RAIL }, { "00 00 00 00 80", LW_CAUSE_SHORT },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct player *player = player_create(driver_named("sja1000"), &warm);
        for (unsigned k = 0; k < 30; k++) {
            player_raw(player, 0x20000010, rows[i].bytes);
            player_pass(player, 100000);
        }
        char words[LW_VERDICT_TEXT];
        if (!is_trouble(player) || player_verdict(player)->named[0].cause != rows[i].cause)
            fail_msg("%s: %s", rows[i].bytes, player_words(player, words));
        player_destroy(player);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reports_of_giving_way_or_of_overload_are_no_trouble),
        cmocka_unit_test(reports_of_bus_off_carry_zeros_that_are_no_counters),
        cmocka_unit_test(reports_of_one_bus_off_that_is_over_are_told_as_past),
        cmocka_unit_test(reports_in_bundles_say_the_same),
        cmocka_unit_test(reports_that_begin_with_a_plug_name_what_was_plugged),
        cmocka_unit_test(reports_of_a_warning_without_errors_are_no_trouble_while_frames_flow),
        cmocka_unit_test(reports_of_a_rare_error_are_over_in_seconds),
        cmocka_unit_test(reports_switched_off_leave_errors_unknown),
        cmocka_unit_test(reports_of_the_transceiver_name_the_wire),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
