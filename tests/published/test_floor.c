/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The local floor: detector bias out, by the tables of the noise laws; strong signals and humps do not lift it. */
#include "../emission_sweep.h"

#include "emission/noise.h" /* the room behind the door: its tables are checked against closed forms here */

enum { POINTS = 10001 };
static double frequency[POINTS], level[POINTS];

static double mean_floor(const spurity_survey *survey, size_t count)
{
    double sum = 0;
    for (size_t i = 0; i < count; i += 10) {
        spurity_point point;
        assert_true(spurity_survey_point(survey, 0, i, &point));
        sum += point.floor_db;
    }
    return sum / (double)((count + 9) / 10);
}

/* Median of K-fold power averages below their mean (gamma distribution; project's reference notes from scipy):
 * K = 1 -1.592, 4 -0.372, 16 -0.091, 64 -0.023 dB; of the highest of n: 0.89, 3.11, 4.32, 6.97, 8.62 dB for n = 2, 5,
 * 10, 100, 1000; an average of dB values -2.507 dB; 25 % quantiles -5.411, -1.980, -0.851 dB. */
static void test_laws(void **state)
{
    (void)state;
    const double k[] = {1, 4, 16, 64}, median[] = {-1.592, -0.372, -0.091, -0.023},
                 quartile[] = {-5.411, -1.980, -0.851};
    for (int i = 0; i < 4; i++) {
        spurity_noise_law law = {SPURITY_NOISE_POWER, k[i]};
        assert_near(spurity_noise_median_db(law), median[i], 0.002);
        assert_near(spurity_noise_tail(law, pow(10, median[i] / 10)), 0.5, 0.002);
        if (i < 3)
            assert_near(spurity_noise_median_db(law) - spurity_noise_spread_db(law), quartile[i], 0.002);
    }
    const double n[] = {2, 5, 10, 100, 1000}, highest[] = {0.89, 3.11, 4.32, 6.97, 8.62};
    for (int i = 0; i < 5; i++)
        assert_near(spurity_noise_median_db((spurity_noise_law){SPURITY_NOISE_MAXIMUM, n[i]}), highest[i], 0.006);
    assert_near(spurity_noise_median_db((spurity_noise_law){SPURITY_NOISE_LOG, 1e5}), -2.507, 0.002);
}

/* Mean powers of noise readings: 10 log H_n = 1.76, 4.67, 7.15, 8.74 dB for n = 2, 10, 100, 1000; a long log average
 * -2.507 dB, one reading 0 dB. */
static void test_means(void **state)
{
    (void)state;
    const double n[] = {2, 10, 100, 1000}, want[] = {1.76, 4.67, 7.15, 8.74};
    for (int i = 0; i < 4; i++)
        assert_near(spurity_noise_mean_db((spurity_noise_law){SPURITY_NOISE_MAXIMUM, n[i]}), want[i], 0.006);
    assert_near(spurity_noise_mean_db((spurity_noise_law){SPURITY_NOISE_LOG, 1e6}), -2.5068, 0.001);
    assert_near(spurity_noise_mean_db((spurity_noise_law){SPURITY_NOISE_LOG, 1}), 0, 1e-9);
}

/* Single-point thresholds above the true mean (gamma tail, reference notes): K = 1, 4, 16, 64, 256 at 1e-3, 1e-6, 1e-8;
 * max-hold of 1, 10, 100, 1000 at 1e-6. */
static void test_thresholds(void **state)
{
    (void)state;
    const double k[] = {1, 4, 16, 64, 256}, p[] = {1e-3, 1e-6, 1e-8};
    const double want[5][3] = {{8.393, 11.404, 12.653},
                               {5.140, 7.273, 8.226},
                               {2.906, 4.255, 4.892},
                               {1.557, 2.330, 2.711},
                               {0.807, 1.224, 1.434}};
    for (int i = 0; i < 5; i++)
        for (int j = 0; j < 3; j++)
            assert_near(spurity_noise_threshold_db((spurity_noise_law){SPURITY_NOISE_POWER, k[i]}, p[j], 1e12),
                        want[i][j], 0.005);
    const double n[] = {1, 10, 100, 1000}, held[] = {11.40, 12.07, 12.65, 13.16};
    for (int i = 0; i < 4; i++)
        assert_near(spurity_noise_threshold_db((spurity_noise_law){SPURITY_NOISE_MAXIMUM, n[i]}, 1e-6, 1e12), held[i],
                    0.01);
}

