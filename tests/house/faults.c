/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Drives fault_shim.c and judges what a program made of each fault.
 *
 *     faults SHIM KIND [every=K] [at=N] [onward] PROGRAM ARGUMENT...
 *
 * KIND memory: each K-th allocation fails once, and in another run it and all after it. calls: each K-th call of the
 * system fails. short: reads and writes come short or interrupted.  at=N: that one alone, with what the program said
 * and a trace.
 *
 * The program runs in an empty folder of its own, so its outputs are named without one, its inputs with a whole path.
 * Right is:
 *  - the exit status, standard output, standard error and every file as without the fault, or
 *  - status 4 (calls: or 2), a sentence of the program's own on standard error, every file whole or not there, none
 * left behind, and of standard output nothing that is not there without the fault. A signal, any other status (a
 * sanitizer's too), a minute without an end are wrong. */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "faults.h"

enum { FILES = 16, SECONDS = 60, TOLD_MOST = 20 };

typedef struct content {
    char name[256];
    char *bytes;
    size_t size;
} content;

typedef struct folder {
    size_t count;
    content files[FILES];
} folder;

typedef struct driver {
    const char *shim, *kind;
    long every, at;
    bool onward;
    char **command;
    folder expected;
    int expected_status;
    pid_t pid;
    int from, to; /* pipes to the shim */
    long *alone;  /* allocations that need a run of their own */
    size_t alone_count, alone_room;
    long places, runs, told, same, other, wrong;
} driver;

static void stop(const char *what)
{
    fprintf(stderr, "faults: %s: %s\n", what, strerror(errno));
    exit(125);
}

/* ---- folders --------------------------------------------------------------------------------------- */

static char *load(const char *path, size_t *size)
{
    struct stat facts;
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0 || fstat(fd, &facts))
        stop(path);
    char *bytes = malloc((size_t)facts.st_size + 1);
    ssize_t got = bytes ? read(fd, bytes, (size_t)facts.st_size) : -1;
    if (got < 0)
        stop(path);
    close(fd);
    bytes[got] = 0;
    *size = (size_t)got;
    return bytes;
}

static void folder_load(const char *name, folder *into)
{
    DIR *open_folder = opendir(name);
    if (!open_folder)
        stop(name);
    into->count = 0;
    for (struct dirent *entry; (entry = readdir(open_folder));) {
        char path[600];
        if (!strcmp(entry->d_name, ".") || !strcmp(entry->d_name, ".."))
            continue;
        if (into->count == FILES)
            stop("too many files");
        content *file = &into->files[into->count++];
        snprintf(file->name, sizeof file->name, "%s", entry->d_name);
        snprintf(path, sizeof path, "%s/%s", name, entry->d_name);
        file->bytes = load(path, &file->size);
    }
    closedir(open_folder);
}

static void folder_release(folder *of)
{
    for (size_t i = 0; i < of->count; i++)
        free(of->files[i].bytes);
    of->count = 0;
}

static const content *find(const folder *in, const char *name)
{
    for (size_t i = 0; i < in->count; i++)
        if (!strcmp(in->files[i].name, name))
            return &in->files[i];
    return NULL;
}

static void folder_empty(const char *name)
{
    DIR *open_folder = opendir(name);
    if (!open_folder && (errno != ENOENT || mkdir(name, 0700)))
        stop(name);
    for (struct dirent *entry; open_folder && (entry = readdir(open_folder));) {
        char path[600];
        snprintf(path, sizeof path, "%s/%s", name, entry->d_name);
        if (strcmp(entry->d_name, ".") && strcmp(entry->d_name, "..") && unlink(path))
            stop(path);
    }
    if (open_folder)
        closedir(open_folder);
}

