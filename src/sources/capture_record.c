/* SPDX-License-Identifier: MIT
 *
 * Bytes of one capture record to event and back, and the form in which this program keeps its own notes
 * there. Used by the capture source and the recorder, and by whoever checks what they do.
 *
 * A record, after the page of the link type (integers of the identifier are big-endian):
 *     0..3  identifier and its flags     5     FD flags            8..   data, then padding
 *     4     length of the data           6..7  reserved, 0         in all 16 bytes, 72 with FD
 *
 * A note of ours is an error frame without a class, whose eight data bytes are
 *     0..1  'L' 'W'
 *     2     enum note_kind
 *     3     link: present, up, carrier (bits 0..2), controller (bits 3..4), bus state (bits 5..7); loss: place
 *     4..7  link: data bit rate in units of 100 kbit/s (one byte), bit rate in bit/s (three bytes), 0 = unknown
 *           loss: number of frames
 */
#include "loomwatch/sources/capture_record.h"

#include <math.h>
#include <string.h>

enum {
    AT_LENGTH = 4, AT_FD_FLAGS = 5, AT_DATA = 8,
    CLASSIC_RECORD = AT_DATA + LW_CLASSIC_MAX_LEN,
    FD_RECORD = AT_DATA + LW_FRAME_MAX_LEN,
};

/* Source: page of LINKTYPE_CAN_SOCKETCAN, and linux/can.h, whose flags these are. */
enum { FD_BRS = 0x01, FD_ESI = 0x02, FD_FORMAT = 0x04, XL_FORMAT = 0x80 };
#define ID_EXTENDED 0x80000000u
#define ID_REMOTE 0x40000000u
#define ID_ERROR 0x20000000u
#define ID_BITS 0x1FFFFFFFu

enum note_kind { NOTE_LINK = 1, NOTE_LOSS = 2, NOTE_MARK = 3, NOTE_METER = 4, NOTE_VERDICT = 5 };
#define METER_OPEN UINT32_MAX
enum { METER_UNITS = 1000 };   /* thousandths of ohm or volt */
enum { LINK_PRESENT = 1 << 0, LINK_UP = 1 << 1, LINK_CARRIER = 1 << 2 };
enum { LINK_CONTROLLER_SHIFT = 3, LINK_STATE_SHIFT = 5 };
enum { DATA_RATE_UNIT = 100000, DATA_RATE_MAX = 0xFF, BIT_RATE_MAX = 0xFFFFFF };

static uint32_t get_be32(const uint8_t *p)
{
    return (uint32_t)p[0] << 24 | (uint32_t)p[1] << 16 | (uint32_t)p[2] << 8 | p[3];
}

static uint32_t get_le32(const uint8_t *p)
{
    return (uint32_t)p[3] << 24 | (uint32_t)p[2] << 16 | (uint32_t)p[1] << 8 | p[0];
}

static void put_be32(uint8_t *p, uint32_t value)
{
    for (int i = 0; i < 4; i++)
        p[i] = (uint8_t)(value >> (24 - 8 * i));
}

static struct lw_reading known_unless_zero(uint32_t value)
{
    return value ? LW_KNOWN(value) : LW_UNKNOWN;
}

static void decode_link(uint8_t flags, uint32_t rates, struct lw_link *out)
{
    unsigned controller = flags >> LINK_CONTROLLER_SHIFT & 3, state = flags >> LINK_STATE_SHIFT;
    *out = lw_link_unknown();
    out->is_present = flags & LINK_PRESENT;
    out->is_up = flags & LINK_UP;
    out->has_carrier = flags & LINK_CARRIER;
    if (controller <= LW_CONTROLLER_REAL)
        out->controller = (enum lw_controller_presence)controller;
    if (state <= LW_STATE_SLEEPING)
        out->state = (enum lw_bus_state)state;
    out->bit_rate_bps = known_unless_zero(rates & BIT_RATE_MAX);
    out->data_bit_rate_bps = known_unless_zero((rates >> 24) * DATA_RATE_UNIT);
}

static void decode_meter(uint8_t kind, uint32_t thousandths, struct lw_meter_reading *out)
{
    *out = (struct lw_meter_reading){ .kind = kind, .value = thousandths == METER_OPEN ? INFINITY : (double)thousandths / METER_UNITS };
}

