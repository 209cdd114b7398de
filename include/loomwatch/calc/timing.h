/* SPDX-License-Identifier: MIT
 *
 * What the calculator `timing` wants to know of an interface. The app asks the kernel and hands it over as the material of
 * the input.
 */
#ifndef LOOMWATCH_CALC_TIMING_H
#define LOOMWATCH_CALC_TIMING_H

#include "loomwatch/calc/bit_timing.h"

struct lw_timing_told {
    char interface[16];
    struct lw_timing_limits limits;
    bool has_setting;                /* false: no bit rate was set yet; of timing only the clock is known then */
    struct lw_timing timing;
    uint32_t data_rate_bps;          /* 0: unknown, or no data phase. Its segments are told by nobody */
};

/* The field of lw_calc_timing that names the interface; what it names is the material. */
enum { LW_TIMING_INTERFACE = 0 };

#endif
