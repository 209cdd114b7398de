/* SPDX-License-Identifier: MIT
 *
 * What the files of the calculator `fit` share: fit.c its fields and questions, fit_answers.c the sentences, fit_tables.c
 * tables and bars, fit_working.c how the numbers come about and what was assumed.
 */
#ifndef LOOMWATCH_SRC_CALC_FIT_PARTS_H
#define LOOMWATCH_SRC_CALC_FIT_PARTS_H

#include "loomwatch/calc/fit.h"

struct lw_fit {
    const struct lw_fit_material *material;
    const struct lw_baseline_bus *bus;
    struct lw_traffic_question question;
    const struct lw_traffic *traffic;
    bool is_full_before;             /* in the worst case the bus is asked for more than all of it already */
    bool has_other_rate;             /* the module is set to another bit rate */
    bool is_fd_new;                  /* the module sends CAN FD, and nobody did so far */
};

enum { LW_FIT_NAME = 80 };

/* "3A0 hopper load". Returns buf. */
char *lw_fit_name(const struct lw_traffic_message *message, char buf[LW_FIT_NAME]);

/* A time with its unit, four digits; a dash for 0. Returns buf. */
char *lw_fit_time(uint64_t ns, char buf[LW_NUMBER_UNIT_TEXT]);

/* A response: its time, or "no bound". Returns buf. */
char *lw_fit_response(const struct lw_response *response, char buf[LW_NUMBER_UNIT_TEXT]);

enum lw_finding lw_fit_finding(const struct lw_fit *fit);
void lw_fit_answers(const struct lw_fit *fit, struct lw_worksheet *sheet);
void lw_fit_tables(const struct lw_fit *fit, struct lw_worksheet *sheet);
void lw_fit_working(const struct lw_fit *fit, struct lw_worksheet *sheet);

#endif
