/* SPDX-License-Identifier: MIT
 *
 * Every page of every kind of watch at every size: nothing is drawn outside, every cell is a cell, ASCII is ASCII, what is
 * too small says so, and no alarm is out of sight.
 */
#include "loomwatch/ui/glyphs.h"
#include "loomwatch/ui/views.h"
#include "sweeper.h"

#include "drawing_group.h"   /* last: its drawing would be shadowed in the others */

enum { N_KINDS = 5 };

static struct lw_snapshot snapshots[N_KINDS];
static const char *const kinds[N_KINDS] = { "empty", "busy", "eight buses", "2048 messages", "extreme" };
enum { EMPTY, BUSY, EIGHT, FULL, EXTREME };

/* Something of everything: a new module, a unit gone, errors, a choice that is drawn in full. */
static void make_busy(struct lw_snapshot *out)
{
    struct traffic *traffic = sweeper_create(1);
    const struct lw_id_key chosen = { .id = 0x120 };
    sweeper_run(traffic, 6000);
    sweeper_settle(traffic);
    lw_monitor_mark(traffic->monitor, LW_MARK_PLAIN);
    sweeper_plug_sensor(traffic);
    sweeper_switch(traffic, "hopper control", true);
    traffic_sender(traffic, 0x120)->period_ns *= 2;
    traffic_sender(traffic, 0x218)->frame.len = 6;
    sweeper_run(traffic, 3000);
    sweeper_adapter(traffic, 0, LW_STATE_ERROR_PASSIVE, 136, 12);
    lw_monitor_snapshot(traffic->monitor, &chosen, out);
    traffic_destroy(traffic);
}

static void make_eight(struct lw_snapshot *out)
{
    struct traffic *traffic = sweeper_create(LW_MAX_BUSES);
    for (unsigned bus = 1; bus < LW_MAX_BUSES; bus++)
        traffic_add(traffic, 0x100 + bus, 50, bus)->bus = (uint8_t)bus;
    traffic_run(traffic, 3000);
    lw_monitor_take_baseline(traffic->monitor);
    traffic->is_dead[3] = true;
    traffic_run(traffic, 3000);
    sweeper_short(traffic, 5);
    lw_monitor_snapshot(traffic->monitor, NULL, out);
    traffic_destroy(traffic);
}

static void make_full(struct lw_snapshot *out)
{
    struct traffic *traffic = sweeper_create(1);
    traffic_run(traffic, 500);
    lw_monitor_take_baseline(traffic->monitor);
    for (uint32_t i = 0; i < LW_MAX_IDS + 100; i++)
        traffic_feed(traffic, 0, (struct lw_event){ .frame = { .id = 0x10A20000 + i, .flags = LW_FRAME_EXTENDED } });
    traffic_run(traffic, 50);
    lw_monitor_snapshot(traffic->monitor, NULL, out);
    traffic_destroy(traffic);
}

static void extreme_tile(struct lw_tile *tile)
{
    memset(tile->name, 0xC3, LW_NAME_MAX - 1);
    tile->period_ns = tile->jitter_ns = tile->expected_period_ns = UINT64_MAX;
    tile->first_seen_ns = tile->last_seen_ns = tile->condition_since_ns = UINT64_MAX;
    tile->n_frames = tile->n_missed = UINT64_MAX;
    tile->rate_hz = UINT32_MAX;
    tile->dlc_seen = tile->expected_dlc = UINT16_MAX;
    tile->last_len = LW_FRAME_MAX_LEN;
}

static void extreme_bus(struct lw_bus_view *bus)
{
    memset(bus->name, 'W', LW_BUS_NAME_MAX - 1);
    bus->now_ns = bus->last_frame_ns = UINT64_MAX;
    bus->bit_rate_bps = bus->load_permille = bus->load_peak_permille = LW_KNOWN(UINT32_MAX);
    bus->controller.tec = bus->controller.rec = LW_KNOWN(UINT32_MAX);
    bus->controller.bus_errors.n = bus->n_frames = bus->n_lost = bus->n_own = UINT64_MAX;
    bus->frames_hz = LW_KNOWN(UINT32_MAX);
    bus->can_tell_errors = bus->can_tell_losses = true;
    bus->errors_hz = bus->n_history = UINT32_MAX;
    memset(bus->load_history, 0xFF, sizeof(bus->load_history));
    memset(bus->frames_history, 0xFF, sizeof(bus->frames_history));
    memset(bus->errors_history, 0xFF, sizeof(bus->errors_history));
}

