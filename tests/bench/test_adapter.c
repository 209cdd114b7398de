/* SPDX-License-Identifier: MIT
 *
 * Our adapter: the same trouble through different drivers. Expected frames are those of the table of Linux 6.12 drivers and
 * of the confirmed cases in FAULTS.md; class bits after linux/can/error.h.
 */
#include "loomwatch/bench/adapter.h"

#include "cases.h"
#include "small_plant.h"

#include <linux/can/error.h>
#include <stdio.h>
#include <string.h>

enum { BUS = 3, MAX_EVENTS = 2 * LW_ADAPTER_QUEUE };

static struct lw_plant plant;
static struct lw_adapter adapter;
static struct lw_event events[MAX_EVENTS];
static unsigned n_events;

static void begin(const char *personality)
{
    const struct lw_personality *found = lw_personality_find(personality);
    assert_non_null(found);
    plant = small_plant;
    struct lw_plant_unit *unit = &plant.units[SMALL_ADAPTER];
    unit->personality = *found;
    assert_int_equal(lw_bit_timing_for(500000, 800, 0, &unit->timing), 0);
    lw_adapter_init(&adapter, &plant, BUS);
    assert_true(lw_adapter_take(&adapter, &events[0]));
    assert_int_equal(events[0].kind, LW_EVENT_LINK);
    n_events = 0;
}

static void take_all(void)
{
    n_events = 0;
    while (n_events < MAX_EVENTS && lw_adapter_take(&adapter, &events[n_events]))
        n_events++;
}

static void error(uint8_t kind, uint8_t place, bool is_transmitter, unsigned tec, unsigned rec)
{
    struct lw_mac_error what = { .kind = kind, .place = place, .is_transmitter = is_transmitter };
    struct lw_confinement counters = { .tec = (uint16_t)tec, .rec = (uint16_t)rec, .is_bus_off = tec >= 256 };
    lw_adapter_report(&adapter, LW_MAC_ERROR | (tec >= 256 ? LW_MAC_BUS_OFF : 0), &what, &counters, NULL, 1000 * tec + rec);
}

static void frame(uint32_t id, unsigned reports, unsigned tec, unsigned rec, uint64_t t_ns)
{
    struct lw_frame what = { .id = id, .len = 1 };
    struct lw_confinement counters = { .tec = (uint16_t)tec, .rec = (uint16_t)rec };
    lw_adapter_report(&adapter, reports, NULL, &counters, &what, t_ns);
}

/* Events waiting, as text: "0A8 00 00 80" an error frame's class and first data, with counters behind a slash. */
static const char *told(void)
{
    static char text[1000];
    text[0] = '\0';
    take_all();
    for (unsigned i = 0; i < n_events; i++) {
        char part[80] = "link";
        const uint8_t *data = events[i].error.data;
        if (events[i].kind == LW_EVENT_ERROR)
            snprintf(part, sizeof part, "%03X %02X %02X %02X", events[i].error.class_bits, data[1], data[2], data[3]);
        if (events[i].kind == LW_EVENT_ERROR && events[i].error.class_bits & CAN_ERR_CNT)
            snprintf(part + strlen(part), sizeof part - strlen(part), "/%d %d", data[6], data[7]);
        if (events[i].kind == LW_EVENT_FRAME)
            snprintf(part, sizeof part, "frame %X", events[i].frame.id);
        if (events[i].kind == LW_EVENT_LOSS)
            snprintf(part, sizeof part, "lost %u", events[i].loss.n_frames);
        snprintf(text + strlen(text), sizeof text - strlen(text), "%s%s", i ? ", " : "", part);
    }
    return text;
}

static void personality_table_is_whole(void **state)
{
    (void)state;
    for (unsigned i = 0; i < LW_N_PERSONALITIES; i++) {
        assert_true(lw_personalities[i].name[0]);
        assert_ptr_equal(lw_personality_find(lw_personalities[i].name), &lw_personalities[i]);
        assert_true(lw_personalities[i].has_each_error || !(lw_personalities[i].has_ack_class || lw_personalities[i].has_ack_place));
    }
    assert_null(lw_personality_find("better"));
}

