/* SPDX-License-Identifier: MIT
 *
 * The words by which a bench file says what moves in the data of a message: "counter byte 6 bits 0F". Called by the
 * bench_file_*.c only.
 */
#include "bench_file_parts.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum word { WORD_BYTE, WORD_BITS, WORD_BY, WORD_EVERY, WORD_OF, N_WORDS };

static const char *const words[N_WORDS] = { "byte", "bits", "by", "every", "of" };

/* Which words each kind takes, and which it cannot do without. */
static const struct {
    const char *name;
    uint8_t kind, may, must;
    const char *example;
} kinds[] = {
    { "counter", LW_PATTERN_COUNTER, 1 << WORD_BYTE | 1 << WORD_BITS, 1 << WORD_BYTE, "counter byte 6 bits 0F" },
    { "drift", LW_PATTERN_DRIFT, 1 << WORD_BYTE | 1 << WORD_BITS | 1 << WORD_BY | 1 << WORD_EVERY,
      1 << WORD_BYTE | 1 << WORD_BY | 1 << WORD_EVERY, "drift byte 0 by 620 every 9s" },
    { "toggle", LW_PATTERN_TOGGLE, 1 << WORD_BYTE | 1 << WORD_BITS | 1 << WORD_EVERY, 1 << WORD_BYTE | 1 << WORD_EVERY,
      "toggle byte 0 bits 01 every 7s" },
    { "present", LW_PATTERN_PRESENCE, 1 << WORD_BYTE | 1 << WORD_BITS | 1 << WORD_OF, 1 << WORD_BYTE | 1 << WORD_OF,
      "present byte 1 bits 01 of hopper-control" },
    { "checksum", LW_PATTERN_CHECKSUM, 1 << WORD_BYTE, 1 << WORD_BYTE, "checksum byte 7" },
};

enum { N_KINDS = sizeof kinds / sizeof *kinds };

static bool read_whole(const char *text, int base, unsigned long max, unsigned long *out)
{
    char *end;
    errno = 0;
    *out = strtoul(text, &end, base);
    return text[0] != '-' && text[0] != '+' && end != text && *end == '\0' && errno == 0 && *out <= max;
}

static bool take_every(const char *text, struct lw_pattern *out)
{
    uint64_t ns;
    if (lw_bench_time(text, &ns) != 0 || ns < 1000000)
        return false;
    out->every_ms = (uint32_t)(ns / 1000000);
    return true;
}

static bool take_value(enum word word, const char *value, struct lw_pattern *out)
{
    unsigned long number = 0;
    bool is_good = word == WORD_BYTE   ? read_whole(value, 10, LW_FRAME_MAX_LEN - 1, &number)
                   : word == WORD_BITS ? read_whole(value, 16, UINT8_MAX, &number) && number > 0
                                       : read_whole(value, 10, UINT16_MAX, &number);
    if (word == WORD_BYTE)
        out->byte = (uint8_t)number;
    else if (word == WORD_BITS)
        out->mask = (uint8_t)number;
    else
        out->swing = (uint16_t)number;
    return is_good;
}

/* The rest of the text: a unit's name may have spaces. */
static bool take_name(const char *first, char *save, char *of_unit)
{
    int n = snprintf(of_unit, LW_PLANT_NAME, "%s%s%s", first, save && *save ? " " : "", save ? save : "");
    return n < LW_PLANT_NAME;
}

static int find_word(const char *text)
{
    for (int i = 0; i < N_WORDS; i++)
        if (strcmp(text, words[i]) == 0)
            return i;
    return -1;
}

static unsigned find_kind(const char *text)
{
    unsigned i = 0;
    while (i < N_KINDS && strcmp(text, kinds[i].name) != 0)
        i++;
    return i;
}

int lw_bench_pattern(const char *text, struct lw_pattern *out, char *of_unit, char *wrong)
{
    char copy[LW_PLANT_WORDS], *save = NULL;
    memset(out, 0, sizeof *out);
    of_unit[0] = '\0';
    snprintf(copy, sizeof copy, "%s", text);
    const char *name = strtok_r(copy, " \t", &save);
    unsigned kind = name ? find_kind(name) : N_KINDS, seen = 0;
    if (kind == N_KINDS || strlen(text) >= sizeof copy) {
        snprintf(wrong, LW_BENCH_WRONG, "pattern \"%.32s\": write one that begins with counter, drift, toggle, present or checksum", text);
        return -EINVAL;
    }
    out->kind = kinds[kind].kind;
    bool is_good = true;
    for (char *key = strtok_r(NULL, " \t", &save); key && is_good; key = strtok_r(NULL, " \t", &save)) {
        const char *value = strtok_r(NULL, " \t", &save);
        int word = find_word(key);
        is_good = word >= 0 && value && (kinds[kind].may & 1 << word) && !(seen & 1u << word);
        if (!is_good)
            break;
        seen |= 1u << word;
        if (word == WORD_OF) {
            is_good = take_name(value, save, of_unit);
            break;
        }
        is_good = word == WORD_EVERY ? take_every(value, out) : take_value((enum word)word, value, out);
    }
    if (!is_good || (seen & kinds[kind].must) != kinds[kind].must) {
        snprintf(wrong, LW_BENCH_WRONG, "pattern \"%.48s\": write it like \"%s\"", text, kinds[kind].example);
        return -EINVAL;
    }
    if (out->mask == 0 && (kinds[kind].may & 1 << WORD_BITS) && out->kind != LW_PATTERN_DRIFT)
        out->mask = 0xFF;
    return 0;
}

unsigned lw_bench_pattern_end(const struct lw_pattern *pattern)
{
    return pattern->byte + (pattern->kind == LW_PATTERN_DRIFT && pattern->mask == 0 ? 2u : 1u);
}
