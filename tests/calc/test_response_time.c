/* SPDX-License-Identifier: MIT
 *
 * Worst-case response times, held against worked examples and against a simulation of arbitration: nothing that was ever
 * simulated may take longer than the bound, and at the worst moment it takes exactly as long.
 */
#include "loomwatch/calc/response_time.h"

#include "arbitration.h"
#include "cases.h"

static const uint64_t us = 1000;

static const struct lw_response_setting no_faults = { .bit_ns = 1 };   /* a bit of 1 ns: times are bits */

/* Davis et al. 2007, the three messages that the older analysis calls schedulable (numbers from memory; the simulation
 * below finds the same): 125 kbit/s, 125 bits each, periods 2.5, 3.5 and 3.5 ms, deadline of the last 3.25 ms. */
static const struct lw_demand refuted[] = {
    { 1000000, 2500000, 0, 0 }, { 1000000, 3500000, 0, 0 }, { 1000000, 3500000, 0, 0 },
};

static void response_of_the_refuted_example_is_in_its_second_instance(void **state)
{
    (void)state;
    const struct lw_response_setting setting = { .bit_ns = 8 * us };
    struct lw_response out[3];
    lw_response_times(refuted, 3, &setting, out);
    assert_int_equal(out[0].response_ns, 2000 * us);
    assert_int_equal(out[1].response_ns, 3000 * us);
    assert_int_equal(out[2].response_ns, 3500 * us);
    assert_int_equal(out[2].instance, 1);
    assert_true(out[2].response_ns > 3250 * us);
    for (size_t i = 0; i < 3; i++)
        assert_true(out[i].is_bounded);
    /* Who forgets that a frame queued within the bit still takes part finds nothing wrong. */
    lw_response_times(refuted, 3, &(struct lw_response_setting){ 0 }, out);
    assert_true(out[2].response_ns < 3250 * us);
}

static void response_of_the_refuted_example_is_found_by_trying_all_phases(void **state)
{
    (void)state;
    enum { STEP_US = 100 };
    uint64_t worst = 0;
    for (uint64_t b = 0; b < 3500; b += STEP_US)
        for (uint64_t c = 0; c < 3500; c += STEP_US) {
            struct arbitration bus = { .n = 3, .demands = refuted, .phase = { 0, b * us, c * us } };
            arbitration_run(&bus, 40 * 1000 * us);        /* periods repeat together after 17.5 ms */
            worst = bus.worst[2] > worst ? bus.worst[2] : worst;
        }
    assert_int_equal(worst, 3500 * us);
}

static void response_of_a_single_message_is_its_frame(void **state)
{
    (void)state;
    /* Public unit test citing Davis et al. 2007: an 8-byte frame at 500 kbit/s, 135 bits, C = R = 0.27 ms. */
    const struct lw_demand one = { 270 * us, 10000 * us, 0, 0 };
    struct lw_response out;
    lw_response_times(&one, 1, &(struct lw_response_setting){ .bit_ns = 2 * us }, &out);
    assert_int_equal(out.response_ns, 270 * us);
    assert_int_equal(out.queueing_ns, 0);
    assert_int_equal(out.n_instances, 1);
    /* Late by more than a period: two of them wait at once, the first for 5 of jitter. */
    lw_response_times(&(struct lw_demand){ 1000, 4000, 5000, 0 }, 1, &no_faults, &out);
    assert_int_equal(out.n_instances, 2);
    assert_int_equal(out.response_ns, 6000);
}

static void response_of_a_high_message_waits_for_the_frame_on_the_wire(void **state)
{
    (void)state;
    /* Public unit test citing Davis et al. 2007: (C, T) = (1, 4), (3, 12): the high one waits 3 and takes 4. */
    const struct lw_demand pair[] = { { 1000, 4000, 0, 0 }, { 3000, 12000, 0, 0 } };
    struct lw_response out[2];
    lw_response_times(pair, 2, &no_faults, out);
    assert_int_equal(out[0].queueing_ns, 3000);
    assert_int_equal(out[0].response_ns, 4000);
}

