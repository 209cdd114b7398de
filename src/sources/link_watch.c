/* SPDX-License-Identifier: MIT
 *
 * Follows one interface in a thread: asks the kernel every half second, and at once when rtnetlink tells of a change.
 * The only file that calls libsocketcan, whose calls wait without limit; so nobody who draws or receives may call
 * them. Used by socketcan.c, and by whoever wants to know an interface before watching it.
 */
#include "loomwatch/sources/link_watch.h"

#include <errno.h>
#include <libsocketcan.h>
#include <linux/can/netlink.h>
#include <net/if.h>
#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <time.h>
#include <unistd.h>

#include "link_list.h"

enum { POLL_MS = 500 };

struct lw_link_watch {
    char interface[IFNAMSIZ];
    int ready_fd;              /* readable: a report is ready */
    int wake_fd;               /* readable: the thread is wanted */
    int route_fd;              /* changes of interfaces */
    pthread_t thread;
    pthread_mutex_t lock;      /* guards all below */
    struct lw_link_report report;
    bool is_ready;             /* not yet taken */
    bool has_report;
    bool wants_end, wants_report;
};

/* Offsets of all readings of a link: compared one by one, as the gaps between them have no defined value. */
static const size_t readings[] = {
    offsetof(struct lw_link, bit_rate_bps), offsetof(struct lw_link, data_bit_rate_bps),
    offsetof(struct lw_link, sample_point_permille), offsetof(struct lw_link, tec), offsetof(struct lw_link, rec),
    offsetof(struct lw_link, restart_ms), offsetof(struct lw_link, listen_only),
    offsetof(struct lw_link, error_reporting), offsetof(struct lw_link, one_shot),
    offsetof(struct lw_link, n_bus_errors), offsetof(struct lw_link, n_error_warning),
    offsetof(struct lw_link, n_error_passive), offsetof(struct lw_link, n_bus_off),
    offsetof(struct lw_link, n_arbitration_lost), offsetof(struct lw_link, n_restarts),
};

bool lw_link_equal(const struct lw_link *a, const struct lw_link *b)
{
    if (a->is_present != b->is_present || a->is_up != b->is_up || a->has_carrier != b->has_carrier ||
        a->controller != b->controller || a->state != b->state)
        return false;
    for (size_t i = 0; i < sizeof(readings) / sizeof(readings[0]); i++) {
        const struct lw_reading *x = (const void *)((const char *)a + readings[i]);
        const struct lw_reading *y = (const void *)((const char *)b + readings[i]);

        if (x->is_known != y->is_known || (x->is_known && x->value != y->value))
            return false;
    }
    return true;
}

static enum lw_bus_state state_of(int kernel_state)
{
    switch (kernel_state) {
    case CAN_STATE_ERROR_ACTIVE: return LW_STATE_ERROR_ACTIVE;
    case CAN_STATE_ERROR_WARNING: return LW_STATE_ERROR_WARNING;
    case CAN_STATE_ERROR_PASSIVE: return LW_STATE_ERROR_PASSIVE;
    case CAN_STATE_BUS_OFF: return LW_STATE_BUS_OFF;
    case CAN_STATE_STOPPED: return LW_STATE_STOPPED;
    case CAN_STATE_SLEEPING: return LW_STATE_SLEEPING;
    default: return LW_STATE_UNKNOWN;
    }
}

static bool tells(const struct lw_link_facts *facts, unsigned detail)
{
    return facts->details & 1u << detail;
}

/* A mode that is off is known to be so only if the driver has it: otherwise nobody controls it. */
static struct lw_reading mode(const struct lw_link_facts *facts, uint32_t bit)
{
    if (facts->modes & bit)
        return LW_KNOWN(1);
    return tells(facts, IFLA_CAN_CTRLMODE_EXT) && facts->modes_supported & bit ? LW_KNOWN(0) : LW_UNKNOWN;
}

static void ask_timing(const char *interface, struct lw_link *out)
{
    struct can_bittiming timing = { 0 };

    if (can_get_bittiming(interface, &timing) != 0)
        return;
    if (timing.bitrate)
        out->bit_rate_bps = LW_KNOWN(timing.bitrate);
    if (timing.sample_point)
        out->sample_point_permille = LW_KNOWN(timing.sample_point);
}

static void ask_statistics(const char *interface, struct lw_link *out)
{
    struct can_device_stats stats = { 0 };

    if (can_get_device_stats(interface, &stats) != 0)
        return;
    out->n_bus_errors = LW_KNOWN(stats.bus_error);
    out->n_error_warning = LW_KNOWN(stats.error_warning);
    out->n_error_passive = LW_KNOWN(stats.error_passive);
    out->n_bus_off = LW_KNOWN(stats.bus_off);
    out->n_arbitration_lost = LW_KNOWN(stats.arbitration_lost);
    out->n_restarts = LW_KNOWN(stats.restarts);
}

