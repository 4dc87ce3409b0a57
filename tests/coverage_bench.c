/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "coverage_bench.h"

#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

const char *family_name(enum family family)
{
    static const char *const names[FAMILIES] = {"lump",      "gain",      "mismatch", "noise", "pads",
                                                "detectors", "linearity", "whole",    "held"};
    return names[family];
}

/* ---- random numbers ---------------------------------------------------------------------------------- */

/* SplitMix64 (Steele, Lea, Flood 2014). */
static uint64_t next_bits(uint64_t *state)
{
    uint64_t z = (*state += 0x9E3779B97F4A7C15u);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
}

/* Between 0 and 1, never either. */
static double uniform(uint64_t *state)
{
    return ((double)(next_bits(state) >> 12) + 0.5) / 4503599627370496.0;
}

/* A pair of normal values (Box and Muller 1958). */
static void normal_pair(uint64_t *state, double *a, double *b)
{
    double r = sqrt(-2 * log(uniform(state))), angle = 2 * PI * uniform(state);
    *a = r * cos(angle);
    *b = r * sin(angle);
}

/* The normal quantile by Newton's method on erfc; p between 0 and 1. */
static double normal_quantile(double p)
{
    double tail = p < 0.5 ? p : 1 - p;
    double t = sqrt(-2 * log(tail)), x = t - (2.30753 + 0.27061 * t) / (1 + t * (0.99229 + t * 0.04481));
    for (int i = 0; i < 3; i++) /* Hastings 1955 is good to 3e-3 */
        x += (0.5 * erfc(x / sqrt(2.0)) - tail) * sqrt(2 * PI) * exp(x * x / 2);
    return p < 0.5 ? -x : x;
}

/* Errors of the bench, one independent quantity each. */
enum quantity {
    Q_AMPLITUDE,
    Q_SHARED,
    Q_OWN_CARRIER,
    Q_OWN_HARMONIC,
    Q_RESPONSE_CARRIER,
    Q_RESPONSE_HARMONIC,
    Q_ATTENUATOR_CARRIER,
    Q_ATTENUATOR_HARMONIC,
    Q_SWITCHING,
    Q_RESOLUTION_CARRIER,
    Q_RESOLUTION_HARMONIC,
    Q_INTERPOLATION_CARRIER,
    Q_INTERPOLATION_HARMONIC,
    Q_REPEAT_CARRIER,
    Q_REPEAT_HARMONIC,
    Q_LINEARITY,
    Q_PAD_1,
    Q_PAD_2,
    Q_CURVE_CARRIER,
    Q_CURVE_HARMONIC,
    Q_PHASES, /* nine: three joints at two frequencies, and what a two-port does to a phase */
    Q_PLACE = Q_PHASES + 8,
    Q_SNR,
    QUANTITIES
};

/* Every quantity is drawn once from each n-th part of its distribution, in an order of its own (a Latin hypercube:
 * McKay, Beckman and Conover 1979): shares settle sooner than with independent draws and are biased no more. */
struct draw {
    enum family family;
    size_t n, next;
    uint64_t state;
    uint32_t *order[QUANTITIES];
    double u[QUANTITIES];
};

struct draw *draw_start(enum family family, size_t n, uint64_t seed)
{
    struct draw *draw = calloc(1, sizeof *draw);
    if (!draw)
        return NULL;
    *draw = (struct draw){.family = family, .n = n, .state = seed + 1000003u * (uint64_t)family};
    for (int q = 0; q < QUANTITIES; q++) {
        draw->order[q] = malloc(n * sizeof *draw->order[q]);
        if (!draw->order[q]) {
            draw_end(draw);
            return NULL;
        }
        for (size_t i = 0; i < n; i++)
            draw->order[q][i] = (uint32_t)i;
        for (size_t i = n - 1; i > 0; i--) {
            size_t k = (size_t)(uniform(&draw->state) * (double)(i + 1));
            uint32_t held = draw->order[q][i];
            draw->order[q][i] = draw->order[q][k];
            draw->order[q][k] = held;
        }
    }
    return draw;
}

void draw_end(struct draw *draw)
{
    for (int q = 0; draw && q < QUANTITIES; q++)
        free(draw->order[q]);
    free(draw);
}

static double error_of(const struct draw *draw, const struct figure *figure, int quantity)
{
    double u = draw->u[quantity];
    if (figure->shape == SHAPE_NORMAL)
        return figure->db * normal_quantile(u);
    if (figure->shape == SHAPE_TRIANGULAR)
        return figure->db * (u < 0.5 ? sqrt(2 * u) - 1 : 1 - sqrt(2 * (1 - u)));
    return figure->db * (2 * u - 1);
}

/* ---- the chain --------------------------------------------------------------------------------------- */

