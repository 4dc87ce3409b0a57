/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The spectrum about a carrier in another bandwidth than it was swept with: what a mask's reference filter would read.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "parts.h"

/* A Gaussian filter's noise bandwidth over its 3 dB bandwidth: sqrt(pi / (4 ln 2)). */
static const double GAUSSIAN_NOISE = 1.0644670194312262;
/* A sweep this near to the reference bandwidth is taken as being in it: names of filters are no better. */
static const double SAME_FILTER = 0.9;
/* An average of dB values reads noise-like power low by 10 log10 e^0.5772: Euler's constant. */
static const double LOG_AVERAGE_DB = 2.5068;
/* How far beside its stretch a reading is asked for what stands outside, in RBWs: four poles fall 100 dB in it. */
static const double LEAK_REACH = 40;

static const spurity_trace *trace_of(const spurity_measurement *m, int file)
{
    const spurity_survey *survey = m->files[file].survey;
    return survey ? spurity_terminal_trace_view(spurity_survey_terminal(survey)) : NULL;
}

static double power_of(double db)
{
    return pow(10, db / 10);
}

static double db_of(double power)
{
    return 10 * log10(power);
}

/* First index of frequencies >= hz. */
static size_t lower_bound(const spurity_segment *view, double hz)
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

static size_t nearest(const spurity_segment *view, double hz)
{
    size_t above = lower_bound(view, hz);
    if (above == view->count)
        return view->count - 1;
    return above && hz - view->frequency_hz[above - 1] < view->frequency_hz[above] - hz ? above - 1 : above;
}

size_t spurity_measurement_band_traces(const spurity_measurement *measurement, double from_hz, double to_hz,
                                       spurity_band_trace *traces, size_t most)
{
    size_t count = 0;
    for (size_t file = 0; file < measurement->file_count; file++) {
        const spurity_trace *trace = trace_of(measurement, (int)file);
        spurity_segment view;
        for (size_t s = 0; trace && spurity_trace_segment(trace, s, &view) && count < most; s++) {
            double rbw = view.facts.rbw_hz, margin = fmin(rbw, view.step_hz) / 2;
            double low = view.frequency_hz[0] - margin, high = view.frequency_hz[view.count - 1] + margin;
            if (!(rbw > 0) || view.count < 3 || high < from_hz || low > to_hz)
                continue;
            double factor = view.facts.noise_bandwidth_factor;
            traces[count++] = (spurity_band_trace){.file = (int)file,
                                                   .segment = s,
                                                   .from_hz = low,
                                                   .to_hz = high,
                                                   .rbw_hz = rbw,
                                                   .noise_bandwidth_hz = rbw * (factor > 0 ? factor : GAUSSIAN_NOISE),
                                                   .step_hz = view.step_hz,
                                                   .detector = view.facts.detector,
                                                   .averages = view.facts.averages};
        }
    }
    return count;
}

double spurity_measurement_band_depth(const spurity_measurement *measurement, const spurity_band_trace *trace,
                                      double from_hz, double to_hz)
{
    enum { LOOKS = 9 };
    const spurity_measured_file *file = &measurement->files[trace->file];
    spurity_segment view;
    double sum = 0, low = fmax(from_hz, trace->from_hz), high = fmin(to_hz, trace->to_hz);
    if (isnan(file->carrier_db) || !spurity_trace_segment(trace_of(measurement, trace->file), trace->segment, &view))
        return (double)INFINITY;
    for (int k = 0; k < LOOKS; k++) {
        spurity_point point;
        if (spurity_survey_point(file->survey, trace->segment, nearest(&view, low + (high - low) * (k + 0.5) / LOOKS),
                                 &point))
            sum += point.bound_db;
    }
    return sum / LOOKS - file->carrier_db;
}

/* ---- one reading ---- */

/* How a line offset_hz off a filter's centre reads, as a share of its power.  A filter that is not known: four
 * synchronously tuned poles, the widest skirts in use (common practice). */
