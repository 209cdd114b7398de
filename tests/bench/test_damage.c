/* SPDX-License-Identifier: MIT
 *
 * Faults in words: what a fitter types is understood, what is said can be read back, and each mistake is answered with what
 * to write instead.
 */
#include "loomwatch/bench/damage.h"

#include "cases.h"
#include "random_event.h"
#include "small_plant.h"

#include <errno.h>
#include <stdio.h>

enum { ROUNDS = 20000 };

static struct lw_damage parse(const char *text)
{
    struct lw_damage damage;
    char message[LW_DAMAGE_TEXT];
    if (lw_damage_parse(&small_plant, text, 1000, &damage, message) != 0)
        fail_msg("\"%s\": %s", text, message);
    assert_string_equal(message, "");
    return damage;
}

static void table_every_row_is_complete(void **state)
{
    (void)state;
    for (unsigned i = 0; i < LW_N_DAMAGES; i++) {
        assert_non_null(lw_damages[i].word);
        assert_non_null(lw_damages[i].words);
        assert_true(lw_damages[i].places > 0 && lw_damages[i].places < 16);
        assert_true(lw_damages[i].unit != NULL || lw_damages[i].default_value == 0);
        for (unsigned k = 0; k < i; k++)
            assert_string_not_equal(lw_damages[i].word, lw_damages[k].word);
    }
}

static void parse_text_gives_damage(void **state)
{
    (void)state;
    const struct { const char *text; uint8_t kind, place, index; double value; uint64_t ms; } rows[] = {
        { "open-h at hopper-sensor", LW_DAMAGE_OPEN_H, LW_AT_UNIT, SMALL_SENSOR },
        { "open-h at hopper load sensor for 5s", LW_DAMAGE_OPEN_H, LW_AT_UNIT, SMALL_SENSOR, 0, 5000 },
        { "open at segment 3", LW_DAMAGE_OPEN_BOTH, LW_AT_SEGMENT, 2 },
        { "short at point 2 0.5", LW_DAMAGE_SHORT_H_L, LW_AT_POINT, 1, 0.5 },
        { "short at point 4", LW_DAMAGE_SHORT_H_L, LW_AT_POINT, 3, 0.1 },
        { "short at pump", LW_DAMAGE_SHORT_H_L, LW_AT_POINT, 1, 0.1 },
        { "short at pump-light 2kohm", LW_DAMAGE_SHORT_H_L, LW_AT_UNIT, SMALL_PUMP_LIGHT, 2000 },
        { "h-to-ground at front end 5 ohm", LW_DAMAGE_H_TO_GROUND, LW_AT_POINT, 0, 5 },
        { "swapped at SENSOR for 200ms", LW_DAMAGE_SWAPPED, LW_AT_UNIT, SMALL_SENSOR, 0, 200 },
        { "no-terminator at point 1", LW_DAMAGE_NO_TERMINATOR, LW_AT_POINT, 0 },
        { "no-terminator at our-adapter", LW_DAMAGE_NO_TERMINATOR, LW_AT_UNIT, SMALL_ADAPTER },
        { "extra-terminator at adapter", LW_DAMAGE_EXTRA_TERMINATOR, LW_AT_UNIT, SMALL_ADAPTER, 120 },
        { "loose at pump-control 20/s for 2min", LW_DAMAGE_LOOSE, LW_AT_UNIT, SMALL_PUMP, 20, 120000 },
        { "long-stub at sensor 8m", LW_DAMAGE_LONG_STUB, LW_AT_UNIT, SMALL_SENSOR, 8000 },
        { "bit-rate at sensor", LW_DAMAGE_BIT_RATE, LW_AT_UNIT, SMALL_SENSOR, 250000 },
        { "bit-rate at sensor 125k", LW_DAMAGE_BIT_RATE, LW_AT_UNIT, SMALL_SENSOR, 125000 },
        { "crystal at hopper-sensor -20000 for 5s", LW_DAMAGE_CRYSTAL, LW_AT_UNIT, SMALL_SENSOR, -20000, 5000 },
        { "sample-point at sensor 75%", LW_DAMAGE_SAMPLE_POINT, LW_AT_UNIT, SMALL_SENSOR, 750 },
        { "sjw at sensor 2 tq", LW_DAMAGE_SJW, LW_AT_UNIT, SMALL_SENSOR, 2 },
        { "reset at sensor", LW_DAMAGE_RESET, LW_AT_UNIT, SMALL_SENSOR, 0, 20 },
        { "asleep", LW_DAMAGE_ASLEEP, LW_AT_NOWHERE, 0 },
        { "asleep at sensor", LW_DAMAGE_ASLEEP, LW_AT_UNIT, SMALL_SENSOR },
        { "overrun for 0.5s", LW_DAMAGE_OVERRUN, LW_AT_NOWHERE, 0, 0, 500 },
        { "duplicate at sensor 210", LW_DAMAGE_DUPLICATE, LW_AT_UNIT, SMALL_SENSOR, SMALL_BOTH + 1 },
        { "duplicate at sensor 120 equal for 1s", LW_DAMAGE_DUPLICATE, LW_AT_UNIT, SMALL_SENSOR, -(SMALL_CYCLIC + 1), 1000 },
        { "duplicate at pump-control 10A20310", LW_DAMAGE_DUPLICATE, LW_AT_UNIT, SMALL_PUMP, SMALL_LONG + 1 },
        { "duplicate at pump-control", LW_DAMAGE_DUPLICATE, LW_AT_UNIT, SMALL_PUMP, SMALL_BOTH + 1 },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_damage damage = parse(rows[i].text);
        uint64_t until_ns = rows[i].ms ? 1000 + rows[i].ms * 1000000 : UINT64_MAX;
        if (damage.kind != rows[i].kind || damage.place != rows[i].place || damage.index != rows[i].index ||
            damage.value != rows[i].value || damage.from_ns != 1000 || damage.until_ns != until_ns)
            fail_msg("\"%s\": kind %d, place %d %d, value %g", rows[i].text, damage.kind, damage.place, damage.index, damage.value);
    }
}

