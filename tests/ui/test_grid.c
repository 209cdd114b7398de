/* SPDX-License-Identifier: MIT
 *
 * Cells: text is clipped to its rectangle, one column a character whatever bytes it is made of, and screens become text
 * as they look.
 */
#include "drawing.h"
#include "loomwatch/ui/glyphs.h"
#include "random_event.h"

#include <errno.h>
#include <locale.h>
#include <wchar.h>

enum { ROUNDS = 4000, TEXT = 24 };

static int set_up(void **state)
{
    *state = drawing_create();
    return 0;
}

static int tear_down(void **state)
{
    drawing_destroy(*state);
    return 0;
}

static struct lw_grid *cleared(struct drawing *drawing, int w, int h)
{
    struct lw_grid *grid = drawing_begin(drawing, w, h);
    lw_grid_clear(grid);
    return grid;
}

static bool is_within(struct lw_rect rect, int x, int y)
{
    return x >= rect.x && x < rect.x + rect.w && y >= rect.y && y < rect.y + rect.h;
}

static void random_text(uint64_t *seed, char out[TEXT])
{
    random_fill(seed, (uint8_t *)out, TEXT - 1);
    out[TEXT - 1] = '\0';
}

static void grid_text_stays_in_its_rectangle(void **state)
{
    struct drawing *drawing = *state;
    uint64_t seed = 7;
    for (int round = 0; round < ROUNDS; round++) {
        struct lw_grid *grid = cleared(drawing, 1 + (int)random_below(&seed, 20), 1 + (int)random_below(&seed, 8));
        struct lw_rect rect = { (int)random_below(&seed, 24) - 2, (int)random_below(&seed, 12) - 2,
                                (int)random_below(&seed, 20), (int)random_below(&seed, 8) };
        int x = (int)random_below(&seed, 20) - 5, y = (int)random_below(&seed, 12) - 2;
        char text[TEXT];
        random_text(&seed, text);
        assert_int_equal(lw_grid_put(grid, rect, x, y, LW_ROLE_ALARM, text), x + lw_text_columns(text));
        lw_grid_put_right(grid, rect, y, LW_ROLE_ALARM, text);
        int rows = lw_grid_put_wrapped(grid, rect, LW_ROLE_ALARM, text);
        assert_in_range(rows, 0, rect.h);
        lw_grid_fill(grid, rect, 0, LW_ROLE_ALARM);
        assert_true(drawing_is_guarded(drawing));
        for (int i = 0; i < grid->w * grid->h; i++)
            assert_true((grid->cells[i].role == LW_ROLE_ALARM) == is_within(rect, i % grid->w, i / grid->w));
    }
}

/* What is put, and what is seen of it; every '?' and every letter is one column. */
static void grid_utf8_becomes_one_column_a_character(void **state)
{
    static const struct { const char *put, *seen; int columns; } rows[] = {
        { "plain", "plain", 5 },
        { "\xC2\xB5s \xC3\x97 \xE2\x96\xAA", "\xC2\xB5s \xC3\x97 \xE2\x96\xAA", 6 },
        { "Gr\xC3\xB6\xC3\x9F" "e \xCE\xA9 \xD0\x96", "Gr\xC3\xB6\xC3\x9F" "e \xCE\xA9 \xD0\x96", 9 },
        { "a\tb\x1B[31m\x7F", "a?b?[31m?", 9 },
        { "a\xC2\x9B" "b", "a?b", 3 },                   /* C1 control: CSI */
        { "e\xCC\x81", "e?", 2 },                        /* combining acute */
        { "\xE2\x83\x9D", "?", 1 },                      /* combining enclosing circle */
        { "\xE6\xA9\x9F\xE6\xA2\xB0", "??", 2 },         /* two columns each */
        { "\xF0\x9F\x9A\x9C", "?", 1 },                  /* tractor */
        { "\xE2\x9A\xA1", "?", 1 },                      /* high voltage sign: wide, and in the lower plane */
        { "\xE2\x80\x8B" "\xEF\xBB\xBF" "\xE2\x80\xAE", "???", 3 },   /* zero width, BOM, right-to-left override */
        { "\xC3", "?", 1 }, { "\xC3(", "?(", 2 }, { "\xE2\x96", "?", 1 }, { "\xE2\x96z", "?z", 2 },
        { "\x80\xBF", "??", 2 }, { "\xFE\xFF", "??", 2 },
        { "\xC0\xAF", "??", 2 }, { "\xE0\x81\x81", "?", 1 }, { "\xF0\x80\x81\x81", "?", 1 },   /* overlong */
        { "\xED\xA0\x80", "?", 1 },                      /* half of a surrogate pair */
        { "\xF4\x90\x80\x80", "?", 1 }, { "\xF8\x81\x81\x81", "?", 1 },   /* beyond Unicode */
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_grid *grid = cleared(*state, 20, 1);
        assert_int_equal(lw_text_columns(rows[i].put), rows[i].columns);
        assert_int_equal(lw_grid_put(grid, lw_grid_rect(grid), 0, 0, LW_ROLE_NORMAL, rows[i].put), rows[i].columns);
        char text[128];
        lw_grid_to_text(grid, false, text, sizeof(text));
        text[strlen(text) - 1] = '\0';
        assert_string_equal(text, rows[i].seen);
    }
}

