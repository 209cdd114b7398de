/* SPDX-License-Identifier: MIT
 *
 * A pseudo-terminal in the serial-line CAN discipline. Used by in-kernel tests and bus_player.
 */
#include "slcan_player.h"

#include <errno.h>
#include <linux/sockios.h>
#include <linux/tty.h>
#include <pty.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "shell.h"

/* Ends when the line is closed. */
static void *listen_on(void *argument)
{
    struct slcan_player *player = argument;
    char buf[256];
    ssize_t n;

    while ((n = read(player->master, buf, sizeof(buf))) > 0 || (n < 0 && errno == EINTR)) {
        pthread_mutex_lock(&player->lock);
        for (ssize_t i = 0; i < n && player->n_heard < SLCAN_HEARD; i++)
            player->heard[player->n_heard++] = buf[i];
        pthread_mutex_unlock(&player->lock);
    }
    return NULL;
}

static int open_line(struct slcan_player *player)
{
    struct termios raw;
    int discipline = N_SLCAN;

    if (openpty(&player->master, &player->line, NULL, NULL, NULL) != 0)
        return -errno;
    if (tcgetattr(player->line, &raw) != 0)
        return -errno;
    cfmakeraw(&raw);
    if (tcsetattr(player->line, TCSANOW, &raw) != 0 || ioctl(player->line, TIOCSETD, &discipline) != 0 ||
        ioctl(player->line, SIOCGIFNAME, player->name) != 0)
        return -errno;
    player->has_ear = pthread_create(&player->ear, NULL, listen_on, player) == 0;
    return player->has_ear ? 0 : -EAGAIN;
}

static int set_up(struct slcan_player *player, const char *name, const char *settings)
{
    if (name && strcmp(name, player->name) != 0) {
        if (shell("ip link set dev %s name %s", player->name, name) != 0)
            return -EEXIST;
        snprintf(player->name, sizeof(player->name), "%.15s", name);
    }
    if (shell("ip link set dev %s type can %s", player->name, settings) != 0 ||
        shell("ip link set dev %s up", player->name) != 0)
        return -EINVAL;
    return 0;
}

int slcan_player_open(struct slcan_player *player, const char *name, const char *settings)
{
    int error;

    *player = (struct slcan_player){ .master = -1, .line = -1 };
    pthread_mutex_init(&player->lock, NULL);
    error = open_line(player);
    if (error == 0)
        error = set_up(player, name, settings);
    if (error != 0)
        slcan_player_close(player);
    return error;
}

void slcan_player_close(struct slcan_player *player)
{
    if (player->line >= 0)
        close(player->line);
    if (player->has_ear)
        pthread_join(player->ear, NULL);
    if (player->master >= 0)
        close(player->master);
    player->master = player->line = -1;
    player->has_ear = false;
    pthread_mutex_destroy(&player->lock);
}

int slcan_player_say(struct slcan_player *player, const char *line)
{
    char buf[128];
    int n = snprintf(buf, sizeof(buf), "%s\r", line);

    if (n >= (int)sizeof(buf))
        return -EMSGSIZE;
    return write(player->master, buf, (size_t)n) == n ? 0 : -EIO;
}

size_t slcan_player_hear(struct slcan_player *player, char *buf, size_t size)
{
    size_t n;

    pthread_mutex_lock(&player->lock);
    n = player->n_heard < size - 1 ? player->n_heard : size - 1;
    memcpy(buf, player->heard, n);
    buf[n] = '\0';
    player->n_heard = 0;
    pthread_mutex_unlock(&player->lock);
    return n;
}
