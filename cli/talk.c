/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Talking to the person: messages, nearest words, terminal manners, progress, signals. */
#include <math.h>
#include <signal.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include "cli.h"

void spurity_cli_say(const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    fputs("spurity: ", stderr);
    vfprintf(stderr, format, arguments);
    fputc('\n', stderr);
    va_end(arguments);
}

int spurity_cli_status_of(spurity_status status)
{
    switch (status) {
    case SPURITY_OK:
        return SPURITY_EXIT_PASS;
    case SPURITY_SYSTEM:
    case SPURITY_CANCELLED:
        return SPURITY_EXIT_MACHINE;
    default:
        return SPURITY_EXIT_UNUSABLE;
    }
}

int spurity_cli_fail(const spurity_error *error)
{
    char text[1400];
    spurity_error_describe(error, text, sizeof text);
    if (spurity_cli_signal_caught())
        spurity_cli_say("stopped");
    else
        spurity_cli_say("%s", text);
    return spurity_cli_status_of(error->status);
}

/* ---- nearest word -------------------------------------------------------------------------------- */

enum { WORD_MOST = 40 };

/* Edit distance (insert, delete, replace, swap of neighbours = 1 each); words longer than WORD_MOST are far. */
static size_t distance(const char *a, const char *b)
{
    size_t rows = strlen(a), columns = strlen(b), d[WORD_MOST + 1][WORD_MOST + 1];
    if (rows > WORD_MOST || columns > WORD_MOST)
        return WORD_MOST;
    for (size_t i = 0; i <= rows; i++)
        d[i][0] = i;
    for (size_t j = 0; j <= columns; j++)
        d[0][j] = j;
    for (size_t i = 1; i <= rows; i++)
        for (size_t j = 1; j <= columns; j++) {
            size_t best = d[i - 1][j - 1] + (a[i - 1] != b[j - 1]);
            if (d[i - 1][j] + 1 < best)
                best = d[i - 1][j] + 1;
            if (d[i][j - 1] + 1 < best)
                best = d[i][j - 1] + 1;
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] && d[i - 2][j - 2] + 1 < best)
                best = d[i - 2][j - 2] + 1;
            d[i][j] = best;
        }
    return d[rows][columns];
}

const char *spurity_cli_nearest(const char *word, const char *(*name)(const void *list, size_t index), const void *list,
                                size_t count)
{
    const char *nearest = NULL;
    size_t length = strlen(word), least = length / 3 + 2; /* further off it is another word */
    for (size_t i = 0; i < count; i++) {
        const char *candidate = name(list, i);
        if (!candidate)
            continue;
        if (length >= 2 && !strncmp(candidate, word, length))
            return candidate; /* an abbreviation */
        size_t far = distance(word, candidate);
        if (far < least) {
            least = far;
            nearest = candidate;
        }
    }
    return nearest;
}

/* ---- terminal ------------------------------------------------------------------------------------ */

bool spurity_cli_colour(void)
{
    const char *refused = getenv("NO_COLOR"), *terminal = getenv("TERM");
    return !(refused && *refused) && !(terminal && !strcmp(terminal, "dumb")) && isatty(STDOUT_FILENO);
}

int spurity_cli_columns(void)
{
    struct winsize size;
    if (!isatty(STDOUT_FILENO) || ioctl(STDOUT_FILENO, TIOCGWINSZ, &size))
        return 0;
    return size.ws_col;
}

char *spurity_cli_format_rate(char *text, size_t size, double per_second)
{
    static const char *const prefixes[] = {"", "k", "M", "G"};
    int i = 0;
    for (; per_second >= 1000 && i < 3; i++)
        per_second /= 1000;
    snprintf(text, size, "%.7g %sS/s", per_second, prefixes[i]);
    return text;
}

