/* SPDX-License-Identifier: MIT
 *
 * Reading a baseline. libconfuse does the syntax; this file knows what the values mean, and says in a person's words
 * what is wrong with them.
 */
#include "baseline_file.h"

#include <confuse.h>
#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { MAX_BIT_RATE = 20000000, MAX_AT_ONCE = 1000 };

/* libconfuse reports through a function without an argument of ours: where the text goes must be a global. */
static struct {
    char *buf;
    size_t size;
    size_t n_ids;      /* met so far, on all buses */
} complaint;

/* What libconfuse says is wrong, and what to write instead. */
static const char *advice_for(const char *wrong)
{
    static const struct { const char *wrong, *advice; } rows[] = {
        { "duplicate title", "keep one of them, or write another name" },
        { "no such option", "write id, bit-rate, data-bit-rate or watched-s in a bus; in an id: name, sender, length, fd, "
          "switch-rate, bits-heard, kind, period-ms, tolerance-ms, jitter-ms, "
          "longest-gap-ms, shortest-gap-ms, most-at-once or may-pause" },
        { "floating point", "write a number such as 100 or 12.5" },
        { "integer value", "write a whole number such as 8" },
        { "boolean value", "write true or false" },
        { "missing title", "write a name in quotes behind it, such as \"can0\" or \"1A0\"" },
        { "end of file", "a quote or a brace was not closed: write \" or }" },
    };
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++)
        if (strstr(wrong, rows[i].wrong))
            return rows[i].advice;
    return "write it as \"loomwatch baseline\" does";
}

__attribute__((format(printf, 2, 0))) static void complain(cfg_t *cfg, const char *format, va_list args)
{
    char text[256];
    if (!complaint.buf || complaint.buf[0] != '\0')
        return;   /* the first one tells the cause; later ones follow from it */
    vsnprintf(text, sizeof(text), format, args);
    bool is_ours = strstr(text, ": write ") || strstr(text, ": keep ");
    snprintf(complaint.buf, complaint.size, "%s, line %d: %s%s%s", cfg->filename ? cfg->filename : "baseline", cfg->line,
             text, is_ours ? "" : ": ", is_ours ? "" : advice_for(text));
}

/* libconfuse compares the titles itself, but takes 1a0 and 1A0 for two. */
static bool is_there_before(cfg_opt_t *opt, struct lw_id_key key)
{
    for (unsigned i = 0; i + 1 < cfg_opt_size(opt); i++) {
        struct lw_id_key earlier = { 0 };
        if (lw_id_parse(cfg_title(cfg_opt_getnsec(opt, i)), &earlier) == 0 && lw_id_key_equal(earlier, key))
            return true;
    }
    return false;
}

static int check_id(cfg_t *cfg, cfg_opt_t *opt)
{
    cfg_t *id = cfg_opt_getnsec(opt, cfg_opt_size(opt) - 1);
    struct lw_id_key key = { 0 };
    const char *kind = cfg_getstr(id, "kind");
    if (++complaint.n_ids > LW_MAX_IDS)
        cfg_error(cfg, "more messages than this program keeps: write at most %d", LW_MAX_IDS);
    else if (lw_id_parse(cfg_title(id), &key) != 0)
        cfg_error(cfg, "id \"%s\": write 3 hexadecimal digits up to 7FF, or 8 up to 1FFFFFFF", cfg_title(id));
    else if (strcmp(kind, "cyclic") && strcmp(kind, "event") && strcmp(kind, "both") && strcmp(kind, "unknown"))
        cfg_error(cfg, "id \"%s\": kind \"%s\": write cyclic, event, both or unknown", cfg_title(id), kind);
    else if ((!strcmp(kind, "cyclic") || !strcmp(kind, "both")) && !(cfg_getfloat(id, "period-ms") >= 0.001))
        cfg_error(cfg, "id \"%s\" is %s: write its period, for instance period-ms = 100", cfg_title(id), kind);
    else if (is_there_before(opt, key))
        cfg_error(cfg, "id \"%s\" stands there twice: keep one", cfg_title(id));
    else
        return 0;
    return -1;
}

