/* SPDX-License-Identifier: MIT
 *
 * Messages of the units: their rhythm and data, the same for the same seed however they are asked for, and what damages make
 * of them.
 */
#include "messages.h"

#include "cases.h"
#include "small_plant.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const uint64_t ms = 1000000, s = 1000000000;

enum { MAX_RELEASES = 60000 };

struct release {
    uint64_t t_ns;
    unsigned unit;
    struct lw_frame frame;
};

struct run {
    struct lw_messages m;
    unsigned n;
    struct release releases[MAX_RELEASES];
};

static struct run run_a, run_b;

static void begin(struct run *run, uint64_t seed)
{
    lw_messages_init(&run->m, &small_plant, seed);
    run->n = 0;
}

/* Takes everything due up to until_ns, one by one. */
static void take_all(struct run *run, uint64_t until_ns)
{
    struct release *release = &run->releases[run->n];
    release->t_ns = lw_messages_due_ns(&run->m);
    while (run->n < MAX_RELEASES && lw_messages_take(&run->m, until_ns, &release->unit, &release->frame)) {
        release = &run->releases[++run->n];
        release->t_ns = lw_messages_due_ns(&run->m);
    }
}

static void start_all(struct run *run)
{
    for (unsigned i = 0; i < SMALL_N_UNITS; i++)
        lw_messages_start(&run->m, i, small_plant.units[i].boot_ms * ms);
}

static unsigned count(const struct run *run, uint32_t id, unsigned unit)
{
    unsigned n = 0;
    for (unsigned i = 0; i < run->n; i++)
        n += run->releases[i].frame.id == id && run->releases[i].unit == unit;
    return n;
}

static struct lw_damage damage_of(const char *text)
{
    struct lw_damage damage;
    char message[LW_DAMAGE_TEXT];
    if (lw_damage_parse(&small_plant, text, 0, &damage, message) != 0)
        fail_msg("%s", message);
    return damage;
}

static void nobody_started_nothing_is_due(void **state)
{
    (void)state;
    unsigned unit;
    struct lw_frame frame;
    begin(&run_a, 1);
    assert_true(lw_messages_due_ns(&run_a.m) == UINT64_MAX);
    assert_false(lw_messages_take(&run_a.m, UINT64_MAX, &unit, &frame));
}

static void run_equal_seeds_gives_equal_releases(void **state)
{
    (void)state;
    begin(&run_a, 7);
    begin(&run_b, 7);
    start_all(&run_a);
    start_all(&run_b);
    take_all(&run_a, 20 * s);
    for (uint64_t t = 0; t <= 20 * s; t += 123457)
        take_all(&run_b, t);
    take_all(&run_b, 20 * s);
    assert_int_equal(run_a.n, run_b.n);
    for (unsigned i = 0; i < run_a.n; i++) {
        assert_true(run_a.releases[i].t_ns == run_b.releases[i].t_ns);
        assert_memory_equal(&run_a.releases[i].frame, &run_b.releases[i].frame, sizeof(struct lw_frame));
    }
    begin(&run_b, 8);
    start_all(&run_b);
    take_all(&run_b, 20 * s);
    assert_true(run_b.releases[0].t_ns != run_a.releases[0].t_ns);
}

static void take_comes_in_order_of_time(void **state)
{
    (void)state;
    begin(&run_a, 3);
    start_all(&run_a);
    take_all(&run_a, 10 * s);
    for (unsigned i = 1; i < run_a.n; i++)
        assert_true(run_a.releases[i].t_ns >= run_a.releases[i - 1].t_ns);
    assert_true(run_a.n > 1000);
}

static void take_equal_times_lowest_identifier_first(void **state)
{
    (void)state;
    static struct lw_plant plant;
    plant = small_plant;
    for (unsigned i = 0; i < plant.n_messages; i++)
        plant.messages[i].is_boot = true, plant.messages[i].period_ms = 0, plant.messages[i].unit = 0;
    begin(&run_a, 1);
    lw_messages_init(&run_a.m, &plant, 1);
    lw_messages_start(&run_a.m, 0, 5);
    take_all(&run_a, 5);
    const uint32_t ids[] = { 0x120, 0x210, 0x10A20310, 0x540, 0x6D0 };
    assert_int_equal(run_a.n, N_ROWS(ids));
    for (unsigned i = 0; i < run_a.n; i++)
        assert_int_equal(run_a.releases[i].frame.id, ids[i]);
}

/* Every release within the jitter after its time, and the time by the unit's clock. */
static void cyclic_keeps_period_and_jitter(void **state)
{
    (void)state;
    begin(&run_a, 5);
    lw_messages_start(&run_a.m, SMALL_PUMP, 50 * ms);
    take_all(&run_a, 20 * s);
    uint64_t first = 0, period = 10 * ms + 400, n = 0;
    for (unsigned i = 0; i < run_a.n; i++) {
        if (run_a.releases[i].frame.id != 0x120)
            continue;
        first = n == 0 ? run_a.releases[i].t_ns : first;
        uint64_t due = first + n++ * period;
        assert_true(run_a.releases[i].t_ns + 250000 >= due && run_a.releases[i].t_ns <= due + 250000);
    }
    assert_true(n >= 1993 && n <= 1995);
    assert_true(first >= 50 * ms && first < 61 * ms);
}

