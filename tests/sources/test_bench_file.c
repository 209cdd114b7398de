/* SPDX-License-Identifier: MIT
 *
 * Bench files: what stands in one is what the plant has; and every mistake is said with its line and what to write instead.
 */
#include "loomwatch/sources/bench_file.h"

#include "loomwatch/bench/damage.h"

#include "cases.h"
#include "scratch_folder.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct lw_plant plant;
static char message[512];

static int read_text(const char *text)
{
    return lw_bench_text_read("test.bench", text, &plant, message, sizeof message);
}

/* A bench that is right, around what a case is about. Its first line is line 1, and the case begins in line 10. */
#define HEAD "loomwatch-bench = 1\ntitle = \"t\"\nbit-rate = 500000\ndata-bit-rate = 2000000\n" \
             "trunk {\npoint \"a\" { to-next-m = 3 }\npoint \"b\" { }\n}\nadapter \"our adapter\" { at = \"b\" }\n"
#define UNIT(text) HEAD "unit \"u\" { at = \"a\"\n" text "\n}\n"
#define MESSAGE(text) UNIT("message \"m\" {\n" text "\n}")

static const struct { const char *text, *answer; } mistakes[] = {
    { "", "line 1: this is no bench: write loomwatch-bench = 1 as its first line" },
    { "loomwatch-bench = 2", "line 1: loomwatch-bench = 2 is not known to this program: write 1" },
    { "loomwatch-bench = x", "line 1: invalid integer value for option 'loomwatch-bench': write a whole number such as 1" },
    { "loomwatch-bench = 1\nbit-rate = 500000", "line 2: no trunk: write trunk { point \"front end\" { to-next-m = 5 } point "
      "\"rear end\" { } }" },
    { "loomwatch-bench = 1\nbit-rate = 500k", "line 2: invalid floating point value for option 'bit-rate': write a number such as "
      "100 or 12.5, without a unit" },
    { "loomwatch-bench = 1\nbit-rate = 2000000", "line 2: bit-rate = 2000000: write bits a second from 5000 to 1000000, such as "
      "500000" },
    { "loomwatch-bench = 1\nbit-rate = 333000", "line 2: bit-rate = 333000: no controller with a clock of 80 MHz can do that: "
      "write one such as 125000, 250000 or 500000" },
    { "loomwatch-bench = 1\nbit-rate 500000", "line 2: missing equal sign after option 'bit-rate': write = between the name and "
      "the value" },
    { "loomwatch-bench = 1\nspeed = 5", "line 2: no such option 'speed': write what config/benches/harrow40.bench explains, "
      "where it stands there; or is a } missing above?" },
    { "loomwatch-bench = 1\nwires {\nohm-per-km = -1 }", "line 3: ohm-per-km = -1: write ohms a kilometre of one wire from 0 to "
      "10000, such as 70" },
    { "loomwatch-bench = 1\ntrunk {\npoint \"a\" { }\n}", "line 4: the trunk has one point: write at least two, one for each end" },
    { "loomwatch-bench = 1\ntrunk {\npoint \"a\" { }\npoint \"b\" { }\n}", "line 3: point \"a\": write how far it is to the next, "
      "such as to-next-m = 2.5" },
    { "loomwatch-bench = 1\ntrunk {\npoint \"a\" { to-next-m = 2 }\npoint \"b\" { to-next-m = 2 }\n}", "line 4: point \"b\" is the "
      "last: write no to-next-m in it" },
    { "loomwatch-bench = 1\ntrunk {\npoint \"a\" { to-next-m = 0 }", "line 3: to-next-m = 0: write metres from 0.001 to 5000, such "
      "as 2.5" },
    { "loomwatch-bench = 1\ntrunk {\npoint { }", "line 3: missing title for section 'point': write a name in quotes behind it, such "
      "as \"pump\"" },
    { "loomwatch-bench = 1\ntrunk {\npoint \"a\" { to-next-m = 2 }\npoint \"a\" { }\n}", "line 4: found duplicate title 'a': keep one "
      "of them, or write another name" },
    { "loomwatch-bench = 1\ntrunk {\npoint \"point 2\" { }", "line 3: point \"point 2\": write words with single spaces between, and "
      "not \"point\" or \"segment\" and a number, which mean places" },
    { "loomwatch-bench = 1\ntrunk {\npoint \"a\" { to-next-m = 2 }\nterminator { ohm = 120 }", "line 4: a terminator without a place: "
      "write at = and the name of a point" },
    { "loomwatch-bench = 1\ntrunk {\npoint \"a\" { to-next-m = 2 }\nterminator { at = \"c\" }", "line 4: at = \"c\" is no point of the "
      "trunk: write one of \"a\"" },
    { "loomwatch-bench = 1\nbit-rate = 500000\nunit \"u\" {\nat = \"a\"", "line 4: at = \"a\": no point was met yet: write the points "
      "of the trunk above it" },
    { "loomwatch-bench = 1\ntrunk { point \"a\" { to-next-m = 2 } point \"b\" { } }\nunit \"u\" { at = \"a\" }", "line 3: no bit rate "
      "was met yet: write for instance bit-rate = 500000 above the units" },
    { "loomwatch-bench = 1\nbit-rate = 500000\ntrunk { point \"a\" { to-next-m = 2 } point \"b\" { } }\nunit \"u\" { at = \"a\" }\n",
      "line 5: no adapter, so nobody listens: write adapter \"our adapter\" { at = and a point }" },
    { HEAD "trunk { point \"a\" { to-next-m = 2 } point \"b\" { } }", "line 10: a second trunk: write one, and the units on stubs "
      "of it" },
    { HEAD "adapter \"another\" { at = \"a\" }", "line 10: a second adapter, \"another\": write one only, and unit for the others" },
    { HEAD "unit \"our adapter\" { at = \"a\" }", "line 10: unit \"our adapter\": another one has that name: write a different one" },
    { HEAD "unit \"u\" { stub-m = 1 }", "line 10: unit \"u\" has no place: write at = and the name of a point of the trunk" },
    { HEAD "unit \"u\" { at = \"c\" }", "line 10: at = \"c\" is no point of the trunk: write one of \"a\", \"b\"" },
    { HEAD "unit \"\" { at = \"a\" }", "line 10: unit \"\": write a name of 1 to 31 letters, where one with an accent counts as two" },
    { HEAD "unit \"u \" { at = \"a\" }", "line 10: unit \"u \": write words with single spaces between, and not \"point\" or "
      "\"segment\" and a number, which mean places" },
    { UNIT("stub-m = 101"), "line 11: stub-m = 101: write metres from 0 to 100, such as 0.3" },
    { UNIT("sleeps-after-ms = 100"), "line 12: unit \"u\" never stops sending, so it cannot sleep: write runs-for-ms too" },
    { UNIT("runs-for-ms = 9 wakes-after-ms = 100"), "line 12: unit \"u\" never sleeps, so nothing can wake it: write "
      "sleeps-after-ms too" },
    { UNIT("wakes-on-traffic = false"), "line 12: unit \"u\" never sleeps, so nothing can wake it: write sleeps-after-ms too" },
    { UNIT("runs-for-ms = 0"), "line 11: runs-for-ms = 0: write whole milliseconds from 1 to 3600000, such as 20000, or leave it out" },
    { UNIT("boot-ms = 1.5"), "line 11: boot-ms = 1.5: write whole milliseconds from 0 to 600000, such as 60" },
    { UNIT("crystal-ppm = 300000"), "line 11: crystal-ppm = 300000: write whole parts per million from -200000 to 200000, such as 40" },
    { UNIT("sample-point = 875"), "line 11: sample-point = 875: write percent of the bit from 50 to 95, such as 87.5" },
    { UNIT("plugged = maybe"), "line 11: invalid boolean value for option 'plugged': write true or false" },
    { UNIT("plug-at = \"8\""), "line 11: plug-at = \"8\": write a time such as \"8s\", \"250ms\" or \"2min\"" },
    { UNIT("tells = \"blind\""), "line 11: no such option 'tells': write what config/benches/harrow40.bench explains, "
      "where it stands there; or is a } missing above?" },
    { MESSAGE("every-ms = 10"), "line 13: message \"m\" has no identifier: write for instance id = \"2D0\"" },
    { MESSAGE("id = \"2D\""), "line 12: id = \"2D\": write 3 hexadecimal digits up to 7FF, or 8 up to 1FFFFFFF" },
    { MESSAGE("id = \"2D0\""), "line 13: message \"m\" is never sent: write every-ms, on-event-ms or at-boot = true" },
    { MESSAGE("id = \"2D0\" every-ms = 0"), "line 12: every-ms = 0: write whole milliseconds from 1 to 3600000, such as 100" },
    { MESSAGE("id = \"2D0\" every-ms = 10 data = \"0G\""), "line 12: data = \"0G\": write at most 64 bytes of two hexadecimal digits, "
      "such as \"03 E8 00\"" },
    { MESSAGE("id = \"2D0\" every-ms = 10 length = 65"), "line 12: length = 65: write bytes a CAN frame can have: 0 to 8, with fd = "
      "true also 12, 16, 20, 24, 32, 48 or 64" },
    { MESSAGE("id = \"2D0\" every-ms = 10 length = 12"), "line 13: message \"m\" has 12 bytes: write at most 8, or fd = true" },
    { MESSAGE("id = \"2D0\" every-ms = 10 length = 11 fd = true"), "line 13: message \"m\" has 11 bytes: write 0 to 8, 12, 16, 20, "
      "24, 32, 48 or 64" },
    { MESSAGE("id = \"2D0\" every-ms = 10 length = 1 data = \"01 02\""), "line 13: message \"m\" has more data than its length of 1: "
      "write fewer bytes" },
    { MESSAGE("id = \"2D0\" every-ms = 10 fd = true remote = true"), "line 13: message \"m\" is fd and remote: there is no such frame: "
      "write one of them" },
    { MESSAGE("id = \"2D0\" every-ms = 10\n}\nmessage \"n\" { id = \"2D0\" every-ms = 5"), "line 15: message \"n\": the unit sends id 2D0 "
      "already: write another" },
    { MESSAGE("length = 8 patterns = { \"bounce byte 1\" }"), "line 12: pattern \"bounce byte 1\": write one that begins with counter, "
      "drift, toggle, present or checksum" },
    { MESSAGE("length = 8 patterns = { \"counter bits 0F\" }"), "line 12: pattern \"counter bits 0F\": write it like \"counter byte 6 "
      "bits 0F\"" },
    { MESSAGE("length = 8 patterns = { \"drift byte 0 by 9\" }"), "line 12: pattern \"drift byte 0 by 9\": write it like \"drift byte 0 "
      "by 620 every 9s\"" },
    { MESSAGE("length = 8 patterns = { \"toggle byte 0 every 9\" }"), "line 12: pattern \"toggle byte 0 every 9\": write it like "
      "\"toggle byte 0 bits 01 every 7s\"" },
    { MESSAGE("length = 8 patterns = { \"checksum byte 7 bits 01\" }"), "line 12: pattern \"checksum byte 7 bits 01\": write it like "
      "\"checksum byte 7\"" },
    { MESSAGE("length = 8 patterns = { \"present byte 1\" }"), "line 12: pattern \"present byte 1\": write it like \"present byte 1 bits "
      "01 of hopper-control\"" },
    { MESSAGE("length = 8 patterns = { \"checksum byte 7\",\n\"counter byte 1\" }"), "line 13: a pattern behind the checksum: write the "
      "checksum last" },
    { MESSAGE("length = 8 patterns = { \"counter byte 1\", \"counter byte 2\", \"counter byte 3\", \"counter byte 4\", \"counter byte 5\" }"),
      "line 12: too many patterns: write at most 4 in a message" },
    { MESSAGE("id = \"2D0\" every-ms = 10 length = 2\npatterns = { \"counter byte 1\",\n\"drift byte 1 by 9 every 1s\" }"),
      "line 14: pattern \"drift byte 1 by 9 every 1s\" is outside of 2 bytes: write a byte from 0 on, or a greater length" },
    { MESSAGE("id = \"2D0\" every-ms = 10 length = 2\npatterns = { \"present byte 1 of pump\" }"),
      "line 13: \"pump\" is no unit: write the name of a unit, with dashes for spaces" },
    { HEAD "step {\nat = \"soon\"", "line 11: at = \"soon\": write a time such as \"8s\", \"250ms\" or \"2min\"" },
    { HEAD "step {\nat = \"3s\"\n}", "line 12: a step says when and what: write for instance at = \"12s\" do = \"short at point 1 for "
      "2s\"" },
    { HEAD "step {\nat = \"3s\"\ndo = \"shrot at point 1\"\n}", "line 12: no fault \"shrot\": write for instance short" },
    { HEAD "step {\nat = \"3s\"\ndo = \"short at point 3\"\n}", "line 12: no place \"point\": write short at a unit or at point 1 to 2" },
    { HEAD "unit \"u\" { at = \"a", "line 10: " },
    { HEAD "unit \"u\" {", "line 10: " },
    { HEAD "}", "line 10: unexpected closing brace: write one } for each {" },
};

