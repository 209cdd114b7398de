/* SPDX-License-Identifier: MIT
 *
 * Reading the command line by the table.
 */
#include "options.h"

#include "option_table.h"

#include <errno.h>
#include <getopt.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int wrong(const char *option, const char *value, const char *write_instead)
{
    fprintf(stderr, "loomwatch: --%s: \"%s\" will not do; write %s\n", option, value, write_instead);
    return -EINVAL;
}

/* "10s", "500ms", "2min", "10": seconds if no unit is given. */
static int read_time(const char *text, uint64_t *ns)
{
    static const struct { const char *unit; double ns; } units[] = {
        { "", 1e9 }, { "s", 1e9 }, { "ms", 1e6 }, { "min", 60e9 }, { "h", 3600e9 },
    };
    char *end;
    double value = strtod(text, &end);
    if (end == text || !(value > 0) || value > 1e6)
        return -EINVAL;
    for (size_t i = 0; i < sizeof(units) / sizeof(units[0]); i++)
        if (strcmp(end, units[i].unit) == 0) {
            *ns = (uint64_t)(value * units[i].ns);
            return *ns > 0 ? 0 : -EINVAL;
        }
    return -EINVAL;
}

/* "500000", "500k", "1M", "83.333k". */
static int read_bit_rate(const char *text, uint32_t *bps)
{
    char *end;
    double value = strtod(text, &end);
    if (strcmp(end, "k") == 0)
        value *= 1e3;
    else if (strcmp(end, "M") == 0)
        value *= 1e6;
    else if (*end != '\0')
        return -EINVAL;
    if (!(value >= 1000 && value <= 20e6))
        return -EINVAL;
    *bps = (uint32_t)(value + 0.5);
    return 0;
}

static int read_pace(const char *text, struct lw_pace *pace)
{
    char *end;
    *pace = (struct lw_pace){ LW_PACE_REAL, 1 };
    if (strcmp(text, "real") == 0)
        return 0;
    pace->kind = strcmp(text, "full") == 0 ? LW_PACE_FULL : LW_PACE_TIMES;
    if (pace->kind == LW_PACE_FULL)
        return 0;
    pace->times = strtod(text, &end);
    bool is_times = end != text && (strcmp(end, "x") == 0 || strcmp(end, "×") == 0);
    return is_times && pace->times >= 0.01 && pace->times <= 1000 ? 0 : -EINVAL;
}

static int read_sequence(const char *text, enum lw_sequence *sequence)
{
    for (int i = 0; i < LW_N_SEQUENCES; i++)
        if (strcmp(lw_sequences[i].name, text) == 0) {
            *sequence = (enum lw_sequence)i;
            return 0;
        }
    return -EINVAL;
}

static int read_percent(const char *text, uint32_t *permille)
{
    char *end;
    double value = strtod(text, &end);
    if (end == text || (*end != '\0' && strcmp(end, "%") != 0) || !(value >= 1 && value <= 100))
        return -EINVAL;
    *permille = (uint32_t)(value * 10 + 0.5);
    return 0;
}

static int read_theme(const char *text, struct lw_options *options)
{
    int theme = lw_theme_find(text);
    if (theme < 0)
        return -EINVAL;
    options->theme = (enum lw_theme_index)theme;
    options->has_theme = true;
    return 0;
}

static int read_seed(const char *text, uint64_t *seed)
{
    char *end;
    errno = 0;
    *seed = strtoull(text, &end, 10);
    return end != text && *end == '\0' && *text != '-' && errno == 0 ? 0 : -EINVAL;
}

static int add_fault(struct lw_options *options, const char *text)
{
    if (options->n_faults == LW_MAX_FAULTS)
        return -EINVAL;
    options->faults[options->n_faults] = text;
    options->fault_at_ns[options->n_faults++] = options->at_ns;
    return 0;
}

static int add_reading(struct lw_options *options, const char *text)
{
    char message[LW_READING_MESSAGE];
    if (options->n_readings == LW_MAX_READINGS || lw_reading_parse(text, &options->readings[options->n_readings], message) != 0)
        return -EINVAL;
    options->n_readings++;
    return 0;
}

static int take(struct lw_options *options, const struct lw_option *option, const char *value)
{
    int rc = 0;
    switch (option->id) {
    case LW_OPTION_ONCE: options->is_once = true; break;
    case LW_OPTION_JSON: options->is_json = true; break;
    case LW_OPTION_SWAPPED: options->is_swapped = true; break;
    case LW_OPTION_ASCII: options->is_ascii = true; break;
    case LW_OPTION_MUTE: options->is_muted = true; break;
    case LW_OPTION_REPLACE: options->may_replace = true; break;
    case LW_OPTION_RECORD: options->record = value; break;
    case LW_OPTION_BASELINE: options->baseline = value; break;
    case LW_OPTION_MODULE: options->module = value; break;
    case LW_OPTION_OUTPUT: options->output = value; break;
    case LW_OPTION_FOR: rc = read_time(value, &options->for_ns); break;
    case LW_OPTION_BITRATE: rc = read_bit_rate(value, &options->bit_rate_bps); break;
    case LW_OPTION_DATA_BITRATE: rc = read_bit_rate(value, &options->data_bit_rate_bps); break;
    case LW_OPTION_PACE: rc = read_pace(value, &options->pace); options->has_pace = true; break;
    case LW_OPTION_SEQUENCE: rc = read_sequence(value, &options->sequence); break;
    case LW_OPTION_LOAD_LIMIT: rc = read_percent(value, &options->load_limit_permille); break;
    case LW_OPTION_THEME: rc = read_theme(value, options); break;
    case LW_OPTION_SEED: rc = read_seed(value, &options->seed); break;
    case LW_OPTION_FAULT: rc = add_fault(options, value); break;
    case LW_OPTION_AT: rc = read_time(value, &options->at_ns); break;
    case LW_OPTION_ONTO: options->onto = value; break;
    case LW_OPTION_READING: rc = add_reading(options, value); break;
    case LW_OPTION_HELP: options->command = LW_COMMAND_HELP; break;
    case LW_OPTION_VERSION: options->command = LW_COMMAND_VERSION; break;
    case LW_OPTION_MAN: options->command = LW_COMMAND_MAN; break;
    case LW_N_OPTIONS: break;
    }
    return rc == 0 ? 0 : wrong(option->name, value, option->example);
}

