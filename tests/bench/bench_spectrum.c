/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The transform loop against FFTW alone, in one process: medians of five, 16-bit I/Q from a file in the page cache, 50
 * % overlap, Blackman-Harris. bench_spectrum loop FILE SAMPLES        ratios at N = 4096 and 65536, maximum hold, two
 * threads, the steps bench_spectrum plan FILE SAMPLES N      the whole run as it comes, and by ESTIMATE; one process a
 * figure bench_spectrum run FILE SAMPLES N T     one run on T threads: seconds and the largest resident size
 * bench_spectrum.py makes the file, runs all, and compares with scipy. */
#include "../../lib/spectrum/plan.h"
#include "../check.h"
#include "spectrum/spectrum.h"

#include <fcntl.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

enum { ROUNDS = 5 };
#define RATE_HZ 10e6

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Processor time of all threads: what a busy machine spoils least. */
static double spent(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *values)
{
    qsort(values, ROUNDS, sizeof *values, by_value);
    return values[ROUNDS / 2];
}

static spurity_status file_read(void *user, void *into, size_t samples, size_t *got, spurity_error *error)
{
    (void)error;
    const ssize_t bytes = read(*(int *)user, into, samples * 4);
    *got = bytes < 0 ? 0 : (size_t)bytes / 4;
    return bytes < 0 ? SPURITY_SYSTEM : SPURITY_OK;
}

static spurity_status file_seek(void *user, uint64_t sample, spurity_error *error)
{
    (void)error;
    return lseek(*(int *)user, (off_t)(4 * sample), SEEK_SET) < 0 ? SPURITY_SYSTEM : SPURITY_OK;
}

/* Seconds of one run over the file. */
static double run(const char *path, uint64_t samples, const spurity_spectrum_options *asked_for,
                  spurity_spectrum_facts *facts)
{
    spurity_spectrum_options options = *asked_for;
    options.seconds = (double)samples / RATE_HZ;
    int descriptor = open(path, O_RDONLY);
    if (descriptor < 0)
        exit(2);
    spurity_capture_facts about;
    spurity_capture_facts_init(&about);
    spurity_capture_segment segment = {.center_hz = 100e6};
    about.rate_hz = RATE_HZ;
    about.samples = samples;
    about.segments = &segment;
    about.segment_count = 1;
    spurity_capture_rails(SPURITY_COMPONENT_I16, &about.rail_low, &about.rail_high);
    const spurity_capture_stream stream = {.read = file_read, .seek = file_seek, .user = &descriptor};
    spurity_error error = {0};
    spurity_capture *capture = NULL;
    spurity_spectrum *spectrum = NULL;
    const double start = now();
    if (spurity_capture_create(&about, &stream, &capture, &error) ||
        spurity_spectrum_create(capture, &options, NULL, &spectrum, &error)) {
        char text[900];
        spurity_error_describe(&error, text, sizeof text);
        fprintf(stderr, "%s\n", text);
        exit(1);
    }
    const double took = now() - start;
    *facts = *spurity_spectrum_facts_of(spectrum);
    spurity_spectrum_free(spectrum);
    spurity_capture_free(capture);
    close(descriptor);
    return took;
}

static spurity_spectrum_options asked(size_t n, int threads)
{
    spurity_spectrum_options options;
    spurity_spectrum_options_init(&options);
    options.window = SPURITY_WINDOW_BLACKMAN_HARRIS;
    options.transform = n;
    options.overlap = 0.5;
    options.threads = threads;
    options.reproducible = true;
    return options;
}

/* Seconds of as many transforms by FFTW alone, same plan, over buffers that stay in the cache. */
static double fftw_alone(size_t n, uint64_t transforms)
{
    const spurity_planning planning = {.transforms = (double)transforms, .reproducible = true};
    spurity_transform transform;
    if (!spurity_transform_plan(n, true, &planning, &transform))
        exit(1);
    float *in = fftwf_malloc(n * 2 * sizeof *in);
    fftwf_complex *out = fftwf_malloc(n * sizeof *out);
    for (size_t i = 0; i < 2 * n; i++)
        in[i] = (float)((i * 7919) % 1000) * 1e-3f - 0.5f;
    const double start = now();
    for (uint64_t i = 0; i < transforms; i++)
        spurity_transform_run(&transform, in, out);
    const double took = now() - start;
    fftwf_free(in);
    fftwf_free(out);
    spurity_transform_free(&transform);
    return took;
}

