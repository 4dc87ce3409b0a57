/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Figures of one emission: level, frequency, width, and what its readings leave open.  Equations: README.md. */
#include <math.h>
#include <stdlib.h>

#include "figures.h"

#define DB_PER_NEPER 4.342944819032518
#define GAUSSIAN_DROOP_DB 12.041199826559248 /* 40 log10 2: a Gaussian filter d = one RBW off its centre */

static double power_of(double db)
{
    return exp(db / DB_PER_NEPER);
}

/* Mean power with which the floor alone reads at point i. */
double spurity_survey_noise_reading(const spurity_segment_survey *s, size_t i)
{
    return power_of((double)s->floor_db[i] + s->noise_reading_db);
}

double spurity_survey_cell(const spurity_segment_survey *s, size_t i)
{
    const double *f = s->view.frequency_hz;
    size_t n = s->view.count;
    double step = s->view.step_hz, left = i ? f[i] - f[i - 1] : step, right = i + 1 < n ? f[i + 1] - f[i] : step;
    if (left > 1.5 * step)
        left = step; /* a gap */
    if (right > 1.5 * step)
        right = step;
    return (left + right) / 2;
}

double spurity_survey_integrate(const spurity_segment_survey *s, size_t low, size_t high, double *floor_mw)
{
    double sum = 0, floor_sum = 0;
    for (size_t i = low; i <= high; i++) {
        double cell = spurity_survey_cell(s, i);
        sum += cell * power_of(s->view.level_db[i]);
        floor_sum += cell * spurity_survey_noise_reading(s, i);
    }
    if (floor_mw)
        *floor_mw = floor_sum / s->noise_bandwidth_hz;
    return sum / s->noise_bandwidth_hz;
}

bool spurity_survey_dense(const spurity_segment_survey *s, size_t at)
{
    return s->shape || (s->rbw_hz > 0 && spurity_survey_cell(s, at) <= 1.05 * s->rbw_hz);
}

/* Distance from the peak at which the trace has dropped by drop_db, in direction way; Hz, interpolated.  The end of the
 * segment counts as there. */
static double drop_distance(const spurity_segment_survey *s, size_t peak, int way, double top_db, double drop_db)
{
    const double *f = s->view.frequency_hz, *level = s->view.level_db;
    double want = top_db - drop_db;
    size_t i = peak, end = way > 0 ? s->view.count - 1 : 0;
    while (i != end) {
        size_t next = way > 0 ? i + 1 : i - 1;
        if (level[next] <= want) {
            double fraction = level[i] > level[next] ? (level[i] - want) / (level[i] - level[next]) : 1;
            fraction = fraction < 0 ? 0 : fraction;
            return fabs(f[i] + fraction * (f[next] - f[i]) - f[peak]);
        }
        i = next;
    }
    return fabs(f[end] - f[peak]);
}

/* A reading of mean power less the noise in it; one that does not stand 3 dB over the noise keeps what is left of it
 * then (common practice: below that no level is told by subtraction). */
static double less_noise_db(double level_db, double noise_mw)
{
    double power = power_of(level_db);
    return noise_mw > 0 ? DB_PER_NEPER * log(fmax(power - noise_mw, power / 2)) : level_db;
}

/* Parabola in dB through three neighbours, noise_mw taken out of each: exact for a Gaussian filter, whose response in
 * dB is a parabola.  False where a neighbour is missing or the top is flat: then the reading itself serves. */
static bool parabola(const spurity_segment_survey *s, size_t p, double noise_mw, double *hz, double *db)
{
    const double *f = s->view.frequency_hz, *level = s->view.level_db;
    if (p == 0 || p + 1 >= s->view.count)
        return false;
    double top = less_noise_db(level[p], noise_mw), a = f[p - 1] - f[p], c = f[p + 1] - f[p];
    double ya = less_noise_db(level[p - 1], noise_mw) - top, yc = less_noise_db(level[p + 1], noise_mw) - top;
    if (-a > 1.5 * s->view.step_hz || c > 1.5 * s->view.step_hz)
        return false;
    double curve = (yc / c - ya / a) / (c - a), slope = ya / a - curve * a; /* y = slope x + curve x^2 */
    if (!(curve < 0) || fabs(curve) * c * c < 1e-4)
        return false;
    double x = -slope / (2 * curve), rise = -slope * slope / (4 * curve);
    if (x < a || x > c)
        return false;
    *hz = f[p] + x;
    *db = top + rise;
    return true;
}

