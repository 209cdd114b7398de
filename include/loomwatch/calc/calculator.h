/* SPDX-License-Identifier: MIT
 *
 * A calculator is data: its name, its input fields, and a function from input to worksheet. The one table of fields gives
 * the command line, its --help, the page of the dashboard and every error message.
 */
#ifndef LOOMWATCH_CALC_CALCULATOR_H
#define LOOMWATCH_CALC_CALCULATOR_H

#include "loomwatch/calc/worksheet.h"

enum {
    LW_CALC_FIELDS = 24,      /* of one calculator, at most */
    LW_CALC_REPEATS = 32,     /* values of one field, at most */
    LW_CALC_TEXT = 256,       /* of a value as typed; longer is refused */
    LW_CALC_ERROR = 320,
    LW_N_CALCULATORS = 4,
};

enum lw_field_kind {
    LW_FIELD_NUMBER,          /* in `unit`, min to max */
    LW_FIELD_COUNT,           /* a whole number, min to max */
    LW_FIELD_CHOICE,          /* one word of `choices` */
    LW_FIELD_GAUGE,           /* copper cross-section in mm2, typed as mm2 or AWG */
    LW_FIELD_FILE,            /* a path; the app reads it */
};

struct lw_calc_field {
    const char *name;         /* as in name=value: letters, digits, dashes */
    const char *words;        /* one line: what it is */
    const char *unit;         /* base unit of the value, see core/unit.h; NULL = none. Of a FILE: what else it is than a file */
    const char *example;      /* a good value as typed */
    const char *preset;       /* taken where nothing is given, as typed; NULL = none */
    const char *const *choices;   /* ends with NULL */
    double min, max;          /* in unit */
    uint8_t kind;             /* enum lw_field_kind */
    bool is_required, may_repeat;
    bool may_be_open;         /* takes OL and open, what an ohmmeter shows of an open circuit: INFINITY */
    bool is_positional;       /* a word without "=" goes here; the fields so marked are filled in order */
};

struct lw_calc_value {
    double number;            /* in the unit of the field */
    unsigned choice;          /* index into choices */
    char text[LW_CALC_TEXT];  /* as typed */
};

struct lw_calc_slot {
    unsigned n;               /* 0 = neither given nor preset */
    bool is_given;            /* false: the preset */
    struct lw_calc_value values[LW_CALC_REPEATS];
};

struct lw_calculator;

/* About 200 kB: no thing for a stack. */
struct lw_calc_input {
    const struct lw_calculator *calculator;
    struct lw_calc_slot slots[LW_CALC_FIELDS];   /* in the order of the calculator's fields */
    const void *material;     /* what the app read from the files of FILE fields, for calculators that need it; borrowed */
};

struct lw_calculator {
    const char *name;         /* the command: "meter" */
    const char *words;        /* one line, the question it answers */
    const char *example;      /* words of a command line that works: "between=118 units=6" */
    bool has_cautions;        /* the standing cautions of work on a machine open its worksheet */
    unsigned n_fields;
    const struct lw_calc_field *fields;
    /* Fills a worksheet that lw_calc_run has opened. Input is within the limits of its fields; what contradicts itself
     * beyond them is refused through lw_sheet_refuse. */
    void (*run)(const struct lw_calc_input *input, struct lw_worksheet *sheet);
};

extern const struct lw_calculator lw_calc_meter, lw_calc_timing, lw_calc_stub, lw_calc_fit;

/* All of them, in the order of help and dashboard. */
extern const struct lw_calculator *const lw_calculators[LW_N_CALCULATORS];
const struct lw_calculator *lw_calculator_find(const char *name);   /* NULL: none of that name */

/* Input is made in three steps: init, put for each word or field, finish. put and finish return 0, or -EINVAL having said
 * in error what is wrong and what to write instead; error opens with the name of the calculator. */
void lw_calc_input_init(struct lw_calc_input *input, const struct lw_calculator *calculator);
/* A word of the command line: "between=118ohm", or a bare value for a positional field. */
int lw_calc_input_word(struct lw_calc_input *input, const char *word, char error[LW_CALC_ERROR]);
/* The value of one field. Of a field that may repeat several values may stand in text, with + or blanks between them:
 * "2.4 + 1". A second call adds to such a field, and is refused for others. */
int lw_calc_input_put(struct lw_calc_input *input, unsigned field, const char *text, char error[LW_CALC_ERROR]);
/* Presets for what is not given; refuses what is required and not given. */
int lw_calc_input_finish(struct lw_calc_input *input, char error[LW_CALC_ERROR]);

/* Reads one value of a field: what lw_calc_input_put does for each. error without the names. */
int lw_calc_field_read(const struct lw_calc_field *field, const char *text, struct lw_calc_value *value,
                       char error[LW_CALC_ERROR]);
/* What may stand in a field, for help and page: "ohm, 0 to 10 Mohm", "one of: supply, ground". Cut at size. */
char *lw_calc_field_limits(const struct lw_calc_field *field, char *buf, size_t size);

/* For run(): whether the field has a value, given or preset; its number (NaN if it has none); the nth; its choice (0). */
bool lw_calc_has(const struct lw_calc_input *input, unsigned field);
double lw_calc_number(const struct lw_calc_input *input, unsigned field);
double lw_calc_number_at(const struct lw_calc_input *input, unsigned field, unsigned n);
unsigned lw_calc_count(const struct lw_calc_input *input, unsigned field);    /* how many values it has */
unsigned lw_calc_choice(const struct lw_calc_input *input, unsigned field);

/* Clears the sheet, puts title and standing cautions, and runs the calculator. */
void lw_calc_run(const struct lw_calc_input *input, struct lw_worksheet *sheet);

#endif
