/* SPDX-License-Identifier: MIT
 *
 * Where what stands in the drawing of the bench, by the width it gets. Private to the bench page.
 */
#ifndef LOOMWATCH_SRC_UI_VIEW_BENCH_COLUMNS_H
#define LOOMWATCH_SRC_UI_VIEW_BENCH_COLUMNS_H

enum { LW_BENCH_BETWEEN = 6 };   /* columns between the wires */

struct lw_bench_columns {
    int name_w, length_w;        /* of a point's name, and of a segment's length where it has no row of its own; 0 = none */
    int h, l, stub_w;            /* columns of the wires; of the stub, which begins behind L */
    int unit, unit_w;            /* the bracket, a sign and the name of a unit follow */
    int state_w, counters_w;     /* 0 = none */
};

struct lw_bench_columns lw_bench_columns(int w);

#endif
