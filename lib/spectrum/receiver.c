/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Sums over every sample and what they say of the receiver: level, rails, centre offset, I/Q imbalance.
 * Equations and judgements: README.md. */
#include <math.h>
#include <string.h>

#include "receiver.h"

#define PI 3.14159265358979323846

enum {
    CELL = 4096, /* samples from which the mean is taken away at a time */
    SHORT = 256, /* samples summed as floats before they go into a double */
    LANES = 16   /* sums side by side, so that they become vectors */
};

void spurity_receiver_init(spurity_receiver *receiver, bool is_complex, double rail_low, double rail_high)
{
    *receiver = (spurity_receiver){.is_complex = is_complex,
                                   .rails_known = !isnan(rail_low) && !isnan(rail_high),
                                   .rail_low = (float)rail_low,
                                   .rail_high = (float)rail_high,
                                   .up = {.first = -1, .second = -1},
                                   .down = {.first = -1, .second = -1}};
}

/* ---- highest values ------------------------------------------------------------------------------ */

static void top_put(spurity_receiver_top *top, float value, uint64_t count)
{
    if (value > top->first) {
        top->second = top->first;
        top->seconds = top->firsts;
        top->first = value;
        top->firsts = count;
    } else if (value == top->first) {
        top->firsts += count;
    } else if (value > top->second) {
        top->second = value;
        top->seconds = count;
    } else if (value == top->second) {
        top->seconds += count;
    }
}

static void top_add(spurity_receiver_top *top, const spurity_receiver_top *next)
{
    if (next->firsts)
        top_put(top, next->first, next->firsts);
    if (next->seconds)
        top_put(top, next->second, next->seconds);
}

static void tops_look(spurity_receiver *receiver, const float *x, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (x[i] > 0 && x[i] >= receiver->up.second)
            top_put(&receiver->up, x[i], 1);
        else if (x[i] < 0 && -x[i] >= receiver->down.second)
            top_put(&receiver->down, -x[i], 1);
    }
}

/* A converter (or a limiter) that stops puts many samples on one value, and few just under it: of a sine, quantised,
 * the highest code holds at most 1 / (sqrt(2) - 1) = 2.4 times the samples of the one below.  Judgement: 4 times, 8
 * samples, and a next value close by (else it is a signal of few values, not one cut off). */
static bool top_pinned(const spurity_receiver_top *top)
{
    return top->firsts >= 8 && top->seconds > 0 && top->firsts > 4 * top->seconds && top->second > 0.9F * top->first;
}

/* ---- sums ---------------------------------------------------------------------------------------- */

struct sums {
    double even, odd, even2, odd2, cross; /* of x[0], x[2] ..., x[1], x[3] ..., squares, x[2k] x[2k+1] */
    float largest;
    uint64_t at_rail;
};

/* The SHORT samples (or fewer) of one short run; count even of complex ones. */
static void sum_slowly(const float *x, size_t count, float low, float high, struct sums *sums)
{
    for (size_t i = 0; i < count; i++) {
        double v = (double)x[i];
        *(i % 2 ? &sums->odd : &sums->even) += v;
        *(i % 2 ? &sums->odd2 : &sums->even2) += v * v;
        sums->largest = fmaxf(sums->largest, fabsf(x[i]));
        sums->at_rail += x[i] <= low || x[i] >= high;
    }
    for (size_t i = 0; i + 1 < count; i += 2)
        sums->cross += (double)x[i] * (double)x[i + 1];
}

/* As above for a multiple of LANES values, as vectors. */
static void sum_quickly(const float *restrict x, size_t count, float low, float high, struct sums *sums)
{
    float s[LANES] = {0}, s2[LANES] = {0}, c[LANES / 2] = {0}, m[LANES] = {0};
    int rail[LANES] = {0};
    for (size_t k = 0; k < count; k += LANES) {
        for (int j = 0; j < LANES; j++) {
            float v = x[k + (size_t)j], a = fabsf(v);
            s[j] += v;
            s2[j] += v * v;
            m[j] = a > m[j] ? a : m[j];
            rail[j] += (v <= low) | (v >= high);
        }
        for (int j = 0; j < LANES / 2; j++)
            c[j] += x[k + 2 * (size_t)j] * x[k + 2 * (size_t)j + 1];
    }
    for (int j = 0; j < LANES; j++) {
        *(j % 2 ? &sums->odd : &sums->even) += (double)s[j];
        *(j % 2 ? &sums->odd2 : &sums->even2) += (double)s2[j];
        sums->largest = m[j] > sums->largest ? m[j] : sums->largest;
        sums->at_rail += (uint64_t)rail[j];
    }
    for (int j = 0; j < LANES / 2; j++)
        sums->cross += (double)c[j];
}

