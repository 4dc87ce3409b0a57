/* SPDX-License-Identifier: GPL-2.0-or-later */
/* SigMF recordings (specification 1.2.5), named by the metadata, by the data, or as an archive. */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#include "archive.h"
#include "metadata.h"

enum { PROBE_JSON = 65536, NAMES_TOLD = 6 };

static const char meta_suffix[] = ".sigmf-meta", data_suffix[] = ".sigmf-data";

/** A recording while it is read. */
struct recording_files {
    spurity_input *input;
    spurity_recording *recording;
    spurity_error *error;
    struct spurity_bytes data;
    struct spurity_metadata metadata;
    struct spurity_archive archive;
    char meta_name[512]; /* for messages */
};

static bool ends_in(const char *name, const char *suffix)
{
    const size_t n = strlen(name), m = strlen(suffix);
    return n >= m && !strcasecmp(name + n - m, suffix);
}

/** `name` with another suffix after its last dot. */
static bool with_suffix(const char *name, const char *suffix, char *into, size_t size)
{
    const char *slash = strrchr(name, '/'), *dot = strrchr(name, '.');
    const size_t stem = dot && dot > (slash ? slash : name) ? (size_t)(dot - name) : strlen(name);
    const int n = snprintf(into, size, "%.*s%s", (int)stem, name, suffix);
    return n > 0 && (size_t)n < size;
}

