/* SPDX-License-Identifier: MIT
 *
 * Nanoseconds for one sampled bit in the protocol controller: idle, receiving classic and FD frames, sending. Run by
 * `meson test --benchmark`.
 */
#include "loomwatch/bench/mac.h"

#include <stdio.h>
#include <time.h>

enum { N_BITS = 2000000, BEST_OF = 5 };

static double seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + (double)t.tv_nsec / 1e9;
}

/* The bits of a busy bus as one controller sees them, then as a lone receiver samples them again. */
static uint8_t recorded[N_BITS];

static void record(struct lw_mac *const mac[2], const struct lw_frame *frame)
{
    for (unsigned n = 0; n < N_BITS; n++) {
        if (!lw_mac_has_to_send(mac[0]))
            lw_mac_send(mac[0], frame);
        bool is_dominant = lw_mac_drives_dominant(mac[0]) || lw_mac_drives_dominant(mac[1]);
        recorded[n] = is_dominant;
        lw_mac_sample(mac[0], is_dominant);
        lw_mac_sample(mac[1], is_dominant);
    }
}

static double replay(struct lw_mac *mac, unsigned *n_received)
{
    double start = seconds();
    for (unsigned n = 0; n < N_BITS; n++)
        *n_received += lw_mac_sample(mac, recorded[n]) & LW_MAC_RECEIVED;
    return (seconds() - start) / N_BITS * 1e9;
}

/* A sender alone hears its recorded bus: its own bits and the acknowledge. */
static double resend(struct lw_mac *mac, const struct lw_frame *frame)
{
    double start = seconds();
    for (unsigned n = 0; n < N_BITS; n++) {
        if (!lw_mac_has_to_send(mac))
            lw_mac_send(mac, frame);
        lw_mac_sample(mac, recorded[n]);
    }
    return (seconds() - start) / N_BITS * 1e9;
}

static void measure(const char *name, const struct lw_frame *frame)
{
    const struct lw_mac_options options = { .has_fd = true };
    struct lw_mac *mac[2] = { lw_mac_create(&options), lw_mac_create(&options) };
    double receive_ns = 1e9, send_ns = 1e9;
    unsigned n_received = 0;
    if (!mac[0] || !mac[1])
        return;
    record(mac, frame);
    for (unsigned i = 0; i < BEST_OF; i++) {
        lw_mac_reset(mac[1], &options);
        double ns = replay(mac[1], &n_received);
        receive_ns = ns < receive_ns ? ns : receive_ns;
        lw_mac_reset(mac[0], &options);
        ns = resend(mac[0], frame);
        send_ns = ns < send_ns ? ns : send_ns;
    }
    printf("%-28s receive %5.1f ns a bit, send %5.1f ns a bit (%u frames)\n", name, receive_ns, send_ns, n_received / BEST_OF);
    lw_mac_destroy(mac[0]);
    lw_mac_destroy(mac[1]);
}

static void measure_idle(void)
{
    struct lw_mac *mac = lw_mac_create(&(struct lw_mac_options){ 0 });
    unsigned reports = 0;
    double start = seconds();
    for (unsigned n = 0; mac && n < N_BITS; n++)
        reports |= lw_mac_sample(mac, false);
    printf("%-28s         %5.1f ns a bit (%u)\n", "idle", (seconds() - start) / N_BITS * 1e9, reports);
    lw_mac_destroy(mac);
}

int main(void)
{
    measure_idle();
    measure("classic, 8 bytes", &(struct lw_frame){ 0x18FEF100, LW_FRAME_EXTENDED, 8, { 0x12, 0, 0x34, 0xFF, 0x56, 0, 0x78, 0xFF } });
    measure("FD, 64 bytes", &(struct lw_frame){ 0x123, LW_FRAME_FD | LW_FRAME_BRS, 64, { 0x12, 0, 0x34, 0xFF, 0x56, 0, 0x78, 0xFF } });
    return 0;
}
