/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Noise through detectors: tails, medians, thresholds.  See README.md for equations and sources. */
#include <math.h>

#include "noise.h"

#define DB_PER_NEPER 4.342944819032518 /* 10 / ln 10: dB of a power ratio e */
#define EULER_GAMMA 0.5772156649015329

enum { TABLE_SIZE = 11 }; /* n = 1, 2, 4 ... 1024 */

/* Quantiles of the three laws, dB over the mean noise power.  POWER, MAXIMUM: closed forms through scipy 1.10.1
 * (gammaincinv; -log1p(-q^(1/n))); LOG: inversion of the characteristic function Gamma(1 + it/n)^n by the trapezoid
 * rule (Gil-Pelaez 1951), numpy 1.24.2.  tests/published/test_floor.c recomputes them. */
static const double median_table[3][TABLE_SIZE] = {
    {-1.5917, -0.7615, -0.3715, -0.1834, -0.0911, -0.0454, -0.0227, -0.0113, -0.0057, -0.0028, -0.0014},
    {-1.5917, -2.0164, -2.2523, -2.3771, -2.4413, -2.4739, -2.4903, -2.4986, -2.5027, -2.5048, -2.5058},
    {-1.5917, 0.8918, 2.6439, 3.9602, 4.9978, 5.8468, 6.5618, 7.1777, 7.7181, 8.1991, 8.6322},
};
static const double spread_table[3][TABLE_SIZE] = {
    {3.8191, 2.4203, 1.6088, 1.0979, 0.7602, 0.5307, 0.3722, 0.2618, 0.1845, 0.1301, 0.0919},
    {3.8191, 2.7457, 1.9454, 1.3697, 0.9628, 0.6769, 0.4763, 0.3355, 0.2366, 0.1669, 0.1179},
    {3.8191, 2.4835, 1.7521, 1.3163, 1.0376, 0.8490, 0.7150, 0.6160, 0.5404, 0.4810, 0.4332},
};

/* Linear in log2 n between rows, the last value beyond. */
static double table_at(const double *table, double n)
{
    double at = n > 1 ? log2(n) : 0;
    int i = at < TABLE_SIZE - 2 ? (int)at : TABLE_SIZE - 2;
    double fraction = at - i < 1 ? at - i : 1;
    return table[i] + fraction * (table[i + 1] - table[i]);
}

spurity_noise_law spurity_noise_law_of(spurity_detector detector, double averages)
{
    spurity_noise_law law = {SPURITY_NOISE_POWER, averages > 1 ? averages : 1};
    if (law.n > 1e6)
        law.n = 1e6;
    if (detector == SPURITY_DETECTOR_LOG_AVERAGE)
        law.kind = SPURITY_NOISE_LOG;
    if (detector == SPURITY_DETECTOR_PEAK || detector == SPURITY_DETECTOR_MAX_HOLD)
        law.kind = SPURITY_NOISE_MAXIMUM;
    if (detector == SPURITY_DETECTOR_SAMPLE)
        law.n = 1;
    return law;
}

double spurity_noise_median_db(spurity_noise_law law)
{
    if (law.kind == SPURITY_NOISE_MAXIMUM)
        return DB_PER_NEPER * log(-log1p(-exp2(-1 / law.n)));
    return table_at(median_table[law.kind], law.n);
}

double spurity_noise_spread_db(spurity_noise_law law)
{
    double spread = table_at(spread_table[law.kind], law.n);
    if (law.kind != SPURITY_NOISE_MAXIMUM && law.n > 1024)
        spread *= sqrt(1024 / law.n);
    return spread;
}

double spurity_noise_n_from_spread(spurity_noise_kind kind, double spread_db)
{
    const double *table = spread_table[kind];
    for (int i = 1; i < TABLE_SIZE; i++)
        if (spread_db > table[i])
            return spread_db >= table[i - 1]
                       ? 1
                       : exp2(i - 1 + log(table[i - 1] / spread_db) / log(table[i - 1] / table[i]));
    return 1024;
}

/* A median has the variance 1 / (4 n f^2); f, the density at the median in 1/dB, stands in a fixed ratio to the spread:
 * exponential 6.27 dB / 3.82 dB, normal 1.2533 / .6745, Gumbel (MAXIMUM, n -> infinity) 1.4427 / .6931. */
