/* SPDX-License-Identifier: MIT
 *
 * The one file that knows curses. Called by the dashboard's loop only; lw_terminal_restore_in_signal also by crash
 * handlers, and so it touches nothing but bytes prepared beforehand.
 */
#include "loomwatch/ui/terminal.h"

#include "loomwatch/ui/keys.h"

#define NCURSES_WIDECHAR 1
#include <curses.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <term.h>
#include <termios.h>
#include <unistd.h>

enum { ESCAPE_DELAY_MS = 50, RESTORE_MAX = 256, MAX_COLUMNS = 1024 };

static struct {
    bool is_open, has_colours;
    SCREEN *screen;
    struct termios before;
    char restore[RESTORE_MAX];
    size_t n_restore;
    int real_stderr, caught_stderr;
    struct lw_grid painted;
    uint8_t attributes[LW_N_ROLES];   /* of the theme in use */
} terminal = { .real_stderr = -1, .caught_stderr = -1 };

static bool has_capability(const char *name)
{
    const char *bytes = tigetstr(name);
    return bytes && bytes != (char *)-1;
}

static void prepare_restore(void)
{
    static const char *const capabilities[] = { "sgr0", "rmkx", "cnorm", "rmcup" };
    terminal.n_restore = 0;
    for (size_t i = 0; i < sizeof(capabilities) / sizeof(capabilities[0]); i++) {
        const char *bytes = has_capability(capabilities[i]) ? tigetstr(capabilities[i]) : "";
        size_t n = strlen(bytes);
        if (n > 0 && terminal.n_restore + n < RESTORE_MAX) {
            memcpy(terminal.restore + terminal.n_restore, bytes, n);
            terminal.n_restore += n;
        }
    }
}

/* Libraries print to stderr; on a curses screen that would be litter, and lost. */
static void catch_stderr(void)
{
    fflush(stderr);
    terminal.caught_stderr = memfd_create("stderr", MFD_CLOEXEC);
    terminal.real_stderr = fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, 3);
    if (terminal.caught_stderr >= 0 && terminal.real_stderr >= 0)
        dup2(terminal.caught_stderr, STDERR_FILENO);
}

static void release_stderr(void)
{
    char buf[512];
    ssize_t n;
    if (terminal.real_stderr < 0)
        return;
    fflush(stderr);
    dup2(terminal.real_stderr, STDERR_FILENO);
    close(terminal.real_stderr);
    terminal.real_stderr = -1;
    if (terminal.caught_stderr < 0)
        return;
    if (lseek(terminal.caught_stderr, 0, SEEK_SET) == 0)
        while ((n = read(terminal.caught_stderr, buf, sizeof(buf))) > 0)
            if (write(STDERR_FILENO, buf, (size_t)n) < 0)
                break;
    close(terminal.caught_stderr);
    terminal.caught_stderr = -1;
}

static void set_up_screen(void)
{
    cbreak();
    noecho();
    nonl();
    keypad(stdscr, TRUE);
    nodelay(stdscr, TRUE);
    set_escdelay(ESCAPE_DELAY_MS);
    curs_set(0);
    terminal.has_colours = has_colors() && start_color() == OK && use_default_colors() == OK;
}

int lw_terminal_open(enum lw_theme_index theme)
{
    if (!isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO))
        return -ENOTTY;
    tcgetattr(STDIN_FILENO, &terminal.before);
    terminal.screen = newterm(NULL, stdout, stdin);
    if (!terminal.screen)
        return -EIO;
    if (!has_capability("cup")) {
        endwin();
        delscreen(terminal.screen);
        return -EIO;
    }
    terminal.is_open = true;
    set_up_screen();
    prepare_restore();
    catch_stderr();
    lw_terminal_set_theme(theme);
    refresh();
    return 0;
}

void lw_terminal_close(void)
{
    if (!terminal.is_open)
        return;
    terminal.is_open = false;
    terminal.n_restore = 0;
    endwin();
    delscreen(terminal.screen);
    lw_grid_finish(&terminal.painted);
    release_stderr();
}

void lw_terminal_suspend(void)
{
    if (terminal.is_open)
        endwin();
}

void lw_terminal_resume(void)
{
    if (!terminal.is_open)
        return;
    lw_grid_finish(&terminal.painted);
    clearok(stdscr, TRUE);
    refresh();
}

