/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_INPUT_BYTES_H
#define SPURITY_INPUT_BYTES_H
/* Bytes that a capture goes on reading after its recording is made: a file, a stretch of one, memory, or a pipe. */
#include "reader.h"

/** Start with all zero but fd -1. */
struct spurity_bytes {
    int fd; /* -1: memory, or nothing */
    bool close_fd;
    bool pipe;                   /* only forwards: `ahead` first, then what fd gives */
    const unsigned char *memory; /* borrowed */
    uint64_t start, size;        /* of the stretch; size 0 for a pipe */
    unsigned char *ahead;        /* of a pipe: what was read already; owned */
    size_t ahead_size, ahead_at;
    char name[256];               /* for messages */
    bool (*go_on)(void *context); /* asked while a pipe has nothing to give; NULL: nobody */
    void *context;
};

/** Waits until a pipe has something to give or has ended.  CANCELLED once go_on (may be NULL) says so. */
spurity_status spurity_bytes_wait(int fd, const char *name, bool (*go_on)(void *context), void *context,
                                  spurity_error *error);
/** go_on of a watch. */
bool spurity_bytes_watched(void *watch);

/** Takes over the descriptor (or memory, or what a pipe has given so far) of the file being read, which cannot be
 * pulled any more. */
spurity_status spurity_bytes_take(spurity_input *input, struct spurity_bytes *bytes, spurity_error *error);
/** Opens a file beside `path` by its bare name: INVALID for a name that is none (a folder in it, "..", controls), a
 * link, or anything but a regular file.  *missing (may be NULL) is set, and nothing reported, when there is none. */
spurity_status spurity_bytes_beside(const char *path, const char *name, struct spurity_bytes *bytes, bool *missing,
                                    spurity_error *error);
void spurity_bytes_close(struct spurity_bytes *bytes);

/** Up to n bytes from `at` of the stretch; short only at its end.  Not for pipes. */
spurity_status spurity_bytes_at(const struct spurity_bytes *bytes, uint64_t at, void *into, size_t n, size_t *got,
                                spurity_error *error);
/** The next n bytes of a pipe; short only at its end. */
spurity_status spurity_bytes_next(struct spurity_bytes *bytes, void *into, size_t n, size_t *got, spurity_error *error);
/** Whether a mebibyte can be had just now: asked before a library is called that ends the process, or worse, where
 * memory is out (libarchive, libsndfile). */
bool spurity_bytes_room(void);
/** The whole stretch, followed by a NUL that is not counted; the caller frees it. */
spurity_status spurity_bytes_whole(const struct spurity_bytes *bytes, size_t most, unsigned char **all, size_t *size,
                                   spurity_error *error);
/** Digests of the stretch as lower-case hex; sha512 (129 bytes) may be NULL. */
spurity_status spurity_bytes_hash(const struct spurity_bytes *bytes, char sha256[65], char *sha512,
                                  const spurity_watch *watch, spurity_error *error);

#endif