static void folder_copy(const char *from, const char *to)
{
    folder all = {0};
    folder_load(from, &all);
    folder_empty(to);
    for (size_t i = 0; i < all.count; i++) {
        char path[600];
        snprintf(path, sizeof path, "%s/%s", to, all.files[i].name);
        int fd = open(path, O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
        if (fd < 0 || write(fd, all.files[i].bytes, all.files[i].size) != (ssize_t)all.files[i].size)
            stop(path);
        close(fd);
    }
    folder_release(&all);
}

/* ---- judging --------------------------------------------------------------------------------------- */

static bool equal(const content *a, const content *b)
{
    return a && b && a->size == b->size && !memcmp(a->bytes, b->bytes, a->size);
}

/* NULL: as it should be. */
static const char *fault_of_files(const driver *run, const folder *got, bool all)
{
    for (size_t i = 0; i < got->count; i++) {
        const content *file = &got->files[i], *wanted = find(&run->expected, file->name);
        if (!wanted)
            return "a file was left behind";
        if (!strcmp(file->name, FAULT_STDERR))
            continue;
        if (!strcmp(file->name, FAULT_STDOUT) && !all) {
            if (file->size > wanted->size || memcmp(file->bytes, wanted->bytes, file->size))
                return "standard output says something else than without the fault";
        } else if (!equal(file, wanted))
            return all ? "an output differs, and nobody is told" : "a file is neither whole nor absent";
    }
    if (all && got->count != run->expected.count)
        return "a file is missing, and nobody is told";
    if (all && !equal(find(got, FAULT_STDERR), find(&run->expected, FAULT_STDERR)))
        return "the same result with other messages";
    return NULL;
}

static const char *fault_of(driver *run, const folder *got, int status)
{
    if (!WIFEXITED(status))
        return WTERMSIG(status) == SIGKILL ? "no end within a minute" : "ended by a signal";
    int exit_status = WEXITSTATUS(status);
    if (exit_status == run->expected_status) {
        run->same++;
        return fault_of_files(run, got, true);
    }
    if (exit_status == 2 && !strcmp(run->kind, "calls"))
        run->other++;
    else if (exit_status != 4)
        return "a wrong exit status";
    run->told++;
    const content *said = find(got, FAULT_STDERR);
    if (!said || strncmp(said->bytes, "spurity: ", 9))
        return "no message of the program's own";
    return fault_of_files(run, got, false);
}

static void judge(driver *run, const char *name, long number, bool onward, int status)
{
    folder got = {0};
    folder_load(name, &got);
    run->runs++;
    const char *fault = fault_of(run, &got, status);
    if (fault && ++run->wrong <= TOLD_MOST) {
        const content *said = find(&got, FAULT_STDERR);
        printf("WRONG: %s %ld%s: %s (status %d, signal %d)\n", run->kind, number, onward ? " and all after it" : "",
               fault, WIFEXITED(status) ? WEXITSTATUS(status) : -1, WIFSIGNALED(status) ? WTERMSIG(status) : 0);
        printf("%.3000s", said ? said->bytes : "");
        for (size_t i = 0; i < got.count; i++)
            printf("  left: %s, %zu bytes\n", got.files[i].name, got.files[i].size);
        fflush(stdout);
    }
    folder_release(&got);
}

/* ---- running --------------------------------------------------------------------------------------- */

static void child_streams(void)
{
    const char *const names[] = {"/dev/null", FAULT_STDOUT, FAULT_STDERR};
    for (int i = 0; i < 3; i++) {
        int fd = open(names[i], i ? O_WRONLY | O_CREAT | O_TRUNC | O_APPEND : O_RDONLY, 0600);
        if (fd < 0 || dup2(fd, i) < 0)
            _exit(125);
        close(fd);
    }
}

static void set_number(const char *name, long value)
{
    char text[32];
    snprintf(text, sizeof text, "%ld", value);
    if (value)
        setenv(name, text, 1);
}

/* Starts the program in a folder made empty; without the shim when kind is NULL. */
static void start(driver *run, const char *name, const char *kind, long at, long every, bool onward)
{
    int down[2], up[2];
    folder_empty(name);
    if (pipe(down) || pipe(up))
        stop("pipe");
    fflush(stdout);
    run->pid = fork();
    if (run->pid < 0)
        stop("fork");
    if (!run->pid) {
        char talk[40];
        close(down[1]);
        close(up[0]);
        setpgid(0, 0);
        if (chdir(name))
            _exit(125);
        child_streams();
        snprintf(talk, sizeof talk, "%d,%d", down[0], up[1]);
        if (kind) {
            setenv("LD_PRELOAD", run->shim, 1);
            setenv("FAULT_KIND", kind, 1);
            setenv("FAULT_TALK", talk, 1);
        }
        set_number("FAULT_AT", at);
        set_number("FAULT_EVERY", every);
        set_number("FAULT_ONWARD", onward);
        set_number("FAULT_TRACE", run->at);
        execv(run->command[0], run->command);
        _exit(125);
    }
    close(down[0]);
    close(up[1]);
    run->to = down[1];
    run->from = up[0];
}

/* False at the end of the talk. */
static bool hear(driver *run, fault_message *message)
{
    struct pollfd one = {.fd = run->from, .events = POLLIN};
    int ready;
    while ((ready = poll(&one, 1, SECONDS * 1000)) < 0 && errno == EINTR)
        ;
    if (ready <= 0) {
        kill(-run->pid, SIGKILL);
        return false;
    }
    ssize_t got = read(run->from, message, sizeof *message);
    if (got != 0 && got != (ssize_t)sizeof *message)
        stop("half a message");
    return got > 0;
}

static void answer(driver *run, char word)
{
    if (write(run->to, &word, 1) != 1)
        stop("answer");
}

static int finish(driver *run)
{
    int status = 0;
    close(run->from);
    close(run->to);
    while (waitpid(run->pid, &status, 0) < 0)
        if (errno != EINTR)
            stop("waitpid");
    return status;
}

static void expect(driver *run)
{
    fault_message message;
    start(run, "expected", NULL, 0, 0, false);
    hear(run, &message);
    int status = finish(run);
    if (!WIFEXITED(status) || WEXITSTATUS(status) == 125 || WEXITSTATUS(status) == 4) {
        printf("the program itself fails without a fault (%d)\n", status);
        exit(1);
    }
    run->expected_status = WEXITSTATUS(status);
    folder_load("expected", &run->expected);
}

/* One fault in a run of its own.  False when it was not met. */
static bool alone(driver *run, long number, bool onward)
{
    fault_message message;
    bool met = false;
    start(run, "work", run->kind, number, 0, onward);
    while (hear(run, &message))
        met |= message.what == 'f';
    int status = finish(run);
    if (met)
        judge(run, "work", number, onward, status);
    return met;
}

static void later(driver *run, long number)
{
    if (run->alone_count == run->alone_room) {
        run->alone_room = run->alone_room ? 2 * run->alone_room : 64;
        run->alone = realloc(run->alone, run->alone_room * sizeof *run->alone);
        if (!run->alone)
            stop("memory");
    }
    run->alone[run->alone_count++] = number;
}

/* One run of the program; at each allocation it forks, and the child meets the fault. */
static void forked(driver *run)
{
    fault_message message;
    static const char words[] = {FAULT_ONCE, FAULT_ONWARD, FAULT_SKIP};
    size_t turn = 0;
    start(run, "work", "memory", 0, run->every, false);
    while (hear(run, &message)) {
        if (message.what == 'q') {
            char word = words[turn];
            turn = (turn + 1) % sizeof words;
            if (word != FAULT_SKIP)
                folder_copy("work", FAULT_CHILD);
            run->places += word == FAULT_ONCE;
            answer(run, word);
        } else if (message.what == 'd') {
            judge(run, FAULT_CHILD, message.number, turn == 2, message.status);
            answer(run, FAULT_SKIP);
        } else if (message.what == 'r')
            later(run, message.number);
    }
    int status = finish(run);
    folder got = {0};
    folder_load("work", &got);
    if (!WIFEXITED(status) || WEXITSTATUS(status) != run->expected_status || fault_of_files(run, &got, true)) {
        printf("WRONG: the run that only forks differs from the one without faults (status %d)\n", status);
        run->wrong++;
    }
    folder_release(&got);
    /* While gnuplot runs: how often a buffer grows is then a matter of time, so the last ones may not come again. */
    for (size_t i = 0; i < run->alone_count; i++) {
        bool met = alone(run, run->alone[i], false);
        run->places += met;
        if (met)
            alone(run, run->alone[i], true);
    }
}

static void short_calls(driver *run)
{
    if (alone(run, 1, false)) {
        run->places++;
        if (run->same != 1)
            run->wrong++;
    }
}

static void calls(driver *run)
{
    for (long number = 1; alone(run, number, false); number += run->every)
        run->places++;
}

static void one(driver *run)
{
    size_t size;
    if (!alone(run, run->at, run->onward))
        printf("not met\n");
    printf("%s", load("work/" FAULT_STDERR, &size));
}

/* Of one fault that was asked for all is kept to be looked at. */
static void clean_up(const driver *run, const char *place)
{
    static const char *const names[] = {"expected", "work", FAULT_CHILD};
    if (run->at) {
        printf("kept in %s\n", place);
        return;
    }
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        folder_empty(names[i]);
        rmdir(names[i]);
    }
    if (chdir("..") || rmdir(place))
        stop(place);
}

