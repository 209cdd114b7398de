/* SPDX-License-Identifier: MIT
 *
 * The bench page: what can be done to the built-in bench.
 */
#include "loomwatch/ui/glyphs.h"
#include "loomwatch/ui/views.h"

void lw_view_bench(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    if (state->n_bench == 0) {
        lw_grid_put(grid, rect, 1, 0, LW_ROLE_NORMAL, "This source is a real bus or a recording: there is nothing to do to it here.");
        return;
    }
    int first = (int)state->bench_choice >= rect.h ? (int)state->bench_choice - rect.h + 1 : 0;
    for (int y = 0; y < rect.h && (size_t)(first + y) < state->n_bench; y++) {
        bool is_chosen = (size_t)(first + y) == state->bench_choice;
        struct lw_rect cell = { rect.x + 1, rect.y + y, rect.w > 1 ? 1 : 0, 1 };
        lw_grid_fill(grid, cell, is_chosen ? LW_GLYPH_CHOSEN : ' ', LW_ROLE_STRONG);
        lw_grid_put(grid, rect, 3, y, is_chosen ? LW_ROLE_CHOSEN : LW_ROLE_NORMAL, state->bench[first + y]);
    }
}
