/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Where a clause holds: nowhere in what is looked at, or only where emissions stand that are judged by themselves; and
 * the edges of a band. */
#include "../sweep.h"

/* A set with all ten harmonics to be seen, swept from 5 MHz to over the tenth and closely around the carrier. */
static void measure_ten(struct bench *bench, double carrier_hz, double dbm, double down_db)
{
    static struct sweep_line lines[10];
    for (int i = 0; i < 10; i++)
        lines[i] = (struct sweep_line){(i + 1) * carrier_hz, i ? dbm - down_db : dbm};
    struct sweep wide = wide_sweep(lines, 10, 10.1 * carrier_hz), close = close_sweep(lines, 1, carrier_hz);
    struct sweep nearest = close;
    nearest.start_hz = carrier_hz - 30e3;
    nearest.stop_hz = carrier_hz + 30e3;
    nearest.rbw_hz = 100;
    nearest.floor_dbm = -100;
    nearest.points = 1201;
    bench_start(bench);
    bench_direct(bench);
    bench->point.uncertainty_dbm = 1.0;
    bench->point.uncertainty_dbc = 0.7;
    bench->point.lowest_hz = 10e6;
    bench->point.only = SPURITY_GROUP_EMISSIONS;
    bench->point.emission = "F3E";
    bench_add(bench, &wide);
    bench_add(bench, &close);
    bench_add(bench, &nearest);
}

/* 95.979(a)(6) holds about the harmonics only; where each of them is seen, nothing is left that could hide. */
static void test_all_seen(void **state)
{
    (void)state;
    struct bench bench;
    measure_ten(&bench, 27.185e6, 36, 75);
    assert_int_equal(bench_judge(&bench, "us-cb"), SPURITY_OUTCOME_PASS);
    bench_end(&bench);
    measure_ten(&bench, 27.185e6, 36, 58.5); /* 60 dB asked */
    assert_int_equal(bench_judge(&bench, "us-cb"), SPURITY_OUTCOME_FAIL);
    bench_end(&bench);
}

#define CLAUSE(name, where)                                                                                            \
    "  - clause: " name "\n    citation: invented " name "\n    status: confirmed\n    says: invented\n"               \
    "    group: emissions\n    quantity: spurious emission\n    where: {from: necessary bandwidth, absolute: {" where  \
    "}}\n    reference_bandwidth: 100 kHz\n    limit: {level: -30 dBm}\n"
#define HEAD "format: spurity-rules\nversion: 1\nid: own\ntitle: invented\nedition: invented\nclauses:\n"

static spurity_outcome judge_own(struct bench *bench, const char *yaml)
{
    measure_ten(bench, 40e6, 36, 80);
    bench_measure(bench);
    assert_ok(spurity_rules_load_memory("own.yaml", yaml, strlen(yaml), &bench->rules, &bench->error), &bench->error);
    const spurity_rules *sets[] = {bench->rules};
    assert_ok(spurity_judge(bench->measurement, sets, 1, NULL, &bench->verdict, &bench->error), &bench->error);
    return spurity_verdict_outcome(bench->verdict);
}

/* Looked at to the tenth harmonic, 400 MHz: what another clause asks above 1 GHz leaves nothing open here. */
static void test_clause_beyond_the_range(void **state)
{
    (void)state;
    struct bench bench;
    assert_int_equal(judge_own(&bench, HEAD CLAUSE("low", "up_to: 1 GHz") CLAUSE("high", "above: 1 GHz")),
                     SPURITY_OUTCOME_PASS);
    for (size_t i = 0; i < spurity_verdict_judgement_count(bench.verdict); i++)
        assert_int_equal(spurity_verdict_judgement(bench.verdict, i)->outcome, SPURITY_OUTCOME_PASS);
    bench_end(&bench);
}

/* But alone it can pass nothing, and the verdict says why. */
static void test_no_clause_in_the_range(void **state)
{
    (void)state;
    struct bench bench;
    assert_int_equal(judge_own(&bench, HEAD CLAUSE("high", "above: 1 GHz")), SPURITY_OUTCOME_NOT_SHOWN);
    assert_int_equal(spurity_verdict_judgement_count(bench.verdict), 1);
    assert_int_equal(spurity_verdict_not_shown_count(bench.verdict), 1);
    assert_string_equal(spurity_verdict_not_shown(bench.verdict, 0)->reason, "range");
    bench_end(&bench);
}

