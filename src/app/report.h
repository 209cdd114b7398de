/* SPDX-License-Identifier: MIT
 *
 * Reports: a snapshot, a comparison or a story, as text or JSON.
 */
#ifndef LOOMWATCH_APP_REPORT_H
#define LOOMWATCH_APP_REPORT_H

#include "story.h"

#include "loomwatch/core/compare.h"
#include "loomwatch/core/snapshot.h"

#include <stdio.h>

void lw_report_text(const struct lw_snapshot *snapshot, FILE *file);

/* The same content as JSON; unknown values are null. */
void lw_report_json(const struct lw_snapshot *snapshot, FILE *file);

/* A story, for people and for programs: an array of objects with at-s, bus, kind and words. */
void lw_report_story(const struct lw_story_line *lines, size_t n_lines, const struct lw_snapshot *snapshot, FILE *file);
void lw_report_story_json(const struct lw_story_line *lines, size_t n_lines, const struct lw_snapshot *snapshot, FILE *file);

void lw_report_comparison(const struct lw_baseline *expected, const struct lw_baseline *observed,
                          const struct lw_comparison *comparison, FILE *file);

/* The conditions of a message as words, separated by commas: "absent", "other period, other length". */
enum { LW_CONDITIONS_TEXT = 96 };
char *lw_conditions_text(uint8_t conditions, char buf[LW_CONDITIONS_TEXT]);

#endif
