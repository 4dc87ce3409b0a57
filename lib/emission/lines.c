/* SPDX-License-Identifier: GPL-2.0-or-later */
/* From stretches above the floor to emissions: which peaks stand of themselves (over their local background, skirt or
 * floor), which belong together as the lines of one modulation, what is a line and what is wider. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "figures.h"

enum { WINDOW_MAX = 64, GROUND_LOOKS = 64, WEAK_PER_REGION = 256 };

typedef struct peak {
    size_t at, low, high;
    size_t region;
    size_t group; /* emission it was taken into, from 1; 0 = none yet */
    double background_db;
    double beside; /* amplitude, square root of mW, that a known filter shows of stronger lines here */
    bool stands;   /* over its local background */
    bool main;     /* highest of its region */
    bool source;   /* not itself what the filter makes of a stronger one */
} peak;

typedef struct peaks {
    peak *items;
    size_t count, room;
} peaks;

/* ---- a peak and its background ------------------------------------------------------------------------ */

typedef struct window {
    double middle_db, x; /* median reading; mean coordinate */
    size_t count;
} window;

/* Coordinate in which a background runs straight: ln of the distance from the stronger peak `from`, or the index. */
static double coordinate(const spurity_segment_survey *s, size_t i, size_t peak_at, size_t from)
{
    if (from == peak_at)
        return (double)i;
    double d = fabs(s->view.frequency_hz[i] - s->view.frequency_hz[from]);
    return d > 0 ? log(d) : 0;
}

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Amplitude (square root of mW) a line read at `from` can show at i through a filter of known shape. */
static double beside_line(const spurity_segment_survey *s, size_t from, size_t i)
{
    double bins = (double)(i > from ? i - from : from - i);
    return pow(10, s->view.level_db[from] / 20) / s->shape->least * spurity_shape_beside(s->shape, bins);
}

/* Whether the reading at i tells nothing of the ground: the filter's known side lobes of the line at `from` make it. */
static bool hides_ground(const spurity_segment_survey *s, size_t i, size_t from)
{
    double level = s->view.level_db[i];
    return s->shape && level > (double)s->floor_db[i] + s->law_median_db &&
           level <= 20 * log10(beside_line(s, from, i)) + 4; /* with what noise adds */
}

/* Readings from `guard` to guard + n points beside `at`, every stride-th; the level and coordinate of each go to
 * values. */
static window look_beside(const spurity_segment_survey *s, size_t at, int way, size_t guard, size_t n, size_t from,
                          double values[2][WINDOW_MAX])
{
    window w = {0};
    double sorted[WINDOW_MAX];
    size_t stride = (n + WINDOW_MAX / 2 - 1) / (WINDOW_MAX / 2);
    for (size_t k = guard; k < guard + n && w.count < WINDOW_MAX / 2; k += stride) {
        if (way < 0 ? k > at : at + k >= s->view.count)
            break;
        size_t i = way < 0 ? at - k : at + k;
        if (hides_ground(s, i, from))
            continue;
        values[0][w.count] = sorted[w.count] = s->view.level_db[i];
        values[1][w.count] = coordinate(s, i, at, from);
        w.x += values[1][w.count];
        w.count++;
    }
    if (!w.count)
        return w;
    w.x /= (double)w.count;
    qsort(sorted, w.count, sizeof *sorted, compare_doubles);
    w.middle_db = (sorted[w.count / 2] + sorted[(w.count - 1) / 2]) / 2;
    return w;
}

/* Robust scale of readings about the straight background; enlarged for few readings. */
static double scatter(double values[2][WINDOW_MAX], size_t count, double x, double level, double slope)
{
    double r[WINDOW_MAX];
    for (size_t i = 0; i < count; i++)
        r[i] = fabs(values[0][i] - level - slope * (values[1][i] - x));
    qsort(r, count, sizeof *r, compare_doubles);
    double freedom = count > 3 ? (double)count - 2 : 1;
    return 1.4826 * r[count / 2] * (1 + 2 / sqrt(freedom) + 3 / freedom);
}

static size_t guard_points(const spurity_segment_survey *s)
{
    if (s->shape)
        return (size_t)ceil(s->shape->null_bins);
    double points = s->rbw_hz > 0 && s->view.step_hz > 0 ? 1.3 * s->rbw_hz / s->view.step_hz : 1.3 * s->points_per_look;
    return points < 1e6 ? (size_t)ceil(points) : 1000000;
}

