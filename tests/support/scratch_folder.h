/* SPDX-License-Identifier: MIT
 *
 * A folder of a test's own, for what must have a name and a place: files that are renamed, or named after their source.
 */
#ifndef LOOMWATCH_TEST_SCRATCH_FOLDER_H
#define LOOMWATCH_TEST_SCRATCH_FOLDER_H

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct scratch_folder {
    char path[64];
};

static inline struct scratch_folder scratch_folder_make(void)
{
    struct scratch_folder folder;
    const char *under = getenv("TMPDIR");
    snprintf(folder.path, sizeof(folder.path), "%.40s/loomwatch-XXXXXX", under ? under : "/tmp");
    if (!mkdtemp(folder.path))
        abort();
    return folder;
}

/* Writes the path of a file in it to out, and returns out. */
static inline char *scratch_folder_path(const struct scratch_folder *folder, const char *name, char out[192])
{
    snprintf(out, 192, "%s/%.120s", folder->path, name);
    return out;
}

static inline void scratch_folder_write(const struct scratch_folder *folder, const char *name, const void *bytes, size_t n)
{
    char path[192];
    FILE *file = fopen(scratch_folder_path(folder, name, path), "w");
    if (!file || fwrite(bytes, 1, n, file) != n || fclose(file) != 0)
        abort();
}

/* How many files are in it. */
static inline unsigned scratch_folder_count(const struct scratch_folder *folder)
{
    unsigned n = 0;
    DIR *dir = opendir(folder->path);
    for (struct dirent *entry; dir && (entry = readdir(dir));)
        n += entry->d_name[0] != '.';
    if (dir)
        closedir(dir);
    return n;
}

static inline void scratch_folder_remove(const struct scratch_folder *folder)
{
    DIR *dir = opendir(folder->path);
    for (struct dirent *entry; dir && (entry = readdir(dir));) {
        char path[192];
        if (entry->d_name[0] != '.' || strlen(entry->d_name) > 2)
            unlink(scratch_folder_path(folder, entry->d_name, path));
    }
    if (dir)
        closedir(dir);
    rmdir(folder->path);
}

#endif
