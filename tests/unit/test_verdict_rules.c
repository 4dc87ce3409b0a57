/* SPDX-License-Identifier: GPL-2.0-or-later */
/* One set under the rules of one service or of several: which channel, which caps, which range, what is asked by name,
 * which line is the strictest. */
#include "../sweep.h"

/* ---- a clean set of a service ---- */

struct known {
    const char *emission, *station;
    double gain_dbd, bandwidth_hz;
};
#define NOTHING                                                                                                        \
    {                                                                                                                  \
        NULL, NULL, NAN, NAN                                                                                           \
    }

/* Swept from 5 MHz to over the tenth harmonic (for the Radio Regulations at least 1 GHz), and closely around the
 * carrier; the second harmonic stands `down_db` below the carrier. */
static void measure_clean(struct bench *bench, double carrier_hz, double dbm, double down_db, const struct known *known)
{
    static struct sweep_line lines[2];
    lines[0] = (struct sweep_line){carrier_hz, dbm};
    lines[1] = (struct sweep_line){2 * carrier_hz, dbm - down_db};
    double start = 5e6;
    int points = (int)((fmax(10.02 * carrier_hz, 1.005e9) - start) / 50e3) + 2;
    struct sweep wide = {.start_hz = start,
                         .stop_hz = start + (points - 1) * 50e3,
                         .rbw_hz = 100e3,
                         .points = points,
                         .floor_dbm = -80,
                         .averages = 4,
                         .lines = lines,
                         .line_count = 2};
    struct sweep close = {.start_hz = carrier_hz - 600e3,
                          .stop_hz = carrier_hz + 600e3,
                          .rbw_hz = 1e3,
                          .points = 2401,
                          .floor_dbm = -100,
                          .averages = 8,
                          .lines = lines,
                          .line_count = 1};
    struct sweep nearest = close;
    nearest.start_hz = carrier_hz - 30e3;
    nearest.stop_hz = carrier_hz + 30e3;
    nearest.rbw_hz = 100;
    nearest.floor_dbm = -110;
    nearest.points = 1201;
    bench_start(bench);
    bench_direct(bench);
    bench->point.uncertainty_dbm = 1.0;
    bench->point.uncertainty_dbc = 0.7;
    bench->point.reference_ppm = 1;
    bench->point.lowest_hz = 5e6;
    bench->point.only = SPURITY_GROUP_EMISSIONS | SPURITY_GROUP_POWER;
    bench->point.modulation = SPURITY_MODULATION_NONE;
    bench->point.emission = known->emission;
    bench->point.station = known->station;
    bench->point.antenna_gain_dbd = known->gain_dbd;
    bench->point.bandwidth_hz = known->bandwidth_hz;
    bench_add(bench, &wide);
    bench_add(bench, &close);
    bench_add(bench, &nearest);
}

static bool advised(const struct bench *bench, const char *words)
{
    for (size_t i = 0; i < spurity_verdict_not_shown_count(bench->verdict); i++)
        if (strstr(spurity_verdict_not_shown(bench->verdict, i)->advice, words))
            return true;
    return false;
}

