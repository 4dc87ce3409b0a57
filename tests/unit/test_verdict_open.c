/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What was left open of the set: nothing passes or fails by the one world that happens to be looked at first.  Rules
 * and sets are invented. */
#include "../modulated.h"

#define HEAD "format: spurity-rules\nversion: 1\nid: own\ntitle: own\nedition: invented\nclauses:\n"
#define CLAUSE(group, quantity, rest)                                                                                  \
    "  - {clause: \"1\", citation: own 1, status: confirmed, says: invented, group: " group ", quantity: " quantity    \
    ", " rest "}\n"
#define SPURIOUS(power, level)                                                                                         \
    CLAUSE("emissions", "spurious emission",                                                                           \
           "applies: {power: {of: mean power, " power "}}, where: {from: 250 kHz}, "                                   \
           "limit: {level: " level "}")
#define WORDS(power) CLAUSE("emissions", "note", "applies: {power: {of: mean power, " power "}}")
#define ERROR(power, level)                                                                                            \
    CLAUSE("frequency", "frequency error", "applies: {power: {of: mean power, " power "}}, limit: {level: " level "}")
#define BAND(power, band) CLAUSE("power", "band", "applies: {power: {of: mean power, " power "}}, bands: [{" band "}]")
#define WIDTH(power, level)                                                                                            \
    CLAUSE("mask", "occupied bandwidth", "applies: {power: {of: mean power, " power "}}, limit: {level: " level "}")
#define DEVIATION(power)                                                                                               \
    CLAUSE("modulation", "peak deviation", "applies: {power: {of: mean power, " power "}}, limit: {level: 5 kHz}")
#define EMISSIONS SPURITY_GROUP_EMISSIONS
#define FREQUENCY SPURITY_GROUP_FREQUENCY
#define POWER SPURITY_GROUP_POWER
#define MASK SPURITY_GROUP_MASK

enum said { NO_POWER, NEAR_5_W, ABOVE_5_W };

static const struct row {
    const char *clauses;
    unsigned group;
    enum said said;
    spurity_outcome outcome;
    const char *asks;
} rows[] = {
    /* words only, where they bind in some of what the meter leaves open: no limit, and never a pass */
    {WORDS("up_to: 5 W"), EMISSIONS, NEAR_5_W, SPURITY_OUTCOME_NO_LIMIT, NULL},
    {WORDS("above: 5 W"), EMISSIONS, NEAR_5_W, SPURITY_OUTCOME_NO_LIMIT, NULL},
    /* a figure on one side of the step, words on the other */
    {SPURIOUS("above: 5 W", "-13 dBm") WORDS("up_to: 5 W"), EMISSIONS, NEAR_5_W, SPURITY_OUTCOME_NOT_SHOWN, "--power"},
    {SPURIOUS("above: 5 W", "-13 dBm") WORDS("up_to: 5 W"), EMISSIONS, ABOVE_5_W, SPURITY_OUTCOME_PASS, NULL},
    {SPURIOUS("above: 5 W", "-13 dBm") WORDS("above: 1 uW"), EMISSIONS, ABOVE_5_W, SPURITY_OUTCOME_PASS, NULL},
    /* the carrier stands 300 Hz high, 2 ppm: no power, and the first clause alone would pass or fail it */
    {ERROR("up_to: 5 W", "5 ppm") ERROR("above: 5 W", "1 ppm"), FREQUENCY, NO_POWER, SPURITY_OUTCOME_NOT_SHOWN,
     "--power"},
    {ERROR("up_to: 5 W", "1 ppm") ERROR("above: 5 W", "5 ppm"), FREQUENCY, NO_POWER, SPURITY_OUTCOME_NOT_SHOWN,
     "--power"},
    {ERROR("up_to: 5 W", "5 ppm") ERROR("above: 5 W", "1 ppm"), FREQUENCY, NEAR_5_W, SPURITY_OUTCOME_NOT_SHOWN,
     "--power"},
    {ERROR("up_to: 5 W", "1 ppm") ERROR("above: 5 W", "5 ppm"), FREQUENCY, ABOVE_5_W, SPURITY_OUTCOME_PASS, NULL},
    {ERROR("up_to: 5 W", "5 ppm") ERROR("above: 5 W", "4 ppm"), FREQUENCY, NO_POWER, SPURITY_OUTCOME_PASS, NULL},
    {ERROR("up_to: 5 W", "1 ppm") ERROR("above: 5 W", "0.5 ppm"), FREQUENCY, NO_POWER, SPURITY_OUTCOME_FAIL, NULL},
    {ERROR("up_to: 5 W", "1 ppm"), FREQUENCY, NO_POWER, SPURITY_OUTCOME_NOT_SHOWN, "--power"},
    /* bands and widths go by the same power; the set is 2 kHz wide (its lines +-1 kHz) */
    {BAND("up_to: 5 W", "from: 100 MHz, up_to: 110 MHz") BAND("above: 5 W", "from: 140 MHz, up_to: 160 MHz"), POWER,
     NO_POWER, SPURITY_OUTCOME_NOT_SHOWN, "--power"},
    {BAND("up_to: 5 W", "from: 140 MHz, up_to: 160 MHz") BAND("above: 5 W", "from: 100 MHz, up_to: 110 MHz"), POWER,
     NO_POWER, SPURITY_OUTCOME_NOT_SHOWN, "--power"},
    {WIDTH("up_to: 5 W", "1 kHz") WIDTH("above: 5 W", "20 kHz"), MASK, NO_POWER, SPURITY_OUTCOME_NOT_SHOWN, "--power"},
    {WIDTH("up_to: 5 W", "20 kHz") WIDTH("above: 5 W", "1 kHz"), MASK, NO_POWER, SPURITY_OUTCOME_NOT_SHOWN, "--power"},
    {WIDTH("up_to: 5 W", "1 kHz") WIDTH("above: 5 W", "1.2 kHz"), MASK, NO_POWER, SPURITY_OUTCOME_FAIL, NULL},
    /* not measured here, whatever the power */
    {DEVIATION("above: 5 W"), SPURITY_GROUP_MODULATION, NO_POWER, SPURITY_OUTCOME_NOT_SHOWN, NULL},
    {DEVIATION("above: 5 W"), SPURITY_GROUP_MODULATION, NEAR_5_W, SPURITY_OUTCOME_NOT_SHOWN, NULL},
    {WIDTH("up_to: 5 W", "1 kHz") WIDTH("above: 5 W", "20 kHz"), MASK, ABOVE_5_W, SPURITY_OUTCOME_PASS, NULL},
};

