/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The door of `emission`: what it promises on odd input, coverage and holes, feedthrough, bounds, spacing. */
#include "../emission_sweep.h"

enum { POINTS = 4001 };
static double frequency[POINTS], level[POINTS];

static void flat(size_t count, double start, double step, double db)
{
    for (size_t i = 0; i < count; i++) {
        frequency[i] = start + (double)i * step;
        level[i] = db;
    }
}

/* Adds a line through a Gaussian filter, by power. */
static void put_line(size_t count, double hz, double db, double rbw)
{
    for (size_t i = 0; i < count; i++)
        level[i] = 10 * log10(pow(10, level[i] / 10) + pow(10, db / 10) * pow(sweep_filter(frequency[i] - hz, rbw), 2));
}

static spurity_survey *survey_of(size_t count, double rbw, spurity_detector detector, double averages,
                                 spurity_notes *notes)
{
    spurity_segment_facts facts = {.rbw_hz = rbw, .detector = detector, .averages = averages};
    return sweep_survey_facts(&facts, frequency, level, count, notes);
}

/* Every number promised is a number. */
static void check_finite(const spurity_survey *survey)
{
    const spurity_trace *trace = spurity_terminal_trace_view(spurity_survey_terminal(survey));
    for (size_t s = 0; s < spurity_trace_segment_count(trace); s++) {
        spurity_segment view;
        assert_true(spurity_trace_segment(trace, s, &view));
        for (size_t i = 0; i < view.count; i++) {
            spurity_point p;
            assert_true(spurity_survey_point(survey, s, i, &p));
            assert_true(isfinite(p.floor_db) && isfinite(p.bound_db) && isfinite(p.reading_db));
            assert_true(p.line >= -1 && p.line < (long)spurity_survey_line_count(survey));
        }
        spurity_point p;
        assert_false(spurity_survey_point(survey, s, view.count, &p));
    }
    double before = -INFINITY;
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *l = spurity_survey_line(survey, i);
        assert_true(isfinite(l->frequency_hz) && isfinite(l->level_db) && isfinite(l->width_hz));
        assert_true(isfinite(l->floor_db) && isfinite(l->excess_db) && isfinite(l->frequency_uncertainty_hz));
        assert_true(isfinite(l->read_low_db) && l->read_low_db >= 0);
        assert_true(isfinite(l->read_high_db) && l->read_high_db >= 0);
        assert_true(l->low_hz <= l->high_hz && l->frequency_hz >= before);
        before = l->frequency_hz;
    }
    assert_null(spurity_survey_line(survey, spurity_survey_line_count(survey)));
    for (size_t i = 0; i < spurity_survey_coverage_count(survey); i++) {
        const spurity_coverage *c = spurity_survey_coverage(survey, i);
        assert_true(isfinite(c->from_hz) && c->from_hz <= c->to_hz && c->first <= c->last);
    }
}

static void test_names(void **state)
{
    (void)state;
    assert_string_equal(spurity_character_name(SPURITY_LINE), "line");
    assert_string_equal(spurity_character_name(SPURITY_NOISE_LIKE), "noise-like");
    assert_string_equal(spurity_character_name(SPURITY_UNRESOLVED), "unresolved");
    assert_null(spurity_character_name((spurity_character)9));
    spurity_survey_options options;
    spurity_survey_options_init(&options);
    assert_near(options.false_alarms, 0.01, 0);
    assert_true(isnan(options.carrier_hz));
}

/* Few points, all equal, coarse readings, huge and odd steps, negative frequencies; with and without RBW and detector.
 */
