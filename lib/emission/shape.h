/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_EMISSION_SHAPE_H
#define SPURITY_EMISSION_SHAPE_H
/* A resolution filter of known shape: what follows from it for noise, for one line and for what stands beside a line.
 * Distances are bins of the transform. */
#include "emission.h"

enum { SPURITY_SHAPE_BINS = 32, SPURITY_SHAPE_FAR = 64, SPURITY_SHAPE_FINE = 4 };

typedef struct spurity_shape {
    bool known; /* the filter is one of the known kinds, sane, and the points stand one bin apart */
    spurity_filter filter;
    double noise_bins, width_bins;
    double null_bins;               /* half width of the main lobe */
    double least;                   /* amplitude a line shows in its nearest bin at the least */
    double looks;                   /* points worth one independent reading of noise power: 1 + 2 sum rho^2 */
    double smear;                   /* second moment of the response's main lobe, bins^2 */
    double rho[SPURITY_SHAPE_BINS]; /* correlation of the noise of bins so far apart, in the phase of a line */
    double envelope[SPURITY_SHAPE_FAR * SPURITY_SHAPE_FINE + 1]; /* highest |response| this far off or farther */
    double fall;                                                 /* beyond the table it falls as d^-fall */
} spurity_shape;

/** Makes shape from the filter of a segment whose points stand step_hz apart; known = false where it cannot. */
void spurity_shape_make(const spurity_filter *filter, double step_hz, spurity_shape *shape);
/** Highest amplitude of a line's response `bins` or more beside it, half a bin of doubt included, over its peak; never
 * under what single-precision transforms leave, 10^-7 (-140 dB). */
double spurity_shape_beside(const spurity_shape *shape, double bins);

/** Points of one line: amplitudes (square root of power, background taken out), bins from some origin, weights. */
typedef struct spurity_shape_points {
    double amplitude[2 * SPURITY_SHAPE_BINS + 1], weight[2 * SPURITY_SHAPE_BINS + 1];
    int at[2 * SPURITY_SHAPE_BINS + 1];
    int count;
    double noise; /* variance of one bin's amplitude, from noise */
} spurity_shape_points;

typedef struct spurity_shape_fit {
    double offset; /* bins from the origin */
    double amplitude;
    double misfit;      /* rms of what is left over, of the amplitude */
    double offset_gain; /* standard deviation of the offset for noise of unit deviation in a bin's amplitude */
    double level_gain;  /* ... of the amplitude */
} spurity_shape_fit;

/** Least squares in amplitude over the main lobe, then again with the noise's own correlation between bins taken into
 * account as far as noise is all that is left over; else the level is that of the two bins nearest the line.  False
 * with fewer than two points or no sense in them. */
bool spurity_shape_solve(const spurity_shape *shape, const spurity_shape_points *points, spurity_shape_fit *fit);
#endif
