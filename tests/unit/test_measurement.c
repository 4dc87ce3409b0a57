/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The measurement of invented sweeps whose levels are known by construction. */
#include "../sweep.h"

static const struct sweep_line good[] = {{146.94e6, 36.99}, {293.88e6, -25.01}, {440.82e6, -33.01}};

static void finds_carrier_and_harmonics(void **state)
{
    struct bench bench;
    bench_start(&bench);
    bench_direct(&bench);
    struct sweep wide = wide_sweep(good, 3, 1.5e9), close = close_sweep(good, 3, 146.94e6);
    bench_add(&bench, &wide);
    bench_add(&bench, &close);
    bench_measure(&bench);
    const spurity_carrier *carrier = spurity_measurement_carrier(bench.measurement);
    assert_true(carrier->seen);
    assert_int_equal(carrier->file, 1); /* the finer sweep has the lower floor */
    assert_near(carrier->frequency_hz, 146.94e6, 10.0);
    assert_near(carrier->level_dbm, 36.99, 0.02);
    assert_near(carrier->power_w, 5.0, 0.03);
    assert_int_equal(carrier->character, SPURITY_LINE);
    const spurity_emission *h2 = spurity_measurement_emission(bench.measurement, 0);
    assert_int_equal(h2->kind, SPURITY_HARMONIC);
    assert_int_equal(h2->order, 2);
    assert_true(h2->seen);
    assert_near(h2->frequency_hz, 293.88e6, 2e3);
    assert_near(h2->level_dbm, -25.01, 0.05);
    assert_near(h2->level_dbc, -62.0, 0.05);
    /* harmonics 4 to 10 are swept and not seen: listed at a bound between floor and limit */
    size_t count = spurity_measurement_emission_count(bench.measurement);
    assert_int_equal(count, 9);
    for (size_t i = 2; i < count; i++) {
        const spurity_emission *e = spurity_measurement_emission(bench.measurement, i);
        assert_int_equal(e->order, (int)i + 2);
        assert_false(e->seen);
        assert_true(e->level_dbm > -75 && e->level_dbm < -60);
        assert_near(e->floor_dbm, -70, 1.0);
    }
    bench_end(&bench);
}

/* Levels 6 dB up move every dBm by 6 dB and no dBc (property, not stored numbers). */
static void scales_together(void **state)
{
    struct bench a, b;
    struct sweep_line up[3];
    for (int i = 0; i < 3; i++)
        up[i] = (struct sweep_line){good[i].hz, good[i].dbm + 6};
    struct sweep low = close_sweep(good, 3, 146.94e6), high = close_sweep(up, 3, 146.94e6);
    high.floor_dbm += 6;
    bench_start(&a);
    bench_start(&b);
    bench_direct(&a);
    bench_direct(&b);
    bench_add(&a, &low);
    bench_add(&b, &high);
    bench_measure(&a);
    bench_measure(&b);
    assert_near(spurity_measurement_carrier(b.measurement)->level_dbm,
                spurity_measurement_carrier(a.measurement)->level_dbm + 6, 1e-3);
    bench_end(&a);
    bench_end(&b);
}

/* The same set through a 30 dB pad, said: the same levels at the terminal. */
static void pad_moves_to_terminal(void **state)
{
    struct bench bench;
    struct sweep_line padded[3];
    for (int i = 0; i < 3; i++)
        padded[i] = (struct sweep_line){good[i].hz, good[i].dbm - 30};
    struct sweep wide = wide_sweep(padded, 3, 1.5e9);
    wide.floor_dbm -= 30;
    bench_start(&bench);
    assert_ok(spurity_chain_add_pad_text(bench.chain, "30dB,2G", &bench.error), &bench.error);
    bench_add(&bench, &wide);
    bench_measure(&bench);
    assert_near(spurity_measurement_carrier(bench.measurement)->level_dbm, 36.99, 0.05);
    assert_near(spurity_measurement_emission(bench.measurement, 0)->level_dbm, -25.01, 0.05);
    assert_false(spurity_notes_has(spurity_measurement_notes(bench.measurement), SPURITY_NOTE_PAD_RESPONSE_ASSUMED));
    bench_end(&bench);
}

