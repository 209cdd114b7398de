/* SPDX-License-Identifier: MIT
 *
 * Holds a drawing against the files in tests/golden, or writes them where LW_UPDATE_GOLDEN is set.
 */
#ifndef LOOMWATCH_TEST_GOLDEN_H
#define LOOMWATCH_TEST_GOLDEN_H

#include "drawing.h"
#include "loomwatch/ui/views.h"

#include <errno.h>
#include <stdio.h>

static inline char *read_golden(const char *path)
{
    FILE *file = fopen(path, "r");
    if (!file)
        return NULL;
    char *text = calloc(1, DRAWING_TEXT);
    if (!text)
        abort();
    size_t n = fread(text, 1, DRAWING_TEXT - 1, file);
    text[n] = '\0';
    fclose(file);
    return text;
}

static inline void write_golden(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    if (!file || fputs(text, file) < 0 || fclose(file) != 0)
        fail_msg("%s: %s", path, strerror(errno));
}

static inline int line_length(const char *text)
{
    return (int)strcspn(text, "\n");
}

/* Says where two screens part. */
static inline void fail_at_first_difference(const char *path, const char *wanted, const char *drawn)
{
    int number = 1;
    while (*wanted != '\0' && line_length(wanted) == line_length(drawn)
           && strncmp(wanted, drawn, (size_t)line_length(wanted)) == 0) {
        wanted += line_length(wanted) + (wanted[line_length(wanted)] == '\n');
        drawn += line_length(drawn) + (drawn[line_length(drawn)] == '\n');
        number++;
    }
    fail_msg("%s, line %d:\n  golden |%.*s|\n  drawn  |%.*s|\n(scripts/update-golden renews it)", path, number,
             line_length(wanted), wanted, line_length(drawn), drawn);
}

static inline void golden_hold(const struct drawing *drawing, const char *name, const char *plane, const char *text)
{
    const char *folder = getenv("LW_GOLDEN");
    char path[512];
    if (!folder)
        fail_msg("LW_GOLDEN does not say where the golden screens are; run it through meson test");
    snprintf(path, sizeof(path), "%s/%s.%dx%d.%s.txt", folder, name, drawing->grid.w, drawing->grid.h, plane);
    if (getenv("LW_UPDATE_GOLDEN")) {
        write_golden(path, text);
        return;
    }
    char *wanted = read_golden(path);
    if (!wanted)
        fail_msg("%s: %s (scripts/update-golden writes it)", path, strerror(errno));
    if (strcmp(wanted, text) != 0)
        fail_at_first_difference(path, wanted, text);
    free(wanted);
}

/* The whole screen in the three sizes in which it has to be usable. */
static inline void golden_screens(struct drawing *drawing, const char *name, const struct lw_view_state *view,
                                  const struct lw_snapshot *snapshot)
{
    static const int sizes[][2] = { { 80, 24 }, { 132, 43 }, { 40, 12 } };
    for (size_t i = 0; i < N_ROWS(sizes); i++) {
        struct lw_view_state copy = *view;
        struct lw_grid *grid = drawing_begin(drawing, sizes[i][0], sizes[i][1]);
        grid->is_ascii = view->is_ascii;
        lw_view_screen(snapshot, &copy, grid);
        assert_true(drawing_is_guarded(drawing));
        lw_grid_to_text(grid, false, drawing->text, sizeof(drawing->text));
        golden_hold(drawing, name, "glyphs", drawing->text);
        lw_grid_to_text(grid, true, drawing->text, sizeof(drawing->text));
        golden_hold(drawing, name, "roles", drawing->text);
    }
}

#endif
