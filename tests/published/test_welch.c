/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The whole way from samples to a mean spectrum against scipy.signal.welch (general-purpose, double precision): the
 * vectors and the script that made them stand in vectors/. */
#include "../../lib/spectrum/spectrum.h"
#include "../check.h"
#include "vectors/welch.h"

/* The script's sequence. */
static int noise(uint32_t *state)
{
    *state = 1664525U * *state + 1013904223U;
    return (int)(*state >> 20) - 2048;
}

static void make(int16_t *samples, bool is_complex)
{
    uint32_t state = 12345;
    for (int n = 0; n < WELCH_LENGTH; n++) {
        int square = n / 8 % 2 == 0 ? 9000 : -9000;
        int i = noise(&state) + square;
        if (!is_complex) {
            samples[n] = (int16_t)i;
            continue;
        }
        samples[2 * n] = (int16_t)i;
        samples[2 * n + 1] = (int16_t)(noise(&state) + (n % 2 == 0 ? 3000 : -3000));
    }
}

/* The spectrum of the sequence: a trace in dBFS at a rate of 64 Hz, so that a bin is 1 Hz wide. */
static spurity_spectrum *spectrum_of(spurity_window window, bool is_complex, int threads)
{
    int16_t samples[2 * WELCH_LENGTH];
    spurity_error error = {0};
    spurity_capture_facts facts;
    spurity_spectrum_options options;
    spurity_capture *capture = NULL;
    spurity_spectrum *spectrum = NULL;
    make(samples, is_complex);
    spurity_capture_facts_init(&facts);
    facts.format.is_complex = is_complex;
    facts.rate_hz = WELCH_N;
    size_t bytes = (is_complex ? 2U : 1U) * WELCH_LENGTH * sizeof *samples;
    assert_ok(spurity_capture_from_memory(&facts, samples, bytes, &capture, &error), &error);
    spurity_spectrum_options_init(&options);
    options.transform = WELCH_N;
    options.window = window;
    options.overlap = 0.5;
    options.edge_fraction = 0;
    options.threads = threads;
    options.whole = true;
    options.reproducible = true;
    assert_ok(spurity_spectrum_create(capture, &options, NULL, &spectrum, &error), &error);
    spurity_capture_free(capture);
    assert_int_equal(spurity_spectrum_facts_of(spectrum)->transforms, 1 + (WELCH_LENGTH - WELCH_N) / WELCH_HOP);
    return spectrum;
}

/* Every bin that both have; scale: what a bin of ours reads over one of scipy's. */
static size_t compare(const spurity_spectrum *spectrum, const double *wanted, double first_hz, double last_hz,
                      double zero_hz, double scale)
{
    spurity_segment segment;
    size_t compared = 0;
    assert_true(spurity_trace_segment(spurity_spectrum_trace(spectrum), 0, &segment));
    for (size_t i = 0; i < segment.count; i++) {
        double hz = segment.frequency_hz[i];
        if (hz < first_hz || hz > last_hz)
            continue;
        assert_near(hz, round(hz), 1e-9);
        /* single precision against double: 1e-4 dB, and what rounding adds 100 dB below the strongest bin */
        double ours = pow(10, segment.level_db[i] / 10), theirs = scale * wanted[(size_t)(hz - zero_hz)];
        assert_near(ours, theirs, 2.5e-5 * theirs + 1e-12);
        compared++;
    }
    return compared;
}

static void complex_samples(void **state)
{
    (void)state;
    for (int w = 0; w < WELCH_WINDOWS; w++) {
        spurity_spectrum *spectrum = spectrum_of(welch_window[w], true, 1);
        assert_true(compare(spectrum, welch_complex[w], -31, 31, -WELCH_N / 2, 1) >= 62);
        spurity_spectrum_free(spectrum);
    }
}

/* scipy gives the mean square of a real tone, half of what its peak says; its ends are not doubled. */
static void real_samples(void **state)
{
    (void)state;
    for (int w = 0; w < WELCH_WINDOWS; w++) {
        spurity_spectrum *spectrum = spectrum_of(welch_window[w], false, 1);
        assert_true(compare(spectrum, welch_real[w], 1, 31, 0, 2) >= 30);
        spurity_spectrum_free(spectrum);
    }
}

static void any_number_of_threads(void **state)
{
    (void)state;
    spurity_spectrum *spectrum = spectrum_of(welch_window[1], true, 3);
    assert_true(compare(spectrum, welch_complex[1], -31, 31, -WELCH_N / 2, 1) >= 62);
    spurity_spectrum_free(spectrum);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(complex_samples),
        cmocka_unit_test(real_samples),
        cmocka_unit_test(any_number_of_threads),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
