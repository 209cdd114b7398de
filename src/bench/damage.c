/* SPDX-License-Identifier: MIT
 *
 * The table of everything that can be made wrong on the bench, and how it is said: in words for a person, and as the text
 * that damage_parse.c reads. For the bench page, reports and bench files.
 */
#include "loomwatch/bench/damage.h"

#include <inttypes.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define NOWHERE (1 << LW_AT_NOWHERE)
#define SEGMENT (1 << LW_AT_SEGMENT)
#define POINT (1 << LW_AT_POINT)
#define UNIT (1 << LW_AT_UNIT)

/* Defaults are round numbers that show the fault on any bench; half the bus's bit rate replaces the one of bit-rate. */
const struct lw_damage_info lw_damages[LW_N_DAMAGES] = {
    [LW_DAMAGE_OPEN_H] = { "open-h", "break the H wire", SEGMENT | UNIT, NULL, 0 },
    [LW_DAMAGE_OPEN_L] = { "open-l", "break the L wire", SEGMENT | UNIT, NULL, 0 },
    [LW_DAMAGE_OPEN_BOTH] = { "open", "break both wires", SEGMENT | UNIT, NULL, 0 },
    [LW_DAMAGE_SHORT_H_L] = { "short", "short H to L", POINT | UNIT, "ohm", 0.1 },
    [LW_DAMAGE_H_TO_SUPPLY] = { "h-to-supply", "let H touch the supply", POINT | UNIT, "ohm", 0.1 },
    [LW_DAMAGE_L_TO_SUPPLY] = { "l-to-supply", "let L touch the supply", POINT | UNIT, "ohm", 0.1 },
    [LW_DAMAGE_H_TO_GROUND] = { "h-to-ground", "let H touch ground", POINT | UNIT, "ohm", 0.1 },
    [LW_DAMAGE_L_TO_GROUND] = { "l-to-ground", "let L touch ground", POINT | UNIT, "ohm", 0.1 },
    [LW_DAMAGE_SWAPPED] = { "swapped", "swap H and L", UNIT, NULL, 0 },
    [LW_DAMAGE_NO_TERMINATOR] = { "no-terminator", "take the terminator out", POINT | UNIT, NULL, 0 },
    [LW_DAMAGE_EXTRA_TERMINATOR] = { "extra-terminator", "put another terminator in", POINT | UNIT, "ohm", 120 },
    [LW_DAMAGE_LOOSE] = { "loose", "make a contact loose", SEGMENT | UNIT, "per second", 5 },
    [LW_DAMAGE_LONG_STUB] = { "long-stub", "make the stub too long", UNIT, "mm", 10000 },
    [LW_DAMAGE_UNPLUGGED] = { "unplugged", "unplug a unit", UNIT, NULL, 0 },
    [LW_DAMAGE_UNPOWERED] = { "unpowered", "take a unit's supply away", UNIT, NULL, 0 },
    [LW_DAMAGE_STANDBY] = { "standby", "put a transceiver in standby", UNIT, NULL, 0 },
    [LW_DAMAGE_ASLEEP] = { "asleep", "let a unit sleep, or all but our adapter", UNIT | NOWHERE, NULL, 0 },
    [LW_DAMAGE_BIT_RATE] = { "bit-rate", "set a wrong bit rate", UNIT, "bit/s", 250000 },
    [LW_DAMAGE_CRYSTAL] = { "crystal", "give a unit a wrong clock", UNIT, "ppm", 20000 },
    [LW_DAMAGE_SJW] = { "sjw", "set a wrong synchronisation jump width", UNIT, "quanta", 1 },
    [LW_DAMAGE_SAMPLE_POINT] = { "sample-point", "set a wrong sample point", UNIT, "permille", 600 },
    [LW_DAMAGE_LISTEN_ONLY] = { "listen-only", "let a unit listen only", UNIT, NULL, 0 },
    [LW_DAMAGE_FD_SENDER] = { "fd-sender", "let a unit send CAN FD frames", UNIT, NULL, 0 },
    [LW_DAMAGE_DUPLICATE] = { "duplicate", "let a unit send another's message too", UNIT, "identifier", 0 },
    [LW_DAMAGE_FOREIGN] = { "foreign", "give a unit another machine's identifiers", UNIT, NULL, 0 },
    [LW_DAMAGE_BABBLE] = { "babble", "let a unit send without pause", UNIT, NULL, 0 },
    [LW_DAMAGE_RESET] = { "reset", "reset a unit", UNIT, NULL, 0 },
    [LW_DAMAGE_OVERRUN] = { "overrun", "let our adapter lose frames", NOWHERE, NULL, 0 },
};

