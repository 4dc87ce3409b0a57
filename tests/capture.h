/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TESTS_CAPTURE_H
#define SPURITY_TESTS_CAPTURE_H
/* Captures of invented transmitters for tests: tones, noise and frequency modulation as 16 bit I/Q, written as a SigMF
 * pair.  Levels are dBFS of a tone of modulus 1.  Shares no code with what is tested. */
#include "sweep.h"

struct capture_tone {
    double hz, dbfs; /* absolute frequency */
};

struct made_capture {
    double rate_hz, center_hz;
    size_t samples;
    double noise_dbfs; /* mean power of all of it */
    const struct capture_tone *tones;
    size_t tone_count;
    double tone_hz, index;             /* frequency modulation of the first tone; 0 = none */
    double on_seconds, period_seconds; /* keyed; 0 = all the time */
    double dc_dbfs;                    /* line at the centre; 0 = none */
    uint64_t seed;
};

static inline double capture_normal(uint64_t *state)
{
    double u = sweep_random(state), v = sweep_random(state);
    return sqrt(-2 * log(u)) * cos(2 * acos(-1.0) * v);
}

/* One sample, I and Q. */
static inline void capture_sample(const struct made_capture *made, size_t at, uint64_t *state, double *i, double *q)
{
    double t = (double)at / made->rate_hz, pi = acos(-1.0);
    double sigma = pow(10, made->noise_dbfs / 20) / sqrt(2.0);
    bool on = !(made->period_seconds > 0) || fmod(t, made->period_seconds) < made->on_seconds;
    *i = sigma * capture_normal(state);
    *q = sigma * capture_normal(state);
    if (made->dc_dbfs < 0)
        *i += pow(10, made->dc_dbfs / 20);
    for (size_t k = 0; on && k < made->tone_count; k++) {
        double turns = fmod((made->tones[k].hz - made->center_hz) * t, 1.0);
        double phase = 2 * pi * turns + (double)k, level = pow(10, made->tones[k].dbfs / 20);
        if (!k && made->index > 0)
            phase += made->index * sin(2 * pi * made->tone_hz * t);
        *i += level * cos(phase);
        *q += level * sin(phase);
    }
}

static inline int16_t capture_word(double value)
{
    double counts = floor(value * 32768 + 0.5);
    return (int16_t)(counts < -32768 ? -32768 : counts > 32767 ? 32767 : counts);
}

/* Writes the pair and returns the path of its metadata, one of 8 names in turn. */
static inline const char *capture_write(const struct made_capture *made)
{
    static char paths[8][64];
    static int turn;
    char data[64], *path = paths[turn++ % 8];
    snprintf(path, 64, "capture-%d-%d.sigmf-meta", (int)getpid(), turn % 8);
    snprintf(data, sizeof data, "capture-%d-%d.sigmf-data", (int)getpid(), turn % 8);
    FILE *file = fopen(data, "wb");
    assert_non_null(file);
    uint64_t state = 20250101 + made->seed;
    for (size_t at = 0; at < made->samples; at++) {
        double i, q;
        capture_sample(made, at, &state, &i, &q);
        int16_t words[2] = {capture_word(i), capture_word(q)};
        assert_int_equal(fwrite(words, sizeof words, 1, file), 1);
    }
    fclose(file);
    file = fopen(path, "w");
    assert_non_null(file);
    fprintf(file,
            "{\"global\": {\"core:datatype\": \"ci16_le\", \"core:version\": \"1.0.0\", \"core:sample_rate\": %.6f},\n"
            " \"captures\": [{\"core:sample_start\": 0, \"core:frequency\": %.6f}], \"annotations\": []}\n",
            made->rate_hz, made->center_hz);
    fclose(file);
    return path;
}

static inline spurity_source *bench_add_capture(struct bench *bench, const struct made_capture *made,
                                                double full_scale_dbm)
{
    spurity_source *source = &bench->sources[bench->point.source_count++];
    spurity_read_options_init(&source->read);
    source->path = capture_write(made);
    source->read.full_scale_dbm = full_scale_dbm;
    source->chain = bench->chain;
    bench->point.threads = 1;
    bench->point.reproducible = true;
    return source;
}

/* As bench_end, data files too. */
static inline void bench_end_captures(struct bench *bench)
{
    for (size_t i = 0; i < bench->point.source_count; i++) {
        char data[80];
        snprintf(data, sizeof data, "%s", bench->sources[i].path);
        char *suffix = strstr(data, ".sigmf-meta");
        if (suffix)
            memcpy(suffix, ".sigmf-data", strlen(".sigmf-data"));
        if (suffix && !strchr(data, '/')) /* only what was written here */
            unlink(data);
    }
    bench_end(bench);
}
#endif
