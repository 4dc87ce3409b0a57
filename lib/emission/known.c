/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Figures of emissions through a filter of known shape.  Equations: README.md. */
#include <math.h>

#include "figures.h"

#define DB_PER_NEPER 4.342944819032518

static double power_of(double db)
{
    return exp(db / DB_PER_NEPER);
}

/* ---- a line through a filter of known shape ---------------------------------------------------------------------- */

/* Amplitudes about the peak for the fit: of each side those of the main lobe, no farther than where the readings rise
 * again (another line); next to the peak even a reading of nothing counts.  What noise does to an amplitude of s over
 * it grows by 1 + 1/(2 s). */
static void shape_points(const spurity_segment_survey *s, size_t peak, double background, spurity_shape_points *p)
{
    const double *level = s->view.level_db, *f = s->view.frequency_hz;
    int reach = (int)ceil(s->shape->null_bins) + 1;
    p->count = 0;
    for (int way = -1; way <= 1; way += 2)
        for (int k = way < 0 ? 1 : 0; k <= reach; k++) {
            if (way < 0 ? (size_t)k > peak : peak + (size_t)k >= s->view.count)
                break;
            size_t i = way < 0 ? peak - (size_t)k : peak + (size_t)k, inner = way < 0 ? i + 1 : i - 1;
            if (k && fabs(fabs(f[i] - f[peak]) - k * s->view.step_hz) > 0.1 * s->view.step_hz)
                break; /* a gap */
            double over = power_of(level[i]) - background, rise = k > 1 ? level[i] - level[inner] : 0;
            if ((k > 1 && !(over > background)) || (rise > 0.5 && power_of(level[i]) > 4 * background)) {
                if (rise > 0.5 && p->count > 1 && p->at[p->count - 1] == way * (k - 1))
                    p->count--; /* the valley between is of both */
                break;
            }
            p->at[p->count] = way * k;
            p->amplitude[p->count] = sqrt(fmax(over, 0));
            p->weight[p->count++] = 1 / (1 + background / (2 * fmax(over, background)));
        }
}

/* False where too little stands above the background. */
bool spurity_survey_shape_fit(const spurity_segment_survey *s, size_t peak, double background, spurity_shape_line *line)
{
    spurity_shape_points points;
    spurity_shape_fit fit;
    if (s->view.facts.detector != SPURITY_DETECTOR_AVERAGE && s->view.facts.detector != SPURITY_DETECTOR_SAMPLE)
        background *= 1e-3; /* only a mean power is the sum of line and noise */
    double top = power_of(s->view.level_db[peak]);
    background = fmin(background, 0.5 * top);
    double n = s->law_count && s->laws[0].kind != SPURITY_NOISE_MAXIMUM ? s->laws[0].n : 1;
    shape_points(s, peak, background, &points);
    points.noise = background / (2 * n);
    if (!spurity_shape_solve(s->shape, &points, &fit) || fabs(fit.offset) > s->shape->null_bins / 2 + 0.1)
        return false;
    line->hz = s->view.frequency_hz[peak] + fit.offset * s->shape->filter.bin_hz;
    line->db = 2 * DB_PER_NEPER * log(fit.amplitude);
    line->sigma_hz = fit.offset_gain * sqrt(points.noise) * s->shape->filter.bin_hz;
    line->sigma_factor = fit.level_gain;
    line->misfit = fit.misfit;
    return isfinite(line->db);
}

/* Level and frequency from the response itself: no points beside the peak to allow for. */
bool spurity_survey_shape_line(const spurity_segment_survey *s, size_t peak, double background_db, spurity_line *line)
{
    spurity_shape_line fit;
    double noise_low, noise_high, background = power_of(background_db);
    if (!spurity_survey_shape_fit(s, peak, background, &fit))
        return false;
    line->frequency_hz = fit.hz;
    line->level_db = fit.db;
    double snr = power_of(fit.db) / background;
    spurity_survey_noise_doubt(s, snr > 0.5 ? snr : 0.5, &noise_low, &noise_high);
    bool mean_power = s->law_count && s->laws[0].kind == SPURITY_NOISE_POWER;
    if (mean_power) /* the noise was taken out; half of it stays in doubt, as its floor is read from the same trace */
        noise_high -= 0.5 * DB_PER_NEPER * log1p(1 / (snr > 0.5 ? snr : 0.5));
    line->read_low_db = fit.sigma_factor * noise_low;
    line->read_high_db = fit.sigma_factor * noise_high;
    line->noise_up_db = line->noise_down_db = 0;
    if (s->law_count == 1 && s->laws[0].kind != SPURITY_NOISE_MAXIMUM)
        line->noise_up_db = line->noise_down_db = line->read_low_db / 1.96;
    line->width_hz = s->rbw_hz;
    line->frequency_uncertainty_hz =
        fmin(1.96 * fit.sigma_hz, s->shape->null_bins / 2 * s->shape->filter.bin_hz) + 0.002 * s->view.step_hz;
    line->trustworthy = true;
    return true;
}

