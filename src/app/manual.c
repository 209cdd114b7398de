/* SPDX-License-Identifier: MIT
 *
 * The help and the man page, from the tables of options, keys and alarm windows.
 */
#include "option_table.h"
#include "options.h"
#include "wrapped.h"

#include "loomwatch/calc/calculator.h"
#include "loomwatch/sources/bench.h"
#include "loomwatch/ui/keys.h"

#include <stdio.h>
#include <string.h>

static const char job[] =
    "Watches a CAN bus while a module is added to a machine that already works: what is new, what went quiet, what "
    "changed, and whether the bus is still healthy.";

static const char cautions[] =
    "Disconnect the supply before you measure resistance. Never work near airbag or high-voltage parts, or on a moving "
    "machine, without the procedure of its maker. Follow local law; the maker's information and licensed people come "
    "first. loomwatch only listens: it sends nothing on any bus, except the command bench --onto, which plays the "
    "built-in bench onto a virtual interface and refuses any other. Looking with an adapter that acknowledges frames is still "
    "taking part; listen-only mode is the safe first look. A verdict here is a hint, not a release of the machine.";

struct command_line {
    const char *line, *words;
};

static const struct command_line command_lines[] = {
    { "watch [SOURCE...]", "the dashboard; without a SOURCE the built-in bench" },
    { "watch --once --for 10s SOURCE", "watch, print a summary, end" },
    { "baseline SOURCE --for 30s -o FILE", "learn what the bus carries, as a text to read and edit" },
    { "compare BASELINE SOURCE|BASELINE", "what differs" },
    { "explain SOURCE...", "what happened in a capture, as a dated story" },
    { "CALCULATOR FIELD=VALUE...", "a calculation; see Arithmetic" },
    { "bench NAME --onto vcan0", "play a bench onto a virtual interface, for testing other programs" },
};

static const char fields_text[] =
    "Their words are FIELD=VALUE, with handy units (118ohm, 2.4m, 500k, 87.5%, AWG20); loomwatch meter --help lists the fields "
    "of meter. A field that may repeat takes several values: drop=2.4+1.";

static const struct command_line source_lines[] = {
    { "can0", "an interface, any name that `ip link` lists as CAN" },
    { "trip.pcap", "a capture: pcap or pcapng, link type CAN_SOCKETCAN" },
    { "bench:harrow40", "the built-in bench: a street sweeper that gets a hopper load sensor" },
    { "bench:./mine.bench", "a bench of your own, see config/benches" },
};

static const struct command_line status_lines[] = {
    { "0", "fine; nothing differs; it fits" },
    { "1", "something differs from the baseline, a fault of the bus was seen (watch --once, explain), it is marginal or does not fit" },
    { "2", "could not tell, or trouble: no such source, a bad file or value, nothing heard" },
};

enum { WORDS_COLUMN = 20 };

#define N(array) (sizeof(array) / sizeof((array)[0]))

/* Short heads have their words beside them, long ones below. */
static void print_lines(const struct command_line *lines, size_t n, const char *before)
{
    for (size_t i = 0; i < n; i++) {
        int head = printf("  %s%s", before, lines[i].line);
        if (head < WORDS_COLUMN && strlen(lines[i].words) < 78 - WORDS_COLUMN) {
            printf("%*s%s\n", WORDS_COLUMN - head, "", lines[i].words);
        } else {
            putchar('\n');
            lw_put_wrapped(stdout, lines[i].words, 6, 78);
        }
    }
}

static const char *commands_of(const struct lw_option *option)
{
    static char text[64];
    static const char *const names[] = {
        [LW_COMMAND_WATCH] = "watch", [LW_COMMAND_BASELINE] = "baseline", [LW_COMMAND_COMPARE] = "compare", [LW_COMMAND_BENCH] = "bench",
        [LW_COMMAND_EXPLAIN] = "explain", [LW_COMMAND_CALC] = "calculators",
    };
    size_t n = 0;
    for (int i = LW_COMMAND_WATCH; i <= LW_COMMAND_CALC; i++)
        if (option->commands >> i & 1)
            n += (size_t)snprintf(text + n, sizeof(text) - n, "%s%s", n > 0 ? ", " : "", names[i]);
    return text;
}

static void print_calculators(void)
{
    for (int i = 0; i < LW_N_CALCULATORS; i++) {
        struct command_line line = { lw_calculators[i]->name, lw_calculators[i]->words };
        print_lines(&line, 1, "");
    }
    lw_put_wrapped(stdout, fields_text, 2, 78);
}

static void print_calculator_help(const struct lw_calculator *calculator)
{
    char limits[160];
    printf("loomwatch %s - %s\n\nFields, written FIELD=VALUE\n", calculator->name, calculator->words);
    for (unsigned i = 0; i < calculator->n_fields; i++) {
        const struct lw_calc_field *field = &calculator->fields[i];
        printf("  %-14s %s%s%s%s\n", field->name, lw_calc_field_limits(field, limits, sizeof(limits)),
               field->is_required ? "; required" : field->preset ? "; else " : "", field->preset && !field->is_required ? field->preset : "",
               field->may_repeat ? "; may repeat" : "");
        lw_put_wrapped(stdout, field->words, 6, 78);
    }
    printf("\nOptions: --json, and -o FILE.svg for its plot\n\nFor instance\n  loomwatch %s %s\n\nExit status: 0 fits, 1 marginal "
           "or does not, 2 cannot tell or bad input\n", calculator->name, calculator->example);
    if (calculator->has_cautions) {
        printf("\nCaution\n");
        lw_put_wrapped(stdout, cautions, 2, 78);
    }
}