static double complex at_phase(double magnitude, double turns)
{
    return magnitude * cexp(2 * PI * I * turns);
}

/* What reaches the instrument beyond what matched ends would let through, dB: a two-port between source and load, exact
 * (the signal-flow graph's S21 / ((1 - Gs S11)(1 - S22 Gl) - Gs Gl S12 S21)). */
static double mismatch_db(const struct draw *draw, const struct invented_bench *bench, double loss_db, int harmonic)
{
    const double *turn = &draw->u[Q_PHASES + 4 * harmonic];
    double complex source = at_phase(bench->set_gamma, turn[0]), load = at_phase(bench->input_gamma, turn[1]);
    double complex s11 = at_phase(bench->pad_gamma, turn[2]), s22 = at_phase(bench->pad_gamma, turn[3]);
    double through = pow(10, -loss_db / 20);
    double complex loop = (1 - source * s11) * (1 - s22 * load) - source * load * through * through;
    return -20 * log10(cabs(loop));
}

/* Loss as it is, where the bench says what it says. */
static double true_loss(const struct draw *draw, const struct invented_bench *bench, int harmonic)
{
    double loss = 0;
    for (int i = 0; i < bench->pads; i++)
        loss += bench->pad_db[i] + bench->pad_expanded_db[i] / 2 * normal_quantile(draw->u[Q_PAD_1 + i]);
    if (bench->curve_expanded_db > 0)
        loss += bench->curve_db[harmonic] +
                bench->curve_expanded_db / 2 * normal_quantile(draw->u[Q_CURVE_CARRIER + harmonic]);
    return loss;
}

static double reading_error(const struct draw *draw, const struct invented_bench *bench, int harmonic)
{
    double below = TRUE_CARRIER_DBM - TRUE_HARMONIC_DBM;
    double error = error_of(draw, &bench->amplitude, Q_AMPLITUDE) + error_of(draw, &bench->switching, Q_SWITCHING) +
                   error_of(draw, &bench->response, Q_RESPONSE_CARRIER + harmonic) +
                   error_of(draw, &bench->attenuator, Q_ATTENUATOR_CARRIER + harmonic) +
                   error_of(draw, &bench->resolution, Q_RESOLUTION_CARRIER + harmonic) +
                   error_of(draw, &bench->interpolation, Q_INTERPOLATION_CARRIER + harmonic) +
                   error_of(draw, &bench->repeatability, Q_REPEAT_CARRIER + harmonic);
    if (harmonic && bench->linearity.db > 0) {
        struct figure whole = bench->linearity;
        whole.db = fmin(whole.db * below / 10, bench->linearity_most_db);
        error += error_of(draw, &whole, Q_LINEARITY);
    }
    if (bench->lump_dbm > 0) {
        /* Two levels of one bench, each uncertain by U, their difference by V: each has a part of its own of
         * V / sqrt 2. */
        double own = bench->lump_dbc / sqrt(2.0), shared = sqrt(bench->lump_dbm * bench->lump_dbm - own * own);
        error += shared / 2 * normal_quantile(draw->u[Q_SHARED]) +
                 own / 2 * normal_quantile(draw->u[Q_OWN_CARRIER + harmonic]);
    }
    return error;
}

/* ---- what the instrument shows ----------------------------------------------------------------------- */

/* Amplitude a of a line in noise of mean power 1: one look's power. */
static double one_look(uint64_t *state, double a)
{
    double x, y;
    normal_pair(state, &x, &y);
    x = a + x / sqrt(2.0);
    y /= sqrt(2.0);
    return x * x + y * y;
}

/* Power average of k looks: the mean amplitude's component carries the line, the rest is a sum of exponentials. */
static double averaged(uint64_t *state, double a, int k)
{
    double sum = one_look(state, a * sqrt((double)k)), product = 1;
    for (int i = 1; i < k; i++) {
        product *= uniform(state);
        if (product < 1e-200) {
            sum -= log(product);
            product = 1;
        }
    }
    return (sum - log(product)) / k;
}

static double shown(uint64_t *state, double a, const struct bench_sweep *sweep)
{
    double worst = 0, logs = 0;
    if (sweep->detector == READ_AVERAGE || sweep->detector == READ_SAMPLE)
        return averaged(state, a, sweep->detector == READ_SAMPLE ? 1 : sweep->averages);
    for (int i = 0; i < sweep->averages; i++) {
        double power = one_look(state, a);
        worst = fmax(worst, power);
        logs += log(power);
    }
    return sweep->detector == READ_LOG ? exp(logs / sweep->averages) : worst;
}