static void event_comes_soon_and_then_on_average(void **state)
{
    (void)state;
    begin(&run_a, 9);
    lw_messages_start(&run_a.m, SMALL_PUMP, 0);
    take_all(&run_a, 300 * s);
    unsigned n = count(&run_a, 0x540, SMALL_PUMP);
    assert_true(n > 300 * 1000 / 900 * 8 / 10 && n < 300 * 1000 / 900 * 12 / 10);
    for (unsigned i = 0; i < run_a.n; i++)
        if (run_a.releases[i].frame.id == 0x540) {
            assert_true(run_a.releases[i].t_ns < 500 * ms);
            return;
        }
    fail();
}

static void start_boot_message_once_at_once(void **state)
{
    (void)state;
    begin(&run_a, 2);
    lw_messages_start(&run_a.m, SMALL_SENSOR, 3 * s);
    take_all(&run_a, 20 * s);
    assert_int_equal(run_a.releases[0].frame.id, 0x6D0);
    assert_true(run_a.releases[0].t_ns == 3 * s);
    assert_int_equal(count(&run_a, 0x6D0, SMALL_SENSOR), 1);
    lw_messages_stop(&run_a.m, SMALL_SENSOR);
    assert_true(lw_messages_due_ns(&run_a.m) == UINT64_MAX);
    lw_messages_start(&run_a.m, SMALL_SENSOR, 30 * s);
    take_all(&run_a, 31 * s);
    assert_int_equal(count(&run_a, 0x6D0, SMALL_SENSOR), 2);
}

static void data_patterns_move(void **state)
{
    (void)state;
    begin(&run_a, 4);
    start_all(&run_a);
    lw_messages_stop(&run_a.m, SMALL_SENSOR);
    take_all(&run_a, 5 * s);
    unsigned counter = 0, highest = 0;
    uint8_t toggled = 0;
    for (unsigned i = 0; i < run_a.n; i++) {
        const struct lw_frame *frame = &run_a.releases[i].frame;
        if (frame->id == 0x210) {
            toggled |= (uint8_t)(1u << (frame->data[0] == 0x81));
            assert_true(frame->data[0] == 0x81 || frame->data[0] == 0);
            assert_int_equal(frame->data[1], 0);       /* the sensor is not there */
        }
        if (frame->id != 0x120)
            continue;
        uint8_t sum = 0x20;
        for (unsigned k = 0; k < 7; k++)
            sum ^= frame->data[k];
        assert_int_equal(frame->data[7], sum);
        assert_int_equal(frame->data[6] & 0x0F, counter++ & 0x0F);
        assert_int_equal(frame->data[5], 6);
        unsigned drift = frame->data[0] << 8 | frame->data[1];
        assert_true(drift <= 1000);
        highest = drift > highest ? drift : highest;
    }
    assert_int_equal(toggled, 3);
    assert_true(highest > 990);
    lw_messages_start(&run_a.m, SMALL_SENSOR, 5 * s);
    run_a.n = 0;
    take_all(&run_a, 6 * s);
    for (unsigned i = 0; i < run_a.n; i++)
        assert_true(run_a.releases[i].frame.id != 0x210 || run_a.releases[i].frame.data[1] == 0x10);
}

static void damage_duplicate_has_own_phase_and_count(void **state)
{
    (void)state;
    struct lw_damage damage = damage_of("duplicate at pump-light 120");
    begin(&run_a, 6);
    start_all(&run_a);
    take_all(&run_a, s);
    lw_messages_damage(&run_a.m, &damage, 1, s);
    run_a.n = 0;
    take_all(&run_a, 3 * s);
    unsigned original = count(&run_a, 0x120, SMALL_PUMP), copy = count(&run_a, 0x120, SMALL_PUMP_LIGHT);
    assert_true(original >= 199 && original <= 201 && copy >= 199 && copy <= 201);
    for (unsigned i = 0; i < run_a.n; i++)
        if (run_a.releases[i].frame.id == 0x120 && run_a.releases[i].unit == SMALL_PUMP_LIGHT) {
            assert_int_equal(run_a.releases[i].frame.data[6] & 0x0F, 0);
            break;
        }
    lw_messages_damage(&run_a.m, &damage, 1, 3 * s);       /* nothing new: its rhythm goes on */
    assert_int_equal(run_a.m.slots[SMALL_N_MESSAGES].n_sent, copy);
    lw_messages_damage(&run_a.m, NULL, 0, 3 * s);
    run_a.n = 0;
    take_all(&run_a, 4 * s);
    assert_int_equal(count(&run_a, 0x120, SMALL_PUMP_LIGHT), 0);
}

