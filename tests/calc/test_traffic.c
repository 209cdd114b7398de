/* SPDX-License-Identifier: MIT
 *
 * From baseline and module to demands: what each message asks for, what is assumed of it, and what becomes of it.
 */
#include "cases.h"
#include "random_event.h"
#include "small_traffic.h"

#include <errno.h>
#include <math.h>

static struct small_traffic small;

static const uint64_t us = 1000;

static int begin(void **state)
{
    (void)state;
    small_traffic_begin(&small);
    return 0;
}

static void weigh(void)
{
    assert_int_equal(lw_traffic_weigh(&small.question, &small.traffic), 0);
}

static void traffic_of_one_message_takes_its_frame(void **state)
{
    (void)state;
    small_traffic_hear(&small, "123", 10000);
    weigh();
    /* Public unit test citing Davis et al. 2007: 8 bytes at 500 kbit/s, C = R = 0.27 ms. */
    assert_int_equal(small.traffic.messages[0].before.response_ns, 270 * us);
    assert_int_equal(small.traffic.messages[0].after.response_ns, 270 * us);
    assert_true(fabs(small.traffic.before.worst - 0.027) < 1e-9);
    assert_int_equal(small.traffic.tightest, 0);
}

static void traffic_is_in_the_order_of_the_wire(void **state)
{
    (void)state;
    /* The same public test: an 11-bit identifier beats the 29-bit one with the same leading bits. */
    static const char *const order[] = { "033", "00CC0001", "123", "0CF00400" };
    small_traffic_hear(&small, order[3], 10000);
    small_traffic_hear(&small, order[0], 10000);
    small_traffic_add(&small, order[2], 10000);
    small_traffic_add(&small, order[1], 10000);
    weigh();
    for (size_t i = 0; i < N_ROWS(order); i++)
        assert_ptr_equal(small_traffic_find(&small, order[i]), &small.traffic.messages[i]);
    assert_int_equal(lw_traffic_n_beaten(&small.traffic, 1), 1);
    assert_int_equal(lw_traffic_n_beaten(&small.traffic, 3), 0);
}

static void traffic_of_one_identifier_twice_is_a_twin(void **state)
{
    (void)state;
    small_traffic_hear(&small, "123", 10000);
    small_traffic_hear(&small, "00000123", 10000);
    small_traffic_add(&small, "123", 10000);
    weigh();
    assert_int_equal(small.traffic.n_twins, 1);
    assert_true(small_traffic_find(&small, "123")->is_twin);
    assert_false(small_traffic_find(&small, "00000123")->is_twin);
    assert_int_equal(small.traffic.n, 3);
    assert_int_equal(small.traffic.n_module, 1);
}

static void traffic_without_knowledge_says_what_is_assumed(void **state)
{
    (void)state;
    struct lw_expected *event = small_traffic_hear(&small, "001", 0), *once = small_traffic_hear(&small, "002", 0);
    struct lw_expected *old = small_traffic_hear(&small, "003", 100000), *odd = small_traffic_hear(&small, "004", 100000);
    event->rhythm = LW_RHYTHM_EVENT;
    event->shortest_gap_ns = 30000 * us;
    once->rhythm = LW_RHYTHM_UNKNOWN;
    old->shortest_gap_ns = 0;
    odd->dlc_seen = 0;
    weigh();
    const struct lw_traffic_message *messages = small.traffic.messages;
    assert_int_equal(messages[0].assumed, LW_ASSUMED_SHORTEST_GAP);
    assert_int_equal(messages[0].demand.period_ns, 30000 * us);
    assert_int_equal(messages[1].assumed, LW_ASSUMED_GAP);
    assert_int_equal(messages[1].demand.period_ns, 100000 * us);
    assert_int_equal(messages[2].assumed, LW_ASSUMED_JITTER);
    assert_int_equal(messages[2].demand.jitter_ns, 10000 * us);
    assert_int_equal(messages[3].assumed, LW_ASSUMED_LENGTH);
    assert_int_equal(messages[3].demand.frame_ns, 270 * us);
    assert_int_equal(messages[0].deadline_ns, 0);
    assert_true(isnan(lw_traffic_share(&messages[0])));
    for (unsigned bit = 0; bit < 4; bit++)
        assert_int_equal(small.traffic.n_assumed[bit], 1);
    assert_true(fabs(small.traffic.before.usual - 2 * 0.0027) < 1e-9);   /* what comes on event is not usual */
}