/* Half the larger distance to a neighbour: how far from the nearest point a line may stand. */
double spurity_survey_half_step(const spurity_segment_survey *s, size_t p)
{
    const double *f = s->view.frequency_hz;
    double left = p ? f[p] - f[p - 1] : 0, right = p + 1 < s->view.count ? f[p + 1] - f[p] : 0;
    double step = s->view.step_hz;
    left = left > 1.5 * step ? step : left;
    right = right > 1.5 * step ? step : right;
    return fmax(left, right) / 2;
}

/* The lowest reading up to half_step_hz beside a line; a flat top is lowest within, not at the end. */
static double shape_droop_db(const spurity_shape *shape, double half_step_hz)
{
    double least = 1, half = half_step_hz / shape->filter.bin_hz;
    for (int i = 1; i <= 8; i++)
        least = fmin(least, spurity_filter_response(&shape->filter, half * i / 8));
    return fmin(-2 * DB_PER_NEPER * log(fmax(least, 1e-3)), 60);
}

double spurity_survey_droop_db(const spurity_segment_survey *s, double half_step_hz)
{
    if (s->view.facts.detector == SPURITY_DETECTOR_PEAK || !(half_step_hz > 0))
        return 0;
    if (s->shape)
        return shape_droop_db(s->shape, half_step_hz);
    double x = s->rbw_hz > 0 ? half_step_hz / s->rbw_hz : 0.5; /* RBW unknown: as if points stood one RBW apart */
    double droop = GAUSSIAN_DROOP_DB * x * x;
    return droop < 60 ? droop : 60;
}

/* Whether the neighbours of a peak show the filter itself: then points are at most one RBW apart. */
static bool neighbours_show_filter(const spurity_segment_survey *s, size_t p)
{
    const double *level = s->view.level_db;
    return p > 0 && p + 1 < s->view.count && fmin(level[p - 1], level[p + 1]) >= level[p] - GAUSSIAN_DROOP_DB;
}

/* What noise under a line of ratio snr leaves open, 97.5 % each side, and the bias by detector (measurement of a line
 * in noise: power average 10 log(1 + 1/s); the highest of n reads high). */
void spurity_survey_noise_doubt(const spurity_segment_survey *s, double snr, double *low, double *high)
{
    *low = *high = 0;
    for (size_t i = 0; i < s->law_count; i++) {
        spurity_noise_law law = s->laws[i];
        double n = law.kind == SPURITY_NOISE_MAXIMUM ? 1 : law.n, sigma = DB_PER_NEPER * sqrt(2 / (snr * n));
        double up = 1.96 * sigma, down = up;
        if (law.kind == SPURITY_NOISE_MAXIMUM && law.n > 1) {
            up = sigma * sqrt(2 * log(law.n) + 2 * 1.96); /* largest of n normal values, generous */
            down = 1.96 * sigma / sqrt(law.n);
        }
        if (law.kind != SPURITY_NOISE_LOG || law.n <= 1)
            up += DB_PER_NEPER * log1p(1 / snr);
        *low = fmax(*low, down);
        *high = fmax(*high, up);
    }
}

/* The noise under a line read as a mean power of n looks, noise taken out: with the noise's mean power as unit the
 * line's, S, has the variance (1 + 2 s) / n when s is true, and a floor known to a tenth (0.4 dB, our judgement) adds
 * 0.01.  The s for which S lies 1.96 deviations off (a score interval: Wilson 1927) are its limits; lopsided in dB. */
static void mean_power_doubt(double line, double n, double *up_db, double *down_db)
{
    double z = 1.96, q = z * z / n, root = sqrt(2 * line * q + q * q + q + 0.01 * z * z);
    *up_db = DB_PER_NEPER * log((line + q + root) / line) / z;
    *down_db = -DB_PER_NEPER * log(fmax((line + q - root) / line, 0.1)) / z;
}

