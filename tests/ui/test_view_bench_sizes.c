/* SPDX-License-Identifier: MIT
 *
 * The bench page at every size, in every mode, at every kind of place: of a bench at work with everything wrong that can
 * be, of one as large as can be, of an empty one. Nothing is drawn outside, every cell is a cell, ASCII is ASCII.
 */
#include "bench_scene.h"
#include "loomwatch/ui/glyphs.h"
#include "loomwatch/ui/views.h"

#include "drawing_group.h"   /* last: its drawing would be shadowed in the others */

#include <math.h>

enum { WRONG, HUGE_ONE, EMPTY, N_BENCHES };

static const char *const benches[N_BENCHES] = { "wrong", "huge", "empty" };
static struct lw_bench_picture pictures[N_BENCHES];
static struct lw_snapshot snapshot;

/* One damage of every kind, wherever it may be. */
static void make_wrong(struct lw_bench_picture *out)
{
    static struct bench_scene scene;
    bench_scene_begin(&scene);
    bench_scene_run(&scene, 100000, SCENE_ADAPTER);
    for (unsigned kind = 0; kind < LW_N_DAMAGES; kind++) {
        unsigned places = lw_damages[kind].places;
        struct lw_damage damage = { .kind = (uint8_t)kind, .value = lw_damages[kind].default_value, .until_ns = UINT64_MAX };
        damage.place = places >> LW_AT_SEGMENT & 1 ? LW_AT_SEGMENT : places >> LW_AT_POINT & 1 ? LW_AT_POINT
            : places >> LW_AT_UNIT & 1 ? LW_AT_UNIT : LW_AT_NOWHERE;
        damage.index = (uint8_t)(damage.place == LW_AT_NOWHERE ? 0 : kind % 6);
        lw_sim_damage(scene.sim, &damage);
    }
    bench_scene_damage(&scene, "swapped at second-operator-panel");
    bench_scene_damage(&scene, "open-h at hopper-load-sensor");
    bench_scene_damage(&scene, "l-to-supply at our-adapter");
    bench_scene_run(&scene, 50000, SCENE_ADAPTER);
    *out = scene.picture;
    bench_scene_end(&scene);
}

static void fill(char *text, size_t size, char letter)
{
    memset(text, letter, size - 1);
    text[size - 1] = '\0';
}

static void make_huge_unit(struct lw_bench_unit_picture *unit, unsigned i)
{
    fill(unit->name, sizeof(unit->name), 'W');
    unit->point = (uint8_t)(i % LW_PLANT_MAX_POINTS);
    unit->stub_mm = UINT32_MAX;
    unit->is_plugged = unit->is_powered = unit->is_adapter = unit->is_terminated = true;
    unit->is_swapped = i % 2;
    unit->state = (enum lw_bus_state)(i % 9);
    unit->tec = unit->rec = UINT16_MAX;
    unit->n_sent = unit->n_errors = UINT64_MAX;
}

static void make_huge(struct lw_bench_picture *out)
{
    memset(out, 0, sizeof(*out));
    fill(out->name, sizeof(out->name), 'N');
    fill(out->title, sizeof(out->title), 'T');
    out->now_ns = UINT64_MAX - 1;
    out->bit_rate_bps = UINT32_MAX;
    out->n_points = LW_PLANT_MAX_POINTS;
    out->n_units = LW_PLANT_MAX_UNITS;
    out->n_terminators = LW_PLANT_MAX_TERMINATORS;
    out->n_damages = LW_MAX_DAMAGES;
    out->trace.n = out->error_trace.n = LW_TRACE_BITS;
    for (unsigned i = 0; i < LW_PLANT_MAX_POINTS; i++) {
        fill(out->points[i].name, sizeof(out->points[i].name), 'P');
        out->points[i].segment_mm = UINT32_MAX;
        double odd[] = { NAN, INFINITY, 1e300, -1e300, 0 };
        out->meters[i] = (struct lw_bench_meter){ i % 2, odd[i % 5], odd[i % 5], odd[(i + 1) % 5] };
    }
    for (unsigned i = 0; i < LW_PLANT_MAX_UNITS; i++)
        make_huge_unit(&out->units[i], i);
    for (unsigned i = 0; i < LW_PLANT_MAX_TERMINATORS; i++)
        out->terminators[i] = (struct lw_plant_terminator){ .point = (uint8_t)(i / 2), .ohm = i ? UINT32_MAX : 0 };
    for (unsigned i = 0; i < LW_MAX_DAMAGES; i++) {
        out->damages[i] = (struct lw_damage){ (uint8_t)(i % LW_N_DAMAGES), (uint8_t)(i % 4), (uint8_t)(i / 4), 1e300, 0, UINT64_MAX };
        fill(out->damage_words[i], LW_DAMAGE_TEXT, 'w');
    }
    for (unsigned i = 0; i < LW_TRACE_BITS; i++)
        out->error_trace.bits[i] = out->trace.bits[i] = (struct lw_trace_bit){ (uint8_t)(i / 3), i % 5 > 2, i % 7 == 0, i % 2, i % 11 == 0, UINT16_MAX };
}

