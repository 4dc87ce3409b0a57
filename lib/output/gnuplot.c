/* SPDX-License-Identifier: GPL-2.0-or-later */
/* gnuplot as a child, without a shell.
 *
 * The program goes in as a private file without a name (so there is no pipe to write to, and no SIGPIPE), picture and
 * complaints come out of two pipes that are read together, within a time and a size.  The command is looked up by
 * posix_spawnp in the caller's PATH; the child itself sees only the system's standard PATH and LC_ALL=C.UTF-8 (plain C
 * draws a warning over the degree sign), and -d keeps start-up files out. */
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "internal.h"

enum { PICTURE_CAP = 64 << 20, COMPLAINT_CAP = 4096 };

typedef struct child {
    pid_t pid;
    int program, picture[2], complaint[2]; /* -1 = closed */
    spurity_buffer *out;
    char said[COMPLAINT_CAP + 1];
    size_t said_size;
    struct timespec deadline;
} child;

static void close_one(int *descriptor)
{
    if (*descriptor >= 0)
        close(*descriptor);
    *descriptor = -1;
}

static spurity_status system_fault(spurity_error *error, const char *what)
{
    return spurity_reportf(error, SPURITY_SYSTEM, (spurity_place){0}, NULL, "close other programs and try again",
                           "%s failed (%s)", what, strerror(errno));
}

static spurity_status write_program(child *run, const spurity_buffer *program, spurity_error *error)
{
    run->program = memfd_create("spurity-picture", MFD_CLOEXEC);
    if (run->program < 0)
        return system_fault(error, "a file in memory for gnuplot");
    for (size_t done = 0; done < program->size;) {
        ssize_t wrote = write(run->program, program->data + done, program->size - done);
        if (wrote < 0 && errno == EINTR)
            continue;
        if (wrote < 0)
            return system_fault(error, "writing the picture's program");
        done += (size_t)wrote;
    }
    if (lseek(run->program, 0, SEEK_SET) < 0)
        return system_fault(error, "rewinding the picture's program");
    return SPURITY_OK;
}

/* A descriptor may itself be 0, 1 or 2 when the host has closed those: moved out of the way first. */
static int lift(int descriptor)
{
    if (descriptor < 0 || descriptor > 2)
        return descriptor;
    int higher = fcntl(descriptor, F_DUPFD_CLOEXEC, 3);
    close(descriptor);
    return higher;
}

static spurity_status open_pipes(child *run, spurity_error *error)
{
    if (pipe2(run->picture, O_CLOEXEC) || pipe2(run->complaint, O_CLOEXEC))
        return system_fault(error, "a pipe for gnuplot");
    int *all[] = {&run->program, &run->picture[0], &run->picture[1], &run->complaint[0], &run->complaint[1]};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        *all[i] = lift(*all[i]);
        if (*all[i] < 0)
            return system_fault(error, "a pipe for gnuplot");
    }
    return SPURITY_OK;
}

static spurity_status start(child *run, const char *command, spurity_error *error)
{
    char path[512] = "PATH=";
    if (!confstr(_CS_PATH, path + 5, sizeof path - 5))
        strcpy(path, "PATH=/usr/bin:/bin");
    char locale[] = "LC_ALL=C.UTF-8", name[] = "gnuplot", defaults[] = "-d", from_input[] = "-";
    char *const arguments[] = {name, defaults, from_input, NULL}, *const environment[] = {path, locale, NULL};
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t attributes;
    sigset_t none, defaulted;
    sigemptyset(&none);
    sigemptyset(&defaulted);
    sigaddset(&defaulted, SIGPIPE);
    if (posix_spawn_file_actions_init(&actions))
        return spurity_report_memory(error);
    if (posix_spawnattr_init(&attributes)) {
        posix_spawn_file_actions_destroy(&actions);
        return spurity_report_memory(error);
    }
    int fault = posix_spawn_file_actions_adddup2(&actions, run->program, 0);
    fault = fault ? fault : posix_spawn_file_actions_adddup2(&actions, run->picture[1], 1);
    fault = fault ? fault : posix_spawn_file_actions_adddup2(&actions, run->complaint[1], 2);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnattr_setsigdefault(&attributes, &defaulted);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
    fault = fault ? fault : posix_spawnp(&run->pid, command, &actions, &attributes, arguments, environment);
    posix_spawnattr_destroy(&attributes);
    posix_spawn_file_actions_destroy(&actions);
    if (fault == ENOENT)
        return spurity_report(error, SPURITY_SYSTEM, (spurity_place){0}, "gnuplot is missing", NULL,
                              "install gnuplot-nox");
    errno = fault;
    return fault ? system_fault(error, "starting gnuplot") : SPURITY_OK;
}

