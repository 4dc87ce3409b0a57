/* SPDX-License-Identifier: GPL-2.0-or-later */
/* bench_startup PROGRAM: time of a whole `measure` of 1,000 points, against that of a program that does nothing (this
 * one with a single argument).  The target is at most 6 ms where the bare program takes 0.9: a ratio of 6.7. */
#include <fcntl.h>
#include <math.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { RUNS = 101, POINTS = 1000 };
static const double target = 6.0 / 0.9;

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* An invented sweep: 100 to 200 MHz at 300 kHz RBW, a carrier of 0 dBm in a floor of -90. */
static int write_sweep(const char *path)
{
    FILE *out = fopen(path, "w");
    if (!out)
        return 1;
    unsigned noise = 1;
    fputs("RBW,300000,Hz\nDetector,RMS\nFrequency (Hz),Level (dBm)\n", out);
    for (int i = 0; i < POINTS; i++) {
        double hz = 100e6 + 100e3 * i, off = (hz - 146.94e6) / 300e3;
        noise = noise * 1103515245U + 12345U;
        double floor_db = -90 + (double)(noise >> 20 & 255) / 256;
        fprintf(out, "%.0f,%.3f\n", hz, 10 * log10(pow(10, floor_db / 10) + pow(10, -1.20412 * off * off)));
    }
    return fclose(out) != 0;
}

/* Seconds from start to end; negative when it did not end with 0. */
static double run(char *const *arguments)
{
    extern char **environ;
    posix_spawn_file_actions_t actions;
    pid_t child;
    int status = -1;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    double started = now();
    if (posix_spawn(&child, arguments[0], &actions, NULL, arguments, environ) == 0)
        waitpid(child, &status, 0);
    double took = now() - started;
    posix_spawn_file_actions_destroy(&actions);
    return status == 0 ? took : -1;
}

/* The fastest run: what else the machine does can only add. */
static double fastest(char *const *arguments)
{
    double least = 0;
    for (int i = 0; i < RUNS; i++) {
        double took = run(arguments);
        if (took < 0)
            return -1;
        least = i == 0 || took < least ? took : least;
    }
    return least;
}

int main(int argc, char **argv)
{
    char sweep[] = P_tmpdir "/bench-startup-XXXXXX", pad[] = "--pad", loss[] = "40dB", measure[] = "measure",
         no[] = "no";
    if (argc != 2) {
        fprintf(stderr, "usage: bench_startup PROGRAM\n");
        return 2;
    }
    if (!strcmp(argv[1], no))
        return 0;
    int fd = mkstemp(sweep);
    if (fd < 0 || close(fd) || write_sweep(sweep))
        return 4;
    char *const bare[] = {argv[0], no, NULL}, *const whole[] = {argv[1], measure, sweep, pad, loss, NULL};
    double nothing = fastest(bare), measured = fastest(whole);
    unlink(sweep);
    if (nothing <= 0 || measured <= 0) {
        fprintf(stderr, "bench_startup: a run failed\n");
        return 1;
    }
    printf("nothing %.2f ms, measure of %d points %.2f ms: ratio %.1f (target %.1f)\n", 1e3 * nothing, POINTS,
           1e3 * measured, measured / nothing, target);
    return measured / nothing > target;
}