static void parse_mistake_is_answered(void **state)
{
    (void)state;
    const struct { const char *text, *answer; } rows[] = {
        { "", "nothing there: write a fault such as \"short at point 1\"" },
        { "opne-h at sensor", "no fault \"opne-h\": write for instance open-h" },
        { "swap at sensor", "no fault \"swap\": write for instance swapped" },
        { "open-h", "the place is missing: write open-h at a unit or at segment 1 to 3" },
        { "short at", "the place is missing: write short at a unit or at point 1 to 4" },
        { "short for 5s", "the place is missing: write short at a unit or at point 1 to 4" },
        { "open-h at pomp", "no place \"pomp\": write open-h at a unit or at segment 1 to 3" },
        { "open-h at segment 4", "no place \"segment\": write open-h at a unit or at segment 1 to 3" },
        { "short at point 0", "no place \"point\": write short at a unit or at point 1 to 4" },
        { "open-h at point 2", "it cannot be there: write open-h at a unit or at segment 1 to 3" },
        { "swapped at front-end", "it cannot be there: write swapped at a unit" },
        { "swapped at pump", "\"pump\" may be several: write the whole name, with dashes" },
        { "overrun at sensor", "overrun has no place: write it without \"at\"" },
        { "no-terminator at point 2", "no terminator there: write no-terminator at point 1" },
        { "no-terminator at sensor", "no terminator there: write no-terminator at point 1" },
        { "swapped at sensor 5", "swapped takes no value: leave \"5\" out, or write for TIME" },
        { "crystal at sensor fast", "value \"fast\": write a number, such as 20000" },
        { "crystal at sensor 5ohm", "value \"5ohm\": write a number, such as 20000" },
        { "crystal at sensor nan", "value \"nan\": write a number, such as 20000" },
        { "crystal at sensor 0", "value 0: write -200000 to 200000 ppm, and not 0" },
        { "short at sensor -1", "value -1: write 0.001 to 1000000 ohm" },
        { "bit-rate at sensor 2M", "value 2000000: write 5k to 1M" },
        { "bit-rate at sensor 333k", "bit rate 333000 cannot be set: write one such as 250000" },
        { "crystal at sensor 5 6", "\"6\" is one word too many: write for TIME, or nothing" },
        { "open at sensor for", "time \"\": write one such as 5s, 200ms or 2min, and nothing behind it" },
        { "open at sensor for 5", "time \"5\": write one such as 5s, 200ms or 2min, and nothing behind it" },
        { "open at sensor for -5s", "time \"-5s\": write one such as 5s, 200ms or 2min, and nothing behind it" },
        { "open at sensor for 5s more", "time \"5s\": write one such as 5s, 200ms or 2min, and nothing behind it" },
        { "duplicate at sensor 12", "identifier \"12\": write 3 hexadecimal digits, or 8 for 29 bits" },
        { "duplicate at sensor 7FF", "no other unit sends 7FF: write a message of another unit" },
        { "duplicate at sensor 6D0", "no other unit sends 6D0: write a message of another unit" },
        { "a b c d e f g h i j k l m n o p q r s t u v w x y", "too many words: write FAULT at PLACE VALUE for TIME" },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_damage damage;
        char message[LW_DAMAGE_TEXT];
        assert_int_equal(lw_damage_parse(&small_plant, rows[i].text, 0, &damage, message), -EINVAL);
        assert_string_equal(message, rows[i].answer);
    }
}

