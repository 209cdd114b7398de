/* SPDX-License-Identifier: MIT
 *
 * From collected numbers to facts; called by the collector only, once a tick.
 */
#ifndef LOOMWATCH_SRC_CORE_EVIDENCE_JUDGE_H
#define LOOMWATCH_SRC_CORE_EVIDENCE_JUDGE_H

#include "loomwatch/core/evidence.h"

void lw_evidence_judge(struct lw_evidence *evidence, const struct lw_surroundings *around, uint64_t t_ns);

#endif