static void judge(struct bench *bench, const char *yaml)
{
    bench_measure(bench);
    assert_ok(spurity_rules_load_memory("own.yaml", yaml, strlen(yaml), &bench->rules, &bench->error), &bench->error);
    const spurity_rules *sets[] = {bench->rules};
    assert_ok(spurity_judge(bench->measurement, sets, 1, NULL, &bench->verdict, &bench->error), &bench->error);
}

static bool asks(const struct bench *bench, const char *words)
{
    for (size_t i = 0; i < spurity_verdict_not_shown_count(bench->verdict); i++)
        if (strstr(spurity_verdict_not_shown(bench->verdict, i)->advice, words))
            return true;
    return false;
}

/* A set of 5.01 W (or 6.3 W) at 150.0003 MHz, tuned to 150 MHz; of a pair of sidebands when its width is asked. */
static void start(struct bench *bench, const struct row *row)
{
    static struct modulated near;
    static struct sweep_line wide_lines[2];
    bool width = row->group == MASK;
    double hz = 150.0003e6, up = row->said == ABOVE_5_W ? 1 : 0;
    wide_lines[0] = (struct sweep_line){hz, 37 + up};
    wide_lines[1] = (struct sweep_line){2 * hz, -40};
    struct sweep wide = wide_sweep(wide_lines, 2, 1.6e9);
    near = (struct modulated){.sweep = modulated_sweep(hz, 37, 60e3, 100)};
    near.sweep.lines = near.lines;
    modulated_add(&near, hz, (width ? 33.98 : 37) + up);
    if (width) {
        modulated_add(&near, hz - 1e3, 30.97 + up);
        modulated_add(&near, hz + 1e3, 30.97 + up);
    }
    bench_start(bench);
    if (row->said != NO_POWER)
        bench_direct(bench);
    bench->point.uncertainty_dbm = bench->point.uncertainty_dbc = 0.2;
    bench->point.only = row->group;
    bench->point.carrier_hz = 150e6;
    bench->point.reference_ppm = 0.1;
    bench->point.modulation = width ? SPURITY_MODULATION_TEST : SPURITY_MODULATION_NONE;
    bench->point.emission = "F3E";
    bench->point.bandwidth_hz = 12.5e3;
    bench_add(bench, &near.sweep);
    if (row->group == EMISSIONS) {
        struct sweep close = close_sweep(wide_lines, 1, hz);
        bench->point.beyond_hz = 300e3;
        bench->point.range_from_hz = 20e6;
        bench->point.range_to_hz = 1.5e9;
        bench_add(bench, &close);
        bench_add(bench, &wide);
    }
}

static void worlds_that_differ(void **state)
{
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char yaml[2048];
        struct bench bench;
        snprintf(yaml, sizeof yaml, "%s%s", HEAD, rows[i].clauses);
        start(&bench, &rows[i]);
        judge(&bench, yaml);
        spurity_outcome outcome = spurity_verdict_outcome(bench.verdict);
        print_message("%zu: %s\n", i, spurity_verdict_headline(bench.verdict));
        assert_string_equal(spurity_outcome_name(outcome), spurity_outcome_name(rows[i].outcome));
        if (rows[i].asks)
            assert_true(asks(&bench, rows[i].asks));
        bench_end(&bench);
    }
}

