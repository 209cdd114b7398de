/* SPDX-License-Identifier: MIT
 *
 * Judges the values of a bench file as they are read, so that what is wrong is said with its line. Called back by libconfuse
 * through bench_file.c; messages are in bench_file_message.c.
 */
#include "bench_file_parts.h"

#include "loomwatch/bench/adapter.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What a number may be. Limits without a standard behind them are those of a bench that still makes sense. */
static const struct { const char *name; double min, max; bool is_whole; const char *advice; } ranges[] = {
    { "bit-rate", 5000, 1000000, true, "bits a second from 5000 to 1000000, such as 500000" },
    { "data-bit-rate", 100000, 8000000, true, "bits a second from 100000 to 8000000, such as 2000000" },
    { "supply-volt", 5, 60, false, "volts from 5 to 60, such as 12" },
    { "ohm-per-km", 0, 10000, false, "ohms a kilometre of one wire from 0 to 10000, such as 70" },
    { "ns-per-m", 3, 20, false, "nanoseconds a metre from 3 to 20, such as 5" },
    { "pf-per-m", 0, 1000, true, "whole picofarads a metre from 0 to 1000, such as 40" },
    { "pf-per-unit", 0, 1000, true, "whole picofarads a unit from 0 to 1000, such as 50" },
    { "to-next-m", 0.001, 5000, false, "metres from 0.001 to 5000, such as 2.5" },
    { "ohm", 1, 100000, true, "whole ohms from 1 to 100000, such as 120" },
    { "terminator-ohm", 1, 100000, true, "whole ohms from 1 to 100000, such as 120, or leave it out" },
    { "stub-m", 0, 100, false, "metres from 0 to 100, such as 0.3" },
    { "crystal-ppm", -200000, 200000, true, "whole parts per million from -200000 to 200000, such as 40" },
    { "boot-ms", 0, 600000, true, "whole milliseconds from 0 to 600000, such as 60" },
    { "runs-for-ms", 1, 3600000, true, "whole milliseconds from 1 to 3600000, such as 20000, or leave it out" },
    { "sleeps-after-ms", 1, 3600000, true, "whole milliseconds from 1 to 3600000, such as 2000, or leave it out" },
    { "wakes-after-ms", 1, 3600000, true, "whole milliseconds from 1 to 3600000, such as 60000, or leave it out" },
    { "sample-point", 50, 95, false, "percent of the bit from 50 to 95, such as 87.5" },
    { "sjw", 1, 16, true, "whole time quanta from 1 to 16, such as 2" },
    { "loop-delay-ns", 0, 2000, true, "whole nanoseconds from 0 to 2000, such as 150" },
    { "restart-ms", 0, 3600000, true, "whole milliseconds, such as 100, or 0 for never" },
    { "length", 0, LW_FRAME_MAX_LEN, true, "bytes a CAN frame can have: 0 to 8, with fd = true also 12, 16, 20, 24, 32, 48 or 64" },
    { "every-ms", 1, 3600000, true, "whole milliseconds from 1 to 3600000, such as 100" },
    { "jitter-us", 0, 1000000, true, "whole microseconds from 0 to 1000000, such as 300" },
    { "on-event-ms", 1, 3600000, true, "whole milliseconds between two events on average, such as 5000" },
};

int lw_bench_check_number(cfg_t *cfg, cfg_opt_t *opt)
{
    double value = cfg_opt_getnfloat(opt, 0);
    struct lw_bit_timing timing;
    for (size_t i = 0; i < sizeof ranges / sizeof *ranges; i++) {
        if (strcmp(ranges[i].name, cfg_opt_name(opt)) != 0)
            continue;
        if (!(value >= ranges[i].min && value <= ranges[i].max) || (ranges[i].is_whole && value != floor(value)))
            return lw_bench_refuse(cfg->line, "%s = %.10g: write %s", ranges[i].name, value, ranges[i].advice);
    }
    if (strstr(cfg_opt_name(opt), "bit-rate") && lw_bit_timing_for((uint32_t)value, 800, 0, &timing) != 0)
        return lw_bench_refuse(cfg->line, "%s = %.10g: no controller with a clock of 80 MHz can do that: write one such as %s",
                               cfg_opt_name(opt), value, cfg_opt_name(opt)[0] == 'b' ? "125000, 250000 or 500000" : "2000000");
    return 0;
}

int lw_bench_check_version(cfg_t *cfg, cfg_opt_t *opt)
{
    if (cfg_opt_getnint(opt, 0) == 1)
        return 0;
    return lw_bench_refuse(cfg->line, "loomwatch-bench = %ld is not known to this program: write 1", cfg_opt_getnint(opt, 0));
}

int lw_bench_check_title(cfg_t *cfg, cfg_opt_t *opt)
{
    if (strlen(cfg_opt_getnstr(opt, 0)) < LW_PLANT_WORDS)
        return 0;
    return lw_bench_refuse(cfg->line, "title is too long: write at most %d letters", LW_PLANT_WORDS - 1);
}

