/* SPDX-License-Identifier: MIT
 *
 * A file of a test that has a path but no place: nothing is left behind, however the test ends.
 */
#ifndef LOOMWATCH_TEST_SCRATCH_FILE_H
#define LOOMWATCH_TEST_SCRATCH_FILE_H

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

struct scratch_file {
    int fd;
    char path[48];    /* holds for other processes too */
};

static inline struct scratch_file scratch_file_open(void)
{
    struct scratch_file file = { .fd = memfd_create("scratch", MFD_CLOEXEC) };
    if (file.fd < 0)
        abort();
    snprintf(file.path, sizeof(file.path), "/proc/%d/fd/%d", (int)getpid(), file.fd);
    return file;
}

/* Replaces the content. */
static inline void scratch_file_fill(const struct scratch_file *file, const void *bytes, size_t n)
{
    if (ftruncate(file->fd, 0) != 0 || pwrite(file->fd, bytes, n, 0) != (ssize_t)n)
        abort();
}

static inline size_t scratch_file_size(const struct scratch_file *file)
{
    struct stat st;
    return fstat(file->fd, &st) == 0 ? (size_t)st.st_size : 0;
}

static inline void scratch_file_close(struct scratch_file *file)
{
    close(file->fd);
    file->fd = -1;
}

#endif
