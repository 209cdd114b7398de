/* SPDX-License-Identifier: MIT
 *
 * Names of messages: order on the wire, text and back, data length codes.
 */
#include "loomwatch/core/event.h"

#include "cases.h"
#include "random_event.h"

#include <ctype.h>
#include <errno.h>

static struct lw_id_key standard(uint32_t id)
{
    return (struct lw_id_key){ .id = id };
}

static struct lw_id_key extended(uint32_t id)
{
    return (struct lw_id_key){ .id = id, .is_extended = true };
}

static void id_order_of_published_sequence_is_the_wire_order(void **state)
{
    (void)state;
    /* Order as in a public unit test citing Davis et al. 2007 */
    const struct lw_id_key in_order[] = {
        standard(0x033), extended(0x00CC0001), standard(0x123), extended(0x0CF00400),
    };
    for (size_t i = 0; i < N_ROWS(in_order); i++)
        for (size_t k = 0; k < N_ROWS(in_order); k++) {
            int order = lw_id_key_order(in_order[i], in_order[k]);
            assert_int_equal((order > 0) - (order < 0), (i > k) - (i < k));
        }
}

static void id_order_of_same_base_puts_standard_first(void **state)
{
    (void)state;
    /* ISO 11898-1: SRR and IDE are recessive in the extended format */
    for (uint32_t base = 0; base <= LW_STANDARD_ID_MAX; base++) {
        assert_true(lw_id_key_order(standard(base), extended(base << 18)) < 0);
        assert_true(lw_id_key_order(standard(base), extended(base << 18 | 0x3FFFF)) < 0);
        if (base > 0)
            assert_true(lw_id_key_order(extended((base - 1) << 18 | 0x3FFFF), standard(base)) < 0);
    }
}

static struct lw_id_key random_key(uint64_t *seed)
{
    struct lw_id_key key = { .bus = (uint8_t)random_below(seed, 2), .is_extended = random_below(seed, 2) };
    key.id = random_below(seed, key.is_extended ? LW_EXTENDED_ID_MAX + 1u : LW_STANDARD_ID_MAX + 1u);
    return key;
}

static void id_order_of_random_keys_is_total(void **state)
{
    (void)state;
    uint64_t seed = 0x0DE4;
    for (unsigned i = 0; i < 20000; i++) {
        struct lw_id_key a = random_key(&seed), b = random_key(&seed), c = random_key(&seed);
        assert_int_equal(lw_id_key_order(a, b), -lw_id_key_order(b, a));
        assert_int_equal(lw_id_key_order(a, b) == 0, lw_id_key_equal(a, b));
        assert_int_equal(lw_id_key_order(a, a), 0);
        if (lw_id_key_order(a, b) <= 0 && lw_id_key_order(b, c) <= 0)
            assert_true(lw_id_key_order(a, c) <= 0);
        if (a.bus < b.bus)
            assert_true(lw_id_key_order(a, b) < 0);
    }
}

static void assert_round_trip(struct lw_id_key key)
{
    char text[LW_ID_TEXT];
    struct lw_id_key back = { .bus = key.bus };
    assert_ptr_equal(lw_id_text(key, text), text);
    assert_int_equal(strlen(text), key.is_extended ? 8 : 3);
    assert_int_equal(lw_id_parse(text, &back), 0);
    assert_true(lw_id_key_equal(key, back));
    for (char *c = text; *c; c++)
        *c = (char)tolower(*c);
    assert_int_equal(lw_id_parse(text, &back), 0);
    assert_true(lw_id_key_equal(key, back));
}

static void id_text_of_every_sampled_id_can_be_read_back(void **state)
{
    (void)state;
    for (uint32_t id = 0; id <= LW_STANDARD_ID_MAX; id++) {
        assert_round_trip(standard(id));
        assert_round_trip(extended(id));
    }
    for (uint32_t id = 0; id <= LW_EXTENDED_ID_MAX; id += 9973)
        assert_round_trip(extended(id));
    assert_round_trip(extended(LW_EXTENDED_ID_MAX));
    assert_round_trip((struct lw_id_key){ .id = 0x123, .bus = 7 });
}

