/* SPDX-License-Identifier: MIT
 *
 * Reading a baseline. libconfuse does the syntax; this file knows what the values mean, and says in a person's words
 * what is wrong with them.
 */
#include "baseline_file.h"

#include "text_file.h"

#include <math.h>
#include <string.h>

enum { MAX_AT_ONCE = 1000 };

static size_t n_ids_met;   /* of the file being read, on all its buses: libconfuse calls back without an argument of ours */

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
    if (++n_ids_met > LW_MAX_IDS)
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

static int check_bus(cfg_t *cfg, cfg_opt_t *opt)
{
    if (cfg_opt_size(opt) <= LW_MAX_BUSES)
        return 0;
    cfg_error(cfg, "too many buses: write at most %d", LW_MAX_BUSES);
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

/* A frame with more than 8 bytes is one of CAN FD, whether the file says so or not; that it switches the rate, it must say. */
static void take_frame(cfg_t *id, struct lw_expected *out)
{
    for (unsigned i = 0; i < cfg_size(id, "length"); i++)
        out->dlc_seen |= (uint16_t)(1u << lw_dlc_from_len((unsigned)cfg_getnint(id, "length", i)));
    if (cfg_getbool(id, "fd") || out->dlc_seen >> (LW_CLASSIC_MAX_LEN + 1) != 0)
        out->format = LW_FRAME_FD | (cfg_getbool(id, "fd") && cfg_getbool(id, "switch-rate") ? LW_FRAME_BRS : 0);
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
        out->period_ns = lw_text_ns(id, "period-ms");
        out->jitter_ns = lw_text_ns(id, "jitter-ms");
    }
    if (out->rhythm == LW_RHYTHM_BOTH)
        out->most_at_once = (uint16_t)cfg_getint(id, "most-at-once");
    out->tolerance_ns = cfg_size(id, "tolerance-ms") > 0 && cfg_getfloat(id, "tolerance-ms") > 0
        ? lw_text_ns(id, "tolerance-ms") : out->period_ns / 10;
    out->longest_gap_ns = lw_text_ns(id, "longest-gap-ms");
    out->shortest_gap_ns = lw_text_ns(id, "shortest-gap-ms");
    out->may_pause = cfg_getbool(id, "may-pause");
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

static int take_all(cfg_t *cfg, void *out)
{
    struct lw_baseline *baseline = out;
    lw_baseline_init(baseline);
    if (cfg_getint(cfg, "loomwatch-baseline") != 1)
        return lw_text_file_refuse(cfg, "not a baseline: write \"loomwatch-baseline = 1\" as its first line");
    if (cfg_size(cfg, "bus") == 0)
        return lw_text_file_refuse(cfg, "no bus in it: write bus \"can0\" { ... } around the messages");
    for (unsigned i = 0; i < cfg_size(cfg, "bus"); i++)
        take_bus(cfg_getnsec(cfg, "bus", i), baseline);
    lw_baseline_sort(baseline);
    return 0;
}

static const struct lw_text_advice advice[] = {
    { "no such option", "write id, bit-rate, data-bit-rate or watched-s in a bus; in an id: name, sender, length, fd, "
      "switch-rate, bits-heard, kind, period-ms, tolerance-ms, jitter-ms, longest-gap-ms, shortest-gap-ms, most-at-once or "
      "may-pause" },
    { "missing title", "write a name in quotes behind it, such as \"can0\" or \"1A0\"" },
};

static const struct lw_text_check checks[] = {
    { "loomwatch-baseline", lw_text_check_version }, { "bus", check_bus }, { "bus|bit-rate", lw_text_check_bit_rate },
    { "bus|data-bit-rate", lw_text_check_bit_rate }, { "bus|id|bits-heard", check_bits },
    { "bus|id", check_id }, { "bus|id|name", lw_text_check_name }, { "bus|id|sender", lw_text_check_name },
    { "bus|id|length", lw_text_check_length }, { "bus|id|period-ms", lw_text_check_ms },
    { "bus|id|tolerance-ms", lw_text_check_ms }, { "bus|id|longest-gap-ms", lw_text_check_ms },
    { "bus|id|shortest-gap-ms", lw_text_check_ms }, { "bus|id|jitter-ms", lw_text_check_ms },
    { "bus|id|most-at-once", check_at_once },
};

static const struct lw_text_file_kind baselines = {
    .what = "baseline", .first_word = "loomwatch-baseline", .where_from = "make one with loomwatch baseline SOURCE -o FILE",
    .like = "write it as \"loomwatch baseline\" does",
    .advice = advice, .n_advice = sizeof(advice) / sizeof(advice[0]),
    .checks = checks, .n_checks = sizeof(checks) / sizeof(checks[0]),
};

int lw_baseline_read(const char *path, struct lw_baseline *out, char *message, size_t size)
{
    cfg_opt_t id[] = {
        CFG_STR("name", "", CFGF_NONE), CFG_STR("sender", "", CFGF_NONE), CFG_INT_LIST("length", "{}", CFGF_NONE),
        CFG_BOOL("fd", cfg_false, CFGF_NONE), CFG_BOOL("switch-rate", cfg_true, CFGF_NONE),
        CFG_INT_LIST("bits-heard", "{}", CFGF_NONE), CFG_STR("kind", "event", CFGF_NONE),
        CFG_FLOAT("period-ms", 0, CFGF_NONE), CFG_FLOAT("tolerance-ms", 0, CFGF_NONE), CFG_FLOAT("jitter-ms", 0, CFGF_NONE),
        CFG_FLOAT("longest-gap-ms", 0, CFGF_NONE), CFG_FLOAT("shortest-gap-ms", 0, CFGF_NONE),
        CFG_INT("most-at-once", 0, CFGF_NONE), CFG_BOOL("may-pause", cfg_false, CFGF_NONE), CFG_END(),
    };
    cfg_opt_t bus[] = {
        CFG_INT("bit-rate", 0, CFGF_NONE), CFG_INT("data-bit-rate", 0, CFGF_NONE), CFG_FLOAT("watched-s", 0, CFGF_NONE),
        CFG_SEC("id", id, CFGF_MULTI | CFGF_TITLE | CFGF_NO_TITLE_DUPES), CFG_END(),
    };
    cfg_opt_t top[] = {
        CFG_INT("loomwatch-baseline", 0, CFGF_NONE), CFG_SEC("bus", bus, CFGF_MULTI | CFGF_TITLE | CFGF_NO_TITLE_DUPES), CFG_END(),
    };
    n_ids_met = 0;
    return lw_text_file_read(&baselines, path, top, take_all, out, message, size);
}

bool lw_baseline_is_baseline(const char *path)
{
    return lw_text_file_is(&baselines, path);
}