static int milliseconds_left(const child *run)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    double left = difftime(run->deadline.tv_sec, now.tv_sec) + (double)(run->deadline.tv_nsec - now.tv_nsec) / 1e9;
    return left <= 0 ? 0 : (int)(left * 1000) + 1;
}

/* Takes what stands in one pipe; closes it at its end. */
static void drain(child *run, int *descriptor, bool is_picture)
{
    char block[65536];
    ssize_t got = read(*descriptor, block, sizeof block);
    if (got < 0 && (errno == EINTR || errno == EAGAIN))
        return;
    if (got <= 0) {
        close_one(descriptor);
        return;
    }
    if (is_picture) {
        spurity_buffer_add(run->out, block, (size_t)got);
        return;
    }
    size_t room = COMPLAINT_CAP - run->said_size, take = (size_t)got < room ? (size_t)got : room;
    memcpy(run->said + run->said_size, block, take); /* the rest is read and forgotten */
    run->said_size += take;
}

/* False when the time is over or the picture has no end. */
static bool read_both(child *run)
{
    while (run->picture[0] >= 0 || run->complaint[0] >= 0) {
        struct pollfd both[2] = {{run->picture[0], POLLIN, 0}, {run->complaint[0], POLLIN, 0}};
        int left = milliseconds_left(run);
        if (!left || run->out->size > PICTURE_CAP || run->out->failed)
            return false;
        int ready = poll(both, 2, left);
        if (ready < 0 && errno != EINTR)
            return false;
        if (ready <= 0)
            continue;
        if (both[0].revents)
            drain(run, &run->picture[0], true);
        if (both[1].revents)
            drain(run, &run->complaint[0], false);
    }
    return true;
}

/* Waits for the child's end, to the deadline; then it is ended.  -1: the host collects children itself. */
static int collect(child *run, bool *in_time)
{
    int state = 0;
    for (;;) {
        pid_t got = waitpid(run->pid, &state, *in_time ? WNOHANG : 0);
        if (got == run->pid)
            return state;
        if (got < 0 && errno != EINTR)
            return -1;
        if (*in_time && !milliseconds_left(run)) {
            *in_time = false;
            kill(run->pid, SIGKILL);
        }
        if (*in_time)
            poll(NULL, 0, 2);
    }
}

/* First line of what gnuplot said that says something: it puts the place in front, with blank lines around. */
static const char *complaint_of(child *run)
{
    run->said[run->said_size] = '\0';
    char *line = run->said;
    char *found = strstr(line, "line ");
    line = found ? found : line;
    line += strspn(line, " \n\t");
    line[strcspn(line, "\n")] = '\0';
    return line[0] ? line : "without a word";
}

static spurity_status finish(child *run, int seconds, spurity_error *error)
{
    bool in_time = read_both(run);
    if (!in_time)
        kill(run->pid, SIGKILL);
    int state = collect(run, &in_time);
    if (run->out->failed)
        return spurity_report_memory(error);
    if (!in_time)
        return spurity_reportf(error, SPURITY_SYSTEM, (spurity_place){0}, NULL, "leave the picture out or try again",
                               "no picture from gnuplot within %d s and %d MiB", seconds, PICTURE_CAP >> 20);
    if (state >= 0 && WIFEXITED(state) && WEXITSTATUS(state) == 127)
        return spurity_report(error, SPURITY_SYSTEM, (spurity_place){0}, "gnuplot is missing", NULL,
                              "install gnuplot-nox");
    if (state > 0)
        return spurity_reportf(error, SPURITY_SYSTEM, (spurity_place){0}, NULL, "install gnuplot-nox 5.4 or later",
                               "gnuplot failed: %s", complaint_of(run));
    return SPURITY_OK;
}

spurity_status spurity_gnuplot_run(const char *command, const spurity_buffer *program, int seconds, spurity_buffer *out,
                                   spurity_error *error)
{
    child run = {.pid = -1, .program = -1, .picture = {-1, -1}, .complaint = {-1, -1}, .out = out};
    clock_gettime(CLOCK_MONOTONIC, &run.deadline);
    run.deadline.tv_sec += seconds;
    spurity_status status = write_program(&run, program, error);
    if (!status)
        status = open_pipes(&run, error);
    if (!status)
        status = start(&run, command, error);
    close_one(&run.program);
    close_one(&run.picture[1]);
    close_one(&run.complaint[1]);
    if (!status)
        status = finish(&run, seconds, error);
    close_one(&run.picture[0]);
    close_one(&run.complaint[0]);
    return status;
}
