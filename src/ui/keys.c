/* SPDX-License-Identifier: MIT
 *
 * The key table. The order is that of the footer and the help page.
 */
#include "loomwatch/ui/keys.h"

#define WATCH (1 << LW_PAGE_WATCH)
#define DETAIL (1 << LW_PAGE_DETAIL)
#define HELP (1 << LW_PAGE_HELP)
#define BENCH (1 << LW_PAGE_BENCH)
#define ADAPTER (1 << LW_PAGE_ADAPTER)
#define DIARY (1 << LW_PAGE_DIARY)
#define BITS (1 << LW_PAGE_BITS)
#define CALC (1 << LW_PAGE_CALC)
#define WHY (1 << LW_PAGE_WHY)
#define LIVE (WATCH | DETAIL | ADAPTER | DIARY | WHY)
#define ALL (LIVE | HELP | BENCH | BITS | CALC)

const struct lw_key lw_keys[] = {
    { 'b', LW_ACTION_BASELINE, "b", "baseline", "take all heard so far as baseline", LIVE },
    { 'm', LW_ACTION_MARK, "m", "mark", "mark what you do: plug in, unplug …", LIVE },
    { 'a', LW_ACTION_ACKNOWLEDGE, "a", "ack", "acknowledge the alarms", ALL },
    { 's', LW_ACTION_SILENCE, "s", NULL, "silence the bell", ALL },
    { 'r', LW_ACTION_RESET, "r", "reset", "reset acknowledged, past alarms", ALL },
    { 'f', LW_ACTION_FIRST_OUT_RESET, "f", NULL, "first-out reset", ALL },
    { 't', LW_ACTION_TEST, "t", NULL, "test windows and bell, on and off", LIVE },
    { ' ', LW_ACTION_PAUSE, "Space", "pause", "pause the view, not the watching", LIVE | BITS },
    { LW_KEY_ENTER, LW_ACTION_OPEN, "Enter", "open", "open a message; bench: a menu", WATCH | BENCH | BITS | CALC },
    { LW_KEY_LEFT, LW_ACTION_LEFT, "←→↑↓", NULL, "choose, or scroll; Home, End too", LIVE | BENCH | BITS | CALC },
    { LW_KEY_RIGHT, LW_ACTION_RIGHT, "→", NULL, NULL, LIVE | BENCH | BITS | CALC },
    { LW_KEY_UP, LW_ACTION_UP, "↑", NULL, NULL, ALL },
    { LW_KEY_DOWN, LW_ACTION_DOWN, "↓", NULL, NULL, ALL },
    { LW_KEY_HOME, LW_ACTION_FIRST, "Home", NULL, NULL, LIVE | BENCH | BITS | CALC },
    { LW_KEY_END, LW_ACTION_LAST, "End", NULL, NULL, LIVE | BENCH | BITS | CALC },
    { '/', LW_ACTION_FILTER, "/", "filter", "filter by identifier, name, state", WATCH },
    { 'y', LW_ACTION_WHY, "y", "why", "why: the evidence behind the verdict", LIVE | BENCH },
    { 'o', LW_ACTION_READING, "o", "reading", "enter a meter reading as evidence", LIVE | BENCH },
    { 'x', LW_ACTION_BENCH, "x", "bench", "the bench: plug, unplug, trouble it", LIVE | BENCH | BITS },
    { 'p', LW_ACTION_SUPPLY, "p", "power", "bench: the supply off, on", BENCH },
    { 'k', LW_ACTION_MEND, "k", "mend", "bench: mend everything", BENCH },
    { 'v', LW_ACTION_BITS, "v", "bits", "bench: the last frame bit by bit", BENCH | BITS },
    { 'e', LW_ACTION_LAST_ERROR, "e", "error", "bits: the last frame with an error", BITS },
    { 'd', LW_ACTION_DIARY, "d", "diary", "the diary: what happened", LIVE },
    { 'e', LW_ACTION_ADAPTER, "e", "errors", "adapter and error reports", LIVE },
    { 'w', LW_ACTION_CALC, "w", "worksheet", "meter, timing, stub, fit", LIVE | BENCH | CALC },
    { LW_KEY_ESCAPE, LW_ACTION_BACK, "Esc", "back", "back; drop filter, choice", ALL },
    { LW_KEY_BACKSPACE, LW_ACTION_BACK, "Backspace", NULL, NULL, DETAIL | HELP | BENCH | ADAPTER | DIARY | BITS | WHY | CALC },
    { 'u', LW_ACTION_MUTE, "u", NULL, "mute the bell, or not", ALL },
    { 'c', LW_ACTION_THEME, "c", NULL, "next colours", ALL },
    { 'g', LW_ACTION_GLYPHS, "g", NULL, "plain ASCII, or all signs", ALL },
    { 'h', LW_ACTION_HELP, "h", NULL, NULL, ALL },
    { '?', LW_ACTION_HELP, "?", "help", "this help; h too", ALL },
    { 'q', LW_ACTION_QUIT, "q", "quit", "quit", ALL },
};

const size_t lw_n_keys = sizeof(lw_keys) / sizeof(lw_keys[0]);

enum lw_action lw_keys_action(int code, enum lw_page page)
{
    for (size_t i = 0; i < lw_n_keys; i++)
        if (lw_keys[i].code == code && lw_keys[i].pages >> page & 1)
            return lw_keys[i].action;
    return LW_ACTION_NONE;
}
