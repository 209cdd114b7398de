/* SPDX-License-Identifier: MIT
 *
 * The keys of the bench page: walking over it, its menu, values, the bits, and that every damage of the table can be asked
 * for there, in words that the bench understands.
 */
#include "bench_scene.h"
#include "cases.h"
#include "loomwatch/ui/bench_state.h"
#include "loomwatch/ui/keys.h"

static struct bench_scene scene;
static struct lw_bench_state bench;
static struct lw_bench_request request;

static int set_up(void **state)
{
    (void)state;
    bench_scene_begin(&scene);
    bench_scene_run(&scene, 100000, SCENE_ADAPTER);
    memset(&bench, 0, sizeof(bench));
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    bench_scene_end(&scene);
    return 0;
}

static bool press(int code)
{
    return lw_bench_state_key(&bench, &scene.picture, code, &request);
}

static void type(const char *text)
{
    for (; *text != '\0'; text++)
        assert_true(press(*text));
}

static struct lw_bench_place place(void)
{
    return lw_bench_state_place(&bench, &scene.picture);
}

static void go_to(uint8_t kind, unsigned index)
{
    bench.has_place = true;
    bench.place = (struct lw_bench_place){ kind, (uint8_t)index };
}

static void bench_begins_at_our_adapter(void **state)
{
    (void)state;
    assert_int_equal(place().kind, LW_AT_UNIT);
    assert_int_equal(place().index, SCENE_ADAPTER);
    assert_int_equal(lw_bench_state_point(&bench, &scene.picture), 2);
}

static void bench_down_the_trunk_meets_points_and_segments_in_turn(void **state)
{
    (void)state;
    go_to(LW_AT_NOWHERE, 0);
    for (unsigned i = 0; i < 2 * SCENE_N_POINTS - 1; i++) {
        assert_true(press(LW_KEY_DOWN));
        assert_int_equal(place().kind, i % 2 ? LW_AT_SEGMENT : LW_AT_POINT);
        assert_int_equal(place().index, i / 2);
    }
    press(LW_KEY_DOWN);
    assert_int_equal(place().kind, LW_AT_POINT);
    press(LW_KEY_HOME);
    assert_int_equal(place().kind, LW_AT_NOWHERE);
    press(LW_KEY_END);
    assert_int_equal(place().index, SCENE_N_POINTS - 1);
}

static void bench_down_the_units_meets_each_once_in_the_order_of_the_drawing(void **state)
{
    static const unsigned order[] = { SCENE_GATEWAY, SCENE_PANEL, SCENE_SECOND_PANEL, SCENE_ADAPTER, SCENE_PUMP, SCENE_HOPPER,
                                      SCENE_SENSOR, SCENE_SWEEP, SCENE_LIGHTING };
    (void)state;
    go_to(LW_AT_POINT, 0);
    press(LW_KEY_RIGHT);
    for (size_t i = 0; i < N_ROWS(order); i++, press(LW_KEY_DOWN)) {
        assert_int_equal(place().kind, LW_AT_UNIT);
        assert_int_equal(place().index, order[i]);
    }
    assert_int_equal(place().index, SCENE_LIGHTING);
    press(LW_KEY_LEFT);
    assert_int_equal(place().kind, LW_AT_POINT);
    assert_int_equal(place().index, SCENE_N_POINTS - 1);
}

static void bench_up_from_the_first_unit_is_the_whole_bench(void **state)
{
    (void)state;
    go_to(LW_AT_UNIT, SCENE_GATEWAY);
    press(LW_KEY_UP);
    assert_int_equal(place().kind, LW_AT_NOWHERE);
}

static void bench_place_that_is_not_there_is_not_chosen(void **state)
{
    (void)state;
    for (unsigned kind = 0; kind < 8; kind++)
        for (unsigned index = 0; index < 256; index++) {
            go_to((uint8_t)kind, index);
            struct lw_bench_place p = place();
            assert_true(p.kind != LW_AT_UNIT || p.index < SCENE_N_UNITS);
            assert_true(p.kind != LW_AT_POINT || p.index < SCENE_N_POINTS);
            assert_true(p.kind != LW_AT_SEGMENT || p.index + 1 < SCENE_N_POINTS);
            assert_true(lw_bench_state_point(&bench, &scene.picture) < SCENE_N_POINTS);
        }
}

