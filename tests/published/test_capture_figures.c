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

/* Carrier noise that falls by 20 dB a decade (random walk of the phase) is neither a line nor does it hide the
 * carrier's level. */
static void test_carrier_noise(void **state)
{
    (void)state;
    static const char *const names[] = {"Hann", "Blackman-Harris", "HFT95", "HFT144D"};
    static const size_t counts[] = {1, 4, 16, 64};
    static const int runs[] = {200, 150, 60, 20};
    uint64_t random = 55;
    int all = 0, wrong = 0;
    for (int k = 0; k < 4; k++)
        for (int j = 0; j < 4; j++) {
            capture c = {&capture_window_of(names[k])->filter, 2048, 2048, (double)counts[j]};
            int here = 0, lost = 0;
            for (int run = 0; run < runs[j]; run++) {
                size_t length = c.transform * counts[j];
                double hz = -300 + 600 * sweep_uniform(&random), phase = 0, v[2];
                for (size_t i = 0; i < length; i++) {
                    sweep_complex(&random, v);
                    phase += 1e-3 * v[0] * (1 + (run % 4)); /* to about -60 dBc/bin at 10 bins */
                    samples[i] = cexp(I * (2 * M_PI * hz / c.rate_hz * (double)i + phase));
                }
                capture_noise(samples, length, -60, &random);
                spurity_survey *survey = survey_of(&c, c.transform, counts[j]);
                const spurity_line *line = spurity_survey_strongest(survey, hz - 2, hz + 2);
                lost += !line || line->character != SPURITY_LINE || fabs(line->level_db) > 0.1;
                here += spurity_survey_line_count(survey) > 1;
                if (getenv("EMISSION_TALK") && spurity_survey_line_count(survey) > 1)
                    capture_print(survey);
                spurity_survey_free(survey);
            }
            print_message("%-16s %2zu averages, carrier noise: %d of %d spectra with a false emission, carrier misread "
                          "in %d\n",
                          names[k], counts[j], here, runs[j], lost);
            assert_int_equal(lost, 0);
            all += runs[j];
            wrong += here;
        }
    print_message("in all: %d of %d\n", wrong, all);
    assert_true(wrong * 50 <= all); /* 2 %, as for swept noise on carrier noise (README, known limits) */
}

/* ---- modulation ---------------------------------------------------------------------------------------------------
 */

/* Lines at n fm of power Jn(m)^2 (textbook); libm's Bessel functions.  Half a per cent lies below and above. */
static double exact_width(double m, double fm)
{
    double beyond = 0;
    int n = 60;
    for (; n > 0; n--) {
        beyond += jn(n, m) * jn(n, m);
        if (beyond >= 0.005)
            break;
    }
    return 2 * n * fm;
}

static void test_bessel_widths(void **state) /* m = 0.5 .. 5 at 1 kHz: 2, 4, 6, 6, 12 kHz, by Bessel sums */
{
    (void)state;
    static const double m[] = {0.5, 1, 2, 2.404826, 5}, khz[] = {2, 4, 6, 6, 12};
    for (int i = 0; i < 5; i++)
        assert_near(exact_width(m[i], 1), khz[i], 1e-9);
}

static void modulate(size_t count, double m, double cycles, double carrier)
{
    for (size_t i = 0; i < count; i++)
        samples[i] = cexp(I * (2 * M_PI * carrier * (double)i + m * sin(2 * M_PI * cycles * (double)i)));
}

static void test_modulation(void **state)
{
    (void)state;
    static const char *const names[] = {"Hann", "Blackman-Harris", "HFT95", "HFT144D"};
    static const double m[] = {0.5, 1, 2, 2.404826, 5};
    static const double bins[] = {300.4, 100.3, 20.3, 14.1, 10.3, 8.2, 6.3, 5.1, 4.1};
    enum { COUNT = 16 };
    uint64_t random = 31;
    int failures = 0;
    for (int k = 0; k < 4; k++)
        for (int b = 0; b < (int)(sizeof bins / sizeof *bins); b++) {
            double worst_bins = 0, worst_db = 0;
            for (int j = 0; j < 5; j++)
                for (int i = 0; i < 4; i++) {
                    capture c = {&capture_window_of(names[k])->filter, N, 10.0 * N, COUNT};
                    double fm = (bins[b] + 0.1 * i) / N, carrier = (-200 + 0.27 * i) / N;
                    size_t hop = N / 2 + 17, length = N + hop * (COUNT - 1);
                    if (fm * (m[j] + 5) > 0.5 - 220.0 / N)
                        continue; /* beyond the band */
                    modulate(length, m[j], fm, carrier);
                    capture_noise(samples, length, -50, &random);
                    spurity_survey *survey = survey_of(&c, hop, COUNT);
                    const spurity_line *line = spurity_survey_strongest(survey, -1e5, 1e5);
                    double width = exact_width(m[j], fm * c.rate_hz),
                           off = line ? fabs(line->width_hz - width) / 10 : 99;
                    worst_bins = fmax(worst_bins, off);
                    worst_db = fmax(worst_db, line ? fabs(line->level_db) : 99);
                    /* nearer than that the lines are not seen as lines, and the window's own width stays in part */
                    double rbw = spurity_filter_width_bins(c.filter), most = bins[b] >= 1.8 * rbw ? 1 : 1.1 * rbw;
                    bool good = line && off <= most && fabs(line->level_db) <= 0.05 &&
                                fabs(line->frequency_hz - carrier * c.rate_hz) <=
                                    (most <= 1 ? 5 : line->frequency_uncertainty_hz);
                    failures += !good;
                    if (!good && getenv("EMISSION_TALK")) {
                        print_message("  m %.2f, tone %.1f bins, carrier %.2f: width %.1f\n", m[j], fm * N,
                                      carrier * c.rate_hz, width);
                        capture_print(survey);
                    }
                    spurity_survey_free(survey);
                }
            print_message("%-16s tone at %5.1f bins: width within %.3f bins, level within %.4f dB\n", names[k], bins[b],
                          worst_bins, worst_db);
        }
    assert_int_equal(failures, 0);
}