/* The tail of a mean of n dB values: against simulation at n = 3, and exact at n = 1. */
static void test_log_tail(void **state)
{
    (void)state;
    enum { TRIALS = 400000 };
    uint64_t random = 5;
    double above[4] = {0};
    const double at_db[4] = {0, 1, 2, 3.5};
    for (int trial = 0; trial < TRIALS; trial++) {
        double sum = 0;
        for (int i = 0; i < 3; i++)
            sum += 10 * log10(-log(sweep_uniform(&random))) / 3;
        for (int i = 0; i < 4; i++)
            above[i] += sum > at_db[i];
    }
    for (int i = 0; i < 4; i++) {
        double tail = spurity_noise_tail((spurity_noise_law){SPURITY_NOISE_LOG, 3}, pow(10, at_db[i] / 10));
        double want = above[i] / TRIALS;
        assert_near(tail, want, 0.02 * want + 5 * sqrt(want / TRIALS));
    }
    assert_near(spurity_noise_tail((spurity_noise_law){SPURITY_NOISE_LOG, 1}, 3), exp(-3), 1e-12);
}

/* Detector bias comes out of the floor, told or not; unknown figures err towards a higher floor. */
static void test_bias(void **state)
{
    (void)state;
    const struct {
        spurity_detector detector;
        size_t draws;
    } cases[] = {{SPURITY_DETECTOR_SAMPLE, 1},       {SPURITY_DETECTOR_AVERAGE, 4},   {SPURITY_DETECTOR_AVERAGE, 64},
                 {SPURITY_DETECTOR_LOG_AVERAGE, 10}, {SPURITY_DETECTOR_MAX_HOLD, 10}, {SPURITY_DETECTOR_PEAK, 100}};
    uint64_t random = 1234;
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        sweep w = {.count = POINTS,
                   .start_hz = 30e6,
                   .step_hz = 1e4,
                   .rbw_hz = 1e4,
                   .detector = cases[k].detector,
                   .averages = (double)cases[k].draws,
                   .draws = cases[k].draws,
                   .line_hz = 80e6,
                   .line_db = 70,
                   .noise_db = -100};
        sweep_make(&w, &random, frequency, level);
        spurity_survey *told = sweep_survey(&w, frequency, level);
        assert_near(mean_floor(told, POINTS), -100, 0.25);
        spurity_survey_free(told);
        w.averages = 0;
        spurity_survey *untold = sweep_survey(&w, frequency, level);
        double floor_db = mean_floor(untold, POINTS);
        assert_true(floor_db > -100.25 && floor_db < -99);
        spurity_survey_free(untold);
        w.detector = SPURITY_DETECTOR_UNKNOWN;
        spurity_survey *unknown = sweep_survey(&w, frequency, level);
        assert_true(mean_floor(unknown, POINTS) > -100.25);
        spurity_survey_free(unknown);
    }
}

/* Lines in a tenth of all points and a hump lift the floor by less than 1 dB. */
static void test_not_lifted(void **state)
{
    (void)state;
    uint64_t random = 77;
    static double tilt[POINTS];
    sweep w = {.count = POINTS,
               .start_hz = 30e6,
               .step_hz = 1e4,
               .rbw_hz = 1e4,
               .detector = SPURITY_DETECTOR_AVERAGE,
               .averages = 4,
               .draws = 4,
               .line_hz = NAN,
               .noise_db = -100,
               .tilt_db = tilt};
    for (size_t i = 0; i < POINTS; i++) {
        tilt[i] = i % 50 < 5 ? 50 - 10 * fabs((double)(i % 50) - 2) : 0;
        if (i > 6000 && i < 7500)
            tilt[i] += 12 * sin(M_PI * (double)(i - 6000) / 1500);
    }
    sweep_make(&w, &random, frequency, level);
    spurity_survey *survey = sweep_survey(&w, frequency, level);
    for (size_t i = 0; i < POINTS; i += 50) {
        spurity_point point;
        assert_true(spurity_survey_point(survey, 0, i, &point));
        assert_near(point.floor_db, -99.8, 1.2);
    }
    assert_true(spurity_survey_line_count(survey) >= 190);
    spurity_survey_free(survey);
}

/* Steps and slopes of the floor are no emissions: 3, 6 and 12 dB up and on, or up and down again (then on a floor that
 * slopes little), at any place. */