static double response(const spurity_segment *view, double offset_hz)
{
    const spurity_filter *filter = &view->facts.filter;
    if (filter->kind != SPURITY_FILTER_UNKNOWN && filter->bin_hz > 0) {
        double bins = fabs(offset_hz) / filter->bin_hz, highest = 0;
        for (int i = -1; i <= 1; i++) /* between the zeros of its side lobes */
            highest = fmax(highest, fabs(spurity_filter_response(filter, fmax(bins + 0.5 * i, 0))));
        return highest * highest;
    }
    double x = 2 * offset_hz / view->facts.rbw_hz;
    return pow(1 + (sqrt(sqrt(2.0)) - 1) * x * x, -4);
}

/* The most that readings outside [from, to] let a filter centred on hz read of what makes them. */
static double leak_db(const spurity_segment *view, double hz, double from_hz, double to_hz)
{
    double reach = LEAK_REACH * view->facts.rbw_hz, highest = 0;
    size_t first = lower_bound(view, hz - reach);
    for (size_t i = first; i < view->count && view->frequency_hz[i] <= hz + reach; i++) {
        double f = view->frequency_hz[i];
        if (f >= from_hz && f <= to_hz) {
            i = lower_bound(view, nextafter(to_hz, (double)INFINITY)) - 1; /* on to what stands above */
            continue;
        }
        highest = fmax(highest, power_of(view->level_db[i]) * response(view, f - hz));
    }
    return highest > 0 ? db_of(highest) : -(double)INFINITY;
}

static double cell_low(const spurity_segment *view, size_t i)
{
    double step = i ? view->frequency_hz[i] - view->frequency_hz[i - 1] : view->step_hz;
    return view->frequency_hz[i] - fmin(step, 1.5 * view->step_hz) / 2;
}

static double cell_high(const spurity_segment *view, size_t i)
{
    double step = i + 1 < view->count ? view->frequency_hz[i + 1] - view->frequency_hz[i] : view->step_hz;
    return view->frequency_hz[i] + fmin(step, 1.5 * view->step_hz) / 2;
}

/* Readings weighted by a Gaussian curve of width_hz (3 dB) about hz whose weights are 1 in all; of each only the share
 * inside [from, to]. */
static double weighted_power(const spurity_segment *view, double hz, double width_hz, double from_hz, double to_hz)
{
    double sum = 0, weights = 0, reach = fmax(2 * width_hz, 0.6 * view->step_hz);
    for (size_t i = lower_bound(view, hz - reach); i < view->count && view->frequency_hz[i] <= hz + reach; i++) {
        double d = (view->frequency_hz[i] - hz) / width_hz, low = cell_low(view, i), high = cell_high(view, i);
        double weight = exp(-4 * log(2.0) * d * d), inside = fmin(high, to_hz) - fmax(low, from_hz);
        weights += weight * (high - low);
        if (inside > 0)
            sum += weight * inside * power_of(view->level_db[i]);
    }
    return weights > 0 ? sum / weights : 0;
}

/* The reading at hz between points: on top of a line by the parabola in dB, exact for a Gaussian filter; else linear in
 * dB. */
static double read_at(const spurity_segment *view, double hz)
{
    const double *f = view->frequency_hz, *level = view->level_db;
    size_t above = lower_bound(view, hz), i = nearest(view, hz);
    if (above == 0 || above == view->count)
        return level[above ? view->count - 1 : 0];
    if (i > 0 && i + 1 < view->count && level[i] >= level[i - 1] && level[i] >= level[i + 1] &&
        view->facts.detector != SPURITY_DETECTOR_PEAK) {
        double a = f[i - 1] - f[i], c = f[i + 1] - f[i], ya = level[i - 1] - level[i], yc = level[i + 1] - level[i];
        double curve = (yc / c - ya / a) / (c - a), slope = ya / a - curve * a, x = hz - f[i];
        return level[i] + slope * x + curve * x * x;
    }
    double part = (hz - f[above - 1]) / (f[above] - f[above - 1]);
    return level[above - 1] + part * (level[above] - level[above - 1]);
}

