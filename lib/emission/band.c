/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Power of a wider emission in a reference bandwidth. */
#include <math.h>
#include <stdlib.h>

#include "figures.h"

#define DB_PER_NEPER 4.342944819032518

/* A window is moved by this part of itself: what lies wholly in one place is then missed by 0.14 dB at most. */
enum { WINDOW_PARTS = 16 };

static double power_of(double db)
{
    return exp(db / DB_PER_NEPER);
}

static double db_of(double power)
{
    return DB_PER_NEPER * log(power);
}

bool spurity_survey_noise(const spurity_survey *survey, size_t segment, spurity_noise_reading *noise)
{
    if (segment >= survey->segment_count)
        return false;
    const spurity_segment_survey *s = &survey->segments[segment];
    *noise = (spurity_noise_reading){.bandwidth_hz = s->noise_bandwidth_hz,
                                     .sigma_db = s->sigma_db,
                                     .look_hz = s->points_per_look * s->view.step_hz};
    for (size_t i = 0; i < s->law_count; i++) {
        double bias = spurity_noise_mean_db(s->laws[i]);
        noise->low_db = i ? fmin(noise->low_db, bias) : bias;
        noise->high_db = i ? fmax(noise->high_db, bias) : bias;
    }
    return true;
}

/* What a window is laid over. */
struct ground {
    const spurity_segment_survey *s;
    const spurity_line *line;
    long owner;
    size_t first, last; /* points of the footprint */
    double bias;        /* readings to power */
};

struct window {
    double from_hz, to_hz;
    double power, floor; /* of the floor alone */
};

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

static void sum_window(const struct ground *g, size_t start, double from_hz, double to_hz, struct window *window)
{
    const spurity_segment_survey *s = g->s;
    *window = (struct window){.from_hz = from_hz, .to_hz = to_hz};
    for (size_t i = start; i <= g->last; i++) {
        double half = spurity_survey_cell(s, i) / 2, f = s->view.frequency_hz[i];
        if (f - half >= to_hz)
            break;
        double part = fmin(f + half, to_hz) - fmax(f - half, from_hz);
        if (!(part > 0))
            continue;
        double floor = power_of((double)s->floor_db[i]);
        long owner = spurity_survey_owner(s, i);
        bool other = owner != g->owner && owner != -1; /* a line in it is judged by itself */
        window->power += part * (other ? floor : power_of(s->view.level_db[i]) * g->bias);
        window->floor += part * floor;
    }
    window->power /= s->noise_bandwidth_hz;
    window->floor /= s->noise_bandwidth_hz;
}

/* The highest of all windows within the footprint; the footprint whole where it is narrower. */
static struct window highest_window(const struct ground *g, double width_hz)
{
    const double *f = g->s->view.frequency_hz;
    double low = f[g->first], high = f[g->last], hop = width_hz / WINDOW_PARTS;
    struct window best = {0}, one;
    size_t start = g->first;
    if (high - low <= width_hz) {
        sum_window(g, start, low, high, &best);
        return best;
    }
    size_t count = (size_t)ceil((high - low - width_hz) / hop);
    for (size_t k = 0; k <= count; k++) {
        double from = k < count ? low + (double)k * hop : high - width_hz;
        while (start < g->last && f[start] + spurity_survey_cell(g->s, start) / 2 <= from)
            start++;
        sum_window(g, start, from, from + width_hz, &one);
        if (one.power > best.power)
            best = one;
    }
    return best;
}

/* Noise-like emissions that lie in a bandwidth about this one add to it. */
static double like_it(const spurity_survey *survey, const struct ground *g, double from_hz, double to_hz,
                      double *rest_hz)
{
    double sum = 0;
    for (int way = -1; way <= 1; way += 2)
        for (long i = g->owner + way; i >= 0 && (size_t)i < survey->line_count; i += way) {
            const spurity_line *other = &survey->lines[i];
            if (other->frequency_hz < from_hz || other->frequency_hz > to_hz)
                break;
            if (other->segment != g->line->segment || other->character != SPURITY_NOISE_LIKE ||
                other->low_hz < from_hz || other->high_hz > to_hz)
                continue;
            sum += power_of(other->level_db);
            *rest_hz -= other->high_hz - other->low_hz;
        }
    return sum;
}

