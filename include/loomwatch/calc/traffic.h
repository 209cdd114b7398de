/* SPDX-License-Identifier: MIT
 *
 * The traffic of one bus before and after a module joins it: what each message asks for, what had to be assumed, and how
 * long each may take. No words: those are in the calculator `fit`.
 */
#ifndef LOOMWATCH_CALC_TRAFFIC_H
#define LOOMWATCH_CALC_TRAFFIC_H

#include "loomwatch/calc/module.h"
#include "loomwatch/calc/response_time.h"
#include "loomwatch/core/baseline.h"

enum { LW_TRAFFIC_MAX = LW_MAX_IDS + LW_MODULE_MESSAGES };

/* What a message entered with that was not known of it; several may hold. */
enum lw_assumed {
    LW_ASSUMED_SHORTEST_GAP = 1 << 0,  /* on event: as if it came as fast as the fastest two that were heard */
    LW_ASSUMED_GAP = 1 << 1,           /* not even that is known: the stated gap */
    LW_ASSUMED_JITTER = 1 << 2,        /* unknown: the tolerance of its period */
    LW_ASSUMED_LENGTH = 1 << 3,        /* unknown: as long as its format allows */
    LW_ASSUMED_AT_ONCE = 1 << 4,       /* cyclic and on event: the most that came within a period, again and again */
    LW_ASSUMED_TWO_AT_ONCE = 1 << 5,   /* the same, and that is unknown: two */
    LW_N_ASSUMED = 6,
};

enum lw_passage {
    LW_PASSAGE_FREE,         /* arrives in time, or there is no time that it must keep */
    LW_PASSAGE_PUSHED,       /* in time before, too late after */
    LW_PASSAGE_LATE,         /* of the module: too late */
    LW_PASSAGE_LATE_BEFORE,  /* too late in the worst case without the module already */
};

struct lw_traffic_message {
    struct lw_id_key key;
    char name[LW_NAME_MAX];
    bool is_module, is_twin;           /* twin: module and bus both send this identifier */
    bool is_cyclic;
    uint8_t assumed;                   /* enum lw_assumed */
    uint8_t passage;                   /* enum lw_passage */
    uint8_t format, len;
    struct lw_wire_length worst;
    struct lw_demand demand;
    uint64_t deadline_ns;              /* of a message of the bus its period; 0 = none known */
    uint64_t usual_ns;                 /* wire time with the data last heard; the longest where they are unknown */
    uint64_t usual_period_ns;          /* 0: on event, no part of the usual load */
    struct lw_response before, after;  /* before: of the bus only */
};

struct lw_traffic_question {
    const struct lw_baseline *baseline;
    unsigned bus;                      /* which of the baseline */
    const struct lw_module *module;
    uint32_t bit_rate_bps, data_bit_rate_bps;   /* data: 0 = unknown */
    unsigned n_faults;                 /* frames destroyed in any one busy time */
    uint64_t assumed_gap_ns;           /* for LW_ASSUMED_GAP; above 0 */
};

/* Shares of the bus, 1.0 = all of it. */
struct lw_traffic_load {
    double usual;            /* cyclic messages with their periods, the data last heard */
    double worst;            /* everything as close together and as long as assumed */
};

/* About half a megabyte: no thing for a stack. */
struct lw_traffic {
    size_t n, n_module;                /* messages; how many of them are the module's */
    size_t n_twins, n_pushed, n_late, n_late_before;
    size_t n_assumed[LW_N_ASSUMED];   /* by bit of enum lw_assumed */
    size_t n_untimed;                  /* left out: they switch the rate, and the data bit rate is unknown */
    bool has_fd, module_has_fd;        /* on the bus before; of the module */
    struct lw_traffic_load before, after;
    int tightest;                       /* nearest to its deadline after, or LW_NO_INDEX */
    struct lw_traffic_message messages[LW_TRAFFIC_MAX];     /* in order of priority */
    struct lw_demand demands[LW_TRAFFIC_MAX];               /* room to work in */
    struct lw_response responses[LW_TRAFFIC_MAX];
};

/* Fills out. Returns 0, or -EINVAL where the bit rate is 0 or there is no message of this bus. */
int lw_traffic_weigh(const struct lw_traffic_question *question, struct lw_traffic *out);

/* How much of its deadline a message needs after the module joined, 1.0 = all; NaN without deadline, infinite without bound. */
double lw_traffic_share(const struct lw_traffic_message *message);

/* How many messages of the bus this one goes before, when they want the bus at once. */
size_t lw_traffic_n_beaten(const struct lw_traffic *traffic, size_t index);

#endif
