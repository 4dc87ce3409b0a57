/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A bench that doubts itself: invented sweeps in which it is known what is the set's, what the instrument makes, what
 * comes past the pads and what stands there unkeyed. */
#include "../../lib/measurement/parts.h"
#include "../sweep.h"

#define F0 146.94e6
#define SPUR 311.4e6

enum { MOST = 4 };

/* A bench of up to four sweeps, each behind 40 dB and what it has more. */
struct doubting {
    struct bench bench;
    spurity_chain *chains[MOST];
    size_t count;
};

static void start(struct doubting *at)
{
    *at = (struct doubting){0};
    bench_start(&at->bench);
    at->bench.point.modulation = SPURITY_MODULATION_NONE;
}

/* lines: dBm at the instrument. */
static spurity_source *add_to(struct doubting *at, const struct sweep_line *lines, size_t count, double more_db,
                              double stop_hz)
{
    char pad[32];
    struct sweep wide = wide_sweep(lines, count, stop_hz);
    spurity_chain **chain = &at->chains[at->count++];
    wide.floor_dbm = -115;
    assert_ok(spurity_chain_create(chain, &at->bench.error), &at->bench.error);
    assert_ok(spurity_chain_add_pad_text(*chain, "40dB,2G", &at->bench.error), &at->bench.error);
    snprintf(pad, sizeof pad, "%.1fdB,2G", more_db);
    if (more_db > 0)
        assert_ok(spurity_chain_add_pad_text(*chain, pad, &at->bench.error), &at->bench.error);
    spurity_source *source = bench_add(&at->bench, &wide);
    source->chain = *chain;
    return source;
}

static spurity_source *add(struct doubting *at, const struct sweep_line *lines, size_t count, double more_db)
{
    return add_to(at, lines, count, more_db, 1.5e9);
}

static void end(struct doubting *at)
{
    bench_end(&at->bench);
    for (size_t i = 0; i < at->count; i++)
        spurity_chain_free(at->chains[i]);
}

static const spurity_overlap *row_near(const spurity_measurement *m, double hz)
{
    for (size_t i = 0; i < spurity_measurement_overlap_count(m); i++)
        if (fabs(spurity_measurement_overlap(m, i)->frequency_hz - hz) < 60e3)
            return spurity_measurement_overlap(m, i);
    return NULL;
}

static const spurity_emission *emission_near(const spurity_measurement *m, double hz)
{
    const spurity_emission *found = NULL;
    for (size_t i = 0; i < spurity_measurement_emission_count(m); i++) {
        const spurity_emission *one = spurity_measurement_emission(m, i);
        if (one->seen && fabs(one->frequency_hz - hz) < 60e3) {
            assert_null(found); /* one line, one emission */
            found = one;
        }
    }
    return found;
}

/* What its reading alone leaves open. */
static double own_low(const spurity_measurement *m, const spurity_emission *e)
{
    return spurity_survey_line(spurity_measurement_file(m, (size_t)e->file)->survey, (size_t)e->line)->read_low_db;
}

static double own_high(const spurity_measurement *m, const spurity_emission *e)
{
    return spurity_survey_line(spurity_measurement_file(m, (size_t)e->file)->survey, (size_t)e->line)->read_high_db;
}

static bool is_reason(const spurity_verdict *verdict, const char *reason, double hz)
{
    for (size_t i = 0; i < spurity_verdict_not_shown_count(verdict); i++) {
        const spurity_not_shown *one = spurity_verdict_not_shown(verdict, i);
        if (!strcmp(one->reason, reason) && one->from_hz <= hz && hz <= one->to_hz)
            return true;
    }
    return false;
}

/* Amplitude of two voltages at a phase, dB. */
static double together(double a_db, double b_db, double degrees)
{
    double a = pow(10, a_db / 20), b = pow(10, b_db / 20), c = cos(acos(-1.0) * degrees / 180);
    return 10 * log10(a * a + b * b + 2 * a * b * c);
}

