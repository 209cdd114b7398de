/* SPDX-License-Identifier: MIT
 *
 * The bus's health as the watch shows it: errors, states, first-out, losses, the link, load, several buses.
 */
#include "traffic.h"

#include "random_event.h"

#include <ctype.h>
#include <linux/can/error.h>

static const uint64_t epoch_ns = UINT64_C(1700000000000000000);

static int set_up(void **state)
{
    *state = traffic_create(1, epoch_ns);
    return 0;
}

static int tear_down(void **state)
{
    traffic_destroy(*state);
    return 0;
}

static struct traffic *running(void **state)
{
    struct traffic *traffic = *state;
    traffic_add_machine(traffic, 20, 0);
    traffic_run(traffic, 5000);
    return traffic;
}

static void link_report(struct traffic *traffic, bool is_present, bool is_up, enum lw_bus_state bus_state)
{
    struct lw_event event = { .kind = LW_EVENT_LINK, .link = lw_link_unknown() };
    event.link.is_present = is_present;
    event.link.is_up = is_up;
    event.link.state = bus_state;
    event.link.controller = LW_CONTROLLER_REAL;
    traffic_feed(traffic, 0, event);
}

static void monitor_first_out_of_a_dying_bus_is_the_bus_errors(void **state)
{
    struct traffic *traffic = running(state);
    traffic_error(traffic, 0, (struct lw_error){ CAN_ERR_PROT | CAN_ERR_BUSERROR, { [2] = CAN_ERR_PROT_STUFF } });
    assert_true(traffic_is_lit(traffic, LW_WINDOW_BUS_ERRORS));
    traffic_run(traffic, 20);
    traffic_error(traffic, 0, (struct lw_error){ CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_RX_WARNING } });
    assert_true(traffic_is_lit(traffic, LW_WINDOW_ERROR_WARNING));
    traffic_run(traffic, 20);
    traffic_error(traffic, 0, (struct lw_error){ CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_RX_PASSIVE } });
    assert_true(traffic_is_lit(traffic, LW_WINDOW_ERROR_PASSIVE));
    assert_false(traffic_is_lit(traffic, LW_WINDOW_ERROR_WARNING));
    traffic_run(traffic, 20);
    traffic_error(traffic, 0, (struct lw_error){ CAN_ERR_BUSOFF, { 0 } });
    traffic->is_dead[0] = true;          /* an adapter that is off the bus hears nothing */
    assert_true(traffic_is_lit(traffic, LW_WINDOW_BUS_OFF));
    const struct lw_alarms *alarms = &traffic_look(traffic)->alarms;
    assert_int_equal(lw_alarms_first_out(alarms), LW_WINDOW_BUS_ERRORS);
    assert_int_equal(lw_alarms_lamp(alarms, LW_WINDOW_BUS_ERRORS), LW_LAMP_FIRST_FLASH);
    assert_int_equal(lw_alarms_lamp(alarms, LW_WINDOW_ERROR_PASSIVE), LW_LAMP_FLASH);
    assert_int_equal(lw_alarms_lamp(alarms, LW_WINDOW_BUS_OFF), LW_LAMP_FLASH);
    traffic_run(traffic, 5000);          /* the errors are over; what came first is still told */
    assert_int_equal(lw_alarms_first_out(&traffic_look(traffic)->alarms), LW_WINDOW_BUS_ERRORS);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_STATE), 3);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_ERRORS_OVER), 1);
    traffic_error(traffic, 0, (struct lw_error){ CAN_ERR_RESTARTED, { 0 } });
    assert_false(traffic_is_lit(traffic, LW_WINDOW_BUS_OFF));
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_RESTARTED), 1);
}

static void monitor_bus_off_is_over_when_others_are_heard_again(void **state)
{
    struct traffic *traffic = running(state);
    traffic_error(traffic, 0, (struct lw_error){ CAN_ERR_BUSOFF, { 0 } });
    traffic_run(traffic, 450);           /* frames queued before the report */
    assert_true(traffic_is_lit(traffic, LW_WINDOW_BUS_OFF));
    traffic_run(traffic, 200);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_BUS_OFF));
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_RESTARTED), 1);
    assert_int_not_equal(lw_alarms_lamp(&traffic->snapshot.alarms, LW_WINDOW_BUS_OFF), LW_LAMP_OFF);
}

