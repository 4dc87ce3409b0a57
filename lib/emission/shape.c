/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Filters of known shape (windows of a transform).  Equations: README.md, "Filters of known shape". */
#include <math.h>

#include "shape.h"

#define SINGLE_PRECISION 1e-7 /* amplitude under which a float transform's own rounding stands, over the strongest */

static bool is_sane(const spurity_filter *filter, double step_hz)
{
    if (!(filter->bin_hz > 0) || !isfinite(filter->bin_hz) || fabs(step_hz - filter->bin_hz) > 1e-3 * filter->bin_hz)
        return false;
    if (filter->kind == SPURITY_FILTER_KAISER)
        return filter->beta >= 0 && filter->beta <= 60;
    if (filter->kind != SPURITY_FILTER_COSINE_SUM || filter->terms < 1 || filter->terms > SPURITY_FILTER_TERMS)
        return false;
    for (int i = 0; i < filter->terms; i++)
        if (!isfinite(filter->c[i]))
            return false;
    return filter->c[0] > 0;
}

/* Where the response first changes sign. */
static double first_null(const spurity_filter *filter)
{
    double high = 0, most = SPURITY_SHAPE_BINS - 2;
    while (high < most && spurity_filter_response(filter, high) > 1e-12)
        high += 0.125;
    double low = high - 0.125;
    for (int i = 0; i < 40; i++) {
        double middle = (low + high) / 2;
        *(spurity_filter_response(filter, middle) > 0 ? &low : &high) = middle;
    }
    return high;
}

/* The noise of bins m apart correlates as sum w^2 e^(j 2 pi m n / N) / sum w^2, by Parseval the responses' own
 * correlation; its sign is that in the phase of a line between the two bins. */
static void correlate(spurity_shape *shape)
{
    enum { REACH = 100 };
    double r[2 * REACH + 1], power = 0;
    for (int k = -REACH; k <= REACH; k++) {
        r[k + REACH] = spurity_filter_response(&shape->filter, k);
        power += r[k + REACH] * r[k + REACH];
    }
    shape->looks = 1;
    for (int m = 0; m < SPURITY_SHAPE_BINS; m++) {
        double sum = 0;
        for (int k = -REACH; k + m <= REACH; k++)
            sum += r[k + REACH] * r[k + m + REACH];
        shape->rho[m] = sum / power;
        if (m)
            shape->looks += 2 * shape->rho[m] * shape->rho[m];
    }
}

static void scan(spurity_shape *shape)
{
    enum { PARTS = 16, LAST = SPURITY_SHAPE_FAR + 32, PER_ENTRY = PARTS / SPURITY_SHAPE_FINE };
    double highest = 0, moment = 0, power = 0;
    shape->least = fmin(spurity_filter_response(&shape->filter, 0.5), 1);
    for (int i = LAST * PARTS; i >= 0; i--) {
        double d = (double)i / PARTS, r = spurity_filter_response(&shape->filter, d);
        highest = fmax(highest, fabs(r));
        if (d < shape->null_bins) {
            moment += d * d * r * r;
            power += r * r * (i ? 1 : 0.5);
        }
        int at = i + PARTS / 2; /* the entry half a bin farther out holds this */
        if (at % PER_ENTRY == 0 && at / PER_ENTRY <= SPURITY_SHAPE_FAR * SPURITY_SHAPE_FINE)
            shape->envelope[at / PER_ENTRY] = highest;
    }
    for (int i = 0; i < PARTS / 2 / PER_ENTRY; i++)
        shape->envelope[i] = highest;
    shape->smear = moment / power;
    double half = shape->envelope[SPURITY_SHAPE_FAR * SPURITY_SHAPE_FINE / 2],
           end = shape->envelope[SPURITY_SHAPE_FAR * SPURITY_SHAPE_FINE];
    shape->fall = end > 0 && half > end ? fmin(log2(half / end), 7) * 0.95 : 0.5;
}

void spurity_shape_make(const spurity_filter *filter, double step_hz, spurity_shape *shape)
{
    *shape = (spurity_shape){.filter = *filter};
    if (!is_sane(filter, step_hz))
        return;
    shape->null_bins = first_null(filter);
    if (!(shape->null_bins < SPURITY_SHAPE_BINS - 3))
        return;
    shape->noise_bins = spurity_filter_noise_bins(filter);
    shape->width_bins = spurity_filter_width_bins(filter);
    correlate(shape);
    scan(shape);
    shape->known = isfinite(shape->noise_bins) && shape->noise_bins > 0 && shape->width_bins > 0 &&
                   shape->width_bins < 2 * SPURITY_SHAPE_BINS && shape->least > 0.1 && isfinite(shape->looks) &&
                   isfinite(shape->smear);
}

