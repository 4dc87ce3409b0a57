/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TESTS_EMISSION_SWEEP_H
#define SPURITY_TESTS_EMISSION_SWEEP_H
/* Sweeps made up for the tests of `emission`: Gaussian noise through a Gaussian RBW filter, detectors, lines. */
#include "check.h"

#include "emission/emission.h"

static inline uint64_t sweep_next(uint64_t *state) /* splitmix64 (Steele, Lea, Flood 2014) */
{
    uint64_t z = *state += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static inline double sweep_uniform(uint64_t *state) /* in (0, 1) */
{
    return ((double)(sweep_next(state) >> 11) + 0.5) / 9007199254740992.0;
}

/** Two independent normal values of variance 1/2 (Marsaglia's polar method): a complex value of mean power 1. */
static inline void sweep_complex(uint64_t *state, double value[2])
{
    double x, y, r;
    do {
        x = 2 * sweep_uniform(state) - 1;
        y = 2 * sweep_uniform(state) - 1;
        r = x * x + y * y;
    } while (r >= 1 || !(r > 0));
    double scale = sqrt(-log(r) / r);
    value[0] = x * scale;
    value[1] = y * scale;
}

/** One sweep as it is made up: levels in linear power over the noise's mean of 1, then through a detector. */
typedef struct sweep {
    size_t count;
    double start_hz, step_hz, rbw_hz;
    spurity_detector detector;
    double averages;       /* as told to the survey; 0 = not told */
    size_t draws;          /* sweeps averaged or held in truth */
    bool correlated;       /* neighbours see the same noise through overlapping filters */
    double line_hz;        /* NaN: none */
    double line_db;        /* over the mean noise */
    double noise_db;       /* level of the mean noise */
    const double *tilt_db; /* added to noise and line, NULL: none */
} sweep;

/** Field response of a Gaussian filter of 3 dB width rbw, d off its centre. */
static inline double sweep_filter(double d, double rbw)
{
    return exp(-2 * M_LN2 * (d / rbw) * (d / rbw));
}

static inline void sweep_noise(const sweep *w, uint64_t *state, double (*noise)[2])
{
    enum { TAPS_MAX = 64 };
    double taps[2 * TAPS_MAX + 1], sum = 0, x = w->rbw_hz > 0 ? w->step_hz / w->rbw_hz : 1;
    int reach = w->correlated ? (int)ceil(1.8 / x) : 0;
    reach = reach > TAPS_MAX ? TAPS_MAX : reach;
    for (int k = -reach; k <= reach; k++) {
        taps[k + reach] = sweep_filter(k * x, 1);
        sum += taps[k + reach] * taps[k + reach];
    }
    size_t n = w->count + 2 * (size_t)reach;
    double(*white)[2] = malloc(n * sizeof *white);
    assert_non_null(white);
    for (size_t i = 0; i < n; i++)
        sweep_complex(state, white[i]);
    for (size_t i = 0; i < w->count; i++) {
        noise[i][0] = noise[i][1] = 0;
        for (int k = 0; k <= 2 * reach; k++) {
            noise[i][0] += taps[k] * white[i + (size_t)k][0];
            noise[i][1] += taps[k] * white[i + (size_t)k][1];
        }
        noise[i][0] /= sqrt(sum);
        noise[i][1] /= sqrt(sum);
    }
    free(white);
}

/** Fills frequency_hz and level_db (w->count each). */
static inline void sweep_make(const sweep *w, uint64_t *state, double *frequency_hz, double *level_db)
{
    double(*noise)[2] = malloc(w->count * sizeof *noise), *power = calloc(w->count, sizeof *power);
    assert_non_null(noise);
    assert_non_null(power);
    double amplitude = isnan(w->line_hz) ? 0 : pow(10, w->line_db / 20);
    for (size_t draw = 0; draw < w->draws; draw++) {
        double phase = 2 * M_PI * sweep_uniform(state);
        sweep_noise(w, state, noise);
        for (size_t i = 0; i < w->count; i++) {
            double d = w->start_hz + (double)i * w->step_hz - w->line_hz;
            double a = isnan(d) || fabs(d) > 6 * w->rbw_hz ? 0 : amplitude * sweep_filter(d, w->rbw_hz);
            double re = noise[i][0] + a * cos(phase), im = noise[i][1] + a * sin(phase), p = re * re + im * im;
            if (w->detector == SPURITY_DETECTOR_MAX_HOLD || w->detector == SPURITY_DETECTOR_PEAK)
                power[i] = p > power[i] ? p : power[i];
            else if (w->detector == SPURITY_DETECTOR_LOG_AVERAGE)
                power[i] += 10 * log10(p) / (double)w->draws;
            else
                power[i] += p / (double)w->draws;
        }
    }
    for (size_t i = 0; i < w->count; i++) {
        frequency_hz[i] = w->start_hz + (double)i * w->step_hz;
        level_db[i] = (w->detector == SPURITY_DETECTOR_LOG_AVERAGE ? power[i] : 10 * log10(power[i])) + w->noise_db +
                      (w->tilt_db ? w->tilt_db[i] : 0);
    }
    free(noise);
    free(power);
}

/** A trace of one segment at the terminal (nothing in between). */
static inline spurity_terminal_trace *sweep_terminal(const spurity_segment_facts *facts, const double *frequency_hz,
                                                     const double *level_db, size_t count)
{
    spurity_error error = {0};
    spurity_trace *trace = NULL;
    spurity_chain *chain = NULL;
    spurity_terminal_trace *terminal = NULL;
    assert_ok(spurity_trace_create(&trace, &error), &error);
    assert_ok(spurity_trace_begin_segment(trace, facts, &error), &error);
    assert_ok(spurity_trace_append(trace, frequency_hz, level_db, count, &error), &error);
    assert_ok(spurity_chain_create(&chain, &error), &error);
    assert_ok(spurity_chain_set_kind(chain, SPURITY_CHAIN_DIRECT, &error), &error);
    assert_ok(spurity_chain_apply(chain, &trace, NAN, 0, NULL, &terminal, &error), &error);
    spurity_chain_free(chain);
    return terminal;
}

static inline spurity_survey *sweep_survey_facts(const spurity_segment_facts *facts, const double *frequency_hz,
                                                 const double *level_db, size_t count, spurity_notes *notes)
{
    spurity_error error = {0};
    spurity_survey *survey = NULL;
    spurity_terminal_trace *terminal = sweep_terminal(facts, frequency_hz, level_db, count);
    assert_ok(spurity_survey_create(terminal, NULL, notes, NULL, &survey, &error), &error);
    return survey;
}

static inline spurity_segment_facts sweep_facts(const sweep *w)
{
    return (spurity_segment_facts){.rbw_hz = w->rbw_hz, .detector = w->detector, .averages = w->averages};
}

static inline spurity_survey *sweep_survey(const sweep *w, const double *frequency_hz, const double *level_db)
{
    spurity_segment_facts facts = sweep_facts(w);
    return sweep_survey_facts(&facts, frequency_hz, level_db, w->count, NULL);
}
#endif
