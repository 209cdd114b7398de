/* SPDX-License-Identifier: MIT
 *
 * A frame as the bits that its sender puts on the wire, start of frame to end of CRC, worked out once before the first one
 * goes. It shares no code with the receiving side, which every sender runs along with it: each proves the other.
 * Source: ISO 11898-1, frame formats; what is of CAN FD alone, from memory where marked.
 */
#include "mac_state.h"

struct writer {
    struct stream *stream;
    const struct lw_crc_kind *crc_kind;
    uint32_t crc;
    uint8_t run, last_bit, n_stuff;
    bool is_fd;
};

static void send(struct writer *writer, unsigned bit)
{
    writer->stream->bit[writer->stream->n++] = (uint8_t)bit;
    writer->last_bit = (uint8_t)bit;
}

/* The stuff bit that five equal bits ask for. FD takes it into the CRC, classic does not. */
static void put_due_stuff_bit(struct writer *writer)
{
    if (writer->run < EQUAL_BITS)
        return;
    unsigned bit = !writer->last_bit;
    send(writer, bit);
    writer->run = 1;
    writer->n_stuff++;
    if (writer->is_fd)
        writer->crc = lw_crc_bit(writer->crc_kind, writer->crc, bit);
}

static void put(struct writer *writer, uint32_t value, unsigned n)
{
    while (n-- > 0) {
        unsigned bit = value >> n & 1;
        put_due_stuff_bit(writer);
        writer->run = writer->run > 0 && bit == writer->last_bit ? writer->run + 1 : 1;
        send(writer, bit);
        writer->crc = lw_crc_bit(writer->crc_kind, writer->crc, bit);
    }
}

/* A group of bits behind a fixed stuff bit. */
static void put_fixed(struct writer *writer, uint32_t value, unsigned n)
{
    while (n > 0) {
        send(writer, !writer->last_bit);
        for (unsigned i = 0; i < FIXED_STUFF_EVERY && n > 0; i++)
            send(writer, value >> --n & 1);
    }
}

/* Number modulo 8 in Gray code, then a bit that makes the ones even. From memory. */
unsigned lw_mac_stuff_count_field(unsigned n_stuff)
{
    unsigned count = n_stuff & 7, gray = count ^ count >> 1;
    unsigned parity = (gray ^ gray >> 1 ^ gray >> 2) & 1;
    return gray << 1 | parity;
}

static void put_identifier(struct writer *writer, const struct lw_frame *frame)
{
    put(writer, DOMINANT, 1);                            /* SOF */
    if (frame->flags & LW_FRAME_EXTENDED) {
        put(writer, frame->id >> 18, 11);
        put(writer, 3, 2);                               /* SRR, IDE recessive */
        put(writer, frame->id & 0x3FFFF, 18);
    } else {
        put(writer, frame->id, 11);
    }
}

static void put_data(struct writer *writer, const struct lw_frame *frame, unsigned n)
{
    for (unsigned i = 0; i < n; i++)
        put(writer, i < frame->len ? frame->data[i] : 0, 8);
}

static void build_classic(struct writer *writer, const struct lw_frame *frame)
{
    bool is_remote = frame->flags & LW_FRAME_REMOTE;
    unsigned len = frame->len < LW_CLASSIC_MAX_LEN ? frame->len : LW_CLASSIC_MAX_LEN;
    writer->crc_kind = &lw_crc15;
    put_identifier(writer, frame);
    put(writer, is_remote, 1);                           /* RTR */
    put(writer, DOMINANT, 1);                            /* IDE, or r1 */
    put(writer, DOMINANT, 1);                            /* r0 */
    put(writer, len, 4);
    put_data(writer, frame, is_remote ? 0 : len);
    put(writer, writer->crc, 15);
    put_due_stuff_bit(writer);
}

static void build_fd(struct writer *writer, const struct lw_frame *frame, bool is_passive)
{
    unsigned dlc = lw_dlc_from_len(frame->len), len = lw_len_from_dlc(dlc);
    writer->crc_kind = len > FD_CRC17_MAX_LEN ? &lw_crc21 : &lw_crc17;
    writer->crc = 1u << (writer->crc_kind->n_bits - 1);  /* from memory */
    put_identifier(writer, frame);
    put(writer, DOMINANT, 1);                            /* RRS */
    if (!(frame->flags & LW_FRAME_EXTENDED))
        put(writer, DOMINANT, 1);                        /* IDE */
    put(writer, RECESSIVE, 1);                           /* FDF */
    put(writer, DOMINANT, 1);                            /* res */
    put(writer, frame->flags & LW_FRAME_BRS ? RECESSIVE : DOMINANT, 1);
    put(writer, is_passive || frame->flags & LW_FRAME_ESI ? RECESSIVE : DOMINANT, 1);
    put(writer, dlc, 4);
    put_data(writer, frame, len);
    unsigned count = lw_mac_stuff_count_field(writer->n_stuff);
    uint32_t crc = lw_crc_bits(writer->crc_kind, writer->crc, count, 4);
    put_fixed(writer, count << writer->crc_kind->n_bits | crc, 4u + writer->crc_kind->n_bits);
}

void lw_mac_build_stream(struct stream *stream, const struct lw_frame *frame, bool is_passive)
{
    struct writer writer = { .stream = stream, .is_fd = (frame->flags & LW_FRAME_FD) != 0 };
    stream->n = 0;
    if (writer.is_fd)
        build_fd(&writer, frame, is_passive);
    else
        build_classic(&writer, frame);
}
