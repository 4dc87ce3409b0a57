/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The power about a carrier: how much, about which middle, and how wide. */
#include <math.h>

#include "parts.h"

/* Occupied bandwidth: half a per cent of the mean power below its lower limit, half a per cent above its upper one (47
 * CFR 2.1049, 2.202(a); Radio Regulations, 1.153). */
static const double HALF_PER_CENT = 0.005;

struct window {
    spurity_segment view;
    const spurity_survey *survey;
    size_t segment, first, last;
};

static double power_of(double db)
{
    return pow(10, db / 10);
}

static double cell(const spurity_segment *view, size_t i)
{
    double left = i ? view->frequency_hz[i] - view->frequency_hz[i - 1] : view->step_hz;
    double right = i + 1 < view->count ? view->frequency_hz[i + 1] - view->frequency_hz[i] : view->step_hz;
    return (fmin(left, 1.5 * view->step_hz) + fmin(right, 1.5 * view->step_hz)) / 2;
}

/* Power density at a point times its cell, over the floor. */
static double above_floor(const struct window *w, size_t i, double *floor)
{
    spurity_point point;
    *floor = 0;
    if (!spurity_survey_point(w->survey, w->segment, i, &point))
        return 0;
    *floor = cell(&w->view, i) * power_of(point.floor_db);
    return cell(&w->view, i) * power_of(point.reading_db) - *floor;
}

/* Whether a point is the top of a line that stands apart: above all within 1.25 RBW, 10 dB and more above what stands
 * there on either side (a Gaussian filter falls so far in 0.91 RBW). */
static bool is_top(const spurity_segment *view, size_t i, double rbw_hz)
{
    const double *f = view->frequency_hz, *level = view->level_db;
    double below = level[i], above = level[i], reach = 1.25 * rbw_hz + view->step_hz / 2;
    for (size_t k = i; k > 0 && f[i] - f[k - 1] <= reach; k--) {
        if (level[k - 1] > level[i])
            return false;
        below = fmin(below, level[k - 1]);
    }
    for (size_t k = i + 1; k < view->count && f[k] - f[i] <= reach; k++) {
        if (level[k] >= level[i])
            return false;
        above = fmin(above, level[k]);
    }
    return below <= level[i] - 10 && above <= level[i] - 10;
}

/* Vertex of the parabola through a top and its neighbours: a Gaussian filter's centre. */
static double vertex(const spurity_segment *view, size_t i)
{
    if (i == 0 || i + 1 >= view->count)
        return view->frequency_hz[i];
    double a = view->level_db[i - 1], b = view->level_db[i], c = view->level_db[i + 1], curve = a - 2 * b + c;
    double step = (view->frequency_hz[i + 1] - view->frequency_hz[i - 1]) / 2;
    return view->frequency_hz[i] + (curve < 0 ? fmax(fmin(0.5 * (a - c) / curve, 0.5), -0.5) * step : 0);
}

/* Where the power from one end of the window reaches `want`: at the line in whose lobe that falls, since the filter's
 * width is not the line's; else inside the cell. */
static double edge(const struct window *w, double rbw_hz, double want, bool upper)
{
    const double *f = w->view.frequency_hz;
    double sum = 0, floor, part = 0;
    size_t i = upper ? w->last : w->first, n = w->last - w->first + 1;
    for (; n > 0; n--) {
        part = above_floor(w, i, &floor);
        if (sum + part >= want && part > 0)
            break;
        sum += part;
        i = upper ? i - 1 : i + 1;
    }
    if (!n)
        return f[upper ? w->first : w->last];
    size_t top = i;
    for (size_t k = i; k > w->first && f[i] - f[k] <= rbw_hz; k--)
        top = w->view.level_db[k] > w->view.level_db[top] ? k : top;
    for (size_t k = i; k < w->last && f[k] - f[i] <= rbw_hz; k++)
        top = w->view.level_db[k] > w->view.level_db[top] ? k : top;
    if (is_top(&w->view, top, rbw_hz))
        return vertex(&w->view, top);
    double into = ((want - sum) / part - 0.5) * cell(&w->view, i);
    return f[i] + (upper ? -into : into);
}

static double sum_of_lines(const struct window *w, double rbw_hz)
{
    double sum = 0;
    for (size_t i = w->first; i <= w->last; i++)
        if (is_top(&w->view, i, rbw_hz))
            sum += power_of(w->view.level_db[i]);
    return sum > 0 ? 10 * log10(sum) : (double)NAN;
}

static bool open_window(const spurity_measurement *m, const spurity_band_trace *trace, double from_hz, double to_hz,
                        struct window *w)
{
    w->survey = m->files[trace->file].survey;
    w->segment = trace->segment;
    if (!w->survey || from_hz < trace->from_hz || to_hz > trace->to_hz ||
        !spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(w->survey)), trace->segment,
                               &w->view))
        return false;
    w->first = 0;
    while (w->first + 1 < w->view.count && w->view.frequency_hz[w->first] < from_hz)
        w->first++;
    w->last = w->first;
    while (w->last + 1 < w->view.count && w->view.frequency_hz[w->last + 1] <= to_hz)
        w->last++;
    for (size_t i = 0; i < w->view.gap_count; i++)
        if (w->view.gap_before[i] > w->first && w->view.gap_before[i] <= w->last)
            return false;
    return w->last > w->first + 2;
}

bool spurity_measurement_band_figure(const spurity_measurement *measurement, const spurity_band_trace *trace,
                                     double centre_hz, double half_hz, double doubt_db, spurity_band_figure *figure)
{
    struct window w;
    double total = 0, floor_total = 0, first_moment = 0, second = 0, strongest = -(double)INFINITY;
    if (!open_window(measurement, trace, centre_hz - half_hz, centre_hz + half_hz, &w))
        return false;
    for (size_t i = w.first; i <= w.last; i++) {
        double floor, d = w.view.frequency_hz[i] - centre_hz, part = above_floor(&w, i, &floor);
        total += part;
        floor_total += floor;
        first_moment += d * part;
        second += d * d * part;
        strongest = fmax(strongest, w.view.level_db[i]);
    }
    if (!(total > 0))
        return false;
    double mean = first_moment / total;
    *figure = (spurity_band_figure){.power_db = 10 * log10(total / trace->noise_bandwidth_hz),
                                    .lines_db = sum_of_lines(&w, trace->rbw_hz),
                                    .strongest_db = strongest,
                                    .floor_share = floor_total / total,
                                    .centroid_hz = centre_hz + mean,
                                    .rms_hz = sqrt(fmax(second / total - mean * mean, 0)),
                                    .low_hz = edge(&w, trace->rbw_hz, HALF_PER_CENT * total, false),
                                    .high_hz = edge(&w, trace->rbw_hz, HALF_PER_CENT * total, true)};
    double more = HALF_PER_CENT * power_of(doubt_db), less = HALF_PER_CENT / power_of(doubt_db);
    figure->narrow_hz = edge(&w, trace->rbw_hz, more * total, true) - edge(&w, trace->rbw_hz, more * total, false);
    figure->wide_hz = edge(&w, trace->rbw_hz, less * total, true) - edge(&w, trace->rbw_hz, less * total, false);
    return true;
}