static int check_ms(cfg_t *cfg, cfg_opt_t *opt)
{
    double ms = cfg_opt_getnfloat(opt, 0);
    if (ms >= 0 && ms <= 86400e3)
        return 0;
    cfg_error(cfg, "%s: write milliseconds from 0 to a day", cfg_opt_name(opt));
    return -1;
}

/* A name that is cut in silence may be the wrong one. */
static int check_name(cfg_t *cfg, cfg_opt_t *opt)
{
    if (strlen(cfg_opt_getnstr(opt, 0)) < LW_NAME_MAX)
        return 0;
    cfg_error(cfg, "%s is too long: write at most %d letters, where one with an accent counts as two", cfg_opt_name(opt),
              LW_NAME_MAX - 1);
    return -1;
}

static int check_bit_rate(cfg_t *cfg, cfg_opt_t *opt)
{
    long rate = cfg_opt_getnint(opt, 0);
    if (rate >= 0 && rate <= MAX_BIT_RATE)
        return 0;
    cfg_error(cfg, "%s %ld: write bits a second up to %d, or leave it out", cfg_opt_name(opt), rate, MAX_BIT_RATE);
    return -1;
}

static int check_version(cfg_t *cfg, cfg_opt_t *opt)
{
    if (cfg_opt_getnint(opt, 0) == 1)
        return 0;
    cfg_error(cfg, "loomwatch-baseline = %ld is not known to this program: write 1", cfg_opt_getnint(opt, 0));
    return -1;
}

static int check_bus(cfg_t *cfg, cfg_opt_t *opt)
{
    if (cfg_opt_size(opt) <= LW_MAX_BUSES)
        return 0;
    cfg_error(cfg, "too many buses: write at most %d", LW_MAX_BUSES);
    return -1;
}

static int check_length(cfg_t *cfg, cfg_opt_t *opt)
{
    long len = cfg_opt_getnint(opt, cfg_opt_size(opt) - 1);
    if (len >= 0 && len <= LW_FRAME_MAX_LEN && lw_len_from_dlc(lw_dlc_from_len((unsigned)len)) == (unsigned)len)
        return 0;
    cfg_error(cfg, "length %ld: write bytes a CAN frame can have: 0 to 8, 12, 16, 20, 24, 32, 48 or 64", len);
    return -1;
}

static int check_bits(cfg_t *cfg, cfg_opt_t *opt)
{
    long bits = cfg_opt_getnint(opt, cfg_opt_size(opt) - 1);
    if (cfg_opt_size(opt) <= 2 && bits > 0 && bits <= LW_WIRE_MAX_BITS)
        return 0;
    cfg_error(cfg, "bits-heard: write bits from 1 to %d, two numbers at most, or leave it out", LW_WIRE_MAX_BITS);
    return -1;
}

static int check_at_once(cfg_t *cfg, cfg_opt_t *opt)
{
    long n = cfg_opt_getnint(opt, 0);
    if (n >= 0 && n <= MAX_AT_ONCE)
        return 0;
    cfg_error(cfg, "most-at-once %ld: write frames from 1 to %d, or leave it out", n, MAX_AT_ONCE);
    return -1;
}

static enum lw_rhythm rhythm_of(const char *kind)
{
    for (int i = LW_RHYTHM_CYCLIC; i <= LW_RHYTHM_BOTH; i++)
        if (strcmp(lw_rhythm_name((enum lw_rhythm)i), kind) == 0)
            return (enum lw_rhythm)i;
    return LW_RHYTHM_UNKNOWN;
}

static uint64_t ns_of(cfg_t *id, const char *name)
{
    return (uint64_t)llround(cfg_getfloat(id, name) * 1e6);
}