static void test_steps(void **state)
{
    (void)state;
    uint64_t random = 31;
    static double tilt[POINTS];
    const double draws[] = {1, 16};
    int found = 0, traces = 0;
    for (int k = 0; k < 2; k++)
        for (int trace = 0; trace < 60; trace++, traces++) {
            size_t count = trace % 2 ? 2001 : 10001, a = count / 5 + sweep_next(&random) % (count / 5);
            size_t b = 3 * count / 5 + sweep_next(&random) % (count / 5);
            double height = trace % 3 == 0 ? 3 : trace % 3 == 1 ? 6 : 12;
            for (size_t i = 0; i < count; i++)
                tilt[i] = (i >= a ? height : 0) + (i >= b ? (trace % 4 < 2 ? 5 : -height) : 0) +
                          (trace % 4 < 2 ? 4 : 1) * (double)i / (double)count;
            sweep w = {.count = count,
                       .start_hz = 30e6,
                       .step_hz = 1e4,
                       .rbw_hz = 1e4,
                       .detector = SPURITY_DETECTOR_AVERAGE,
                       .averages = draws[k],
                       .draws = (size_t)draws[k],
                       .line_hz = NAN,
                       .noise_db = -100,
                       .tilt_db = tilt};
            sweep_make(&w, &random, frequency, level);
            spurity_survey *survey = sweep_survey(&w, frequency, level);
            found += spurity_survey_line_count(survey) > 0;
            for (size_t i = 0; getenv("EMISSION_TALK") && i < spurity_survey_line_count(survey); i++) {
                const spurity_line *l = spurity_survey_line(survey, i);
                print_message("  height %.0f, steps at %zu %zu of %zu: at %zu %.1f dB over %.1f, %s\n", height, a, b,
                              count, l->index, l->level_db, l->floor_db, spurity_character_name(l->character));
            }
            spurity_survey_free(survey);
        }
    print_message("%d of %d sweeps with floor steps show an emission\n", found, traces);
    assert_true(found <= 3);
}

/* A floor that bends as a receiver's does: the survey follows it and sees no emission in it. */
static void test_bends(void **state)
{
    (void)state;
    uint64_t random = 13;
    static double tilt[POINTS];
    int found = 0, sweeps = 0;
    for (int shape = 0; shape < 4; shape++)
        for (int trace = 0; trace < 24; trace++, sweeps++) {
            size_t count = trace % 2 ? 1001 : 10001;
            for (size_t i = 0; i < count; i++) {
                double x = (double)i / (double)count;
                const double shapes[] = {20 * x, -12 * sqrt(x), 1.3 * sin(9 * x + trace), 8 * exp(-20 * x) + 4 * x * x};
                tilt[i] = shapes[shape];
            }
            size_t draws = trace % 3 ? 16 : 1;
            sweep w = {.count = count,
                       .start_hz = 30e6,
                       .step_hz = 1e4,
                       .rbw_hz = 1e4,
                       .detector = SPURITY_DETECTOR_AVERAGE,
                       .averages = (double)draws,
                       .draws = draws,
                       .line_hz = NAN,
                       .noise_db = -100,
                       .tilt_db = tilt};
            sweep_make(&w, &random, frequency, level);
            spurity_survey *survey = sweep_survey(&w, frequency, level);
            found += spurity_survey_line_count(survey) > 0;
            for (size_t i = 0; getenv("EMISSION_TALK") && i < spurity_survey_line_count(survey); i++) {
                const spurity_line *l = spurity_survey_line(survey, i);
                print_message("  shape %d of %zu points, %zu draws: at %zu %.1f dB over %.1f, %s\n", shape, count,
                              draws, l->index, l->level_db, l->floor_db, spurity_character_name(l->character));
            }
            double worst = 0;
            for (size_t i = count / 20; i < count; i += count / 100) {
                spurity_point point;
                assert_true(spurity_survey_point(survey, 0, i, &point));
                worst = fmax(worst, fabs(point.floor_db + 100 - tilt[i]));
            }
            double allowed = draws == 1 ? 2.5 : count < 2000 ? 1.5 : 0.8; /* 1,001 points bend within few blocks */
            if (worst >= allowed)
                print_error("shape %d of %zu points, %zu draws: floor off by %.2f dB\n", shape, count, draws, worst);
            assert_true(worst < allowed);
            spurity_survey_free(survey);
        }
    print_message("%d of %d sweeps over bent floors show an emission\n", found, sweeps);
    assert_true(found <= 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_laws),     cmocka_unit_test(test_means), cmocka_unit_test(test_thresholds),
        cmocka_unit_test(test_log_tail), cmocka_unit_test(test_bias),  cmocka_unit_test(test_not_lifted),
        cmocka_unit_test(test_steps),    cmocka_unit_test(test_bends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
