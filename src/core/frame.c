/* SPDX-License-Identifier: MIT
 *
 * Frames and message names: keys, their order on the wire, their text, data length codes.
 */
#include "loomwatch/core/event.h"
#include "loomwatch/core/frame.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

struct lw_id_key lw_frame_key(const struct lw_frame *frame, unsigned bus)
{
    return (struct lw_id_key){
        .id = frame->id, .bus = (uint8_t)bus, .is_extended = (frame->flags & LW_FRAME_EXTENDED) != 0
    };
}

bool lw_id_key_equal(struct lw_id_key a, struct lw_id_key b)
{
    return a.id == b.id && a.bus == b.bus && a.is_extended == b.is_extended;
}

/* The arbitration field as the wire carries it, left-aligned in 32 bits: base identifier, SRR/RTR and IDE, extension.
 * The lower number wins. */
static uint32_t arbitration_word(struct lw_id_key key)
{
    if (!key.is_extended)
        return key.id << 21;
    uint32_t base = key.id >> 18, extension = key.id & 0x3FFFF;
    return base << 21 | 1u << 20 | 1u << 19 | extension << 1;
}

int lw_id_key_order(struct lw_id_key a, struct lw_id_key b)
{
    if (a.bus != b.bus)
        return a.bus < b.bus ? -1 : 1;
    uint32_t wa = arbitration_word(a), wb = arbitration_word(b);
    return wa < wb ? -1 : wa > wb;
}

char *lw_id_text(struct lw_id_key key, char buf[LW_ID_TEXT])
{
    snprintf(buf, LW_ID_TEXT, key.is_extended ? "%08X" : "%03X", (unsigned)key.id);
    return buf;
}

static int hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

int lw_id_parse(const char *text, struct lw_id_key *key)
{
    size_t n = strlen(text);
    if (n != 3 && n != 8)
        return -EINVAL;
    uint32_t id = 0;
    for (size_t i = 0; i < n; i++) {
        int digit = hex_digit(text[i]);
        if (digit < 0)
            return -EINVAL;
        id = id << 4 | (uint32_t)digit;
    }
    if (id > (n == 3 ? LW_STANDARD_ID_MAX : LW_EXTENDED_ID_MAX))
        return -EINVAL;
    key->id = id;
    key->is_extended = n == 8;
    return 0;
}

static const uint8_t len_by_dlc[LW_N_DLC] = { 0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64 };

unsigned lw_len_from_dlc(unsigned dlc)
{
    return len_by_dlc[dlc < LW_N_DLC ? dlc : LW_N_DLC - 1];
}

unsigned lw_dlc_from_len(unsigned len)
{
    unsigned dlc = 0;
    while (dlc < LW_N_DLC - 1 && len_by_dlc[dlc] < len)
        dlc++;
    return dlc;
}

struct lw_link lw_link_unknown(void)
{
    return (struct lw_link){ .is_present = true, .is_up = true, .has_carrier = true };
}
