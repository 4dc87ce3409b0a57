/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The transform loop.  Windows, tones and what samples say of the receiver: tests/published. */
#include <complex.h>
#include <unistd.h>

#include "../check.h"
#include "spectrum/spectrum.h"

/* ---- samples --------------------------------------------------------------------------------------- */

static const spurity_sample_format ci16 = {SPURITY_COMPONENT_I16, true, false, false};
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

/* 200 000 averages of 16-bit noise about a tone against sums in double of a transform by its definition: the mean of
 * floats must not drift. */
static void test_many_averages_do_not_drift(void **state)
{
    (void)state;
    enum { N = 64, HOP = 32, BINS = 3 };
    static const int bins[BINS] = {1, 5, 50};
    const size_t transforms = 200000, samples = (transforms - 1) * HOP + N;
    float *values = make_floats(samples, true, 0.5, 5.2 / N, 0.01);
    int16_t *words = as_i16(values, 2 * samples);
    double complex turn[BINS][N];
    double power[BINS] = {0};
    for (int b = 0; b < BINS; b++)
        for (int i = 0; i < N; i++)
            turn[b][i] = (0.5 - 0.5 * cos(2 * M_PI * i / N)) / (0.5 * N) * cexp(-2 * M_PI * I * bins[b] * i / N);
    for (size_t t = 0; t < transforms; t++)
        for (int b = 0; b < BINS; b++) {
            double complex x = 0;
            for (int i = 0; i < N; i++)
                x += turn[b][i] * (words[2 * (t * HOP + (size_t)i)] + I * words[2 * (t * HOP + (size_t)i) + 1]);
            power[b] += creal(x * conj(x)) / 0x1p30;
        }
    spurity_capture *capture = over(ci16, N, words, 4 * samples, NULL, 0);
    spurity_spectrum_options options = plain(SPURITY_WINDOW_HANN, N);
    spurity_spectrum *spectrum = spectrum_of(capture, &options);
    assert_int_equal(spurity_spectrum_facts_of(spectrum)->transforms, transforms);
    const spurity_segment segment = segment_of(spectrum, 0);
    for (int b = 0; b < BINS; b++) {
        const size_t at = (size_t)((bins[b] + N / 2) % N);
        assert_near(segment.level_db[at], 10 * log10(power[b] / (double)transforms), 0.001);
    }
    spurity_spectrum_free(spectrum);
    spurity_capture_free(capture);
    free(words);
    free(values);
}

/* ---- threads --------------------------------------------------------------------------------------- */

static void assert_same(const spurity_spectrum *a, const spurity_spectrum *b)
{
    const size_t count = spurity_trace_segment_count(spurity_spectrum_trace(a));
    assert_int_equal(spurity_trace_segment_count(spurity_spectrum_trace(b)), count);
    for (size_t i = 0; i < count; i++) {
        const spurity_segment x = segment_of(a, i), y = segment_of(b, i);
        assert_int_equal(x.count, y.count);
        assert_memory_equal(x.frequency_hz, y.frequency_hz, x.count * sizeof *x.frequency_hz);
        assert_memory_equal(x.level_db, y.level_db, x.count * sizeof *x.level_db);
    }
    const spurity_spectrum_facts *x = spurity_spectrum_facts_of(a), *y = spurity_spectrum_facts_of(b);
    assert_memory_equal(&x->mean_db, &y->mean_db, sizeof x->mean_db);
    assert_memory_equal(&x->dc_i, &y->dc_i, sizeof x->dc_i);
    assert_memory_equal(&x->gain_imbalance_db, &y->gain_imbalance_db, sizeof x->gain_imbalance_db);
    assert_int_equal(x->at_rail, y->at_rail);
    spurity_image image[2] = {{0}};
    const double hz = segment_of(a, 0).frequency_hz[100];
    assert_int_equal(spurity_spectrum_image(a, 0, hz, &image[0]), spurity_spectrum_image(b, 0, hz, &image[1]));
    assert_memory_equal(&image[0].coherence, &image[1].coherence, sizeof image[0].coherence);
}