static void traffic_of_both_kinds_counts_what_came_at_once(void **state)
{
    (void)state;
    struct lw_expected *both = small_traffic_hear(&small, "200", 100000), *unknown = small_traffic_hear(&small, "201", 100000);
    both->rhythm = unknown->rhythm = LW_RHYTHM_BOTH;
    both->most_at_once = 3;
    both->shortest_gap_ns = 170 * us;
    weigh();
    assert_int_equal(small.traffic.messages[0].demand.period_ns, 80000 * us);
    assert_int_equal(small.traffic.messages[0].demand.n_more, 2);
    assert_int_equal(small.traffic.messages[1].demand.n_more, 1);
    assert_int_equal(small.traffic.messages[0].assumed, LW_ASSUMED_AT_ONCE);
    assert_int_equal(small.traffic.messages[1].assumed, LW_ASSUMED_TWO_AT_ONCE);
    /* One lower frame, then its own three. */
    assert_int_equal(small.traffic.messages[0].after.response_ns, 4 * 270 * us);
    assert_int_equal(small.traffic.messages[1].after.response_ns, 5 * 270 * us);
}

static void traffic_pushed_past_its_period_is_found(void **state)
{
    (void)state;
    small_traffic_hear(&small, "100", 1000);
    small_traffic_hear(&small, "200", 1000);
    for (unsigned i = 0; i < 2; i++)
        small_traffic_add(&small, i ? "081" : "080", 100000);
    weigh();
    /* One frame before its own; then two more. 100 instead waits for a frame of 200 that has just begun. */
    assert_int_equal(small_traffic_find(&small, "200")->before.response_ns, 540 * us);
    assert_int_equal(small_traffic_find(&small, "200")->after.response_ns, 4 * 270 * us);
    assert_int_equal(small_traffic_find(&small, "200")->passage, LW_PASSAGE_PUSHED);
    assert_int_equal(small_traffic_find(&small, "100")->after.response_ns, 4 * 270 * us);
    assert_int_equal(small_traffic_find(&small, "100")->passage, LW_PASSAGE_PUSHED);
    assert_int_equal(small.traffic.n_pushed, 2);
    assert_int_equal(small.traffic.n_late, 0);
}

static void traffic_of_the_module_that_comes_too_late_is_found(void **state)
{
    (void)state;
    small_traffic_hear(&small, "100", 10000);
    small_traffic_add(&small, "300", 100000)->deadline_ns = 539 * us;
    small_traffic_add(&small, "301", 100000)->deadline_ns = 810 * us;
    struct lw_module_message *event = small_traffic_add(&small, "302", 0);
    event->shortest_gap_ns = 1000 * us;
    event->jitter_ns = 100 * us;
    weigh();
    assert_int_equal(small_traffic_find(&small, "300")->passage, LW_PASSAGE_LATE);
    assert_int_equal(small_traffic_find(&small, "301")->after.response_ns, 1080 * us);
    assert_int_equal(small_traffic_find(&small, "302")->deadline_ns, 1000 * us);
    assert_int_equal(small_traffic_find(&small, "302")->after.response_ns, 1180 * us);
    assert_int_equal(small.traffic.n_late, 3);
    assert_int_equal(small_traffic_find(&small, "100")->passage, LW_PASSAGE_FREE);
}

static void traffic_of_a_bus_that_is_full_already_is_no_fault_of_the_module(void **state)
{
    (void)state;
    small_traffic_hear(&small, "100", 300);
    small_traffic_hear(&small, "200", 1000);
    small_traffic_add(&small, "300", 100000);
    weigh();
    assert_int_equal(small_traffic_find(&small, "200")->passage, LW_PASSAGE_LATE_BEFORE);
    assert_false(small_traffic_find(&small, "300")->after.is_bounded);
    assert_true(isinf(lw_traffic_share(small_traffic_find(&small, "300"))));
    assert_true(small.traffic.before.worst > 1);
}

