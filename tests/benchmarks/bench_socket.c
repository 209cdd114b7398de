/* SPDX-License-Identifier: MIT
 *
 * From socket to frame table on vcan0, beside a bare recvmmsg loop in the same run, by turns. Two ways: while a sending
 * process is at work, as on a bus (the goal: 0.8 of the bare loop, nothing lost; the sender's own work is in both); and
 * from a queue that was filled before, where nothing but the two readers is timed, which is far stricter. Run by
 * `meson test --benchmark` through scripts/in-can-kernel.
 */
#include "loomwatch/core/monitor.h"
#include "loomwatch/sources/socketcan.h"

#include <errno.h>
#include <linux/can.h>
#include <net/if.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { N_FRAMES = 60000, N_IDS = 150, BATCH = 256, ROUNDS = 5, BUFFER = 64 * 1024 * 1024 };
static const double patience_s = 3;      /* no frame for so long: the rest is lost */

struct result {
    double took_s;
    size_t n_received, n_lost;
};

static double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

static int open_can(void)
{
    struct sockaddr_can address = { .can_family = AF_CAN, .can_ifindex = (int)if_nametoindex("vcan0") };
    int fd = socket(AF_CAN, SOCK_RAW | SOCK_CLOEXEC, CAN_RAW);
    if (fd >= 0 && (address.can_ifindex == 0 || bind(fd, (struct sockaddr *)&address, sizeof address) != 0)) {
        close(fd);
        return -1;
    }
    return fd;
}

static void send_frames(size_t n)
{
    int fd = open_can();
    for (size_t i = 0; fd >= 0 && i < n;) {
        struct can_frame frame = { .can_id = (canid_t)(0x080 + i % N_IDS * 11), .len = 8 };
        memcpy(frame.data, &i, sizeof i);
        if (write(fd, &frame, sizeof frame) == (ssize_t)sizeof frame)
            i++;
        else if (errno != ENOBUFS && errno != EINTR)
            break;
    }
    _exit(fd >= 0 ? 0 : 1);
}

/* The sender has finished when this returns, unless the run is live. */
static pid_t start_sender(size_t n, bool is_live)
{
    pid_t pid = fork();
    if (pid == 0)
        send_frames(n);
    if (pid > 0 && !is_live)
        waitpid(pid, NULL, 0);
    return is_live ? pid : 0;
}

static void end_sender(pid_t pid)
{
    if (pid > 0)
        waitpid(pid, NULL, 0);
}

/* Takes a batch and tells how many frames were in it. */
struct reader {
    size_t (*take)(struct reader *reader, size_t *n_lost);
    int fd;
    struct lw_source source;
    struct lw_monitor *monitor;
    uint64_t sum;
};

/* The clock starts before the take that brings the first frame and stands at the last. */
static struct result drain(struct reader *reader, size_t n_expected)
{
    struct result result = { 0 };
    double start = 0, last = seconds();
    while (result.n_received + result.n_lost < n_expected) {
        double before = seconds();
        size_t n = reader->take(reader, &result.n_lost);
        if (n > 0) {
            start = result.n_received ? start : before;
            last = seconds();
            result.n_received += n;
        } else if (before - last > patience_s)
            break;
        else
            usleep(200);
    }
    result.took_s = last - start;
    result.n_lost = n_expected - result.n_received;
    return result;
}

static size_t take_bare(struct reader *reader, size_t *n_lost)
{
    static struct can_frame frames[BATCH];
    static struct iovec vectors[BATCH];
    static struct mmsghdr headers[BATCH];
    (void)n_lost;
    for (unsigned i = 0; i < BATCH; i++) {
        vectors[i] = (struct iovec){ &frames[i], sizeof frames[i] };
        headers[i].msg_hdr = (struct msghdr){ .msg_iov = &vectors[i], .msg_iovlen = 1 };
    }
    int n = recvmmsg(reader->fd, headers, BATCH, MSG_DONTWAIT, NULL);
    for (int i = 0; i < n; i++)
        reader->sum += frames[i].can_id + frames[i].data[0];
    return n > 0 ? (size_t)n : 0;
}

static int run_bare(size_t n_expected, bool is_live, struct result *out)
{
    struct reader reader = { .take = take_bare, .fd = open_can() };
    int size = BUFFER;
    if (reader.fd < 0)
        return -errno;
    setsockopt(reader.fd, SOL_SOCKET, SO_RCVBUFFORCE, &size, sizeof size);
    pid_t sender = start_sender(n_expected, is_live);
    *out = drain(&reader, n_expected);
    end_sender(sender);
    close(reader.fd);
    return 0;
}

static size_t take_whole(struct reader *reader, size_t *n_lost)
{
    static struct lw_event events[BATCH];
    uint64_t mono_ns = (uint64_t)(seconds() * 1e9);
    int n = reader->source.ops->read(reader->source.self, mono_ns, events, BATCH);
    size_t n_frames = 0;
    for (int i = 0; i < n; i++) {
        lw_monitor_feed(reader->monitor, &events[i]);
        n_frames += events[i].kind == LW_EVENT_FRAME;
        *n_lost += events[i].kind == LW_EVENT_LOSS ? events[i].loss.n_frames : 0;
    }
    return n_frames;
}

static int run_whole(size_t n_expected, bool is_live, struct result *out)
{
    const struct lw_monitor_config config = { .n_buses = 1, .sequence = LW_SEQUENCE_F3M, .load_limit_permille = 800 };
    char advice[LW_SOURCE_TEXT];
    struct reader reader = { .take = take_whole, .monitor = lw_monitor_create(&config) };
    int error = reader.monitor ? lw_socketcan_open(&reader.source, "vcan0", 0, advice) : -ENOMEM;
    if (error == 0) {
        pid_t sender = start_sender(n_expected, is_live);
        *out = drain(&reader, n_expected);
        end_sender(sender);
        reader.source.ops->destroy(reader.source.self);
    }
    lw_monitor_destroy(reader.monitor);
    return error;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *values, size_t n)
{
    qsort(values, n, sizeof *values, by_value);
    return values[n / 2];
}

static void must(int error, const char *what)
{
    if (error == 0)
        return;
    printf("%s: %s\n", what, strerror(-error));
    exit(1);
}

/* Returns how many frames we lost. */
static size_t compare(const char *title, bool is_live)
{
    double bare_hz[ROUNDS], whole_hz[ROUNDS], ratio[ROUNDS];
    size_t n_lost = 0, n_lost_bare = 0;
    for (int round = 0; round < ROUNDS; round++) {
        struct result bare, whole;
        must(run_bare(N_FRAMES, is_live, &bare), "bare loop");
        must(run_whole(N_FRAMES, is_live, &whole), "socket to table");
        bare_hz[round] = (double)bare.n_received / bare.took_s;
        whole_hz[round] = (double)whole.n_received / whole.took_s;
        ratio[round] = whole_hz[round] / bare_hz[round];
        n_lost_bare += bare.n_lost;
        n_lost += whole.n_lost;
    }
    printf("%s, median of %d times %d frames: socket to table %.0f frames/s, lost %zu; bare recvmmsg %.0f frames/s, "
           "lost %zu; ratio %.2f\n", title, ROUNDS, N_FRAMES, median(whole_hz, ROUNDS), n_lost, median(bare_hz, ROUNDS),
           n_lost_bare, median(ratio, ROUNDS));
    return n_lost;
}

int main(void)
{
    setvbuf(stdout, NULL, _IOLBF, 0);
    size_t n_lost = compare("sender at work (goal 0.80, nothing lost)", true);
    n_lost += compare("queue filled before", false);
    return n_lost > 0;
}