double spurity_noise_median_error_db(spurity_noise_law law, double independent)
{
    double ratio = law.kind == SPURITY_NOISE_MAXIMUM ? 2.08 : 1.86;
    if (law.n < 1.5)
        ratio = 1.65;
    return ratio * spurity_noise_spread_db(law) / sqrt(independent > 1 ? independent : 1);
}

double spurity_noise_mean_db(spurity_noise_law law)
{
    if (law.kind == SPURITY_NOISE_MAXIMUM)
        return DB_PER_NEPER * log(spurity_digamma(law.n + 1) + EULER_GAMMA);
    if (law.kind == SPURITY_NOISE_LOG) /* E of the geometric mean of n exponentials: Gamma(1 + 1/n)^n */
        return DB_PER_NEPER * law.n * lgamma_r(1 + 1 / law.n, &(int){0});
    return 0;
}

/* Lugannani and Rice 1980 for the mean of n values ln(exponential), whose cumulants come from n ln Gamma(1 + t/n):
 * u solves psi(1 + u) = ln ratio. */
static double log_tail(double n, double ratio)
{
    if (n <= 1)
        return exp(-ratio);
    double want = log(ratio), a = ratio + 0.5; /* psi(a) ~ ln(a - 1/2) */
    for (int i = 0; i < 20; i++) {
        double step = (spurity_digamma(a) - want) / spurity_trigamma(a);
        a = a - step > a / 4 ? a - step : a / 4;
        if (fabs(step) < 1e-12 * a)
            break;
    }
    int sign;
    double u = a - 1, exponent = n * (u * want - lgamma_r(a, &sign));
    double w = copysign(sqrt(exponent > 0 ? 2 * exponent : 0), u), v = u * sqrt(n * spurity_trigamma(a));
    if (fabs(w) < 1e-3) /* at the mean: 1/2 less the skewness term */
        return 0.5 - v / sqrt(2 * M_PI) + 1.1395 / (6 * sqrt(2 * M_PI * n));
    double tail = 0.5 * erfc(w / M_SQRT2) + exp(-w * w / 2) / sqrt(2 * M_PI) * (1 / v - 1 / w);
    return tail > 0 ? (tail < 1 ? tail : 1) : 0;
}

double spurity_noise_tail(spurity_noise_law law, double ratio)
{
    if (!(ratio > 0))
        return 1;
    if (law.kind == SPURITY_NOISE_LOG)
        return log_tail(law.n, ratio);
    if (law.kind == SPURITY_NOISE_MAXIMUM)
        return -expm1(law.n * log1p(-exp(-ratio)));
    return law.n <= 1 ? exp(-ratio) : spurity_gamma_upper(law.n, law.n * ratio);
}

/* Chance of a reading over threshold_db when the floor itself is off by a normal error of error_db: the tail averaged
 * over the error at -4..4 standard deviations. */
static double tail_with_error(spurity_noise_law law, double threshold_db, double error_db)
{
    static const double weight[5] = {0.3989422804, 0.2419707245, 0.0539909665, 0.0044318484, 0.0001338302};
    double sum = 0;
    if (error_db < 0.02)
        return spurity_noise_tail(law, exp(threshold_db / DB_PER_NEPER));
    for (int i = -4; i <= 4; i++)
        sum += weight[i < 0 ? -i : i] * spurity_noise_tail(law, exp((threshold_db + i * error_db) / DB_PER_NEPER));
    return sum;
}

double spurity_noise_threshold_db(spurity_noise_law law, double p, double independent)
{
    double error = spurity_noise_median_error_db(law, independent);
    double low = spurity_noise_median_db(law), high = low + 1;
    if (!(p < 0.4))
        return low + 1;
    while (tail_with_error(law, high, error) > p && high < 100) {
        low = high;
        high += 3;
    }
    for (int i = 0; i < 10; i++) { /* to 3 dB / 1024, from above */
        double middle = (low + high) / 2;
        *(tail_with_error(law, middle, error) > p ? &low : &high) = middle;
    }
    return high;
}
