/* SPDX-License-Identifier: MIT
 *
 * Runs a calculator from a line of words, as the command line does.
 */
#ifndef LOOMWATCH_TEST_CALC_BENCH_H
#define LOOMWATCH_TEST_CALC_BENCH_H

#include "cases.h"

#include "loomwatch/calc/calculator.h"

#include <stdio.h>
#include <string.h>

static struct lw_calc_input calc_input;
static struct lw_worksheet calc_sheet;
static char calc_error[LW_CALC_ERROR];

/* Words are parted by blanks. Returns 0, or -EINVAL with calc_error set: bad words, or a refusal of the calculator. */
static inline int calc(const struct lw_calculator *calculator, const char *line)
{
    char words[512], *rest = words;
    int rc = 0;
    snprintf(words, sizeof(words), "%s", line);
    lw_calc_input_init(&calc_input, calculator);
    for (char *word = strtok_r(words, " ", &rest); word && rc == 0; word = strtok_r(NULL, " ", &rest))
        rc = lw_calc_input_word(&calc_input, word, calc_error);
    if (rc == 0)
        rc = lw_calc_input_finish(&calc_input, calc_error);
    if (rc != 0)
        return rc;
    lw_calc_run(&calc_input, &calc_sheet);
    snprintf(calc_error, sizeof(calc_error), "%.*s", (int)sizeof(calc_error) - 1, calc_sheet.refusal);
    return calc_sheet.refusal[0] == '\0' ? 0 : -1;
}

static inline enum lw_finding calc_finding(const struct lw_calculator *calculator, const char *line)
{
    if (calc(calculator, line) != 0)
        fail_msg("%s: %s", line, calc_error);
    return lw_sheet_finding(&calc_sheet);
}

/* Whether one of the answers holds these words. */
static inline bool calc_says(const char *words)
{
    for (unsigned i = 0; i < calc_sheet.n_answers; i++)
        if (strstr(calc_sheet.answers[i].text, words))
            return true;
    return false;
}

static inline void calc_must_say(const char *line, const char *words)
{
    if (!calc_says(words))
        fail_msg("%s: does not say \"%s\", but: %s / %s", line, words, calc_sheet.answers[0].text, calc_sheet.answers[1].text);
}

#endif