/* How each is said once it is so: around the value, which is divided to a handier unit. */
static const struct { const char *before, *behind; double divisor; } said[LW_N_DAMAGES] = {
    [LW_DAMAGE_OPEN_H] = { "H wire broken" },
    [LW_DAMAGE_OPEN_L] = { "L wire broken" },
    [LW_DAMAGE_OPEN_BOTH] = { "both wires broken" },
    [LW_DAMAGE_SHORT_H_L] = { "H and L touch (", " ohm)", 1 },
    [LW_DAMAGE_H_TO_SUPPLY] = { "H touches the supply (", " ohm)", 1 },
    [LW_DAMAGE_L_TO_SUPPLY] = { "L touches the supply (", " ohm)", 1 },
    [LW_DAMAGE_H_TO_GROUND] = { "H touches ground (", " ohm)", 1 },
    [LW_DAMAGE_L_TO_GROUND] = { "L touches ground (", " ohm)", 1 },
    [LW_DAMAGE_SWAPPED] = { "H and L swapped" },
    [LW_DAMAGE_NO_TERMINATOR] = { "terminator missing" },
    [LW_DAMAGE_EXTRA_TERMINATOR] = { "one terminator more (", " ohm)", 1 },
    [LW_DAMAGE_LOOSE] = { "loose contact (opens ", " times a second)", 1 },
    [LW_DAMAGE_LONG_STUB] = { "stub ", " m long", 1000 },
    [LW_DAMAGE_UNPLUGGED] = { "unplugged" },
    [LW_DAMAGE_UNPOWERED] = { "no supply" },
    [LW_DAMAGE_STANDBY] = { "transceiver in standby" },
    [LW_DAMAGE_ASLEEP] = { "asleep" },
    [LW_DAMAGE_BIT_RATE] = { "bit rate set to ", " kbit/s", 1000 },
    [LW_DAMAGE_CRYSTAL] = { "clock wrong by ", " ppm", 1 },
    [LW_DAMAGE_SJW] = { "synchronisation jump width set to ", "", 1 },
    [LW_DAMAGE_SAMPLE_POINT] = { "sample point set to ", " %", 10 },
    [LW_DAMAGE_LISTEN_ONLY] = { "listens only" },
    [LW_DAMAGE_FD_SENDER] = { "sends CAN FD frames" },
    [LW_DAMAGE_DUPLICATE] = { "another unit's message sent too" },
    [LW_DAMAGE_FOREIGN] = { "another machine's identifiers" },
    [LW_DAMAGE_BABBLE] = { "sends without pause" },
    [LW_DAMAGE_RESET] = { "reset" },
    [LW_DAMAGE_OVERRUN] = { "our adapter loses frames" },
};

/* Appends to buf; what does not fit is cut. */
__attribute__((format(printf, 2, 3))) static void add(char buf[LW_DAMAGE_TEXT], const char *format, ...)
{
    size_t n = strlen(buf);
    va_list args;
    va_start(args, format);
    vsnprintf(buf + n, LW_DAMAGE_TEXT - n, format, args);
    va_end(args);
}

/* A point's name, or its number where it has none. */
static void add_point(char buf[LW_DAMAGE_TEXT], const struct lw_plant *plant, unsigned point)
{
    if (point < plant->n_points && plant->points[point].name[0])
        add(buf, "%s", plant->points[point].name);
    else
        add(buf, "point %u", point + 1);
}

