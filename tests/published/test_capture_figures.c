/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Figures read from windowed transforms: against the tones that were put in, the Cramer-Rao bound (Rife and Boorstyn
 * 1974) and Bessel sums. */
#include "../capture_sweep.h"

enum { N = 4096, SAMPLES_MAX = 1 << 20 };
static double frequency[1 << 16], level[1 << 16];
static double complex samples[SAMPLES_MAX];

static spurity_survey *survey_of(const capture *c, size_t hop, size_t count)
{
    spurity_segment_facts facts = capture_facts(c);
    capture_mean(c, samples, hop, count, frequency, level);
    return sweep_survey_facts(&facts, frequency, level, c->transform, NULL);
}

/* ---- one tone -------------------------------------------------------------------------------------------------- */

static void test_tone_anywhere(void **state)
{
    (void)state;
    uint64_t random = 5;
    for (int k = 0; k < CAPTURE_WINDOWS; k++) {
        capture c = {&capture_windows[k].filter, 1024, 1024, 1};
        double worst_db = 0, worst_hz = 0;
        size_t most = 0, wrong = 0;
        for (int i = -16; i <= 16; i++) {
            double hz = 100 + i / 32.0;
            memset(samples, 0, c.transform * sizeof *samples);
            capture_tone(samples, c.transform, hz / c.rate_hz, -10, i);
            capture_noise(samples, c.transform, -150, &random);
            spurity_survey *survey = survey_of(&c, 0, 1);
            const spurity_line *line = spurity_survey_strongest(survey, hz - 2, hz + 2);
            assert_non_null(line);
            size_t lines = spurity_survey_line_count(survey);
            most = lines > most ? lines : most;
            if (lines > 1 && getenv("EMISSION_TALK"))
                capture_print(survey);
            if (getenv("EMISSION_TALK") && fabs(line->frequency_hz - hz) > 0.001)
                print_message("  at %.5f: %.5f Hz %.4f dB floor %.2f %s\n", hz, line->frequency_hz, line->level_db,
                              line->floor_db, spurity_character_name(line->character));
            wrong += line->character != SPURITY_LINE || !line->trustworthy;
            worst_db = fmax(worst_db, fabs(line->level_db + 10));
            worst_hz = fmax(worst_hz, fabs(line->frequency_hz - hz));
            spurity_survey_free(survey);
        }
        print_message("%-16s level within %.5f dB, frequency within %.6f bins, %zu emissions at most\n",
                      capture_windows[k].name, worst_db, worst_hz, most);
        assert_true(worst_db <= 0.02);
        assert_true(worst_hz <= 0.002);
        assert_int_equal(wrong, 0);
        assert_int_equal(most, 1);
    }
}

/* ---- one tone in noise ------------------------------------------------------------------------------------------ */

/* g = N A^2 / sigma^2, the tone over the noise in a bin of the rectangular window: rms(level) >= 6.142 dB / sqrt(g),
 * rms(frequency) >= 0.38985 bins / sqrt(g) (Rife and Boorstyn 1974, large N). */
