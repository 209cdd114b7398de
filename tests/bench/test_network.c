/* SPDX-License-Identifier: MIT
 *
 * The solver of resistor networks against hand computations and against GNU Octave.
 */
#include "network.h"

#include <math.h>

#include "cases.h"

struct part {
    int a, b;                    /* nodes; b = -1: a source against ground; ohm 0: end of the list */
    double ohm, volt;
};

struct random_network {
    unsigned n_nodes;
    double leak_ohm;
    struct part parts[32];
    double ohms_first_to_last, volts[16];
};

#include "network_table.h"

static void build(struct lw_network *network, unsigned n_nodes, double leak_ohm, const struct part *parts)
{
    lw_network_clear(network, n_nodes, leak_ohm);
    for (; parts->ohm > 0; parts++) {
        if (parts->b < 0)
            lw_network_source(network, (unsigned)parts->a, parts->volt, parts->ohm);
        else
            lw_network_resistor(network, (unsigned)parts->a, (unsigned)parts->b, parts->ohm);
    }
    lw_network_reduce(network);
}

static void assert_close(double value, double expected, double relative)
{
    if (!(fabs(value - expected) <= relative * fabs(expected)))
        fail_msg("%.12g instead of %.12g", value, expected);
}

static void network_of_a_divider_gives_its_share(void **state)
{
    (void)state;
    struct lw_network network;
    assert_int_equal(lw_network_init(&network, 4), 0);
    /* 12 V behind 1 ohm, 2 ohm to the next node, 3 ohm to ground: 10 V and 6 V. */
    build(&network, 2, 1e12, (const struct part[]){ { 0, -1, 1, 12 }, { 0, 1, 2, 0 }, { 1, -1, 3, 0 }, { 0 } });
    double volts[2] = { network.injected[0], network.injected[1] };
    lw_network_solve(&network, volts);
    assert_close(volts[0], 10, 1e-9);
    assert_close(volts[1], 6, 1e-9);
    lw_network_finish(&network);
}

/* Wheatstone bridge, hand computed: star-delta of 10, 20, 30, 40 ohm with 50 ohm across. */
static void network_of_a_bridge_matches_hand_computation(void **state)
{
    (void)state;
    struct lw_network network;
    double work[4];
    assert_int_equal(lw_network_init(&network, 4), 0);
    build(&network, 4, 1e12, (const struct part[]){ { 0, 1, 10, 0 }, { 0, 2, 20, 0 }, { 1, 3, 30, 0 }, { 2, 3, 40, 0 },
                                                    { 1, 2, 50, 0 }, { 0 } });
    double star_0 = 10 * 20 / 80.0, star_1 = 10 * 50 / 80.0, star_2 = 20 * 50 / 80.0;
    double left = star_1 + 30, right = star_2 + 40;
    assert_close(lw_network_ohms(&network, 0, 3, work), star_0 + left * right / (left + right), 1e-9);
    lw_network_finish(&network);
}

static void network_of_milliohms_beside_gigohms_keeps_its_digits(void **state)
{
    (void)state;
    struct lw_network network;
    double volts[60] = { 0 };
    assert_int_equal(lw_network_init(&network, 60), 0);
    lw_network_clear(&network, 60, 1e15);
    for (unsigned i = 0; i + 1 < 60; i++)
        lw_network_resistor(&network, i, i + 1, 1e-3);
    lw_network_source(&network, 59, 5, 1e9);
    lw_network_reduce(&network);
    volts[59] = network.injected[59];
    lw_network_solve(&network, volts);
    /* 60 leaks of 1e15 ohm against 1e9 ohm. */
    assert_close(volts[0], 5 / (1 + 60e-6), 1e-9);
    lw_network_finish(&network);
}

static void network_at_random_agrees_with_octave(void **state)
{
    (void)state;
    struct lw_network network;
    assert_int_equal(lw_network_init(&network, 16), 0);
    for (size_t i = 0; i < N_ROWS(random_networks); i++) {
        const struct random_network *random = &random_networks[i];
        double volts[16], work[16];
        build(&network, random->n_nodes, random->leak_ohm, random->parts);
        for (unsigned node = 0; node < random->n_nodes; node++)
            volts[node] = network.injected[node];
        lw_network_solve(&network, volts);
        for (unsigned node = 0; node < random->n_nodes; node++)
            assert_close(volts[node], random->volts[node], 1e-6);
        assert_close(lw_network_ohms(&network, 0, random->n_nodes - 1, work), random->ohms_first_to_last, 1e-6);
    }
    lw_network_finish(&network);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(network_of_a_divider_gives_its_share),
        cmocka_unit_test(network_of_a_bridge_matches_hand_computation),
        cmocka_unit_test(network_of_milliohms_beside_gigohms_keeps_its_digits),
        cmocka_unit_test(network_at_random_agrees_with_octave),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