/* Sets what is not finite to 0 (both components of the sample); returns how many samples. */
static size_t clean(float *x, size_t samples, size_t components)
{
    size_t found = 0;
    for (size_t i = 0; i < samples; i++) {
        bool fine = true;
        for (size_t c = 0; c < components; c++)
            fine = fine && isfinite(x[i * components + c]);
        for (size_t c = 0; c < components && !fine; c++)
            x[i * components + c] = 0;
        found += !fine;
    }
    return found;
}

static void close_cell(spurity_receiver *receiver)
{
    struct spurity_receiver_cell *cell = &receiver->cell;
    double n = (double)cell->samples;
    receiver->i += cell->i;
    receiver->q += cell->q;
    receiver->ii += cell->ii;
    receiver->qq += cell->qq;
    receiver->iq += cell->iq;
    if (receiver->is_complex && cell->samples >= CELL / 2) {
        double ii = cell->ii - cell->i * cell->i / n, qq = cell->qq - cell->q * cell->q / n;
        double re = ii - qq, im = 2 * (cell->iq - cell->i * cell->q / n), power = ii + qq;
        struct spurity_receiver_moments *m = &receiver->moments[0];
        m->count++;
        m->power += power;
        m->power2 += power * power;
        m->re += re;
        m->im += im;
        m->square += re * re + im * im;
        m->re_power += re * power;
        m->im_power += im * power;
        receiver->run.re += re;
        receiver->run.im += im;
        receiver->run.power += power;
    }
    *cell = (struct spurity_receiver_cell){0};
}

static void close_run(spurity_receiver *receiver)
{
    struct spurity_receiver_run *run = &receiver->run;
    struct spurity_receiver_moments *m = &receiver->moments[1];
    if (receiver->cell.samples > 0)
        close_cell(receiver);
    if (run->power > 0) {
        m->count++;
        m->power += run->power;
        m->power2 += run->power * run->power;
        m->re += run->re;
        m->im += run->im;
        m->square += run->re * run->re + run->im * run->im;
        m->re_power += run->re * run->power;
        m->im_power += run->im * run->power;
    }
    *run = (struct spurity_receiver_run){0};
}

/* One short run, within a cell. */
static void feed_short(spurity_receiver *receiver, float *x, size_t samples)
{
    size_t components = receiver->is_complex ? 2 : 1, count = samples * components;
    float low = receiver->rails_known ? receiver->rail_low : -INFINITY;
    float high = receiver->rails_known ? receiver->rail_high : INFINITY;
    struct sums sums = {0};
    if (count % LANES == 0)
        sum_quickly(x, count, low, high, &sums);
    if (count % LANES != 0 || !isfinite(sums.even2 + sums.odd2)) {
        receiver->not_finite += clean(x, samples, components);
        sums = (struct sums){0};
        sum_slowly(x, count, low, high, &sums);
    }
    struct spurity_receiver_cell *cell = &receiver->cell;
    bool pairs = receiver->is_complex;
    cell->i += pairs ? sums.even : sums.even + sums.odd;
    cell->q += pairs ? sums.odd : 0;
    cell->ii += pairs ? sums.even2 : sums.even2 + sums.odd2;
    cell->qq += pairs ? sums.odd2 : 0;
    cell->iq += pairs ? sums.cross : 0;
    receiver->largest = fmaxf(receiver->largest, sums.largest);
    receiver->at_rail += sums.at_rail;
    /* With rails to count at, a sixteenth of the samples is enough for a converter that stops short of them. */
    if ((!receiver->rails_known || cell->samples == 0) &&
        sums.largest >= fminf(receiver->up.second, receiver->down.second))
        tops_look(receiver, x, count);
    cell->samples += samples;
}

size_t spurity_receiver_feed(spurity_receiver *receiver, float *samples, size_t count)
{
    uint64_t before = receiver->not_finite;
    size_t components = receiver->is_complex ? 2 : 1;
    receiver->samples += count;
    for (size_t done = 0, now; done < count; done += now) {
        now = SHORT - receiver->cell.samples % SHORT;
        now = now < count - done ? now : count - done;
        feed_short(receiver, samples + done * components, now);
        if (receiver->cell.samples == CELL)
            close_cell(receiver);
    }
    return (size_t)(receiver->not_finite - before);
}

void spurity_receiver_feed_cell(spurity_receiver *receiver, const spurity_receiver_sums *sums, const float *start,
                                size_t start_count)
{
    if (receiver->cell.samples > 0)
        close_cell(receiver);
    receiver->samples += CELL;
    receiver->largest = fmaxf(receiver->largest, sums->largest);
    receiver->at_rail += sums->at_rail;
    if (sums->largest >= fminf(receiver->up.second, receiver->down.second))
        tops_look(receiver, start, start_count);
    receiver->cell = (struct spurity_receiver_cell){CELL, sums->i, sums->q, sums->ii, sums->qq, sums->iq};
    close_cell(receiver);
}

