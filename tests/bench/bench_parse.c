/* SPDX-License-Identifier: GPL-2.0-or-later */
/* bench_parse [ROWS [FILE]]: reading a text sweep against a plain loop of fgets and strtod over the same file, in the
 * same run.  Targets: at most 0.4 of that loop's time, at most 24 bytes of memory a point.  With FILE the sweep stays
 * there, else it is written in a temporary folder and removed. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "input/input.h"

enum { ROUNDS = 5 };

struct times {
    double wall, cpu;
};

static double clock_of(clockid_t id)
{
    struct timespec time;
    clock_gettime(id, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static struct times now(void)
{
    return (struct times){clock_of(CLOCK_MONOTONIC), clock_of(CLOCK_PROCESS_CPUTIME_ID)};
}

static void keep_least(struct times *least, struct times from)
{
    struct times to = now();
    double wall = to.wall - from.wall, cpu = to.cpu - from.cpu;
    least->wall = !(least->wall > 0) || wall < least->wall ? wall : least->wall;
    least->cpu = !(least->cpu > 0) || cpu < least->cpu ? cpu : least->cpu;
}

/** An invented sweep of noise, 100 Hz apart. */
static int write_sweep(const char *path, long rows)
{
    FILE *out = fopen(path, "w");
    unsigned noise = 1;
    if (!out)
        return 1;
    for (long i = 0; i < rows; i++) {
        noise = noise * 1664525u + 1013904223u;
        fprintf(out, "%.1f,%.2f\n", 140e6 + 100.0 * (double)i, -95 - (double)(noise >> 22) / 100);
    }
    return fclose(out) != 0;
}

/** The plain loop; it adds up so that nothing is left out. */
static double plain_loop(const char *path)
{
    char line[256];
    double sum = 0;
    FILE *in = fopen(path, "r");
    if (!in)
        exit(1);
    while (fgets(line, sizeof line, in)) {
        char *end = NULL;
        double hz = strtod(line, &end);
        sum += hz + strtod(end + 1, NULL);
    }
    fclose(in);
    return sum;
}

static size_t read_sweep(const char *path)
{
    spurity_error error = {0};
    spurity_recording *recording = NULL;
    if (spurity_input_read(path, NULL, SPURITY_READ_TRACE, -1, NULL, NULL, &recording, &error)) {
        char text[900];
        spurity_error_describe(&error, text, sizeof text);
        fprintf(stderr, "%s\n", text);
        exit(1);
    }
    size_t points = spurity_trace_points(spurity_recording_trace(recording));
    spurity_recording_free(recording);
    return points;
}

/** Peak of this program's own memory; getrusage would tell its parent's when that was larger. */
static long peak_kib(void)
{
    char line[200];
    long kib = 0;
    FILE *in = fopen("/proc/self/status", "r");
    if (!in)
        return 0;
    while (fgets(line, sizeof line, in))
        if (!strncmp(line, "VmHWM:", 6))
            kib = strtol(line + 6, NULL, 10);
    fclose(in);
    return kib;
}

int main(int count, char **arguments)
{
    long rows = count > 1 ? atol(arguments[1]) : 10000000;
    char folder[] = P_tmpdir "/spurity-bench-XXXXXX", path[100];
    if (rows < 2 || (count < 3 && !mkdtemp(folder)))
        return 1;
    snprintf(path, sizeof path, "%s%s", count > 2 ? arguments[2] : folder, count > 2 ? "" : "/sweep.csv");
    if (write_sweep(path, rows))
        return 1;
    struct times plain = {0, 0}, ours = {0, 0};
    double sum = 0;
    size_t points = 0;
    long before = peak_kib();
    for (int i = 0; i < ROUNDS; i++) {
        struct times from = now();
        sum += plain_loop(path);
        keep_least(&plain, from);
        from = now();
        points = read_sweep(path);
        keep_least(&ours, from);
    }
    double bytes = (double)(peak_kib() - before) * 1024 / (double)points;
    printf("rows                 %ld (sum %.6g)\n", rows, sum / ROUNDS);
    printf("fgets + strtod       %.3f s, processor %.3f s, %.1f ns a row\n", plain.wall, plain.cpu,
           1e9 * plain.wall / (double)rows);
    printf("spurity              %.3f s, processor %.3f s, %.1f ns a row\n", ours.wall, ours.cpu,
           1e9 * ours.wall / (double)rows);
    printf("ratio                %.3f, processor %.3f (target: at most 0.4)\n", ours.wall / plain.wall,
           ours.cpu / plain.cpu);
    printf("memory               %.1f bytes a point at the peak (target: at most 24)\n", bytes);
    if (count < 3) {
        unlink(path);
        rmdir(folder);
    }
    return ours.wall <= 0.4 * plain.wall && bytes <= 24 && points == (size_t)rows ? 0 : 3;
}
