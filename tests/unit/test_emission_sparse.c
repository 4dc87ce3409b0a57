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

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_weak_line)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
