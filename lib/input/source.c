/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "source.h"

#include <errno.h>
#include <fcntl.h>
#include <sha2.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "bytes.h"

enum {
    SOURCE_HASH_MOST = 64 << 20,
    SOURCE_SLACK = 64,
    SOURCE_STREAM_HEAD = 64 << 10 /* of a stream said to be samples: a slow one is not waited for */
};

struct spurity_input_source {
    int fd; /* -1: memory */
    bool close_fd, hashed;
    const unsigned char *bytes; /* memory; borrowed */
    size_t size;                /* of memory */
    uint64_t expected;          /* size of a regular file, 0 = not known */
    uint64_t done;              /* bytes handed out */
    unsigned char *head, *whole;
    size_t head_size;
    SHA2_CTX hash;
    const spurity_watch *watch; /* asked while a pipe has nothing to give; borrowed for the call */
};

spurity_status spurity_source_from_memory(const void *bytes, size_t size, spurity_input_source **source,
                                          spurity_error *error)
{
    spurity_input_source *made = calloc(1, sizeof *made);
    if (!made)
        return spurity_report_memory(error);
    made->fd = -1;
    made->bytes = bytes;
    made->size = size;
    made->expected = size;
    made->hashed = size <= SOURCE_HASH_MOST;
    *source = made;
    return SPURITY_OK;
}

static spurity_status report_system(spurity_error *error, const char *name, int number, const char *what)
{
    return spurity_reportf(error, SPURITY_SYSTEM, (spurity_place){.file = name}, "a file that can be read", NULL,
                           "%s: %s", what, strerror(number));
}

spurity_status spurity_source_from_path(const char *path, spurity_input_source **source, spurity_error *error)
{
    bool standard = !strcmp(path, "-");
    int fd = standard ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY);
    if (fd < 0)
        return report_system(error, path, errno, "cannot open it");
    struct stat about;
    spurity_status status = SPURITY_OK;
    if (fstat(fd, &about))
        status = report_system(error, path, errno, "cannot look at it");
    else if (S_ISDIR(about.st_mode))
        status = report_system(error, path, EISDIR, "cannot read it");
    if (!status)
        status = spurity_source_from_memory(NULL, 0, source, error);
    if (status) {
        if (!standard)
            close(fd);
        return status;
    }
    (*source)->fd = fd;
    (*source)->close_fd = !standard;
    (*source)->expected = !standard && S_ISREG(about.st_mode) && about.st_size > 0 ? (uint64_t)about.st_size : 0;
    (*source)->hashed = !standard && (*source)->expected <= SOURCE_HASH_MOST;
    return SPURITY_OK;
}

void spurity_source_close(spurity_input_source *source)
{
    if (!source)
        return;
    if (source->close_fd)
        close(source->fd);
    free(source->head);
    free(source->whole);
    free(source);
}

/** Up to room bytes; short only at the end. */
static spurity_status take(spurity_input_source *source, const char *name, void *into, size_t room, size_t *got,
                           spurity_error *error)
{
    *got = 0;
    if (source->fd < 0) {
        size_t left = source->size - (size_t)source->done;
        *got = left < room ? left : room;
        if (*got)
            memcpy(into, source->bytes + source->done, *got);
    }
    while (source->fd >= 0 && *got < room) {
        spurity_status status = source->expected ? SPURITY_OK
                                                 : spurity_bytes_wait(source->fd, name, spurity_bytes_watched,
                                                                      (void *)(uintptr_t)source->watch, error);
        if (status)
            return status;
        ssize_t n = read(source->fd, (char *)into + *got, room - *got);
        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0)
            return report_system(error, name, errno, "cannot read it");
        if (n == 0)
            break;
        *got += (size_t)n;
    }
    source->done += *got;
    if (source->done > SOURCE_HASH_MOST)
        source->hashed = false;
    if (source->hashed && *got)
        SHA256Update(&source->hash, into, *got);
    return SPURITY_OK;
}