static void damage_duplicate_equal_data_at_equal_times(void **state)
{
    (void)state;
    struct lw_damage damage = damage_of("duplicate at pump-light 120 equal");
    begin(&run_a, 6);
    start_all(&run_a);
    take_all(&run_a, s);
    lw_messages_damage(&run_a.m, &damage, 1, s);
    struct lw_frame original, copy;
    lw_messages_frame(&run_a.m, &run_a.m.slots[SMALL_CYCLIC], 2 * s, &original);
    lw_messages_frame(&run_a.m, &run_a.m.slots[SMALL_N_MESSAGES], 2 * s, &copy);
    assert_memory_equal(&original, &copy, sizeof original);
}

static void damage_foreign_ids_are_of_no_message(void **state)
{
    (void)state;
    struct lw_damage damage = damage_of("foreign at pump-control");
    begin(&run_a, 6);
    start_all(&run_a);
    lw_messages_damage(&run_a.m, &damage, 1, 0);
    take_all(&run_a, 2 * s);
    unsigned n = 0;
    for (unsigned i = 0; i < run_a.n; i++) {
        if (run_a.releases[i].unit != SMALL_PUMP)
            continue;
        n++;
        for (unsigned k = 0; k < SMALL_N_MESSAGES; k++)
            assert_true(run_a.releases[i].frame.id != small_plant.messages[k].id);
    }
    assert_true(n > 190);
    assert_true(run_a.m.foreign_ids[SMALL_CYCLIC] != run_a.m.foreign_ids[SMALL_EVENT]);
}

static void damage_babble_sends_back_to_back(void **state)
{
    (void)state;
    struct lw_damage damage = damage_of("babble at pump-light");
    begin(&run_a, 6);
    lw_messages_damage(&run_a.m, &damage, 1, 0);
    assert_true(lw_messages_due_ns(&run_a.m) == UINT64_MAX);   /* not before it has booted */
    start_all(&run_a);
    take_all(&run_a, s);
    unsigned n = count(&run_a, LW_BABBLE_ID + SMALL_PUMP_LIGHT, SMALL_PUMP_LIGHT);
    assert_true(n > 500000 / 135 && n < 500000 / 100);         /* bits a frame, with and without stuffing */
}

static void damage_fd_sender_sends_fd(void **state)
{
    (void)state;
    struct lw_damage damage = damage_of("fd-sender at pump-control");
    begin(&run_a, 6);
    start_all(&run_a);
    lw_messages_damage(&run_a.m, &damage, 1, 0);
    take_all(&run_a, s);
    for (unsigned i = 0; i < run_a.n; i++)
        assert_int_equal(run_a.releases[i].frame.flags & (LW_FRAME_FD | LW_FRAME_BRS),
                         run_a.releases[i].unit == SMALL_PUMP ? LW_FRAME_FD : 0);
}

static void damage_crystal_stretches_period(void **state)
{
    (void)state;
    struct lw_damage damage = damage_of("crystal at pump-control 100000");
    begin(&run_a, 6);
    lw_messages_start(&run_a.m, SMALL_PUMP, 0);
    take_all(&run_a, s);
    lw_messages_damage(&run_a.m, &damage, 1, s);
    run_a.n = 0;
    take_all(&run_a, 12 * s);
    unsigned n = count(&run_a, 0x120, SMALL_PUMP);
    assert_true(n >= 998 && n <= 1002);
}

static void damage_all_at_once_stays_in_bounds(void **state)
{
    (void)state;
    struct lw_damage damages[2 * LW_MAX_DAMAGES];
    for (unsigned i = 0; i < N_ROWS(damages); i++)
        damages[i] = (struct lw_damage){ .kind = i % 3 ? LW_DAMAGE_DUPLICATE : LW_DAMAGE_BABBLE, .place = LW_AT_UNIT,
                                         .index = (uint8_t)(i % 7), .value = (double)(i % 9) - 2 };
    begin(&run_a, 1);
    start_all(&run_a);
    for (unsigned n = 0; n <= N_ROWS(damages); n++)
        lw_messages_damage(&run_a.m, damages, n, n);
    take_all(&run_a, s);
    assert_true(run_a.n > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nobody_started_nothing_is_due),
        cmocka_unit_test(run_equal_seeds_gives_equal_releases),
        cmocka_unit_test(take_comes_in_order_of_time),
        cmocka_unit_test(take_equal_times_lowest_identifier_first),
        cmocka_unit_test(cyclic_keeps_period_and_jitter),
        cmocka_unit_test(event_comes_soon_and_then_on_average),
        cmocka_unit_test(start_boot_message_once_at_once),
        cmocka_unit_test(data_patterns_move),
        cmocka_unit_test(damage_duplicate_has_own_phase_and_count),
        cmocka_unit_test(damage_duplicate_equal_data_at_equal_times),
        cmocka_unit_test(damage_foreign_ids_are_of_no_message),
        cmocka_unit_test(damage_babble_sends_back_to_back),
        cmocka_unit_test(damage_fd_sender_sends_fd),
        cmocka_unit_test(damage_crystal_stretches_period),
        cmocka_unit_test(damage_all_at_once_stays_in_bounds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