static void test_threads_change_no_bit(void **state)
{
    (void)state;
    const size_t samples = 700001;
    float *values = make_floats(samples, true, 0.5, 0.1234, 0.05);
    int16_t *words = as_i16(values, 2 * samples);
    for (int detector = 0; detector <= SPURITY_SPECTRUM_MIN_HOLD; detector++)
        for (int sharp = 0; sharp < 2; sharp++) {
            spurity_spectrum *one = NULL;
            for (int threads = 1; threads <= 7; threads += 2) {
                const spurity_capture_segment segments[] = {{0, 1e8, false}, {300000, 1.01e8, false}};
                spurity_capture *capture = over(ci16, 1e6, words, 4 * samples, segments, 2);
                spurity_spectrum_options options = plain(SPURITY_WINDOW_HFT116D, 1000);
                options.detector = (spurity_spectrum_detector)detector;
                options.sharp = sharp;
                options.threads = threads;
                spurity_spectrum *made = spectrum_of(capture, &options);
                spurity_capture_free(capture);
                assert_int_equal(spurity_trace_segment_count(spurity_spectrum_trace(made)), sharp ? 4 : 2);
                if (!one) {
                    one = made;
                    continue;
                }
                assert_same(one, made);
                spurity_spectrum_free(made);
            }
            spurity_spectrum_free(one);
        }
    free(words);
    free(values);
}

/* ---- formats --------------------------------------------------------------------------------------- */

/* The fast loops of some formats read as the plain conversion does. */
static void test_formats_read_alike(void **state)
{
    (void)state;
    const size_t samples = 100003;
    float *values = make_floats(samples, true, 0.4, 0.21, 0.05);
    for (int component = 0; component <= SPURITY_COMPONENT_F64; component++)
        for (int form = 0; form < 4; form++) {
            const spurity_sample_format format = {(spurity_component)component, form & 1, false, form == 3};
            unsigned char *raw = malloc(samples * 16);
            float *floats = malloc(samples * 2 * sizeof *floats);
            assert_non_null(raw);
            assert_non_null(floats);
            memset(raw, 0, samples * 16);
            const size_t count = samples * (format.is_complex ? 2 : 1);
            for (size_t i = 0; i < count; i++) {
                const double v = (double)values[i];
                if (component <= SPURITY_COMPONENT_I8)
                    raw[i] = (unsigned char)lrint(127 * v + (component == SPURITY_COMPONENT_U8 ? 128 : 0));
                else if (component <= SPURITY_COMPONENT_I16)
                    ((uint16_t *)(void *)raw)[i] =
                        (uint16_t)lrint(32767 * v + (component == SPURITY_COMPONENT_U16 ? 32768 : 0));
                else if (component <= SPURITY_COMPONENT_I32)
                    ((uint32_t *)(void *)raw)[i] =
                        (uint32_t)llrint(2147483000 * v + (component == SPURITY_COMPONENT_U32 ? 2147483648.0 : 0));
                else if (component == SPURITY_COMPONENT_F32)
                    ((float *)(void *)raw)[i] = values[i];
                else
                    ((double *)(void *)raw)[i] = v;
            }
            spurity_sample_convert(format, raw, samples, floats);
            spurity_capture *a = over(format, 1e6, raw, samples * spurity_sample_format_bytes(format), NULL, 0);
            spurity_capture *b = over(format.is_complex ? cf32 : rf32, 1e6, floats, count * sizeof *floats, NULL, 0);
            spurity_spectrum_options options = plain(SPURITY_WINDOW_BLACKMAN_HARRIS, 486);
            spurity_spectrum *x = spectrum_of(a, &options), *y = spectrum_of(b, &options);
            const spurity_segment p = segment_of(x, 0), q = segment_of(y, 0);
            assert_int_equal(p.count, q.count);
            for (size_t i = 0; i < p.count; i++)
                assert_near(p.level_db[i], q.level_db[i], 0.001);
            assert_near(spurity_spectrum_facts_of(x)->mean_db, spurity_spectrum_facts_of(y)->mean_db, 1e-4);
            assert_near(spurity_spectrum_facts_of(x)->dc_i, spurity_spectrum_facts_of(y)->dc_i, 1e-6);
            spurity_spectrum_free(x);
            spurity_spectrum_free(y);
            spurity_capture_free(a);
            spurity_capture_free(b);
            free(raw);
            free(floats);
        }
    free(values);
}