static void test_odd_traces(void **state)
{
    (void)state;
    uint64_t random = 8;
    for (size_t count = 1; count < 40; count++)
        for (int shape = 0; shape < 6; shape++)
            for (int known = 0; known < 3; known++) {
                double step = shape == 3 ? 1e9 : 1e3;
                flat(count, shape == 4 ? -1e5 : 1e6, step, -80);
                for (size_t i = 0; i < count; i++) {
                    if (shape == 1)
                        level[i] += 200 * sweep_uniform(&random);
                    if (shape == 2)
                        level[i] = i % 2 ? -20 : -90;
                    if (shape == 5)
                        frequency[i] += 900 * sweep_uniform(&random);
                }
                if (shape == 4)
                    put_line(count, frequency[count / 2], -10, 2e3);
                spurity_survey *survey = survey_of(
                    count, known ? 2e3 : 0, known > 1 ? SPURITY_DETECTOR_PEAK : SPURITY_DETECTOR_UNKNOWN, 0, NULL);
                check_finite(survey);
                spurity_survey_free(survey);
            }
    flat(2001, 1e6, 1e3, -80);
    spurity_survey *survey = survey_of(2001, 1e3, SPURITY_DETECTOR_SAMPLE, 0, NULL);
    assert_int_equal(spurity_survey_line_count(survey), 0);
    check_finite(survey);
    spurity_survey_free(survey);
    for (size_t i = 0; i < 2001; i++) /* whole decibels */
        level[i] = round(-80 + 1.2 * (sweep_uniform(&random) + sweep_uniform(&random) + sweep_uniform(&random) - 1.5));
    survey = survey_of(2001, 1e3, SPURITY_DETECTOR_UNKNOWN, 0, NULL);
    assert_int_equal(spurity_survey_line_count(survey), 0);
    spurity_survey_free(survey);
    spurity_survey_free(NULL);
}

/* 6 dB up: all levels 6 dB up.  A carrier off by a fraction of a step: the same level within 0.02 dB. */
static void test_shift(void **state)
{
    (void)state;
    double first_level = 0, first_floor = 0;
    for (int k = 0; k < 4; k++) {
        flat(1001, 145e6, 5e3, -90 + 6 * (k == 3));
        put_line(1001, 147.3e6 + 1234 * (k % 3), -20 + 6 * (k == 3), 1e4);
        spurity_survey *survey = survey_of(1001, 1e4, SPURITY_DETECTOR_AVERAGE, 100, NULL);
        assert_int_equal(spurity_survey_line_count(survey), 1);
        const spurity_line *l = spurity_survey_line(survey, 0);
        if (!k) {
            first_level = l->level_db;
            first_floor = l->floor_db;
        }
        assert_near(l->level_db, first_level + 6 * (k == 3), 0.02);
        assert_near(l->floor_db, first_floor + 6 * (k == 3), 0.001);
        assert_near(l->frequency_hz, 147.3e6 + 1234 * (k % 3), 20);
        assert_true(l->low_hz < l->frequency_hz && l->high_hz > l->frequency_hz);
        spurity_point p;
        assert_true(spurity_survey_point(survey, 0, l->index, &p));
        assert_int_equal(p.line, 0);
        spurity_survey_free(survey);
    }
}

/* RBW halved: noise 3 dB down, lines not. */
static void test_rbw(void **state)
{
    (void)state;
    uint64_t random = 5;
    double got[2][2];
    for (int k = 0; k < 2; k++) {
        sweep w = {.count = 4001,
                   .start_hz = 145e6,
                   .step_hz = 1e3,
                   .rbw_hz = k ? 1e3 : 2e3,
                   .detector = SPURITY_DETECTOR_AVERAGE,
                   .averages = 30,
                   .draws = 30,
                   .line_hz = 147e6,
                   .line_db = k ? 63.0103 : 60,
                   .noise_db = k ? -103.0103 : -100};
        sweep_make(&w, &random, frequency, level);
        spurity_survey *survey = sweep_survey(&w, frequency, level);
        const spurity_line *l = spurity_survey_strongest(survey, 146e6, 148e6);
        assert_non_null(l);
        got[k][0] = l->level_db;
        got[k][1] = l->floor_db;
        spurity_survey_free(survey);
    }
    assert_near(got[0][0], got[1][0], 0.02);
    assert_near(got[0][1] - got[1][1], 3.01, 0.15);
}

