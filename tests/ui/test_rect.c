/* SPDX-License-Identifier: MIT
 *
 * Cutting rectangles: whatever is cut off in whatever order, the strips and the rest cover the whole and never overlap.
 */
#include "cases.h"
#include "loomwatch/ui/rect.h"
#include "random_event.h"

enum { SIDE = 40, ROUNDS = 3000, CUTS = 9 };

static void cover(unsigned char cells[SIDE][SIDE], struct lw_rect rect)
{
    assert_true(rect.w >= 0 && rect.h >= 0);
    for (int y = rect.y; y < rect.y + rect.h; y++)
        for (int x = rect.x; x < rect.x + rect.w; x++) {
            assert_true(x >= 0 && y >= 0 && x < SIDE && y < SIDE);
            cells[y][x]++;
        }
}

static struct lw_rect cut(struct lw_rect *rect, unsigned side, int n)
{
    switch (side) {
    case 0: return lw_rect_take_top(rect, n);
    case 1: return lw_rect_take_bottom(rect, n);
    default: return lw_rect_take_left(rect, n);
    }
}

static void rect_strips_cover_all_and_never_overlap(void **state)
{
    uint64_t seed = 40;
    (void)state;
    for (int round = 0; round < ROUNDS; round++) {
        unsigned char cells[SIDE][SIDE] = { { 0 } };
        struct lw_rect whole = { (int)random_below(&seed, 5), (int)random_below(&seed, 5),
                                 (int)random_below(&seed, SIDE - 4), (int)random_below(&seed, SIDE - 4) };
        struct lw_rect rest = whole;
        for (int i = 0; i < CUTS; i++)
            cover(cells, cut(&rest, random_below(&seed, 3), (int)random_below(&seed, 14) - 3));
        cover(cells, rest);
        for (int y = 0; y < SIDE; y++)
            for (int x = 0; x < SIDE; x++) {
                bool is_inside = x >= whole.x && x < whole.x + whole.w && y >= whole.y && y < whole.y + whole.h;
                assert_int_equal(cells[y][x], is_inside);
            }
    }
}

static void rect_strip_larger_than_rest_takes_all(void **state)
{
    (void)state;
    struct lw_rect rect = { 2, 3, 10, 4 };
    struct lw_rect strip = lw_rect_take_top(&rect, 100);
    assert_int_equal(strip.h, 4);
    assert_int_equal(strip.w, 10);
    assert_int_equal(rect.h, 0);
    assert_int_equal(lw_rect_take_bottom(&rect, 1).h, 0);
    assert_int_equal(rect.y, 7);
}

static void rect_strip_of_nothing_or_less_is_empty(void **state)
{
    static const int none[] = { 0, -1, -1000 };
    (void)state;
    for (size_t i = 0; i < N_ROWS(none); i++)
        for (unsigned side = 0; side < 3; side++) {
            struct lw_rect rect = { 2, 3, 10, 4 };
            struct lw_rect strip = cut(&rect, side, none[i]);
            assert_int_equal(strip.w * strip.h, 0);
            assert_memory_equal(&rect, (&(struct lw_rect){ 2, 3, 10, 4 }), sizeof(rect));
        }
}

static void rect_strips_lie_where_their_names_say(void **state)
{
    (void)state;
    struct lw_rect rect = { 0, 0, 80, 24 };
    assert_int_equal(lw_rect_take_bottom(&rect, 1).y, 23);
    assert_int_equal(lw_rect_take_top(&rect, 2).y, 0);
    assert_int_equal(lw_rect_take_left(&rect, 5).x, 0);
    assert_memory_equal(&rect, (&(struct lw_rect){ 5, 2, 75, 21 }), sizeof(rect));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rect_strips_cover_all_and_never_overlap),
        cmocka_unit_test(rect_strip_larger_than_rest_takes_all),
        cmocka_unit_test(rect_strip_of_nothing_or_less_is_empty),
        cmocka_unit_test(rect_strips_lie_where_their_names_say),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
