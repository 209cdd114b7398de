/* SPDX-License-Identifier: MIT
 *
 * With Z the impedances between all pins in the resting network, the currents i of the senders follow from
 * (45 ohm + Z) i = driver voltage - resting voltage, and every other voltage from Z i: a change of who sends costs a system
 * of two equations a sender instead of the whole network.
 */
#include "ports.h"

#include <math.h>
#include <string.h>

unsigned lw_ports_node(const struct lw_ports *ports, unsigned port)
{
    struct lw_pair pins = ports->loom->units[port / 2];
    return port % 2 == 0 ? pins.h : pins.l;
}

void lw_ports_measure(struct lw_ports *ports, const struct lw_loom *loom, unsigned n_units, const struct lw_network *network)
{
    ports->loom = loom;
    memcpy(ports->rest, network->injected, network->n_nodes * sizeof(double));
    lw_network_solve(network, ports->rest);
    for (unsigned port = 0; port < 2 * n_units; port++) {
        memset(ports->z[port], 0, network->n_nodes * sizeof(double));
        ports->z[port][lw_ports_node(ports, port)] = 1;
        lw_network_solve(network, ports->z[port]);
    }
}

/* Cholesky: the matrix is symmetric and positive definite, being resistances between ports. */
static void solve_system(double *a, unsigned n, double *x)
{
    for (unsigned j = 0; j < n; j++) {
        for (unsigned i = j; i < n; i++) {
            double sum = a[i * LW_MAX_PORTS + j];
            for (unsigned k = 0; k < j; k++)
                sum -= a[i * LW_MAX_PORTS + k] * a[j * LW_MAX_PORTS + k];
            a[i * LW_MAX_PORTS + j] = i == j ? sqrt(sum) : sum / a[j * LW_MAX_PORTS + j];
        }
    }
    for (unsigned i = 0; i < n; i++) {
        for (unsigned k = 0; k < i; k++)
            x[i] -= a[i * LW_MAX_PORTS + k] * x[k];
        x[i] /= a[i * LW_MAX_PORTS + i];
    }
    for (unsigned i = n; i-- > 0;) {
        for (unsigned k = i + 1; k < n; k++)
            x[i] -= a[k * LW_MAX_PORTS + i] * x[k];
        x[i] /= a[i * LW_MAX_PORTS + i];
    }
}

void lw_ports_find_currents(struct lw_ports *ports, uint32_t senders, struct lw_currents *out)
{
    out->n = 0;
    for (uint32_t left = senders; left; left &= left - 1) {
        unsigned u = (unsigned)__builtin_ctz(left);
        out->ports[out->n++] = (uint8_t)(2 * u);
        out->ports[out->n++] = (uint8_t)(2 * u + 1);
    }
    for (unsigned i = 0; i < out->n; i++) {
        unsigned node = lw_ports_node(ports, out->ports[i]);
        out->amperes[i] = (out->ports[i] % 2 == 0 ? LW_DRIVER_VOLT : 0) - ports->rest[node];
        for (unsigned j = 0; j <= i; j++)
            ports->system[i * LW_MAX_PORTS + j] = ports->z[out->ports[j]][node] + (i == j ? LW_DRIVER_OHM : 0);
    }
    solve_system(ports->system, out->n, out->amperes);
}

struct lw_volts lw_ports_volts(const struct lw_ports *ports, const struct lw_currents *currents, struct lw_pair at)
{
    struct lw_volts volts = { ports->rest[at.h], ports->rest[at.l] };
    for (unsigned i = 0; i < currents->n; i++) {
        const double *z = ports->z[currents->ports[i]];
        volts.h += z[at.h] * currents->amperes[i];
        volts.l += z[at.l] * currents->amperes[i];
    }
    return volts;
}
