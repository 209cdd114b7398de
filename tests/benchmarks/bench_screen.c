/* SPDX-License-Identifier: MIT
 *
 * What one frame of the dashboard costs at 200x60: copying the snapshot out of the monitor and drawing it, with 150
 * messages. Beside it, in the same run, a bare fill of as many cells. Run by `meson test --benchmark`.
 */
#include "loomwatch/core/monitor.h"
#include "loomwatch/ui/views.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { W = 200, H = 60, N_IDS = 150, N_FRAMES = 40000, ROUNDS = 5, DRAWS = 200, STEP_NS = 200000 };

static double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static struct lw_monitor *make_monitor(void)
{
    const struct lw_monitor_config config = {
        .n_buses = 1, .bus_names = { "can0" }, .bit_rate_bps = 500000, .sequence = LW_SEQUENCE_F3M,
        .load_limit_permille = 800,
    };
    struct lw_monitor *monitor = lw_monitor_create(&config);
    for (size_t i = 0; monitor && i < N_FRAMES; i++) {
        struct lw_event event = { .t_ns = (i + 1) * STEP_NS, .kind = LW_EVENT_FRAME };
        event.frame.id = (uint32_t)(0x080 + i % N_IDS * 11);
        event.frame.len = 8;
        event.frame.data[i / N_IDS % 8] = (uint8_t)(i / N_IDS);
        lw_monitor_feed(monitor, &event);
        if (i % 500 == 0)
            lw_monitor_tick(monitor, 0, event.t_ns);
        if (i == N_FRAMES / 2)
            lw_monitor_take_baseline(monitor);
    }
    return monitor;
}

/* Clearing sets every cell; the sum keeps the compiler from leaving it out. */
static double fill(struct lw_grid *grid, uint64_t *sum)
{
    double start = seconds();
    for (uint32_t i = 0; i < DRAWS; i++) {
        for (size_t k = 0; k < (size_t)W * H; k++)
            grid->cells[k] = (struct lw_cell){ ' ' + (i & 1), LW_ROLE_NORMAL };
        *sum += grid->cells[i].glyph;
    }
    return seconds() - start;
}

static double draw(const struct lw_monitor *monitor, struct lw_snapshot *snapshot, struct lw_grid *grid, uint64_t *sum)
{
    struct lw_view_state state;
    lw_view_state_init(&state);
    double start = seconds();
    for (uint32_t i = 0; i < DRAWS; i++) {
        lw_monitor_snapshot(monitor, NULL, snapshot);
        lw_view_screen(snapshot, &state, grid);
        *sum += grid->cells[i].glyph;
    }
    return seconds() - start;
}

int main(void)
{
    struct lw_monitor *monitor = make_monitor();
    struct lw_snapshot *snapshot = malloc(sizeof(*snapshot));
    struct lw_grid grid;
    double best_fill = 1e9, best_draw = 1e9;
    uint64_t sum = 0;
    lw_grid_init(&grid);
    if (!monitor || !snapshot || lw_grid_resize(&grid, W, H) != 0)
        return 1;
    for (int round = 0; round < ROUNDS; round++) {
        double took_fill = fill(&grid, &sum), took_draw = draw(monitor, snapshot, &grid, &sum);
        best_fill = took_fill < best_fill ? took_fill : best_fill;
        best_draw = took_draw < best_draw ? took_draw : best_draw;
    }
    printf("dashboard frame at %dx%d, %zu messages, best of %d: %.1f \xC2\xB5s; bare fill %.1f \xC2\xB5s (sum %llu); "
           "ratio %.1f\n", W, H, snapshot->n_tiles, ROUNDS, best_draw / DRAWS * 1e6, best_fill / DRAWS * 1e6,
           (unsigned long long)sum, best_draw / best_fill);
    lw_grid_finish(&grid);
    free(snapshot);
    lw_monitor_destroy(monitor);
    return 0;
}
