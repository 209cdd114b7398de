/* SPDX-License-Identifier: MIT
 *
 * The reading of one fault, shared by damage_parse.c and damage_value.c only.
 */
#ifndef LOOMWATCH_SRC_BENCH_DAMAGE_READER_H
#define LOOMWATCH_SRC_BENCH_DAMAGE_READER_H

#include "loomwatch/bench/damage.h"

enum { LW_DAMAGE_WORDS = 24 };

struct lw_damage_reader {
    const struct lw_plant *plant;
    const struct lw_damage_info *info;
    struct lw_damage *out;
    char *message;
    char text[LW_DAMAGE_TEXT];           /* cut into words */
    const char *words[LW_DAMAGE_WORDS];
    unsigned n_words, next;
};

/* Says what is wrong. Returns -EINVAL. */
__attribute__((format(printf, 2, 3))) int lw_damage_refuse(struct lw_damage_reader *reader, const char *format, ...);

/* The word that is to be read next; "" at the end. */
const char *lw_damage_word(const struct lw_damage_reader *reader);

/* Reads the value, if the next word is one, else sets the default. Returns 0 or -EINVAL. */
int lw_damage_read_value(struct lw_damage_reader *reader);

#endif
