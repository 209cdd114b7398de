/* SPDX-License-Identifier: MIT
 *
 * `fit` in sentences: the answer, then what stands in the way, worst first.
 */
#include "fit_parts.h"

#include <stdio.h>

enum { NAMED_MOST = 5 };   /* of each kind; the tables have the rest */

static double pct(double share)
{
    return 100 * share;
}

/* Too late only because the bus was asked for too much before the module: no fault of the module. */
static bool blames_module(const struct lw_fit *fit)
{
    const struct lw_traffic *traffic = fit->traffic;
    bool is_module_late = traffic->n_late > 0 && !fit->is_full_before;
    return traffic->n_twins > 0 || traffic->n_pushed > 0 || fit->has_other_rate || is_module_late;
}

enum lw_finding lw_fit_finding(const struct lw_fit *fit)
{
    if (blames_module(fit))
        return LW_FINDING_DOES_NOT;
    if (fit->traffic->n_late_before > 0 || fit->is_full_before || fit->is_fd_new)
        return LW_FINDING_CANNOT_TELL;
    return LW_FINDING_FITS;
}

static void say_tightest(const struct lw_fit *fit, char *buf, size_t size)
{
    char name[LW_FIT_NAME], response[LW_NUMBER_UNIT_TEXT], deadline[LW_NUMBER_UNIT_TEXT];
    int tightest = fit->traffic->tightest;
    buf[0] = '\0';
    if (tightest == LW_NO_INDEX)
        return;
    const struct lw_traffic_message *message = &fit->traffic->messages[tightest];
    lw_fit_name(message, name);
    if (message->after.is_bounded)
        snprintf(buf, size, "; the tightest message, %s, arrives within %s of its %s", name,
                 lw_fit_response(&message->after, response), lw_fit_time(message->deadline_ns, deadline));
    else
        snprintf(buf, size, "; no bound was found for %s", name);
}

static void first_sentence(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    static const char *const openings[] = {
        [LW_FINDING_FITS] = "It fits", [LW_FINDING_CANNOT_TELL] = "Cannot tell whether it fits",
        [LW_FINDING_DOES_NOT] = "It does not fit",
    };
    const struct lw_traffic *traffic = fit->traffic;
    enum lw_finding finding = lw_fit_finding(fit);
    char tightest[240];
    say_tightest(fit, tightest, sizeof(tightest));
    lw_sheet_answer(sheet, finding, "%s: load %.1f %% -> %.1f %%, at the worst %.1f %% -> %.1f %%%s.",
                    openings[finding], pct(traffic->before.usual), pct(traffic->after.usual), pct(traffic->before.worst),
                    pct(traffic->after.worst), tightest);
}

static void say_twin(const struct lw_traffic_message *message, struct lw_worksheet *sheet)
{
    char name[LW_FIT_NAME];
    lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "%s of the module is sent on this bus already. No two units may send one "
                    "identifier: their frames destroy each other or are mistaken. Give the module another identifier.",
                    lw_fit_name(message, name));
}

static void say_late(const struct lw_traffic_message *message, struct lw_worksheet *sheet)
{
    char name[LW_FIT_NAME], response[LW_NUMBER_UNIT_TEXT], deadline[LW_NUMBER_UNIT_TEXT];
    lw_fit_name(message, name);
    lw_fit_response(&message->after, response);
    lw_fit_time(message->deadline_ns, deadline);
    if (!message->after.is_bounded)
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "%s%s: no bound was found. What goes before it can take the whole bus, or "
                        "nearly.", name, message->is_module ? " of the module" : "");
    else
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "%s of the module may take %s, and must arrive within %s.", name, response,
                        deadline);
}

static void say_pushed(const struct lw_traffic_message *message, struct lw_worksheet *sheet)
{
    char name[LW_FIT_NAME], before[LW_NUMBER_UNIT_TEXT], after[LW_NUMBER_UNIT_TEXT], period[LW_NUMBER_UNIT_TEXT];
    if (!message->after.is_bounded) {
        say_late(message, sheet);
        return;
    }
    lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "%s is pushed past its period: within %s before, %s after, of %s.",
                    lw_fit_name(message, name), lw_fit_response(&message->before, before),
                    lw_fit_response(&message->after, after), lw_fit_time(message->deadline_ns, period));
}

/* Names the first few of those that is_one picks. */
static void say_each(const struct lw_fit *fit, struct lw_worksheet *sheet, bool (*is_one)(const struct lw_traffic_message *),
                     void (*say)(const struct lw_traffic_message *, struct lw_worksheet *), const char *rest)
{
    unsigned n = 0;
    for (size_t i = 0; i < fit->traffic->n; i++)
        if (is_one(&fit->traffic->messages[i]) && n++ < NAMED_MOST)
            say(&fit->traffic->messages[i], sheet);
    if (n > NAMED_MOST)
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "So are %u more: %s.", n - NAMED_MOST, rest);
}

static bool is_twin(const struct lw_traffic_message *message)
{
    return message->is_twin && message->is_module;
}

