/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The bound of a hidden line against a reference library and against simulation. */
#include "../emission_sweep.h"

/* scipy 1.10.1, scipy.stats.ncx2 (Boost's non-central chi-square): the s that solves
 * ncx2.cdf(2*K*y, 2*K, 2*K*s) = 0.025 for a reading y over the mean noise; for the highest of n, cdf = 0.025**(1/n).
 *   python3 -c "from scipy.stats import ncx2; from scipy.optimize import brentq; import math
 *   K,n,db=4,1,6; y=10**(db/10)
 *   print(10*math.log10(brentq(lambda s: ncx2.cdf(2*K*y,2*K,2*K*s)-.025**(1/n), 1e-9, (y**.5+6)**2)))" */
static void test_against_scipy(void **state)
{
    (void)state;
    static const double reading[] = {0, 3, 6, 10, 15, 20, 30};
    static const struct {
        double averages, bound[7];
    } table[] = {{1, {6.9055, 8.5256, 10.3258, 13.0289, 16.8639, 21.1094, 30.3705}},
                 {4, {2.3142, 5.2579, 7.9291, 11.4288, 15.9072, 20.5474, 30.1846}},
                 {16, {-1.7381, 3.0245, 6.4659, 10.5271, 15.3959, 20.2557, 30.0905}},
                 {64, {-5.3751, 1.6423, 5.6428, 10.0459, 15.1313, 20.1070, 30.0432}},
                 {256, {-8.7361, 0.8537, 5.2036, 9.7971, 14.9967, 20.0319, 30.0194}}};
    for (size_t k = 0; k < 5; k++)
        for (size_t i = 0; i < 7; i++) {
            double got = spurity_hidden_line_bound(reading[i] - 100, -100, SPURITY_DETECTOR_AVERAGE, table[k].averages);
            assert_near(got, table[k].bound[i] - 100, 0.002);
        }
    static const double high_reading[] = {8, 10, 15, 20, 30};
    static const struct {
        double draws, bound[5];
    } highest[] = {{2, {9.9126, 11.5920, 15.9730, 20.5751, 30.1904}},
                   {10, {6.2196, 8.7000, 14.3593, 19.6643, 29.9001}},
                   {100, {0.7526, 5.0416, 12.6741, 18.7933, 29.6416}}};
    for (size_t k = 0; k < 3; k++)
        for (size_t i = 0; i < 5; i++) {
            double got = spurity_hidden_line_bound(high_reading[i], 0, SPURITY_DETECTOR_MAX_HOLD, highest[k].draws);
            assert_near(got, highest[k].bound[i], 0.002);
            assert_near(spurity_hidden_line_bound(high_reading[i], 0, SPURITY_DETECTOR_PEAK, highest[k].draws), got, 0);
        }
}

/* One reading: sample, power average and log average of one are the same thing. */
static void test_one_reading(void **state)
{
    (void)state;
    for (double reading = -1; reading < 30; reading += 2.5) {
        double want = spurity_hidden_line_bound(reading, 0, SPURITY_DETECTOR_AVERAGE, 1);
        assert_near(spurity_hidden_line_bound(reading, 0, SPURITY_DETECTOR_SAMPLE, 50), want, 1e-9);
        assert_near(spurity_hidden_line_bound(reading, 0, SPURITY_DETECTOR_LOG_AVERAGE, 1), want, 1e-9);
        assert_near(spurity_hidden_line_bound(reading, 0, SPURITY_DETECTOR_MAX_HOLD, 1), want, 1e-6);
        assert_true(spurity_hidden_line_bound(reading, 0, SPURITY_DETECTOR_UNKNOWN, 1) >= want - 1e-9);
    }
}

/* A line at the bound reads above the reading in 97.5 % of trials, whatever the detector. */
static void test_by_simulation(void **state)
{
    (void)state;
    static const struct {
        spurity_detector detector;
        int draws;
        double reading;
    } cases[] = {{SPURITY_DETECTOR_SAMPLE, 1, 3},        {SPURITY_DETECTOR_AVERAGE, 16, 1},
                 {SPURITY_DETECTOR_LOG_AVERAGE, 2, 3},   {SPURITY_DETECTOR_LOG_AVERAGE, 4, 0},
                 {SPURITY_DETECTOR_LOG_AVERAGE, 16, 0},  {SPURITY_DETECTOR_LOG_AVERAGE, 16, 10},
                 {SPURITY_DETECTOR_LOG_AVERAGE, 100, 2}, {SPURITY_DETECTOR_MAX_HOLD, 10, 8},
                 {SPURITY_DETECTOR_MAX_HOLD, 100, 9}};
    enum { TRIALS = 40000 };
    uint64_t random = 20;
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        double bound = spurity_hidden_line_bound(cases[k].reading, 0, cases[k].detector, cases[k].draws);
        double amplitude = pow(10, bound / 20), above = 0;
        for (int trial = 0; trial < TRIALS; trial++) {
            double sum = 0, logs = 0, highest = 0;
            for (int i = 0; i < cases[k].draws; i++) {
                double z[2];
                sweep_complex(&random, z);
                double p = (z[0] + amplitude) * (z[0] + amplitude) + z[1] * z[1];
                sum += p / cases[k].draws;
                highest = fmax(highest, p);
                logs += cases[k].detector == SPURITY_DETECTOR_LOG_AVERAGE ? 10 * log10(p) / cases[k].draws : 0;
            }
            double read = cases[k].detector == SPURITY_DETECTOR_LOG_AVERAGE ? logs
                          : cases[k].detector == SPURITY_DETECTOR_MAX_HOLD  ? 10 * log10(highest)
                                                                            : 10 * log10(sum);
            above += read > cases[k].reading;
        }
        print_message("%s of %d: %.2f %% read above\n", spurity_detector_name(cases[k].detector), cases[k].draws,
                      100 * above / TRIALS);
        assert_near(above / TRIALS, 0.975, 0.004); /* five standard deviations of the count */
    }
}

/* Falls with more averages, rises with the reading, never below what noise's own median leaves open. */
static void test_shape(void **state)
{
    (void)state;
    double before = -1000;
    for (double reading = -40; reading < 80; reading += 0.5) {
        double bound = spurity_hidden_line_bound(reading, 0, SPURITY_DETECTOR_AVERAGE, 10);
        assert_true(isfinite(bound) && bound >= before - 1e-6);
        before = bound;
        assert_true(spurity_hidden_line_bound(reading, 0, SPURITY_DETECTOR_AVERAGE, 100) <= bound + 1e-9);
    }
    assert_near(spurity_hidden_line_bound(-60, 0, SPURITY_DETECTOR_SAMPLE, 1),
                spurity_hidden_line_bound(10 * log10(M_LN2), 0, SPURITY_DETECTOR_SAMPLE, 1), 1e-3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_against_scipy),
        cmocka_unit_test(test_one_reading),
        cmocka_unit_test(test_by_simulation),
        cmocka_unit_test(test_shape),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
