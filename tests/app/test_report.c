/* SPDX-License-Identifier: MIT
 *
 * Reports of a known watch: as text for people, and as JSON that says the same and knows unknown from zero.
 */
#include "report.h"

#include "cases.h"
#include "sweeper.h"

#include <jansson.h>

static struct traffic *traffic;
static char *text;

/* Writes a report into text. */
static void report(void (*write)(const struct lw_snapshot *, FILE *))
{
    size_t n;
    free(text);
    FILE *file = open_memstream(&text, &n);
    write(traffic_look(traffic), file);
    fclose(file);
}

static json_t *report_parsed(void)
{
    json_error_t error;
    report(lw_report_json);
    json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    if (!root)
        fail_msg("line %d: %s", error.line, error.text);
    return root;
}

/* A sweeper with its sensor just plugged in and its hopper control off. */
static int set_up(void **state)
{
    (void)state;
    traffic = sweeper_create(1);
    sweeper_run(traffic, 6000);
    sweeper_settle(traffic);
    sweeper_plug_sensor(traffic);
    sweeper_run(traffic, 1000);
    sweeper_switch(traffic, "hopper control", true);
    sweeper_run(traffic, 2000);
    return 0;
}

/* An interface without a controller, nothing known, nothing heard. */
static int set_up_empty(void **state)
{
    (void)state;
    struct lw_monitor_config config = { .n_buses = 1, .bus_names = { "vcan0" }, .sequence = LW_SEQUENCE_F3M };
    traffic = traffic_create(1, sweeper_start_ns);
    lw_monitor_destroy(traffic->monitor);
    traffic->monitor = lw_monitor_create(&config);
    lw_monitor_tick(traffic->monitor, 0, sweeper_start_ns);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    traffic_destroy(traffic);
    free(text);
    text = NULL;
    return 0;
}

static void check_says(const char *words)
{
    if (!strstr(text, words))
        fail_msg("no \"%s\" in:\n%s", words, text);
}

static void report_text_tells_the_watch(void **state)
{
    static const char *const words[] = {
        "Watched for 0:08.9. ", "4 of 24 expected messages absent, 0B0 first. One of: a unit lost its supply",
        "\ncan0\n", "  bit rate    500 kbit/s\n", "  adapter     error active, TEC 0, REC 0\n", "lost 0",
        "unexpected message, still there, came first.", "absent message, still there.", "0:06.0 unexpected",
        "  0B0       cyclic   10.0 ms ", "absent  hopper lift  (hopper control)\n", "unexpected", "  120       cyclic   20.0 ms ",
        "hopper control is absent: 4 messages, 0B0 first\n",
        "    caution     Not near airbag or high-voltage parts",
    };
    (void)state;
    report(lw_report_text);
    for (size_t i = 0; i < N_ROWS(words); i++)
        check_says(words[i]);
}

static void report_text_knows_unknown_from_zero(void **state)
{
    (void)state;
    report(lw_report_text);
    check_says("bit rate    \xE2\x80\x94 bit/s\n");
    check_says("TEC \xE2\x80\x94, REC \xE2\x80\x94\n");
    check_says("load        \xE2\x80\x94, peak \xE2\x80\x94\n");
    check_says("Nothing heard yet.");
    check_says("Alarms\n  none\n");
}

static json_int_t integer(json_t *object, const char *key)
{
    json_t *value = json_object_get(object, key);
    if (!json_is_integer(value))
        fail_msg("\"%s\" is no integer", key);
    return json_integer_value(value);
}

static bool is_near(json_t *object, const char *key, double wanted)
{
    double value = json_number_value(json_object_get(object, key));
    return value > wanted - 0.001 && value < wanted + 0.001;
}

static json_t *message(json_t *root, const char *id)
{
    size_t i;
    json_t *each;
    json_array_foreach(json_object_get(root, "messages"), i, each)
        if (strcmp(json_string_value(json_object_get(each, "id")), id) == 0)
            return each;
    fail_msg("no message %s", id);
    return NULL;
}

static void report_json_says_the_same(void **state)
{
    (void)state;
    json_t *root = report_parsed();
    const struct lw_snapshot *snapshot = &traffic->snapshot;
    json_t *counts = json_object_get(root, "counts"), *bus = json_array_get(json_object_get(root, "buses"), 0);
    assert_string_equal(json_string_value(json_object_get(root, "words")), snapshot->words);
    assert_true(json_is_true(json_object_get(root, "has-baseline")));
    assert_int_equal(integer(counts, "expected"), 24);
    assert_int_equal(integer(counts, "present"), 20);
    assert_int_equal(integer(counts, "absent"), 4);
    assert_int_equal(integer(counts, "unexpected"), 3);
    assert_int_equal(integer(counts, "messages"), 27);
    assert_int_equal(json_array_size(json_object_get(root, "messages")), snapshot->n_tiles);
    assert_int_equal(json_array_size(json_object_get(root, "diary")), snapshot->n_diary);
    assert_string_equal(json_string_value(json_object_get(bus, "name")), "can0");
    assert_string_equal(json_string_value(json_object_get(bus, "state")), "error active");
    assert_int_equal(integer(bus, "bit-rate"), 500000);
    assert_int_equal(integer(bus, "tec"), 0);
    assert_int_equal(integer(bus, "frames"), snapshot->buses[0].n_frames);
    assert_int_equal(integer(root, "frames-beyond-table"), 0);
    json_decref(root);
}

