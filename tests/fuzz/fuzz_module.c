/* SPDX-License-Identifier: MIT
 *
 * Any text as a module. What is refused must say why; what is accepted must be in range.
 */
#include "fuzz_target.h"

#include "../../src/app/module_file.h"

#include "scratch_file.h"

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

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct scratch_file file = { .fd = -1 };
    static struct lw_module module;
    char message[LW_MODULE_MESSAGE];
    if (file.fd < 0)
        file = scratch_file_open();
    scratch_file_fill(&file, data, size);
    if (lw_module_read(file.path, &module, message, sizeof(message)) == 0)
        check(&module);
    else
        MUST(message[0]);
    return 0;
}