static const struct service {
    const char *rules;
    double carrier_hz, dbm, down_db;
    struct known known;
    spurity_outcome outcome;
    const char *channel; /* NULL: on none */
    const char *advice;  /* what is asked where something is not shown */
} services[] = {
    /* 95.1767(a): 50 W, fixed stations 15 W; 3 W meets both, so nobody is asked */
    {"us-gmrs", 462.575e6, 34.77, 70, NOTHING, SPURITY_OUTCOME_PASS, "16", NULL},
    /* 30 W meets one of them */
    {"us-gmrs", 462.575e6, 44.77, 70, NOTHING, SPURITY_OUTCOME_NOT_SHOWN, "16", "--station"},
    {"us-gmrs", 462.575e6, 44.77, 70, {NULL, "mobile", NAN, NAN}, SPURITY_OUTCOME_PASS, "16", NULL},
    {"us-gmrs", 462.575e6, 44.77, 70, {NULL, "fixed", NAN, NAN}, SPURITY_OUTCOME_FAIL, "16", NULL},
    /* 60 W exceeds both: again nobody is asked */
    {"us-gmrs", 462.575e6, 48.5, 70, NOTHING, SPURITY_OUTCOME_FAIL, "16", NULL},
    {"us-gmrs", 467.725e6, 34.77, 70, NOTHING, SPURITY_OUTCOME_PASS, "22R", NULL},
    /* 95.1767(b): 5 W ERP; 2 W into 0 dBd, into 9 dBd 15.9 W */
    {"us-gmrs", 462.6125e6, 33.01, 70, NOTHING, SPURITY_OUTCOME_NOT_SHOWN, "3", "--antenna-gain"},
    {"us-gmrs", 462.6125e6, 33.01, 70, {NULL, NULL, 0, NAN}, SPURITY_OUTCOME_PASS, "3", NULL},
    {"us-gmrs", 462.6125e6, 33.01, 70, {NULL, NULL, 9, NAN}, SPURITY_OUTCOME_FAIL, "3", NULL},
    /* 95.1767(c): 0.5 W ERP; 2 W is too much */
    {"us-gmrs", 467.6125e6, 33.01, 70, {NULL, NULL, 0, NAN}, SPURITY_OUTCOME_FAIL, "10", NULL},
    /* the second harmonic at 43 + 10 log P less 5 dB (95.1779(b)(7)): 34.77 - 42.77 = -8 dBm against -13 */
    {"us-gmrs", 462.575e6, 34.77, 42.77, NOTHING, SPURITY_OUTCOME_FAIL, "16", NULL},
    /* on no channel: 95.1763 */
    {"us-gmrs", 463.0e6, 34.77, 70, NOTHING, SPURITY_OUTCOME_FAIL, NULL, "nearest, 22 at 462.725 MHz"},
    /* FRS: fixed antenna, ERP (95.567: 2 W on 1 to 7); its channel table is second-hand */
    {"us-frs", 462.5625e6, 30, 70, NOTHING, SPURITY_OUTCOME_NOT_SHOWN, "1", "--antenna-gain"},
    {"us-frs", 462.5625e6, 30, 70, {NULL, NULL, 0, NAN}, SPURITY_OUTCOME_CONDITIONAL_PASS, "1", NULL},
    /* MURS (95.2767: 2 W): 50 + 10 log P at 1 W is -20 dBm; -40 dBm passes, -15 dBm fails */
    {"us-murs", 151.82e6, 30, 70, NOTHING, SPURITY_OUTCOME_PASS, "1", NULL},
    {"us-murs", 151.82e6, 30, 45, NOTHING, SPURITY_OUTCOME_FAIL, "1", NULL},
    {"us-murs", 154.57e6, 36.99, 70, NOTHING, SPURITY_OUTCOME_FAIL, "4", NULL},
    /* CBRS (95.967, 95.979): mean power or PEP, by the kind of emission; 4 W, 12 W PEP */
    {"us-cb", 27.205e6, 34.5, 75, NOTHING, SPURITY_OUTCOME_NOT_SHOWN, "20", "--emission"},
    {"us-cb", 27.205e6, 34.5, 75, {"F3E", NULL, NAN, NAN}, SPURITY_OUTCOME_PASS, "20", NULL},
    {"us-cb", 27.205e6, 38.5, 75, {"F3E", NULL, NAN, NAN}, SPURITY_OUTCOME_FAIL, "20", NULL},
    /* 95.979(a)(6): 60 dB at the harmonics */
    {"us-cb", 27.205e6, 34.5, 58, {"F3E", NULL, NAN, NAN}, SPURITY_OUTCOME_FAIL, "20", NULL},
    /* 446 MHz: every figure from memory, fixed antenna */
    {"eu-pmr446", 446.00625e6, 25, 75, {NULL, NULL, 0, NAN}, SPURITY_OUTCOME_CONDITIONAL_PASS, "1", NULL},
    {"eu-pmr446", 446.00625e6, 25, 50, {NULL, NULL, 0, NAN}, SPURITY_OUTCOME_CONDITIONAL_FAIL, "1", NULL},
    {"eu-land-mobile", 160.0e6, 33, 80, {NULL, NULL, NAN, 12.5e3}, SPURITY_OUTCOME_CONDITIONAL_PASS, NULL, NULL},
    /* Part 90: which mask goes by the channel (limits: 25 kHz 43 + 10 log P, 12.5 kHz 50 + 10 log P): H2 at -16 dBm */
    {"us-land-mobile", 155.0e6, 36.99, 52.99, NOTHING, SPURITY_OUTCOME_NOT_SHOWN, NULL, "--bandwidth"},
    {"us-land-mobile", 155.0e6, 36.99, 52.99, {NULL, NULL, NAN, 25e3}, SPURITY_OUTCOME_PASS, NULL, NULL},
    {"us-land-mobile", 155.0e6, 36.99, 52.99, {NULL, NULL, NAN, 12.5e3}, SPURITY_OUTCOME_FAIL, NULL, NULL},
    /* below 30 MHz the Radio Regulations divide by service; 10 W: 43 + 10 log P or 70 dB, amateurs 50 dB: H2 at -12 */
    {"itu-a", 28.4e6, 40, 52, {"F3E", NULL, NAN, NAN}, SPURITY_OUTCOME_NOT_SHOWN, NULL, "--station"},
    {"itu-a", 28.4e6, 40, 52, {"F3E", "amateur", NAN, NAN}, SPURITY_OUTCOME_CONDITIONAL_PASS, NULL, NULL},
    {"itu-a", 28.4e6, 40, 52, {"F3E", "other", NAN, NAN}, SPURITY_OUTCOME_CONDITIONAL_FAIL, NULL, NULL},
};