/* ---- the width of an emission of several lines ------------------------------------------------------------------- */

/* Points whose power is one line's: from its top down to where the readings rise again or the main lobe ends. */
typedef struct basin {
    size_t first, last;
    double hz;
} basin;

static size_t basin_end(const spurity_segment_survey *s, size_t top, int way, size_t limit)
{
    const double *level = s->view.level_db;
    size_t reach = (size_t)ceil(s->shape->null_bins), least = top;
    for (size_t k = 1; k <= reach && (way > 0 ? top + k <= limit : top >= limit + k); k++) {
        size_t i = way > 0 ? top + k : top - k;
        if (level[i] > level[least] + 1)
            break;
        if (level[i] <= level[least])
            least = i;
        else if (k == reach)
            least = i;
    }
    return least;
}

static bool is_top(const spurity_segment_survey *s, size_t i, size_t low, size_t high)
{
    const double *level = s->view.level_db;
    size_t near = (size_t)ceil(s->shape->width_bins / 2);
    if (level[i] - (double)s->floor_db[i] <= (double)spurity_survey_block(s, i)->threshold_db)
        return false;
    for (size_t k = 1; k <= near; k++)
        if ((i >= low + k && level[i - k] >= level[i]) || (i + k <= high && level[i + k] > level[i]))
            return false;
    return true;
}

/* The next line from i on in direction way, within low..high. */
static bool next_line(const spurity_segment_survey *s, size_t i, int way, size_t low, size_t high, basin *found)
{
    size_t end = way > 0 ? high : low;
    for (;; i = way > 0 ? i + 1 : i - 1) {
        spurity_shape_line line;
        if (is_top(s, i, low, high) && spurity_survey_shape_fit(s, i, spurity_survey_noise_reading(s, i), &line) &&
            line.misfit * line.misfit < 0.05) {
            *found = (basin){basin_end(s, i, -1, low), basin_end(s, i, 1, high), line.hz};
            return true;
        }
        if (i == end)
            return false;
    }
}

/* Power over the floor in point i's cell, mW Hz. */
static double part_of(const spurity_segment_survey *s, size_t i)
{
    return spurity_survey_cell(s, i) * (power_of(s->view.level_db[i]) - spurity_survey_noise_reading(s, i));
}

/* From one end inwards until `want` is reached.  *on_line: it lies on a resolved line. */
static double edge_from(const spurity_segment_survey *s, size_t low, size_t high, int way, double want, bool *on_line)
{
    const double *f = s->view.frequency_hz;
    size_t i = way > 0 ? low : high, end = way > 0 ? high : low;
    basin line = {0};
    bool more = next_line(s, i, way, low, high, &line);
    double sum = 0;
    *on_line = false;
    for (;; i = way > 0 ? i + 1 : i - 1) {
        if (more && (way > 0 ? i >= line.first : i <= line.last)) {
            size_t last = way > 0 ? line.last : line.first;
            for (; sum += part_of(s, i), i != last; i = way > 0 ? i + 1 : i - 1)
                ;
            *on_line = sum >= want;
            if (sum >= want)
                return line.hz;
            more = last != end && next_line(s, way > 0 ? last + 1 : last - 1, way, low, high, &line);
        } else {
            double part = part_of(s, i);
            if (sum + part >= want && part > 0) /* the cell from -1/2 to 1/2 about its point */
                return f[i] + way * ((want - sum) / part - 0.5) * spurity_survey_cell(s, i);
            sum += part;
        }
        if (i == end)
            return f[end];
    }
}

bool spurity_survey_shape_edges(const spurity_segment_survey *s, size_t low, size_t high, double total, double edge[2])
{
    bool resolved = true;
    for (int side = 0; side < 2; side++) {
        bool on_line, inner_on_line;
        int way = side ? -1 : 1;
        edge[side] = edge_from(s, low, high, way, 0.005 * total, &on_line);
        resolved = resolved && on_line;
        if (on_line)
            continue;
        /* The filter smears a smooth spectrum: its cumulative power by half its second moment times the slope there,
         * which moves the edge out by half the moment times ln 2 over the way from half a per cent to one. */
        double bin = s->shape->filter.bin_hz, moment = s->shape->smear * bin * bin;
        double apart = way * (edge_from(s, low, high, way, 0.01 * total, &inner_on_line) - edge[side]);
        double out = 0.5 * moment * M_LN2 / fmax(apart, 0.2 * bin);
        edge[side] += way * fmin(out, sqrt(moment));
    }
    return resolved;
}
