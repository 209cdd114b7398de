/* SPDX-License-Identifier: MIT
 *
 * Worst-case response times on one bus: how long each message may take from the moment its unit wants to send it until all
 * have it, when everything comes together at the worst moment.
 *
 * Source: Davis, Burns, Bril, Lukkien, "Controller Area Network (CAN) schedulability analysis: refuted, revisited and
 * revised", Real-Time Systems 35:239-272 (2007). Of the paper the abstract and introduction were read; the formulas are
 * from memory, and held against a simulation of arbitration in tests/calc.
 */
#ifndef LOOMWATCH_CALC_RESPONSE_TIME_H
#define LOOMWATCH_CALC_RESPONSE_TIME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What one fault costs besides the frame that is sent again: flags that add up to 12 bits, delimiter 8, intermission 3, and
 * 8 more where the sender is error passive (Bosch CAN 2.0 part B; ISO 11898-1). */
enum { LW_RECOVERY_BITS = 12 + 8 + 3 + 8 };

/* One message as the analysis sees it. An array of them is in order of priority: the winner of arbitration first. */
struct lw_demand {
    uint64_t frame_ns;        /* C: its longest time on the wire, intermission included; above 0 */
    uint64_t period_ns;       /* T: the least time between two of them; above 0 */
    uint64_t jitter_ns;       /* J: how late it may be queued after the moment that counts */
    uint32_t n_more;          /* so many more of it may be queued at the same moment; the answer is for the last of them */
};

struct lw_response_setting {
    uint64_t bit_ns;          /* of arbitration; rounded up where it is no whole number */
    unsigned n_faults;        /* frames destroyed in any one busy time */
};

struct lw_response {
    bool is_bounded;          /* false: it and what goes before it ask for the whole bus or so nearly that no bound was found */
    uint64_t response_ns;     /* R, jitter included; 0 if there is no bound */
    uint64_t blocking_ns;     /* B: the longest frame of lower priority, which may just have begun */
    uint64_t queueing_ns;     /* w: from being queued to winning the bus */
    uint32_t instance;        /* which one in the busy time is the slowest, from 0 */
    uint32_t n_instances;     /* Q: how many fall into it */
};

/* The share of the bus that n messages ask for, 1.0 = all of it. */
double lw_demand_share(const struct lw_demand *demands, size_t n);

/* Fills n responses, one a demand. Times beyond an hour count as no bound; so does what takes too long to be worked out. */
void lw_response_times(const struct lw_demand *demands, size_t n, const struct lw_response_setting *setting,
                       struct lw_response *out);

#endif
