/* SPDX-License-Identifier: MIT
 *
 * Choosing and filtering: the choice always is a message that the filter lets through, and no key leads out of the wall.
 */
#include "cases.h"
#include "loomwatch/ui/views.h"
#include "random_event.h"

#include <stdio.h>
#include <stdlib.h>

enum { TILES = 30, ROUNDS = 20000 };

static struct lw_snapshot *with_tiles(size_t n)
{
    struct lw_snapshot *snapshot = calloc(1, sizeof(*snapshot));
    if (!snapshot)
        abort();
    snapshot->n_buses = 1;
    snapshot->n_tiles = n;
    for (size_t i = 0; i < n; i++) {
        snapshot->tiles[i].key.id = 0x100 + (uint32_t)i;
        snapshot->tiles[i].is_heard = true;
        snapshot->tiles[i].rhythm = LW_RHYTHM_CYCLIC;
    }
    return snapshot;
}

static int set_up(void **state)
{
    struct lw_snapshot *snapshot = with_tiles(TILES);
    snapshot->tiles[3].conditions = LW_ABSENT;
    snapshot->tiles[7].conditions = LW_UNEXPECTED;
    snprintf(snapshot->tiles[9].name, LW_NAME_MAX, "Brush speed");
    *state = snapshot;
    return 0;
}

static int tear_down(void **state)
{
    free(*state);
    return 0;
}

static long chosen(const struct lw_view_state *view, const struct lw_snapshot *snapshot)
{
    for (size_t i = 0; view->has_choice && i < snapshot->n_tiles; i++)
        if (lw_id_key_equal(snapshot->tiles[i].key, view->choice))
            return (long)i;
    return -1;
}

static void filter_by(struct lw_view_state *view, const char *text)
{
    snprintf(view->filter, sizeof(view->filter), "%s", text);
}

static size_t count_passing(const struct lw_view_state *view, const struct lw_snapshot *snapshot)
{
    size_t n = 0;
    for (size_t i = 0; i < snapshot->n_tiles; i++)
        n += lw_view_state_passes(view, &snapshot->tiles[i]);
    return n;
}

static void view_state_first_move_chooses_an_end(void **state)
{
    static const enum lw_action moves[] = { LW_ACTION_LEFT, LW_ACTION_RIGHT, LW_ACTION_UP, LW_ACTION_DOWN, LW_ACTION_FIRST };
    struct lw_view_state view;
    for (size_t i = 0; i < N_ROWS(moves); i++) {
        lw_view_state_init(&view);
        lw_view_state_choose(&view, *state, moves[i]);
        assert_int_equal(chosen(&view, *state), 0);
    }
    lw_view_state_init(&view);
    lw_view_state_choose(&view, *state, LW_ACTION_LAST);
    assert_int_equal(chosen(&view, *state), TILES - 1);
}

/* Six columns: from the tile, by the move, to the tile. */
static void view_state_moves_over_the_wall_and_stops_at_its_edge(void **state)
{
    static const struct { enum lw_action move; long from, to; } rows[] = {
        { LW_ACTION_RIGHT, 0, 1 },   { LW_ACTION_RIGHT, 5, 6 },    { LW_ACTION_RIGHT, TILES - 1, TILES - 1 },
        { LW_ACTION_LEFT, 0, 0 },    { LW_ACTION_LEFT, 6, 5 },     { LW_ACTION_UP, 2, 2 },
        { LW_ACTION_UP, 8, 2 },      { LW_ACTION_DOWN, 2, 8 },     { LW_ACTION_DOWN, TILES - 3, TILES - 3 },
        { LW_ACTION_FIRST, 17, 0 },  { LW_ACTION_LAST, 17, TILES - 1 },
    };
    const struct lw_snapshot *snapshot = *state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_view_state view;
        lw_view_state_init(&view);
        view.columns_of_wall = 6;
        view.has_choice = true;
        view.choice = snapshot->tiles[rows[i].from].key;
        lw_view_state_choose(&view, snapshot, rows[i].move);
        assert_int_equal(chosen(&view, snapshot), rows[i].to);
    }
}

