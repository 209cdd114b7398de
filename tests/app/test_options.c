/* SPDX-License-Identifier: MIT
 *
 * The command line: what is understood, and what is answered to what is not.
 */
#include "options.h"

#include "cases.h"
#include "option_table.h"
#include "scratch_file.h"

#include <errno.h>
#include <fcntl.h>
#include <getopt.h>
#include <string.h>

enum { MAX_WORDS = 16 };

static struct lw_options options;
static char said[2048];

/* Parses a line of words; what goes to stderr is kept in said. */
static int parse(const char *line)
{
    static char words[512];
    char *argv[MAX_WORDS + 1] = { "loomwatch" };
    int argc = 1;
    snprintf(words, sizeof(words), "%s", line);
    for (char *word = strtok(words, " "); word && argc < MAX_WORDS; word = strtok(NULL, " "))
        argv[argc++] = word;
    struct scratch_file file = scratch_file_open();
    int before = fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, 3);
    dup2(file.fd, STDERR_FILENO);
    optind = 0;
    int rc = lw_options_parse(&options, argc, argv);
    fflush(stderr);
    dup2(before, STDERR_FILENO);
    close(before);
    ssize_t n = pread(file.fd, said, sizeof(said) - 1, 0);
    said[n > 0 ? n : 0] = '\0';
    scratch_file_close(&file);
    return rc;
}

static void parse_well(const char *line)
{
    if (parse(line) != 0)
        fail_msg("\"%s\" is refused: %s", line, said);
    assert_string_equal(said, "");
}

static void options_without_any_have_their_defaults(void **state)
{
    (void)state;
    parse_well("watch");
    assert_int_equal(options.command, LW_COMMAND_WATCH);
    assert_int_equal(options.n_arguments, 0);
    assert_int_equal(options.sequence, LW_SEQUENCE_F3M);
    assert_int_equal(options.load_limit_permille, 800);
    assert_int_equal(options.for_ns, 0);
    assert_int_equal(options.bit_rate_bps, 0);
    assert_false(options.has_pace || options.has_theme || options.is_once || options.is_json);
    assert_int_equal(options.seed, 1);
}

static void options_commands_take_their_sources(void **state)
{
    (void)state;
    parse_well("watch can0 trip.pcap bench:harrow40");
    assert_int_equal(options.n_arguments, 3);
    assert_string_equal(options.arguments[1], "trip.pcap");
    parse_well("baseline can0 --for 30s -o machine.baseline");
    assert_int_equal(options.command, LW_COMMAND_BASELINE);
    assert_string_equal(options.output, "machine.baseline");
    parse_well("compare machine.baseline can0");
    assert_int_equal(options.command, LW_COMMAND_COMPARE);
    parse_well("watch can0 can1 can2 can3 can4 can5 can6 can7");
    assert_int_equal(options.n_arguments, LW_MAX_BUSES);
}

static void options_calculators_take_words_as_they_are(void **state)
{
    (void)state;
    parse_well("meter between=118 terminators=2 --json h=-0.1");
    assert_int_equal(options.command, LW_COMMAND_CALC);
    assert_ptr_equal(options.calculator, &lw_calc_meter);
    assert_int_equal(options.n_arguments, 3);
    assert_string_equal(options.arguments[2], "h=-0.1");
    assert_true(options.is_json);
    parse_well("stub drop=1 drop=2 drop=3 drop=4 drop=5 drop=6 drop=7 drop=8 drop=9 rate=500k -o lengths.svg");
    assert_int_equal(options.n_arguments, 10);
    assert_string_equal(options.output, "lengths.svg");
    parse_well("meter --help");
    assert_int_equal(options.command, LW_COMMAND_HELP);
    assert_ptr_equal(options.calculator, &lw_calc_meter);
    parse_well("help stub");
    assert_ptr_equal(options.calculator, &lw_calc_stub);
    parse_well("--help");
    assert_null(options.calculator);
}

