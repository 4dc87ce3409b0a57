/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Levels of invented sweeps by a budget: what cancels, what does not, and whether the table adds up. */
#include "../sweep.h"

static const struct sweep_line good[] = {{146.94e6, -3.01}, {293.88e6, -65.01}, {440.82e6, -73.01}};

static void start(struct bench *bench, const spurity_budget *budget, const char *pad)
{
    bench_start(bench);
    assert_ok(spurity_chain_add_pad_text(bench->chain, pad, &bench->error), &bench->error);
    spurity_test_point_use_budget(&bench->point, budget);
}

static void measure_one(struct bench *bench, const spurity_budget *budget)
{
    struct sweep wide = wide_sweep(good, 3, 1.5e9);
    wide.floor_dbm = -100;
    start(bench, budget, "40dB,0.4dB,6G");
    bench_add(bench, &wide);
    bench_measure(bench);
}

/* Standard uncertainty that a list holds under sources that begin so; 0: none. */
static double of_source(const spurity_uncertainty *list, const char *begins)
{
    spurity_uncertainty found = {0};
    for (size_t i = 0; i < list->count; i++)
        if (!strncmp(list->items[i].source, begins, strlen(begins)))
            found.items[found.count++] = list->items[i];
    return spurity_uncertainty_standard(&found);
}

/* In one sweep: what is of the instrument as a whole, of its settings and of the pad drops out of the ratio; what is of
 * a frequency or a reading stands in it twice. */
static void shared_parts_cancel_in_a_ratio_only(void **state)
{
    static const char *const shared[] = {"absolute amplitude", "input attenuator", "RBW switching", "chain pad"};
    static const char *const own[] = {"frequency response", "pad response", "mismatch set-chain", "repeatability"};
    struct bench bench;
    spurity_budget budget;
    spurity_budget_init(&budget);
    measure_one(&bench, &budget);
    const spurity_emission *h2 = spurity_measurement_emission(bench.measurement, 0);
    for (size_t i = 0; i < 4; i++) {
        assert_true(of_source(&h2->uncertainty_dbm, shared[i]) > 0.09);
        assert_near(of_source(&h2->uncertainty_dbc, shared[i]), 0, 0);
        double once = of_source(&h2->uncertainty_dbm, own[i]);
        assert_true(once > 0.1);
        assert_near(of_source(&h2->uncertainty_dbc, own[i]), sqrt(2) * once, 1e-9);
    }
    assert_near(of_source(&h2->uncertainty_dbm, "absolute amplitude"), 1 / sqrt(3), 1e-9);
    assert_near(of_source(&h2->uncertainty_dbm, "chain pad"), 0.2, 1e-9);
    assert_false(
        spurity_notes_has(spurity_measurement_notes_view(bench.measurement), SPURITY_NOTE_UNCERTAINTY_ASSUMED));
    bench_end(&bench);
}

/* 62 dB and 70 dB below the carrier at 0.1 dB for 10 dB; the carrier itself has none; never more than told. */
static void linearity_goes_with_the_span(void **state)
{
    struct bench bench;
    spurity_budget budget;
    spurity_budget_init(&budget);
    measure_one(&bench, &budget);
    const spurity_carrier *carrier = spurity_measurement_carrier(bench.measurement);
    const spurity_emission *h2 = spurity_measurement_emission(bench.measurement, 0);
    assert_near(of_source(&carrier->uncertainty, "scale linearity"), 0, 0);
    assert_near(of_source(&h2->uncertainty_dbc, "scale linearity"), 0.62 / sqrt(3), 0.005);
    bench_end(&bench);
    budget.linearity_most_db = 0.25;
    measure_one(&bench, &budget);
    h2 = spurity_measurement_emission(bench.measurement, 0);
    assert_near(of_source(&h2->uncertainty_dbm, "scale linearity"), 0.25 / sqrt(3), 1e-9);
    bench_end(&bench);
}

/* Of two files nobody knows the setting of the attenuator: each has its own, and the ratio has both. */
static void settings_of_two_files_do_not_cancel(void **state)
{
    struct bench bench;
    spurity_budget budget;
    struct sweep close = close_sweep(good, 3, 146.94e6), second = wide_sweep(good, 3, 1.5e9);
    spurity_budget_init(&budget);
    start(&bench, &budget, "40dB,0.4dB,6G");
    second.start_hz = 200e6;
    second.floor_dbm = close.floor_dbm = -100;
    bench_add(&bench, &close);
    bench_add(&bench, &second);
    bench_measure(&bench);
    const spurity_emission *h2 = spurity_measurement_emission(bench.measurement, 0);
    assert_int_equal(h2->order, 2);
    assert_int_equal(h2->file, 1);
    assert_near(of_source(&h2->uncertainty_dbc, "input attenuator"), sqrt(2) * 0.3 / sqrt(3), 1e-9);
    assert_near(of_source(&h2->uncertainty_dbc, "RBW switching"), sqrt(2) * 0.2 / sqrt(3), 1e-9);
    assert_near(of_source(&h2->uncertainty_dbc, "absolute amplitude"), 0, 0);
    bench_end(&bench);
}