static void show(const struct service *service, const struct bench *bench)
{
    printf("%s %.4f MHz: %s\n", service->rules, service->carrier_hz / 1e6, spurity_verdict_headline(bench->verdict));
    for (size_t i = 0; i < spurity_verdict_not_shown_count(bench->verdict); i++)
        printf("    %s: %s\n", spurity_verdict_not_shown(bench->verdict, i)->reason,
               spurity_verdict_not_shown(bench->verdict, i)->advice);
}

static void each_service_judges_by_its_own(void **state)
{
    for (size_t i = 0; i < sizeof services / sizeof *services; i++) {
        const struct service *one = &services[i];
        struct bench bench;
        measure_clean(&bench, one->carrier_hz, one->dbm, one->down_db, &one->known);
        spurity_outcome outcome = bench_judge(&bench, one->rules);
        const spurity_rules_verdict *verdict = spurity_verdict_rules(bench.verdict, 0);
        if (outcome != one->outcome || (one->advice && !advised(&bench, one->advice)))
            show(one, &bench);
        assert_int_equal(outcome, one->outcome);
        assert_int_equal(verdict->channel_found == SPURITY_CHANNEL_ON, one->channel != NULL);
        if (one->channel)
            assert_string_equal(verdict->channel.number, one->channel);
        if (one->advice)
            assert_true(advised(&bench, one->advice));
        bool fixed = !strcmp(one->rules, "us-frs") || !strcmp(one->rules, "eu-pmr446");
        assert_int_equal(verdict->indicative, fixed);
        assert_int_equal(strstr(verdict->headline, "conducted, indicative") != NULL, fixed);
        if (outcome == SPURITY_OUTCOME_CONDITIONAL_PASS || outcome == SPURITY_OUTCOME_CONDITIONAL_FAIL)
            assert_non_null(strstr(verdict->headline, "by figures not confirmed"));
        bench_end(&bench);
    }
}

/* ---- several rule sets ---- */

enum { SETS_MAX = 3 };

/* Judges by all at once; the rules are to be freed after the bench. */
static spurity_outcome judge_by(struct bench *bench, const char *const *ids, size_t count, spurity_rules **sets)
{
    bench_measure(bench);
    for (size_t i = 0; i < count; i++)
        assert_ok(spurity_rules_load(ids[i], &sets[i], &bench->error), &bench->error);
    assert_ok(spurity_judge(bench->measurement, (const spurity_rules *const *)sets, count, NULL, &bench->verdict,
                            &bench->error),
              &bench->error);
    return spurity_verdict_outcome(bench->verdict);
}

static void end_by(struct bench *bench, spurity_rules **sets, size_t count)
{
    bench_end(bench);
    for (size_t i = 0; i < count; i++)
        spurity_rules_free(sets[i]);
}

/* 462.575 MHz, 3 W, sold to three: no amateur band (97.301), a channel of the one service, and the Radio Regulations.
 */
