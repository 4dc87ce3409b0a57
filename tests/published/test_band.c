/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Noise in a reference bandwidth.  Sources:
 *   - numpy and scipy (vectors/band.py): samples of known density, read through a Gaussian filter made by scipy; the
 * power in 100 kHz is that of the samples behind a brick wall (Parseval) and stands within 0.02 dB of density times
 * width;
 *   - noise power goes with the bandwidth, 10 log of the ratio (common practice), at the reference bandwidths of Rec.
 * ITU-R SM.329, recommends 4.1 (10, 100 kHz), of 47 CFR 95 (300 Hz, 30 kHz) and of CISPR's 9 and 120 kHz (from memory):
 * figures by hand, log10 100 = 2 and so on;
 *   - the mean of dB values of noise reads 10 log e^-gamma = -2.507 dB low (Euler's constant). */
#include "../emission_sweep.h"

#include "vectors/band.h"

static spurity_survey *survey_of(const double *level_db, spurity_detector detector)
{
    double hz[BAND_POINTS];
    spurity_segment_facts facts = {.rbw_hz = band_rbw_hz, .detector = detector, .averages = BAND_AVERAGES / 2.0};
    for (int i = 0; i < BAND_POINTS; i++)
        hz[i] = 100e6 + band_start_hz + i * band_step_hz;
    return sweep_survey_facts(&facts, hz, level_db, BAND_POINTS, NULL);
}

static const spurity_line *hump_of(const spurity_survey *survey, size_t *index)
{
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *line = spurity_survey_line(survey, i);
        if (line->low_hz < 100e6 && 100e6 < line->high_hz) {
            *index = i;
            return line;
        }
    }
    return NULL;
}

static void density_times_bandwidth(void **state)
{
    static const struct {
        const double *level_db;
        spurity_detector detector;
    } sweeps[] = {{band_mean, SPURITY_DETECTOR_AVERAGE}, {band_log, SPURITY_DETECTOR_LOG_AVERAGE}};
    double width = band_to_hz - band_from_hz, by_hand = band_density + 10 * log10(width);
    assert_near(band_power, by_hand, 0.02); /* the samples are what they were made for */
    for (int i = 0; i < 2; i++) {
        spurity_survey *survey = survey_of(sweeps[i].level_db, sweeps[i].detector);
        double power;
        size_t index;
        spurity_band_power band;
        assert_true(spurity_survey_power(survey, 100e6 + band_from_hz, 100e6 + band_to_hz, &power));
        assert_near(power, band_power, 0.1);
        assert_near(power, by_hand, 0.1);
        const spurity_line *hump = hump_of(survey, &index);
        assert_non_null(hump);
        assert_int_equal(hump->character, SPURITY_NOISE_LIKE);
        assert_true(spurity_survey_highest_power(survey, index, width, &band));
        assert_near(band.power_db, by_hand, 0.1);
        assert_true(band.floor_db < band.power_db - 30);
        /* half of it, twice over, and the whole emission: 400 kHz are 6.02 dB more than 100 */
        assert_true(spurity_survey_highest_power(survey, index, width / 2, &band));
        assert_near(band.power_db, by_hand - 3.01, 0.1);
        assert_true(spurity_survey_highest_power(survey, index, 1e6, &band));
        assert_near(band.power_db, by_hand + 6.02, 0.1);
        spurity_survey_free(survey);
    }
}

/* An even floor: every reading the same, in a filter whose noise bandwidth is its RBW. */
static void conversion_figures(void **state)
{
    static const struct {
        double rbw_hz, bandwidth_hz, by_db;
    } figures[] = {
        {300, 30e3, 20.00}, {300, 100e3, 25.23}, {10e3, 100e3, 10.00}, {9e3, 120e3, 11.25}, {300, 4e3, 11.25},
    };
    enum { POINTS = 4001 };
    static double hz[POINTS], level_db[POINTS];
    for (size_t k = 0; k < sizeof figures / sizeof *figures; k++) {
        spurity_segment_facts facts = {.rbw_hz = figures[k].rbw_hz,
                                       .detector = SPURITY_DETECTOR_AVERAGE,
                                       .averages = 100,
                                       .noise_bandwidth_factor = 1};
        for (int i = 0; i < POINTS; i++) {
            hz[i] = 100e6 + i * figures[k].rbw_hz / 2;
            level_db[i] = -80;
        }
        spurity_survey *survey = sweep_survey_facts(&facts, hz, level_db, POINTS, NULL);
        double middle = hz[POINTS / 2], half = figures[k].bandwidth_hz / 2, power;
        assert_true(spurity_survey_power(survey, middle - half, middle + half, &power));
        assert_near(power, -80 + figures[k].by_db, 0.005);
        spurity_survey_free(survey);
    }
}

/* How noise reads by detector, for those who integrate it themselves: a log average of many reads 2.507 dB low, the
 * highest of two 10 log 1.5 = 1.76 dB high. */
static void detector_bias(void **state)
{
    sweep w = {.count = 2001,
               .start_hz = 100e6,
               .step_hz = 5e3,
               .rbw_hz = 10e3,
               .detector = SPURITY_DETECTOR_LOG_AVERAGE,
               .averages = 1000,
               .draws = 1,
               .line_hz = (double)NAN,
               .noise_db = -100};
    static double hz[2001], level_db[2001];
    uint64_t state_of = 7; /* of the random numbers */
    sweep_make(&w, &state_of, hz, level_db);
    for (int i = 0; i < 2001; i++)
        level_db[i] = -100;
    spurity_noise_reading noise;
    spurity_survey *survey = sweep_survey(&w, hz, level_db);
    assert_true(spurity_survey_noise(survey, 0, &noise));
    assert_near(noise.low_db, -2.507, 0.01);
    assert_near(noise.bandwidth_hz, 10644.67, 0.1); /* Gaussian: sqrt(pi / ln 2) / 2 */
    assert_false(spurity_survey_noise(survey, 1, &noise));
    spurity_survey_free(survey);
    w.detector = SPURITY_DETECTOR_MAX_HOLD;
    w.averages = 2;
    w.draws = 2;
    sweep_make(&w, &state_of, hz, level_db);
    survey = sweep_survey(&w, hz, level_db);
    assert_true(spurity_survey_noise(survey, 0, &noise));
    assert_near(noise.high_db, 1.761, 0.001);
    spurity_survey_free(survey);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(density_times_bandwidth),
        cmocka_unit_test(conversion_figures),
        cmocka_unit_test(detector_bias),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
