/* SPDX-License-Identifier: MIT
 *
 * Golden screens of the bench page, each drawn from a simulation at work. Volts are an average of what it does, so these
 * change with the model, too.
 */
#include "bench_scene.h"
#include "golden.h"
#include "loomwatch/ui/views.h"
#include "sweeper.h"

#include "drawing_group.h"   /* last: its drawing would be shadowed in the others */

static struct bench_scene bench;
static struct lw_view_state view;
static struct lw_snapshot snapshot;

static void begin(void)
{
    bench_scene_begin(&bench);
    lw_view_state_init(&view);
    view.page = LW_PAGE_BENCH;
    view.picture = &bench.picture;
}

static void choose(uint8_t kind, unsigned index)
{
    view.on_bench.has_place = true;
    view.on_bench.place = (struct lw_bench_place){ kind, (uint8_t)index };
}

static void check(const char *name)
{
    golden_screens(drawing, name, &view, &snapshot);
    bench_scene_end(&bench);
}

static void golden_bench_healthy(void **state)
{
    (void)state;
    begin();
    bench_scene_run(&bench, 300000, SCENE_ADAPTER);
    check("bench-healthy");
}

static void golden_bench_ascii(void **state)
{
    (void)state;
    begin();
    view.is_ascii = true;
    bench_scene_damage(&bench, "short at point 4 2");
    bench_scene_damage(&bench, "loose at segment 2");
    bench_scene_run(&bench, 300000, SCENE_ADAPTER);
    choose(LW_AT_POINT, 3);
    check("bench-ascii");
}

static void golden_bench_swapped(void **state)
{
    (void)state;
    begin();
    bench_scene_run(&bench, 300000, SCENE_ADAPTER);
    bench_scene_damage(&bench, "swapped at hopper-control");
    bench_scene_run(&bench, 200000, SCENE_ADAPTER);
    choose(LW_AT_UNIT, SCENE_HOPPER);
    check("bench-swapped");
}

static void golden_bench_open_and_short(void **state)
{
    (void)state;
    begin();
    bench_scene_run(&bench, 300000, SCENE_ADAPTER);
    bench_scene_damage(&bench, "open-h at segment 2");
    bench_scene_damage(&bench, "short at hopper");
    bench_scene_damage(&bench, "l-to-ground at point 6 10");
    bench_scene_damage(&bench, "open-l at lighting");
    bench_scene_run(&bench, 200000, SCENE_ADAPTER);
    choose(LW_AT_SEGMENT, 1);
    check("bench-open-short");
}

static void golden_bench_supply_off(void **state)
{
    (void)state;
    begin();
    bench_scene_run(&bench, 300000, SCENE_ADAPTER);
    bench_scene_damage(&bench, "no-terminator at front-end");
    lw_sim_supply(bench.sim, false);
    bench_scene_run(&bench, 200000, SCENE_ADAPTER);
    choose(LW_AT_POINT, 0);
    check("bench-supply-off");
}

static void golden_bench_menu(void **state)
{
    (void)state;
    begin();
    bench_scene_damage(&bench, "swapped at hopper-control");
    bench_scene_run(&bench, 300000, SCENE_ADAPTER);
    choose(LW_AT_UNIT, SCENE_HOPPER);
    view.on_bench.mode = LW_BENCH_VALUE;
    view.on_bench.menu_choice = 6;
    snprintf(view.on_bench.value, sizeof(view.on_bench.value), "22");
    check("bench-menu");
}

static void golden_bench_whole(void **state)
{
    (void)state;
    begin();
    bench_scene_damage(&bench, "asleep");
    bench_scene_damage(&bench, "crystal at lighting 20000");
    bench_scene_run(&bench, 300000, SCENE_ADAPTER);
    choose(LW_AT_NOWHERE, 0);
    check("bench-whole");
}

static void golden_bits_healthy(void **state)
{
    (void)state;
    begin();
    bench_scene_run(&bench, 300000, SCENE_HOPPER);
    view.on_bench.mode = LW_BENCH_BITS;
    view.on_bench.has_bits_unit = true;
    view.on_bench.bits_unit = SCENE_HOPPER;
    check("bits-healthy");
}

/* All others are gone: nobody acknowledges what the hopper control sends. */
static void leave_hopper_alone(void)
{
    bench_scene_run(&bench, 300000, SCENE_HOPPER);
    for (unsigned unit = 0; unit < SCENE_N_UNITS; unit++)
        lw_sim_plug(bench.sim, unit, unit == SCENE_HOPPER);
    bench_scene_run(&bench, 21000, SCENE_HOPPER);
}

static void look_at_bits(bool is_held)
{
    struct lw_bench_request request;
    choose(LW_AT_UNIT, SCENE_HOPPER);
    lw_bench_state_key(&view.on_bench, &bench.picture, 'v', &request);
    lw_bench_state_look(&view.on_bench, &bench.picture);
    assert_int_equal(view.on_bench.is_held, is_held);
}

static void golden_bits_error(void **state)
{
    (void)state;
    begin();
    leave_hopper_alone();
    look_at_bits(true);
    check("bits-error");
}

static void golden_bits_zoomed(void **state)
{
    (void)state;
    begin();
    bench_scene_run(&bench, 300000, SCENE_HOPPER);
    view.on_bench = (struct lw_bench_state){ .mode = LW_BENCH_BITS, .has_bits_unit = true, .bits_unit = SCENE_HOPPER,
                                             .is_zoomed = true, .bits_from = 8 };
    check("bits-zoomed");
}

/* The others are back and all is well again: the error is not of the last frame. */
static void golden_bits_last_error(void **state)
{
    struct lw_bench_request request;
    (void)state;
    begin();
    leave_hopper_alone();
    for (unsigned unit = 0; unit < SCENE_N_UNITS; unit++)
        lw_sim_plug(bench.sim, unit, true);
    bench_scene_run(&bench, 1250000, SCENE_HOPPER);
    look_at_bits(false);
    lw_bench_state_key(&view.on_bench, &bench.picture, 'e', &request);
    check("bits-last-error");
}

static void golden_bits_no_error_yet(void **state)
{
    (void)state;
    begin();
    bench_scene_run(&bench, 300000, SCENE_HOPPER);
    view.on_bench = (struct lw_bench_state){ .mode = LW_BENCH_BITS, .has_bits_unit = true, .bits_unit = SCENE_HOPPER,
                                             .shows_last_error = true };
    check("bits-no-error-yet");
}

static int set_up(void **state)
{
    struct traffic *traffic = sweeper_create(1);
    sweeper_run(traffic, 12000);
    lw_monitor_snapshot(traffic->monitor, NULL, &snapshot);
    traffic_destroy(traffic);
    return drawing_set_up(state);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(golden_bench_healthy),  cmocka_unit_test(golden_bench_ascii),
        cmocka_unit_test(golden_bench_swapped),  cmocka_unit_test(golden_bench_open_and_short),
        cmocka_unit_test(golden_bench_supply_off), cmocka_unit_test(golden_bench_menu),
        cmocka_unit_test(golden_bench_whole),    cmocka_unit_test(golden_bits_healthy),
        cmocka_unit_test(golden_bits_error),     cmocka_unit_test(golden_bits_zoomed),
        cmocka_unit_test(golden_bits_last_error), cmocka_unit_test(golden_bits_no_error_yet),
    };
    return cmocka_run_group_tests(tests, set_up, drawing_tear_down);
}