/* Zero-frequency feedthrough is a hole with advice, not a line; a carrier told there is a line. */
static void test_feedthrough(void **state)
{
    (void)state;
    const double starts[] = {0, 9e3, -20e3};
    for (int k = 0; k < 3; k++) {
        flat(2001, starts[k], 5e3, -90);
        put_line(2001, 0, -30, 1e4);
        put_line(2001, 5e6, -50, 1e4);
        spurity_notes *notes = spurity_notes_create();
        spurity_survey *survey = survey_of(2001, 1e4, SPURITY_DETECTOR_AVERAGE, 100, notes);
        assert_int_equal(spurity_survey_line_count(survey), 1);
        assert_near(spurity_survey_line(survey, 0)->frequency_hz, 5e6, 100);
        assert_true(spurity_notes_has(notes, SPURITY_NOTE_ZERO_FREQUENCY_FEEDTHROUGH));
        assert_int_equal(spurity_survey_hole_count(survey), 1);
        const spurity_stretch *hole = spurity_survey_hole(survey, 0);
        assert_non_null(strstr(hole->reason, "feedthrough"));
        assert_true(hole->to_hz > 15e3 && hole->to_hz < 60e3);
        assert_true(strlen(hole->advice) > 20);
        spurity_point p;
        assert_true(spurity_survey_point(survey, 0, 1, &p));
        assert_true(p.blind);
        double bound, floor_db;
        assert_false(spurity_survey_bound(survey, 10e3, 20e3, &bound, &floor_db, NULL));
        assert_true(spurity_survey_bound(survey, 200e3, 900e3, &bound, &floor_db, NULL));
        spurity_survey_free(survey);
        spurity_notes_free(notes);
    }
    flat(2001, -5e6, 5e3, -90); /* an offset scale: 0 Hz is the middle of something */
    put_line(2001, 0, -30, 1e4);
    spurity_survey *survey = survey_of(2001, 1e4, SPURITY_DETECTOR_AVERAGE, 100, NULL);
    assert_int_equal(spurity_survey_line_count(survey), 1);
    spurity_survey_free(survey);
}

/* Points too far apart: blind with a hole and advice; with a peak detector fine; in between, in the bound and the
 * line's doubt. */
static void test_spacing(void **state)
{
    (void)state;
    const double steps[] = {0.25, 0.5, 0.75, 1, 2};
    for (int k = 0; k < 5; k++)
        for (int detector = 0; detector < 3; detector++) {
            static const spurity_detector kinds[] = {SPURITY_DETECTOR_AVERAGE, SPURITY_DETECTOR_PEAK,
                                                     SPURITY_DETECTOR_UNKNOWN};
            const double rbw = 1e4;
            double step = steps[k] * rbw, between = 100e6 + 500.5 * step;
            bool peak = detector == 1, far = steps[k] > 1 && !peak;
            flat(1001, 100e6, step, -90);
            put_line(1001, 100e6 + 200 * step, -30, rbw);
            put_line(1001, between, -30, rbw);
            spurity_notes *notes = spurity_notes_create();
            spurity_survey *survey = survey_of(1001, rbw, kinds[detector], 100, notes);
            check_finite(survey);
            assert_int_equal(spurity_notes_has(notes, SPURITY_NOTE_POINTS_TOO_FAR_APART), far);
            assert_int_equal(spurity_notes_has(notes, SPURITY_NOTE_DETECTOR_UNKNOWN), detector == 2);
            assert_int_equal(spurity_survey_coverage_count(survey), far ? 0 : 1);
            assert_int_equal(spurity_survey_hole_count(survey), far ? 1 : 0);
            if (far)
                assert_string_equal(spurity_survey_hole(survey, 0)->reason, "points-too-far-apart");
            const spurity_line *l = spurity_survey_strongest(survey, between - rbw, between + rbw);
            assert_non_null(l);
            assert_int_equal(l->trustworthy, !far);
            if (!peak) /* what the reading leaves open holds the truth */
                assert_true(l->level_db + l->read_low_db >= -30.001);
            spurity_point p;
            assert_true(spurity_survey_point(survey, 0, 700, &p));
            assert_int_equal(p.blind, far);
            double droop = peak ? 0 : 3.0103 * steps[k] * steps[k]; /* Gaussian, half a step off: reference table 3.3 */
            if (detector == 0)
                assert_near(p.bound_db, spurity_hidden_line_bound(-90, p.floor_db, kinds[0], 100) + droop, 0.1);
            spurity_survey_free(survey);
            spurity_notes_free(notes);
        }
}

