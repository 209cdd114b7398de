/* SPDX-License-Identifier: MIT
 *
 * Reading the text files that people write: libconfuse does the syntax, this says in a person's words what is wrong.
 */
#include "text_file.h"

#include "loomwatch/core/baseline.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { MAX_BIT_RATE = 20000000 };

/* libconfuse reports through a function without an argument of ours: where the text goes must be a global. */
static struct {
    const struct lw_text_file_kind *kind;
    char *buf;
    size_t size;
} complaint;

static const char *advice_among(const struct lw_text_advice *rows, size_t n, const char *wrong)
{
    for (size_t i = 0; i < n; i++)
        if (strstr(wrong, rows[i].wrong))
            return rows[i].instead;
    return NULL;
}

static const char *advice_for(const char *wrong)
{
    static const struct lw_text_advice rows[] = {
        { "duplicate title", "keep one of them, or write another name" },
        { "floating point", "write a number such as 100 or 12.5" },
        { "integer value", "write a whole number such as 8" },
        { "boolean value", "write true or false" },
        { "end of file", "a quote or a brace was not closed: write \" or }" },
    };
    const char *special = advice_among(complaint.kind->advice, complaint.kind->n_advice, wrong);
    const char *general = advice_among(rows, sizeof(rows) / sizeof(rows[0]), wrong);
    return special ? special : general ? general : complaint.kind->like;
}

__attribute__((format(printf, 2, 0))) static void complain(cfg_t *cfg, const char *format, va_list args)
{
    char text[256];
    if (!complaint.buf || complaint.buf[0] != '\0')
        return;   /* the first one tells the cause; later ones follow from it */
    vsnprintf(text, sizeof(text), format, args);
    bool is_ours = strstr(text, ": write ") || strstr(text, ": keep ");
    snprintf(complaint.buf, complaint.size, "%s, line %d: %s%s%s", cfg->filename ? cfg->filename : complaint.kind->what,
             cfg->line, text, is_ours ? "" : ": ", is_ours ? "" : advice_for(text));
}

int lw_text_file_refuse(cfg_t *cfg, const char *format, ...)
{
    char text[256];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof(text), format, args);
    va_end(args);
    if (complaint.buf[0] == '\0')
        snprintf(complaint.buf, complaint.size, "%s: %s", cfg->filename, text);
    return -EINVAL;
}

static int parse(const char *path, FILE *file, cfg_opt_t *top, int (*take)(cfg_t *cfg, void *out), void *out)
{
    cfg_t *cfg = cfg_init(top, CFGF_NONE);
    cfg_set_error_function(cfg, complain);
    for (size_t i = 0; i < complaint.kind->n_checks; i++)
        cfg_set_validate_func(cfg, complaint.kind->checks[i].path, complaint.kind->checks[i].check);
    free(cfg->filename);
    cfg->filename = strdup(path);
    int rc = cfg_parse_fp(cfg, file) == CFG_SUCCESS ? take(cfg, out) : lw_text_file_refuse(cfg, "cannot be read");
    cfg_free(cfg);
    return rc;
}

int lw_text_file_read(const struct lw_text_file_kind *kind, const char *path, cfg_opt_t *top,
                      int (*take)(cfg_t *cfg, void *out), void *out, char *message, size_t size)
{
    message[0] = '\0';
    if (access(path, R_OK) == 0 && !lw_text_file_is(kind, path)) {
        snprintf(message, size, "%s, line 1: this is no %s: one begins with \"%s = 1\"; %s", path, kind->what, kind->first_word,
                 kind->where_from);
        return -EINVAL;
    }
    FILE *file = fopen(path, "r");
    if (!file) {
        int rc = -errno;
        snprintf(message, size, "%s: %s", path, strerror(-rc));
        return rc;
    }
    complaint.kind = kind;
    complaint.buf = message;
    complaint.size = size;
    int rc = parse(path, file, top, take, out);
    fclose(file);
    complaint.buf = NULL;
    return rc;
}

bool lw_text_file_is(const struct lw_text_file_kind *kind, const char *path)
{
    char line[256];
    FILE *file = fopen(path, "r");
    bool is_found = false;
    while (file && !is_found && fgets(line, sizeof(line), file)) {
        const char *text = line + strspn(line, " \t\r\n");
        if (*text == '\0' || *text == '#')
            continue;
        is_found = strncmp(text, kind->first_word, strlen(kind->first_word)) == 0;
        break;
    }
    if (file)
        fclose(file);
    return is_found;
}

int lw_text_check_version(cfg_t *cfg, cfg_opt_t *opt)
{
    if (cfg_opt_getnint(opt, 0) == 1)
        return 0;
    cfg_error(cfg, "%s = %ld is not known to this program: write 1", cfg_opt_name(opt), cfg_opt_getnint(opt, 0));
    return -1;
}

int lw_text_check_bit_rate(cfg_t *cfg, cfg_opt_t *opt)
{
    long rate = cfg_opt_getnint(opt, 0);
    if (rate >= 0 && rate <= MAX_BIT_RATE)
        return 0;
    cfg_error(cfg, "%s %ld: write bits a second up to %d, or leave it out", cfg_opt_name(opt), rate, MAX_BIT_RATE);
    return -1;
}

int lw_text_check_ms(cfg_t *cfg, cfg_opt_t *opt)
{
    double ms = cfg_opt_getnfloat(opt, 0);
    if (ms >= 0 && ms <= 86400e3)
        return 0;
    cfg_error(cfg, "%s: write milliseconds from 0 to a day", cfg_opt_name(opt));
    return -1;
}

int lw_text_check_length(cfg_t *cfg, cfg_opt_t *opt)
{
    long len = cfg_opt_getnint(opt, cfg_opt_size(opt) - 1);
    if (len >= 0 && len <= LW_FRAME_MAX_LEN && lw_len_from_dlc(lw_dlc_from_len((unsigned)len)) == (unsigned)len)
        return 0;
    cfg_error(cfg, "length %ld: write bytes a CAN frame can have: 0 to 8, 12, 16, 20, 24, 32, 48 or 64", len);
    return -1;
}

/* A name that is cut in silence may be the wrong one. */
int lw_text_check_name(cfg_t *cfg, cfg_opt_t *opt)
{
    if (strlen(cfg_opt_getnstr(opt, 0)) < LW_NAME_MAX)
        return 0;
    cfg_error(cfg, "%s is too long: write at most %d letters, where one with an accent counts as two", cfg_opt_name(opt),
              LW_NAME_MAX - 1);
    return -1;
}

uint64_t lw_text_ns(cfg_t *section, const char *name)
{
    return (uint64_t)llround(cfg_getfloat(section, name) * 1e6);
}
