/* SPDX-License-Identifier: MIT
 *
 * The value of a fault as a person types it: numbers with handy units, identifiers of messages, and what each kind may have.
 * Called by damage_parse.c only.
 */
#include "damage_reader.h"

#include "loomwatch/core/unit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What a value may be, per kind. Where the standards set no limit, what still makes a bench. */
static const struct { double min, max; const char *limits; } limits[LW_N_DAMAGES] = {
    [LW_DAMAGE_SHORT_H_L] = { 0.001, 1e6, "0.001 to 1000000 ohm" },
    [LW_DAMAGE_H_TO_SUPPLY] = { 0.001, 1e6, "0.001 to 1000000 ohm" },
    [LW_DAMAGE_L_TO_SUPPLY] = { 0.001, 1e6, "0.001 to 1000000 ohm" },
    [LW_DAMAGE_H_TO_GROUND] = { 0.001, 1e6, "0.001 to 1000000 ohm" },
    [LW_DAMAGE_L_TO_GROUND] = { 0.001, 1e6, "0.001 to 1000000 ohm" },
    [LW_DAMAGE_EXTRA_TERMINATOR] = { 1, 1e5, "1 to 100000 ohm" },
    [LW_DAMAGE_LOOSE] = { 0.1, 1000, "0.1 to 1000 times a second" },
    [LW_DAMAGE_LONG_STUB] = { 1, 100000, "1mm to 100m" },
    [LW_DAMAGE_BIT_RATE] = { 5000, 1000000, "5k to 1M" },
    [LW_DAMAGE_CRYSTAL] = { -200000, 200000, "-200000 to 200000 ppm, and not 0" },
    [LW_DAMAGE_SJW] = { 1, 16, "1 to 16 quanta" },
    [LW_DAMAGE_SAMPLE_POINT] = { 500, 950, "50% to 95%" },
};

/* Half the bus's rate is wrong on every bus. */
static double default_value(const struct lw_damage_reader *reader)
{
    const struct lw_plant *plant = reader->plant;
    if (reader->out->kind == LW_DAMAGE_BIT_RATE && plant->bit_rate_bps > 0)
        return plant->bit_rate_bps > 10000 ? plant->bit_rate_bps / 2.0 : plant->bit_rate_bps * 2.0;
    return reader->info->default_value;
}

static int read_number(struct lw_damage_reader *reader)
{
    const char *text = lw_damage_word(reader), *unit = reader->info->unit;
    unsigned kind = reader->out->kind;
    char *end;
    double value = strtod(text, &end), factor = 1;
    bool is_good = end != text && isfinite(value);
    if (*end != '\0')
        is_good = is_good && lw_unit_factor(end, unit, &factor);
    reader->next++;
    if (is_good && *end == '\0' && lw_unit_factor(lw_damage_word(reader), unit, &factor))
        reader->next++;
    value *= factor;
    if (!is_good)
        return lw_damage_refuse(reader, "value \"%.32s\": write a number, such as %.10g", text, default_value(reader));
    if (!(value >= limits[kind].min && value <= limits[kind].max) || value == 0)
        return lw_damage_refuse(reader, "value %.10g: write %s", value, limits[kind].limits);
    struct lw_bit_timing timing;
    if (kind == LW_DAMAGE_BIT_RATE && lw_bit_timing_for((uint32_t)value, 800, 0, &timing) != 0)
        return lw_damage_refuse(reader, "bit rate %.10g cannot be set: write one such as %.10g", value, default_value(reader));
    reader->out->value = kind == LW_DAMAGE_SJW ? floor(value) : value;
    return 0;
}

/* The first message of another unit that comes by itself. */
static int default_message(const struct lw_damage_reader *reader)
{
    const struct lw_plant *plant = reader->plant;
    for (unsigned i = 0; i < plant->n_messages; i++)
        if (plant->messages[i].unit != reader->out->index && plant->messages[i].period_ms > 0)
            return (int)i;
    return -1;
}

static int find_message(const struct lw_plant *plant, struct lw_id_key key)
{
    for (unsigned i = 0; i < plant->n_messages; i++)
        if (plant->messages[i].id == key.id && !!(plant->messages[i].flags & LW_FRAME_EXTENDED) == key.is_extended)
            return (int)i;
    return -1;
}

static int read_duplicate(struct lw_damage_reader *reader)
{
    struct lw_id_key key = { 0 };
    const char *text = lw_damage_word(reader);
    bool has_id = *text && strcmp(text, "for") != 0 && strcmp(text, "equal") != 0;
    int message = default_message(reader);
    if (has_id && lw_id_parse(text, &key) != 0)
        return lw_damage_refuse(reader, "identifier \"%.32s\": write 3 hexadecimal digits, or 8 for 29 bits", text);
    if (has_id)
        message = find_message(reader->plant, key);
    if (message < 0 || reader->plant->messages[message].unit == reader->out->index)
        return lw_damage_refuse(reader, "no other unit sends %.32s: write a message of another unit", has_id ? text : "anything");
    reader->next += has_id;
    bool is_equal = strcmp(lw_damage_word(reader), "equal") == 0;
    reader->next += is_equal;
    reader->out->value = is_equal ? -(message + 1) : message + 1;
    return 0;
}

int lw_damage_read_value(struct lw_damage_reader *reader)
{
    if (reader->out->kind == LW_DAMAGE_DUPLICATE)
        return read_duplicate(reader);
    bool is_there = reader->next < reader->n_words && strcmp(lw_damage_word(reader), "for") != 0;
    if (is_there && !reader->info->unit)
        return lw_damage_refuse(reader, "%s takes no value: leave \"%.32s\" out, or write for TIME", reader->info->word, lw_damage_word(reader));
    if (is_there)
        return read_number(reader);
    reader->out->value = reader->info->unit ? default_value(reader) : 0;
    return 0;
}