/* One missing acknowledge, as sender, through every driver. */
static void error_missing_acknowledge_by_personality(void **state)
{
    (void)state;
    static const struct { const char *personality, *told; } rows[] = {
        { "each-error", "288 00 80 19/8 0" },
        { "each-error-by-class", "2A8 00 00 00/8 0" },
        { "each-error-always", "288 00 00 19/8 0" },
        { "each-error-no-counters", "0A8 00 00 19" },
        { "ack-both-ways", "0A8 00 00 19" },
        { "ack-by-class", "0A8 00 80 00" },          /* FAULTS.md, alone and terminated: 200000A8 00 00 80 */
        { "ack-by-place", "088 00 00 19" },
        { "reporting-off", "" },
        { "states-only", "" },
        { "states-only-no-counters", "" },
        { "blind", "" },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        begin(rows[i].personality);
        error(LW_MAC_ACK_ERROR, CAN_ERR_PROT_LOC_ACK, true, 8, 0);
        assert_string_equal(told(), rows[i].told);
    }
}

/* The sixteenth missing acknowledge makes error passive; the frame before it warning. */
static void error_state_change_by_personality(void **state)
{
    (void)state;
    static const struct { const char *personality, *warning, *passive; } rows[] = {
        { "each-error", "28C 08 80 19/96 0", "28C 20 80 19/128 0" },
        { "each-error-no-counters", "004 08 00 00, 0A8 00 00 19", "004 20 00 00, 0A8 00 00 19" },
        { "ack-by-class", "204 08 00 00/96 0, 0A8 00 80 00", "204 20 00 00/128 0, 0A8 00 80 00" },
        { "ack-by-place", "204 08 00 00/96 0, 088 00 00 19", "204 20 00 00/128 0, 088 00 00 19" },
        { "reporting-off", "204 08 00 00/96 0", "204 20 00 00/128 0" },
        { "states-only", "004 08 00 00", "004 20 00 00" },
        { "blind", "", "" },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        begin(rows[i].personality);
        error(LW_MAC_ACK_ERROR, CAN_ERR_PROT_LOC_ACK, true, 88, 0);
        take_all();
        error(LW_MAC_ACK_ERROR, CAN_ERR_PROT_LOC_ACK, true, 96, 0);
        assert_string_equal(told(), rows[i].warning);
        error(LW_MAC_ACK_ERROR, CAN_ERR_PROT_LOC_ACK, true, 128, 0);
        assert_string_equal(told(), rows[i].passive);
    }
}

static void error_on_the_wire_by_personality(void **state)
{
    (void)state;
    static const struct { const char *personality; uint8_t kind, place; bool is_tx; const char *told; } rows[] = {
        { "each-error", LW_MAC_STUFF_ERROR, CAN_ERR_PROT_LOC_DATA, false, "288 00 04 0A/0 1" },
        { "each-error", LW_MAC_BIT_ERROR, CAN_ERR_PROT_LOC_DLC, true, "288 00 81 0B/0 1" },
        { "each-error", LW_MAC_CRC_ERROR, CAN_ERR_PROT_LOC_CRC_DEL, false, "288 00 00 18/0 1" },
        { "ack-by-place", LW_MAC_STUFF_ERROR, CAN_ERR_PROT_LOC_DATA, false, "088 00 04 00" },
        { "ack-by-place", LW_MAC_FORM_ERROR, CAN_ERR_PROT_LOC_EOF, false, "088 00 02 00" },
        { "ack-by-place", LW_MAC_BIT_ERROR, CAN_ERR_PROT_LOC_DATA, true, "088 00 10 00" },
        { "ack-by-place", LW_MAC_CRC_ERROR, CAN_ERR_PROT_LOC_CRC_DEL, false, "088 00 00 08" },
        { "ack-by-class", LW_MAC_BIT_ERROR, CAN_ERR_PROT_LOC_DATA, true, "088 00 90 00" },
        { "states-only", LW_MAC_BIT_ERROR, CAN_ERR_PROT_LOC_DATA, true, "" },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        begin(rows[i].personality);
        error(rows[i].kind, rows[i].place, rows[i].is_tx, 0, 1);
        assert_string_equal(told(), rows[i].told);
    }
}

