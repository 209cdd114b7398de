/* SPDX-License-Identifier: MIT
 *
 * Glyphs: each that means something has an ASCII character that means the same, and no two conditions share one.
 */
#include "cases.h"
#include "loomwatch/ui/glyphs.h"

static const uint32_t conditions[] = {
    LW_GLYPH_ALIVE, LW_GLYPH_EVENT, LW_GLYPH_UNEXPECTED, LW_GLYPH_ABSENT, LW_GLYPH_LATE, LW_GLYPH_CHANGED,
    LW_GLYPH_DOUBLED, LW_GLYPH_QUIET, LW_GLYPH_CHOSEN,
};

static void glyphs_of_conditions_differ_in_ascii_too(void **state)
{
    (void)state;
    for (size_t a = 0; a < N_ROWS(conditions); a++) {
        char ascii = lw_glyph_ascii(conditions[a]);
        assert_true(ascii > ' ' && ascii < 0x7F && ascii != '?');
        for (size_t b = a + 1; b < N_ROWS(conditions); b++) {
            assert_int_not_equal(conditions[a], conditions[b]);
            assert_int_not_equal(ascii, lw_glyph_ascii(conditions[b]));
        }
    }
}

/* Bits: never, ever, now; and the frame of the screen. */
static void glyphs_of_bits_and_rules_have_stand_ins(void **state)
{
    static const uint32_t glyphs[] = { LW_GLYPH_BIT_NEVER, LW_GLYPH_BIT_EVER, LW_GLYPH_BIT_NOW, LW_GLYPH_RULE };
    (void)state;
    for (size_t a = 0; a < N_ROWS(glyphs); a++)
        for (size_t b = 0; b < N_ROWS(glyphs); b++)
            assert_true(a == b || lw_glyph_ascii(glyphs[a]) != lw_glyph_ascii(glyphs[b]));
}

static void glyphs_of_text_have_stand_ins(void **state)
{
    /* dash for unknown, micro, plus-minus, times, ohm, arrows */
    static const uint32_t glyphs[] = { 0x2014, 0xB5, 0xB1, 0xD7, 0x3A9, 0x2190, 0x2191, 0x2192, 0x2193 };
    (void)state;
    for (size_t i = 0; i < N_ROWS(glyphs); i++)
        assert_int_not_equal(lw_glyph_ascii(glyphs[i]), '?');
}

static void glyph_bars_grow_and_stay_in_range(void **state)
{
    (void)state;
    assert_int_equal(lw_glyph_bar(0), ' ');
    assert_int_equal(lw_glyph_bar(-7), ' ');
    for (int level = 1; level <= LW_N_BARS; level++) {
        assert_int_equal(lw_glyph_bar(level), 0x2580 + level);
        assert_true(lw_glyph_ascii(lw_glyph_bar(level)) != '?' && lw_glyph_ascii(lw_glyph_bar(level)) != ' ');
    }
    assert_int_equal(lw_glyph_bar(1000), lw_glyph_bar(LW_N_BARS));
}

static void glyph_of_ascii_is_itself(void **state)
{
    (void)state;
    for (uint32_t c = 0; c < 0x80; c++)
        assert_int_equal(lw_glyph_ascii(c), c);
    assert_int_equal(lw_glyph_ascii(0x4E00), '?');
    assert_int_equal(lw_glyph_ascii(0xFFFFFFFF), '?');
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(glyphs_of_conditions_differ_in_ascii_too),
        cmocka_unit_test(glyphs_of_bits_and_rules_have_stand_ins),
        cmocka_unit_test(glyphs_of_text_have_stand_ins),
        cmocka_unit_test(glyph_bars_grow_and_stay_in_range),
        cmocka_unit_test(glyph_of_ascii_is_itself),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
