/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Resolution filters of known shape: the windows of a transform, N -> infinity (equations in trace.h). */
#include <math.h>
#include <stdlib.h>

#include "trace.h"

#define PI 3.14159265358979323846

static double cosine_sum_response(const spurity_filter *filter, double d)
{
    double nearest = round(d), apart = d - nearest;
    /* Near a whole bin k the term of k alone remains: (c_k / 2) / c0 with its neighbours' sinc falling to 0. */
    if (fabs(apart) < 1e-9) {
        if (nearest == 0)
            return 1;
        if (fabs(nearest) >= filter->terms)
            return 0;
        return filter->c[abs((int)nearest)] / (2 * filter->c[0]);
    }
    double sum = filter->c[0] / d, sign = -1;
    for (int i = 1; i < filter->terms; i++, sign = -sign)
        sum += sign * filter->c[i] * d / (d * d - (double)i * i);
    return sin(PI * d) / (PI * filter->c[0]) * sum;
}

static double kaiser_response(const spurity_filter *filter, double d)
{
    double square = filter->beta * filter->beta - PI * PI * d * d, root = sqrt(fabs(square));
    double top = filter->beta > 0 ? sinh(filter->beta) / filter->beta : 1;
    if (root < 1e-9)
        return 1 / top;
    return (square > 0 ? sinh(root) / root : sin(root) / root) / top;
}

double spurity_filter_response(const spurity_filter *filter, double offset_bins)
{
    switch (filter->kind) {
    case SPURITY_FILTER_COSINE_SUM:
        return cosine_sum_response(filter, offset_bins);
    case SPURITY_FILTER_KAISER:
        return kaiser_response(filter, offset_bins);
    default:
        return (double)NAN;
    }
}

/* N sum w^2 / (sum w)^2 of a Kaiser window: by Parseval the integral of the response squared. */
static double kaiser_noise_bins(const spurity_filter *filter)
{
    enum { STEPS = 4000 };
    double reach = filter->beta / PI + 50, step = reach / STEPS, sum = 0;
    for (int i = 0; i <= STEPS; i++) {
        double r = kaiser_response(filter, i * step);
        sum += r * r * (i == 0 || i == STEPS ? 0.5 : 1);
    }
    /* Beyond, sin^2 / (pi d)^2 on average, over the response's top squared. */
    double top = filter->beta > 0 ? sinh(filter->beta) / filter->beta : 1;
    return 2 * sum * step + 1 / (PI * PI * reach * top * top);
}

double spurity_filter_noise_bins(const spurity_filter *filter)
{
    double sum = 1;
    if (filter->kind == SPURITY_FILTER_KAISER)
        return kaiser_noise_bins(filter);
    if (filter->kind != SPURITY_FILTER_COSINE_SUM)
        return (double)NAN;
    for (int i = 1; i < filter->terms; i++)
        sum += filter->c[i] * filter->c[i] / (2 * filter->c[0] * filter->c[0]);
    return sum;
}

double spurity_filter_width_bins(const spurity_filter *filter)
{
    if (filter->kind == SPURITY_FILTER_UNKNOWN)
        return (double)NAN;
    double low = 0, high = 0.25;
    while (spurity_filter_response(filter, high) > sqrt(0.5) && high < 100)
        high += 0.25;
    low = high - 0.25;
    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;
        if (spurity_filter_response(filter, middle) > sqrt(0.5))
            low = middle;
        else
            high = middle;
    }
    return low + high;
}
