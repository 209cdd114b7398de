/* SPDX-License-Identifier: MIT
 *
 * The rules for lengths, a table each.
 */
#include "stub_rules.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#define NONE NAN

/* In the order of the rates. */
struct length_row {
    double rate_bps, drop_m, sum_m, trunk_m;
};

static const struct length_row ti_table[] = {
    { 50e3, NONE, NONE, 1000 }, { 100e3, NONE, NONE, 500 }, { 250e3, NONE, NONE, 200 }, { 500e3, NONE, NONE, 100 }, { 1e6, NONE, NONE, 40 },
};
static const struct length_row iso_quoted[] = { { 1e6, 0.3, NONE, 40 } };
static const struct length_row beckhoff_table[] = {
    { 10e3, NONE, NONE, 5000 }, { 20e3, NONE, NONE, 2500 }, { 50e3, NONE, NONE, 1000 }, { 125e3, NONE, NONE, 500 }, { 250e3, NONE, NONE, 250 },
    { 500e3, NONE, NONE, 100 }, { 1e6, NONE, NONE, 20 },
};
static const struct length_row motortech_table[] = {
    { 50e3, 55, 275, 1000 }, { 125e3, 22, 110, 500 }, { 250e3, 11, 55, 250 }, { 500e3, 5.5, 27.5, 100 }, { 800e3, 2.5, 12.5, 50 },
    { 1e6, 1.5, 7.5, 25 },
};
static const struct length_row devicenet_table[] = { { 125e3, 6, 156, NONE }, { 250e3, 6, 78, NONE }, { 500e3, 6, 39, NONE } };
static const struct length_row j1939_11[] = { { 250e3, 1, NONE, 40 } };
static const struct length_row j1939_15[] = { { 250e3, 3, NONE, 40 } };
static const struct length_row vehicle_table[] = { { 125e3, 2, NONE, 50 }, { 500e3, 2, NONE, 33.5 } };
static const struct length_row nmea2000[] = { { 250e3, 6, 78, 200 } };

enum { TI_CRITICAL, TI_PRODUCT, ROUND_TRIP, FIRST_TABLE };

const struct lw_stub_rule lw_stub_rules[] = {
    [TI_CRITICAL] = { "1/3 of the critical length", "TI SLLA270 4.8", "any bus; by its edges", LW_NETWORK_GENERAL },
    [TI_PRODUCT] = { "bit rate x length", "TI SLLA270 4.1", "trunks above 100 m", LW_NETWORK_GENERAL },
    [ROUND_TRIP] = { "round trip to the sample", "Microchip 38.3.3.2; 5 ns a metre", "any bus; an upper bound", LW_NETWORK_GENERAL },
    [FIRST_TABLE] = { "TI's table", "TI SLLA270 table 1", "any bus", LW_NETWORK_GENERAL },
    { "ISO 11898, quoted by TI", "TI SLLA270 4, SLOA101B 5", "1 Mbit/s, 30 units", LW_NETWORK_GENERAL },
    { "Beckhoff's table", "Beckhoff BX5100, BX3100", "any bus; opto at 1 Mbit/s", LW_NETWORK_GENERAL },
    { "MOTORTECH's table", "MOTORTECH EasyNOx manual", "any bus", LW_NETWORK_GENERAL },
    { "DeviceNet", "Beckhoff EL6752, p. 20", "DeviceNet", LW_NETWORK_DEVICENET },
    { "J1939-11", "Allison 3000/4000 J1939 sheet; Perkins 1200F, p. 235", "shielded, 250 kbit/s", LW_NETWORK_J1939_11 },
    { "J1939-15", "Allison 3000/4000 J1939 sheet", "unshielded; drops count in", LW_NETWORK_J1939_15 },
    { "module added to a vehicle", "Ford Transit BEMM 2016.75, p. 214 and 215", "road; 0.3 m at the least", LW_NETWORK_VEHICLE },
    { "NMEA 2000", "Maretron specification 1.3 to 1.5; B&G Zeus S, p. 13", "NMEA 2000", LW_NETWORK_NMEA2000 },
};

