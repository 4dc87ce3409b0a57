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