static void test_not_finite_is_counted_as_nothing(void **state)
{
    (void)state;
    const size_t samples = 65536;
    float *values = make_floats(samples, true, 0.5, 0.125, 0);
    values[2 * 777] = NAN;
    values[2 * 40000 + 1] = INFINITY;
    spurity_capture *capture = over(cf32, 1e6, values, samples * 2 * sizeof *values, NULL, 0);
    spurity_spectrum_options options = plain(SPURITY_WINDOW_HANN, 1024);
    spurity_spectrum *spectrum = spectrum_of(capture, &options);
    const spurity_segment segment = segment_of(spectrum, 0);
    assert_int_equal(spurity_spectrum_facts_of(spectrum)->not_finite, 2);
    assert_near(segment.level_db[strongest(&segment)], 20 * log10(0.5), 0.01);
    spurity_spectrum_free(spectrum);
    spurity_capture_free(capture);
    for (size_t i = 0; i < 2 * samples; i++)
        values[i] = NAN;
    capture = over(cf32, 1e6, values, samples * 2 * sizeof *values, NULL, 0);
    spurity_error error = {0};
    assert_int_equal(spurity_spectrum_create(capture, &options, NULL, &spectrum, &error), SPURITY_INVALID);
    assert_null(spectrum);
    assert_non_null(strstr(error.found, "finite"));
    spurity_capture_free(capture);
    for (size_t i = 0; i < 2 * samples; i++)
        values[i] = 1e30F;
    capture = over(cf32, 1e6, values, samples * 2 * sizeof *values, NULL, 0);
    error = (spurity_error){0};
    assert_int_equal(spurity_spectrum_create(capture, &options, NULL, &spectrum, &error), SPURITY_INVALID);
    spurity_capture_free(capture);
    memset(values, 0, 2 * samples * sizeof *values);
    capture = over(cf32, 1e6, values, samples * 2 * sizeof *values, NULL, 0);
    error = (spurity_error){0};
    assert_int_equal(spurity_spectrum_create(capture, &options, NULL, &spectrum, &error), SPURITY_INVALID);
    assert_non_null(strstr(error.found, "0 throughout"));
    spurity_capture_free(capture);
    free(values);
}

/* ---- segments, edges, lengths ---------------------------------------------------------------------- */

/* A tone whose phase jumps at every seam: a transform across one would spread it. */
static void test_segments(void **state)
{
    (void)state;
    const size_t samples = 60000, n = 1024;
    float *values = make_floats(samples, true, 0.5, 0.125, 0);
    for (size_t i = 2 * 10000; i < 2 * 30500; i++)
        values[i] = -values[i];
    const spurity_capture_segment segments[] = {
        {0, 10e6, false}, {10000, 10e6, true}, {30500, 10e6, false}, {45000, 20e6, false}, {59900, 30e6, false}};
    spurity_capture *capture = over(cf32, 1e6, values, samples * 2 * sizeof *values, segments, 5);
    spurity_spectrum_options options = plain(SPURITY_WINDOW_HANN, n);
    options.edge_fraction = 0.1;
    spurity_spectrum *spectrum = spectrum_of(capture, &options);
    assert_int_equal(spurity_trace_segment_count(spurity_spectrum_trace(spectrum)), 2); /* 100 samples hold none */
    const uint64_t want[] = {18 + 39 + 27, 28}; /* (length - 1024) / 512 + 1 of each */
    for (size_t i = 0; i < 2; i++) {
        spurity_spectrum_part part;
        assert_true(spurity_spectrum_part_at(spectrum, i, &part));
        const spurity_segment segment = segment_of(spectrum, i);
        assert_int_equal(part.transforms, want[i]);
        assert_int_equal(part.overload, i == 0);
        const double center = i ? 20e6 : 10e6;
        assert_near(part.center_hz, center, 0);
        assert_near(part.cut_low_hz, center - 0.5e6, 0);
        assert_near(part.cut_high_hz, center + 0.5e6, 0);
        assert_near(part.from_hz, segment.frequency_hz[0], 0);
        assert_near(part.to_hz, segment.frequency_hz[segment.count - 1], 0);
        assert_true(part.from_hz >= center - 0.4e6 && part.from_hz < center - 0.4e6 + 1e6 / 1024);
        assert_true(part.to_hz <= center + 0.4e6 && part.to_hz > center + 0.4e6 - 1e6 / 1024);
        assert_near(part.center_to_hz - part.center_from_hz, 4e6 / 1024, 1e-6);
        const size_t best = strongest(&segment);
        assert_near(segment.frequency_hz[best], center + 125e3, 0);
        assert_near(segment.level_db[best], 20 * log10(0.5), 1e-4);
        assert_true(segment.level_db[best + 20] < -130);
        spurity_tone tone;
        assert_true(spurity_spectrum_tone(spectrum, i, &tone));
        assert_near(tone.frequency_hz, center + 125e3, 0.01);
        assert_near(tone.level_db, 20 * log10(0.5), 0.001);
    }
    spurity_spectrum_part part;
    assert_false(spurity_spectrum_part_at(spectrum, 2, &part));
    spurity_spectrum_free(spectrum);
    spurity_capture_free(capture);
    free(values);
}

