/* SPDX-License-Identifier: MIT
 *
 * Who goes first: arbitration between units, and the order within a unit's queue. Source: ISO 11898-1, arbitration; Bosch CAN
 * Specification 2.0 part B, 3.1.
 */
#include "mac_bus.h"

#include "cases.h"
#include "random_event.h"
#include "wire_drawing.h"

static const struct lw_mac_options with_fd = { .has_fd = true };

/* All send at once; asserts that the frames arrive in the order of rows, without any error. */
static void check_order(const struct lw_frame *frames, unsigned n)
{
    struct mac_bus bus;
    bus_begin(&bus, n + 1, with_fd);
    for (unsigned i = 0; i < n; i++)
        bus_queue(&bus, i, &frames[i]);
    for (unsigned i = 0; i < n; i++) {
        bus_run_until_sent(&bus, i);
        bus_assert_same_frame(&bus.unit[n].frame, &frames[i]);
        assert_int_equal(bus.unit[i].n_lost, i);
    }
    for (unsigned i = 0; i <= n; i++) {
        assert_int_equal(bus.unit[i].n_errors, 0);
        bus_assert_counters(&bus, i, 0, 0);          /* a loss is no error */
    }
    assert_int_equal(bus.unit[n].n_received, n);
    bus_end(&bus);
}

static void lowest_identifier_wins(void **state)
{
    (void)state;
    static const struct lw_frame frames[] = {
        { 0x000, 0, 1, { 1 } }, { 0x001, 0, 1, { 2 } }, { 0x0FF, 0, 1, { 3 } }, { 0x7FE, 0, 1, { 4 } }, { 0x7FF, 0, 1, { 5 } },
    };
    check_order(frames, N_ROWS(frames));
}

static void data_frame_beats_remote_frame(void **state)
{
    (void)state;
    static const struct lw_frame frames[] = { { 0x123, 0, 1, { 1 } }, { 0x123, LW_FRAME_REMOTE, 1, { 0 } } };
    check_order(frames, N_ROWS(frames));
}

static void base_format_beats_extended_format(void **state)
{
    (void)state;
    static const struct lw_frame frames[] = {
        { 0x123, 0, 1, { 1 } }, { 0x123, LW_FRAME_REMOTE, 1, { 0 } },
        { 0x123u << 18, LW_FRAME_EXTENDED, 1, { 2 } }, { 0x123u << 18, LW_FRAME_EXTENDED | LW_FRAME_REMOTE, 1, { 0 } },
        { 0x123u << 18 | 1, LW_FRAME_EXTENDED | LW_FRAME_FD, 1, { 3 } },
    };
    check_order(frames, N_ROWS(frames));
}

static int compare_drawn(const struct lw_frame *a, const struct lw_frame *b)
{
    static struct drawing drawn_a, drawn_b;
    drawn_a.n = drawn_b.n = 0;
    draw_arbitration(&drawn_a, a, a->flags & LW_FRAME_REMOTE ? "1" : "0");
    draw_arbitration(&drawn_b, b, b->flags & LW_FRAME_REMOTE ? "1" : "0");
    return strcmp(drawn_a.text, drawn_b.text);
}

static void lowest_drawn_arbitration_field_of_random_frames_wins(void **state)
{
    (void)state;
    uint64_t seed = 0xA2B;
    for (unsigned round = 0; round < 1500; round++) {
        struct lw_frame frames[4];
        for (unsigned i = 0; i < 4; ) {
            frames[i] = random_frame(&seed);
            if (random_below(&seed, 2) && i > 0)     /* near each other */
                frames[i].id = frames[0].id ^ (frames[i].flags == frames[0].flags ? 1u << random_below(&seed, 11) : 0);
            frames[i].id &= frames[i].flags & LW_FRAME_EXTENDED ? LW_EXTENDED_ID_MAX : LW_STANDARD_ID_MAX;
            bool is_new = true;
            for (unsigned k = 0; k < i; k++)
                is_new = is_new && compare_drawn(&frames[i], &frames[k]) != 0;
            if (!is_new)
                continue;
            unsigned at = i++;
            for (; at > 0 && compare_drawn(&frames[at - 1], &frames[at]) > 0; at--) {
                struct lw_frame other = frames[at];
                frames[at] = frames[at - 1];
                frames[at - 1] = other;
            }
        }
        check_order(frames, 4);
    }
}

static void loser_receives_the_winners_frame(void **state)
{
    (void)state;
    static const struct lw_frame high = { 0x100, 0, 2, { 1, 2 } }, low = { 0x101, 0, 1, { 3 } };
    struct mac_bus bus;
    bus_begin(&bus, 2, with_fd);
    bus_queue(&bus, 0, &high);
    bus_queue(&bus, 1, &low);
    bus_run_until_sent(&bus, 0);
    assert_int_equal(bus.unit[1].n_received, 1);     /* and acknowledged it: nobody else is there */
    bus_assert_same_frame(&bus.unit[1].frame, &high);
    bus_end(&bus);
}

