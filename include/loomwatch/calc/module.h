/* SPDX-License-Identifier: MIT
 *
 * What a module will put on the bus, as its maker's papers say: read from a file by the app.
 */
#ifndef LOOMWATCH_CALC_MODULE_H
#define LOOMWATCH_CALC_MODULE_H

#include "loomwatch/core/baseline.h"

enum { LW_MODULE_MESSAGES = 256 };

struct lw_module_message {
    struct lw_id_key key;          /* of bus 0 */
    char name[LW_NAME_MAX];     /* UTF-8 */
    uint8_t format;                /* LW_FRAME_FD and LW_FRAME_BRS, as in struct lw_frame */
    uint8_t len;                   /* data bytes at most */
    uint64_t period_ns;            /* 0: sent on event alone */
    uint64_t shortest_gap_ns;      /* the least time between two of them; 0 = as the period says */
    uint64_t jitter_ns;
    uint64_t deadline_ns;          /* how old it may be when it has arrived; 0 = its period, or its shortest gap */
};

struct lw_module {
    char name[LW_NAME_MAX];
    struct lw_reading bit_rate_bps, data_bit_rate_bps;   /* what it is set to; unknown = as the bus */
    size_t n_messages;             /* period or gap of each above 0, no two of one identifier */
    struct lw_module_message messages[LW_MODULE_MESSAGES];
};

#endif
