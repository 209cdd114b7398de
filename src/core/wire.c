/* SPDX-License-Identifier: MIT
 *
 * Lays a frame out bit by bit and counts. The stuffed part is first written as plain bits into a small buffer: slower
 * than a table, but it can be held against the drawing in the standard.
 */
#include "loomwatch/core/wire.h"

#include "loomwatch/core/crc.h"

enum {
    CRC15_BITS = 15,
    CRC_DELIMITER = 1,
    ACK_AND_END = 1 + 1 + 7,             /* acknowledge slot and delimiter, end of frame */
    MAX_PLAIN_BITS = 41 + 8 * LW_FRAME_MAX_LEN + CRC15_BITS,
    STUFF_COUNT_BITS = 4,                /* FD: 3 bits Gray coded, and parity */
    FD_CRC17_MAX_LEN = 16,
};

struct bits {
    uint8_t bit[MAX_PLAIN_BITS];
    size_t n;
};

static void put(struct bits *bits, uint32_t value, unsigned n)
{
    while (n-- > 0)
        bits->bit[bits->n++] = value >> n & 1;
}

static void put_data(struct bits *bits, const struct lw_frame *frame, size_t len)
{
    for (size_t i = 0; i < len; i++)
        put(bits, frame->data[i], 8);
}

/* SOF and identifier, up to the bit before RTR/RRS of the format. */
static void put_identifier(struct bits *bits, const struct lw_frame *frame)
{
    put(bits, 0, 1);
    if (frame->flags & LW_FRAME_EXTENDED) {
        put(bits, frame->id >> 18, 11);
        put(bits, 3, 2);                 /* SRR and IDE, both recessive */
        put(bits, frame->id & 0x3FFFF, 18);
    } else {
        put(bits, frame->id, 11);
    }
}

static size_t data_len(const struct lw_frame *frame)
{
    size_t max = frame->flags & LW_FRAME_FD ? LW_FRAME_MAX_LEN : LW_CLASSIC_MAX_LEN;
    if (frame->flags & LW_FRAME_REMOTE)
        return 0;
    return frame->len < max ? frame->len : max;
}

static void lay_out_classic(struct bits *bits, const struct lw_frame *frame)
{
    bits->n = 0;
    put_identifier(bits, frame);
    put(bits, frame->flags & LW_FRAME_REMOTE ? 1 : 0, 1);
    put(bits, 0, 2);                     /* IDE, r0 in the base format; r1, r0 in the extended one */
    put(bits, frame->len < LW_CLASSIC_MAX_LEN ? frame->len : LW_CLASSIC_MAX_LEN, 4);
    put_data(bits, frame, data_len(frame));
}

static uint32_t crc15_of(const struct bits *bits)
{
    uint32_t crc = 0;
    for (size_t i = 0; i < bits->n; i++)
        crc = lw_crc_bit(&lw_crc15, crc, bits->bit[i]);
    return crc;
}

uint16_t lw_wire_crc15(const struct lw_frame *frame)
{
    struct bits bits;
    lay_out_classic(&bits, frame);
    return (uint16_t)crc15_of(&bits);
}

/* Run length of equal bits, carried along while counting stuff bits. A stuff bit starts a run of its own. */
struct run {
    unsigned last, length;
};

/* Takes one bit; true if a stuff bit follows it. */
static inline bool run_add(struct run *run, unsigned bit)
{
    run->length = bit == run->last ? run->length + 1 : 1;
    run->last = bit;
    if (run->length < 5)
        return false;
    run->last = !bit;
    run->length = 1;
    return true;
}

static const struct run no_run = { 2, 0 };   /* 2 equals neither bit */

size_t lw_wire_stuff(const uint8_t *in, size_t n, uint8_t *out)
{
    struct run run = no_run;
    size_t n_out = 0;
    for (size_t i = 0; i < n; i++) {
        out[n_out++] = in[i];
        if (run_add(&run, in[i]))
            out[n_out++] = !in[i];
    }
    return n_out;
}

static struct lw_wire_length classic_length(const struct lw_frame *frame)
{
    struct bits bits;
    lay_out_classic(&bits, frame);
    put(&bits, crc15_of(&bits), CRC15_BITS);
    struct run run = no_run;
    size_t n_stuff = 0;
    for (size_t i = 0; i < bits.n; i++)
        n_stuff += run_add(&run, bits.bit[i]);
    return (struct lw_wire_length){
        .nominal_bits = (uint16_t)(bits.n + n_stuff + CRC_DELIMITER + ACK_AND_END),
        .stuff_bits = (uint16_t)n_stuff,
    };
}

