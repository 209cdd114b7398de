/* SPDX-License-Identifier: MIT
 *
 * Reading a bench file. libconfuse does the syntax; what the values mean is in the other bench_file_*.c. Here: what may stand
 * in it, and how a mistake is reported.
 */
#include "loomwatch/sources/bench_file.h"

#include "bench_file_parts.h"

#include <errno.h>
#include <limits.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* config/benches/harrow40.bench, made into C by scripts/embed-bench. */
extern const char lw_bench_harrow40_text[];

struct lw_bench_reading lw_bench_reading;

int lw_bench_refuse(int line, const char *format, ...)
{
    struct lw_bench_reading *reading = &lw_bench_reading;
    if (reading->message[0] != '\0')
        return -EINVAL;   /* the first one tells the cause; later ones follow from it */
    int n = snprintf(reading->message, reading->size, "%s, line %d: ", reading->name, line);
    va_list args;
    va_start(args, format);
    if (n > 0 && (size_t)n < reading->size)
        vsnprintf(reading->message + n, reading->size - (size_t)n, format, args);
    va_end(args);
    return -EINVAL;
}

void lw_bench_note(const cfg_t *section, unsigned index)
{
    struct lw_bench_reading *reading = &lw_bench_reading;
    if (reading->n_notes < LW_BENCH_MAX_NOTES)
        reading->notes[reading->n_notes++] = (struct lw_bench_note){ section, index, section->line };
}

int lw_bench_noted_line(const cfg_t *section, unsigned index)
{
    for (unsigned i = 0; i < lw_bench_reading.n_notes; i++)
        if (lw_bench_reading.notes[i].section == section && lw_bench_reading.notes[i].index == index)
            return lw_bench_reading.notes[i].line;
    return section->line;
}

