/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Output files: whole or not at all. */
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cli.h"

static spurity_status cannot_write(const char *path, const char *why, const char *advice, spurity_status status,
                                   spurity_error *error)
{
    return spurity_reportf(error, status, (spurity_place){0}, NULL, advice, "cannot write '%s': %s", path, why);
}

const char *spurity_cli_picture_kind(const char *path)
{
    static const char *const kinds[] = {"svg", "png", "pdf"};
    if (!strcmp(path, "-"))
        return kinds[0];
    const char *dot = strrchr(path, '.');
    for (size_t i = 0; dot && i < sizeof kinds / sizeof *kinds; i++)
        if (!strcasecmp(dot + 1, kinds[i]))
            return kinds[i];
    return NULL;
}

/* ---- before any work ----------------------------------------------------------------------------- */

/* The folder a path stands in, "." for a bare name.  False when it does not fit. */
static bool folder_of(const char *path, char folder[PATH_MAX])
{
    const char *slash = strrchr(path, '/');
    size_t length = slash ? (size_t)(slash - path) : 0;
    if (length >= PATH_MAX)
        return false;
    if (!slash)
        strcpy(folder, ".");
    else if (!length)
        strcpy(folder, "/");
    else {
        memcpy(folder, path, length);
        folder[length] = 0;
    }
    return true;
}

static spurity_status target_check(const char *path, spurity_error *error)
{
    char folder[PATH_MAX];
    struct stat facts;
    if (!path || !strcmp(path, "-"))
        return SPURITY_OK;
    size_t length = strlen(path);
    if (!length || path[length - 1] == '/')
        return cannot_write(path, "no file name", "name a file", SPURITY_INVALID, error);
    if (!stat(path, &facts)) {
        if (S_ISDIR(facts.st_mode))
            return cannot_write(path, "it is a folder", "name a file in it", SPURITY_INVALID, error);
        if (access(path, W_OK))
            return cannot_write(path, strerror(errno), NULL, SPURITY_INVALID, error);
        if (!S_ISREG(facts.st_mode))
            return SPURITY_OK;
    } else if (errno != ENOENT)
        return cannot_write(path, strerror(errno), NULL, SPURITY_INVALID, error);
    if (!folder_of(path, folder))
        return cannot_write(path, strerror(ENAMETOOLONG), NULL, SPURITY_INVALID, error);
    if (stat(folder, &facts))
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, NULL, "make the folder first",
                               "cannot write '%s': there is no folder '%s'", path, folder);
    if (!S_ISDIR(facts.st_mode))
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, NULL, NULL,
                               "cannot write '%s': '%s' is no folder", path, folder);
    if (access(folder, W_OK | X_OK))
        return cannot_write(path, strerror(errno), NULL, SPURITY_INVALID, error);
    return SPURITY_OK;
}

static bool same_file(const char *a, const char *b)
{
    struct stat left, right;
    if (!a || !b || !strcmp(a, "-") || !strcmp(b, "-"))
        return false;
    if (!strcmp(a, b))
        return stat(a, &left) || S_ISREG(left.st_mode); /* /dev/null may serve twice */
    return !stat(a, &left) && !stat(b, &right) && S_ISREG(left.st_mode) && left.st_dev == right.st_dev &&
           left.st_ino == right.st_ino;
}

static spurity_status would_overwrite(const char *output, const char *input, spurity_error *error)
{
    if (!same_file(output, input))
        return SPURITY_OK;
    return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, NULL, "give the output a name of its own",
                           "'%s' would be overwritten by the output '%s'", input, output);
}

static spurity_status inputs_check(const spurity_cli_settings *settings, const char *output, spurity_error *error)
{
    for (size_t i = 0; i < settings->file_count; i++) {
        const spurity_cli_file *file = &settings->files[i];
        if (would_overwrite(output, file->path, error))
            return error->status;
        for (size_t k = 0; k < file->reading.part_count; k++)
            if (file->reading.parts[k].is_loss && would_overwrite(output, file->reading.parts[k].text, error))
                return error->status;
    }
    for (size_t i = 0; i < settings->rules_count; i++)
        if (would_overwrite(output, settings->rules[i], error))
            return error->status;
    return SPURITY_OK;
}

static spurity_status no_clash(const char *what, const char *path, const char *other, const char *other_path,
                               spurity_error *error)
{
    if (path && other_path && !strcmp(path, "-") && !strcmp(other_path, "-"))
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, "one output on standard output",
                               "give one of them a file name", "%s and %s both go to '-'", what, other);
    if (same_file(path, other_path))
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, "two names", NULL,
                               "%s and %s both go to '%s'", what, other, path);
    return SPURITY_OK;
}

/* What somebody wrote into a session file at the bench is nowhere else. */
static spurity_status session_is_new(const char *path, spurity_error *error)
{
    struct stat facts;
    if (!path || !strcmp(path, "-") || stat(path, &facts) || !S_ISREG(facts.st_mode))
        return SPURITY_OK;
    return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, NULL, "name a new one, or move this one away",
                           "a file '%s' is there already: a session is never written over", path);
}