/* A peak detector reads the filter's highest response within a point's cell: one line, its level exact at any step. */
static void test_peak_detector(void **state)
{
    (void)state;
    const double steps[] = {0.1, 0.3, 0.5, 0.8, 1, 1.5, 3};
    for (int k = 0; k < 7; k++)
        for (double offset = -0.45; offset < 0.5; offset += 0.15) {
            const double rbw = 1e4;
            double step = steps[k] * rbw, hz = 100e6 + (300 + offset) * step;
            flat(1001, 100e6, step, -90);
            for (size_t i = 0; i < 1001; i++) {
                double d = fmax(fabs(frequency[i] - hz) - step / 2, 0);
                level[i] = 10 * log10(pow(10, level[i] / 10) + 1e-3 * pow(sweep_filter(d, rbw), 2));
            }
            spurity_survey *survey = survey_of(1001, rbw, SPURITY_DETECTOR_PEAK, 100, NULL);
            assert_int_equal(spurity_survey_line_count(survey), 1);
            const spurity_line *l = spurity_survey_line(survey, 0);
            assert_int_equal(l->character, SPURITY_LINE);
            assert_near(l->level_db, -30, 0.001);
            assert_near(l->frequency_hz, hz, l->frequency_uncertainty_hz);
            assert_true(l->trustworthy && l->read_low_db < 0.1);
            spurity_survey_free(survey);
        }
}

/* Gaps break coverage; the ends reach half an RBW or half a step, whichever is less. */
static void test_coverage(void **state)
{
    (void)state;
    flat(1001, 100e6, 1e3, -90);
    for (size_t i = 400; i < 420; i++)
        level[i] = NAN;
    spurity_notes *notes = spurity_notes_create();
    spurity_survey *survey = survey_of(1001, 1.5e3, SPURITY_DETECTOR_AVERAGE, 100, notes);
    assert_true(spurity_notes_has(notes, SPURITY_NOTE_MISSING_POINTS));
    assert_int_equal(spurity_survey_coverage_count(survey), 2);
    assert_near(spurity_survey_coverage(survey, 0)->from_hz, 100e6 - 500, 1e-3);
    assert_near(spurity_survey_coverage(survey, 0)->to_hz, 100.399e6 + 500, 1e-3);
    assert_near(spurity_survey_coverage(survey, 1)->from_hz, 100.42e6 - 500, 1e-3);
    assert_near(spurity_survey_coverage(survey, 1)->to_hz, 101e6 + 500, 1e-3);
    double bound, floor_db, at, power;
    assert_false(spurity_survey_bound(survey, 100.39e6, 100.43e6, &bound, &floor_db, &at));
    assert_false(spurity_survey_power(survey, 100.39e6, 100.43e6, &power));
    assert_true(spurity_survey_bound(survey, 100.1e6, 100.2e6, &bound, &floor_db, &at));
    assert_near(floor_db, -90, 0.1);
    double droop = 3.0103 / (1.5 * 1.5); /* half a step of RBW / 1.5 */
    assert_near(bound, spurity_hidden_line_bound(-90, floor_db, SPURITY_DETECTOR_AVERAGE, 100) + droop, 0.1);
    assert_true(at >= 100.0985e6 && at <= 100.2015e6);
    assert_true(spurity_survey_bound(survey, 100.15e6, 100.15e6, &bound, &floor_db, NULL));
    spurity_survey_free(survey);
    spurity_notes_free(notes);
}

/* A line inside a footprint raises the bound there to its reading. */
static void test_bound_over_line(void **state)
{
    (void)state;
    flat(1001, 100e6, 2e3, -90);
    put_line(1001, 101e6, -40, 1e4);
    spurity_survey *survey = survey_of(1001, 1e4, SPURITY_DETECTOR_AVERAGE, 100, NULL);
    double bound, floor_db, at;
    assert_true(spurity_survey_bound(survey, 100.5e6, 101.5e6, &bound, &floor_db, &at));
    assert_near(bound, -40, 0.3);
    assert_near(at, 101e6, 2.1e3);
    spurity_survey_free(survey);
}