/* Walks the menu until it asks for that damage, with the value as typed. False if the menu does not have it. */
static bool ask_for(unsigned kind, const char *value)
{
    for (unsigned i = 0; i < LW_N_DAMAGES + LW_MAX_DAMAGES; i++) {
        bench.mode = LW_BENCH_DRAWING;
        press(LW_KEY_ENTER);
        for (unsigned k = 0; k < i; k++)
            press(LW_KEY_DOWN);
        press(LW_KEY_ENTER);
        if (bench.mode == LW_BENCH_VALUE) {
            type(value);
            press(LW_KEY_ENTER);
        }
        assert_int_equal(bench.mode, LW_BENCH_DRAWING);
        if (request.kind == LW_BENCH_PUT_DAMAGE && request.damage.kind == kind)
            return true;
    }
    return false;
}

static void check_asked(unsigned kind, uint8_t at, unsigned index, const char *value)
{
    struct lw_damage damage;
    char message[LW_DAMAGE_TEXT] = "";
    go_to(at, index);
    if (!ask_for(kind, value))
        fail_msg("%s cannot be put on at place %u", lw_damages[kind].word, at);
    if (lw_damage_parse(&scene.plant, request.text, 0, &damage, message) != 0)
        fail_msg("\"%s\": %s", request.text, message);
    assert_int_equal(damage.kind, kind);
    assert_int_equal(damage.place, at);
    if (at != LW_AT_NOWHERE)
        assert_int_equal(damage.index, index);
    if (kind != LW_DAMAGE_DUPLICATE)
        assert_true(damage.value == request.damage.value);
    assert_true(request.damage.until_ns == UINT64_MAX && request.damage.from_ns == 0);
}

/* Not the defaults; within what the kind takes. */
static const char *const other_values[LW_N_DAMAGES] = {
    [LW_DAMAGE_BIT_RATE] = "125000", [LW_DAMAGE_SAMPLE_POINT] = "700", [LW_DAMAGE_LONG_STUB] = "3000",
};

static void bench_menu_has_every_damage_where_it_may_be(void **state)
{
    (void)state;
    for (unsigned kind = 0; kind < LW_N_DAMAGES; kind++)
        for (uint8_t at = LW_AT_NOWHERE; at <= LW_AT_UNIT; at++) {
            unsigned index = at == LW_AT_UNIT ? SCENE_SECOND_PANEL : at == LW_AT_POINT ? SCENE_N_POINTS - 1 : 0;
            scene.plant.units[SCENE_SECOND_PANEL].own_ohm = 120;
            scene.picture.units[SCENE_SECOND_PANEL].is_terminated = true;
            bool is_switch = kind == LW_DAMAGE_UNPLUGGED || kind == LW_DAMAGE_UNPOWERED;
            if (!is_switch && lw_damages[kind].places >> at & 1) {
                check_asked(kind, at, index, "");
                if (lw_damages[kind].unit && kind != LW_DAMAGE_DUPLICATE)
                    check_asked(kind, at, index, other_values[kind] ? other_values[kind] : "2");
            } else {
                go_to(at, index);
                assert_false(ask_for(kind, ""));
            }
        }
}

static void bench_terminator_is_taken_out_only_where_there_is_one(void **state)
{
    (void)state;
    go_to(LW_AT_POINT, 1);
    assert_false(ask_for(LW_DAMAGE_NO_TERMINATOR, ""));
    go_to(LW_AT_UNIT, SCENE_PUMP);
    assert_false(ask_for(LW_DAMAGE_NO_TERMINATOR, ""));
    go_to(LW_AT_POINT, 0);
    assert_true(ask_for(LW_DAMAGE_NO_TERMINATOR, ""));
}

