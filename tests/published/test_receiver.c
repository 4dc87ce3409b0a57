/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What the samples say of the receiver and of the key, against closed forms and open recordings (data/README.md). */
#include "../check.h"

#include <fftw3.h>

#include "spectrum/receiver.h" /* the room behind the door */

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

/* turns: cycles a sample */
static void add_tone(float *x, size_t n, double amplitude, double turns, double phase)
{
    for (size_t i = 0; i < n; i++) {
        double angle = 2 * PI * fmod(turns * (double)i, 1) + phase;
        x[2 * i] += (float)(amplitude * cos(angle));
        x[2 * i + 1] += (float)(amplitude * sin(angle));
    }
}

static void add_noise(float *x, size_t n, double power)
{
    for (size_t i = 0; i < 2 * n; i++)
        x[i] += (float)(sqrt(power / 2) * normal());
}

/* A carrier modulated by a tone: deviation and rate in cycles a sample. */
static void add_fm(float *x, size_t n, double amplitude, double turns, double deviation, double rate)
{
    for (size_t i = 0; i < n; i++) {
        double t = (double)i, angle = 2 * PI * fmod(turns * t, 1) + deviation / rate * sin(2 * PI * fmod(rate * t, 1));
        x[2 * i] += (float)(amplitude * cos(angle));
        x[2 * i + 1] += (float)(amplitude * sin(angle));
    }
}

/* A receiver's gain and phase error, as spectrum.h has their signs, and its offset. */
static void spoil(float *x, size_t n, double gain_db, double phase_deg, double dc_i, double dc_q)
{
    double g = pow(10, gain_db / 20), s = sin(phase_deg * PI / 180), c = cos(phase_deg * PI / 180);
    for (size_t i = 0; i < n; i++) {
        double re = (double)x[2 * i], im = (double)x[2 * i + 1];
        x[2 * i] = (float)(g * re + dc_i);
        x[2 * i + 1] = (float)(im * c + re * s + dc_q);
    }
}

static spurity_spectrum_facts facts_of(float *x, size_t n, bool is_complex)
{
    spurity_receiver receiver;
    spurity_spectrum_facts facts = {0};
    spurity_receiver_init(&receiver, is_complex, NAN, NAN);
    spurity_receiver_feed(&receiver, x, n);
    spurity_receiver_finish(&receiver, &facts);
    return facts;
}

/* ---- level, centre, imbalance ---------------------------------------------------------------------- */

/* Rejection (1 + 2 g cos p + g^2) / (1 - 2 g cos p + g^2): project's reference table, worked by numpy. */
static void test_image_formula(void **state)
{
    (void)state;
    const double rows[][3] = {{0.01, 0.1, 59.61}, {0.1, 0.5, 42.83}, {0.1, 1, 39.61}, {0.1, 0, 44.80}, {0, 1, 41.18},
                              {0.2, 1, 36.80},    {0.5, 1, 30.44},   {0.5, 3, 28.20}, {1, 5, 22.83}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_near(spurity_receiver_image_db(rows[i][0], rows[i][1]), rows[i][2], 0.0051);
        assert_near(spurity_receiver_image_db(-rows[i][0], -rows[i][1]), rows[i][2], 0.0051);
    }
}