static void monitor_every_error_class_shows_in_its_window(void **state)
{
    static const struct {
        struct lw_error error;
        enum lw_window window;
    } rows[] = {
        { { CAN_ERR_ACK, { 0 } }, LW_WINDOW_NO_ACKNOWLEDGE },
        { { CAN_ERR_PROT | CAN_ERR_BUSERROR, { [3] = CAN_ERR_PROT_LOC_ACK } }, LW_WINDOW_NO_ACKNOWLEDGE },
        { { CAN_ERR_BUSERROR, { 0 } }, LW_WINDOW_BUS_ERRORS },
        { { CAN_ERR_PROT, { [2] = CAN_ERR_PROT_FORM } }, LW_WINDOW_BUS_ERRORS },
        { { CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_TX_WARNING } }, LW_WINDOW_ERROR_WARNING },
        { { CAN_ERR_CRTL, { [1] = CAN_ERR_CRTL_TX_PASSIVE } }, LW_WINDOW_ERROR_PASSIVE },
        { { CAN_ERR_BUSOFF, { 0 } }, LW_WINDOW_BUS_OFF },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct traffic *traffic = traffic_create(1, epoch_ns);
        traffic_run(traffic, 100);
        traffic_error(traffic, 0, rows[i].error);
        bool is_lit = traffic_is_lit(traffic, rows[i].window);
        int first = lw_alarms_first_out(&traffic->snapshot.alarms);
        traffic_destroy(traffic);
        assert_true(is_lit);
        assert_int_equal(first, rows[i].window);
    }
}

static void monitor_lost_frames_are_counted_and_shown(void **state)
{
    struct traffic *traffic = running(state);
    for (unsigned i = 0; i < 3; i++)
        traffic_feed(traffic, 0, (struct lw_event){ .kind = LW_EVENT_LOSS, .loss = { 7, LW_LOSS_SOCKET } });
    assert_true(traffic_is_lit(traffic, LW_WINDOW_FRAMES_LOST));
    assert_int_equal(traffic->snapshot.buses[0].n_lost, 21);
    assert_int_equal(traffic->snapshot.buses[0].loss.n, 3);
    traffic_run(traffic, 3000);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_FRAMES_LOST));
    assert_int_equal(lw_alarms_lamp(&traffic->snapshot.alarms, LW_WINDOW_FRAMES_LOST), LW_LAMP_FIRST_FLASH);
}

static void monitor_link_down_gone_and_back_is_told_at_once(void **state)
{
    struct traffic *traffic = running(state);
    lw_monitor_take_baseline(traffic->monitor);
    link_report(traffic, true, true, LW_STATE_ERROR_ACTIVE);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_LINK_DOWN));
    traffic->is_dead[0] = true;
    link_report(traffic, true, false, LW_STATE_STOPPED);
    assert_true(traffic_is_lit(traffic, LW_WINDOW_LINK_DOWN));
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_LINK_DOWN), 1);
    assert_int_equal(traffic->snapshot.buses[0].controller.state, LW_STATE_UNKNOWN);
    traffic_run(traffic, 5000);
    link_report(traffic, false, false, LW_STATE_UNKNOWN);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_LINK_GONE), 1);
    assert_non_null(strstr(traffic->snapshot.words, "gone"));
    traffic_run(traffic, 60000);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_ABSENT), 0);
    link_report(traffic, true, false, LW_STATE_STOPPED);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_LINK_BACK), 1);
    link_report(traffic, true, true, LW_STATE_ERROR_ACTIVE);
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_LINK_UP), 1);
    traffic->is_dead[0] = false;
    traffic_run(traffic, 5000);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_LINK_DOWN));
    assert_int_equal(traffic_told(traffic, LW_HAPPENED_ABSENT), 0);
    assert_int_equal(traffic->snapshot.counts.n_present, 20);
}