static void bench_duplicate_takes_an_identifier(void **state)
{
    struct lw_damage damage;
    char message[LW_DAMAGE_TEXT];
    (void)state;
    go_to(LW_AT_UNIT, SCENE_LIGHTING);
    assert_true(ask_for(LW_DAMAGE_DUPLICATE, "0B0 equal"));
    assert_string_equal(request.text, "duplicate at lighting 0B0 equal");
    assert_int_equal(lw_damage_parse(&scene.plant, request.text, 0, &damage, message), 0);
    assert_true(damage.value == -2);
}

static void bench_damage_that_is_on_is_taken_off(void **state)
{
    (void)state;
    bench_scene_damage(&scene, "overrun");
    bench_scene_damage(&scene, "swapped at hopper-control");
    bench_scene_run(&scene, 1000, SCENE_ADAPTER);
    go_to(LW_AT_UNIT, SCENE_HOPPER);
    assert_false(ask_for(LW_DAMAGE_SWAPPED, ""));
    press(LW_KEY_ENTER);
    press(LW_KEY_DOWN);
    press(LW_KEY_DOWN);
    press(LW_KEY_ENTER);
    assert_int_equal(request.kind, LW_BENCH_MEND);
    assert_int_equal(request.n, 1);
    assert_string_equal(request.words, "take off: H and L swapped at the hopper control");
}

static void bench_plug_and_power_follow_the_state(void **state)
{
    (void)state;
    go_to(LW_AT_UNIT, SCENE_SENSOR);
    press(LW_KEY_ENTER);
    press(LW_KEY_ENTER);
    assert_int_equal(request.kind, LW_BENCH_PLUG);
    assert_int_equal(request.unit, SCENE_SENSOR);
    assert_true(request.is_on);
    go_to(LW_AT_UNIT, SCENE_PUMP);
    press(LW_KEY_ENTER);
    press(LW_KEY_DOWN);
    press(LW_KEY_ENTER);
    assert_int_equal(request.kind, LW_BENCH_POWER);
    assert_int_equal(request.unit, SCENE_PUMP);
    assert_false(request.is_on);
}

static void bench_supply_and_mending_have_keys_of_their_own(void **state)
{
    (void)state;
    assert_true(press('p'));
    assert_int_equal(request.kind, LW_BENCH_SUPPLY);
    assert_false(request.is_on);
    lw_sim_supply(scene.sim, false);
    bench_scene_run(&scene, 1000, SCENE_ADAPTER);
    assert_true(press('p'));
    assert_true(request.is_on);
    assert_true(press('k'));
    assert_int_equal(request.kind, LW_BENCH_MEND_ALL);
}

static void bench_value_takes_every_letter(void **state)
{
    (void)state;
    go_to(LW_AT_POINT, 0);
    press(LW_KEY_ENTER);
    press(LW_KEY_ENTER);
    assert_int_equal(bench.mode, LW_BENCH_VALUE);
    type("qx?12");
    assert_true(press(LW_KEY_BACKSPACE));
    assert_string_equal(bench.value, "qx?1");
    type("0123456789012345678901234567890123456789");
    assert_int_equal(strlen(bench.value), LW_BENCH_VALUE_TEXT - 1);
    assert_true(press(LW_KEY_ESCAPE));
    assert_int_equal(bench.mode, LW_BENCH_MENU);
    assert_true(press(LW_KEY_ESCAPE));
    assert_int_equal(bench.mode, LW_BENCH_DRAWING);
    assert_int_equal(request.kind, LW_BENCH_NO_REQUEST);
}

static void bench_keys_of_the_app_are_left_to_it(void **state)
{
    (void)state;
    assert_false(press(LW_KEY_ESCAPE));
    assert_false(press('q'));
    assert_false(press('x'));
    press(LW_KEY_ENTER);
    assert_false(press('?'));
    assert_int_equal(bench.mode, LW_BENCH_DRAWING);
    assert_false(lw_bench_state_key(&bench, NULL, LW_KEY_DOWN, &request));
}

