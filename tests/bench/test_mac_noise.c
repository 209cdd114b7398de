/* SPDX-License-Identifier: MIT
 *
 * Noise by chance: controllers of every kind misread bits, the wire sticks and breaks, frames come and go. Nothing may crash,
 * hang or break a promise; and once the noise is over the bus heals and delivers.
 */
#include "mac_bus.h"

#include "cases.h"
#include "random_event.h"

static void begin_mixed(struct mac_bus *bus, uint64_t *seed)
{
    bus_begin(bus, 4, (struct lw_mac_options){ .has_fd = true });
    if (random_below(seed, 3) == 0)
        bus_replace(bus, 3, (struct lw_mac_options){ .has_fd = true, .is_listen_only = true });
    if (random_below(seed, 3) == 0)
        bus_replace(bus, 2, (struct lw_mac_options){ .has_fd = true, .is_one_shot = true });
}

static void check_promises(const struct mac_bus *bus)
{
    for (unsigned i = 0; i < bus->n; i++) {
        const struct bus_unit *unit = &bus->unit[i];
        const struct lw_confinement *counters = lw_mac_confinement(unit->mac);
        assert_true(lw_mac_last_field(unit->mac) < LW_N_MAC_FIELDS);
        assert_int_equal(counters->is_bus_off, counters->tec >= 256);
        assert_true(counters->tec < 256 + 8);
        if (counters->is_bus_off)
            assert_false(lw_mac_drives_dominant(unit->mac));
        if (unit->report & LW_MAC_ERROR) {
            assert_in_range(lw_mac_error(unit->mac)->kind, LW_MAC_BIT_ERROR, LW_MAC_ACK_ERROR);
            assert_true(lw_mac_error(unit->mac)->place <= 0x1B);
        }
        if (unit->report & (LW_MAC_RECEIVED | LW_MAC_SENT)) {
            assert_true(unit->frame.len <= (unit->frame.flags & LW_FRAME_FD ? LW_FRAME_MAX_LEN : LW_CLASSIC_MAX_LEN));
            assert_true(unit->frame.id <= LW_EXTENDED_ID_MAX);
        }
    }
}

static void make_noise(struct mac_bus *bus, uint64_t *seed, unsigned n_bits, unsigned one_in)
{
    for (unsigned n = 0; n < n_bits; n++) {
        for (unsigned i = 0; i < bus->n; i++) {
            bus->unit[i].misreads = random_below(seed, one_in) == 0;
            if (random_below(seed, 500) == 0) {
                struct lw_frame frame = random_frame(seed);
                lw_mac_send(bus->unit[i].mac, &frame);
            }
            if (random_below(seed, 4000) == 0)
                lw_mac_drop_queue(bus->unit[i].mac);
            if (bus->unit[i].report & LW_MAC_BUS_OFF && random_below(seed, 2))
                lw_mac_restart(bus->unit[i].mac);
        }
        if (random_below(seed, 3000) == 0)
            bus->is_held_dominant = true;
        if (random_below(seed, 20) == 0)
            bus->is_held_dominant = false;
        if (random_below(seed, 3000) == 0)
            bus->is_cut = true;
        if (random_below(seed, 200) == 0)
            bus->is_cut = false;
        bus_bit(bus);
        check_promises(bus);
    }
    bus->is_held_dominant = bus->is_cut = false;
}

static bool is_anyone_bus_off(const struct mac_bus *bus)
{
    for (unsigned i = 0; i < bus->n; i++)
        if (lw_mac_confinement(bus->unit[i].mac)->is_bus_off)
            return true;
    return false;
}

/* A counter near its end can still lead to bus off by the last error that the noise left: once for each unit. */
static void heal(struct mac_bus *bus)
{
    const unsigned limit = 3000 + 4 * LW_MAC_QUEUE * 1000;   /* recovery, then four queues of sixteen frames at most */
    for (unsigned round = 0; round <= bus->n; round++) {
        for (unsigned i = 0; i < bus->n; i++)
            lw_mac_restart(bus->unit[i].mac);
        assert_true(bus_settle(bus, limit) < limit);
    }
    assert_false(is_anyone_bus_off(bus));
}

static void bus_heals_after_noise_and_delivers(void **state)
{
    (void)state;
    static const unsigned one_in[] = { 2, 5, 20, 100, 500, 3000 };
    uint64_t seed = 0x9015E;
    for (unsigned round = 0; round < 60; round++) {
        struct mac_bus bus;
        begin_mixed(&bus, &seed);
        make_noise(&bus, &seed, 4000, one_in[round % N_ROWS(one_in)]);
        heal(&bus);
        unsigned n_errors = bus.unit[1].n_errors, n_received = bus.unit[1].n_received;
        const struct lw_frame frame = { 0x123, LW_FRAME_FD, 64, { 1, 2, 3 } };
        bus_set_counters(&bus, 0, 0, 0);             /* a passive sender would set ESI */
        bus_queue(&bus, 0, &frame);
        bus_run_until_sent(&bus, 0);
        assert_int_equal(bus.unit[1].n_errors, n_errors);
        assert_int_equal(bus.unit[1].n_received, n_received + 1);
        bus_assert_same_frame(&bus.unit[1].frame, &frame);
        bus_end(&bus);
    }
}

static void single_misread_bits_far_apart_neither_lose_nor_alter_a_frame(void **state)
{
    (void)state;
    uint64_t seed = 0x5A11;
    struct mac_bus bus;
    bus_begin(&bus, 3, (struct lw_mac_options){ .has_fd = true });
    for (unsigned round = 0; round < 3000; round++) {
        struct lw_frame frame = random_frame(&seed);
        unsigned at = random_below(&seed, 200), n_before = bus.unit[1].n_received;
        bus_queue(&bus, 0, &frame);
        for (unsigned i = 0; i < at; i++)
            bus_bit(&bus);
        bus.unit[random_below(&seed, 3)].misreads = true;
        bus_bit(&bus);
        assert_true(bus_settle(&bus, 3000) < 3000);
        assert_int_equal(bus.unit[0].n_sent, round + 1);
        assert_in_range(bus.unit[1].n_received, n_before + 1, n_before + 2);
        bus_assert_same_frame(&bus.unit[1].frame, &frame);
        bus_assert_same_frame(&bus.unit[2].frame, &frame);
        for (unsigned i = 0; i < 3; i++)             /* a passive receiver's error would disturb nobody, and lose it the frame */
            bus_set_counters(&bus, i, 0, 0);
    }
    bus_end(&bus);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bus_heals_after_noise_and_delivers),
        cmocka_unit_test(single_misread_bits_far_apart_neither_lose_nor_alter_a_frame),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
