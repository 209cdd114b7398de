/* SPDX-License-Identifier: MIT
 *
 * Any text as a baseline. What is refused must say why; what is accepted must be in range, and written down and read
 * again it must give the same text.
 */
#include "fuzz_target.h"

#include "../../src/app/baseline_file.h"

#include "scratch_file.h"

#include <string.h>

static void check(const struct lw_baseline *baseline)
{
    MUST(baseline->n_buses >= 1 && baseline->n_buses <= LW_MAX_BUSES);
    MUST(baseline->n_ids <= LW_MAX_IDS);
    for (size_t i = 0; i < baseline->n_ids; i++) {
        const struct lw_expected *id = &baseline->ids[i];
        MUST(id->key.bus < baseline->n_buses);
        MUST(id->key.id <= (id->key.is_extended ? LW_EXTENDED_ID_MAX : LW_STANDARD_ID_MAX));
        MUST(memchr(id->name, 0, sizeof(id->name)) && memchr(id->sender, 0, sizeof(id->sender)));
        MUST(i == 0 || lw_id_key_order(baseline->ids[i - 1].key, id->key) < 0);
        MUST(lw_expected_absent_ns(id) >= LW_ABSENT_FLOOR_MS * UINT64_C(1000000));
    }
}

/* The text of the baseline; the caller's to free. */
static char *print(const struct lw_baseline *baseline, size_t *n)
{
    char *text = NULL;
    FILE *file = open_memstream(&text, n);
    MUST(file && lw_baseline_print(baseline, file) == 0 && fclose(file) == 0);
    return text;
}

static bool read_text(const struct scratch_file *file, const void *text, size_t n, struct lw_baseline *out)
{
    char message[LW_BASELINE_MESSAGE];
    scratch_file_fill(file, text, n);
    bool is_read = lw_baseline_read(file->path, out, message, sizeof(message)) == 0;
    MUST(is_read || message[0]);
    return is_read;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct scratch_file file = { .fd = -1 };
    static struct lw_baseline first, again;
    if (file.fd < 0)
        file = scratch_file_open();
    if (!read_text(&file, data, size, &first))
        return 0;
    check(&first);
    size_t n_first, n_again;
    char *text_first = print(&first, &n_first);
    MUST(read_text(&file, text_first, n_first, &again));
    char *text_again = print(&again, &n_again);
    MUST(n_first == n_again && memcmp(text_first, text_again, n_first) == 0);
    free(text_first);
    free(text_again);
    return 0;
}