static bool near_damage(const char *pad, const char *second_pad, double down_db, const char **text)
{
    struct bench bench;
    struct sweep_line padded[3];
    static char told[320];
    for (int i = 0; i < 3; i++)
        padded[i] = (struct sweep_line){good[i].hz, good[i].dbm - down_db};
    struct sweep wide = wide_sweep(padded, 3, 1.5e9);
    wide.floor_dbm -= down_db;
    bench_start(&bench);
    assert_ok(spurity_chain_add_pad_text(bench.chain, pad, &bench.error), &bench.error);
    if (second_pad)
        assert_ok(spurity_chain_add_pad_text(bench.chain, second_pad, &bench.error), &bench.error);
    bench_add(&bench, &wide);
    bench_measure(&bench);
    const spurity_notes *notes = spurity_measurement_notes_view(bench.measurement);
    *text = NULL;
    for (size_t i = 0; i < spurity_notes_count(notes); i++)
        if (spurity_notes_at(notes, i)->code == SPURITY_NOTE_NEAR_DAMAGE) {
            snprintf(told, sizeof told, "%s", spurity_notes_at(notes, i)->text);
            *text = told;
        }
    bench_end(&bench);
    return *text != NULL;
}

/* 5 W (+37 dBm): behind 10 dB the instrument gets +27 dBm; behind 30 dB it is safe. A rating holds for what enters. */
static void bench_in_danger_is_told(void **state)
{
    const char *text;
    assert_true(near_damage("10dB,2G", NULL, 10, &text));
    assert_non_null(strstr(text, "27.0 dBm at the instrument"));
    assert_false(near_damage("30dB,2G", NULL, 30, &text));
    assert_false(near_damage("30dB,2G,10W", NULL, 30, &text));
    assert_true(near_damage("30dB,2G,2W", NULL, 30, &text));
    assert_non_null(strstr(text, "gets 5 W and is rated for 2 W"));
    assert_false(near_damage("10dB,2G,10W", "20dB,2G,1W", 30, &text)); /* 0.5 W enters the second */
    assert_true(near_damage("20dB,2G,1W", "10dB,2G,10W", 30, &text));
}

static void unsaid_chain_gives_ratios_only(void **state)
{
    struct bench bench;
    struct sweep wide = wide_sweep(good, 3, 1.5e9);
    bench_start(&bench);
    bench_add(&bench, &wide)->chain = NULL;
    bench_measure(&bench);
    const spurity_emission *h2 = spurity_measurement_emission(bench.measurement, 0);
    assert_true(isnan(spurity_measurement_carrier(bench.measurement)->level_dbm));
    assert_true(isnan(h2->level_dbm));
    assert_near(h2->level_dbc, -62.0, 0.05);
    assert_true(spurity_notes_has(spurity_measurement_notes(bench.measurement), SPURITY_NOTE_CHAIN_UNSTATED));
    bench_end(&bench);
}

static void meter_anchors(void **state)
{
    struct bench bench;
    struct sweep wide = wide_sweep(good, 3, 1.5e9);
    bench_start(&bench);
    bench_add(&bench, &wide)->chain = NULL;
    bench.point.power_low_w = bench.point.power_high_w = 4.0;
    bench_measure(&bench);
    const spurity_carrier *carrier = spurity_measurement_carrier(bench.measurement);
    assert_int_equal(carrier->source, SPURITY_CARRIER_FROM_METER);
    assert_near(carrier->level_dbm, 36.0206, 1e-3); /* 10 log10(4000) */
    assert_near(spurity_measurement_emission(bench.measurement, 0)->level_dbm, 36.0206 - 62.0, 0.05);
    bench_end(&bench);
}

/* Two files behind chains nobody said, both with the carrier: the meter anchors each. */
static void meter_anchors_every_scale_that_holds_the_carrier(void **state)
{
    struct bench bench;
    struct sweep wide = wide_sweep(good, 3, 1.5e9), close = close_sweep(good, 3, 146.94e6);
    bench_start(&bench);
    bench_add(&bench, &wide)->chain = NULL;
    bench_add(&bench, &close)->chain = NULL;
    bench.point.carrier_hz = 146.94e6;
    bench.point.power_low_w = bench.point.power_high_w = 5.0;
    bench_measure(&bench);
    for (size_t i = 0; i < 2; i++)
        assert_near(spurity_measurement_file(bench.measurement, i)->dbm_offset, 0.0, 0.1);
    bench_end(&bench);
}