/* A line of level_dbm at hz through a Gaussian filter, in noise of noise_dbm. */
static void take_sweep(uint64_t *state, struct bench_sweep *sweep, double hz, double level_dbm, double noise_dbm)
{
    for (int i = 0; i < SWEEP_POINTS; i++) {
        double away = fabs(sweep->start_hz + sweep->step_hz * i - hz);
        if (sweep->detector == READ_PEAK || sweep->of_peaks)
            away = fmax(0, away - sweep->step_hz / 2);
        double half = away / (sweep->rbw_hz / 2); /* 3.01 dB down where half is 1 */
        double line_dbm = level_dbm - 10 * log10(2.0) * half * half;
        double a = pow(10, (line_dbm - noise_dbm) / 20);
        sweep->dbm[i] = noise_dbm + 10 * log10(shown(state, a, sweep));
    }
}

/* ---- families ---------------------------------------------------------------------------------------- */

static void say_reading(struct draw *draw, struct invented_bench *bench, double *snr_db)
{
    static const int looks[] = {8, 16, 32, 64};
    double u = draw->u[Q_SNR];
    struct bench_sweep *harmonic = &bench->sweeps[1];
    *snr_db = 50;
    if (bench->family == FAMILY_NOISE || bench->family == FAMILY_WHOLE) {
        *snr_db = 8 + 12 * u;
        harmonic->averages = looks[next_bits(&draw->state) % 4];
        harmonic->step_hz = 4e3; /* readings of a sweep as fast as its filter lets it are nearly independent then */
    }
    if (bench->family == FAMILY_DETECTORS) {
        static const enum reading readings[] = {READ_SAMPLE, READ_LOG, READ_PEAK, READ_HOLD};
        harmonic->detector = bench->sweeps[0].detector = readings[next_bits(&draw->state) % 4];
        for (int i = 0; i < BENCH_SWEEPS; i++)
            bench->sweeps[i].of_peaks = bench->sweeps[i].detector == READ_HOLD && next_bits(&draw->state) % 2;
        /* what a held maximum reads high of noise is told as a bound, and is none where the line stands far over it */
        *snr_db = (harmonic->detector == READ_PEAK || harmonic->detector == READ_HOLD ? 55 : 25) + 20 * u;
        harmonic->averages = bench->sweeps[0].averages = harmonic->detector == READ_SAMPLE ? 1 : 8;
    }
}

static void say_held(struct draw *draw, struct invented_bench *bench, double *snr_db)
{
    struct bench_sweep *harmonic = &bench->sweeps[1];
    *snr_db = 20 + 20 * draw->u[Q_SNR];
    harmonic->detector = next_bits(&draw->state) % 2 ? READ_PEAK : READ_HOLD;
    harmonic->of_peaks = harmonic->detector == READ_HOLD && next_bits(&draw->state) % 2;
    harmonic->averages = 8;
    harmonic->step_hz = 4e3;
}

static void say_gain(struct invented_bench *bench)
{
    bench->amplitude = (struct figure){SHAPE_RECTANGULAR, 1.0};
    bench->response = (struct figure){SHAPE_RECTANGULAR, 0.7};
    bench->attenuator = (struct figure){SHAPE_RECTANGULAR, 0.3};
    bench->switching = (struct figure){SHAPE_RECTANGULAR, 0.2};
    bench->repeatability = (struct figure){SHAPE_NORMAL, 0.15};
}

static void say_pads(struct invented_bench *bench)
{
    bench->pads = 2;
    bench->pad_db[0] = 30;
    bench->pad_db[1] = 10;
    bench->pad_expanded_db[0] = 0.6;
    bench->pad_expanded_db[1] = 0.4;
    bench->curve_db[0] = 0.5;
    bench->curve_db[1] = 0.8;
    bench->curve_expanded_db = 0.5;
}

/* VSWR of 2.0 at the set, 1.2 at each end of the pad, 1.5 at the instrument. */
static void say_mismatch(struct invented_bench *bench)
{
    bench->set_gamma = 1.0 / 3;
    bench->pad_gamma = 0.2 / 2.2;
    bench->input_gamma = 0.2;
    bench->repeatability = (struct figure){SHAPE_NORMAL, 0.05};
}

static void say_family(struct invented_bench *bench)
{
    bool whole = bench->family == FAMILY_WHOLE;
    bench->pads = 1;
    bench->pad_db[0] = 40;
    if (bench->family == FAMILY_LUMP) {
        bench->lump_dbm = 2.0;
        bench->lump_dbc = 1.5;
    }
    if (bench->family == FAMILY_MISMATCH || whole)
        say_mismatch(bench);
    if (bench->family == FAMILY_GAIN || whole)
        say_gain(bench);
    if (bench->family == FAMILY_PADS || whole)
        say_pads(bench);
    if (bench->family == FAMILY_PADS || bench->family == FAMILY_LINEARITY || bench->family == FAMILY_DETECTORS ||
        bench->family == FAMILY_HELD)
        bench->repeatability = (struct figure){SHAPE_NORMAL, 0.15};
    if (bench->family == FAMILY_NOISE)
        bench->repeatability = (struct figure){SHAPE_NORMAL, 0.05};
    if (bench->family == FAMILY_DETECTORS)
        bench->amplitude = (struct figure){SHAPE_TRIANGULAR, 0.5};
    if (bench->family == FAMILY_LINEARITY || whole) {
        bench->linearity = (struct figure){SHAPE_RECTANGULAR, 0.1};
        bench->linearity_most_db = 1.0;
        bench->resolution = (struct figure){SHAPE_RECTANGULAR, 0.05};
        bench->interpolation = (struct figure){SHAPE_RECTANGULAR, 0.1};
    }
}

