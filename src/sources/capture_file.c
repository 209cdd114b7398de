/* SPDX-License-Identifier: MIT
 *
 * Opening a capture, and saying in plain words why it cannot be: a person chose the wrong file, and has to be
 * told which is the right one. Called by capture.c; lw_capture_is_capture by app/, which sorts what the user
 * named.
 */
#include "capture_file.h"

#include "loomwatch/sources/capture.h"
#include "loomwatch/sources/capture_record.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Descriptor of a regular file, or -errno. Anything else is -EINVAL: a pipe without a writer would hold up
 * the program. */
static int open_regular(const char *path)
{
    struct stat st;
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (fd < 0)
        return -errno;
    if (fstat(fd, &st) == 0 && S_ISREG(st.st_mode))
        return fd;
    close(fd);
    return -EINVAL;
}

static int open_stream(const char *path, FILE **out, char message[LW_SOURCE_TEXT])
{
    int fd = open_regular(path);
    if (fd == -EINVAL)
        snprintf(message, LW_SOURCE_TEXT, "%s is no regular file; give a capture file (pcap or pcapng)", path);
    else if (fd < 0)
        snprintf(message, LW_SOURCE_TEXT, "cannot open %s: %s", path, strerror(-fd));
    if (fd < 0)
        return fd;
    *out = fdopen(fd, "r");
    if (*out)
        return 0;
    close(fd);
    snprintf(message, LW_SOURCE_TEXT, "cannot open %s: not enough memory", path);
    return -ENOMEM;
}

static int check_link_type(pcap_t *pcap, const char *path, char message[LW_SOURCE_TEXT])
{
    int type = pcap_datalink(pcap);
    if (type == LW_CAPTURE_LINK_TYPE)
        return 0;
    const char *description = pcap_datalink_val_to_description(type);
    snprintf(message, LW_SOURCE_TEXT, "%s is a capture of link type %d (%s); a capture of a CAN bus has link type %d "
             "(CAN_SOCKETCAN)", path, type, description ? description : "unknown to libpcap", LW_CAPTURE_LINK_TYPE);
    return -ENOTSUP;
}

int lw_capture_file_open(const char *path, pcap_t **out, char message[LW_SOURCE_TEXT])
{
    FILE *file = NULL;
    char trouble[PCAP_ERRBUF_SIZE] = "";
    int error = open_stream(path, &file, message);
    if (error)
        return error;
    pcap_t *pcap = pcap_fopen_offline_with_tstamp_precision(file, PCAP_TSTAMP_PRECISION_NANO, trouble);
    if (!pcap) {
        snprintf(message, LW_SOURCE_TEXT, "%s is no capture that can be read (%s); what is wanted is a pcap or pcapng "
                 "file of link type %d (CAN_SOCKETCAN)", path, trouble, LW_CAPTURE_LINK_TYPE);
        fclose(file);
        return -EINVAL;
    }
    error = check_link_type(pcap, path, message);
    if (error)
        pcap_close(pcap);
    else
        *out = pcap;
    return error;
}

bool lw_capture_is_capture(const char *path)
{
    /* Sources: pcap file format and draft-ietf-opsawg-pcapng; either byte order, micro- and nanoseconds. */
    static const uint32_t magics[] = { 0xA1B2C3D4, 0xD4C3B2A1, 0xA1B23C4D, 0x4D3CB2A1, 0x0A0D0D0A };
    uint32_t magic;
    int fd = open_regular(path);
    if (fd < 0)
        return false;
    bool is_whole = read(fd, &magic, sizeof(magic)) == sizeof(magic);
    close(fd);
    for (size_t i = 0; is_whole && i < sizeof(magics) / sizeof(*magics); i++)
        if (magic == magics[i])
            return true;
    return false;
}
