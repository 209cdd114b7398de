/* SPDX-License-Identifier: MIT
 *
 * Cells, clipped text, and screens as text.
 */
#include "loomwatch/ui/grid.h"

#include "loomwatch/ui/glyphs.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void lw_grid_init(struct lw_grid *grid)
{
    memset(grid, 0, sizeof(*grid));
}

void lw_grid_finish(struct lw_grid *grid)
{
    free(grid->cells);
    lw_grid_init(grid);
}

int lw_grid_resize(struct lw_grid *grid, int w, int h)
{
    size_t n = w > 0 && h > 0 ? (size_t)w * (size_t)h : 0;
    struct lw_cell *cells = realloc(grid->cells, n > 0 ? n * sizeof(cells[0]) : 1);
    if (!cells) {
        grid->w = grid->h = 0;
        return -ENOMEM;
    }
    grid->cells = cells;
    grid->w = n > 0 ? w : 0;
    grid->h = n > 0 ? h : 0;
    lw_grid_clear(grid);
    return 0;
}

void lw_grid_clear(struct lw_grid *grid)
{
    lw_grid_fill(grid, lw_grid_rect(grid), ' ', LW_ROLE_NORMAL);
}

struct lw_rect lw_grid_rect(const struct lw_grid *grid)
{
    return (struct lw_rect){ 0, 0, grid->w, grid->h };
}

static bool is_inside(const struct lw_grid *grid, struct lw_rect rect, int x, int y)
{
    return x >= 0 && y >= 0 && x < rect.w && y < rect.h && rect.x + x >= 0 && rect.y + y >= 0
        && rect.x + x < grid->w && rect.y + y < grid->h;
}

static void set_cell(struct lw_grid *grid, struct lw_rect rect, int x, int y, uint32_t glyph, enum lw_role role)
{
    if (!is_inside(grid, rect, x, y))
        return;
    struct lw_cell *cell = &grid->cells[(size_t)(rect.y + y) * (size_t)grid->w + (size_t)(rect.x + x)];
    if (glyph != 0)
        cell->glyph = grid->is_ascii ? (uint32_t)lw_glyph_ascii(glyph) : glyph;
    cell->role = (uint8_t)role;
}

/* What is sure to take one column on every terminal: letters of the alphabets that are written so, punctuation, and the
 * signs that views draw. Held against the C library's table by a test. */
static bool is_one_column(uint32_t c)
{
    static const uint32_t one[][2] = {
        { 0x20, 0x7E }, { 0xA0, 0xAC }, { 0xAE, 0x2FF }, { 0x370, 0x377 }, { 0x37A, 0x37F }, { 0x384, 0x38A },
        { 0x38C, 0x38C }, { 0x38E, 0x3A1 }, { 0x3A3, 0x482 }, { 0x48A, 0x52F }, { 0x531, 0x556 }, { 0x561, 0x587 },
        { 0x10D0, 0x10FC }, { 0x1E00, 0x1EFF }, { 0x2010, 0x2027 }, { 0x2030, 0x205E }, { 0x2070, 0x2071 },
        { 0x2074, 0x208E }, { 0x20A0, 0x20BF }, { 0x2100, 0x2138 }, { 0x2150, 0x218B }, { 0x2190, 0x2319 },
        { 0x2500, 0x25FC }, { 0x25FF, 0x25FF }, { 0x2800, 0x28FF },
    };
    for (size_t i = 0; i < sizeof(one) / sizeof(one[0]); i++)
        if (c >= one[i][0] && c <= one[i][1])
            return true;
    return false;
}

/* Reads one character of UTF-8 and moves on by at least a byte; '?' for what cannot be shown in one column. */
static uint32_t next_glyph(const char **text)
{
    static const uint32_t least[] = { 0, 0x80, 0x800, 0x10000 };   /* below: written longer than it needs to be */
    const unsigned char *s = (const unsigned char *)*text;
    size_t n = s[0] < 0x80 ? 0 : s[0] >= 0xF0 ? 3 : s[0] >= 0xE0 ? 2 : s[0] >= 0xC2 ? 1 : 4;
    uint32_t c = n == 0 ? s[0] : n < 4 ? s[0] & (0x3Fu >> n) : 0;
    for (size_t i = 1; i <= n; i++) {
        if (n == 4 || (s[i] & 0xC0) != 0x80) {
            *text += i;   /* broken: what was read so far is one '?' */
            return '?';
        }
        c = c << 6 | (s[i] & 0x3F);
    }
    *text += n + 1;
    return c >= least[n] && is_one_column(c) ? c : '?';
}