/* Of a line read by the parabola through its peak: noise out of a mean power, and what noise leaves open. */
static void noise_figures(const spurity_segment_survey *s, size_t peak, double background_db, bool fitted,
                          spurity_line *line)
{
    double noise = power_of(background_db), hz;
    bool one = s->law_count == 1, floor_only = background_db <= line->floor_db + 1; /* a skirt adds as amplitudes do */
    line->noise_up_db = line->noise_down_db = 0;
    if (one && s->laws[0].kind == SPURITY_NOISE_POWER && floor_only && power_of(line->peak_db) >= 2 * noise) {
        if (!fitted || !parabola(s, peak, noise, &hz, &line->level_db))
            line->level_db = less_noise_db(line->level_db, noise);
        mean_power_doubt(power_of(line->level_db) / noise, s->laws[0].n, &line->noise_up_db, &line->noise_down_db);
        line->read_low_db = 1.96 * line->noise_up_db;
        line->read_high_db = 1.96 * line->noise_down_db;
        return;
    }
    double snr = fmax(power_of(line->level_db - background_db), 0.5);
    spurity_survey_noise_doubt(s, snr, &line->read_low_db, &line->read_high_db);
    if (one && s->laws[0].kind != SPURITY_NOISE_MAXIMUM)
        line->noise_up_db = line->noise_down_db = line->read_low_db / 1.96;
}

static void common_figures(const spurity_segment_survey *s, size_t peak, size_t low, size_t high, spurity_line *line)
{
    line->peak_db = s->view.level_db[peak];
    line->floor_db = (double)s->floor_db[peak];
    line->excess_db = line->peak_db - line->floor_db;
    line->low_hz = s->view.frequency_hz[low];
    line->high_hz = s->view.frequency_hz[high];
    line->index = peak;
}

/* A detector that is not known, or one that holds, may be a peak detector. */
static bool may_be_peak(const spurity_segment_survey *s)
{
    spurity_detector detector = s->view.facts.detector;
    return detector == SPURITY_DETECTOR_PEAK || detector == SPURITY_DETECTOR_MAX_HOLD ||
           detector == SPURITY_DETECTOR_UNKNOWN;
}

void spurity_survey_line_figures(const spurity_segment_survey *s, size_t peak, size_t low, size_t high,
                                 double background_db, spurity_line *line)
{
    bool peak_detector = s->view.facts.detector == SPURITY_DETECTOR_PEAK;
    double half = spurity_survey_half_step(s, peak), droop = spurity_survey_droop_db(s, half);
    bool wide_step = s->rbw_hz > 0 && 2 * half > s->rbw_hz * 0.5;
    common_figures(s, peak, low, high, line);
    line->character = SPURITY_LINE;
    if (s->shape && spurity_survey_shape_line(s, peak, background_db, line))
        return;
    line->frequency_hz = s->view.frequency_hz[peak];
    line->level_db = line->peak_db;
    bool apart = s->rbw_hz > 0 ? 2 * half > 1.2 * s->rbw_hz : !neighbours_show_filter(s, peak);
    bool fitted = !apart && parabola(s, peak, 0, &line->frequency_hz, &line->level_db);
    if (peak_detector) /* its reading is the line's own level; the readings beside it are not the filter's shape */
        line->level_db = line->peak_db;
    if (s->rbw_hz <= 0 && fitted)
        droop = fmin(droop, 2 * (line->level_db - line->peak_db));
    double taken = line->level_db - line->peak_db, left = droop - taken;
    if (fitted && !wide_step && s->rbw_hz > 0)
        left = 0.15 * droop; /* 4 synchronous poles read 0.1 dB low half a step of RBW/2 beside a point */
    double snr = power_of(line->level_db - background_db);
    noise_figures(s, peak, background_db, fitted && !peak_detector, line);
    line->read_low_db += fmax(left, 0);
    line->read_high_db += (may_be_peak(s) ? 1 : 0.1) * taken;
    line->width_hz = s->rbw_hz > 0 ? s->rbw_hz
                                   : drop_distance(s, peak, 1, line->level_db, 3.0103) +
                                         drop_distance(s, peak, -1, line->level_db, 3.0103);
    double noise_hz = (s->rbw_hz > 0 ? s->rbw_hz : line->width_hz) * s->sigma_db / 5.57 / sqrt(snr > 1 ? snr : 1);
    line->frequency_uncertainty_hz =
        (fitted && !wide_step && !may_be_peak(s) ? 0.1 * half : half) + fmin(noise_hz, 2 * half + noise_hz);
    line->trustworthy = peak_detector || s->shape ||
                        (s->rbw_hz > 0 ? 2 * half <= SPURITY_FAR * s->rbw_hz : neighbours_show_filter(s, peak));
}