char *spurity_cli_format_time(char *text, size_t size, double seconds)
{
    if (seconds < 1)
        snprintf(text, size, "%.3g ms", 1e3 * seconds);
    else if (seconds < 120)
        snprintf(text, size, "%.3g s", seconds);
    else if (seconds < 7200)
        snprintf(text, size, "%.0f min %.0f s", floor(seconds / 60), floor(fmod(seconds, 60)));
    else
        snprintf(text, size, "%.0f h %.0f min", floor(seconds / 3600), floor(fmod(seconds, 3600) / 60));
    return text;
}

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* A fraction that falls back is the next part of the work. */
static void follow(spurity_cli_progress *progress, double time, double fraction)
{
    if (fraction < progress->fraction || progress->part_started <= 0) {
        progress->part_started = time;
        progress->part_fraction = fraction;
    }
    progress->fraction = fraction;
}

/* By how the part went so far, once that says something. */
static void time_left(const spurity_cli_progress *progress, double time)
{
    char text[32];
    double spent = time - progress->part_started, done = progress->fraction - progress->part_fraction;
    if (progress->part_fraction < 0 || spent < 0.5 /* seconds */ || done <= 0)
        return;
    double left = spent * (1 - progress->fraction) / done;
    if (left >= 1)
        fprintf(stderr, ", %s left", spurity_cli_format_time(text, sizeof text, ceil(left)));
}

static bool tick(void *user, const char *what, double fraction)
{
    spurity_cli_progress *progress = user;
    if (spurity_cli_signal_caught())
        return false;
    if (!progress->on_terminal)
        return true;
    double time = now();
    follow(progress, time, fraction);
    if (time - progress->started < 1 || time - progress->shown < 0.1) /* seconds */
        return true;
    progress->shown = time;
    fprintf(stderr, "\r\033[K%s", what ? what : "working");
    if (fraction >= 0)
        fprintf(stderr, ": %.0f %%", 100 * fraction);
    time_left(progress, time);
    fflush(stderr);
    return true;
}

void spurity_cli_progress_start(spurity_cli_progress *progress)
{
    *progress = (spurity_cli_progress){.watch = {.tick = tick, .user = progress}, .started = now()};
    progress->on_terminal = isatty(STDERR_FILENO);
}

void spurity_cli_progress_end(spurity_cli_progress *progress)
{
    if (progress->shown > 0)
        fputs("\r\033[K", stderr);
    progress->shown = 0;
    progress->on_terminal = false;
}

/* ---- signals ------------------------------------------------------------------------------------- */

/* What a signal handler can reach.  The first signal asks the work to stop at its next tick and its files to be
 * removed on the way out; a second one does not wait. */
static volatile sig_atomic_t caught;
static const char *volatile unfinished;

static void on_signal(int number)
{
    static struct timespec first;
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now); /* safe in a handler, by POSIX */
    if (!caught) {
        caught = number;
        first = now;
        return;
    }
    /* A process that is told, and its group too, hears one wish twice. */
    if ((double)(now.tv_sec - first.tv_sec) + 1e-9 * (double)(now.tv_nsec - first.tv_nsec) < 0.2)
        return;
    const char *path = unfinished;
    if (path)
        unlink(path);
    signal(number, SIG_DFL);
    raise(number);
}

/* Who started the program with a signal ignored (nohup, a script's background) keeps it so. */
static void catch_unless_ignored(int number, const struct sigaction *action)
{
    struct sigaction before;
    if (!sigaction(number, NULL, &before) && before.sa_handler != SIG_IGN)
        sigaction(number, action, NULL);
}

void spurity_cli_signals_catch(void)
{
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = on_signal; /* no SA_RESTART: a read that waits must end */
    sigemptyset(&action.sa_mask);
    catch_unless_ignored(SIGINT, &action);
    catch_unless_ignored(SIGTERM, &action);
    catch_unless_ignored(SIGHUP, &action);
    signal(SIGPIPE, SIG_IGN); /* a reader that went away is a write error like any other */
    signal(SIGXFSZ, SIG_IGN); /* and so is a file that grew to what is allowed */
}

int spurity_cli_signal_caught(void)
{
    return caught;
}

void spurity_cli_signals_remove(const char *path)
{
    unfinished = path;
}