static void extreme_detail(struct lw_snapshot *snapshot)
{
    struct lw_id_entry *entry = &snapshot->detail;
    snapshot->has_detail = snapshot->has_detail_expected = true;
    memset(snapshot->detail_expected.name, 0xE2, LW_NAME_MAX - 1);
    memset(snapshot->detail_expected.sender, 'M', LW_NAME_MAX - 1);
    snapshot->detail_expected.period_ns = snapshot->detail_expected.tolerance_ns = UINT64_MAX;
    snapshot->detail_expected.dlc_seen = entry->dlc_seen = UINT16_MAX;
    entry->n_frames = entry->n_fd = entry->n_own = entry->n_missed = entry->n_absences = UINT64_MAX;
    entry->n_length_changes = entry->n_second_sender = entry->last_seen_ns = UINT64_MAX;
    entry->n_remote = 1;
    entry->last_len = LW_FRAME_MAX_LEN;
    memset(entry->last_data, 0xFF, sizeof(entry->last_data));
    memset(entry->bits_changed, 0xAA, sizeof(entry->bits_changed));
    memset(entry->period.gap_us, 0xFF, sizeof(entry->period.gap_us));
    entry->period.n_gaps = LW_PERIOD_GAPS;
    entry->period.period_ns = entry->period.jitter_ns = UINT64_MAX;
    entry->period.shortest_ns = entry->period.longest_ns = UINT64_MAX;
    entry->rate_hz = UINT32_MAX;
}

/* Every number as large as it can be. */
static void make_extreme(struct lw_snapshot *out)
{
    *out = snapshots[BUSY];
    out->baseline_elapsed_ns = out->mark_elapsed_ns = out->elapsed_ns = out->n_overflow_frames = UINT64_MAX;
    out->has_mark = true;
    memset(&out->counts, 0xFF, sizeof(out->counts));
    memset(out->words, 'w', LW_WORDS_TEXT - 1);
    out->words[LW_WORDS_TEXT - 1] = '\0';
    extreme_bus(&out->buses[0]);
    for (size_t i = 0; i < out->n_tiles; i++)
        extreme_tile(&out->tiles[i]);
    for (size_t i = 0; i < out->n_diary; i++) {
        out->diary[i].elapsed_ns = out->diary[i].value = UINT64_MAX;
        out->diary[i].count = UINT32_MAX;
    }
    for (int i = 0; i < LW_N_WINDOWS; i++) {
        out->alarms.windows[i] = (struct lw_alarm){ (enum lw_window_state)(i % LW_N_WINDOW_STATES), i % 2, UINT32_MAX,
                                                    UINT32_MAX, UINT64_MAX, UINT64_MAX };
        out->window_cause[i].elapsed_ns = UINT64_MAX;
        out->window_cause[i].count = UINT32_MAX;
    }
    extreme_detail(out);
}

static int set_up(void **state)
{
    struct traffic *traffic = sweeper_create(1);
    lw_monitor_snapshot(traffic->monitor, NULL, &snapshots[EMPTY]);
    traffic_destroy(traffic);
    make_busy(&snapshots[BUSY]);
    make_eight(&snapshots[EIGHT]);
    make_full(&snapshots[FULL]);
    make_extreme(&snapshots[EXTREME]);
    return drawing_set_up(state);
}

static const char *const bench_lines[] = { "plug the hopper load sensor in", "take the hopper control off the bus" };

static struct lw_view_state looking_at(int kind, enum lw_page page)
{
    struct lw_view_state view;
    lw_view_state_init(&view);
    view.page = page;
    view.has_choice = kind == BUSY;
    view.choice = (struct lw_id_key){ .id = 0x120 };
    view.n_bench = kind == EMPTY ? 0 : N_ROWS(bench_lines);
    memcpy(view.bench, bench_lines, sizeof(bench_lines));
    view.is_paused = kind == EXTREME;
    view.paused_elapsed_ns = view.n_behind = view.behind_ns = UINT64_MAX;
    if (kind == EXTREME) {
        memset(view.record, 'r', LW_MESSAGE_MAX - 1);
        view.is_muted = true;
    }
    return view;
}