double spurity_shape_beside(const spurity_shape *shape, double bins)
{
    double far = SPURITY_SHAPE_FAR, r;
    if (bins >= far)
        r = shape->envelope[SPURITY_SHAPE_FAR * SPURITY_SHAPE_FINE] * pow(far / bins, shape->fall);
    else
        r = shape->envelope[(int)(bins * SPURITY_SHAPE_FINE)]; /* the entry before it lies higher */
    return fmax(r, SINGLE_PRECISION);
}

/* ---- one line --------------------------------------------------------------------------------------------------- */

typedef struct normal {
    double uu, uv, vv, ua, va, ww;
} normal;

/* An amplitude read has no sign. */
static double response(const spurity_shape *shape, double d)
{
    return fabs(spurity_filter_response(&shape->filter, d));
}

/* Its change with the offset of the line, d = bin less offset. */
static double slope(const spurity_shape *shape, double d)
{
    double h = 1e-4;
    return (response(shape, d - h) - response(shape, d + h)) / (2 * h);
}

/* Sums over the points for a line at `offset`: u the response, v its derivative by the offset. */
static normal sums(const spurity_shape *shape, const spurity_shape_points *p, double offset, bool slopes)
{
    normal n = {0};
    for (int i = 0; i < p->count; i++) {
        double d = p->at[i] - offset, w = p->weight[i], u = response(shape, d), v = slopes ? slope(shape, d) : 0;
        n.uu += w * u * u, n.uv += w * u * v, n.vv += w * v * v;
        n.ua += w * u * p->amplitude[i], n.va += w * v * p->amplitude[i];
        n.ww += w * p->amplitude[i] * p->amplitude[i];
    }
    return n;
}

/* What is left over at the best amplitude, as a share. */
static double left_over(const normal *n)
{
    return n->uu > 0 && n->ww > 0 ? 1 - n->ua * n->ua / (n->uu * n->ww) : 1;
}

static double coarse_offset(const spurity_shape *shape, const spurity_shape_points *p, int middle)
{
    double best = middle, least = INFINITY, reach = ceil(shape->null_bins / 3);
    for (double d = -reach; d <= reach; d += 0.125) {
        normal n = sums(shape, p, middle + d, false);
        double left = left_over(&n);
        if (left < least) {
            least = left;
            best = middle + d;
        }
    }
    return best;
}

/* Standard deviation of the offset for unit noise in each bin's amplitude, correlated as the window makes it. */
static double offset_gain(const spurity_shape *shape, const spurity_shape_points *p, double offset, double amplitude)
{
    normal n = sums(shape, p, offset, true);
    double det = n.uu * n.vv - n.uv * n.uv, g[2 * SPURITY_SHAPE_BINS + 1], sum = 0;
    if (!(det > 0) || !(amplitude > 0))
        return shape->null_bins;
    for (int i = 0; i < p->count; i++) {
        double d = p->at[i] - offset;
        g[i] = p->weight[i] * (n.uu * slope(shape, d) - n.uv * response(shape, d)) / (det * amplitude);
    }
    for (int i = 0; i < p->count; i++)
        for (int j = 0; j < p->count; j++) {
            int m = p->at[i] > p->at[j] ? p->at[i] - p->at[j] : p->at[j] - p->at[i];
            sum += m < SPURITY_SHAPE_BINS ? g[i] * g[j] * shape->rho[m] : 0;
        }
    return sqrt(fmax(sum, 0));
}

static int point_at(const spurity_shape_points *p, int at)
{
    for (int i = 0; i < p->count; i++)
        if (p->at[i] == at)
            return i;
    return -1;
}

/* From the bin nearest the line and the next nearest, weighted for least noise (correlated as the window makes it),
 * never against one another. */
static void level_from_two(const spurity_shape *shape, const spurity_shape_points *p, spurity_shape_fit *fit)
{
    int nearest = (int)lround(fit->offset), next = fit->offset > nearest ? nearest + 1 : nearest - 1;
    int a = point_at(p, nearest), b = point_at(p, next);
    if (a < 0)
        return;
    double ra = spurity_filter_response(&shape->filter, nearest - fit->offset),
           rb = spurity_filter_response(&shape->filter, next - fit->offset), share = 1;
    double va = 1 / (ra * ra), vb = 1 / (rb * rb), c = shape->rho[1] / (ra * rb);
    if (b >= 0 && p->weight[b] > 0.5 * p->weight[a] && rb > 0.3 && va + vb - 2 * c > 1e-6)
        share = fmin(fmax((vb - c) / (va + vb - 2 * c), 0), 1);
    fit->amplitude = share * p->amplitude[a] / ra + (share < 1 ? (1 - share) * p->amplitude[b] / rb : 0);
    fit->level_gain = sqrt(share * share * va + (1 - share) * (1 - share) * vb + 2 * share * (1 - share) * c);
}

