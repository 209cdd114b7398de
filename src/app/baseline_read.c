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

/* libconfuse reports through a function without an argument of ours: where the text goes must be a global. */
static struct {
    char *buf;
    size_t size;
} complaint;

__attribute__((format(printf, 2, 0))) static void complain(cfg_t *cfg, const char *format, va_list args)
{
    char text[256];
    if (!complaint.buf || complaint.buf[0] != '\0')
        return;   /* the first one tells the cause; later ones follow from it */
    vsnprintf(text, sizeof(text), format, args);
    snprintf(complaint.buf, complaint.size, "%s, line %d: %s", cfg->filename ? cfg->filename : "baseline", cfg->line, text);
}

static int check_id(cfg_t *cfg, cfg_opt_t *opt)
{
    cfg_t *id = cfg_opt_getnsec(opt, cfg_opt_size(opt) - 1);
    struct lw_id_key key = { 0 };
    const char *kind = cfg_getstr(id, "kind");
    if (lw_id_parse(cfg_title(id), &key) != 0)
        cfg_error(cfg, "id \"%s\": write 3 hexadecimal digits up to 7FF, or 8 up to 1FFFFFFF", cfg_title(id));
    else if (strcmp(kind, "cyclic") && strcmp(kind, "event") && strcmp(kind, "both") && strcmp(kind, "unknown"))
        cfg_error(cfg, "id \"%s\": kind \"%s\": write cyclic, event, both or unknown", cfg_title(id), kind);
    else if ((!strcmp(kind, "cyclic") || !strcmp(kind, "both")) && !(cfg_getfloat(id, "period-ms") >= 0.001))
        cfg_error(cfg, "id \"%s\" is %s: write its period, for instance period-ms = 100", cfg_title(id), kind);
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

static int check_length(cfg_t *cfg, cfg_opt_t *opt)
{
    long len = cfg_opt_getnint(opt, cfg_opt_size(opt) - 1);
    if (len >= 0 && len <= LW_FRAME_MAX_LEN && lw_len_from_dlc(lw_dlc_from_len((unsigned)len)) == (unsigned)len)
        return 0;
    cfg_error(cfg, "length %ld: write bytes a CAN frame can have: 0 to 8, 12, 16, 20, 24, 32, 48 or 64", len);
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

static void take_id(cfg_t *id, unsigned bus, struct lw_expected *out)
{
    memset(out, 0, sizeof(*out));
    lw_id_parse(cfg_title(id), &out->key);
    out->key.bus = (uint8_t)bus;
    snprintf(out->name, sizeof(out->name), "%s", cfg_getstr(id, "name"));
    snprintf(out->sender, sizeof(out->sender), "%s", cfg_getstr(id, "sender"));
    for (unsigned i = 0; i < cfg_size(id, "length"); i++)
        out->dlc_seen |= (uint16_t)(1u << lw_dlc_from_len((unsigned)cfg_getnint(id, "length", i)));
    out->rhythm = rhythm_of(cfg_getstr(id, "kind"));
    if (lw_rhythm_has_period(out->rhythm))
        out->period_ns = ns_of(id, "period-ms");
    out->tolerance_ns = cfg_size(id, "tolerance-ms") > 0 && cfg_getfloat(id, "tolerance-ms") > 0
        ? ns_of(id, "tolerance-ms") : out->period_ns / 10;
    out->longest_gap_ns = ns_of(id, "longest-gap-ms");
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

static int take_bus(const char *path, cfg_t *section, struct lw_baseline *out)
{
    unsigned bus = out->n_buses++;
    struct lw_baseline_bus *b = &out->buses[bus];
    memset(b, 0, sizeof(*b));
    snprintf(b->name, sizeof(b->name), "%s", cfg_title(section));
    long rate = cfg_getint(section, "bit-rate");
    if (rate > 0 && rate <= 20000000)
        b->bit_rate_bps = LW_KNOWN(rate);
    double watched_s = cfg_getfloat(section, "watched-s");
    b->watched_ns = watched_s > 0 && watched_s < 1e9 ? (uint64_t)(watched_s * 1e9) : 0;
    for (unsigned i = 0; i < cfg_size(section, "id"); i++) {
        if (out->n_ids == LW_MAX_IDS)
            return refuse(path, "more messages than this program keeps (%s)", "2048");
        take_id(cfg_getnsec(section, "id", i), bus, &out->ids[out->n_ids++]);
    }
    return 0;
}

static int take_all(const char *path, cfg_t *cfg, struct lw_baseline *out)
{
    lw_baseline_init(out);
    if (cfg_getint(cfg, "loomwatch-baseline") != 1)
        return refuse(path, "not a baseline: write \"%s\" as its first line", "loomwatch-baseline = 1");
    if (cfg_size(cfg, "bus") == 0)
        return refuse(path, "no bus in it: write %s around the messages", "bus \"can0\" { ... }");
    if (cfg_size(cfg, "bus") > LW_MAX_BUSES)
        return refuse(path, "too many buses: at most %s", "8");
    for (unsigned i = 0; i < cfg_size(cfg, "bus"); i++)
        if (take_bus(path, cfg_getnsec(cfg, "bus", i), out) != 0)
            return -EINVAL;
    int twice = lw_baseline_sort(out);
    char id[LW_ID_TEXT];
    return twice == LW_NO_INDEX ? 0
        : refuse(path, "id \"%s\" stands there twice: keep one", lw_id_text(out->ids[twice].key, id));
}

int lw_baseline_read(const char *path, struct lw_baseline *out, char *message, size_t size)
{
    cfg_opt_t id[] = {
        CFG_STR("name", "", CFGF_NONE), CFG_STR("sender", "", CFGF_NONE), CFG_INT_LIST("length", "{}", CFGF_NONE),
        CFG_STR("kind", "event", CFGF_NONE), CFG_FLOAT("period-ms", 0, CFGF_NONE), CFG_FLOAT("tolerance-ms", 0, CFGF_NONE),
        CFG_FLOAT("longest-gap-ms", 0, CFGF_NONE), CFG_BOOL("may-pause", cfg_false, CFGF_NONE), CFG_END(),
    };
    cfg_opt_t bus[] = {
        CFG_INT("bit-rate", 0, CFGF_NONE), CFG_FLOAT("watched-s", 0, CFGF_NONE),
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
    cfg_t *cfg = cfg_init(top, CFGF_NONE);
    cfg_set_error_function(cfg, complain);
    cfg_set_validate_func(cfg, "bus|id", check_id);
    cfg_set_validate_func(cfg, "bus|id|length", check_length);
    static const char *const times[] = { "bus|id|period-ms", "bus|id|tolerance-ms", "bus|id|longest-gap-ms" };
    for (size_t i = 0; i < sizeof(times) / sizeof(times[0]); i++)
        cfg_set_validate_func(cfg, times[i], check_ms);
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