static void test_edges_and_scale(void **state)
{
    (void)state;
    const size_t samples = 50000;
    float *values = make_floats(samples, false, 0.5, 0.2, 0.01);
    static const spurity_capture_segment segment_at[] = {{0, NAN, false}};
    spurity_capture_facts facts;
    spurity_capture_facts_init(&facts);
    facts.format = rf32;
    facts.rate_hz = 48e3;
    facts.full_scale_dbm = -20;
    facts.segments = segment_at;
    facts.segment_count = 1;
    for (int narrow = 0; narrow < 2; narrow++) {
        if (narrow)
            facts.usable_hz = 15e3;
        spurity_error error = {0};
        spurity_capture *capture = NULL;
        assert_ok(spurity_capture_from_memory(&facts, values, samples * sizeof *values, &capture, &error), &error);
        spurity_spectrum_options options = plain(SPURITY_WINDOW_HFT95, 4096);
        options.edge_fraction = 0.1;
        spurity_spectrum *spectrum = spectrum_of(capture, &options);
        const spurity_segment segment = segment_of(spectrum, 0);
        assert_near(segment.frequency_hz[0], 0, 0);
        const double top = narrow ? 15e3 : 0.4 * 48e3, bin_hz = 48e3 / 4096;
        assert_true(segment.frequency_hz[segment.count - 1] <= top + 1e-3);
        assert_true(segment.frequency_hz[segment.count - 1] > top - bin_hz);
        assert_near(segment.level_db[strongest(&segment)], 20 * log10(0.5) - 20, 0.02);
        assert_string_equal(spurity_trace_scale(spurity_spectrum_trace(spectrum)), "");
        spurity_spectrum_part part;
        assert_true(spurity_spectrum_part_at(spectrum, 0, &part));
        assert_false(part.center_told || part.is_complex);
        assert_near(part.cut_high_hz, 24e3, 0);
        assert_near(part.center_from_hz, NAN, 0);
        spurity_image image;
        assert_false(spurity_spectrum_image(spectrum, 0, 1e3, &image));
        spurity_spectrum_free(spectrum);
        spurity_capture_free(capture);
    }
    free(values);
}

static void test_resolution_by_default(void **state)
{
    (void)state;
    /* rate/5000, nearest of 1-3-10 on a logarithmic scale; the RBW is at most that, and little less. */
    static const struct {
        double rate_hz, rbw_hz;
    } rows[] = {{2.4e6, 300}, {10e6, 3000}, {1e6, 300}, {48e3, 10}, {20e6, 3000}, {61.44e6, 10e3}};
    const size_t samples = 400000;
    float *values = make_floats(samples, true, 0.5, 0.125, 0.01);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        spurity_capture *capture = over(cf32, rows[i].rate_hz, values, samples * 2 * sizeof *values, NULL, 0);
        spurity_spectrum_options options = plain(SPURITY_WINDOW_BLACKMAN_HARRIS, 0);
        spurity_spectrum *spectrum = spectrum_of(capture, &options);
        const spurity_spectrum_facts *facts = spurity_spectrum_facts_of(spectrum);
        assert_true(facts->rbw_hz <= rows[i].rbw_hz * (1 + 1e-9) && facts->rbw_hz > 0.9 * rows[i].rbw_hz);
        assert_int_equal(facts->transform % 16, 0);
        assert_near(segment_of(spectrum, 0).facts.rbw_hz, facts->rbw_hz, 0);
        assert_false(facts->averages_few);
        spurity_spectrum_free(spectrum);
        spurity_capture_free(capture);
    }
    free(values);
}

static void test_short_captures(void **state)
{
    (void)state;
    float *values = make_floats(100000, true, 0.5, 0.125, 0.01);
    for (size_t samples = 16; samples <= 100000; samples = samples * 5 / 3) {
        spurity_capture *capture = over(cf32, 1e6, values, samples * 2 * sizeof *values, NULL, 0);
        spurity_spectrum_options options = plain(SPURITY_WINDOW_HFT144D, 0);
        spurity_spectrum *spectrum = spectrum_of(capture, &options);
        const spurity_spectrum_facts *facts = spurity_spectrum_facts_of(spectrum);
        assert_true(facts->transform <= samples && facts->transforms >= 1);
        assert_int_equal(facts->samples, samples);
        assert_true(facts->averages_few || facts->averages >= 16);
        assert_true(samples < 500 || facts->averages >= 16);
        spurity_spectrum_free(spectrum);
        spurity_capture_free(capture);
    }
    spurity_error error = {0};
    spurity_spectrum *spectrum = NULL;
    spurity_spectrum_options options = plain(SPURITY_WINDOW_HANN, 0);
    spurity_capture *capture = over(cf32, 1e6, values, 15 * 2 * sizeof *values, NULL, 0);
    assert_int_equal(spurity_spectrum_create(capture, &options, NULL, &spectrum, &error), SPURITY_INVALID);
    spurity_capture_free(capture);
    /* An RBW that was asked for is kept: fewer averages, or an error. */
    options.rbw_hz = 100;
    capture = over(cf32, 1e6, values, 30000 * 2 * sizeof *values, NULL, 0);
    spectrum = spectrum_of(capture, &options);
    assert_true(spurity_spectrum_facts_of(spectrum)->rbw_hz <= 100);
    assert_true(spurity_spectrum_facts_of(spectrum)->averages_few);
    spurity_spectrum_free(spectrum);
    spurity_capture_free(capture);
    capture = over(cf32, 1e6, values, 10000 * 2 * sizeof *values, NULL, 0);
    error = (spurity_error){0};
    assert_int_equal(spurity_spectrum_create(capture, &options, NULL, &spectrum, &error), SPURITY_INVALID);
    assert_non_null(strstr(error.advice, "wider"));
    spurity_capture_free(capture);
    free(values);
}