/* More steps than are gone through, the strictest of them last: no pass. */
static void more_steps_than_are_judged(void **state)
{
    char yaml[8192];
    struct bench bench;
    struct row row = {NULL, EMISSIONS, NO_POWER, SPURITY_OUTCOME_NOT_SHOWN, NULL};
    for (int steps = 2; steps <= 24; steps += 22) {
        int used = snprintf(yaml, sizeof yaml, "%s", HEAD);
        for (int k = 1; k <= steps; k++)
            used += snprintf(yaml + used, sizeof yaml - (size_t)used,
                             CLAUSE("emissions", "spurious emission",
                                    "applies: {power: {of: mean power, above: %d W}}, where: {from: 250 kHz}, "
                                    "limit: {suppression: {fixed: %d dB, below: mean power}}"),
                             k, k == 24 ? 90 : 30);
        start(&bench, &row);
        judge(&bench, yaml);
        print_message("%d steps: %s\n", steps, spurity_verdict_headline(bench.verdict));
        assert_int_equal(spurity_verdict_outcome(bench.verdict),
                         steps == 24 ? SPURITY_OUTCOME_NOT_SHOWN : SPURITY_OUTCOME_PASS);
        assert_int_equal(asks(&bench, "too much is left open"), steps == 24);
        bench_end(&bench);
    }
}

/* 47 CFR 90.210(d) asks for peaks: a mean over the mask is over it all the same, unless it is the bench's noise. */
static void a_floor_is_no_peak(void **state)
{
    for (int i = 0; i < 2; i++) {
        struct bench bench;
        static struct modulated set;
        double f0 = 460.0125e6;
        set = (struct modulated){.sweep = modulated_sweep(f0, 36.99, 130e3, 100)};
        set.sweep.lines = set.lines;
        modulated_add(&set, f0, 33.98);
        modulated_add(&set, f0 - 1e3, 30.97);
        modulated_add(&set, f0 + 1e3, 30.97);
        set.sweep.floor_dbm = i ? -60 : -5; /* 57 dB down are asked: -20 dBm */
        if (i)
            modulated_add(&set, f0 + 20e3, 0);
        bench_start(&bench);
        bench_direct(&bench);
        bench.point.modulation = SPURITY_MODULATION_TEST;
        bench.point.only = MASK;
        bench.point.emission = "F3E";
        bench.point.carrier_hz = f0;
        bench.point.bandwidth_hz = 12.5e3;
        bench_add(&bench, &set.sweep);
        spurity_outcome outcome = bench_judge(&bench, "us-land-mobile");
        print_message("%s\n", spurity_verdict_headline(bench.verdict));
        assert_int_equal(outcome, i ? SPURITY_OUTCOME_FAIL : SPURITY_OUTCOME_NOT_SHOWN);
        assert_true(i || modulated_lacks(&bench, "detector", NULL));
        bench_end(&bench);
    }
}

/* Peaks held in a narrower filter, which a carrier that moves leaves one after another: each is 5 dB inside, and what
 * they would add up to in the mask's 100 Hz is over it, but was never there at once. One of them over the mask is. */
static void peaks_do_not_add_up(void **state)
{
    for (int i = 0; i < 2; i++) {
        struct bench bench;
        static struct modulated set;
        double f0 = 460.0125e6;
        set = (struct modulated){.sweep = modulated_sweep(f0, 36.99, 130e3, 10)};
        set.sweep.lines = set.lines;
        modulated_add(&set, f0, 33.98);
        modulated_add(&set, f0 - 1e3, 30.97);
        modulated_add(&set, f0 + 1e3, 30.97);
        for (int k = 0; k < 40; k++) /* 90.210(d)(3): 56.99 dB down, -20 dBm */
            modulated_add(&set, f0 + 20e3 + 10 * k, i && k == 20 ? -10 : -27);
        bench_start(&bench);
        bench_direct(&bench);
        bench.point.modulation = SPURITY_MODULATION_TEST;
        bench.point.only = MASK;
        bench.point.emission = "F3E";
        bench.point.carrier_hz = f0;
        bench.point.bandwidth_hz = 12.5e3;
        bench_add(&bench, &set.sweep)->read.detector = SPURITY_DETECTOR_MAX_HOLD;
        spurity_outcome outcome = bench_judge(&bench, "us-land-mobile");
        print_message("%s\n", spurity_verdict_headline(bench.verdict));
        assert_int_equal(outcome, i ? SPURITY_OUTCOME_FAIL : SPURITY_OUTCOME_NOT_SHOWN);
        assert_true(i || modulated_lacks(&bench, "rbw-too-narrow", "RBW 100 Hz"));
        bench_end(&bench);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(worlds_that_differ),
                                       cmocka_unit_test(more_steps_than_are_judged),
                                       cmocka_unit_test(a_floor_is_no_peak), cmocka_unit_test(peaks_do_not_add_up)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
