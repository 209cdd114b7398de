/* SPDX-License-Identifier: MIT
 *
 * The last frame as one unit saw it, or the last one with an error, as a timing plot: recessive high, dominant low, as on
 * an oscilloscope behind the transceiver. Beneath each bit its sample point, stuff bits and errors; beneath those the fields
 * of the frame. The plot goes on in the next band where it is too long for one.
 */
#include "view_bench_bits.h"

#include "loomwatch/bench/mac.h"
#include "loomwatch/core/text.h"
#include "loomwatch/ui/glyphs.h"
#include "view_bench_parts.h"

#include <stdio.h>
#include <string.h>

enum { LABELS = 10, PITCH = 2, ZOOMED = 8, BAND_ROWS = 4, HIGH = 0, LOW = 1, MARKS = 2, FIELDS = 3, TEXT_ROWS = 3,
    MINUTE_S = 60 };

static const struct { const char *name, *brief; } fields[LW_N_MAC_FIELDS] = {
    [LW_IN_IDLE] = { "idle", "-" }, [LW_IN_SOF] = { "start", "S" }, [LW_IN_ID] = { "identifier", "id" },
    [LW_IN_CONTROL] = { "control", "c" }, [LW_IN_DATA] = { "data", "d" }, [LW_IN_CRC] = { "CRC", "C" },
    [LW_IN_CRC_DELIMITER] = { "CRC delimiter", "|" }, [LW_IN_ACK] = { "acknowledge slot", "A" },
    [LW_IN_ACK_DELIMITER] = { "acknowledge delimiter", "|" }, [LW_IN_EOF] = { "end of frame", "end" },
    [LW_IN_INTERMISSION] = { "intermission", "pause" }, [LW_IN_SUSPEND] = { "suspend", "s" },
    [LW_IN_ERROR_FLAG] = { "error flag", "E" }, [LW_IN_ERROR_DELIMITER] = { "error delimiter", "end" },
    [LW_IN_OVERLOAD] = { "overload", "O" }, [LW_IN_BUS_OFF] = { "bus off", "off" }, [LW_IN_JOINING] = { "joining", "j" },
};

const char *lw_bits_field_name(unsigned field)
{
    return field < LW_N_MAC_FIELDS ? fields[field].name : "?";
}

struct plot {
    const struct lw_bench_trace *trace;
    struct lw_grid *grid;
    struct lw_rect band;         /* its columns from the first bit on */
    unsigned pitch, first, n;    /* bits of this band */
};

static void put_glyph(const struct plot *plot, unsigned x, int y, uint32_t glyph, enum lw_role role)
{
    struct lw_rect cell = { plot->band.x + (int)x, plot->band.y + y, (int)x < plot->band.w ? 1 : 0, y < plot->band.h ? 1 : 0 };
    lw_grid_fill(plot->grid, cell, glyph, role);
}

static void put_level(const struct plot *plot, unsigned x, const struct lw_trace_bit *bit, bool was_dominant)
{
    enum lw_role role = bit->has_error ? LW_ROLE_ALARM : bit->is_driven ? LW_ROLE_STRONG : LW_ROLE_PLOT;
    uint32_t line = bit->is_driven ? LW_GLYPH_DRIVEN : LW_GLYPH_RULE;
    int y = bit->is_dominant ? LOW : HIGH;
    if (bit->is_dominant != was_dominant) {
        put_glyph(plot, x, HIGH, bit->is_dominant ? 0x2510 : 0x250C, role);
        put_glyph(plot, x, LOW, bit->is_dominant ? 0x2514 : 0x2518, role);
    } else {
        put_glyph(plot, x, y, line, role);
    }
    for (unsigned i = 1; i < plot->pitch; i++)
        put_glyph(plot, x + i, y, line, role);
}

/* Where in the bit it was sampled; a letter or cross stands in for the mark where there is more to say. */
static void put_mark(const struct plot *plot, unsigned x, const struct lw_trace_bit *bit)
{
    unsigned at = bit->sample_permille * plot->pitch / 1000;
    at = at < plot->pitch ? at : plot->pitch - 1;
    uint32_t glyph = bit->has_error ? LW_GLYPH_BROKEN : bit->is_stuff ? 's' : LW_GLYPH_QUIET;
    put_glyph(plot, x + at, MARKS, glyph, bit->has_error ? LW_ROLE_ALARM : bit->is_stuff ? LW_ROLE_CAUTION : LW_ROLE_DIM);
}