static void response_of_a_fault_is_recovery_and_the_longest_frame_again(void **state)
{
    (void)state;
    const struct lw_demand pair[] = { { 100, 10000, 0, 0 }, { 60, 10000, 0, 0 }, { 90, 10000, 0, 0 } };
    struct lw_response out[3];
    for (unsigned k = 0; k < 4; k++) {
        lw_response_times(pair, 3, &(struct lw_response_setting){ .bit_ns = 1, .n_faults = k }, out);
        assert_int_equal(out[0].response_ns, 90 + 100 + k * (31 + 100));
        assert_int_equal(out[1].response_ns, 90 + 100 + 60 + k * (31 + 100));
        assert_int_equal(out[2].response_ns, 100 + 60 + 90 + k * (31 + 100));
    }
    /* Bosch CAN 2.0 part A from memory: 29 bits at most; part B: 31. */
    assert_int_equal(LW_RECOVERY_BITS, 31);
}

static void response_beyond_the_whole_bus_is_unbounded(void **state)
{
    (void)state;
    const struct lw_demand full[] = { { 500, 1000, 0, 0 }, { 500, 1000, 0, 0 }, { 1, 1000000, 0, 0 } };
    const struct lw_demand mad[] = { { UINT64_C(1) << 62, 1, UINT64_C(1) << 40, 0 }, { 1, 1, 0, 0 } };
    struct lw_response out[3];
    lw_response_times(full, 3, &no_faults, out);
    assert_true(out[0].is_bounded);
    assert_int_equal(out[0].response_ns, 1000);
    assert_false(out[1].is_bounded);
    assert_false(out[2].is_bounded);
    assert_int_equal(out[2].response_ns, 0);
    lw_response_times(mad, 2, &no_faults, out);
    assert_false(out[0].is_bounded);
}

/* A bus within a hair of full: the busy time is too long to be walked through, and no bound is made up. */
static void response_of_a_nearly_full_bus_has_no_bound(void **state)
{
    (void)state;
    const struct lw_demand nearly[] = { { 999999, 1000000, 0, 0 }, { 1000000, UINT64_C(1100000000000), 0, 0 },
                                        { 1, UINT64_C(3600000000000), 0, 0 } };
    const struct lw_demand above_all = { 100, 1000000000, 0, 0 };
    struct lw_response out[3];
    lw_response_times(nearly, 3, &no_faults, out);
    for (size_t i = 0; i < 3; i++) {
        assert_false(out[i].is_bounded);
        assert_int_equal(out[i].response_ns, 0);
    }
    assert_int_equal(out[0].blocking_ns, 1000000);
    lw_response_times(&above_all, 1, &no_faults, out);
    assert_int_equal(out[0].response_ns, 100);
    lw_response_times(nearly, 0, &no_faults, out);
}

enum { ROUNDS = 400, PHASES = 12 };

/* Message sets in bits, a bit being 1 ns: 2 to 8 messages that ask for 30 to 97 % of the bus. */
static size_t random_demands(uint64_t *seed, struct lw_demand out[ARBITRATION_MAX], bool has_jitter)
{
    size_t n;
    double share;
    do {
        n = 2 + random_below(seed, 7);
        for (size_t i = 0; i < n; i++) {
            out[i].frame_ns = 47 + random_below(seed, 114);
            out[i].period_ns = 200 + random_below(seed, (uint32_t)(n * 400));
            out[i].n_more = random_below(seed, 8) == 0 ? 1 + random_below(seed, 3) : 0;
            out[i].jitter_ns = has_jitter && random_below(seed, 2) ? random_below(seed, (uint32_t)out[i].period_ns * 3 / 2) : 0;
        }
        share = lw_demand_share(out, n);
    } while (share < 0.3 || share > 0.97);
    return n;
}

/* A longest lower frame has just begun; all that goes before m, and m, is queued now, and then as close together as may be. */
static uint64_t longest_from_worst_moment(const struct lw_demand *demands, size_t n, size_t m)
{
    const uint64_t moment = 100000, long_enough = 200000;
    struct arbitration bus = { .n = m + 1, .demands = demands, .is_worst_jitter = true, .busy_until = moment };
    for (size_t i = 0; i <= m; i++)
        bus.phase[i] = moment - demands[i].jitter_ns;
    for (size_t i = m + 1; i < n; i++)
        if (moment + demands[i].frame_ns > bus.busy_until)
            bus.busy_until = moment + demands[i].frame_ns;
    arbitration_run(&bus, moment + long_enough);
    return bus.worst[m];
}