static void test_options_that_cannot_be(void **state)
{
    (void)state;
    float *values = make_floats(1000, true, 0.5, 0.125, 0);
    for (int i = 0; i < 9; i++) {
        spurity_spectrum_options options = plain(SPURITY_WINDOW_HANN, 0);
        if (i == 0)
            options.window = SPURITY_WINDOWS;
        else if (i == 1)
            options.transform = 17;
        else if (i == 2)
            options.transform = 1 << 25;
        else if (i == 3)
            options.overlap = 0.99;
        else if (i == 4)
            options.rbw_hz = NAN;
        else if (i == 5)
            options.seconds = -1;
        else if (i == 6)
            options.edge_fraction = 0.5;
        else
            options.rbw_hz = i == 7 ? 1e-9 : 100e3; /* Hann of 16 samples: 1.44 MS/s / 16 = 90 kHz */
        spurity_capture *capture = over(cf32, 1e6, values, 1000 * 2 * sizeof *values, NULL, 0);
        spurity_error error = {0};
        spurity_spectrum *spectrum = NULL;
        assert_int_equal(spurity_spectrum_create(capture, &options, NULL, &spectrum, &error), SPURITY_INVALID);
        assert_null(spectrum);
        spurity_capture_free(capture);
    }
    free(values);
}

/* ---- streams --------------------------------------------------------------------------------------- */

/* A stream that cannot go back, gives odd pieces, and ends after `samples` (0: never). */
struct piped {
    const float *values;
    size_t period, at, samples;
    bool fails;
    size_t stalls; /* nothing more comes after these; 0: never */
    bool (*go_on)(void *context);
    void *context;
};

static void piped_while_waiting(void *user, bool (*go_on)(void *context), void *context)
{
    struct piped *piped = user;
    piped->go_on = go_on;
    piped->context = context;
}

static spurity_status piped_read(void *user, void *into, size_t samples, size_t *got, spurity_error *error)
{
    struct piped *piped = user;
    size_t now = samples < 1237 ? samples : 1237;
    if (piped->samples && now > piped->samples - piped->at)
        now = piped->samples - piped->at;
    if (piped->fails && piped->at > 50000)
        return spurity_report(error, SPURITY_SYSTEM, (spurity_place){0}, "a broken pipe", NULL, NULL);
    while (piped->stalls && piped->at >= piped->stalls && piped->go_on) {
        if (!piped->go_on(piped->context))
            return spurity_report(error, SPURITY_CANCELLED, (spurity_place){0}, "cancelled", NULL, NULL);
        usleep(1000);
    }
    for (size_t i = 0; i < now; i++)
        memcpy((float *)into + 2 * i, piped->values + 2 * ((piped->at + i) % piped->period), 2 * sizeof(float));
    piped->at += now;
    *got = now;
    return SPURITY_OK;
}

static spurity_capture *over_pipe(struct piped *piped)
{
    static const spurity_capture_segment whole = {.center_hz = 1e6};
    spurity_capture_facts facts;
    spurity_capture_facts_init(&facts);
    facts.format = cf32;
    facts.rate_hz = 1e6;
    facts.segments = &whole;
    facts.segment_count = 1;
    const spurity_capture_stream stream = {.read = piped_read, .user = piped, .while_waiting = piped_while_waiting};
    spurity_error error = {0};
    spurity_capture *capture = NULL;
    assert_ok(spurity_capture_create(&facts, &stream, &capture, &error), &error);
    return capture;
}