spurity_status spurity_cli_outputs_check(const spurity_cli_settings *settings, spurity_error *error)
{
    const struct {
        const char *option, *path;
    } outputs[] = {{"--json", settings->json},
                   {"--plot", settings->plot},
                   {"--report", settings->report},
                   {"--session", settings->session}};
    enum { COUNT = sizeof outputs / sizeof *outputs };
    for (size_t i = 0; i < COUNT; i++)
        for (size_t k = i + 1; k < COUNT; k++)
            if (no_clash(outputs[i].option, outputs[i].path, outputs[k].option, outputs[k].path, error))
                return error->status;
    for (size_t i = 0; i < COUNT; i++)
        if (target_check(outputs[i].path, error))
            return error->status;
    if (session_is_new(settings->session, error))
        return error->status;
    for (size_t i = 0; i < COUNT; i++)
        if (outputs[i].path && inputs_check(settings, outputs[i].path, error))
            return error->status;
    return SPURITY_OK;
}

/* ---- writing ------------------------------------------------------------------------------------- */

/* Closes fd.  0, or the errno of what failed; EINTR also when a signal asks to stop. */
static int write_all(int fd, const char *data, size_t size)
{
    int failed = 0;
    while (size && !failed) {
        ssize_t written = write(fd, data, size < 65536 ? size : 65536);
        if (written >= 0) {
            data += written;
            size -= (size_t)written;
        } else if (errno != EINTR)
            failed = errno;
        if (spurity_cli_signal_caught())
            failed = EINTR;
    }
    if (close(fd) && !failed)
        failed = errno;
    return failed;
}

static spurity_status write_in_place(const char *path, const void *data, size_t size, spurity_error *error)
{
    int fd = open(path, O_WRONLY | O_NOCTTY | O_CLOEXEC);
    int failed = fd < 0 ? errno : write_all(fd, data, size);
    return failed ? cannot_write(path, strerror(failed), NULL, SPURITY_SYSTEM, error) : SPURITY_OK;
}

static mode_t mode_of_new_file(void)
{
    mode_t mask = umask(0);
    umask(mask);
    return 0666 & ~mask;
}

static spurity_status write_beside(const char *path, mode_t mode, const void *data, size_t size, spurity_error *error)
{
    char folder[PATH_MAX], beside[PATH_MAX];
    if (!folder_of(path, folder) || snprintf(beside, sizeof beside, "%s/.spurity-XXXXXX", folder) >= (int)sizeof beside)
        return cannot_write(path, strerror(ENAMETOOLONG), NULL, SPURITY_SYSTEM, error);
    int fd = mkostemp(beside, O_CLOEXEC);
    if (fd < 0)
        return cannot_write(path, strerror(errno), NULL, SPURITY_SYSTEM, error);
    spurity_cli_signals_remove(beside);
    int failed = fchmod(fd, mode) ? errno : 0;
    int lost = write_all(fd, data, size);
    failed = failed ? failed : lost;
    if (!failed && rename(beside, path))
        failed = errno;
    if (failed)
        unlink(beside);
    spurity_cli_signals_remove(NULL);
    return failed ? cannot_write(path, strerror(failed), NULL, SPURITY_SYSTEM, error) : SPURITY_OK;
}

static spurity_status write_standard_output(const void *data, size_t size, spurity_error *error)
{
    errno = 0;
    if (fwrite(data, 1, size, stdout) == size && !fflush(stdout))
        return SPURITY_OK;
    int why = errno;
    clearerr(stdout); /* told here, and not again at the end */
    return spurity_reportf(error, SPURITY_SYSTEM, (spurity_place){0}, NULL, NULL, "cannot write standard output: %s",
                           strerror(why));
}

spurity_status spurity_cli_write(const char *path, const void *data, size_t size, spurity_error *error)
{
    struct stat facts;
    char target[PATH_MAX];
    if (!strcmp(path, "-"))
        return write_standard_output(data, size, error);
    bool exists = !stat(path, &facts);
    if (exists && !S_ISREG(facts.st_mode))
        return write_in_place(path, data, size, error);
    if (!exists || !realpath(path, target)) /* a link is followed: the file it names is replaced, the link stays */
        return write_beside(path, mode_of_new_file(), data, size, error);
    return write_beside(target, facts.st_mode & 07777, data, size, error);
}

int spurity_cli_finish(int status)
{
    bool lost = ferror(stdout);
    int why = 0;
    if (fflush(stdout) || fclose(stdout)) {
        why = errno;
        lost = true;
    }
    if (!lost)
        return status;
    if (why == EPIPE) /* whoever read it had enough */
        return SPURITY_EXIT_MACHINE;
    if (why)
        spurity_cli_say("cannot write standard output: %s", strerror(why));
    else
        spurity_cli_say("cannot write standard output");
    return SPURITY_EXIT_MACHINE;
}
