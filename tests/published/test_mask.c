/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Masks and occupied bandwidth against a carrier frequency-modulated by one tone, whose spectrum is known in closed
 * form: Bessel functions by scipy, the masks by the regulation's own arithmetic (vectors/tone_fm.py). */
#include "../modulated.h"
#include "vectors/tone_fm.h"

/* By which rule file, on which carrier, a mask of the vectors is asked for. */
struct asked {
    const char *mask, *rules;
    double carrier_hz, reference_hz, bandwidth_hz;
    int audio_filter;
    bool peak;
};
static const struct asked asked[] = {
    {"gmrs filtered", "us-gmrs", 462.625e6, 300, NAN, 1, false},
    {"murs 151", "us-murs", 151.82e6, 300, NAN, -1, false},
    {"murs 154 unfiltered", "us-murs", 154.57e6, 300, NAN, 0, false},
    {"C", "us-land-mobile", 155e6, 300, 25e3, 0, false},
    {"D", "us-land-mobile", 460.0125e6, 100, 12.5e3, -1, true},
    {"E", "us-land-mobile", 460.0125e6, 100, 6.25e3, -1, true},
};

static const struct asked *asked_of(const char *mask)
{
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++)
        if (!strcmp(asked[i].mask, mask))
            return &asked[i];
    fail_msg("no rules for %s", mask);
    return NULL;
}

static void judge(struct bench *bench, const struct tone_fm *vector, const struct asked *ask, double rbw_hz)
{
    double dbm = 10 * log10(vector->watts) + 30;
    struct modulated set = {.sweep = modulated_sweep(ask->carrier_hz, dbm, 130e3, rbw_hz)};
    set.sweep.lines = set.lines;
    for (int n = 0; n <= 24; n++) {
        modulated_add(&set, ask->carrier_hz + n * vector->tone_hz, dbm + vector->line_db[n]);
        if (n)
            modulated_add(&set, ask->carrier_hz - n * vector->tone_hz, dbm + vector->line_db[n]);
    }
    bench_start(bench);
    bench_direct(bench);
    spurity_source *source = bench_add(bench, &set.sweep);
    if (ask->peak)
        source->read.detector = SPURITY_DETECTOR_MAX_HOLD;
    bench->point.modulation = SPURITY_MODULATION_TEST;
    bench->point.only = SPURITY_GROUP_MASK;
    bench->point.emission = "F3E";
    bench->point.station = strcmp(ask->rules, "us-land-mobile") ? NULL : "mobile";
    bench->point.audio_filter = ask->audio_filter;
    bench->point.bandwidth_hz = ask->bandwidth_hz;
    bench->point.carrier_hz = ask->carrier_hz;
    bench_judge(bench, ask->rules);
}

/* The margin of our verdict within 0.3 dB of the closed form's, at its line; outcomes follow. */
static void margins_of_tone_modulation(void **state)
{
    double worst = 0;
    for (size_t i = 0; i < sizeof tone_fm / sizeof *tone_fm; i++) {
        const struct tone_fm *vector = &tone_fm[i];
        const struct asked *ask = asked_of(vector->mask);
        double rbw[] = {ask->reference_hz, ask->reference_hz / 3, ask->reference_hz / 10};
        for (int k = 0; k < (ask->peak ? 1 : 3); k++) {
            struct bench bench;
            judge(&bench, vector, ask, rbw[k]);
            const spurity_judgement *row = modulated_worst(&bench, "mask");
            assert_non_null(row);
            print_message(
                "%-20s %2g W, %g Hz at %g Hz, RBW %3.0f: %7.3f dB at %+8.0f Hz, closed form %7.3f at %5.0f: %s\n",
                vector->mask, vector->watts, vector->deviation_hz, vector->tone_hz, rbw[k], row->margin,
                row->frequency_hz - ask->carrier_hz, vector->margin_db, vector->margin_hz,
                spurity_outcome_name(row->outcome));
            assert_near(row->margin, vector->margin_db, 0.3);
            assert_near(fabs(row->frequency_hz - ask->carrier_hz), vector->margin_hz, ask->reference_hz);
            assert_int_equal(row->outcome, spurity_decide(row->margin, row->uncertainty, false));
            worst = fmax(worst, fabs(row->margin - vector->margin_db));
            bench_end(&bench);
        }
    }
    print_message("furthest from the closed form: %.3f dB\n", worst);
}

static void widths_of_tone_modulation(void **state)
{
    for (size_t i = 0; i < sizeof tone_fm / sizeof *tone_fm; i++) {
        const struct tone_fm *vector = &tone_fm[i];
        const struct asked *ask = asked_of(vector->mask);
        struct bench bench;
        if (strncmp(ask->rules, "us-murs", 7) && strncmp(ask->rules, "us-gmrs", 7))
            continue;
        judge(&bench, vector, ask, ask->reference_hz);
        const spurity_judgement *row = modulated_worst(&bench, "occupied bandwidth");
        assert_non_null(row);
        assert_near(row->measured, vector->occupied_hz, 10);
        assert_near(spurity_measurement_carrier(bench.measurement)->width_hz, vector->occupied_hz, 10);
        bench_end(&bench);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(margins_of_tone_modulation),
        cmocka_unit_test(widths_of_tone_modulation),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