/* A pipe gives the same levels as memory, for any number of threads. */
static void test_pipe_reads_as_memory(void **state)
{
    (void)state;
    const size_t lengths[] = {300, 20000, 400000};
    float *values = make_floats(400000, true, 0.5, 0.125, 0.01);
    for (size_t i = 0; i < 3; i++)
        for (int threads = 1; threads <= 3; threads += 2) {
            spurity_capture *memory = over(cf32, 1e6, values, lengths[i] * 2 * sizeof *values, NULL, 0);
            struct piped piped = {.values = values, .period = 400000, .samples = lengths[i]};
            spurity_capture *pipe = over_pipe(&piped);
            spurity_spectrum_options options = plain(SPURITY_WINDOW_HFT95, 0);
            options.overlap = 0.5;
            options.threads = threads;
            spurity_spectrum *a = spectrum_of(memory, &options), *b = spectrum_of(pipe, &options);
            const spurity_segment x = segment_of(a, 0), y = segment_of(b, 0);
            assert_int_equal(x.count, y.count);
            assert_memory_equal(x.level_db, y.level_db, x.count * sizeof *x.level_db);
            assert_int_equal(spurity_spectrum_facts_of(b)->samples, lengths[i]);
            spurity_spectrum_free(a);
            spurity_spectrum_free(b);
            spurity_capture_free(memory);
            spurity_capture_free(pipe);
        }
    free(values);
}

static bool count_ticks(void *user, const char *what, double fraction)
{
    int *ticks = user;
    assert_true(strncmp(what, "spectrum", 8) == 0);
    assert_true(fraction <= 1);
    return ++*ticks < 4;
}

/* An endless stream ends by `seconds`, or when the watch says so. */
static void test_endless(void **state)
{
    (void)state;
    float *values = make_floats(100000, true, 0.5, 0.125, 0.01);
    struct piped piped = {.values = values, .period = 100000};
    spurity_spectrum_options options = plain(SPURITY_WINDOW_HFT95, 0);
    options.threads = 2;
    options.seconds = 1.5;
    spurity_capture *pipe = over_pipe(&piped);
    spurity_spectrum *spectrum = spectrum_of(pipe, &options);
    assert_int_equal(spurity_spectrum_facts_of(spectrum)->samples, 1500000);
    spurity_spectrum_free(spectrum);
    spurity_capture_free(pipe);
    options.seconds = 0;
    pipe = over_pipe(&piped);
    int ticks = 0;
    const spurity_watch watch = {.tick = count_ticks, .user = &ticks};
    spurity_error error = {0};
    assert_int_equal(spurity_spectrum_create(pipe, &options, &watch, &spectrum, &error), SPURITY_CANCELLED);
    assert_null(spectrum);
    assert_int_equal(ticks, 4);
    spurity_capture_free(pipe);
    piped = (struct piped){.values = values, .period = 100000, .fails = true};
    pipe = over_pipe(&piped);
    error = (spurity_error){0};
    assert_int_equal(spurity_spectrum_create(pipe, &options, NULL, &spectrum, &error), SPURITY_SYSTEM);
    assert_string_equal(error.found, "a broken pipe");
    spurity_capture_free(pipe);
    free(values);
}

static bool tick_a_few_times(void *user, const char *what, double fraction)
{
    int *left = user;
    assert_true(*what && fraction <= 1);
    return (*left)-- > 0;
}

/* A stream that has gone silent, in its beginning or later, can be left; nobody is asked afterwards. */
static void test_silent_stream(void **state)
{
    (void)state;
    const size_t stalls[] = {2000, 2000000};
    float *values = make_floats(100000, true, 0.5, 0.125, 0.01);
    for (size_t i = 0; i < 2; i++)
        for (int threads = 1; threads <= 2; threads++) {
            struct piped piped = {.values = values, .period = 100000, .stalls = stalls[i]};
            spurity_capture *pipe = over_pipe(&piped);
            spurity_spectrum_options options = plain(SPURITY_WINDOW_HFT95, 0);
            spurity_spectrum *spectrum;
            int left = 10;
            const spurity_watch watch = {.tick = tick_a_few_times, .user = &left};
            spurity_error error = {0};
            options.threads = threads;
            assert_int_equal(spurity_spectrum_create(pipe, &options, &watch, &spectrum, &error), SPURITY_CANCELLED);
            assert_null(spectrum);
            assert_true(left < 0 && !piped.go_on);
            spurity_capture_free(pipe);
        }
    free(values);
}

/* ---- detectors, the sharp window, bursts ----------------------------------------------------------- */

/* Of n exponential powers the largest is H_n times the mean, the smallest 1/n (order statistics; the harmonic number).
 */