static void one_set_under_three_rule_sets(void **state)
{
    static const char *const ids[] = {"us-gmrs", "us-amateur", "itu-a"};
    const struct known nothing = NOTHING;
    struct bench bench;
    spurity_rules *sets[SETS_MAX];
    measure_clean(&bench, 462.575e6, 34.77, 70, &nothing);
    assert_int_equal(judge_by(&bench, ids, 3, sets), SPURITY_OUTCOME_FAIL);
    const spurity_rules_verdict *gmrs = spurity_verdict_rules(bench.verdict, 0);
    const spurity_rules_verdict *amateur = spurity_verdict_rules(bench.verdict, 1);
    const spurity_rules_verdict *itu = spurity_verdict_rules(bench.verdict, 2);
    assert_int_equal(gmrs->outcome, SPURITY_OUTCOME_PASS);
    assert_int_equal(amateur->outcome, SPURITY_OUTCOME_FAIL);
    assert_int_equal(itu->outcome, SPURITY_OUTCOME_CONDITIONAL_PASS);
    /* each looks through its own range: 2.1057 from what was said to the tenth harmonic; above 225 MHz 97.307 has no
     * figure; SM.329 table 1 to 3 GHz */
    assert_near(gmrs->from_hz, 5e6, 1);
    assert_near(gmrs->to_hz, 4625.75e6, 1);
    assert_near(itu->from_hz, 30e6, 1);
    assert_near(itu->to_hz, 3e9, 1);
    assert_int_equal(gmrs->groups, SPURITY_GROUP_EMISSIONS | SPURITY_GROUP_POWER);
    assert_int_equal(itu->groups, SPURITY_GROUP_EMISSIONS);
    assert_int_equal(strncmp(gmrs->headline, "PASS for unwanted emissions and power", 37), 0);
    assert_int_equal(strncmp(amateur->headline, "FAIL: the carrier at 462.575 MHz is", 35), 0);
    assert_non_null(strstr(itu->headline, "by figures not confirmed"));
    assert_null(strstr(gmrs->headline, "by figures not confirmed"));
    assert_non_null(strstr(itu->headline, "power, mask, frequency and modulation not examined"));
    const char *headline = spurity_verdict_headline(bench.verdict);
    assert_int_equal(strncmp(headline, "FAIL by us-amateur: the carrier at", 34), 0);
    assert_non_null(strstr(headline, "; us-gmrs: pass; itu-a: conditional pass"));
    assert_string_equal(gmrs->unreported, "47 CFR 2.1057(c)");
    assert_null(amateur->unreported);
    assert_null(itu->unreported);
    end_by(&bench, sets, 3);
}

/* 97.307(e) beside 43 + 10 log P (with its 70 dB): 25 uW and 60 dB ask more below 50.12 W, less above. */
static void the_stricter_line_is_named(void **state)
{
    static const char *const ids[] = {"us-amateur", "itu-a"};
    static const struct {
        double watts;
        const char *rules;
        double limit_dbm;
    } rows[] = {
        {1, "us-amateur", -16.02},  {5, "us-amateur", -16.02}, {24, "us-amateur", -16.02},
        {40, "us-amateur", -13.98}, {60, "itu-a", -13.0},      {100, "itu-a", -13.0},
    };
    const struct known nothing = NOTHING;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench bench;
        spurity_rules *sets[SETS_MAX];
        measure_clean(&bench, 146.94e6, spurity_dbm_from_watts(rows[i].watts), 60, &nothing);
        bench.point.power_low_w = bench.point.power_high_w = rows[i].watts;
        bench.point.uncertainty_dbm = 0.1; /* far from the step at 25 W */
        judge_by(&bench, ids, 2, sets);
        size_t which;
        double limit_dbm;
        assert_true(spurity_verdict_strictest(bench.verdict, 0, &which, &limit_dbm));
        const spurity_judgement *strictest = spurity_verdict_judgement(bench.verdict, which);
        assert_int_equal(strictest->emission, 0);
        assert_string_equal(ids[strictest->rules], rows[i].rules);
        assert_near(limit_dbm, rows[i].limit_dbm, 0.02);
        assert_false(spurity_verdict_strictest(bench.verdict, 1000000, &which, &limit_dbm));
        end_by(&bench, sets, 2);
    }
}

/* ---- range ---- */

