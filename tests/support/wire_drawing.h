/* SPDX-License-Identifier: MIT
 *
 * A second, slow way to a frame's length: the frame is written as a text of ones and zeros as the standard draws it, the
 * CRC by long division on paper, stuffing by looking for five equal characters. It shares nothing with src/core.
 */
#ifndef LOOMWATCH_TEST_WIRE_DRAWING_H
#define LOOMWATCH_TEST_WIRE_DRAWING_H

#include "loomwatch/core/frame.h"

#include <string.h>

struct drawing {
    char text[1400];
    size_t n;
};

static inline void draw(struct drawing *drawing, const char *bits)
{
    size_t n = strlen(bits);
    memcpy(drawing->text + drawing->n, bits, n + 1);
    drawing->n += n;
}

static inline void draw_number(struct drawing *drawing, uint32_t value, int n_bits)
{
    for (int i = n_bits - 1; i >= 0; i--)
        draw(drawing, value / (1u << i) % 2 ? "1" : "0");
}

/* Bosch CAN 2.0 part B: start of frame, arbitration field. rtr: the text of RTR (classic) or RRS (FD). */
static inline void draw_arbitration(struct drawing *drawing, const struct lw_frame *frame, const char *rtr)
{
    draw(drawing, "0");
    if (frame->flags & LW_FRAME_EXTENDED) {
        draw_number(drawing, frame->id / 0x40000, 11);
        draw(drawing, "11");
        draw_number(drawing, frame->id % 0x40000, 18);
        draw(drawing, rtr);
    } else {
        draw_number(drawing, frame->id, 11);
        draw(drawing, rtr);
        draw(drawing, "0");
    }
}

static inline void draw_classic(struct drawing *drawing, const struct lw_frame *frame)
{
    bool is_remote = frame->flags & LW_FRAME_REMOTE;
    drawing->n = 0;
    draw_arbitration(drawing, frame, is_remote ? "1" : "0");
    draw(drawing, frame->flags & LW_FRAME_EXTENDED ? "00" : "0");
    draw_number(drawing, frame->len, 4);
    for (int i = 0; i < frame->len && !is_remote; i++)
        draw_number(drawing, frame->data[i], 8);
}

/* Up to and with the bit in which the rate may switch. */
static inline void draw_fd_before_switch(struct drawing *drawing, const struct lw_frame *frame)
{
    drawing->n = 0;
    draw_arbitration(drawing, frame, "0");
    draw(drawing, "10");
    draw(drawing, frame->flags & LW_FRAME_BRS ? "1" : "0");
}

/* The rest of header and data; dlc and n_bytes as on the wire, padding is zeros. */
static inline void draw_fd_after_switch(struct drawing *drawing, const struct lw_frame *frame, unsigned dlc, int n_bytes)
{
    draw(drawing, frame->flags & LW_FRAME_ESI ? "1" : "0");
    draw_number(drawing, dlc, 4);
    for (int i = 0; i < n_bytes; i++)
        draw_number(drawing, i < frame->len ? frame->data[i] : 0, 8);
}

/* Long division by x15+x14+x10+x8+x7+x4+x3+1, written out. Source: Bosch CAN 2.0 part B. */
static inline void draw_crc15(struct drawing *drawing)
{
    static const char divisor[] = "1100010110011001";
    char rest[1400];
    size_t n = drawing->n;
    memcpy(rest, drawing->text, n);
    memset(rest + n, '0', 15);
    for (size_t at = 0; at < n; at++)
        for (size_t i = 0; rest[at] == '1' && i < sizeof(divisor) - 1; i++) {
            size_t k = sizeof(divisor) - 2 - i;   /* from the right, so that rest[at] is changed last */
            rest[at + k] = rest[at + k] == divisor[k] ? '0' : '1';
        }
    rest[n + 15] = '\0';
    draw(drawing, rest + n);
}

/* Number of stuff bits: after five equal characters in what has been sent, the opposite one is sent. */
static inline size_t stuff_drawing(const struct drawing *drawing, struct drawing *sent)
{
    sent->n = 0;
    for (size_t i = 0; i < drawing->n; i++) {
        sent->text[sent->n++] = drawing->text[i];
        sent->text[sent->n] = '\0';
        if (sent->n >= 5 && (!strcmp(sent->text + sent->n - 5, "00000") || !strcmp(sent->text + sent->n - 5, "11111")))
            draw(sent, drawing->text[i] == '1' ? "0" : "1");
    }
    return sent->n - drawing->n;
}

#endif
