/* SPDX-License-Identifier: MIT
 *
 * The adapter page: what the driver tells of itself, and every kind of error report with its count and last time.
 */
#include "loomwatch/core/text.h"
#include "loomwatch/ui/views.h"

#include <inttypes.h>
#include <stdio.h>

enum { CAPTION = 16, NAME_COLUMNS = 24, WORDS_FROM = 120 };

static void put_fact(struct lw_grid *grid, struct lw_rect *rect, const char *caption, const char *text)
{
    struct lw_rect row = lw_rect_take_top(rect, 1);
    lw_grid_put(grid, row, 1, 0, LW_ROLE_DIM, caption);
    lw_grid_put(grid, row, CAPTION, 0, LW_ROLE_NORMAL, text);
}

static const char *yes_no(struct lw_reading reading)
{
    return !reading.is_known ? "—" : reading.value ? "on" : "off";
}

static void put_settings(const struct lw_bus_view *bus, struct lw_rect *rect, struct lw_grid *grid)
{
    const struct lw_link *link = &bus->controller.link;
    char text[160], a[LW_NUMBER_TEXT], b[LW_NUMBER_TEXT], c[LW_NUMBER_TEXT];
    snprintf(text, sizeof(text), "%s, sample point %s, data phase %s", lw_text_bit_rate(bus->bit_rate_bps, a),
             lw_text_permille(link->sample_point_permille, b), lw_text_bit_rate(link->data_bit_rate_bps, c));
    put_fact(grid, rect, "bit rate", text);
    snprintf(text, sizeof(text), "listen-only %s, error reporting %s, one-shot %s", yes_no(link->listen_only),
             yes_no(link->error_reporting), yes_no(link->one_shot));
    put_fact(grid, rect, "modes", text);
    if (!link->restart_ms.is_known)
        snprintf(text, sizeof(text), "—");
    else if (link->restart_ms.value == 0)
        snprintf(text, sizeof(text), "never by itself");
    else
        snprintf(text, sizeof(text), "by itself after %u ms", (unsigned)link->restart_ms.value);
    put_fact(grid, rect, "after bus off", text);
}

static void put_state(const struct lw_bus_view *bus, struct lw_rect *rect, struct lw_grid *grid)
{
    const struct lw_controller *controller = &bus->controller;
    char text[160], tec[LW_NUMBER_TEXT], rec[LW_NUMBER_TEXT], clock[LW_NUMBER_TEXT] = "—";
    if (!controller->has_link)
        snprintf(text, sizeof(text), "this source tells nothing of an adapter");
    else if (controller->link.controller == LW_CONTROLLER_NONE)
        snprintf(text, sizeof(text), "a virtual interface: there is no controller, so no state and no counters");
    else
        snprintf(text, sizeof(text), "%s", lw_bus_state_name(controller->state));
    put_fact(grid, rect, "state", text);
    if (controller->tec.is_known && controller->counters_ns >= bus->start_ns)
        lw_text_clock_tenths(controller->counters_ns - bus->start_ns, clock);
    snprintf(text, sizeof(text), "transmit (TEC) %s, receive (REC) %s, told at %s",
             lw_text_reading(controller->tec, tec), lw_text_reading(controller->rec, rec), clock);
    put_fact(grid, rect, "error counters", text);
}

static void put_statistics(const struct lw_bus_view *bus, struct lw_rect *rect, struct lw_grid *grid)
{
    const struct lw_link *link = &bus->controller.link;
    char n[6][LW_NUMBER_TEXT], text[200];
    snprintf(text, sizeof(text), "bus errors %s, gave way to others %s, restarts %s",
             lw_text_reading(link->n_bus_errors, n[0]), lw_text_reading(link->n_arbitration_lost, n[1]),
             lw_text_reading(link->n_restarts, n[2]));
    put_fact(grid, rect, "driver counts", text);
    snprintf(text, sizeof(text), "times in warning %s, passive %s, bus off %s",
             lw_text_reading(link->n_error_warning, n[3]), lw_text_reading(link->n_error_passive, n[4]),
             lw_text_reading(link->n_bus_off, n[5]));
    put_fact(grid, rect, "", text);
}

static void put_reports(const struct lw_bus_view *bus, struct lw_rect *rect, struct lw_grid *grid)
{
    const struct lw_controller *controller = &bus->controller;
    if (controller->error_frames.n == 0)
        put_fact(grid, rect, "error reports", "none");
    for (int i = 0; i < LW_N_ERROR_FIELDS; i++) {
        const struct lw_tally *tally = &controller->fields[i];
        char clock[LW_NUMBER_TEXT];
        if (tally->n == 0)
            continue;
        struct lw_rect row = lw_rect_take_top(rect, 1);
        lw_grid_print(grid, row, 1, 0, LW_ROLE_STRONG, "%7" PRIu64, tally->n);
        lw_grid_print(grid, row, 10, 0, LW_ROLE_NORMAL, "%s", lw_error_fields[i].name);
        lw_grid_print(grid, row, 10 + NAME_COLUMNS, 0, LW_ROLE_DIM, "last %-9s %s",
                      lw_text_clock_tenths(tally->last_ns > bus->start_ns ? tally->last_ns - bus->start_ns : 0, clock),
                      rect->w >= WORDS_FROM ? lw_error_fields[i].words : "");
    }
}

void lw_view_adapter(const struct lw_snapshot *snapshot, struct lw_rect rect, struct lw_grid *grid)
{
    for (unsigned i = 0; i < snapshot->n_buses && rect.h > 0; i++) {
        const struct lw_bus_view *bus = &snapshot->buses[i];
        char caption[LW_BUS_NAME_MAX + 16];
        snprintf(caption, sizeof(caption), "adapter of %s", bus->name);
        lw_grid_put_rule(grid, lw_rect_take_top(&rect, 1), caption);
        put_state(bus, &rect, grid);
        put_settings(bus, &rect, grid);
        put_statistics(bus, &rect, grid);
        put_reports(bus, &rect, grid);
    }
}
