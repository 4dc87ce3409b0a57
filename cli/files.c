/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The files of a test point: names, the keys after them, chains. */
#include <errno.h>
#include <glob.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../lib/error/grow.h"
#include "cli.h"

static const spurity_place nowhere = {0};

spurity_status spurity_cli_readable(const char *path, const char *what, spurity_error *error)
{
    struct stat facts;
    if (!strcmp(path, "-"))
        return SPURITY_OK;
    if (stat(path, &facts) || access(path, R_OK))
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, NULL, "cannot read %s '%s': %s", what, path,
                               *path ? strerror(errno) : "no name");
    if (S_ISDIR(facts.st_mode))
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, "name a file in it",
                               "cannot read %s '%s': it is a folder", what, path);
    return SPURITY_OK;
}

/* ---- names --------------------------------------------------------------------------------------- */

static bool exists(const char *path)
{
    return access(path, F_OK) == 0;
}

/* The longest part of text that ends before a comma and is a name by `is_name`: text is cut there.  Returns what
 * follows, NULL where no part is. */
static char *cut_at_name(char *text, bool (*is_name)(const char *))
{
    for (char *comma = strrchr(text, ','); comma;) {
        *comma = 0;
        if (is_name(text))
            return comma + 1;
        char *before = strrchr(text, ',');
        *comma = ',';
        comma = before;
    }
    return NULL;
}

static bool exists_or_stdin(const char *path)
{
    return exists(path) || !strcmp(path, "stdin");
}

/* Ends the name within text and returns what follows the comma, or NULL.  The longest part before a comma that is a
 * file's name is taken, so that a comma in a name does no harm. */
static char *split_name(char *text)
{
    if (exists(text) || !strcmp(text, "-"))
        return NULL;
    char *keys = cut_at_name(text, exists_or_stdin);
    if (keys)
        return keys;
    char *comma = strchr(text, ',');
    if (!comma)
        return NULL;
    *comma = 0; /* no such file: told by its name alone */
    return comma + 1;
}

/* ---- patterns: one word for many files --------------------------------------------------------------
 * Keys after a pattern could not be left to the shell, which would look for a file of that whole name. */

/* What `*` and `?` in a name match; a bracket is a letter of the name.  *found needs globfree where 0 is returned. */
static int match(const char *pattern, glob_t *found)
{
    char *escaped = malloc(2 * strlen(pattern) + 1), *to = escaped;
    if (!escaped)
        return GLOB_NOSPACE;
    for (const char *at = pattern; *at; at++) {
        if (*at == '[' || *at == '\\')
            *to++ = '\\';
        *to++ = *at;
    }
    *to = 0;
    int failed = glob(escaped, GLOB_NOSORT, NULL, found);
    free(escaped);
    return failed;
}

static bool is_matched(const char *pattern)
{
    glob_t found;
    if (!strpbrk(pattern, "*?") || match(pattern, &found))
        return false;
    globfree(&found);
    return true;
}

/* Whether text names no file as it stands and holds a pattern in its name; it is then cut, *keys is what follows. */
static bool is_pattern(char *text, char **keys)
{
    *keys = NULL;
    if (!strpbrk(text, "*?"))
        return false;
    if (exists(text))
        return false;
    char *named = cut_at_name(text, exists_or_stdin);
    if (named) {
        named[-1] = ',';
        return false;
    }
    if (is_matched(text))
        return true;
    *keys = cut_at_name(text, is_matched);
    if (!*keys && (*keys = strchr(text, ',')))
        *(*keys)++ = 0;
    if (strpbrk(text, "*?"))
        return true;
    if (*keys)
        (*keys)[-1] = ',';
    return false;
}

/* By bytes, whatever the locale. */
static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static spurity_status add_file(spurity_cli_settings *settings, size_t *room, const char *name, const char *keys,
                               spurity_error *error)
{
    spurity_cli_file *files = spurity_grow(settings->files, settings->file_count, room, sizeof *files);
    if (!files)
        return spurity_report_memory(error);
    settings->files = files;
    spurity_cli_file *file = &files[settings->file_count];
    size_t size = strlen(name) + (keys ? strlen(keys) + 1 : 0) + 1;
    *file = (spurity_cli_file){.text = malloc(size)};
    if (!file->text)
        return spurity_report_memory(error);
    snprintf(file->text, size, "%s%s%s", name, keys ? "," : "", keys ? keys : "");
    settings->file_count++;
    return SPURITY_OK;
}

