/* SPDX-License-Identifier: MIT
 *
 * Reading a capture through the contract of a source, in the few words a test has for it.
 */
#ifndef LOOMWATCH_TEST_CAPTURE_SESSION_H
#define LOOMWATCH_TEST_CAPTURE_SESSION_H

#include "loomwatch/sources/capture.h"

#include "capture_bytes.h"
#include "scratch_file.h"

#include <setjmp.h>
#include <stdarg.h>

#include <cmocka.h>

enum { SESSION_EVENTS = 64, SESSION_BUS = 3 };

/* 11-bit 101, two bytes, without padding: records of odd length. */
static const uint8_t a_record[] = { 0, 0, 1, 1, 2, 0, 0, 0, 0xAB, 0xCD };

struct capture_session {
    struct scratch_file file;
    struct lw_source source;
    int error;                       /* what opening returned */
    char message[LW_SOURCE_TEXT];
};

static inline struct capture_session session_open_path(const char *path, const struct lw_capture_options *options)
{
    struct capture_session session = { .file.fd = -1 };
    session.error = lw_capture_open(&session.source, path, SESSION_BUS, options, session.message);
    return session;
}

static inline struct capture_session session_open(const void *bytes, size_t n,
                                                  const struct lw_capture_options *options)
{
    struct scratch_file file = scratch_file_open();
    scratch_file_fill(&file, bytes, n);
    struct capture_session session = session_open_path(file.path, options);
    session.file = file;
    return session;
}

/* As session_open, of a capture that must open. */
static inline struct capture_session session_open_bytes(const struct capture_bytes *bytes,
                                                        const struct lw_capture_options *options)
{
    struct capture_session session = session_open(bytes->data, bytes->n, options);
    if (session.error)
        print_message("  %s\n", session.message);
    assert_int_equal(session.error, 0);
    return session;
}

static inline int session_read(struct capture_session *session, uint64_t mono_ns, struct lw_event *out, size_t max)
{
    return session->source.ops->read(session->source.self, mono_ns, out, max);
}

static inline uint64_t session_due(struct capture_session *session, uint64_t mono_ns)
{
    return session->source.ops->due_ns(session->source.self, mono_ns);
}

static inline uint64_t session_now(struct capture_session *session, uint64_t mono_ns)
{
    return session->source.ops->now_ns(session->source.self, mono_ns);
}

/* Reads to the end, however it is paced, and keeps the first max events. Returns how many there were. */
static inline size_t session_read_all(struct capture_session *session, struct lw_event *out, size_t max)
{
    size_t n = 0;
    for (;;) {
        struct lw_event events[7];
        int got = session_read(session, UINT64_MAX / 4, events, 7);
        if (got < 0)
            return n;
        for (int i = 0; i < got; i++, n++)
            if (n < max)
                out[n] = events[i];
    }
}

static inline struct lw_source_info session_describe(struct capture_session *session)
{
    struct lw_source_info info;
    session->source.ops->describe(session->source.self, &info);
    return info;
}

static inline void session_close(struct capture_session *session)
{
    lw_source_finish(&session->source);
    if (session->file.fd >= 0)
        scratch_file_close(&session->file);
}

/* Times of the events of a little capture in ms, all of the same frame. */
static inline struct capture_bytes capture_of_times(const int *ms, size_t n)
{
    struct capture_bytes bytes = { 0 };
    put_pcap_header(&bytes, PCAP_US, 227);
    for (size_t i = 0; i < n; i++)
        put_pcap_packet(&bytes, 1000 + (uint32_t)ms[i] / 1000, (uint32_t)ms[i] % 1000 * 1000, a_record,
                        sizeof(a_record));
    return bytes;
}

#endif