static void read_mistake_is_answered_with_line(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS(mistakes); i++) {
        char answer[512];
        snprintf(answer, sizeof answer, "test.bench, %s", mistakes[i].answer);
        assert_int_equal(read_text(mistakes[i].text), -EINVAL);
        if (strncmp(message, answer, strlen(answer)) != 0 || !strstr(message, "write"))
            fail_msg("case %zu\n   said: %s\n wanted: %s", i, message, answer);
        bool is_open_ended = answer[strlen(answer) - 1] == ' ';
        assert_true(is_open_ended || strcmp(message, answer) == 0);
    }
}

static void read_tells_mistake_lists_them(void **state)
{
    (void)state;
    assert_int_equal(read_text("loomwatch-bench = 1\nadapter \"a\" {\ntells = \"all\"\n}"), -EINVAL);
    assert_non_null(strstr(message, "test.bench, line 3: tells = \"all\": write one of each-error, "));
    assert_non_null(strstr(message, "states-only, "));
}

static void read_fd_without_data_rate_is_answered(void **state)
{
    (void)state;
    assert_int_equal(read_text("loomwatch-bench = 1 bit-rate = 500000 trunk { point \"a\" { to-next-m = 1 } point \"b\" { } }\n"
                               "unit \"u\" { at = \"a\" message \"m\" { id = \"001\" every-ms = 5 fd = true } }"), -EINVAL);
    assert_string_equal(message, "test.bench, line 2: message \"m\" is fd: write the data-bit-rate of the bus above the trunk");
    assert_int_equal(read_text("loomwatch-bench = 1 bit-rate = 500000 trunk { point \"a\" { to-next-m = 1 } point \"b\" { } }\n"
                               "unit \"u\" { at = \"a\" data-bit-rate = 2000000 }"), -EINVAL);
    assert_string_equal(message, "test.bench, line 2: unit \"u\" has a data-bit-rate, but the bus has none: write it above the trunk too");
}