static void test_tone_in_noise(void **state)
{
    (void)state;
    enum { RUNS = 600, LENGTH = 256 };
    static const char *const names[] = {"Hann", "Blackman-Harris", "Kaiser 3.5", "HFT95", "HFT144D"};
    uint64_t random = 11;
    for (int k = 0; k < 5; k++)
        for (double g_db = 20; g_db <= 60; g_db += 10) {
            capture c = {&capture_window_of(names[k])->filter, LENGTH, LENGTH, 1};
            double level_square = 0, hz_square = 0, noise_db = 10 * log10(LENGTH) - g_db;
            int found = 0, inside_db = 0, inside_hz = 0;
            for (int run = 0; run < RUNS; run++) {
                double hz = 20 + sweep_uniform(&random);
                memset(samples, 0, LENGTH * sizeof *samples);
                capture_tone(samples, LENGTH, hz / LENGTH, 0, 2 * M_PI * sweep_uniform(&random));
                capture_noise(samples, LENGTH, noise_db, &random);
                spurity_survey *survey = survey_of(&c, 0, 1);
                const spurity_line *line = spurity_survey_strongest(survey, hz - 3, hz + 3);
                if (line) {
                    found++;
                    level_square += line->level_db * line->level_db;
                    hz_square += (line->frequency_hz - hz) * (line->frequency_hz - hz);
                    inside_db += -line->level_db <= line->read_low_db && line->level_db <= line->read_high_db;
                    inside_hz += fabs(line->frequency_hz - hz) <= line->frequency_uncertainty_hz;
                }
                spurity_survey_free(survey);
            }
            double g = pow(10, g_db / 10), enbw = spurity_filter_noise_bins(c.filter);
            double level_rms = sqrt(level_square / found), hz_rms = sqrt(hz_square / found);
            print_message(
                "%-16s g %2.0f dB: found %d of %d, level rms %.4f dB = %.3f sqrt(ENBW) of the bound, frequency "
                "rms %.5f bins = %.2f of it; inside what was told: level %.1f %%, frequency %.1f %%\n",
                names[k], g_db, found, RUNS, level_rms, level_rms * sqrt(g) / 6.142 / sqrt(enbw), hz_rms,
                hz_rms * sqrt(g) / 0.38985, 100.0 * inside_db / found, 100.0 * inside_hz / found);
            assert_true(found == RUNS || (g_db < 30 && found > 0.9 * RUNS));
            assert_true(level_rms <= 1.1 * sqrt(enbw) * 6.142 / sqrt(g));
            assert_true(inside_db >= 0.93 * found && inside_hz >= 0.93 * found);
        }
}

/* ---- two tones -------------------------------------------------------------------------------------------------- */

/* A second tone `apart` bins off and `down` dB weaker: both are told, at their levels; and nothing else. */
static void test_two_tones(void **state)
{
    (void)state;
    static const struct {
        const char *window;
        double apart, down;
    } cases[] = {
        {"Hann", 6, 0},
        {"Hann", 6, 20},
        {"Hann", 20, 45},
        {"Blackman-Harris", 6, 0},
        {"Blackman-Harris", 6, 6},
        {"Blackman-Harris", 6, 30},
        {"Blackman-Harris", 6, 60},
        {"Blackman-Harris", 6, 80},
        {"Blackman-Harris", 9.3, 82},
        {"Blackman-Harris", 300, 100},
        {"Nuttall4c", 6, 80},
        {"Kaiser 3.5", 6, 60},
        {"Kaiser 3.5", 7.4, 70},
        {"HFT95", 6, 0},
        {"HFT95", 6, 30},
        {"HFT95", 8, 85},
        {"HFT144D", 7, 0},
        {"HFT144D", 7, 10},
        {"HFT144D", 8.5, 30},
        {"HFT144D", 10, 80},
        {"HFT144D", 12, 120},
        {"HFT144D", 500, 120},
    };
    uint64_t random = 9;
    int failures = 0, others = 0, all = 0;
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++)
        for (int averages = 1; averages <= 16; averages *= 16)
            for (int i = 0; i < 10; i++) {
                capture c = {&capture_window_of(cases[k].window)->filter, 2048, 2048, averages};
                double hz = 100 + i / 10.0, other = hz + (i % 2 ? 1 : -1) * cases[k].apart;
                size_t length = c.transform * (size_t)averages;
                double noise = -fmax(70, cases[k].down + 25) + 10 * log10(2048.0) - 10;
                memset(samples, 0, length * sizeof *samples);
                capture_tone(samples, length, hz / c.rate_hz, 0, 0);
                capture_tone(samples, length, (other + 0.123 / averages) / c.rate_hz, -cases[k].down, i);
                capture_noise(samples, length, noise, &random);
                spurity_survey *survey = survey_of(&c, c.transform, (size_t)averages);
                const spurity_line *strong = spurity_survey_strongest(survey, hz - 1, hz + 1);
                const spurity_line *weak = spurity_survey_strongest(survey, other - 1, other + 1);
                bool good = strong && weak;
                others += spurity_survey_line_count(survey) > 2;
                double strong_error = strong ? strong->level_db : NAN,
                       weak_error = weak ? weak->level_db + cases[k].down : NAN;
                good = good && fabs(strong_error) < 0.2 && weak_error > -weak->read_low_db - 0.1 &&
                       weak_error < weak->read_high_db + 0.1;
                all++;
                if (!good) {
                    failures++;
                    print_message("%s, %g bins, %g dB, %d averages, offset %.1f:\n", cases[k].window, cases[k].apart,
                                  cases[k].down, averages, i / 10.0);
                    if (weak)
                        print_message("    weak: %.3f dB, -%.3f +%.3f dB\n", weak_error, weak->read_low_db,
                                      weak->read_high_db);
                    capture_print(survey);
                }
                spurity_survey_free(survey);
            }
    print_message("%d of %d pairs: not both told as they are; %d with something else\n", failures, all, others);
    assert_int_equal(failures, 0);
    assert_true(others * 100 <= all);
}

