/* SPDX-License-Identifier: MIT
 *
 * A grid with guard cells around its memory, so that a view that draws outside is caught with and without a sanitizer;
 * and the words on it, for tests that look for some.
 */
#ifndef LOOMWATCH_TEST_DRAWING_H
#define LOOMWATCH_TEST_DRAWING_H

#include "cases.h"
#include "loomwatch/ui/grid.h"

#include <stdlib.h>
#include <string.h>

enum { GUARD_CELLS = 400, GUARD_GLYPH = 0xDEAD, DRAWING_MAX_W = 300, DRAWING_MAX_H = 100,
    DRAWING_TEXT = 4 * DRAWING_MAX_W * DRAWING_MAX_H };

struct drawing {
    struct lw_grid grid;          /* cells point into memory */
    struct lw_cell *memory;
    size_t n_cells;
    char text[DRAWING_TEXT];
};

static inline struct drawing *drawing_create(void)
{
    struct drawing *drawing = calloc(1, sizeof(*drawing));
    if (!drawing)
        abort();
    drawing->memory = calloc(DRAWING_MAX_W * DRAWING_MAX_H + 2 * GUARD_CELLS, sizeof(drawing->memory[0]));
    if (!drawing->memory)
        abort();
    return drawing;
}

static inline void drawing_destroy(struct drawing *drawing)
{
    free(drawing->memory);
    free(drawing);
}

/* Sets the size; the cells hold garbage that a view has to overwrite. */
static inline struct lw_grid *drawing_begin(struct drawing *drawing, int w, int h)
{
    drawing->n_cells = (size_t)w * (size_t)h;
    drawing->grid.w = w;
    drawing->grid.h = h;
    drawing->grid.cells = drawing->memory + GUARD_CELLS;
    for (size_t i = 0; i < drawing->n_cells + 2 * GUARD_CELLS; i++)
        drawing->memory[i] = (struct lw_cell){ GUARD_GLYPH, LW_N_ROLES };
    return &drawing->grid;
}

static inline bool drawing_is_guarded(const struct drawing *drawing)
{
    for (size_t i = 0; i < GUARD_CELLS; i++)
        if (drawing->memory[i].glyph != GUARD_GLYPH
            || drawing->memory[GUARD_CELLS + drawing->n_cells + i].glyph != GUARD_GLYPH)
            return false;
    return true;
}

static inline const char *drawing_text(struct drawing *drawing)
{
    size_t n = lw_grid_to_text(&drawing->grid, false, drawing->text, sizeof(drawing->text));
    assert_true(n < sizeof(drawing->text));
    return drawing->text;
}

static inline bool drawing_has(struct drawing *drawing, const char *words)
{
    return strstr(drawing_text(drawing), words) != NULL;
}

#endif