void draw_next(struct draw *draw, struct invented_bench *bench)
{
    double snr_db;
    for (int q = 0; q < QUANTITIES; q++)
        draw->u[q] = (draw->order[q][draw->next] + uniform(&draw->state)) / (double)draw->n;
    draw->next++;
    *bench = (struct invented_bench){.family = draw->family};
    say_family(bench);
    for (int i = 0; i < BENCH_SWEEPS; i++)
        bench->sweeps[i] = (struct bench_sweep){.rbw_hz = 10e3, .step_hz = 2.5e3, .averages = 16};
    if (bench->family == FAMILY_HELD)
        say_held(draw, bench, &snr_db);
    else
        say_reading(draw, bench, &snr_db);
    if (bench->family == FAMILY_MISMATCH)
        bench->sweeps[0].step_hz = bench->sweeps[1].step_hz = 2e3;
    bench->carrier_hz = 146.94e6 + 10e3 * (draw->u[Q_PLACE] - 0.5);
    bench->harmonic_hz = 2 * bench->carrier_hz;
    for (int i = 0; i < BENCH_SWEEPS; i++) {
        struct bench_sweep *sweep = &bench->sweeps[i];
        double truth = i ? TRUE_HARMONIC_DBM : TRUE_CARRIER_DBM, loss = true_loss(draw, bench, i);
        double said = bench->pad_db[0] + (bench->pads > 1 ? bench->pad_db[1] : 0) + bench->curve_db[i];
        double level = truth - loss + mismatch_db(draw, bench, said, i) + reading_error(draw, bench, i);
        sweep->start_hz = (i ? 2 : 1) * 146.94e6 - sweep->step_hz * (SWEEP_POINTS - 1) / 2;
        take_sweep(&draw->state, sweep, i ? bench->harmonic_hz : bench->carrier_hz, level,
                   i ? truth - said - snr_db : truth - said - 60);
    }
}

/* ---- out of budget ------------------------------------------------------------------------------------ */

double draw_between(struct draw *draw, double low, double high)
{
    return low + (high - low) * uniform(&draw->state);
}

static short at_the_rails(double value)
{
    return (short)lround(fmin(fmax(value, -1), 1) * 32767);
}

void draw_clipped(struct draw *draw, double over_db, short *samples, size_t pairs)
{
    double amplitude = pow(10, over_db / 20), step = draw_between(draw, 0.05, 0.3), phase = 0, i, q;
    for (size_t k = 0; k < pairs; k++) {
        normal_pair(&draw->state, &i, &q);
        samples[2 * k] = at_the_rails(amplitude * cos(phase) + i * amplitude * 2.2e-4);
        samples[2 * k + 1] = at_the_rails(amplitude * sin(phase) + q * amplitude * 2.2e-4);
        phase = fmod(phase + 2 * PI * step, 2 * PI);
    }
}

/* ---- as text ----------------------------------------------------------------------------------------- */

/* value with four digits after the mark, |value| < 1e9. */
static char *put(char *text, double value)
{
    char digits[24];
    int n = 0;
    long long whole = llround(fabs(value) * 1e4);
    for (; whole > 0 || n < 5; whole /= 10) {
        if (n == 4)
            digits[n++] = '.';
        digits[n++] = (char)('0' + whole % 10);
    }
    if (value < 0)
        *text++ = '-';
    while (n > 0)
        *text++ = digits[--n];
    return text;
}

size_t bench_sweep_text(const struct bench_sweep *sweep, char *text, size_t room)
{
    static const char head[] = "Frequency (Hz),Level (dBm)\n";
    char *at = text + sizeof head - 1;
    if (room < sizeof head + 40 * SWEEP_POINTS)
        return 0;
    memcpy(text, head, sizeof head - 1);
    for (int i = 0; i < SWEEP_POINTS; i++) {
        at = put(at, sweep->start_hz + sweep->step_hz * i);
        *at++ = ',';
        at = put(at, sweep->dbm[i]);
        *at++ = '\n';
    }
    return (size_t)(at - text);
}
