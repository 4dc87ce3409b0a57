/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The survey: life, the order of the work, and what others may ask of it. */
#include "survey.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DB_PER_NEPER 4.342944819032518
#define GAUSSIAN_NOISE_BANDWIDTH 1.0644670194312262 /* sqrt(pi / ln 2) / 2, of the 3 dB bandwidth */

const char *spurity_character_name(spurity_character character)
{
    static const char *const names[] = {
        [SPURITY_LINE] = "line", [SPURITY_NOISE_LIKE] = "noise-like", [SPURITY_UNRESOLVED] = "unresolved"};
    return (unsigned)character < sizeof names / sizeof *names ? names[character] : NULL;
}

void spurity_survey_options_init(spurity_survey_options *options)
{
    *options = (spurity_survey_options){.false_alarms = 0.01, .carrier_hz = NAN};
}

void spurity_survey_free(spurity_survey *survey)
{
    if (!survey)
        return;
    for (size_t i = 0; i < survey->segment_count; i++) {
        free(survey->segments[i].floor_db);
        free(survey->segments[i].blocks);
        free(survey->segments[i].owners);
        free(survey->segments[i].shape);
    }
    free(survey->segments);
    free(survey->lines);
    free(survey->coverage);
    free(survey->holes);
    spurity_terminal_trace_free(survey->terminal);
    free(survey);
}

/* ---- the work ------------------------------------------------------------------------------------------------ */

static bool same_filter(const spurity_filter *a, const spurity_filter *b)
{
    bool same = a->kind == b->kind && a->terms == b->terms && a->beta == b->beta && a->bin_hz == b->bin_hz;
    for (int i = 0; same && i < a->terms && i < SPURITY_FILTER_TERMS; i++)
        same = a->c[i] == b->c[i];
    return same;
}

/* The shape of segment i's filter where it is told; that of the segment before it serves again where it is the same.
 * Then RBW and noise bandwidth follow from it. */
static spurity_status shape_segment(spurity_survey *survey, size_t i, spurity_error *error)
{
    spurity_segment_survey *s = &survey->segments[i];
    const spurity_filter *filter = &s->view.facts.filter;
    const spurity_shape *before = i ? survey->segments[i - 1].shape : NULL;
    if (filter->kind == SPURITY_FILTER_UNKNOWN || !(s->view.step_hz > 0))
        return SPURITY_OK;
    spurity_shape *shape = malloc(sizeof *shape);
    if (!shape)
        return spurity_report_memory(error);
    if (before && s->view.step_hz == survey->segments[i - 1].view.step_hz && same_filter(&before->filter, filter))
        *shape = *before;
    else
        spurity_shape_make(filter, s->view.step_hz, shape);
    if (!shape->known) {
        free(shape);
        return SPURITY_OK;
    }
    s->shape = shape;
    s->noise_bandwidth_hz = shape->noise_bins * filter->bin_hz;
    s->rbw_hz = s->rbw_hz > 0 ? s->rbw_hz : shape->width_bins * filter->bin_hz;
    return SPURITY_OK;
}