/* False if it is none of our notes, but an error frame that only looks like one. */
static bool decode_note(const uint8_t data[LW_CLASSIC_MAX_LEN], struct lw_event *out)
{
    if (data[0] != 'L' || data[1] != 'W')
        return false;
    switch (data[2]) {
    case NOTE_LINK:
        out->kind = LW_EVENT_LINK;
        decode_link(data[3], get_be32(data + 4), &out->link);
        return true;
    case NOTE_LOSS:
        out->kind = LW_EVENT_LOSS;
        out->loss.place = data[3] == LW_LOSS_ADAPTER ? LW_LOSS_ADAPTER : LW_LOSS_SOCKET;
        out->loss.n_frames = get_be32(data + 4);
        return true;
    case NOTE_MARK:
        out->kind = LW_EVENT_MARK;
        out->mark = data[3] < LW_N_MARKS ? data[3] : LW_MARK_PLAIN;
        return true;
    case NOTE_METER:
        out->kind = LW_EVENT_METER;
        decode_meter(data[3], get_be32(data + 4), &out->meter);
        return data[3] < LW_N_MEASUREMENTS;
    case NOTE_VERDICT:
        out->kind = LW_EVENT_VERDICT;
        out->told = (struct lw_told_verdict){ data[3], data[4], data[5] };
        return true;
    default:
        return false;
    }
}

static enum lw_record_fault decode_error(uint32_t class_bits, const uint8_t *bytes, size_t n, struct lw_event *out)
{
    uint8_t data[LW_CLASSIC_MAX_LEN] = { 0 };
    if (bytes[AT_LENGTH] > LW_CLASSIC_MAX_LEN)
        return LW_RECORD_BAD_LENGTH;
    if (n < (size_t)AT_DATA + bytes[AT_LENGTH])
        return LW_RECORD_SHORT;
    /* Every class is in the low half. Bits in the high half alone are an 11-bit identifier the other way
     * round, and a whole bus of those must not light the dashboard up as error frames. */
    if (class_bits && !(class_bits & 0xFFFF))
        return LW_RECORD_BAD_ID;
    memcpy(data, bytes + AT_DATA, bytes[AT_LENGTH]);
    if (!class_bits && decode_note(data, out))
        return LW_RECORD_GOOD;
    out->kind = LW_EVENT_ERROR;
    out->error.class_bits = class_bits;
    memcpy(out->error.data, data, sizeof(data));
    return LW_RECORD_GOOD;
}

/* The flags of a frame without its identifier's. Writers older than the FD flag are told by the size of
 * the record. */
static uint8_t format_flags(const uint8_t *bytes, size_t n)
{
    uint8_t flags = bytes[AT_FD_FLAGS];
    if (!(flags & FD_FORMAT) && bytes[AT_LENGTH] <= LW_CLASSIC_MAX_LEN && n < FD_RECORD)
        return 0;
    return (uint8_t)(LW_FRAME_FD | (flags & FD_BRS ? LW_FRAME_BRS : 0) | (flags & FD_ESI ? LW_FRAME_ESI : 0));
}

static enum lw_record_fault decode_frame(uint32_t id, const uint8_t *bytes, size_t n, struct lw_event *out)
{
    uint8_t len = bytes[AT_LENGTH];
    bool is_remote = id & ID_REMOTE, is_extended = id & ID_EXTENDED;
    if (len > (is_remote ? LW_CLASSIC_MAX_LEN : LW_FRAME_MAX_LEN) || lw_len_from_dlc(lw_dlc_from_len(len)) != len)
        return LW_RECORD_BAD_LENGTH;
    if (!is_remote && n < (size_t)AT_DATA + len)
        return LW_RECORD_SHORT;
    if (!is_extended && (id & ID_BITS) > LW_STANDARD_ID_MAX)
        return LW_RECORD_BAD_ID;
    unsigned flags = is_remote ? LW_FRAME_REMOTE : format_flags(bytes, n);
    if (is_extended)
        flags |= LW_FRAME_EXTENDED;
    out->kind = LW_EVENT_FRAME;
    out->frame = (struct lw_frame){ id & ID_BITS, (uint8_t)flags, len, { 0 } };
    if (!is_remote)
        memcpy(out->frame.data, bytes + AT_DATA, len);
    return LW_RECORD_GOOD;
}