static void meter_against_chain(void **state)
{
    struct bench bench;
    struct sweep wide = wide_sweep(good, 3, 1.5e9);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench.point.power_low_w = bench.point.power_high_w = 0.1; /* 17 dB below what trace and chain say */
    assert_int_equal(spurity_measure(&bench.point, NULL, &bench.measurement, &bench.error), SPURITY_INVALID);
    assert_non_null(strstr(bench.error.expected, "within 10 dB"));
    bench_end(&bench);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench.point.power_low_w = bench.point.power_high_w = 2.5; /* 3 dB: more than U */
    bench_measure(&bench);
    assert_true(spurity_notes_has(spurity_measurement_notes(bench.measurement), SPURITY_NOTE_METER_DISAGREES));
    /* 36.99 dBm against 33.98 dBm: 3.01 dB stay open upwards, and nothing of it in the ratio */
    const spurity_emission *h2 = spurity_measurement_emission(bench.measurement, 0);
    assert_near(spurity_measurement_carrier(bench.measurement)->meter_low_db, 3.01, 0.05);
    assert_true(spurity_emission_expanded(h2, false, true) > spurity_emission_expanded(h2, false, false) + 1);
    assert_near(spurity_emission_expanded(h2, true, true), spurity_emission_expanded(h2, true, false), 0.3);
    bench_end(&bench);
}

static void two_strong_lines_are_refused(void **state)
{
    static const struct sweep_line two[] = {{146.94e6, 37}, {147.5e6, 30}};
    struct bench bench;
    struct sweep close = close_sweep(two, 2, 146.94e6);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &close);
    assert_int_equal(spurity_measure(&bench.point, NULL, &bench.measurement, &bench.error), SPURITY_INVALID);
    assert_non_null(strstr(bench.error.expected, "carrier-ambiguous"));
    bench_end(&bench);
    bench_start(&bench); /* told, the other one is an emission */
    bench_direct(&bench);
    bench_add(&bench, &close);
    bench.point.carrier_hz = 146.94e6;
    bench_measure(&bench);
    assert_near(spurity_measurement_carrier(bench.measurement)->level_dbm, 37, 0.05);
    const spurity_emission *other = spurity_measurement_emission(bench.measurement, 0);
    assert_near(other->frequency_hz, 147.5e6, 100);
    assert_near(other->level_dbc, -7, 0.1);
    bench_end(&bench);
}

static void noise_alone_has_no_carrier(void **state)
{
    struct bench bench;
    struct sweep wide = wide_sweep(NULL, 0, 500e6);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    assert_int_equal(spurity_measure(&bench.point, NULL, &bench.measurement, &bench.error), SPURITY_INVALID);
    assert_non_null(strstr(bench.error.found, "no carrier"));
    bench_end(&bench);
}

/* The carrier 4 dB higher in one file than in the other: told, and the difference stays open in every ratio. */
static void carriers_that_differ_are_told(void **state)
{
    static const struct sweep_line low[] = {{146.94e6, 33}, {293.88e6, -29}}, high[] = {{146.94e6, 37}};
    struct bench bench;
    struct sweep wide = wide_sweep(low, 2, 1.5e9), close = close_sweep(high, 1, 146.94e6);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench_add(&bench, &close);
    bench_measure(&bench);
    assert_true(spurity_notes_has(spurity_measurement_notes(bench.measurement), SPURITY_NOTE_OVERLAP_DISAGREES));
    assert_near(spurity_measurement_carrier(bench.measurement)->read_high_db, 4.0, 0.2);
    assert_near(spurity_measurement_emission(bench.measurement, 0)->ratio_low_db, 4.0, 0.5);
    bench_end(&bench);
}

static void two_test_points_are_refused(void **state)
{
    static const struct sweep_line low[] = {{146.94e6, 20}};
    struct bench bench;
    struct sweep a = close_sweep(good, 1, 146.94e6), b = close_sweep(low, 1, 146.94e6);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &a);
    bench_add(&bench, &b);
    assert_int_equal(spurity_measure(&bench.point, NULL, &bench.measurement, &bench.error), SPURITY_INVALID);
    assert_non_null(strstr(bench.error.advice, "two test points?"));
    bench_end(&bench);
}

/* Repeats of one sweep: the mean in power stands, with a type A contribution. */
static void repeats_are_averaged(void **state)
{
    static const struct sweep_line first[] = {{146.94e6, 37}, {147.2e6, -20}},
                                   second[] = {{146.94e6, 37}, {147.2e6, -21}};
    struct bench bench;
    struct sweep a = close_sweep(first, 2, 146.94e6), b = close_sweep(second, 2, 146.94e6);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &a);
    bench_add(&bench, &b);
    bench_measure(&bench);
    const spurity_emission *e = spurity_measurement_emission(bench.measurement, 0);
    /* mean of 10 uW and 7.943 uW is 8.972 uW: -20.471 dBm */
    assert_near(e->level_dbm, -20.471, 0.02);
    bench_end(&bench);
}

