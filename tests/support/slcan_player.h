/* SPDX-License-Identifier: MIT
 *
 * Plays a serial-line CAN adapter to the kernel's own driver for such, on a pseudo-terminal: an interface with a real
 * controller state, without hardware. For in-kernel tests and bus_player. Needs root.
 */
#ifndef LOOMWATCH_TEST_SLCAN_PLAYER_H
#define LOOMWATCH_TEST_SLCAN_PLAYER_H

#include <net/if.h>
#include <pthread.h>
#include <stdbool.h>
#include <stddef.h>

enum { SLCAN_HEARD = 4096 };

struct slcan_player {
    int master, line;        /* the adapter's end, and the computer's */
    char name[IFNAMSIZ];     /* of the interface */
    pthread_t ear;           /* the driver waits until what it says is read */
    bool has_ear;
    pthread_mutex_t lock;    /* guards what was heard */
    char heard[SLCAN_HEARD];
    size_t n_heard;
};

/* Makes an interface of that name (NULL: the kernel's choice), sets it up with these words of `ip link set … type
 * can` ("bitrate 500000"), and brings it up. Returns 0 or -errno. */
int slcan_player_open(struct slcan_player *player, const char *name, const char *settings);
void slcan_player_close(struct slcan_player *player);    /* the interface disappears */

/* Says one line as the adapter: "t1232AABB" a frame heard, "e1a" one error (a acknowledge, b bit0, B bit1, c CRC, f form,
 * s stuff, o and O receive and transmit overrun), "sp128096" error passive with receive and transmit counter (a
 * active, w warning, p passive, b bus off). Source: the kernel's slcan driver, as found. Returns 0 or -errno. */
int slcan_player_say(struct slcan_player *player, const char *line);

/* What the driver has said to the adapter since the last call, carriage returns as they are; beyond SLCAN_HEARD bytes it
 * is lost. Returns its length. */
size_t slcan_player_hear(struct slcan_player *player, char *buf, size_t size);

#endif
