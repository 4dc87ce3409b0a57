/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_INPUT_ARCHIVE_H
#define SPURITY_INPUT_ARCHIVE_H
/* What stands in a tar archive, and where: it is read in place, nothing is ever extracted. */
#include "bytes.h"

enum { SPURITY_ARCHIVE_ENTRIES_MOST = 10000 };

struct spurity_archive_entry {
    char *name;
    uint64_t offset, size; /* of its bytes in the archive; the archive may end before them */
};

struct spurity_archive {
    struct spurity_archive_entry *entries;
    size_t count, room;
};

/** Lists the regular files.  UNSUPPORTED for a compressed archive, INVALID for a damaged one.  Free with
 * spurity_archive_free also on failure. */
spurity_status spurity_archive_list(const struct spurity_bytes *bytes, struct spurity_archive *archive,
                                    spurity_error *error);
void spurity_archive_free(struct spurity_archive *archive);
/** The first of that name, NULL when there is none; *count tells how many there are. */
const struct spurity_archive_entry *spurity_archive_find(const struct spurity_archive *archive, const char *name,
                                                         size_t *count);
/** A tar header stands at the beginning. */
bool spurity_archive_is_tar(const unsigned char *head, size_t size);
/** Name of the compression whose signature stands at the beginning, or NULL. */
const char *spurity_archive_compression(const unsigned char *head, size_t size);

#endif