spurity_status spurity_source_open_head(spurity_input_source *source, spurity_input *input, spurity_error *error)
{
    SHA256Init(&source->hash);
    source->watch = input->watch;
    /* One byte more than a small file holds shows at once that it has ended. */
    size_t room = source->expected && source->expected < SPURITY_HEAD_BYTES ? (size_t)source->expected + 1
                                                                            : (size_t)SPURITY_HEAD_BYTES;
    if (source->fd >= 0 && !source->expected && input->options->datatype_said && input->options->rate_hz > 0)
        room = SOURCE_STREAM_HEAD;
    source->head = malloc(room + SOURCE_SLACK);
    if (!source->head)
        return spurity_report_memory(error);
    spurity_status status = take(source, input->name, source->head, room, &source->head_size, error);
    if (status)
        return status;
    if (!source->head_size)
        return spurity_report(error, SPURITY_INVALID, (spurity_place){.file = input->name}, "an empty file",
                              "a sweep with at least two points, or samples", NULL);
    memset(source->head + source->head_size, 0, SOURCE_SLACK);
    input->head = source->head;
    input->head_size = source->head_size;
    input->head_is_all = source->head_size < room;
    input->total = source->expected;
    return SPURITY_OK;
}

spurity_status spurity_input_pull(spurity_input *input, void *into, size_t room, size_t *got, spurity_error *error)
{
    return take(input->source, input->name, into, room, got, error);
}

static spurity_status report_too_long(const spurity_input *input, size_t most_bytes, spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "a smaller file", NULL,
                           "more than %zu bytes", most_bytes);
}

spurity_status spurity_input_whole(spurity_input *input, size_t most_bytes, const unsigned char **bytes, size_t *size,
                                   spurity_error *error)
{
    spurity_input_source *source = input->source;
    if (input->total > most_bytes || input->head_size > most_bytes)
        return report_too_long(input, most_bytes, error);
    if (input->head_is_all) { /* the slack behind the head is NUL */
        *bytes = input->head;
        *size = input->head_size;
        return SPURITY_OK;
    }
    size_t room = input->total > input->head_size ? (size_t)input->total + 1 : input->head_size * 2;
    size_t used = input->head_size;
    unsigned char *all = malloc(room + 1);
    if (!all)
        return spurity_report_memory(error);
    source->whole = all;
    memcpy(all, input->head, used);
    for (;;) {
        size_t got = 0;
        spurity_status status = take(source, input->name, all + used, room - used, &got, error);
        if (status)
            return status;
        used += got;
        if (used < room)
            break;
        if (used > most_bytes)
            return report_too_long(input, most_bytes, error);
        room = room > most_bytes / 2 ? most_bytes + 1 : room * 2;
        all = realloc(source->whole, room + 1);
        if (!all)
            return spurity_report_memory(error);
        source->whole = all;
    }
    if (used > most_bytes)
        return report_too_long(input, most_bytes, error);
    all[used] = 0;
    *bytes = all;
    *size = used;
    return SPURITY_OK;
}

spurity_status spurity_source_take(spurity_input_source *source, struct spurity_bytes *bytes, spurity_error *error)
{
    bytes->size = source->fd < 0 ? source->size : source->expected;
    bytes->memory = source->bytes;
    bytes->pipe = source->fd >= 0 && !source->expected;
    if (bytes->pipe) {
        bytes->ahead = malloc(source->head_size);
        if (!bytes->ahead)
            return spurity_report_memory(error);
        memcpy(bytes->ahead, source->head, source->head_size);
        bytes->ahead_size = source->head_size;
    }
    bytes->fd = source->fd;
    bytes->close_fd = source->close_fd;
    source->close_fd = false;
    return SPURITY_OK;
}

spurity_status spurity_source_finish(spurity_input_source *source, spurity_input *input, spurity_recording_facts *facts,
                                     spurity_error *error)
{
    unsigned char rest[16384];
    size_t got = input->head_is_all ? 0 : 1;
    while (got) {
        spurity_status status = take(source, input->name, rest, sizeof rest, &got, error);
        if (status)
            return status;
    }
    facts->bytes = source->done;
    if (!source->hashed)
        return SPURITY_OK;
    unsigned char digest[SHA256_DIGEST_LENGTH];
    SHA256Final(digest, &source->hash);
    for (size_t i = 0; i < sizeof digest; i++) {
        static const char hex[] = "0123456789abcdef";
        facts->sha256[2 * i] = hex[digest[i] >> 4];
        facts->sha256[2 * i + 1] = hex[digest[i] & 15];
    }
    facts->sha256[2 * sizeof digest] = 0;
    return SPURITY_OK;
}
