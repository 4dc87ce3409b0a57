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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tone_anywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
