/* SPDX-License-Identifier: MIT
 *
 * Pumps events from the sources into the monitor and the recordings.
 */
#include "watch_run.h"

#include "baseline_file.h"
#include "open_source.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { BATCH = 256, BATCHES_A_PUMP = 8 };

uint64_t lw_monotonic_ns(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (uint64_t)now.tv_sec * UINT64_C(1000000000) + (uint64_t)now.tv_nsec;
}

/* One recording a bus: "trip.pcap" for one, "trip.can0.pcap" and "trip.can1.pcap" for two. */
static void record_path(char *out, size_t size, const char *path, const char *bus, bool is_only)
{
    const char *slash = strrchr(path, '/'), *dot = strrchr(path, '.');
    char name[64];
    if (is_only) {
        snprintf(out, size, "%s", path);
        return;
    }
    snprintf(name, sizeof(name), "%s", bus);
    for (char *c = name; *c != '\0'; c++)
        if (*c == '/' || *c == ':')
            *c = '-';
    int n = dot && (!slash || dot > slash) ? (int)(dot - path) : (int)strlen(path);
    snprintf(out, size, "%.*s.%s%s", n, path, name, path + n);
}

/* A capture must not be recorded over while it is read. */
static bool is_watched(const struct lw_run *run, const char *path)
{
    struct stat a, b;
    for (unsigned i = 0; i < run->n_buses; i++)
        if (stat(path, &a) == 0 && stat(run->buses[i].word, &b) == 0 && a.st_dev == b.st_dev && a.st_ino == b.st_ino)
            return true;
    return false;
}

static int open_recordings(struct lw_run *run, const struct lw_options *options, char message[LW_RUN_TEXT])
{
    for (unsigned i = 0; options->record && i < run->n_buses; i++) {
        struct lw_run_bus *bus = &run->buses[i];
        record_path(bus->record_path, sizeof(bus->record_path), options->record, bus->info.name, run->n_buses == 1);
        if (access(bus->record_path, F_OK) == 0 && !options->may_replace) {
            snprintf(message, LW_RUN_TEXT, "%s exists; record to another file, or write --replace to overwrite it",
                     bus->record_path);
            return -EEXIST;
        }
        if (is_watched(run, bus->record_path)) {
            snprintf(message, LW_RUN_TEXT, "%s is what is being watched: record to another file", bus->record_path);
            return -EINVAL;
        }
        int rc = lw_recorder_create(&bus->recorder, bus->record_path);
        if (rc != 0) {
            snprintf(message, LW_RUN_TEXT, "%s: cannot record there: %s", bus->record_path, strerror(-rc));
            return rc;
        }
    }
    return 0;
}

/* Two sources of one name: the second is called so, on the screen, in a baseline and in its recording's name. */
static void tell_apart(struct lw_run *run, unsigned index)
{
    char *name = run->buses[index].info.name;
    for (unsigned i = 0; i < index; i++)
        if (strcmp(run->buses[i].info.name, name) == 0) {
            size_t most = sizeof(run->buses[index].info.name) - sizeof("-8"), n = strlen(name);
            snprintf(name + (n < most ? n : most), sizeof("-8"), "-%u", index + 1);
            return;
        }
}

static int open_sources(struct lw_run *run, const struct lw_options *options, unsigned first, struct lw_pace pace,
                        char message[LW_RUN_TEXT])
{
    unsigned n = options->n_arguments - first;
    for (unsigned i = 0; i < (n > 0 ? n : 1); i++) {
        struct lw_run_bus *bus = &run->buses[i];
        const char *name = n > 0 ? options->arguments[first + i] : "bench:harrow40";
        int rc = lw_open_source(&bus->source, name, i, options, pace, message);
        if (rc != 0)
            return rc;
        run->n_buses = i + 1;
        bus->word = name;
        bus->source.ops->describe(bus->source.self, &bus->info);
        tell_apart(run, i);
    }
    return 0;
}

static int create_monitor(struct lw_run *run, const struct lw_options *options)
{
    struct lw_monitor_config config = {
        .n_buses = run->n_buses, .bit_rate_bps = options->bit_rate_bps,
        .data_bit_rate_bps = options->data_bit_rate_bps, .sequence = options->sequence,
        .load_limit_permille = options->load_limit_permille,
    };
    for (unsigned i = 0; i < run->n_buses; i++)
        snprintf(config.bus_names[i], sizeof(config.bus_names[i]), "%s", run->buses[i].info.name);
    run->monitor = lw_monitor_create(&config);
    return run->monitor ? 0 : -ENOMEM;
}

