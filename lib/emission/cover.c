/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What is covered, what is not and why, and the bound of a hidden line at every point. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "figures.h"

/* ---- bounds ------------------------------------------------------------------------------------------------ */

/* Worst bound over the laws, less the reading, for a reading d dB over the local median. */
static double bound_over(const spurity_segment_survey *s, double d)
{
    double worst = -INFINITY;
    for (size_t i = 0; i < s->law_count; i++) {
        double over_mean = d + spurity_noise_median_db(s->laws[i]);
        worst = fmax(worst, spurity_noise_bound_db(s->laws[i], over_mean) - over_mean);
    }
    return worst;
}

static double table_entry(spurity_segment_survey *s, int i)
{
    if (isnan(s->bound_over_db[i]))
        s->bound_over_db[i] = bound_over(s, i * SPURITY_BOUND_STEP_DB);
    return s->bound_over_db[i];
}

/* The excess falls and is convex in d: straight pieces between entries lie above it, the last entry above all beyond.
 */
static double bound_from(spurity_segment_survey *s, double reading_db, double median_db)
{
    double d = reading_db - median_db;
    if (d <= 0)
        return median_db + table_entry(s, 0);
    double at = d / SPURITY_BOUND_STEP_DB;
    if (at >= SPURITY_BOUND_STEPS - 1)
        return reading_db + table_entry(s, SPURITY_BOUND_STEPS - 1);
    int i = (int)at;
    double a = table_entry(s, i), b = table_entry(s, i + 1);
    return reading_db + a + (at - i) * (b - a);
}

/* On skirts and humps what stands there is the noise a line hides in: the level about the point, told by the median of
 * the looks beside it but no higher than the highest within two looks (a steep skirt).  Looks beyond the footprint
 * count too: at its edge those inside are of the steep side alone. */
static double local_noise(const spurity_segment_survey *s, size_t i)
{
    size_t first = 0, last = s->view.count - 1;
    size_t look = (size_t)ceil(s->points_per_look), near = 2 * look, n = 0;
    double highest = -INFINITY, v[9];
    size_t low = i - first > near ? i - near : first, high = last - i > near ? i + near : last;
    for (size_t k = low; k <= high; k += look)
        highest = fmax(highest, s->view.level_db[k]);
    for (int k = -4; k <= 4; k++) {
        size_t off = (size_t)(k < 0 ? -k : k) * look;
        if (k < 0 ? i - first < off : last - i < off)
            continue;
        double level = s->view.level_db[k < 0 ? i - off : i + off];
        size_t at = n++;
        for (; at > 0 && v[at - 1] > level; at--)
            v[at] = v[at - 1];
        v[at] = level;
    }
    return fmin(v[n / 2], highest);
}

void spurity_survey_bounds(spurity_survey *survey, spurity_segment_survey *s)
{
    double plain = spurity_survey_droop_db(s, s->view.step_hz / 2);
    for (size_t i = 0; i < s->view.count; i++) {
        double half = spurity_survey_half_step(s, i);
        double droop = fabs(half - s->view.step_hz / 2) < 1e-6 * half ? plain : spurity_survey_droop_db(s, half);
        double median = (double)s->floor_db[i] + s->law_median_db;
        s->bound_db[i] = (float)(bound_from(s, s->view.level_db[i], median) + droop);
    }
    for (size_t k = 0; k < s->owner_count; k++) {
        const spurity_owner *owner = &s->owners[k];
        size_t peak = owner->line == SIZE_MAX ? owner->first : survey->lines[owner->line].index;
        size_t core = s->shape ? (size_t)ceil(s->shape->null_bins)
                      : s->rbw_hz > 0 && s->view.step_hz > 0
                          ? (size_t)ceil(fmin(1.3 * s->rbw_hz / s->view.step_hz, 1e6))
                          : (size_t)ceil(1.3 * s->points_per_look);
        for (size_t i = owner->first; i <= owner->last; i++) {
            if ((i > peak ? i - peak : peak - i) <= core)
                continue;
            double median = (double)s->floor_db[i] + s->law_median_db;
            double noise = fmax(median, local_noise(s, i));
            double droop = spurity_survey_droop_db(s, spurity_survey_half_step(s, i));
            s->bound_db[i] = (float)(bound_from(s, s->view.level_db[i], noise) + droop);
        }
    }
}

/* ---- coverage and holes ---------------------------------------------------------------------------------------- */

static void copy_text(char *to, size_t size, const char *from)
{
    snprintf(to, size, "%s", from);
}

spurity_status spurity_survey_add_hole(spurity_survey *survey, double from_hz, double to_hz, const char *reason,
                                       const char *advice, spurity_error *error)
{
    spurity_stretch *holes = spurity_grow(survey->holes, survey->hole_count, &survey->hole_room, sizeof *holes);
    if (!holes)
        return spurity_report_memory(error);
    survey->holes = holes;
    spurity_stretch *hole = &survey->holes[survey->hole_count++];
    *hole = (spurity_stretch){.from_hz = from_hz, .to_hz = to_hz};
    copy_text(hole->reason, sizeof hole->reason, reason);
    copy_text(hole->advice, sizeof hole->advice, advice);
    return SPURITY_OK;
}

static spurity_status add_coverage(spurity_survey *survey, size_t segment, size_t first, size_t last, double from_hz,
                                   double to_hz, spurity_error *error)
{
    spurity_coverage *items =
        spurity_grow(survey->coverage, survey->coverage_count, &survey->coverage_room, sizeof *items);
    if (!items)
        return spurity_report_memory(error);
    survey->coverage = items;
    survey->coverage[survey->coverage_count++] = (spurity_coverage){from_hz, to_hz, segment, first, last};
    return SPURITY_OK;
}