/* The same line 3 dB higher behind another pad: a pad step shows it is not the transmitter's alone. */
static void pad_step_that_moves_is_told(void **state)
{
    static const struct sweep_line first[] = {{146.94e6, 7}, {147.2e6, -50}},
                                   second[] = {{146.94e6, -3}, {147.2e6, -66}};
    struct bench bench;
    struct sweep a = close_sweep(first, 2, 146.94e6), b = close_sweep(second, 2, 146.94e6);
    a.floor_dbm = b.floor_dbm = -110;
    spurity_chain *more = NULL;
    bench_start(&bench);
    assert_ok(spurity_chain_add_pad_text(bench.chain, "30dB,2G", &bench.error), &bench.error);
    assert_ok(spurity_chain_create(&more, &bench.error), &bench.error);
    assert_ok(spurity_chain_add_pad_text(more, "40dB,2G", &bench.error), &bench.error);
    bench_add(&bench, &a);
    bench_add(&bench, &b)->chain = more;
    bench_measure(&bench);
    assert_true(spurity_notes_has(spurity_measurement_notes(bench.measurement), SPURITY_NOTE_OVERLAP_DISAGREES));
    assert_true(spurity_measurement_emission(bench.measurement, 0)->front_end_unproven);
    assert_true(spurity_notes_has(spurity_measurement_notes(bench.measurement), SPURITY_NOTE_FRONT_END_UNPROVEN));
    bench_end(&bench);
    spurity_chain_free(more);
}

static void names_subharmonics_and_close_in(void **state)
{
    static const struct sweep_line lines[] = {{146.94e6, 37}, {73.47e6, -30}, {97.96e6, -32}, {200e6, -31}};
    struct bench bench;
    struct sweep wide = wide_sweep(lines, 4, 500e6);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench.point.harmonics = 1;
    bench_measure(&bench);
    assert_int_equal(spurity_measurement_emission_count(bench.measurement), 3);
    const spurity_emission *half = spurity_measurement_emission(bench.measurement, 0);
    assert_int_equal(half->kind, SPURITY_SUBHARMONIC);
    assert_int_equal(half->ratio_p, 1);
    assert_int_equal(half->ratio_q, 2);
    const spurity_emission *third = spurity_measurement_emission(bench.measurement, 1);
    assert_int_equal(third->ratio_p, 2);
    assert_int_equal(third->ratio_q, 3);
    assert_int_equal(spurity_measurement_emission(bench.measurement, 2)->kind, SPURITY_SPURIOUS);
    bench_end(&bench);
}

/* Lump uncertainties come back as told: dBm for a level, dBc for a ratio of two. */
static void lump_gives_both_figures_back(void **state)
{
    spurity_test_point point;
    spurity_test_point_init(&point);
    point.uncertainty_dbm = 1.8;
    point.uncertainty_dbc = 1.1;
    spurity_uncertainty a = {0}, b = {0};
    spurity_measurement_lump(&point, "a", &a);
    spurity_measurement_lump(&point, "b", &b);
    spurity_uncertainty ratio = spurity_uncertainty_difference(&a, &b);
    assert_near(spurity_uncertainty_expanded(&a), 1.8, 1e-9);
    assert_near(spurity_uncertainty_expanded(&ratio), 1.1, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(finds_carrier_and_harmonics),
        cmocka_unit_test(scales_together),
        cmocka_unit_test(pad_moves_to_terminal),
        cmocka_unit_test(bench_in_danger_is_told),
        cmocka_unit_test(unsaid_chain_gives_ratios_only),
        cmocka_unit_test(meter_anchors),
        cmocka_unit_test(meter_anchors_every_scale_that_holds_the_carrier),
        cmocka_unit_test(meter_against_chain),
        cmocka_unit_test(two_strong_lines_are_refused),
        cmocka_unit_test(noise_alone_has_no_carrier),
        cmocka_unit_test(two_test_points_are_refused),
        cmocka_unit_test(carriers_that_differ_are_told),
        cmocka_unit_test(repeats_are_averaged),
        cmocka_unit_test(pad_step_that_moves_is_told),
        cmocka_unit_test(names_subharmonics_and_close_in),
        cmocka_unit_test(lump_gives_both_figures_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
