/* SPDX-License-Identifier: MIT
 *
 * Roles and themes: a letter each, a name each, and in every theme roles that must be told apart can be, by more than
 * colour.
 */
#include "cases.h"
#include "loomwatch/ui/tile_look.h"

#include <string.h>

static bool is_same_look(const struct lw_style *a, const struct lw_style *b, bool has_many)
{
    if (a->attributes != b->attributes)
        return false;
    return has_many ? a->foreground == b->foreground && a->background == b->background
                    : a->few_foreground == b->few_foreground && a->few_background == b->few_background;
}

static void theme_each_role_has_a_letter_of_its_own(void **state)
{
    (void)state;
    for (int a = 0; a < LW_N_ROLES; a++) {
        char letter = lw_role_letter((enum lw_role)a);
        assert_true(letter > ' ' && letter < 0x7F && letter != '?');
        for (int b = a + 1; b < LW_N_ROLES; b++)
            assert_int_not_equal(letter, lw_role_letter((enum lw_role)b));
    }
    assert_int_equal(lw_role_letter(LW_N_ROLES), '?');
}

static void theme_is_found_by_its_name(void **state)
{
    (void)state;
    for (int i = 0; i < LW_N_THEMES; i++)
        assert_int_equal(lw_theme_find(lw_themes[i].name), i);
    assert_int_equal(lw_theme_find(""), -1);
    assert_int_equal(lw_theme_find("Default"), -1);
    assert_int_equal(lw_theme_find("mono"), -1);
}

static void theme_colours_are_of_their_palette(void **state)
{
    (void)state;
    for (int i = 0; i < LW_N_THEMES; i++)
        for (int role = 0; role < LW_N_ROLES; role++) {
            const struct lw_style *style = &lw_themes[i].styles[role];
            assert_true(style->foreground >= LW_COLOUR_DEFAULT && style->foreground <= 255);
            assert_true(style->background >= LW_COLOUR_DEFAULT && style->background <= 255);
            assert_true(style->few_foreground >= LW_COLOUR_DEFAULT && style->few_foreground <= 7);
            assert_true(style->few_background >= LW_COLOUR_DEFAULT && style->few_background <= 7);
        }
}

static void theme_monochrome_has_no_colour(void **state)
{
    (void)state;
    for (int role = 0; role < LW_N_ROLES; role++) {
        const struct lw_style *style = &lw_themes[LW_THEME_MONOCHROME].styles[role];
        assert_int_equal(style->foreground & style->background & style->few_foreground & style->few_background,
                         LW_COLOUR_DEFAULT);
    }
}

static void theme_normal_text_has_the_default_background(void **state)
{
    (void)state;
    for (int i = 0; i < LW_N_THEMES; i++)
        assert_int_equal(lw_themes[i].styles[LW_ROLE_NORMAL].background, LW_COLOUR_DEFAULT);
}

