/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Noise at the antenna terminal and what can hide in it; time of a sweep.  Equations and sources: README.md. */
#include <math.h>

#include "parts.h"

double spurity_plan_floor_dbm(const struct planning *p, double hz, double rbw_hz)
{
    const spurity_plan_question *q = p->question;
    if (isnan(q->noise_dbm))
        return (double)NAN;
    return q->noise_dbm + spurity_db_from_ratio(rbw_hz / q->noise_rbw_hz) + spurity_plan_loss(p, hz);
}

/* Customary: 2 to 3; a Gaussian filter swept so reads 0.02 dB low and 0.6 % wide (README). */
static const double SWEEP_FACTOR = 2.5;

double spurity_plan_seconds(double span_hz, double rbw_hz)
{
    return SWEEP_FACTOR * span_hz / (rbw_hz * rbw_hz);
}

double spurity_plan_looks(double cell_hz, double rbw_hz)
{
    /* time in the cell by the noise bandwidth of a Gaussian filter, 1/2 sqrt(pi / ln 2) = 1.0645 of the RBW */
    return fmax(1.0, SWEEP_FACTOR * 1.0645 * cell_hz / rbw_hz);
}

/* Standard normal deviate with `tail` above it. */
static double deviate(double tail)
{
    double low = 0, high = 40;
    for (int i = 0; i < 80; i++) {
        double middle = (low + high) / 2;
        *(0.5 * erfc(middle / sqrt(2.0)) > tail ? &low : &high) = middle;
    }
    return high;
}

/* Which 1 of 20 plans is still surprised: the highest of all noise readings stands over this with probability 5 %. */
static const double SURPRISE = 0.05;

/* Highest of `points` noise readings, over the mean noise, dB. */
static double highest_db(spurity_detector detector, double points, double looks)
{
    if (detector == SPURITY_DETECTOR_PEAK || detector == SPURITY_DETECTOR_MAX_HOLD || looks <= 1)
        return spurity_db_from_ratio(-log(-log1p(-SURPRISE) / (points * fmax(looks, 1.0))));
    /* Gamma(K)/K: Wilson and Hilferty 1931, the cube root of it is nearly normal. */
    double root = 1 - 1 / (9 * looks) + deviate(SURPRISE / points) / (3 * sqrt(looks));
    return spurity_db_from_ratio(root * root * root);
}

double spurity_plan_bound_over_db(spurity_detector detector, double points, double looks)
{
    /* How many looks a peak detector took is told by the spread of its readings, and errs low there: the bound is the
     * higher for it. */
    bool peak = detector == SPURITY_DETECTOR_PEAK;
    double taken = peak ? fmax(1.0, 0.5 * looks) : looks;
    double droop = peak ? 0 : 12.04 / 16; /* a line half a step of RBW/2 beside a point, Gaussian filter */
    return spurity_hidden_line_bound(highest_db(detector, points, looks), 0, detector, taken) + droop;
}

double spurity_plan_step_down(double hz)
{
    double decade = pow(10, floor(log10(hz) + 1e-9)), part = hz / decade;
    return decade * (part >= 2.999 ? 3 : 1);
}

/* ---- noise in a reference bandwidth ---- */

/* Noise bandwidth of a Gaussian filter over its 3 dB bandwidth: 1/2 sqrt(pi / ln 2). */
static const double NOISE_FACTOR = 1.0645;
/* A hump as wide as the window lies off the nearest of a verdict's windows by 1/32 at most: 0.14 dB. */
static const double MISSED_DB = 0.14;

/* Standard deviation of a noise reading, dB: of the mean of K (from the trigamma function), of the highest of n (by
 * Gumbel's law: pi / sqrt 6 over the mean H_n = ln n + 0.577). */
static double sigma_db(const struct plan_look *look)
{
    double lb = 10 / log(10.0);
    if (look->detector == SPURITY_DETECTOR_PEAK && look->looks > 1)
        return lb * M_PI / sqrt(6) / (log(look->looks) + 0.5772 + 0.5 / look->looks);
    double k = fmax(look->looks, 1);
    return lb * sqrt(1 / k + 0.645 / (k * k));
}

/* Mean power of the highest of n noise readings over the noise's: the harmonic number H_n = ln n + 0.5772 + 1 / (2 n).
 */
static double peak_bias_db(double n)
{
    return n <= 1 ? 0 : spurity_db_from_ratio(log(n) + 0.5772 + 0.5 / n);
}

/* How far the highest window of a reference bandwidth is taken to stand over the mean noise in it: by its readings, the
 * detector's bias taken out as a verdict does (of half as many looks), and by the scatter it adds to U. */
static double noise_over_db(const struct planning *p, const struct plan_look *look, double reference_hz)
{
    bool peak = look->detector == SPURITY_DETECTOR_PEAK && look->looks > 1;
    double look_hz = fmax(look->cell_hz, 1.5 * look->rbw_hz), held = fmax(1, reference_hz / look_hz);
    double windows = fmax(1, look->points * look->cell_hz / fmax(reference_hz, look->cell_hz)), over;
    double taken_out = peak_bias_db(0.5 * look->looks);
    if (!peak)
        over = highest_db(SPURITY_DETECTOR_AVERAGE, windows, fmax(look->looks, 1) * held);
    else if (held < 1.5)
        over = highest_db(SPURITY_DETECTOR_PEAK, look->points, look->looks) - taken_out;
    else
        over = peak_bias_db(look->looks) - taken_out + sigma_db(look) * deviate(SURPRISE / windows) / sqrt(held);
    double u = fmin(p->point->uncertainty_dbm, p->point->uncertainty_dbc);
    return over + MISSED_DB + hypot(u, 2 * sigma_db(look) / sqrt(held)) - u;
}

double spurity_plan_hidden_dbm(const struct planning *p, const struct plan_look *look, double hz, bool *noise)
{
    double floor_dbm = spurity_plan_floor_dbm(p, hz, look->rbw_hz);
    double over = spurity_plan_bound_over_db(look->detector, look->points, look->looks), line = floor_dbm + over;
    double widest;
    spurity_plan_reference_bandwidth(p, p->emissions, p->emission_count, hz, &widest);
    *noise = false;
    if (isnan(floor_dbm) || !(widest > NOISE_FACTOR * look->rbw_hz))
        return line;
    double in_reference = floor_dbm + spurity_db_from_ratio(widest / (NOISE_FACTOR * look->rbw_hz));
    double most = in_reference + fmin(noise_over_db(p, look, widest), over);
    *noise = most > line;
    return fmax(most, line);
}