/* RBW unknown: said, still works, and no power comes out of it. */
static void test_rbw_unknown(void **state)
{
    (void)state;
    flat(1001, 145e6, 5e3, -90);
    put_line(1001, 147.3e6, -20, 1e4);
    spurity_notes *notes = spurity_notes_create();
    spurity_survey *survey = survey_of(1001, 0, SPURITY_DETECTOR_AVERAGE, 100, notes);
    assert_true(spurity_notes_has(notes, SPURITY_NOTE_RBW_UNKNOWN));
    assert_int_equal(spurity_survey_line_count(survey), 1);
    const spurity_line *l = spurity_survey_line(survey, 0);
    assert_near(l->level_db, -20, 0.05);
    assert_near(l->frequency_hz, 147.3e6, 50);
    assert_true(l->trustworthy); /* its neighbours show the filter */
    double power;
    assert_false(spurity_survey_power(survey, 146e6, 148e6, &power));
    spurity_survey_free(survey);
    flat(1001, 145e6, 5e3, -90);
    level[300] = -30; /* one point alone: the line may stand anywhere between */
    survey = survey_of(1001, 0, SPURITY_DETECTOR_AVERAGE, 100, notes);
    assert_int_equal(spurity_survey_line_count(survey), 1);
    assert_false(spurity_survey_line(survey, 0)->trustworthy);
    spurity_survey_free(survey);
    spurity_notes_free(notes);
}

/* Several segments, overlapping: each its own floor and RBW; lines in order; the lowest bound of those that cover. */
static void test_segments(void **state)
{
    (void)state;
    spurity_error error = {0};
    spurity_trace *trace = NULL;
    spurity_chain *chain = NULL;
    spurity_terminal_trace *terminal = NULL;
    spurity_survey *survey = NULL;
    assert_ok(spurity_trace_create(&trace, &error), &error);
    for (int k = 0; k < 3; k++) {
        spurity_segment_facts facts = {
            .rbw_hz = k == 1 ? 1e3 : 1e4, .detector = SPURITY_DETECTOR_AVERAGE, .averages = 100};
        flat(1001, 100e6 + 2e6 * k, k == 1 ? 500 : 5e3, k == 1 ? -100 : -90 + 5 * k);
        put_line(1001, 102.25e6, -40, facts.rbw_hz);
        assert_ok(spurity_trace_begin_segment(trace, &facts, &error), &error);
        assert_ok(spurity_trace_append(trace, frequency, level, 1001, &error), &error);
    }
    assert_ok(spurity_chain_create(&chain, &error), &error);
    assert_ok(spurity_chain_set_kind(chain, SPURITY_CHAIN_DIRECT, &error), &error);
    assert_ok(spurity_chain_apply(chain, &trace, NAN, 0, NULL, &terminal, &error), &error);
    assert_ok(spurity_survey_create(terminal, NULL, NULL, NULL, &survey, &error), &error);
    check_finite(survey);
    assert_int_equal(spurity_survey_line_count(survey), 2); /* the line seen in two segments; steps are none */
    assert_int_equal(spurity_survey_coverage_count(survey), 3);
    double bound, floor_db;
    assert_true(spurity_survey_bound(survey, 102.05e6, 102.1e6, &bound, &floor_db, NULL));
    assert_near(floor_db, -100, 0.2);
    assert_true(spurity_survey_bound(survey, 102.05e6, 102.9e6, &bound, &floor_db, NULL));
    assert_false(spurity_survey_bound(survey, 102.05e6, 108e6, &bound, &floor_db, NULL));
    assert_ptr_equal(spurity_survey_terminal(survey), terminal);
    spurity_survey_free(survey);
    spurity_chain_free(chain);
}

/* What the chain does not reach is a hole of the survey. */
static void test_chain_holes(void **state)
{
    (void)state;
    spurity_error error = {0};
    spurity_trace *trace = NULL;
    spurity_chain *chain = NULL;
    spurity_terminal_trace *terminal = NULL;
    spurity_survey *survey = NULL;
    spurity_segment_facts facts = {.rbw_hz = 1e4, .detector = SPURITY_DETECTOR_AVERAGE, .averages = 100};
    flat(1001, 100e6, 5e3, -90);
    assert_ok(spurity_trace_create(&trace, &error), &error);
    assert_ok(spurity_trace_begin_segment(trace, &facts, &error), &error);
    assert_ok(spurity_trace_append(trace, frequency, level, 1001, &error), &error);
    assert_ok(spurity_chain_create(&chain, &error), &error);
    assert_ok(spurity_chain_add_pad(chain, 30, NAN, 103e6, NAN, &error), &error);
    assert_ok(spurity_chain_apply(chain, &trace, NAN, 0, NULL, &terminal, &error), &error);
    assert_ok(spurity_survey_create(terminal, NULL, NULL, NULL, &survey, &error), &error);
    assert_true(spurity_survey_hole_count(survey) >= 1);
    assert_string_equal(spurity_survey_hole(survey, 0)->reason, "loss-unknown");
    spurity_point p;
    assert_true(spurity_survey_point(survey, 0, 10, &p));
    assert_near(p.floor_db, -60, 0.1);
    spurity_survey_free(survey);
    spurity_chain_free(chain);
}

