/* SPDX-License-Identifier: MIT
 *
 * Bus load over a sliding second: the share of wire time that frames took, intermission included.
 */
#ifndef LOOMWATCH_CORE_LOAD_H
#define LOOMWATCH_CORE_LOAD_H

#include "loomwatch/core/event.h"
#include "loomwatch/core/wire.h"

enum { LW_LOAD_BUCKETS = 50, LW_LOAD_BUCKET_MS = 20 };

struct lw_load {
    uint64_t bucket_start_ns;     /* of the current bucket; 0 before the first frame */
    uint64_t first_ns;
    unsigned current;
    uint64_t busy_ns[LW_LOAD_BUCKETS];
    uint64_t busy_sum_ns;
    uint32_t bit_rate_bps, data_bit_rate_bps;  /* 0 = unknown */
    uint64_t n_untimed;           /* frames whose time on the wire could not be computed */
    uint64_t last_untimed_ns;
    uint32_t peak_permille;
    bool has_peak;
};

void lw_load_init(struct lw_load *load);

/* A changed bit rate empties the window: what went before was computed with another one. */
void lw_load_set_bit_rate(struct lw_load *load, uint32_t bit_rate_bps, uint32_t data_bit_rate_bps);
/* Takes a frame. Returns how long it took on the wire, intermission included, in ns; 0 = cannot be told. */
uint64_t lw_load_add(struct lw_load *load, const struct lw_wire_length *length, uint64_t t_ns);

/* Moves the window to now_ns; time running backwards is taken as standing still. */
void lw_load_advance(struct lw_load *load, uint64_t now_ns);

/* Permille of the last second. Unknown while the bit rate is, or within a second of a frame that could not be
 * timed, or before the first whole second. */
struct lw_reading lw_load_permille(const struct lw_load *load);
struct lw_reading lw_load_peak_permille(const struct lw_load *load);

#endif
