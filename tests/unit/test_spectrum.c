/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The transform loop.  Windows, tones and what samples say of the receiver: tests/published. */
#include <complex.h>
#include <unistd.h>

#include "../check.h"
#include "spectrum/spectrum.h"

/* ---- samples --------------------------------------------------------------------------------------- */

static const spurity_sample_format ci16 = {SPURITY_COMPONENT_I16, true, false, false};
static const spurity_sample_format ri16 = {SPURITY_COMPONENT_I16, false, false, false};
static const spurity_sample_format cf32 = {SPURITY_COMPONENT_F32, true, false, false};
static const spurity_sample_format rf32 = {SPURITY_COMPONENT_F32, false, false, false};

/* Two standard normal values; a generator of its own, the same on every machine. */
static void normals(uint64_t *state, double *a, double *b)
{
    double u[2];
    for (int i = 0; i < 2; i++) {
        *state = *state * 6364136223846793005u + 1442695040888963407u;
        u[i] = ((double)(*state >> 11) + 0.5) * 0x1p-53;
    }
    *a = sqrt(-2 * log(u[0])) * cos(2 * M_PI * u[1]);
    *b = sqrt(-2 * log(u[0])) * sin(2 * M_PI * u[1]);
}

/* Complex: a tone of `amplitude` at `cycles` a sample, and noise whose |z|^2 is noise^2 in the mean.  Real: its I. */
static float *make_floats(size_t samples, bool is_complex, double amplitude, double cycles, double noise)
{
    float *made = malloc(samples * 2 * sizeof *made);
    assert_non_null(made);
    uint64_t state = 7;
    for (size_t i = 0; i < samples; i++) {
        double a, b;
        normals(&state, &a, &b);
        const double turn = 2 * M_PI * fmod(cycles * (double)i, 1);
        const double re = amplitude * cos(turn) + noise * a / sqrt(2), im = amplitude * sin(turn) + noise * b / sqrt(2);
        if (is_complex) {
            made[2 * i] = (float)re;
            made[2 * i + 1] = (float)im;
        } else
            made[i] = (float)re;
    }
    return made;
}

static int16_t *as_i16(const float *values, size_t count)
{
    int16_t *made = malloc(count * sizeof *made);
    assert_non_null(made);
    for (size_t i = 0; i < count; i++)
        made[i] = (int16_t)lrint(fmin(fmax(32768.0 * (double)values[i], -32768), 32767));
    return made;
}

static spurity_capture *over(spurity_sample_format format, double rate_hz, const void *bytes, size_t size,
                             const spurity_capture_segment *segments, size_t count)
{
    spurity_capture_facts facts;
    spurity_capture_facts_init(&facts);
    facts.format = format;
    facts.rate_hz = rate_hz;
    facts.segments = segments;
    facts.segment_count = count;
    spurity_capture_rails(format.component, &facts.rail_low, &facts.rail_high);
    spurity_error error = {0};
    spurity_capture *capture = NULL;
    assert_ok(spurity_capture_from_memory(&facts, bytes, size, &capture, &error), &error);
    return capture;
}

static spurity_spectrum_options plain(spurity_window window, size_t transform)
{
    spurity_spectrum_options options;
    spurity_spectrum_options_init(&options);
    options.window = window;
    options.transform = transform;
    options.threads = 1;
    options.reproducible = true;
    options.edge_fraction = 0;
    return options;
}

static spurity_spectrum *spectrum_of(spurity_capture *capture, const spurity_spectrum_options *options)
{
    spurity_error error = {0};
    spurity_spectrum *spectrum = NULL;
    assert_ok(spurity_spectrum_create(capture, options, NULL, &spectrum, &error), &error);
    assert_non_null(spectrum);
    return spectrum;
}

static spurity_segment segment_of(const spurity_spectrum *spectrum, size_t index)
{
    spurity_segment segment = {0};
    assert_true(spurity_trace_segment(spurity_spectrum_trace(spectrum), index, &segment));
    return segment;
}

static size_t strongest(const spurity_segment *segment)
{
    size_t best = 0;
    for (size_t i = 1; i < segment->count; i++)
        if (segment->level_db[i] > segment->level_db[best])
            best = i;
    return best;
}

static double total_power(const spurity_segment *segment)
{
    double sum = 0;
    for (size_t i = 0; i < segment->count; i++)
        sum += pow(10, segment->level_db[i] / 10);
    return sum;
}

/* ---- levels ---------------------------------------------------------------------------------------- */