/* Two strong signals stay two; the lines of an AM transmitter are one. */
static void test_two_and_am(void **state)
{
    (void)state;
    flat(2001, 145e6, 1e3, -100);
    put_line(2001, 146e6, -20, 3e3);
    put_line(2001, 146.025e6, -22, 3e3);
    spurity_survey *survey = survey_of(2001, 3e3, SPURITY_DETECTOR_AVERAGE, 100, NULL);
    assert_int_equal(spurity_survey_line_count(survey), 2);
    assert_int_equal(spurity_survey_line(survey, 0)->character, SPURITY_LINE);
    spurity_survey_free(survey);

    flat(2001, 26.965e6 - 25e3, 25, -110); /* 60 % AM at 1 kHz: side lines -10.46 dBc, in all 1 + 0.36 / 2 */
    put_line(2001, 26.965e6, -20, 100);
    put_line(2001, 26.966e6, -30.4576, 100);
    put_line(2001, 26.964e6, -30.4576, 100);
    survey = survey_of(2001, 100, SPURITY_DETECTOR_AVERAGE, 100, NULL);
    assert_int_equal(spurity_survey_line_count(survey), 1);
    assert_int_equal(spurity_survey_line(survey, 0)->character, SPURITY_UNRESOLVED);
    assert_near(spurity_survey_line(survey, 0)->level_db, -20 + 10 * log10(1.18), 0.05);
    assert_near(spurity_survey_line(survey, 0)->frequency_hz, 26.965e6, 10);
    spurity_survey_free(survey);
}

/* Noise-filled emission, 20 RBW wide and 30 dB up: one, noise-like, its power integrated. */
static void test_noise_like(void **state)
{
    (void)state;
    static double tilt[POINTS];
    uint64_t random = 66;
    for (size_t i = 0; i < 2001; i++)
        tilt[i] = i >= 1000 && i < 1040 ? 30 : 0;
    const double draws[] = {1, 16};
    for (int k = 0; k < 2; k++) {
        sweep w = {.count = 2001,
                   .start_hz = 145e6,
                   .step_hz = 500,
                   .rbw_hz = 1e3,
                   .correlated = true,
                   .detector = SPURITY_DETECTOR_AVERAGE,
                   .averages = draws[k],
                   .draws = (size_t)draws[k],
                   .line_hz = NAN,
                   .noise_db = -100,
                   .tilt_db = tilt};
        sweep_make(&w, &random, frequency, level);
        spurity_survey *survey = sweep_survey(&w, frequency, level);
        for (size_t i = 0; spurity_survey_line_count(survey) > 1 && i < spurity_survey_line_count(survey); i++)
            print_error("  point %zu: %.1f dB, %s\n", spurity_survey_line(survey, i)->index,
                        spurity_survey_line(survey, i)->level_db,
                        spurity_character_name(spurity_survey_line(survey, i)->character));
        assert_int_equal(spurity_survey_line_count(survey), 1);
        const spurity_line *l = spurity_survey_line(survey, 0);
        assert_int_equal(l->character, SPURITY_NOISE_LIKE);
        assert_near(l->level_db, -70 + 10 * log10(20e3 / 1064.467), k ? 0.6 : 2);
        assert_near(l->frequency_hz, 145e6 + 1019.5 * 500, 1500);
        assert_near(l->width_hz, 20e3, 3e3);
        spurity_survey_free(survey);
    }
}

static bool stop_at(void *user, const char *what, double fraction)
{
    int *left = user;
    assert_non_null(what);
    assert_true(fraction <= 1);
    return --*left >= 0;
}