static bool is_pushed(const struct lw_traffic_message *message)
{
    return message->passage == LW_PASSAGE_PUSHED;
}

static bool is_late(const struct lw_traffic_message *message)
{
    return message->passage == LW_PASSAGE_LATE;
}

/* The share of the bus that what does not keep a period was assumed to ask for, and the greediest of it. */
static double greed(const struct lw_traffic *traffic, const struct lw_traffic_message **greediest)
{
    double sum = 0, most = 0;
    for (size_t i = 0; i < traffic->n; i++) {
        const struct lw_traffic_message *message = &traffic->messages[i];
        double share = lw_demand_share(&message->demand, 1);
        if (message->is_module || message->is_cyclic)
            continue;
        sum += share;
        if (share > most) {
            most = share;
            *greediest = message;
        }
    }
    return sum;
}

static void say_full_before(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    const struct lw_traffic_message *greediest = NULL;
    double on_event = greed(fit->traffic, &greediest), cyclic = fit->traffic->before.worst - on_event;
    char name[LW_FIT_NAME], gap[LW_NUMBER_UNIT_TEXT], rate[LW_NUMBER_UNIT_TEXT];
    if (!greediest || cyclic >= 1)
        lw_sheet_answer(sheet, LW_FINDING_CANNOT_TELL, "The cyclic messages of the bus alone ask for %.0f %% at %s: more than a "
                        "bus can carry. Look whether the bit rate is right.", pct(cyclic),
                        lw_number_text(fit->question.bit_rate_bps, "bit/s", rate));
    else
        lw_sheet_answer(sheet, LW_FINDING_CANNOT_TELL, "With what was assumed the bus is full before the module joins: %s alone, "
                        "every %s, asks for %.0f %%. If it comes so close together only now and then, write a longer "
                        "shortest-gap-ms into the baseline.", lw_fit_name(greediest, name),
                        lw_fit_time(greediest->demand.period_ns, gap), pct(lw_demand_share(&greediest->demand, 1)));
}

static void say_late_before(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    char name[LW_FIT_NAME], before[LW_NUMBER_UNIT_TEXT], period[LW_NUMBER_UNIT_TEXT];
    for (size_t i = 0; i < fit->traffic->n; i++) {
        const struct lw_traffic_message *message = &fit->traffic->messages[i];
        if (message->passage != LW_PASSAGE_LATE_BEFORE)
            continue;
        lw_sheet_answer(sheet, LW_FINDING_CANNOT_TELL, "%zu message%s may miss the period without the module already, %s first: "
                        "within %s of %s. The machine may live with that; this cannot tell what more it bears.",
                        fit->traffic->n_late_before, fit->traffic->n_late_before == 1 ? "" : "s", lw_fit_name(message, name),
                        lw_fit_response(&message->before, before), lw_fit_time(message->deadline_ns, period));
        return;
    }
}

static void say_rates(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    char bus[LW_NUMBER_UNIT_TEXT], module[LW_NUMBER_UNIT_TEXT];
    if (fit->has_other_rate)
        lw_sheet_answer(sheet, LW_FINDING_DOES_NOT, "The module is set to %s, the bus runs at %s: joined like that it destroys "
                        "every frame. Set it right before it is plugged in.",
                        lw_number_text(fit->material->module->bit_rate_bps.value, "bit/s", module),
                        lw_number_text(fit->question.bit_rate_bps, "bit/s", bus));
    if (fit->is_fd_new)
        lw_sheet_answer(sheet, LW_FINDING_CANNOT_TELL, "The module sends CAN FD, and no FD frame was heard on this bus: a unit "
                        "that knows classic CAN only destroys each of them. Ask the maker of the machine.");
}

static void say_next(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    if (fit->traffic->n_pushed > 0)
        lw_sheet_answer(sheet, LW_FINDING_NONE, "Next: ask for longer periods, or for higher identifiers, which let the "
                        "messages of the machine go first.");
    else if (fit->traffic->n_late > 0 && !fit->is_full_before)
        lw_sheet_answer(sheet, LW_FINDING_NONE, "Next: ask for lower identifiers for what is urgent, and weigh again whom they "
                        "push.");
}

void lw_fit_answers(const struct lw_fit *fit, struct lw_worksheet *sheet)
{
    first_sentence(fit, sheet);
    say_rates(fit, sheet);
    say_each(fit, sheet, is_twin, say_twin, "identifiers that are taken");
    if (fit->traffic->n_twins == 0)
        lw_sheet_answer(sheet, LW_FINDING_NONE, "No identifier is taken: none of the module's %zu is among the %zu of the bus.",
                        fit->traffic->n_module, fit->traffic->n - fit->traffic->n_module);
    say_each(fit, sheet, is_pushed, say_pushed, "messages pushed past their period");
    if (fit->is_full_before)
        say_full_before(fit, sheet);
    else
        say_each(fit, sheet, is_late, say_late, "messages of the module that come too late");
    if (fit->traffic->n_late_before > 0)
        say_late_before(fit, sheet);
    say_next(fit, sheet);
}