/* 47 CFR 2.1057(a)(1): from the lowest frequency generated, not below 9 kHz; unsaid it asks for all of it. */
static void the_lowest_frequency_is_asked_for(void **state)
{
    const struct known nothing = NOTHING;
    struct bench bench;
    measure_clean(&bench, 462.575e6, 34.77, 70, &nothing);
    bench.point.lowest_hz = NAN;
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_near(spurity_verdict_rules(bench.verdict, 0)->from_hz, 9e3, 1e-6);
    assert_true(advised(&bench, "--lowest"));
    bench_end(&bench);
    measure_clean(&bench, 462.575e6, 34.77, 70, &nothing);
    bench.point.lowest_hz = 1e3; /* nobody has to look below 9 kHz */
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_near(spurity_verdict_rules(bench.verdict, 0)->from_hz, 9e3, 1e-6);
    assert_false(advised(&bench, "--lowest"));
    bench_end(&bench);
    measure_clean(&bench, 146.94e6, 34.77, 70, &nothing); /* amateurs are not under it: 30 MHz */
    bench.point.lowest_hz = NAN;
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_PASS);
    assert_near(spurity_verdict_rules(bench.verdict, 0)->from_hz, 30e6, 1e-6);
    bench_end(&bench);
}

/* 47 CFR 2.1057(c): more than 20 dB below the limit need not be reported.  Limit -13 dBm: a harmonic at -32.5 dBm is,
 * one at -33.5 dBm is not. */
static void what_is_far_below_need_not_be_reported(void **state)
{
    static const double down_db[] = {67.27, 68.27};
    for (int i = 0; i < 2; i++) {
        const struct known nothing = NOTHING;
        struct bench bench;
        measure_clean(&bench, 462.575e6, 34.77, down_db[i], &nothing);
        bench_judge(&bench, "us-gmrs");
        const spurity_judgement *second = spurity_verdict_judgement(bench.verdict, 0);
        assert_int_equal(second->emission, 0);
        assert_near(second->margin, down_db[i] - 47.77, 0.2);
        assert_int_equal(second->reportable, i == 0);
        for (size_t k = 0; k < spurity_verdict_judgement_count(bench.verdict); k++) {
            const spurity_judgement *one = spurity_verdict_judgement(bench.verdict, k);
            assert_true(one->reportable || (one->emission >= 0 && one->margin > 20));
        }
        bench_end(&bench);
    }
}

/* ---- channels ---- */

/* A sweep that reads to some 10 kHz cannot tell channels 12.5 kHz apart; a carrier that is named can. */
static void a_coarse_reading_leaves_the_channel_open(void **state)
{
    const struct sweep_line line = {462.575e6, 44.0};
    for (int i = 0; i < 2; i++) {
        struct sweep wide = {.start_hz = 450e6,
                             .stop_hz = 475e6,
                             .rbw_hz = 100e3,
                             .points = 501,
                             .floor_dbm = -80,
                             .averages = 4,
                             .lines = &line,
                             .line_count = 1};
        struct bench bench;
        bench_start(&bench);
        bench_direct(&bench);
        bench.point.station = "mobile";
        bench.point.only = SPURITY_GROUP_POWER;
        bench.point.reference_ppm = 20;
        bench.point.carrier_hz = i ? 462.575e6 : NAN;
        bench_add(&bench, &wide);
        spurity_outcome outcome = bench_judge(&bench, "us-gmrs");
        const spurity_rules_verdict *verdict = spurity_verdict_rules(bench.verdict, 0);
        assert_int_equal(verdict->channel_open, i == 0);
        if (i == 0)
            assert_int_equal(outcome, SPURITY_OUTCOME_NOT_SHOWN); /* 50 W, or 5 W ERP */
        else
            assert_string_equal(verdict->channel.number, "16");
        if (i == 0)
            assert_true(advised(&bench, "--carrier"));
        bench_end(&bench);
    }
}

