/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The few special functions the noise laws need.  Formula numbers: NIST Digital Library of Mathematical Functions. */
#include <float.h>
#include <math.h>

#include "noise.h"

/* DLMF 5.5.2 (recurrence) and 5.11.2 (asymptotic series), x > 0. */
double spurity_digamma(double x)
{
    double sum = 0;
    for (; x < 8; x += 1)
        sum -= 1 / x;
    double r = 1 / x, r2 = r * r;
    return sum + log(x) - r / 2 - r2 * (1.0 / 12 - r2 * (1.0 / 120 - r2 * (1.0 / 252 - r2 * (1.0 / 240 - r2 / 132))));
}

/* Derivative of the above; DLMF 5.15.8. */
double spurity_trigamma(double x)
{
    double sum = 0;
    for (; x < 8; x += 1)
        sum += 1 / (x * x);
    double r = 1 / x, r2 = r * r;
    return sum + r + r2 / 2 + r * r2 * (1.0 / 6 - r2 * (1.0 / 30 - r2 * (1.0 / 42 - r2 / 30)));
}

static double log_gamma(double x)
{
    int sign;
    return lgamma_r(x, &sign); /* lgamma writes a global */
}

/* x^a e^-x / Gamma(a + 1) */
static double gamma_weight(double a, double x)
{
    return x > 0 ? exp(a * log(x) - x - log_gamma(a + 1)) : (a > 0 ? 0 : 1);
}

/* DLMF 8.11.4: P(a,x) = weight * sum x^j / ((a+1)...(a+j)) */
static double lower_series(double a, double x)
{
    double term = 1, sum = 1;
    for (double j = 1; j < 100000 && term > sum * DBL_EPSILON; j++) {
        term *= x / (a + j);
        sum += term;
    }
    return gamma_weight(a, x) * sum;
}

/* DLMF 8.9.2 continued fraction of Q(a,x), by Lentz' method. */
static double upper_fraction(double a, double x)
{
    double b = x + 1 - a, c = 1 / DBL_MIN, d = 1 / b, h = d;
    for (double j = 1; j < 100000; j++) {
        double an = -j * (j - a);
        b += 2;
        d = an * d + b;
        c = b + an / c;
        if (fabs(d) < DBL_MIN)
            d = DBL_MIN;
        if (fabs(c) < DBL_MIN)
            c = DBL_MIN;
        d = 1 / d;
        h *= d * c;
        if (fabs(d * c - 1) < 4 * DBL_EPSILON)
            break;
    }
    return gamma_weight(a, x) * a * h;
}

double spurity_gamma_lower(double a, double x)
{
    if (!(x > 0))
        return 0;
    return x < a + 1 ? lower_series(a, x) : 1 - upper_fraction(a, x);
}

double spurity_gamma_upper(double a, double x)
{
    if (!(x > 0))
        return 1;
    return x < a + 1 ? 1 - lower_series(a, x) : upper_fraction(a, x);
}

/* Poisson mixture of central laws (Johnson, Kotz, Balakrishnan, Continuous Univariate Distributions 2, ch. 29):
 *     F(y) = sum_j Poisson(j; k s) P(k + j, k y),
 * summed outward from the largest Poisson weight, P by its recurrence P(a+1,x) = P(a,x) - x^a e^-x / Gamma(a+1). */
double spurity_line_cdf(double k, double s, double y)
{
    double mean = k * s, x = k * y;
    if (!(x > 0))
        return 0;
    double start = floor(mean), weight = gamma_weight(start, mean);
    double p0 = spurity_gamma_lower(k + start, x), g0 = gamma_weight(k + start, x);
    double sum = weight * p0;
    double p = p0, g = g0, w = weight;
    for (double j = start; j < start + 100000; j++) { /* upward */
        p -= g;
        g *= x / (k + j + 1);
        w *= mean / (j + 1);
        if (!(p > 0) || w < 1e-17)
            break;
        sum += w * p;
    }
    p = p0, g = g0, w = weight;
    for (double j = start; j >= 1; j--) { /* downward */
        g *= (k + j) / x;
        p += g;
        w *= j / mean;
        if (w < 1e-17)
            break;
        sum += w * (p < 1 ? p : 1);
    }
    return sum < 1 ? sum : 1;
}