static void check_cells(const struct lw_grid *grid, int kind, enum lw_page page)
{
    if (!drawing_is_guarded(drawing))
        fail_msg("%s, page %d, %dx%d: drawn outside", kinds[kind], page, grid->w, grid->h);
    for (size_t i = 0; i < drawing->n_cells; i++) {
        const struct lw_cell *cell = &grid->cells[i];
        uint32_t least = ' ', most = grid->is_ascii ? 0x7E : 0xFFFF;
        if (cell->glyph < least || cell->glyph > most || cell->glyph == GUARD_GLYPH || cell->role >= LW_N_ROLES)
            fail_msg("%s, page %d, %dx%d: cell %zu is U+%04X, role %d", kinds[kind], page, grid->w, grid->h, i,
                     (unsigned)cell->glyph, cell->role);
    }
}

static void check_size_said(struct lw_grid *grid)
{
    static const char words[] = "too small";
    size_t n = grid->w < (int)strlen("too") ? (size_t)grid->w : strlen("too");
    bool is_small = grid->w < LW_SCREEN_MIN_W || grid->h < LW_SCREEN_MIN_H;
    bool says_so = true;
    for (size_t i = 0; i < n; i++)
        says_so = says_so && grid->cells[i].glyph == (uint32_t)words[i];
    if (is_small != says_so)
        fail_msg("%dx%d: %s", grid->w, grid->h, is_small ? "does not say that it is too small" : "says it is too small");
}

static void draw(int kind, enum lw_page page, int w, int h, bool is_ascii)
{
    struct lw_view_state view = looking_at(kind, page);
    struct lw_grid *grid = drawing_begin(drawing, w, h);
    grid->is_ascii = is_ascii;
    lw_view_screen(&snapshots[kind], &view, grid);
    check_cells(grid, kind, page);
    check_size_said(grid);
    assert_true(view.columns_of_wall > 0);
}

static void draw_all(int w, int h)
{
    for (int kind = 0; kind < N_KINDS; kind++)
        for (int page = 0; page < LW_N_PAGES; page++)
            for (int is_ascii = 0; is_ascii < 2; is_ascii++)
                draw(kind, (enum lw_page)page, w, h, is_ascii);
}

static void screen_draws_at_every_small_size(void **state)
{
    (void)state;
    for (int w = 1; w <= 60; w++)
        for (int h = 1; h <= 30; h++)
            draw_all(w, h);
}

static void screen_draws_at_large_sizes(void **state)
{
    static const int sizes[][2] = { { 80, 24 }, { 132, 43 }, { 200, 60 }, { 300, 100 }, { 300, 10 }, { 40, 100 } };
    (void)state;
    for (size_t i = 0; i < N_ROWS(sizes); i++)
        draw_all(sizes[i][0], sizes[i][1]);
    for (int w = 61; w <= 300; w += 7)
        for (int h = 5; h <= 100; h += 13)
            draw_all(w, h);
}

/* What a view draws beyond ASCII has a stand-in: a question mark on the screen would be a riddle. */
static void screen_loses_no_glyph_in_ascii(void **state)
{
    (void)state;
    for (int kind = EMPTY; kind < EXTREME; kind++)
        for (int page = 0; page < LW_N_PAGES; page++) {
            struct lw_view_state view = looking_at(kind, (enum lw_page)page);
            struct lw_grid *grid = drawing_begin(drawing, 132, 43);
            grid->is_ascii = false;
            lw_view_screen(&snapshots[kind], &view, grid);
            for (size_t i = 0; i < drawing->n_cells; i++)
                if (grid->cells[i].glyph > 0x7E && lw_glyph_ascii(grid->cells[i].glyph) == '?')
                    fail_msg("%s, page %d: U+%04X has no stand-in", kinds[kind], page, (unsigned)grid->cells[i].glyph);
        }
}

/* A lit window must be in sight on every page but help, at the smallest size too. */
static void screen_shows_every_lit_window(void **state)
{
    static const int sizes[][2] = { { 40, 10 }, { 40, 12 }, { 60, 15 }, { 80, 24 }, { 132, 43 } };
    static const enum lw_page pages[] = { LW_PAGE_WATCH, LW_PAGE_DETAIL, LW_PAGE_BENCH };
    struct lw_snapshot *snapshot = &snapshots[EMPTY];
    (void)state;
    for (size_t i = 0; i < N_ROWS(sizes) * N_ROWS(pages); i++)
        for (int window = 0; window < LW_N_WINDOWS; window++) {
            const int *size = sizes[i % N_ROWS(sizes)];
            struct lw_view_state view = looking_at(BUSY, pages[i / N_ROWS(sizes)]);
            struct lw_grid *grid = drawing_begin(drawing, size[0], size[1]);
            grid->is_ascii = true;
            memset(&snapshot->alarms.windows, 0, sizeof(snapshot->alarms.windows));
            snapshot->alarms.windows[window].state = LW_WINDOW_FIRST_NEW;
            snapshot->alarms.windows[window].is_abnormal = true;
            lw_view_screen(snapshot, &view, grid);
            char lit[16];
            snprintf(lit, sizeof(lit), "1!%s", lw_windows[window].caption);
            if (!drawing_has(drawing, lit))
                fail_msg("%dx%d: window %s is lit and not in sight", size[0], size[1], lw_windows[window].caption);
        }
    memset(&snapshot->alarms.windows, 0, sizeof(snapshot->alarms.windows));
}