static int set_up(void **state)
{
    make_wrong(&pictures[WRONG]);
    make_huge(&pictures[HUGE_ONE]);
    memset(&pictures[EMPTY], 0, sizeof(pictures[EMPTY]));
    return drawing_set_up(state);
}

static void check_cells(const struct lw_grid *grid, int n)
{
    if (!drawing_is_guarded(drawing))
        fail_msg("%s, %dx%d: drawn outside", benches[n], grid->w, grid->h);
    for (size_t i = 0; i < drawing->n_cells; i++) {
        const struct lw_cell *cell = &grid->cells[i];
        uint32_t most = grid->is_ascii ? 0x7E : 0xFFFF;
        if (cell->glyph < ' ' || cell->glyph > most || cell->glyph == GUARD_GLYPH || cell->role >= LW_N_ROLES)
            fail_msg("%s, %dx%d: cell %zu is U+%04X, role %d", benches[n], grid->w, grid->h, i, (unsigned)cell->glyph, cell->role);
        if (!grid->is_ascii && cell->glyph > 0x7E && lw_glyph_ascii(cell->glyph) == '?')
            fail_msg("U+%04X has no stand-in", (unsigned)cell->glyph);
    }
}

static void draw(int n, uint8_t mode, struct lw_bench_place place, int w, int h, bool is_ascii)
{
    struct lw_view_state view;
    lw_view_state_init(&view);
    view.page = LW_PAGE_BENCH;
    view.picture = &pictures[n];
    view.on_bench = (struct lw_bench_state){ .mode = mode, .has_place = true, .place = place, .menu_choice = (unsigned)w,
        .bits_from = (unsigned)h, .is_zoomed = w % 2, .shows_last_error = w / 2 % 2, .value = "12345678901234567890123" };
    struct lw_grid *grid = drawing_begin(drawing, w, h);
    grid->is_ascii = is_ascii;
    lw_view_screen(&snapshot, &view, grid);
    check_cells(grid, n);
    grid = drawing_begin(drawing, w, h);
    grid->is_ascii = is_ascii;
    lw_grid_clear(grid);
    lw_view_bench(&view, lw_grid_rect(grid), grid);   /* alone, also where the screen would say that it is too small */
    check_cells(grid, n);
}

static void draw_all(int w, int h)
{
    for (int n = 0; n < N_BENCHES; n++)
        for (uint8_t mode = LW_BENCH_DRAWING; mode <= LW_BENCH_BITS; mode++)
            for (uint8_t kind = LW_AT_NOWHERE; kind <= LW_AT_UNIT; kind++)
                draw(n, mode, (struct lw_bench_place){ kind, (uint8_t)((w + h) % 9) }, w, h, (w + h) % 2);
}

static void bench_draws_at_every_small_size(void **state)
{
    (void)state;
    for (int w = 1; w <= 60; w++)
        for (int h = 1; h <= 30; h++)
            draw_all(w, h);
}

static void bench_draws_at_large_sizes(void **state)
{
    static const int sizes[][2] = { { 80, 24 }, { 132, 43 }, { 300, 100 }, { 300, 10 }, { 40, 100 } };
    (void)state;
    for (size_t i = 0; i < N_ROWS(sizes); i++)
        draw_all(sizes[i][0], sizes[i][1]);
    for (int w = 61; w <= 300; w += 11)
        for (int h = 5; h <= 100; h += 17)
            draw_all(w, h);
}

/* What is chosen is in sight, by a sign, on the whole bench and at 80x24. */
static void bench_80x24_has_every_chosen_place_in_sight(void **state)
{
    static const unsigned n_places[] = { [LW_AT_NOWHERE] = 1, [LW_AT_SEGMENT] = SCENE_N_POINTS - 1,
                                         [LW_AT_POINT] = SCENE_N_POINTS, [LW_AT_UNIT] = SCENE_N_UNITS };
    (void)state;
    for (uint8_t kind = LW_AT_NOWHERE; kind <= LW_AT_UNIT; kind++)
        for (unsigned i = 0; i < n_places[kind]; i++) {
            draw(WRONG, LW_BENCH_DRAWING, (struct lw_bench_place){ kind, (uint8_t)i }, 80, 24, false);
            if (!drawing_has(drawing, "▸"))
                fail_msg("place %u of kind %u is not in sight", i, kind);
        }
}

/* Where the source is no bench, the page says so. */
static void bench_without_picture_says_so(void **state)
{
    struct lw_view_state view;
    (void)state;
    lw_view_state_init(&view);
    view.page = LW_PAGE_BENCH;
    struct lw_grid *grid = drawing_begin(drawing, 80, 24);
    grid->is_ascii = false;
    lw_view_screen(&snapshot, &view, grid);
    assert_true(drawing_has(drawing, "real bus or a recording"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bench_draws_at_every_small_size),
        cmocka_unit_test(bench_draws_at_large_sizes),
        cmocka_unit_test(bench_80x24_has_every_chosen_place_in_sight),
        cmocka_unit_test(bench_without_picture_says_so),
    };
    return cmocka_run_group_tests(tests, set_up, drawing_tear_down);
}