static void test_imbalance(void **state)
{
    (void)state;
    enum { N = 1 << 19 };
    float *x = calloc(2 * N, sizeof *x);
    const double rows[][2] = {{0.1, 0.5}, {-0.5, 3}, {1, -5}, {0, 0}, {0.02, 0.1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        memset(x, 0, 2 * N * sizeof *x);
        add_fm(x, N, 0.4, 0.11, 0.002, 0.0004);
        add_noise(x, N, 1e-6);
        spoil(x, N, rows[i][0], rows[i][1], 0.01, -0.02);
        spurity_spectrum_facts facts = facts_of(x, N, true);
        assert_near(facts.gain_imbalance_db, rows[i][0], 0.002);
        assert_near(facts.phase_imbalance_deg, rows[i][1], 0.01);
        double want = spurity_receiver_image_db(rows[i][0], rows[i][1]);
        if (want < 60)
            assert_near(facts.image_db, want, 0.3);
        else
            assert_true(facts.image_db > 75);
        assert_near(facts.dc_i, 0.01, 1e-5);
        assert_near(facts.dc_q, -0.02, 1e-5);
        double power = 0.5 * 0.16 * (pow(10, rows[i][0] / 10) + 1) + 1e-6 + 1e-4 + 4e-4;
        assert_near(facts.mean_db, 10 * log10(power), 0.002);
        assert_int_equal(facts.samples, N);
        assert_int_equal(facts.components, 2 * N);
    }
    free(x);
}

/* Signals that are not circular of themselves, with a perfect receiver: nothing may be told of its imbalance. */
static void test_not_circular(void **state)
{
    (void)state;
    enum { N = 1 << 18 };
    float *x = calloc(2 * N, sizeof *x);
    for (int kind = 0; kind < 5; kind++) {
        memset(x, 0, 2 * N * sizeof *x);
        for (size_t i = 0; i < N; i++) {
            double t = (double)i, speech = sin(0.003 * t) * sin(0.00011 * t) + 0.3 * sin(0.0071 * t), re = 0, im = 0;
            if (kind == 0) /* AM on the centre, carrier phase 0.6 rad */
                re = 0.3 * (1 + 0.8 * speech) * cos(0.6), im = 0.3 * (1 + 0.8 * speech) * sin(0.6);
            if (kind == 1) /* real samples in a complex file */
                re = 0.4 * cos(0.7 * t);
            if (kind == 2) /* a carrier a fraction of a cell's turn off the centre */
                re = 0.4 * cos(2e-4 * t), im = 0.4 * sin(2e-4 * t);
            if (kind == 3) /* two-phase keying on the centre */
                re = 0.4 * ((i / 1000 * 7919 % 13) % 2 ? 1 : -1);
            if (kind == 4) /* AM on the centre beside a stronger carrier elsewhere */
                re = 0.4 * cos(0.7 * t) + 0.15 * speech, im = 0.4 * sin(0.7 * t) + 0.1 * speech;
            x[2 * i] = (float)re;
            x[2 * i + 1] = (float)im;
        }
        add_noise(x, N, 1e-6);
        spurity_spectrum_facts facts = facts_of(x, N, true);
        print_message("not circular %d: %.3f dB %.3f degrees\n", kind, facts.gain_imbalance_db,
                      facts.phase_imbalance_deg);
        assert_true(isnan(facts.gain_imbalance_db) && isnan(facts.phase_imbalance_deg) && isnan(facts.image_db));
    }
    free(x);
}

/* Too little to tell: noise of few samples; a short capture; real samples. */
static void test_untold(void **state)
{
    (void)state;
    enum { N = 1 << 17 };
    float *x = calloc(2 * N, sizeof *x);
    add_noise(x, N, 0.01);
    assert_true(isnan(facts_of(x, N, true).image_db)); /* 1 / sqrt(N) is over 0.002 */
    assert_near(facts_of(x, N, true).mean_db, -20, 0.05);
    assert_true(isnan(facts_of(x, 1000, true).image_db));
    assert_true(isnan(facts_of(x, N, false).image_db));
    memset(x, 0, 2 * N * sizeof *x);
    assert_true(isnan(facts_of(x, N, true).mean_db));
    for (int i = 0; i < N; i++)
        x[i] = (float)cos(0.7 * i); /* real, peak 1: 0 dBFS */
    assert_near(facts_of(x, N, false).mean_db, 0, 0.001);
    free(x);
}

/* Runs added in order: the same figures as in one go, and the same bits however the blocks were handed in. */
static void test_runs(void **state)
{
    (void)state;
    enum { N = 100000, RUN = 8192 };
    float *x = calloc(2 * N, sizeof *x);
    add_fm(x, N, 0.4, 0.11, 0.002, 0.0004);
    add_noise(x, N, 1e-6);
    spoil(x, N, 0.3, 2, 0.01, 0);
    spurity_spectrum_facts whole = facts_of(x, N, true), parts[2] = {0};
    for (int way = 0; way < 2; way++) {
        spurity_receiver all, one;
        spurity_receiver_init(&all, true, -1, 1 - 1 / 32768.0);
        for (size_t at = 0; at < N; at += RUN) {
            size_t count = N - at < RUN ? N - at : RUN, step = way ? 256 : count;
            spurity_receiver_init(&one, true, -1, 1 - 1 / 32768.0);
            for (size_t k = 0; k < count; k += step)
                spurity_receiver_feed(&one, x + 2 * (at + k), count - k < step ? count - k : step);
            spurity_receiver_add(&all, &one);
        }
        spurity_receiver_finish(&all, &parts[way]);
    }
    assert_memory_equal(&parts[0], &parts[1], sizeof parts[0]);
    assert_near(parts[0].mean_db, whole.mean_db, 1e-9);
    assert_near(parts[0].gain_imbalance_db, 0.3, 0.005);
    assert_near(parts[0].gain_imbalance_db, whole.gain_imbalance_db, 0.005);
    assert_near(parts[0].dc_i, whole.dc_i, 1e-12);
    assert_true(parts[0].largest == whole.largest);
    free(x);
}

static void test_not_finite(void **state)
{
    (void)state;
    enum { N = 4000 };
    float x[2 * N] = {0};
    add_tone(x, N, 0.5, 0.1, 0);
    x[20] = NAN;
    x[21] = INFINITY;
    x[2001] = -INFINITY;
    x[2 * N - 2] = NAN;
    spurity_receiver receiver;
    spurity_spectrum_facts facts = {0};
    spurity_receiver_init(&receiver, true, NAN, NAN);
    assert_int_equal(spurity_receiver_feed(&receiver, x, N), 3);
    spurity_receiver_finish(&receiver, &facts);
    assert_int_equal(facts.not_finite, 3);
    assert_near(facts.mean_db, 20 * log10(0.5), 0.005);
    assert_near(facts.largest, 0.5, 1e-6);
    for (int i = 0; i < 2 * N; i++)
        assert_true(isfinite(x[i]));
}

/* ---- rails --------------------------------------------------------------------------------------- */

static spurity_spectrum_facts raw_facts(spurity_sample_format format, const void *bytes, size_t samples)
{
    spurity_receiver receiver;
    spurity_spectrum_facts facts = {0};
    double low, high;
    float *x = malloc(samples * 2 * sizeof *x);
    spurity_capture_rails(format.component, &low, &high);
    spurity_receiver_init(&receiver, format.is_complex, low, high);
    spurity_sample_convert(format, bytes, samples, x);
    spurity_receiver_feed(&receiver, x, samples);
    spurity_receiver_finish(&receiver, &facts);
    free(x);
    return facts;
}

static void test_rails(void **state)
{
    (void)state;
    const unsigned char u8[] = {0, 255, 1, 254, 0, 128, 127, 255};
    assert_int_equal(raw_facts((spurity_sample_format){SPURITY_COMPONENT_U8, true, false, false}, u8, 4).at_rail, 4);
    const signed char i8[] = {-128, 127, -127, 126, 0, 127};
    assert_int_equal(raw_facts((spurity_sample_format){SPURITY_COMPONENT_I8, true, false, false}, i8, 3).at_rail, 3);
    const int16_t i16[] = {-32768, 32767, -32767, 32766, 32767, 0, 1};
    assert_int_equal(raw_facts((spurity_sample_format){SPURITY_COMPONENT_I16, false, false, false}, i16, 7).at_rail, 3);
    const int32_t i32[] = {INT32_MIN, INT32_MAX, INT32_MIN + 1000, INT32_MAX - 1000, 0, 1 << 30};
    assert_int_equal(raw_facts((spurity_sample_format){SPURITY_COMPONENT_I32, true, false, false}, i32, 3).at_rail, 2);
}

/* A tone 0.5 dB over the rails: 43 % of the samples have a component clipped (project's reference table, by numpy; that
 * is a share of samples with either component cut; of components half as many here, since at 0.5 dB both are never). */
static void clipped_tone(float *x, size_t n, double over_db, double rail)
{
    memset(x, 0, 2 * n * sizeof *x);
    add_tone(x, n, rail * pow(10, over_db / 20), 0.1234567, 0);
    for (size_t i = 0; i < 2 * n; i++)
        x[i] = fmaxf(fminf(x[i], (float)rail), (float)-rail);
}

static void test_pinned(void **state)
{
    (void)state;
    enum { N = 1 << 16 };
    float *x = malloc(2 * N * sizeof *x);
    const double overs[] = {0.01, 0.1, 0.5, 3};
    for (int i = 0; i < 4; i++) {
        clipped_tone(x, N, overs[i], 0.7);
        assert_true(facts_of(x, N, true).pinned);
    }
    clipped_tone(x, N, 0.5, 1);
    spurity_receiver receiver;
    spurity_spectrum_facts facts = {0};
    spurity_receiver_init(&receiver, true, -1, 1);
    spurity_receiver_feed(&receiver, x, N);
    spurity_receiver_finish(&receiver, &facts);
    assert_near((double)facts.at_rail / N, 0.43, 0.0051);
    assert_false(facts.pinned); /* that is what at_rail says */

    /* Not clipped: tones as floats, rounded to 16 and to 8 bits, at several levels; noise; equal samples. */
    for (double amplitude = 0.05; amplitude < 0.99; amplitude += 0.0313)
        for (int bits = 8; bits <= 24; bits += 8) {
            double steps = pow(2, bits - 1);
            memset(x, 0, 2 * N * sizeof *x);
            add_tone(x, N, amplitude, bits == 16 ? 0.125 : 0.1234567, 0.3);
            for (int i = 0; i < 2 * N && bits < 24; i++)
                x[i] = (float)(round((double)x[i] * steps) / steps);
            assert_false(facts_of(x, N, true).pinned);
        }
    memset(x, 0, 2 * N * sizeof *x);
    add_noise(x, N, 0.01);
    assert_false(facts_of(x, N, true).pinned);
    free(x);
}

/* ---- open recordings ------------------------------------------------------------------------------- */

static unsigned char *load(const char *name, size_t *size)
{
    char path[1024];
    const char *folder = getenv("SPURITY_DATA");
    snprintf(path, sizeof path, "%s/%s", folder ? folder : "", name);
    FILE *file = folder ? fopen(path, "rb") : NULL;
    if (!file) {
        print_message("SKIPPED: no %s in the folder SPURITY_DATA names\n", name);
        skip();
    }
    fseek(file, 0, SEEK_END);
    *size = (size_t)ftell(file);
    rewind(file);
    unsigned char *bytes = malloc(*size);
    assert_int_equal(fread(bytes, 1, *size, file), *size);
    fclose(file);
    return bytes;
}

static const spurity_sample_format cu8 = {SPURITY_COMPONENT_U8, true, false, false};

/* 12 001 and 1 components at 0 or 255; mid-codes 127.41, and 127.39 and 127.38 (data/README.md). */
static void test_recorded_rails(void **state)
{
    (void)state;
    size_t size;
    unsigned char *bytes = load("meter-868950k-1600ksps.cu8", &size);
    spurity_spectrum_facts facts = raw_facts(cu8, bytes, size / 2);
    assert_int_equal(facts.at_rail, 12001);
    assert_near(127.5 + 128 * (facts.dc_i + facts.dc_q) / 2, 127.41, 0.01);
    free(bytes);
    bytes = load("meter-868625k-2400ksps.cu8", &size);
    facts = raw_facts(cu8, bytes, size / 2);
    print_message("+279.8 kHz burst: imbalance %.3f dB, %.2f degrees, image %.1f dB\n", facts.gain_imbalance_db,
                  facts.phase_imbalance_deg, facts.image_db);
    assert_int_equal(facts.at_rail, 1);
    free(bytes);
    bytes = load("pulses-1090M-2Msps.cu8", &size);
    facts = raw_facts(cu8, bytes, size / 2);
    assert_int_equal(facts.at_rail, 562);
    assert_near(127.5 + 128 * facts.dc_i, 127.39, 0.006);
    assert_near(127.5 + 128 * facts.dc_q, 127.38, 0.006);
    assert_near(facts.mean_db, -14.2, 0.06);
    free(bytes);
}

static spurity_envelope envelope_of(spurity_sample_format format, const void *bytes, size_t size, double rate_hz)
{
    spurity_capture_facts facts;
    spurity_capture *capture = NULL;
    spurity_envelope envelope;
    spurity_error error = {0};
    spurity_capture_facts_init(&facts);
    facts.format = format;
    facts.rate_hz = rate_hz;
    assert_ok(spurity_capture_from_memory(&facts, bytes, size, &capture, &error), &error);
    assert_ok(spurity_envelope_look(capture, 0, 0, NULL, &envelope, &error), &error);
    assert_int_equal(spurity_capture_at(capture), 0);
    spurity_capture_free(capture);
    print_message("bursts %d: %llu, duty %.4f, on %.2f, off %.2f dBFS, shortest %.2f ms\n", envelope.bursts,
                  (unsigned long long)envelope.burst_count, envelope.duty, envelope.on_db, envelope.off_db,
                  envelope.shortest_s * 1e3);
    return envelope;
}

/* Two bursts in 655.36 ms; the longer has 14.7 ms and -9.2 dBFS in data/README.md.  The other has 7.7 ms and +0.2 dBFS
 * there; mean powers of 0.25 ms by numpy show it from 239.25 to 246.0 ms, at +1.5 dBFS but for the first and last cell,
 * and that is what is asked for here.  The other recording's one burst is told as "nearly throughout, -5 dBFS"; by
 * numpy it lasts from 30.5 to 37.5 ms, at -4.8 dBFS, with noise of -25 dBFS and, before 5.3 ms, -21.4 dBFS beside it.
 */
static void test_recorded_bursts(void **state)
{
    (void)state;
    size_t size;
    unsigned char *bytes = load("meter-868950k-1600ksps.cu8", &size);
    spurity_envelope envelope = envelope_of(cu8, bytes, size, 1.6e6);
    assert_true(envelope.bursts && envelope.whole);
    assert_int_equal(envelope.burst_count, 2);
    assert_near(envelope.duty * 655.36, 6.7 + 14.7, 0.3);
    assert_near(envelope.shortest_s, 6.7e-3, 0.15e-3);
    double both = (6.7 * pow(10, 0.15) + 14.7 * pow(10, -0.92)) / (6.7 + 14.7);
    assert_near(envelope.on_db, 10 * log10(both), 0.15);
    free(bytes);
    bytes = load("meter-868625k-2400ksps.cu8", &size);
    envelope = envelope_of(cu8, bytes, size, 2.4e6);
    assert_int_equal(envelope.burst_count, 1);
    assert_near(envelope.shortest_s, 6.9e-3, 0.15e-3);
    assert_near(envelope.on_db, -4.8, 0.05);
    free(bytes);
}

/* The seconds of a time signal, down to 15 % (-16.5 dB) for 0.1 or 0.2 s, are no key-up. */
static void test_recorded_dips(void **state)
{
    (void)state;
    const spurity_sample_format ci16 = {SPURITY_COMPONENT_I16, true, false, false};
    const char *names[] = {"dcf77-2020-a.sigmf-data", "dcf77-2020-b.sigmf-data", "dcf77-2017-a.sigmf-data",
                           "dcf77-2017-b.sigmf-data"};
    const double mean[] = {-9.58, -7.95, -14.62, -13.58};
    for (int i = 0; i < 4; i++) {
        size_t size;
        unsigned char *bytes = load(names[i], &size);
        spurity_envelope envelope = envelope_of(ci16, bytes, size, 12001);
        assert_false(envelope.bursts);
        assert_near(envelope.duty, 1, 0);
        assert_near(envelope.on_db, mean[i], 0.01);
        /* A carrier on the centre is not circular: nothing of imbalance. */
        spurity_spectrum_facts facts = raw_facts(ci16, bytes, size / 4);
        assert_near(facts.mean_db, mean[i], 0.006);
        print_message("imbalance %.3f dB\n", facts.gain_imbalance_db);
        assert_true(isnan(facts.image_db));
        assert_int_equal(facts.at_rail, 0);
        assert_false(facts.pinned);
        free(bytes);
    }
}

/* ---- bursts -------------------------------------------------------------------------------------- */

/* A keyed tone: on for on_s of every period_s; noise throughout. */
static void keyed(float *x, size_t n, double rate_hz, double on_s, double period_s, double noise)
{
    memset(x, 0, 2 * n * sizeof *x);
    add_tone(x, n, 0.5, 0.0371, 0);
    for (size_t i = 0; i < n; i++)
        if (fmod((double)i / rate_hz + 0.03, period_s) >= on_s)
            x[2 * i] = x[2 * i + 1] = 0;
    add_noise(x, n, noise);
}

static const spurity_sample_format cf32 = {SPURITY_COMPONENT_F32, true, false, false};

static void test_bursts(void **state)
{
    (void)state;
    enum { N = 1 << 20 };
    const double rate = 250e3;
    float *x = malloc(2 * N * sizeof *x);
    const double on[] = {0.01, 0.005, 0.05, 0.09, 0.0031}, noise[] = {1e-7, 1e-5, 1e-3, 1e-6, 1e-9};
    for (int i = 0; i < 5; i++) {
        keyed(x, N, rate, on[i], 0.1, noise[i]);
        spurity_envelope envelope = envelope_of(cf32, x, 2 * N * sizeof *x, rate);
        uint64_t samples = 0, begins = 0;
        for (size_t k = 0, before = 0; k < N; k++) {
            size_t now = fmod((double)k / rate + 0.03, 0.1) < on[i];
            samples += now;
            begins += now && !before;
            before = now;
        }
        assert_true(envelope.bursts);
        assert_near(envelope.duty, (double)samples / N, 0.0005);
        assert_int_equal(envelope.burst_count, begins);
        assert_near(envelope.on_db, 10 * log10(0.25 + noise[i]), 0.01);
        assert_near(envelope.off_db, 10 * log10(noise[i]), 0.3);
        assert_near(envelope.shortest_s, on[i], 0.3e-3);
    }
    /* 10 %: the mean of all of it is 10 dB below that of the key-down time. */
    keyed(x, N, rate, 0.01, 0.1, 1e-7);
    spurity_envelope envelope = envelope_of(cf32, x, 2 * N * sizeof *x, rate);
    assert_near(envelope.on_db - facts_of(x, N, true).mean_db, 10, 0.15);
    free(x);
}

/* Real samples: a tone of peak 0.5 at 1 kHz, 48 kHz, on for 80 of every 240 ms, is -6.02 dBFS key-down. */
static void test_real_bursts(void **state)
{
    (void)state;
    enum { N = 48000 * 6 };
    float *x = malloc(N * sizeof *x);
    for (int i = 0; i < N; i++)
        x[i] = (float)((i % 11520 < 3840 ? 0.5 * sin(2 * PI * i / 48) : 0) + 1e-4 * normal());
    const spurity_sample_format rf32 = {SPURITY_COMPONENT_F32, false, false, false};
    spurity_envelope envelope = envelope_of(rf32, x, N * sizeof *x, 48000);
    assert_true(envelope.bursts);
    assert_int_equal(envelope.burst_count, 25);
    assert_near(envelope.duty, 1.0 / 3, 0.001);
    assert_near(envelope.on_db, 20 * log10(0.5), 0.02);
    assert_near(envelope.off_db, 10 * log10(2e-8), 0.1);
    assert_near(facts_of(x, N, false).mean_db, 20 * log10(0.5) - 10 * log10(3), 0.01);
    assert_true(spurity_envelope_on(&envelope, false, x + 100, 2048));
    assert_false(spurity_envelope_on(&envelope, false, x + 3000, 2048));
    assert_false(spurity_envelope_on(&envelope, false, x + 5000, 2048));
    free(x);
}

/* No key-up: falls shorter than 2 ms, falls of 16.5 dB, noise alone, a steady carrier, silence. */
static void test_no_bursts(void **state)
{
    (void)state;
    enum { N = 1 << 18 };
    const double rate = 250e3;
    float *x = malloc(2 * N * sizeof *x);
    for (int kind = 0; kind < 6; kind++) {
        memset(x, 0, 2 * N * sizeof *x);
        if (kind < 5)
            add_tone(x, N, 0.5, 0.0371, 0);
        for (size_t i = 0; i < N; i++) {
            double t = (double)i / rate, a = 1;
            if (kind == 0) /* 1.5 ms off in every 20 */
                a = fmod(t, 0.02) < 0.0015 ? 0 : 1;
            if (kind == 1) /* to 15 % */
                a = fmod(t, 0.1) < 0.02 ? 0.15 : 1;
            if (kind == 2) /* two equal tones 300 Hz apart */
                a = cos(2 * PI * 150 * t);
            if (kind == 3) /* noise alone */
                a = 0;
            x[2 * i] *= (float)a;
            x[2 * i + 1] *= (float)a;
        }
        if (kind < 5)
            add_noise(x, N, 1e-6);
        spurity_envelope envelope = envelope_of(cf32, x, 2 * N * sizeof *x, rate);
        assert_false(envelope.bursts);
        assert_near(envelope.duty, 1, 0);
        assert_true(spurity_envelope_on(&envelope, true, x, 4096));
    }
    free(x);
}

/* The gate lets transforms through whose mean is the key-down power, and none that an edge cuts into. */
static void test_gate(void **state)
{
    (void)state;
    enum { N = 1 << 18 };
    const double rate = 250e3;
    float *x = malloc(2 * N * sizeof *x);
    const size_t lengths[] = {64, 256, 1024, 2048};
    for (int k = 0; k < 4; k++) {
        keyed(x, N, rate, 0.02, 0.1, 1e-6);
        spurity_envelope envelope = envelope_of(cf32, x, 2 * N * sizeof *x, rate);
        size_t n = lengths[k], taken = 0, could = 0;
        double sum = 0;
        for (size_t at = 0; at + n <= N; at += n / 2) {
            double from = fmod((double)at / rate + 0.03, 0.1);
            could += from + (double)n / rate <= 0.02;
            if (!spurity_envelope_on(&envelope, true, x + 2 * at, n))
                continue;
            taken++;
            for (size_t i = 2 * at; i < 2 * (at + n); i++)
                sum += (double)x[i] * (double)x[i];
        }
        print_message("N %zu: %zu of %zu, %.3f dB\n", n, taken, could,
                      10 * log10(sum / (double)(taken * n) / (0.25 + 1e-6)));
        assert_near(10 * log10(sum / (double)(taken * n) / (0.25 + 1e-6)), 0, 0.03);
        assert_true(taken + 1 >= could && (double)taken <= 1.15 * (double)could + 4);
    }
    /* A pulse shorter than a transform: none is let through. */
    keyed(x, N, rate, 0.02, 0.1, 1e-6);
    spurity_envelope envelope = envelope_of(cf32, x, 2 * N * sizeof *x, rate);
    for (size_t at = 0; at + 8192 <= N; at += 512)
        assert_false(spurity_envelope_on(&envelope, true, x + 2 * at, 8192));
    free(x);
}

/* More than 2^24 samples: 64 stretches of it, in bounded memory. */
static spurity_status endless_read(void *user, void *into, size_t samples, size_t *got, spurity_error *error)
{
    uint64_t *at = user;
    (void)error;
    for (size_t i = 0; i < samples; i++)
        ((signed char *)into)[2 * i] = ((signed char *)into)[2 * i + 1] = (*at + i) % 100000 < 30000 ? 64 : 0;
    *at += samples;
    *got = samples;
    return SPURITY_OK;
}

static spurity_status endless_seek(void *user, uint64_t sample, spurity_error *error)
{
    (void)error;
    *(uint64_t *)user = sample;
    return SPURITY_OK;
}

static void test_long(void **state)
{
    (void)state;
    uint64_t at = 0;
    spurity_capture_facts facts;
    spurity_capture_facts_init(&facts);
    facts.format = (spurity_sample_format){SPURITY_COMPONENT_I8, true, false, false};
    facts.rate_hz = 1e6;
    facts.samples = 3000000000U;
    spurity_capture_segment segment = {0, NAN, false};
    facts.segments = &segment;
    facts.segment_count = 1;
    spurity_capture_stream stream = {.read = endless_read, .seek = endless_seek, .user = &at};
    spurity_capture *capture = NULL;
    spurity_envelope envelope;
    spurity_error error = {0};
    assert_ok(spurity_capture_create(&facts, &stream, &capture, &error), &error);
    assert_ok(spurity_envelope_look(capture, 0, 0, NULL, &envelope, &error), &error);
    assert_true(envelope.bursts && !envelope.whole);
    assert_int_equal(envelope.samples, SPURITY_ENVELOPE_SAMPLES);
    assert_near(envelope.duty, 0.3, 0.03);
    assert_near(envelope.on_db, 10 * log10(0.5), 1e-3);
    assert_int_equal(spurity_capture_at(capture), 0);
    spurity_capture_free(capture);
}

/* ---- images -------------------------------------------------------------------------------------- */

enum { IMAGE_N = 1024 };

static spurity_image_sums *look(const float *x, size_t n, double overlap, spurity_window window)
{
    size_t hop = (size_t)((1 - overlap) * IMAGE_N);
    uint64_t at[SPURITY_IMAGE_LOOKS], transforms = (n - IMAGE_N) / hop + 1;
    size_t looks = spurity_image_schedule(transforms, overlap, at);
    float w[IMAGE_N];
    fftwf_complex *data = fftwf_alloc_complex(IMAGE_N);
    spurity_planner_lock();
    fftwf_plan plan = fftwf_plan_dft_1d(IMAGE_N, data, data, FFTW_FORWARD, FFTW_ESTIMATE);
    spurity_planner_unlock();
    spurity_image_sums *sums = spurity_image_create(IMAGE_N);
    spurity_window_fill(window, IMAGE_N, w);
    for (size_t k = 0; k < looks; k++) {
        const float *from = x + 2 * hop * at[k];
        for (size_t i = 0; i < IMAGE_N; i++) {
            data[i][0] = from[2 * i] * w[i];
            data[i][1] = from[2 * i + 1] * w[i];
        }
        fftwf_execute(plan);
        spurity_image_look(sums, &data[0][0]);
    }
    fftwf_destroy_plan(plan);
    fftwf_free(data);
    return sums;
}

static spurity_image judge(const float *x, size_t n, double bin, spurity_window window)
{
    double overlap = window == SPURITY_WINDOW_HFT144D ? 0.75 : 0.5;
    spurity_image_sums *sums = look(x, n, overlap, window);
    spurity_image image = {0};
    assert_true(spurity_image_judge(sums, bin, spurity_window_facts_of(window)->first_null_bins, &image));
    spurity_image_free(sums);
    return image;
}

static const spurity_window both[] = {SPURITY_WINDOW_HFT144D, SPURITY_WINDOW_BLACKMAN_HARRIS};

/* The image of an unmodulated and of a modulated carrier, in noise of several levels. */
static void test_image(void **state)
{
    (void)state;
    enum { N = 1 << 17 };
    float *x = malloc(2 * N * sizeof *x);
    const double noise[] = {1e-9, 1e-5, 3e-5, 3e-4}; /* the image stands at 1.5e-5, a bin's noise at 4.4e-3 of these */
    for (int w = 0; w < 2; w++)
        for (int i = 0; i < 8; i++) {
            memset(x, 0, 2 * N * sizeof *x);
            if (i % 2)
                add_fm(x, N, 0.4, 100.3 / IMAGE_N, 0.001, 0.0003);
            else
                add_tone(x, N, 0.4, 100.3 / IMAGE_N, 0);
            spoil(x, N, 0.1, 0.9, 0.01, 0);
            add_noise(x, N, noise[i / 2]);
            spurity_image image = judge(x, N, -100.3, both[w]);
            print_message("image: coherence %.4f, %.2f dB, chance %.1e, %llu looks\n", image.coherence, image.ratio_db,
                          image.chance, (unsigned long long)image.looks);
            assert_true(image.is_image);
            if (i / 2 == 0)
                assert_near(image.ratio_db, -spurity_receiver_image_db(0.1, 0.9), 0.5);
            assert_false(judge(x, N, 100.3, both[w]).is_image); /* the carrier itself */
            assert_false(judge(x, N, 250, both[w]).is_image);   /* nothing */
        }
    free(x);
}

/* Independent lines at and near the mirrored frequency survive: off it by so many hops' rates (2 or 4 bins of a
 * transform, where evenly spaced looks would see them stand still), by a fraction of a bin, otherwise modulated, and
 * with a phase of their own that drifts. */
static void test_not_image(void **state)
{
    (void)state;
    enum { N = 1 << 17 };
    float *x = malloc(2 * N * sizeof *x);
    const double off_bins[] = {0.03, 0.1, 0.5, 1, 2, 3, 4}; /* 0.03 bins: 3.8 turns in the capture */
    for (int w = 0; w < 2; w++)
        for (int kind = 0; kind < 11; kind++) {
            memset(x, 0, 2 * N * sizeof *x);
            if (kind == 8)
                add_fm(x, N, 0.4, 100.3 / IMAGE_N, 0.001, 0.0003);
            else
                add_tone(x, N, 0.4, 100.3 / IMAGE_N, 0);
            double spur = -100.3;
            if (kind < 7)
                add_tone(x, N, 0.004, (spur += off_bins[kind]) / IMAGE_N, 1);
            if (kind == 7) /* modulated, beside a plain carrier */
                add_fm(x, N, 0.004, spur / IMAGE_N, 0.001, 0.00037);
            if (kind == 8) /* plain, beside a modulated carrier */
                add_tone(x, N, 0.004, spur / IMAGE_N, 1);
            if (kind == 9) { /* a phase that walks at random, 0.02 rad a sample */
                double phase = 0;
                for (size_t i = 0; i < N; i++) {
                    phase += 0.02 * normal();
                    x[2 * i] += (float)(0.004 * cos(2 * PI * fmod(spur / IMAGE_N * (double)i, 1) + phase));
                    x[2 * i + 1] += (float)(0.004 * sin(2 * PI * fmod(spur / IMAGE_N * (double)i, 1) + phase));
                }
            }
            if (kind == 10) { /* 7 dB over an image in the same bin */
                add_tone(x, N, 0.009, (spur += 0.4) / IMAGE_N, 1);
                spoil(x, N, 0.1, 0.9, 0, 0);
            }
            add_noise(x, N, 1e-7);
            spurity_image image = judge(x, N, spur, both[w]);
            print_message("%s, kind %d: coherence %.3f, %.1f dB, chance %.1e\n", spurity_window_facts_of(both[w])->name,
                          kind, image.coherence, image.ratio_db, image.chance);
            assert_false(image.is_image);
        }
    free(x);
}

/* Independent noise: coherence by chance as the law says, P(c^2 > x) = (1 - x)^(looks - 1) (distribution of the
 * magnitude-squared coherence of independent complex Gaussian signals, from memory), so `chance` is evenly spread. */
static void test_chance(void **state)
{
    (void)state;
    enum { N = 1 << 15 };
    float *x = malloc(2 * N * sizeof *x);
    int below[3] = {0}, all = 0;
    for (int run = 0; run < 12; run++) {
        memset(x, 0, 2 * N * sizeof *x);
        add_noise(x, N, 0.01);
        spurity_image_sums *sums = look(x, N, 0.5, SPURITY_WINDOW_RECTANGULAR);
        for (int k = 4; k < 505; k += 1) {
            spurity_image image;
            /* of the window's 3 bins the looks are 3 times as many as are counted: the chance is on the safe side */
            assert_true(spurity_image_judge(sums, k, 1, &image));
            below[0] += image.chance < 0.1;
            below[1] += image.chance < 0.01;
            below[2] += image.is_image;
            all++;
        }
        spurity_image_free(sums);
    }
    print_message("of %d: %.4f below 0.1, %.4f below 0.01, %d told as images\n", all, (double)below[0] / all,
                  (double)below[1] / all, below[2]);
    assert_true((double)below[0] / all < 0.1 && (double)below[1] / all < 0.01);
    assert_true(below[2] <= 1);
    free(x);
}

static void test_image_untold(void **state)
{
    (void)state;
    spurity_image_sums *sums = spurity_image_create(64);
    spurity_image image;
    float x[128] = {0};
    for (int i = 0; i < 128; i++)
        x[i] = 1;
    for (int i = 0; i < 7; i++)
        spurity_image_look(sums, x);
    assert_false(spurity_image_judge(sums, 10, 3, &image)); /* 7 looks */
    spurity_image_look(sums, x);
    assert_true(spurity_image_judge(sums, 10, 3, &image));
    assert_near(image.coherence, 1, 1e-6);
    assert_false(spurity_image_judge(sums, 3, 3, &image));
    assert_false(spurity_image_judge(sums, 0, 3, &image));
    assert_false(spurity_image_judge(sums, -31.6, 3, &image));
    assert_false(spurity_image_judge(sums, NAN, 3, &image));
    assert_false(spurity_image_judge(sums, 1e300, 3, &image));
    spurity_image_free(sums);
    spurity_image_free(NULL);
    assert_null(spurity_image_create(2));
}

/* Rising, a whole transform apart at least (a fifth of one in a short capture), within what is expected, and unevenly.
 */
static void test_schedule(void **state)
{
    (void)state;
    const uint64_t expected[] = {0, 1, 20, 100, 1000, 100000, 4000000000U};
    const double overlaps[] = {0, 0.5, 0.75, 0.8, 0.95};
    for (int e = 0; e < 7; e++)
        for (int o = 0; o < 5; o++) {
            uint64_t at[SPURITY_IMAGE_LOOKS];
            size_t count = spurity_image_schedule(expected[e], overlaps[o], at), uneven = 0;
            double least = 1 / (1 - overlaps[o]);
            bool is_short = expected[e] && (double)expected[e] < 16 * least;
            assert_true(count >= 1 && at[0] == 0);
            for (size_t i = 1; i < count; i++) {
                assert_true((double)(at[i] - at[i - 1]) >= (is_short ? least / 5 : least) - 1e-9);
                uneven += i > 1 && at[i] - at[i - 1] != at[i - 1] - at[i - 2];
            }
            if (expected[e])
                assert_true(at[count - 1] < expected[e]);
            if (count > 20)
                assert_true(uneven > count / 4);
            if (expected[e] == 20 && overlaps[o] <= 0.8)
                assert_true(count >= SPURITY_IMAGE_LEAST);
            if (expected[e] >= 100000) {
                assert_true(count > 200);
                assert_true((double)at[count - 1] > 0.7 * (double)expected[e]); /* all over it */
            }
            if (expected[e] == 1000)
                assert_true(count >= SPURITY_IMAGE_LEAST);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_image_formula),  cmocka_unit_test(test_imbalance),
        cmocka_unit_test(test_not_circular),   cmocka_unit_test(test_untold),
        cmocka_unit_test(test_runs),           cmocka_unit_test(test_not_finite),
        cmocka_unit_test(test_rails),          cmocka_unit_test(test_pinned),
        cmocka_unit_test(test_bursts),         cmocka_unit_test(test_real_bursts),
        cmocka_unit_test(test_no_bursts),      cmocka_unit_test(test_gate),
        cmocka_unit_test(test_long),           cmocka_unit_test(test_image),
        cmocka_unit_test(test_not_image),      cmocka_unit_test(test_chance),
        cmocka_unit_test(test_image_untold),   cmocka_unit_test(test_schedule),
        cmocka_unit_test(test_recorded_rails), cmocka_unit_test(test_recorded_bursts),
        cmocka_unit_test(test_recorded_dips),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
