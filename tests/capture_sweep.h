/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TESTS_CAPTURE_SWEEP_H
#define SPURITY_TESTS_CAPTURE_SWEEP_H
/* Traces from made-up complex samples: windows, a plain transform in double precision, mean powers.  Owes nothing to
 * the stage `spectrum`. */
#include "emission_sweep.h"

#include <complex.h>

/* Coefficients: Heinzel, Rüdiger, Schilling, Spectrum and spectral density estimation by the DFT (2002), appendix. */
typedef struct capture_window {
    const char *name;
    spurity_filter filter;
} capture_window;

static const capture_window capture_windows[] = {
    {"rectangular", {SPURITY_FILTER_COSINE_SUM, 1, {1}, 0, 0}},
    {"Hann", {SPURITY_FILTER_COSINE_SUM, 2, {.5, .5}, 0, 0}},
    {"Blackman-Harris", {SPURITY_FILTER_COSINE_SUM, 4, {.35875, .48829, .14128, .01168}, 0, 0}},
    {"Nuttall4c", {SPURITY_FILTER_COSINE_SUM, 4, {.3635819, .4891775, .1365995, .0106411}, 0, 0}},
    {"Kaiser 3.5", {SPURITY_FILTER_KAISER, 0, {0}, 3.5 * 3.14159265358979323846, 0}},
    {"HFT70", {SPURITY_FILTER_COSINE_SUM, 4, {1, 1.90796, 1.07349, .18199}, 0, 0}},
    {"HFT95", {SPURITY_FILTER_COSINE_SUM, 5, {1, 1.9383379, 1.3045202, .4028270, .0350665}, 0, 0}},
    {"HFT116D", {SPURITY_FILTER_COSINE_SUM, 6, {1, 1.9575375, 1.4780705, .6367431, .1228389, .0066288}, 0, 0}},
    {"HFT144D",
     {SPURITY_FILTER_COSINE_SUM, 7, {1, 1.96760033, 1.57983607, .81123644, .22583558, .02773848, .00090360}, 0, 0}},
};
enum { CAPTURE_WINDOWS = sizeof capture_windows / sizeof *capture_windows };

static inline const capture_window *capture_window_of(const char *name)
{
    for (int i = 0; i < CAPTURE_WINDOWS; i++)
        if (strcmp(capture_windows[i].name, name) == 0)
            return &capture_windows[i];
    fail_msg("no window %s", name);
    return NULL;
}

static inline double capture_bessel_i0(double x) /* its power series */
{
    double sum = 1, term = 1;
    for (int k = 1; k < 200 && term > 1e-17 * sum; k++)
        sum += term *= (x / (2 * k)) * (x / (2 * k));
    return sum;
}

/** Samples of a window, periodic, scaled to a mean of 1. */
static inline void capture_fill(const spurity_filter *filter, size_t n, double *w)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        w[i] = 0;
        double t = 2 * (double)i / (double)n - 1, sign = 1;
        if (filter->kind == SPURITY_FILTER_KAISER)
            w[i] = capture_bessel_i0(filter->beta * sqrt(1 - t * t)) / capture_bessel_i0(filter->beta);
        for (int k = 0; k < filter->terms; k++, sign = -sign)
            w[i] += sign * filter->c[k] * cos(2 * M_PI * k * (double)i / (double)n);
        sum += w[i];
    }
    for (size_t i = 0; i < n; i++)
        w[i] *= (double)n / sum;
}

/** In place, n a power of two (Cooley and Tukey 1965). */
static inline void capture_transform(double complex *x, size_t n)
{
    double complex *turns = malloc((n / 2 + 1) * sizeof *turns);
    assert_non_null(turns);
    for (size_t k = 0; k < n / 2; k++)
        turns[k] = cexp(-2 * M_PI * I * (double)k / (double)n);
    for (size_t i = 1, j = 0; i < n; i++) {
        size_t bit = n >> 1;
        for (; j & bit; bit >>= 1)
            j ^= bit;
        j ^= bit;
        if (i < j) {
            double complex t = x[i];
            x[i] = x[j], x[j] = t;
        }
    }
    for (size_t half = 1; half < n; half *= 2)
        for (size_t k = 0; k < half; k++) {
            double complex turn = turns[k * (n / 2 / half)];
            for (size_t i = k; i < n; i += 2 * half) {
                double complex a = x[i], b = turn * x[i + half];
                x[i] = a + b;
                x[i + half] = a - b;
            }
        }
    free(turns);
}

typedef struct capture {
    const spurity_filter *filter;
    size_t transform; /* power of two */
    double rate_hz;
    double averages; /* told to the survey */
} capture;

/** Mean powers of `count` transforms a hop apart, dB over |x| = 1, from -rate/2 upwards; transform values each. */
static inline void capture_mean(const capture *c, const double complex *samples, size_t hop, size_t count,
                                double *frequency_hz, double *level_db)
{
    size_t n = c->transform;
    double *w = malloc(n * sizeof *w), *power = calloc(n, sizeof *power);
    double complex *x = malloc(n * sizeof *x);
    assert_true(w && power && x);
    capture_fill(c->filter, n, w);
    for (size_t k = 0; k < count; k++) {
        for (size_t i = 0; i < n; i++)
            x[i] = samples[k * hop + i] * w[i] / (double)n;
        capture_transform(x, n);
        for (size_t i = 0; i < n; i++)
            power[i] += creal(x[i]) * creal(x[i]) + cimag(x[i]) * cimag(x[i]);
    }
    for (size_t i = 0; i < n; i++) {
        frequency_hz[i] = ((double)i - (double)n / 2) * c->rate_hz / (double)n;
        level_db[i] = 10 * log10(power[(i + n / 2) % n] / (double)count + 1e-300);
    }
    free(w), free(power), free(x);
}

static inline spurity_segment_facts capture_facts(const capture *c)
{
    spurity_segment_facts facts = {.detector = SPURITY_DETECTOR_AVERAGE, .averages = c->averages, .filter = *c->filter};
    facts.filter.bin_hz = c->rate_hz / (double)c->transform;
    facts.rbw_hz = spurity_filter_width_bins(c->filter) * facts.filter.bin_hz;
    facts.noise_bandwidth_factor = spurity_filter_noise_bins(c->filter) / spurity_filter_width_bins(c->filter);
    return facts;
}

/** Adds white noise of mean power 10^(db/10) a sample. */
static inline void capture_noise(double complex *samples, size_t count, double db, uint64_t *random)
{
    double scale = pow(10, db / 20), v[2];
    for (size_t i = 0; i < count; i++) {
        sweep_complex(random, v);
        samples[i] += scale * (v[0] + I * v[1]);
    }
}

static inline void capture_tone(double complex *samples, size_t count, double cycles_per_sample, double db,
                                double phase)
{
    for (size_t i = 0; i < count; i++)
        samples[i] += pow(10, db / 20) * cexp(I * (2 * M_PI * cycles_per_sample * (double)i + phase));
}

static inline void capture_print(const spurity_survey *survey)
{
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *l = spurity_survey_line(survey, i);
        print_message("    %.3f Hz %.3f dB width %.3f floor %.2f excess %.2f %s\n", l->frequency_hz, l->level_db,
                      l->width_hz, l->floor_db, l->excess_db, spurity_character_name(l->character));
    }
}
#endif
