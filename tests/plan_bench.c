/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "plan_bench.h"

#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* CMPLX of C11, which not every compiler's headers have. */
static double complex complex_of(double re, double im)
{
    return re + im * (double complex)I;
}

/* ---- chance ---- */

/* splitmix64 (Steele, Lea, Flood 2014). */
static uint64_t next(uint64_t *state)
{
    uint64_t z = *state += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static double uniform(uint64_t *state) /* in (0, 1) */
{
    return ((double)(next(state) >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(uint64_t *state) /* Box and Muller 1958 */
{
    return sqrt(-2 * log(uniform(state))) * cos(2 * acos(-1.0) * uniform(state));
}

/* Complex noise of mean power 1. */
static double complex noise(uint64_t *state)
{
    double r = sqrt(-log(uniform(state))), turn = 2 * acos(-1.0) * uniform(state);
    return complex_of(r * cos(turn), r * sin(turn));
}

/* Mean of n exponentials of mean 1: gamma by Marsaglia and Tsang (2000). */
static double mean_of(double n, uint64_t *state)
{
    if (n < 16) {
        double sum = 0;
        for (int i = 0; i < (int)n; i++)
            sum -= log(uniform(state));
        return sum / floor(n);
    }
    double d = n - 1.0 / 3, c = 1 / sqrt(9 * d);
    for (;;) {
        double x = normal(state), v = 1 + c * x;
        v = v * v * v;
        if (v > 0 && log(uniform(state)) < 0.5 * x * x + d - d * v + d * log(v))
            return d * v / n;
    }
}

/* Highest of n exponentials of mean 1, by the inverse of (1 - e^-x)^n. */
static double highest_of(double n, uint64_t *state)
{
    return -log(-expm1(log(uniform(state)) / n));
}

/* exp of the mean of ln of n exponentials. */
static double log_mean_of(double n, uint64_t *state)
{
    double sum = 0;
    for (int i = 0; i < (int)n; i++)
        sum += log(-log(uniform(state)));
    return exp(sum / floor(n));
}

static double noise_reading(enum made_detector detector, double n, uint64_t *state)
{
    switch (detector) {
    case MADE_PEAK:
    case MADE_MAX_HOLD:
        return highest_of(n, state);
    case MADE_AVERAGE:
        return mean_of(n, state);
    case MADE_LOG_AVERAGE:
        return log_mean_of(n, state);
    default:
        return -log(uniform(state));
    }
}

/* ---- a swept instrument ---- */

static double milliwatts(double dbm)
{
    return pow(10, dbm / 10);
}

/* Power response of the RBW filter at d Hz from its centre. */
static double response(const struct made_instrument *instrument, double d, double rbw_hz)
{
    double x = 2 * d / rbw_hz;
    if (instrument->four_poles)
        return pow(1 + x * x * (sqrt(sqrt(2.0)) - 1), -4);
    return exp2(-x * x);
}

/* Noise bandwidth over RBW: of a Gaussian filter sqrt(pi / ln 2) / 2; of four circuits 2^-1 pi 5/16 / sqrt(2^(1/4) - 1)
 * (their response integrated). */
static double noise_width(const struct made_instrument *instrument)
{
    double pi = acos(-1.0);
    return instrument->four_poles ? pi * 5 / 32 / sqrt(sqrt(sqrt(2.0)) - 1) : sqrt(pi / log(2.0)) / 2;
}

/* The carrier's own noise at d Hz from it, as power in 1 Hz over the carrier's. */
static double own_noise(const struct made_set *set, double d)
{
    if (!(set->near_dbc_hz < 0))
        return 0;
    double x = fabs(d) / set->corner_hz;
    return milliwatts(set->far_dbc_hz) + milliwatts(set->near_dbc_hz) / (1 + x * x);
}

struct sweeping {
    const struct made_instrument *instrument;
    const struct made_set *set;
    const struct made_sweep *sweep;
    double step_hz, draws; /* independent looks of a point's time, over all sweeps */
    double noise_mw;       /* of the instrument, in the RBW */
    uint64_t state;
};

static double complex lines_at(struct sweeping *s, double hz, double reach_hz)
{
    double complex sum = 0;
    for (size_t i = 0; i < s->set->line_count; i++) {
        const struct made_line *line = &s->set->lines[i];
        double d = fabs(line->hz - hz);
        if (d > reach_hz)
            continue;
        double mw = milliwatts(line->dbm - s->instrument->loss_db(s->instrument->user, line->hz)) *
                    response(s->instrument, d, s->sweep->rbw_hz);
        sum += sqrt(mw) * cexp(complex_of(0, 2 * acos(-1.0) * uniform(&s->state)));
    }
    return sum;
}

static double power_of(double complex field)
{
    return creal(field) * creal(field) + cimag(field) * cimag(field);
}

/* A point near a line: its cell is swept in steps finer than the looks it has time for, so that the line's response is
 * that of the whole cell.  A peak detector sees the line at its very frequency. */
static double near_reading(struct sweeping *s, double hz, double reach_hz, double noise_mw)
{
    enum { LOOKS_MOST = 2000, STEPS_LEAST = 16 };
    enum made_detector detector = s->sweep->detector;
    bool cell = detector != MADE_SAMPLE && detector != MADE_MAX_HOLD;
    int looks = (int)fmin(s->draws, LOOKS_MOST), steps = cell && looks < STEPS_LEAST ? STEPS_LEAST / looks : 1;
    double highest = 0, sum = 0, logs = 0, count = (double)looks * steps;
    for (int i = 0; i < looks; i++) {
        double complex hiss = sqrt(noise_mw) * noise(&s->state);
        for (int k = 0; k < steps; k++) {
            double at = cell ? hz + s->step_hz * ((i + (k + 0.5) / steps) / looks - 0.5) : hz;
            double mw = power_of(lines_at(s, at, reach_hz) + hiss);
            highest = fmax(highest, mw);
            sum += mw / count;
            logs += log(mw) / count;
        }
    }
    for (size_t i = 0; detector == MADE_PEAK && i < s->set->line_count; i++)
        if (fabs(s->set->lines[i].hz - hz) <= s->step_hz / 2)
            highest =
                fmax(highest, power_of(lines_at(s, s->set->lines[i].hz, reach_hz) + sqrt(noise_mw) * noise(&s->state)));
    if (detector == MADE_PEAK || detector == MADE_MAX_HOLD)
        return highest;
    return detector == MADE_LOG_AVERAGE ? exp(logs) : sum;
}

static bool line_near(const struct sweeping *s, double hz, double reach_hz)
{
    for (size_t i = 0; i < s->set->line_count; i++)
        if (fabs(s->set->lines[i].hz - hz) <= reach_hz)
            return true;
    return false;
}

static double reading_dbm(struct sweeping *s, double hz)
{
    const struct made_line *carrier = &s->set->lines[0];
    double reach = s->sweep->rbw_hz * (s->instrument->four_poles ? 60 : 4) + s->step_hz;
    double carrier_mw = milliwatts(carrier->dbm - s->instrument->loss_db(s->instrument->user, carrier->hz));
    double own = own_noise(s->set, hz - carrier->hz) * s->sweep->rbw_hz * noise_width(s->instrument);
    double noise_mw = s->noise_mw + carrier_mw * own;
    if (line_near(s, hz, reach))
        return 10 * log10(near_reading(s, hz, reach, noise_mw));
    return 10 * log10(noise_mw * noise_reading(s->sweep->detector, s->draws, &s->state));
}

static void start(struct sweeping *s, const struct made_instrument *instrument, const struct made_set *set,
                  const struct made_sweep *sweep)
{
    double dwell = sweep->seconds / (double)sweep->points * sweep->rbw_hz;
    bool single = sweep->detector == MADE_SAMPLE || sweep->detector == MADE_MAX_HOLD || !(dwell > 1);
    double looks = single ? 1 : floor(dwell);
    *s = (struct sweeping){.instrument = instrument, .set = set, .sweep = sweep, .state = instrument->seed};
    s->step_hz = (sweep->stop_hz - sweep->start_hz) / (double)(sweep->points - 1);
    s->draws = looks * fmax(1, floor(sweep->sweeps));
    s->noise_mw = milliwatts(instrument->noise_dbm) * sweep->rbw_hz / instrument->noise_rbw_hz;
}

bool made_sweep_write(const char *path, const struct made_instrument *instrument, const struct made_set *set,
                      const struct made_sweep *sweep)
{
    static const char *const words[] = {"sample", "average", "log average", "peak", "max hold"};
    struct sweeping s;
    FILE *file = fopen(path, "w");
    if (!file)
        return false;
    start(&s, instrument, set, sweep);
    fprintf(file, "RBW (Hz),%.9g\nDetector,%s\nPoints,%zu\n", sweep->rbw_hz, words[sweep->detector], sweep->points);
    if (sweep->sweeps >= 2)
        fprintf(file, "Averages,%.0f\n", floor(sweep->sweeps));
    fprintf(file, "Frequency (Hz),Level (dBm)\n");
    for (size_t i = 0; i < sweep->points; i++) {
        double hz = sweep->start_hz + s.step_hz * (double)i;
        fprintf(file, "%.3f,%.3f\n", hz, reading_dbm(&s, hz));
    }
    bool good = !ferror(file);
    return !fclose(file) && good;
}

/* ---- a receiver ---- */

/* A line turns by a fixed angle a sample: one multiplication instead of a sine. */
struct turning {
    double complex value, turn;
};

static size_t fill_turning(const struct made_instrument *instrument, const struct made_set *set,
                           const struct made_capture_plan *capture, struct turning *lines)
{
    size_t count = 0;
    double pi = acos(-1.0);
    for (size_t i = 0; i < set->line_count; i++) {
        double off = set->lines[i].hz - capture->center_hz;
        if (fabs(off) >= capture->rate_hz / 2)
            continue; /* the receiver's filter keeps what is beyond its band out */
        double dbfs =
            set->lines[i].dbm - instrument->loss_db(instrument->user, set->lines[i].hz) - capture->full_scale_dbm;
        double angle = 2 * pi * off / capture->rate_hz;
        double complex value = pow(10, dbfs / 20) * cexp(complex_of(0, (double)i));
        lines[count++] = (struct turning){value, cexp(complex_of(0, angle))};
        if (capture->image_db < 0)
            lines[count++] =
                (struct turning){conj(value) * pow(10, capture->image_db / 20), cexp(complex_of(0, -angle))};
    }
    return count;
}

static bool write_samples(FILE *file, const struct made_instrument *instrument, const struct made_set *set,
                          const struct made_capture_plan *capture)
{
    struct turning *lines = calloc(2 * set->line_count, sizeof *lines);
    if (!lines)
        return false;
    size_t count = fill_turning(instrument, set, capture, lines);
    uint64_t state = instrument->seed;
    double width = instrument->noise_rbw_hz * noise_width(instrument);
    double noise_dbfs = instrument->noise_dbm + 10 * log10(capture->rate_hz / width) - capture->full_scale_dbm;
    double sigma = pow(10, noise_dbfs / 20);
    double complex centre = capture->centre_dbm < 0 ? pow(10, (capture->centre_dbm - capture->full_scale_dbm) / 20) : 0;
    uint64_t samples = (uint64_t)llround(capture->seconds * capture->rate_hz);
    bool good = true;
    for (uint64_t at = 0; good && at < samples; at++) {
        double complex sum = centre + sigma * noise(&state);
        for (size_t k = 0; k < count; k++) {
            sum += lines[k].value;
            lines[k].value *= lines[k].turn;
        }
        float pair[2] = {(float)creal(sum), (float)cimag(sum)};
        good = fwrite(pair, sizeof pair, 1, file) == 1;
    }
    free(lines);
    return good;
}

bool made_capture_write(const char *path, const struct made_instrument *instrument, const struct made_set *set,
                        const struct made_capture_plan *capture)
{
    char data[256];
    int stem = (int)strlen(path) - (int)strlen("-meta");
    snprintf(data, sizeof data, "%.*s-data", stem, path);
    FILE *file = fopen(data, "wb");
    if (!file)
        return false;
    bool good = write_samples(file, instrument, set, capture);
    good = !fclose(file) && good;
    file = good ? fopen(path, "w") : NULL;
    if (!file)
        return false;
    fprintf(file,
            "{\"global\": {\"core:datatype\": \"cf32_le\", \"core:version\": \"1.0.0\", \"core:sample_rate\": %.6f},\n"
            " \"captures\": [{\"core:sample_start\": 0, \"core:frequency\": %.6f}], \"annotations\": []}\n",
            capture->rate_hz, capture->center_hz);
    return !fclose(file);
}
