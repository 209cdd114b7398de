/* SPDX-License-Identifier: MIT
 *
 * The verdict: from facts and meter readings to what is wrong and what to check next. Two steps. The picture is what happens,
 * a matter of fact ("nobody acknowledges this adapter"). The causes are what may be behind it, ranked by likelihood ratios
 * over a table, with a row for "none of these". Certainty is claimed only where the table names what proves it.
 */
#ifndef LOOMWATCH_CORE_VERDICT_H
#define LOOMWATCH_CORE_VERDICT_H

#include "loomwatch/core/evidence.h"
#include "loomwatch/core/reading.h"

/* What happens. In the order in which they are looked for: one that explains what comes after it stands first. */
enum lw_picture {
    LW_PICTURE_GONE, LW_PICTURE_DOWN, LW_PICTURE_CONTRADICTORY, LW_PICTURE_BUS_OFF, LW_PICTURE_WIRE_TOLD, LW_PICTURE_REPEATING,
    LW_PICTURE_UNACKNOWLEDGED, LW_PICTURE_NO_GOOD_FRAME, LW_PICTURE_FULL, LW_PICTURE_SPOILT, LW_PICTURE_LATE_HOST, LW_PICTURE_SKIPPING,
    LW_PICTURE_WAITING, LW_PICTURE_NOTHING, LW_PICTURE_SILENT, LW_PICTURE_NO_ADDRESS, LW_PICTURE_DOUBLED,
    LW_PICTURE_COMES_AND_GOES, LW_PICTURE_QUIET, LW_PICTURE_ODD_READING, LW_PICTURE_MUTE, LW_PICTURE_STRANGER,
    LW_PICTURE_RETURNED, LW_PICTURE_HEALED, LW_PICTURE_UNTOLD, LW_PICTURE_WELL,
    LW_N_PICTURES,
};

enum lw_cause {
    LW_CAUSE_NONE_OF_THESE,
    LW_CAUSE_WELL, LW_CAUSE_PAST, LW_CAUSE_ADAPTER_GONE, LW_CAUSE_INTERFACE_DOWN, LW_CAUSE_ADAPTER_LIES, LW_CAUSE_CANNOT_TELL,
    LW_CAUSE_HOST_LATE, LW_CAUSE_ALONE, LW_CAUSE_OTHERS_LISTEN, LW_CAUSE_ASLEEP, LW_CAUSE_OWN_RATE, LW_CAUSE_OTHER_RATE,
    LW_CAUSE_TIMING, LW_CAUSE_SWAPPED, LW_CAUSE_WIRE_OPEN, LW_CAUSE_SHORT, LW_CAUSE_TO_RAIL, LW_CAUSE_TRANSCEIVER,
    LW_CAUSE_TERMINATOR_MISSING, LW_CAUSE_TERMINATOR_EXTRA, LW_CAUSE_LONG_STUB, LW_CAUSE_DUPLICATE, LW_CAUSE_LOOSE,
    LW_CAUSE_UNIT_GONE, LW_CAUSE_UNIT_RESET, LW_CAUSE_BABBLE, LW_CAUSE_FD_FRAMES, LW_CAUSE_FOREIGN, LW_CAUSE_SAME_ADDRESS,
    LW_N_CAUSES,
};

/* How often a fact holds where the cause does: the words of the table and what they count for. */
enum lw_how { LW_NEVER, LW_SELDOM, LW_HALF, LW_MOSTLY, LW_ALWAYS, LW_N_HOWS };

struct lw_sign {
    uint8_t fact;            /* enum lw_fact */
    uint8_t how;             /* enum lw_how */
};

/* Things to do that tell causes apart. The first are the meter's. */
enum lw_check {
    LW_CHECK_OHM = LW_MEASURE_OHM, LW_CHECK_VOLT_H = LW_MEASURE_VOLT_H, LW_CHECK_VOLT_L = LW_MEASURE_VOLT_L,
    LW_CHECK_UNPLUG, LW_CHECK_WAKE, LW_CHECK_WIGGLE, LW_CHECK_RATE,
    LW_N_CHECKS,
};

enum { LW_CHECK_OUTCOMES = LW_READING_RANGES, LW_MAX_SIGNS = 10, LW_MAX_PROOFS = 5 };

struct lw_check_info {
    const char *words;                       /* what to do: "Unplug what was plugged in last" */
    unsigned n_outcomes;
    const char *outcomes[LW_CHECK_OUTCOMES]; /* of checks that are no measurement */
    const char *caution;                     /* NULL = none beside the common ones */
};

extern const struct lw_check_info lw_checks[LW_N_CHECKS];