static const struct { const char *name; enum lw_command command; } commands[] = {
    { "watch", LW_COMMAND_WATCH }, { "baseline", LW_COMMAND_BASELINE }, { "compare", LW_COMMAND_COMPARE },
    { "bench", LW_COMMAND_BENCH }, { "help", LW_COMMAND_HELP },
};

/* An option that does nothing with a command would be a silent mistake. */
static int check_given(const struct lw_options *options, const bool given[LW_N_OPTIONS], const char *command)
{
    for (size_t i = 0; i < LW_N_OPTIONS; i++)
        if (given[i] && !(lw_option_table[i].commands >> options->command & 1)) {
            fprintf(stderr, "loomwatch: --%s does not go with %s; see loomwatch --help\n", lw_option_table[i].name, command);
            return -EINVAL;
        }
    return 0;
}

static int read_command(struct lw_options *options, const char *word)
{
    for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); i++)
        if (strcmp(commands[i].name, word) == 0) {
            options->command = commands[i].command;
            return 0;
        }
    options->calculator = lw_calculator_find(word);
    options->command = LW_COMMAND_CALC;
    if (options->calculator)
        return 0;
    fprintf(stderr, "loomwatch: no command \"%s\"; loomwatch --help lists them. To watch it, write: loomwatch watch %s\n", word, word);
    return -EINVAL;
}

static int check_count(const struct lw_options *options)
{
    unsigned n = options->n_arguments;
    if (options->command == LW_COMMAND_COMPARE && n != 2)
        fprintf(stderr, "loomwatch: compare takes two: a baseline file, and a source or another baseline file\n");
    else if (options->command == LW_COMMAND_BASELINE && n == 0)
        fprintf(stderr, "loomwatch: baseline of what? For instance: loomwatch baseline can0 --for 30s -o machine.baseline\n");
    else if (options->command == LW_COMMAND_BENCH && (n != 1 || !options->onto))
        fprintf(stderr, "loomwatch: bench takes a bench and where to play it. For instance: loomwatch bench harrow40 --onto vcan0\n");
    else
        return 0;
    return -EINVAL;
}

static int parse_all(struct lw_options *options, int argc, char **argv, const struct option *longs,
                     bool given[LW_N_OPTIONS])
{
    int c, which;
    opterr = 0;
    while ((c = getopt_long(argc, argv, ":o:h", longs, &which)) != -1) {
        if (c == 'h')
            options->command = LW_COMMAND_HELP;
        else if (c == 'o') {
            options->output = optarg;
            given[LW_OPTION_OUTPUT] = true;
        } else if (c == ':') {
            fprintf(stderr, "loomwatch: %s needs a value; see loomwatch --help\n", argv[optind - 1]);
            return -EINVAL;
        } else if (c == '?') {
            fprintf(stderr, "loomwatch: no option %s; see loomwatch --help\n", argv[optind - 1]);
            return -EINVAL;
        } else if (take(options, &lw_option_table[which], optarg) != 0) {
            return -EINVAL;
        } else {
            given[which] = true;
        }
    }
    return 0;
}

static int take_arguments(struct lw_options *options, int argc, char **argv)
{
    bool is_calc = options->command == LW_COMMAND_CALC || options->command == LW_COMMAND_HELP;
    unsigned most = is_calc ? LW_MAX_WORDS : LW_MAX_BUSES;
    for (; optind < argc; optind++) {
        if (options->n_arguments == most) {
            fprintf(stderr, "loomwatch: at most %u %s at once\n", most, is_calc ? "words" : "sources");
            return -EINVAL;
        }
        options->arguments[options->n_arguments++] = argv[optind];
    }
    if (options->command == LW_COMMAND_HELP && options->n_arguments > 0)
        options->calculator = lw_calculator_find(options->arguments[0]);
    return 0;
}

int lw_options_parse(struct lw_options *options, int argc, char **argv)
{
    struct option longs[LW_N_OPTIONS + 1] = { { 0 } };
    memset(options, 0, sizeof(*options));
    options->sequence = LW_SEQUENCE_F3M;
    options->load_limit_permille = 800;
    options->seed = 1;
    for (size_t i = 0; i < LW_N_OPTIONS; i++)
        longs[i] = (struct option){ lw_option_table[i].name, lw_option_table[i].argument ? required_argument : no_argument,
                                    NULL, 1 };
    bool given[LW_N_OPTIONS] = { false };
    if (parse_all(options, argc, argv, longs, given) != 0)
        return -EINVAL;
    if (options->command == LW_COMMAND_HELP && optind < argc)
        options->calculator = lw_calculator_find(argv[optind]);
    if (options->command != LW_COMMAND_NONE)
        return 0;
    if (optind >= argc) {
        options->command = LW_COMMAND_HELP;
        return 0;
    }
    if (read_command(options, argv[optind++]) != 0 || check_given(options, given, argv[optind - 1]) != 0)
        return -EINVAL;
    return take_arguments(options, argc, argv) == 0 ? check_count(options) : -EINVAL;
}