/* A frame with more than 8 bytes is one of CAN FD, whether the file says so or not. */
static void take_frame(cfg_t *id, struct lw_expected *out)
{
    for (unsigned i = 0; i < cfg_size(id, "length"); i++)
        out->dlc_seen |= (uint16_t)(1u << lw_dlc_from_len((unsigned)cfg_getnint(id, "length", i)));
    if (cfg_getbool(id, "fd") || out->dlc_seen >> (LW_CLASSIC_MAX_LEN + 1) != 0)
        out->format = LW_FRAME_FD | (cfg_getbool(id, "switch-rate") ? LW_FRAME_BRS : 0);
    if (cfg_size(id, "bits-heard") > 0)
        out->heard.nominal_bits = (uint16_t)cfg_getnint(id, "bits-heard", 0);
    if (cfg_size(id, "bits-heard") > 1)
        out->heard.data_bits = (uint16_t)cfg_getnint(id, "bits-heard", 1);
}

static void take_id(cfg_t *id, unsigned bus, struct lw_expected *out)
{
    memset(out, 0, sizeof(*out));
    lw_id_parse(cfg_title(id), &out->key);
    out->key.bus = (uint8_t)bus;
    snprintf(out->name, sizeof(out->name), "%s", cfg_getstr(id, "name"));
    snprintf(out->sender, sizeof(out->sender), "%s", cfg_getstr(id, "sender"));
    take_frame(id, out);
    out->rhythm = rhythm_of(cfg_getstr(id, "kind"));
    if (lw_rhythm_has_period(out->rhythm)) {
        out->period_ns = ns_of(id, "period-ms");
        out->jitter_ns = ns_of(id, "jitter-ms");
    }
    if (out->rhythm == LW_RHYTHM_BOTH)
        out->most_at_once = (uint16_t)cfg_getint(id, "most-at-once");
    out->tolerance_ns = cfg_size(id, "tolerance-ms") > 0 && cfg_getfloat(id, "tolerance-ms") > 0
        ? ns_of(id, "tolerance-ms") : out->period_ns / 10;
    out->longest_gap_ns = ns_of(id, "longest-gap-ms");
    out->shortest_gap_ns = ns_of(id, "shortest-gap-ms");
    out->may_pause = cfg_getbool(id, "may-pause");
}

static int refuse(const char *path, const char *format, const char *what)
{
    char text[256];
    if (complaint.buf[0] != '\0')
        return -EINVAL;
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
    snprintf(text, sizeof(text), format, what);
#pragma GCC diagnostic pop
    snprintf(complaint.buf, complaint.size, "%s: %s", path, text);
    return -EINVAL;
}

static void take_bus(cfg_t *section, struct lw_baseline *out)
{
    unsigned bus = out->n_buses++;
    struct lw_baseline_bus *b = &out->buses[bus];
    memset(b, 0, sizeof(*b));
    snprintf(b->name, sizeof(b->name), "%s", cfg_title(section));
    long rate = cfg_getint(section, "bit-rate");
    if (rate > 0)
        b->bit_rate_bps = LW_KNOWN(rate);
    long data_rate = cfg_getint(section, "data-bit-rate");
    if (data_rate > 0)
        b->data_bit_rate_bps = LW_KNOWN(data_rate);
    double watched_s = cfg_getfloat(section, "watched-s");
    b->watched_ns = watched_s > 0 && watched_s < 1e9 ? (uint64_t)llround(watched_s * 1e9) : 0;
    for (unsigned i = 0; i < cfg_size(section, "id"); i++)
        take_id(cfg_getnsec(section, "id", i), bus, &out->ids[out->n_ids++]);
}

static int take_all(const char *path, cfg_t *cfg, struct lw_baseline *out)
{
    lw_baseline_init(out);
    if (cfg_getint(cfg, "loomwatch-baseline") != 1)
        return refuse(path, "not a baseline: write \"%s\" as its first line", "loomwatch-baseline = 1");
    if (cfg_size(cfg, "bus") == 0)
        return refuse(path, "no bus in it: write %s around the messages", "bus \"can0\" { ... }");
    for (unsigned i = 0; i < cfg_size(cfg, "bus"); i++)
        take_bus(cfg_getnsec(cfg, "bus", i), out);
    lw_baseline_sort(out);
    return 0;
}