/* Interpolated frequencies below and above which half a per cent of the power lies (floor taken out). */
static void edges_99(const spurity_segment_survey *s, size_t low, size_t high, double total, double edge[2])
{
    const double *f = s->view.frequency_hz;
    for (int side = 0; side < 2; side++) {
        double sum = 0, want = 0.005 * total;
        size_t i = side ? high : low;
        edge[side] = f[i];
        for (size_t n = high - low + 1; n > 0; n--) {
            double cell = spurity_survey_cell(s, i);
            double part = cell * (power_of(s->view.level_db[i]) - spurity_survey_noise_reading(s, i));
            if (sum + part >= want && part > 0) {
                double into = (want - sum) / part - 0.5; /* cell from -1/2 to 1/2 about its point */
                edge[side] = f[i] + (side ? -into : into) * cell;
                break;
            }
            sum += part;
            i = side ? i - 1 : i + 1;
        }
    }
}

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Filled: from look to look no more changes than noise makes.  The middle one of the second differences is 1.65 sigma
 * for noise, far more between resolved lines. */
static bool is_filled(const spurity_segment_survey *s, const double edge[2], size_t low, size_t high)
{
    enum { MOST = 256 };
    double change[MOST];
    size_t n = 0, look = (size_t)ceil(s->points_per_look), stride = (high - low) / MOST + 1;
    const double *v = s->view.level_db;
    for (size_t i = low + 2 * look; i <= high && n < MOST; i += stride)
        if (s->view.frequency_hz[i] >= edge[0] && s->view.frequency_hz[i] <= edge[1])
            change[n++] = fabs(v[i] - 2 * v[i - look] + v[i - 2 * look]);
    if (n < 6)
        return false;
    qsort(change, n, sizeof *change, compare_doubles);
    return change[n / 2] < 4 * s->sigma_db + 1;
}

/* A stretch whose noise is known by its law: what stands over that noise, but no less than its peak alone shows, and
 * what the scatter of the noise leaves open. */
static void level_over_noise(const spurity_segment_survey *s, double above, double floor_mw, double cells,
                             spurity_line *line)
{
    double peak = power_of(line->peak_db) - power_of(line->floor_db);
    double power = fmax(above, peak), scatter = s->sigma_db / DB_PER_NEPER / sqrt(cells > 1 ? cells : 1);
    double open = 1.96 * scatter * floor_mw / power;
    line->level_db = DB_PER_NEPER * log(power);
    line->read_low_db = DB_PER_NEPER * log1p(open);
    line->read_high_db = DB_PER_NEPER * -log(fmax(1 - open, power_of(-10)));
}

void spurity_survey_wide_figures(const spurity_segment_survey *s, size_t peak, size_t low, size_t high, bool comb,
                                 spurity_line *line)
{
    double floor_mw, noise_low = 0, noise_high = 0, edge[2];
    double total = spurity_survey_integrate(s, low, high, &floor_mw);
    common_figures(s, peak, low, high, line);
    double above = total - floor_mw > 0.02 * total ? total - floor_mw : 0.02 * total;
    double doubt = 0.1;
    if (s->shape)
        doubt = spurity_survey_shape_edges(s, low, high, above * s->noise_bandwidth_hz, edge)
                    ? 0.02
                    : 0.6; /* lines half seen on one side only */
    else
        edges_99(s, low, high, above * s->noise_bandwidth_hz, edge);
    line->frequency_hz = (edge[0] + edge[1]) / 2;
    line->width_hz = fmax(edge[1] - edge[0], s->rbw_hz);
    line->level_db = DB_PER_NEPER * log(total);
    bool noise = !comb && line->width_hz > 3 * s->rbw_hz && is_filled(s, edge, low, high);
    line->character = noise ? SPURITY_NOISE_LIKE : SPURITY_UNRESOLVED;
    double lowest = 0, highest = 0;
    for (size_t i = 0; i < s->law_count; i++) {
        double bias = spurity_noise_mean_db(s->laws[i]);
        lowest = i ? fmin(lowest, bias) : bias;
        highest = i ? fmax(highest, bias) : bias;
    }
    if (noise && s->law_count == 1)
        line->level_db -= lowest;
    else
        noise_low = fmax(-lowest, 0), noise_high = fmax(highest, 0); /* which of it is not known */
    double cells = (line->width_hz / s->noise_bandwidth_hz);
    double scatter = 1.96 * s->sigma_db / sqrt(cells > 1 ? cells : 1);
    line->read_low_db = noise_low + (noise ? scatter : 0);
    line->read_high_db = noise_high + (noise ? scatter : 0) + DB_PER_NEPER * log(total / above);
    bool mean = s->law_count == 1 && s->laws[0].kind == SPURITY_NOISE_POWER;
    /* Under a broad hump the floor may hold a part of it: what is as wide as that keeps all it reads. */
    bool narrow = line->width_hz <= 10 * s->rbw_hz;
    if (s->shape && mean && (!noise || narrow) && floor_mw > 0) {
        level_over_noise(s, above, floor_mw, cells, line);
        line->read_low_db += noise ? scatter : 0;
        line->read_high_db += noise ? scatter : 0;
    }
    line->frequency_uncertainty_hz =
        fmax(doubt * s->rbw_hz, (noise ? 0.1 * line->width_hz : 0)) + spurity_survey_half_step(s, peak) / 5;
    line->trustworthy = true;
}