struct lw_cause_info {
    const char *name;        /* for machines: "short" */
    const char *words;       /* what is wrong, half a sentence: "H and L touch somewhere" */
    const char *next;        /* the quickest thing to look at if this is it */
    uint32_t pictures;       /* bit n: explains enum lw_picture n */
    uint8_t weight;          /* how common it is among those of its pictures: 1 rare to 8 very common; trade experience */
    struct lw_sign signs[LW_MAX_SIGNS];      /* ended by a row of zeros */
    struct lw_sign proof[LW_MAX_PROOFS];     /* if all of these hold (always) or do not (never), it is certain; none: it never is */
    uint8_t outcomes[LW_N_CHECKS];           /* bit n: outcome n of the check is to be expected; 0 = any */
    const char *source;
};

extern const struct lw_cause_info lw_causes[LW_N_CAUSES];

struct lw_picture_info {
    const char *name;        /* for machines: "bus-off" */
    const char *words;       /* what happens, a sentence without its full stop */
    bool is_trouble;
};

extern const struct lw_picture_info lw_pictures[LW_N_PICTURES];

enum lw_confidence { LW_CANNOT_SAY, LW_ONE_OF, LW_LIKELY, LW_CERTAIN, LW_N_CONFIDENCES };

enum { LW_MAX_NAMED = 16, LW_VERDICT_TEXT = 480 };

struct lw_suspect {
    uint8_t cause;           /* enum lw_cause */
    double probability;
};

struct lw_verdict {
    uint8_t picture, confidence;             /* enum lw_picture, enum lw_confidence */
    uint64_t since_ns;                       /* bus time since when this picture with this first cause holds */
    uint64_t given;                          /* bit n: enum lw_fact n made the picture, and was not weighed for causes */
    unsigned n_named;                        /* causes worth naming, most likely first */
    struct lw_suspect named[LW_MAX_NAMED];
    bool is_blind;                           /* nothing is heard, and this adapter tells neither errors nor its state */
    int check;                               /* enum lw_check that separates them best, -1 = none does */
    double check_bits;                       /* what it is expected to tell */
};

struct lw_readings {
    unsigned n;
    struct lw_meter_reading all[LW_MAX_READINGS];   /* oldest first; the newest of a kind counts */
};

/* Works out what the facts and readings say at this moment. since_ns is left 0. */
void lw_verdict_judge(const struct lw_fact_value facts[LW_N_FACTS], const struct lw_readings *readings, struct lw_verdict *out);

/* Steadies verdicts: a new one counts once it held for a while, at once where it is about the connection itself. */
struct lw_verdict_keeper {
    struct lw_verdict current, candidate;
    uint64_t candidate_since_ns;
    uint64_t trouble_since_ns;               /* trouble of one name or another, while the current verdict is calm; 0 = no */
    bool has_current;
};

/* Before the first judgement: waiting. */
void lw_verdict_keeper_init(struct lw_verdict_keeper *keeper);

/* Returns true if the verdict that counts has changed in picture, confidence or first cause. */
bool lw_verdict_keep(struct lw_verdict_keeper *keeper, const struct lw_verdict *now, uint64_t t_ns);

/* "Bus off: … Likely: H and L touch. Next: …", in plain words, at most LW_VERDICT_TEXT. bus: its name, or NULL. Returns buf. */
char *lw_verdict_words(const struct lw_verdict *verdict, const char *bus, char buf[LW_VERDICT_TEXT]);

/* The same without the first sentence, which says what happens. */
char *lw_verdict_reasons(const struct lw_verdict *verdict, char buf[LW_VERDICT_TEXT]);

/* The check that separates the causes best: what to do ("" if there is none), and the nth thing that can come out of it with what it
 * would mean. The second returns how many of the named causes let that expect. */
char *lw_verdict_check_words(const struct lw_verdict *verdict, char buf[LW_VERDICT_TEXT]);
unsigned lw_verdict_outcome_words(const struct lw_verdict *verdict, unsigned nth, char buf[LW_VERDICT_TEXT]);

/* "certain", "likely", "one of these", "cannot tell" */
const char *lw_confidence_name(enum lw_confidence confidence);

/* By how much a fact as it stands speaks for a cause (above 1) or against it (below 1); 1 = not at all. */
double lw_cause_ratio(enum lw_cause cause, enum lw_fact fact, enum lw_answer answer);

/* The same as weighed for the nth cause named in a verdict: 1 for what made the picture. */
double lw_verdict_ratio(const struct lw_verdict *verdict, unsigned nth, enum lw_fact fact, enum lw_answer answer);

#endif