/* How wide to look on a side: so many looks; beside a stronger peak no wider than `share` of the way to it, so that the
 * background runs straight enough. */
static size_t window_points(const spurity_segment_survey *s, double looks, size_t distance, double share)
{
    size_t n = (size_t)ceil(looks * s->points_per_look);
    if (distance && (double)n > share * (double)distance)
        n = (size_t)(share * (double)distance);
    return n > 2 ? n : 2;
}

/* Ground under a peak so near a stronger one that only its far side shows any: from there it may rise towards the
 * stronger one by 30 dB a decade, the steepest of carrier noise (common practice). */
static double ground_from_outside(const spurity_segment_survey *s, const window *outer, size_t distance,
                                  double floor_median)
{
    double error = 1.25 * s->sigma_db / sqrt(fmax((double)outer->count / s->points_per_look, 1));
    double over = outer->middle_db - floor_median - 1.5 * error;
    if (!outer->count || over <= 0)
        return floor_median;
    double ratio = exp(outer->x) / ((double)distance * s->view.step_hz);
    return floor_median + 10 * log10(1 + (pow(10, over / 10) - 1) * pow(fmax(ratio, 1), 3));
}

/* Nearest distance in points at which a peak can show beside a stronger one. */
static size_t least_distance(const spurity_segment_survey *s, size_t guard)
{
    if (!s->shape)
        return guard + 2;
    double points = ceil(s->shape->width_bins);
    return points > 3 ? (size_t)points : 3;
}

/* Sets background_db and tells whether the peak at `at` stands: over the background read on both sides, by the
 * threshold of noise as far as the background scatters like noise, by 3 dB where it does not scatter, and on a skirt
 * with a dip of half a dB on both sides.  from: the stronger peak whose skirt this may be (at itself: none). */
static bool stands_by(spurity_segment_survey *s, peak *p, size_t from, double side_looks)
{
    double inner_values[2][WINDOW_MAX], outer_values[2][WINDOW_MAX];
    size_t at = p->at, guard = guard_points(s), distance = at > from ? at - from : from - at;
    double floor_median = (double)s->floor_db[at] + s->law_median_db;
    if (distance && distance < least_distance(s, guard))
        return false; /* not resolved from the stronger one */
    bool near = s->shape && distance && distance < 3 * guard;
    side_looks = near ? 8 : side_looks; /* farther out says less of what is here */
    int in = at >= from ? -1 : 1;
    window inner = look_beside(s, at, in, guard, window_points(s, side_looks, distance, 0.4), from, inner_values);
    window outer =
        look_beside(s, at, -in, guard, window_points(s, side_looks, near ? 0 : distance, 0.6), from, outer_values);
    double slope = 0, x = coordinate(s, at, at, from), background = floor_median, noise = s->sigma_db;
    if (near || (s->shape && distance && !inner.count)) {
        background = ground_from_outside(s, &outer, distance, floor_median);
    } else if (distance && inner.count && outer.count) {
        slope = (outer.middle_db - inner.middle_db) / (outer.x - inner.x);
        slope = isfinite(slope) ? slope : 0;
        background = inner.middle_db + slope * (x - inner.x);
        double both = fmax(scatter(inner_values, inner.count, inner.x, inner.middle_db, slope),
                           scatter(outer_values, outer.count, outer.x, outer.middle_db, slope));
        noise = s->shape ? noise : fmin(noise, both); /* a known filter's skirt is no ground */
    } else if (inner.count || outer.count) {
        background = fmax(inner.count ? inner.middle_db : -INFINITY, outer.count ? outer.middle_db : -INFINITY);
    }
    /* A falling skirt is nowhere above the valley before it; little noise may have dug that by two of its deviations,
     * much noise (under some eight averages) by any amount. */
    if (distance && s->sigma_db < 2)
        background = fmin(background, s->view.level_db[in < 0 ? p->low : p->high] + 2 * s->sigma_db);
    background = fmax(background, floor_median);
    p->background_db = background - s->law_median_db;
    double looks = (double)(inner.count + outer.count) / s->points_per_look;
    const spurity_block *block = spurity_survey_block(s, at);
    double threshold = background <= floor_median + 1 ? (double)block->threshold_db
                                                      : spurity_survey_threshold(s, looks > 4 ? looks : 4);
    double share = s->sigma_db > 0 ? noise / s->sigma_db : 1;
    double wanted = fmax(3, share * (threshold - s->law_median_db)), level = s->view.level_db[at];
    bool dips = s->view.level_db[p->low] <= level - 0.5 && s->view.level_db[p->high] <= level - 0.5;
    return (dips || !distance) && level - background >= wanted;
}

