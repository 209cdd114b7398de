/* SPDX-License-Identifier: MIT
 *
 * What happened, newest first.
 */
#include "loomwatch/core/text.h"
#include "loomwatch/ui/views.h"

static enum lw_role role_of(const struct lw_happening *happening)
{
    switch (happening->kind) {
    case LW_HAPPENED_ABSENT: case LW_HAPPENED_ERRORS: case LW_HAPPENED_NO_ACKNOWLEDGE: case LW_HAPPENED_LINK_DOWN:
    case LW_HAPPENED_LINK_GONE: case LW_HAPPENED_SILENT: case LW_HAPPENED_RECORD_FAILED: case LW_HAPPENED_TABLE_FULL:
        return LW_ROLE_ALARM;
    case LW_HAPPENED_STATE:
        return happening->value == LW_STATE_ERROR_ACTIVE ? LW_ROLE_GOOD : LW_ROLE_ALARM;
    case LW_HAPPENED_UNEXPECTED: case LW_HAPPENED_PERIOD: case LW_HAPPENED_LENGTH: case LW_HAPPENED_SECOND_SENDER:
    case LW_HAPPENED_LOSS: case LW_HAPPENED_QUIET:
        return LW_ROLE_CAUTION;
    case LW_HAPPENED_MARK: case LW_HAPPENED_BASELINE:
        return LW_ROLE_TITLE;
    default:
        return LW_ROLE_NORMAL;
    }
}

void lw_view_diary(const struct lw_snapshot *snapshot, size_t from, struct lw_rect rect, struct lw_grid *grid)
{
    for (int y = 0; y < rect.h && from + (size_t)y < snapshot->n_diary; y++) {
        const struct lw_happening *happening = &snapshot->diary[from + (size_t)y];
        char clock[LW_NUMBER_TEXT], words[LW_HAPPENING_TEXT];
        int x = lw_grid_print(grid, rect, 1, y, LW_ROLE_DIM, "%8s", lw_text_clock_tenths(happening->elapsed_ns, clock));
        if (snapshot->n_buses > 1)
            x = lw_grid_print(grid, rect, x + 2, y, LW_ROLE_DIM, "%-8.8s", snapshot->buses[happening->key.bus].name);
        lw_grid_put(grid, rect, x + 2, y, role_of(happening), lw_happening_words(happening, words));
    }
}
