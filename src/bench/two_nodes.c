/* SPDX-License-Identifier: MIT
 *
 * Two equations for two pins, solved on the spot.
 */
#include "two_nodes.h"

#include <math.h>

static const double pull_scale = 0x1p50;

struct lw_two_nodes lw_two_nodes_around(const struct lw_ports *ports, unsigned unit)
{
    struct lw_pair pins = ports->loom->units[unit];
    double hh = ports->z[2 * unit][pins.h], ll = ports->z[2 * unit + 1][pins.l], hl = ports->z[2 * unit][pins.l];
    double det = hh * ll - hl * hl, h = ports->rest[pins.h], l = ports->rest[pins.l];
    return (struct lw_two_nodes){
        .y_hh = ll / det, .y_ll = hh / det, .y_hl = -hl / det,
        .j_h = (ll * h - hl * l) / det, .j_l = (hh * l - hl * h) / det,
    };
}

/* Siemens of a driver at one port as felt at another, behind the wire between the two; none without unbroken wire: a way
 * through terminators is one way for all, and already in the resting network. */
static int64_t felt(const struct lw_ports *ports, unsigned port, unsigned at)
{
    const struct lw_loom *loom = ports->loom;
    if (loom->copper[port / 2][port % 2] != loom->copper[at / 2][at % 2])
        return 0;
    unsigned a = lw_ports_node(ports, port), b = lw_ports_node(ports, at);
    double way = port == at ? 0 : ports->z[port][a] + ports->z[at][b] - 2 * ports->z[port][b];
    return (int64_t)(pull_scale / (LW_DRIVER_OHM + fmax(way, 0)));
}

struct lw_pull lw_two_nodes_pull(const struct lw_ports *ports, unsigned sender, unsigned unit)
{
    bool is_crossed = ports->loom->is_swapped[sender] != ports->loom->is_swapped[unit];
    int64_t up = felt(ports, 2 * sender, 2 * unit + is_crossed);
    int64_t down = felt(ports, 2 * sender + 1, 2 * unit + !is_crossed);
    return is_crossed ? (struct lw_pull){ .h = down, .l = up, .l_up = up } : (struct lw_pull){ .h = up, .l = down, .h_up = up };
}

double lw_two_nodes_solve(const struct lw_two_nodes *around, const struct lw_pull *pull, struct lw_volts *volts)
{
    double a = around->y_hh + (double)pull->h / pull_scale, b = around->y_ll + (double)pull->l / pull_scale, c = around->y_hl;
    double j_h = around->j_h + LW_DRIVER_VOLT * ((double)pull->h_up / pull_scale);
    double j_l = around->j_l + LW_DRIVER_VOLT * ((double)pull->l_up / pull_scale);
    double per_det = 1 / (a * b - c * c);
    *volts = (struct lw_volts){ (b * j_h - c * j_l) * per_det, (a * j_l - c * j_h) * per_det };
    return (a + b + 2 * c) * per_det;
}
