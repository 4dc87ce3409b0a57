/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TESTS_SWEEP_H
#define SPURITY_TESTS_SWEEP_H
/* Sweeps of invented transmitters for tests: a Gaussian RBW filter over lines and averaged noise, written as plain
 * text.  Shares no code with what is tested. */
#include "check.h"

#include <unistd.h>

#include "spurity.h"

struct sweep_line {
    double hz, dbm;
};

struct sweep {
    double start_hz, stop_hz, rbw_hz;
    int points;
    double floor_dbm; /* mean noise power in the RBW */
    int averages;     /* power averages of the noise, >= 1 */
    const struct sweep_line *lines;
    size_t line_count;
    bool peak; /* each point's cell shows a line anywhere within half a step: a peak detector */
};

static inline double sweep_random(uint64_t *state)
{
    *state = *state * 6364136223846793005ULL + 1442695040888963407ULL;
    return ((double)(*state >> 11) + 0.5) / 9007199254740992.0;
}

/* Level a line shows at hz through a Gaussian filter: 12.0412 (d/B)^2 dB down at d from its centre. */
static inline double sweep_line_power(const struct sweep *sweep, const struct sweep_line *line, double hz, double step)
{
    double d = fabs(line->hz - hz);
    if (sweep->peak)
        d = fmax(0.0, d - step / 2);
    return pow(10.0, (line->dbm - 12.0412 * d * d / sweep->rbw_hz / sweep->rbw_hz) / 10.0);
}

/* Writes a sweep as comma text and returns its path, static for each of a few calls: one of 8 names in turn. */
static inline const char *sweep_write(const struct sweep *sweep)
{
    static char paths[8][64];
    static int turn;
    char *path = paths[turn++ % 8];
    snprintf(path, 64, "sweep-%d-%d.csv", (int)getpid(), turn % 8);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    uint64_t state = 20250101;
    double step = (sweep->stop_hz - sweep->start_hz) / (sweep->points - 1);
    fprintf(file, "Frequency (Hz),Level (dBm)\n");
    for (int i = 0; i < sweep->points; i++) {
        double hz = sweep->start_hz + step * i, noise = 0;
        for (int k = 0; k < sweep->averages; k++)
            noise -= log(sweep_random(&state)) / sweep->averages;
        double power = pow(10.0, sweep->floor_dbm / 10) * noise;
        for (size_t l = 0; l < sweep->line_count; l++)
            power += sweep_line_power(sweep, &sweep->lines[l], hz, step);
        fprintf(file, "%.3f,%.4f\n", hz, 10 * log10(power));
    }
    fclose(file);
    return path;
}

/* A bench: its sources and test point, measured through no chain but what is said. */
struct bench {
    spurity_source sources[4];
    spurity_test_point point;
    spurity_chain *chain;
    spurity_measurement *measurement;
    spurity_rules *rules;
    spurity_verdict *verdict;
    spurity_error error;
};

static inline void bench_start(struct bench *bench)
{
    memset(bench, 0, sizeof *bench);
    spurity_test_point_init(&bench->point);
    bench->point.sources = bench->sources;
    bench->point.uncertainty_assumed = false;
    assert_ok(spurity_chain_create(&bench->chain, &bench->error), &bench->error);
}

static inline void bench_direct(struct bench *bench)
{
    assert_ok(spurity_chain_set_kind(bench->chain, SPURITY_CHAIN_DIRECT, &bench->error), &bench->error);
}

static inline spurity_source *bench_add(struct bench *bench, const struct sweep *sweep)
{
    spurity_source *source = &bench->sources[bench->point.source_count++];
    spurity_read_options_init(&source->read);
    source->path = sweep_write(sweep);
    source->read.rbw_hz = sweep->rbw_hz;
    source->read.detector = sweep->peak ? SPURITY_DETECTOR_PEAK : SPURITY_DETECTOR_AVERAGE;
    source->read.averages = sweep->averages;
    source->chain = bench->chain;
    return source;
}

static inline void bench_measure(struct bench *bench)
{
    assert_ok(spurity_measure(&bench->point, NULL, &bench->measurement, &bench->error), &bench->error);
}

static inline spurity_outcome bench_judge(struct bench *bench, const char *rules)
{
    bench_measure(bench);
    assert_ok(spurity_rules_load(rules, &bench->rules, &bench->error), &bench->error);
    const spurity_rules *sets[] = {bench->rules};
    assert_ok(spurity_judge(bench->measurement, sets, 1, NULL, &bench->verdict, &bench->error), &bench->error);
    return spurity_verdict_outcome(bench->verdict);
}

static inline void bench_end(struct bench *bench)
{
    spurity_verdict_free(bench->verdict);
    spurity_measurement_free(bench->measurement);
    spurity_rules_free(bench->rules);
    spurity_chain_free(bench->chain);
    /* only what was written here, by a bare name: a recording that lives in a folder is not ours to remove */
    for (size_t i = 0; i < bench->point.source_count; i++)
        if (!strchr(bench->sources[i].path, '/'))
            unlink(bench->sources[i].path);
}

/* A carrier with a second and third harmonic, as the wide and the close-in sweep of a careful bench see it. */
static inline struct sweep wide_sweep(const struct sweep_line *lines, size_t count, double stop_hz)
{
    int points = (int)((stop_hz - 10e6) / 50e3) + 1;
    return (struct sweep){.start_hz = 10e6,
                          .stop_hz = 10e6 + (points - 1) * 50e3,
                          .rbw_hz = 100e3,
                          .points = points,
                          .floor_dbm = -70,
                          .averages = 16,
                          .lines = lines,
                          .line_count = count};
}

static inline struct sweep close_sweep(const struct sweep_line *lines, size_t count, double carrier_hz)
{
    return (struct sweep){.start_hz = carrier_hz - 1e6,
                          .stop_hz = carrier_hz + 1e6,
                          .rbw_hz = 1e3,
                          .points = 4001,
                          .floor_dbm = -90,
                          .averages = 16,
                          .lines = lines,
                          .line_count = count};
}
#endif
