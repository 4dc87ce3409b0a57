/* SPDX-License-Identifier: GPL-2.0-or-later */
/* One tone in one block: where the transform of the whole block, unwindowed, is highest.
 *
 * The iteration on two half-bin neighbours is Aboutanios' and Mulgrew's (IEEE Trans. Signal Processing, 2005; from
 * memory); its variance is 1.0147 of the Cramer-Rao bound, and without noise it ends on the frequency itself.  Of real
 * samples the tone at -f is taken out of what is read at f, by its closed form. */
#include <fftw3.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "receiver.h"

#define PI 3.14159265358979323846

typedef struct complex_number {
    double re, im;
} complex_number;

struct block {
    const float *x;
    size_t n;
    bool is_complex;
    double mean_square; /* of a component pair, or of the real samples */
};

static complex_number times(complex_number a, complex_number b)
{
    return (complex_number){a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}

static complex_number turn(double angle)
{
    return (complex_number){cos(angle), sin(angle)};
}

/* ---- transforms at one frequency ------------------------------------------------------------------ */

/* 1/n sum x exp(-2 pi i bin k / n).  The phasor is set anew every 256 samples: its error stays near 1e-14. */
static complex_number transform_at(const struct block *block, double bin)
{
    enum { STRETCH = 256 };
    double step = -2 * PI * bin / (double)block->n;
    complex_number sum = {0, 0}, one = turn(step);
    for (size_t from = 0; from < block->n; from += STRETCH) {
        size_t to = from + STRETCH < block->n ? from + STRETCH : block->n;
        /* Whole turns are taken off before the angle is formed. */
        double turns = bin / (double)block->n * (double)from;
        complex_number phasor = turn(-2 * PI * (turns - floor(turns)));
        for (size_t i = from; i < to; i++) {
            complex_number z = {(double)block->x[block->is_complex ? 2 * i : i],
                                block->is_complex ? (double)block->x[2 * i + 1] : 0};
            sum.re += z.re * phasor.re - z.im * phasor.im;
            sum.im += z.re * phasor.im + z.im * phasor.re;
            phasor = times(phasor, one);
        }
    }
    return (complex_number){sum.re / (double)block->n, sum.im / (double)block->n};
}

/* 1/n sum exp(2 pi i d k / n): what a tone of amplitude 1 reads d bins beside itself. */
static complex_number beside(double d, size_t n)
{
    double down = sin(PI * d / (double)n);
    if (fabs(down) < 1e-15)
        return (complex_number){1, 0};
    double size = sin(PI * d) / ((double)n * down);
    complex_number phase = turn(PI * d * (double)(n - 1) / (double)n);
    return (complex_number){size * phase.re, size * phase.im};
}

/* A tone a at bin f; of real samples half of it stands at -f, conjugate. */
static complex_number mirrored(const struct block *block, complex_number a, double f, double at)
{
    if (block->is_complex)
        return (complex_number){0, 0};
    return times((complex_number){a.re, -a.im}, beside(-f - at, block->n));
}

/* The amplitude at f of what is one tone there and, of real samples, its conjugate at -f: a + conj(a) D = X. */
static complex_number amplitude_at(const struct block *block, double f)
{
    complex_number x = transform_at(block, f);
    if (block->is_complex)
        return x;
    complex_number d = beside(-2 * f, block->n);
    double down = 1 - (d.re * d.re + d.im * d.im);
    if (down < 1e-6) /* 0 Hz and half the rate */
        return (complex_number){x.re / 2, x.im / 2};
    complex_number back = times(d, (complex_number){x.re, -x.im});
    return (complex_number){(x.re - back.re) / down, (x.im - back.im) / down};
}

/* ---- the search ------------------------------------------------------------------------------------ */

/* Bins allowed: [low, high], fractions of bins. */
struct reach {
    double low, high;
};

/* The highest of a transform padded with as many zeros and more (a power of two), within reach. */
static bool search_all(const struct block *block, struct reach reach, double *bin)
{
    size_t m = 1;
    while (m < 2 * block->n)
        m *= 2;
    fftwf_complex *data = fftwf_alloc_complex(m);
    fftwf_plan plan = NULL;
    if (!data)
        return false;
    spurity_planner_lock();
    plan = fftwf_plan_dft_1d((int)m, data, data, FFTW_FORWARD, FFTW_ESTIMATE);
    spurity_planner_unlock();
    if (plan) {
        memset(data, 0, m * sizeof *data);
        for (size_t i = 0; i < block->n; i++) {
            data[i][0] = block->x[block->is_complex ? 2 * i : i];
            data[i][1] = block->is_complex ? block->x[2 * i + 1] : 0;
        }
        fftwf_execute(plan);
        double scale = (double)block->n / (double)m;
        float most = -1;
        for (size_t k = 0; k < m; k++) {
            double at = k < m / 2 ? (double)k * scale : ((double)k - (double)m) * scale;
            float power = data[k][0] * data[k][0] + data[k][1] * data[k][1];
            if (at >= reach.low && at <= reach.high && power > most) {
                most = power;
                *bin = at;
            }
        }
    }
    spurity_planner_lock();
    fftwf_destroy_plan(plan);
    spurity_planner_unlock();
    fftwf_free(data);
    return plan != NULL;
}

/* The same where few bins are allowed, at quarters of bins. */
static void search_few(const struct block *block, struct reach reach, double *bin)
{
    int steps = (int)ceil(4 * (reach.high - reach.low));
    double most = -1;
    for (int i = 0; i <= steps; i++) {
        double at = steps ? reach.low + (reach.high - reach.low) * i / steps : reach.low;
        complex_number x = transform_at(block, at);
        if (x.re * x.re + x.im * x.im > most) {
            most = x.re * x.re + x.im * x.im;
            *bin = at;
        }
    }
}

/* ---- the iteration --------------------------------------------------------------------------------- */

/* Re((up + down) / (up - down)) / 2: how far, in bins, the tone is from the middle of the two. */
static double half_bin_error(complex_number up, complex_number down)
{
    complex_number sum = {up.re + down.re, up.im + down.im}, less = {up.re - down.re, up.im - down.im};
    double size = less.re * less.re + less.im * less.im;
    return size > 0 ? 0.5 * (sum.re * less.re + sum.im * less.im) / size : 0;
}

/* Starts within half a bin or so of the tone. */
static double refine(const struct block *block, double f, struct reach reach)
{
    double turned = PI / (double)block->n;
    for (int i = 0; i < 20; i++) {
        complex_number a = block->is_complex ? (complex_number){0, 0} : amplitude_at(block, f);
        complex_number up = transform_at(block, f + 0.5), down = transform_at(block, f - 0.5);
        complex_number other = mirrored(block, a, f, f + 0.5);
        up = (complex_number){up.re - other.re, up.im - other.im};
        other = mirrored(block, a, f, f - 0.5);
        down = (complex_number){down.re - other.re, down.im - other.im};
        /* Counted from the middle of the block: else the two stand a turn of pi / n too far apart. */
        double error = half_bin_error(times(up, turn(-turned / 2)), times(down, turn(turned / 2)));
        double next = fmin(fmax(f + fmin(fmax(error, -0.6), 0.6), reach.low), reach.high);
        bool settled = fabs(next - f) < 1e-9;
        f = next;
        if (settled)
            break;
    }
    return f;
}

/* Mean power beside the tone. */
static double residue(const struct block *block, double f, complex_number a)
{
    double sum = 0, step = 2 * PI * f / (double)block->n;
    enum { STRETCH = 256 };
    complex_number one = turn(step);
    for (size_t from = 0; from < block->n; from += STRETCH) {
        size_t to = from + STRETCH < block->n ? from + STRETCH : block->n;
        double turns = f / (double)block->n * (double)from;
        complex_number tone = times(a, turn(2 * PI * (turns - floor(turns))));
        for (size_t i = from; i < to; i++) {
            double re = (double)block->x[block->is_complex ? 2 * i : i], im = 0;
            if (block->is_complex) {
                re -= tone.re;
                im = (double)block->x[2 * i + 1] - tone.im;
            } else {
                re -= 2 * tone.re;
            }
            sum += re * re + im * im;
            tone = times(tone, one);
        }
    }
    return sum / (double)block->n;
}

/* ---- the door -------------------------------------------------------------------------------------- */

static spurity_status check(const float *samples, size_t n, size_t components, double rate_hz, double *mean_square,
                            spurity_error *error)
{
    const spurity_place here = {0};
    if (n < 16 || n > (1 << 28))
        return spurity_reportf(error, SPURITY_INVALID, here, "16 to 2^28 samples", NULL, "a block of %zu samples", n);
    if (!(rate_hz > 0) || !isfinite(rate_hz))
        return spurity_reportf(error, SPURITY_INVALID, here, "a rate above 0", NULL, "a sample rate of %g Hz", rate_hz);
    double sum = 0;
    for (size_t i = 0; i < n * components; i++)
        sum += (double)samples[i] * (double)samples[i];
    if (!isfinite(sum))
        return spurity_report(error, SPURITY_INVALID, here, "samples that are not finite", "finite samples", NULL);
    if (!(sum > 0))
        return spurity_report(error, SPURITY_INVALID, here, "a block of zeros", "a tone", NULL);
    *mean_square = sum / (double)n;
    return SPURITY_OK;
}

/* Bins that are searched: of real samples not those within a bin of 0 Hz and half the rate, where a tone and its
 * conjugate are one. */
static struct reach reach_of(const struct block *block, double rate_hz, double near_hz, double half_hz)
{
    double bins = (double)block->n / rate_hz, half = (double)block->n / 2;
    struct reach all = {block->is_complex ? -half : 1, block->is_complex ? half : half - 1};
    if (!(half_hz > 0))
        return all;
    double low = (near_hz - half_hz) * bins, high = (near_hz + half_hz) * bins;
    return (struct reach){fmin(fmax(low, all.low), all.high), fmin(fmax(high, all.low), all.high)};
}

/* Cramer-Rao bounds of frequency, level and phase unknown (Rife and Boorstyn, IEEE Trans. Information Theory, 1974;
 * from memory): g = n A^2 / noise power; of real samples n A^2 / (4 times their noise power), which is the same bound.
 */
static void set_sigmas(const struct block *block, double rate_hz, double power, double left, spurity_tone *tone)
{
    double n = (double)block->n, noise = left * n / (block->is_complex ? n - 2 : n - 3);
    double g = n * power / noise; /* of real samples power is (A / 2)^2 */
    tone->frequency_sigma_hz = sqrt(6 / (4 * PI * PI) / g * n * n / (n * n - 1)) * rate_hz / n;
    tone->level_sigma_db = 20 / log(10) / sqrt(2 * g);
}

spurity_status spurity_tone_estimate(const float *samples, size_t n, bool is_complex, double rate_hz, double near_hz,
                                     double half_hz, spurity_tone *tone, spurity_error *error)
{
    struct block block = {samples, n, is_complex, 0};
    spurity_status status = check(samples, n, is_complex ? 2 : 1, rate_hz, &block.mean_square, error);
    if (status)
        return status;
    struct reach reach = reach_of(&block, rate_hz, near_hz, half_hz);
    double bin = reach.low;
    if (reach.high - reach.low <= 8)
        search_few(&block, reach, &bin);
    else if (!search_all(&block, reach, &bin))
        return spurity_report_memory(error);
    bin = refine(&block, bin, reach);
    complex_number a = amplitude_at(&block, bin);
    double power = a.re * a.re + a.im * a.im, left = residue(&block, bin, a), scale = is_complex ? 1 : 2;
    *tone = (spurity_tone){.frequency_hz = bin * rate_hz / (double)n,
                           .level_db = 10 * log10(power * scale * scale),
                           .phase_rad = atan2(a.im, a.re),
                           .residue_db = 10 * log10(fmax(left * scale, 1e-40))};
    set_sigmas(&block, rate_hz, power, fmax(left, 1e-40), tone);
    return SPURITY_OK;
}
