/* SPDX-License-Identifier: MIT
 *
 * The calculator `fit`: will the messages of a module fit on a bus that is in use? Its fields, and what they leave open
 * answered from baseline and module.
 */
#include "fit_parts.h"

#include <math.h>
#include <stdio.h>

static const struct lw_calc_field fields[LW_FIT_N_FIELDS] = {
    [LW_FIT_BASELINE] = { .name = "baseline", .words = "what the bus carries, from loomwatch baseline",
                          .example = "sweeper.baseline", .kind = LW_FIELD_FILE, .is_positional = true },
    [LW_FIT_MODULE] = { .name = "module", .words = "what the module will send", .example = "mine.module",
                        .kind = LW_FIELD_FILE, .is_required = true, .is_positional = true },
    [LW_FIT_BUS] = { .name = "bus", .words = "where the baseline has several: which, from 1", .example = "1",
                     .min = 1, .max = LW_MAX_BUSES, .kind = LW_FIELD_COUNT },
    [LW_FIT_RATE] = { .name = "rate", .words = "bit rate, where the baseline does not tell", .unit = "bit/s",
                      .example = "500k", .min = 1000, .max = 1e6, .kind = LW_FIELD_NUMBER },
    [LW_FIT_DATA_RATE] = { .name = "data-rate", .words = "of CAN FD, where nothing else tells", .unit = "bit/s",
                           .example = "2M", .min = 1000, .max = 2e7, .kind = LW_FIELD_NUMBER },
    [LW_FIT_FAULTS] = { .name = "faults", .words = "frames destroyed while messages wait", .example = "1", .preset = "0",
                        .min = 0, .max = 100, .kind = LW_FIELD_COUNT },
    [LW_FIT_GAP] = { .name = "gap", .words = "between two of a message heard only once", .unit = "ns", .example = "50ms",
                     .preset = "100ms", .min = 1e5, .max = 3.6e12, .kind = LW_FIELD_NUMBER },
};

char *lw_fit_time(uint64_t ns, char buf[LW_NUMBER_UNIT_TEXT])
{
    return lw_number_text(ns > 0 ? (double)ns : NAN, "ns", buf);
}

char *lw_fit_response(const struct lw_response *response, char buf[LW_NUMBER_UNIT_TEXT])
{
    if (response->is_bounded)
        return lw_fit_time(response->response_ns, buf);
    snprintf(buf, LW_NUMBER_UNIT_TEXT, "no bound");
    return buf;
}

char *lw_fit_name(const struct lw_traffic_message *message, char buf[LW_FIT_NAME])
{
    char id[LW_ID_TEXT];
    snprintf(buf, LW_FIT_NAME, "%s%s%s", lw_id_text(message->key, id), message->name[0] != '\0' ? " " : "", message->name);
    return buf;
}

/* Index of the bus in question, or -1 having refused. */
static int choose_bus(const struct lw_calc_input *input, const struct lw_baseline *baseline, struct lw_worksheet *sheet)
{
    if (lw_calc_has(input, LW_FIT_BUS)) {
        int bus = (int)lw_calc_number(input, LW_FIT_BUS) - 1;
        if (bus < (int)baseline->n_buses)
            return bus;
        lw_sheet_refuse(sheet, "the baseline has %u bus%s; write bus=1%s", baseline->n_buses, baseline->n_buses == 1 ? "" : "es",
                        baseline->n_buses > 1 ? " or another up to that" : ", or leave it out");
        return -1;
    }
    if (baseline->n_buses == 1)
        return 0;
    lw_sheet_refuse(sheet, "the baseline has %u buses; write bus=1 for \"%s\", bus=2 for \"%s\", and so on", baseline->n_buses,
                    baseline->buses[0].name, baseline->n_buses > 1 ? baseline->buses[1].name : "");
    return -1;
}

static uint32_t rate_from(const struct lw_calc_input *input, enum lw_fit_field field, struct lw_reading first,
                          struct lw_reading second)
{
    if (lw_calc_has(input, field))
        return (uint32_t)lround(lw_calc_number(input, field));
    return first.is_known ? first.value : second.is_known ? second.value : 0;
}

static bool ask(struct lw_fit *fit, const struct lw_calc_input *input, struct lw_worksheet *sheet)
{
    const struct lw_fit_material *material = fit->material;
    int bus = choose_bus(input, material->baseline, sheet);
    if (bus < 0)
        return false;
    fit->bus = &material->baseline->buses[bus];
    fit->question = (struct lw_traffic_question){
        .baseline = material->baseline, .bus = (unsigned)bus, .module = material->module,
        .bit_rate_bps = rate_from(input, LW_FIT_RATE, fit->bus->bit_rate_bps, LW_UNKNOWN),
        .data_bit_rate_bps = rate_from(input, LW_FIT_DATA_RATE, fit->bus->data_bit_rate_bps, material->module->data_bit_rate_bps),
        .n_faults = (unsigned)lw_calc_number(input, LW_FIT_FAULTS),
        .assumed_gap_ns = (uint64_t)llround(lw_calc_number(input, LW_FIT_GAP)),
    };
    if (fit->question.bit_rate_bps == 0)
        lw_sheet_refuse(sheet, "the baseline does not tell the bit rate of \"%s\"; write rate=500k, or what it is",
                        fit->bus->name);
    else if (fit->question.data_bit_rate_bps != 0 && fit->question.data_bit_rate_bps < fit->question.bit_rate_bps)
        lw_sheet_refuse(sheet, "a data bit rate below the bit rate; write data-rate=2M, or what it is");
    return sheet->refusal[0] == '\0';
}

static bool weigh(struct lw_fit *fit, struct lw_worksheet *sheet)
{
    struct lw_traffic *traffic = fit->material->traffic;
    struct lw_reading set_to = fit->material->module->bit_rate_bps;
    if (lw_traffic_weigh(&fit->question, traffic) != 0)
        lw_sheet_refuse(sheet, "the baseline has no message of \"%s\"; learn one with loomwatch baseline", fit->bus->name);
    else if (traffic->n_untimed > 0)
        lw_sheet_refuse(sheet, "%zu messages switch to the data bit rate, which neither baseline nor module tell; write "
                        "data-rate=2M, or what it is", traffic->n_untimed);
    fit->traffic = traffic;
    fit->is_full_before = traffic->before.worst >= 1;
    fit->has_other_rate = set_to.is_known && set_to.value != fit->question.bit_rate_bps;
    fit->is_fd_new = traffic->module_has_fd && !traffic->has_fd;
    return sheet->refusal[0] == '\0';
}

static void run(const struct lw_calc_input *input, struct lw_worksheet *sheet)
{
    struct lw_fit fit = { .material = input->material };
    if (!fit.material) {
        lw_sheet_refuse(sheet, "neither a baseline nor a module is there; write their files");
        return;
    }
    if (!ask(&fit, input, sheet) || !weigh(&fit, sheet))
        return;
    lw_sheet_caution(sheet, "This weighs times on the bus and nothing else. Whether the machine bears the module, its maker "
                     "says.");
    lw_fit_answers(&fit, sheet);
    lw_fit_tables(&fit, sheet);
    lw_fit_working(&fit, sheet);
}

const struct lw_calculator lw_calc_fit = {
    .name = "fit", .words = "whether the messages of a module fit on the bus", .example = "sweeper.baseline mine.module faults=1",
    .n_fields = LW_FIT_N_FIELDS, .fields = fields, .run = run,
};