static void view_state_choice_passes_the_filter_whatever_is_pressed(void **state)
{
    static const char *const filters[] = { "", "10", "absent", "BRUSH", "nothing like it", "alive" };
    const struct lw_snapshot *snapshot = *state;
    struct lw_view_state view;
    uint64_t seed = 3;
    lw_view_state_init(&view);
    for (int round = 0; round < ROUNDS; round++) {
        if (random_below(&seed, 10) == 0) {
            filter_by(&view, filters[random_below(&seed, N_ROWS(filters))]);
            view.has_choice = view.has_choice && random_below(&seed, 2);
        }
        view.columns_of_wall = 1 + (int)random_below(&seed, 40);
        enum lw_action move = LW_ACTION_UP + random_below(&seed, LW_ACTION_LAST - LW_ACTION_UP + 1);
        lw_view_state_choose(&view, snapshot, move);
        if (count_passing(&view, snapshot) == 0)
            continue;
        long at = chosen(&view, snapshot);
        assert_in_range(at, 0, TILES - 1);
        assert_true(lw_view_state_passes(&view, &snapshot->tiles[at]));
    }
}

static void view_state_every_message_is_reached(void **state)
{
    struct lw_view_state view;
    lw_view_state_init(&view);
    for (long i = 0; i < TILES; i++) {
        lw_view_state_choose(&view, *state, LW_ACTION_RIGHT);
        assert_int_equal(chosen(&view, *state), i);
    }
}

static void view_state_empty_wall_has_nothing_to_choose(void **state)
{
    struct lw_snapshot *empty = with_tiles(0);
    struct lw_view_state view;
    (void)state;
    lw_view_state_init(&view);
    for (int move = LW_ACTION_UP; move <= LW_ACTION_LAST; move++)
        lw_view_state_choose(&view, empty, (enum lw_action)move);
    assert_false(view.has_choice);
    free(empty);
}

static void view_state_filter_looks_at_identifier_name_and_condition(void **state)
{
    static const struct { const char *filter; size_t n; } rows[] = {
        { "", TILES }, { "103", 1 }, { "11", 14 }, { "absent", 1 }, { "UNEXPECTED", 1 }, { "brush", 1 },
        { "10a", 1 }, { "10A", 1 }, { "zzz", 0 },
    };
    struct lw_view_state view;
    lw_view_state_init(&view);
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        filter_by(&view, rows[i].filter);
        assert_int_equal(count_passing(&view, *state), rows[i].n);
    }
}

static void type(struct lw_view_state *view, const char *text)
{
    for (; *text != '\0'; text++)
        lw_view_state_type_filter(view, *text);
}

static void view_state_filter_is_typed_corrected_and_kept(void **state)
{
    struct lw_view_state view;
    (void)state;
    lw_view_state_init(&view);
    view.is_typing_filter = true;
    type(&view, "q2 D");
    assert_string_equal(view.filter, "q2 D");
    lw_view_state_type_filter(&view, LW_KEY_BACKSPACE);
    lw_view_state_type_filter(&view, LW_KEY_BACKSPACE);
    assert_string_equal(view.filter, "q2");
    lw_view_state_type_filter(&view, LW_KEY_ENTER);
    assert_false(view.is_typing_filter);
    assert_string_equal(view.filter, "q2");
}

static void view_state_escape_drops_the_filter(void **state)
{
    struct lw_view_state view;
    (void)state;
    lw_view_state_init(&view);
    view.is_typing_filter = true;
    lw_view_state_type_filter(&view, LW_KEY_BACKSPACE);
    type(&view, "2D");
    lw_view_state_type_filter(&view, LW_KEY_ESCAPE);
    assert_false(view.is_typing_filter);
    assert_string_equal(view.filter, "");
}

static void view_state_filter_never_outgrows_its_room(void **state)
{
    struct lw_view_state view;
    uint64_t seed = 11;
    (void)state;
    lw_view_state_init(&view);
    view.is_typing_filter = true;
    for (int i = 0; i < 200; i++)
        lw_view_state_type_filter(&view, 'x');
    assert_int_equal(strlen(view.filter), LW_FILTER_MAX - 1);
    for (int i = 0; i < ROUNDS; i++) {
        lw_view_state_type_filter(&view, (int)random_below(&seed, LW_KEY_END + 20));
        assert_true(memchr(view.filter, '\0', sizeof(view.filter)));
    }
}

int main(void)
{
#define ON_WALL(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        ON_WALL(view_state_first_move_chooses_an_end),
        ON_WALL(view_state_moves_over_the_wall_and_stops_at_its_edge),
        ON_WALL(view_state_choice_passes_the_filter_whatever_is_pressed),
        ON_WALL(view_state_every_message_is_reached),
        cmocka_unit_test(view_state_empty_wall_has_nothing_to_choose),
        ON_WALL(view_state_filter_looks_at_identifier_name_and_condition),
        cmocka_unit_test(view_state_filter_is_typed_corrected_and_kept),
        cmocka_unit_test(view_state_escape_drops_the_filter),
        cmocka_unit_test(view_state_filter_never_outgrows_its_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
