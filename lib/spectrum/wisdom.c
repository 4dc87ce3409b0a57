/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "wisdom.h"

#include <fcntl.h>
#include <fftw3.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { SIZE_MOST = 1 << 20 }; /* a few kilobytes are usual */

/* NULL where it is no plain file of reasonable size. */
static char *read_all(int descriptor)
{
    struct stat about;
    if (fstat(descriptor, &about) || !S_ISREG(about.st_mode) || about.st_size <= 0 || about.st_size > SIZE_MOST)
        return NULL;
    const size_t size = (size_t)about.st_size;
    char *text = malloc(size + 1);
    size_t got = 0;
    while (text && got < size) {
        const ssize_t more = read(descriptor, text + got, size - got);
        if (more <= 0)
            break;
        got += (size_t)more;
    }
    if (text)
        text[got] = 0;
    return text;
}

void spurity_wisdom_read(const char *path)
{
    if (!path)
        return;
    const int descriptor = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (descriptor < 0)
        return;
    char *text = read_all(descriptor);
    close(descriptor);
    if (text)
        fftwf_import_wisdom_from_string(text);
    free(text);
}

static bool write_all(int descriptor, const char *text)
{
    size_t left = strlen(text);
    while (left) {
        const ssize_t wrote = write(descriptor, text, left);
        if (wrote <= 0)
            return false;
        text += wrote;
        left -= (size_t)wrote;
    }
    return fsync(descriptor) == 0;
}

void spurity_wisdom_keep(const char *path)
{
    if (!path)
        return;
    const size_t size = strlen(path) + sizeof ".XXXXXX";
    char *beside = malloc(size), *text = fftwf_export_wisdom_to_string();
    if (beside && text) {
        snprintf(beside, size, "%s.XXXXXX", path);
        const int descriptor = mkostemp(beside, O_CLOEXEC);
        if (descriptor >= 0) {
            const bool whole = write_all(descriptor, text);
            if (close(descriptor) || !whole || rename(beside, path))
                unlink(beside);
        }
    }
    free(beside);
    fftwf_free(text);
}
