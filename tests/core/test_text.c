/* SPDX-License-Identifier: MIT
 *
 * Numbers as people read them, and the edges at which the unit changes.
 */
#include "loomwatch/core/text.h"

#include "cases.h"
#include "random_event.h"

static void duration_shows_three_digits_and_the_fitting_unit(void **state)
{
    (void)state;
    static const struct {
        uint64_t ns;
        const char *text;
    } rows[] = {
        { 0, "—" }, { 1000, "1.00 µs" }, { 850000, "850 µs" }, { 999499, "999 µs" }, { 999500, "1.00 ms" },
        { 9994000, "9.99 ms" }, { 9995000, "10.0 ms" }, { 10000000, "10.0 ms" }, { 99949000, "99.9 ms" },
        { 99950000, "100 ms" }, { 999499999, "999 ms" }, { 999500000, "1.00 s" }, { 1250000000, "1.25 s" },
        { 60000000000, "60.0 s" }, { UINT64_MAX, "18446744074 s" },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        char buf[LW_NUMBER_TEXT];
        assert_ptr_equal(lw_text_duration(rows[i].ns, buf), buf);
        assert_string_equal(buf, rows[i].text);
    }
}

static void clock_shows_minutes_or_hours(void **state)
{
    (void)state;
    static const uint64_t s = UINT64_C(1000000000);
    const struct {
        uint64_t ns;
        const char *text, *tenths;
    } rows[] = {
        { 0, "0:00", "0:00.0" }, { 42 * s + 399999999, "0:42", "0:42.3" }, { 727 * s, "12:07", "12:07.0" },
        { 3599 * s + 999999999, "59:59", "59:59.9" }, { 3600 * s, "1:00:00", "1:00:00.0" },
        { 3753 * s, "1:02:33", "1:02:33.0" }, { UINT64_MAX, "5124095:34:33", "5124095:34:33.7" },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        char buf[LW_NUMBER_TEXT];
        assert_string_equal(lw_text_clock(rows[i].ns, buf), rows[i].text);
        assert_string_equal(lw_text_clock_tenths(rows[i].ns, buf), rows[i].tenths);
    }
}

static void bit_rate_shows_the_unit_in_use(void **state)
{
    (void)state;
    static const struct {
        struct lw_reading bps;
        const char *text;
    } rows[] = {
        { { false, 500000 }, "— bit/s" }, { { true, 500000 }, "500 kbit/s" }, { { true, 83300 }, "83.3 kbit/s" },
        { { true, 33333 }, "33.333 kbit/s" }, { { true, 1000000 }, "1 Mbit/s" }, { { true, 2500000 }, "2.5 Mbit/s" },
        { { true, 10000 }, "10 kbit/s" }, { { true, UINT32_MAX }, "4294.97 Mbit/s" },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        char buf[LW_NUMBER_TEXT];
        assert_string_equal(lw_text_bit_rate(rows[i].bps, buf), rows[i].text);
    }
}

static void reading_unknown_is_a_dash_and_not_zero(void **state)
{
    (void)state;
    char buf[LW_NUMBER_TEXT];
    assert_string_equal(lw_text_reading(LW_UNKNOWN, buf), "—");
    assert_string_equal(lw_text_reading(LW_KNOWN(0), buf), "0");
    assert_string_equal(lw_text_reading(LW_KNOWN(128), buf), "128");
    assert_string_equal(lw_text_permille(LW_UNKNOWN, buf), "—");
    assert_string_equal(lw_text_permille(LW_KNOWN(0), buf), "0.0 %");
    assert_string_equal(lw_text_permille(LW_KNOWN(314), buf), "31.4 %");
    assert_string_equal(lw_text_permille(LW_KNOWN(1000), buf), "100.0 %");
}

static void lengths_list_every_code_seen(void **state)
{
    (void)state;
    static const struct {
        uint16_t dlc_seen;
        const char *text;
    } rows[] = {
        { 0, "—" }, { 1, "0" }, { 1 << 8, "8" }, { 1 << 4 | 1 << 6 | 1 << 8, "4 6 8" }, { 1 << 15, "64" },
        { UINT16_MAX, "0 1 2 3 4 5 6 7 8 12 16 20 24 32 48 64" },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        char buf[3 * LW_NUMBER_TEXT];
        assert_string_equal(lw_text_lengths(rows[i].dlc_seen, buf), rows[i].text);
    }
}

static void texts_of_random_values_fit_their_buffers(void **state)
{
    (void)state;
    uint64_t seed = 0x7E7;
    for (unsigned i = 0; i < 20000; i++) {
        char buf[LW_NUMBER_TEXT];
        uint64_t value = random_bits(&seed) >> random_below(&seed, 64);
        assert_in_range(strlen(lw_text_duration(value, buf)), 1, LW_NUMBER_TEXT - 2);   /* room left: nothing was cut */
        assert_in_range(strlen(lw_text_clock(value, buf)), 4, LW_NUMBER_TEXT - 2);
        assert_in_range(strlen(lw_text_clock_tenths(value, buf)), 6, LW_NUMBER_TEXT - 2);
        assert_in_range(strlen(lw_text_bit_rate(LW_KNOWN(value), buf)), 7, LW_NUMBER_TEXT - 2);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(duration_shows_three_digits_and_the_fitting_unit),
        cmocka_unit_test(clock_shows_minutes_or_hours),
        cmocka_unit_test(bit_rate_shows_the_unit_in_use),
        cmocka_unit_test(reading_unknown_is_a_dash_and_not_zero),
        cmocka_unit_test(lengths_list_every_code_seen),
        cmocka_unit_test(texts_of_random_values_fit_their_buffers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
