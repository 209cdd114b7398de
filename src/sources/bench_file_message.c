/* SPDX-License-Identifier: MIT
 *
 * Judges what a bench file says of a message: identifier, length, data, patterns, when it is sent. Called back by libconfuse
 * through bench_file.c.
 */
#include "bench_file_parts.h"

#include <ctype.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int lw_bench_check_id(cfg_t *cfg, cfg_opt_t *opt)
{
    struct lw_id_key key = { 0 };
    const char *text = cfg_opt_getnstr(opt, 0);
    if (lw_id_parse(text, &key) == 0)
        return 0;
    return lw_bench_refuse(cfg->line, "id = \"%.32s\": write 3 hexadecimal digits up to 7FF, or 8 up to 1FFFFFFF", text);
}

int lw_bench_data(const char *text, uint8_t out[LW_FRAME_MAX_LEN])
{
    int n = 0;
    for (text += strspn(text, " \t\n"); *text; text += strspn(text, " \t\n")) {
        if (n == LW_FRAME_MAX_LEN || !isxdigit((unsigned char)text[0]) || !isxdigit((unsigned char)text[1]))
            return -1;
        const char pair[] = { text[0], text[1], '\0' };
        out[n++] = (uint8_t)strtoul(pair, NULL, 16);
        text += 2;
    }
    return n;
}

int lw_bench_check_data(cfg_t *cfg, cfg_opt_t *opt)
{
    uint8_t bytes[LW_FRAME_MAX_LEN];
    if (lw_bench_data(cfg_opt_getnstr(opt, 0), bytes) >= 0)
        return 0;
    return lw_bench_refuse(cfg->line, "data = \"%.32s\": write at most %d bytes of two hexadecimal digits, such as \"03 E8 00\"",
                           cfg_opt_getnstr(opt, 0), LW_FRAME_MAX_LEN);
}

int lw_bench_check_pattern(cfg_t *cfg, cfg_opt_t *opt)
{
    struct lw_pattern pattern;
    char of_unit[LW_PLANT_NAME], wrong[LW_BENCH_WRONG];
    unsigned n = cfg_opt_size(opt);
    if (n > LW_PATTERNS)
        return lw_bench_refuse(cfg->line, "too many patterns: write at most %d in a message", LW_PATTERNS);
    if (lw_bench_pattern(cfg_opt_getnstr(opt, n - 1), &pattern, of_unit, wrong) != 0)
        return lw_bench_refuse(cfg->line, "%s", wrong);
    if (n > 1 && lw_bench_pattern(cfg_opt_getnstr(opt, n - 2), &pattern, of_unit, wrong) == 0 &&
        pattern.kind == LW_PATTERN_CHECKSUM)
        return lw_bench_refuse(cfg->line, "a pattern behind the checksum: write the checksum last");
    lw_bench_note(cfg, n - 1);
    return 0;
}

unsigned lw_bench_length(cfg_t *message)
{
    uint8_t bytes[LW_FRAME_MAX_LEN];
    double length = cfg_getfloat(message, "length");
    int n = lw_bench_data(cfg_getstr(message, "data"), bytes);
    return length >= 0 ? (unsigned)length : n > 0 ? (unsigned)n : 0;
}

static int check_length(cfg_t *cfg, cfg_t *message)
{
    unsigned length = lw_bench_length(message);
    uint8_t bytes[LW_FRAME_MAX_LEN];
    bool is_fd = cfg_getbool(message, "fd"), is_remote = cfg_getbool(message, "remote");
    const char *name = cfg_title(message);
    if (is_fd && !(cfg_getfloat(lw_bench_reading.root, "data-bit-rate") > 0))
        return lw_bench_refuse(cfg->line, "message \"%s\" is fd: write the data-bit-rate of the bus above the trunk", name);
    if (is_fd && is_remote)
        return lw_bench_refuse(cfg->line, "message \"%s\" is fd and remote: there is no such frame: write one of them", name);
    if (!is_fd && length > LW_CLASSIC_MAX_LEN)
        return lw_bench_refuse(cfg->line, "message \"%s\" has %u bytes: write at most 8, or fd = true", name, length);
    if (lw_len_from_dlc(lw_dlc_from_len(length)) != length)
        return lw_bench_refuse(cfg->line, "message \"%s\" has %u bytes: write 0 to 8, 12, 16, 20, 24, 32, 48 or 64", name, length);
    if (lw_bench_data(cfg_getstr(message, "data"), bytes) > (int)length)
        return lw_bench_refuse(cfg->line, "message \"%s\" has more data than its length of %u: write fewer bytes", name, length);
    return 0;
}

static int check_patterns(cfg_t *message)
{
    struct lw_pattern pattern;
    char of_unit[LW_PLANT_NAME], wrong[LW_BENCH_WRONG];
    unsigned length = lw_bench_length(message);
    for (unsigned i = 0; i < cfg_size(message, "patterns"); i++)
        if (lw_bench_pattern(cfg_getnstr(message, "patterns", i), &pattern, of_unit, wrong) == 0 &&
            lw_bench_pattern_end(&pattern) > length)
            return lw_bench_refuse(lw_bench_noted_line(message, i), "pattern \"%.48s\" is outside of %u bytes: write a byte from 0 on, "
                                   "or a greater length", cfg_getnstr(message, "patterns", i), length);
    return 0;
}

static bool is_sent_before(cfg_t *unit, cfg_t *message)
{
    struct lw_id_key key = { 0 }, other = { 0 };
    lw_id_parse(cfg_getstr(message, "id"), &key);
    for (unsigned i = 0; i + 1 < cfg_size(unit, "message"); i++)
        if (lw_id_parse(cfg_getstr(cfg_getnsec(unit, "message", i), "id"), &other) == 0 && lw_id_key_equal(key, other))
            return true;
    return false;
}

/* At the end of a message's section; cfg is its unit. */
int lw_bench_check_message(cfg_t *cfg, cfg_opt_t *opt)
{
    cfg_t *message = cfg_opt_getnsec(opt, cfg_opt_size(opt) - 1);
    const char *name = cfg_title(message);
    bool is_sent = cfg_getfloat(message, "every-ms") > 0 || cfg_getfloat(message, "on-event-ms") > 0 ||
                   cfg_getbool(message, "at-boot");
    if (++lw_bench_reading.n_messages > LW_PLANT_MAX_MESSAGES)
        return lw_bench_refuse(cfg->line, "too many messages: write at most %d", LW_PLANT_MAX_MESSAGES);
    if (lw_bench_check_name(cfg, "message", name) != 0)
        return -1;
    if (!cfg_getstr(message, "id"))
        return lw_bench_refuse(cfg->line, "message \"%s\" has no identifier: write for instance id = \"2D0\"", name);
    if (is_sent_before(cfg, message))
        return lw_bench_refuse(cfg->line, "message \"%s\": the unit sends id %s already: write another", name, cfg_getstr(message, "id"));
    if (!is_sent)
        return lw_bench_refuse(cfg->line, "message \"%s\" is never sent: write every-ms, on-event-ms or at-boot = true", name);
    int rc = check_length(cfg, message);
    return rc ? rc : check_patterns(message);
}
