/* SPDX-License-Identifier: MIT
 *
 * Any text as a bench file. What is refused must say why and what to write; what is accepted must be a plant in all bounds.
 */
#include "fuzz_target.h"

#include "loomwatch/bench/damage.h"
#include "loomwatch/sources/bench_file.h"

#include <string.h>

static void check_messages(const struct lw_plant *plant)
{
    for (unsigned i = 0; i < plant->n_messages; i++) {
        const struct lw_plant_message *message = &plant->messages[i];
        MUST(message->unit < plant->n_units && message->len <= LW_FRAME_MAX_LEN);
        MUST(message->len <= LW_CLASSIC_MAX_LEN || message->flags & LW_FRAME_FD);
        MUST(message->id <= (message->flags & LW_FRAME_EXTENDED ? LW_EXTENDED_ID_MAX : LW_STANDARD_ID_MAX));
        MUST(message->is_boot || message->period_ms || message->event_ms);
        for (unsigned k = 0; k < LW_PATTERNS; k++)
            MUST(message->patterns[k].unit < plant->n_units && message->patterns[k].byte <= message->len);
    }
}

static void check(const struct lw_plant *plant)
{
    MUST(plant->n_units >= 1 && plant->n_units <= LW_PLANT_MAX_UNITS && lw_plant_adapter(plant) >= 0);
    MUST(plant->n_points >= 2 && plant->n_points <= LW_PLANT_MAX_POINTS && plant->bit_rate_bps > 0);
    MUST(plant->n_terminators <= LW_PLANT_MAX_TERMINATORS && plant->n_messages <= LW_PLANT_MAX_MESSAGES);
    for (unsigned i = 0; i < plant->n_terminators; i++)
        MUST(plant->terminators[i].point < plant->n_points && plant->terminators[i].ohm > 0);
    for (unsigned i = 0; i < plant->n_units; i++) {
        MUST(plant->units[i].point < plant->n_points && lw_bit_timing_bit_ps(&plant->units[i].timing) > 0);
        MUST(plant->units[i].name[0] && memchr(plant->units[i].name, 0, LW_PLANT_NAME));
    }
    struct lw_damage damage;
    char message[LW_DAMAGE_TEXT];
    for (unsigned i = 0; i < plant->n_steps; i++)
        MUST(lw_damage_parse(plant, plant->steps[i].words, 0, &damage, message) == 0);
    check_messages(plant);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct lw_plant plant;
    char message[512];
    char *text = malloc(size + 1);
    MUST(text);
    memcpy(text, data, size);
    text[size] = '\0';
    int rc = lw_bench_text_read("fuzz.bench", text, &plant, message, sizeof(message));
    MUST(rc == 0 ? !message[0] : strstr(message, "write") || strstr(message, "keep"));
    if (rc == 0)
        check(&plant);
    free(text);
    return 0;
}
