/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Where FFTW's plans are kept between runs: the user's cache folder.  Never needed: every trouble means none. */
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cli.h"

enum { PATH_MOST = PATH_MAX };

static bool is_folder(const char *path)
{
    struct stat facts;
    return !stat(path, &facts) && S_ISDIR(facts.st_mode);
}

/* The folder and its parents below `from` characters; nobody else's business, hence 0700 (XDG Base Directory
 * Specification, on folders that are made). */
static bool make_folders(char *path, size_t from)
{
    for (char *slash = path + from; (slash = strchr(slash + 1, '/'));) {
        *slash = 0;
        bool there = is_folder(path) || !mkdir(path, 0700);
        *slash = '/';
        if (!there)
            return false;
    }
    return true;
}

/* XDG Base Directory Specification: $XDG_CACHE_HOME when set, not empty and absolute, else $HOME/.cache. */
static bool cache_file(char *path, size_t size, size_t *root)
{
    const char *base = getenv("XDG_CACHE_HOME"), *below = "";
    if (!base || base[0] != '/') {
        base = getenv("HOME");
        below = "/.cache";
    }
    if (!base || base[0] != '/' || !is_folder(base))
        return false;
    *root = strlen(base);
    int used = snprintf(path, size, "%s%s/spurity/fftw-wisdom", base, below);
    return used > 0 && (size_t)used < size;
}

char *spurity_cli_wisdom(void)
{
    char path[PATH_MOST];
    size_t root;
    if (!cache_file(path, sizeof path, &root) || !make_folders(path, root))
        return NULL;
    return strdup(path);
}

/* A run that had nothing to keep leaves no empty folder behind. */
void spurity_cli_wisdom_release(char *path)
{
    char *slash = path ? strrchr(path, '/') : NULL;
    if (slash) {
        *slash = 0;
        rmdir(path); /* fails, as it should, when something is in it */
    }
    free(path);
}
