/* SPDX-License-Identifier: MIT
 *
 * A capture file as a source: opened and read through libpcap, its records handed out when their time has
 * come. Opened by app/, read through the contract of source.h.
 */
#include "loomwatch/sources/capture.h"

#include "capture_file.h"
#include "capture_tally.h"

#include <assert.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NS_PER_S UINT64_C(1000000000)

/* A step back of the recording clock by less than this is disorder among records, beyond it the clock was
 * set. */
#define CLOCK_SET_NS NS_PER_S

/* Year 2262. No damaged file takes bus time beyond it, so sums of times do not overflow. */
#define LATEST_NS ((uint64_t)INT64_MAX)

struct capture {
    pcap_t *pcap;
    char name[64];
    bool is_paced;
    double times;
    uint8_t bus;

    bool has_started;              /* the first read was, at start_mono_ns */
    uint64_t start_mono_ns;
    bool has_next;                 /* read from the file, not yet due; only when paced */
    struct lw_event next;
    bool has_ended;                /* nothing more comes from the file */
    bool has_told_end;
    uint64_t first_ns;             /* bus time of the first event */
    uint64_t delivered_ns;         /* of the last one handed out */
    uint64_t record_ns;            /* of the last one read */
    uint64_t shift_ns;             /* added to the file's times since its clock was set back */

    uint64_t n_events;
    struct lw_capture_tally tally;
};

/* Bus time never goes back, whatever the file says. */
static uint64_t in_order(struct capture *capture, uint64_t t_ns)
{
    t_ns += capture->shift_ns;
    if (t_ns > LATEST_NS)
        t_ns = LATEST_NS;
    if (t_ns < capture->record_ns) {
        capture->tally.n_backwards++;
        if (capture->record_ns - t_ns >= CLOCK_SET_NS)
            capture->shift_ns += capture->record_ns - t_ns;
        t_ns = capture->record_ns;
    }
    capture->record_ns = t_ns;
    return t_ns;
}

static uint64_t file_time_ns(const struct timeval *ts)
{
    /* Seconds are 32 bits without a sign in the file; libpcap passes them on as signed. */
    uint64_t s = ts->tv_sec < 0 ? (uint32_t)ts->tv_sec : (uint64_t)ts->tv_sec;
    uint64_t ns = ts->tv_usec < 0 || (uint64_t)ts->tv_usec >= NS_PER_S ? 0 : (uint64_t)ts->tv_usec;
    return s >= LATEST_NS / NS_PER_S ? LATEST_NS : s * NS_PER_S + ns;
}

static void end(struct capture *capture, int result)
{
    capture->has_ended = true;
    if (result == PCAP_ERROR_BREAK)
        return;
    capture->tally.is_cut_off = feof(pcap_file(capture->pcap));
    snprintf(capture->tally.trouble, sizeof(capture->tally.trouble), "%s", pcap_geterr(capture->pcap));
}

/* Reads one record. Returns false if it gave no event: not usable, or the file has ended. */
static bool read_record(struct capture *capture, struct lw_event *out)
{
    struct pcap_pkthdr *header;
    const u_char *bytes;
    int result = pcap_next_ex(capture->pcap, &header, &bytes);
    if (result != 1) {
        end(capture, result);
        return false;
    }
    capture->tally.n_records++;
    enum lw_record_fault fault = lw_capture_decode(bytes, header->caplen, capture->tally.is_swapped, out);
    if (fault != LW_RECORD_GOOD) {
        lw_capture_tally_fault(&capture->tally, fault, bytes, header->caplen);
        return false;
    }
    out->t_ns = in_order(capture, file_time_ns(&header->ts));
    out->hw_ns = 0;
    out->bus = capture->bus;
    out->stamp = LW_STAMP_CAPTURE;
    if (!capture->n_events++)
        capture->first_ns = out->t_ns;
    return true;
}

/* Limits of what a double holds: times of a damaged file may be centuries apart. */
static uint64_t scaled_ns(uint64_t ns, double factor)
{
    double scaled = (double)ns * factor;
    return scaled < 9e18 ? (uint64_t)scaled : (uint64_t)9e18;
}

static uint64_t due_of_next(const struct capture *capture)
{
    uint64_t after_ns = scaled_ns(capture->next.t_ns - capture->first_ns, 1 / capture->times);
    return after_ns > UINT64_MAX - capture->start_mono_ns ? UINT64_MAX : capture->start_mono_ns + after_ns;
}

