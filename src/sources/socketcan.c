/* SPDX-License-Identifier: MIT
 *
 * A CAN interface as a source: frames and losses from its socket, and the link as link_watch.c tells it, woven into one
 * order of time. Receives only. Opened by the application.
 */
#include "loomwatch/sources/socketcan.h"

#include <errno.h>
#include <net/if.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "link_list.h"
#include "loomwatch/sources/link_watch.h"
#include "socketcan_advice.h"
#include "socketcan_socket.h"

enum {
    RETRY_MS = 500,
    COUNT_MS = 100,
    /* Two processors may hand frames over a little out of order; a larger step back is the clock being set. */
    DISORDER_NS = 10000000,
    STATE_CLASSES = LW_CLASS_CONTROLLER | LW_CLASS_BUS_OFF | LW_CLASS_RESTARTED,
};

struct socketcan {
    char interface[IFNAMSIZ];
    uint8_t bus;
    unsigned ifindex;                   /* of the interface that the socket is bound to; 0 = closed */
    unsigned wanted_ifindex;            /* of the interface that has our name now; 0 = none */
    uint64_t retry_mono_ns;             /* when to try again to listen to it */
    uint32_t n_dropped;                 /* by the kernel, as far as told to the reader; from 0 with each socket */
    uint64_t last_ns;
    uint64_t mono_ns;                   /* of the running read */
    uint64_t count_mono_ns;             /* when the kernel is next asked how much it dropped */
    bool is_uncounted;                  /* messages have come since it was asked */
    bool is_drained;                    /* the socket had less than a batch in this read: what comes now is for the next */
    struct lw_link_watch *watch;
    struct lw_link link;                /* as last told to the reader */
    struct lw_event link_event;         /* waits for its place in time */
    bool has_link_event;
    uint64_t asked_ns;                  /* when the kernel was asked for what link_event says */
    uint64_t state_ns;                  /* of the last error frame that told a controller state */
    struct lw_can_socket socket;
};

static uint64_t clock_ns(void)
{
    struct timespec t;

    clock_gettime(CLOCK_REALTIME, &t);
    return (uint64_t)t.tv_sec * 1000000000u + (uint64_t)t.tv_nsec;
}

static void put_link_event(struct socketcan *self, const struct lw_link *link, uint64_t asked_ns)
{
    memset(&self->link_event, 0, sizeof(self->link_event));
    self->link_event.t_ns = clock_ns();
    self->link_event.bus = self->bus;
    self->link_event.kind = LW_EVENT_LINK;
    self->link_event.stamp = LW_STAMP_HOST;
    self->link_event.link = *link;
    self->has_link_event = true;
    self->asked_ns = asked_ns;
    self->link = *link;
}

/* Writes the waiting link event. Where an error frame has told the controller's state since the kernel was asked, the
 * report's is out of date: it is withheld, and asked for again. */
static void write_link(struct socketcan *self, struct lw_event *out)
{
    *out = self->link_event;
    self->has_link_event = false;
    if (self->state_ns < self->asked_ns || out->link.controller != LW_CONTROLLER_REAL)
        return;
    out->link.state = LW_STATE_UNKNOWN;
    out->link.tec = out->link.rec = LW_UNKNOWN;
    self->link = out->link;
    lw_link_watch_ask(self->watch);
}

/* The socket hears first of an interface that goes down or away, even of one that is back before anybody asks. What
 * it was bound to is taken for gone after any other error, too: then it is opened anew. */
static void take_socket_error(struct socketcan *self, int error)
{
    struct lw_link link = { 0 };

    if (error == -ENETDOWN) {
        link = self->link;
        link.is_up = link.has_carrier = false;
        link.state = LW_STATE_UNKNOWN;
    } else {
        self->wanted_ifindex = 0;
    }
    lw_link_watch_ask(self->watch);    /* also if it is said to be down already: it may be up again */
    if (link.is_present ? self->link.is_up : self->link.is_present)
        put_link_event(self, &link, UINT64_MAX);
}

/* Returns whether there is a message now. */
static bool has_message(struct socketcan *self)
{
    int n;

    if (self->socket.next == self->socket.n && self->is_drained)
        return false;
    n = lw_can_socket_fill(&self->socket, clock_ns);
    if (n < 0) {
        take_socket_error(self, n);
        n = lw_can_socket_fill(&self->socket, clock_ns);    /* what was queued before can still be read */
    }
    self->is_drained = self->socket.n < LW_CAN_BATCH;
    self->is_uncounted = self->is_uncounted || n > 0;
    return n > 0;
}