/* "point 3" means the third point wherever faults are written. */
static bool looks_numbered(const char *name)
{
    size_t n = strncmp(name, "point", 5) == 0 ? 5 : strncmp(name, "segment", 7) == 0 ? 7 : 0;
    return n > 0 && (name[n] == ' ' || name[n] == '-') && isdigit((unsigned char)name[n + 1]);
}

int lw_bench_check_name(cfg_t *cfg, const char *what, const char *name)
{
    size_t n = strlen(name);
    if (n == 0 || n >= LW_PLANT_NAME)
        return lw_bench_refuse(cfg->line, "%s \"%.40s\": write a name of 1 to %d letters, where one with an accent counts as two",
                               what, name, LW_PLANT_NAME - 1);
    bool is_bad = name[0] == ' ' || name[n - 1] == ' ' || looks_numbered(name);
    for (size_t i = 0; i < n; i++)
        is_bad |= iscntrl((unsigned char)name[i]) || name[i] == '"' || (name[i] == ' ' && name[i + 1] == ' ');
    if (is_bad)
        return lw_bench_refuse(cfg->line, "%s \"%s\": write words with single spaces between, and not \"point\" or \"segment\" and a "
                               "number, which mean places", what, name);
    return 0;
}

int lw_bench_time(const char *text, uint64_t *out_ns)
{
    static const struct { const char *unit; double ns; } rows[] = { { "ms", 1e6 }, { "s", 1e9 }, { "min", 60e9 } };
    char *end;
    double value = strtod(text, &end);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (end != text && strcmp(end, rows[i].unit) == 0 && value >= 0 && value * rows[i].ns <= 604800e9) {
            *out_ns = (uint64_t)llround(value * rows[i].ns);
            return 0;
        }
    return -EINVAL;
}

int lw_bench_check_time(cfg_t *cfg, cfg_opt_t *opt)
{
    uint64_t ns;
    const char *text = cfg_opt_getnstr(opt, 0);
    bool may_be_0 = strcmp(cfg_opt_name(opt), "plug-at") != 0;
    if (lw_bench_time(text, &ns) == 0 && (ns > 0 || may_be_0))
        return 0;
    return lw_bench_refuse(cfg->line, "%s = \"%.32s\": write a time such as \"8s\", \"250ms\" or \"2min\"", cfg_opt_name(opt), text);
}

int lw_bench_check_tells(cfg_t *cfg, cfg_opt_t *opt)
{
    const char *name = cfg_opt_getnstr(opt, 0);
    if (lw_personality_find(name))
        return 0;
    char list[LW_N_PERSONALITIES * LW_PLANT_NAME] = "";
    for (unsigned i = 0; i < LW_N_PERSONALITIES; i++)
        snprintf(list + strlen(list), sizeof list - strlen(list), "%s%s", i ? ", " : "", lw_personalities[i].name);
    return lw_bench_refuse(cfg->line, "tells = \"%.32s\": write one of %s", name, list);
}

static cfg_t *trunk_of(void)
{
    return cfg_size(lw_bench_reading.root, "trunk") > 0 ? cfg_getsec(lw_bench_reading.root, "trunk") : NULL;
}

int lw_bench_check_at(cfg_t *cfg, cfg_opt_t *opt)
{
    const char *name = cfg_opt_getnstr(opt, 0);
    cfg_t *trunk = trunk_of();
    char list[400] = "";
    unsigned n = trunk ? cfg_size(trunk, "point") : 0;
    for (unsigned i = 0; i < n; i++) {
        const char *title = cfg_title(cfg_getnsec(trunk, "point", i));
        if (strcmp(title, name) == 0)
            return 0;
        snprintf(list + strlen(list), sizeof list - strlen(list), "%s\"%s\"", i ? ", " : "", title);
    }
    if (n == 0)
        return lw_bench_refuse(cfg->line, "at = \"%.32s\": no point was met yet: write the points of the trunk above it", name);
    return lw_bench_refuse(cfg->line, "at = \"%.32s\" is no point of the trunk: write one of %s", name, list);
}

int lw_bench_check_point(cfg_t *cfg, cfg_opt_t *opt)
{
    if (cfg_opt_size(opt) > LW_PLANT_MAX_POINTS)
        return lw_bench_refuse(cfg->line, "too many points: write at most %d", LW_PLANT_MAX_POINTS);
    return lw_bench_check_name(cfg, "point", cfg_title(cfg_opt_getnsec(opt, cfg_opt_size(opt) - 1)));
}

int lw_bench_check_trunk(cfg_t *cfg, cfg_opt_t *opt)
{
    cfg_t *trunk = cfg_opt_getnsec(opt, cfg_opt_size(opt) - 1);
    unsigned n = cfg_size(trunk, "point");
    if (cfg_opt_size(opt) > 1)
        return lw_bench_refuse(cfg->line, "a second trunk: write one, and the units on stubs of it");
    if (n < 2)
        return lw_bench_refuse(cfg->line, "the trunk has %s: write at least two, one for each end", n ? "one point" : "no points");
    for (unsigned i = 0; i < n; i++) {
        cfg_t *point = cfg_getnsec(trunk, "point", i);
        bool has_length = cfg_getfloat(point, "to-next-m") > 0;
        if (i + 1 < n && !has_length)
            return lw_bench_refuse(point->line, "point \"%s\": write how far it is to the next, such as to-next-m = 2.5", cfg_title(point));
        if (i + 1 == n && has_length)
            return lw_bench_refuse(point->line, "point \"%s\" is the last: write no to-next-m in it", cfg_title(point));
    }
    return 0;
}

