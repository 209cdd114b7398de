/* SPDX-License-Identifier: MIT
 *
 * Any file as a capture, read to its end: no crash, times in order, every event of a kind that exists, and
 * reading paced gives as many as reading at full pace.
 */
#include "fuzz_target.h"

#include "loomwatch/sources/capture.h"

#include "scratch_file.h"

#include <errno.h>
#include <string.h>

enum { BATCH = 16 };

static void check(const struct lw_event *event, uint64_t last_ns)
{
    MUST(event->t_ns >= last_ns);
    MUST(event->kind <= LW_EVENT_VERDICT);
    MUST(event->kind != LW_EVENT_FRAME || event->frame.len <= LW_FRAME_MAX_LEN);
}

/* Each read is at the moment the source itself names. */
static size_t read_to_end(struct lw_source *source)
{
    struct lw_event events[BATCH];
    uint64_t last_ns = 0, mono_ns = 1;
    size_t n = 0;
    for (;;) {
        uint64_t due_ns = source->ops->due_ns(source->self, mono_ns);
        mono_ns = due_ns > mono_ns ? due_ns : mono_ns;
        int got = source->ops->read(source->self, mono_ns, events, BATCH);
        if (got == -ENODATA)
            return n;
        MUST(got >= 0 && got <= BATCH);
        for (int i = 0; i < got; i++, n++) {
            check(&events[i], last_ns);
            last_ns = events[i].t_ns;
        }
        MUST(source->ops->now_ns(source->self, mono_ns) >= last_ns);
    }
}

static size_t read_file(const char *path, enum lw_pace_kind pace, bool is_swapped)
{
    struct lw_capture_options options = { .pace = { pace, 7.3 }, .is_swapped = is_swapped };
    struct lw_source source = { 0 };
    struct lw_source_info info;
    char message[LW_SOURCE_TEXT] = "";
    if (lw_capture_open(&source, path, 0, &options, message) != 0) {
        MUST(message[0] && !source.self);
        return 0;
    }
    size_t n = read_to_end(&source);
    source.ops->describe(source.self, &info);
    MUST(strlen(info.note) < sizeof(info.note));
    lw_source_finish(&source);
    return n;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct scratch_file file = { .fd = -1 };
    if (file.fd < 0)
        file = scratch_file_open();
    scratch_file_fill(&file, data, size);
    bool is_swapped = size % 2;
    size_t n = read_file(file.path, LW_PACE_FULL, is_swapped);
    MUST(read_file(file.path, LW_PACE_TIMES, is_swapped) == n);
    return 0;
}