/* A clean tone 110 dB and more above the floor: its side lobes are no lines, nor what rounding to single precision and
 * to 16 bits with dither leaves. */
static void test_side_lobes(void **state)
{
    (void)state;
    uint64_t random = 21;
    for (int k = 0; k < CAPTURE_WINDOWS; k++)
        for (int i = 0; i < 16; i++) {
            capture c = {&capture_windows[k].filter, N, N, 4};
            memset(samples, 0, 4 * N * sizeof *samples);
            capture_tone(samples, 4 * N, (777 + i / 16.0) / N, -1, 0);
            capture_noise(samples, 4 * N, -60 - 5.0 * i, &random);
            for (int j = 0; j < 4 * N; j++)
                samples[j] = (float)creal(samples[j]) + I * (double)(float)cimag(samples[j]);
            spurity_survey *survey = survey_of(&c, N, 4);
            if (spurity_survey_line_count(survey) != 1) {
                print_message("%s, noise %d dB\n", capture_windows[k].name, -60 - 5 * i);
                capture_print(survey);
            }
            assert_int_equal(spurity_survey_line_count(survey), 1);
            assert_near(spurity_survey_line(survey, 0)->level_db, -1, 0.05);
            spurity_survey_free(survey);
        }
}

/* ---- noise ------------------------------------------------------------------------------------------------------- */

static void test_false_alarms(void **state)
{
    (void)state;
    static const char *const names[] = {"Hann", "Blackman-Harris", "HFT95", "HFT144D"};
    static const size_t counts[] = {1, 4, 16, 100};
    static const int runs[] = {400, 200, 100, 25};
    uint64_t random = 77;
    int all = 0, all_false = 0;
    for (int carrier = 0; carrier < 2; carrier++)
        for (int k = 0; k < 4; k++)
            for (int j = 0; j < 4; j++) {
                capture c = {&capture_window_of(names[k])->filter, 2048, 2048, (double)counts[j]};
                int wrong = 0, missed = 0;
                for (int run = 0; run < runs[j]; run++) {
                    size_t length = c.transform * counts[j];
                    double hz = -900 + 1800 * sweep_uniform(&random);
                    memset(samples, 0, length * sizeof *samples);
                    if (carrier)
                        capture_tone(samples, length, hz / c.rate_hz, 0, 0);
                    capture_noise(samples, length, -60, &random); /* 93 dB under the tone, less the ENBW */
                    spurity_survey *survey = survey_of(&c, c.transform, counts[j]);
                    size_t lines = spurity_survey_line_count(survey);
                    bool seen = spurity_survey_strongest(survey, hz - 1, hz + 1) != NULL;
                    wrong += lines > (carrier ? seen : 0);
                    missed += carrier && !seen;
                    if (getenv("EMISSION_TALK") && lines > (size_t)carrier) {
                        print_message("carrier %.3f\n", hz);
                        capture_print(survey);
                    }
                    spurity_survey_free(survey);
                }
                print_message("%-16s %3zu averages%s: %d of %d spectra with a false emission\n", names[k], counts[j],
                              carrier ? ", tone" : "", wrong, runs[j]);
                assert_int_equal(missed, 0);
                all += runs[j];
                all_false += wrong;
            }
    print_message("in all: %d of %d\n", all_false, all);
    assert_true(all_false * 100 <= all);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tone_anywhere), cmocka_unit_test(test_tone_in_noise), cmocka_unit_test(test_two_tones),
        cmocka_unit_test(test_side_lobes),    cmocka_unit_test(test_false_alarms),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
