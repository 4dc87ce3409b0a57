/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TESTS_PLAN_BENCH_H
#define SPURITY_TESTS_PLAN_BENCH_H
/* A bench that follows a plan: an invented transmitter, and what a swept instrument or a receiver would save of it.
 * Knows nothing of the library and shares no code with it.
 *
 * Levels of the transmitter are dBm at its antenna terminal, those of the instrument dBm at its input; the loss between
 * is asked for by frequency.  Noise is complex Gaussian (an envelope by Rayleigh, a power by the exponential law); the
 * RBW filter is Gaussian, 3 dB wide, or four equal tuned circuits. */
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct made_line {
    double hz, dbm;
};

struct made_set {
    const struct made_line *lines; /* the carrier first */
    size_t line_count;
    /* noise of the carrier: flat to the corner, then 20 dB a decade down to the far value; dBc in 1 Hz, 0 = none */
    double near_dbc_hz, corner_hz, far_dbc_hz;
};

/* A maximum held is that of samples, one a sweep. */
enum made_detector { MADE_SAMPLE, MADE_AVERAGE, MADE_LOG_AVERAGE, MADE_PEAK, MADE_MAX_HOLD };

struct made_instrument {
    double noise_dbm, noise_rbw_hz; /* mean, input terminated */
    bool four_poles;
    double (*loss_db)(const void *user,
                      double hz); /* NaN where it is not known: the truth is then what it was before */
    const void *user;
    uint64_t seed;
};

struct made_sweep {
    double start_hz, stop_hz, rbw_hz;
    size_t points;
    enum made_detector detector;
    double seconds; /* of one sweep */
    double sweeps;  /* averaged, or held */
};

/** Writes the sweep as comma text under `path`; false when that fails. */
bool made_sweep_write(const char *path, const struct made_instrument *instrument, const struct made_set *set,
                      const struct made_sweep *sweep);

struct made_capture_plan {
    double center_hz, rate_hz, seconds;
    double full_scale_dbm;       /* a tone of modulus 1 */
    double centre_dbm, image_db; /* line at the centre, at the input; images this far down; 0 = none */
};

/** Writes complex 32 bit floats with a SigMF description; `path` ends in .sigmf-meta. */
bool made_capture_write(const char *path, const struct made_instrument *instrument, const struct made_set *set,
                        const struct made_capture_plan *capture);
#endif