/* A field's name, cut to the columns that it lasts, and its value where there is room. */
static void put_field(const struct plot *plot, unsigned from, unsigned to, const char *name, const char *value)
{
    unsigned field = plot->trace->bits[plot->first + from].field;
    int x = (int)(from * plot->pitch), w = (int)((to - from) * plot->pitch);
    struct lw_rect room = { plot->band.x + x, plot->band.y + FIELDS, w, plot->band.h > FIELDS ? 1 : 0 };
    room.w = x + w > plot->band.w ? plot->band.w - x : w;
    if (lw_text_columns(name) >= w && field < LW_N_MAC_FIELDS)
        name = fields[field].brief;
    x = lw_grid_put(plot->grid, room, 0, 0, field == LW_IN_ERROR_FLAG ? LW_ROLE_ALARM : LW_ROLE_TITLE, name);
    x += x > 0;
    if (x + lw_text_columns(value) < w)
        lw_grid_put(plot->grid, room, x, 0, LW_ROLE_STRONG, value);
}

/* Data bits from a byte's first to behind its last; false if the frame ends before. */
static bool read_byte(const struct lw_bench_trace *trace, unsigned from, unsigned *to, unsigned *value)
{
    unsigned n = 0;
    *value = 0;
    for (*to = from; *to < lw_bits_count(trace) && trace->bits[*to].field == LW_IN_DATA && n < 8; (*to)++) {
        if (trace->bits[*to].is_stuff)
            continue;
        *value = *value << 1 | !trace->bits[*to].is_dominant;
        n++;
    }
    return n == 8;
}

/* Each byte has its value where it begins; the first one the field's name, too. */
static void put_data(const struct plot *plot, unsigned data_from)
{
    const struct lw_bench_trace *trace = plot->trace;
    unsigned end = plot->first + plot->n, to, value;
    for (unsigned from = data_from; from < end && trace->bits[from].field == LW_IN_DATA; from = to) {
        char text[16] = "";
        if (read_byte(trace, from, &to, &value))
            snprintf(text, sizeof(text), "%02X", value);
        if (from >= plot->first)
            put_field(plot, from - plot->first, (to < end ? to : end) - plot->first, from == data_from ? "data" : "", text);
    }
}

static void put_fields(const struct plot *plot)
{
    const struct lw_bench_trace *trace = plot->trace;
    unsigned data_from = 0;
    char id[LW_ID_TEXT];
    lw_bits_identifier(trace, id);
    while (data_from < lw_bits_count(trace) && trace->bits[data_from].field != LW_IN_DATA)
        data_from++;
    for (unsigned i = 0; i < plot->n;) {
        unsigned to = i + 1, field = trace->bits[plot->first + i].field;
        while (to < plot->n && trace->bits[plot->first + to].field == field)
            to++;
        if (field != LW_IN_DATA)
            put_field(plot, i, to, lw_bits_field_name(field), field == LW_IN_ID ? id : "");
        i = to;
    }
    put_data(plot, data_from);
}

static void put_band(const struct plot *plot)
{
    for (unsigned i = 0; i < plot->n; i++) {
        unsigned at = plot->first + i;
        const struct lw_trace_bit *bit = &plot->trace->bits[at];
        put_level(plot, i * plot->pitch, bit, at > 0 && plot->trace->bits[at - 1].is_dominant);
        put_mark(plot, i * plot->pitch, bit);
    }
    put_fields(plot);
}

static void put_labels(struct lw_rect band, unsigned first, struct lw_grid *grid)
{
    lw_grid_put(grid, band, 0, HIGH, LW_ROLE_DIM, "recessive");
    lw_grid_put(grid, band, 0, LOW, LW_ROLE_DIM, "dominant");
    lw_grid_print(grid, band, 0, MARKS, LW_ROLE_DIM, "bit %u", first + 1);
}

static void put_bands(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    const struct lw_bench_trace *trace = lw_bench_state_trace(&state->on_bench, state->picture);
    unsigned count = lw_bits_count(trace), first = state->on_bench.bits_from;
    struct plot plot = { .trace = trace, .grid = grid, .pitch = state->on_bench.is_zoomed ? ZOOMED : PITCH };
    int labels = rect.w >= 3 * LABELS ? LABELS : 0;
    unsigned per_band = rect.w > labels ? (unsigned)(rect.w - labels) / plot.pitch : 0;
    first = first < count ? first : count - 1;
    struct lw_rect corner = { rect.x + rect.w - 1, rect.y + rect.h - 1, rect.w > 0 ? 1 : 0, rect.h > 0 ? 1 : 0 };
    while (rect.h > 0 && per_band > 0 && first < count) {
        struct lw_rect band = lw_rect_take_top(&rect, BAND_ROWS);
        if (labels > 0)
            put_labels(band, first, grid);
        lw_rect_take_left(&band, labels);
        plot.band = band;
        plot.first = first;
        plot.n = count - first < per_band ? count - first : per_band;
        put_band(&plot);
        first += plot.n;
        lw_rect_take_top(&rect, rect.h > BAND_ROWS + 1 && rect.h % (BAND_ROWS + 1) == 0 ? 1 : 0);
    }
    if (first < count)
        lw_grid_fill(grid, corner, 0x2192, LW_ROLE_KEY);
}

