/* SPDX-License-Identifier: MIT
 *
 * From words to the input of a calculator, by its table of fields.
 */
#include "loomwatch/calc/calculator.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void lw_calc_input_init(struct lw_calc_input *input, const struct lw_calculator *calculator)
{
    memset(input, 0, sizeof(*input));
    input->calculator = calculator;
}

__attribute__((format(printf, 3, 4)))
static int refuse(const struct lw_calc_input *input, char error[LW_CALC_ERROR], const char *format, ...)
{
    va_list args;
    size_t n = (size_t)snprintf(error, LW_CALC_ERROR, "%s: ", input->calculator->name);
    va_start(args, format);
    vsnprintf(error + n, LW_CALC_ERROR - n, format, args);
    va_end(args);
    return -EINVAL;
}

static int put_one(struct lw_calc_input *input, unsigned index, const char *text, char error[LW_CALC_ERROR])
{
    const struct lw_calc_field *field = &input->calculator->fields[index];
    struct lw_calc_slot *slot = &input->slots[index];
    char why[LW_CALC_ERROR];
    if (slot->n > 0 && !field->may_repeat)
        return refuse(input, error, "%s: stands twice; write it once", field->name);
    if (slot->n == LW_CALC_REPEATS)
        return refuse(input, error, "%s: at most %d values", field->name, LW_CALC_REPEATS);
    if (lw_calc_field_read(field, text, &slot->values[slot->n], why) != 0)
        return refuse(input, error, "%s: %s", field->name, why);
    slot->n++;
    return 0;
}

int lw_calc_input_put(struct lw_calc_input *input, unsigned field, const char *text, char error[LW_CALC_ERROR])
{
    char list[LW_CALC_REPEATS * LW_CALC_TEXT / 4], *rest = list;
    const struct lw_calc_field *info = &input->calculator->fields[field];
    int rc = 0;
    input->slots[field].is_given = true;
    if (!info->may_repeat || info->kind == LW_FIELD_FILE)
        return put_one(input, field, text, error);
    if (strlen(text) >= sizeof(list))
        return refuse(input, error, "%s: too long", info->name);
    snprintf(list, sizeof(list), "%s", text);
    if (list[strspn(list, "+ ")] == '\0')
        return put_one(input, field, "", error);
    for (char *item = strtok_r(list, "+ ", &rest); item && rc == 0; item = strtok_r(NULL, "+ ", &rest))
        rc = put_one(input, field, item, error);
    return rc;
}

/* How many letters must be put in, taken out or exchanged to make b of a. */
static unsigned distance(const char *a, const char *b)
{
    unsigned row[32], n = (unsigned)strlen(b) < 31 ? (unsigned)strlen(b) : 31;
    for (unsigned j = 0; j <= n; j++)
        row[j] = j;
    for (unsigned i = 1; a[i - 1] != '\0'; i++) {
        unsigned diagonal = row[0];
        row[0] = i;
        for (unsigned j = 1; j <= n; j++) {
            unsigned change = diagonal + (a[i - 1] != b[j - 1]), put = row[j - 1] + 1, take = row[j] + 1;
            diagonal = row[j];
            row[j] = change < put ? (change < take ? change : take) : (put < take ? put : take);
        }
    }
    return row[n];
}

/* The near ones, else all. */
static int unknown_field(const struct lw_calc_input *input, const char *name, char error[LW_CALC_ERROR])
{
    char names[LW_CALC_ERROR / 2];
    size_t n = 0;
    for (int all = 0; all < 2 && n == 0; all++)
        for (unsigned i = 0; i < input->calculator->n_fields && n < sizeof(names); i++) {
            const char *field = input->calculator->fields[i].name;
            if (all || distance(name, field) <= 2 || (strlen(name) > 1 && strstr(field, name)))
                n += (size_t)snprintf(names + n, sizeof(names) - n, "%s%s", n > 0 ? ", " : "", field);
        }
    return refuse(input, error, "no field \"%.32s\"; write one of: %s", name, names);
}

static int put_positional(struct lw_calc_input *input, const char *word, char error[LW_CALC_ERROR])
{
    const struct lw_calculator *calculator = input->calculator;
    for (unsigned i = 0; i < calculator->n_fields; i++)
        if (calculator->fields[i].is_positional && (input->slots[i].n == 0 || calculator->fields[i].may_repeat))
            return lw_calc_input_put(input, i, word, error);
    return refuse(input, error, "\"%.32s\": which field is that? Write for instance: %s", word, calculator->example);
}

int lw_calc_input_word(struct lw_calc_input *input, const char *word, char error[LW_CALC_ERROR])
{
    const char *equals = strchr(word, '=');
    char name[32];
    if (!equals)
        return put_positional(input, word, error);
    snprintf(name, sizeof(name), "%.*s", (int)(equals - word), word);
    for (unsigned i = 0; i < input->calculator->n_fields; i++)
        if (strcmp(input->calculator->fields[i].name, name) == 0)
            return lw_calc_input_put(input, i, equals + 1, error);
    return unknown_field(input, name, error);
}

int lw_calc_input_finish(struct lw_calc_input *input, char error[LW_CALC_ERROR])
{
    for (unsigned i = 0; i < input->calculator->n_fields; i++) {
        const struct lw_calc_field *field = &input->calculator->fields[i];
        if (input->slots[i].n > 0)
            continue;
        if (field->is_required)
            return refuse(input, error, "%s is missing: %s. Write for instance %s%s%s", field->name, field->words,
                          field->is_positional ? "" : field->name, field->is_positional ? "" : "=", field->example);
        if (field->preset && lw_calc_input_put(input, i, field->preset, error) != 0)
            return -EINVAL;
        input->slots[i].is_given = false;
    }
    return 0;
}

bool lw_calc_has(const struct lw_calc_input *input, unsigned field)
{
    return input->slots[field].n > 0;
}

double lw_calc_number_at(const struct lw_calc_input *input, unsigned field, unsigned n)
{
    return n < input->slots[field].n ? input->slots[field].values[n].number : NAN;
}

double lw_calc_number(const struct lw_calc_input *input, unsigned field)
{
    return lw_calc_number_at(input, field, 0);
}

unsigned lw_calc_count(const struct lw_calc_input *input, unsigned field)
{
    return input->slots[field].n;
}

unsigned lw_calc_choice(const struct lw_calc_input *input, unsigned field)
{
    return input->slots[field].values[0].choice;
}
