/* SPDX-License-Identifier: MIT
 *
 * What the text files that people write have in common: libconfuse reads them, and what is wrong is said with file, line
 * and what to write instead. Baselines and modules are read through this.
 */
#ifndef LOOMWATCH_APP_TEXT_FILE_H
#define LOOMWATCH_APP_TEXT_FILE_H

#include <confuse.h>
#include <stdbool.h>
#include <stdint.h>

/* What libconfuse says is wrong, and what to write instead. */
struct lw_text_advice {
    const char *wrong, *instead;
};

struct lw_text_check {
    const char *path;                   /* of the option: "bus|id" */
    cfg_validate_callback_t check;
};

struct lw_text_file_kind {
    const char *what;                   /* "baseline" */
    const char *first_word;             /* the first line is this word, " = 1" */
    const char *where_from;             /* how one comes by such a file */
    const char *like;                   /* "write it as ... does" */
    const struct lw_text_advice *advice;    /* of this kind; what holds for all kinds is known already */
    size_t n_advice;
    const struct lw_text_check *checks;
    size_t n_checks;
};

/* Reads path after the options of top, and hands what stands there to take() with out; its result is the result. Returns
 * -errno if the file cannot be read, -EINVAL if it is wrong; message then says where, what, and what to write. */
int lw_text_file_read(const struct lw_text_file_kind *kind, const char *path, cfg_opt_t *top,
                      int (*take)(cfg_t *cfg, void *out), void *out, char *message, size_t size);

/* For take(): refuses the file as a whole. What was said before stays. Returns -EINVAL. */
__attribute__((format(printf, 2, 3))) int lw_text_file_refuse(cfg_t *cfg, const char *format, ...);

/* True if the file looks like one of this kind: its first words are its format line. */
bool lw_text_file_is(const struct lw_text_file_kind *kind, const char *path);

/* Values that stand in more than one kind; cfg_validate_callback_t. */
int lw_text_check_version(cfg_t *cfg, cfg_opt_t *opt);
int lw_text_check_bit_rate(cfg_t *cfg, cfg_opt_t *opt);
int lw_text_check_ms(cfg_t *cfg, cfg_opt_t *opt);         /* milliseconds from 0 to a day */
int lw_text_check_length(cfg_t *cfg, cfg_opt_t *opt);     /* bytes of a frame, the last of a list */

int lw_text_check_name(cfg_t *cfg, cfg_opt_t *opt);       /* fits in LW_NAME_MAX */

/* A value in milliseconds, in nanoseconds. */
uint64_t lw_text_ns(cfg_t *section, const char *name);

#endif