static void bench_bits_hold_at_an_error_and_go_on(void **state)
{
    (void)state;
    go_to(LW_AT_UNIT, SCENE_PUMP);
    assert_true(press('v'));
    assert_int_equal(lw_bench_state_trace_unit(&bench, &scene.picture), SCENE_PUMP);
    bench_scene_run(&scene, 50000, SCENE_PUMP);
    lw_bench_state_look(&bench, &scene.picture);
    assert_true(lw_bench_state_wants_picture(&bench));
    scene.picture.trace.bits[5].has_error = true;
    lw_bench_state_look(&bench, &scene.picture);
    assert_false(lw_bench_state_wants_picture(&bench));
    assert_true(press(' '));
    assert_true(lw_bench_state_wants_picture(&bench));
    assert_true(press(LW_KEY_DOWN));
    assert_int_equal(lw_bench_state_trace_unit(&bench, &scene.picture), SCENE_HOPPER);
    assert_true(press(' '));
    assert_true(press(LW_KEY_ESCAPE));
    assert_true(lw_bench_state_wants_picture(&bench));
    assert_false(press(LW_KEY_ESCAPE));
}

static void bench_bits_of_the_last_error_do_not_hold_by_themselves(void **state)
{
    (void)state;
    press('v');
    scene.picture.trace.n = scene.picture.error_trace.n = 7;
    scene.picture.trace.bits[5].has_error = scene.picture.error_trace.bits[5].has_error = true;
    lw_bench_state_look(&bench, &scene.picture);
    assert_false(lw_bench_state_wants_picture(&bench));
    assert_ptr_equal(lw_bench_state_trace(&bench, &scene.picture), &scene.picture.trace);
    assert_true(press('e'));
    assert_ptr_equal(lw_bench_state_trace(&bench, &scene.picture), &scene.picture.error_trace);
    lw_bench_state_look(&bench, &scene.picture);
    assert_true(lw_bench_state_wants_picture(&bench));
    assert_true(press('e'));
    assert_ptr_equal(lw_bench_state_trace(&bench, &scene.picture), &scene.picture.trace);
    press('e');
    press('v');
    press('v');
    assert_ptr_equal(lw_bench_state_trace(&bench, &scene.picture), &scene.picture.trace);
}

static void bench_bits_scroll_within_the_frame(void **state)
{
    (void)state;
    press('v');
    press(LW_KEY_LEFT);
    assert_int_equal(bench.bits_from, 0);
    for (int i = 0; i < 100; i++)
        press(LW_KEY_RIGHT);
    assert_true(bench.bits_from > 0 && bench.bits_from < scene.picture.trace.n);
    press(LW_KEY_HOME);
    assert_int_equal(bench.bits_from, 0);
    scene.picture.trace.n = 0;
    for (int code = LW_KEY_UP; code <= LW_KEY_END; code++)
        press(code);
    assert_int_equal(bench.bits_from, 0);
}

int main(void)
{
#define BENCH_TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        BENCH_TEST(bench_begins_at_our_adapter),
        BENCH_TEST(bench_down_the_trunk_meets_points_and_segments_in_turn),
        BENCH_TEST(bench_down_the_units_meets_each_once_in_the_order_of_the_drawing),
        BENCH_TEST(bench_up_from_the_first_unit_is_the_whole_bench),
        BENCH_TEST(bench_place_that_is_not_there_is_not_chosen),
        BENCH_TEST(bench_menu_has_every_damage_where_it_may_be),
        BENCH_TEST(bench_terminator_is_taken_out_only_where_there_is_one),
        BENCH_TEST(bench_duplicate_takes_an_identifier),
        BENCH_TEST(bench_damage_that_is_on_is_taken_off),
        BENCH_TEST(bench_plug_and_power_follow_the_state),
        BENCH_TEST(bench_supply_and_mending_have_keys_of_their_own),
        BENCH_TEST(bench_value_takes_every_letter),
        BENCH_TEST(bench_keys_of_the_app_are_left_to_it),
        BENCH_TEST(bench_bits_hold_at_an_error_and_go_on),
        BENCH_TEST(bench_bits_of_the_last_error_do_not_hold_by_themselves),
        BENCH_TEST(bench_bits_scroll_within_the_frame),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