static int load_baseline(struct lw_run *run, const char *path, char message[LW_RUN_TEXT])
{
    struct lw_baseline *baseline = malloc(sizeof(*baseline));
    if (!baseline)
        return -ENOMEM;
    const char *names[LW_MAX_BUSES];
    for (unsigned i = 0; i < run->n_buses; i++)
        names[i] = run->buses[i].info.name;
    int rc = lw_baseline_read(path, baseline, message, LW_RUN_TEXT);
    if (rc == 0) {
        run->n_unwatched = lw_baseline_match(baseline, names, run->n_buses);
        lw_monitor_set_baseline(run->monitor, baseline);
    }
    free(baseline);
    return rc;
}

int lw_run_open(struct lw_run *run, const struct lw_options *options, unsigned first_argument, struct lw_pace pace,
                char message[LW_RUN_TEXT])
{
    memset(run, 0, sizeof(*run));
    message[0] = '\0';
    run->for_ns = options->for_ns;
    int rc = open_sources(run, options, first_argument, pace, message);
    if (rc == 0)
        rc = create_monitor(run, options);
    if (rc == 0 && options->baseline)
        rc = load_baseline(run, options->baseline, message);
    if (rc == 0)
        rc = open_recordings(run, options, message);
    for (unsigned i = 0; rc == 0 && i < options->n_readings; i++)
        lw_run_reading(run, 0, &options->readings[i]);
    if (rc != 0) {
        if (message[0] == '\0')
            snprintf(message, LW_RUN_TEXT, "%s", strerror(-rc));
        lw_run_close(run);
    }
    return rc;
}

void lw_run_close(struct lw_run *run)
{
    for (unsigned i = 0; i < LW_MAX_BUSES; i++) {
        lw_recorder_destroy(run->buses[i].recorder);
        run->buses[i].recorder = NULL;
        lw_source_finish(&run->buses[i].source);
    }
    lw_monitor_destroy(run->monitor);
    run->monitor = NULL;
}

static void tell(const struct lw_run *run)
{
    if (run->listen)
        run->listen(run->listen_context);
}

static void end_bus(struct lw_run *run, unsigned index, int failure)
{
    run->buses[index].is_over = true;
    run->buses[index].failure = failure == -ENODATA ? 0 : failure;
    lw_monitor_end(run->monitor, index);
    tell(run);
}

static void note_record_failure(struct lw_run *run)
{
    run->has_record_failed = true;
    lw_monitor_set_record_failed(run->monitor, true);
}

/* What no source delivers: what the operator did goes into the recording too, so that it can be judged again, and the verdicts. */
static void record_deed(struct lw_run *run, unsigned index, struct lw_event deed)
{
    struct lw_run_bus *bus = &run->buses[index];
    deed.bus = (uint8_t)index;
    deed.stamp = LW_STAMP_HOST;
    deed.t_ns = bus->source.ops->now_ns(bus->source.self, lw_monotonic_ns());
    if (bus->recorder && !run->has_record_failed && lw_recorder_add(bus->recorder, &deed) != 0)
        note_record_failure(run);
}

/* Each change of the verdict, and the last one: so a recording also tells how far time went after the last frame. */
static void record_verdict(struct lw_run *run, unsigned index, bool is_last)
{
    const struct lw_verdict *verdict = lw_monitor_verdict(run->monitor, index);
    struct lw_told_verdict now = { verdict->picture, verdict->confidence, verdict->n_named > 0 ? verdict->named[0].cause : 0 };
    struct lw_run_bus *bus = &run->buses[index];
    if (!bus->recorder || (!is_last && memcmp(&now, &bus->told, sizeof(now)) == 0))
        return;
    bus->told = now;
    record_deed(run, index, (struct lw_event){ .kind = LW_EVENT_VERDICT, .told = now });
}

/* The time to watch for is over. */
static void end_in_time(struct lw_run *run, unsigned index)
{
    lw_monitor_tick(run->monitor, index, run->buses[index].begin_ns + run->for_ns);
    record_verdict(run, index, true);
    end_bus(run, index, 0);
}

static bool is_past_end(const struct lw_run *run, const struct lw_run_bus *bus, uint64_t t_ns)
{
    return run->for_ns != 0 && bus->has_begun && t_ns > bus->begin_ns && t_ns - bus->begin_ns >= run->for_ns;
}

