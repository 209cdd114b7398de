/* SPDX-License-Identifier: MIT
 *
 * Evidence: what the events of one bus prove, as named facts, each with value, since when, how old, and whether it is known
 * at all. Collected event by event by the monitor, read by the verdict. What an adapter cannot tell stays unknown.
 */
#ifndef LOOMWATCH_CORE_EVIDENCE_H
#define LOOMWATCH_CORE_EVIDENCE_H

#include "loomwatch/core/claims.h"
#include "loomwatch/core/controller.h"
#include "loomwatch/core/id_table.h"

enum lw_fact {
    /* The connection and the adapter. */
    LW_FACT_GONE, LW_FACT_DOWN, LW_FACT_TELLS_ERRORS, LW_FACT_TELLS_STATE, LW_FACT_LISTENS_ONLY, LW_FACT_CONTRADICTS,
    LW_FACT_LOSSES, LW_FACT_WIRE_TOLD, LW_FACT_OPEN_TOLD, LW_FACT_RAIL_TOLD, LW_FACT_SHORT_TOLD,
    /* Our own controller. */
    LW_FACT_BUS_OFF, LW_FACT_OFF_AT_ONCE, LW_FACT_SEND_TROUBLE, LW_FACT_RECEIVE_TROUBLE, LW_FACT_STUCK_AT_128,
    LW_FACT_BEYOND_128,
    /* Errors of the last seconds. */
    LW_FACT_NO_ACKNOWLEDGE, LW_FACT_ERRORS, LW_FACT_ERRORS_GO_ON, LW_FACT_MANY_ERRORS, LW_FACT_SENDING_ERRORS, LW_FACT_STUFF_ERRORS,
    LW_FACT_FORM_ERRORS, LW_FACT_BIT_ERRORS, LW_FACT_SCATTERED, LW_FACT_ONE_VICTIM, LW_FACT_VICTIM_IN_DATA,
    /* Traffic. */
    LW_FACT_OTHERS_NOW, LW_FACT_OTHERS_BEFORE, LW_FACT_OWN_SENT, LW_FACT_SILENT, LW_FACT_FEWER_FRAMES, LW_FACT_REPEATS, LW_FACT_SKIPS,
    LW_FACT_DOUBLED, LW_FACT_FULL, LW_FACT_HOG,
    /* Units, as far as their messages tell. */
    LW_FACT_QUIET_GROUP, LW_FACT_MOST_QUIET, LW_FACT_CAME_BACK, LW_FACT_COMES_AND_GOES, LW_FACT_NEWCOMER,
    LW_FACT_MUTE, LW_FACT_NEVER_HEARD, LW_FACT_ADDRESS_SHARED, LW_FACT_NO_ADDRESS,
    /* How it began, and whether it is over. */
    LW_FACT_JUST_BEGUN, LW_FACT_TROUBLE, LW_FACT_FROM_START, LW_FACT_AFTER_CHANGE, LW_FACT_OUT_OF_THE_BLUE, LW_FACT_HEALED,
    LW_N_FACTS,
};

enum lw_answer { LW_ANSWER_UNKNOWN, LW_ANSWER_NO, LW_ANSWER_YES };

struct lw_fact_info {
    double usual;            /* how often it is so when there is trouble of whatever kind: what a cause is held against. Trade
                                experience and the training scenarios of tests/diagnosis */
    const char *name;        /* short, for tables: "stuck at 128" */
    const char *yes, *no;    /* what it means that it is so, or not so */
    const char *unit;        /* of the value; "" where it is a mere yes or no */
    const char *source;      /* what makes it a proof of anything: standard, kernel header, or common practice */
};

extern const struct lw_fact_info lw_facts[LW_N_FACTS];

struct lw_fact_value {
    uint8_t answer;          /* enum lw_answer */
    double value;            /* in the unit of its info */
    uint64_t since_ns;       /* bus time when the answer became this one; 0 = always */
    uint64_t last_ns;        /* newest event that bears on it; 0 = none */
};

enum { LW_VICTIMS = 8, LW_EVIDENCE_TICK_MS = 50 };

struct lw_victim {
    struct lw_id_key key;
    double weight;           /* errors after which this message was the next one heard; fades */
};

/* Sums over about the last second: each tick takes a twentieth away. */
struct lw_recent {
    double frames, own, no_ack, errors, sending, stuff, form, bit, in_data;
};

