/* SPDX-License-Identifier: MIT
 *
 * Any text as a module. What is refused must say why; what is accepted must be in range, and weighed against a bus.
 */
#include "fuzz_target.h"

#include "../../src/app/module_file.h"

#include "scratch_file.h"
#include "small_traffic.h"

#include <string.h>

static void check_message(const struct lw_module_message *message)
{
    MUST(message->key.bus == 0);
    MUST(message->key.id <= (message->key.is_extended ? LW_EXTENDED_ID_MAX : LW_STANDARD_ID_MAX));
    MUST(memchr(message->name, 0, sizeof(message->name)));
    MUST(message->len <= (message->format & LW_FRAME_FD ? LW_FRAME_MAX_LEN : LW_CLASSIC_MAX_LEN));
    MUST(lw_len_from_dlc(lw_dlc_from_len(message->len)) == message->len);
    MUST(message->period_ns > 0 || message->shortest_gap_ns > 0);
    MUST(message->period_ns == 0 || message->shortest_gap_ns <= message->period_ns);
}

static void check(const struct lw_module *module)
{
    MUST(memchr(module->name, 0, sizeof(module->name)));
    MUST(module->n_messages >= 1 && module->n_messages <= LW_MODULE_MESSAGES);
    for (size_t i = 0; i < module->n_messages; i++) {
        check_message(&module->messages[i]);
        for (size_t k = 0; k < i; k++)
            MUST(!lw_id_key_equal(module->messages[i].key, module->messages[k].key));
    }
}

/* Periods of a microsecond and jitters of a day come here too: it must end, and nothing gets faster. */
static void weigh(struct small_traffic *small)
{
    MUST(lw_traffic_weigh(&small->question, &small->traffic) == 0);
    for (size_t i = 0; i < small->traffic.n; i++) {
        const struct lw_traffic_message *message = &small->traffic.messages[i];
        MUST(message->demand.frame_ns > 0 && message->demand.period_ns > 0);
        MUST(message->is_module || !message->after.is_bounded || message->after.response_ns >= message->before.response_ns);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct scratch_file file = { .fd = -1 };
    static struct small_traffic small;
    char message[LW_MODULE_MESSAGE];
    if (file.fd < 0) {
        file = scratch_file_open();
        small_traffic_begin(&small);
        small_traffic_hear(&small, "123", 10000);
        small_traffic_hear(&small, "18FEF100", 100000)->rhythm = LW_RHYTHM_BOTH;
        small.question.data_bit_rate_bps = 2000000;
    }
    scratch_file_fill(&file, data, size);
    if (lw_module_read(file.path, &small.module, message, sizeof(message)) != 0) {
        MUST(message[0]);
        return 0;
    }
    check(&small.module);
    weigh(&small);
    return 0;
}