static spurity_status add_matches(spurity_cli_settings *settings, size_t *room, const char *pattern, const char *keys,
                                  spurity_error *error)
{
    glob_t found;
    int failed = match(pattern, &found);
    if (failed == GLOB_NOSPACE)
        return spurity_report_memory(error);
    if (failed)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, "look at the folder and the spelling",
                               "no file matches '%.200s'", pattern);
    qsort(found.gl_pathv, found.gl_pathc, sizeof *found.gl_pathv, by_name);
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < found.gl_pathc && !status; i++)
        status = add_file(settings, room, found.gl_pathv[i], keys, error);
    globfree(&found);
    return status;
}

/* Every file named, those of patterns one by one, each with its keys still after it. */
static spurity_status list_files(spurity_cli_settings *settings, spurity_error *error)
{
    size_t room = 0;
    for (size_t i = 0; i < settings->operand_count; i++) {
        char *text = strdup(settings->operands[i]), *keys;
        if (!text)
            return spurity_report_memory(error);
        spurity_status status = is_pattern(text, &keys) ? add_matches(settings, &room, text, keys, error)
                                                        : add_file(settings, &room, settings->operands[i], NULL, error);
        free(text);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

/* ---- keys ----------------------------------------------------------------------------------------- */

static const char *key_name(const void *list, size_t index)
{
    const spurity_cli_option *option = &spurity_cli_options[index];
    return (option->flags & SPURITY_CLI_READING) ? option->name : NULL;
}

static const spurity_cli_option *key_find(const char *field)
{
    const spurity_cli_option *option = spurity_cli_option_find(field, strcspn(field, "=,"));
    return option && (option->flags & SPURITY_CLI_READING) ? option : NULL;
}

static spurity_status unknown_key(const char *field, const char *path, spurity_error *error)
{
    char word[64], advice[120];
    snprintf(word, sizeof word, "%.*s", (int)(strcspn(field, "=,") < 60 ? strcspn(field, "=,") : 60), field);
    const char *nearest = spurity_cli_nearest(word, key_name, NULL, spurity_cli_option_count);
    if (nearest)
        snprintf(advice, sizeof advice, "did you mean '%s'?", nearest);
    else
        snprintf(advice, sizeof advice, "keys: pad, loss, direct, corrected, rbw, detector, trace, role, scale ...");
    return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, advice, "'%s' after '%.120s' is no key", word, path);
}

/* A field that goes on with the value before it: no '=', no key, and it starts like a quantity ("0.5dB", "1G"). */
static bool is_continuation(const char *field)
{
    size_t length = strcspn(field, ",");
    return !memchr(field, '=', length) && !key_find(field) && length && strchr("0123456789.+-", field[0]);
}

/* Cuts one field off *rest, with what continues it. */
static char *next_field(char **rest)
{
    char *field = *rest, *end = field + strcspn(field, ",");
    const spurity_cli_option *option = key_find(field);
    while (*end && option && (option->flags & SPURITY_CLI_COMMAS) && is_continuation(end + 1))
        end += 1 + strcspn(end + 1, ",");
    *rest = *end ? end + 1 : NULL;
    *end = 0;
    return field;
}

static spurity_status set_key(spurity_cli_settings *settings, int file, char *field, spurity_error *error)
{
    const char *path = settings->files[file].path;
    const spurity_cli_option *option = key_find(field);
    char *equals = strchr(field, '=');
    if (!*field)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, NULL, "an empty key after '%.120s'", path);
    if (!option)
        return unknown_key(field, path, error);
    if (!option->argument != !equals)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, NULL,
                               equals ? "'%s' after '%.120s' takes no value" : "'%s' after '%.120s' needs a value",
                               option->name, path);
    return spurity_cli_set(settings, option, file, equals ? equals + 1 : "", error);
}

/* What is said for all files, less the chain and what a file may tell itself: that comes back where the file's keys say
 * none. */
static void start_from_shared(const spurity_cli_settings *settings, spurity_cli_reading *reading)
{
    *reading = settings->shared;
    reading->chain = SPURITY_CHAIN_UNSTATED;
    reading->part_count = 0;
    reading->read.rbw_hz = reading->read.averages = 0;
    reading->read.detector = SPURITY_DETECTOR_UNKNOWN;
}

