/* SPDX-License-Identifier: MIT
 *
 * The pictures: what happens, each with the facts by which it is known. The first that fits counts.
 */
#include "verdict_parts.h"

const struct lw_picture_info lw_pictures[LW_N_PICTURES] = {
    [LW_PICTURE_GONE] = { "adapter-gone", "The adapter is gone", true },
    [LW_PICTURE_DOWN] = { "interface-down", "The interface is down", true },
    [LW_PICTURE_CONTRADICTORY] = { "contradictory", "The adapter contradicts itself", true },
    [LW_PICTURE_BUS_OFF] = { "bus-off", "Bus off: what this adapter sends does not come back to it", true },
    [LW_PICTURE_WIRE_TOLD] = { "wire-told", "The transceiver reports a wire fault", true },
    [LW_PICTURE_REPEATING] = { "repeating", "One frame over and over: nobody acknowledges it", true },
    [LW_PICTURE_UNACKNOWLEDGED] = { "unacknowledged", "Nobody acknowledges what this adapter sends", true },
    [LW_PICTURE_NO_GOOD_FRAME] = { "no-good-frame", "Signals on the wires, but hardly a good frame", true },
    [LW_PICTURE_FULL] = { "full", "The bus is full", true },
    [LW_PICTURE_SPOILT] = { "spoilt", "Frames are being spoilt while others get through", true },
    [LW_PICTURE_LATE_HOST] = { "late-host", "Frames are lost in this computer, not on the bus", true },
    [LW_PICTURE_SKIPPING] = { "skipping", "Messages miss their turn, though no error is told", false },
    [LW_PICTURE_WAITING] = { "waiting", "Nothing heard yet", false },
    [LW_PICTURE_NOTHING] = { "nothing", "Nothing is heard on this bus", true },
    [LW_PICTURE_SILENT] = { "silent", "The whole bus is silent", true },
    [LW_PICTURE_NO_ADDRESS] = { "no-address", "A unit has no address (number) of its own", true },
    [LW_PICTURE_DOUBLED] = { "doubled", "A message comes twice as often as it should", true },
    [LW_PICTURE_COMES_AND_GOES] = { "comes-and-goes", "Messages go and come back again and again", true },
    [LW_PICTURE_QUIET] = { "quiet", "Messages went quiet while the rest goes on", true },
    [LW_PICTURE_ODD_READING] = { "odd-reading", "The meter reads what a healthy bus does not", true },
    [LW_PICTURE_MUTE] = { "mute", "What was plugged in is not heard; the rest goes on", true },
    [LW_PICTURE_STRANGER] = { "stranger", "Something new talks; what is expected does not", true },
    [LW_PICTURE_RETURNED] = { "returned", "Messages were gone and are back", false },
    [LW_PICTURE_HEALED] = { "healed", "There were errors of late; frames get through", false },
    [LW_PICTURE_UNTOLD] = { "untold", "Traffic flows; whether there are errors this adapter does not tell", false },
    [LW_PICTURE_WELL] = { "well", "All is well", false },
};

enum { MAX_CONDITIONS = 5 };

_Static_assert(LW_N_FACTS <= 64, "a bit a fact");

struct condition {
    uint8_t fact, answer;
    bool is_common;              /* so with every cause of this picture, and therefore no sign of one of them */
};

/* One way to know a picture: all of the conditions hold. Ended by an unknown. */
struct rule {
    uint8_t picture;
    struct condition all[MAX_CONDITIONS];
};

#define YES(fact) { LW_FACT_##fact, LW_ANSWER_YES }
#define NO(fact) { LW_FACT_##fact, LW_ANSWER_NO }
#define ALL_YES(fact) { LW_FACT_##fact, LW_ANSWER_YES, true }
#define ALL_NO(fact) { LW_FACT_##fact, LW_ANSWER_NO, true }