/* Carrier 5 W; second harmonic the instrument's (-60 dBm at the least pad), third the set's, a line at SPUR that does
 * not come through the input; three attenuations. */
static void add_steps(struct doubting *at, int steps)
{
    static const double more[] = {0, 10, 20};
    for (int i = 0; i < steps; i++) {
        struct sweep_line lines[] = {
            {F0, -3.01 - more[i]}, {2 * F0, -60 - 2 * more[i]}, {3 * F0, -65 - more[i]}, {SPUR, -78}};
        add(at, lines, 4, more[i]);
    }
}

static void two_steps_tell_whose_it_is(void **state)
{
    struct doubting at;
    start(&at);
    add_steps(&at, 3);
    bench_measure(&at.bench);
    const spurity_measurement *m = at.bench.measurement;
    const spurity_overlap *carrier = spurity_measurement_overlap(m, 0), *h2 = row_near(m, 2 * F0),
                          *h3 = row_near(m, 3 * F0), *spur = row_near(m, SPUR);
    assert_int_equal(carrier->emission, -1);
    assert_int_equal(carrier->origin, SPURITY_ORIGIN_TRANSMITTER);
    assert_int_equal(carrier->count, 3);
    assert_near(carrier->compressed_db, 0, 0);
    assert_int_equal(h2->origin, SPURITY_ORIGIN_INSTRUMENT);
    assert_int_equal(h2->order, 2);
    /* at +20 dB it is 20 dB lower, read within 1.5 dB: what is left for the set is little over that */
    assert_true(h2->low_db < -14 && h2->low_db > -20);
    assert_int_equal(h3->origin, SPURITY_ORIGIN_TRANSMITTER);
    assert_int_equal(h3->order, 0);
    assert_true(h3->low_db < 3 && h3->high_db < 3);
    assert_int_equal(spur->origin, SPURITY_ORIGIN_FLOOR);
    for (size_t i = 0; i < 3; i++) {
        assert_near(h3->readings[i].step_db, 10.0 * (double)i, 1e-9);
        assert_near(h3->readings[i].level_db, -25, 0.1);
        assert_near(h2->readings[i].level_db, -20 - 10.0 * (double)i, 0.2);
    }
    const spurity_emission *own = emission_near(m, 2 * F0), *stays = emission_near(m, SPUR);
    assert_true(own->settled && own->front_end_unproven);
    assert_near(own->level_dbm, -20 + h2->low_db, 0.1);
    assert_true(stays->front_end_unproven);
    assert_near(stays->level_dbm, -38, 0.1); /* where the attenuation is least */
    end(&at);
}

/* One step that holds still is not yet proof; one attenuation tells nothing. */
static void less_than_two_steps_tell_less(void **state)
{
    struct doubting at;
    start(&at);
    add_steps(&at, 2);
    bench_measure(&at.bench);
    const spurity_overlap *h3 = row_near(at.bench.measurement, 3 * F0);
    assert_int_equal(h3->origin, SPURITY_ORIGIN_UNTOLD);
    assert_true(h3->one_step);
    assert_true(h3->low_db > 6.0); /* an unlucky phase */
    assert_false(emission_near(at.bench.measurement, 2 * F0)->settled);
    end(&at);
    start(&at);
    add_steps(&at, 1);
    bench_measure(&at.bench);
    h3 = row_near(at.bench.measurement, 3 * F0);
    assert_int_equal(h3->origin, SPURITY_ORIGIN_UNTOLD);
    assert_true(isnan(h3->low_db) && isnan(h3->high_db));
    assert_non_null(strstr(h3->why, "10 and 20 dB more"));
    end(&at);
}