/* Within 2.5 times the channel's 20 kHz: close in; without a channel the necessary bandwidth of 16 kHz is used. */
static void the_channel_tells_what_is_close_in(void **state)
{
    static const double carrier_hz[] = {462.575e6, 446.0e6};
    for (int i = 0; i < 2; i++) {
        const struct sweep_line lines[] = {{carrier_hz[i], 34.77}, {carrier_hz[i] + 45e3, -20}};
        struct sweep close = close_sweep(lines, 2, carrier_hz[i]);
        struct bench bench;
        bench_start(&bench);
        bench_direct(&bench);
        bench_add(&bench, &close);
        bench_judge(&bench, i ? "us-amateur" : "us-gmrs");
        bool found = false;
        for (size_t k = 0; k < spurity_measurement_emission_count(bench.measurement); k++) {
            const spurity_emission *one = spurity_measurement_emission(bench.measurement, k);
            if (fabs(one->frequency_hz - lines[1].hz) > 1e3)
                continue;
            found = true;
            assert_int_equal(one->kind, i ? SPURITY_SPURIOUS : SPURITY_CLOSE_IN);
        }
        assert_true(found);
        bench_end(&bench);
    }
}

/* One word of --station for each of several rule sets. */
static void each_rule_set_takes_its_own_station(void **state)
{
    const struct known known = {"F3E", "mobile,amateur", NAN, NAN};
    struct bench bench;
    measure_clean(&bench, 28.4e6, 40, 52, &known);
    assert_int_equal(bench_judge(&bench, "itu-a"), SPURITY_OUTCOME_CONDITIONAL_PASS);
    bench_end(&bench);
    measure_clean(&bench, 462.575e6, 44.77, 70, &known);
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_PASS);
    bench_end(&bench);
    const struct known unknown = {NULL, "boat", NAN, NAN};
    measure_clean(&bench, 462.575e6, 44.77, 70, &unknown);
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(advised(&bench, "--station is one of: mobile"));
    bench_end(&bench);
}

/* ---- masks: what is asked, and what need not be ---- */

enum { SIDEBANDS = 12 };

/* A tone of 2.4 kHz (no line on a corner) on 462.575 MHz, 5 W: the lines of frequency modulation, J_k(index) each (47
 * CFR 2.202 and every handbook; jn of the C library). */
static spurity_outcome judge_tone(struct bench *bench, double index, int audio_filter, spurity_modulation modulation)
{
    static struct sweep_line lines[2 * SIDEBANDS + 1];
    for (int k = -SIDEBANDS; k <= SIDEBANDS; k++)
        lines[k + SIDEBANDS] =
            (struct sweep_line){462.575e6 + 2.4e3 * k, 36.99 + 20 * log10(fmax(fabs(jn(abs(k), index)), 1e-9))};
    struct sweep close = {.start_hz = 462.515e6,
                          .stop_hz = 462.635e6,
                          .rbw_hz = 100,
                          .points = 3001,
                          .floor_dbm = -100,
                          .averages = 16,
                          .lines = lines,
                          .line_count = 2 * SIDEBANDS + 1};
    bench_start(bench);
    bench_direct(bench);
    bench->point.uncertainty_dbm = 1.0;
    bench->point.uncertainty_dbc = 0.7;
    bench->point.emission = "F3E";
    bench->point.audio_filter = audio_filter;
    bench->point.modulation = modulation;
    bench->point.carrier_hz = 462.575e6;
    bench->point.reference_ppm = 1;
    bench->point.only = SPURITY_GROUP_MASK;
    bench_add(bench, &close);
    return bench_judge(bench, "us-gmrs");
}

/* 95.1779(b): at 12 kHz 25 dB with an audio filter, 116 log(12 / 6.1) = 34.1 dB without.  Index 1 meets both (the
 * fifth sideband is 66 dB down), so nobody is asked; index 3 the first only (27.3 dB). */
