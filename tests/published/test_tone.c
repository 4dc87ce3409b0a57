/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The tone estimator against the Cramer-Rao bounds (D. C. Rife, R. R. Boorstyn, IEEE Trans. Information Theory IT-20,
 * 1974; form from memory) and against a carrier that is a national frequency standard's. */
#include "../check.h"

#include "spectrum/spectrum.h"

#define PI 3.14159265358979323846

/* ---- signals ------------------------------------------------------------------------------------- */

static uint64_t state_of_noise = 1;

static double uniform(void) /* (0, 1), xorshift64* */
{
    state_of_noise ^= state_of_noise >> 12;
    state_of_noise ^= state_of_noise << 25;
    state_of_noise ^= state_of_noise >> 27;
    return ((double)((state_of_noise * 2685821657736338717ULL) >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(void)
{
    return sqrt(-2 * log(uniform())) * cos(2 * PI * uniform());
}

/* bin: cycles in the block; sigma: of each component (complex), of a sample (real). */
static void make_tone(float *x, size_t n, bool is_complex, double amplitude, double bin, double phase, double sigma)
{
    for (size_t i = 0; i < n; i++) {
        double angle = 2 * PI * fmod(bin * (double)i / (double)n, 1) + phase;
        double re = amplitude * cos(angle) + (sigma > 0 ? sigma * normal() : 0);
        x[is_complex ? 2 * i : i] = (float)re;
        if (is_complex)
            x[2 * i + 1] = (float)(amplitude * sin(angle) + (sigma > 0 ? sigma * normal() : 0));
    }
}

/* ---- noise-free ---------------------------------------------------------------------------------- */

/* Samples are floats: 24 bits leave errors near 1e-8 of full scale. */
static void clean_tone(size_t n, bool is_complex, double bin)
{
    float *x = malloc(2 * n * sizeof *x);
    spurity_tone tone;
    spurity_error error = {0};
    const double rate = 48000, amplitude = 0.3, phase = 0.7;
    make_tone(x, n, is_complex, amplitude, bin, phase, 0);
    assert_ok(spurity_tone_estimate(x, n, is_complex, rate, 0, 0, &tone, &error), &error);
    assert_near(tone.frequency_hz * (double)n / rate, bin, 2e-6);
    assert_near(tone.level_db, 20 * log10(amplitude), 1e-5);
    assert_near(remainder(tone.phase_rad - phase, 2 * PI), 0, 1e-5);
    assert_true(tone.residue_db < -130);
    assert_true(tone.frequency_sigma_hz * (double)n / rate < 1e-6);
    free(x);
}

static void test_clean(void **state)
{
    (void)state;
    const size_t lengths[] = {16, 17, 256, 1000, 4099, 65536};
    for (size_t k = 0; k < sizeof lengths / sizeof *lengths; k++)
        for (int step = 0; step <= 20; step++) {
            double n = (double)lengths[k], d = step / 20.0;
            clean_tone(lengths[k], true, floor(0.3 * n) + d);
            clean_tone(lengths[k], true, -floor(0.2 * n) - d);
            clean_tone(lengths[k], true, d - 0.5);
            clean_tone(lengths[k], false, floor(0.3 * n) + d);
            clean_tone(lengths[k], false, floor(0.15 * n) + d); /* bins 2 to 3 of 16: the mirrored one is close */
        }
}

/* ---- in noise ------------------------------------------------------------------------------------ */

struct errors {
    double bins, db, bins_said, db_said; /* rms of the errors, and of what was said of them */
};

static struct errors in_noise(size_t n, bool is_complex, double g_db, double half_bins, int runs)
{
    float *x = malloc(2 * n * sizeof *x);
    struct errors sum = {0};
    double g = pow(10, g_db / 10), amplitude = 0.25;
    /* complex: g = n A^2 / (2 sigma^2); real: n A^2 / (4 sigma^2) */
    double sigma = amplitude * sqrt((double)n / (g * (is_complex ? 2 : 4)));
    for (int i = 0; i < runs; i++) {
        spurity_tone tone;
        spurity_error error = {0};
        double bin = 0.1 * (double)n + 0.3 * (double)n * uniform();
        double near = bin + (half_bins > 0 ? 0.5 * (uniform() - 0.5) : 0);
        make_tone(x, n, is_complex, amplitude, bin, 2 * PI * uniform(), sigma);
        assert_ok(spurity_tone_estimate(x, n, is_complex, (double)n, near, half_bins, &tone, &error), &error);
        sum.bins += pow(tone.frequency_hz - bin, 2);
        sum.db += pow(tone.level_db - 20 * log10(amplitude), 2);
        sum.bins_said += pow(tone.frequency_sigma_hz, 2);
        sum.db_said += pow(tone.level_sigma_db, 2);
    }
    free(x);
    return (struct errors){sqrt(sum.bins / runs), sqrt(sum.db / runs), sqrt(sum.bins_said / runs),
                           sqrt(sum.db_said / runs)};
}

/* rms within 1.5 times the bounds 0.38985 / sqrt(g) bins and 6.142 / sqrt(g) dB, g = 10 .. 60 dB in the bin.  At 10 and
 * 15 dB the search is kept to a bin to either side: further out some bin of noise is too often higher than the tone,
 * for any estimator (the threshold of Rife and Boorstyn).  The highest of a grid of 0.01 bins, by numpy at 10 dB: 1.19
 * times the bound within a bin, 1.44 (complex) and 1.61 (real) within 1.5. */
static void bounds(bool is_complex)
{
    for (int g_db = 10; g_db <= 60; g_db += 5) {
        double g = pow(10, g_db / 10.0), f = 0.38985 / sqrt(g), a = 6.142 / sqrt(g);
        struct errors rms = in_noise(256, is_complex, g_db, g_db < 20 ? 1 : 0, 1500);
        print_message("%s, %d dB in the bin: rms %.3f and %.3f times the bounds, said %.3f and %.3f\n",
                      is_complex ? "complex" : "real", g_db, rms.bins / f, rms.db / a, rms.bins_said / f,
                      rms.db_said / a);
        assert_true(rms.bins <= 1.5 * f && rms.bins >= 0.9 * f);
        assert_true(rms.db <= 1.5 * a && rms.db >= 0.9 * a);
        assert_near(rms.bins_said / f, 1, g_db < 20 ? 0.2 : 0.05);
        assert_near(rms.db_said / a, 1, g_db < 20 ? 0.2 : 0.05);
    }
}

static void test_bounds_complex(void **state)
{
    (void)state;
    bounds(true);
}

static void test_bounds_real(void **state)
{
    (void)state;
    bounds(false);
}

/* A windowed transform's level, the bin nearest to the tone, one segment: the bound times sqrt(ENBW), within 1.1 of it
 * (a window's loss against the best estimate; project's reference table has 0.120 dB for HFT90D at 40 dB). */
static void test_windowed(void **state)
{
    (void)state;
    enum { N = 256, RUNS = 3000 };
    const spurity_window windows[] = {SPURITY_WINDOW_HFT144D, SPURITY_WINDOW_HFT90D, SPURITY_WINDOW_HFT116D};
    for (int w = 0; w < 3; w++)
        for (int g_db = 10; g_db <= 60; g_db += 10) {
            double g = pow(10, g_db / 10.0), amplitude = 0.25, sum = 0;
            double enbw = spurity_window_facts_of(windows[w])->enbw_bins, bound = 6.142 / sqrt(g) * sqrt(enbw);
            float window[N], x[2 * N];
            spurity_window_fill(windows[w], N, window);
            for (int i = 0; i < RUNS; i++) {
                double bin = 40 + 100 * uniform(), re = 0, im = 0;
                make_tone(x, N, true, amplitude, bin, 2 * PI * uniform(), amplitude * sqrt(N / (2 * g)));
                for (int k = 0; k < N; k++) {
                    double angle = -2 * PI * fmod(round(bin) * k / N, 1), c = cos(angle), s = sin(angle);
                    re += (double)window[k] * ((double)x[2 * k] * c - (double)x[2 * k + 1] * s);
                    im += (double)window[k] * ((double)x[2 * k] * s + (double)x[2 * k + 1] * c);
                }
                sum += pow(20 * log10(hypot(re, im) / N / amplitude), 2);
            }
            double ratio = sqrt(sum / RUNS) / bound;
            print_message("%s, %d dB in the bin: %.3f times the bound and sqrt(ENBW)\n",
                          spurity_window_facts_of(windows[w])->name, g_db, ratio);
            assert_true(ratio <= 1.1 && ratio >= 0.9);
            if (g_db == 40 && windows[w] == SPURITY_WINDOW_HFT90D)
                assert_near(sqrt(sum / RUNS), 0.120, 0.005);
        }
}

/* fs 48 kHz, N 4800, 20 dB a sample: 5.63 mHz (worked from the formula above). */
static void test_sigma(void **state)
{
    (void)state;
    enum { N = 4800 };
    float *x = malloc(2 * N * sizeof *x);
    spurity_tone tone;
    spurity_error error = {0};
    make_tone(x, N, true, 0.5, 1234.4, 0, 0.5 * sqrt(0.01 / 2));
    assert_ok(spurity_tone_estimate(x, N, true, 48000, 0, 0, &tone, &error), &error);
    assert_near(tone.frequency_sigma_hz, 5.63e-3, 0.15e-3);
    assert_near(tone.residue_db, 20 * log10(0.5) - 20, 0.3);
    free(x);
}

/* ---- what is asked for ---------------------------------------------------------------------------- */

static void test_near(void **state)
{
    (void)state;
    enum { N = 4096 };
    float *x = malloc(2 * N * sizeof *x), *y = malloc(2 * N * sizeof *y);
    spurity_tone tone;
    spurity_error error = {0};
    make_tone(x, N, true, 0.5, 1000.3, 0, 0);
    make_tone(y, N, true, 0.05, -700.4, 1, 0);
    for (int i = 0; i < 2 * N; i++)
        x[i] += y[i];
    assert_ok(spurity_tone_estimate(x, N, true, N, 0, 0, &tone, &error), &error);
    assert_near(tone.frequency_hz, 1000.3, 2e-3);
    assert_ok(spurity_tone_estimate(x, N, true, N, -700, 20, &tone, &error), &error);
    assert_near(tone.frequency_hz, -700.4, 5e-3); /* the other tone's skirt: 20 dB over it, 1700 bins away */
    assert_near(tone.level_db, 20 * log10(0.05), 0.02);
    assert_ok(spurity_tone_estimate(x, N, true, N, -700, 2, &tone, &error), &error);
    assert_near(tone.frequency_hz, -700.4, 5e-3);
    free(x);
    free(y);
}

static void test_refused(void **state)
{
    (void)state;
    float x[64] = {0};
    spurity_tone tone;
    spurity_error error = {0};
    assert_int_equal(spurity_tone_estimate(x, 32, true, 1, 0, 0, &tone, &error), SPURITY_INVALID);
    error = (spurity_error){0};
    x[5] = 1;
    assert_int_equal(spurity_tone_estimate(x, 15, true, 1, 0, 0, &tone, &error), SPURITY_INVALID);
    error = (spurity_error){0};
    assert_int_equal(spurity_tone_estimate(x, 32, true, 0, 0, 0, &tone, &error), SPURITY_INVALID);
    error = (spurity_error){0};
    assert_ok(spurity_tone_estimate(x, 32, true, 1, 0, 0, &tone, &error), &error);
    x[6] = NAN;
    assert_int_equal(spurity_tone_estimate(x, 32, true, 1, 0, 0, &tone, &error), SPURITY_INVALID);
    error = (spurity_error){0};
    x[6] = INFINITY;
    assert_int_equal(spurity_tone_estimate(x, 32, true, 1, 0, 0, &tone, &error), SPURITY_INVALID);
}

/* ---- a carrier known to 1e-9 ----------------------------------------------------------------------- */

/* Recordings of the German standard-frequency transmitter, 77.5 kHz, by four receivers whose true rate is known from
 * satellite time (data/README.md): carrier off 77 500 Hz by so much, and the carrier's line so high, by a padded
 * Blackman transform of all 29 s.  The seconds' keying and the phase code stand beside it.  The keying takes 0.77 dB (a
 * dip of 0.1 s to 15 %) to 1.62 dB (0.2 s) off a second's mean amplitude, and the Blackman transform weighs the middle
 * seconds more than the estimator, which weighs all alike: levels agree to a part of that only. */
static void test_standard_frequency(void **state)
{
    (void)state;
    const struct {
        const char *name;
        double rate_hz, off_hz, level_db;
    } sets[] = {{"dcf77-2020-a", 12001.02560, -0.0001, -10.38},
                {"dcf77-2020-b", 12001.08611, -0.0007, -8.77},
                {"dcf77-2017-a", 12001.13215, 0.0120, -15.42},
                {"dcf77-2017-b", 12001.20192, 0.0113, -14.47}};
    const char *folder = getenv("SPURITY_DATA");
    for (int i = 0; i < 4; i++) {
        char path[1024];
        snprintf(path, sizeof path, "%s/%s.sigmf-data", folder ? folder : "", sets[i].name);
        FILE *file = folder ? fopen(path, "rb") : NULL;
        if (!file) {
            print_message("SKIPPED: no %s.sigmf-data in the folder SPURITY_DATA names\n", sets[i].name);
            skip();
        }
        size_t n = 400000;
        float *x = malloc(2 * n * sizeof *x);
        unsigned char *bytes = malloc(4 * n);
        spurity_sample_format format = {.component = SPURITY_COMPONENT_I16, .is_complex = true};
        n = fread(bytes, 4, n, file);
        fclose(file);
        spurity_sample_convert(format, bytes, n, x);
        spurity_tone tone;
        spurity_error error = {0};
        assert_ok(spurity_tone_estimate(x, n, true, sets[i].rate_hz, 0, 0, &tone, &error), &error);
        print_message("%s: %+.5f Hz (%.5f), %.3f dBFS, beside it %.2f dBFS\n", sets[i].name, tone.frequency_hz,
                      tone.frequency_sigma_hz, tone.level_db, tone.residue_db);
        assert_near(tone.frequency_hz, sets[i].off_hz, 0.0005);
        assert_near(tone.level_db, sets[i].level_db, 0.2);
        free(bytes);
        free(x);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clean),   cmocka_unit_test(test_bounds_complex),     cmocka_unit_test(test_bounds_real),
        cmocka_unit_test(test_sigma),   cmocka_unit_test(test_windowed),           cmocka_unit_test(test_near),
        cmocka_unit_test(test_refused), cmocka_unit_test(test_standard_frequency),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