/* The bounds of every row there hold the truth, and what stands highest with its uncertainty is no less. */
static void hold_truth(const spurity_measurement *m, double hz, double truth)
{
    double highest = -200;
    size_t rows = 0;
    for (size_t i = 0; i < spurity_measurement_overlap_count(m); i++) {
        const spurity_overlap *row = spurity_measurement_overlap(m, i);
        if (fabs(row->frequency_hz - hz) > 60e3)
            continue;
        const spurity_emission *e = spurity_measurement_emission(m, (size_t)row->emission);
        highest = fmax(highest, e->level_dbm + spurity_emission_expanded(e, false, true));
        rows++;
        if (isnan(row->low_db))
            continue;
        assert_true(truth <= row->readings[0].level_db + row->low_db + 0.15);
        assert_true(truth >= row->readings[0].level_db - row->high_db - 0.15);
    }
    assert_true(!rows || truth <= highest + 0.1);
}

/* At every phase and level of an own product of order 2 or 3 beside the set's own line of -65 dBm at the instrument,
 * the bounds of the row hold the truth, and what the verdict takes as an upper bound is one. */
static void bounds_hold_the_truth(void **state)
{
    static const double more[] = {0, 10, 20};
    for (int order = 2; order <= 3; order++)
        for (int x = -20; x <= 20; x += 8)
            for (int degrees = 0; degrees <= 180; degrees += 36) {
                struct doubting at;
                start(&at);
                for (int i = 0; i < 3; i++) {
                    double mine = -65 - more[i], own = -65 + x - order * more[i];
                    struct sweep_line lines[] = {{F0, -3.01 - more[i]}, {order * F0, together(mine, own, degrees)}};
                    add_to(&at, lines, 2, more[i], 0.5e9);
                }
                bench_measure(&at.bench);
                hold_truth(at.bench.measurement, order * F0, -25);
                end(&at);
            }
}

/* The carrier reads 2 dB low where the attenuation is least. */
static void compression_is_told(void **state)
{
    static const struct sweep_line low[] = {{F0, -5.01}, {SPUR, -70}}, high[] = {{F0, -13.01}, {SPUR, -75.3}};
    struct doubting at;
    start(&at);
    add(&at, low, 2, 0);
    add(&at, high, 2, 10);
    bench_measure(&at.bench);
    const spurity_measurement *m = at.bench.measurement;
    assert_near(spurity_measurement_overlap(m, 0)->compressed_db, 2.0, 0.1);
    assert_true(spurity_notes_has(spurity_measurement_notes_view(m), SPURITY_NOTE_OVERLOAD_SUSPECTED));
    const spurity_carrier *carrier = spurity_measurement_carrier(m);
    assert_true(carrier->level_dbm + carrier->read_low_db >= 36.9);
    end(&at);
    /* the other way round it is no compression */
    static const struct sweep_line up[] = {{F0, -1.01}, {SPUR, -65}};
    start(&at);
    add(&at, up, 2, 0);
    add(&at, high, 2, 10);
    bench_measure(&at.bench);
    assert_near(spurity_measurement_overlap(at.bench.measurement, 0)->compressed_db, 0, 0);
    assert_false(
        spurity_notes_has(spurity_measurement_notes_view(at.bench.measurement), SPURITY_NOTE_OVERLOAD_SUSPECTED));
    end(&at);
}

/* A line of the set's beside a compressed carrier (cubic model: the carrier keeps 1 - x, a weak line 1 - 2x) is not
 * taken for lower than it may be. */
static void compression_opens_levels_upwards(void **state)
{
    double x = 1 - pow(10, -2.0 / 20), lost = -20 * log10(1 - 2 * x);
    struct sweep_line low[] = {{F0, -5.01}, {SPUR, -60 - lost}}, high[] = {{F0, -13.01}, {4 * F0, -100}};
    struct doubting at;
    start(&at);
    add(&at, low, 2, 0);
    add(&at, high, 2, 10);
    bench_measure(&at.bench);
    const spurity_emission *e = emission_near(at.bench.measurement, SPUR);
    assert_true(e->level_dbm + e->read_low_db >= -20 - 0.2);
    end(&at);
}

