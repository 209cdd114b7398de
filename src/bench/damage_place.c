/* SPDX-License-Identifier: MIT
 *
 * Which unit or point a person means: the whole name, with dashes or spaces, or as many of its words as tell it apart.
 * For damage_parse.c, and for whoever reads a bench file.
 */
#include "damage_place.h"

#include <ctype.h>
#include <errno.h>
#include <string.h>

/* In small letters, one dash for each run of spaces, dashes and underscores. */
static void normalize(const char *text, char out[LW_DAMAGE_TEXT])
{
    size_t n = 0;
    for (; *text && n < LW_DAMAGE_TEXT - 1; text++) {
        bool is_gap = strchr(" -_\t", *text) != NULL;
        if (!is_gap)
            out[n++] = (char)tolower((unsigned char)*text);
        else if (n > 0 && out[n - 1] != '-')
            out[n++] = '-';
    }
    out[n - (n > 0 && out[n - 1] == '-')] = '\0';
}

/* Every word of part stands in whole too, in the same order. */
static bool has_words(const char *whole, const char *part)
{
    while (*part) {
        size_t n = strcspn(part, "-"), m;
        for (;; whole += m + (whole[m] == '-')) {
            if (*whole == '\0')
                return false;
            m = strcspn(whole, "-");
            if (m == n && strncmp(whole, part, n) == 0)
                break;
        }
        whole += m + (whole[m] == '-');
        part += n + (part[n] == '-');
    }
    return true;
}

/* The names stand at equal distances in memory. Returns the index, -1 none, -2 several. */
static int find(const char *first, size_t distance, unsigned n, const char *text, bool is_whole)
{
    char wanted[LW_DAMAGE_TEXT], name[LW_DAMAGE_TEXT];
    int found = -1;
    normalize(text, wanted);
    for (unsigned i = 0; i < n && wanted[0]; i++) {
        normalize(first + i * distance, name);
        if (is_whole ? strcmp(name, wanted) == 0 : name[0] && has_words(name, wanted))
            found = found == -1 ? (int)i : -2;
    }
    return found;
}

static int find_unit(const struct lw_plant *plant, const char *text, bool is_whole)
{
    return find(plant->units[0].name, sizeof plant->units[0], plant->n_units, text, is_whole);
}

static int find_point(const struct lw_plant *plant, const char *text, bool is_whole)
{
    return find(plant->points[0].name, sizeof plant->points[0], plant->n_points, text, is_whole);
}

int lw_damage_find_unit(const struct lw_plant *plant, const char *text)
{
    int found = find_unit(plant, text, true);
    return found >= 0 ? found : find_unit(plant, text, false);
}

int lw_damage_find_point(const struct lw_plant *plant, const char *text)
{
    int found = find_point(plant, text, true);
    return found >= 0 ? found : find_point(plant, text, false);
}

int lw_damage_name_place(const struct lw_plant *plant, unsigned places, const char *text, struct lw_damage *out)
{
    bool is_unclear = false;
    for (int round = 0; round < 4; round++) {
        bool is_whole = round < 2, is_unit = round % 2 == 0;
        enum lw_damage_place place = is_unit ? LW_AT_UNIT : LW_AT_POINT;
        if (!(places & 1u << place))
            continue;
        int found = is_unit ? find_unit(plant, text, is_whole) : find_point(plant, text, is_whole);
        if (found >= 0 && !is_unclear) {
            out->place = (uint8_t)place;
            out->index = (uint8_t)found;
            return 0;
        }
        is_unclear |= found == -2;
    }
    return is_unclear ? -EEXIST : -ENOENT;
}