static void test_holds(void **state)
{
    (void)state;
    const size_t samples = 1 << 18, n = 1024, count = samples / n;
    float *values = make_floats(samples, true, 0, 0, 0.1);
    double mean[3], harmonic = 0;
    for (size_t i = 1; i <= count; i++)
        harmonic += 1.0 / (double)i;
    for (int detector = 0; detector < 3; detector++) {
        spurity_capture *capture = over(cf32, 1e6, values, samples * 2 * sizeof *values, NULL, 0);
        spurity_spectrum_options options = plain(SPURITY_WINDOW_RECTANGULAR, n);
        options.overlap = 0;
        options.detector = (spurity_spectrum_detector)detector;
        spurity_spectrum *spectrum = spectrum_of(capture, &options);
        const spurity_segment segment = segment_of(spectrum, 0);
        mean[detector] = total_power(&segment) / (double)segment.count;
        static const spurity_detector names[] = {SPURITY_DETECTOR_AVERAGE, SPURITY_DETECTOR_MAX_HOLD,
                                                 SPURITY_DETECTOR_UNKNOWN};
        assert_int_equal(segment.facts.detector, names[detector]);
        assert_near(segment.facts.averages, (double)count, 1e-9);
        spurity_spectrum_free(spectrum);
        spurity_capture_free(capture);
    }
    assert_near(mean[1] / mean[0], harmonic, 0.15); /* sigma: pi / sqrt(6 * 1024) = 0.04 */
    assert_near(mean[2] / mean[0] * (double)count, 1, 0.13);
    free(values);
}

/* The maximum beside the mean is what a run with that detector gives, and leaves the mean as it is, on any number of
 * threads, over several centres. */
static void test_maximum_beside_the_mean(void **state)
{
    (void)state;
    const size_t samples = 1 << 18;
    const spurity_capture_segment centres[] = {{.first = 0, .center_hz = 1e6}, {.first = 100000, .center_hz = 2e6}};
    float *values = make_floats(samples, true, 0.3, 0.1, 0.1);
    spurity_spectrum_options options = plain(SPURITY_WINDOW_HANN, 1024);
    spurity_spectrum *made[3];
    for (int i = 0; i < 3; i++) {
        options.overlap = 0.5;
        options.hold = i == 0;
        options.threads = i == 0 ? 3 : 1;
        options.detector = i == 2 ? SPURITY_SPECTRUM_MAX_HOLD : SPURITY_SPECTRUM_MEAN;
        spurity_capture *capture = over(cf32, 1e6, values, samples * 2 * sizeof *values, centres, 2);
        made[i] = spectrum_of(capture, &options);
        spurity_capture_free(capture);
    }
    assert_null(spurity_spectrum_held(made[1]));
    assert_null(spurity_spectrum_held(made[2]));
    const spurity_trace *held = spurity_spectrum_held(made[0]);
    assert_non_null(held);
    assert_int_equal(spurity_trace_segment_count(held), 2);
    for (size_t s = 0; s < 2; s++) {
        spurity_segment most;
        assert_true(spurity_trace_segment(held, s, &most));
        const spurity_segment mean = segment_of(made[0], s), alone = segment_of(made[1], s),
                              hold = segment_of(made[2], s);
        assert_int_equal(most.facts.detector, SPURITY_DETECTOR_MAX_HOLD);
        assert_int_equal(most.count, hold.count);
        assert_memory_equal(most.frequency_hz, mean.frequency_hz, most.count * sizeof(double));
        assert_memory_equal(most.level_db, hold.level_db, most.count * sizeof(double));
        assert_memory_equal(mean.level_db, alone.level_db, mean.count * sizeof(double));
    }
    for (int i = 0; i < 3; i++)
        spurity_spectrum_free(made[i]);
    free(values);
}

static void test_sharp_window(void **state)
{
    (void)state;
    const size_t samples = 300000;
    float *values = make_floats(samples, true, 0.5, 0.125, 0.01);
    spurity_capture *capture = over(cf32, 1e6, values, samples * 2 * sizeof *values, NULL, 0);
    spurity_spectrum_options options = plain(SPURITY_WINDOW_HFT144D, 8192);
    options.sharp = true;
    options.sharp_half_hz = 20e3;
    spurity_spectrum *both = spectrum_of(capture, &options);
    spurity_capture_free(capture);
    capture = over(cf32, 1e6, values, samples * 2 * sizeof *values, NULL, 0);
    options = plain(SPURITY_WINDOW_BLACKMAN_HARRIS, 8192);
    options.overlap = spurity_spectrum_facts_of(both)->overlap;
    spurity_spectrum *alone = spectrum_of(capture, &options);
    const spurity_segment sharp = segment_of(both, 1), whole = segment_of(alone, 0);
    spurity_spectrum_part part;
    assert_true(spurity_spectrum_part_at(both, 1, &part));
    assert_true(part.sharp);
    assert_near(part.from_hz, 105e3, 123);
    assert_near(part.to_hz, 145e3, 123);
    const size_t shift = strongest(&whole) - strongest(&sharp);
    for (size_t i = 0; i < sharp.count; i++) {
        assert_near(sharp.frequency_hz[i], whole.frequency_hz[shift + i], 0);
        assert_near(sharp.level_db[i], whole.level_db[shift + i], 1e-4);
    }
    assert_near(sharp.facts.rbw_hz, whole.facts.rbw_hz, 0);
    spurity_tone tone;
    assert_true(spurity_spectrum_tone(both, 1, &tone));
    assert_near(tone.frequency_hz, 125e3, 0.5);
    spurity_spectrum_free(both);
    spurity_spectrum_free(alone);
    spurity_capture_free(capture);
    free(values);
}