/* ---- arguments ------------------------------------------------------------------------------------- */

static bool word(driver *run, const char *text)
{
    if (!strncmp(text, "every=", 6))
        run->every = strtol(text + 6, NULL, 10);
    else if (!strncmp(text, "at=", 3))
        run->at = strtol(text + 3, NULL, 10);
    else if (!strcmp(text, "onward"))
        run->onward = true;
    else
        return false;
    return true;
}

int main(int argc, char **argv)
{
    driver run = {.every = 1};
    char place[] = "faults-XXXXXX";
    int i = 3;
    while (i < argc && word(&run, argv[i]))
        i++;
    if (i >= argc || run.every < 1) {
        fprintf(stderr, "usage: faults SHIM memory|calls|short [every=K] [at=N] [onward] PROGRAM ARGUMENT...\n");
        return 125;
    }
    run.shim = realpath(argv[1], NULL);
    run.kind = argv[2];
    run.command = argv + i;
    run.command[0] = realpath(argv[i], NULL);
    if (!run.shim || !run.command[0])
        stop("no such file");
    if (!mkdtemp(place) || chdir(place))
        stop(place);
    expect(&run);
    if (run.at)
        one(&run);
    else if (!strcmp(run.kind, "memory"))
        forked(&run);
    else if (!strcmp(run.kind, "calls"))
        calls(&run);
    else
        short_calls(&run);
    if (!run.places && !run.at) {
        printf("WRONG: no fault was met: the shim is inert\n");
        run.wrong++;
    }
    clean_up(&run, place);
    printf("%ld places, %ld runs: %ld told (%ld with status 2), %ld without effect, %ld wrong\n", run.places, run.runs,
           run.told, run.other, run.same, run.wrong);
    return run.wrong ? 1 : 0;
}