static void state_names_the_counters_in_it(void **state)
{
    (void)state;
    static const struct { unsigned tec, rec; const char *told; } rows[] = {
        { 0, 100, "204 04 00 00/0 100" }, { 120, 100, "" }, { 0, 130, "204 10 00 00/0 130" },
        { 130, 130, "" }, { 100, 90, "204 08 00 00/100 90" }, { 0, 0, "204 40 00 00/0 0" },
        { 128, 128, "204 30 00 00/128 128" },
    };
    begin("reporting-off");
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_confinement counters = { .tec = (uint16_t)rows[i].tec, .rec = (uint16_t)rows[i].rec };
        lw_adapter_report(&adapter, LW_MAC_STATE, NULL, &counters, NULL, i);
        assert_string_equal(told(), rows[i].told);
    }
}

static void bus_off_is_told_without_counters_and_link_at_once(void **state)
{
    (void)state;
    begin("each-error");
    error(LW_MAC_BIT_ERROR, CAN_ERR_PROT_LOC_ID28_21, true, 248, 0);
    take_all();
    error(LW_MAC_BIT_ERROR, CAN_ERR_PROT_LOC_ID28_21, true, 256, 0);
    assert_string_equal(told(), "0C8 00 81 02, link");
    assert_int_equal(events[1].link.state, LW_STATE_BUS_OFF);
    assert_false(events[1].link.has_carrier);
    assert_int_equal(events[1].link.n_bus_off.value, 1);
    assert_true(lw_adapter_due_ns(&adapter) == UINT64_MAX);
}

/* A driver calls itself active when restart is asked for; while the bus is still bad, the controller is not. */
static void restart_is_told_when_asked_for(void **state)
{
    (void)state;
    begin("ack-by-class");
    error(LW_MAC_BIT_ERROR, 0, true, 256, 0);
    take_all();
    lw_adapter_restart(&adapter, 400000);
    assert_string_equal(told(), "100 00 00 00, link");
    assert_int_equal(events[1].link.state, LW_STATE_ERROR_ACTIVE);
    error(LW_MAC_FORM_ERROR, 0, false, 256, 0);              /* still recovering */
    assert_string_equal(told(), "");
    frame(0, LW_MAC_RECOVERED, 0, 0, 500000);
    assert_string_equal(told(), "");
    error(LW_MAC_BIT_ERROR, 0, true, 256, 0);
    assert_string_equal(told(), "040 00 00 00, 088 00 90 00, link");
}

static void recovery_unasked_is_told_when_it_happens(void **state)
{
    (void)state;
    begin("states-only");
    error(LW_MAC_BIT_ERROR, 0, true, 256, 0);
    take_all();
    frame(0, LW_MAC_RECOVERED, 0, 0, 900000);
    assert_string_equal(told(), "100 00 00 00, link");
}

static void frame_own_is_marked(void **state)
{
    (void)state;
    begin("each-error");
    frame(0x123, LW_MAC_RECEIVED, 0, 0, 77);
    frame(0x124, LW_MAC_SENT, 0, 0, 78);
    assert_string_equal(told(), "frame 123, frame 124");
    assert_int_equal(events[0].frame.flags, 0);
    assert_int_equal(events[1].frame.flags, LW_FRAME_OWN);
    assert_int_equal(events[0].t_ns, 77);
    assert_int_equal(events[0].bus, BUS);
    assert_int_equal(events[0].stamp, LW_STAMP_BENCH);
}

/* FAULTS.md, contradictory adapter: 2000000C 00 00 02 after each good frame. */
static void old_firmware_repeats_its_last_error(void **state)
{
    (void)state;
    begin("old-firmware");
    frame(0x123, LW_MAC_RECEIVED, 0, 0, 77);
    assert_string_equal(told(), "frame 123");
    error(LW_MAC_FORM_ERROR, 0, false, 0, 1);
    assert_string_equal(told(), "088 00 02 00");
    frame(0x123, LW_MAC_RECEIVED, 0, 0, 7777);
    assert_string_equal(told(), "frame 123, 00C 00 02 00");
}

static void link_is_told_twice_a_second_while_there_is_news(void **state)
{
    (void)state;
    begin("ack-by-place");
    assert_true(lw_adapter_due_ns(&adapter) == UINT64_MAX);
    struct lw_mac_error what = { .kind = LW_MAC_STUFF_ERROR };
    struct lw_confinement counters = { .rec = 9 };
    lw_adapter_report(&adapter, LW_MAC_ERROR, &what, &counters, NULL, 1700000000);
    assert_true(lw_adapter_due_ns(&adapter) == 2000000000);
    take_all();
    lw_adapter_ask(&adapter, 2000000000);
    assert_string_equal(told(), "link");
    assert_int_equal(events[0].link.rec.value, 9);
    assert_int_equal(events[0].link.n_bus_errors.value, 1);
    assert_true(lw_adapter_due_ns(&adapter) == UINT64_MAX);
}

