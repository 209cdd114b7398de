/* SPDX-License-Identifier: MIT
 *
 * What is wrong on the bench: edits of the physical description, put on and taken off at any time. The words for them are
 * the same on the bench page, on the command line and in bench files.
 */
#ifndef LOOMWATCH_BENCH_DAMAGE_H
#define LOOMWATCH_BENCH_DAMAGE_H

#include "loomwatch/bench/plant.h"

enum { LW_MAX_DAMAGES = 32, LW_DAMAGE_TEXT = 128 };

enum lw_damage_kind {
    LW_DAMAGE_OPEN_H, LW_DAMAGE_OPEN_L, LW_DAMAGE_OPEN_BOTH,      /* wire broken, in a trunk segment or a stub */
    LW_DAMAGE_SHORT_H_L,                                          /* between the wires */
    LW_DAMAGE_H_TO_SUPPLY, LW_DAMAGE_L_TO_SUPPLY, LW_DAMAGE_H_TO_GROUND, LW_DAMAGE_L_TO_GROUND,
    LW_DAMAGE_SWAPPED,                                            /* pair swapped at a unit */
    LW_DAMAGE_NO_TERMINATOR, LW_DAMAGE_EXTRA_TERMINATOR,
    LW_DAMAGE_LOOSE,                                              /* contact that opens by itself: both wires of a stub or segment */
    LW_DAMAGE_LONG_STUB,
    LW_DAMAGE_UNPLUGGED, LW_DAMAGE_UNPOWERED, LW_DAMAGE_STANDBY, LW_DAMAGE_ASLEEP,
    LW_DAMAGE_BIT_RATE, LW_DAMAGE_CRYSTAL, LW_DAMAGE_SJW, LW_DAMAGE_SAMPLE_POINT,
    LW_DAMAGE_LISTEN_ONLY, LW_DAMAGE_FD_SENDER,
    LW_DAMAGE_DUPLICATE,                                          /* unit also sends a message of another's */
    LW_DAMAGE_FOREIGN,                                            /* unit speaks another machine's identifiers */
    LW_DAMAGE_BABBLE, LW_DAMAGE_RESET, LW_DAMAGE_OVERRUN,
    LW_N_DAMAGES,
};

enum lw_damage_place { LW_AT_NOWHERE, LW_AT_SEGMENT, LW_AT_POINT, LW_AT_UNIT };

struct lw_damage {
    uint8_t kind;                /* enum lw_damage_kind */
    uint8_t place;               /* enum lw_damage_place */
    uint8_t index;               /* of the segment, point or unit */
    double value;                /* ohms, bits a second, ppm, quanta, permille, millimetres, per second: by kind. Of a
                                    duplicate: which message of the plant, counted from 1, negative with equal data */
    uint64_t from_ns, until_ns;  /* until_ns UINT64_MAX: until taken off */
};

struct lw_damage_info {
    const char *word;            /* "open-h" */
    const char *words;           /* "break the H wire" */
    uint8_t places;              /* bit n: may be at enum lw_damage_place n */
    const char *unit;            /* of the value: "ohm", "ppm"; NULL = takes none */
    double default_value;
};

extern const struct lw_damage_info lw_damages[LW_N_DAMAGES];

/* Reads one edit: WORD [at PLACE] [VALUE] [for TIME]. PLACE is a name of a unit or point, "point 3", or "segment 2"
 * (counted from 1). Names may have dashes for spaces, and words left out as long as one name alone is meant. A value may
 * have its unit behind it, or a handier one (10m, 250k); a duplicate takes an identifier, and "equal" for equal data.
 * Examples: "open-h at hopper-sensor", "short at point 2 0.5", "crystal at hopper-sensor 20000 for 5s", "duplicate at
 * lighting 138". now_ns is its beginning; value is never left 0 where the kind takes one; a reset without a time takes 20 ms,
 * "asleep" without a place is at every unit but our adapter (LW_AT_NOWHERE). Returns 0, or -EINVAL with
 * message (LW_DAMAGE_TEXT bytes): what is wrong and what to write. */
int lw_damage_parse(const struct lw_plant *plant, const char *text, uint64_t now_ns, struct lw_damage *out,
                    char message[LW_DAMAGE_TEXT]);

/* Index of the unit, or of the trunk point, that a person means by text, as in PLACE above; -1: none, -2: several. */
int lw_damage_find_unit(const struct lw_plant *plant, const char *text);
int lw_damage_find_point(const struct lw_plant *plant, const char *text);

/* Writes it as lw_damage_parse reads it: parsed at from_ns it is the same again. Returns buf. */
char *lw_damage_text(const struct lw_plant *plant, const struct lw_damage *damage, char buf[LW_DAMAGE_TEXT]);

/* Says it in words: "H wire broken at the hopper load sensor". Returns buf. */
char *lw_damage_words(const struct lw_plant *plant, const struct lw_damage *damage, char buf[LW_DAMAGE_TEXT]);

#endif