/* A watch stops it; the terminal is then still the caller's. */
static void test_watch(void **state)
{
    (void)state;
    flat(1001, 100e6, 5e3, -90);
    spurity_segment_facts facts = {.rbw_hz = 1e4};
    for (int ticks = 0; ticks < 10; ticks++) {
        int left = ticks;
        spurity_watch watch = {stop_at, &left};
        spurity_error error = {0};
        spurity_survey *survey = NULL;
        spurity_terminal_trace *terminal = sweep_terminal(&facts, frequency, level, 1001);
        spurity_status status = spurity_survey_create(terminal, NULL, NULL, &watch, &survey, &error);
        if (status) {
            assert_int_equal(status, SPURITY_CANCELLED);
            assert_null(survey);
            spurity_terminal_trace_free(terminal);
        } else {
            assert_true(ticks > 0);
        }
        spurity_survey_free(survey);
    }
}

/* ---- filters of known shape ----------------------------------------------------------------------------------------
 */

static const spurity_filter blackman_harris = {SPURITY_FILTER_COSINE_SUM, 4, {.35875, .48829, .14128, .01168}, 0, 100};

static spurity_survey *survey_window(size_t count, spurity_filter filter, spurity_detector detector, double averages)
{
    spurity_segment_facts facts = {.detector = detector, .averages = averages, .filter = filter};
    return sweep_survey_facts(&facts, frequency, level, count, NULL);
}

/* A line's readings in an exact window, over a floor. */
static void put_window_line(size_t count, const spurity_filter *filter, double hz, double db)
{
    for (size_t i = 0; i < count; i++) {
        double r = spurity_filter_response(filter, (frequency[i] - hz) / filter->bin_hz);
        level[i] = 10 * log10(pow(10, level[i] / 10) + pow(10, db / 10) * r * r);
    }
}

static void rough(size_t count, double start, double step, double db, uint64_t *random)
{
    double v[2];
    flat(count, start, step, db);
    for (size_t i = 0; i < count; i++) {
        sweep_complex(random, v);
        level[i] += v[0];
    }
}

/* Filters that cannot be are as if not told; whatever the filter, every number is a number. */
static void test_odd_filters(void **state)
{
    (void)state;
    spurity_filter odd[12];
    for (int i = 0; i < 12; i++)
        odd[i] = blackman_harris;
    odd[0].terms = 0, odd[1].terms = 12, odd[2].terms = -1, odd[3].c[0] = 0, odd[4].c[0] = NAN, odd[5].c[2] = INFINITY;
    odd[6].bin_hz = 0, odd[7].bin_hz = NAN, odd[8].bin_hz = 90, odd[9].kind = (spurity_filter_kind)77;
    odd[10] = (spurity_filter){.kind = SPURITY_FILTER_KAISER, .beta = 1e9, .bin_hz = 100};
    odd[11] = (spurity_filter){.kind = SPURITY_FILTER_KAISER, .beta = NAN, .bin_hz = 100};
    uint64_t random = 4;
    for (int i = 0; i < 12; i++) {
        rough(801, 1e6, 100, -100, &random);
        put_line(801, 1.04e6, -20, 190);
        double as_told[801];
        spurity_segment_facts facts = {
            .rbw_hz = 190, .detector = SPURITY_DETECTOR_AVERAGE, .averages = 20, .filter = odd[i]};
        spurity_survey *survey = sweep_survey_facts(&facts, frequency, level, 801, NULL);
        check_finite(survey);
        for (size_t k = 0; k < 801; k++) {
            spurity_point p;
            assert_true(spurity_survey_point(survey, 0, k, &p));
            as_told[k] = p.bound_db;
        }
        spurity_survey_free(survey);
        facts.filter = (spurity_filter){0};
        survey = sweep_survey_facts(&facts, frequency, level, 801, NULL);
        for (size_t k = 0; k < 801; k++) {
            spurity_point p;
            assert_true(spurity_survey_point(survey, 0, k, &p));
            assert_true(p.bound_db == as_told[k]);
        }
        spurity_survey_free(survey);
    }
}

