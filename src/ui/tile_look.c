/* SPDX-License-Identifier: MIT
 *
 * How a message's condition shows: one glyph, one role, one word, and how urgent it is.
 */
#include "loomwatch/ui/tile_look.h"

#include "loomwatch/ui/glyphs.h"

#include <stddef.h>

struct lw_tile_look lw_tile_look(const struct lw_tile *tile)
{
    static const struct {
        uint8_t conditions;
        struct lw_tile_look look;
    } looks[] = {   /* worst first */
        { LW_ABSENT, { LW_GLYPH_ABSENT, LW_ROLE_TILE_DARK, 6, "absent" } },
        { LW_UNEXPECTED, { LW_GLYPH_UNEXPECTED, LW_ROLE_TILE_NEW, 5, "unexpected" } },
        { LW_SECOND_SENDER, { LW_GLYPH_DOUBLED, LW_ROLE_TILE_CHANGED, 4, "doubled" } },
        { LW_LENGTH_CHANGED, { LW_GLYPH_CHANGED, LW_ROLE_TILE_CHANGED, 3, "other length" } },
        { LW_PERIOD_CHANGED, { LW_GLYPH_CHANGED, LW_ROLE_TILE_CHANGED, 2, "other period" } },
        { LW_LATE, { LW_GLYPH_LATE, LW_ROLE_TILE_LATE, 1, "late" } },
    };
    for (size_t i = 0; i < sizeof(looks) / sizeof(looks[0]); i++)
        if (tile->conditions & looks[i].conditions)
            return looks[i].look;
    if (tile->is_stale)
        return (struct lw_tile_look){ LW_GLYPH_QUIET, LW_ROLE_TILE_QUIET, 0, "silent" };
    if (tile->is_quiet || !tile->is_heard)
        return (struct lw_tile_look){ LW_GLYPH_QUIET, LW_ROLE_TILE_QUIET, 0, "quiet" };
    if (tile->is_since_mark)
        return (struct lw_tile_look){ LW_GLYPH_UNEXPECTED, LW_ROLE_TILE_NEW, 0, "new" };
    if (lw_rhythm_has_period(tile->rhythm))
        return (struct lw_tile_look){ LW_GLYPH_ALIVE, LW_ROLE_TILE_ALIVE, 0, "alive" };
    return (struct lw_tile_look){ LW_GLYPH_EVENT, LW_ROLE_TILE_EVENT, 0, "event" };
}
