/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The upper bound of a line hidden in noise: the line that would have read higher with probability 0.975. */
#include <math.h>

#include "noise.h"

#define DB_PER_NEPER 4.342944819032518
#define MISS 0.025 /* chance that the line reads no higher than what was read */
#define MISS_SIGMA (-1.959963984540054)

/* Cumulants of ln Y, Y = |line + noise|^2 / mean noise, line of ratio s: Y given j is Gamma(1 + j), j Poisson(s), so
 * the moments of ln Y are Poisson sums of polygammas, which run by their recurrences. */
static void log_cumulants(double s, double cumulant[4])
{
    double spread = 9 * sqrt(s) + 12, from = floor(s > spread ? s - spread : 0);
    int sign;
    double weight = exp(from * (s > 0 ? log(s) : 0) - s - lgamma_r(from + 1, &sign));
    double x = from + 1, p0 = spurity_digamma(x), p1 = spurity_trigamma(x), h = 0.01 * x;
    double p2 = (spurity_trigamma(x + h) - spurity_trigamma(x - h)) / (2 * h), total = 0, m[4] = {0};
    double p3 = (spurity_trigamma(x + h) - 2 * p1 + spurity_trigamma(x - h)) / (h * h), shift = p0;
    shift = s > 1 ? log(s) : p0; /* moments about a near value: no cancellation */
    for (double j = from; j <= s + spread; j++) {
        double c = p0 - shift, v = p1;
        total += weight;
        m[0] += weight * c;
        m[1] += weight * (v + c * c);
        m[2] += weight * (p2 + 3 * v * c + c * c * c);
        m[3] += weight * (p3 + 4 * p2 * c + 3 * v * v + 6 * v * c * c + c * c * c * c);
        double r = 1 / (j + 1);
        weight *= s * r;
        p0 += r, p1 -= r * r, p2 += 2 * r * r * r, p3 -= 6 * r * r * r * r;
    }
    for (int i = 0; i < 4; i++)
        m[i] /= total;
    cumulant[0] = shift + m[0];
    cumulant[1] = m[1] - m[0] * m[0];
    cumulant[2] = m[2] - 3 * m[0] * m[1] + 2 * m[0] * m[0] * m[0];
    cumulant[3] = m[3] - 4 * m[0] * m[2] - 3 * m[1] * m[1] + 12 * m[0] * m[0] * m[1] - 6 * m[0] * m[0] * m[0] * m[0];
}

/* 2.5 % quantile (ln of the ratio) of the mean of n values ln Y: Cornish and Fisher 1937. */
static double log_quantile(double n, double s)
{
    double c[4], z = MISS_SIGMA;
    if (s > 2000)
        return log(s) + z * sqrt(2 / (s * n));
    log_cumulants(s, c);
    double sigma = sqrt(c[1] / n), skew = c[2] / pow(c[1], 1.5) / sqrt(n), kurtosis = c[3] / (c[1] * c[1]) / n;
    return c[0] + sigma * (z + skew * (z * z - 1) / 6 + kurtosis * (z * z * z - 3 * z) / 24 -
                           skew * skew * (2 * z * z * z - 5 * z) / 36);
}

/* Falls as s rises; zero at the bound. */
static double excess_of_miss(spurity_noise_law law, double s, double y)
{
    if (law.kind == SPURITY_NOISE_LOG && law.n > 1)
        return log(y) - log_quantile(law.n, s);
    if (law.kind == SPURITY_NOISE_MAXIMUM)
        return spurity_line_cdf(1, s, y) - pow(MISS, 1 / law.n);
    return spurity_line_cdf(law.kind == SPURITY_NOISE_POWER ? law.n : 1, s, y) - MISS;
}

/* Standard normal quantile, by bisection. */
static double normal_quantile(double p)
{
    double low = -9, high = 9;
    for (int i = 0; i < 50; i++) {
        double middle = (low + high) / 2;
        *(0.5 * erfc(-middle / M_SQRT2) < p ? &low : &high) = middle;
    }
    return high;
}

/* A strong line: the square root of its reading is normal about sqrt(s + 1 - 1/(2n)) with variance 1 / (2 n): the first
 * terms of the mean s + 1 and variance (2 s + 1) / n of the reading. */
static double strong_line_db(spurity_noise_law law, double y)
{
    bool highest = law.kind == SPURITY_NOISE_MAXIMUM;
    double z = highest ? normal_quantile(pow(MISS, 1 / law.n)) : MISS_SIGMA;
    double twice = highest ? 2 : 2 * law.n, root = sqrt(y) - z / sqrt(twice);
    return DB_PER_NEPER * log(root * root - (law.kind == SPURITY_NOISE_LOG ? 0 : 1 - 1 / twice));
}

/* Where excess_of_miss crosses zero between low (> 0) and high (< 0), by false position with the stale end halved
 * (the Illinois method); in sqrt(s), where it runs nearly straight. */
static double crossing(spurity_noise_law law, double y, double low, double low_value, double high, double high_value)
{
    int side = 0;
    for (int i = 0; i < 80 && high - low > 1e-7 * high; i++) {
        double middle = low + (high - low) * low_value / (low_value - high_value);
        double value = excess_of_miss(law, middle * middle, y);
        if (fabs(value) < 1e-9)
            return middle;
        if (value > 0) {
            low = middle, low_value = value;
            high_value /= side > 0 ? 2 : 1;
            side = 1;
        } else {
            high = middle, high_value = value;
            low_value /= side < 0 ? 2 : 1;
            side = -1;
        }
    }
    return high;
}

double spurity_noise_bound_db(spurity_noise_law law, double reading_db)
{
    double least = spurity_noise_median_db(law);
    double y = exp((reading_db > least ? reading_db : least) / DB_PER_NEPER);
    double n = law.kind == SPURITY_NOISE_MAXIMUM ? 1 : law.n;
    if (y * n > 5000)
        return strong_line_db(law, y);
    double low_value = excess_of_miss(law, 0, y), step = 2 / sqrt(n), low = 0, high = sqrt(y) + step;
    double high_value = excess_of_miss(law, high * high, y);
    if (low_value <= 0) /* cannot be at the median or above; kept finite all the same */
        return least;
    for (int i = 0; high_value > 0 && i < 60; i++) {
        low = high, low_value = high_value;
        high += step *= 2;
        high_value = excess_of_miss(law, high * high, y);
    }
    return 2 * DB_PER_NEPER * log(crossing(law, y, low, low_value, high, high_value));
}

double spurity_hidden_line_bound(double reading_db, double floor_db, spurity_detector detector, double averages)
{
    double above = reading_db - floor_db;
    if (detector != SPURITY_DETECTOR_UNKNOWN)
        return floor_db + spurity_noise_bound_db(spurity_noise_law_of(detector, averages), above);
    double worst = -INFINITY; /* each detector it may have been */
    for (int d = SPURITY_DETECTOR_AVERAGE; d <= SPURITY_DETECTOR_MAX_HOLD; d++) {
        double bound = spurity_noise_bound_db(spurity_noise_law_of((spurity_detector)d, averages), above);
        worst = bound > worst ? bound : worst;
    }
    return floor_db + worst;
}