static void parse_too_long_is_answered(void **state)
{
    (void)state;
    char text[300], message[LW_DAMAGE_TEXT];
    struct lw_damage damage;
    memset(text, 'a', sizeof text);
    text[sizeof text - 1] = '\0';
    assert_int_equal(lw_damage_parse(&small_plant, text, 0, &damage, message), -EINVAL);
    assert_string_equal(message, "too long: write a fault in less than 128 letters");
}

static double random_value(uint64_t *seed, unsigned kind)
{
    switch (kind) {
    case LW_DAMAGE_BIT_RATE: return 10000.0 * (1u << random_below(seed, 4));
    case LW_DAMAGE_DUPLICATE: return random_below(seed, 2) ? SMALL_BOTH + 1 : -(SMALL_BOTH + 1);
    case LW_DAMAGE_SJW: return 1 + random_below(seed, 16);
    case LW_DAMAGE_SAMPLE_POINT: return 500 + random_below(seed, 451);
    case LW_DAMAGE_CRYSTAL: return -200000.0 + random_below(seed, 200000);
    default: return (100 + random_below(seed, 99900)) / 100.0;
    }
}

static struct lw_damage random_damage(uint64_t *seed)
{
    struct lw_damage damage = { .kind = (uint8_t)random_below(seed, LW_N_DAMAGES), .from_ns = random_bits(seed) >> 20 };
    do
        damage.place = (uint8_t)random_below(seed, 4);
    while (!(lw_damages[damage.kind].places & 1 << damage.place));
    static const uint8_t n_places[] = { 1, 3, 4, SMALL_N_UNITS };
    damage.index = (uint8_t)random_below(seed, n_places[damage.place]);
    if (damage.kind == LW_DAMAGE_DUPLICATE)
        damage.index = SMALL_SENSOR;
    if (damage.kind == LW_DAMAGE_NO_TERMINATOR)
        damage.index = damage.place == LW_AT_UNIT ? SMALL_ADAPTER : 0;
    damage.value = lw_damages[damage.kind].unit ? random_value(seed, damage.kind) : 0;
    bool has_no_end = damage.kind != LW_DAMAGE_RESET && random_below(seed, 2);
    damage.until_ns = has_no_end ? UINT64_MAX : damage.from_ns + 1 + random_below(seed, 2000000000);
    return damage;
}