static bool gap_at(const spurity_segment_survey *s, size_t *next_gap, size_t i)
{
    while (*next_gap < s->view.gap_count && s->view.gap_before[*next_gap] < i)
        ++*next_gap;
    return *next_gap < s->view.gap_count && s->view.gap_before[*next_gap] == i;
}

/* A line this far above the floor shows the filter by its neighbours, where the points stand near enough. */
static const double SHOWS_FILTER_DB = 15.0;

/* Without an RBW the sweep itself may show that no line falls between its points: by the filter's flanks beside a line.
 * Noise that goes on from point to point does not: a video filter or smoothing makes that too. */
static bool spacing_is_shown(const spurity_survey *survey, size_t segment)
{
    const spurity_segment_survey *s = &survey->segments[segment];
    if (s->rbw_hz > 0 || s->shape || s->view.facts.detector == SPURITY_DETECTOR_PEAK || s->view.count < 2)
        return true;
    for (size_t i = 0; i < survey->line_count; i++) {
        const spurity_line *line = &survey->lines[i];
        if (line->segment == segment && line->trustworthy && line->excess_db >= SHOWS_FILTER_DB)
            return true;
    }
    return false;
}

bool spurity_survey_far(const spurity_segment_survey *s, size_t i)
{
    const double *f = s->view.frequency_hz;
    if (s->shape) /* a transform's bins miss no line: what one reads between two of them is known */
        return false;
    if (s->spacing_unknown)
        return i > 0 && i < s->view.count;
    return i > 0 && i < s->view.count && s->rbw_hz > 0 && s->view.facts.detector != SPURITY_DETECTOR_PEAK &&
           f[i] - f[i - 1] > SPURITY_FAR * s->rbw_hz;
}

static spurity_status add_far_hole(spurity_survey *survey, const spurity_segment_survey *s, size_t first, size_t last,
                                   spurity_error *error)
{
    const double *f = s->view.frequency_hz;
    char advice[sizeof((spurity_stretch *)0)->advice];
    if (s->spacing_unknown)
        return spurity_survey_add_hole(survey, f[first], f[last], "points-too-far-apart",
                                       "a line could stand between two points, for all this sweep tells: say --rbw, "
                                       "and --detector if it was a peak one",
                                       error);
    double span = f[last] - f[first], points = ceil(span / (s->rbw_hz / 2)) + 1;
    snprintf(
        advice, sizeof advice,
        "sweep %.6g to %.6g MHz with points at most %.6g kHz apart (half the RBW; %.0f points, in parts if need be), "
        "with a peak detector, or with a wider RBW",
        f[first] / 1e6, f[last] / 1e6, s->rbw_hz / 2e3, points);
    return spurity_survey_add_hole(survey, f[first], f[last], "points-too-far-apart", advice, error);
}

/* Each run of far spacings (or, else, of near ones) between gaps becomes one hole (or one interval). */
static spurity_status cover_runs(spurity_survey *survey, size_t segment, bool *any_far, spurity_error *error)
{
    const spurity_segment_survey *s = &survey->segments[segment];
    const double *f = s->view.frequency_hz;
    size_t count = s->view.count, next_gap = 0, start = 0;
    double margin = s->rbw_hz > 0 ? fmin(s->rbw_hz, s->view.step_hz) / 2 : s->view.step_hz / 2;
    while (start < count) {
        bool far = start + 1 < count && spurity_survey_far(s, start + 1) && !gap_at(s, &next_gap, start + 1);
        size_t end = start;
        bool gap = false;
        while (end + 1 < count && !(gap = gap_at(s, &next_gap, end + 1)) && spurity_survey_far(s, end + 1) == far)
            end++;
        bool open_left = start == 0 || gap_at(s, &(size_t){0}, start) || spurity_survey_far(s, start);
        bool open_right = end + 1 == count || gap || !far;
        spurity_status status = far ? add_far_hole(survey, s, start, end, error)
                                    : add_coverage(survey, segment, start, end, f[start] - (open_left ? margin : 0),
                                                   f[end] + (open_right ? margin : 0), error);
        if (status)
            return status;
        *any_far = *any_far || far;
        /* the next run shares the point where the spacing changes */
        start = end + 1 == count || gap || end == start ? end + 1 : end;
    }
    return SPURITY_OK;
}

spurity_status spurity_survey_cover(spurity_survey *survey, size_t segment, spurity_notes *notes, spurity_error *error)
{
    spurity_segment_survey *s = &survey->segments[segment];
    int file = spurity_terminal_trace_file(survey->terminal);
    bool any_far = false;
    s->spacing_unknown = !spacing_is_shown(survey, segment);
    spurity_status status = cover_runs(survey, segment, &any_far, error);
    if (!status && any_far && !s->spacing_unknown)
        status = spurity_notes_add(notes, SPURITY_NOTE_POINTS_TOO_FAR_APART, file,
                                   "points stand %.6g kHz apart at an RBW of %.6g kHz without a peak detector: lines "
                                   "between them are missed",
                                   s->view.step_hz / 1e3, s->rbw_hz / 1e3);
    if (!status && s->view.missing && !spurity_terminal_trace_blind_count(survey->terminal))
        status =
            spurity_notes_add(notes, SPURITY_NOTE_MISSING_POINTS, file,
                              "%zu points carry no level; nothing is said between their neighbours", s->view.missing);
    return status;
}