struct lw_evidence {
    struct lw_fact_value facts[LW_N_FACTS];
    struct lw_recent recent;
    double errors_of_late, missed_of_late;    /* sums over about ten seconds: errors, and cycles that messages missed */
    double usual_hz;                          /* frames of others a second, while all was well; 0 = not known yet */
    struct lw_victim victims[LW_VICTIMS];
    struct lw_id_key repeat_key;
    uint32_t repeat_hash;
    unsigned repeat_run;                      /* identical frames back to back */
    unsigned n_repeats_loose;                 /* of these, so many with more room between than an error needs */
    double repeat_extra_bits;                 /* mean of the wire's bits between them beyond frame and intermission */
    uint8_t place_age[32];                    /* ticks since that place of the frame was told, 255 = long ago */
    uint64_t last_frame_ns, last_own_ns, last_error_ns, last_no_ack_ns, last_report_ns;   /* 0 = never */
    uint64_t run_ns;                          /* the first of the error reports that come without a pause of 200 ms */
    uint64_t bus_off_ns, off_after_ns;        /* the last bus off; how long after that run began. UINT64_MAX: cannot be told */
    uint64_t last_loss_ns, last_contradiction_ns, last_change_ns;
    struct lw_error last_error;
    unsigned n_after_each;                    /* equal error frames in a row, each right after a good frame, state active */
    unsigned n_impossible;                    /* error frames that contradict themselves */
    uint64_t n_heard, n_heard_at_trouble, n_errors;   /* frames of others; bus errors: ever */
    uint64_t n_placed, n_directed;            /* error reports that told a place, or that we were sending */
    uint8_t tec_max;                          /* of this trouble */
    uint32_t tec_told, rec_told;              /* as last told */
    uint64_t rise_ns;                         /* when one of them was last told higher than before; 0 = never */
    uint64_t at_128_since_ns;                 /* TEC told as 128, and nothing else since; 0 = not so */
    uint64_t trouble_since_ns, trouble_last_ns;   /* 0 = none yet */
    uint64_t change_before_trouble_ns;        /* how long before trouble the last change came; UINT64_MAX = none */
    bool is_in_trouble, is_error_pending;     /* pending: the next frame of another unit is taken for the one that was spoilt */
};

/* What the monitor knows beside the events: filled anew for each tick. */
struct lw_surroundings {
    const struct lw_controller *controller;
    uint64_t start_ns, silent_since_ns, silence_ns;   /* silence_ns: so long nobody may be heard before it is silence */
    struct lw_reading bit_rate_bps, load_permille;
    unsigned n_cyclic, n_quiet;               /* messages with a rhythm; of these silent now */
    uint64_t quiet_since_ns;                  /* when the newest of the quiet ones was last heard; 0 = none is quiet */
    unsigned n_returned, n_comings;           /* messages that came back of late; how often one of them went, at most */
    unsigned n_doubled, n_never_heard, n_new; /* messages: twice as often; expected but never heard; new since mark or baseline, and
                                                 heard */
    uint64_t plugged_ns;                      /* when something was marked as plugged in; 0 = never */
    bool is_heard_since_plugged;              /* a message was new, or came back, since then */
    struct lw_claim_trouble claims;
    uint32_t hog_permille;                    /* share of the frames that one message has */
};

void lw_evidence_init(struct lw_evidence *evidence);

/* Events in the order of bus time t_ns. wire_ns: how long the frame took on the wire with the
 * intermission after it, 0 = unknown; bit_rate_bps likewise. */
void lw_evidence_frame(struct lw_evidence *evidence, const struct lw_frame *frame, unsigned bus, uint64_t wire_ns,
                       uint32_t bit_rate_bps, uint64_t t_ns);
void lw_evidence_error(struct lw_evidence *evidence, const struct lw_error *error, const struct lw_controller *controller,
                       uint64_t t_ns);
void lw_evidence_link(struct lw_evidence *evidence, const struct lw_controller *controller, uint64_t t_ns);
void lw_evidence_loss(struct lw_evidence *evidence, uint64_t t_ns);

/* A message missed so many cycles before the frame that came now. */
void lw_evidence_missed(struct lw_evidence *evidence, uint64_t n_cycles, uint64_t t_ns);

/* The operator changed something: plugged, unplugged, configured, wiggled. */
void lw_evidence_change(struct lw_evidence *evidence, uint64_t t_ns);

/* Every LW_EVIDENCE_TICK_MS of bus time: recent sums fade, the facts are worked out anew. */
void lw_evidence_tick(struct lw_evidence *evidence, const struct lw_surroundings *around, uint64_t t_ns);

/* The facts anew: part of every tick, and between two where something happened that cannot wait. */
void lw_evidence_judge(struct lw_evidence *evidence, const struct lw_surroundings *around, uint64_t t_ns);

/* Which message is spoilt most, NULL if none stands out. */
const struct lw_victim *lw_evidence_victim(const struct lw_evidence *evidence);

#endif