void spurity_receiver_add(spurity_receiver *receiver, const spurity_receiver *next)
{
    spurity_receiver closed = *next;
    close_run(&closed);
    close_run(receiver);
    receiver->samples += closed.samples;
    receiver->at_rail += closed.at_rail;
    receiver->not_finite += closed.not_finite;
    receiver->i += closed.i;
    receiver->q += closed.q;
    receiver->ii += closed.ii;
    receiver->qq += closed.qq;
    receiver->iq += closed.iq;
    receiver->largest = fmaxf(receiver->largest, closed.largest);
    top_add(&receiver->up, &closed.up);
    top_add(&receiver->down, &closed.down);
    for (int i = 0; i < 2; i++) {
        struct spurity_receiver_moments *m = &receiver->moments[i];
        const struct spurity_receiver_moments *more = &closed.moments[i];
        m->count += more->count;
        m->power += more->power;
        m->power2 += more->power2;
        m->re += more->re;
        m->im += more->im;
        m->square += more->square;
        m->re_power += more->re_power;
        m->im_power += more->im_power;
    }
}

/* ---- what follows -------------------------------------------------------------------------------- */

double spurity_receiver_image_db(double gain_db, double phase_deg)
{
    double g = pow(10, gain_db / 20), twice = 2 * g * cos(phase_deg * PI / 180);
    double image = 1 - twice + g * g;
    return image > 0 ? fmin(10 * log10((1 + twice + g * g) / image), 120) : 120;
}

/* Mean square of what is left of p without kappa P, of the parts about it. */
static double scatter(const struct spurity_receiver_moments *m, double re, double im)
{
    double left = m->square - 2 * (re * m->re_power + im * m->im_power) + (re * re + im * im) * m->power2;
    return fmax(left, 0) / m->count;
}

/* Standard deviation of kappa = sum p / sum P by that. */
static double kappa_sigma(const struct spurity_receiver_moments *m, double re, double im)
{
    return sqrt(scatter(m, re, im) / (m->count - 1)) * m->count / m->power;
}

/* Imbalance makes the mean square of the samples, over their power, one steady small complex number kappa; a signal
 * that is circular of itself adds none.  Judgement: kappa is the receiver's when
 * - it is known to a quarter of itself, or to 0.002 (an image of -60 dB), over cells and over runs;
 * - it stands still: from cell to cell it scatters by less than half of itself, or by what noise does in 4096 samples
 *   (sqrt(2 / 4096) = 0.022, taken as 0.026); the sidebands of speech on the centre do not;
 * - it is not above 0.25 (an image of -18 dB). */
static void find_imbalance(const spurity_receiver *receiver, spurity_spectrum_facts *facts)
{
    const struct spurity_receiver_moments *cells = &receiver->moments[0], *runs = &receiver->moments[1];
    facts->gain_imbalance_db = facts->phase_imbalance_deg = facts->image_db = (double)NAN;
    if (!receiver->is_complex || cells->count < 16 || !(cells->power > 0))
        return;
    double re = cells->re / cells->power, im = cells->im / cells->power, size = hypot(re, im);
    double sigma = kappa_sigma(cells, re, im), still = sqrt(scatter(cells, re, im) * cells->count / cells->power2);
    if (runs->count >= 8)
        sigma = fmax(sigma, kappa_sigma(runs, re, im));
    if (size > 0.25 || sigma > fmax(0.25 * size, 0.002) || still > fmax(0.5 * size, 0.026))
        return;
    facts->gain_imbalance_db = 10 * log10((1 + re) / (1 - re));
    facts->phase_imbalance_deg = asin(im / sqrt(1 - re * re)) * 180 / PI;
    facts->image_db = spurity_receiver_image_db(facts->gain_imbalance_db, facts->phase_imbalance_deg);
}

void spurity_receiver_finish(const spurity_receiver *receiver, spurity_spectrum_facts *facts)
{
    spurity_receiver all = *receiver;
    close_run(&all);
    double n = (double)all.samples, power = (all.ii + all.qq) / n;
    facts->samples = all.samples;
    facts->not_finite = all.not_finite;
    facts->components = all.samples * (all.is_complex ? 2 : 1);
    facts->at_rail = all.at_rail;
    facts->largest = (double)all.largest;
    facts->pinned = all.at_rail == 0 && (top_pinned(&all.up) || top_pinned(&all.down));
    facts->mean_db = power > 0 ? 10 * log10(all.is_complex ? power : 2 * power) : (double)NAN;
    facts->dc_i = n > 0 ? all.i / n : (double)NAN;
    facts->dc_q = n > 0 && all.is_complex ? all.q / n : (n > 0 ? 0 : (double)NAN);
    find_imbalance(&all, facts);
}