static void take_event(struct lw_run *run, struct lw_run_bus *bus, const struct lw_event *event)
{
    if (!bus->has_begun) {
        bus->has_begun = true;
        bus->begin_ns = event->t_ns > 0 ? event->t_ns : 1;   /* as the monitor does, to which 0 is "not yet" */
    }
    lw_monitor_feed(run->monitor, event);
    tell(run);
    run->n_events++;
    if (bus->recorder && !run->has_record_failed && lw_recorder_add(bus->recorder, event) != 0)
        note_record_failure(run);
}

/* One batch of one bus. Returns true if more may be there. */
static bool take_batch(struct lw_run *run, unsigned index, uint64_t mono_ns)
{
    static struct lw_event events[BATCH];
    struct lw_run_bus *bus = &run->buses[index];
    int n = bus->source.ops->read(bus->source.self, mono_ns, events, BATCH);
    if (n < 0) {
        end_bus(run, index, n);
        return false;
    }
    for (int i = 0; i < n; i++) {
        if (is_past_end(run, bus, events[i].t_ns)) {
            end_in_time(run, index);
            return false;
        }
        take_event(run, bus, &events[i]);
    }
    return n == BATCH;
}

static void tick(struct lw_run *run, unsigned index, uint64_t mono_ns)
{
    struct lw_run_bus *bus = &run->buses[index];
    uint64_t now = bus->source.ops->now_ns(bus->source.self, mono_ns);
    if (now == 0)
        return;
    if (is_past_end(run, bus, now)) {
        end_in_time(run, index);
        return;
    }
    lw_monitor_tick(run->monitor, index, now);
    record_verdict(run, index, false);
    tell(run);
}

bool lw_run_pump(struct lw_run *run, uint64_t mono_ns)
{
    bool has_more = false;
    for (unsigned i = 0; i < run->n_buses; i++) {
        bool is_full = true;
        for (int batch = 0; batch < BATCHES_A_PUMP && is_full && !run->buses[i].is_over; batch++)
            is_full = take_batch(run, i, mono_ns);
        if (run->buses[i].is_over)
            continue;
        has_more = has_more || is_full;
        tick(run, i, mono_ns);
    }
    return has_more;
}

size_t lw_run_poll_fds(struct lw_run *run, struct pollfd out[LW_RUN_MAX_FDS])
{
    size_t n = 0;
    for (unsigned i = 0; i < run->n_buses; i++) {
        int fds[LW_SOURCE_MAX_FDS];
        if (run->buses[i].is_over)
            continue;
        size_t n_fds = run->buses[i].source.ops->poll_fds(run->buses[i].source.self, fds);
        for (size_t k = 0; k < n_fds; k++)
            out[n++] = (struct pollfd){ .fd = fds[k], .events = POLLIN };
    }
    return n;
}

uint64_t lw_run_due_ns(struct lw_run *run, uint64_t mono_ns)
{
    uint64_t soonest = UINT64_MAX;
    for (unsigned i = 0; i < run->n_buses; i++) {
        if (run->buses[i].is_over)
            continue;
        uint64_t due = run->buses[i].source.ops->due_ns(run->buses[i].source.self, mono_ns);
        soonest = due < soonest ? due : soonest;
    }
    return soonest;
}

void lw_run_flush(struct lw_run *run)
{
    for (unsigned i = 0; i < run->n_buses; i++)
        if (run->buses[i].recorder && lw_recorder_flush(run->buses[i].recorder) != 0 && !run->has_record_failed)
            note_record_failure(run);
}

void lw_run_reading(struct lw_run *run, unsigned index, const struct lw_meter_reading *reading)
{
    record_deed(run, index, (struct lw_event){ .kind = LW_EVENT_METER, .meter = *reading });
    lw_monitor_reading(run->monitor, index, reading);
}

void lw_run_mark(struct lw_run *run, enum lw_mark kind)
{
    for (unsigned i = 0; i < run->n_buses; i++)
        record_deed(run, i, (struct lw_event){ .kind = LW_EVENT_MARK, .mark = (uint8_t)kind });
    lw_monitor_mark(run->monitor, kind);
}

bool lw_run_is_over(const struct lw_run *run)
{
    for (unsigned i = 0; i < run->n_buses; i++)
        if (!run->buses[i].is_over)
            return false;
    return true;
}