/* Absence is "not told", never 0. */
static void link_tells_only_what_the_driver_knows(void **state)
{
    (void)state;
    begin("each-error");
    assert_true(adapter.link.tec.is_known && adapter.link.error_reporting.is_known && adapter.link.error_reporting.value);
    assert_int_equal(adapter.link.bit_rate_bps.value, 500000);
    assert_int_equal(adapter.link.sample_point_permille.value, 800);
    assert_false(adapter.link.data_bit_rate_bps.is_known);
    begin("reporting-off");
    assert_true(adapter.link.error_reporting.is_known && adapter.link.error_reporting.value == 0);
    begin("states-only-no-counters");
    assert_false(adapter.link.tec.is_known || adapter.link.error_reporting.is_known);
    assert_int_equal(adapter.link.state, LW_STATE_ERROR_ACTIVE);
    begin("blind");
    assert_false(adapter.link.tec.is_known || adapter.link.n_bus_errors.is_known);
    assert_int_equal(adapter.link.state, LW_STATE_UNKNOWN);
}

static void late_computer_loses_frames_and_says_so(void **state)
{
    (void)state;
    begin("each-error");
    lw_adapter_set_late(&adapter, true, 0);
    for (unsigned i = 0; i < 200; i++) {
        frame(0x100 + i, LW_MAC_RECEIVED, 0, 0, i);
        lw_adapter_set_late(&adapter, true, i);      /* said again: nothing changes */
    }
    lw_adapter_set_late(&adapter, false, 200);
    frame(0x200, LW_MAC_RECEIVED, 0, 0, 201);
    unsigned n_frames = 0, n_lost = 0, n_overruns = 0;
    take_all();
    for (unsigned i = 0; i < n_events; i++) {
        n_frames += events[i].kind == LW_EVENT_FRAME;
        n_lost += events[i].kind == LW_EVENT_LOSS ? events[i].loss.n_frames : 0;
        n_overruns += events[i].kind == LW_EVENT_ERROR && lw_error_is_overrun(&events[i].error);
    }
    assert_int_equal(n_frames + n_lost, 201);
    assert_true(n_lost > 100 && n_overruns > 4);
    assert_int_equal(events[n_events - 1].frame.id, 0x200);
}

static void queue_full_is_a_counted_loss(void **state)
{
    (void)state;
    begin("each-error");
    for (unsigned i = 0; i < 3 * LW_ADAPTER_QUEUE; i++)
        frame(i, LW_MAC_RECEIVED, 0, 0, i);
    unsigned n_frames = 0, n_lost = 0;
    take_all();
    for (unsigned i = 0; i < n_events; i++) {
        n_frames += events[i].kind == LW_EVENT_FRAME;
        n_lost += events[i].kind == LW_EVENT_LOSS ? events[i].loss.n_frames : 0;
        assert_true(i == 0 || events[i].t_ns >= events[i - 1].t_ns);
    }
    assert_int_equal(n_frames, LW_ADAPTER_QUEUE);
    assert_int_equal(n_frames + n_lost, 3 * LW_ADAPTER_QUEUE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(personality_table_is_whole),
        cmocka_unit_test(error_missing_acknowledge_by_personality),
        cmocka_unit_test(error_state_change_by_personality),
        cmocka_unit_test(error_on_the_wire_by_personality),
        cmocka_unit_test(state_names_the_counters_in_it),
        cmocka_unit_test(bus_off_is_told_without_counters_and_link_at_once),
        cmocka_unit_test(restart_is_told_when_asked_for),
        cmocka_unit_test(recovery_unasked_is_told_when_it_happens),
        cmocka_unit_test(frame_own_is_marked),
        cmocka_unit_test(old_firmware_repeats_its_last_error),
        cmocka_unit_test(link_is_told_twice_a_second_while_there_is_news),
        cmocka_unit_test(link_tells_only_what_the_driver_knows),
        cmocka_unit_test(late_computer_loses_frames_and_says_so),
        cmocka_unit_test(queue_full_is_a_counted_loss),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
