/* SPDX-License-Identifier: MIT
 *
 * Shares the width of the drawing out: the wires always have their place, counters and states only where there is room.
 */
#include "view_bench_columns.h"

enum { NORMAL = 76, NARROW = 60, NAME_MAX = 24, STATE = 10, COUNTERS = 8, STUB_MAX = 19 };

struct lw_bench_columns lw_bench_columns(int w)
{
    struct lw_bench_columns at = { .name_w = w >= NORMAL ? 12 : 8, .length_w = w >= NORMAL ? 6 : 0 };
    at.state_w = w >= NARROW ? STATE : 0;
    at.counters_w = w >= NORMAL ? COUNTERS : 0;
    at.stub_w = w >= NORMAL ? 8 : w >= NARROW ? 7 : 4;
    at.h = 1 + at.name_w + at.length_w + 2;
    at.l = at.h + 1 + LW_BENCH_BETWEEN;
    int fixed = at.l + 1 + at.stub_w + 4 + at.state_w + at.counters_w;   /* with the brackets of a unit */
    at.unit_w = w - fixed > 1 ? w - fixed : 1;
    if (at.unit_w > NAME_MAX) {
        at.stub_w += at.unit_w - NAME_MAX;
        at.stub_w = at.stub_w > STUB_MAX ? STUB_MAX : at.stub_w;
        at.unit_w = NAME_MAX;
    }
    at.unit = at.l + 1 + at.stub_w;
    return at;
}