/* Median of how far readings stand over the local median at k strides beyond guard, k = 0..looks-1, on the sides asked
 * (bit 1 left, 2 right); *n = how many there were. */
static double ground_about(const spurity_segment_survey *s, size_t at, size_t guard, size_t looks, int sides, size_t *n)
{
    double excess[2 * GROUND_LOOKS];
    size_t stride = (size_t)ceil(s->points_per_look);
    *n = 0;
    for (size_t k = 0; k < looks && k < GROUND_LOOKS; k++)
        for (int way = 0; way < 2; way++) {
            size_t off = guard + k * stride;
            if (!(sides & (1 << way)) || (way ? at + off >= s->view.count : off > at))
                continue;
            size_t i = way ? at + off : at - off;
            excess[(*n)++] = s->view.level_db[i] - (double)s->floor_db[i] - s->law_median_db;
        }
    if (!*n)
        return 0;
    qsort(excess, *n, sizeof *excess, compare_doubles);
    return excess[*n / 2];
}

/* Whether a reading that stands over the floor is but noise on raised ground (carrier noise, a low hump): the level
 * beside it, from 8, 24 or 64 looks a side, is over the floor by three (of the
 * narrowest) or two and a half standard errors, and the reading under
 * the threshold from there. */
static bool is_ground(const spurity_segment_survey *s, const peak *p)
{
    static const size_t looks[] = {8, 24, GROUND_LOOKS};
    double over = s->view.level_db[p->at] - (double)s->floor_db[p->at];
    double threshold = (double)spurity_survey_block(s, p->at)->threshold_db;
    for (int k = 0; k < 3; k++) {
        size_t n;
        double ground = ground_about(s, p->at, guard_points(s), looks[k], 3, &n);
        if (n >= 16 && ground > fmax((k ? 2.5 : 3) * 1.25 * s->sigma_db / sqrt((double)n), 0.5) &&
            over - ground < threshold)
            return true;
    }
    return false;
}

/* Whether a wide stretch without a standing peak comes down on both sides, as an emission does (carrier noise and a
 * floor that bends do not): its median over those of 24 looks beside it by three standard errors and 1 dB. */
static bool is_hump(const spurity_segment_survey *s, const spurity_region *r)
{
    size_t n_left, n_right, n, stride = (size_t)ceil(s->points_per_look), middle = r->low + (r->high - r->low) / 2;
    size_t looks = (r->high - r->low) / 2 / stride + 1;
    double inside = ground_about(s, middle, 0, looks, 3, &n);
    double left = ground_about(s, r->low, stride, 24, 1, &n_left),
           right = ground_about(s, r->high, stride, 24, 2, &n_right);
    double error = 1.25 * s->sigma_db * sqrt(1 / (double)n + 1.0 / 24), wanted = fmax(3 * error, 1);
    return (n_left < 8 || inside - left > wanted) && (n_right < 8 || inside - right > wanted);
}

/* By eight looks a side, which rules most out; then by 24, whose scatter chance does not make small. */
static bool stands(spurity_segment_survey *s, peak *p, size_t from)
{
    return stands_by(s, p, from, 8) && (from == p->at || stands_by(s, p, from, 24));
}

/* ---- peaks of a region ---------------------------------------------------------------------------------- */

static bool is_local_peak(const double *level, size_t i, size_t low, size_t high, size_t width)
{
    if ((i > low && level[i - 1] >= level[i]) || (i < high && level[i + 1] > level[i]))
        return false;
    for (size_t k = 2; k <= width; k++)
        if ((i >= low + k && level[i - k] >= level[i]) || (i + k <= high && level[i + k] > level[i]))
            return false;
    return true;
}

/* Down to the lowest point on both sides within two and a half RBW, not beyond the region. */
static void own_footprint(const spurity_segment_survey *s, peak *p, const spurity_region *region)
{
    const double *level = s->view.level_db;
    size_t reach = 2 * guard_points(s), low = p->at, high = p->at;
    for (size_t k = 1; k <= reach && p->at >= region->low + k; k++)
        if (level[p->at - k] < level[low])
            low = p->at - k;
    for (size_t k = 1; k <= reach && p->at + k <= region->high; k++)
        if (level[p->at + k] < level[high])
            high = p->at + k;
    p->low = low, p->high = high;
}

