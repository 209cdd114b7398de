/* SPDX-License-Identifier: MIT
 *
 * What the verdict_*.c files share.
 */
#ifndef LOOMWATCH_SRC_CORE_VERDICT_PARTS_H
#define LOOMWATCH_SRC_CORE_VERDICT_PARTS_H

#include "loomwatch/core/verdict.h"

/* What happens, by the facts; where they tell of no trouble, by the meter. given: bit n: fact n is so with every cause of
 * this picture, and therefore says nothing about them. */
enum lw_picture lw_verdict_picture(const struct lw_fact_value *facts, const struct lw_readings *readings, uint64_t *given);

/* The newest reading of a measurement, or NULL. */
const struct lw_meter_reading *lw_verdict_reading(const struct lw_readings *readings, enum lw_measurement kind);

/* The check expected to tell most about which of the causes it is; bits: how much. -1: none tells anything. */
int lw_verdict_check(const double probabilities[LW_N_CAUSES], const struct lw_fact_value *facts, const struct lw_readings *readings,
                     double *bits);

/* Probability of each outcome of a check if the cause is there. */
double lw_verdict_outcome(enum lw_cause cause, enum lw_check check, unsigned outcome);

#endif