/* n times the text, with %u as the number. */
static char *many(const char *head, const char *format, unsigned n, const char *tail)
{
    char *text = malloc(strlen(head) + n * (strlen(format) + 8) + strlen(tail) + 1);
    assert_non_null(text);
    char *end = stpcpy(text, head);
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
    for (unsigned i = 0; i < n; i++)
        end += sprintf(end, format, i, i);
#pragma GCC diagnostic pop
    stpcpy(end, tail);
    return text;
}

static void read_too_many_is_answered(void **state)
{
    (void)state;
    const struct { const char *head, *format; unsigned n; const char *tail, *answer; } rows[] = {
        { HEAD, "unit \"u%u\" { at = \"a\" }\n", LW_PLANT_MAX_UNITS, "", "too many units: write at most 32, the adapter among them" },
        { HEAD "unit \"u\" { at = \"a\"\n", "message \"m%u\" { id = \"%03X\" every-ms = 9 }\n", LW_PLANT_MAX_MESSAGES + 1, "}",
          "too many messages: write at most 256" },
        { HEAD, "step { at = \"%us\" do = \"short at point 1\" }\n", LW_PLANT_MAX_STEPS + 1, "", "too many steps: write at most 64" },
        { "loomwatch-bench = 1 trunk {\n", "point \"p%u\" { to-next-m = 1 }\n", LW_PLANT_MAX_POINTS + 1, "}",
          "too many points: write at most 34" },
        { "loomwatch-bench = 1 trunk { point \"a\" { to-next-m = 1 }\n", "terminator { at = \"a\" ohm = 1%u }\n",
          LW_PLANT_MAX_TERMINATORS + 1, "}", "too many terminators: write at most 8" },
        { "loomwatch-bench = 1\ntitle = \"", "%u", 200, "\"", "title is too long: write at most 95 letters" },
        { HEAD "step { at = \"1s\" do = \"", "%u", 200, "\" }", "do is too long: write at most 95 letters" },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        char *text = many(rows[i].head, rows[i].format, rows[i].n, rows[i].tail);
        assert_int_equal(read_text(text), -EINVAL);
        if (!strstr(message, rows[i].answer))
            fail_msg("%s", message);
        free(text);
    }
}