/* Any cosine sum, any readings. */
static void test_any_filter(void **state)
{
    (void)state;
    static const size_t counts[] = {1, 2, 3, 5, 17, 100, 600};
    uint64_t random = 8;
    for (int run = 0; run < 400; run++) {
        size_t count = counts[sweep_next(&random) % 7];
        spurity_filter filter = {.kind = SPURITY_FILTER_COSINE_SUM, .bin_hz = 100};
        filter.terms = 1 + (int)(sweep_next(&random) % SPURITY_FILTER_TERMS);
        for (int k = 0; k < filter.terms; k++)
            filter.c[k] = k ? 4 * sweep_uniform(&random) - 2 : 1;
        if (run % 5 == 0)
            filter.kind = SPURITY_FILTER_KAISER, filter.beta = 40 * sweep_uniform(&random);
        if (run % 5 == 1)
            filter = blackman_harris;
        rough(count, -2e4, 100, -100, &random);
        for (int lines = (int)(sweep_next(&random) % 6); lines > 0; lines--)
            put_window_line(count, &filter, -2e4 + 100 * (double)count * sweep_uniform(&random),
                            -300 * sweep_uniform(&random));
        for (size_t i = 0; i < count; i++)
            level[i] = run % 3 ? level[i] : level[i] - 200 * sweep_uniform(&random);
        spurity_survey *survey = survey_window(count, filter, (spurity_detector)(run % 6), (double)(run % 4));
        check_finite(survey);
        spurity_survey_free(survey);
    }
}

/* A line in the first and the last bin, beside a missing one, and through a hold. */
static void test_window_edges(void **state)
{
    (void)state;
    static const double places[] = {0.2, 799.8, 0.45, 400.3, 401.1};
    uint64_t random = 12;
    for (int i = 0; i < 5; i++)
        for (int hold = 0; hold < 2; hold++) {
            rough(801, 1e6, 100, -100, &random);
            put_window_line(801, &blackman_harris, 1e6 + 100 * places[i], -20);
            level[398] = NAN;
            spurity_survey *survey =
                survey_window(801, blackman_harris, hold ? SPURITY_DETECTOR_MAX_HOLD : SPURITY_DETECTOR_AVERAGE, 20);
            const spurity_line *line = spurity_survey_strongest(survey, 0, 2e6);
            assert_non_null(line);
            assert_int_equal(line->character, SPURITY_LINE);
            assert_true(line->trustworthy);
            assert_near(line->level_db, -20, 0.05);
            assert_near(line->frequency_hz, 1e6 + 100 * places[i], 1);
            assert_int_equal(spurity_survey_line_count(survey), 1);
            check_finite(survey);
            spurity_survey_free(survey);
        }
}

/* Bins of a rectangular window stand over one RBW apart, yet miss nothing. */
static void test_rectangular_covers(void **state)
{
    (void)state;
    uint64_t random = 13;
    rough(801, 1e6, 100, -100, &random);
    spurity_filter filter = {.kind = SPURITY_FILTER_COSINE_SUM, .terms = 1, .c = {1}, .bin_hz = 100};
    spurity_survey *survey = survey_window(801, filter, SPURITY_DETECTOR_AVERAGE, 20);
    double bound, floor_db, droop_db = 3.9224; /* half a bin beside: 2 / pi */
    assert_int_equal(spurity_survey_hole_count(survey), 0);
    assert_int_equal(spurity_survey_coverage_count(survey), 1);
    assert_true(spurity_survey_bound(survey, 1.01e6, 1.07e6, &bound, &floor_db, NULL));
    assert_true(bound > floor_db + droop_db);
    spurity_point p;
    assert_true(spurity_survey_point(survey, 0, 300, &p));
    double floor_bound = spurity_hidden_line_bound(p.reading_db, p.floor_db, SPURITY_DETECTOR_AVERAGE, 20);
    assert_near(p.bound_db, floor_bound + droop_db, 0.1);
    spurity_survey_free(survey);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_odd_traces),
        cmocka_unit_test(test_shift),
        cmocka_unit_test(test_rbw),
        cmocka_unit_test(test_feedthrough),
        cmocka_unit_test(test_spacing),
        cmocka_unit_test(test_coverage),
        cmocka_unit_test(test_peak_detector),
        cmocka_unit_test(test_bound_over_line),
        cmocka_unit_test(test_rbw_unknown),
        cmocka_unit_test(test_segments),
        cmocka_unit_test(test_chain_holes),
        cmocka_unit_test(test_two_and_am),
        cmocka_unit_test(test_noise_like),
        cmocka_unit_test(test_watch),
        cmocka_unit_test(test_odd_filters),
        cmocka_unit_test(test_any_filter),
        cmocka_unit_test(test_window_edges),
        cmocka_unit_test(test_rectangular_covers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
