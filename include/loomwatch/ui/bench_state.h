/* SPDX-License-Identifier: MIT
 *
 * What the person at the bench page has chosen, and what a key asks of the bench. The page itself does nothing: it hands out
 * requests, which the app carries out.
 */
#ifndef LOOMWATCH_UI_BENCH_STATE_H
#define LOOMWATCH_UI_BENCH_STATE_H

#include "loomwatch/bench/picture.h"

enum { LW_BENCH_VALUE_TEXT = 24 };

/* A place of the bench. LW_AT_NOWHERE is the bench as a whole. */
struct lw_bench_place {
    uint8_t kind;                /* enum lw_damage_place */
    uint8_t index;
};

enum lw_bench_mode { LW_BENCH_DRAWING, LW_BENCH_MENU, LW_BENCH_VALUE, LW_BENCH_BITS };

/* All zero at start: the place of our adapter is chosen. */
struct lw_bench_state {
    uint8_t mode;                /* enum lw_bench_mode */
    bool has_place;
    struct lw_bench_place place;
    unsigned menu_choice;
    char value[LW_BENCH_VALUE_TEXT];   /* as typed; empty = the default */
    bool has_bits_unit;
    uint8_t bits_unit;           /* whose frame the bits show */
    unsigned bits_from;          /* first bit of the plot */
    bool is_zoomed;
    bool is_held;                /* the bits stand still */
    bool shows_last_error;       /* bits of the last frame with an error, not of the last one */
};

enum lw_bench_request_kind {
    LW_BENCH_NO_REQUEST,
    LW_BENCH_PUT_DAMAGE,         /* by text, through lw_damage_parse */
    LW_BENCH_MEND,               /* take off the nth damage of the picture */
    LW_BENCH_MEND_ALL,           /* take all of them off, the last first */
    LW_BENCH_PLUG, LW_BENCH_POWER,   /* unit, is_on */
    LW_BENCH_SUPPLY,             /* of the whole machine: is_on */
};

struct lw_bench_request {
    uint8_t kind;                /* enum lw_bench_request_kind */
    bool is_on;
    unsigned unit, n;
    /* What text says, as far as it can be told without the plant: a value that is no plain number ("10m", a duplicate's
     * identifier) is 0 here. From 0 until taken off. */
    struct lw_damage damage;
    char text[LW_DAMAGE_TEXT];   /* as lw_damage_parse reads it; it says what is wrong with a value that was typed */
    char words[LW_DAMAGE_TEXT];  /* what is asked, for an answer on the screen: "break the H wire" */
};

/* Takes a key of the bench page. Returns whether it was one of its own; *out is then what the app is to do, often
 * LW_BENCH_NO_REQUEST. Others (help, quit, Esc on the drawing) are the app's. picture is what the screen shows; NULL: no
 * bench, no key is taken. */
bool lw_bench_state_key(struct lw_bench_state *state, const struct lw_bench_picture *picture, int key_code,
                        struct lw_bench_request *out);

/* To be called with each new picture: the bits hold by themselves at a frame with an error. */
void lw_bench_state_look(struct lw_bench_state *state, const struct lw_bench_picture *picture);

/* False while the bits are held: the app leaves the picture as it is. */
bool lw_bench_state_wants_picture(const struct lw_bench_state *state);

/* Whose bits the next picture should hold; picture is the last one, or NULL for none. */
unsigned lw_bench_state_trace_unit(const struct lw_bench_state *state, const struct lw_bench_picture *picture);

/* The frame whose bits are wanted: of the picture, possibly of none. */
const struct lw_bench_trace *lw_bench_state_trace(const struct lw_bench_state *state, const struct lw_bench_picture *picture);

/* The place that is chosen, always one that the picture has. */
struct lw_bench_place lw_bench_state_place(const struct lw_bench_state *state, const struct lw_bench_picture *picture);

/* The trunk point at which the meter is held: that of the place. */
unsigned lw_bench_state_point(const struct lw_bench_state *state, const struct lw_bench_picture *picture);

#endif