/* A meter says the level: its uncertainty is the carrier's, and an emission's dBm is the meter's and the ratio's. */
static void meter_carries_the_level(void **state)
{
    struct bench bench;
    spurity_budget budget;
    struct sweep wide = wide_sweep(good, 3, 1.5e9);
    wide.floor_dbm = -100;
    spurity_budget_init(&budget);
    budget.terms[SPURITY_TERM_METER].figure_db = 0.3;
    start(&bench, &budget, "40dB,0.4dB,6G");
    bench_add(&bench, &wide);
    bench.point.power_low_w = bench.point.power_high_w = 5;
    bench_measure(&bench);
    const spurity_carrier *carrier = spurity_measurement_carrier(bench.measurement);
    const spurity_emission *h2 = spurity_measurement_emission(bench.measurement, 0);
    double meter = 0.3 / sqrt(3);
    assert_int_equal(carrier->source, SPURITY_CARRIER_FROM_METER);
    assert_near(spurity_uncertainty_standard(&carrier->uncertainty), meter, 1e-9);
    assert_near(spurity_dbm_from_watts(carrier->power_high_w) - carrier->level_dbm, 2 * meter, 1e-9);
    assert_near(of_source(&h2->uncertainty_dbm, "absolute amplitude"), 0, 0);
    assert_near(spurity_uncertainty_standard(&h2->uncertainty_dbm),
                hypot(meter, spurity_uncertainty_standard(&h2->uncertainty_dbc)), 1e-9);
    bench_end(&bench);
}

/* A pad of which nobody told the uncertainty is not exact. */
static void unsaid_pad_has_a_figure(void **state)
{
    struct bench bench;
    spurity_budget budget;
    struct sweep wide = wide_sweep(good, 3, 1.5e9);
    spurity_budget_init(&budget);
    start(&bench, &budget, "40dB");
    bench_add(&bench, &wide);
    bench_measure(&bench);
    const spurity_carrier *carrier = spurity_measurement_carrier(bench.measurement);
    assert_near(of_source(&carrier->uncertainty, "unsaid pad"), 0.5 / sqrt(3), 1e-9);
    bench_end(&bench);
}

static double sum_of(const spurity_budget_row *rows, size_t count, int side)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        assert_near(rows[i].standard_db, fabs(rows[i].sensitivity) * rows[i].figure_db / rows[i].divisor, 1e-12);
        assert_true(rows[i].source[0]);
        if (!rows[i].side || rows[i].side == side)
            sum += rows[i].standard_db * rows[i].standard_db;
    }
    return 2 * sqrt(sum);
}

static void table_adds_up(void **state)
{
    struct bench bench;
    spurity_budget budget;
    spurity_budget_row rows[SPURITY_BUDGET_ROWS_MAX];
    spurity_budget_init(&budget);
    measure_one(&bench, &budget);
    const spurity_carrier *carrier = spurity_measurement_carrier(bench.measurement);
    size_t count = spurity_measurement_budget(bench.measurement, -1, false, rows, SPURITY_BUDGET_ROWS_MAX);
    assert_true(count > 8);
    assert_near(sum_of(rows, count, 0), spurity_uncertainty_expanded(&carrier->uncertainty), 1e-9);
    for (int ratio = 0; ratio <= 1; ratio++) {
        const spurity_emission *h3 = spurity_measurement_emission(bench.measurement, 1);
        count = spurity_measurement_budget(bench.measurement, 1, ratio, rows, SPURITY_BUDGET_ROWS_MAX);
        assert_near(sum_of(rows, count, 1), spurity_emission_expanded(h3, ratio, true), 1e-9);
        assert_near(sum_of(rows, count, -1), spurity_emission_expanded(h3, ratio, false), 1e-9);
        bool named = false;
        for (size_t i = 0; i < count; i++)
            named = named || strstr(rows[i].source, "frequency response at 440.8");
        assert_true(named);
    }
    assert_int_equal(spurity_measurement_budget(bench.measurement, -1, true, rows, SPURITY_BUDGET_ROWS_MAX), 0);
    assert_int_equal(spurity_measurement_budget(bench.measurement, 99, true, rows, SPURITY_BUDGET_ROWS_MAX), 0);
    assert_int_equal(spurity_measurement_budget(bench.measurement, 0, false, rows, 2), 2);
    bench_end(&bench);
}

/* The lump is a table of two rows, and of the pad and the noise. */
static void lump_is_a_table_too(void **state)
{
    struct bench bench;
    spurity_budget_row rows[SPURITY_BUDGET_ROWS_MAX];
    struct sweep wide = wide_sweep(good, 3, 1.5e9);
    bench_start(&bench);
    assert_ok(spurity_chain_add_pad_text(bench.chain, "40dB,0.4dB,6G", &bench.error), &bench.error);
    bench_add(&bench, &wide);
    bench_measure(&bench);
    size_t count = spurity_measurement_budget(bench.measurement, 0, false, rows, SPURITY_BUDGET_ROWS_MAX);
    const spurity_emission *h2 = spurity_measurement_emission(bench.measurement, 0);
    double noise = of_source(&h2->uncertainty_dbm, "noise near the reading");
    assert_near(sum_of(rows, count, 0), sqrt(2.0 * 2.0 + 0.4 * 0.4 + 4 * noise * noise), 1e-9);
    assert_string_equal(rows[0].source, "instrument absolute");
    assert_string_equal(rows[2].source, "pad 40 dB");
    bench_end(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shared_parts_cancel_in_a_ratio_only),
        cmocka_unit_test(linearity_goes_with_the_span),
        cmocka_unit_test(settings_of_two_files_do_not_cancel),
        cmocka_unit_test(meter_carries_the_level),
        cmocka_unit_test(unsaid_pad_has_a_figure),
        cmocka_unit_test(table_adds_up),
        cmocka_unit_test(lump_is_a_table_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