static void test_level_and_place_of_a_tone(void **state)
{
    (void)state;
    const size_t samples = 40960;
    for (int real = 0; real < 2; real++)
        for (int w = 0; w < SPURITY_WINDOWS; w++)
            for (int step = 0; step <= 4; step++) {
                const double bin = 300 + 0.125 * step;
                float *values = make_floats(samples, !real, 0.5, bin / 4096, 0);
                const size_t size = samples * (real ? 1 : 2) * sizeof *values;
                spurity_capture *capture = over(real ? rf32 : cf32, 4096e3, values, size, NULL, 0);
                spurity_spectrum_options options = plain((spurity_window)w, 4096);
                spurity_spectrum *spectrum = spectrum_of(capture, &options);
                const spurity_segment segment = segment_of(spectrum, 0);
                const size_t best = strongest(&segment);
                /* The window's own response says what stands there (trace/trace.h). */
                const double loss =
                    20 * log10(fabs(spurity_filter_response(&segment.facts.filter, bin - round(bin - 1e-9))));
                /* A real tone stands at the mirrored frequency too and leaks from there. */
                const double leaks =
                    real ? fabs(spurity_filter_response(&segment.facts.filter, bin + round(bin - 1e-9))) : 0;
                assert_near(segment.level_db[best], 20 * log10(0.5) + loss, 0.001 + 20 * log10(1 + 2 * leaks));
                assert_true(fabs(segment.frequency_hz[best] - 1e3 * bin) <= 501);
                spurity_spectrum_free(spectrum);
                spurity_capture_free(capture);
                free(values);
            }
}

/* Parseval: the levels' sum over the noise bandwidth is the mean power. */
static void test_sum_of_levels_is_mean_power(void **state)
{
    (void)state;
    const size_t samples = 1 << 18;
    for (int real = 0; real < 2; real++) {
        float *values = make_floats(samples, !real, 0, 0, 0.1);
        spurity_capture *capture =
            over(real ? rf32 : cf32, 1e6, values, samples * (real ? 1 : 2) * sizeof *values, NULL, 0);
        spurity_spectrum_options options = plain(SPURITY_WINDOW_RECTANGULAR, 1024);
        options.overlap = 0;
        spurity_spectrum *spectrum = spectrum_of(capture, &options);
        const spurity_segment segment = segment_of(spectrum, 0);
        double power = 0;
        for (size_t i = 0; i < samples * (real ? 1 : 2); i++)
            power += (double)values[i] * (double)values[i];
        /* dBFS of a real capture: a tone of peak 1, so twice the mean square.  The two ends stand once. */
        double sum = total_power(&segment);
        if (real) {
            sum += pow(10, segment.level_db[0] / 10) + pow(10, segment.level_db[segment.count - 1] / 10);
            power *= 2;
        }
        assert_near(10 * log10(sum), 10 * log10(power / (double)samples), 0.0005);
        assert_near(spurity_spectrum_facts_of(spectrum)->mean_db, 10 * log10(power / (double)samples), 0.0005);
        spurity_spectrum_free(spectrum);
        spurity_capture_free(capture);
        free(values);
    }
}

/* White noise of mean power P reads P ENBW / N a bin (complex); its scatter is what the averages say. */
static void test_noise_reads_by_its_bandwidth(void **state)
{
    (void)state;
    const size_t samples = 1 << 20, n = 1024;
    float *values = make_floats(samples, true, 0, 0, 0.1);
    for (int w = 0; w < SPURITY_WINDOWS; w++) {
        spurity_capture *capture = over(cf32, 1e6, values, samples * 2 * sizeof *values, NULL, 0);
        spurity_spectrum_options options = plain((spurity_window)w, n);
        spurity_spectrum *spectrum = spectrum_of(capture, &options);
        const spurity_segment segment = segment_of(spectrum, 0);
        const double enbw = spurity_filter_noise_bins(&segment.facts.filter);
        const double want = 0.01 * enbw / (double)n, mean = total_power(&segment) / (double)segment.count;
        assert_near(10 * log10(mean / want), 0, 0.03);
        double square = 0;
        for (size_t i = 0; i < segment.count; i++)
            square += pow(pow(10, segment.level_db[i] / 10) / mean - 1, 2);
        const double averages = (double)segment.count / square;
        assert_near(averages / segment.facts.averages, 1, 0.2);
        assert_near(segment.facts.noise_bandwidth_factor * segment.facts.rbw_hz, enbw * 1e6 / (double)n, 1e-6);
        spurity_spectrum_free(spectrum);
        spurity_capture_free(capture);
    }
    free(values);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_level_and_place_of_a_tone),
        cmocka_unit_test(test_sum_of_levels_is_mean_power),
        cmocka_unit_test(test_noise_reads_by_its_bandwidth),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