static void ambient_is_named_and_hides(void **state)
{
    static const struct sweep_line keyed[] = {{F0, -3.01}, {SPUR, -50}, {517.7e6, -82.6}},
                                   quiet[] = {{SPUR, -50.6}, {517.7e6, -83}};
    struct doubting at;
    start(&at);
    add(&at, keyed, 3, 0);
    add(&at, quiet, 2, 0)->role = SPURITY_ROLE_AMBIENT;
    spurity_outcome outcome = bench_judge(&at.bench, "us-amateur");
    const spurity_measurement *m = at.bench.measurement;
    assert_int_equal(outcome, SPURITY_OUTCOME_NOT_SHOWN);
    assert_int_equal(emission_near(m, SPUR)->kind, SPURITY_AMBIENT);
    assert_near(emission_near(m, SPUR)->ambient_db, -0.6, 0.1);
    assert_near(emission_near(m, SPUR)->level_dbm, -10, 0.1);
    assert_true(is_reason(at.bench.verdict, "ambient", SPUR)); /* 25 uW is -16 dBm */
    /* the other is as ambient, and 26 dB under the limit: at most that is a pass */
    assert_int_equal(emission_near(m, 517.7e6)->kind, SPURITY_AMBIENT);
    assert_false(is_reason(at.bench.verdict, "ambient", 517.7e6));
    assert_true(spurity_notes_has(spurity_measurement_notes_view(m), SPURITY_NOTE_AMBIENT));
    end(&at);
}

/* Set and ambient of unequal power in one RBW: what reads is the sum of powers, what is judged the set's own. */
static void excess_over_ambient_is_judged(void **state)
{
    static const double ambient[] = {-52, -56, -60, -70};
    for (size_t i = 0; i < sizeof ambient / sizeof *ambient; i++) {
        double both = 10 * log10(pow(10, -5.0) + pow(10, ambient[i] / 10));
        struct sweep_line keyed[] = {{F0, -3.01}, {SPUR, both}}, quiet[] = {{SPUR, ambient[i]}};
        struct doubting at;
        start(&at);
        add(&at, keyed, 2, 0);
        add(&at, quiet, 1, 0)->role = SPURITY_ROLE_AMBIENT;
        spurity_outcome outcome = bench_judge(&at.bench, "us-amateur");
        const spurity_emission *e = emission_near(at.bench.measurement, SPUR);
        assert_int_equal(e->kind, SPURITY_SPURIOUS);
        assert_near(e->ambient_db, ambient[i] - both, 0.1);
        assert_near(e->level_dbm, -10, 0.15);
        double d = both - ambient[i],
               u = 1.5 + fmax(own_low(at.bench.measurement, e), own_high(at.bench.measurement, e));
        double up = 10 * log10((1 - pow(10, -(d + u) / 10)) / (1 - pow(10, -d / 10)));
        double down = 10 * log10((1 - pow(10, -d / 10)) / (1 - pow(10, -(d - u) / 10)));
        assert_near(e->read_low_db - own_low(at.bench.measurement, e), up, 0.1 + 0.1 * up);
        assert_near(e->read_high_db - own_high(at.bench.measurement, e), down, 0.1 + 0.1 * down);
        assert_int_equal(outcome, SPURITY_OUTCOME_FAIL); /* 6 dB over 25 uW */
        end(&at);
    }
}

static void ambient_of_a_keyed_set_is_refused(void **state)
{
    static const struct sweep_line keyed[] = {{F0, -3.01}, {SPUR, -50}};
    struct doubting at;
    start(&at);
    add(&at, keyed, 2, 0);
    add(&at, keyed, 2, 0)->role = SPURITY_ROLE_AMBIENT;
    assert_int_equal(spurity_measure(&at.bench.point, NULL, &at.bench.measurement, &at.bench.error), SPURITY_INVALID);
    assert_non_null(strstr(at.bench.error.found, "the carrier itself"));
    end(&at);
    start(&at);
    add(&at, keyed, 2, 0)->role = SPURITY_ROLE_LEAKAGE;
    assert_int_equal(spurity_measure(&at.bench.point, NULL, &at.bench.measurement, &at.bench.error), SPURITY_INVALID);
    assert_non_null(strstr(at.bench.error.found, "no file of the keyed set"));
    end(&at);
}

