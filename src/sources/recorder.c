/* SPDX-License-Identifier: MIT
 *
 * Writes a capture file through libpcap and knows at every moment how much of it is whole: libpcap itself
 * looks at no write error. Called by the event loop in app/, in one thread.
 */
#include "loomwatch/sources/recorder.h"

#include "loomwatch/sources/capture_record.h"

#include <errno.h>
#include <pcap/pcap.h>
#include <stdio_ext.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

/* Source: pcap file format, tcpdump group. */
enum { FILE_HEADER = 24, PACKET_HEADER = 16, AT_CAPTURED_LENGTH = 8 };

/* The buffer holds more than is ever left in it, so that stdio writes at our flush only and a failure has
 * one place. */
enum { BUFFER = 64 * 1024, FLUSH_AT = 32 * 1024 };

#define NS_PER_S 1000000000u

struct lw_recorder {
    pcap_t *pcap;
    pcap_dumper_t *dumper;
    FILE *file;                    /* owned by dumper once that exists */
    int error;                     /* 0 or the -errno with which writing stopped */
    off_t safe_offset;             /* end of the last record that the kernel has whole */
    uint64_t n_safe;
    size_t pending_bytes;
    uint64_t n_pending;
    char buffer[BUFFER];
};

/* Counts in what reached the file whole beyond the last good flush, and cuts off the rest. */
static void keep_whole_records(struct lw_recorder *recorder)
{
    int fd = fileno(recorder->file);
    struct stat st;
    if (fstat(fd, &st) != 0 || !S_ISREG(st.st_mode))
        return;
    for (;;) {
        uint32_t captured;
        if (pread(fd, &captured, sizeof(captured), recorder->safe_offset + AT_CAPTURED_LENGTH) != sizeof(captured))
            break;
        off_t end = recorder->safe_offset + PACKET_HEADER + (off_t)captured;
        if (end > st.st_size)
            break;
        recorder->safe_offset = end;
        recorder->n_safe++;
    }
    if (ftruncate(fd, recorder->safe_offset) != 0)
        return;   /* a reader takes a cut-off last record as such */
}

static int fail(struct lw_recorder *recorder, int error)
{
    recorder->error = error ? -error : -EIO;
    /* What stdio still holds would be written behind the cut when the file is closed. */
    __fpurge(recorder->file);
    keep_whole_records(recorder);
    return recorder->error;
}

int lw_recorder_flush(struct lw_recorder *recorder)
{
    if (recorder->error || !recorder->pending_bytes)
        return recorder->error;
    errno = 0;
    if (fflush(recorder->file) != 0 || ferror(recorder->file))
        return fail(recorder, errno);
    recorder->safe_offset += (off_t)recorder->pending_bytes;
    recorder->n_safe += recorder->n_pending;
    recorder->pending_bytes = 0;
    recorder->n_pending = 0;
    return 0;
}

int lw_recorder_add(struct lw_recorder *recorder, const struct lw_event *event)
{
    if (recorder->error)
        return recorder->error;
    uint8_t bytes[LW_CAPTURE_RECORD_MAX];
    size_t n = lw_capture_encode(event, bytes);
    /* In a file of nanoseconds libpcap takes them from the field of the microseconds. */
    struct pcap_pkthdr header = { .ts = { (time_t)(event->t_ns / NS_PER_S), (suseconds_t)(event->t_ns % NS_PER_S) },
                                  .caplen = (bpf_u_int32)n, .len = (bpf_u_int32)n };
    pcap_dump((u_char *)recorder->dumper, &header, bytes);
    recorder->pending_bytes += PACKET_HEADER + n;
    recorder->n_pending++;
    return recorder->pending_bytes >= FLUSH_AT ? lw_recorder_flush(recorder) : 0;
}

uint64_t lw_recorder_count(const struct lw_recorder *recorder)
{
    return recorder->n_safe;
}

static void release(struct lw_recorder *recorder)
{
    if (recorder->dumper)
        pcap_dump_close(recorder->dumper);
    else if (recorder->file)
        fclose(recorder->file);
    if (recorder->pcap)
        pcap_close(recorder->pcap);
    free(recorder);
}

/* The header goes out at once: a file that is killed before its first event is an empty capture, not an
 * empty file. */
static int begin(struct lw_recorder *recorder, const char *path)
{
    recorder->file = fopen(path, "w+e");
    if (!recorder->file)
        return -errno;
    setvbuf(recorder->file, recorder->buffer, _IOFBF, BUFFER);
    recorder->pcap = pcap_open_dead_with_tstamp_precision(LW_CAPTURE_LINK_TYPE, LW_CAPTURE_RECORD_MAX,
                                                          PCAP_TSTAMP_PRECISION_NANO);
    if (!recorder->pcap)
        return -ENOMEM;
    errno = 0;
    /* libpcap closes the file where its header cannot be written; into an empty buffer it can. */
    recorder->dumper = pcap_dump_fopen(recorder->pcap, recorder->file);
    if (!recorder->dumper || fflush(recorder->file) != 0) {
        int error = errno ? errno : EIO;
        __fpurge(recorder->file);
        return -error;
    }
    recorder->safe_offset = FILE_HEADER;
    return 0;
}

int lw_recorder_create(struct lw_recorder **out, const char *path)
{
    struct lw_recorder *recorder = calloc(1, sizeof(*recorder));
    if (!recorder)
        return -ENOMEM;
    int error = begin(recorder, path);
    if (error) {
        release(recorder);
        return error;
    }
    *out = recorder;
    return 0;
}

int lw_recorder_destroy(struct lw_recorder *recorder)
{
    if (!recorder)
        return 0;
    int error = lw_recorder_flush(recorder);
    release(recorder);
    return error;
}