static void options_help_and_version_need_no_command(void **state)
{
    static const struct { const char *line; enum lw_command command; } rows[] = {
        { "", LW_COMMAND_HELP },          { "--help", LW_COMMAND_HELP },       { "-h", LW_COMMAND_HELP },
        { "help", LW_COMMAND_HELP },      { "watch --help", LW_COMMAND_HELP }, { "--version", LW_COMMAND_VERSION },
        { "--man", LW_COMMAND_MAN },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        parse_well(rows[i].line);
        assert_int_equal(options.command, rows[i].command);
    }
}

static void options_times_are_read(void **state)
{
    static const struct { const char *line; uint64_t ns; } rows[] = {
        { "watch --for 10s", UINT64_C(10000000000) },  { "watch --for 10", UINT64_C(10000000000) },
        { "watch --for 500ms", 500000000 },            { "watch --for 2min", UINT64_C(120000000000) },
        { "watch --for 1.5s", 1500000000 },            { "watch --for=1h", UINT64_C(3600000000000) },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        parse_well(rows[i].line);
        assert_int_equal(options.for_ns, rows[i].ns);
    }
}

static void options_bit_rates_are_read(void **state)
{
    static const struct { const char *line; uint32_t bps; } rows[] = {
        { "watch --bitrate 500k", 500000 },  { "watch --bitrate 1M", 1000000 }, { "watch --bitrate 250000", 250000 },
        { "watch --bitrate 83.333k", 83333 }, { "watch --bitrate 20M", 20000000 },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        parse_well(rows[i].line);
        assert_int_equal(options.bit_rate_bps, rows[i].bps);
    }
    parse_well("watch --data-bitrate 2M");
    assert_int_equal(options.data_bit_rate_bps, 2000000);
}

static void options_pace_is_read(void **state)
{
    static const struct { const char *line; enum lw_pace_kind kind; double times; } rows[] = {
        { "watch --pace real", LW_PACE_REAL, 1 },     { "watch --pace full", LW_PACE_FULL, 1 },
        { "watch --pace 10x", LW_PACE_TIMES, 10 },    { "watch --pace 0.5x", LW_PACE_TIMES, 0.5 },
        { "watch --pace 4\xC3\x97", LW_PACE_TIMES, 4 },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        parse_well(rows[i].line);
        assert_true(options.has_pace);
        assert_int_equal(options.pace.kind, rows[i].kind);
        assert_true(options.pace.times >= rows[i].times && options.pace.times <= rows[i].times);
    }
}

static void options_names_are_read(void **state)
{
    (void)state;
    for (int i = 0; i < LW_N_SEQUENCES; i++) {
        char line[64];
        snprintf(line, sizeof(line), "watch --sequence %s", lw_sequences[i].name);
        parse_well(line);
        assert_int_equal(options.sequence, i);
    }
    for (int i = 0; i < LW_N_THEMES; i++) {
        char line[64];
        snprintf(line, sizeof(line), "watch --theme %s", lw_themes[i].name);
        parse_well(line);
        assert_int_equal(options.theme, i);
        assert_true(options.has_theme);
    }
    parse_well("watch --load-limit 65.5% --seed 99 --ascii --mute --json --swapped-ids --record trip.pcap --baseline b");
    assert_int_equal(options.load_limit_permille, 655);
    assert_int_equal(options.seed, 99);
    assert_true(options.is_ascii && options.is_muted && options.is_json && options.is_swapped);
    assert_string_equal(options.record, "trip.pcap");
    assert_string_equal(options.baseline, "b");
}

