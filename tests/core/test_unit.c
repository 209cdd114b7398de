/* SPDX-License-Identifier: MIT
 *
 * Units: what each is worth in another, and that there and back is where it began.
 */
#include "loomwatch/core/unit.h"

#include "cases.h"

#include <math.h>
#include <stdbool.h>

static void unit_is_worth_so_many_of_another(void **state)
{
    static const struct { const char *word, *base; double factor; } rows[] = {
        { "cm", "mm", 10 }, { "m", "mm", 1000 }, { "km", "m", 1000 }, { "k", "bit/s", 1000 }, { "M", "bit/s", 1e6 }, { "k", "ohm", 1000 },
        { "Ω", "ohm", 1 }, { "\u2126", "ohm", 1 }, { "kΩ", "ohm", 1000 }, { "mV", "V", 1e-3 }, { "%", "permille", 10 }, { "ppm", "%", 1e-4 },
        { "us", "ns", 1000 }, { "µs", "ns", 1000 }, { "ms", "ns", 1e6 }, { "MHz", "Hz", 1e6 }, { "/s", "per second", 1 }, { "tq", "quanta", 1 },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        double there = 0, back = 0;
        assert_true(lw_unit_factor(rows[i].word, rows[i].base, &there));
        assert_true(fabs(there - rows[i].factor) < 1e-9 * rows[i].factor);
        /* "k" alone means bits a second, so the way back is only there for words of one meaning. */
        if (lw_unit_factor(rows[i].base, rows[i].word, &back))
            assert_true(fabs(there * back - 1) < 1e-9);
    }
}

static void unit_of_another_kind_has_no_factor(void **state)
{
    static const struct { const char *word, *base; } rows[] = {
        { "V", "ohm" }, { "m", "V" }, { "furlong", "m" }, { "m", "furlong" }, { "", "m" }, { "ohm", "" }, { "mm2", "mm" },
    };
    (void)state;
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        double factor = 7;
        assert_false(lw_unit_factor(rows[i].word, rows[i].base, &factor));
        assert_true(factor == 7);
    }
}

static void unit_says_what_it_measures(void **state)
{
    (void)state;
    assert_string_equal(lw_unit_measures("mV"), "volts");
    assert_string_equal(lw_unit_measures("kΩ"), "ohms");
    assert_string_equal(lw_unit_measures("k"), "bits a second");
    assert_null(lw_unit_measures("furlong"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unit_is_worth_so_many_of_another),
        cmocka_unit_test(unit_of_another_kind_has_no_factor),
        cmocka_unit_test(unit_says_what_it_measures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