/* A driver that tells neither errors nor state nor counters: no errors reported is not no errors. */
static void monitor_blind_adapter_is_not_said_to_have_no_errors(void **state)
{
    (void)state;
    struct traffic *traffic = traffic_create(1, epoch_ns);
    traffic_add_machine(traffic, 20, 0);
    link_report(traffic, true, true, LW_STATE_UNKNOWN);
    traffic_run(traffic, 5000);
    assert_false(traffic_look(traffic)->buses[0].can_tell_errors);
    assert_non_null(strstr(traffic->snapshot.words, "tells neither errors nor its state"));
    link_report(traffic, true, true, LW_STATE_ERROR_ACTIVE);
    assert_true(traffic_look(traffic)->buses[0].can_tell_errors);
    traffic_destroy(traffic);
}

static void monitor_load_is_known_with_the_bit_rate_and_lights_its_window(void **state)
{
    struct traffic *traffic = running(state);
    assert_true(traffic_look(traffic)->buses[0].load_permille.is_known);
    assert_in_range(traffic->snapshot.buses[0].load_permille.value, 50, 400);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_LOAD_HIGH));
    for (unsigned i = 0; i < 8; i++)
        traffic_add(traffic, 0x600 + i, 2, 1);
    traffic_run(traffic, 3000);
    assert_true(traffic_is_lit(traffic, LW_WINDOW_LOAD_HIGH));
    assert_true(traffic->snapshot.buses[0].load_peak_permille.value > 800);
    assert_true(traffic->snapshot.buses[0].n_history >= 7);
}

static void monitor_two_buses_keep_the_same_id_apart(void **state)
{
    (void)state;
    struct traffic *traffic = traffic_create(2, epoch_ns);
    traffic_add_machine(traffic, 20, 0);
    traffic_add_machine(traffic, 20, 1);
    traffic_run(traffic, 10000);
    lw_monitor_take_baseline(traffic->monitor);
    assert_int_equal(traffic_look(traffic)->counts.n_ids, 40);
    for (unsigned i = 20; i < 40; i++)
        if (traffic->senders[i].frame.id == 0x108)
            traffic->senders[i].is_off = true;
    traffic_run(traffic, 1000);
    assert_int_equal(traffic_tile(traffic, 0, 0x108)->conditions, 0);
    assert_int_equal(traffic_tile(traffic, 1, 0x108)->conditions, LW_ABSENT);
    assert_int_equal(traffic->snapshot.window_cause[LW_WINDOW_ABSENT].key.bus, 1);
    traffic->is_dead[1] = true;
    traffic_run(traffic, 3000);
    assert_int_equal(traffic_look(traffic)->buses[0].silent_since_ns, 0);
    assert_int_not_equal(traffic->snapshot.buses[1].silent_since_ns, 0);
    assert_int_equal(traffic->snapshot.counts.n_absent, 1);
    traffic_destroy(traffic);
}

static void monitor_failed_record_is_shown_and_watching_goes_on(void **state)
{
    struct traffic *traffic = running(state);
    lw_monitor_set_record_failed(traffic->monitor, true);
    assert_true(traffic_is_lit(traffic, LW_WINDOW_RECORD_FAILED));
    uint64_t n_before = traffic->snapshot.buses[0].n_frames;
    traffic_run(traffic, 1000);
    assert_true(traffic_look(traffic)->buses[0].n_frames > n_before);
    lw_monitor_set_record_failed(traffic->monitor, false);
    assert_false(traffic_is_lit(traffic, LW_WINDOW_RECORD_FAILED));
}

/* A run of three or more hexadecimal digits with a digit in it, or with 0x before it, is an identifier or a code. */
static bool is_known_number(const struct lw_snapshot *snapshot, const char *word, size_t n)
{
    struct lw_id_key key = { 0 };
    char text[16] = { 0 };
    if (n >= sizeof(text))
        return false;
    memcpy(text, word, n);
    if (lw_id_parse(text, &key) != 0)
        return false;
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        if (snapshot->tiles[i].key.id == key.id)
            return true;
    return false;
}

