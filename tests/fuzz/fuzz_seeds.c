/* SPDX-License-Identifier: MIT
 *
 * Writes the first inputs of the fuzz targets: fuzz_seeds DIRECTORY, which holds one directory a target.
 * Called by scripts/fuzz.
 */
#include "loomwatch/sources/capture_record.h"

#include "capture_bytes.h"
#include "random_event.h"

#include <stdio.h>
#include <stdlib.h>

enum { N_RECORDS = 40, N_PACKETS = 12 };

static void save(const char *directory, const char *target, unsigned number, const void *bytes, size_t n)
{
    char path[1024];
    snprintf(path, sizeof(path), "%s/%s/seed-%02u", directory, target, number);
    FILE *file = fopen(path, "wb");
    if (!file || fwrite(bytes, 1, n, file) != n || fclose(file) != 0) {
        perror(path);
        exit(1);
    }
}

/* Bit 0: pcapng; bit 1: nanoseconds; bit 2: big-endian. */
static void save_capture(const char *directory, unsigned form, uint64_t *seed)
{
    struct capture_bytes out = { .is_big_endian = form & 4 };
    if (form & 1) {
        put_ng_section(&out);
        put_ng_interface(&out, LW_CAPTURE_LINK_TYPE, form & 2 ? 9 : 6);
    } else {
        put_pcap_header(&out, form & 2 ? PCAP_NS : PCAP_US, LW_CAPTURE_LINK_TYPE);
    }
    for (uint32_t i = 0; i < N_PACKETS; i++) {
        struct lw_event event = random_event(seed);
        uint8_t bytes[LW_CAPTURE_RECORD_MAX];
        size_t n = lw_capture_encode(&event, bytes);
        if (form & 1)
            put_ng_packet(&out, 0, UINT64_C(1700000000000000) + i, bytes, (uint32_t)n);
        else
            put_pcap_packet(&out, 1700000000 + i, i, bytes, (uint32_t)n);
    }
    save(directory, "capture", form, out.data, out.n);
}

static void save_record(const char *directory, unsigned number, uint64_t *seed)
{
    uint8_t bytes[1 + LW_CAPTURE_RECORD_MAX] = { 0 };
    struct lw_event event = random_event(seed);
    save(directory, "record", number, bytes, 1 + lw_capture_encode(&event, bytes + 1));
}

static void save_errors(const char *directory, unsigned number, uint64_t *seed)
{
    uint8_t bytes[10 * 12];
    for (size_t i = 0; i < sizeof(bytes); i += 12) {
        struct lw_error error = random_error(seed);
        error.class_bits &= 0x3FF;
        memcpy(bytes + i, &error.class_bits, 4);
        memcpy(bytes + i + 4, error.data, 8);
    }
    save(directory, "error", number, bytes, sizeof(bytes));
}

static void save_baselines(const char *directory)
{
    static const char *const texts[] = {
        "loomwatch-baseline = 1\nbus \"can0\" {\n  bit-rate = 500000\n  watched-s = 30.5\n"
        "  id \"123\" {\n    name = \"speed\"\n    sender = \"unit\"\n    length = {8}\n    kind = \"cyclic\"\n"
        "    period-ms = 100.0\n    tolerance-ms = 10\n    longest-gap-ms = 250\n  }\n"
        "  id \"18FEF100\" { kind = \"both\" period-ms = 1000 jitter-ms = 3 shortest-gap-ms = 20 length = {0, 8, 64} "
        "switch-rate = true bits-heard = {30, 560} may-pause = true }\n}\n",
        "# two buses\nloomwatch-baseline = 1\nbus \"a\" { id \"001\" { kind = \"event\" } }\nbus 'b' { /* none */ }\n",
    };
    for (unsigned i = 0; i < sizeof(texts) / sizeof(*texts); i++)
        save(directory, "baseline", i, texts[i], strlen(texts[i]));
}

int main(int argc, char **argv)
{
    uint64_t seed = 11898;
    if (argc != 2) {
        fputs("usage: fuzz_seeds DIRECTORY\n", stderr);
        return 2;
    }
    for (unsigned form = 0; form < 8; form++)
        save_capture(argv[1], form, &seed);
    for (unsigned i = 0; i < N_RECORDS; i++)
        save_record(argv[1], i, &seed);
    for (unsigned i = 0; i < N_RECORDS; i++)
        save_errors(argv[1], i, &seed);
    save_baselines(argv[1]);
    return 0;
}
