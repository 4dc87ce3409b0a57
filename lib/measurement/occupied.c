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

/* Where the power from one end of the window reaches `want`, inside the cell that holds it. */
static double edge(const struct window *w, double want, bool upper)
{
    double sum = 0, floor;
    size_t i = upper ? w->last : w->first;
    for (size_t n = w->last - w->first + 1; n > 0; n--) {
        double part = above_floor(w, i, &floor);
        if (sum + part >= want && part > 0) {
            double into = ((want - sum) / part - 0.5) * cell(&w->view, i);
            return w->view.frequency_hz[i] + (upper ? -into : into);
        }
        sum += part;
        i = upper ? i - 1 : i + 1;
    }
    return w->view.frequency_hz[upper ? w->first : w->last];
}

/* Power of what stands up as lines: points above all within two RBWs that fall by 10 dB to both sides within. */
static double sum_of_lines(const struct window *w, double rbw_hz)
{
    double sum = 0;
    const double *f = w->view.frequency_hz, *level = w->view.level_db;
    size_t reach = (size_t)ceil(2 * rbw_hz / w->view.step_hz);
    for (size_t i = w->first; i <= w->last; i++) {
        double below = level[i], above = level[i];
        bool top = true;
        for (size_t k = 1; k <= reach && top; k++) {
            size_t low = i > k ? i - k : 0, high = i + k < w->view.count ? i + k : w->view.count - 1;
            top = level[low] <= level[i] && level[high] < level[i];
            below = f[i] - f[low] <= 2.5 * rbw_hz ? fmin(below, level[low]) : below;
            above = f[high] - f[i] <= 2.5 * rbw_hz ? fmin(above, level[high]) : above;
        }
        if (top && below <= level[i] - 10 && above <= level[i] - 10)
            sum += power_of(level[i]);
    }
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
                                    .low_hz = edge(&w, HALF_PER_CENT * total, false),
                                    .high_hz = edge(&w, HALF_PER_CENT * total, true)};
    double more = HALF_PER_CENT * power_of(doubt_db), less = HALF_PER_CENT / power_of(doubt_db);
    figure->narrow_hz = edge(&w, more * total, true) - edge(&w, more * total, false);
    figure->wide_hz = edge(&w, less * total, true) - edge(&w, less * total, false);
    return true;
}