static void set_checks(cfg_t *cfg)
{
    static const struct { const char *path; cfg_validate_callback_t check; } checks[] = {
        { "loomwatch-baseline", check_version }, { "bus", check_bus }, { "bus|bit-rate", check_bit_rate },
        { "bus|data-bit-rate", check_bit_rate }, { "bus|id|bits-heard", check_bits },
        { "bus|id", check_id }, { "bus|id|name", check_name }, { "bus|id|sender", check_name },
        { "bus|id|length", check_length }, { "bus|id|period-ms", check_ms }, { "bus|id|tolerance-ms", check_ms },
        { "bus|id|longest-gap-ms", check_ms }, { "bus|id|shortest-gap-ms", check_ms }, { "bus|id|jitter-ms", check_ms },
        { "bus|id|most-at-once", check_at_once },
    };
    for (size_t i = 0; i < sizeof(checks) / sizeof(checks[0]); i++)
        cfg_set_validate_func(cfg, checks[i].path, checks[i].check);
}

int lw_baseline_read(const char *path, struct lw_baseline *out, char *message, size_t size)
{
    cfg_opt_t id[] = {
        CFG_STR("name", "", CFGF_NONE), CFG_STR("sender", "", CFGF_NONE), CFG_INT_LIST("length", "{}", CFGF_NONE),
        CFG_STR("kind", "event", CFGF_NONE), CFG_FLOAT("period-ms", 0, CFGF_NONE), CFG_FLOAT("tolerance-ms", 0, CFGF_NONE),
        CFG_FLOAT("longest-gap-ms", 0, CFGF_NONE), CFG_BOOL("may-pause", cfg_false, CFGF_NONE),
        CFG_FLOAT("shortest-gap-ms", 0, CFGF_NONE), CFG_FLOAT("jitter-ms", 0, CFGF_NONE), CFG_INT("most-at-once", 0, CFGF_NONE),
        CFG_BOOL("fd", cfg_false, CFGF_NONE), CFG_BOOL("switch-rate", cfg_true, CFGF_NONE),
        CFG_INT_LIST("bits-heard", "{}", CFGF_NONE), CFG_END(),
    };
    cfg_opt_t bus[] = {
        CFG_INT("bit-rate", 0, CFGF_NONE), CFG_INT("data-bit-rate", 0, CFGF_NONE), CFG_FLOAT("watched-s", 0, CFGF_NONE),
        CFG_SEC("id", id, CFGF_MULTI | CFGF_TITLE | CFGF_NO_TITLE_DUPES), CFG_END(),
    };
    cfg_opt_t top[] = {
        CFG_INT("loomwatch-baseline", 0, CFGF_NONE), CFG_SEC("bus", bus, CFGF_MULTI | CFGF_TITLE | CFGF_NO_TITLE_DUPES), CFG_END(),
    };
    message[0] = '\0';
    if (access(path, R_OK) == 0 && !lw_baseline_is_baseline(path)) {
        snprintf(message, size, "%s, line 1: this is no baseline: one begins with \"loomwatch-baseline = 1\"; make one with "
                 "loomwatch baseline SOURCE -o FILE", path);
        return -EINVAL;
    }
    FILE *file = fopen(path, "r");
    if (!file) {
        int rc = -errno;
        snprintf(message, size, "%s: %s", path, strerror(-rc));
        return rc;
    }
    complaint.buf = message;
    complaint.size = size;
    complaint.n_ids = 0;
    cfg_t *cfg = cfg_init(top, CFGF_NONE);
    cfg_set_error_function(cfg, complain);
    set_checks(cfg);
    free(cfg->filename);
    cfg->filename = strdup(path);
    int rc = cfg_parse_fp(cfg, file) == CFG_SUCCESS ? take_all(path, cfg, out) : refuse(path, "%s", "cannot be read");
    cfg_free(cfg);
    fclose(file);
    complaint.buf = NULL;
    return rc;
}

bool lw_baseline_is_baseline(const char *path)
{
    char line[256];
    FILE *file = fopen(path, "r");
    bool is_found = false;
    while (file && !is_found && fgets(line, sizeof(line), file)) {
        const char *text = line + strspn(line, " \t\r\n");
        if (*text == '\0' || *text == '#')
            continue;
        is_found = strncmp(text, "loomwatch-baseline", strlen("loomwatch-baseline")) == 0;
        break;
    }
    if (file)
        fclose(file);
    return is_found;
}
