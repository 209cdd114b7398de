/* SPDX-License-Identifier: MIT
 *
 * Meter readings: the three measurements as a table, and how a person types them.
 */
#include "loomwatch/core/reading.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

const struct lw_measurement_info lw_measurements[LW_N_MEASUREMENTS] = {
    [LW_MEASURE_OHM] = { "ohms between H and L", "ohm",
        "Supply off, ten seconds, then ohms between H and L at the connector", 100e6,
        { { 5, "below 5" }, { 50, "5 to 50" }, { 72, "about 60" }, { 150, "about 120" }, { INFINITY, "above 150" } },
        "two terminators of 120 ohm within 100 to 130 in parallel, less what up to 30 units add (ISO 11898-2 as quoted by makers)" },
    [LW_MEASURE_VOLT_H] = { "volts from H to ground", "V",
        "Bus live: volts from H to ground at the connector", 100,
        { { 1.0, "below 1" }, { 2.2, "1 to 2.2" }, { 3.4, "2.2 to 3.4" }, { 4.6, "3.4 to 4.6" }, { INFINITY, "above 4.6" } },
        "2.5 V at rest and 3.5 V while dominant (TI SLOA101B), so an average lies between" },
    [LW_MEASURE_VOLT_L] = { "volts from L to ground", "V",
        "Bus live: volts from L to ground at the connector", 100,
        { { 0.4, "below 0.4" }, { 1.6, "0.4 to 1.6" }, { 2.8, "1.6 to 2.8" }, { 4.6, "2.8 to 4.6" }, { INFINITY, "above 4.6" } },
        "2.5 V at rest and 1.5 V while dominant (TI SLOA101B), so an average lies between" },
};

static const char *skip_space(const char *text)
{
    while (isspace((unsigned char)*text))
        text++;
    return text;
}

static bool is_unit(const char *text, const char *const *names)
{
    for (; *names; names++)
        if (strcasecmp(text, *names) == 0)
            return true;
    return false;
}

/* "2.1k" and "3M" of ohms are written on meters. */
static double multiplier(const char **text)
{
    char c = **text;
    if (c == 'k' || c == 'K' || c == 'M') {
        (*text)++;
        return c == 'M' ? 1e6 : 1e3;
    }
    return 1;
}

/* "open", "OL", also as lw_reading_words puts it. */
static bool is_open(const char *text)
{
    static const char *const words[] = { "open", "open circuit", "ol" };
    size_t n = strlen(text);
    while (n > 0 && isspace((unsigned char)text[n - 1]))
        n--;
    for (size_t i = 0; i < sizeof(words) / sizeof(words[0]); i++)
        if (strlen(words[i]) == n && strncasecmp(text, words[i], n) == 0)
            return true;
    return false;
}

static int wrong(char message[LW_READING_MESSAGE], const char *text, const char *what)
{
    int n = (int)strnlen(text, 24);
    while (n > 0 && ((unsigned char)text[n] & 0xC0) == 0x80)     /* not in the middle of a character */
        n--;
    snprintf(message, LW_READING_MESSAGE, "\"%.*s\": %s; write 120 ohm, open, H 3.9 V or L 2.1 V", n, text, what);
    return -EINVAL;
}

int lw_reading_parse(const char *text, struct lw_meter_reading *out, char message[LW_READING_MESSAGE])
{
    static const char *const ohms[] = { "", "ohm", "ohms", "\xCE\xA9", "\xE2\x84\xA6", "r", NULL };   /* capital omega, ohm sign */
    static const char *const volts[] = { "", "v", "volt", "volts", NULL };
    const char *at = skip_space(text);
    char unit[16], *end;
    enum lw_measurement kind = LW_MEASURE_OHM;
    if (is_open(at)) {
        *out = (struct lw_meter_reading){ .kind = LW_MEASURE_OHM, .value = INFINITY };
        return 0;
    }
    if (toupper((unsigned char)*at) == 'H' || toupper((unsigned char)*at) == 'L') {
        kind = toupper((unsigned char)*at) == 'H' ? LW_MEASURE_VOLT_H : LW_MEASURE_VOLT_L;
        at = skip_space(at + 1);
    }
    if (!isdigit((unsigned char)*at) && *at != '.')
        return wrong(message, text, *at == '-' ? "below zero: is the supply off? Voltage does that" : "no number");
    double value = strtod(at, &end);
    if (memchr(at, 'x', (size_t)(end - at)) || memchr(at, 'X', (size_t)(end - at)))
        return wrong(message, text, "no unit of a meter");
    at = skip_space(end);
    if (kind == LW_MEASURE_OHM)
        value *= multiplier(&at);
    snprintf(unit, sizeof(unit), "%s", skip_space(at));
    for (size_t n = strlen(unit); n > 0 && isspace((unsigned char)unit[n - 1]);)
        unit[--n] = '\0';
    if (!is_unit(unit, kind == LW_MEASURE_OHM ? ohms : volts))
        return wrong(message, text, kind != LW_MEASURE_OHM ? "H and L are measured in volts"
                     : is_unit(unit, volts) ? "volts of which wire? H or L goes before the number" : "no unit of a meter");
    if (!(value >= 0 && value <= lw_measurements[kind].max))
        return wrong(message, text, "beyond what such a measurement can give");
    *out = (struct lw_meter_reading){ .kind = (uint8_t)kind, .value = value };
    return 0;
}

unsigned lw_reading_range(const struct lw_meter_reading *reading)
{
    const struct lw_range *ranges = lw_measurements[reading->kind].ranges;
    unsigned i = 0;
    while (i < LW_READING_RANGES - 1 && reading->value >= ranges[i].below)
        i++;
    return i;
}

char *lw_reading_words(const struct lw_meter_reading *reading, char buf[LW_READING_TEXT])
{
    static const char *const wires[LW_N_MEASUREMENTS] = { "", "H ", "L " };
    if (isinf(reading->value))
        snprintf(buf, LW_READING_TEXT, "open circuit");
    else
        snprintf(buf, LW_READING_TEXT, "%s%.4g %s", wires[reading->kind], reading->value, lw_measurements[reading->kind].unit);
    return buf;
}
