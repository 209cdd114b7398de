/* SPDX-License-Identifier: MIT
 *
 * Any bytes as a record of a capture. The first byte chooses the byte order of the identifier. What is
 * understood must stay what it is when it is written and read again.
 */
#include "fuzz_target.h"

#include "loomwatch/sources/capture_record.h"

#include "random_event.h"

static void check_error(const struct lw_error *error)
{
    uint8_t fields[LW_ERROR_FIELDS_MAX];
    size_t n = lw_error_decode(error, fields);
    MUST(n <= LW_ERROR_FIELDS_MAX);
    for (size_t i = 0; i < n; i++)
        MUST(fields[i] < LW_N_ERROR_FIELDS && (i == 0 || fields[i] > fields[i - 1]));
}

static void check_rewritten(struct lw_event *event)
{
    uint8_t bytes[LW_CAPTURE_RECORD_MAX];
    struct lw_event back = { 0 };
    size_t n = lw_capture_encode(event, bytes);
    MUST(n <= sizeof(bytes));
    MUST(lw_capture_decode(bytes, n, false, &back) == LW_RECORD_GOOD);
    if (event->kind == LW_EVENT_FRAME && event->frame.flags & LW_FRAME_REMOTE)
        event->frame.len = 0;
    MUST(is_same_event(event, &back));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct lw_event event = { 0 };
    if (size < 1 || lw_capture_decode(data + 1, size - 1, data[0] & 1, &event) != LW_RECORD_GOOD)
        return 0;
    if (event.kind == LW_EVENT_ERROR)
        check_error(&event.error);
    check_rewritten(&event);
    return 0;
}