/* What spacing and detector leave open. */
static void set_doubt(const spurity_segment *view, const spurity_band_trace *trace, bool narrower,
                      spurity_band_reading *reading)
{
    double half = view->step_hz / 2, x = half / trace->rbw_hz;
    reading->low_db = reading->high_db = 0;
    if (trace->detector != SPURITY_DETECTOR_PEAK && !narrower) /* a line between two points */
        reading->low_db = fmin(view->facts.filter.kind == SPURITY_FILTER_UNKNOWN ? 12.0412 * x * x
                                                                                 : -db_of(response(view, half) + 1e-9),
                               20);
    else if (narrower && x > 0.375) /* a sum over points as far apart as the filter is wide ripples by this */
        reading->low_db = reading->high_db = 0.25;
    if (trace->detector == SPURITY_DETECTOR_LOG_AVERAGE || trace->detector == SPURITY_DETECTOR_UNKNOWN)
        reading->low_db += LOG_AVERAGE_DB;
}

/* Stretches of the receiver's band that are not trusted. */
static const char *hole_at(const spurity_measurement *m, const spurity_band_trace *trace, double hz)
{
    const struct measured_source *source = &m->sources[trace->file];
    for (size_t i = 0; i < source->receiver_hole_count; i++) {
        const struct receiver_hole *hole = &source->receiver_holes[i];
        if ((hole->segment < 0 || hole->segment == (long)trace->segment) && hole->stretch.from_hz <= hz &&
            hz <= hole->stretch.to_hz)
            return hole->stretch.reason;
    }
    return NULL;
}

/* Whether points are missing about hz. */
static bool in_gap(const spurity_segment *view, double hz)
{
    size_t above = lower_bound(view, hz), low = 0, high = view->gap_count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (view->gap_before[middle] < above)
            low = middle + 1;
        else
            high = middle;
    }
    if (low == view->gap_count || view->gap_before[low] != above)
        return false;
    return hz - view->frequency_hz[above - 1] > view->step_hz / 2 && view->frequency_hz[above] - hz > view->step_hz / 2;
}

bool spurity_measurement_read_band(const spurity_measurement *measurement, const spurity_band_trace *trace, double hz,
                                   double from_hz, double to_hz, double edge_hz, double reference_hz,
                                   spurity_band_reading *reading)
{
    spurity_segment view;
    spurity_point point;
    const spurity_survey *survey = measurement->files[trace->file].survey;
    if (!(hz >= trace->from_hz && hz <= trace->to_hz) ||
        !spurity_trace_segment(trace_of(measurement, trace->file), trace->segment, &view) ||
        !spurity_survey_point(survey, trace->segment, nearest(&view, hz), &point))
        return false;
    double own = trace->noise_bandwidth_hz / GAUSSIAN_NOISE; /* the Gaussian filter of the same noise bandwidth */
    bool narrower = trace->rbw_hz < SAME_FILTER * reference_hz && own < reference_hz;
    const char *hole = hole_at(measurement, trace, hz);
    *reading = (spurity_band_reading){.signal = point.line >= 0, .floor_db = point.floor_db};
    reading->blind = hole || point.blind || in_gap(&view, hz);
    snprintf(reading->reason, sizeof reading->reason, "%s",
             hole                                ? hole
             : in_gap(&view, hz)                 ? "not-swept"
             : !reading->blind                   ? ""
             : spurity_survey_hole_count(survey) ? spurity_survey_hole(survey, 0)->reason
                                                 : "hidden");
    set_doubt(&view, trace, narrower, reading);
    reading->level_db = read_at(&view, hz);
    reading->leak_db = leak_db(&view, hz, from_hz + edge_hz, to_hz - edge_hz);
    if (narrower) {
        double width = sqrt(reference_hz * reference_hz - own * own), border = trace->rbw_hz + edge_hz;
        double scale = GAUSSIAN_NOISE * reference_hz / trace->noise_bandwidth_hz;
        /* what stands at the very edge of the stretch shows one RBW beyond it, and one within */
        double all = weighted_power(&view, hz, width, from_hz - border, to_hz + border);
        double within = weighted_power(&view, hz, width, from_hz + border, to_hz - border);
        reading->level_db = db_of(fmax(scale * all, 1e-40));
        reading->floor_db += db_of(scale);
        reading->leak_db = db_of(power_of(reading->leak_db) + scale * (all - within) + 1e-40);
    } else if (trace->rbw_hz < reference_hz) {
        reading->low_db += db_of(reference_hz / trace->rbw_hz); /* were it filled */
    }
    reading->bound_db = reading->signal ? reading->level_db : fmax(reading->level_db, point.bound_db);
    return true;
}