/* Nearer than 10 dB: not shown; 20 dB below: a voltage at any phase, which leaves .83 dB upwards and .92 dB downwards.
 */
static void leakage_leaves_little(void **state)
{
    static const struct sweep_line keyed[] = {{F0, -3.01}, {SPUR, -65}, {517.7e6, -60}},
                                   past[] = {{F0, -60}, {SPUR, -74}, {517.7e6, -80}};
    for (int direct = 0; direct < 2; direct++) {
        struct doubting at;
        start(&at);
        add(&at, keyed, 3, 0);
        spurity_source *leak = add(&at, past, 3, 0);
        leak->role = SPURITY_ROLE_LEAKAGE;
        spurity_chain *none = NULL; /* said with the pads or without: it did not come through them */
        assert_ok(spurity_chain_create(&none, &at.bench.error), &at.bench.error);
        assert_ok(spurity_chain_set_kind(none, SPURITY_CHAIN_DIRECT, &at.bench.error), &at.bench.error);
        leak->chain = direct ? none : leak->chain;
        bench_judge(&at.bench, "us-amateur");
        const spurity_measurement *m = at.bench.measurement;
        const spurity_emission *near = emission_near(m, SPUR), *far = emission_near(m, 517.7e6);
        assert_true(near->leaked && !near->trustworthy);
        assert_near(near->leakage_db, -9, 0.2);
        assert_true(is_reason(at.bench.verdict, "leakage", SPUR));
        assert_false(far->leaked);
        assert_near(far->leakage_db, -20, 0.2); /* the leak's own reading may be low by a little */
        assert_near(far->read_low_db - own_low(m, far), 0.828, 0.03);
        assert_near(far->read_high_db - own_high(m, far), 0.915, 0.03);
        assert_false(is_reason(at.bench.verdict, "leakage", 517.7e6));
        assert_near(spurity_measurement_carrier(m)->leakage_db, -57, 0.2);
        assert_true(spurity_measurement_carrier(m)->trustworthy);
        end(&at);
        spurity_chain_free(none);
    }
}

/* The same line past the pads as through them: the carrier's own level is not to be trusted either. */
static void leaking_carrier_is_told(void **state)
{
    static const struct sweep_line keyed[] = {{F0, -3.01}, {SPUR, -65}}, past[] = {{F0, -9}};
    struct doubting at;
    start(&at);
    add(&at, keyed, 2, 0);
    add(&at, past, 1, 0)->role = SPURITY_ROLE_LEAKAGE;
    bench_measure(&at.bench);
    assert_true(spurity_measurement_carrier(at.bench.measurement)->leaked);
    assert_false(spurity_measurement_carrier(at.bench.measurement)->trustworthy);
    assert_true(spurity_notes_has(spurity_measurement_notes_view(at.bench.measurement), SPURITY_NOTE_LEAKAGE));
    end(&at);
}

/* Neither role adds coverage, emissions or a carrier. */
static void roles_serve_nowhere(void **state)
{
    static const struct sweep_line keyed[] = {{F0, -3.01}, {SPUR, -65}}, other[] = {{222e6, -40}};
    struct doubting at;
    start(&at);
    add(&at, keyed, 2, 0);
    add(&at, other, 1, 0)->role = SPURITY_ROLE_AMBIENT;
    add(&at, other, 1, 0)->role = SPURITY_ROLE_LEAKAGE;
    bench_measure(&at.bench);
    const spurity_measurement *m = at.bench.measurement;
    assert_null(emission_near(m, 222e6));
    for (size_t i = 0; i < spurity_measurement_service_count(m); i++)
        assert_int_equal(spurity_measurement_service(m, i)->file, 0);
    assert_null(spurity_measurement_file(m, 1)->survey);
    end(&at);
}