static size_t encode(uint32_t c, char out[5])
{
    static const uint8_t lead[] = { 0, 0xC0, 0xE0, 0xF0 };
    size_t n = c < 0x80 ? 0 : c < 0x800 ? 1 : c < 0x10000 ? 2 : 3;
    out[0] = (char)(lead[n] | c >> 6 * n);
    for (size_t i = 1; i <= n; i++)
        out[i] = (char)(0x80 | (c >> 6 * (n - i) & 0x3F));
    out[n + 1] = '\0';
    return n + 1;
}

/* Held against the C library's own table. */
static void grid_every_character_shown_is_one_column_wide(void **state)
{
    struct lw_grid *grid = cleared(*state, 4, 1);
    if (!setlocale(LC_CTYPE, "C.UTF-8"))
        skip();
    for (uint32_t c = 1; c <= 0x110000; c++) {
        char utf8[5];
        encode(c, utf8);
        lw_grid_put(grid, lw_grid_rect(grid), 0, 0, LW_ROLE_NORMAL, utf8);
        uint32_t seen = grid->cells[0].glyph;
        assert_true(seen == c || seen == '?');
        if (seen == c && wcwidth((wchar_t)c) != 1)
            fail_msg("U+%04X is shown, but takes %d columns", (unsigned)c, wcwidth((wchar_t)c));
    }
    setlocale(LC_CTYPE, "C");
}

static void grid_letters_of_europe_are_shown(void **state)
{
    static const uint32_t shown[][2] = {
        { 0x20, 0x7E }, { 0xA1, 0xAC }, { 0xAE, 0x17F }, { 0x391, 0x3A1 }, { 0x3A3, 0x3CE }, { 0x400, 0x45F },
        { 0x2018, 0x2022 }, { 0x20AC, 0x20AC }, { 0x2190, 0x2193 }, { 0x2500, 0x257F }, { 0x2581, 0x2588 },
        { 0x25AA, 0x25AB },
    };
    struct lw_grid *grid = cleared(*state, 4, 1);
    for (size_t i = 0; i < N_ROWS(shown); i++)
        for (uint32_t c = shown[i][0]; c <= shown[i][1]; c++) {
            char utf8[5];
            encode(c, utf8);
            lw_grid_put(grid, lw_grid_rect(grid), 0, 0, LW_ROLE_NORMAL, utf8);
            if (grid->cells[0].glyph != c)
                fail_msg("U+%04X is not shown", (unsigned)c);
        }
}

static void grid_any_bytes_take_at_most_a_column_each(void **state)
{
    uint64_t seed = 99;
    (void)state;
    for (int round = 0; round < ROUNDS; round++) {
        char text[TEXT];
        random_text(&seed, text);
        size_t n = strlen(text);
        assert_in_range(lw_text_columns(text), (n + 3) / 4, n);
    }
}

static void grid_ascii_replaces_as_it_is_put(void **state)
{
    struct lw_grid *grid = cleared(*state, 10, 1);
    grid->is_ascii = true;
    lw_grid_put(grid, lw_grid_rect(grid), 0, 0, LW_ROLE_NORMAL, "\xE2\x96\xAA\xC3\x97\xE2\x80\x94\xC3\x9F");
    lw_grid_fill(grid, (struct lw_rect){ 5, 0, 2, 1 }, LW_GLYPH_RULE, LW_ROLE_DIM);
    assert_string_equal(drawing_text(*state), "#x-? --\n");
    grid->is_ascii = false;
}

