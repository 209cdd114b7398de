/* SPDX-License-Identifier: MIT
 *
 * The three CRCs against published check values, and against polynomial long division, which knows no shift register.
 */
#include "loomwatch/core/crc.h"

#include "cases.h"
#include "random_event.h"

enum { MAX_BITS = 600 };

static uint32_t crc_of_bytes(const struct lw_crc_kind *kind, uint32_t start, const char *bytes)
{
    for (; *bytes; bytes++)
        start = lw_crc_bits(kind, start, (uint8_t)*bytes, 8);
    return start;
}

static void crc_over_check_string_matches_catalogue(void **state)
{
    (void)state;
    static const struct {
        const struct lw_crc_kind *kind;
        uint32_t check;
    } rows[] = {
        { &lw_crc15, 0x059E },     /* crc-catalog (RevEng): CRC-15/CAN */
        { &lw_crc17, 0x04F03 },    /* crc-catalog (RevEng): CRC-17/CAN-FD */
        { &lw_crc21, 0x0ED841 },   /* crc-catalog (RevEng): CRC-21/CAN-FD */
    };
    for (size_t i = 0; i < N_ROWS(rows); i++)
        assert_int_equal(crc_of_bytes(rows[i].kind, 0, "123456789"), rows[i].check);
}

static void crc_started_as_iso_2015_asks_gives_calculated_value(void **state)
{
    (void)state;
    /* Start values from memory; results calculated with two independent methods. */
    assert_int_equal(crc_of_bytes(&lw_crc17, 0x10000, "123456789"), 0x09D9B);
    assert_int_equal(crc_of_bytes(&lw_crc21, 0x100000, "123456789"), 0x1323D8);
}

static void crc_polynomials_are_the_published_ones(void **state)
{
    (void)state;
    /* Bosch CAN 2.0 part B and ISO 11898-1: x15+x14+x10+x8+x7+x4+x3+1 */
    assert_int_equal(lw_crc15.polynomial, 1 << 14 | 1 << 10 | 1 << 8 | 1 << 7 | 1 << 4 | 1 << 3 | 1);
    assert_int_equal(lw_crc15.n_bits, 15);
    assert_int_equal(lw_crc17.polynomial, 0x1685B);    /* crc-catalog (RevEng) */
    assert_int_equal(lw_crc17.n_bits, 17);
    assert_int_equal(lw_crc21.polynomial, 0x102899);   /* crc-catalog (RevEng) */
    assert_int_equal(lw_crc21.n_bits, 21);
}

/* Remainder of the message, with n_bits zeros behind it, divided by the whole polynomial. */
static uint32_t long_division(const struct lw_crc_kind *kind, const uint8_t *message, size_t n)
{
    uint8_t dividend[MAX_BITS + 21] = { 0 };
    uint32_t divisor = 1u << kind->n_bits | kind->polynomial, remainder = 0;
    memcpy(dividend, message, n);
    for (size_t at = 0; at < n; at++)
        for (unsigned i = 0; dividend[at] && i <= kind->n_bits; i++)
            if (i > 0)
                dividend[at + i] ^= divisor >> (kind->n_bits - i) & 1;
    for (size_t i = n; i < n + kind->n_bits; i++)
        remainder = remainder << 1 | dividend[i];
    return remainder;
}

static void crc_of_random_bits_is_the_remainder_of_a_long_division(void **state)
{
    (void)state;
    static const struct lw_crc_kind *const kinds[] = { &lw_crc15, &lw_crc17, &lw_crc21 };
    uint64_t seed = 0x1CE;
    for (unsigned round = 0; round < 3000; round++) {
        const struct lw_crc_kind *kind = kinds[round % 3];
        uint8_t message[MAX_BITS];
        size_t n = 1 + random_below(&seed, MAX_BITS);
        uint32_t crc = 0;
        for (size_t i = 0; i < n; i++) {
            message[i] = random_bits(&seed) >> 40 & 1;
            crc = lw_crc_bit(kind, crc, message[i]);
        }
        assert_int_equal(crc, long_division(kind, message, n));
        assert_int_equal(lw_crc_bits(kind, crc, crc, kind->n_bits), 0);   /* message and its CRC leave nothing */
    }
}

static void crc_detects_every_single_wrong_bit(void **state)
{
    (void)state;
    uint64_t value = 0x123456789ABCDEF0;
    uint32_t right = lw_crc_bits(&lw_crc15, 0, value, 64);
    for (unsigned bit = 0; bit < 64; bit++)
        assert_int_not_equal(lw_crc_bits(&lw_crc15, 0, value ^ UINT64_C(1) << bit, 64), right);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(crc_over_check_string_matches_catalogue),
        cmocka_unit_test(crc_started_as_iso_2015_asks_gives_calculated_value),
        cmocka_unit_test(crc_polynomials_are_the_published_ones),
        cmocka_unit_test(crc_of_random_bits_is_the_remainder_of_a_long_division),
        cmocka_unit_test(crc_detects_every_single_wrong_bit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
