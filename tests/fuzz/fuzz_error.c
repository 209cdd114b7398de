/* SPDX-License-Identifier: MIT
 *
 * Any error frames one after the other, twelve bytes each, through the decoder and the controller picture.
 */
#include "fuzz_target.h"

#include "loomwatch/core/controller.h"

#include <string.h>

enum { FRAME = 4 + 8 };

static void check_fields(const struct lw_error *error)
{
    uint8_t fields[LW_ERROR_FIELDS_MAX], tec = 1, rec = 2;
    size_t n = lw_error_decode(error, fields);
    MUST(n <= LW_ERROR_FIELDS_MAX);
    for (size_t i = 0; i < n; i++) {
        MUST(fields[i] < LW_N_ERROR_FIELDS);
        MUST(lw_error_fields[fields[i]].name && lw_error_fields[fields[i]].words);
    }
    if (!lw_error_counters(error, &tec, &rec))
        MUST(tec == 1 && rec == 2);
    MUST((lw_error_unknown_classes(error) & ~error->class_bits) == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct lw_controller controller;
    lw_controller_init(&controller);
    uint64_t n_frames = 0;
    for (; size >= FRAME; data += FRAME, size -= FRAME) {
        struct lw_error error;
        memcpy(&error.class_bits, data, 4);
        error.class_bits &= 0x1FFFFFFF;
        memcpy(error.data, data + 4, sizeof(error.data));
        check_fields(&error);
        lw_controller_error(&controller, &error, ++n_frames);
        MUST(controller.state <= LW_STATE_SLEEPING && lw_bus_state_name(controller.state));
    }
    MUST(controller.error_frames.n == n_frames);
    MUST(controller.bus_errors.n <= n_frames && controller.no_acknowledge.n <= n_frames);
    return 0;
}
