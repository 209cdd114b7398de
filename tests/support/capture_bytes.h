/* SPDX-License-Identifier: MIT
 *
 * Capture files written byte by byte, without libpcap, so that reading is held against the formats
 * themselves. Sources: pcap file format and draft-ietf-opsawg-pcapng.
 */
#ifndef LOOMWATCH_TEST_CAPTURE_BYTES_H
#define LOOMWATCH_TEST_CAPTURE_BYTES_H

#include <assert.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#define PCAP_US 0xA1B2C3D4u
#define PCAP_NS 0xA1B23C4Du

struct capture_bytes {
    bool is_big_endian;
    size_t n;
    uint8_t data[16 * 1024];
};

static inline void put_bytes(struct capture_bytes *b, const void *bytes, size_t n)
{
    assert(b->n + n <= sizeof(b->data));
    memcpy(b->data + b->n, bytes, n);
    b->n += n;
}

static inline void put_integer(struct capture_bytes *b, uint32_t value, unsigned size)
{
    for (unsigned i = 0; i < size; i++) {
        uint8_t byte = (uint8_t)(value >> 8 * (b->is_big_endian ? size - 1 - i : i));
        put_bytes(b, &byte, 1);
    }
}

static inline void put_pcap_header(struct capture_bytes *b, uint32_t magic, uint32_t link_type)
{
    put_integer(b, magic, 4);
    put_integer(b, 2, 2);
    put_integer(b, 4, 2);
    put_integer(b, 0, 4);
    put_integer(b, 0, 4);
    put_integer(b, 65535, 4);
    put_integer(b, link_type, 4);
}

static inline void put_pcap_packet(struct capture_bytes *b, uint32_t s, uint32_t fraction, const void *bytes,
                                   uint32_t n)
{
    put_integer(b, s, 4);
    put_integer(b, fraction, 4);
    put_integer(b, n, 4);
    put_integer(b, n, 4);
    put_bytes(b, bytes, n);
}

static inline void put_ng_section(struct capture_bytes *b)
{
    put_integer(b, 0x0A0D0D0A, 4);
    put_integer(b, 28, 4);
    put_integer(b, 0x1A2B3C4D, 4);
    put_integer(b, 1, 2);
    put_integer(b, 0, 2);
    put_integer(b, 0xFFFFFFFF, 4);   /* length of the section: not given */
    put_integer(b, 0xFFFFFFFF, 4);
    put_integer(b, 28, 4);
}

/* decimals: of a second in the time stamps, 6 or 9. */
static inline void put_ng_interface(struct capture_bytes *b, uint32_t link_type, unsigned decimals)
{
    put_integer(b, 1, 4);
    put_integer(b, 32, 4);
    put_integer(b, link_type, 2);
    put_integer(b, 0, 2);
    put_integer(b, 0, 4);
    put_integer(b, 9, 2);            /* if_tsresol */
    put_integer(b, 1, 2);
    put_bytes(b, (uint8_t[4]){ (uint8_t)decimals }, 4);
    put_integer(b, 0, 4);            /* opt_endofopt */
    put_integer(b, 32, 4);
}

static inline void put_ng_packet(struct capture_bytes *b, uint32_t interface, uint64_t ticks, const void *bytes,
                                 uint32_t n)
{
    uint32_t padded = (n + 3) / 4 * 4, total = 32 + padded;
    put_integer(b, 6, 4);
    put_integer(b, total, 4);
    put_integer(b, interface, 4);
    put_integer(b, (uint32_t)(ticks >> 32), 4);
    put_integer(b, (uint32_t)ticks, 4);
    put_integer(b, n, 4);
    put_integer(b, n, 4);
    put_bytes(b, bytes, n);
    put_bytes(b, "\0\0\0", padded - n);
    put_integer(b, total, 4);
}

#endif