int lw_grid_put(struct lw_grid *grid, struct lw_rect rect, int x, int y, enum lw_role role, const char *text)
{
    while (*text != '\0')
        set_cell(grid, rect, x++, y, next_glyph(&text), role);
    return x;
}

int lw_grid_print(struct lw_grid *grid, struct lw_rect rect, int x, int y, enum lw_role role, const char *format, ...)
{
    char text[512];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof(text), format, args);
    va_end(args);
    return lw_grid_put(grid, rect, x, y, role, text);
}

int lw_text_columns(const char *text)
{
    int n = 0;
    for (; *text != '\0'; n++)
        next_glyph(&text);
    return n;
}

int lw_grid_put_right(struct lw_grid *grid, struct lw_rect rect, int y, enum lw_role role, const char *text)
{
    int x = rect.w - lw_text_columns(text);
    lw_grid_put(grid, rect, x > 0 ? x : 0, y, role, text);
    return x > 0 ? x : 0;
}

int lw_grid_put_wrapped(struct lw_grid *grid, struct lw_rect rect, enum lw_role role, const char *text)
{
    int x = 0, y = 0;
    while (*text != '\0' && rect.w > 0) {
        size_t n = strcspn(text, " ");
        char word[64];
        snprintf(word, sizeof(word), "%.*s", (int)(n < sizeof(word) - 1 ? n : sizeof(word) - 1), text);
        if (x > 0 && x + lw_text_columns(word) > rect.w) {
            x = 0;
            y++;
        }
        if (y >= rect.h)
            return rect.h;
        x = lw_grid_put(grid, rect, x, y, role, word) + 1;
        text += n + strspn(text + n, " ");
    }
    return x > 0 ? y + 1 : y;
}

void lw_grid_fill(struct lw_grid *grid, struct lw_rect rect, uint32_t glyph, enum lw_role role)
{
    for (int y = 0; y < rect.h; y++)
        for (int x = 0; x < rect.w; x++)
            set_cell(grid, rect, x, y, glyph, role);
}

void lw_grid_put_rule(struct lw_grid *grid, struct lw_rect row, const char *caption)
{
    lw_grid_fill(grid, row, LW_GLYPH_RULE, LW_ROLE_DIM);
    int x = lw_grid_put(grid, row, 2, 0, LW_ROLE_DIM, " ");
    x = lw_grid_put(grid, row, x, 0, LW_ROLE_TITLE, caption);
    lw_grid_put(grid, row, x, 0, LW_ROLE_DIM, " ");
}

static size_t to_utf8(uint32_t c, char out[4])
{
    if (c < 0x80) {
        out[0] = (char)c;
        return 1;
    }
    if (c < 0x800) {
        out[0] = (char)(0xC0 | c >> 6);
        out[1] = (char)(0x80 | (c & 0x3F));
        return 2;
    }
    out[0] = (char)(0xE0 | c >> 12);
    out[1] = (char)(0x80 | (c >> 6 & 0x3F));
    out[2] = (char)(0x80 | (c & 0x3F));
    return 3;
}

static bool is_blank(const struct lw_cell *cell, bool roles)
{
    return roles ? cell->role == LW_ROLE_NORMAL : cell->glyph == ' ';
}

size_t lw_grid_to_text(const struct lw_grid *grid, bool roles, char *buf, size_t size)
{
    size_t n = 0;
    for (int y = 0; y < grid->h; y++) {
        const struct lw_cell *row = &grid->cells[(size_t)y * (size_t)grid->w];
        int end = grid->w;
        while (end > 0 && is_blank(&row[end - 1], roles))
            end--;
        for (int x = 0; x <= end; x++) {
            char utf8[4] = { '\n' };
            size_t k = 1;
            if (x < end && roles)
                utf8[0] = lw_role_letter((enum lw_role)row[x].role);
            else if (x < end)
                k = to_utf8(row[x].glyph, utf8);
            for (size_t i = 0; i < k; i++, n++)
                if (n + 1 < size)
                    buf[n] = utf8[i];
        }
    }
    if (size > 0)
        buf[n < size ? n : size - 1] = '\0';
    return n;
}
