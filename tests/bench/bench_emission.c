/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Floor and emissions of one trace of a million points: seconds of the best of five, and bytes a point the survey took.
 *   bench_emission LEVELS     LEVELS: raw doubles, dB; step half the RBW, power average, nothing more told
 * Prints "seconds lines bytes_per_point".  bench_emission.py makes the data and prints the ratio. */
#include "../emission_sweep.h"

#include <malloc.h>
#include <time.h>

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

int main(int argc, char **argv)
{
    if (argc != 2)
        return 2;
    FILE *file = fopen(argv[1], "rb");
    if (!file)
        return 2;
    size_t count = 0, room = 1 << 21;
    double *level = malloc(room * sizeof *level), *frequency = malloc(room * sizeof *frequency), best = INFINITY;
    if (!level || !frequency)
        return 2;
    count = fread(level, sizeof *level, room, file);
    fclose(file);
    for (size_t i = 0; i < count; i++)
        frequency[i] = 30e6 + 1e3 * (double)i;
    spurity_segment_facts facts = {.rbw_hz = 2e3, .detector = SPURITY_DETECTOR_AVERAGE};
    size_t lines = 0;
    double bytes = 0;
    for (int round = 0; round < 5; round++) {
        spurity_error error = {0};
        spurity_survey *survey = NULL;
        spurity_terminal_trace *terminal = sweep_terminal(&facts, frequency, level, count);
        struct mallinfo2 before = mallinfo2();
        double start = now();
        if (spurity_survey_create(terminal, NULL, NULL, NULL, &survey, &error))
            return 1;
        double took = now() - start;
        struct mallinfo2 after = mallinfo2();
        bytes = (double)(after.uordblks + after.hblkhd - before.uordblks - before.hblkhd) / (double)count;
        best = took < best ? took : best;
        lines = spurity_survey_line_count(survey);
        spurity_survey_free(survey);
    }
    printf("%.6f %zu %.3f\n", best, lines, bytes);
    free(level);
    free(frequency);
    return 0;
}