static const char *unit_name(const struct lw_plant *plant, unsigned unit)
{
    return unit < plant->n_units ? plant->units[unit].name : "a unit that is not there";
}

static void add_place(char buf[LW_DAMAGE_TEXT], const struct lw_plant *plant, const struct lw_damage *damage)
{
    const char *name = unit_name(plant, damage->index);
    if (damage->place == LW_AT_UNIT) {
        add(buf, strncmp(name, "our ", 4) == 0 ? " at %s" : " at the %s", name);
    } else if (damage->place == LW_AT_POINT) {
        add(buf, " at ");
        add_point(buf, plant, damage->index);
    } else if (damage->place == LW_AT_SEGMENT) {
        add(buf, " between ");
        add_point(buf, plant, damage->index);
        add(buf, " and ");
        add_point(buf, plant, damage->index + 1u);
    } else if (damage->kind == LW_DAMAGE_ASLEEP) {
        add(buf, ": every unit but our adapter");
    }
}

static const struct lw_plant_message *message_of(const struct lw_plant *plant, const struct lw_damage *damage)
{
    double n = fabs(damage->value);
    return n >= 1 && n <= plant->n_messages ? &plant->messages[(unsigned)n - 1] : NULL;
}

static char *message_id(const struct lw_plant_message *message, char buf[LW_ID_TEXT])
{
    struct lw_id_key key = { .id = message->id, .is_extended = message->flags & LW_FRAME_EXTENDED };
    return lw_id_text(key, buf);
}

char *lw_damage_words(const struct lw_plant *plant, const struct lw_damage *damage, char buf[LW_DAMAGE_TEXT])
{
    buf[0] = '\0';
    if (damage->kind >= LW_N_DAMAGES)
        return buf;
    add(buf, "%s", said[damage->kind].before);
    if (said[damage->kind].behind)
        add(buf, "%.10g%s", damage->value / said[damage->kind].divisor, said[damage->kind].behind);
    add_place(buf, plant, damage);
    const struct lw_plant_message *message = message_of(plant, damage);
    char id[LW_ID_TEXT];
    if (damage->kind == LW_DAMAGE_DUPLICATE && message)
        add(buf, ": %s of the %s%s", message_id(message, id), unit_name(plant, message->unit),
            damage->value < 0 ? ", equal data" : "");
    return buf;
}

static void add_place_text(char buf[LW_DAMAGE_TEXT], const struct lw_plant *plant, const struct lw_damage *damage)
{
    size_t n = strlen(buf);
    if (damage->place == LW_AT_UNIT)
        add(buf, " at %s", unit_name(plant, damage->index));
    else if (damage->place != LW_AT_NOWHERE)
        add(buf, " at %s %u", damage->place == LW_AT_POINT ? "point" : "segment", damage->index + 1u);
    for (char *c = buf + n + strlen(" at "); damage->place == LW_AT_UNIT && *c; c++)
        if (*c == ' ')
            *c = '-';
}

static void add_value_text(char buf[LW_DAMAGE_TEXT], const struct lw_plant *plant, const struct lw_damage *damage)
{
    const struct lw_plant_message *message = message_of(plant, damage);
    char id[LW_ID_TEXT];
    if (damage->kind != LW_DAMAGE_DUPLICATE)
        add(buf, " %.15g", damage->value);
    else if (message)
        add(buf, " %s%s", message_id(message, id), damage->value < 0 ? " equal" : "");
}

char *lw_damage_text(const struct lw_plant *plant, const struct lw_damage *damage, char buf[LW_DAMAGE_TEXT])
{
    buf[0] = '\0';
    if (damage->kind >= LW_N_DAMAGES)
        return buf;
    add(buf, "%s", lw_damages[damage->kind].word);
    add_place_text(buf, plant, damage);
    if (lw_damages[damage->kind].unit)
        add_value_text(buf, plant, damage);
    if (damage->until_ns != UINT64_MAX)
        add(buf, " for %" PRIu64 "ns", damage->until_ns - damage->from_ns);
    return buf;
}
