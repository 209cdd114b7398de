/* SPDX-License-Identifier: MIT
 *
 * A story on paper: a line a moment, the time in front.
 */
#include "report.h"

#include "wrapped.h"

#include "loomwatch/core/text.h"

enum { WORDS_COLUMN = 12, WIDTH = 79 };

void lw_report_story(const struct lw_story_line *lines, size_t n_lines, const struct lw_snapshot *snapshot, FILE *file)
{
    for (size_t i = 0; i < n_lines; i++) {
        char clock[LW_NUMBER_TEXT], text[LW_STORY_TEXT + LW_BUS_NAME_MAX + 2];
        bool has_name = snapshot->n_buses > 1;
        snprintf(text, sizeof(text), "%s%s%s", has_name ? snapshot->buses[lines[i].bus].name : "", has_name ? ": " : "", lines[i].words);
        fprintf(file, "%*s  ", WORDS_COLUMN - 2, lw_text_clock_tenths(lines[i].at_ns, clock));
        lw_put_hanging(file, text, WORDS_COLUMN, WIDTH);
    }
}