/* Noise of 300 to 3000 Hz as the modulation, rms deviation 1.7 kHz, as voice has it.  Reference: the samples' own power
 * in transforms four times as long (BH4), from its ends to half a per cent.  25.6 kHz of band. */
static void test_voice(void **state)
{
    (void)state;
    enum { LENGTH = 1 << 18 };
    static double complex audio[LENGTH];
    static const char *const names[] = {"Hann", "Blackman-Harris", "HFT144D"};
    const double rate = 40960;
    uint64_t random = 41;
    for (int draw = 0; draw < 2; draw++) {
        double sum = 0, phase = 0, v[2];
        memset(audio, 0, sizeof audio);
        for (size_t k = 0; k < LENGTH; k++) {
            double hz = (double)k * rate / LENGTH;
            sweep_complex(&random, v);
            if (hz >= 300 && hz <= 3000)
                audio[k] = v[0] + I * v[1];
        }
        capture_transform(audio, LENGTH);
        for (size_t i = 0; i < LENGTH; i++)
            sum += creal(audio[i]) * creal(audio[i]) / LENGTH;
        for (size_t i = 0; i < LENGTH; i++) {
            phase += 2 * M_PI * 1700 * creal(audio[i]) / sqrt(sum) / rate;
            samples[i] = cexp(I * phase);
        }
        capture_noise(samples, LENGTH, -40, &random);
        capture fine = {&capture_window_of("Blackman-Harris")->filter, 1 << 14, rate, 31};
        capture_mean(&fine, samples, fine.transform / 2, 31, frequency, level);
        double total = 0, at = 0, reference = 0, noise = pow(10, -4) * 2.0044 / (double)fine.transform;
        for (size_t i = 0; i < fine.transform; i++)
            total += pow(10, level[i] / 10) - noise;
        for (int side = 0; side < 2; side++) {
            at = 0;
            for (size_t i = 0; i < fine.transform; i++) {
                size_t k = side ? fine.transform - 1 - i : i;
                at += pow(10, level[k] / 10) - noise;
                if (at < 0.005 * total)
                    continue;
                reference += side ? frequency[k] : -frequency[k];
                break;
            }
        }
        for (int k = 0; k < 3; k++)
            for (size_t n = 4096; n >= 256; n /= 4) {
                capture c = {&capture_window_of(names[k])->filter, n, rate, (double)LENGTH / (double)n};
                spurity_survey *survey = survey_of(&c, n / 2, 2 * LENGTH / n - 1);
                const spurity_line *line = spurity_survey_strongest(survey, -1e4, 1e4);
                assert_non_null(line);
                print_message(
                    "%-16s RBW %6.1f Hz: width %.0f Hz of %.0f (%+.1f %%), level %+.3f dB, %s, %zu emissions\n",
                    names[k], spurity_filter_width_bins(c.filter) * rate / (double)n, line->width_hz, reference,
                    100 * (line->width_hz / reference - 1), line->level_db, spurity_character_name(line->character),
                    spurity_survey_line_count(survey));
                if (getenv("EMISSION_TALK"))
                    capture_print(survey);
                assert_near(line->width_hz, reference, 0.05 * reference);
                assert_near(line->level_db, 0, 0.05);
                spurity_survey_free(survey);
            }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tone_anywhere), cmocka_unit_test(test_tone_in_noise),
        cmocka_unit_test(test_two_tones),     cmocka_unit_test(test_side_lobes),
        cmocka_unit_test(test_bessel_widths), cmocka_unit_test(test_modulation),
        cmocka_unit_test(test_voice),         cmocka_unit_test(test_false_alarms),
        cmocka_unit_test(test_carrier_noise),
    };
    cmocka_set_test_filter(getenv("EMISSION_TEST"));
    return cmocka_run_group_tests(tests, NULL, NULL);
}
