/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "archive.h"

#include <archive.h>
#include <archive_entry.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"

enum { BLOCK = 16384, TAR_MAGIC_AT = 257, NAME_MOST = 4096 };

/* The archive as libarchive pulls it. */
struct feed {
    const struct spurity_bytes *bytes;
    uint64_t at;
    spurity_error *error;
    unsigned char block[BLOCK];
};

static la_ssize_t feed_read(struct archive *archive, void *user, const void **block)
{
    struct feed *feed = user;
    size_t got = 0;
    if (spurity_bytes_at(feed->bytes, feed->at, feed->block, BLOCK, &got, feed->error)) {
        archive_set_error(archive, EIO, "cannot read");
        return -1;
    }
    feed->at += got;
    *block = feed->block;
    return (la_ssize_t)got;
}

static la_int64_t feed_skip(struct archive *archive, void *user, la_int64_t wanted)
{
    (void)archive;
    struct feed *feed = user;
    const uint64_t left = feed->bytes->size - feed->at;
    const uint64_t step = wanted > 0 && (uint64_t)wanted < left ? (uint64_t)wanted : wanted > 0 ? left : 0;
    feed->at += step;
    return (la_int64_t)step;
}

bool spurity_archive_is_tar(const unsigned char *head, size_t size)
{
    return size >= 512 && !memcmp(head + TAR_MAGIC_AT, "ustar", 5);
}

const char *spurity_archive_compression(const unsigned char *head, size_t size)
{
    static const struct {
        const char *name, *magic;
        size_t length;
    } rows[] = {{"gzip", "\x1F\x8B", 2},
                {"zip", "PK\x03\x04", 4},
                {"xz",
                 "\xFD"
                 "7zXZ",
                 5},
                {"zstd", "\x28\xB5\x2F\xFD", 4},
                {"bzip2", "BZh", 3},
                {"7z", "7z\xBC\xAF", 4},
                {"lz4", "\x04\x22\x4D\x18", 4}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (size >= rows[i].length && !memcmp(head, rows[i].magic, rows[i].length))
            return rows[i].name;
    return NULL;
}

/** No folder upwards, not absolute: such a name has no business in a recording. */
static bool is_tame(const char *name)
{
    const size_t length = strlen(name);
    if (!length || *name == '/' || length > NAME_MOST)
        return false;
    for (const char *part = name; part; part = strchr(part, '/') ? strchr(part, '/') + 1 : NULL)
        if (!strncmp(part, "..", 2) && (part[2] == '/' || !part[2]))
            return false;
    return true;
}

static const char *name_of(struct archive_entry *entry)
{
    const char *name = archive_entry_pathname_utf8(entry);
    name = name ? name : archive_entry_pathname(entry);
    while (name && !strncmp(name, "./", 2))
        name += 2;
    return name;
}

static spurity_status add(struct spurity_archive *list, struct archive *archive, struct archive_entry *entry,
                          spurity_error *error)
{
    const char *name = name_of(entry);
    const la_int64_t size = archive_entry_size(entry), offset = archive_filter_bytes(archive, -1);
    if (!name || !is_tame(name) || archive_entry_filetype(entry) != AE_IFREG || archive_entry_hardlink(entry) ||
        archive_entry_symlink(entry) || archive_entry_sparse_count(entry) > 0 || size < 0 || offset < 0)
        return SPURITY_OK; /* no recording's file; missed only if the recording needs it */
    struct spurity_archive_entry *entries = spurity_grow(list->entries, list->count, &list->room, sizeof *entries);
    if (!entries)
        return spurity_report_memory(error);
    list->entries = entries;
    entries[list->count].name = strdup(name);
    if (!entries[list->count].name)
        return spurity_report_memory(error);
    entries[list->count].offset = (uint64_t)offset;
    entries[list->count++].size = (uint64_t)size;
    return SPURITY_OK;
}

static spurity_status walk(struct archive *archive, const struct spurity_bytes *bytes, struct spurity_archive *list,
                           spurity_error *error)
{
    struct archive_entry *entry;
    for (size_t seen = 0;; seen++) {
        const int state = archive_read_next_header(archive, &entry);
        if (state == ARCHIVE_EOF)
            return SPURITY_OK;
        if (state < ARCHIVE_WARN && archive_errno(archive) == ENOMEM)
            return spurity_report_memory(error);
        /* A cut archive fails on the header behind the cut: what came before is still good. */
        if (state < ARCHIVE_WARN && list->count)
            return SPURITY_OK;
        if (state < ARCHIVE_WARN)
            return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = bytes->name}, "a plain tar archive",
                                   NULL, "a damaged archive: %s",
                                   archive_error_string(archive) ? archive_error_string(archive) : "unreadable");
        if (seen >= SPURITY_ARCHIVE_ENTRIES_MOST)
            return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = bytes->name},
                                   "an archive of one recording", "unpack it, and name the recording",
                                   "more than %d entries", SPURITY_ARCHIVE_ENTRIES_MOST);
        spurity_status status = add(list, archive, entry, error);
        if (status)
            return status;
    }
}

spurity_status spurity_archive_list(const struct spurity_bytes *bytes, struct spurity_archive *list,
                                    spurity_error *error)
{
    *list = (struct spurity_archive){0};
    struct feed *feed = calloc(1, sizeof *feed);
    struct archive *archive = spurity_bytes_room() ? archive_read_new() : NULL;
    spurity_status status = SPURITY_OK;
    size_t got = 0;
    if (!feed || !archive) {
        status = spurity_report_memory(error);
        goto out;
    }
    *feed = (struct feed){.bytes = bytes, .error = error};
    if ((status = spurity_bytes_at(bytes, 0, feed->block, BLOCK, &got, error)))
        goto out;
    const char *compression = spurity_archive_compression(feed->block, got);
    if (compression) {
        status = spurity_reportf(error, SPURITY_UNSUPPORTED, (spurity_place){.file = bytes->name},
                                 "a plain tar archive, as SigMF has it", "unpack it first", "a compressed archive (%s)",
                                 compression);
        goto out;
    }
    archive_read_support_format_tar(archive);
    archive_read_set_read_callback(archive, feed_read);
    archive_read_set_skip_callback(archive, feed_skip);
    archive_read_set_callback_data(archive, feed);
    if (archive_read_open1(archive) != ARCHIVE_OK)
        status = archive_errno(archive) == ENOMEM
                     ? spurity_report_memory(error)
                     : spurity_report(error, SPURITY_INVALID, (spurity_place){.file = bytes->name}, "no tar archive",
                                      "a plain tar archive, as SigMF has it", NULL);
    if (!status)
        status = walk(archive, bytes, list, error);
out:
    archive_read_free(archive);
    free(feed);
    return status;
}

void spurity_archive_free(struct spurity_archive *archive)
{
    for (size_t i = 0; i < archive->count; i++)
        free(archive->entries[i].name);
    free(archive->entries);
    *archive = (struct spurity_archive){0};
}

const struct spurity_archive_entry *spurity_archive_find(const struct spurity_archive *archive, const char *name,
                                                         size_t *count)
{
    const struct spurity_archive_entry *first = NULL;
    *count = 0;
    for (size_t i = 0; i < archive->count; i++)
        if (!strcmp(archive->entries[i].name, name) && !(*count)++)
            first = &archive->entries[i];
    return first;
}