/* A lamp off, on, flashing, and flashing as the first; a paused heading; the choice among tiles. */
static void theme_roles_that_stand_side_by_side_differ(void **state)
{
    static const enum lw_role pairs[][2] = {
        { LW_ROLE_LAMP_OFF, LW_ROLE_LAMP_ON }, { LW_ROLE_LAMP_OFF, LW_ROLE_LAMP_BRIGHT },
        { LW_ROLE_LAMP_OFF, LW_ROLE_LAMP_FIRST }, { LW_ROLE_LAMP_ON, LW_ROLE_LAMP_BRIGHT },
        { LW_ROLE_LAMP_ON, LW_ROLE_LAMP_FIRST }, { LW_ROLE_LAMP_BRIGHT, LW_ROLE_LAMP_FIRST },
        { LW_ROLE_LAMP_BRIGHT, LW_ROLE_ALARM }, { LW_ROLE_LAMP_FIRST, LW_ROLE_ALARM },
        { LW_ROLE_NORMAL, LW_ROLE_PAUSED }, { LW_ROLE_NORMAL, LW_ROLE_KEY }, { LW_ROLE_NORMAL, LW_ROLE_CHOSEN },
        { LW_ROLE_NORMAL, LW_ROLE_ALARM }, { LW_ROLE_STRONG, LW_ROLE_ALARM }, { LW_ROLE_NORMAL, LW_ROLE_LAMP_ON },
        { LW_ROLE_TILE_ALIVE, LW_ROLE_CHOSEN }, { LW_ROLE_TILE_EVENT, LW_ROLE_CHOSEN },
        { LW_ROLE_TILE_NEW, LW_ROLE_CHOSEN }, { LW_ROLE_TILE_DARK, LW_ROLE_CHOSEN },
        { LW_ROLE_TILE_LATE, LW_ROLE_CHOSEN }, { LW_ROLE_TILE_CHANGED, LW_ROLE_CHOSEN },
        { LW_ROLE_TILE_QUIET, LW_ROLE_CHOSEN },
    };
    (void)state;
    for (int i = 0; i < LW_N_THEMES; i++)
        for (size_t k = 0; k < N_ROWS(pairs); k++)
            for (int has_many = 0; has_many < 2; has_many++) {
                const struct lw_style *styles = lw_themes[i].styles;
                if (is_same_look(&styles[pairs[k][0]], &styles[pairs[k][1]], has_many))
                    fail_msg("%s: roles %c and %c look the same", lw_themes[i].name, lw_role_letter(pairs[k][0]),
                             lw_role_letter(pairs[k][1]));
            }
}

/* One tile of each condition, as lw_tile_look takes them. */
static const struct lw_tile tiles[] = {
    { .conditions = LW_ABSENT, .is_heard = true },
    { .conditions = LW_UNEXPECTED, .is_heard = true },
    { .conditions = LW_SECOND_SENDER, .is_heard = true },
    { .conditions = LW_LENGTH_CHANGED, .is_heard = true },
    { .conditions = LW_LATE, .is_heard = true },
    { .is_quiet = true, .is_heard = true },
    { .rhythm = LW_RHYTHM_CYCLIC, .is_heard = true },
    { .rhythm = LW_RHYTHM_EVENT, .is_heard = true },
};

/* On a wall without colours, each condition is told by its glyph or by an attribute. */
static void theme_monochrome_tells_every_tile_by_glyph_or_attribute(void **state)
{
    (void)state;
    const struct lw_style *styles = lw_themes[LW_THEME_MONOCHROME].styles;
    for (size_t a = 0; a < N_ROWS(tiles); a++)
        for (size_t b = a + 1; b < N_ROWS(tiles); b++) {
            struct lw_tile_look x = lw_tile_look(&tiles[a]), y = lw_tile_look(&tiles[b]);
            if (x.glyph == y.glyph && styles[x.role].attributes == styles[y.role].attributes)
                fail_msg("\"%s\" and \"%s\" look the same without colours", x.word, y.word);
        }
}

/* What is alive is a filled tile; what went dark is not: the hole in the wall. */
static void theme_tile_gone_dark_is_a_hole_in_every_theme(void **state)
{
    (void)state;
    for (int i = 0; i < LW_N_THEMES; i++) {
        const struct lw_style *alive = &lw_themes[i].styles[LW_ROLE_TILE_ALIVE];
        const struct lw_style *dark = &lw_themes[i].styles[LW_ROLE_TILE_DARK];
        assert_true(alive->background != LW_COLOUR_DEFAULT || alive->attributes & LW_REVERSE);
        assert_true(dark->background == LW_COLOUR_DEFAULT && !(dark->attributes & LW_REVERSE));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(theme_each_role_has_a_letter_of_its_own),
        cmocka_unit_test(theme_is_found_by_its_name),
        cmocka_unit_test(theme_colours_are_of_their_palette),
        cmocka_unit_test(theme_monochrome_has_no_colour),
        cmocka_unit_test(theme_normal_text_has_the_default_background),
        cmocka_unit_test(theme_roles_that_stand_side_by_side_differ),
        cmocka_unit_test(theme_monochrome_tells_every_tile_by_glyph_or_attribute),
        cmocka_unit_test(theme_tile_gone_dark_is_a_hole_in_every_theme),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
