/* SPDX-License-Identifier: MIT
 *
 * What can be done at a place of the bench: its units' plugs and supplies, and every damage of the table that may be there.
 * What is on already is taken off instead.
 */
#include "bench_menu.h"

#include <stdio.h>

bool lw_bench_is_on(const struct lw_bench_picture *picture, const struct lw_damage *damage)
{
    return damage->from_ns <= picture->now_ns && damage->until_ns > picture->now_ns;
}

bool lw_bench_is_at(const struct lw_damage *damage, struct lw_bench_place place)
{
    return damage->place == place.kind && (place.kind == LW_AT_NOWHERE || damage->index == place.index);
}

char *lw_bench_point_name(const struct lw_bench_picture *picture, unsigned point, char buf[LW_PLANT_NAME])
{
    if (picture->points[point].name[0] != '\0')
        snprintf(buf, LW_PLANT_NAME, "%s", picture->points[point].name);
    else
        snprintf(buf, LW_PLANT_NAME, "point %u", point + 1);
    return buf;
}

static bool has_damage(const struct lw_bench_picture *picture, struct lw_bench_place place, unsigned kind)
{
    for (unsigned i = 0; i < picture->n_damages; i++)
        if (picture->damages[i].kind == kind && lw_bench_is_at(&picture->damages[i], place))
            return true;
    return false;
}

static unsigned add(struct lw_bench_entry *out, unsigned n, enum lw_bench_request_kind request, unsigned what, bool is_on)
{
    out[n] = (struct lw_bench_entry){ .request = (uint8_t)request, .n = (uint8_t)what, .is_on = is_on };
    return n + 1;
}

/* Plug and supply have entries of their own, which a damage of that kind would only hide. */
static unsigned add_unit(const struct lw_bench_picture *picture, struct lw_bench_place place, struct lw_bench_entry *out)
{
    const struct lw_bench_unit_picture *unit = &picture->units[place.index];
    unsigned n = 0;
    if (!has_damage(picture, place, LW_DAMAGE_UNPLUGGED))
        n = add(out, n, LW_BENCH_PLUG, 0, !unit->is_plugged);
    if (picture->is_supply_on && !has_damage(picture, place, LW_DAMAGE_UNPOWERED))
        n = add(out, n, LW_BENCH_POWER, 0, !unit->is_powered);
    return n;
}

/* At the bench as a whole everything that is wrong can be taken off, wherever it is. */
static unsigned add_mending(const struct lw_bench_picture *picture, struct lw_bench_place place, struct lw_bench_entry *out,
                            unsigned n)
{
    for (unsigned i = 0; i < picture->n_damages; i++)
        if (place.kind == LW_AT_NOWHERE || lw_bench_is_at(&picture->damages[i], place))
            n = add(out, n, LW_BENCH_MEND, i, false);
    return n;
}

/* Beyond what the table says: plug and supply are switched, and a terminator is taken out only where there is one. */
static bool can_be(const struct lw_bench_picture *picture, struct lw_bench_place place, unsigned kind)
{
    if (kind == LW_DAMAGE_UNPLUGGED || kind == LW_DAMAGE_UNPOWERED || !(lw_damages[kind].places >> place.kind & 1))
        return false;
    if (kind != LW_DAMAGE_NO_TERMINATOR)
        return true;
    for (unsigned i = 0; i < picture->n_terminators && place.kind == LW_AT_POINT; i++)
        if (picture->terminators[i].point == place.index)
            return true;
    return place.kind == LW_AT_UNIT && picture->units[place.index].is_terminated;
}

unsigned lw_bench_menu(const struct lw_bench_picture *picture, struct lw_bench_place place,
                       struct lw_bench_entry out[LW_BENCH_MAX_ENTRIES])
{
    unsigned n = 0;
    if (place.kind == LW_AT_UNIT)
        n = add_unit(picture, place, out);
    if (place.kind == LW_AT_NOWHERE)
        n = add(out, n, LW_BENCH_SUPPLY, 0, !picture->is_supply_on);
    if (place.kind == LW_AT_NOWHERE && picture->n_damages > 0)
        n = add(out, n, LW_BENCH_MEND_ALL, 0, false);
    n = add_mending(picture, place, out, n);
    for (unsigned kind = 0; kind < LW_N_DAMAGES; kind++)
        if (can_be(picture, place, kind) && !has_damage(picture, place, kind))
            n = add(out, n, LW_BENCH_PUT_DAMAGE, kind, true);
    return n;
}

char *lw_bench_entry_words(const struct lw_bench_picture *picture, struct lw_bench_place place,
                           const struct lw_bench_entry *entry, char buf[LW_DAMAGE_TEXT])
{
    const char *words = "";
    switch (entry->request) {
    case LW_BENCH_PUT_DAMAGE: words = lw_damages[entry->n].words; break;
    case LW_BENCH_MEND_ALL: words = "mend everything"; break;
    case LW_BENCH_PLUG: words = entry->is_on ? "plug it in" : "unplug it"; break;
    case LW_BENCH_POWER: words = entry->is_on ? "give it its supply back" : "take its supply away"; break;
    case LW_BENCH_SUPPLY: words = entry->is_on ? "turn the machine's supply on" : "turn the machine's supply off"; break;
    default: break;
    }
    if (entry->request == LW_BENCH_PUT_DAMAGE && entry->n == LW_DAMAGE_ASLEEP)
        words = place.kind == LW_AT_UNIT ? "let it sleep" : "let all sleep but our adapter";
    if (entry->request == LW_BENCH_MEND)
        snprintf(buf, LW_DAMAGE_TEXT, "take off: %.*s", LW_DAMAGE_TEXT - 12, picture->damage_words[entry->n]);
    else
        snprintf(buf, LW_DAMAGE_TEXT, "%s", words);
    return buf;
}

const char *lw_bench_entry_value(const struct lw_bench_picture *picture, const struct lw_bench_entry *entry, double *value)
{
    if (entry->request != LW_BENCH_PUT_DAMAGE)
        return NULL;
    *value = lw_damages[entry->n].default_value;
    if (entry->n == LW_DAMAGE_BIT_RATE && picture->bit_rate_bps > 0)
        *value = picture->bit_rate_bps / 2;
    return lw_damages[entry->n].unit;
}