/* Keyed a tenth of the time: the mean is that of the key-down time, or, asked for, of all. */
static void test_bursts(void **state)
{
    (void)state;
    const size_t samples = 2000000;
    float *values = make_floats(samples, true, 0.5, 0.125, 0);
    for (size_t i = 0; i < samples; i++)
        if (i % 500000 < 100000 || i % 500000 >= 150000) /* 50 ms down each 500 ms */
            values[2 * i] = values[2 * i + 1] = 1e-4F * (float)(i % 3);
    for (int whole = 0; whole < 2; whole++) {
        spurity_capture *capture = over(cf32, 1e6, values, samples * 2 * sizeof *values, NULL, 0);
        spurity_spectrum_options options = plain(SPURITY_WINDOW_HFT95, 1024);
        options.whole = whole;
        spurity_spectrum *spectrum = spectrum_of(capture, &options);
        const spurity_spectrum_facts *facts = spurity_spectrum_facts_of(spectrum);
        const spurity_segment segment = segment_of(spectrum, 0);
        assert_true(facts->bursts);
        assert_int_equal(facts->burst_count, 4);
        assert_near(facts->duty, 0.1, 0.005);
        assert_int_equal(facts->gated, !whole);
        assert_near(segment.level_db[strongest(&segment)], 20 * log10(0.5) - (whole ? 10 : 0), whole ? 0.1 : 0.001);
        spurity_tone tone;
        if (!whole)
            assert_true(spurity_spectrum_tone(spectrum, 0, &tone));
        if (!whole)
            assert_near(tone.level_db, 20 * log10(0.5), 0.01);
        spurity_spectrum_free(spectrum);
        spurity_capture_free(capture);
    }
    free(values);
}

/* ---- plans in a file ------------------------------------------------------------------------------- */

static void test_plans_in_a_file(void **state)
{
    (void)state;
    char path[] = "spurity-plans-XXXXXX"; /* in the folder the test runs in */
    const int descriptor = mkstemp(path);
    assert_true(descriptor >= 0);
    assert_int_equal(write(descriptor, "(junk", 5), 5);
    close(descriptor);
    float *values = make_floats(100000, true, 0.5, 0.125, 0.01);
    const char *files[] = {path, "/nowhere/at/all", "/dev/zero", "/dev"};
    for (size_t i = 0; i < 4; i++) {
        spurity_capture *capture = over(cf32, 1e6, values, 100000 * 2 * sizeof *values, NULL, 0);
        spurity_spectrum_options options = plain(SPURITY_WINDOW_HANN, 1024);
        options.reproducible = false;
        options.wisdom = files[i];
        spurity_spectrum *spectrum = spectrum_of(capture, &options);
        const spurity_segment segment = segment_of(spectrum, 0);
        assert_near(segment.level_db[strongest(&segment)], 20 * log10(0.5), 0.01);
        spurity_spectrum_free(spectrum);
        spurity_capture_free(capture);
    }
    unlink(path);
    free(values);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_level_and_place_of_a_tone),
        cmocka_unit_test(test_sum_of_levels_is_mean_power),
        cmocka_unit_test(test_noise_reads_by_its_bandwidth),
        cmocka_unit_test(test_many_averages_do_not_drift),
        cmocka_unit_test(test_threads_change_no_bit),
        cmocka_unit_test(test_formats_read_alike),
        cmocka_unit_test(test_not_finite_is_counted_as_nothing),
        cmocka_unit_test(test_segments),
        cmocka_unit_test(test_edges_and_scale),
        cmocka_unit_test(test_resolution_by_default),
        cmocka_unit_test(test_short_captures),
        cmocka_unit_test(test_options_that_cannot_be),
        cmocka_unit_test(test_pipe_reads_as_memory),
        cmocka_unit_test(test_endless),
        cmocka_unit_test(test_silent_stream),
        cmocka_unit_test(test_holds),
        cmocka_unit_test(test_maximum_beside_the_mean),
        cmocka_unit_test(test_sharp_window),
        cmocka_unit_test(test_bursts),
        cmocka_unit_test(test_plans_in_a_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