static bool keep_peak(peaks *list, const peak *p)
{
    peak *items = spurity_grow(list->items, list->count, &list->room, sizeof *items);
    if (!items)
        return false;
    list->items = items;
    list->items[list->count++] = *p;
    return true;
}

/* The main peak, those that stand on its skirts, and weaker maxima with dips of 3 dB, which may be lines of a comb. */
static bool peaks_of_region(spurity_segment_survey *s, const spurity_regions *regions, size_t index, peaks *list)
{
    const spurity_region *r = &regions->items[index];
    const double *level = s->view.level_db;
    size_t width = guard_points(s) / (s->shape ? 6 : 3), weak = 0;
    for (size_t i = r->low; i <= r->high; i++) {
        peak p = {.at = i, .region = index, .main = i == r->peak};
        if (!p.main && !is_local_peak(level, i, r->low, r->high, width))
            continue;
        own_footprint(s, &p, r);
        p.stands = stands(s, &p, p.main ? i : r->peak);
        if (p.main) {
            p.low = r->low, p.high = r->high;
        } else if (!p.stands) {
            double dip = fmax(level[p.low], level[p.high]);
            if (level[i] < level[r->peak] - 26 || level[i] - dip < 3 || weak++ >= WEAK_PER_REGION)
                continue;
        }
        if (!keep_peak(list, &p))
            return false;
    }
    return true;
}

/* ---- combs: several lines of one modulation ---------------------------------------------------------------- */

/* Highest peak within tolerance of hz, -1 = none. */
static long peak_near(const spurity_segment_survey *s, const peaks *list, double hz, double tolerance)
{
    size_t low = 0, high = list->count;
    while (low < high) { /* first peak at or above hz - tolerance */
        size_t middle = (low + high) / 2;
        if (s->view.frequency_hz[list->items[middle].at] < hz - tolerance)
            low = middle + 1;
        else
            high = middle;
    }
    long best = -1;
    for (size_t i = low; i < list->count && s->view.frequency_hz[list->items[i].at] <= hz + tolerance; i++)
        if (best < 0 || s->view.level_db[list->items[i].at] > s->view.level_db[list->items[best].at])
            best = (long)i;
    return best;
}

typedef struct comb {
    size_t strong, standing; /* lines within 26 dB of the strongest; of them, standing ones */
    size_t first, last;      /* peaks */
} comb;

/* Walks from peak m in steps of spacing to both sides; two lines in a row may be missing (a Bessel null).  group 0 only
 * counts, else the members are marked. */
static comb walk_comb(const spurity_segment_survey *s, peaks *list, size_t m, double spacing, size_t group)
{
    const double *f = s->view.frequency_hz, *level = s->view.level_db;
    double top = level[list->items[m].at];
    double tolerance = fmin(0.3 * s->rbw_hz + s->view.step_hz, 0.3 * spacing);
    if (s->shape) /* peaks are known to half a bin each only */
        tolerance = fmax(tolerance, 1.05 * s->view.step_hz);
    comb found = {1, list->items[m].stands, m, m};
    if (group)
        list->items[m].group = group;
    for (int way = -1; way <= 1; way += 2) {
        double at = f[list->items[m].at];
        for (int missing = 0; missing <= 2; missing++) {
            at += way * spacing;
            long i = peak_near(s, list, at, tolerance * (1 + missing));
            if (i < 0 || list->items[i].group || (size_t)i == m || level[list->items[i].at] > top)
                continue;
            if (level[list->items[i].at] > top - 26) {
                found.strong++;
                found.standing += list->items[i].stands;
            } else if (!list->items[i].stands) {
                continue;
            }
            found.first = (size_t)i < found.first ? (size_t)i : found.first;
            found.last = (size_t)i > found.last ? (size_t)i : found.last;
            if (group)
                list->items[i].group = group;
            at = f[list->items[i].at];
            missing = -1;
        }
    }
    return found;
}

/* Widest spacing of lines taken for one modulation: 5 kHz (voice and test tones; common practice), at most 40 RBW, so
 * that two carriers stay two; anything within 4 RBW. */
static double comb_limit(const spurity_segment_survey *s)
{
    if (s->shape) /* a capture's RBW is as narrow as its length allows and says nothing of the modulation */
        return fmax(4 * s->rbw_hz, 5e3);
    return s->rbw_hz > 0 ? fmax(4 * s->rbw_hz, fmin(40 * s->rbw_hz, 5e3)) : 5e3;
}

