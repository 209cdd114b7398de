/* SPDX-License-Identifier: MIT
 *
 * Bit timing against the kernel itself, with drivers of real controllers: what it makes of a bit rate must be what we say it
 * would, and what we read of an interface what `ip` tells. Needs scripts/in-emulated-pc, and the program as argument.
 */
#include "loomwatch/calc/bit_timing.h"
#include "loomwatch/sources/link_watch.h"

#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include "cases.h"
#include "shell.h"

static const char *program;

/* What in-emulated-pc promises. */
static const struct { const char *interface; uint32_t clock_hz; } controllers[] = {
    { "can0", 8000000 }, { "can2", 10000000 }, { "can3", 12000000 }, { "can4", 16000000 }, { "can5", 20000000 },
};

static json_t *output_as_json(const char *command)
{
    FILE *out = popen(command, "r");
    json_error_t error;
    assert_non_null(out);
    json_t *root = json_loadf(out, 0, &error);
    pclose(out);
    if (!root)
        fail_msg("%s: %s", command, error.text);
    return root;
}

static uint32_t number(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (!json_is_integer(value))
        fail_msg("ip does not tell \"%s\"", key);
    return (uint32_t)json_integer_value(value);
}

/* The setting of an interface as `ip` tells it. */
static struct lw_timing timing_by_ip(const char *interface, double *sample_point)
{
    char command[80];
    snprintf(command, sizeof(command), "exec ip -details -json link show %s", interface);
    json_t *root = output_as_json(command);
    const json_t *data = json_object_get(json_object_get(json_array_get(root, 0), "linkinfo"), "info_data");
    const json_t *bits = json_object_get(data, "bittiming");
    struct lw_timing timing = {
        number(data, "clock"), number(bits, "brp"), number(bits, "prop_seg"), number(bits, "phase_seg1"), number(bits, "phase_seg2"),
        number(bits, "sjw"),
    };
    assert_int_equal(number(bits, "bitrate"), (uint32_t)lw_timing_rate_bps(&timing));
    assert_true(json_is_string(json_object_get(bits, "sample_point")));
    *sample_point = atof(json_string_value(json_object_get(bits, "sample_point")));
    json_decref(root);
    return timing;
}

/* Has the kernel make a setting. Returns whether it did. */
static bool set(const char *interface, const struct lw_timing_wish *wish)
{
    char command[160];
    int n = snprintf(command, sizeof(command), "exec ip link set %s type can bitrate %u", interface, wish->rate_bps);
    if (wish->sample_point > 0)
        n += snprintf(command + n, sizeof(command) - (size_t)n, " sample-point %.3f", wish->sample_point);
    if (wish->sjw > 0)
        n += snprintf(command + n, sizeof(command) - (size_t)n, " sjw %u", wish->sjw);
    snprintf(command + n, sizeof(command) - (size_t)n, " 2>/dev/null");
    return system(command) == 0;
}

static void assert_like_the_kernel(const char *interface, const struct lw_timing_wish *wish)
{
    struct lw_timing ours, told;
    struct lw_link_timing read;
    double sample_point;
    int rc = lw_timing_kernel_choice(wish, &ours);
    if (!set(interface, wish)) {
        if (rc != -ERANGE)
            fail_msg("%u Hz, %u bit/s: the kernel refuses, we do not", wish->clock_hz, wish->rate_bps);
        return;
    }
    told = timing_by_ip(interface, &sample_point);
    if (rc != 0 || memcmp(&ours, &told, sizeof(ours)) != 0)
        fail_msg("%u Hz, %u bit/s, %.3f: the kernel says %u: %u+%u+%u, SJW %u; we say %u: %u+%u+%u, SJW %u", wish->clock_hz, wish->rate_bps,
                 wish->sample_point, told.brp, told.prop_seg, told.phase_seg1, told.phase_seg2, told.sjw, ours.brp, ours.prop_seg,
                 ours.phase_seg1, ours.phase_seg2, ours.sjw);
    assert_true(fabs(sample_point - lw_timing_sample_point(&ours)) <= 0.001);   /* cut to permille there */
    assert_int_equal(lw_link_ask_timing(interface, &read), 0);
    assert_memory_equal(&read.timing, &told, sizeof(told));
}