/* Header and data of an FD frame. Returns how many of these bits precede ESI, where the rate may switch. */
static size_t lay_out_fd(struct bits *bits, const struct lw_frame *frame)
{
    unsigned dlc = lw_dlc_from_len(frame->len);
    bits->n = 0;
    put_identifier(bits, frame);
    put(bits, 0, 1);                                        /* RRS */
    if (!(frame->flags & LW_FRAME_EXTENDED))
        put(bits, 0, 1);                                    /* IDE */
    put(bits, 2, 2);                                        /* FDF recessive, res dominant */
    put(bits, frame->flags & LW_FRAME_BRS ? 1 : 0, 1);
    size_t n_before_esi = bits->n;
    put(bits, frame->flags & LW_FRAME_ESI ? 1 : 0, 1);
    put(bits, dlc, 4);
    put_data(bits, frame, data_len(frame));
    /* Lengths between two codes are padded on the wire. */
    for (size_t i = data_len(frame); i < lw_len_from_dlc(dlc); i++)
        put(bits, 0, 8);
    return n_before_esi;
}

/* The length of an FD frame from its header and data: their bits, before ESI and in all, and their stuff bits. */
static struct lw_wire_length fd_parts(const struct lw_frame *frame, size_t n_before_esi, size_t n_bits,
                                      size_t n_stuff_before, size_t n_stuff_after)
{
    size_t n_crc = lw_len_from_dlc(lw_dlc_from_len(frame->len)) <= FD_CRC17_MAX_LEN ? 17 : 21;
    size_t n_fixed = 1 + (STUFF_COUNT_BITS + n_crc) / 4;
    size_t nominal = n_before_esi + n_stuff_before + CRC_DELIMITER + ACK_AND_END;
    size_t data = n_bits - n_before_esi + n_stuff_after + STUFF_COUNT_BITS + n_crc + n_fixed;
    bool is_switched = (frame->flags & LW_FRAME_BRS) != 0;
    return (struct lw_wire_length){
        .nominal_bits = (uint16_t)(is_switched ? nominal : nominal + data),
        .data_bits = (uint16_t)(is_switched ? data : 0),
        .stuff_bits = (uint16_t)(n_stuff_before + n_stuff_after + n_fixed),
    };
}

static struct lw_wire_length fd_length(const struct lw_frame *frame)
{
    struct bits bits;
    size_t n_before_esi = lay_out_fd(&bits, frame);
    struct run run = no_run;
    size_t n_stuff_before = 0, n_stuff_after = 0;
    for (size_t i = 0; i < bits.n; i++) {
        bool is_stuffed = run_add(&run, bits.bit[i]) && i + 1 < bits.n;
        *(i < n_before_esi ? &n_stuff_before : &n_stuff_after) += is_stuffed;
    }
    return fd_parts(frame, n_before_esi, bits.n, n_stuff_before, n_stuff_after);
}

struct lw_wire_length lw_wire_length(const struct lw_frame *frame)
{
    return frame->flags & LW_FRAME_FD ? fd_length(frame) : classic_length(frame);
}

/* Stuff bits that n bits can need: 5 equal ones, and from then on each stuff bit with four more. */
static unsigned worst_stuff(size_t n)
{
    return (unsigned)(n - 1) / 4;
}

/* Zeros: what is wanted is how many bits there are, not which. */
static struct lw_frame blank_frame(uint8_t flags, unsigned len)
{
    return (struct lw_frame){ .flags = flags, .len = (uint8_t)(len < LW_FRAME_MAX_LEN ? len : LW_FRAME_MAX_LEN) };
}

static struct lw_wire_length classic_worst(const struct lw_frame *frame)
{
    struct bits bits;
    lay_out_classic(&bits, frame);
    size_t n = bits.n + CRC15_BITS;
    return (struct lw_wire_length){
        .nominal_bits = (uint16_t)(n + worst_stuff(n) + CRC_DELIMITER + ACK_AND_END),
        .stuff_bits = (uint16_t)worst_stuff(n),
    };
}

static struct lw_wire_length fd_worst(const struct lw_frame *frame)
{
    struct bits bits;
    size_t n_before_esi = lay_out_fd(&bits, frame);
    return fd_parts(frame, n_before_esi, bits.n, worst_stuff(n_before_esi), worst_stuff(bits.n) - worst_stuff(n_before_esi));
}

struct lw_wire_length lw_wire_worst_length(uint8_t flags, unsigned len)
{
    struct lw_frame frame = blank_frame(flags, len);
    return flags & LW_FRAME_FD ? fd_worst(&frame) : classic_worst(&frame);
}

uint64_t lw_wire_time_ns(const struct lw_wire_length *length, uint32_t bit_rate_bps, uint32_t data_bit_rate_bps)
{
    if (bit_rate_bps == 0 || (length->data_bits > 0 && data_bit_rate_bps == 0))
        return 0;
    uint64_t ns = (length->nominal_bits + LW_INTERMISSION_BITS) * UINT64_C(1000000000) / bit_rate_bps;
    if (length->data_bits > 0)
        ns += length->data_bits * UINT64_C(1000000000) / data_bit_rate_bps;
    return ns;
}
