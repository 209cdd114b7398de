/* SPDX-License-Identifier: MIT
 *
 * What the person at the screen has chosen, as opposed to what the bus does.
 */
#ifndef LOOMWATCH_UI_VIEW_STATE_H
#define LOOMWATCH_UI_VIEW_STATE_H

#include "loomwatch/core/snapshot.h"
#include "loomwatch/ui/bench_state.h"
#include "loomwatch/ui/calc_state.h"
#include "loomwatch/ui/keys.h"
#include "loomwatch/ui/theme.h"

enum { LW_WHY_END = 10000, LW_FILTER_MAX = 24, LW_READING_MAX = 16, LW_MESSAGE_MAX = 160, LW_MAX_BENCH_LINES = 24 };

struct lw_view_state {
    enum lw_page page;
    enum lw_page page_before;             /* where bench, diary and adapter return to */
    enum lw_page page_under_help;
    enum lw_theme_index theme;
    bool is_ascii, is_muted;
    bool is_paused;
    uint64_t paused_elapsed_ns;           /* where the view stands */
    uint64_t n_behind;                    /* frames that came since */
    uint64_t behind_ns;
    bool has_choice;
    struct lw_id_key choice;
    int columns_of_wall;                  /* written by the wall: how far up and down go */
    char filter[LW_FILTER_MAX];
    bool is_typing_filter;
    bool is_typing_reading, is_choosing_mark;   /* a meter reading is being typed; a mark waits for what was done */
    char reading[LW_READING_MAX];
    bool is_fast_phase, is_slow_phase;    /* of flashing lamps: true = bright */
    char message[LW_MESSAGE_MAX];         /* answer to the last key; empty = none */
    char record[LW_MESSAGE_MAX];          /* what is being recorded; empty = nothing */
    const struct lw_bench_picture *picture;   /* of the built-in bench, borrowed; NULL = the source is none */
    struct lw_bench_state on_bench;       /* what is chosen on its page */
    size_t n_bench;                       /* lines of the bench page where there is no picture */
    const char *bench[LW_MAX_BENCH_LINES];   /* borrowed from the source */
    size_t bench_choice;
    size_t diary_from;                    /* first entry of the diary page */
    struct lw_calc_state calc;            /* of the arithmetic page; the view holds `from` within the sheet */
    const struct lw_worksheet *worksheet;   /* its result, borrowed; NULL = none */
    const char *calc_error;               /* instead of a result: what is wrong with the input; borrowed; NULL = nothing */
    int why_from;                         /* first row of the why page; the view keeps it within what there is */
};

void lw_view_state_init(struct lw_view_state *state);

/* The page as the key table knows it: that of the bits, while the bench page shows them. */
enum lw_page lw_view_state_keys_page(const struct lw_view_state *state);

/* Whether the filter lets a message through: part of its identifier, its name, or its condition. */
bool lw_view_state_passes(const struct lw_view_state *state, const struct lw_tile *tile);

/* Moves the choice by whole tiles over those that pass the filter; the first call chooses the first. */
void lw_view_state_choose(struct lw_view_state *state, const struct lw_snapshot *snapshot, enum lw_action direction);

/* Chooses the message that most needs a look; the first if none does. */
void lw_view_state_choose_worst(struct lw_view_state *state, const struct lw_snapshot *snapshot);

/* Takes one key while a meter reading is typed. Returns true on Enter: reading holds it. */
bool lw_view_state_type_reading(struct lw_view_state *state, int code);

/* Takes one key while a mark waits. Returns true if it was made: *out is what was done. Any other key but those offered drops it. */
bool lw_view_state_choose_mark(struct lw_view_state *state, int code, enum lw_mark *out);

/* Takes one key while the filter is being typed. */
void lw_view_state_type_filter(struct lw_view_state *state, int code);

#endif
