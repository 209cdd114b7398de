/* SPDX-License-Identifier: MIT
 *
 * What the files that read a bench file share: bench_file.c the reading, bench_file_check.c the values as they come,
 * bench_file_message.c those of messages, bench_pattern.c the words of a pattern, bench_file_take.c the plant from all that.
 */
#ifndef LOOMWATCH_SRC_SOURCES_BENCH_FILE_PARTS_H
#define LOOMWATCH_SRC_SOURCES_BENCH_FILE_PARTS_H

#include "loomwatch/bench/plant.h"

#include <confuse.h>

enum { LW_BENCH_MAX_NOTES = LW_PLANT_MAX_MESSAGES * LW_PATTERNS + LW_PLANT_MAX_STEPS, LW_BENCH_WRONG = 160 };

/* The line of a value that can only be judged when everything is read. */
struct lw_bench_note {
    const cfg_t *section;
    unsigned index;
    int line;
};

/* The reading under way. libconfuse calls back without an argument of ours, so there is one, and it is global. */
struct lw_bench_reading {
    cfg_t *root;
    const char *name;        /* of the file, for messages */
    char *message;           /* empty until something is wrong */
    size_t size;
    unsigned n_messages, n_notes;
    struct lw_bench_note notes[LW_BENCH_MAX_NOTES];
};
extern struct lw_bench_reading lw_bench_reading;

/* Says what is wrong in a line of the file; the first one counts. Returns -EINVAL. */
__attribute__((format(printf, 2, 3))) int lw_bench_refuse(int line, const char *format, ...);

void lw_bench_note(const cfg_t *section, unsigned index);            /* the line being read */
int lw_bench_noted_line(const cfg_t *section, unsigned index);

/* "8s", "250ms", "2min"; at most a week. Returns 0 or -EINVAL. */
int lw_bench_time(const char *text, uint64_t *out_ns);

/* Values as they come; cfg_validate_callback_t. */
int lw_bench_check_number(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_title(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_version(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_at(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_tells(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_time(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_point(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_trunk(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_terminator(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_unit(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_step(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_do(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_name(cfg_t *cfg, const char *what, const char *name);   /* 0 or -1 */

/* In bench_file_message.c */
int lw_bench_check_id(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_data(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_pattern(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_check_message(cfg_t *cfg, cfg_opt_t *opt);
int lw_bench_data(const char *text, uint8_t out[LW_FRAME_MAX_LEN]);     /* bytes in "0A FF", or -1 */
unsigned lw_bench_length(cfg_t *message);                               /* as written, or that of the data */

/* Reads the words of a pattern into out; of_unit (LW_PLANT_NAME bytes) gets the name of the unit that a "present" speaks
 * of, else "". Returns 0, or -EINVAL with wrong (LW_BENCH_WRONG bytes): what is wrong and what to write. */
int lw_bench_pattern(const char *text, struct lw_pattern *out, char *of_unit, char *wrong);
unsigned lw_bench_pattern_end(const struct lw_pattern *pattern);        /* one after its last byte */

/* Everything was read and is in range: makes the plant of it. Returns 0 or -EINVAL. */
int lw_bench_take(cfg_t *root, struct lw_plant *out);

#endif