static const char *bare(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

/** Metadata that lies beside a file of another name, as `core:dataset` has it. */
static bool has_metadata_beside(const spurity_input *input)
{
    char path[4096];
    return input->path && strcmp(input->path, "-") && with_suffix(input->path, meta_suffix, path, sizeof path) &&
           !access(path, F_OK);
}

static bool holds(const unsigned char *text, size_t size, const char *word)
{
    return memmem(text, size < PROBE_JSON ? size : PROBE_JSON, word, strlen(word));
}

static bool is_metadata(const spurity_input *input)
{
    const size_t mark = input->head_size > 3 && !memcmp(input->head, "\xEF\xBB\xBF", 3) ? 3 : 0;
    return ends_in(input->name, meta_suffix) ||
           (input->head[mark] == '{' && (holds(input->head, input->head_size, "\"core:") ||
                                         holds(input->head, input->head_size, "\"collection\"")));
}

static bool is_archive(const spurity_input *input)
{
    return ends_in(input->name, ".sigmf") || spurity_archive_is_tar(input->head, input->head_size);
}

static int probe(const spurity_input *input)
{
    if (is_metadata(input) || ends_in(input->name, data_suffix) || ends_in(input->name, ".sigmf"))
        return 100;
    if (is_archive(input))
        return 80;
    /* A sweep as text may happen to have a recording's name. */
    return !spurity_input_is_plain_text(input) && has_metadata_beside(input) ? 94 : 0;
}

/* ---- pieces -------------------------------------------------------------------------------------------------- */

/** Position of sample 0 in `core:sample_start`: the specification counts from `core:offset`, some writers from the
 * file. */
static uint64_t base_of(struct recording_files *files)
{
    const struct spurity_metadata *metadata = &files->metadata;
    if (!metadata->offset)
        return 0;
    for (size_t i = 0; i < metadata->segment_count; i++)
        if (metadata->segments[i].start < metadata->offset) {
            spurity_input_found(files->recording, "offset", "not used", "", 0, true,
                                "'global.core:offset' is %llu, and a segment begins before it",
                                (unsigned long long)metadata->offset);
            return 0;
        }
    return metadata->segment_count ? metadata->offset : 0;
}

/** Where segment i begins, bytes; false where no file can reach. */
static bool offset_of(uint64_t start, uint64_t headers, size_t frame, uint64_t *offset)
{
    return !__builtin_mul_overflow(start, (uint64_t)frame, offset) &&
           !__builtin_add_overflow(*offset, headers, offset) && *offset <= INT64_MAX;
}

static bool same_facts(const struct spurity_metadata_segment *one, const struct spurity_metadata_segment *two)
{
    const bool centre = one->center_hz == two->center_hz || (isnan(one->center_hz) && isnan(two->center_hz));
    return centre && one->overload == two->overload && !two->apart;
}

static void add_segment(struct spurity_layout *plan, const struct spurity_metadata_segment *told,
                        const struct spurity_metadata_segment *before, uint64_t first)
{
    if (isfinite(told->usable_hz) && !(plan->usable_hz <= told->usable_hz))
        plan->usable_hz = told->usable_hz;
    if (before && same_facts(before, told))
        return; /* the specification: neighbours of equal facts are one */
    plan->segments[plan->segment_count++] =
        (spurity_capture_segment){.first = first, .center_hz = told->center_hz, .overload = told->overload};
}

static void note_beyond(struct recording_files *files, size_t segment)
{
    spurity_notes_add(files->input->notes, SPURITY_NOTE_FILE_SHORTER, files->input->file,
                      "'%s': the data ends before segment %zu of %zu does; what is there is used", files->data.name,
                      segment + 1, files->metadata.segment_count);
}

/** Pieces and segments of the stream, whose sample 0 is the first segment's first. */
static spurity_status lay_out(struct recording_files *files, struct spurity_layout *plan, uint64_t end)
{
    const struct spurity_metadata *metadata = &files->metadata;
    const size_t frame = spurity_layout_frame_bytes(plan), count = metadata->segment_count;
    const uint64_t base = base_of(files);
    const struct spurity_metadata_segment *before = NULL;
    uint64_t headers = 0, first = 0;
    plan->pieces = calloc(count, sizeof *plan->pieces);
    plan->segments = calloc(count, sizeof *plan->segments);
    if (!plan->pieces || !plan->segments)
        return spurity_report_memory(files->error);
    for (size_t i = 0; i < count; i++) {
        const struct spurity_metadata_segment *told = &metadata->segments[i];
        uint64_t offset;
        headers += told->header_bytes;
        if (i + 1 < count && metadata->segments[i + 1].start == told->start)
            continue; /* of no length */
        if (!offset_of(told->start - base, headers, frame, &offset) || offset >= end) {
            note_beyond(files, i);
            break;
        }
        const uint64_t there = (end - offset) / frame;
        const uint64_t wanted = i + 1 < count ? metadata->segments[i + 1].start - told->start : there;
        const uint64_t samples = wanted < there ? wanted : there;
        if (samples) {
            add_segment(plan, told, before, first);
            plan->pieces[plan->piece_count++] =
                (struct spurity_piece){.offset = offset, .first = first, .samples = samples};
            before = told;
        }
        first += samples;
        if (wanted > there) {
            note_beyond(files, i);
            break;
        }
    }
    if (!plan->piece_count)
        return spurity_reportf(files->error, SPURITY_INVALID, (spurity_place){.file = files->data.name},
                               "samples of the recording", NULL, "%llu bytes, which end before the first sample",
                               (unsigned long long)files->data.size);
    return SPURITY_OK;
}

static void note_remains(struct recording_files *files, const struct spurity_layout *plan, uint64_t end)
{
    const struct spurity_metadata *metadata = &files->metadata;
    const size_t frame = spurity_layout_frame_bytes(plan);
    const struct spurity_piece *last = &plan->pieces[plan->piece_count - 1];
    const uint64_t rest = end > last->offset ? (end - last->offset) % frame : 0;
    const uint64_t base = metadata->segment_count ? metadata->segments[0].start : 0;
    const uint64_t there = base + last->first + last->samples; /* sample behind the last */
    if (rest)
        spurity_notes_add(files->input->notes, SPURITY_NOTE_FILE_SHORTER, files->input->file,
                          "'%s': the last %llu bytes are no whole sample of %zu bytes and are left out",
                          files->data.name, (unsigned long long)rest, frame);
    if (metadata->annotated > there)
        spurity_notes_add(files->input->notes, SPURITY_NOTE_FILE_SHORTER, files->input->file,
                          "'%s': an annotation speaks of sample %llu, and the data ends at %llu", files->data.name,
                          (unsigned long long)metadata->annotated, (unsigned long long)there);
    if (metadata->segment_count && metadata->segments[0].start > metadata->offset)
        spurity_input_found(files->recording, "samples before the first segment", "left out", "", 0, false,
                            "'captures[0].core:sample_start' is %llu", (unsigned long long)metadata->segments[0].start);
}

static spurity_status find_pieces(struct recording_files *files, struct spurity_layout *plan)
{
    const struct spurity_metadata *metadata = &files->metadata;
    const uint64_t size = files->data.size;
    if (metadata->trailing_bytes > size || metadata->header_bytes > size - metadata->trailing_bytes)
        return spurity_reportf(
            files->error, SPURITY_INVALID, (spurity_place){.file = files->meta_name},
            "fewer bytes than the data file has", NULL,
            "'core:header_bytes' and 'core:trailing_bytes' of %llu and %llu, and a data file of %llu",
            (unsigned long long)metadata->header_bytes, (unsigned long long)metadata->trailing_bytes,
            (unsigned long long)size);
    if ((metadata->header_bytes || metadata->trailing_bytes) && !*metadata->dataset)
        spurity_input_found(files->recording, "bytes around the samples", "left out", "", 0, true,
                            "'core:header_bytes' or 'core:trailing_bytes' without 'core:dataset'");
    if (!metadata->segment_count) {
        struct spurity_bytes shorter = files->data;
        shorter.size -= metadata->trailing_bytes;
        return spurity_layout_whole(files->input, plan, &shorter, 0, files->error);
    }
    spurity_status status = lay_out(files, plan, size - metadata->trailing_bytes);
    if (!status)
        note_remains(files, plan, size - metadata->trailing_bytes);
    return status;
}

/* ---- settle ----------------------------------------------------------------------------------------------------- */

/** --datatype over the file's; two real channels said to be complex are I and Q after all. */
static void settle_datatype(struct recording_files *files, struct spurity_layout *plan)
{
    const struct spurity_metadata *metadata = &files->metadata;
    char said[8], told[8];
    plan->format = metadata->format;
    plan->channels = metadata->channels;
    if (!files->input->options->datatype_said)
        return;
    plan->format = files->input->options->datatype;
    plan->format.swapped = false;
    spurity_sample_format_name(plan->format, said, sizeof said);
    spurity_input_found(files->recording, "datatype", said, "--datatype", 0, false, "said by --datatype");
    if (!metadata->datatype_told || !strcmp(said, spurity_sample_format_name(metadata->format, told, sizeof told)))
        return;
    spurity_input_contradiction(files->input, "'%s': --datatype says %s, the file %s; --datatype is taken",
                                files->meta_name, said, told);
    if (plan->format.is_complex && !metadata->format.is_complex && metadata->channels == 2 &&
        plan->format.component == metadata->format.component)
        plan->channels = 1;
}

static spurity_status check_digest(struct recording_files *files)
{
    char sha512[129];
    if (!files->input->options->hash || !*files->metadata.sha512)
        return SPURITY_OK;
    spurity_status status =
        spurity_bytes_hash(&files->data, files->recording->facts.sha256, sha512, files->input->watch, files->error);
    if (status)
        return status;
    if (!strcasecmp(sha512, files->metadata.sha512)) {
        spurity_input_found(files->recording, "digest", "as the metadata says", "", 0, false, "by 'core:sha512'");
        return SPURITY_OK;
    }
    spurity_input_found(files->recording, "digest", "another than the metadata says", "", 0, false,
                        "'core:sha512' is %.12s..., the data file's is %.12s...", files->metadata.sha512, sha512);
    spurity_input_contradiction(files->input,
                                "'%s': 'core:sha512' is %.24s..., the data file's is %.24s...: one of them was changed",
                                files->meta_name, files->metadata.sha512, sha512);
    return SPURITY_OK;
}

static spurity_status make_capture(struct recording_files *files)
{
    static const char two_real[] = "say --channel 1 or 2; if they are I and Q, say a complex --datatype";
    struct spurity_layout plan;
    spurity_layout_init(&plan);
    plan.rate_hz = files->metadata.rate_hz;
    plan.rate_says = "'core:sample_rate'";
    plan.center_says = "'core:frequency'";
    plan.full_scale_dbm = files->metadata.full_scale_dbm;
    plan.full_scale_says = files->metadata.full_scale_says;
    settle_datatype(files, &plan);
    memcpy(files->recording->facts.title, files->metadata.title, sizeof files->recording->facts.title);
    spurity_input_clean(files->recording->facts.data, sizeof files->recording->facts.data, bare(files->data.name),
                        strlen(bare(files->data.name)));
    spurity_status status = spurity_layout_channel(files->input, &plan, two_real, files->recording, files->error);
    if (!status)
        status = find_pieces(files, &plan);
    if (!status)
        status = spurity_layout_settle(files->input, &plan, files->recording, files->error);
    if (!status)
        status = check_digest(files);
    if (!status)
        status = spurity_layout_open(files->input, &plan, &files->data, files->recording, files->error);
    spurity_layout_free(&plan);
    return status;
}

/* ---- where the two files are ----------------------------------------------------------------------------------------
 */

static spurity_status refuse(struct recording_files *files, const char *found, const char *expected, const char *advice)
{
    return spurity_report(files->error, SPURITY_INVALID, spurity_input_at(files->input, 0, 0), found, expected, advice);
}

static spurity_status no_data(struct recording_files *files, const char *name)
{
    return spurity_reportf(files->error, SPURITY_INVALID, (spurity_place){.file = files->meta_name},
                           "the file with the samples", "put it beside the metadata", "no data file '%.100s'", name);
}

/** Named by the metadata: the data lies beside. */
static spurity_status from_metadata(struct recording_files *files)
{
    spurity_input *input = files->input;
    const unsigned char *text;
    size_t size;
    char name[4096];
    bool missing;
    spurity_status status = spurity_input_whole(input, SPURITY_METADATA_MOST, &text, &size, files->error);
    if (!status)
        status = spurity_metadata_read(input, files->meta_name, text, size, &files->metadata, files->recording,
                                       files->error);
    if (status)
        return status;
    if (!input->path || !strcmp(input->path, "-"))
        return refuse(files, "the metadata of a recording, and no place where its data lies", "a recording in a file",
                      "name the file, or pass the samples alone with --rate, --center and --datatype");
    if (*files->metadata.dataset)
        snprintf(name, sizeof name, "%s", files->metadata.dataset);
    else if (!with_suffix(bare(input->path), data_suffix, name, sizeof name))
        return refuse(files, "a name too long", "a shorter name", NULL);
    status = spurity_bytes_beside(input->path, name, &files->data, &missing, files->error);
    if (!status && missing)
        status = no_data(files, name);
    return status ? status : make_capture(files);
}

/** Named by the data: the metadata lies beside. */
static spurity_status from_data(struct recording_files *files)
{
    spurity_input *input = files->input;
    struct spurity_bytes meta;
    char name[4096];
    unsigned char *text = NULL;
    size_t size = 0;
    bool missing = false;
    if (!input->path || !strcmp(input->path, "-") || !with_suffix(bare(input->path), meta_suffix, name, sizeof name))
        return refuse(files, "the samples of a recording without its metadata", "a recording in two files",
                      "name the file, or say --rate and --datatype");
    spurity_status status = spurity_bytes_beside(input->path, name, &meta, &missing, files->error);
    if (!status && missing)
        status = input->options->datatype_said && input->options->rate_hz > 0
                     ? spurity_reader_raw.read(input, files->recording, files->error)
                     : refuse(files, "the samples of a recording, and no metadata beside them",
                              "a file of the same name that ends in .sigmf-meta", "or say --rate and --datatype");
    if (status || missing)
        return status;
    snprintf(files->meta_name, sizeof files->meta_name, "%s", meta.name);
    status = spurity_bytes_whole(&meta, SPURITY_METADATA_MOST, &text, &size, files->error);
    if (!status)
        status = spurity_metadata_read(input, files->meta_name, text, size, &files->metadata, files->recording,
                                       files->error);
    spurity_bytes_close(&meta);
    free(text);
    const char *dataset = files->metadata.dataset;
    if (!status && (*dataset ? strcmp(dataset, bare(input->path)) != 0 : !ends_in(input->path, data_suffix)))
        return spurity_reportf(files->error, SPURITY_INVALID, (spurity_place){.file = files->meta_name},
                               "the metadata of the file named", "name the metadata, or move it away",
                               "metadata of '%.80s', not of '%.80s'",
                               *dataset ? dataset : "the .sigmf-data of its name", bare(input->path));
    if (!status)
        status = spurity_bytes_take(input, &files->data, files->error);
    return status ? status : make_capture(files);
}

/* ---- archive
 * --------------------------------------------------------------------------------------------------------- */

static bool is_asked(const struct spurity_archive_entry *entry, const char *asked)
{
    const char *name = bare(entry->name);
    const size_t stem = strlen(name) - strlen(meta_suffix);
    return !asked || !strcmp(entry->name, asked) || !strcmp(name, asked) ||
           (strlen(asked) == stem && !strncmp(name, asked, stem));
}

static spurity_status ask_which(struct recording_files *files, size_t count)
{
    char names[160] = "";
    size_t told = 0;
    for (size_t i = 0; i < files->archive.count && told < NAMES_TOLD; i++) {
        const char *name = files->archive.entries[i].name;
        if (!ends_in(name, meta_suffix))
            continue;
        const size_t used = strlen(names);
        snprintf(names + used, sizeof names - used, "%s%.*s", told++ ? ", " : "",
                 (int)(strlen(bare(name)) - strlen(meta_suffix)), bare(name));
    }
    if (!count)
        return refuse(files,
                      files->input->options->trace ? "no recording of that name in the archive"
                                                   : "an archive without a .sigmf-meta file",
                      "an archive of a recording", NULL);
    return spurity_reportf(files->error, SPURITY_INVALID, spurity_input_at(files->input, 0, 0), "one recording",
                           "say which by trace=NAME", "%zu recordings: %s%s", count, names,
                           told < count ? ", ..." : "");
}

static const struct spurity_archive_entry *choose(struct recording_files *files, size_t *count)
{
    const struct spurity_archive_entry *chosen = NULL;
    *count = 0;
    for (size_t i = 0; i < files->archive.count; i++) {
        const struct spurity_archive_entry *entry = &files->archive.entries[i];
        if (!ends_in(entry->name, meta_suffix) || !is_asked(entry, files->input->options->trace))
            continue;
        chosen = entry;
        ++*count;
    }
    return chosen;
}

/** Narrows the archive's bytes to one entry; what the archive does not hold of it is not there. */
static void narrow(struct recording_files *files, const struct spurity_archive_entry *entry, struct spurity_bytes *part)
{
    const uint64_t left = entry->offset < files->data.size ? files->data.size - entry->offset : 0;
    part->start = files->data.start + entry->offset;
    part->size = entry->size < left ? entry->size : left;
    if (part->size < entry->size)
        spurity_notes_add(files->input->notes, SPURITY_NOTE_FILE_SHORTER, files->input->file,
                          "'%s': the archive ends %llu bytes before '%s' does", files->input->name,
                          (unsigned long long)(entry->size - part->size), entry->name);
}

static spurity_status archived_metadata(struct recording_files *files, const struct spurity_archive_entry *entry)
{
    struct spurity_bytes part = files->data; /* borrowed */
    unsigned char *text = NULL;
    size_t size = 0;
    narrow(files, entry, &part);
    spurity_status status = spurity_bytes_whole(&part, SPURITY_METADATA_MOST, &text, &size, files->error);
    if (!status)
        status = spurity_metadata_read(files->input, files->meta_name, text, size, &files->metadata, files->recording,
                                       files->error);
    free(text);
    return status;
}

static spurity_status archived_data(struct recording_files *files, const struct spurity_archive_entry *meta)
{
    char name[4608];
    const int folder = (int)(bare(meta->name) - meta->name);
    const char *dataset = files->metadata.dataset;
    if (*dataset && (strchr(dataset, '/') || strchr(dataset, '\\')))
        return refuse(files, "a 'core:dataset' with a folder in it", "the bare name of a file beside the metadata",
                      NULL);
    if (*dataset)
        snprintf(name, sizeof name, "%.*s%s", folder, meta->name, dataset);
    else if (!with_suffix(meta->name, data_suffix, name, sizeof name))
        return refuse(files, "a name too long", "a shorter name", NULL);
    size_t count;
    const struct spurity_archive_entry *data = spurity_archive_find(&files->archive, name, &count);
    if (!data)
        return no_data(files, name);
    if (count > 1)
        return spurity_reportf(files->error, SPURITY_INVALID, spurity_input_at(files->input, 0, 0),
                               "one data file of the recording", "unpack it, and name the recording meant",
                               "%zu files named '%.100s'", count, name);
    narrow(files, data, &files->data);
    spurity_input_clean(files->data.name, sizeof files->data.name, name, strlen(name));
    return SPURITY_OK;
}

static spurity_status from_archive(struct recording_files *files)
{
    size_t count;
    spurity_status status = spurity_bytes_take(files->input, &files->data, files->error);
    if (status)
        return status;
    if (files->data.pipe)
        return refuse(files, "an archive on a stream", "an archive in a file", "save it to a file and name that");
    status = spurity_archive_list(&files->data, &files->archive, files->error);
    if (status)
        return status;
    const struct spurity_archive_entry *meta = choose(files, &count);
    if (count != 1)
        return ask_which(files, count);
    snprintf(files->meta_name, sizeof files->meta_name, "%s/%s", files->input->name, meta->name);
    spurity_input_found(files->recording, "recording", meta->name, "trace=", 0, false, "%s",
                        files->input->options->trace ? "said by trace=" : "the only one of the archive");
    status = archived_metadata(files, meta);
    if (!status)
        status = archived_data(files, meta);
    return status ? status : make_capture(files);
}

static spurity_status read_sigmf(spurity_input *input, spurity_recording *recording, spurity_error *error)
{
    struct recording_files *files = calloc(1, sizeof *files);
    if (!files)
        return spurity_report_memory(error);
    files->input = input;
    files->recording = recording;
    files->error = error;
    files->data.fd = -1;
    snprintf(files->meta_name, sizeof files->meta_name, "%s", input->name);
    spurity_status status = is_metadata(input)  ? from_metadata(files)
                            : is_archive(input) ? from_archive(files)
                                                : from_data(files);
    spurity_bytes_close(&files->data);
    spurity_metadata_free(&files->metadata);
    spurity_archive_free(&files->archive);
    free(files);
    return status;
}

const spurity_reader spurity_reader_sigmf = {
    .name = "sigmf", .title = "a SigMF recording", .probe = probe, .read = read_sigmf, .captures = true};
