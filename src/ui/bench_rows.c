/* SPDX-License-Identifier: MIT
 *
 * Lays the bus out in rows. Every point has its units in the order of their numbers, then what is wrong there, then the
 * segment to the next.
 */
#include "bench_rows.h"

#include "bench_menu.h"

enum { SPARE_ROWS = 2 };         /* for what may go wrong, so that the drawing does not change its manner at once */

const struct lw_damage *lw_bench_damage_at(const struct lw_bench_picture *picture, enum lw_damage_kind kind,
                                           enum lw_damage_place place, unsigned index)
{
    for (unsigned i = 0; i < picture->n_damages; i++) {
        const struct lw_damage *damage = &picture->damages[i];
        if (damage->kind == kind && damage->place == place && damage->index == index && lw_bench_is_on(picture, damage))
            return damage;
    }
    return NULL;
}

/* Terminators are drawn as terminators, not as damage. */
static bool is_drawn_across(const struct lw_bench_picture *picture, const struct lw_damage *damage, unsigned point)
{
    return damage->place == LW_AT_POINT && damage->index == point && lw_bench_is_on(picture, damage)
        && damage->kind >= LW_DAMAGE_SHORT_H_L && damage->kind <= LW_DAMAGE_L_TO_GROUND;
}

static bool has_terminator(const struct lw_bench_picture *picture, unsigned point)
{
    for (unsigned i = 0; i < picture->n_terminators; i++)
        if (picture->terminators[i].point == point)
            return true;
    return lw_bench_damage_at(picture, LW_DAMAGE_NO_TERMINATOR, LW_AT_POINT, point) != NULL;
}

static bool has_broken_segment(const struct lw_bench_picture *picture, unsigned segment)
{
    for (unsigned i = 0; i < picture->n_damages; i++)
        if (picture->damages[i].place == LW_AT_SEGMENT && picture->damages[i].index == segment
            && lw_bench_is_on(picture, &picture->damages[i]))
            return true;
    return false;
}

static unsigned add(struct lw_bench_row *out, unsigned n, enum lw_bench_row_kind kind, unsigned point, unsigned what)
{
    if (n == LW_BENCH_MAX_ROWS)
        return n;
    out[n] = (struct lw_bench_row){ .kind = (uint8_t)kind, .point = (uint8_t)point, .unit = (uint8_t)what,
        .damage = (uint8_t)what, .is_first = n == 0 || out[n - 1].point != point };
    return n + 1;
}

static unsigned add_point(const struct lw_bench_picture *picture, enum lw_bench_detail detail, unsigned point,
                          struct lw_bench_row *out, unsigned n)
{
    unsigned before = n;
    for (unsigned i = 0; i < picture->n_units; i++) {
        if (picture->units[i].point != point)
            continue;
        n = add(out, n, detail == LW_DETAIL_WIRES ? LW_ROW_UNIT_H : LW_ROW_UNIT, point, i);
        if (detail == LW_DETAIL_WIRES)
            n = add(out, n, LW_ROW_UNIT_L, point, i);
    }
    if (n == before)
        n = add(out, n, LW_ROW_POINT, point, 0);
    if (detail == LW_DETAIL_WIRES && out[n - 1].kind != LW_ROW_POINT && has_terminator(picture, point))
        n = add(out, n, LW_ROW_TERMINATOR, point, 0);
    for (unsigned i = 0; i < picture->n_damages; i++)
        if (is_drawn_across(picture, &picture->damages[i], point))
            n = add(out, n, LW_ROW_DAMAGE, point, i);
    return n;
}

unsigned lw_bench_rows(const struct lw_bench_picture *picture, enum lw_bench_detail detail,
                       struct lw_bench_row out[LW_BENCH_MAX_ROWS])
{
    unsigned n = 0;
    for (unsigned point = 0; point < picture->n_points; point++) {
        n = add_point(picture, detail, point, out, n);
        if (point + 1 < picture->n_points && (detail != LW_DETAIL_CLOSE || has_broken_segment(picture, point)))
            n = add(out, n, LW_ROW_SEGMENT, point, 0);
    }
    return n;
}

static int lasting_rows(const struct lw_bench_picture *picture, enum lw_bench_detail detail)
{
    struct lw_bench_row rows[LW_BENCH_MAX_ROWS];
    unsigned n = lw_bench_rows(picture, detail, rows);
    int lasting = 0;
    for (unsigned i = 0; i < n; i++)
        lasting += rows[i].kind != LW_ROW_DAMAGE;
    return lasting;
}

enum lw_bench_detail lw_bench_detail_for(const struct lw_bench_picture *picture, int n_rows)
{
    if (lasting_rows(picture, LW_DETAIL_WIRES) + SPARE_ROWS <= n_rows)
        return LW_DETAIL_WIRES;
    return lasting_rows(picture, LW_DETAIL_SEGMENTS) + SPARE_ROWS <= n_rows ? LW_DETAIL_SEGMENTS : LW_DETAIL_CLOSE;
}