/* libsocketcan complains on standard error about what is not there, so it is asked only for what is. */
static void ask_controller(const char *interface, const struct lw_link_facts *facts, struct lw_link *out)
{
    struct can_berr_counter counters = { 0 };
    uint32_t restart_ms = 0;
    int state = 0;

    if (tells(facts, IFLA_CAN_STATE) && can_get_state(interface, &state) == 0)
        out->state = state_of(state);
    if (tells(facts, IFLA_CAN_BERR_COUNTER) && can_get_berr_counter(interface, &counters) == 0) {
        out->tec = LW_KNOWN(counters.txerr);
        out->rec = LW_KNOWN(counters.rxerr);
    }
    if (tells(facts, IFLA_CAN_RESTART_MS) && can_get_restart_ms(interface, &restart_ms) == 0)
        out->restart_ms = LW_KNOWN(restart_ms);
    if (tells(facts, IFLA_CAN_BITTIMING))
        ask_timing(interface, out);
    if (facts->has_statistics)
        ask_statistics(interface, out);
}

void lw_link_query(const char *interface, struct lw_link *out, unsigned *ifindex)
{
    struct lw_link_facts facts;

    memset(out, 0, sizeof(*out));
    *ifindex = 0;
    if (lw_link_facts(interface, &facts) != 0)
        return;
    *ifindex = facts.ifindex;
    out->is_present = true;
    out->is_up = facts.is_up;
    out->has_carrier = facts.has_carrier;
    out->controller = facts.controller;
    if (facts.controller != LW_CONTROLLER_REAL)
        return;
    out->data_bit_rate_bps = facts.data_bit_rate_bps;
    out->listen_only = mode(&facts, CAN_CTRLMODE_LISTENONLY);
    out->error_reporting = mode(&facts, CAN_CTRLMODE_BERR_REPORTING);
    out->one_shot = mode(&facts, CAN_CTRLMODE_ONE_SHOT);
    if (if_nametoindex(interface) == facts.ifindex)   /* still there */
        ask_controller(interface, &facts, out);
}

static void ask_limits(const char *interface, struct lw_link_timing *out)
{
    struct can_bittiming_const limits;
    struct can_clock clock;

    if (can_get_bittiming_const(interface, &limits) != 0 || can_get_clock(interface, &clock) != 0 || clock.freq == 0)
        return;
    out->has_limits = true;
    out->timing.clock_hz = clock.freq;
    out->limits = (struct lw_timing_limits){
        limits.tseg1_min, limits.tseg1_max, limits.tseg2_min, limits.tseg2_max, limits.sjw_max, limits.brp_min, limits.brp_max,
        limits.brp_inc,
    };
}

int lw_link_ask_timing(const char *interface, struct lw_link_timing *out)
{
    struct lw_link_facts facts;
    struct can_bittiming timing = { 0 };
    int error = lw_link_facts(interface, &facts);

    memset(out, 0, sizeof(*out));
    if (error != 0)
        return error;
    out->is_can = facts.is_can;
    out->controller = facts.controller;
    out->data_bit_rate_bps = facts.data_bit_rate_bps;
    if (tells(&facts, IFLA_CAN_BITTIMING_CONST) && tells(&facts, IFLA_CAN_CLOCK))
        ask_limits(interface, out);
    if (!tells(&facts, IFLA_CAN_BITTIMING) || can_get_bittiming(interface, &timing) != 0 || timing.bitrate == 0)
        return 0;
    out->bit_rate_bps = LW_KNOWN(timing.bitrate);
    if (out->has_limits)
        out->timing = (struct lw_timing){
            out->timing.clock_hz, timing.brp, timing.prop_seg, timing.phase_seg1, timing.phase_seg2, timing.sjw,
        };
    return 0;
}

static void signal_fd(int fd)
{
    uint64_t one = 1;

    (void)!write(fd, &one, sizeof(one));   /* fails only when it is readable anyway */
}

static void clear_fd(int fd)
{
    uint64_t count;

    (void)!read(fd, &count, sizeof(count));
}

/* What was asked for before the kernel is questioned is answered by it; what is asked for meanwhile is not. */
static bool take_wish(struct lw_link_watch *watch)
{
    bool is_wanted;

    pthread_mutex_lock(&watch->lock);
    is_wanted = watch->wants_report;
    watch->wants_report = false;
    pthread_mutex_unlock(&watch->lock);
    return is_wanted;
}