/* A line, and words of the answer: what is wrong, and what to write instead. */
static void options_that_will_not_do_say_what_will(void **state)
{
    static const struct { const char *line, *says, *instead; } rows[] = {
        { "watch --for soon", "--for: \"soon\"", "10s, 500ms or 2min" },
        { "watch --for -3s", "\"-3s\"", "10s" },          { "watch --for 0", "\"0\"", "10s" },
        { "watch --for 3weeks", "\"3weeks\"", "10s" },    { "watch --for nan", "\"nan\"", "10s" },
        { "watch --for inf", "\"inf\"", "10s" },          { "watch --for 0.0000000001s", "\"0.0000000001s\"", "10s" },
        { "watch --bitrate fast", "--bitrate", "500k" },  { "watch --bitrate 500kbit", "500kbit", "500k" },
        { "watch --bitrate 5", "\"5\"", "500k" },         { "watch --bitrate 21M", "21M", "500k" },
        { "watch --bitrate k", "\"k\"", "500k" },         { "watch --data-bitrate -2M", "-2M", "2M" },
        { "watch --pace quick", "--pace", "10x" },        { "watch --pace x", "\"x\"", "10x" },
        { "watch --pace 0x", "\"0x\"", "10x" },           { "watch --pace 2000x", "2000x", "10x" },
        { "watch --pace 10", "\"10\"", "10x" },
        { "watch --sequence f3m", "--sequence", "F3M" },  { "watch --theme pink", "--theme", "colour-blind" },
        { "watch --load-limit 0", "--load-limit", "1 to 100" }, { "watch --load-limit 101", "101", "1 to 100" },
        { "watch --load-limit 50x", "50x", "1 to 100" },  { "watch --load-limit nan", "nan", "1 to 100" },
        { "watch --seed x", "--seed", "whole number" },   { "watch --seed -1", "\"-1\"", "whole number" },
        { "watch --seed 1.5", "1.5", "whole number" },
        { "watch --seed 99999999999999999999", "99999999999999999999", "whole number" },
        { "watch --for", "--for", "needs a value" },      { "watch -o", "-o", "needs a value" },
        { "watch --nothing", "--nothing", "--help" },     { "watch -z", "-z", "--help" },
        { "can0", "no command \"can0\"", "loomwatch watch can0" },
        { "baseline", "baseline of what", "loomwatch baseline can0" },
        { "compare machine.baseline", "compare takes two", "a baseline file" },
        { "compare a b c", "compare takes two", "a baseline file" },
        { "meter --pace full between=60", "--pace", "--help" }, { "stub --once drop=2", "--once", "--help" },
        { "watch 1 2 3 4 5 6 7 8 9", "at most 8", "sources" },
        { "compare --once a b", "--once", "--help" },     { "baseline can0 --json", "--json", "--help" },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        if (parse(rows[i].line) != -EINVAL)
            fail_msg("\"%s\" is taken", rows[i].line);
        if (strncmp(said, "loomwatch: ", 11) != 0 || !strstr(said, rows[i].says) || !strstr(said, rows[i].instead))
            fail_msg("\"%s\": %s", rows[i].line, said);
        assert_int_equal(strchr(said, '\n') - said, strlen(said) - 1);
    }
}

static void options_every_row_of_the_table_is_whole(void **state)
{
    (void)state;
    for (size_t i = 0; i < LW_N_OPTIONS; i++) {
        const struct lw_option *option = &lw_option_table[i];
        assert_int_equal(option->id, i);
        assert_true(option->commands != 0);
        assert_true(!option->argument || option->example);
        for (size_t k = i + 1; k < LW_N_OPTIONS; k++)
            assert_string_not_equal(option->name, lw_option_table[k].name);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(options_without_any_have_their_defaults),
        cmocka_unit_test(options_commands_take_their_sources),
        cmocka_unit_test(options_calculators_take_words_as_they_are),
        cmocka_unit_test(options_help_and_version_need_no_command),
        cmocka_unit_test(options_times_are_read),
        cmocka_unit_test(options_bit_rates_are_read),
        cmocka_unit_test(options_pace_is_read),
        cmocka_unit_test(options_names_are_read),
        cmocka_unit_test(options_that_will_not_do_say_what_will),
        cmocka_unit_test(options_every_row_of_the_table_is_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
