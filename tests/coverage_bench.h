/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TESTS_COVERAGE_BENCH_H
#define SPURITY_TESTS_COVERAGE_BENCH_H
/* Invented benches of known truth: a set, a chain, an instrument with errors drawn from what the bench says of itself,
 * and the two sweeps (carrier, second harmonic) it shows.  Shares no code with what is tested and includes none of it.
 */
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum family {
    FAMILY_LUMP,      /* one expanded figure for levels, one for ratios */
    FAMILY_GAIN,      /* absolute amplitude, frequency response, repeatability, switching */
    FAMILY_MISMATCH,  /* complex reflections of set, pad and instrument at random phases */
    FAMILY_NOISE,     /* a harmonic 8 to 20 dB over the noise */
    FAMILY_PADS,      /* two pads and a loss curve, each with its own uncertainty */
    FAMILY_DETECTORS, /* sample and log average 25 to 45 dB over the noise, peak and max-hold 55 to 75 dB */
    FAMILY_LINEARITY, /* the scale between carrier and harmonic */
    FAMILY_WHOLE,     /* all of it at once */
    FAMILY_HELD,      /* peak and max-hold 20 to 40 dB over the noise, which reads them high by a bound */
    FAMILIES
};
const char *family_name(enum family family);

enum shape { SHAPE_NORMAL, SHAPE_RECTANGULAR, SHAPE_TRIANGULAR };
struct figure {
    enum shape shape;
    double db; /* standard deviation of a normal one, else half-width; 0 = none */
};

enum reading { READ_AVERAGE, READ_SAMPLE, READ_LOG, READ_PEAK, READ_HOLD };

enum { SWEEP_POINTS = 61, BENCH_SWEEPS = 2 };
struct bench_sweep {
    double start_hz, step_hz, rbw_hz;
    enum reading detector;
    bool of_peaks; /* a hold: of sweeps that were peaks already */
    int averages;  /* looks averaged, or sweeps held */
    double dbm[SWEEP_POINTS];
};

/* Levels at the antenna terminal are the same in every bench. */
#define TRUE_CARRIER_DBM 37.0
#define TRUE_HARMONIC_DBM (-16.0)

struct invented_bench {
    enum family family;
    double carrier_hz, harmonic_hz;
    /* what the bench says of itself */
    double lump_dbm, lump_dbc; /* 0: the figures below instead */
    struct figure amplitude, response, attenuator, switching, resolution, interpolation, repeatability, linearity;
    double linearity_most_db;                 /* linearity: for each 10 dB below the carrier, no more than this */
    double set_gamma, pad_gamma, input_gamma; /* magnitudes */
    int pads;
    double pad_db[2], pad_expanded_db[2];  /* k = 2 */
    double curve_db[2], curve_expanded_db; /* loss at carrier and harmonic; expanded 0: no curve */
    struct bench_sweep sweeps[BENCH_SWEEPS];
};

/* Draws n benches of a family one after the other; the same for the same seed. */
struct draw;
struct draw *draw_start(enum family family, size_t n, uint64_t seed);
void draw_next(struct draw *draw, struct invented_bench *bench);
void draw_end(struct draw *draw);

/* A number of the draw's own, between low and high. */
double draw_between(struct draw *draw, double low, double high);
/* Samples (I and Q, 16 bit) of a tone `over_db` over full scale, cut off there, with noise 70 dB under it. */
void draw_clipped(struct draw *draw, double over_db, short *samples, size_t pairs);

/* A sweep as comma text; returns its length. */
size_t bench_sweep_text(const struct bench_sweep *sweep, char *text, size_t room);
#endif