/* Whether a peak already taken into another emission lies among those of the comb: its lines on both sides of a
 * stronger emission are no emission without it. */
static bool straddles(const peaks *list, const comb *found)
{
    for (size_t i = found->first; i <= found->last; i++)
        if (list->items[i].group)
            return true;
    return false;
}

/* Finds the comb about peak m; marks it with `group`.  Three standing lines, or five in all, at one spacing; or two
 * standing ones within four RBW. */
static bool find_comb(const spurity_segment_survey *s, peaks *list, size_t m, size_t group, comb *taken)
{
    const double *f = s->view.frequency_hz, *level = s->view.level_db;
    double here = f[list->items[m].at], top = level[list->items[m].at], limit = comb_limit(s), best = 0;
    size_t most = 0;
    long close = -1;
    double least = fmax((s->shape ? 0.9 : 2) * s->rbw_hz, (s->shape ? 2 : 3) * s->view.step_hz);
    for (int way = -1; way <= 1; way += 2)
        for (size_t k = 1, seen = 0; k < 64 && seen < 6; k++) {
            if (way < 0 ? k > m : m + k >= list->count)
                break;
            size_t i = way < 0 ? m - k : m + k;
            const peak *other = &list->items[i];
            double spacing = fabs(f[other->at] - here);
            if (spacing > limit)
                break;
            if (other->group || level[other->at] < top - 26 || level[other->at] > top)
                continue;
            seen++;
            if (other->stands && spacing <= 4 * s->rbw_hz && !s->shape)
                close = close < 0 ? (long)i : close;
            comb found = spacing < least ? (comb){0} : walk_comb(s, list, m, spacing, 0);
            if (((found.strong >= 3 && found.standing == found.strong) || found.strong >= 5) && found.strong > most &&
                !(s->shape && straddles(list, &found))) {
                most = found.strong;
                best = spacing;
            }
        }
    if (most) {
        *taken = walk_comb(s, list, m, best, group);
    } else if (close >= 0) {
        list->items[m].group = list->items[close].group = group;
        *taken = (comb){2, 2, (size_t)close < m ? (size_t)close : m, (size_t)close > m ? (size_t)close : m};
    }
    return most || close >= 0;
}

/* ---- emissions --------------------------------------------------------------------------------------------- */

typedef struct work {
    spurity_survey *survey;
    spurity_segment_survey *s;
    size_t segment;
    const spurity_regions *regions;
    peaks list;
    spurity_notes *notes;
    spurity_error *error;
} work;

static spurity_status out_of_memory(const work *w)
{
    return spurity_report_memory(w->error);
}

static spurity_status add_line(work *w, const spurity_line *line, size_t low, size_t high)
{
    spurity_survey *survey = w->survey;
    spurity_line *lines = spurity_grow(survey->lines, survey->line_count, &survey->line_room, sizeof *lines);
    if (!lines)
        return out_of_memory(w);
    survey->lines = lines;
    spurity_owner *owners = spurity_grow(w->s->owners, w->s->owner_count, &w->s->owner_room, sizeof *owners);
    if (!owners)
        return out_of_memory(w);
    w->s->owners = owners;
    survey->lines[survey->line_count] = *line;
    survey->lines[survey->line_count].segment = w->segment;
    w->s->owners[w->s->owner_count++] = (spurity_owner){low, high, survey->line_count};
    survey->line_count++;
    return SPURITY_OK;
}

/* A peak the local oscillator makes at 0 Hz: the stretch meets the start of a trace that begins at or near 0 Hz and its
 * peak lies within five RBW of it.  A trace that reaches as far below 0 Hz as a quarter of its top is an offset. */
static bool is_feedthrough(const work *w, const peak *p)
{
    const spurity_segment_survey *s = w->s;
    const double *f = s->view.frequency_hz;
    double unit = s->rbw_hz > 0 ? fmax(s->rbw_hz, 0.5 * s->view.step_hz) : 2 * s->view.step_hz,
           carrier = w->survey->options.carrier_hz;
    if (!p->main || f[0] > 5 * unit || f[0] < -0.25 * f[s->view.count - 1] || fabs(f[p->at]) > 5 * unit)
        return false;
    if (isfinite(carrier) && carrier >= f[p->low] && carrier <= f[p->high] && carrier > 2 * unit)
        return false;
    return p->low == 0 || f[0] <= 0;
}

