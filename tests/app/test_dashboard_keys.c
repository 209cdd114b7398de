/* SPDX-License-Identifier: MIT
 *
 * Ways between the pages of the dashboard: whatever was opened last is left first, however it is left.
 */
#include "dashboard.h"

#include "cases.h"

enum { MOST_KEYS = 8 };

/* Keys pressed from the first page on, and the pages they lead to. */
static const struct way {
    const char *name;
    int keys[MOST_KEYS];
    enum lw_page pages[MOST_KEYS];
} ways[] = {
    { "help over the bench", { 'x', '?', LW_KEY_ESCAPE, LW_KEY_ESCAPE },
      { LW_PAGE_BENCH, LW_PAGE_HELP, LW_PAGE_BENCH, LW_PAGE_WATCH } },
    { "help over the bench, left by its own key", { 'x', 'h', '?', 'x' },
      { LW_PAGE_BENCH, LW_PAGE_HELP, LW_PAGE_BENCH, LW_PAGE_WATCH } },
    { "help over the diary", { 'd', '?', LW_KEY_BACKSPACE, LW_KEY_ESCAPE },
      { LW_PAGE_DIARY, LW_PAGE_HELP, LW_PAGE_DIARY, LW_PAGE_WATCH } },
    { "help over the adapter", { 'e', '?', LW_KEY_ESCAPE, 'e' },
      { LW_PAGE_ADAPTER, LW_PAGE_HELP, LW_PAGE_ADAPTER, LW_PAGE_WATCH } },
    { "help over a message", { LW_KEY_ENTER, '?', LW_KEY_ESCAPE, LW_KEY_ESCAPE },
      { LW_PAGE_DETAIL, LW_PAGE_HELP, LW_PAGE_DETAIL, LW_PAGE_WATCH } },
    { "help over the diary over a message", { LW_KEY_ENTER, 'd', '?', LW_KEY_ESCAPE, LW_KEY_ESCAPE, LW_KEY_ESCAPE },
      { LW_PAGE_DETAIL, LW_PAGE_DIARY, LW_PAGE_HELP, LW_PAGE_DIARY, LW_PAGE_DETAIL, LW_PAGE_WATCH } },
    { "from page to page", { 'd', 'e', 'x', '?', LW_KEY_ESCAPE, LW_KEY_ESCAPE },
      { LW_PAGE_DIARY, LW_PAGE_ADAPTER, LW_PAGE_BENCH, LW_PAGE_HELP, LW_PAGE_BENCH, LW_PAGE_WATCH } },
    { "help, then the bench", { '?', LW_KEY_ESCAPE, 'x', LW_KEY_ESCAPE },
      { LW_PAGE_HELP, LW_PAGE_WATCH, LW_PAGE_BENCH, LW_PAGE_WATCH } },
};

static void pages_are_left_for_the_one_they_were_opened_on(void **state)
{
    (void)state;
    static struct lw_snapshot snapshot;
    for (size_t i = 0; i < N_ROWS(ways); i++) {
        struct lw_dashboard dashboard = { .snapshot = &snapshot };
        lw_view_state_init(&dashboard.state);
        dashboard.state.has_choice = true;       /* so that Enter opens a message */
        for (unsigned k = 0; k < MOST_KEYS && ways[i].keys[k] != LW_KEY_NONE; k++) {
            assert_true(lw_dashboard_key(&dashboard, ways[i].keys[k], 0));
            if (dashboard.state.page != ways[i].pages[k])
                fail_msg("%s: key %u leads to page %d, not %d", ways[i].name, k + 1, dashboard.state.page, ways[i].pages[k]);
        }
    }
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(pages_are_left_for_the_one_they_were_opened_on),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