void lw_terminal_restore_in_signal(void)
{
    if (terminal.n_restore == 0)
        return;
    ssize_t ignored = write(STDOUT_FILENO, terminal.restore, terminal.n_restore);
    (void)ignored;
    tcsetattr(STDIN_FILENO, TCSANOW, &terminal.before);
    if (terminal.real_stderr >= 0)
        dup2(terminal.real_stderr, STDERR_FILENO);
}

void lw_terminal_set_theme(enum lw_theme_index theme)
{
    if (!terminal.has_colours) {
        theme = LW_THEME_MONOCHROME;
    } else {
        for (int role = 0; role < LW_N_ROLES; role++) {
            const struct lw_style *style = &lw_themes[theme].styles[role];
            bool has_many = COLORS >= 256;
            init_pair((short)(role + 1), has_many ? style->foreground : style->few_foreground,
                      has_many ? style->background : style->few_background);
        }
    }
    terminal.painted.w = -1;   /* every cell may look different now */
    for (int role = 0; role < LW_N_ROLES; role++)
        terminal.attributes[role] = lw_themes[theme].styles[role].attributes;
}

void lw_terminal_size(int *w, int *h)
{
    struct winsize size;
    if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0 && size.ws_row > 0) {
        *w = size.ws_col;
        *h = size.ws_row;
    } else {
        *w = COLS;
        *h = LINES;
    }
}

static attr_t to_attributes(uint8_t style)
{
    return (style & LW_BOLD ? A_BOLD : 0) | (style & LW_FAINT ? A_DIM : 0) | (style & LW_REVERSE ? A_REVERSE : 0)
        | (style & LW_UNDERLINE ? A_UNDERLINE : 0);
}

static void paint_row(const struct lw_grid *grid, int y)
{
    cchar_t row[MAX_COLUMNS];
    int w = grid->w < MAX_COLUMNS ? grid->w : MAX_COLUMNS;
    for (int x = 0; x < w; x++) {
        const struct lw_cell *cell = &grid->cells[(size_t)y * (size_t)grid->w + (size_t)x];
        wchar_t text[2] = { (wchar_t)cell->glyph, L'\0' };
        short pair = terminal.has_colours ? (short)(cell->role + 1) : 0;
        setcchar(&row[x], text, to_attributes(terminal.attributes[cell->role]), pair, NULL);
    }
    mvadd_wchnstr(y, 0, row, w);
}

static bool is_same(const struct lw_grid *a, const struct lw_grid *b)
{
    if (a->w != b->w || a->h != b->h)
        return false;
    for (size_t i = 0; i < (size_t)a->w * (size_t)a->h; i++)
        if (a->cells[i].glyph != b->cells[i].glyph || a->cells[i].role != b->cells[i].role)
            return false;
    return true;
}

bool lw_terminal_paint(const struct lw_grid *grid)
{
    if (is_same(grid, &terminal.painted))
        return false;
    if (grid->w != COLS || grid->h != LINES) {
        resizeterm(grid->h, grid->w);
        clearok(stdscr, TRUE);
    }
    for (int y = 0; y < grid->h; y++)
        paint_row(grid, y);
    refresh();
    if (lw_grid_resize(&terminal.painted, grid->w, grid->h) == 0)
        memcpy(terminal.painted.cells, grid->cells, (size_t)grid->w * (size_t)grid->h * sizeof(grid->cells[0]));
    return true;
}

int lw_terminal_key(void)
{
    static const struct { int curses, ours; } map[] = {
        { KEY_UP, LW_KEY_UP }, { KEY_DOWN, LW_KEY_DOWN }, { KEY_LEFT, LW_KEY_LEFT }, { KEY_RIGHT, LW_KEY_RIGHT },
        { KEY_HOME, LW_KEY_HOME }, { KEY_END, LW_KEY_END }, { KEY_ENTER, LW_KEY_ENTER }, { '\r', LW_KEY_ENTER },
        { '\n', LW_KEY_ENTER }, { 27, LW_KEY_ESCAPE }, { KEY_BACKSPACE, LW_KEY_BACKSPACE }, { 127, LW_KEY_BACKSPACE },
        { 8, LW_KEY_BACKSPACE },
    };
    int key;
    while ((key = getch()) != ERR) {
        for (size_t i = 0; i < sizeof(map) / sizeof(map[0]); i++)
            if (map[i].curses == key)
                return map[i].ours;
        if (key >= ' ' && key < 0x7F)
            return key;
    }
    return LW_KEY_NONE;
}

void lw_terminal_bell(void)
{
    beep();
}