/* RBW and detector said for all files are those of the files that tell none. */
static void finish_facts(const spurity_cli_settings *settings, spurity_cli_reading *reading)
{
    const spurity_read_options *shared = &settings->shared.read;
    if (!(reading->read.rbw_hz > 0)) {
        reading->read.rbw_hz = shared->rbw_hz;
        reading->read.rbw_if_untold = true;
    }
    if (!reading->read.detector) {
        reading->read.detector = shared->detector;
        reading->read.averages = shared->averages;
        reading->read.detector_if_untold = true;
    }
}

static void finish_chain(const spurity_cli_settings *settings, spurity_cli_reading *reading)
{
    if (reading->chain != SPURITY_CHAIN_UNSTATED)
        return;
    reading->chain = settings->shared.chain;
    reading->part_count = settings->shared.part_count;
    memcpy(reading->parts, settings->shared.parts, sizeof reading->parts);
}

static spurity_status open_file(spurity_cli_settings *settings, size_t index, spurity_error *error)
{
    spurity_cli_file *file = &settings->files[index];
    char *rest = split_name(file->text);
    file->path = rest && !strcmp(file->text, "stdin") && !exists("stdin") ? "-" : file->text;
    start_from_shared(settings, &file->reading);
    if (spurity_cli_readable(file->path, "file", error))
        return error->status;
    while (rest)
        if (set_key(settings, (int)index, next_field(&rest), error))
            return error->status;
    finish_chain(settings, &file->reading);
    finish_facts(settings, &file->reading);
    file->reading.read.carrier_hz = settings->point.carrier_hz;
    file->reading.read.hash = settings->hash || settings->report;
    file->reading.read.chain_stated = file->reading.chain != SPURITY_CHAIN_UNSTATED;
    return SPURITY_OK;
}

/* ---- chains -------------------------------------------------------------------------------------- */

static spurity_status add_loss(spurity_chain *chain, const spurity_cli_reading *reading, const char *path,
                               spurity_notes *notes, const spurity_watch *watch, spurity_error *error)
{
    spurity_read_options options;
    spurity_recording *recording = NULL;
    spurity_read_options_init(&options);
    options.impedance_ohm = reading->read.impedance_ohm;
    if (spurity_cli_readable(path, "loss file", error) ||
        spurity_input_read(path, &options, SPURITY_READ_LOSS, -1, notes, watch, &recording, error))
        return error->status;
    spurity_curve *curve = spurity_recording_take_curve(recording);
    spurity_status status = spurity_chain_add_curve(chain, path, curve, reading->loss_uncertainty_db, error);
    if (status)
        spurity_curve_free(curve);
    else
        spurity_chain_set_digest(chain, spurity_recording_facts_of(recording)->sha256);
    spurity_recording_free(recording);
    return status;
}