static void write_loss(struct socketcan *self, uint32_t n, enum lw_loss_place place, uint64_t t_ns,
                       struct lw_event *out)
{
    memset(out, 0, sizeof(*out));
    out->t_ns = t_ns;
    out->bus = self->bus;
    out->kind = LW_EVENT_LOSS;
    out->stamp = LW_STAMP_HOST;
    out->loss.n_frames = n;
    out->loss.place = place;
}

/* Takes the kernel's count of losses. Returns what is new in it. A message that was queued before the count was last
 * read tells an older one. */
static uint32_t take_dropped(struct socketcan *self, uint32_t n_dropped)
{
    int32_t n_new = (int32_t)(n_dropped - self->n_dropped);

    if (n_new <= 0)
        return 0;
    self->n_dropped = n_dropped;
    return (uint32_t)n_new;
}

/* Writes the next message, or the loss before it, or the link event that comes before both. */
static void write_message(struct socketcan *self, struct lw_event *out)
{
    struct lw_can_message message = lw_can_socket_peek(&self->socket, self->n_dropped);
    uint64_t t_ns = lw_socketcan_time(&message);
    uint32_t n_lost;

    if (self->has_link_event && t_ns >= self->link_event.t_ns) {
        write_link(self, out);
        return;
    }
    n_lost = take_dropped(self, message.n_dropped);
    if (n_lost) {
        write_loss(self, n_lost, LW_LOSS_SOCKET, t_ns, out);
        return;
    }
    self->socket.next++;
    if (!lw_socketcan_event(&message, self->bus, out))    /* no frame we know: not to vanish in silence */
        write_loss(self, 1, LW_LOSS_ADAPTER, t_ns, out);
    if (out->kind == LW_EVENT_ERROR && out->error.class_bits & STATE_CLASSES)
        self->state_ns = t_ns;
}

/* With no message left: a link event that waits, or what was lost after the last message. Returns false if nothing. */
static bool write_rest(struct socketcan *self, struct lw_event *out)
{
    uint32_t n_dropped, n_lost;

    if (self->has_link_event) {
        write_link(self, out);
        return true;
    }
    if (!self->is_uncounted || self->mono_ns < self->count_mono_ns)
        return false;
    self->is_uncounted = false;
    self->count_mono_ns = self->mono_ns + COUNT_MS * 1000000ull;
    if (!lw_can_socket_dropped(&self->socket, &n_dropped))
        return false;
    n_lost = take_dropped(self, n_dropped);
    write_loss(self, n_lost, LW_LOSS_SOCKET, clock_ns(), out);
    return n_lost > 0;
}

static void keep_order(struct socketcan *self, struct lw_event *event)
{
    if (event->t_ns < self->last_ns && self->last_ns - event->t_ns < DISORDER_NS)
        event->t_ns = self->last_ns;
    self->last_ns = event->t_ns;
}

/* Takes news of the link, one at a time: each has its place between the frames. */
static void follow_link(struct socketcan *self)
{
    struct lw_link_report report;

    if (self->has_link_event || !lw_link_watch_take(self->watch, &report))
        return;
    self->wanted_ifindex = report.ifindex;
    self->retry_mono_ns = 0;
    if (!lw_link_equal(&report.link, &self->link))
        put_link_event(self, &report.link, report.asked_ns);
}

/* Listens to the interface that has our name now, or to none. The old socket is empty. */
static void change_socket(struct socketcan *self, uint64_t mono_ns)
{
    lw_can_socket_close(&self->socket);
    self->ifindex = 0;
    self->n_dropped = 0;
    if (!self->wanted_ifindex)
        return;
    if (lw_can_socket_open(&self->socket, self->wanted_ifindex) == 0)
        self->ifindex = self->wanted_ifindex;
    else
        self->retry_mono_ns = mono_ns + RETRY_MS * 1000000ull;
}

static int read_events(void *instance, uint64_t mono_ns, struct lw_event *out, size_t max)
{
    struct socketcan *self = instance;
    size_t n = 0;

    if (max > INT32_MAX)
        max = INT32_MAX;
    self->mono_ns = mono_ns;
    self->is_drained = false;
    has_message(self);      /* what the socket tells of the link came before any report */
    follow_link(self);
    for (; n < max; n++) {
        if (has_message(self))
            write_message(self, &out[n]);
        else if (!write_rest(self, &out[n]))
            break;
        keep_order(self, &out[n]);
    }
    if (n < max && self->wanted_ifindex != self->ifindex && mono_ns >= self->retry_mono_ns)
        change_socket(self, mono_ns);
    return (int)n;
}