/* What the planner then finds known. */
static void plan_by_measuring(size_t n)
{
    fftwf_complex *in = fftwf_malloc(n * sizeof *in), *out = fftwf_malloc(n * sizeof *out);
    fftwf_destroy_plan(fftwf_plan_dft_1d((int)n, in, out, FFTW_FORWARD, FFTW_MEASURE));
    fftwf_free(in);
    fftwf_free(out);
}

enum { ALONE, MEAN, HOLD, BOTH, TWO, KINDS };

static void loop(const char *path, uint64_t samples, size_t n)
{
    double wall[KINDS][ROUNDS], cpu[KINDS][ROUNDS];
    spurity_spectrum_facts facts = {0}, ignored;
    for (int i = 0; i < ROUNDS; i++)
        for (int kind = MEAN; kind < KINDS + 1; kind++) {
            const int which = kind % KINDS; /* FFTW alone comes last: then the number of transforms is known */
            spurity_spectrum_options options = asked(n, which == TWO ? 2 : 1);
            options.hold = which == BOTH;
            options.detector = which == HOLD ? SPURITY_SPECTRUM_MAX_HOLD : SPURITY_SPECTRUM_MEAN;
            const double start = spent();
            wall[which][i] = which == ALONE ? fftw_alone(n, facts.transforms)
                                            : run(path, samples, &options, which == MEAN ? &facts : &ignored);
            cpu[which][i] = spent() - start;
        }
    for (int clock = 0; clock < 2; clock++) {
        double(*took)[ROUNDS] = clock ? cpu : wall;
        const double alone = median(took[ALONE]), one = median(took[MEAN]);
        printf("N %zu by the %s: fftw alone %.3f s (%.2f us), loop %.3f s: %.3f x; hold / mean %.3f, both / mean %.3f",
               n, clock ? "processor" : "wall", alone, 1e6 * alone / (double)facts.transforms, one, one / alone,
               median(took[HOLD]) / one, median(took[BOTH]) / one);
        if (!clock)
            printf("; one / two threads %.3f", one / median(took[TWO]));
        printf("\n");
    }
    printf("  last run: read %.3f convert %.3f window %.3f transform %.3f accumulate %.3f plan %.3f s\n", facts.read_s,
           facts.convert_s, facts.window_s, facts.transform_s, facts.accumulate_s, facts.plan_s);
}

int main(int argc, char **argv)
{
    if (argc < 4)
        return 2;
    const uint64_t samples = strtoull(argv[3], NULL, 10);
    spurity_spectrum_facts facts;
    if (!strcmp(argv[1], "loop")) {
        loop(argv[2], samples, 4096);
        loop(argv[2], samples, 65536);
    } else if (!strcmp(argv[1], "plan") && argc == 6) {
        spurity_spectrum_options options = asked(strtoull(argv[4], NULL, 10), 1);
        options.reproducible = !strcmp(argv[5], "estimate");
        const double start = now(), start_spent = spent();
        if (!strcmp(argv[5], "measure"))
            plan_by_measuring(options.transform);
        run(argv[2], samples, &options, &facts);
        printf("%.6f %.6f", now() - start, spent() - start_spent);
        printf(" %.6f %llu\n", facts.plan_s, (unsigned long long)facts.transforms);
    } else if (!strcmp(argv[1], "run") && (argc == 6 || argc == 7)) {
        spurity_spectrum_options options = asked(strtoull(argv[4], NULL, 10), atoi(argv[5]));
        options.wisdom = argc == 7 ? argv[6] : NULL; /* a file of plans, as the program keeps one */
        options.reproducible = false;
        const double took = run(argv[2], samples, &options, &facts);
        struct rusage usage;
        getrusage(RUSAGE_SELF, &usage);
        printf("%.3f s, %.1f MB, plan %.3f s\n", took, (double)usage.ru_maxrss / 1024, facts.plan_s);
    } else
        return 2;
    return 0;
}
