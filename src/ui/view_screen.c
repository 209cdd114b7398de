/* SPDX-License-Identifier: MIT
 *
 * The whole screen: shares the rows out. Bus health is on top of every page; the fitter's question comes next; the rest
 * of the room is the wall's.
 */
#include "loomwatch/ui/views.h"

#include <stdio.h>
#include <string.h>

enum { TALL = 36, ROOMY = 30, SMALL = 16, WORDS_MOST = 4 };

static void too_small(struct lw_grid *grid)
{
    struct lw_rect rect = lw_grid_rect(grid);
    lw_grid_put_wrapped(grid, rect, LW_ROLE_STRONG, "too small: 40 columns and 10 rows at least, 80 and 24 are comfortable");
}

static int rows_of(const char *text, int w)
{
    struct lw_grid nowhere = { 0 };
    struct lw_rect rect = { 0, 0, w, LW_WORDS_TEXT };
    return lw_grid_put_wrapped(&nowhere, rect, LW_ROLE_NORMAL, text);
}

/* What is said last matters least. Returns false if there is only one sentence left. */
static bool drop_last_sentence(char *words)
{
    size_t n = strlen(words);
    while (n > 1 && (words[n - 1] == ' ' || words[n - 1] == '.'))
        n--;
    while (n > 1 && !(words[n - 1] == ' ' && strchr(".?", words[n - 2])))
        n--;
    if (n <= 1)
        return false;
    words[n - 1] = '\0';
    return true;
}

static bool has_trouble(const struct lw_snapshot *snapshot)
{
    for (unsigned i = 0; i < snapshot->n_buses; i++)
        if (lw_pictures[snapshot->buses[i].verdict.picture].is_trouble)
            return true;
    return false;
}

/* Trouble takes the rows it needs, up to four: nothing on the screen matters more. */
static int words_rows(const struct lw_snapshot *snapshot, const struct lw_grid *grid)
{
    int rows = grid->h >= SMALL && grid->w < 120 ? 2 : 1, wanted = rows_of(snapshot->words, grid->w - 1);
    int most = grid->h >= SMALL ? WORDS_MOST : rows;
    if (!has_trouble(snapshot) || wanted <= rows)
        return rows;
    return wanted < most ? wanted : most;
}

static void put_words(const struct lw_snapshot *snapshot, struct lw_rect row, struct lw_grid *grid)
{
    enum lw_role role = has_trouble(snapshot) ? LW_ROLE_ALARM : LW_ROLE_STRONG;
    lw_rect_take_left(&row, 1);
    char words[LW_WORDS_TEXT];
    snprintf(words, sizeof(words), "%s", snapshot->words);
    while (rows_of(words, row.w) > row.h && drop_last_sentence(words))
        continue;
    lw_grid_put_wrapped(grid, row, role, words);
}

static int at_most(int n, int most)
{
    return n < most ? n : most;
}

static void watch_page(const struct lw_snapshot *snapshot, struct lw_view_state *state, struct lw_rect rect,
                       struct lw_grid *grid)
{
    int n = lw_view_attention_count(snapshot, state);
    int most = rect.h / 4 > 1 ? rect.h / 4 : 1;
    if (n > 0 && rect.h > 3) {
        lw_grid_put_rule(grid, lw_rect_take_top(&rect, 1), "needs a look");
        lw_view_attention(snapshot, state, lw_rect_take_top(&rect, at_most(n, most)), grid);
    }
    /* The wall takes what it needs, the diary at least its share, and what the wall leaves. */
    int diary = grid->h >= ROOMY ? rect.h / 4 : grid->h >= SMALL ? 4 : 0;
    if (diary > 0) {
        struct lw_rect wall_room = rect;
        lw_rect_take_bottom(&wall_room, diary);
        int spare = wall_room.h - lw_view_wall_rows(snapshot, state, wall_room);
        struct lw_rect below = lw_rect_take_bottom(&rect, diary + spare);
        lw_grid_put_rule(grid, lw_rect_take_top(&below, 1), "what happened");
        lw_view_diary(snapshot, 0, below, grid);
    }
    lw_view_wall(snapshot, state, rect, grid);
}

static void page(const struct lw_snapshot *snapshot, struct lw_view_state *state, struct lw_rect rect,
                 struct lw_grid *grid)
{
    switch (state->page) {
    case LW_PAGE_DETAIL:
        lw_view_detail(snapshot, rect, grid);
        break;
    case LW_PAGE_BENCH: case LW_PAGE_BITS:
        lw_view_bench(state, rect, grid);
        break;
    case LW_PAGE_DIARY:
        lw_grid_put_rule(grid, lw_rect_take_top(&rect, 1), "what happened, newest first");
        state->diary_from = state->diary_from < snapshot->n_diary ? state->diary_from : 0;
        lw_view_diary(snapshot, state->diary_from, rect, grid);
        break;
    case LW_PAGE_CALC:
        lw_view_calc(state, rect, grid);
        break;
    case LW_PAGE_WHY:
        lw_view_why(snapshot, state, rect, grid);
        break;
    case LW_PAGE_ADAPTER:
        lw_view_adapter(snapshot, rect, grid);
        break;
    default:
        watch_page(snapshot, state, rect, grid);
        break;
    }
}

void lw_view_screen(const struct lw_snapshot *snapshot, struct lw_view_state *state, struct lw_grid *grid)
{
    lw_grid_clear(grid);
    if (grid->w < LW_SCREEN_MIN_W || grid->h < LW_SCREEN_MIN_H) {
        too_small(grid);
        return;
    }
    struct lw_rect rect = lw_grid_rect(grid);
    lw_view_heading(snapshot, state, lw_rect_take_top(&rect, 1), grid);
    lw_view_footer(state, lw_rect_take_bottom(&rect, 1), grid);
    if (state->page == LW_PAGE_HELP) {
        lw_view_help(state, rect, grid);
        return;
    }
    bool is_tall = grid->h >= TALL;
    lw_view_vitals(snapshot, lw_rect_take_top(&rect, lw_view_vitals_rows(snapshot, rect)), grid);
    lw_rect_take_top(&rect, grid->h >= ROOMY ? 1 : 0);
    int rows = grid->h >= SMALL ? lw_view_annunciator_rows(rect.w, is_tall) : 2;
    lw_view_annunciator(snapshot, state, lw_rect_take_top(&rect, rows), is_tall, grid);
    lw_rect_take_top(&rect, grid->h >= ROOMY ? 1 : 0);
    put_words(snapshot, lw_rect_take_top(&rect, words_rows(snapshot, grid)), grid);
    page(snapshot, state, rect, grid);
}