/* In place: the lower triangle of a becomes its Cholesky factor.  False where a is not positive. */
static bool factor(double *a, int n)
{
    for (int j = 0; j < n; j++)
        for (int i = j; i < n; i++) {
            double sum = a[i * n + j];
            for (int k = 0; k < j; k++)
                sum -= a[i * n + k] * a[j * n + k];
            if (i == j && !(sum > 0))
                return false;
            a[i * n + j] = i == j ? sqrt(sum) : sum / a[j * n + j];
        }
    return true;
}

static void forward(const double *a, int n, double *x) /* x becomes L^-1 x */
{
    for (int i = 0; i < n; i++) {
        for (int k = 0; k < i; k++)
            x[i] -= a[i * n + k] * x[k];
        x[i] /= a[i * n + i];
    }
}

enum { POINTS_MOST = 2 * SPURITY_SHAPE_BINS + 1 };
#define LOOSE 0.3 /* added to each bin's unit variance: what the window's edges would tell of is not trusted wholly */

/* Generalised least squares (Aitken 1935): noise of neighbouring bins correlates by rho.  Steps from `fit`. */
static void refine(const spurity_shape *shape, const spurity_shape_points *p, spurity_shape_fit *fit)
{
    double a[POINTS_MOST * POINTS_MOST], u[POINTS_MOST], v[POINTS_MOST], left[POINTS_MOST];
    double offset = fit->offset, amplitude = fit->amplitude, uu = 0, uv = 0, vv = 0;
    int n = p->count;
    for (int i = 0; i < n; i++)
        for (int j = 0; j <= i; j++) {
            int m = p->at[i] > p->at[j] ? p->at[i] - p->at[j] : p->at[j] - p->at[i];
            a[i * n + j] = i == j ? LOOSE + 1 / p->weight[i] : m < SPURITY_SHAPE_BINS ? shape->rho[m] : 0;
        }
    if (!factor(a, n))
        return;
    for (int round = 0; round < 4; round++) {
        double ul = 0, vl = 0;
        uu = uv = vv = 0;
        for (int i = 0; i < n; i++) {
            double d = p->at[i] - offset;
            u[i] = response(shape, d), v[i] = amplitude * slope(shape, d);
            left[i] = p->amplitude[i] - amplitude * u[i];
        }
        forward(a, n, u), forward(a, n, v), forward(a, n, left);
        for (int i = 0; i < n; i++) {
            uu += u[i] * u[i], uv += u[i] * v[i], vv += v[i] * v[i];
            ul += u[i] * left[i], vl += v[i] * left[i];
        }
        double det = uu * vv - uv * uv;
        if (!(det > 1e-12 * uu * vv))
            return;
        amplitude += (ul * vv - vl * uv) / det;
        offset += (vl * uu - ul * uv) / det;
        if (!(fabs(offset - fit->offset) < 0.5) || !(amplitude > 0.5 * fit->amplitude))
            return;
    }
    double det = uu * vv - uv * uv;
    fit->offset = offset;
    fit->amplitude = amplitude;
    fit->offset_gain = sqrt(uu / det); /* LOOSE makes both err on the large side */
    fit->level_gain = sqrt(vv / det);
}

bool spurity_shape_solve(const spurity_shape *shape, const spurity_shape_points *p, spurity_shape_fit *fit)
{
    int top = 0;
    if (p->count < 2)
        return false;
    for (int i = 1; i < p->count; i++)
        if (p->amplitude[i] > p->amplitude[top])
            top = i;
    if (!(p->amplitude[top] > 0))
        return false;
    double offset = coarse_offset(shape, p, p->at[top]), start = offset;
    for (int i = 0; i < 12; i++) { /* Gauss and Newton, in amplitude and offset at once */
        normal n = sums(shape, p, offset, true);
        double det = n.uu * n.vv - n.uv * n.uv;
        if (!(det > 1e-12 * n.uu * n.vv))
            break;
        double amplitude = (n.ua * n.vv - n.va * n.uv) / det, step = (n.va * n.uu - n.ua * n.uv) / (det * amplitude);
        if (!(amplitude > 0))
            break;
        step = fmin(fmax(step, -0.25), 0.25);
        offset += step;
        if (fabs(step) < 1e-7)
            break;
    }
    if (!(fabs(offset - start) <= 0.5))
        offset = start;
    normal n = sums(shape, p, offset, false);
    if (!(n.uu > 0) || !(n.ua > 0))
        return false;
    *fit = (spurity_shape_fit){.offset = offset, .amplitude = n.ua / n.uu, .level_gain = 1, .offset_gain = 0.5};
    fit->misfit = sqrt(fmax(left_over(&n), 0));
    double left = fit->misfit * fit->misfit * n.ww;
    if (left < 3 * p->count * p->noise + 1e-8 * n.ww) {
        refine(shape, p, fit);
    } else {
        fit->offset_gain = offset_gain(shape, p, offset, fit->amplitude) * sqrt(left / (p->count * p->noise));
        level_from_two(shape, p, fit);
    }
    return fit->amplitude > 0 && isfinite(fit->amplitude);
}