/* The legend has what room the sentences leave. */
static void put_text(const struct lw_bench_trace *trace, const char *unit, struct lw_rect rect, struct lw_grid *grid)
{
    char words[LW_BITS_WORDS];
    lw_rect_take_left(&rect, 1);
    lw_rect_take_top(&rect, lw_grid_put_wrapped(grid, rect, lw_bits_error(trace) >= 0 ? LW_ROLE_ALARM : LW_ROLE_NORMAL,
                                                lw_bits_words(trace, unit, words)));
    lw_grid_put(grid, rect, 0, 0, LW_ROLE_DIM, "━ it drives  s stuff bit  · sample point  ╳ error  ↑↓ other unit  ←→ scroll");
}

/* Between two moments of bus time: "1.25 s", "12:07". */
static char *span_text(uint64_t from_ns, uint64_t to_ns, char buf[LW_NUMBER_TEXT])
{
    uint64_t ns = to_ns > from_ns ? to_ns - from_ns : 0;
    return ns < (uint64_t)MINUTE_S * 1000000000 ? lw_text_duration(ns, buf) : lw_text_clock(ns, buf);
}

/* A unit as one speaks of it: "the lighting", "our adapter". */
static const char *article(const char *name)
{
    return strncmp(name, "our ", 4) == 0 ? "" : "the ";
}

static void put_title(const struct lw_view_state *state, const char *name, struct lw_rect row, struct lw_grid *grid)
{
    const struct lw_bench_picture *picture = state->picture;
    const char *held = state->on_bench.is_held ? " · held" : "";
    char title[128], ago[LW_NUMBER_TEXT];
    if (state->on_bench.shows_last_error && picture->error_trace.n > 0)
        snprintf(title, sizeof(title), "last frame with an error, %s ago, as %s%s sees it%s",
                 span_text(picture->error_trace.begins_ns, picture->now_ns, ago), article(name), name, held);
    else
        snprintf(title, sizeof(title), "bits of the last frame%s, as %s%s sees them%s",
                 state->on_bench.shows_last_error ? " with an error" : "", article(name), name, held);
    lw_grid_put_rule(grid, row, title);
}

/* No error since the unit was chosen says nothing of the time before. */
static void put_nothing(const struct lw_view_state *state, const char *name, struct lw_rect rect, struct lw_grid *grid)
{
    const struct lw_bench_picture *picture = state->picture;
    char words[256], span[LW_NUMBER_TEXT];
    snprintf(words, sizeof(words), "No frame was seen yet: the unit is off or unplugged, or nobody sends.");
    if (state->on_bench.shows_last_error && picture->trace.n > 0)
        snprintf(words, sizeof(words), "None yet: no frame of the last %s ended with an error at %s%s. Frames are seen through "
                 "its eyes since it was chosen here.", span_text(picture->trace_since_ns, picture->now_ns, span), article(name), name);
    lw_rect_take_left(&rect, 1);
    lw_grid_put_wrapped(grid, rect, LW_ROLE_NORMAL, words);
}

void lw_view_bench_bits(const struct lw_view_state *state, struct lw_rect rect, struct lw_grid *grid)
{
    const struct lw_bench_picture *picture = state->picture;
    const struct lw_bench_trace *trace = lw_bench_state_trace(&state->on_bench, picture);
    unsigned unit = lw_bench_state_trace_unit(&state->on_bench, picture);
    const char *name = unit < picture->n_units ? picture->units[unit].name : "a unit";
    put_title(state, name, lw_rect_take_top(&rect, 1), grid);
    if (lw_bits_count(trace) == 0 || picture->trace_unit != unit) {
        put_nothing(state, name, rect, grid);
        return;
    }
    struct lw_rect text = lw_rect_take_bottom(&rect, rect.h > BAND_ROWS + TEXT_ROWS ? TEXT_ROWS : rect.h / 3);
    put_bands(state, rect, grid);
    put_text(trace, name, text, grid);
}