static void read_gives_plant(void **state)
{
    (void)state;
    assert_int_equal(read_text(
        "loomwatch-bench = 1 title = \"a bench\" bit-rate = 250000 data-bit-rate = 2000000 supply-volt = 24\n"
        "wires { ohm-per-km = 80 ns-per-m = 6 pf-per-m = 45 pf-per-unit = 55 }\n"
        "trunk { point \"front\" { to-next-m = 1.25 } point \"rear\" { } terminator { at = \"rear\" ohm = 60 split = true } }\n"
        "unit \"pump one\" { at = \"front\" stub-m = 0.35 crystal-ppm = -12 boot-ms = 70 sample-point = 80 sjw = 3 plug-at = \"1.5s\"\n"
        "  terminator-ohm = 120 one-shot = true loop-delay-ns = 200 restart-ms = 0 bit-rate = 125000 classic = true\n"
        "  runs-for-ms = 20000 sleeps-after-ms = 2000 wakes-after-ms = 60000 wakes-on-traffic = false\n"
        "  message \"flow\" { id = \"1ABCDEF0\" every-ms = 20 jitter-us = 300 on-event-ms = 900 length = 8 data = \"01 fe\"\n"
        "    patterns = { \"drift byte 2 by 600 every 9s\", \"present byte 4 bits 81 of our adapter\", \"counter byte 6\", "
        "\"checksum byte 7\" } } }\n"
        "adapter \"our adapter\" { at = \"rear\" tells = \"states-only\" restart-ms = 7 listen-only = true\n"
        "  message \"big\" { id = \"020\" at-boot = true fd = true length = 64 } }\n"
        "step { at = \"9s\" do = \"swapped at pump-one for 1s\" } step { at = \"2s\" do = \"short at point 1\" }\n"), 0);
    assert_string_equal(message, "");
    assert_string_equal(plant.name, "test");
    assert_string_equal(plant.title, "a bench");
    assert_true(plant.bit_rate_bps == 250000 && plant.data_bit_rate_bps == 2000000 && plant.supply_mv == 24000);
    assert_true(plant.mohm_per_m == 80 && plant.ps_per_mm == 6 && plant.pf_per_m == 45 && plant.pf_per_unit == 55);
    assert_true(plant.n_points == 2 && plant.points[0].segment_mm == 1250 && plant.points[1].segment_mm == 0);
    assert_true(plant.n_terminators == 1 && plant.terminators[0].point == 1 && plant.terminators[0].ohm == 60);
    assert_true(plant.terminators[0].is_split);
    const struct lw_plant_unit *pump = &plant.units[0], *adapter = &plant.units[1];
    assert_true(plant.n_units == 2 && lw_plant_adapter(&plant) == 1);
    assert_true(pump->stub_mm == 350 && pump->crystal_ppm == -12 && pump->boot_ms == 70 && pump->own_ohm == 120);
    assert_true(!pump->is_plugged && pump->plug_ms == 1500 && pump->is_one_shot && pump->loop_delay_ns == 200);
    assert_true(pump->runs_ms == 20000 && pump->sleeps_ms == 2000 && pump->wakes_ms == 60000 && pump->is_traffic_ignored);
    assert_true(adapter->runs_ms == 0 && adapter->sleeps_ms == 0 && adapter->wakes_ms == 0 && !adapter->is_traffic_ignored);
    assert_true(lw_bit_timing_bit_ps(&pump->timing) == 8000000 && pump->timing.sjw == 3 && pump->data_timing.tq_ps == 0);
    assert_true(lw_bit_timing_bit_ps(&adapter->timing) == 4000000 && lw_bit_timing_bit_ps(&adapter->data_timing) == 500000);
    assert_true(adapter->is_adapter && adapter->is_listen_only && adapter->is_plugged && adapter->personality.restart_ms == 7);
    assert_string_equal(adapter->personality.name, "states-only");
    const struct lw_plant_message *flow = &plant.messages[0], *big = &plant.messages[1];
    assert_true(flow->id == 0x1ABCDEF0 && flow->flags == LW_FRAME_EXTENDED && flow->len == 8 && flow->constant[1] == 0xFE);
    assert_true(flow->period_ms == 20 && flow->jitter_us == 300 && flow->event_ms == 900 && !flow->is_boot);
    assert_true(flow->patterns[0].kind == LW_PATTERN_DRIFT && flow->patterns[0].swing == 600 && flow->patterns[0].every_ms == 9000);
    assert_true(flow->patterns[1].kind == LW_PATTERN_PRESENCE && flow->patterns[1].mask == 0x81 && flow->patterns[1].unit == 1);
    assert_true(flow->patterns[2].mask == 0xFF && flow->patterns[3].kind == LW_PATTERN_CHECKSUM);
    assert_true(big->unit == 1 && big->flags == (LW_FRAME_FD | LW_FRAME_BRS) && big->len == 64 && big->is_boot);
    assert_true(plant.n_steps == 2 && plant.steps[0].at_ns == 2000000000 && plant.steps[1].at_ns == 9000000000);
}