enum lw_record_fault lw_capture_decode(const uint8_t *bytes, size_t n, bool is_swapped, struct lw_event *out)
{
    if (n < AT_DATA)
        return LW_RECORD_SHORT;
    if (bytes[AT_LENGTH] & XL_FORMAT)
        return LW_RECORD_OTHER;
    uint32_t id = is_swapped ? get_le32(bytes) : get_be32(bytes);
    if (id & ID_ERROR)
        return decode_error(id & ID_BITS, bytes, n, out);
    return decode_frame(id, bytes, n, out);
}

static size_t encode_frame(const struct lw_frame *frame, uint8_t *out)
{
    bool is_remote = frame->flags & LW_FRAME_REMOTE, is_fd = frame->flags & LW_FRAME_FD;
    uint32_t id = frame->id | (frame->flags & LW_FRAME_EXTENDED ? ID_EXTENDED : 0) | (is_remote ? ID_REMOTE : 0);
    put_be32(out, id);
    if (is_remote)
        return CLASSIC_RECORD;
    out[AT_LENGTH] = frame->len;
    memcpy(out + AT_DATA, frame->data, frame->len);
    if (!is_fd)
        return CLASSIC_RECORD;
    out[AT_FD_FLAGS] = (uint8_t)(FD_FORMAT | (frame->flags & LW_FRAME_BRS ? FD_BRS : 0)
                                 | (frame->flags & LW_FRAME_ESI ? FD_ESI : 0));
    return FD_RECORD;
}

static size_t encode_error(uint32_t class_bits, const uint8_t data[LW_CLASSIC_MAX_LEN], uint8_t *out)
{
    put_be32(out, ID_ERROR | (class_bits & ID_BITS));
    out[AT_LENGTH] = LW_CLASSIC_MAX_LEN;
    memcpy(out + AT_DATA, data, LW_CLASSIC_MAX_LEN);
    return CLASSIC_RECORD;
}

static size_t encode_note(enum note_kind kind, uint8_t flags, uint32_t value, uint8_t *out)
{
    uint8_t data[LW_CLASSIC_MAX_LEN] = { 'L', 'W', (uint8_t)kind, flags };
    put_be32(data + 4, value);
    return encode_error(0, data, out);
}

static size_t encode_link(const struct lw_link *link, uint8_t *out)
{
    unsigned flags = (link->is_present ? LINK_PRESENT : 0) | (link->is_up ? LINK_UP : 0)
                     | (link->has_carrier ? LINK_CARRIER : 0) | (unsigned)link->controller << LINK_CONTROLLER_SHIFT
                     | (unsigned)link->state << LINK_STATE_SHIFT;
    uint32_t bps = link->bit_rate_bps.is_known ? link->bit_rate_bps.value : 0;
    uint32_t data_bps = link->data_bit_rate_bps.is_known ? link->data_bit_rate_bps.value : 0;
    /* A rate that does not fit is better unknown than wrong. */
    if (bps > BIT_RATE_MAX)
        bps = 0;
    if (data_bps % DATA_RATE_UNIT || data_bps / DATA_RATE_UNIT > DATA_RATE_MAX)
        data_bps = 0;
    return encode_note(NOTE_LINK, (uint8_t)flags, data_bps / DATA_RATE_UNIT << 24 | bps, out);
}

static uint32_t thousandths_of(double value)
{
    double units = value * METER_UNITS + 0.5;
    return units >= METER_OPEN ? METER_OPEN : (uint32_t)units;
}

size_t lw_capture_encode(const struct lw_event *event, uint8_t out[LW_CAPTURE_RECORD_MAX])
{
    memset(out, 0, LW_CAPTURE_RECORD_MAX);
    switch (event->kind) {
    case LW_EVENT_FRAME: return encode_frame(&event->frame, out);
    case LW_EVENT_ERROR: return encode_error(event->error.class_bits, event->error.data, out);
    case LW_EVENT_LINK: return encode_link(&event->link, out);
    case LW_EVENT_LOSS: return encode_note(NOTE_LOSS, (uint8_t)event->loss.place, event->loss.n_frames, out);
    case LW_EVENT_METER: return encode_note(NOTE_METER, event->meter.kind, thousandths_of(event->meter.value), out);
    case LW_EVENT_VERDICT:
        return encode_note(NOTE_VERDICT, event->told.picture, (uint32_t)event->told.confidence << 24 | (uint32_t)event->told.cause << 16, out);
    default: return encode_note(NOTE_MARK, event->mark, 0, out);
    }
}