static size_t poll_fds(void *instance, int out[LW_SOURCE_MAX_FDS])
{
    struct socketcan *self = instance;
    size_t n = 0;

    out[n++] = lw_link_watch_fd(self->watch);
    if (self->socket.fd >= 0)
        out[n++] = self->socket.fd;
    return n;
}

static uint64_t due_ns(void *instance, uint64_t mono_ns)
{
    struct socketcan *self = instance;

    if (self->has_link_event || self->socket.next < self->socket.n)
        return mono_ns;
    if (self->wanted_ifindex != self->ifindex)
        return self->retry_mono_ns;
    return self->is_uncounted ? self->count_mono_ns : UINT64_MAX;
}

static uint64_t now_ns(void *instance, uint64_t mono_ns)
{
    (void)instance;
    (void)mono_ns;
    return clock_ns();
}

static void describe(void *instance, struct lw_source_info *out)
{
    struct socketcan *self = instance;

    memset(out, 0, sizeof(*out));
    strncpy(out->name, self->interface, sizeof(out->name) - 1);
    strncpy(out->kind, "interface", sizeof(out->kind) - 1);
    if (!self->link.is_present)
        lw_advise_absent(self->interface, out->note, sizeof(out->note));
    else if (!self->link.is_up)
        lw_advise_down(self->interface, out->note, sizeof(out->note));
}

static void destroy(void *instance)
{
    struct socketcan *self = instance;

    if (!self)
        return;
    lw_link_watch_destroy(self->watch);
    lw_can_socket_close(&self->socket);
    free(self);
}

static const struct lw_source_ops socketcan_ops = {
    .poll_fds = poll_fds,
    .due_ns = due_ns,
    .read = read_events,
    .now_ns = now_ns,
    .describe = describe,
    .destroy = destroy,
};

/* Whether the kernel has CAN, and a CAN interface of that name. Fills advice if not. */
static int check(const char *interface, struct lw_can_socket *probe, char advice[LW_SOURCE_TEXT])
{
    struct lw_link_facts facts;
    int error = lw_can_socket_open(probe, 0);     /* listening to all interfaces needs none to exist */

    lw_can_socket_close(probe);
    if (error == 0)
        error = lw_link_facts(interface, &facts);
    if (error == -ENODEV) {
        lw_advise_absent(interface, advice, LW_SOURCE_TEXT);
    } else if (error < 0) {
        lw_advise_error(interface, error, advice, LW_SOURCE_TEXT);
    } else if (!facts.is_can) {
        error = -ENOTSUP;
        lw_advise_not_can(interface, advice, LW_SOURCE_TEXT);
    }
    return error;
}

/* The first report is made before the socket: every frame is later. An interface that went away since it was checked
 * is not bound (0 would mean all interfaces); its report says so. */
static int start(struct socketcan *self)
{
    struct lw_link link;
    int error = 0;

    lw_link_query(self->interface, &link, &self->wanted_ifindex);
    put_link_event(self, &link, UINT64_MAX);
    if (self->wanted_ifindex)
        error = lw_can_socket_open(&self->socket, self->wanted_ifindex);
    if (error < 0)
        return error;
    self->ifindex = self->wanted_ifindex;
    return lw_link_watch_create(&self->watch, self->interface);
}

int lw_socketcan_open(struct lw_source *out, const char *interface, unsigned bus, char advice[LW_SOURCE_TEXT])
{
    struct socketcan *self = calloc(1, sizeof(*self));
    int error;

    advice[0] = '\0';
    if (!self)
        return -ENOMEM;
    lw_can_socket_init(&self->socket);
    self->bus = (uint8_t)bus;
    error = check(interface, &self->socket, advice);
    if (error < 0)
        goto fail;
    strncpy(self->interface, interface, sizeof(self->interface) - 1);
    error = start(self);
    if (error < 0) {
        lw_advise_error(interface, error, advice, LW_SOURCE_TEXT);
        goto fail;
    }
    *out = (struct lw_source){ &socketcan_ops, self };
    return 0;

fail:
    destroy(self);
    return error;
}