static void traffic_of_can_fd_takes_both_rates(void **state)
{
    (void)state;
    struct lw_expected *fd = small_traffic_hear(&small, "0C0", 20000);
    fd->format = LW_FRAME_FD | LW_FRAME_BRS;
    fd->dlc_seen = 1 << 15;
    small_traffic_add(&small, "0D0", 20000)->format = LW_FRAME_FD;
    weigh();
    assert_int_equal(small.traffic.n_untimed, 1);       /* the data bit rate is not known */
    small.question.data_bit_rate_bps = 2000000;
    weigh();
    struct lw_wire_length worst = lw_wire_worst_length(LW_FRAME_FD | LW_FRAME_BRS, 64);
    assert_int_equal(small.traffic.n_untimed, 0);
    assert_int_equal(small.traffic.messages[0].demand.frame_ns, (worst.nominal_bits + 3) * 2000 + worst.data_bits * 500);
    /* Kernel macros: an FD frame of 8 bytes has 147 bits at most, intermission included. */
    assert_int_equal(small.traffic.messages[1].demand.frame_ns, 147 * 2000);
    assert_true(small.traffic.has_fd && small.traffic.module_has_fd);
}

static void traffic_rounds_up_where_a_bit_is_no_whole_nanosecond(void **state)
{
    (void)state;
    small.question.bit_rate_bps = 83333;
    small_traffic_hear(&small, "123", 100000);
    weigh();
    assert_int_equal(small.traffic.messages[0].demand.frame_ns, (135 * UINT64_C(1000000000) + 83332) / 83333);
}

static void traffic_of_nothing_or_at_no_rate_cannot_be_weighed(void **state)
{
    (void)state;
    small_traffic_add(&small, "123", 10000);
    assert_int_equal(lw_traffic_weigh(&small.question, &small.traffic), -EINVAL);
    small_traffic_hear(&small, "100", 10000);
    small.question.bit_rate_bps = 0;
    assert_int_equal(lw_traffic_weigh(&small.question, &small.traffic), -EINVAL);
    small.question.bit_rate_bps = 500000;
    small.question.bus = 1;
    assert_int_equal(lw_traffic_weigh(&small.question, &small.traffic), -EINVAL);
}

/* Whatever is in the baseline: no message gets faster when others join, and every answer is in range. */
static void traffic_never_gets_faster_when_a_module_joins(void **state)
{
    (void)state;
    uint64_t seed = 12;
    for (unsigned round = 0; round < 200; round++) {
        small_traffic_begin(&small);
        size_t n = 1 + random_below(&seed, 60);
        for (size_t i = 0; i < n; i++) {
            char id[LW_ID_TEXT];
            snprintf(id, sizeof(id), "%03X", (unsigned)(8 * i + 1));
            struct lw_expected *heard = small_traffic_hear(&small, id, 1000 + random_below(&seed, 200000));
            heard->rhythm = (enum lw_rhythm)random_below(&seed, LW_RHYTHM_BOTH + 1);
            heard->dlc_seen = (uint16_t)(1u << random_below(&seed, 9));
            heard->most_at_once = (uint16_t)random_below(&seed, 4);
            heard->jitter_ns = random_below(&seed, (uint32_t)heard->period_ns);
            if (i % 10 == 0) {
                snprintf(id, sizeof(id), "%03X", (unsigned)(8 * i + 4));
                small_traffic_add(&small, id, 1000 + random_below(&seed, 200000));
            }
        }
        small.question.n_faults = random_below(&seed, 3);
        weigh();
        for (size_t i = 0; i < small.traffic.n; i++) {
            const struct lw_traffic_message *message = &small.traffic.messages[i];
            if (!message->is_module && message->after.is_bounded) {
                assert_true(message->before.is_bounded);
                assert_true(message->after.response_ns >= message->before.response_ns);
            }
            assert_true(!message->after.is_bounded || message->after.response_ns >= message->demand.frame_ns);
        }
    }
}

#define AT_START(test) cmocka_unit_test_setup(test, begin)

int main(void)
{
    const struct CMUnitTest tests[] = {
        AT_START(traffic_of_one_message_takes_its_frame),
        AT_START(traffic_is_in_the_order_of_the_wire),
        AT_START(traffic_of_one_identifier_twice_is_a_twin),
        AT_START(traffic_without_knowledge_says_what_is_assumed),
        AT_START(traffic_of_both_kinds_counts_what_came_at_once),
        AT_START(traffic_pushed_past_its_period_is_found),
        AT_START(traffic_of_the_module_that_comes_too_late_is_found),
        AT_START(traffic_of_a_bus_that_is_full_already_is_no_fault_of_the_module),
        AT_START(traffic_of_can_fd_takes_both_rates),
        AT_START(traffic_rounds_up_where_a_bit_is_no_whole_nanosecond),
        AT_START(traffic_of_nothing_or_at_no_rate_cannot_be_weighed),
        AT_START(traffic_never_gets_faster_when_a_module_joins),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