static spurity_status fill_chain(spurity_chain *chain, const spurity_cli_reading *reading, spurity_notes *notes,
                                 const spurity_watch *watch, spurity_error *error)
{
    if (reading->chain == SPURITY_CHAIN_DIRECT || reading->chain == SPURITY_CHAIN_CORRECTED)
        return spurity_chain_set_kind(chain, reading->chain, error);
    for (size_t i = 0; i < reading->part_count; i++) {
        const spurity_cli_part *part = &reading->parts[i];
        spurity_status status = part->is_loss ? add_loss(chain, reading, part->text, notes, watch, error)
                                              : spurity_chain_add_pad_text(chain, part->text, error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

spurity_status spurity_cli_chain_build(const spurity_cli_reading *reading, spurity_notes *notes,
                                       const spurity_watch *watch, spurity_chain **chain, spurity_error *error)
{
    spurity_status status = spurity_chain_create(chain, error);
    if (!status)
        status = fill_chain(*chain, reading, notes, watch, error);
    if (status) {
        spurity_chain_free(*chain);
        *chain = NULL;
    }
    return status;
}

/* ---- all of them --------------------------------------------------------------------------------- */

/* Both files of a recording have one name before their suffix (SigMF). */
static bool one_recording(const char *a, const char *b)
{
    static const char meta[] = ".sigmf-meta", data[] = ".sigmf-data";
    size_t length = strlen(a), suffix = sizeof meta - 1;
    if (length <= suffix || length != strlen(b) || strncmp(a, b, length - suffix))
        return false;
    a += length - suffix;
    b += length - suffix;
    return (!strcmp(a, meta) && !strcmp(b, data)) || (!strcmp(a, data) && !strcmp(b, meta));
}

static bool same_place(const char *a, const char *b)
{
    struct stat left, right;
    if (!strcmp(a, b))
        return true;
    return !stat(a, &left) && !stat(b, &right) && left.st_dev == right.st_dev && left.st_ino == right.st_ino &&
           S_ISREG(left.st_mode);
}

/* One column of a file twice would pass for a repeat of the measurement and lend it a confidence it has not. */
static spurity_status no_twins(const spurity_cli_settings *settings, spurity_error *error)
{
    for (size_t i = 0; i < settings->file_count; i++)
        for (size_t k = i + 1; k < settings->file_count; k++) {
            const spurity_cli_file *a = &settings->files[i], *b = &settings->files[k];
            const char *left = a->reading.read.trace ? a->reading.read.trace : "",
                       *right = b->reading.read.trace ? b->reading.read.trace : "";
            if (one_recording(a->path, b->path) && a->reading.read.channel == b->reading.read.channel)
                return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, "name one of them",
                                       "'%s' and '%s' are one recording", a->path, b->path);
            if (same_place(a->path, b->path) && a->reading.read.channel == b->reading.read.channel &&
                !strcmp(left, right))
                return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, NULL, "'%s' is given twice",
                                       strcmp(b->path, "-") ? b->path : "standard input");
        }
    return SPURITY_OK;
}

bool spurity_cli_has_loss(const spurity_cli_reading *reading)
{
    for (size_t i = 0; i < reading->part_count; i++)
        if (reading->parts[i].is_loss)
            return true;
    return false;
}

/* An uncertainty that belongs to nothing is a slip: somebody believes that it counts. */
static spurity_status no_idle_uncertainty(const spurity_cli_settings *settings, spurity_error *error)
{
    bool used = false;
    for (size_t i = 0; i < settings->file_count; i++) {
        const spurity_cli_file *file = &settings->files[i];
        bool here = spurity_cli_has_loss(&file->reading);
        used = used || here;
        if (!here && spurity_cli_was_said(settings, "loss-uncertainty", (int)i))
            return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, "add loss=FILE, or pad=DB,UNCERTAINTY",
                                   "loss-uncertainty= after '%.120s' without a loss", file->path);
    }
    if (!used && spurity_cli_was_said(settings, "loss-uncertainty", -1))
        return spurity_report(error, SPURITY_INVALID, nowhere, "--loss-uncertainty without a loss", NULL,
                              "add --loss FILE, or --pad DB,UNCERTAINTY");
    return SPURITY_OK;
}

static void fill_source(const spurity_cli_file *file, spurity_source *source)
{
    *source = (spurity_source){.path = file->path,
                               .read = file->reading.read,
                               .chain = file->chain,
                               .role = (spurity_role)file->reading.role,
                               .scale = file->reading.scale};
}

spurity_status spurity_cli_files_open(spurity_cli_settings *settings, spurity_notes *notes, const spurity_watch *watch,
                                      spurity_error *error)
{
    if (!settings->operand_count)
        return spurity_report(error, SPURITY_INVALID, nowhere, "no file is named", NULL,
                              "standard input is '-'; 'spurity help' tells more");
    if (list_files(settings, error))
        return error->status;
    size_t count = settings->file_count;
    settings->sources = calloc(count, sizeof *settings->sources);
    if (!settings->sources)
        return spurity_report_memory(error);
    for (size_t i = 0; i < count; i++)
        if (open_file(settings, i, error))
            return error->status;
    if (no_twins(settings, error) || no_idle_uncertainty(settings, error))
        return error->status;
    for (size_t i = 0; i < count; i++) {
        spurity_cli_file *file = &settings->files[i];
        if (spurity_cli_chain_build(&file->reading, notes, watch, &file->chain, error))
            return error->status;
        fill_source(&settings->files[i], &settings->sources[i]);
    }
    settings->point.sources = settings->sources;
    settings->point.source_count = count;
    if (!settings->point.reproducible)
        settings->point.wisdom = settings->wisdom = spurity_cli_wisdom();
    return SPURITY_OK;
}