/* RBW unknown or points too far apart: nothing to integrate with.  The reading stands for what it is and is not
 * trusted. */
void spurity_survey_unintegrated_figures(const spurity_segment_survey *s, size_t peak, size_t low, size_t high,
                                         spurity_line *line)
{
    common_figures(s, peak, low, high, line);
    line->character = SPURITY_UNRESOLVED;
    line->level_db = line->peak_db;
    line->width_hz = drop_distance(s, peak, 1, line->peak_db, 20) + drop_distance(s, peak, -1, line->peak_db, 20);
    /* a weak one never drops by so much: it ends where the floor begins */
    line->width_hz = fmin(line->width_hz, line->high_hz - line->low_hz + 2 * spurity_survey_half_step(s, peak));
    line->width_hz = fmax(line->width_hz, s->rbw_hz);
    line->frequency_hz = s->view.frequency_hz[peak];
    line->frequency_uncertainty_hz = line->width_hz / 2 + spurity_survey_half_step(s, peak);
    double points = (double)(high - low + 1);
    line->read_low_db =
        2 * DB_PER_NEPER * log(points > 2 ? points : 2); /* all points filled, one RBW each, twice over */
    line->read_high_db = 0;
    line->trustworthy = false;
}

/* Steps by which a line looks wider than the filter: a peak detector shows a line in every cell the filter touches, so
 * the response is drawn out by a whole step. */
static double drawn_out_hz(const spurity_segment_survey *s, size_t peak)
{
    return may_be_peak(s) ? 2 * spurity_survey_half_step(s, peak) : 0;
}

/* The power of the stretch over that of a line with this peak is 1 for a line (the filter's own noise bandwidth), and
 * its width at -3 dB is the RBW; a peak detector draws both out by a step.  Noise loosens both by about 2 / sqrt(snr).
 */
bool spurity_survey_is_line(const spurity_segment_survey *s, size_t peak, size_t low, size_t high, double other_mw)
{
    const double *level = s->view.level_db;
    if (!spurity_survey_dense(s, peak)) {
        /* what is but floor beside a weak line is no width of its own */
        double floor_db = DB_PER_NEPER * log(spurity_survey_noise_reading(s, peak));
        double beside_db = fmax(level[peak] - 6, (level[peak] + floor_db) / 2);
        size_t from = peak, to = peak;
        while (from > low && level[from - 1] > beside_db)
            from--;
        while (to < high && level[to + 1] > beside_db)
            to++;
        return s->rbw_hz > 0 ? to - from < 3 : true;
    }
    double hz, top = level[peak], floor_mw;
    spurity_shape_line fit;
    if (s->shape && !spurity_survey_shape_fit(s, peak, spurity_survey_noise_reading(s, peak), &fit))
        return false;
    if (s->shape)
        top = fit.db;
    else
        (void)parabola(s, peak, 0, &hz, &top);
    double snr = power_of(top) / spurity_survey_noise_reading(s, peak),
           loose = 1 + 2 * s->sigma_db / 5.57 / sqrt(snr > 1 ? snr : 1);
    double half_db = DB_PER_NEPER * log(2 / (1 + fmin(1 / snr, 0.9))); /* to half of what stands over the noise */
    double width = drop_distance(s, peak, 1, top, half_db) + drop_distance(s, peak, -1, top, half_db);
    double total = spurity_survey_integrate(s, low, high, &floor_mw) - floor_mw - other_mw;
    double drawn = drawn_out_hz(s, peak);
    if (s->shape) {
        double n = s->law_count && s->laws[0].kind != SPURITY_NOISE_MAXIMUM ? s->laws[0].n : 1;
        return top > level[peak] - 1 && total <= 1.3 * loose * power_of(top) &&
               fit.misfit * fit.misfit <= 0.02 + 10 / (n * snr);
    }
    return total <= (1.3 + drawn / s->noise_bandwidth_hz) * loose * power_of(top) &&
           width <= 1.6 * loose * s->rbw_hz + drawn;
}
