/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "bytes.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <sha2.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "source.h"

enum { HASH_BLOCK = 1 << 18, ASK_EVERY_MS = 100 };

static spurity_status report_system(const struct spurity_bytes *bytes, int number, const char *what,
                                    spurity_error *error)
{
    return spurity_reportf(error, SPURITY_SYSTEM, (spurity_place){.file = bytes->name}, "a file that can be read", NULL,
                           "%s: %s", what, strerror(number));
}

spurity_status spurity_bytes_take(spurity_input *input, struct spurity_bytes *bytes, spurity_error *error)
{
    *bytes = (struct spurity_bytes){.fd = -1};
    spurity_input_clean(bytes->name, sizeof bytes->name, input->name, strlen(input->name));
    spurity_status status = spurity_source_take(input->source, bytes, error);
    bytes->go_on = spurity_bytes_watched;
    bytes->context = (void *)(uintptr_t)input->watch; /* const is given back there */
    return status;
}

void spurity_bytes_close(struct spurity_bytes *bytes)
{
    if (bytes->close_fd)
        close(bytes->fd);
    free(bytes->ahead);
    *bytes = (struct spurity_bytes){.fd = -1};
}

/* ---- a file beside another --------------------------------------------------------------------------- */

static bool is_bare_name(const char *name)
{
    if (!*name || !strcmp(name, ".") || !strcmp(name, "..") || strlen(name) > 255)
        return false;
    for (const char *c = name; *c; c++)
        if (*c == '/' || *c == '\\' || (unsigned char)*c < 0x20 || *c == 0x7F)
            return false;
    return true;
}

/** A descriptor of the folder in which `path` stands. */
static int open_folder(const char *path)
{
    const char *slash = strrchr(path, '/');
    if (!slash)
        return open(".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    char *folder = strndup(path, (size_t)(slash - path) + 1); /* "/" keeps its slash */
    int fd = folder ? open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC) : -1;
    free(folder);
    return fd;
}

/** Non-blocking, so that a pipe in a file's place does not hang. */
static spurity_status open_in(int folder, const char *name, struct spurity_bytes *bytes, bool *missing,
                              spurity_error *error)
{
    struct stat about;
    bytes->fd = openat(folder, name, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NOFOLLOW | O_NONBLOCK);
    if (bytes->fd < 0 && errno == ENOENT && missing) {
        *missing = true;
        return SPURITY_OK;
    }
    if (bytes->fd < 0 && errno == ELOOP)
        return spurity_report(error, SPURITY_INVALID, (spurity_place){.file = bytes->name}, "a symbolic link",
                              "a regular file", "links are not followed from a recording: put the file itself there");
    if (bytes->fd < 0)
        return report_system(bytes, errno, "cannot open it", error);
    bytes->close_fd = true;
    if (fstat(bytes->fd, &about))
        return report_system(bytes, errno, "cannot look at it", error);
    if (!S_ISREG(about.st_mode))
        return spurity_report(error, SPURITY_INVALID, (spurity_place){.file = bytes->name}, "no regular file",
                              "a regular file", NULL);
    bytes->size = (uint64_t)about.st_size;
    return SPURITY_OK;
}

spurity_status spurity_bytes_beside(const char *path, const char *name, struct spurity_bytes *bytes, bool *missing,
                                    spurity_error *error)
{
    *bytes = (struct spurity_bytes){.fd = -1};
    if (missing)
        *missing = false;
    const char *slash = strrchr(path, '/');
    char joined[4096];
    snprintf(joined, sizeof joined, "%.*s%s", slash ? (int)(slash + 1 - path) : 0, path, name);
    size_t length = strlen(joined), from = length < sizeof bytes->name ? 0 : length - (sizeof bytes->name - 1);
    spurity_input_clean(bytes->name, sizeof bytes->name, joined + from, length - from);
    if (!is_bare_name(name))
        return spurity_reportf(
            error, SPURITY_INVALID, (spurity_place){.file = path}, "the bare name of a file beside it",
            "put the data file beside it and name it without a folder", "a data file named '%.100s'", name);
    int folder = open_folder(path);
    if (folder < 0)
        return report_system(bytes, errno, "cannot open its folder", error);
    spurity_status status = open_in(folder, name, bytes, missing, error);
    close(folder);
    if (status)
        spurity_bytes_close(bytes);
    return status;
}

/* ---- reading --------------------------------------------------------------------------------------------- */

spurity_status spurity_bytes_at(const struct spurity_bytes *bytes, uint64_t at, void *into, size_t n, size_t *got,
                                spurity_error *error)
{
    *got = 0;
    const uint64_t left = at < bytes->size ? bytes->size - at : 0;
    if (n > left)
        n = (size_t)left;
    if (bytes->fd < 0) {
        if (n)
            memcpy(into, bytes->memory + bytes->start + at, n);
        *got = n;
        return SPURITY_OK;
    }
    while (*got < n) {
        ssize_t more = pread(bytes->fd, (char *)into + *got, n - *got, (off_t)(bytes->start + at + *got));
        if (more < 0 && errno == EINTR)
            continue;
        if (more < 0)
            return report_system(bytes, errno, "cannot read it", error);
        if (!more)
            break; /* it was cut while we read */
        *got += (size_t)more;
    }
    return SPURITY_OK;
}

