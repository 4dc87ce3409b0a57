/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The local floor.  Blocks of points give medians; blocks that strong signals or humps fill are told by an opening
 * (the highest level that holds over half the segment) and left out; the rest is averaged as widely as neighbours
 * agree, so that slopes and steps of the floor stay.  README.md tells the figures. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "survey.h"

enum { BLOCKS_MAX = 1024, REACH = 8, HISTOGRAM = 2400, STRONG_DB = 35, STEP_DB = 15 };
#define HISTOGRAM_STEP_DB 0.025

/* ---- order statistics ---------------------------------------------------------------------------- */

static int compare_floats(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

static void swap_floats(float *a, float *b)
{
    float t = *a;
    *a = *b, *b = t;
}

/* Puts the k-th smallest of v[0..n) at v[k], smaller ones before it (Hoare 1961); sorts where it goes on too long. */
static float select_nth(float *v, size_t n, size_t k)
{
    size_t low = 0, high = n - 1;
    for (int round = 0; low < high; round++) {
        if (round > 64) {
            qsort(v + low, high - low + 1, sizeof *v, compare_floats);
            break;
        }
        size_t middle = low + (high - low) / 2, i = low, j = high;
        if (v[middle] < v[low])
            swap_floats(&v[middle], &v[low]);
        if (v[high] < v[low])
            swap_floats(&v[high], &v[low]);
        if (v[high] < v[middle])
            swap_floats(&v[high], &v[middle]);
        float pivot = v[middle];
        while (i <= j) {
            while (v[i] < pivot)
                i++;
            while (v[j] > pivot)
                j--;
            if (i <= j) {
                swap_floats(&v[i], &v[j]);
                i++;
                if (j == 0)
                    break;
                j--;
            }
        }
        if (k <= j)
            high = j;
        else if (k >= i)
            low = i;
        else
            break;
    }
    return v[k];
}

static void block_quantiles(const double *level, spurity_block *block, float *scratch)
{
    size_t n = block->to - block->from;
    block->highest_db = (float)level[block->from];
    for (size_t i = 0; i < n; i++) {
        scratch[i] = (float)level[block->from + i];
        block->highest_db = scratch[i] > block->highest_db ? scratch[i] : block->highest_db;
    }
    block->median_db = select_nth(scratch, n, n / 2);
    block->spread_db = block->median_db - (n >= 4 ? select_nth(scratch, n / 2, n / 4) : scratch[0]);
}

/* ---- blocks -------------------------------------------------------------------------------------- */

/* 24 independent readings a block where the segment has many, at most 512 blocks; fewer readings in a short segment, so
 * that there are still about eight blocks to tell signals from floor. */
static size_t block_points(size_t count, double per_look)
{
    size_t wanted = (size_t)ceil(24 * per_look), least = (size_t)ceil(6 * per_look), n = wanted;
    if (n < count / 512)
        n = count / 512;
    if (count / n < 8)
        n = count / 8;
    if (n < least)
        n = least;
    if (n < 6)
        n = 6;
    return n < count ? n : count;
}

static spurity_status make_blocks(spurity_segment_survey *s, spurity_error *error)
{
    size_t count = s->view.count;
    s->block_points = block_points(count, s->points_per_look);
    s->block_count = count / s->block_points; /* the last one takes the rest */
    free(s->blocks);
    s->blocks = calloc(s->block_count, sizeof *s->blocks);
    float *scratch = malloc(2 * s->block_points * sizeof *scratch);
    if (!s->blocks || !scratch) {
        free(scratch);
        return spurity_report_memory(error);
    }
    for (size_t b = 0; b < s->block_count; b++) {
        s->blocks[b].from = b * s->block_points;
        s->blocks[b].to = b + 1 < s->block_count ? (b + 1) * s->block_points : count;
        block_quantiles(s->view.level_db, &s->blocks[b], scratch);
    }
    free(scratch);
    return SPURITY_OK;
}

const spurity_block *spurity_survey_block(const spurity_segment_survey *s, size_t index)
{
    size_t b = index / s->block_points;
    return &s->blocks[b < s->block_count ? b : s->block_count - 1];
}

/* Standard error of a block's median: from the lower spread of the middle block, which lines and humps leave alone.
 * 1.9 covers all laws (see spurity_noise_median_error_db). */
static double block_error_db(const spurity_segment_survey *s, float *scratch)
{
    for (size_t b = 0; b < s->block_count; b++)
        scratch[b] = s->blocks[b].spread_db;
    double spread = (double)select_nth(scratch, s->block_count, s->block_count / 2);
    double independent = (double)s->block_points / s->points_per_look;
    return 1.9 * spread / sqrt(independent > 1 ? independent : 1) + 0.5 * s->resolution_db;
}

/* ---- which blocks hold no floor -------------------------------------------------------------------- */

/* Opening of q by a width of w blocks: the largest over windows holding b of the smallest in the window.  Beyond its
 * ends q is reflected, or goes on as it ends.  work: 2 (n + 2 w) floats. */
static void open_by(const float *q, size_t n, size_t w, bool reflect, float *out, float *work)
{
    size_t total = n + 2 * w;
    float *extended = work, *eroded = work + total;
    for (size_t i = 0; i < total; i++) {
        size_t left = reflect ? w - 1 - i : 0, right = reflect && i - w >= n ? 2 * n - 1 - (i - w) : n - 1;
        size_t at = i < w ? left : i - w < n ? i - w : right;
        extended[i] = q[at < n ? at : n - 1];
    }
    for (size_t i = 0; i + w <= total; i++) {
        eroded[i] = extended[i];
        for (size_t j = 1; j < w; j++)
            eroded[i] = extended[i + j] < eroded[i] ? extended[i + j] : eroded[i];
    }
    for (size_t b = 0; b < n; b++) {
        size_t at = b + w;
        out[b] = eroded[at - w + 1];
        for (size_t i = at - w + 1; i <= at && i + w <= total; i++)
            out[b] = eroded[i] > out[b] ? eroded[i] : out[b];
    }
}

/* What rises towards an end of the segment may be a slope or a step of the floor: up to STEP_DB it counts as floor;
 * what is higher there has to be as wide as half the window.  work: 4 (n + 2 w) floats. */
static void opening(const float *q, size_t n, size_t w, float *out, float *work)
{
    float *going_on = work + 2 * (n + 2 * w);
    open_by(q, n, w, false, out, work);
    memcpy(going_on, out, n * sizeof *out);
    open_by(q, n, w, true, out, work);
    for (size_t b = 0; b < n; b++)
        out[b] = going_on[b] < out[b] + STEP_DB ? going_on[b] : out[b] + STEP_DB;
}

/* Holds a strong line, which may bring skirt and noise along. */
static bool is_strong(const spurity_block *block)
{
    return (double)(block->highest_db - block->median_db) > STRONG_DB;
}

/* Whether raised blocks first..last are a step of the floor rather than an emission: at least an eighth of the segment
 * and four blocks wide, straight, at most 15 dB high, both sides abrupt. */
static bool is_plateau(const spurity_segment_survey *s, size_t first, size_t last, const float *open, double error_db)
{
    size_t n = last - first + 1;
    if (n < 4 || n < s->block_count / 8)
        return false;
    double sum = 0, moment = 0, square = 0, worst = 0, centre = (double)(first + last) / 2;
    for (size_t b = first; b <= last; b++)
        if (is_strong(&s->blocks[b]))
            return false;
    for (size_t b = first + 1; b < last; b++) { /* the outer two hold the edges */
        double x = (double)b - centre;
        sum += (double)s->blocks[b].median_db;
        moment += x * (double)s->blocks[b].median_db;
        square += x * x;
    }
    double mean = sum / (double)(n - 2), height = mean - (double)open[first], slope = moment / square;
    for (size_t b = first + 1; b < last; b++)
        worst = fmax(worst, fabs((double)s->blocks[b].median_db - mean - slope * ((double)b - centre)));
    if (height <= 3)
        return true; /* nor can a wide rise by a few decibels be told from the floor's own ripple */
    for (int side = 0; side < 2; side++) { /* the next block but one is down already */
        size_t b = side ? last + 2 : first - 2;
        double end = mean + slope * ((double)(side ? last : first) - centre);
        if ((side ? b < s->block_count : first >= 2) && end - (double)s->blocks[b].median_db < 0.5 * height)
            return false;
    }
    return height <= STEP_DB && fabs(slope) * (double)n <= 0.75 * height && worst <= 4 * error_db + 0.3;
}

static void mark_raised(spurity_segment_survey *s, double error_db, float *work)
{
    size_t n = s->block_count;
    if (n < 2)
        return;
    double deviations = n <= 16 ? 3.5 : n <= 64 ? 4.5 : 5.5; /* the opening of more blocks lies lower */
    size_t w = n == 2 ? 2 : (n + 1) / 2 > 2 ? (n + 1) / 2 : 2;
    float *q = work, *smooth = work + n, *open = work + 2 * n, *rest = work + 3 * n;
    for (int pass = 0; pass < 2; pass++) { /* single blocks first, then five at once for low humps */
        for (size_t b = 0; b < n; b++)
            q[b] = s->blocks[b].median_db;
        double error = error_db;
        if (pass) {
            if (n < 10)
                break;
            error /= sqrt(5);
            for (size_t b = 0; b < n; b++) {
                double sum = 0, weight = 0;
                for (size_t j = b < 2 ? 0 : b - 2; j <= b + 2 && j < n; j++, weight++)
                    sum += (double)q[j];
                smooth[b] = (float)(sum / weight);
            }
        }
        const float *level = pass ? smooth : q;
        if (n == 2)
            open[0] = open[1] = level[0] < level[1] ? level[0] : level[1];
        else
            opening(level, n, w, open, rest);
        for (size_t b = 0; b < n; b++)
            if ((double)level[b] - (double)open[b] > deviations * error + 0.5 && 2 * q[b] > level[b] + open[b])
                s->blocks[b].raised = true; /* itself too, not only by its neighbours */
    }
    for (size_t b = 0; b < n && n >= 5; b++)
        if (is_strong(&s->blocks[b]) && (double)(s->blocks[b].median_db - open[b]) > 1.5 * error_db + 0.5)
            s->blocks[b].raised = true;
    for (size_t b = 1; b + 1 < n; b++) { /* up to three blocks that chance left out between raised ones */
        size_t next = b;
        while (next < n && next < b + 3 && !s->blocks[next].raised)
            next++;
        if (s->blocks[b - 1].raised && next < n && s->blocks[next].raised)
            s->blocks[b].raised = true;
    }
    for (size_t first = 0; first < n; first++) {
        size_t last = first;
        while (last < n && s->blocks[last].raised)
            last++;
        if (last > first && is_plateau(s, first, last - 1, open, error_db))
            for (size_t b = first; b < last; b++)
                s->blocks[b].raised = false;
        first = last > first ? last : first;
    }
}

/* ---- the level -------------------------------------------------------------------------------------- */

static double mean_of(const spurity_segment_survey *s, const size_t *clean, size_t from, size_t to)
{
    double sum = 0;
    for (size_t i = from; i < to; i++)
        sum += (double)s->blocks[clean[i]].median_db;
    return sum / (double)(to - from);
}

/* Floor of clean block i: the mean over as many neighbours as agree, half of the window against the other half and the
 * block against the window, within 2.5 and 3.5 standard errors (the idea of Lepski 1991). */
static void level_clean(spurity_segment_survey *s, const size_t *clean, size_t count, size_t i, double error_db)
{
    spurity_block *block = &s->blocks[clean[i]];
    double per_block = (double)s->block_points / s->points_per_look;
    block->level_db = block->median_db;
    block->independent = (float)per_block;
    for (size_t reach = REACH; reach >= 1; reach /= 2) {
        size_t from = i > reach ? i - reach : 0, to = i + reach + 1 < count ? i + reach + 1 : count;
        size_t middle = from + (to - from) / 2;
        if (to - from < 2)
            return;
        double left = mean_of(s, clean, from, middle), right = mean_of(s, clean, middle, to);
        double all = mean_of(s, clean, from, to);
        double error = error_db * sqrt(1 / (double)(middle - from) + 1 / (double)(to - middle));
        if (fabs(left - right) > 2.5 * error + 0.1 || fabs((double)block->median_db - all) > 3.5 * error_db + 0.2)
            continue;
        block->level_db = (float)all;
        block->independent = (float)(per_block * (double)(to - from));
        return;
    }
}

/* Raised blocks take the floor of the clean ones beside them. */
static void level_raised(spurity_segment_survey *s, const size_t *clean, size_t count)
{
    for (size_t i = 0; i + 1 <= count; i++) {
        size_t from = i ? clean[i - 1] : clean[0], to = clean[i];
        for (size_t b = i ? from + 1 : 0; b < to; b++) {
            double fraction = i ? (double)(b - from) / (double)(to - from) : 1;
            s->blocks[b].level_db =
                (float)((double)s->blocks[from].level_db * (1 - fraction) + (double)s->blocks[to].level_db * fraction);
            s->blocks[b].independent = fminf(s->blocks[from].independent, s->blocks[to].independent);
        }
    }
    for (size_t b = clean[count - 1] + 1; b < s->block_count; b++) {
        s->blocks[b].level_db = s->blocks[clean[count - 1]].level_db;
        s->blocks[b].independent = s->blocks[clean[count - 1]].independent;
    }
}

static spurity_status level_blocks(spurity_segment_survey *s, spurity_error *error)
{
    size_t n = s->block_count, w = (n + 1) / 2 + 2, count = 0;
    float *work = malloc((3 * n + 4 * (n + 2 * w)) * sizeof *work);
    size_t *clean = malloc(n * sizeof *clean);
    spurity_status status = work && clean ? SPURITY_OK : spurity_report_memory(error);
    if (status)
        goto out;
    double error_db = block_error_db(s, work);
    mark_raised(s, error_db, work);
    for (size_t b = 0; b < n; b++)
        if (!s->blocks[b].raised)
            clean[count++] = b;
    for (size_t i = 0; i < count; i++)
        level_clean(s, clean, count, i, error_db);
    if (count)
        level_raised(s, clean, count);
    else
        for (size_t b = 0; b < n; b++)
            s->blocks[b].level_db = s->blocks[b].median_db, s->blocks[b].independent = 1;
out:
    free(work);
    free(clean);
    return status;
}

/* Where between points from and to the floor steps from a to b: least sum of absolute deviations. */
static size_t split_point(const double *level, size_t from, size_t to, double a, double b)
{
    double sum = 0, best = 0;
    size_t at = from;
    for (size_t i = from; i < to; i++) { /* sum of |L - a| - |L - b| up to i */
        sum += fabs(level[i] - a) - fabs(level[i] - b);
        if (sum < best) {
            best = sum;
            at = i + 1;
        }
    }
    return at;
}

/* Local medians of points between the middles of blocks b and b + 1: a straight line, or a step where they differ by
 * more than their errors; within two looks of a step the higher one holds. */
static void spread_between(spurity_segment_survey *s, size_t b, double error_db)
{
    const spurity_block *left = &s->blocks[b], *right = &s->blocks[b + 1];
    size_t from = (left->from + left->to) / 2, to = (right->from + right->to) / 2;
    double a = (double)left->level_db, c = (double)right->level_db;
    bool step = fabs(a - c) > 3 * error_db + 0.5;
    size_t guard = (size_t)ceil(2 * s->points_per_look), at = step ? split_point(s->view.level_db, from, to, a, c) : to;
    for (size_t i = from; i < to; i++) {
        double fraction = (double)(i - from) / (double)(to - from), level = a + fraction * (c - a);
        if (step)
            level = i + guard >= at && i < at + guard ? fmax(a, c) : i < at ? a : c;
        s->floor_db[i] = (float)level;
    }
}

static void spread_level(spurity_segment_survey *s, double error_db)
{
    const spurity_block *first = s->blocks, *last = s->blocks + s->block_count - 1;
    for (size_t i = 0; i < (first->from + first->to) / 2; i++)
        s->floor_db[i] = first->level_db;
    for (size_t b = 0; b + 1 < s->block_count; b++)
        spread_between(s, b, error_db);
    for (size_t i = (last->from + last->to) / 2; i < last->to; i++)
        s->floor_db[i] = last->level_db;
}

/* ---- how the noise reads ---------------------------------------------------------------------------- */

/* Smallest step between neighbouring readings: what the file was rounded to (next to nothing for unrounded ones). */
static double reading_resolution(const spurity_segment *view)
{
    double least = INFINITY;
    for (size_t i = 1; i < view->count && i < 4000; i++) {
        double d = fabs(view->level_db[i] - view->level_db[i - 1]);
        if (d > 1e-9 && d < least)
            least = d;
    }
    return isfinite(least) && least <= 3 ? least : 0;
}

typedef struct residuals {
    double spread_db, middle_db, correlation;
    size_t count;
} residuals;

static double histogram_quantile(const unsigned *histogram, size_t count, double q)
{
    double want = q * (double)count, sum = 0;
    for (int i = 0; i < HISTOGRAM; i++) {
        if (sum + histogram[i] >= want && histogram[i])
            return (i - HISTOGRAM / 2 + (want - sum) / histogram[i]) * HISTOGRAM_STEP_DB;
        sum += histogram[i];
    }
    return 0;
}

/* Spread and neighbour correlation of the readings about the local median, clean blocks only. */
static residuals measure_residuals(const spurity_segment_survey *s)
{
    unsigned histogram[HISTOGRAM] = {0};
    residuals r = {0};
    double products = 0, squares = 0;
    for (size_t b = 0; b < s->block_count; b++) {
        const spurity_block *block = &s->blocks[b];
        double clip = 3 * (double)block->spread_db, before = 0;
        if (block->raised)
            continue;
        for (size_t i = block->from; i < block->to; i++) {
            double d = s->view.level_db[i] - (double)s->floor_db[i];
            double at = d / HISTOGRAM_STEP_DB + HISTOGRAM / 2;
            histogram[at < 0 ? 0 : at < HISTOGRAM - 1 ? (int)at : HISTOGRAM - 1]++;
            d = d < -clip ? -clip : d > clip ? clip : d;
            products += d * before;
            squares += d * d;
            before = d;
        }
        r.count += block->to - block->from;
    }
    if (!r.count)
        return r;
    r.middle_db = histogram_quantile(histogram, r.count, 0.5);
    r.spread_db = r.middle_db - histogram_quantile(histogram, r.count, 0.25);
    r.correlation = squares > 0 ? products / squares : 0;
    return r;
}

/* Readings per independent reading when neighbours a step apart have power correlation rho, of a Gaussian filter:
 * 1 + 2 sum rho^(j^2) (variance of a mean of correlated values). */
static double looks_from_correlation(double rho)
{
    double sum = 1;
    for (int j = 1; j < 2000; j++) {
        double term = pow(rho, (double)j * j);
        if (term < 1e-4)
            break;
        sum += 2 * term;
    }
    return sum;
}

/* Noise at two centres d apart through a Gaussian filter of RBW B has power correlation exp(-2 ln 2 (d/B)^2). */
static double expected_correlation(double step_hz, double rbw_hz)
{
    return step_hz > 0 && rbw_hz > 0 ? exp(-2 * M_LN2 * (step_hz / rbw_hz) * (step_hz / rbw_hz)) : 0;
}

/* The correlation seen decides where there is enough to see; a sweep slow against the RBW has none at any step. */
static double points_per_look(const spurity_segment_survey *s, const residuals *r, double expected)
{
    if (s->shape)
        return s->shape->looks;
    double from_rbw = looks_from_correlation(expected), rho = r->correlation;
    if ((double)r->count / from_rbw < 60)
        return from_rbw;
    double seen = looks_from_correlation(rho < 0 ? 0 : rho < 0.9995 ? rho : 0.9995);
    double most = s->rbw_hz > 0 ? 4 * from_rbw : (double)r->count / 30;
    return seen < 1.15 ? 1 : seen < most ? seen : most;
}

static void add_law(spurity_segment_survey *s, spurity_noise_kind kind, double n)
{
    s->laws[s->law_count].kind = kind;
    s->laws[s->law_count++].n = n > 1.05 ? n : 1;
}

/* Laws the segment's noise may follow: told where detector and averages are told, else n from the spread, widened by
 * 1.64 of its own standard errors (fewer averages: unfavourable).  A told n that the spread contradicts (wider by over
 * two standard errors and a tenth) gives way. */
static void choose_laws(spurity_segment_survey *s, const residuals *r)
{
    static const spurity_noise_kind kinds[] = {SPURITY_NOISE_POWER, SPURITY_NOISE_LOG, SPURITY_NOISE_MAXIMUM};
    spurity_detector detector = s->view.facts.detector;
    double told = s->view.facts.averages, independent = (double)r->count / s->points_per_look;
    double error = independent > 1 ? 1.9 / sqrt(independent) : 2;
    double spread = r->spread_db > s->resolution_db ? r->spread_db : s->resolution_db;
    bool enough = independent >= 30;
    s->law_count = 0;
    for (int k = 0; k < 3; k++) {
        spurity_noise_kind kind = kinds[k];
        bool only = (detector == SPURITY_DETECTOR_AVERAGE && kind != SPURITY_NOISE_POWER) ||
                    (detector == SPURITY_DETECTOR_LOG_AVERAGE && kind != SPURITY_NOISE_LOG) ||
                    ((detector == SPURITY_DETECTOR_PEAK || detector == SPURITY_DETECTOR_MAX_HOLD) &&
                     kind != SPURITY_NOISE_MAXIMUM) ||
                    (detector == SPURITY_DETECTOR_SAMPLE && kind == SPURITY_NOISE_MAXIMUM);
        if (only)
            continue;
        double n = enough ? spurity_noise_n_from_spread(kind, spread * (1 + 1.64 * error)) : 1;
        if (detector != SPURITY_DETECTOR_UNKNOWN && told >= 1) {
            spurity_noise_law law = {kind, told};
            bool wider = enough && spread * (1 - 2 * error) > 1.1 * spurity_noise_spread_db(law);
            if (detector == SPURITY_DETECTOR_PEAK)
                n = n > told ? n : told;
            else if (detector != SPURITY_DETECTOR_SAMPLE || told < 2)
                n = wider ? n : told;
        }
        add_law(s, kind, n);
    }
}

static void finish_laws(spurity_segment_survey *s, double false_alarms)
{
    double lowest = INFINITY, sigma = 0, bias = -INFINITY, count = (double)s->view.count;
    for (size_t i = 0; i < s->law_count; i++) {
        lowest = fmin(lowest, spurity_noise_median_db(s->laws[i]));
        bias = fmax(bias, spurity_noise_mean_db(s->laws[i]));
        sigma = fmax(sigma, 1.5 * spurity_noise_spread_db(s->laws[i]));
    }
    s->law_median_db = lowest;
    s->sigma_db = sigma;
    s->noise_reading_db = bias;
    /* Rice 1945: the envelope of noise through a filter crosses a high level upwards about 3 times the tail probability
     * a bandwidth; a bandwidth holds points_per_look / 1.505 points. */
    double trials = s->shape ? count : fmin(count, 4.5 * count / s->points_per_look);
    s->false_alarm = fmin(0.5 * false_alarms / trials, 0.01); /* the other half is for humps and skirts */
    for (int i = 0; i < SPURITY_THRESHOLDS; i++)
        s->threshold_db[i] = NAN;
    for (int i = 0; i < SPURITY_BOUND_STEPS; i++)
        s->bound_over_db[i] = NAN;
}

double spurity_survey_threshold(spurity_segment_survey *s, double independent)
{
    int at = independent > 1 ? (int)(2 * log2(independent)) : 0;
    if (at >= SPURITY_THRESHOLDS)
        at = SPURITY_THRESHOLDS - 1;
    if (isnan(s->threshold_db[at])) {
        double highest = 0, looks = exp2(at / 2.0);
        for (size_t i = 0; i < s->law_count; i++) {
            double over = spurity_noise_threshold_db(s->laws[i], s->false_alarm, looks);
            double over_median = over - spurity_noise_median_db(s->laws[i]);
            highest = fmax(highest, over_median + s->law_median_db);
        }
        s->threshold_db[at] = fmax(highest, 0.5 + s->law_median_db) + s->resolution_db;
    }
    return s->threshold_db[at];
}

spurity_status spurity_survey_floor(spurity_segment_survey *s, double false_alarms, spurity_error *error)
{
    double expected = expected_correlation(s->view.step_hz, s->rbw_hz), error_db = 0;
    residuals r = {0};
    s->resolution_db = reading_resolution(&s->view);
    s->points_per_look = s->shape ? s->shape->looks : looks_from_correlation(expected);
    for (int round = 0; round < 2; round++) {
        float one[BLOCKS_MAX + 1];
        double before = s->points_per_look;
        spurity_status status = make_blocks(s, error);
        if (!status)
            status = level_blocks(s, error);
        if (status)
            return status;
        error_db = block_error_db(s, one);
        spread_level(s, error_db);
        r = measure_residuals(s);
        s->points_per_look = points_per_look(s, &r, expected);
        if (s->points_per_look < 1.5 * before && s->points_per_look > before / 1.5)
            break;
    }
    choose_laws(s, &r);
    finish_laws(s, false_alarms);
    for (size_t b = 0; b < s->block_count; b++)
        s->blocks[b].threshold_db = (float)spurity_survey_threshold(s, (double)s->blocks[b].independent);
    float shift = (float)(r.middle_db - s->law_median_db);
    for (size_t i = 0; i < s->view.count; i++)
        s->floor_db[i] += shift;
    for (size_t b = 0; b < s->block_count; b++)
        s->blocks[b].level_db += (float)r.middle_db;
    return SPURITY_OK;
}