/* The help page is complete where the program is said to be fully usable. */
static void screen_80x24_explains_every_key(void **state)
{
    struct lw_view_state view = looking_at(BUSY, LW_PAGE_HELP);
    struct lw_grid *grid = drawing_begin(drawing, 80, 24);
    (void)state;
    grid->is_ascii = false;
    lw_view_screen(&snapshots[BUSY], &view, grid);
    for (size_t i = 0; i < lw_n_keys; i++) {
        char row[128];
        snprintf(row, sizeof(row), "%s ", lw_keys[i].cap);
        if (lw_keys[i].words && (!drawing_has(drawing, lw_keys[i].words) || !drawing_has(drawing, row)))
            fail_msg("the help at 80x24 has no room for %s: %s", lw_keys[i].cap, lw_keys[i].words);
    }
    assert_true(drawing_has(drawing, "maker's procedure"));
}

/* The End key asks for more than there is: the page shows its end at once, not at the next drawing. */
static void why_page_scrolled_too_far_shows_its_end(void **state)
{
    struct lw_view_state view = looking_at(BUSY, LW_PAGE_WHY);
    (void)state;
    for (int from = 0; from <= LW_WHY_END; from += LW_WHY_END) {
        view.why_from = from;
        lw_view_screen(&snapshots[BUSY], &view, drawing_begin(drawing, 80, 14));
        assert_int_equal(drawing_has(drawing, "How the verdict changed"), from > 0);
    }
    assert_in_range(view.why_from, 1, LW_WHY_END - 1);
}

/* 26 messages of the sweeper, all in sight as tiles with their identifiers. */
static void screen_80x24_shows_every_message(void **state)
{
    struct lw_view_state view = looking_at(BUSY, LW_PAGE_WATCH);
    struct lw_grid *grid = drawing_begin(drawing, 80, 24);
    (void)state;
    grid->is_ascii = false;
    lw_view_screen(&snapshots[BUSY], &view, grid);
    for (size_t i = 0; i < snapshots[BUSY].n_tiles; i++) {
        char id[LW_ID_TEXT];
        assert_true(drawing_has(drawing, lw_id_text(snapshots[BUSY].tiles[i].key, id)));
    }
}

/* Gaps of minutes: the plot must not run over where a 32-bit count of microseconds would. */
static void detail_plot_of_a_slow_message_is_a_half_high_band(void **state)
{
    static struct lw_snapshot snapshot;
    struct lw_period *period = &snapshot.detail.period;
    struct lw_view_state view = looking_at(BUSY, LW_PAGE_DETAIL);
    (void)state;
    snapshot = snapshots[BUSY];
    lw_period_init(period);
    for (int i = 0; i < LW_PERIOD_GAPS; i++)
        lw_period_add(period, UINT64_C(600000000000));
    lw_period_estimate(period);
    struct lw_grid *grid = drawing_begin(drawing, 80, 24);
    grid->is_ascii = false;
    lw_view_screen(&snapshot, &view, grid);
    int n_half = 0;
    for (size_t i = 0; i < drawing->n_cells; i++)
        n_half += grid->cells[i].glyph == lw_glyph_bar(LW_N_BARS / 2) && grid->cells[i].role == LW_ROLE_PLOT;
    assert_int_equal(n_half, LW_PERIOD_GAPS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(screen_draws_at_every_small_size),
        cmocka_unit_test(screen_draws_at_large_sizes),
        cmocka_unit_test(screen_loses_no_glyph_in_ascii),
        cmocka_unit_test(screen_shows_every_lit_window),
        cmocka_unit_test(screen_80x24_explains_every_key),
        cmocka_unit_test(why_page_scrolled_too_far_shows_its_end),
        cmocka_unit_test(screen_80x24_shows_every_message),
        cmocka_unit_test(detail_plot_of_a_slow_message_is_a_half_high_band),
    };
    return cmocka_run_group_tests(tests, set_up, drawing_tear_down);
}