static void equal_frames_of_two_units_pass_as_one(void **state)
{
    (void)state;
    static const struct lw_frame frame = { 0x100, 0, 2, { 1, 2 } };
    struct mac_bus bus;
    bus_begin(&bus, 3, with_fd);
    bus_queue(&bus, 0, &frame);
    bus_queue(&bus, 1, &frame);
    bus_settle(&bus, 500);
    assert_int_equal(bus.unit[0].n_sent, 1);
    assert_int_equal(bus.unit[1].n_sent, 1);
    assert_int_equal(bus.unit[2].n_received, 1);
    bus_end(&bus);
}

static void equal_identifiers_with_different_data_end_in_errors_of_both(void **state)
{
    (void)state;
    static const struct lw_frame a = { 0x100, 0, 2, { 1, 2 } }, b = { 0x100, 0, 2, { 1, 3 } };
    struct mac_bus bus;
    bus_begin(&bus, 3, with_fd);
    bus_queue(&bus, 0, &a);
    bus_queue(&bus, 1, &b);
    bus_bits(&bus, 100);
    assert_int_equal(bus.unit[1].first_error.kind, LW_MAC_BIT_ERROR);
    assert_int_equal(bus.unit[1].first_error.place, 0x0A);   /* linux/can/error.h: data */
    assert_int_equal(bus.unit[1].n_lost, 0);
    bus_bits(&bus, 4000);
    assert_int_equal(bus.unit[0].n_bus_off + bus.unit[0].n_sent + bus.unit[1].n_bus_off + bus.unit[1].n_sent > 0, 1);
    bus_end(&bus);
}

static void queue_sends_lowest_first_and_equals_in_order(void **state)
{
    (void)state;
    static const struct lw_frame queued[] = {
        { 0x300, 0, 1, { 1 } }, { 0x100, 0, 1, { 2 } }, { 0x300, 0, 1, { 3 } }, { 0x100, 0, 1, { 4 } }, { 0x000, 0, 1, { 5 } },
    };
    static const uint8_t order[] = { 5, 2, 4, 1, 3 };
    struct mac_bus bus;
    bus_begin(&bus, 2, with_fd);
    for (size_t i = 0; i < N_ROWS(queued); i++)
        bus_queue(&bus, 0, &queued[i]);
    for (size_t i = 0; i < N_ROWS(order); i++) {
        bus_run_until_sent(&bus, 0);
        assert_int_equal(bus.unit[1].frame.data[0], order[i]);
    }
    bus_end(&bus);
}

static void equal_identifiers_keep_their_order_when_places_are_used_again(void **state)
{
    (void)state;
    struct mac_bus bus;
    bus_begin(&bus, 2, with_fd);
    for (unsigned n = 0; n < 100; n++) {             /* always three waiting */
        const struct lw_frame frame = { 0x300, 0, 1, { (uint8_t)n } };
        bus_queue(&bus, 0, &frame);
        if (n < 2)
            continue;
        bus_run_until_sent(&bus, 0);
        assert_int_equal(bus.unit[1].frame.data[0], n - 2);
    }
    bus_end(&bus);
}

static void one_shot_frame_that_loses_is_not_repeated(void **state)
{
    (void)state;
    static const struct lw_frame high = { 0x100, 0, 0, { 0 } }, low = { 0x101, 0, 0, { 0 } };
    struct mac_bus bus;
    bus_begin(&bus, 2, with_fd);
    bus_replace(&bus, 1, (struct lw_mac_options){ .is_one_shot = true });
    bus_queue(&bus, 0, &high);
    bus_queue(&bus, 1, &low);
    bus_settle(&bus, 500);
    assert_int_equal(bus.unit[1].n_lost, 1);
    assert_int_equal(bus.unit[1].n_sent, 0);
    assert_false(lw_mac_has_to_send(bus.unit[1].mac));
    bus_end(&bus);
}

static void frame_dropped_on_the_wire_is_finished_but_not_repeated(void **state)
{
    (void)state;
    static const struct lw_frame frame = { 0x100, 0, 0, { 0 } };
    struct mac_bus bus;
    bus_begin(&bus, 2, with_fd);
    bus_queue(&bus, 0, &frame);
    bus_bits(&bus, 10);
    lw_mac_drop_queue(bus.unit[0].mac);
    bus_settle(&bus, 500);
    assert_int_equal(bus.unit[1].n_received, 1);
    bus_queue(&bus, 0, &frame);
    bus_bits(&bus, 10);
    lw_mac_drop_queue(bus.unit[0].mac);
    bus.unit[0].misreads = true;
    bus_settle(&bus, 500);
    assert_int_equal(bus.unit[1].n_received, 1);
    bus_end(&bus);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lowest_identifier_wins),
        cmocka_unit_test(data_frame_beats_remote_frame),
        cmocka_unit_test(base_format_beats_extended_format),
        cmocka_unit_test(lowest_drawn_arbitration_field_of_random_frames_wins),
        cmocka_unit_test(loser_receives_the_winners_frame),
        cmocka_unit_test(equal_frames_of_two_units_pass_as_one),
        cmocka_unit_test(equal_identifiers_with_different_data_end_in_errors_of_both),
        cmocka_unit_test(queue_sends_lowest_first_and_equals_in_order),
        cmocka_unit_test(equal_identifiers_keep_their_order_when_places_are_used_again),
        cmocka_unit_test(one_shot_frame_that_loses_is_not_repeated),
        cmocka_unit_test(frame_dropped_on_the_wire_is_finished_but_not_repeated),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
