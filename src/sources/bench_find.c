/* SPDX-License-Identifier: MIT
 *
 * Where bench files are: from a name to a path, and the names there are.
 */
#include "loomwatch/sources/bench_file.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#ifndef LW_BENCH_SOURCE_DIR
#define LW_BENCH_SOURCE_DIR ""
#endif
#ifndef LW_BENCH_DATA_DIR
#define LW_BENCH_DATA_DIR ""
#endif

enum { N_FOLDERS = 3, MAX_NAMES = 64 };

static const char ending[] = ".bench";
static const char built_in[] = "harrow40";

static const char *folder(unsigned i)
{
    const char *own = getenv("LW_BENCHES");
    const char *const folders[N_FOLDERS] = { own ? own : "", LW_BENCH_SOURCE_DIR, LW_BENCH_DATA_DIR };
    return folders[i];
}

static bool has_ending(const char *name)
{
    size_t n = strlen(name), m = strlen(ending);
    return n > m && strcmp(name + n - m, ending) == 0;
}

int lw_bench_file_find(const char *name, char *path, size_t size)
{
    if (strchr(name, '/') || has_ending(name))
        return (size_t)snprintf(path, size, "%s", name) < size ? 0 : -ENAMETOOLONG;
    for (unsigned i = 0; i < N_FOLDERS; i++) {
        if (folder(i)[0] == '\0')
            continue;
        if ((size_t)snprintf(path, size, "%s/%s%s", folder(i), name, ending) >= size)
            return -ENAMETOOLONG;
        if (access(path, R_OK) == 0)
            return 0;
    }
    return -ENOENT;
}

struct list {
    unsigned n;
    char names[MAX_NAMES][LW_PLANT_NAME];
};

static void add(struct list *list, const char *name, size_t n)
{
    if (list->n == MAX_NAMES || n == 0 || n >= LW_PLANT_NAME)
        return;
    for (unsigned i = 0; i < list->n; i++)
        if (strlen(list->names[i]) == n && strncmp(list->names[i], name, n) == 0)
            return;
    snprintf(list->names[list->n++], LW_PLANT_NAME, "%.*s", (int)n, name);
}

static void add_folder(struct list *list, const char *path)
{
    DIR *dir = path[0] ? opendir(path) : NULL;
    for (struct dirent *entry; dir && (entry = readdir(dir));)
        if (has_ending(entry->d_name))
            add(list, entry->d_name, strlen(entry->d_name) - strlen(ending));
    if (dir)
        closedir(dir);
}

static int order(const void *a, const void *b)
{
    return strcmp(a, b);
}

size_t lw_bench_file_names(char *names, size_t size)
{
    struct list list = { 0 };
    size_t n = 0;
    add(&list, built_in, strlen(built_in));
    for (unsigned i = 0; i < N_FOLDERS; i++)
        add_folder(&list, folder(i));
    qsort(list.names, list.n, LW_PLANT_NAME, order);
    names[0] = '\0';
    for (unsigned i = 0; i < list.n && n + strlen(list.names[i]) + 2 <= size; i++)
        n += (size_t)snprintf(names + n, size - n, "%s%s", i ? " " : "", list.names[i]);
    return list.n;
}