int lw_bench_check_terminator(cfg_t *cfg, cfg_opt_t *opt)
{
    if (cfg_opt_size(opt) > LW_PLANT_MAX_TERMINATORS)
        return lw_bench_refuse(cfg->line, "too many terminators: write at most %d", LW_PLANT_MAX_TERMINATORS);
    if (!cfg_getstr(cfg_opt_getnsec(opt, cfg_opt_size(opt) - 1), "at"))
        return lw_bench_refuse(cfg->line, "a terminator without a place: write at = and the name of a point");
    return 0;
}

static bool is_named_before(const char *kind, cfg_t *unit)
{
    for (unsigned i = 0; i < cfg_size(lw_bench_reading.root, kind); i++) {
        cfg_t *other = cfg_getnsec(lw_bench_reading.root, kind, i);
        if (other != unit && strcmp(cfg_title(other), cfg_title(unit)) == 0)
            return true;
    }
    return false;
}

/* Only a unit that stops can fall asleep, and only a sleeping one be woken. */
static int check_sleep(cfg_t *cfg, cfg_t *unit)
{
    bool sleeps = cfg_getfloat(unit, "sleeps-after-ms") > 0;
    if (sleeps && !(cfg_getfloat(unit, "runs-for-ms") > 0))
        return lw_bench_refuse(cfg->line, "unit \"%s\" never stops sending, so it cannot sleep: write runs-for-ms too",
                               cfg_title(unit));
    if (!sleeps && (cfg_getfloat(unit, "wakes-after-ms") > 0 || !cfg_getbool(unit, "wakes-on-traffic")))
        return lw_bench_refuse(cfg->line, "unit \"%s\" never sleeps, so nothing can wake it: write sleeps-after-ms too",
                               cfg_title(unit));
    return 0;
}

/* A unit, or our adapter: at the end of its section. */
int lw_bench_check_unit(cfg_t *cfg, cfg_opt_t *opt)
{
    cfg_t *unit = cfg_opt_getnsec(opt, cfg_opt_size(opt) - 1);
    const char *kind = cfg_opt_name(opt), *name = cfg_title(unit);
    if (cfg_size(cfg, "unit") + cfg_size(cfg, "adapter") > LW_PLANT_MAX_UNITS)
        return lw_bench_refuse(cfg->line, "too many units: write at most %d, the adapter among them", LW_PLANT_MAX_UNITS);
    if (cfg_size(cfg, "adapter") > 1)
        return lw_bench_refuse(cfg->line, "a second adapter, \"%.32s\": write one only, and unit for the others", name);
    if (lw_bench_check_name(cfg, kind, name) != 0)
        return -1;
    if (is_named_before("unit", unit) || is_named_before("adapter", unit))
        return lw_bench_refuse(cfg->line, "%s \"%s\": another one has that name: write a different one", kind, name);
    if (!cfg_getstr(unit, "at"))
        return lw_bench_refuse(cfg->line, "%s \"%s\" has no place: write at = and the name of a point of the trunk", kind, name);
    if (!(cfg_getfloat(cfg, "bit-rate") > 0))
        return lw_bench_refuse(cfg->line, "no bit rate was met yet: write for instance bit-rate = 500000 above the units");
    if (cfg_getfloat(unit, "data-bit-rate") > 0 && !(cfg_getfloat(cfg, "data-bit-rate") > 0))
        return lw_bench_refuse(cfg->line, "%s \"%s\" has a data-bit-rate, but the bus has none: write it above the trunk too", kind, name);
    return strcmp(kind, "unit") == 0 ? check_sleep(cfg, unit) : 0;
}

int lw_bench_check_do(cfg_t *cfg, cfg_opt_t *opt)
{
    lw_bench_note(cfg, 0);
    if (strlen(cfg_opt_getnstr(opt, 0)) < LW_PLANT_WORDS)
        return 0;
    return lw_bench_refuse(cfg->line, "do is too long: write at most %d letters", LW_PLANT_WORDS - 1);
}

int lw_bench_check_step(cfg_t *cfg, cfg_opt_t *opt)
{
    cfg_t *step = cfg_opt_getnsec(opt, cfg_opt_size(opt) - 1);
    if (cfg_opt_size(opt) > LW_PLANT_MAX_STEPS)
        return lw_bench_refuse(cfg->line, "too many steps: write at most %d", LW_PLANT_MAX_STEPS);
    if (!cfg_getstr(step, "at") || !cfg_getstr(step, "do"))
        return lw_bench_refuse(cfg->line, "a step says when and what: write for instance at = \"12s\" do = \"short at point 1 for 2s\"");
    return 0;
}