/* Both look at about max records and no more, so that a file full of unusable ones does not hold up the
 * caller. */
static size_t read_full(struct capture *capture, struct lw_event *out, size_t max)
{
    size_t n = 0;
    for (size_t i = 0; i < max && !capture->has_ended; i++)
        n += read_record(capture, &out[n]);
    return n;
}

static void look_ahead(struct capture *capture)
{
    if (!capture->has_next && !capture->has_ended)
        capture->has_next = read_record(capture, &capture->next);
}

static size_t read_paced(struct capture *capture, uint64_t mono_ns, struct lw_event *out, size_t max)
{
    size_t n = 0;
    look_ahead(capture);
    for (size_t i = 0; i < max && !(capture->has_next && due_of_next(capture) > mono_ns); i++) {
        if (capture->has_next)
            out[n++] = capture->next;
        capture->has_next = false;
        look_ahead(capture);
    }
    return n;
}

static int capture_read(void *self, uint64_t mono_ns, struct lw_event *out, size_t max)
{
    struct capture *capture = self;
    if (!capture->has_started)
        capture->start_mono_ns = mono_ns;
    capture->has_started = true;
    size_t n = capture->is_paced ? read_paced(capture, mono_ns, out, max) : read_full(capture, out, max);
    if (n)
        capture->delivered_ns = out[n - 1].t_ns;
    else
        capture->has_told_end = capture->has_ended && !capture->has_next;
    return capture->has_told_end ? -ENODATA : (int)n;
}

static size_t capture_poll_fds(void *self, int out[LW_SOURCE_MAX_FDS])
{
    (void)self, (void)out;
    return 0;
}

/* The end is told by read(), so it too is due, once. */
static uint64_t capture_due_ns(void *self, uint64_t mono_ns)
{
    const struct capture *capture = self;
    if (capture->has_told_end)
        return UINT64_MAX;
    return capture->has_next ? due_of_next(capture) : mono_ns;
}

static uint64_t capture_now_ns(void *self, uint64_t mono_ns)
{
    const struct capture *capture = self;
    if (!capture->is_paced || !capture->has_next || mono_ns < capture->start_mono_ns)
        return capture->delivered_ns;
    uint64_t now_ns = capture->first_ns + scaled_ns(mono_ns - capture->start_mono_ns, capture->times);
    /* A caller that lags must not take what it has not read yet for missing. */
    if (now_ns > capture->next.t_ns)
        now_ns = capture->next.t_ns;
    return now_ns < capture->delivered_ns ? capture->delivered_ns : now_ns;
}

static void capture_describe(void *self, struct lw_source_info *out)
{
    const struct capture *capture = self;
    memset(out, 0, sizeof(*out));
    snprintf(out->name, sizeof(out->name), "%s", capture->name);
    snprintf(out->kind, sizeof(out->kind), "capture");
    lw_capture_tally_note(&capture->tally, out->note);
}

static void capture_destroy(void *self)
{
    struct capture *capture = self;
    if (!capture)
        return;
    if (capture->pcap)
        pcap_close(capture->pcap);
    free(capture);
}

static const struct lw_source_ops capture_ops = {
    .poll_fds = capture_poll_fds, .due_ns = capture_due_ns, .read = capture_read, .now_ns = capture_now_ns,
    .describe = capture_describe, .destroy = capture_destroy,
};

int lw_capture_open(struct lw_source *out, const char *path, unsigned bus, const struct lw_capture_options *options,
                    char message[LW_SOURCE_TEXT])
{
    assert(bus < LW_MAX_BUSES);
    assert(options->pace.kind != LW_PACE_TIMES || options->pace.times > 0);
    struct capture *capture = calloc(1, sizeof(*capture));
    if (!capture) {
        snprintf(message, LW_SOURCE_TEXT, "not enough memory to read %s", path);
        return -ENOMEM;
    }
    message[0] = '\0';
    int error = lw_capture_file_open(path, &capture->pcap, message);
    if (error) {
        capture_destroy(capture);
        return error;
    }
    snprintf(capture->name, sizeof(capture->name), "%s", basename(path));
    capture->bus = (uint8_t)bus;
    capture->tally.is_swapped = options->is_swapped;
    capture->is_paced = options->pace.kind != LW_PACE_FULL;
    capture->times = options->pace.kind == LW_PACE_TIMES ? options->pace.times : 1;
    *out = (struct lw_source){ &capture_ops, capture };
    return 0;
}
