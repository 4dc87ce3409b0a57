/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Windows of a transform: one row each.
 *
 * w[n] = sum_k (-1)^k c_k cos(2 pi k n / N), n = 0 .. N-1 (DFT-even), or a Kaiser window.  Coefficients and their
 * sources: README.md.  The figures of each row follow from its coefficients (tests/published/vectors/windows.py prints
 * them; tests/published/test_windows.c works them out again another way). */
#include <math.h>
#include <string.h>
#include <strings.h>

#include "spectrum.h"

#define PI 3.14159265358979323846
#define COSINES(count, ...)                                                                                            \
    {                                                                                                                  \
        .kind = SPURITY_FILTER_COSINE_SUM, .terms = (count), .c = { __VA_ARGS__ }                                      \
    }

/* name, filter, coherent gain, ENBW, width at half power, scalloping, highest side lobe, first null, overlap */
static const spurity_window_facts windows[SPURITY_WINDOWS] = {
    [SPURITY_WINDOW_RECTANGULAR] = {"rectangular", COSINES(1, 1), 1.0000000000, 1.000000000, 0.885892941, -3.922397541,
                                    -13.261459, 1.000000000, 0.000},
    [SPURITY_WINDOW_HANN] = {"hann", COSINES(2, 0.5, 0.5), 0.5000000000, 1.500000000, 1.440582580, -1.423622808,
                             -31.467308, 2.000000000, 0.500},
    [SPURITY_WINDOW_HAMMING] = {"hamming", COSINES(2, 0.54, 0.46), 0.5400000000, 1.362825789, 1.302982081, -1.751431132,
                                -42.675031, 2.000000000, 0.500},
    [SPURITY_WINDOW_BLACKMAN] = {"blackman", COSINES(3, 0.42, 0.5, 0.08), 0.4200000000, 1.726757370, 1.643681675,
                                 -1.098878831, -58.108842, 3.000000000, 0.600},
    [SPURITY_WINDOW_BLACKMAN_HARRIS] = {"blackman-harris", COSINES(4, 0.35875, 0.48829, 0.14128, 0.01168), 0.3587500000,
                                        2.004352938, 1.899445435, -0.825572231, -92.009741, 4.000000000, 0.661},
    [SPURITY_WINDOW_NUTTALL3B] = {"nuttall3b", COSINES(3, 0.4243801, 0.4973406, 0.0782793), 0.4243801000, 1.703713147,
                                  1.618841601, -1.135246395, -71.482564, 3.000000000, 0.598},
    [SPURITY_WINDOW_NUTTALL4B] = {"nuttall4b", COSINES(4, 0.355768, 0.487396, 0.144232, 0.012604), 0.3557680000,
                                  2.021232578, 1.915464945, -0.811755295, -93.324025, 4.000000000, 0.664},
    [SPURITY_WINDOW_NUTTALL4C] = {"nuttall4c", COSINES(4, 0.3635819, 0.4891775, 0.1365995, 0.0106411), 0.3635819000,
                                  1.976109285, 1.871906203, -0.850556508, -98.166504, 4.000000000, 0.656},
    [SPURITY_WINDOW_KAISER] = {"kaiser",
                               {.kind = SPURITY_FILTER_KAISER, .beta = 3.5 * PI},
                               0.3734773615,
                               1.928447596,
                               1.828896462,
                               -0.890029723,
                               -81.922845,
                               3.640054945,
                               0.647},
    [SPURITY_WINDOW_SFT3F] = {"sft3f", COSINES(3, 0.26526, 0.5, 0.23474), 0.2652600000, 3.168067320, 3.153216351,
                              -0.008208819, -31.723161, 3.000000000, 0.667},
    [SPURITY_WINDOW_SFT4F] = {"sft4f", COSINES(4, 0.21706, 0.42103, 0.28294, 0.07897), 0.2170600000, 3.796957673,
                              3.765443535, -0.004099515, -44.733213, 4.000000000, 0.749},
    [SPURITY_WINDOW_SFT5M] = {"sft5m", COSINES(5, 0.209671, 0.407331, 0.281225, 0.092669, 0.0091036), 0.2096710839,
                              3.885183538, 3.837841340, -0.003898743, -89.865584, 5.000000000, 0.760},
    [SPURITY_WINDOW_HFT70] = {"hft70", COSINES(4, 1, 1.90796, 1.07349, 0.18199), 0.2401860000, 3.412906251, 3.375401949,
                              -0.006508110, -70.447784, 4.000000000, 0.722},
    [SPURITY_WINDOW_HFT90D] = {"hft90d", COSINES(5, 1, 1.942604, 1.340318, 0.440811, 0.043097), 0.2097830214,
                               3.883167166, 3.835862173, -0.003905941, -90.218876, 5.000000000, 0.760},
    [SPURITY_WINDOW_HFT95] = {"hft95", COSINES(5, 1, 1.9383379, 1.3045202, 0.402827, 0.0350665), 0.2136409033,
                              3.811213009, 3.762901014, -0.004405782, -95.005005, 5.000000000, 0.756},
    [SPURITY_WINDOW_HFT116D] = {"hft116d", COSINES(6, 1, 1.9575375, 1.4780705, 0.6367431, 0.1228389, 0.0066288),
                                0.1922404525, 4.218610289, 4.162121335, -0.002834618, -116.797324, 6.000000000, 0.782},
    [SPURITY_WINDOW_HFT144D] = {"hft144d",
                                COSINES(7, 1, 1.96760033, 1.57983607, 0.81123644, 0.22583558, 0.02773848, 0.0009036),
                                0.1781530711, 4.538604789, 4.474340471, -0.002129815, -144.049782, 7.000000000, 0.799},
    [SPURITY_WINDOW_HFT169D] = {"hft169d",
                                COSINES(8, 1, 1.97441843, 1.65409889, 0.95788187, 0.3367342, 0.06364622, 0.00521942,
                                        0.00010599),
                                0.1668862606, 4.834688484, 4.763639105, -0.001660998, -169.533012, 8.000000000, 0.812},
};