static void kernel_choice_is_the_kernels_for_every_clock_and_rate(void **state)
{
    (void)state;
    static const uint32_t rates[] = { 10000, 20000, 33333, 50000, 83333, 100000, 125000, 250000, 500000, 615000, 800000, 1000000, 3000000 };
    for (size_t c = 0; c < N_ROWS(controllers); c++) {
        struct lw_link_timing read;
        assert_int_equal(lw_link_ask_timing(controllers[c].interface, &read), 0);
        assert_true(read.has_limits && read.controller == LW_CONTROLLER_REAL);
        assert_int_equal(read.timing.clock_hz, controllers[c].clock_hz);
        assert_memory_equal(&read.limits, &lw_timing_classic_limits, sizeof(read.limits));
        for (size_t r = 0; r < N_ROWS(rates); r++) {
            struct lw_timing_wish wish = { .clock_hz = controllers[c].clock_hz, .rate_bps = rates[r], .limits = read.limits };
            assert_like_the_kernel(controllers[c].interface, &wish);
        }
    }
}

static void kernel_choice_follows_a_wanted_sample_point_and_sjw(void **state)
{
    (void)state;
    static const double points[] = { 0.5, 0.666, 0.7, 0.75, 0.769, 0.8, 0.813, 0.833, 0.875, 0.95 };
    for (size_t p = 0; p < N_ROWS(points); p++) {
        struct lw_timing_wish wish = {
            .clock_hz = 12000000, .rate_bps = 1000000, .sample_point = points[p], .sjw = 1 + (uint32_t)p % 4, .limits = lw_timing_classic_limits,
        };
        assert_like_the_kernel("can3", &wish);
    }
}

static void interface_without_rate_or_controller_tells_so(void **state)
{
    (void)state;
    struct lw_link_timing read;
    assert_int_equal(lw_link_ask_timing("can1", &read), 0);     /* nobody has set it */
    assert_true(read.has_limits && !read.bit_rate_bps.is_known);
    assert_int_equal(read.timing.brp, 0);
    assert_int_equal(shell("ip link add dev vcan0 type vcan"), 0);
    assert_int_equal(lw_link_ask_timing("vcan0", &read), 0);
    assert_true(read.is_can && !read.has_limits && read.controller == LW_CONTROLLER_NONE);
    assert_int_equal(lw_link_ask_timing("lo", &read), 0);
    assert_false(read.is_can);
    assert_int_equal(lw_link_ask_timing("can99", &read), -ENODEV);
}

/* The value in the row of that label, of the program's JSON. */
static const char *value_of(const json_t *root, const char *label)
{
    const json_t *row;
    size_t i;
    json_array_foreach(json_object_get(root, "rows"), i, row)
        if (strcmp(json_string_value(json_object_get(row, "label")), label) == 0)
            return json_string_value(json_object_get(row, "value"));
    fail_msg("no row \"%s\"", label);
    return "";
}

static void program_reads_the_interface_and_judges_it(void **state)
{
    (void)state;
    char command[512];
    const struct lw_timing_wish wish = { .clock_hz = 8000000, .rate_bps = 250000, .sample_point = 0.8 };
    assert_true(set("can0", &wish));
    snprintf(command, sizeof(command), "%s timing --json can0", program);
    json_t *root = output_as_json(command);
    double sample_point;
    struct lw_timing told = timing_by_ip("can0", &sample_point);
    assert_string_equal(value_of(root, "bit rate"), "250 kbit/s");
    assert_true(fabs(atof(value_of(root, "sample point")) - 100 * sample_point) <= 0.1);
    assert_true(fabs(atof(value_of(root, "tolerance by SJW")) - 100.0 * told.sjw / (20 * lw_timing_quanta(&told))) < 1e-3);
    assert_string_equal(json_string_value(json_object_get(root, "verdict")), "fits");
    json_decref(root);
    snprintf(command, sizeof(command), "%s timing vcan0 2>&1 | grep -q 'virtual interface: no controller'", program);
    assert_int_equal(system(command), 0);
    snprintf(command, sizeof(command), "%s timing vcan0 2>/dev/null", program);
    assert_int_equal(WEXITSTATUS(system(command)), 2);
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(interface_without_rate_or_controller_tells_so),
        cmocka_unit_test(kernel_choice_is_the_kernels_for_every_clock_and_rate),
        cmocka_unit_test(kernel_choice_follows_a_wanted_sample_point_and_sjw),
        cmocka_unit_test(program_reads_the_interface_and_judges_it),
    };
    if (argc != 2) {
        fprintf(stderr, "usage: %s LOOMWATCH, inside of in-emulated-pc\n", argv[0]);
        return 2;
    }
    program = argv[1];
    return cmocka_run_group_tests(tests, NULL, NULL);
}