static void assert_plain_words(const struct lw_snapshot *snapshot)
{
    const char *words = snapshot->words;
    assert_in_range(strlen(words), 5, LW_WORDS_TEXT - 2);
    assert_true(!strstr(words, "0x") && !strchr(words, '%') && !strchr(words, '_'));
    for (const char *at = words; *at; at++) {
        size_t n = 0;
        bool has_letter = false, has_digit = false;
        if (at > words && isalnum((unsigned char)at[-1]))
            continue;
        for (; isxdigit((unsigned char)at[n]); n++) {
            has_letter |= isalpha((unsigned char)at[n]) != 0;
            has_digit |= isdigit((unsigned char)at[n]) != 0;
        }
        if (n > 1 && has_letter && has_digit && !isalnum((unsigned char)at[n]))
            assert_true(is_known_number(snapshot, at, n));
    }
}

static void monitor_words_are_plain_in_every_situation(void **state)
{
    struct traffic *traffic = *state;
    uint64_t seed = 0x307D5;
    assert_plain_words(traffic_look(traffic));
    traffic_add_machine(traffic, 20, 0);
    for (unsigned round = 0; round < 400; round++) {
        switch (random_below(&seed, 9)) {
        case 0: traffic_error(traffic, 0, random_error(&seed)); break;
        case 1: link_report(traffic, random_below(&seed, 6), random_below(&seed, 6), random_below(&seed, 7)); break;
        case 2: lw_monitor_take_baseline(traffic->monitor); break;
        case 3: lw_monitor_mark(traffic->monitor, LW_MARK_PLAIN); break;
        case 4: traffic->is_dead[0] = random_below(&seed, 4) == 0; break;
        case 5: traffic->senders[random_below(&seed, 20)].is_off ^= true; break;
        case 6: traffic_feed(traffic, 0, (struct lw_event){ .frame = random_frame(&seed) }); break;
        case 7: traffic->senders[random_below(&seed, 20)].frame.len = (uint8_t)random_below(&seed, 9); break;
        default: lw_alarms_press(lw_monitor_alarms(traffic->monitor), LW_INPUT_SILENCE + random_below(&seed, 4)); break;
        }
        traffic_run(traffic, random_below(&seed, 700));
        assert_plain_words(traffic_look(traffic));
    }
}

static void monitor_adapter_overrun_lights_lost_and_no_errors(void **state)
{
    struct traffic *traffic = *state;
    traffic_error(traffic, 0, (struct lw_error){ 0x08C, { 0, 0x01 } });
    assert_true(traffic_is_lit(traffic, LW_WINDOW_FRAMES_LOST));
    assert_false(traffic_is_lit(traffic, LW_WINDOW_BUS_ERRORS));
    assert_int_equal(traffic->snapshot.buses[0].n_lost, 1);
}

int main(void)
{
#define ON_BUS(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        ON_BUS(monitor_first_out_of_a_dying_bus_is_the_bus_errors),
        ON_BUS(monitor_bus_off_is_over_when_others_are_heard_again),
        cmocka_unit_test(monitor_every_error_class_shows_in_its_window),
        ON_BUS(monitor_lost_frames_are_counted_and_shown),
        ON_BUS(monitor_adapter_overrun_lights_lost_and_no_errors),
        ON_BUS(monitor_link_down_gone_and_back_is_told_at_once),
        ON_BUS(monitor_load_is_known_with_the_bit_rate_and_lights_its_window),
        cmocka_unit_test(monitor_blind_adapter_is_not_said_to_have_no_errors),
        cmocka_unit_test(monitor_two_buses_keep_the_same_id_apart),
        ON_BUS(monitor_failed_record_is_shown_and_watching_goes_on),
        ON_BUS(monitor_words_are_plain_in_every_situation),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