static void publish(struct lw_link_watch *watch, const struct lw_link_report *report, bool is_wanted)
{
    pthread_mutex_lock(&watch->lock);
    if (!watch->has_report || is_wanted || report->ifindex != watch->report.ifindex ||
        !lw_link_equal(&report->link, &watch->report.link)) {
        watch->report = *report;
        watch->has_report = watch->is_ready = true;
        signal_fd(watch->ready_fd);
    }
    pthread_mutex_unlock(&watch->lock);
}

/* Waits until the next question is due. Returns false at the end. */
static bool wait_for_cause(struct lw_link_watch *watch, unsigned ifindex)
{
    struct pollfd fds[] = { { .fd = watch->wake_fd, .events = POLLIN }, { .fd = watch->route_fd, .events = POLLIN } };
    bool wants_end = false;
    int n;

    /* News about other interfaces restart the half second: they are rare. */
    do {
        n = poll(fds, 2, POLL_MS);
        if (n > 0 && fds[0].revents) {
            clear_fd(watch->wake_fd);
            break;
        }
    } while (n > 0 && !lw_link_heard(watch->route_fd, watch->interface, ifindex));
    pthread_mutex_lock(&watch->lock);
    wants_end = watch->wants_end;
    pthread_mutex_unlock(&watch->lock);
    return !wants_end;
}

static uint64_t clock_ns(void)
{
    struct timespec t;

    clock_gettime(CLOCK_REALTIME, &t);
    return (uint64_t)t.tv_sec * 1000000000u + (uint64_t)t.tv_nsec;
}

static void *follow(void *argument)
{
    struct lw_link_watch *watch = argument;
    struct lw_link_report report;
    bool is_wanted;

    do {
        is_wanted = take_wish(watch);
        report.asked_ns = clock_ns();
        lw_link_query(watch->interface, &report.link, &report.ifindex);
        publish(watch, &report, is_wanted);
    } while (wait_for_cause(watch, report.ifindex));
    return NULL;
}

/* Signals are the business of the program's own thread. */
static int start_thread(struct lw_link_watch *watch)
{
    sigset_t all, before;
    int error;

    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    error = pthread_create(&watch->thread, NULL, follow, watch);
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return -error;
}

static void release(struct lw_link_watch *watch)
{
    if (watch->ready_fd >= 0)
        close(watch->ready_fd);
    if (watch->wake_fd >= 0)
        close(watch->wake_fd);
    if (watch->route_fd >= 0)
        close(watch->route_fd);
    pthread_mutex_destroy(&watch->lock);
    free(watch);
}

int lw_link_watch_create(struct lw_link_watch **out, const char *interface)
{
    struct lw_link_watch *watch;
    int error;

    if (strlen(interface) >= IFNAMSIZ)
        return -EINVAL;
    watch = calloc(1, sizeof(*watch));
    if (!watch)
        return -ENOMEM;
    strncpy(watch->interface, interface, IFNAMSIZ - 1);
    pthread_mutex_init(&watch->lock, NULL);
    watch->wake_fd = watch->route_fd = -1;
    watch->ready_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    if (watch->ready_fd < 0 || (watch->wake_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK)) < 0) {
        error = -errno;
        goto fail;
    }
    error = watch->route_fd = lw_link_listen();
    if (error < 0)
        goto fail;
    error = start_thread(watch);
    if (error < 0)
        goto fail;
    *out = watch;
    return 0;

fail:
    release(watch);
    return error;
}

void lw_link_watch_destroy(struct lw_link_watch *watch)
{
    if (!watch)
        return;
    pthread_mutex_lock(&watch->lock);
    watch->wants_end = true;
    pthread_mutex_unlock(&watch->lock);
    signal_fd(watch->wake_fd);
    pthread_join(watch->thread, NULL);
    release(watch);
}

void lw_link_watch_ask(struct lw_link_watch *watch)
{
    pthread_mutex_lock(&watch->lock);
    watch->wants_report = true;
    pthread_mutex_unlock(&watch->lock);
    signal_fd(watch->wake_fd);
}

int lw_link_watch_fd(const struct lw_link_watch *watch)
{
    return watch->ready_fd;
}

bool lw_link_watch_take(struct lw_link_watch *watch, struct lw_link_report *out)
{
    bool is_ready;

    pthread_mutex_lock(&watch->lock);
    is_ready = watch->is_ready;
    if (is_ready) {
        clear_fd(watch->ready_fd);
        *out = watch->report;
        watch->is_ready = false;
    }
    pthread_mutex_unlock(&watch->lock);
    return is_ready;
}