/* What libconfuse says is wrong, and what to write instead. */
static const char *advice_for(const char *wrong)
{
    static const struct { const char *wrong, *advice; } rows[] = {
        { "duplicate title", "keep one of them, or write another name" },
        { "no such option", "write what config/benches/harrow40.bench explains, where it stands there; or is a } missing above?" },
        { "floating point", "write a number such as 100 or 12.5, without a unit" },
        { "integer value", "write a whole number such as 1" },
        { "boolean value", "write true or false" },
        { "missing title", "write a name in quotes behind it, such as \"pump\"" },
        { "missing equal sign", "write = between the name and the value" },
        { "missing opening brace", "write { behind it" },
        { "unterminated string", "write \" where it ends" },
        { "end of file", "a quote or a brace was not closed: write \" or }" },
        { "unexpected token", "write name = value; a name of more than one word in quotes" },
        { "closing brace", "write one } for each {" },
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (strstr(wrong, rows[i].wrong))
            return rows[i].advice;
    return "write it as in config/benches/harrow40.bench";
}

__attribute__((format(printf, 2, 0))) static void complain(cfg_t *cfg, const char *format, va_list args)
{
    char text[256];
    vsnprintf(text, sizeof text, format, args);
    lw_bench_refuse(cfg->line, "%s: %s", text, advice_for(text));
}

static void set_checks(cfg_t *cfg)
{
    static const struct { const char *path; cfg_validate_callback_t check; } checks[] = {
        { "loomwatch-bench", lw_bench_check_version }, { "title", lw_bench_check_title },
        { "bit-rate", lw_bench_check_number }, { "data-bit-rate", lw_bench_check_number },
        { "supply-volt", lw_bench_check_number }, { "wires|ohm-per-km", lw_bench_check_number },
        { "wires|ns-per-m", lw_bench_check_number }, { "wires|pf-per-m", lw_bench_check_number },
        { "wires|pf-per-unit", lw_bench_check_number }, { "trunk", lw_bench_check_trunk },
        { "trunk|point", lw_bench_check_point }, { "trunk|point|to-next-m", lw_bench_check_number },
        { "trunk|terminator", lw_bench_check_terminator }, { "trunk|terminator|at", lw_bench_check_at },
        { "unit|runs-for-ms", lw_bench_check_number }, { "unit|sleeps-after-ms", lw_bench_check_number },
        { "unit|wakes-after-ms", lw_bench_check_number }, { "trunk|terminator|ohm", lw_bench_check_number }, { "unit", lw_bench_check_unit }, { "adapter", lw_bench_check_unit },
        { "adapter|tells", lw_bench_check_tells }, { "step", lw_bench_check_step }, { "step|at", lw_bench_check_time },
        { "step|do", lw_bench_check_do },
    };
    static const struct { const char *name; cfg_validate_callback_t check; } of_units[] = {
        { "at", lw_bench_check_at }, { "plug-at", lw_bench_check_time }, { "stub-m", lw_bench_check_number },
        { "terminator-ohm", lw_bench_check_number }, { "crystal-ppm", lw_bench_check_number },
        { "boot-ms", lw_bench_check_number }, { "bit-rate", lw_bench_check_number },
        { "data-bit-rate", lw_bench_check_number }, { "sample-point", lw_bench_check_number }, { "sjw", lw_bench_check_number },
        { "loop-delay-ns", lw_bench_check_number }, { "restart-ms", lw_bench_check_number },
        { "message", lw_bench_check_message }, { "message|id", lw_bench_check_id }, { "message|data", lw_bench_check_data },
        { "message|length", lw_bench_check_number }, { "message|every-ms", lw_bench_check_number },
        { "message|jitter-us", lw_bench_check_number }, { "message|on-event-ms", lw_bench_check_number },
        { "message|patterns", lw_bench_check_pattern },
    };
    for (size_t i = 0; i < sizeof checks / sizeof *checks; i++)
        cfg_set_validate_func(cfg, checks[i].path, checks[i].check);
    char path[64];
    for (size_t i = 0; i < 2 * sizeof of_units / sizeof *of_units; i++) {
        snprintf(path, sizeof path, "%s|%s", i % 2 ? "unit" : "adapter", of_units[i / 2].name);
        cfg_set_validate_func(cfg, path, of_units[i / 2].check);
    }
}

/* What may stand in a unit, and in our adapter, which also tells. */
#define UNIT_OPTIONS                                                                                                      \
    CFG_STR("at", NULL, CFGF_NODEFAULT), CFG_STR("plug-at", "", CFGF_NONE), CFG_BOOL("plugged", cfg_true, CFGF_NONE),      \
    CFG_FLOAT("stub-m", 0, CFGF_NONE), CFG_FLOAT("terminator-ohm", 0, CFGF_NONE), CFG_FLOAT("crystal-ppm", 0, CFGF_NONE), \
    CFG_FLOAT("boot-ms", 50, CFGF_NONE), CFG_FLOAT("bit-rate", 0, CFGF_NONE), CFG_FLOAT("data-bit-rate", 0, CFGF_NONE),   \
    CFG_BOOL("classic", cfg_false, CFGF_NONE), CFG_FLOAT("sample-point", 87.5, CFGF_NONE), CFG_FLOAT("sjw", 0, CFGF_NONE), \
    CFG_FLOAT("loop-delay-ns", 150, CFGF_NONE), CFG_FLOAT("restart-ms", 100, CFGF_NONE),                                  \
    CFG_BOOL("listen-only", cfg_false, CFGF_NONE), CFG_BOOL("one-shot", cfg_false, CFGF_NONE),                            \
    CFG_SEC("message", message, CFGF_MULTI | CFGF_TITLE | CFGF_NO_TITLE_DUPES)

static cfg_t *begin(void)
{
    cfg_opt_t message[] = {
        CFG_STR("id", NULL, CFGF_NODEFAULT), CFG_FLOAT("length", -1, CFGF_NONE), CFG_STR("data", "", CFGF_NONE),
        CFG_FLOAT("every-ms", 0, CFGF_NONE), CFG_FLOAT("jitter-us", 0, CFGF_NONE), CFG_FLOAT("on-event-ms", 0, CFGF_NONE),
        CFG_BOOL("at-boot", cfg_false, CFGF_NONE), CFG_BOOL("remote", cfg_false, CFGF_NONE), CFG_BOOL("fd", cfg_false, CFGF_NONE),
        CFG_BOOL("switch-rate", cfg_true, CFGF_NONE), CFG_STR_LIST("patterns", "{}", CFGF_NONE), CFG_END(),
    };
    cfg_opt_t unit[] = {
        UNIT_OPTIONS, CFG_FLOAT("runs-for-ms", 0, CFGF_NONE), CFG_FLOAT("sleeps-after-ms", 0, CFGF_NONE),
        CFG_FLOAT("wakes-after-ms", 0, CFGF_NONE), CFG_BOOL("wakes-on-traffic", cfg_true, CFGF_NONE), CFG_END(),
    };
    cfg_opt_t adapter[] = { UNIT_OPTIONS, CFG_STR("tells", "each-error", CFGF_NONE), CFG_END() };
    cfg_opt_t wires[] = {
        CFG_FLOAT("ohm-per-km", 70, CFGF_NONE), CFG_FLOAT("ns-per-m", 5, CFGF_NONE), CFG_FLOAT("pf-per-m", 40, CFGF_NONE),
        CFG_FLOAT("pf-per-unit", 50, CFGF_NONE), CFG_END(),
    };
    cfg_opt_t point[] = { CFG_FLOAT("to-next-m", 0, CFGF_NONE), CFG_END() };
    cfg_opt_t terminator[] = {
        CFG_STR("at", NULL, CFGF_NODEFAULT), CFG_FLOAT("ohm", 120, CFGF_NONE), CFG_BOOL("split", cfg_false, CFGF_NONE), CFG_END(),
    };
    cfg_opt_t trunk[] = {
        CFG_SEC("point", point, CFGF_MULTI | CFGF_TITLE | CFGF_NO_TITLE_DUPES), CFG_SEC("terminator", terminator, CFGF_MULTI), CFG_END(),
    };
    cfg_opt_t step[] = { CFG_STR("at", NULL, CFGF_NODEFAULT), CFG_STR("do", NULL, CFGF_NODEFAULT), CFG_END() };
    cfg_opt_t top[] = {
        CFG_INT("loomwatch-bench", 0, CFGF_NONE), CFG_STR("title", "", CFGF_NONE), CFG_FLOAT("bit-rate", 0, CFGF_NONE),
        CFG_FLOAT("data-bit-rate", 0, CFGF_NONE), CFG_FLOAT("supply-volt", 12, CFGF_NONE), CFG_SEC("wires", wires, CFGF_NONE),
        CFG_SEC("trunk", trunk, CFGF_MULTI), CFG_SEC("unit", unit, CFGF_MULTI | CFGF_TITLE | CFGF_NO_TITLE_DUPES),
        CFG_SEC("adapter", adapter, CFGF_MULTI | CFGF_TITLE | CFGF_NO_TITLE_DUPES), CFG_SEC("step", step, CFGF_MULTI), CFG_END(),
    };
    cfg_t *cfg = cfg_init(top, CFGF_NONE);
    if (!cfg)
        return NULL;
    cfg_set_error_function(cfg, complain);
    set_checks(cfg);
    return cfg;
}

/* "folder/pump.bench" is the bench "pump". */
static void take_name(const char *path, struct lw_plant *out)
{
    const char *base = strrchr(path, '/');
    base = base ? base + 1 : path;
    const char *end = strstr(base, ".bench");
    snprintf(out->name, sizeof out->name, "%.*s", (int)(end ? end - base : (long)strlen(base)), base);
}

/* From the file, or from text if that is not NULL. */
static int read_all(const char *name, FILE *file, const char *text, struct lw_plant *out, char *message, size_t size)
{
    struct lw_bench_reading *reading = &lw_bench_reading;
    memset(out, 0, sizeof *out);
    message[0] = '\0';
    *reading = (struct lw_bench_reading){ .root = begin(), .name = name, .message = message, .size = size };
    if (!reading->root) {
        snprintf(message, size, "%s: no memory left", name);
        return -ENOMEM;
    }
    int parsed = text ? cfg_parse_buf(reading->root, text) : cfg_parse_fp(reading->root, file);
    int rc = parsed == CFG_SUCCESS && message[0] == '\0' ? lw_bench_take(reading->root, out) : -EINVAL;
    if (rc != 0)
        lw_bench_refuse(reading->root->line, "cannot be understood: write it as in config/benches/harrow40.bench");
    cfg_free(reading->root);
    reading->root = NULL;
    take_name(name, out);
    return rc;
}

int lw_bench_text_read(const char *name, const char *text, struct lw_plant *out, char *message, size_t size)
{
    return read_all(name, NULL, text, out, message, size);
}

int lw_bench_file_read(const char *path, struct lw_plant *out, char *message, size_t size)
{
    struct stat info;
    FILE *file = fopen(path, "re");
    int rc = file ? 0 : -errno;
    if (file && fstat(fileno(file), &info) == 0 && S_ISDIR(info.st_mode))
        rc = -EISDIR;
    if (rc == 0)
        rc = read_all(path, file, NULL, out, message, size);
    else
        snprintf(message, size, "%s: %s", path, strerror(-rc));
    if (file)
        fclose(file);
    return rc;
}

int lw_bench_load(const char *name, struct lw_plant *out, char *message, size_t size)
{
    char path[PATH_MAX], names[256];
    int rc = lw_bench_file_find(name, path, sizeof path);
    if (rc == 0)
        return lw_bench_file_read(path, out, message, size);
    if (strcmp(name, "harrow40") == 0)
        return lw_bench_text_read(name, lw_bench_harrow40_text, out, message, size);
    lw_bench_file_names(names, sizeof names);
    snprintf(message, size, "no bench \"%.64s\": write one of these, or the path of a .bench file: %s", name, names);
    return rc;
}
