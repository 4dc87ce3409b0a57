/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_EMISSION_NOISE_H
#define SPURITY_EMISSION_NOISE_H
/* How noise reads.  A reading is x times the mean noise power in the RBW; its law depends on the detector:
 *   POWER    mean of n exponential powers: Gamma(n)/n
 *   LOG      mean of n values ln(exponential), i.e. of dB values
 *   MAXIMUM  highest of n exponential powers
 * n may be fractional; n = 1 is one exponential reading for all three.  Equations: README.md. */
#include "emission.h"

typedef enum spurity_noise_kind { SPURITY_NOISE_POWER, SPURITY_NOISE_LOG, SPURITY_NOISE_MAXIMUM } spurity_noise_kind;

typedef struct spurity_noise_law {
    spurity_noise_kind kind;
    double n; /* 1 .. 1e6 */
} spurity_noise_law;

/** P(x > ratio), ratio > 0.  LOG: good above the median. */
double spurity_noise_tail(spurity_noise_law law, double ratio);
/** Median over mean power, dB. */
double spurity_noise_median_db(spurity_noise_law law);
/** Median less 25 % quantile, dB: the spread by which n is told from data (lines above do not move it). */
double spurity_noise_spread_db(spurity_noise_law law);
/** n of which the spread is spread_db, within 1..1024. */
double spurity_noise_n_from_spread(spurity_noise_kind kind, double spread_db);
/** Standard deviation of the dB value of a median of `independent` readings. */
double spurity_noise_median_error_db(spurity_noise_law law, double independent);
/** Mean power of a reading over the mean noise power, dB: 0, -2.507 (1 - ..), 10 log H_n. */
double spurity_noise_mean_db(spurity_noise_law law);
/** How far above the mean a reading stands with probability p, when the floor was taken from the median of
 *  `independent` readings; dB. */
double spurity_noise_threshold_db(spurity_noise_law law, double p, double independent);
/** A line of ratio s over the mean noise: upper 97.5 % bound of s (dB) for a reading of reading_db over the mean.  A
 *  reading under the median counts as the median. */
double spurity_noise_bound_db(spurity_noise_law law, double reading_db);
/** Law of a detector told; UNKNOWN gives POWER. */
spurity_noise_law spurity_noise_law_of(spurity_detector detector, double averages);

double spurity_digamma(double x);
double spurity_trigamma(double x);
/** Regularised lower incomplete gamma P(a, x), a > 0, x >= 0. */
double spurity_gamma_lower(double a, double x);
double spurity_gamma_upper(double a, double x);
/** Distribution function of the mean of k powers of a line of ratio s in noise of mean 1:
 *  2 k y is non-central chi-square with 2 k degrees of freedom and non-centrality 2 k s. */
double spurity_line_cdf(double k, double s, double y);
#endif
