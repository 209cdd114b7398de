/* SPDX-License-Identifier: MIT
 *
 * Golden screens: what a watch looks like, as a plane of glyphs and one of roles, held against the files in tests/golden.
 * scripts/update-golden (LW_UPDATE_GOLDEN=1) writes them anew; look at the difference before you commit it.
 */
#include "golden.h"
#include "loomwatch/ui/views.h"
#include "sweeper.h"

#include "drawing_group.h"   /* last: its drawing would be shadowed in the others */

struct scene {
    struct traffic *traffic;
    struct lw_view_state view;
    struct lw_snapshot snapshot;
};

static struct scene scene;

static void begin(unsigned n_buses)
{
    memset(&scene, 0, sizeof(scene));
    scene.traffic = sweeper_create(n_buses);
    lw_view_state_init(&scene.view);
}

/* Watched for a while, learned, named; the baseline is taken on the spot. */
static void begin_settled(void)
{
    begin(1);
    sweeper_run(scene.traffic, 12000);
    sweeper_settle(scene.traffic);
    lw_monitor_take_baseline(scene.traffic->monitor);
    sweeper_run(scene.traffic, 500);
}

static void look(void)
{
    const struct lw_id_key *chosen = scene.view.has_choice ? &scene.view.choice : NULL;
    lw_monitor_snapshot(scene.traffic->monitor, chosen, &scene.snapshot);
}

static void choose(uint32_t id)
{
    scene.view.has_choice = true;
    scene.view.choice = (struct lw_id_key){ .id = id };
}

/* Draws the scene at every size, compares, and ends it. */
static void check(const char *name)
{
    golden_screens(drawing, name, &scene.view, &scene.snapshot);
    traffic_destroy(scene.traffic);
}

static void golden_idle(void **state)
{
    (void)state;
    begin(1);
    scene.traffic->n_senders = 0;
    traffic_run(scene.traffic, 300);
    look();
    check("idle");
}

static void golden_no_baseline(void **state)
{
    (void)state;
    begin(1);
    sweeper_run(scene.traffic, 12000);
    look();
    check("no-baseline");
}

static void golden_settled(void **state)
{
    (void)state;
    begin_settled();
    look();
    check("settled");
}

static void golden_settled_ascii(void **state)
{
    (void)state;
    begin_settled();
    scene.view.is_ascii = true;
    look();
    check("settled-ascii");
}

static void golden_new_module(void **state)
{
    (void)state;
    begin_settled();
    lw_monitor_mark(scene.traffic->monitor, LW_MARK_PLAIN);
    sweeper_run(scene.traffic, 1000);
    sweeper_plug_sensor(scene.traffic);
    sweeper_run(scene.traffic, 4000);
    look();
    check("new-module");
}

/* The hopper control goes, and is told first; then a slow period is told, after it. */
static void golden_unit_absent(void **state)
{
    (void)state;
    begin_settled();
    sweeper_switch(scene.traffic, "hopper control", true);
    sweeper_run(scene.traffic, 2000);
    traffic_sender(scene.traffic, 0x218)->frame.len = 5;
    sweeper_run(scene.traffic, 1000);
    look();
    check("unit-absent");
}

static void golden_bus_off(void **state)
{
    (void)state;
    begin_settled();
    sweeper_short(scene.traffic, 0);
    sweeper_run(scene.traffic, 500);
    lw_alarms_press(lw_monitor_alarms(scene.traffic->monitor), LW_INPUT_ACKNOWLEDGE);
    look();
    check("bus-off");
}

static void golden_why(void **state)
{
    struct lw_meter_reading reading = { .kind = LW_MEASURE_OHM, .value = 1.2 };
    (void)state;
    begin_settled();
    sweeper_short(scene.traffic, 0);
    sweeper_run(scene.traffic, 500);
    lw_monitor_reading(scene.traffic->monitor, 0, &reading);
    sweeper_run(scene.traffic, 500);
    scene.view.page = LW_PAGE_WHY;
    look();
    check("why");
}

static void golden_meter_reading_typed(void **state)
{
    (void)state;
    begin_settled();
    scene.view.is_typing_reading = true;
    snprintf(scene.view.reading, sizeof(scene.view.reading), "H 3.9");
    look();
    check("reading-typing");
}