static spurity_status add_feedthrough(work *w, const peak *p)
{
    spurity_segment_survey *s = w->s;
    double from = s->view.frequency_hz[p->low], to = s->view.frequency_hz[p->high];
    char advice[sizeof((spurity_stretch *)0)->advice];
    double start = fmax(to, 0);
    if (s->rbw_hz > 0)
        snprintf(advice, sizeof advice,
                 "sweep from %.6g kHz again with an RBW well under %.6g kHz, starting above 0 Hz", fmax(from, 0) / 1e3,
                 fmin(s->rbw_hz / 3, (start > 0 ? start : s->rbw_hz) / 10) / 1e3);
    else
        snprintf(advice, sizeof advice, "sweep from %.6g kHz again with a narrower RBW, starting above 0 Hz",
                 fmax(from, 0) / 1e3);
    spurity_status status =
        spurity_survey_add_hole(w->survey, from, to, "zero-frequency-feedthrough", advice, w->error);
    if (!status)
        status = spurity_notes_add(w->notes, SPURITY_NOTE_ZERO_FREQUENCY_FEEDTHROUGH,
                                   spurity_terminal_trace_file(w->survey->terminal),
                                   "the peak at %.6g kHz is the instrument's own zero-frequency line; its skirt hides "
                                   "what stands below %.6g kHz",
                                   s->view.frequency_hz[p->at] / 1e3, to / 1e3);
    if (status)
        return status;
    spurity_owner *owners = spurity_grow(s->owners, s->owner_count, &s->owner_room, sizeof *owners);
    if (!owners)
        return out_of_memory(w);
    s->owners = owners;
    s->owners[s->owner_count++] = (spurity_owner){p->low, p->high, SIZE_MAX};
    return SPURITY_OK;
}

/* Power of standing peaks on the skirts of a region's main one. */
static double other_power(const work *w, const peak *p)
{
    double sum = 0;
    size_t m = (size_t)(p - w->list.items);
    if (!spurity_survey_dense(w->s, p->at))
        return 0;
    for (int way = -1; way <= 1; way += 2)
        for (size_t k = 1; way < 0 ? k <= m : m + k < w->list.count; k++) {
            const peak *other = &w->list.items[way < 0 ? m - k : m + k];
            if (other->region != p->region)
                break;
            if (other->stands)
                sum += spurity_survey_integrate(w->s, other->low, other->high, NULL);
        }
    return sum;
}

/* Peaks of the same region within the 99 % width (and one RBW) of a wide emission are part of it. */
static void absorb(work *w, const peak *p, const spurity_line *line, size_t group)
{
    size_t m = (size_t)(p - w->list.items);
    for (int way = -1; way <= 1; way += 2)
        for (size_t k = 1; way < 0 ? k <= m : m + k < w->list.count; k++) {
            peak *other = &w->list.items[way < 0 ? m - k : m + k];
            double off = fabs(w->s->view.frequency_hz[other->at] - line->frequency_hz);
            if (other->region != p->region)
                break;
            if (off <= line->width_hz / 2 + w->s->rbw_hz)
                other->group = group;
        }
}

/* What stronger lines show at this one through a known filter adds to it or takes from it; half as much again where the
 * fit's bins take different parts of it. */
static void doubt_beside(const peak *p, spurity_line *line)
{
    double share = fmin(1.5 * p->beside / pow(10, line->level_db / 20), 0.9);
    line->read_low_db += 20 * log10(1 + share);
    line->read_high_db -= 20 * log10(1 - share);
}

/* The region's main peak as a line, or the whole region as a wider emission. */
static spurity_status emit_main(work *w, peak *p, size_t group)
{
    spurity_segment_survey *s = w->s;
    const spurity_region *r = &w->regions->items[p->region];
    spurity_line line = {0};
    bool hump = !p->stands && (r->hump || r->high - r->low > 4 * (size_t)ceil(2 * s->points_per_look));
    p->group = group;
    if (is_feedthrough(w, p))
        return add_feedthrough(w, p);
    hump = hump && is_hump(s, r);
    if (!p->stands && !hump && is_ground(s, p))
        return SPURITY_OK;
    if (!hump && spurity_survey_is_line(s, p->at, p->low, p->high, other_power(w, p))) {
        spurity_survey_line_figures(s, p->at, p->low, p->high, (double)s->floor_db[p->at], &line);
        doubt_beside(p, &line);
        return add_line(w, &line, p->low, p->high);
    }
    if (!spurity_survey_dense(s, p->at)) {
        spurity_survey_unintegrated_figures(s, p->at, p->low, p->high, &line);
        return add_line(w, &line, p->low, p->high);
    }
    spurity_survey_wide_figures(s, p->at, p->low, p->high, false, &line);
    absorb(w, p, &line, group);
    return add_line(w, &line, p->low, p->high);
}