static void report_json_tells_each_message(void **state)
{
    (void)state;
    json_t *root = report_parsed(), *lift = message(root, "0B0"), *load = message(root, "2D0");
    assert_string_equal(json_string_value(json_object_get(lift, "name")), "hopper lift");
    assert_string_equal(json_string_value(json_object_get(lift, "kind")), "cyclic");
    assert_true(is_near(lift, "period-ms", 10));
    assert_true(is_near(lift, "jitter-ms", 0));
    assert_true(is_near(lift, "expected-period-ms", 10));
    assert_string_equal(json_string_value(json_array_get(json_object_get(lift, "conditions"), 0)), "absent");
    assert_int_equal(json_integer_value(json_array_get(json_object_get(lift, "lengths"), 0)), 8);
    assert_string_equal(json_string_value(json_array_get(json_object_get(load, "conditions"), 0)), "unexpected");
    assert_true(json_is_null(json_object_get(load, "expected-period-ms")));
    assert_int_equal(json_array_size(json_object_get(message(root, "120"), "conditions")), 0);
    json_decref(root);
}

static void report_json_tells_which_alarm_came_first(void **state)
{
    (void)state;
    json_t *root = report_parsed(), *alarms = json_object_get(root, "alarms"), *each;
    size_t i, n_first = 0;
    json_array_foreach(alarms, i, each) {
        bool is_first = json_is_true(json_object_get(each, "came-first"));
        n_first += is_first;
        assert_int_equal(is_first, strcmp(json_string_value(json_object_get(each, "name")), "unexpected message") == 0);
        assert_true(json_is_true(json_object_get(each, "is-there-now")));
    }
    assert_int_equal(n_first, 1);
    assert_int_equal(json_array_size(alarms), 2);
    json_decref(root);
}

static void report_json_unknown_is_null(void **state)
{
    static const char *const unknown[] = { "bit-rate", "state", "tec", "rec", "load-percent", "load-peak-percent",
                                           "is-present", "is-up" };
    (void)state;
    json_t *root = report_parsed(), *bus = json_array_get(json_object_get(root, "buses"), 0);
    for (size_t i = 0; i < N_ROWS(unknown); i++)
        if (!json_is_null(json_object_get(bus, unknown[i])))
            fail_msg("\"%s\" is not null", unknown[i]);
    assert_int_equal(integer(bus, "frames"), 0);
    assert_false(json_is_true(json_object_get(root, "has-baseline")));
    assert_int_equal(json_array_size(json_object_get(root, "alarms")), 0);
    json_decref(root);
}

/* A file's name may be any bytes; the report must not lose what it is about. */
static void report_json_survives_names_that_are_not_utf8(void **state)
{
    struct lw_monitor_config config = { .n_buses = 1, .bus_names = { "trip\xFF\xC3.pcap" }, .sequence = LW_SEQUENCE_F3M };
    struct lw_baseline *baseline = malloc(sizeof(*baseline));
    (void)state;
    lw_monitor_learn(traffic->monitor, baseline);
    memset(baseline->ids[0].name, 0xC3, LW_NAME_MAX - 1);
    lw_monitor_destroy(traffic->monitor);
    traffic->monitor = lw_monitor_create(&config);
    lw_monitor_set_baseline(traffic->monitor, baseline);
    sweeper_run(traffic, 100);
    json_t *root = report_parsed(), *bus = json_array_get(json_object_get(root, "buses"), 0);
    assert_string_equal(json_string_value(json_object_get(bus, "name")), "trip??.pcap");
    assert_int_equal(json_array_size(json_object_get(root, "messages")), traffic->snapshot.n_tiles);
    assert_int_equal(json_array_size(json_object_get(root, "diary")), traffic->snapshot.n_diary);
    free(baseline);
    json_decref(root);
}

static struct lw_comparison comparison;

static void compare_and_report(const struct lw_baseline *expected, const struct lw_baseline *observed)
{
    size_t n;
    free(text);
    FILE *file = open_memstream(&text, &n);
    lw_compare(expected, observed, &comparison);
    lw_report_comparison(expected, observed, &comparison, file);
    fclose(file);
}

static void report_of_a_comparison_names_what_differs(void **state)
{
    struct lw_baseline *expected = malloc(sizeof(*expected)), *observed = malloc(sizeof(*observed));
    (void)state;
    lw_monitor_learn(traffic->monitor, expected);
    sweeper_name(expected);
    *observed = *expected;
    compare_and_report(expected, observed);
    check_says("No difference in ");
    int lift = lw_baseline_find(observed, (struct lw_id_key){ .id = 0x120 });
    observed->ids[lift].period_ns *= 3;
    observed->ids[lift + 1].dlc_seen = 1 << 2;
    observed->ids[lift + 1].rhythm = expected->ids[lift + 1].rhythm;
    compare_and_report(expected, observed);
    check_says("2 differences; ");
    check_says("  120       ");
    check_says(": every 60.0 ms, expected 20.0 ms (brush arm)\n");
    check_says(": 2 bytes, expected 8 (hopper hydraulics)\n");
    observed->n_ids = 0;
    compare_and_report(expected, observed);
    check_says("Could not tell: nothing was heard.");
    compare_and_report(observed, expected);
    check_says("Could not tell: the baseline holds no message.");
    free(expected);
    free(observed);
}

int main(void)
{
#define OF_SWEEPER(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
#define OF_NOTHING(test) cmocka_unit_test_setup_teardown(test, set_up_empty, tear_down)
    const struct CMUnitTest tests[] = {
        OF_SWEEPER(report_text_tells_the_watch),
        OF_NOTHING(report_text_knows_unknown_from_zero),
        OF_SWEEPER(report_json_says_the_same),
        OF_SWEEPER(report_json_tells_each_message),
        OF_SWEEPER(report_json_tells_which_alarm_came_first),
        OF_NOTHING(report_json_unknown_is_null),
        OF_SWEEPER(report_json_survives_names_that_are_not_utf8),
        OF_SWEEPER(report_of_a_comparison_names_what_differs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
