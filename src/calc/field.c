/* SPDX-License-Identifier: MIT
 *
 * One value as a person types it, by the field that takes it, and why it will not do.
 */
#include "loomwatch/calc/calculator.h"
#include "loomwatch/core/unit.h"
#include "wire_gauge.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

__attribute__((format(printf, 2, 3)))
static int refuse(char error[LW_CALC_ERROR], const char *format, ...)
{
    va_list args;
    va_start(args, format);
    vsnprintf(error, LW_CALC_ERROR, format, args);
    va_end(args);
    return -EINVAL;
}

static const char *blanks_skipped(const char *text)
{
    return text + strspn(text, " ");
}

static const char *unit_of(const struct lw_calc_field *field)
{
    return field->unit ? field->unit : "";
}

static int check_range(const struct lw_calc_field *field, const char *text, double number, char error[LW_CALC_ERROR])
{
    char limits[160];
    if (number >= field->min && number <= field->max)
        return 0;
    lw_calc_field_limits(field, limits, sizeof(limits));
    if (number < 0 && field->min >= 0)
        return refuse(error, "\"%s\" is negative; write %s", text, limits);
    return refuse(error, "\"%s\" is too %s; write %s", text, number < field->min ? "small" : "large", limits);
}

/* Hexadecimal, "inf" and "nan" are numbers to strtod, but not to people. */
static bool read_decimal(const char *text, double *number, const char **end)
{
    const char *digits = text + (*text == '-' || *text == '+');
    char *stop;
    if (strspn(digits, "0123456789.") == 0 || strncasecmp(digits, "0x", 2) == 0)
        return false;
    *number = strtod(text, &stop);
    *end = blanks_skipped(stop);
    return isfinite(*number);
}

static int wrong_unit(const struct lw_calc_field *field, const char *text, const char *unit, char error[LW_CALC_ERROR])
{
    const char *measures = lw_unit_measures(unit), *wanted = lw_unit_measures(unit_of(field));
    if (!wanted)
        return refuse(error, "\"%s\": this field takes a plain number, for instance %s=%s", text, field->name, field->example);
    if (!measures)
        return refuse(error, "\"%s\": \"%s\" is no unit; this field takes %s, for instance %s=%s", text, unit, wanted,
                      field->name, field->example);
    return refuse(error, "\"%s\" is %s; this field takes %s, for instance %s=%s", text, measures, wanted, field->name,
                  field->example);
}

static int read_number(const struct lw_calc_field *field, const char *text, struct lw_calc_value *value,
                       char error[LW_CALC_ERROR])
{
    const char *end;
    double factor = 1;
    if (field->may_be_open && (strcasecmp(text, "OL") == 0 || strcasecmp(text, "O.L") == 0 || strcasecmp(text, "open") == 0)) {
        value->number = INFINITY;
        return 0;
    }
    if (!read_decimal(text, &value->number, &end))
        return refuse(error, "\"%s\" is no number; write for instance %s=%s", text, field->name, field->example);
    if (*end == ',')
        return refuse(error, "\"%s\": write a point for the decimals, %s=%.*s.%s", text, field->name, (int)(end - text), text,
                      end + 1);
    if (*end != '\0' && !lw_unit_factor(end, unit_of(field), &factor))
        return wrong_unit(field, text, end, error);
    value->number *= factor;
    return check_range(field, text, value->number, error);
}

static int read_count(const struct lw_calc_field *field, const char *text, struct lw_calc_value *value,
                      char error[LW_CALC_ERROR])
{
    if (read_number(field, text, value, error) != 0)
        return -EINVAL;
    if (value->number != floor(value->number))
        return refuse(error, "\"%s\" is no whole number; write for instance %s=%s", text, field->name, field->example);
    return 0;
}

/* "0.5", "0.5mm2", "20awg", "AWG 20". */
static int read_gauge(const struct lw_calc_field *field, const char *text, struct lw_calc_value *value,
                      char error[LW_CALC_ERROR])
{
    const char *digits = strncasecmp(text, "awg", 3) == 0 ? blanks_skipped(text + 3) : text, *end;
    bool is_awg = digits != text;
    double number;
    if (read_decimal(digits, &number, &end) && (is_awg ? *end == '\0' : strcasecmp(end, "awg") == 0)) {
        value->number = lw_awg_mm2(number);
        return check_range(field, text, value->number, error);
    }
    if (is_awg)
        return refuse(error, "\"%s\": write a gauge such as AWG20, or a cross-section such as 0.5mm2", text);
    return read_number(field, text, value, error);
}

static int read_choice(const struct lw_calc_field *field, const char *text, struct lw_calc_value *value,
                       char error[LW_CALC_ERROR])
{
    char limits[160];
    for (unsigned i = 0; field->choices[i]; i++)
        if (strcasecmp(field->choices[i], text) == 0) {
            value->choice = i;
            value->number = i;
            return 0;
        }
    return refuse(error, "\"%s\" will not do; write %s", text, lw_calc_field_limits(field, limits, sizeof(limits)));
}

int lw_calc_field_read(const struct lw_calc_field *field, const char *text, struct lw_calc_value *value,
                       char error[LW_CALC_ERROR])
{
    memset(value, 0, sizeof(*value));
    text = blanks_skipped(text);
    if (*text == '\0')
        return refuse(error, "no value; write for instance %s=%s", field->name, field->example);
    if (strlen(text) >= sizeof(value->text))
        return refuse(error, "\"%.24s...\" is too long: at most %zu characters", text, sizeof(value->text) - 1);
    snprintf(value->text, sizeof(value->text), "%s", text);
    switch (field->kind) {
    case LW_FIELD_COUNT: return read_count(field, text, value, error);
    case LW_FIELD_CHOICE: return read_choice(field, text, value, error);
    case LW_FIELD_GAUGE: return read_gauge(field, text, value, error);
    case LW_FIELD_FILE: return 0;
    default: return read_number(field, text, value, error);
    }
}

char *lw_calc_field_limits(const struct lw_calc_field *field, char *buf, size_t size)
{
    char range[LW_RANGE_TEXT];
    if (field->kind == LW_FIELD_FILE) {
        snprintf(buf, size, "%s", field->unit ? field->unit : "a file");
    } else if (field->kind == LW_FIELD_CHOICE) {
        size_t n = (size_t)snprintf(buf, size, "one of:");
        for (unsigned i = 0; field->choices[i] && n < size; i++)
            n += (size_t)snprintf(buf + n, size - n, "%s %s", i > 0 ? "," : "", field->choices[i]);
    } else {
        snprintf(buf, size, "%s%s%s", lw_range_text(field->min, field->max, unit_of(field), range),
                 field->kind == LW_FIELD_GAUGE ? ", or a gauge such as AWG20" : "",
                 field->may_be_open ? ", or OL" : "");
    }
    return buf;
}