bool spurity_bytes_watched(void *watch)
{
    return spurity_watch_tick(watch, "waiting for samples", -1);
}

spurity_status spurity_bytes_wait(int fd, const char *name, bool (*go_on)(void *context), void *context,
                                  spurity_error *error)
{
    struct pollfd one = {.fd = fd, .events = POLLIN};
    while (go_on) {
        const int ready = poll(&one, 1, ASK_EVERY_MS);
        if (ready > 0 || (ready < 0 && errno != EINTR))
            return SPURITY_OK; /* what is wrong with it, the read will tell */
        if (!go_on(context))
            return spurity_report(error, SPURITY_CANCELLED, (spurity_place){.file = name}, "cancelled", NULL, NULL);
    }
    return SPURITY_OK;
}

spurity_status spurity_bytes_next(struct spurity_bytes *bytes, void *into, size_t n, size_t *got, spurity_error *error)
{
    const size_t left = bytes->ahead_size - bytes->ahead_at;
    *got = n < left ? n : left;
    if (*got)
        memcpy(into, bytes->ahead + bytes->ahead_at, *got);
    bytes->ahead_at += *got;
    if (bytes->ahead && bytes->ahead_at == bytes->ahead_size) {
        free(bytes->ahead);
        bytes->ahead = NULL;
        bytes->ahead_size = bytes->ahead_at = 0;
    }
    while (*got < n) {
        spurity_status status = spurity_bytes_wait(bytes->fd, bytes->name, bytes->go_on, bytes->context, error);
        if (status)
            return status;
        ssize_t more = read(bytes->fd, (char *)into + *got, n - *got);
        if (more < 0 && errno == EINTR)
            continue;
        if (more < 0)
            return report_system(bytes, errno, "cannot read it", error);
        if (!more)
            break;
        *got += (size_t)more;
    }
    return SPURITY_OK;
}

bool spurity_bytes_room(void)
{
    void *volatile probe = malloc((size_t)1 << 20);
    const bool is = probe != NULL;
    free(probe);
    return is;
}

spurity_status spurity_bytes_whole(const struct spurity_bytes *bytes, size_t most, unsigned char **all, size_t *size,
                                   spurity_error *error)
{
    *all = NULL;
    if (bytes->size > most)
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = bytes->name}, "a smaller file", NULL,
                               "more than %zu bytes", most);
    *all = malloc((size_t)bytes->size + 1);
    if (!*all)
        return spurity_report_memory(error);
    spurity_status status = spurity_bytes_at(bytes, 0, *all, (size_t)bytes->size, size, error);
    if (status) {
        free(*all);
        *all = NULL;
        return status;
    }
    (*all)[*size] = 0;
    return SPURITY_OK;
}

/* ---- digests --------------------------------------------------------------------------------------------- */

static void hex_of(const unsigned char *digest, size_t size, char *text)
{
    static const char hex[] = "0123456789abcdef";
    for (size_t i = 0; i < size; i++) {
        text[2 * i] = hex[digest[i] >> 4];
        text[2 * i + 1] = hex[digest[i] & 15];
    }
    text[2 * size] = 0;
}

spurity_status spurity_bytes_hash(const struct spurity_bytes *bytes, char sha256[65], char *sha512,
                                  const spurity_watch *watch, spurity_error *error)
{
    SHA2_CTX short_one, long_one;
    unsigned char digest[SHA512_DIGEST_LENGTH];
    size_t got = 1;
    spurity_status status = SPURITY_OK;
    unsigned char *block = malloc(HASH_BLOCK);
    if (!block)
        return spurity_report_memory(error);
    SHA256Init(&short_one);
    SHA512Init(&long_one);
    for (uint64_t at = 0; !status && got; at += got) {
        if (!spurity_watch_tick(watch, "hashing", bytes->size ? (double)at / (double)bytes->size : -1))
            status =
                spurity_report(error, SPURITY_CANCELLED, (spurity_place){.file = bytes->name}, "cancelled", NULL, NULL);
        else
            status = spurity_bytes_at(bytes, at, block, HASH_BLOCK, &got, error);
        if (!status)
            SHA256Update(&short_one, block, got);
        if (!status && sha512)
            SHA512Update(&long_one, block, got);
    }
    SHA256Final(digest, &short_one);
    hex_of(digest, SHA256_DIGEST_LENGTH, sha256);
    SHA512Final(digest, &long_one);
    if (sha512)
        hex_of(digest, SHA512_DIGEST_LENGTH, sha512);
    if (status)
        *sha256 = 0;
    free(block);
    return status;
}