static spurity_status emit_comb(work *w, size_t group, comb taken)
{
    const spurity_segment_survey *s = w->s;
    size_t low = SIZE_MAX, high = 0, top = SIZE_MAX;
    for (size_t i = taken.first; i <= taken.last; i++) {
        peak *p = &w->list.items[i];
        if (p->group && p->group != group)
            continue;
        p->group = group; /* what stands between its lines is part of it */
        low = p->low < low ? p->low : low;
        high = p->high > high ? p->high : high;
        if (top == SIZE_MAX || s->view.level_db[p->at] > s->view.level_db[top])
            top = p->at;
    }
    spurity_line line = {0};
    if (spurity_survey_dense(s, top))
        spurity_survey_wide_figures(s, top, low, high, true, &line);
    else
        spurity_survey_unintegrated_figures(s, top, low, high, &line);
    return add_line(w, &line, low, high);
}

static spurity_status emit_secondary(work *w, peak *p, size_t group)
{
    spurity_line line = {0};
    p->group = group;
    spurity_survey_line_figures(w->s, p->at, p->low, p->high, p->background_db, &line);
    doubt_beside(p, &line);
    return add_line(w, &line, p->low, p->high);
}

typedef struct ranked {
    double level_db;
    size_t index;
} ranked;

static int by_level(const void *a, const void *b)
{
    const ranked *x = a, *y = b;
    if (x->level_db != y->level_db)
        return (x->level_db < y->level_db) - (x->level_db > y->level_db);
    return (x->index > y->index) - (x->index < y->index);
}

/* ---- what a known filter makes of a line -------------------------------------------------------------------- */

enum { NEIGHBOURS = 16, STRONGEST = 8, WALK = 64 };

/* Amplitude that stronger lines together can show at peak m: the strongest of the segment and the nearest. */
static double beside_lines(const work *w, size_t m, const size_t strongest[STRONGEST], size_t strong)
{
    size_t at = w->list.items[m].at;
    double sum = 0;
    for (size_t k = 0; k < strong; k++)
        sum += beside_line(w->s, w->list.items[strongest[k]].at, at);
    for (int way = -1; way <= 1; way += 2) {
        size_t near = 0;
        for (size_t k = 1; k <= WALK && near < NEIGHBOURS && (way < 0 ? k <= m : m + k < w->list.count); k++) {
            size_t other = way < 0 ? m - k : m + k;
            bool taken = !w->list.items[other].source;
            for (size_t j = 0; j < strong; j++)
                taken = taken || strongest[j] == other;
            if (taken)
                continue;
            near++;
            sum += beside_line(w->s, w->list.items[other].at, at);
        }
    }
    return sum;
}

/* Whether line and noise together may read so: mean power of both and of their product, which n averages lessen. */
static bool may_be_beside(const spurity_segment_survey *s, size_t at, double amplitude)
{
    double lobe = 1.06 * amplitude, floor = pow(10, (double)s->floor_db[at] / 10);
    double over = pow(10, ((double)spurity_survey_block(s, at)->threshold_db) / 10);
    double both = fmin(2 * sqrt(over), 1.5 * (over > 1 ? over - 1 : 0)) * lobe * sqrt(floor);
    return pow(10, s->view.level_db[at] / 10) <= lobe * lobe + over * floor + both;
}

/* Strongest first: a peak no higher than what the filter makes of stronger ones there is none.  They leave the list. */
static void drop_explained(work *w, const ranked *order)
{
    size_t strongest[STRONGEST], strong = 0, kept = 0;
    for (size_t k = 0; k < w->list.count; k++) {
        peak *p = &w->list.items[order[k].index];
        p->beside = beside_lines(w, order[k].index, strongest, strong);
        bool sole = strong && may_be_beside(w->s, p->at, p->beside);
        p->source = !sole && (p->stands || p->main);
        if (sole)
            p->at = SIZE_MAX;
        else if (p->source && strong < STRONGEST)
            strongest[strong++] = order[k].index;
    }
    for (size_t i = 0; i < w->list.count; i++)
        if (w->list.items[i].at != SIZE_MAX)
            w->list.items[kept++] = w->list.items[i];
    w->list.count = kept;
}