/* A gateway has two sides: the engine side speaks faster. */
static void golden_two_buses(void **state)
{
    (void)state;
    begin(2);
    for (unsigned i = 0; i < 9; i++)
        traffic_add(scene.traffic, 0x0C0 + 0x41 * i, 10 * (1 + i % 3), 1 + i)->bus = 1;
    sweeper_run(scene.traffic, 12000);
    sweeper_settle(scene.traffic);
    traffic_sender(scene.traffic, 0x0C0)->is_off = true;
    sweeper_run(scene.traffic, 1500);
    look();
    check("two-buses");
}

static void golden_many_29_bit(void **state)
{
    (void)state;
    begin(1);
    scene.traffic->n_senders = 0;
    for (unsigned i = 0; i < 84; i++) {
        struct sender *sender = traffic_add(scene.traffic, 0x10A20300 + 0x11 * i, 50 * (1 + i % 5), 1 + i % 47);
        sender->frame.flags = LW_FRAME_EXTENDED;
    }
    sweeper_run(scene.traffic, 12000);
    sweeper_settle(scene.traffic);
    scene.traffic->senders[40].is_off = true;
    sweeper_run(scene.traffic, 2000);
    look();
    check("many-29-bit");
}

static void golden_detail(void **state)
{
    (void)state;
    begin_settled();
    choose(0x120);
    scene.view.page = LW_PAGE_DETAIL;
    look();
    check("detail");
}

static void golden_help(void **state)
{
    (void)state;
    begin_settled();
    scene.view.page = LW_PAGE_HELP;
    look();
    check("help");
}

static void golden_bench(void **state)
{
    static const char *const lines[] = { "plug the hopper load sensor in", "unplug the hopper load sensor",
                                         "take the hopper control off the bus" };
    (void)state;
    begin_settled();
    scene.view.page = LW_PAGE_BENCH;
    scene.view.n_bench = N_ROWS(lines);
    memcpy(scene.view.bench, lines, sizeof(lines));
    scene.view.bench_choice = 2;
    look();
    check("bench");
}

static void golden_adapter(void **state)
{
    (void)state;
    begin_settled();
    sweeper_short(scene.traffic, 0);
    scene.view.page = LW_PAGE_ADAPTER;
    look();
    check("adapter");
}

static void golden_paused(void **state)
{
    (void)state;
    begin_settled();
    scene.view.is_paused = true;
    scene.view.paused_elapsed_ns = UINT64_C(12500000000);
    scene.view.n_behind = 18461;
    scene.view.behind_ns = UINT64_C(17000000000);
    choose(0x1D0);
    look();
    check("paused");
}

static void golden_filter_typing(void **state)
{
    (void)state;
    begin_settled();
    scene.view.is_typing_filter = true;
    snprintf(scene.view.filter, sizeof(scene.view.filter), "1D");
    look();
    check("filter-typing");
}

static void golden_link_gone(void **state)
{
    (void)state;
    begin_settled();
    struct lw_link gone = lw_link_unknown();
    gone.is_present = gone.is_up = false;
    traffic_feed(scene.traffic, 0, (struct lw_event){ .kind = LW_EVENT_LINK, .link = gone });
    scene.traffic->is_dead[0] = true;
    sweeper_run(scene.traffic, 2000);
    snprintf(scene.view.record, sizeof(scene.view.record), "sweep.pcap");
    look();
    check("link-gone");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(golden_idle),          cmocka_unit_test(golden_no_baseline),
        cmocka_unit_test(golden_settled),       cmocka_unit_test(golden_settled_ascii),
        cmocka_unit_test(golden_new_module),    cmocka_unit_test(golden_unit_absent),
        cmocka_unit_test(golden_bus_off),       cmocka_unit_test(golden_two_buses),
        cmocka_unit_test(golden_many_29_bit),   cmocka_unit_test(golden_detail),
        cmocka_unit_test(golden_help),          cmocka_unit_test(golden_bench),
        cmocka_unit_test(golden_paused),        cmocka_unit_test(golden_filter_typing),
        cmocka_unit_test(golden_link_gone),
        cmocka_unit_test(golden_adapter),
        cmocka_unit_test(golden_why),
        cmocka_unit_test(golden_meter_reading_typed),
    };
    return cmocka_run_group_tests(tests, drawing_set_up, drawing_tear_down);
}