void lw_options_print_help(const struct lw_calculator *calculator)
{
    char left[64];
    if (calculator) {
        print_calculator_help(calculator);
        return;
    }
    lw_put_wrapped(stdout, job, 0, 78);
    printf("\nCommands\n");
    print_lines(command_lines, N(command_lines), "loomwatch ");
    printf("\nArithmetic: loomwatch CALCULATOR FIELD=VALUE...\n");
    print_calculators();
    printf("\nSources, up to %d at once\n", LW_MAX_BUSES);
    print_lines(source_lines, N(source_lines), "");
    printf("\nOptions\n");
    for (size_t i = 0; i < LW_N_OPTIONS; i++) {
        const struct lw_option *option = &lw_option_table[i];
        if (!option->words)
            continue;
        snprintf(left, sizeof(left), "--%s%s%s", option->name, option->argument ? " " : "",
                 option->argument ? option->argument : "");
        printf("  %-22s (%s)\n", left, commands_of(option));
        lw_put_wrapped(stdout, option->words, 6, 78);
    }
    printf("\nExit status\n");
    print_lines(status_lines, N(status_lines), "");
    printf("\nOn the dashboard press ? for its keys. More: man loomwatch\n\nCaution\n");
    lw_put_wrapped(stdout, cautions, 2, 78);
}

/* In roff a leading dot or apostrophe is a command, and a minus must be escaped to stay one. */
static void print_roff(const char *text)
{
    for (; *text != '\0'; text++) {
        if (*text == '-' || *text == '\\')
            putchar('\\');
        putchar(*text);
    }
    putchar('\n');
}

static void print_entry(const char *head, const char *words)
{
    printf(".TP\n.B ");
    print_roff(head);
    print_roff(words);
}

static void print_man_options(void)
{
    char head[64];
    printf(".SH OPTIONS\n");
    for (size_t i = 0; i < LW_N_OPTIONS; i++) {
        const struct lw_option *option = &lw_option_table[i];
        if (!option->words)
            continue;
        snprintf(head, sizeof(head), "--%s%s%s", option->name, option->argument ? " " : "",
                 option->argument ? option->argument : "");
        print_entry(head, option->words);
        printf("(%s)\n", commands_of(option));
    }
}

static void print_man_screen(void)
{
    printf(".SH KEYS OF THE DASHBOARD\n");
    for (size_t i = 0; i < lw_n_keys; i++)
        if (lw_keys[i].words)
            print_entry(lw_keys[i].cap, lw_keys[i].words);
    printf(".SH ALARM WINDOWS\nIn front of a name: 1 this alarm came first, ! not yet acknowledged, "
           "? the same but over by now, * acknowledged, \\- the same but over by now.\n");
    for (size_t i = 0; i < LW_N_WINDOWS; i++)
        print_entry(lw_windows[i].caption, lw_windows[i].meaning);
}

static const char files_text[] =
    "A baseline is a text in the syntax of libconfuse, one block a message, made to be edited: give names and senders, "
    "correct periods, add comments. Identifiers have 3 hexadecimal digits (11 bits) or 8 (29 bits).\n.PP\n"
    "A recording is pcap with nanoseconds and link type 227 (CAN_SOCKETCAN); tcpdump reads it. Link changes, lost frames "
    "and marks have no form of their own there: they are error frames without a class bit, with the letters LW first in "
    "their data. A remote frame's requested length, and the sign that this computer sent a frame, are not kept.\n";

static void print_man_calculator(const struct lw_calculator *calculator)
{
    char head[160], limits[160], line[400];
    snprintf(head, sizeof(head), "loomwatch %s %s", calculator->name, calculator->example);
    print_entry(head, calculator->words);
    for (unsigned i = 0; i < calculator->n_fields; i++) {
        const struct lw_calc_field *field = &calculator->fields[i];
        printf(".br\n%s: ", field->name);
        snprintf(line, sizeof(line), "%s (%s)", field->words, lw_calc_field_limits(field, limits, sizeof(limits)));
        print_roff(line);
    }
}

void lw_options_print_man(void)
{
    printf(".TH LOOMWATCH 1 \"\" \"loomwatch " LW_VERSION "\"\n.SH NAME\nloomwatch \\- watch a CAN bus while a module is "
           "added\n.SH SYNOPSIS\n");
    for (size_t i = 0; i < N(command_lines); i++) {
        printf(".B loomwatch\n");
        print_roff(command_lines[i].line);
        printf(".br\n");
    }
    printf(".SH DESCRIPTION\n%s\n.SH ARITHMETIC\n", job);
    for (int i = 0; i < LW_N_CALCULATORS; i++)
        print_man_calculator(lw_calculators[i]);
    printf("%s\n.SH SOURCES\n", fields_text);
    for (size_t i = 0; i < N(source_lines); i++)
        print_entry(source_lines[i].line, source_lines[i].words);
    print_man_options();
    print_man_screen();
    printf(".SH FILES\n%s.SH EXIT STATUS\n", files_text);
    for (size_t i = 0; i < N(status_lines); i++)
        print_entry(status_lines[i].line, status_lines[i].words);
    printf(".SH CAUTION\n%s\n", cautions);
}