/* Peaks by level; equal ones by place. */
static void rank(const work *w, ranked *order)
{
    for (size_t i = 0; i < w->list.count; i++)
        order[i] = (ranked){w->s->view.level_db[w->list.items[i].at], i};
    qsort(order, w->list.count, sizeof *order, by_level);
}

/* Strongest first: combs and regions, then what stands on skirts. */
static spurity_status emit_all(work *w)
{
    size_t group = 0;
    ranked *order = malloc((w->list.count ? w->list.count : 1) * sizeof *order);
    if (!order)
        return out_of_memory(w);
    rank(w, order);
    if (w->s->shape) {
        drop_explained(w, order);
        rank(w, order);
    }
    spurity_status status = SPURITY_OK;
    for (size_t k = 0; k < w->list.count && !status; k++) {
        peak *p = &w->list.items[order[k].index];
        if (p->group || !(p->stands || p->main))
            continue;
        group++;
        comb taken;
        if (p->stands && !is_feedthrough(w, p) && find_comb(w->s, &w->list, order[k].index, group, &taken))
            status = emit_comb(w, group, taken);
        else
            status = p->main ? emit_main(w, p, group) : emit_secondary(w, p, group);
    }
    free(order);
    return status;
}

/* ---- owners ---------------------------------------------------------------------------------------------------- */

static int by_width(const void *a, const void *b)
{
    const spurity_owner *x = a, *y = b;
    size_t wx = x->last - x->first, wy = y->last - y->first;
    if (wx != wy)
        return (wx > wy) - (wx < wy);
    return (x->first > y->first) - (x->first < y->first);
}

static int by_first(const void *a, const void *b)
{
    const spurity_owner *x = a, *y = b;
    return (x->first > y->first) - (x->first < y->first);
}

/* Makes owners free of overlap: narrower ones cut the wider ones in two.  Sweeps from the left with the narrowest owner
 * that holds each place; nesting is shallow (a comb, a region, a peak on its skirt). */
static bool flatten_owners(spurity_segment_survey *s)
{
    size_t n = s->owner_count, count = 0, room = 0;
    if (n < 2)
        return true;
    spurity_owner *flat = NULL, *stack = malloc(n * sizeof *stack);
    size_t depth = 0, next = 0, at = 0;
    bool fits = stack;
    qsort(s->owners, n, sizeof *s->owners, by_first);
    while (fits && (next < n || depth)) {
        if (!depth)
            at = s->owners[next].first;
        while (next < n && s->owners[next].first <= at)
            stack[depth++] = s->owners[next++];
        qsort(stack, depth, sizeof *stack, by_width);
        size_t until = stack[0].last;
        if (next < n && s->owners[next].first <= until)
            until = s->owners[next].first - 1;
        spurity_owner *items = spurity_grow(flat, count, &room, sizeof *items);
        fits = items != NULL;
        if (!fits)
            break;
        flat = items;
        flat[count++] = (spurity_owner){at, until, stack[0].line};
        at = until + 1;
        size_t kept = 0;
        for (size_t i = 0; i < depth; i++)
            if (stack[i].last >= at)
                stack[kept++] = stack[i];
        depth = kept;
    }
    free(stack);
    if (!fits) {
        free(flat);
        return false;
    }
    free(s->owners);
    s->owners = flat;
    s->owner_count = count;
    s->owner_room = room;
    return true;
}

long spurity_survey_owner(const spurity_segment_survey *s, size_t index)
{
    size_t low = 0, high = s->owner_count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (s->owners[middle].last < index)
            low = middle + 1;
        else
            high = middle;
    }
    if (low == s->owner_count || s->owners[low].first > index)
        return -1;
    return s->owners[low].line == SIZE_MAX ? -2 : (long)s->owners[low].line;
}

spurity_status spurity_survey_lines(spurity_survey *survey, size_t segment, const spurity_regions *regions,
                                    spurity_notes *notes, spurity_error *error)
{
    work w = {.survey = survey,
              .s = &survey->segments[segment],
              .segment = segment,
              .regions = regions,
              .notes = notes,
              .error = error};
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < regions->count && !status; i++)
        if (!peaks_of_region(w.s, regions, i, &w.list))
            status = out_of_memory(&w);
    if (!status)
        status = emit_all(&w);
    if (!status && !flatten_owners(w.s))
        status = out_of_memory(&w);
    free(w.list.items);
    return status;
}