static void grid_fill_without_a_glyph_keeps_the_text(void **state)
{
    struct lw_grid *grid = cleared(*state, 6, 2);
    lw_grid_put(grid, lw_grid_rect(grid), 1, 1, LW_ROLE_NORMAL, "dark");
    lw_grid_fill(grid, (struct lw_rect){ 2, 0, 3, 9 }, 0, LW_ROLE_PAUSED);
    char roles[64];
    assert_string_equal(drawing_text(*state), "\n dark\n");
    lw_grid_to_text(grid, true, roles, sizeof(roles));
    assert_string_equal(roles, "..PPP\n..PPP\n");
}

static void grid_put_right_ends_at_the_edge(void **state)
{
    struct lw_grid *grid = cleared(*state, 8, 2);
    assert_int_equal(lw_grid_put_right(grid, lw_grid_rect(grid), 0, LW_ROLE_NORMAL, "\xC2\xB5s"), 6);
    assert_int_equal(lw_grid_put_right(grid, lw_grid_rect(grid), 1, LW_ROLE_NORMAL, "longer than that"), 0);
    assert_string_equal(drawing_text(*state), "      \xC2\xB5s\nlonger t\n");
}

static void grid_wrapped_text_breaks_at_spaces(void **state)
{
    struct lw_grid *grid = cleared(*state, 10, 3);
    int rows = lw_grid_put_wrapped(grid, lw_grid_rect(grid), LW_ROLE_NORMAL, "the hopper control is silent again");
    assert_int_equal(rows, 3);
    assert_string_equal(drawing_text(*state), "the hopper\ncontrol is\nsilent\n");
    grid = cleared(*state, 40, 3);
    assert_int_equal(lw_grid_put_wrapped(grid, lw_grid_rect(grid), LW_ROLE_NORMAL, "one row"), 1);
    assert_int_equal(lw_grid_put_wrapped(grid, lw_grid_rect(grid), LW_ROLE_NORMAL, ""), 0);
}

static void grid_text_is_cut_as_snprintf_cuts(void **state)
{
    struct lw_grid *grid = cleared(*state, 5, 2);
    char buf[32];
    lw_grid_put(grid, lw_grid_rect(grid), 0, 0, LW_ROLE_STRONG, "abcde");
    for (size_t size = 0; size < 9; size++) {
        memset(buf, 'Z', sizeof(buf));
        assert_int_equal(lw_grid_to_text(grid, false, buf, size), 7);
        assert_int_equal(buf[size], 'Z');
        if (size > 0)
            assert_int_equal(strlen(buf), size - 1 < 7 ? size - 1 : 7);
    }
}

static void grid_of_no_size_takes_everything(void **state)
{
    (void)state;
    static const int sizes[][2] = { { 0, 0 }, { 0, 5 }, { 5, 0 }, { -1, 4 }, { -3, -3 } };
    struct lw_grid grid;
    char text[8];
    lw_grid_init(&grid);
    for (size_t i = 0; i < N_ROWS(sizes); i++) {
        assert_int_equal(lw_grid_resize(&grid, sizes[i][0], sizes[i][1]), 0);
        assert_int_equal(grid.w * grid.h, 0);
        lw_grid_put(&grid, (struct lw_rect){ 0, 0, 9, 9 }, 0, 0, LW_ROLE_NORMAL, "x");
        lw_grid_clear(&grid);
        assert_int_equal(lw_grid_to_text(&grid, false, text, sizeof(text)), 0);
    }
    assert_int_equal(lw_grid_resize(&grid, 30, 3), 0);
    assert_int_equal(lw_grid_to_text(&grid, false, text, sizeof(text)), 3);
    lw_grid_finish(&grid);
    lw_grid_finish(&grid);
    assert_null(grid.cells);
}

int main(void)
{
#define DRAWN(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        DRAWN(grid_text_stays_in_its_rectangle),
        DRAWN(grid_utf8_becomes_one_column_a_character),
        DRAWN(grid_every_character_shown_is_one_column_wide),
        DRAWN(grid_letters_of_europe_are_shown),
        cmocka_unit_test(grid_any_bytes_take_at_most_a_column_each),
        DRAWN(grid_ascii_replaces_as_it_is_put),
        DRAWN(grid_fill_without_a_glyph_keeps_the_text),
        DRAWN(grid_put_right_ends_at_the_edge),
        DRAWN(grid_wrapped_text_breaks_at_spaces),
        DRAWN(grid_text_is_cut_as_snprintf_cuts),
        cmocka_unit_test(grid_of_no_size_takes_everything),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