static void response_is_met_exactly_at_the_worst_moment(void **state)
{
    (void)state;
    uint64_t seed = 2007;
    unsigned n_later = 0;
    for (unsigned round = 0; round < 5 * ROUNDS; round++) {
        struct lw_demand demands[ARBITRATION_MAX];
        struct lw_response out[ARBITRATION_MAX];
        size_t n = random_demands(&seed, demands, round % 2);
        lw_response_times(demands, n, &no_faults, out);
        for (size_t m = 0; m < n; m++) {
            assert_true(out[m].is_bounded);
            assert_int_equal(longest_from_worst_moment(demands, n, m), out[m].response_ns);
            n_later += out[m].instance > 0;
        }
    }
    print_message("  %u messages were slowest in a later instance\n", n_later);
    assert_true(n_later > 20);    /* else the sets would not test what the older analysis overlooks */
}

static void run_by_chance(struct arbitration *bus, const struct lw_response *out, unsigned *n_over)
{
    for (size_t i = 0; i < bus->n; i++)
        bus->phase[i] = random_bits(bus->seed) % bus->demands[i].period_ns;
    arbitration_run(bus, 60000);
    for (size_t i = 0; i < bus->n; i++) {
        assert_true(out[i].is_bounded);
        *n_over += bus->worst[i] > out[i].response_ns;
    }
}

static void response_is_never_exceeded_by_chance(void **state)
{
    (void)state;
    uint64_t seed = 11898;
    unsigned n_over = 0;
    for (unsigned round = 0; round < ROUNDS; round++) {
        struct lw_demand demands[ARBITRATION_MAX];
        struct lw_response out[ARBITRATION_MAX];
        size_t n = random_demands(&seed, demands, round % 2);
        lw_response_times(demands, n, &no_faults, out);
        struct arbitration bus = { .n = n, .demands = demands, .seed = &seed };
        for (unsigned phase = 0; phase < PHASES; phase++)
            run_by_chance(&bus, out, &n_over);
    }
    assert_int_equal(n_over, 0);
}

static void response_with_faults_is_never_exceeded_and_without_is(void **state)
{
    (void)state;
    uint64_t seed = 31;
    unsigned n_over = 0, n_over_without = 0;
    for (unsigned round = 0; round < ROUNDS; round++) {
        struct lw_demand demands[ARBITRATION_MAX];
        struct lw_response with[ARBITRATION_MAX], without[ARBITRATION_MAX];
        unsigned k = 1 + random_below(&seed, 3);
        size_t n = random_demands(&seed, demands, round % 2);
        lw_response_times(demands, n, &(struct lw_response_setting){ .bit_ns = 1, .n_faults = k }, with);
        lw_response_times(demands, n, &no_faults, without);
        struct arbitration bus = { .n = n, .demands = demands, .seed = &seed, .n_faults = k, .recovery = LW_RECOVERY_BITS };
        for (unsigned phase = 0; phase < PHASES; phase++) {
            run_by_chance(&bus, with, &n_over);
            run_by_chance(&bus, without, &n_over_without);
        }
    }
    assert_int_equal(n_over, 0);
    assert_true(n_over_without > 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(response_of_the_refuted_example_is_in_its_second_instance),
        cmocka_unit_test(response_of_the_refuted_example_is_found_by_trying_all_phases),
        cmocka_unit_test(response_of_a_single_message_is_its_frame),
        cmocka_unit_test(response_of_a_high_message_waits_for_the_frame_on_the_wire),
        cmocka_unit_test(response_of_a_fault_is_recovery_and_the_longest_frame_again),
        cmocka_unit_test(response_beyond_the_whole_bus_is_unbounded),
        cmocka_unit_test(response_of_a_nearly_full_bus_has_no_bound),
        cmocka_unit_test(response_is_met_exactly_at_the_worst_moment),
        cmocka_unit_test(response_is_never_exceeded_by_chance),
        cmocka_unit_test(response_with_faults_is_never_exceeded_and_without_is),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