const size_t lw_n_stub_rules = sizeof lw_stub_rules / sizeof *lw_stub_rules;

#define ROWS(table) table, sizeof table / sizeof *table

/* least_bps: below it the table is silent, having been made for one rate alone. */
static const struct {
    const struct length_row *rows;
    size_t n_rows;
    double least_bps;
} tables[] = {
    { ROWS(ti_table), 0 }, { ROWS(iso_quoted), 800001 }, { ROWS(beckhoff_table), 0 }, { ROWS(motortech_table), 0 },
    { ROWS(devicenet_table), 0 }, { ROWS(j1939_11), 125001 }, { ROWS(j1939_15), 125001 }, { ROWS(vehicle_table), 0 }, { ROWS(nmea2000), 125001 },
};

static const struct length_row *find_row(size_t rule, double rate_bps)
{
    size_t table = rule - FIRST_TABLE;
    if (rate_bps < tables[table].least_bps)
        return NULL;
    for (size_t i = 0; i < tables[table].n_rows; i++)
        if (rate_bps <= tables[table].rows[i].rate_bps * (1 + 1e-9))
            return &tables[table].rows[i];
    return NULL;
}

double lw_critical_length_m(double edge_ns)
{
    return edge_ns / (2 * 5.0);
}

double lw_round_trip_ns(double loop_ns, double length_m)
{
    return 2 * (loop_ns + 5.0 * length_m);
}

double lw_round_trip_length_m(const struct lw_stub_plan *plan, double rate_bps)
{
    return fmax(0, (plan->sample * 1e9 / rate_bps / 2 - plan->loop_ns) / 5.0);
}

size_t lw_stub_rule_named(const char *name)
{
    size_t rule = 0;
    while (rule < lw_n_stub_rules && strcmp(lw_stub_rules[rule].name, name) != 0)
        rule++;
    assert(rule < lw_n_stub_rules);
    return rule;
}

bool lw_stub_table_row(size_t rule, size_t n, double *rate_bps, double *trunk_m)
{
    if (rule < FIRST_TABLE || n >= tables[rule - FIRST_TABLE].n_rows)
        return false;
    *rate_bps = tables[rule - FIRST_TABLE].rows[n].rate_bps;
    *trunk_m = tables[rule - FIRST_TABLE].rows[n].trunk_m;
    return true;
}

double lw_stub_allowed(size_t rule, enum lw_stub_quantity quantity, const struct lw_stub_plan *plan)
{
    if (rule == TI_CRITICAL)
        return quantity == LW_STUB_DROP ? lw_critical_length_m(plan->edge_ns) / 3 : NAN;
    if (rule == TI_PRODUCT)
        return quantity == LW_STUB_TRUNK && plan->trunk_m > 100 ? 50e6 / plan->rate_bps : NAN;
    if (rule == ROUND_TRIP)
        return quantity == LW_STUB_TRUNK ? lw_round_trip_length_m(plan, plan->rate_bps) : NAN;
    const struct length_row *row = find_row(rule, plan->rate_bps);
    if (!row)
        return NAN;
    return quantity == LW_STUB_DROP ? row->drop_m : quantity == LW_STUB_SUM ? row->sum_m : row->trunk_m;
}

double lw_stub_actual(size_t rule, enum lw_stub_quantity quantity, const struct lw_stub_plan *plan)
{
    if (quantity == LW_STUB_DROP)
        return plan->n_drops > 0 ? plan->longest_m : NAN;
    if (quantity == LW_STUB_SUM)
        return plan->n_drops > 0 ? plan->sum_m : NAN;
    if (rule == ROUND_TRIP)
        return plan->trunk_m + plan->longest_m + plan->second_m;
    return lw_stub_rules[rule].network == LW_NETWORK_J1939_15 ? plan->trunk_m + plan->sum_m : plan->trunk_m;
}