static void load_every_shipped_bench_is_right(void **state)
{
    (void)state;
    static const char *const names[] = { "bare-bench", "fd-bench", "harrow40", "harrow40-drive", "long-bus" };
    char list[256];
    assert_true(lw_bench_file_names(list, sizeof list) >= N_ROWS(names));
    for (size_t i = 0; i < N_ROWS(names); i++) {
        assert_non_null(strstr(list, names[i]));
        if (lw_bench_load(names[i], &plant, message, sizeof message) != 0)
            fail_msg("%s", message);
        assert_string_equal(plant.name, names[i]);
        assert_true(plant.n_messages > 0 && lw_plant_adapter(&plant) >= 0);
    }
}

/* What the demo shows; its words are in the manual. */
static void load_harrow40_has_sensor_that_plugs_itself_in(void **state)
{
    (void)state;
    assert_int_equal(lw_bench_load("harrow40", &plant, message, sizeof message), 0);
    int sensor = lw_damage_find_unit(&plant, "hopper-sensor");
    assert_true(sensor >= 0 && plant.units[sensor].plug_ms == 8000);
    unsigned n_plugged = 0, trunk_mm = 0;
    for (unsigned i = 0; i < plant.n_units; i++)
        n_plugged += plant.units[i].is_plugged;
    for (unsigned i = 0; i < plant.n_points; i++)
        trunk_mm += plant.points[i].segment_mm;
    assert_int_equal(n_plugged, 7);
    assert_int_equal(trunk_mm, 12000);
    assert_int_equal(plant.n_messages, 36);
}