/* 97.301, 2 m ends at 148 MHz.  A width nobody told (16 kHz assumed) fails nothing, and what an untold reference (50
 * ppm, 7.4 kHz here) leaves open is not told as shown. */
static void test_band_edge(void **state)
{
    (void)state;
    static const struct {
        double carrier_hz, ppm, bandwidth_hz;
        spurity_outcome outcome;
    } cases[] = {
        {147.998e6, NAN, NAN, SPURITY_OUTCOME_NOT_SHOWN}, {147.998e6, 0.1, NAN, SPURITY_OUTCOME_NOT_SHOWN},
        {147.998e6, 0.1, 16e3, SPURITY_OUTCOME_FAIL},     {147.998e6, NAN, 16e3, SPURITY_OUTCOME_CONDITIONAL_FAIL},
        {147.998e6, 0.1, 3e3, SPURITY_OUTCOME_PASS},      {147.990e6, NAN, NAN, SPURITY_OUTCOME_CONDITIONAL_PASS},
        {147.990e6, 0.1, NAN, SPURITY_OUTCOME_PASS},      {148.002e6, NAN, NAN, SPURITY_OUTCOME_CONDITIONAL_FAIL},
        {148.002e6, 0.1, NAN, SPURITY_OUTCOME_FAIL},      {148.010e6, NAN, NAN, SPURITY_OUTCOME_FAIL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct bench bench;
        struct sweep_line line = {cases[i].carrier_hz, 37};
        struct sweep close = close_sweep(&line, 1, line.hz);
        bench_start(&bench);
        bench_direct(&bench);
        bench.point.only = SPURITY_GROUP_POWER;
        bench.point.reference_ppm = cases[i].ppm;
        bench.point.bandwidth_hz = cases[i].bandwidth_hz;
        bench_add(&bench, &close);
        assert_int_equal(bench_judge(&bench, "us-amateur"), cases[i].outcome);
        bench_end(&bench);
    }
}

/* 90.210(d): the offset counts from the middle of the authorised bandwidth, which no channel table tells here;
 * --carrier does, as for a frequency error.  FM by 2500 Hz at m = 1 (Bessel functions J0 to J4 of 1: Abramowitz and
 * Stegun, table 9.1, 9.2): the fourth line is 52.12 dB down; 10 kHz from the middle 51.76 dB are asked, 10.567 kHz from
 * it 55.88. */
static void test_mask_about_told_carrier(void **state)
{
    (void)state;
    static const double down_db[] = {2.33, 7.13, 18.79, 34.17, 52.12};
    static const struct {
        double told_hz;
        spurity_outcome outcome;
    } cases[] = {{453e6, SPURITY_OUTCOME_FAIL},
                 {453e6 - 567, SPURITY_OUTCOME_CONDITIONAL_PASS},
                 {NAN, SPURITY_OUTCOME_CONDITIONAL_PASS}};
    struct sweep_line lines[9];
    for (int n = -4; n <= 4; n++)
        lines[n + 4] = (struct sweep_line){453e6 - 567 + 2500 * n, 39.5 - down_db[abs(n)]};
    struct sweep near = {.start_hz = 453e6 - 100e3,
                         .stop_hz = 453e6 + 100e3,
                         .rbw_hz = 100,
                         .points = 4001,
                         .floor_dbm = -60,
                         .averages = 1,
                         .lines = lines,
                         .line_count = 9,
                         .peak = true};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct bench bench;
        bench_start(&bench);
        bench_direct(&bench);
        bench.point.only = SPURITY_GROUP_MASK;
        bench.point.modulation = SPURITY_MODULATION_TEST;
        bench.point.emission = "F3E";
        bench.point.bandwidth_hz = 11.25e3;
        bench.point.uncertainty_dbm = bench.point.uncertainty_dbc = 1;
        bench.point.reference_ppm = 0.05;
        bench.point.carrier_hz = cases[i].told_hz;
        bench_add(&bench, &near);
        assert_int_equal(bench_judge(&bench, "us-land-mobile"), cases[i].outcome);
        bench_end(&bench);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_all_seen), cmocka_unit_test(test_clause_beyond_the_range),
                                       cmocka_unit_test(test_no_clause_in_the_range), cmocka_unit_test(test_band_edge),
                                       cmocka_unit_test(test_mask_about_told_carrier)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
