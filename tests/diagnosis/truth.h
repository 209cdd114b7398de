/* SPDX-License-Identifier: MIT
 *
 * What is true of a scenario: which causes may rightly be named for what was made wrong, and whether the physics of it leaves
 * one cause only.
 */
#ifndef LOOMWATCH_TEST_TRUTH_H
#define LOOMWATCH_TEST_TRUTH_H

#include "scenario.h"

struct truth {
    uint32_t causes;         /* bit n: enum lw_cause n is what was made wrong, in the words of the table */
    bool is_single;          /* what can be seen of it leaves one cause, and that should stand first */
};

struct truth truth_of(const struct scenario *scenario, const struct lw_plant *plant);

/* Whether a listener can see at all that something is wrong: errors, other traffic than before, or silence. healthy: the same run
 * with nothing wrong. */
bool truth_is_visible(const struct scenario_run *run, const struct scenario_run *healthy);

#endif