static void load_harrow40_without_any_file_is_the_same(void **state)
{
    (void)state;
    static struct lw_plant of_file;
    assert_int_equal(lw_bench_load("harrow40", &of_file, message, sizeof message), 0);
    assert_int_equal(lw_bench_load("harrow40 ", &plant, message, sizeof message), -ENOENT);
    extern const char lw_bench_harrow40_text[];
    assert_int_equal(lw_bench_text_read("harrow40", lw_bench_harrow40_text, &plant, message, sizeof message), 0);
    assert_memory_equal(&plant, &of_file, sizeof plant);
}

static void load_unknown_name_lists_what_there_is(void **state)
{
    (void)state;
    assert_int_equal(lw_bench_load("harrow41", &plant, message, sizeof message), -ENOENT);
    assert_non_null(strstr(message, "no bench \"harrow41\": write one of these, or the path of a .bench file: bare-bench "));
}

static void find_own_folder_goes_first(void **state)
{
    (void)state;
    struct scratch_folder folder = scratch_folder_make();
    char path[192], found[300];
    scratch_folder_write(&folder, "harrow40.bench", "loomwatch-bench = 7\n", 20);
    scratch_folder_write(&folder, "mine.bench", "loomwatch-bench = 7\n", 20);
    setenv("LW_BENCHES", folder.path, 1);
    assert_int_equal(lw_bench_file_find("harrow40", found, sizeof found), 0);
    assert_string_equal(found, scratch_folder_path(&folder, "harrow40.bench", path));
    assert_int_equal(lw_bench_file_find("mine", found, sizeof found), 0);
    assert_int_equal(lw_bench_file_find("mine", found, 10), -ENAMETOOLONG);
    lw_bench_file_names(found, sizeof found);
    assert_non_null(strstr(found, "mine"));
    assert_int_equal(lw_bench_load("mine", &plant, message, sizeof message), -EINVAL);
    assert_non_null(strstr(message, "mine.bench, line 1: loomwatch-bench = 7"));
    unsetenv("LW_BENCHES");
    scratch_folder_remove(&folder);
}

static void read_what_is_no_file_says_so(void **state)
{
    (void)state;
    assert_int_equal(lw_bench_file_read("/nowhere/x.bench", &plant, message, sizeof message), -ENOENT);
    assert_string_equal(message, "/nowhere/x.bench: No such file or directory");
    assert_int_equal(lw_bench_file_read("/", &plant, message, sizeof message), -EISDIR);
    assert_int_equal(lw_bench_file_find("./x", message, sizeof message), 0);
    assert_string_equal(message, "./x");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(read_mistake_is_answered_with_line),
        cmocka_unit_test(read_tells_mistake_lists_them),
        cmocka_unit_test(read_fd_without_data_rate_is_answered),
        cmocka_unit_test(read_too_many_is_answered),
        cmocka_unit_test(read_gives_plant),
        cmocka_unit_test(load_every_shipped_bench_is_right),
        cmocka_unit_test(load_harrow40_has_sensor_that_plugs_itself_in),
        cmocka_unit_test(load_harrow40_without_any_file_is_the_same),
        cmocka_unit_test(load_unknown_name_lists_what_there_is),
        cmocka_unit_test(find_own_folder_goes_first),
        cmocka_unit_test(read_what_is_no_file_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