const spurity_window_facts *spurity_window_facts_of(spurity_window window)
{
    return (unsigned)window < SPURITY_WINDOWS ? &windows[window] : NULL;
}

spurity_window spurity_window_from_text(const char *text, size_t length)
{
    for (int i = 0; i < SPURITY_WINDOWS; i++)
        if (strlen(windows[i].name) == length && strncasecmp(windows[i].name, text, length) == 0)
            return (spurity_window)i;
    return SPURITY_WINDOWS;
}

/* Modified Bessel function of order 0 by its power series (Abramowitz and Stegun 9.6.12); fine below about 700. */
static double bessel_i0(double x)
{
    double term = 1, sum = 1;
    for (int k = 1; k < 1000 && term > 1e-18 * sum; k++) {
        term *= x * x / (4.0 * k * k);
        sum += term;
    }
    return sum;
}

/* t = 0..1 along the window. */
static double shape_at(const spurity_filter *filter, double t)
{
    if (filter->kind == SPURITY_FILTER_KAISER) {
        double s = 2 * t - 1;
        return bessel_i0(filter->beta * sqrt(fmax(0, 1 - s * s))); /* to scale */
    }
    /* Clenshaw's recurrence with x = -cos(2 pi t): the alternating signs are in x. */
    double x = -cos(2 * PI * t), one = 0, two = 0;
    for (int k = filter->terms - 1; k > 0; k--) {
        double next = filter->c[k] + 2 * x * one - two;
        two = one;
        one = next;
    }
    return filter->c[0] + x * one - two;
}

void spurity_window_fill(spurity_window window, size_t n, float *w)
{
    const spurity_window_facts *facts = spurity_window_facts_of(window);
    double sum = 0;
    for (size_t i = 0; facts && i <= n / 2; i++) {
        double value = shape_at(&facts->filter, (double)i / (double)n);
        bool twice = i > 0 && i < n - i;
        if (i < n)
            w[i] = (float)value;
        if (twice)
            w[n - i] = (float)value;
        sum += i < n ? (twice ? 2 * value : value) : 0;
    }
    if (!facts || sum < 1e-6) { /* one sample of a window that starts at 0 */
        for (size_t i = 0; i < n; i++)
            w[i] = 1;
        return;
    }
    for (size_t i = 0; i < n; i++)
        w[i] = (float)(w[i] * ((double)n / sum));
}

/* Correlation of the window with itself, lag of its length apart, 0..1, over that at lag 0.  Simpson's rule: the
 * windows hold at most ten cycles. */
static double lagged(const spurity_filter *filter, double lag)
{
    enum { STEPS = 512 };
    double sum = 0, step = (1 - lag) / STEPS;
    for (int i = 0; i <= STEPS; i++) {
        double weight = i == 0 || i == STEPS ? 1 : i % 2 ? 4 : 2;
        sum += weight * shape_at(filter, i * step) * shape_at(filter, i * step + lag);
    }
    return sum * step / 3;
}

double spurity_window_effective_averages(spurity_window window, double overlap, double count)
{
    const spurity_window_facts *facts = spurity_window_facts_of(window);
    double hop = 1 - overlap, sum = 0;
    if (!facts || !(count > 1) || !(hop > 1e-3) || !(hop < 1))
        return count;
    double whole = lagged(&facts->filter, 0);
    for (int m = 1; m < count && m * hop < 1; m++) {
        double same = lagged(&facts->filter, m * hop) / whole;
        sum += (1 - m / count) * same * same;
    }
    return count / (1 + 2 * sum);
}
