/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Sweeps whose points stand far apart, taken with a peak detector: what a plan asks of a wide range. */
#include "../sweep.h"

/* The highest of 60 looks a point, mean noise power -76 dBm, points 60 RBW apart. */
static void write_sweep(const char *path, uint64_t state, double line_dbm, int line_at)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fprintf(file, "Frequency (Hz),Level (dBm)\n");
    for (int i = 0; i < 1001; i++) {
        double power = 0;
        for (int k = 0; k < 60; k++)
            power = fmax(power, pow(10, -7.6) * -log(sweep_random(&state)));
        if (i == line_at)
            power = fmax(power, pow(10, line_dbm / 10));
        fprintf(file, "%.1f,%.2f\n", 2.8e9 + i * 1.8e6, 10 * log10(power));
    }
    fclose(file);
}

/* A line of some 6 dB over such a floor is a line in its cell, not a thing as wide as the floor beside it. */
static void test_weak_line(void **state)
{
    (void)state;
    const int at = 300;
    size_t seen = 0;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        struct bench bench;
        bench_start(&bench);
        bench_direct(&bench);
        spurity_source *source = &bench.sources[bench.point.source_count++];
        spurity_read_options_init(&source->read);
        source->path = "sparse.csv";
        write_sweep(source->path, seed, -62.8, at);
        source->read.rbw_hz = 30e3;
        source->read.detector = SPURITY_DETECTOR_PEAK;
        source->chain = bench.chain;
        bench.point.carrier_hz = 462.55e6;
        bench.point.power_low_w = bench.point.power_high_w = 3;
        bench_measure(&bench);
        for (size_t i = 0; i < spurity_measurement_emission_count(bench.measurement); i++) {
            const spurity_emission *e = spurity_measurement_emission(bench.measurement, i);
            if (!e->seen || fabs(e->frequency_hz - (2.8e9 + at * 1.8e6)) > 0.9e6)
                continue;
            seen++;
            assert_int_equal(e->character, SPURITY_LINE);
            assert_true(e->trustworthy);
            assert_true(e->frequency_uncertainty_hz < 1e6);
            assert_true(fabs(e->level_dbm + 62.8) < 0.01);
        }
        bench_end(&bench);
    }
    assert_true(seen >= 35);
}

/* The carrier's place is that of the sweep that tells it, though a peak sweep of wide cells has the lower floor. */
static void test_carrier_place(void **state)
{
    (void)state;
    struct bench bench;
    struct sweep_line line = {72.1123e6, 27};
    struct sweep fine = {.start_hz = 71.36e6,
                         .stop_hz = 72.86e6,
                         .rbw_hz = 3e3,
                         .points = 1001,
                         .floor_dbm = -45,
                         .averages = 8,
                         .lines = &line,
                         .line_count = 1};
    struct sweep coarse = fine;
    coarse.start_hz = 62e6;
    coarse.stop_hz = 82e6;
    coarse.rbw_hz = 1e3;
    coarse.floor_dbm = -50;
    coarse.averages = 1;
    coarse.peak = true;
    for (int order = 0; order < 2; order++) {
        bench_start(&bench);
        bench_direct(&bench);
        bench_add(&bench, order ? &coarse : &fine);
        bench_add(&bench, order ? &fine : &coarse);
        bench_measure(&bench);
        const spurity_carrier *carrier = spurity_measurement_carrier(bench.measurement);
        assert_true(fabs(carrier->frequency_hz - line.hz) < 200);
        assert_true(carrier->frequency_uncertainty_hz < 500);
        assert_int_equal(carrier->file, order);
        bench_end(&bench);
    }
}

/* Points five RBW apart in a file that tells no RBW: what shows of the carrier stands anywhere within half a step, and
 * is no second carrier beside that of the sweep which places it. */
static void test_rbw_untold(void **state)
{
    (void)state;
    struct bench bench;
    struct sweep_line line = {467.5625e6, 33};
    struct sweep fine = {.start_hz = 467.4625e6,
                         .stop_hz = 467.6625e6,
                         .rbw_hz = 1e3,
                         .points = 401,
                         .floor_dbm = -60,
                         .averages = 8,
                         .lines = &line,
                         .line_count = 1};
    struct sweep coarse = fine;
    coarse.start_hz = 467.5325e6 - 400 * 150e3; /* the nearest point 30 kHz beside it, 12 dB down */
    coarse.stop_hz = coarse.start_hz + 800 * 150e3;
    coarse.rbw_hz = 30e3;
    coarse.points = 801;
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &coarse)->read.rbw_hz = 0;
    bench_add(&bench, &fine);
    bench_measure(&bench);
    assert_true(fabs(spurity_measurement_carrier(bench.measurement)->frequency_hz - line.hz) < 100);
    bench_end(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_weak_line), cmocka_unit_test(test_carrier_place),
                                       cmocka_unit_test(test_rbw_untold)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