/* An emission narrower than the bandwidth counts whole. */
static void whole(const spurity_survey *survey, const struct ground *g, double bandwidth_hz, spurity_band_power *power)
{
    const spurity_line *line = g->line;
    double middle = (line->low_hz + line->high_hz) / 2, rest = bandwidth_hz - (line->high_hz - line->low_hz);
    *power = (spurity_band_power){.from_hz = middle - bandwidth_hz / 2,
                                  .to_hz = middle + bandwidth_hz / 2,
                                  .power_db = line->level_db,
                                  .floor_db = -INFINITY,
                                  .read_low_db = line->read_low_db,
                                  .read_high_db = line->read_high_db};
    if (line->character != SPURITY_NOISE_LIKE)
        return;
    double sum = power_of(line->level_db) + like_it(survey, g, power->from_hz, power->to_hz, &rest);
    double beside = power_of(line->floor_db) * fmax(rest, 0) / g->s->noise_bandwidth_hz;
    power->power_db = db_of(sum);
    power->read_low_db += db_of(1 + beside / sum);
}

/* A wider one: the highest window within it. */
static void part(const struct ground *g, const spurity_noise_reading *noise, double bandwidth_hz,
                 spurity_band_power *power)
{
    const spurity_line *line = g->line;
    bool is_noise = line->character == SPURITY_NOISE_LIKE, one_law = noise->low_db == noise->high_db;
    struct window best = highest_window(g, bandwidth_hz);
    *power = (spurity_band_power){.from_hz = best.from_hz,
                                  .to_hz = best.to_hz,
                                  .power_db = db_of(best.power),
                                  .floor_db = db_of(fmax(best.floor, 1e-300))};
    if (!is_noise || !one_law) { /* what the detector did is not known */
        power->read_low_db += fmax(-noise->low_db, 0);
        power->read_high_db += fmax(noise->high_db, 0);
    }
    if (is_noise) { /* the highest of several windows is high by chance too */
        double windows = (line->high_hz - line->low_hz) / bandwidth_hz;
        double scatter = noise->sigma_db / sqrt(fmax(bandwidth_hz / noise->look_hz, 1));
        power->read_low_db += 1.96 * scatter;
        power->read_high_db += (1.96 + sqrt(2 * log(fmax(windows, 1)))) * scatter;
        return;
    }
    /* The filter smears a line that stands at the window's edge over it: half an RBW more on each side holds it whole;
     * and what one RBW holds at once is in any wider bandwidth. */
    struct window wider = highest_window(g, bandwidth_hz + g->s->rbw_hz);
    power->power_db = fmax(power->power_db, line->peak_db);
    power->read_low_db += fmax(db_of(wider.power) - power->power_db, 0);
}

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Whether the readings scatter as noise does: the middle one of the second differences from look to look is
 * 0.6745 sqrt(6) = 1.65 sigma for noise and next to nothing for lines that the filter smears into one another.  A
 * quarter of it is asked for, of eight looks at least, edges (10 dB under the highest reading) left out; noise that is
 * averaged to less than 0.2 dB looks like smeared lines. */
static bool scatters(const struct ground *g)
{
    enum { MOST = 256, LOOKS_LEAST = 8 };
    double change[MOST];
    const spurity_segment_survey *s = g->s;
    const double *v = s->view.level_db;
    size_t look = (size_t)ceil(s->points_per_look), from = g->first, to = g->last, n = 0;
    while (from < to && v[from] < g->line->peak_db - 10)
        from++;
    while (to > from && v[to] < g->line->peak_db - 10)
        to--;
    if (to - from < (LOOKS_LEAST + 2) * look || s->sigma_db < 0.2)
        return false;
    from += look;
    to -= look;
    size_t stride = (to - from) / MOST + 1;
    for (size_t i = from + 2 * look; i <= to && n < MOST; i += stride)
        change[n++] = fabs(v[i] - 2 * v[i - look] + v[i - 2 * look]);
    qsort(change, n, sizeof *change, compare_doubles);
    return change[n / 2] > 0.25 * 1.65 * s->sigma_db;
}

bool spurity_survey_highest_power(const spurity_survey *survey, size_t index, double bandwidth_hz,
                                  spurity_band_power *power)
{
    const spurity_line *line = spurity_survey_line(survey, index);
    spurity_noise_reading noise;
    if (!line || line->character == SPURITY_LINE || !line->trustworthy || !(bandwidth_hz > 0) ||
        !spurity_survey_noise(survey, line->segment, &noise) || !(noise.bandwidth_hz > 0))
        return false;
    const spurity_segment_survey *s = &survey->segments[line->segment];
    struct ground ground = {.s = s,
                            .line = line,
                            .owner = (long)index,
                            .first = point_at(&s->view, line->low_hz),
                            .last = point_at(&s->view, line->high_hz),
                            .bias = 1};
    if (ground.last >= s->view.count)
        ground.last = s->view.count - 1;
    if (line->character == SPURITY_NOISE_LIKE && noise.low_db == noise.high_db)
        ground.bias = power_of(-noise.low_db);
    if (line->high_hz - line->low_hz <= bandwidth_hz)
        whole(survey, &ground, bandwidth_hz, power);
    else
        part(&ground, &noise, bandwidth_hz, power);
    power->scatters = scatters(&ground);
    return true;
}
