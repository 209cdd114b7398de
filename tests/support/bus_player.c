/* SPDX-License-Identifier: MIT
 *
 * Plays a bus to a running program, for end-to-end tests: cyclic messages, error frames, a flood, or a serial-line adapter
 * with a real controller state. A program of its own; run inside scripts/in-can-kernel.
 */
#include <errno.h>
#include <limits.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "can_sender.h"
#include "slcan_player.h"

enum { MAX_MESSAGES = 256, LINE_BYTES = 100 };

static const char usage[] =
    "usage: bus_player cyclic INTERFACE ID:PERIOD_MS:LENGTH[:COUNT]... [--for SECONDSs]\n"
    "       bus_player error INTERFACE CLASS [DATA]...       class and up to 8 data bytes, hexadecimal\n"
    "       bus_player flood INTERFACE COUNT                 as fast as possible, 29-bit identifiers from 0\n"
    "       bus_player slcan NAME [SETTING]...               plays the adapter's lines from standard input, until its\n"
    "                                                        end; prints the interface's name once it is up\n"
    "An ID has 3 hexadecimal digits (11 bit) or 8 (29 bit). The first data byte of a cyclic message counts up.\n";

struct message {
    struct lw_frame frame;
    uint64_t period_ns, due_ns;
    unsigned long left;      /* ULONG_MAX: without end */
};

static int complain(const char *what, int error)
{
    fprintf(stderr, "bus_player: %s: %s\n", what, strerror(-error));
    return 1;
}

static uint64_t mono_ns(void)
{
    struct timespec t;

    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint64_t)t.tv_sec * 1000000000u + (uint64_t)t.tv_nsec;
}

static void sleep_until(uint64_t ns)
{
    struct timespec t = { (time_t)(ns / 1000000000u), (long)(ns % 1000000000u) };

    while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &t, NULL) == EINTR)
        continue;
}

/* "100:10:8" or "18FEF100:250:8:40" */
static int parse_message(const char *text, struct message *out)
{
    char id[LW_ID_TEXT];
    unsigned period_ms, len;
    unsigned long count = ULONG_MAX;
    struct lw_id_key key = { 0 };
    int n = sscanf(text, "%11[0-9A-Fa-f]:%u:%u:%lu", id, &period_ms, &len, &count);

    if (n < 3 || lw_id_parse(id, &key) != 0 || period_ms == 0 || len > LW_FRAME_MAX_LEN)
        return -EINVAL;
    *out = (struct message){ .period_ns = period_ms * 1000000ull, .left = count };
    out->frame.id = key.id;
    out->frame.len = (uint8_t)len;
    out->frame.flags = (key.is_extended ? LW_FRAME_EXTENDED : 0) | (len > LW_CLASSIC_MAX_LEN ? LW_FRAME_FD : 0);
    return 0;
}

/* The message that is due next, or NULL if none is left. */
static struct message *next_due(struct message *messages, size_t n)
{
    struct message *next = NULL;

    for (size_t i = 0; i < n; i++)
        if (messages[i].left && (!next || messages[i].due_ns < next->due_ns))
            next = &messages[i];
    return next;
}

/* An interface that is down is borne: the next frame may go out again. */
static int play(int fd, struct message *messages, size_t n, uint64_t end_ns)
{
    struct message *m;

    while ((m = next_due(messages, n)) && m->due_ns < end_ns) {
        int error;

        sleep_until(m->due_ns);
        error = can_sender_frame(fd, &m->frame);
        if (error != 0 && error != -ENETDOWN)
            return complain("send", error);
        if (m->frame.len)
            m->frame.data[0]++;
        m->due_ns += m->period_ns;
        m->left -= m->left != ULONG_MAX;
    }
    return 0;
}

static int cyclic(int argc, char **argv)
{
    struct message messages[MAX_MESSAGES];
    uint64_t start_ns = mono_ns(), end_ns = UINT64_MAX;
    size_t n = 0;
    int fd = can_sender_open(argv[0]);

    if (fd < 0)
        return complain(argv[0], fd);
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--for") == 0 && i + 1 < argc) {
            end_ns = start_ns + (uint64_t)(strtod(argv[++i], NULL) * 1e9);
        } else if (n == MAX_MESSAGES || parse_message(argv[i], &messages[n]) != 0) {
            return complain(argv[i], -EINVAL);
        } else {
            messages[n++].due_ns = start_ns;
        }
    }
    return play(fd, messages, n, end_ns);
}

static int parse_number(const char *text, int base, unsigned long max, unsigned long *out)
{
    char *end;

    errno = 0;
    *out = strtoul(text, &end, base);
    return end == text || *end || errno || *out > max ? -EINVAL : 0;
}

static int error_frame(int argc, char **argv)
{
    struct lw_error error = { 0 };
    int fd = can_sender_open(argv[0]), result;
    unsigned long value;

    if (fd < 0)
        return complain(argv[0], fd);
    if (argc < 2 || argc > 10 || parse_number(argv[1], 16, 0x1FFFFFFF, &value) != 0)
        return complain("error", -EINVAL);
    error.class_bits = (uint32_t)value;
    for (int i = 2; i < argc; i++) {
        if (parse_number(argv[i], 16, 0xFF, &value) != 0)
            return complain(argv[i], -EINVAL);
        error.data[i - 2] = (uint8_t)value;
    }
    result = can_sender_error(fd, &error);
    return result == 0 ? 0 : complain("send", result);
}

static int flood(int argc, char **argv)
{
    int fd = can_sender_open(argv[0]);
    unsigned long n;

    if (fd < 0)
        return complain(argv[0], fd);
    if (argc != 2 || parse_number(argv[1], 10, ULONG_MAX, &n) != 0)
        return complain("flood", -EINVAL);
    for (unsigned long i = 0; i < n; i++) {
        struct lw_frame frame = { .id = (uint32_t)i & LW_EXTENDED_ID_MAX, .flags = LW_FRAME_EXTENDED, .len = 8 };
        int error = can_sender_frame(fd, &frame);

        if (error != 0)
            return complain("send", error);
    }
    return 0;
}

static int slcan(int argc, char **argv)
{
    struct slcan_player player;
    char settings[256] = "", line[LINE_BYTES];
    int error;

    for (int i = 1; i < argc; i++) {
        size_t used = strlen(settings);
        snprintf(settings + used, sizeof(settings) - used, "%s ", argv[i]);
    }
    error = slcan_player_open(&player, argv[0], argc > 1 ? settings : "bitrate 500000");
    if (error != 0)
        return complain(argv[0], error);
    puts(player.name);
    fflush(stdout);
    while (error == 0 && fgets(line, sizeof(line), stdin)) {
        line[strcspn(line, "\r\n")] = '\0';
        error = slcan_player_say(&player, line);
    }
    slcan_player_close(&player);
    return error == 0 ? 0 : complain("adapter", error);
}

int main(int argc, char **argv)
{
    static const struct { const char *name; int (*run)(int argc, char **argv); } commands[] = {
        { "cyclic", cyclic }, { "error", error_frame }, { "flood", flood }, { "slcan", slcan },
    };

    for (size_t i = 0; argc > 2 && i < sizeof(commands) / sizeof(commands[0]); i++)
        if (strcmp(argv[1], commands[i].name) == 0)
            return commands[i].run(argc - 2, argv + 2);
    fputs(usage, stderr);
    return 2;
}