static void id_parse_of_foreign_text_is_refused(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "", "1", "12", "1234", "1234567", "123456789", "800", "FFF", "20000000", "FFFFFFFF", "12G", " 12", "12 ",
        "0x1", "-12", "+12", "1\xC3\xA4", "0000012g", "1.2", "0000000000000123",
    };
    for (size_t i = 0; i < N_ROWS(texts); i++) {
        struct lw_id_key key = { .id = 0x55, .bus = 3, .is_extended = true };
        assert_int_equal(lw_id_parse(texts[i], &key), -EINVAL);
        assert_int_equal(key.id, 0x55);
        assert_int_equal(key.bus, 3);
    }
}

static void id_parse_of_three_and_eight_digits_keeps_formats_apart(void **state)
{
    (void)state;
    struct lw_id_key three = { .bus = 2 }, eight = { .bus = 2 };
    assert_int_equal(lw_id_parse("123", &three), 0);
    assert_int_equal(lw_id_parse("00000123", &eight), 0);
    assert_int_equal(three.id, eight.id);
    assert_false(lw_id_key_equal(three, eight));
    assert_int_equal(three.bus, 2);
}

static void frame_key_takes_bus_id_and_format(void **state)
{
    (void)state;
    struct lw_frame frame = { .id = 0x18FEF100, .flags = LW_FRAME_EXTENDED | LW_FRAME_REMOTE | LW_FRAME_OWN };
    struct lw_id_key key = lw_frame_key(&frame, 5);
    assert_true(lw_id_key_equal(key, (struct lw_id_key){ 0x18FEF100, 5, true }));
    frame.flags = LW_FRAME_FD | LW_FRAME_BRS;
    assert_false(lw_frame_key(&frame, 5).is_extended);
}

static void dlc_of_every_length_matches_kernel_table(void **state)
{
    (void)state;
    /* kernel drivers/net/can/dev/length.c */
    static const uint8_t len_by_dlc[] = { 0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64 };
    static const struct {
        unsigned first, last, dlc;
    } ranges[] = {
        { 9, 12, 9 }, { 13, 16, 10 }, { 17, 20, 11 }, { 21, 24, 12 }, { 25, 32, 13 }, { 33, 48, 14 }, { 49, 64, 15 },
        { 65, 255, 15 },
    };
    for (unsigned dlc = 0; dlc < LW_N_DLC; dlc++) {
        assert_int_equal(lw_len_from_dlc(dlc), len_by_dlc[dlc]);
        assert_int_equal(lw_dlc_from_len(len_by_dlc[dlc]), dlc);
    }
    for (size_t i = 0; i < N_ROWS(ranges); i++)
        for (unsigned len = ranges[i].first; len <= ranges[i].last; len++)
            assert_int_equal(lw_dlc_from_len(len), ranges[i].dlc);
    assert_int_equal(lw_len_from_dlc(16), 64);
    assert_int_equal(lw_len_from_dlc(UINT32_MAX), 64);
}

static void link_of_unknown_device_is_present_and_tells_nothing(void **state)
{
    (void)state;
    struct lw_link link = lw_link_unknown();
    assert_true(link.is_present && link.is_up && link.has_carrier);
    assert_int_equal(link.state, LW_STATE_UNKNOWN);
    assert_int_equal(link.controller, LW_CONTROLLER_UNKNOWN);
    assert_false(link.bit_rate_bps.is_known || link.tec.is_known || link.rec.is_known || link.restart_ms.is_known
                 || link.n_bus_off.is_known || link.error_reporting.is_known);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(id_order_of_published_sequence_is_the_wire_order),
        cmocka_unit_test(id_order_of_same_base_puts_standard_first),
        cmocka_unit_test(id_order_of_random_keys_is_total),
        cmocka_unit_test(id_text_of_every_sampled_id_can_be_read_back),
        cmocka_unit_test(id_parse_of_foreign_text_is_refused),
        cmocka_unit_test(id_parse_of_three_and_eight_digits_keeps_formats_apart),
        cmocka_unit_test(frame_key_takes_bus_id_and_format),
        cmocka_unit_test(dlc_of_every_length_matches_kernel_table),
        cmocka_unit_test(link_of_unknown_device_is_present_and_tells_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