static const struct rule rules[] = {
    { LW_PICTURE_GONE, { YES(GONE) } },
    { LW_PICTURE_DOWN, { YES(DOWN) } },
    { LW_PICTURE_CONTRADICTORY, { YES(CONTRADICTS) } },
    { LW_PICTURE_BUS_OFF, { YES(BUS_OFF) } },
    { LW_PICTURE_WIRE_TOLD, { YES(WIRE_TOLD) } },
    { LW_PICTURE_REPEATING, { YES(REPEATS), ALL_YES(OTHERS_NOW) } },
    { LW_PICTURE_FULL, { YES(HOG) } },
    { LW_PICTURE_UNACKNOWLEDGED, { YES(NO_ACKNOWLEDGE), ALL_NO(OTHERS_NOW) } },
    { LW_PICTURE_UNACKNOWLEDGED, { YES(NO_ACKNOWLEDGE), YES(ERRORS_GO_ON), ALL_NO(ERRORS) } },
    { LW_PICTURE_UNACKNOWLEDGED, { YES(STUCK_AT_128), ALL_NO(OTHERS_NOW) } },
    { LW_PICTURE_UNACKNOWLEDGED, { YES(SEND_TROUBLE), NO(RECEIVE_TROUBLE), ALL_NO(OTHERS_NOW) } },
    { LW_PICTURE_NO_GOOD_FRAME, { YES(MANY_ERRORS), YES(ERRORS) } },
    { LW_PICTURE_NO_GOOD_FRAME, { YES(ERRORS_GO_ON), ALL_NO(OTHERS_NOW) } },
    { LW_PICTURE_NO_GOOD_FRAME, { YES(RECEIVE_TROUBLE), ALL_NO(OTHERS_NOW) } },
    { LW_PICTURE_NO_ADDRESS, { YES(ADDRESS_SHARED) } },
    { LW_PICTURE_SPOILT, { YES(ERRORS), YES(OTHERS_NOW) } },
    { LW_PICTURE_SPOILT, { YES(NO_ACKNOWLEDGE), YES(OTHERS_NOW) } },
    { LW_PICTURE_SPOILT, { YES(RECEIVE_TROUBLE), NO(TELLS_ERRORS) } },
    { LW_PICTURE_SPOILT, { YES(SEND_TROUBLE), NO(TELLS_ERRORS), YES(OTHERS_NOW), NO(OWN_SENT), YES(TROUBLE) } },
    { LW_PICTURE_FULL, { YES(FULL) } },
    { LW_PICTURE_LATE_HOST, { YES(LOSSES) } },
    { LW_PICTURE_WAITING, { YES(JUST_BEGUN), NO(TROUBLE), NO(OTHERS_NOW), NO(OTHERS_BEFORE), NO(OWN_SENT) } },
    { LW_PICTURE_NOTHING, { NO(OTHERS_NOW), NO(OTHERS_BEFORE), NO(OWN_SENT) } },
    { LW_PICTURE_SILENT, { NO(OTHERS_NOW), NO(OWN_SENT) } },
    { LW_PICTURE_NO_ADDRESS, { YES(NO_ADDRESS), YES(OTHERS_NOW) } },
    { LW_PICTURE_DOUBLED, { YES(DOUBLED) } },
    { LW_PICTURE_COMES_AND_GOES, { YES(COMES_AND_GOES) } },
    { LW_PICTURE_STRANGER, { YES(NEWCOMER), YES(NEVER_HEARD) } },
    { LW_PICTURE_MUTE, { YES(MUTE) } },
    { LW_PICTURE_QUIET, { YES(QUIET_GROUP) } },
    { LW_PICTURE_QUIET, { YES(NEVER_HEARD) } },
    { LW_PICTURE_RETURNED, { YES(CAME_BACK) } },
    { LW_PICTURE_HEALED, { YES(HEALED) } },
    { LW_PICTURE_HEALED, { YES(TROUBLE) } },
    { LW_PICTURE_HEALED, { YES(SEND_TROUBLE) } },
    { LW_PICTURE_HEALED, { YES(RECEIVE_TROUBLE) } },
    { LW_PICTURE_SKIPPING, { YES(SKIPS) } },
    { LW_PICTURE_UNTOLD, { NO(TELLS_ERRORS), NO(TELLS_STATE) } },
    { LW_PICTURE_WELL, { { 0 } } },
};

static bool holds(const struct rule *rule, const struct lw_fact_value *facts)
{
    for (size_t i = 0; i < MAX_CONDITIONS && rule->all[i].answer != LW_ANSWER_UNKNOWN; i++)
        if (facts[rule->all[i].fact].answer != rule->all[i].answer)
            return false;
    return true;
}

static bool is_odd(const struct lw_readings *readings)
{
    for (int kind = 0; kind < LW_N_MEASUREMENTS; kind++) {
        const struct lw_meter_reading *reading = lw_verdict_reading(readings, (enum lw_measurement)kind);
        if (reading && lw_reading_range(reading) != LW_READING_NORMAL)
            return true;
    }
    return false;
}

/* Pictures that leave room for what the meter says: no trouble, or the silence of a supply that is off for measuring. */
static bool is_calm(enum lw_picture picture)
{
    return !lw_pictures[picture].is_trouble || picture == LW_PICTURE_SILENT || picture == LW_PICTURE_NOTHING;
}

enum lw_picture lw_verdict_picture(const struct lw_fact_value *facts, const struct lw_readings *readings, uint64_t *given)
{
    size_t i = 0;
    while (!holds(&rules[i], facts))
        i++;
    *given = 0;
    for (size_t k = 0; k < MAX_CONDITIONS && rules[i].all[k].answer != LW_ANSWER_UNKNOWN; k++)
        *given |= (uint64_t)rules[i].all[k].is_common << rules[i].all[k].fact;
    enum lw_picture picture = (enum lw_picture)rules[i].picture;
    return is_calm(picture) && is_odd(readings) ? LW_PICTURE_ODD_READING : picture;
}