static void text_is_parsed_back_the_same(void **state)
{
    (void)state;
    uint64_t seed = 11;
    for (unsigned i = 0; i < ROUNDS; i++) {
        struct lw_damage damage = random_damage(&seed), back;
        char text[LW_DAMAGE_TEXT], message[LW_DAMAGE_TEXT];
        lw_damage_text(&small_plant, &damage, text);
        if (lw_damage_parse(&small_plant, text, damage.from_ns, &back, message) != 0)
            fail_msg("\"%s\": %s", text, message);
        if (back.kind != damage.kind || back.place != damage.place || back.index != damage.index ||
            back.value != damage.value || back.until_ns != damage.until_ns)
            fail_msg("\"%s\" came back as %d at %d %d, %.17g", text, back.kind, back.place, back.index, back.value);
    }
}

static void parse_any_words_never_breaks(void **state)
{
    (void)state;
    static const char *const pieces[] = { "open-h", "short", "duplicate", "asleep", "at", "for", "point", "segment", "1", "99",
        "-", "--", "hopper", "sensor", "pump", "5s", "equal", "120", "1e308", "nan", "0x10", "", "\t", "\xC3\xB6", "%s", "k" };
    uint64_t seed = 5;
    for (unsigned i = 0; i < ROUNDS; i++) {
        char text[LW_DAMAGE_TEXT] = "", message[LW_DAMAGE_TEXT], words[LW_DAMAGE_TEXT];
        for (unsigned n = random_below(&seed, 9); n > 0; n--) {
            strcat(text, pieces[random_below(&seed, N_ROWS(pieces))]);
            strcat(text, " ");
        }
        struct lw_damage damage;
        int rc = lw_damage_parse(&small_plant, text, 0, &damage, message);
        assert_true(rc == 0 ? message[0] == '\0' : rc == -EINVAL && strstr(message, "write") != NULL);
        assert_true(rc != 0 || lw_damages[damage.kind].unit == NULL || damage.value != 0);
        assert_true(rc != 0 || lw_damage_words(&small_plant, &damage, words)[0] != '\0');
    }
}

static void words_say_what_is_wrong(void **state)
{
    (void)state;
    const struct { const char *text, *words; } rows[] = {
        { "open-h at hopper-sensor", "H wire broken at the hopper load sensor" },
        { "open at segment 2", "both wires broken between pump and point 3" },
        { "short at point 3 0.5", "H and L touch (0.5 ohm) at point 3" },
        { "h-to-supply at rear-end", "H touches the supply (0.1 ohm) at rear end" },
        { "no-terminator at adapter", "terminator missing at our adapter" },
        { "long-stub at sensor 8m", "stub 8 m long at the hopper load sensor" },
        { "bit-rate at sensor", "bit rate set to 250 kbit/s at the hopper load sensor" },
        { "asleep", "asleep: every unit but our adapter" },
        { "overrun", "our adapter loses frames" },
        { "duplicate at sensor 120 equal",
          "another unit's message sent too at the hopper load sensor: 120 of the pump control, equal data" },
    };
    for (size_t i = 0; i < N_ROWS(rows); i++) {
        struct lw_damage damage = parse(rows[i].text);
        char words[LW_DAMAGE_TEXT];
        assert_string_equal(lw_damage_words(&small_plant, &damage, words), rows[i].words);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(table_every_row_is_complete),
        cmocka_unit_test(parse_text_gives_damage),
        cmocka_unit_test(parse_mistake_is_answered),
        cmocka_unit_test(parse_too_long_is_answered),
        cmocka_unit_test(text_is_parsed_back_the_same),
        cmocka_unit_test(parse_any_words_never_breaks),
        cmocka_unit_test(words_say_what_is_wrong),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
