/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The distribution of a sum of independent contributions, by characteristic functions. */
#include <math.h>
#include <string.h>

#include "uncertainty.h"

/* All distributions are symmetric about 0.  Where the sum lies within [-L, L] its distribution function there is
 *     F(x) = 1/2 + x / 2L + sum over k >= 1 of phi(k pi / L) sin(k pi x / L) / (k pi),
 * phi the product of the characteristic functions (Fourier series of a density that vanishes beyond L: Feller 1971,
 * vol. II, XIX.5, Poisson's summation).  phi falls fast as soon as there are three contributions or a normal one; the
 * hardest case, one rectangular alone, is within 1e-5 of its half-width at TERMS_MOST. */
enum { TERMS_MOST = 16384 };
#define NORMAL_REACH 8.0 /* deviations: beyond it lie 1.2e-15 */

struct sum {
    double reach_db;  /* L */
    double normal_db; /* all normal contributions are one */
    size_t count;     /* of phi[], from k = 1 */
    double phi[TERMS_MOST];
};

static double half_width(const spurity_contribution *item)
{
    return fabs(item->sensitivity) * item->figure_db;
}

static bool is_normal(const spurity_contribution *item)
{
    return item->distribution == SPURITY_NORMAL || item->distribution == SPURITY_EXPANDED;
}

static double sinc(double x)
{
    return fabs(x) < 1e-8 ? 1 : sin(x) / x;
}

/* Characteristic function at t of a contribution that is not normal; a its half-width. */
static double characteristic(spurity_distribution distribution, double a, double t)
{
    if (distribution == SPURITY_ARCSINE)
        return j0(a * t);
    if (distribution == SPURITY_TRIANGULAR)
        return sinc(a * t / 2) * sinc(a * t / 2);
    return sinc(a * t);
}

static double phi_at(const spurity_uncertainty *list, double normal_db, double t)
{
    double phi = exp(-normal_db * normal_db * t * t / 2);
    for (size_t i = 0; i < list->count && phi != 0; i++)
        if (!is_normal(&list->items[i]))
            phi *= characteristic(list->items[i].distribution, half_width(&list->items[i]), t);
    return phi;
}

static void prepare(const spurity_uncertainty *list, struct sum *sum)
{
    double bounded = 0, normal_square = 0;
    for (size_t i = 0; i < list->count; i++) {
        const spurity_contribution *item = &list->items[i];
        double u = half_width(item) / spurity_distribution_divisor(item->distribution);
        if (is_normal(item))
            normal_square += u * u;
        else
            bounded += half_width(item);
    }
    sum->normal_db = sqrt(normal_square);
    sum->count = 0;
    sum->reach_db = 1.02 * (bounded + NORMAL_REACH * sum->normal_db);
    if (!(sum->reach_db > 0))
        return;
    /* A run of negligible terms, not one zero of phi, ends the series. */
    size_t small = 0;
    for (; sum->count < TERMS_MOST && small < 64; sum->count++) {
        double t = (double)(sum->count + 1) * acos(-1.0) / sum->reach_db;
        sum->phi[sum->count] = phi_at(list, sum->normal_db, t);
        small = fabs(sum->phi[sum->count]) < 1e-12 ? small + 1 : 0;
    }
}

/* P(-x <= sum <= x). */
static double within(const struct sum *sum, double x)
{
    double pi = acos(-1.0), step = pi * x / sum->reach_db, series = 0;
    for (size_t k = 1; k <= sum->count; k++)
        series += sum->phi[k - 1] * sin((double)k * step) / (double)k;
    return x / sum->reach_db + 2 * series / pi;
}

bool spurity_uncertainty_interval(const spurity_uncertainty *list, double probability, double *low_db, double *high_db)
{
    if (!(probability > 0 && probability < 1))
        return false;
    struct sum sum;
    prepare(list, &sum);
    double low = 0, high = sum.reach_db;
    for (int i = 0; i < 40 && high > 0; i++) {
        double middle = (low + high) / 2;
        if (within(&sum, middle) < probability)
            low = middle;
        else
            high = middle;
    }
    *high_db = high;
    *low_db = -high;
    return true;
}