/* -3.01 dBm at the input, intercept +45 dBm: the instrument makes -51.02 dBm. */
static void intercepts_bound_what_is_the_instruments(void **state)
{
    static const double reading[] = {-55, -45, -30};
    for (size_t i = 0; i < sizeof reading / sizeof *reading; i++) {
        struct sweep_line lines[] = {{F0, -3.01}, {2 * F0, reading[i]}};
        struct doubting at;
        start(&at);
        add(&at, lines, 2, 0);
        at.bench.point.second_harmonic_intercept_dbm = 45;
        bench_judge(&at.bench, "us-amateur");
        const spurity_emission *e = emission_near(at.bench.measurement, 2 * F0);
        double o = pow(10, (-51.02 - reading[i]) / 20);
        assert_near(e->own_db, -51.02 - reading[i], 0.15);
        assert_int_equal(e->own_covers, o >= 1);
        assert_int_equal(is_reason(at.bench.verdict, "own-harmonics-unproven", 2 * F0), o >= 1);
        if (o < 1) {
            assert_near(e->read_low_db, 20 * log10(1 + o), 0.1);
            assert_near(e->read_high_db, -20 * log10(1 - o), 0.1);
        }
        assert_false(spurity_notes_has(spurity_measurement_notes_view(at.bench.measurement),
                                       SPURITY_NOTE_OWN_HARMONICS_UNPROVEN));
        end(&at);
    }
}

/* Four sweeps of carrier and line: means in power, spreads, and s / 2. */
static void repeats_of_carrier_and_line(void **state)
{
    static const double carrier[] = {-3.0, -3.2, -2.9, -3.1}, line[] = {-60, -61, -59.5, -60.3};
    struct doubting at;
    double power[2] = {0}, mean[2] = {0}, square[2] = {0};
    start(&at);
    for (int i = 0; i < 4; i++) {
        struct sweep_line lines[] = {{F0, carrier[i]}, {SPUR, line[i]}};
        add(&at, lines, 2, 0)->chain = at.chains[0];
        power[0] += pow(10, carrier[i] / 10) / 4;
        power[1] += pow(10, line[i] / 10) / 4;
        mean[0] += carrier[i] / 4;
        mean[1] += line[i] / 4;
    }
    for (int i = 0; i < 4; i++) {
        square[0] += pow(carrier[i] - mean[0], 2);
        square[1] += pow(line[i] - mean[1], 2);
    }
    bench_measure(&at.bench);
    const spurity_carrier *c = spurity_measurement_carrier(at.bench.measurement);
    const spurity_emission *e = emission_near(at.bench.measurement, SPUR);
    assert_int_equal(c->repeats.count, 4);
    assert_int_equal(e->repeats.count, 4);
    assert_near(c->level_dbm, 40 + 10 * log10(power[0]), 0.02);
    assert_near(e->level_dbm, 40 + 10 * log10(power[1]), 0.05);
    assert_near(e->level_dbc, 10 * log10(power[1] / power[0]), 0.05);
    assert_near(c->repeats.spread_db, 0.3, 0.02);
    assert_near(e->repeats.spread_db, 1.5, 0.05);
    assert_near(c->repeats.type_a_db, sqrt(square[0] / 3) / 2, 0.01);
    assert_near(e->repeats.type_a_db, sqrt(square[1] / 3) / 2, 0.02);
    assert_true(spurity_uncertainty_expanded(&e->uncertainty_dbm) > 2.0);
    end(&at);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_steps_tell_whose_it_is),
        cmocka_unit_test(less_than_two_steps_tell_less),
        cmocka_unit_test(bounds_hold_the_truth),
        cmocka_unit_test(compression_is_told),
        cmocka_unit_test(compression_opens_levels_upwards),
        cmocka_unit_test(ambient_is_named_and_hides),
        cmocka_unit_test(excess_over_ambient_is_judged),
        cmocka_unit_test(ambient_of_a_keyed_set_is_refused),
        cmocka_unit_test(leakage_leaves_little),
        cmocka_unit_test(leaking_carrier_is_told),
        cmocka_unit_test(roles_serve_nowhere),
        cmocka_unit_test(intercepts_bound_what_is_the_instruments),
        cmocka_unit_test(repeats_of_carrier_and_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
