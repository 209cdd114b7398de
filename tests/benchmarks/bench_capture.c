/* SPDX-License-Identifier: MIT
 *
 * Reading a capture through our source beside a bare libpcap loop over the same file in the same run. The two
 * take turns and the best turn of each counts, so that what else the machine does falls on neither.
 */
#include "loomwatch/sources/capture.h"
#include "loomwatch/sources/recorder.h"

#include "random_event.h"

#include <pcap/pcap.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

enum { N_RECORDS = 2000000, N_TURNS = 5, BATCH = 256 };

static uint64_t clock_ns(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (uint64_t)now.tv_sec * 1000000000u + (uint64_t)now.tv_nsec;
}

static void give_up(const char *what)
{
    fprintf(stderr, "bench_capture: %s\n", what);
    exit(1);
}

static void generate(const char *path)
{
    struct lw_recorder *recorder;
    uint64_t seed = 1;
    if (lw_recorder_create(&recorder, path) != 0)
        give_up("cannot create the capture");
    for (uint64_t i = 0; i < N_RECORDS; i++) {
        struct lw_event event = { .t_ns = UINT64_C(1700000000000000000) + i * 230000, .kind = LW_EVENT_FRAME };
        event.frame = random_frame(&seed);
        lw_recorder_add(recorder, &event);
    }
    if (lw_recorder_destroy(recorder) != 0)
        give_up("cannot write the capture");
}

static uint64_t read_bare(const char *path)
{
    char trouble[PCAP_ERRBUF_SIZE];
    struct pcap_pkthdr *header;
    const u_char *bytes;
    size_t n = 0, sum = 0;
    uint64_t start_ns = clock_ns();
    pcap_t *pcap = pcap_open_offline_with_tstamp_precision(path, PCAP_TSTAMP_PRECISION_NANO, trouble);
    if (!pcap)
        give_up(trouble);
    for (; pcap_next_ex(pcap, &header, &bytes) == 1; n++)
        sum += bytes[0];
    pcap_close(pcap);
    uint64_t took_ns = clock_ns() - start_ns;
    if (n != N_RECORDS || sum == 0)
        give_up("the bare loop did not read everything");
    return took_ns;
}

static uint64_t read_source(const char *path)
{
    static struct lw_event events[BATCH];
    struct lw_capture_options options = { .pace.kind = LW_PACE_FULL };
    struct lw_source source;
    char message[LW_SOURCE_TEXT];
    size_t n = 0;
    int got;
    uint64_t start_ns = clock_ns();
    if (lw_capture_open(&source, path, 0, &options, message) != 0)
        give_up(message);
    while ((got = source.ops->read(source.self, start_ns, events, BATCH)) >= 0)
        n += (size_t)got;
    lw_source_finish(&source);
    uint64_t took_ns = clock_ns() - start_ns;
    if (n != N_RECORDS)
        give_up("the source did not read everything");
    return took_ns;
}

static double rate(uint64_t took_ns)
{
    return N_RECORDS * 1e9 / (double)took_ns;
}

int main(void)
{
    char path[] = P_tmpdir "/loomwatch-bench-XXXXXX";
    uint64_t bare_ns = UINT64_MAX, source_ns = UINT64_MAX;
    int fd = mkstemp(path);
    if (fd < 0)
        give_up("no temporary file");
    close(fd);
    generate(path);
    for (int turn = 0; turn < N_TURNS; turn++) {
        uint64_t bare = read_bare(path), ours = read_source(path);
        bare_ns = bare < bare_ns ? bare : bare_ns;
        source_ns = ours < source_ns ? ours : source_ns;
    }
    unlink(path);
    printf("bare libpcap loop   %12.0f records/s\n", rate(bare_ns));
    printf("capture source      %12.0f events/s\n", rate(source_ns));
    printf("ratio               %12.2f\n", (double)bare_ns / (double)source_ns);
    return 0;
}