static spurity_status open_segments(spurity_survey *survey, spurity_error *error)
{
    const spurity_trace *trace = spurity_terminal_trace_view(survey->terminal);
    size_t count = spurity_trace_segment_count(trace);
    survey->segments = calloc(count ? count : 1, sizeof *survey->segments);
    if (!survey->segments)
        return spurity_report_memory(error);
    survey->segment_count = count;
    for (size_t i = 0; i < count; i++) {
        spurity_segment_survey *s = &survey->segments[i];
        if (!spurity_trace_segment(trace, i, &s->view))
            continue;
        const spurity_segment_facts *facts = &s->view.facts;
        s->rbw_hz = facts->rbw_hz > 0 && isfinite(facts->rbw_hz) ? facts->rbw_hz : 0;
        double factor = facts->noise_bandwidth_factor;
        s->noise_bandwidth_hz = s->rbw_hz * (factor > 0 && isfinite(factor) ? factor : GAUSSIAN_NOISE_BANDWIDTH);
        if (s->view.count > SIZE_MAX / (2 * sizeof *s->floor_db))
            return spurity_report_memory(error);
        s->floor_db = malloc(2 * s->view.count * sizeof *s->floor_db);
        if (!s->floor_db)
            return spurity_report_memory(error);
        s->bound_db = s->floor_db + s->view.count;
        spurity_status status = shape_segment(survey, i, error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

static spurity_status note_unknowns(const spurity_survey *survey, spurity_notes *notes)
{
    int file = spurity_terminal_trace_file(survey->terminal);
    bool rbw = false, detector = false;
    for (size_t i = 0; i < survey->segment_count; i++) {
        rbw = rbw || !(survey->segments[i].rbw_hz > 0);
        detector = detector || survey->segments[i].view.facts.detector == SPURITY_DETECTOR_UNKNOWN;
    }
    spurity_status status = SPURITY_OK;
    if (rbw)
        status = spurity_notes_add(notes, SPURITY_NOTE_RBW_UNKNOWN, file,
                                   "the RBW is not told: points are taken to stand one RBW apart, and no power is "
                                   "integrated");
    if (!status && detector)
        status = spurity_notes_add(notes, SPURITY_NOTE_DETECTOR_UNKNOWN, file,
                                   "the detector is not told: the least favourable one is assumed on each side");
    return status;
}

static spurity_status survey_segment(spurity_survey *survey, size_t i, spurity_regions *regions, spurity_notes *notes,
                                     const spurity_watch *watch, spurity_error *error)
{
    spurity_segment_survey *s = &survey->segments[i];
    double done = (double)i / (double)survey->segment_count, share = 1 / (double)survey->segment_count;
    if (!spurity_watch_tick(watch, "surveying", done))
        return SPURITY_CANCELLED;
    spurity_status status = spurity_survey_floor(s, survey->options.false_alarms, error);
    if (!status && !spurity_watch_tick(watch, "surveying", done + 0.5 * share))
        return SPURITY_CANCELLED;
    if (!status)
        status = spurity_survey_regions(s, regions, error);
    if (!status)
        status = spurity_survey_lines(survey, i, regions, notes, error);
    if (!status && !spurity_watch_tick(watch, "surveying", done + 0.8 * share))
        return SPURITY_CANCELLED;
    if (!status)
        spurity_survey_bounds(survey, s);
    if (!status)
        status = spurity_survey_cover(survey, i, notes, error);
    return status;
}

typedef struct place {
    double hz;
    size_t line;
} place;

static int by_place(const void *a, const void *b)
{
    const place *x = a, *y = b;
    if (x->hz != y->hz)
        return (x->hz > y->hz) - (x->hz < y->hz);
    return (x->line > y->line) - (x->line < y->line);
}

/* Brings the emissions of all segments in order of frequency; owners follow. */
static spurity_status sort_lines(spurity_survey *survey, spurity_error *error)
{
    size_t n = survey->line_count;
    if (n < 2)
        return SPURITY_OK;
    place *order = malloc(n * sizeof *order);
    size_t *now = malloc(n * sizeof *now);
    spurity_line *lines = malloc(n * sizeof *lines);
    spurity_status status = order && now && lines ? SPURITY_OK : spurity_report_memory(error);
    if (status)
        goto out;
    for (size_t i = 0; i < n; i++)
        order[i] = (place){survey->lines[i].frequency_hz, i};
    qsort(order, n, sizeof *order, by_place);
    for (size_t i = 0; i < n; i++) {
        lines[i] = survey->lines[order[i].line];
        now[order[i].line] = i;
    }
    for (size_t k = 0; k < survey->segment_count; k++)
        for (size_t i = 0; i < survey->segments[k].owner_count; i++) {
            spurity_owner *owner = &survey->segments[k].owners[i];
            owner->line = owner->line == SIZE_MAX ? SIZE_MAX : now[owner->line];
        }
    free(survey->lines);
    survey->lines = lines;
    survey->line_room = n;
    lines = NULL;
out:
    free(order);
    free(now);
    free(lines);
    return status;
}

static spurity_status survey_all(spurity_survey *survey, spurity_notes *notes, const spurity_watch *watch,
                                 spurity_error *error)
{
    spurity_regions regions = {0};
    spurity_status status = open_segments(survey, error);
    for (size_t i = 0; i < survey->segment_count && !status; i++)
        status = survey_segment(survey, i, &regions, notes, watch, error);
    free(regions.items);
    if (!status)
        status = sort_lines(survey, error);
    if (!status)
        status = note_unknowns(survey, notes);
    for (size_t i = 0; i < spurity_terminal_trace_blind_count(survey->terminal) && !status; i++) {
        const spurity_stretch *blind = spurity_terminal_trace_blind(survey->terminal, i);
        status = spurity_survey_add_hole(survey, blind->from_hz, blind->to_hz, blind->reason, blind->advice, error);
    }
    return status;
}

spurity_status spurity_survey_create(spurity_terminal_trace *terminal, const spurity_survey_options *options,
                                     spurity_notes *notes, const spurity_watch *watch, spurity_survey **survey,
                                     spurity_error *error)
{
    *survey = NULL;
    spurity_survey *made = calloc(1, sizeof *made);
    if (!made)
        return spurity_report_memory(error);
    spurity_survey_options_init(&made->options);
    if (options)
        made->options = *options;
    if (!(made->options.false_alarms > 0))
        made->options.false_alarms = 0.01;
    made->terminal = terminal;
    spurity_status status = survey_all(made, notes, watch, error);
    if (status) {
        made->terminal = NULL; /* still the caller's */
        spurity_survey_free(made);
        if (status == SPURITY_CANCELLED)
            return spurity_report(error, status, (spurity_place){0}, "the survey was stopped", NULL, NULL);
        return status;
    }
    *survey = made;
    return SPURITY_OK;
}

/* ---- questions ------------------------------------------------------------------------------------------------- */

const spurity_terminal_trace *spurity_survey_terminal(const spurity_survey *survey)
{
    return survey->terminal;
}

size_t spurity_survey_line_count(const spurity_survey *survey)
{
    return survey->line_count;
}

const spurity_line *spurity_survey_line(const spurity_survey *survey, size_t index)
{
    return index < survey->line_count ? &survey->lines[index] : NULL;
}

size_t spurity_survey_coverage_count(const spurity_survey *survey)
{
    return survey->coverage_count;
}

const spurity_coverage *spurity_survey_coverage(const spurity_survey *survey, size_t index)
{
    return index < survey->coverage_count ? &survey->coverage[index] : NULL;
}

size_t spurity_survey_hole_count(const spurity_survey *survey)
{
    return survey->hole_count;
}

const spurity_stretch *spurity_survey_hole(const spurity_survey *survey, size_t index)
{
    return index < survey->hole_count ? &survey->holes[index] : NULL;
}

static bool is_blind(const spurity_segment_survey *s, size_t i, long owner)
{
    bool left = i > 0 && !spurity_survey_far(s, i), right = i + 1 < s->view.count && !spurity_survey_far(s, i + 1);
    return owner == -2 || (s->view.count > 1 && !left && !right);
}

bool spurity_survey_point(const spurity_survey *survey, size_t segment, size_t index, spurity_point *point)
{
    if (segment >= survey->segment_count || index >= survey->segments[segment].view.count)
        return false;
    const spurity_segment_survey *s = &survey->segments[segment];
    long owner = spurity_survey_owner(s, index);
    *point = (spurity_point){.frequency_hz = s->view.frequency_hz[index],
                             .reading_db = s->view.level_db[index],
                             .floor_db = (double)s->floor_db[index],
                             .bound_db = (double)s->bound_db[index],
                             .line = owner < 0 ? -1 : owner,
                             .blind = is_blind(s, index, owner)};
    return true;
}

/* First point at or above hz. */
static size_t point_at(const spurity_segment *view, double hz)
{
    size_t low = 0, high = view->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (view->frequency_hz[middle] < hz)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Points about [from, to] within a coverage interval: those inside and one more on each side. */
static void points_about(const spurity_segment *view, const spurity_coverage *c, double from, double to, size_t *first,
                         size_t *last)
{
    size_t a = point_at(view, from), b = point_at(view, to);
    a = a > c->first ? (a < view->count && view->frequency_hz[a] == from ? a : a - 1) : c->first;
    *first = a > c->first ? a : c->first;
    *last = b < c->last ? b : c->last;
    if (*first > *last)
        *first = *last;
}

static bool feedthrough_between(const spurity_segment_survey *s, size_t first, size_t last)
{
    for (size_t k = 0; k < s->owner_count; k++)
        if (s->owners[k].line == SIZE_MAX && s->owners[k].first <= last && s->owners[k].last >= first)
            return true;
    return false;
}

bool spurity_survey_bound(const spurity_survey *survey, double from_hz, double to_hz, double *bound_db,
                          double *floor_db, double *at_hz)
{
    bool found = false;
    for (size_t k = 0; k < survey->coverage_count; k++) {
        const spurity_coverage *c = &survey->coverage[k];
        const spurity_segment_survey *s = &survey->segments[c->segment];
        if (!(from_hz >= c->from_hz && to_hz <= c->to_hz && from_hz <= to_hz))
            continue;
        size_t first, last, at;
        points_about(&s->view, c, from_hz, to_hz, &first, &last);
        if (feedthrough_between(s, first, last))
            continue;
        at = first;
        for (size_t i = first + 1; i <= last; i++)
            if (s->bound_db[i] > s->bound_db[at])
                at = i;
        if (found && (double)s->bound_db[at] >= *bound_db)
            continue; /* of several segments that cover it the lowest bound holds */
        found = true;
        *bound_db = (double)s->bound_db[at];
        *floor_db = (double)s->floor_db[at];
        if (at_hz)
            *at_hz = s->view.frequency_hz[at];
    }
    return found;
}

/* Detector bias of noise-like power: the lowest of the laws (an average of dB values reads low: unfavourable). */
static double noise_bias_db(const spurity_segment_survey *s)
{
    double lowest = s->law_count ? spurity_noise_mean_db(s->laws[0]) : 0;
    for (size_t i = 1; i < s->law_count; i++)
        lowest = fmin(lowest, spurity_noise_mean_db(s->laws[i]));
    return lowest;
}

static double power_between(const spurity_survey *survey, const spurity_segment_survey *s, size_t first, size_t last,
                            double from_hz, double to_hz)
{
    double sum = 0, bias = exp(-noise_bias_db(s) / DB_PER_NEPER);
    size_t owner = 0;
    for (size_t i = first; i <= last; i++) {
        double f = s->view.frequency_hz[i], step = s->view.step_hz;
        double left = i ? f - s->view.frequency_hz[i - 1] : step;
        double right = i + 1 < s->view.count ? s->view.frequency_hz[i + 1] - f : step;
        double low = fmax(from_hz, f - fmin(left, 1.5 * step) / 2), high = fmin(to_hz, f + fmin(right, 1.5 * step) / 2);
        if (high <= low)
            continue;
        while (owner < s->owner_count && s->owners[owner].last < i)
            owner++;
        bool owned = owner < s->owner_count && s->owners[owner].first <= i && s->owners[owner].line != SIZE_MAX;
        bool noise = !owned || survey->lines[s->owners[owner].line].character == SPURITY_NOISE_LIKE;
        sum += (high - low) * exp(s->view.level_db[i] / DB_PER_NEPER) * (noise ? bias : 1);
    }
    return sum / s->noise_bandwidth_hz;
}

bool spurity_survey_power(const spurity_survey *survey, double from_hz, double to_hz, double *power_db)
{
    for (size_t k = 0; k < survey->coverage_count; k++) {
        const spurity_coverage *c = &survey->coverage[k];
        const spurity_segment_survey *s = &survey->segments[c->segment];
        if (!(from_hz >= c->from_hz && to_hz <= c->to_hz && from_hz < to_hz) || !(s->rbw_hz > 0) || c->first == c->last)
            continue;
        size_t first, last;
        points_about(&s->view, c, from_hz, to_hz, &first, &last);
        if (feedthrough_between(s, first, last))
            continue;
        double power = power_between(survey, s, first, last, from_hz, to_hz);
        if (!(power > 0))
            continue;
        *power_db = DB_PER_NEPER * log(power);
        return true;
    }
    return false;
}

const spurity_line *spurity_survey_strongest(const spurity_survey *survey, double from_hz, double to_hz)
{
    const spurity_line *best = NULL;
    for (size_t i = 0; i < survey->line_count; i++) {
        const spurity_line *line = &survey->lines[i];
        if (line->frequency_hz >= from_hz && line->frequency_hz <= to_hz && (!best || line->level_db > best->level_db))
            best = line;
    }
    return best;
}
