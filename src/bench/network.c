/* SPDX-License-Identifier: MIT
 *
 * Star-mesh elimination of a resistive network and the substitutions that give voltages. Source of the method: the
 * star-mesh transformation is Gaussian elimination of the node equations; keeping the conductance to ground as a number of
 * its own instead of the diagonal is what avoids subtraction (Grassmann, Taksar, Heyman 1985; from memory).
 */
#include "network.h"

#include <assert.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

int lw_network_init(struct lw_network *network, unsigned capacity)
{
    *network = (struct lw_network){
        .capacity = capacity,
        .conductance = calloc((size_t)capacity * capacity, sizeof(double)),
        .ground = calloc(capacity, sizeof(double)),
        .injected = calloc(capacity, sizeof(double)),
        .star = calloc(capacity, sizeof(double)),
        .reach = calloc(capacity, sizeof(unsigned)),
    };
    if (network->conductance && network->ground && network->injected && network->star && network->reach)
        return 0;
    lw_network_finish(network);
    return -ENOMEM;
}

void lw_network_finish(struct lw_network *network)
{
    free(network->conductance);
    free(network->ground);
    free(network->injected);
    free(network->star);
    free(network->reach);
    *network = (struct lw_network){ 0 };
}

static double *row(const struct lw_network *network, unsigned i)
{
    return network->conductance + (size_t)i * network->capacity;
}

void lw_network_clear(struct lw_network *network, unsigned n_nodes, double leak_ohm)
{
    assert(n_nodes <= network->capacity);
    network->n_nodes = n_nodes;
    for (unsigned i = 0; i < n_nodes; i++) {
        memset(row(network, i), 0, n_nodes * sizeof(double));
        network->ground[i] = 1 / leak_ohm;
        network->injected[i] = 0;
        network->reach[i] = i;
    }
}

void lw_network_resistor(struct lw_network *network, unsigned a, unsigned b, double ohm)
{
    assert(a != b && ohm > 0);
    unsigned low = a < b ? a : b, high = a < b ? b : a;
    row(network, low)[high] += 1 / ohm;
    if (network->reach[low] < high)
        network->reach[low] = high;
}

void lw_network_source(struct lw_network *network, unsigned node, double volt, double ohm)
{
    assert(ohm > 0 && volt >= 0);
    network->ground[node] += 1 / ohm;
    network->injected[node] += volt / ohm;
}

void lw_network_reduce(struct lw_network *network)
{
    for (unsigned k = 0; k < network->n_nodes; k++) {
        double *star = row(network, k), sum = network->ground[k];
        unsigned reach = network->reach[k];
        for (unsigned j = k + 1; j <= reach; j++)
            sum += star[j];
        network->star[k] = sum;
        for (unsigned i = k + 1; i <= reach; i++) {
            if (star[i] == 0)
                continue;
            double share = star[i] / sum, *mesh = row(network, i);
            for (unsigned j = i + 1; j <= reach; j++)
                mesh[j] += share * star[j];
            network->ground[i] += share * network->ground[k];
            if (network->reach[i] < reach)
                network->reach[i] = reach;
        }
    }
}

void lw_network_solve(const struct lw_network *network, double *v)
{
    for (unsigned k = 0; k < network->n_nodes; k++) {
        if (v[k] == 0)
            continue;
        double share = v[k] / network->star[k];
        for (unsigned j = k + 1; j <= network->reach[k]; j++)
            v[j] += share * row(network, k)[j];
    }
    for (unsigned k = network->n_nodes; k-- > 0;) {
        double sum = v[k];
        for (unsigned j = k + 1; j <= network->reach[k]; j++)
            sum += row(network, k)[j] * v[j];
        v[k] = sum / network->star[k];
    }
}

double lw_network_ohms(const struct lw_network *network, unsigned a, unsigned b, double *work)
{
    memset(work, 0, network->n_nodes * sizeof(*work));
    work[a] = 1;
    work[b] = -1;
    lw_network_solve(network, work);
    return work[a] - work[b];
}