static void the_audio_filter_is_asked_where_it_decides(void **state)
{
    static const struct {
        double index;
        int filter;
        spurity_outcome outcome;
    } rows[] = {{1, -1, SPURITY_OUTCOME_PASS},
                {3, 1, SPURITY_OUTCOME_PASS},
                {3, 0, SPURITY_OUTCOME_FAIL},
                {3, -1, SPURITY_OUTCOME_NOT_SHOWN}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench bench;
        spurity_outcome outcome = judge_tone(&bench, rows[i].index, rows[i].filter, SPURITY_MODULATION_TEST);
        assert_int_equal(outcome, rows[i].outcome);
        assert_int_equal(advised(&bench, "--audio-filter"), rows[i].outcome == SPURITY_OUTCOME_NOT_SHOWN);
        bench_end(&bench);
    }
    struct bench bench;
    assert_int_equal(judge_tone(&bench, 1, 1, SPURITY_MODULATION_UNSAID), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(advised(&bench, "--modulation"));
    bench_end(&bench);
}

/* ---- a user's own service ---- */

static spurity_outcome judge_own(struct bench *bench, const char *yaml)
{
    bench_measure(bench);
    assert_ok(spurity_rules_load_memory("own.yaml", yaml, strlen(yaml), &bench->rules, &bench->error), &bench->error);
    const spurity_rules *sets[] = {bench->rules};
    assert_ok(spurity_judge(bench->measurement, sets, 1, NULL, &bench->verdict, &bench->error), &bench->error);
    return spurity_verdict_outcome(bench->verdict);
}

static const char own_rules[] = "format: spurity-rules\n"
                                "version: 1\n"
                                "id: own\n"
                                "title: invented service\n"
                                "edition: invented\n"
                                "channels:\n"
                                "  - {number: A, frequency: 160 MHz, bandwidth: 10 kHz, power: 2 W, of: ERP}\n"
                                "  - {number: B, frequency: 160.1 MHz, bandwidth: 20 kHz, power: 5 W, of: mean power}\n"
                                "clauses:\n"
                                "  - clause: '1'\n"
                                "    citation: invented, 1\n"
                                "    status: confirmed\n"
                                "    says: on a channel\n"
                                "    group: power\n"
                                "    quantity: channel\n";

/* Where no clause caps the power the row of the table does: 3 W on A and B, into 3 dBd 6 W. */
static void the_row_of_the_channel_caps_the_power(void **state)
{
    static const struct {
        double carrier_hz, gain_dbd;
        spurity_outcome outcome;
        const char *quantity, *binding;
    } rows[] = {
        {160e6, NAN, SPURITY_OUTCOME_NOT_SHOWN, "carrier power (ERP)", "2 W ERP of channel A"},
        {160e6, -6, SPURITY_OUTCOME_PASS, "carrier power (ERP)", "2 W ERP of channel A"},
        {160e6, 3, SPURITY_OUTCOME_FAIL, "carrier power (ERP)", "2 W ERP of channel A"},
        {160.1e6, NAN, SPURITY_OUTCOME_PASS, "carrier power", "5 W of channel B"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct known known = {NULL, NULL, rows[i].gain_dbd, NAN};
        struct bench bench;
        measure_clean(&bench, rows[i].carrier_hz, 34.77, 70, &known);
        bench.point.only = SPURITY_GROUP_POWER;
        assert_int_equal(judge_own(&bench, own_rules), rows[i].outcome);
        const spurity_judgement *power = spurity_verdict_judgement(bench.verdict, 0);
        assert_string_equal(power->quantity, rows[i].quantity);
        assert_string_equal(power->binding, rows[i].binding);
        bench_end(&bench);
    }
}

/* More than the channel authorises would move every edge outwards: 40 kHz told on channel 10 (12.5 kHz) is not taken,
 * so that 95.1779(b)(7) still begins at 31.25 kHz, and a line at 60 kHz is over it. */
static void a_bandwidth_wider_than_the_channel_is_not_taken(void **state)
{
    const struct sweep_line lines[] = {{467.6125e6, 26}, {467.6125e6 + 60e3, -5}};
    struct sweep close = close_sweep(lines, 2, 467.6125e6);
    struct bench bench;
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &close);
    bench.point.bandwidth_hz = 40e3;
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_FAIL);
    const spurity_rules_verdict *verdict = spurity_verdict_rules(bench.verdict, 0);
    assert_true(verdict->bandwidth_refused);
    assert_near(verdict->authorised_hz, 12.5e3, 1e-6);
    bench_end(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_service_judges_by_its_own),
        cmocka_unit_test(one_set_under_three_rule_sets),
        cmocka_unit_test(the_stricter_line_is_named),
        cmocka_unit_test(the_lowest_frequency_is_asked_for),
        cmocka_unit_test(what_is_far_below_need_not_be_reported),
        cmocka_unit_test(a_coarse_reading_leaves_the_channel_open),
        cmocka_unit_test(the_channel_tells_what_is_close_in),
        cmocka_unit_test(each_rule_set_takes_its_own_station),
        cmocka_unit_test(the_audio_filter_is_asked_where_it_decides),
        cmocka_unit_test(the_row_of_the_channel_caps_the_power),
        cmocka_unit_test(a_bandwidth_wider_than_the_channel_is_not_taken),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
