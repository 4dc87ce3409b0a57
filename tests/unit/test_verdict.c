/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Verdicts of invented sweeps: each outcome, and why it is none better. */
#include "../sweep.h"

static const struct sweep_line good[] = {{146.94e6, 36.99}, {293.88e6, -25.01}, {440.82e6, -33.01}};

/* Whether something was not shown for this reason; *item gets it. */
static bool not_shown_for(const struct bench *bench, const char *reason, const spurity_not_shown **item)
{
    for (size_t i = 0; i < spurity_verdict_not_shown_count(bench->verdict); i++) {
        const spurity_not_shown *one = spurity_verdict_not_shown(bench->verdict, i);
        if (!strcmp(one->reason, reason)) {
            if (item)
                *item = one;
            return true;
        }
    }
    return false;
}

static void add_both(struct bench *bench, const struct sweep_line *lines, size_t count)
{
    struct sweep wide = wide_sweep(lines, count, 1.5e9), close = close_sweep(lines, count, lines[0].hz);
    bench_start(bench);
    bench_direct(bench);
    bench_add(bench, &wide);
    bench_add(bench, &close);
}

static void careful_bench_passes(void **state)
{
    struct bench bench;
    add_both(&bench, good, 3);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_PASS);
    const char *headline = spurity_verdict_headline(bench.verdict);
    assert_non_null(strstr(headline, "PASS for unwanted emissions and power"));
    assert_non_null(strstr(headline, "own harmonics not ruled out"));
    assert_non_null(strstr(headline, "not examined"));
    assert_int_equal(spurity_verdict_not_shown_count(bench.verdict), 0);
    double limit;
    assert_true(spurity_verdict_limit(bench.verdict, 300e6, &limit));
    assert_near(limit, -16.0206, 1e-3); /* 25 uW */
    assert_false(spurity_verdict_limit(bench.verdict, 146.945e6, &limit));
    bench_end(&bench);
}

static void loud_harmonic_fails(void **state)
{
    static const struct sweep_line lines[] = {{146.94e6, 36.99}, {293.88e6, -8.01}};
    struct bench bench;
    add_both(&bench, lines, 2);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_FAIL);
    assert_non_null(strstr(spurity_verdict_headline(bench.verdict), "harmonic 2 at 293.88 MHz 8.0 dB over 97.307(e)"));
    bench_end(&bench);
}

/* 50 mW: 40 dB below would be -23 dBm, but nothing need go below 10 uW = -20 dBm. */
static void ten_microwatts_release(void **state)
{
    static const struct sweep_line lines[] = {{146.94e6, 17.0}, {293.88e6, -23.5}};
    struct bench bench;
    add_both(&bench, lines, 2);
    bench.point.uncertainty_dbm = 1;
    bench.point.uncertainty_dbc = 1;
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_PASS);
    const spurity_judgement *h2 = spurity_verdict_judgement(bench.verdict, 0);
    assert_non_null(strstr(h2->binding, "10"));
    assert_string_equal(h2->unit, "dBm");
    bench_end(&bench);
}

/* A carrier told where a sweep shows none is no fail of the band it was told in. */
static void told_carrier_that_is_absent_is_not_shown(void **state)
{
    struct bench bench;
    struct sweep wide = wide_sweep(good, 3, 1.5e9);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench.point.carrier_hz = 350e6; /* in no band */
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(not_shown_for(&bench, "carrier-absent", NULL));
    bench_end(&bench);
}

static void wide_sweep_alone_hides_the_neighbourhood(void **state)
{
    struct bench bench;
    struct sweep wide = wide_sweep(good, 3, 1.5e9);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_NOT_SHOWN);
    static const spurity_not_shown none;
    const spurity_not_shown *item = &none;
    assert_true(not_shown_for(&bench, "hidden", &item));
    assert_non_null(strstr(item->advice, "add a sweep of"));
    assert_non_null(strstr(item->advice, "--beyond"));
    /* A Gaussian skirt of 100 kHz falls 53 dB in 210 kHz. */
    assert_true(item->to_hz < 147.5e6 && item->from_hz > 146.3e6);
    bench_end(&bench);
    bench_start(&bench); /* on the user's word the rest passes, with the word in the headline's notes */
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench.point.beyond_hz = 600e3;
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_PASS);
    assert_non_null(strstr(spurity_verdict_headline(bench.verdict), "PASS, further than 600 kHz from the carrier"));
    assert_true(spurity_notes_has(spurity_measurement_notes(bench.measurement), SPURITY_NOTE_RANGE_NARROWED));
    bench_end(&bench);
}

/* A near sweep whose floor is higher than the wide one's still sees where the wide one's filter skirt stands. */
static void near_sweep_serves_under_the_skirt(void **state)
{
    struct bench bench;
    struct sweep wide = wide_sweep(good, 3, 1.5e9), close = close_sweep(good, 3, 146.94e6);
    close.floor_dbm = -60;
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench_add(&bench, &close);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_PASS);
    bench_end(&bench);
}

/* A service of channels: a carrier on none of them fails, 1 kHz beside one stands within half its width (95.1763,
 * channel 15 at 462.550 MHz, 20 kHz: 9 kHz clear). */
static void a_carrier_off_every_channel_fails(void **state)
{
    static const double hz[] = {462.551e6, 463.0e6};
    static const spurity_outcome wanted[] = {SPURITY_OUTCOME_PASS, SPURITY_OUTCOME_FAIL};
    for (int i = 0; i < 2; i++) {
        const struct sweep_line carrier = {hz[i], 36};
        struct bench bench;
        struct sweep close = close_sweep(&carrier, 1, hz[i]);
        const spurity_judgement *found = NULL;
        bench_start(&bench);
        bench_direct(&bench);
        bench.point.reference_ppm = 1;
        bench_add(&bench, &close);
        bench_judge(&bench, "us-gmrs");
        for (size_t k = 0; k < spurity_verdict_judgement_count(bench.verdict); k++) {
            const spurity_judgement *one = spurity_verdict_judgement(bench.verdict, k);
            spurity_clause_facts facts;
            spurity_clause_facts_of(one->clause, &facts);
            if (facts.quantity == SPURITY_QUANTITY_CHANNEL)
                found = one;
        }
        assert_non_null(found);
        assert_int_equal(found->outcome, wanted[i]);
        if (i == 0)
            assert_near(found->margin, 9e3, 50);
        else
            assert_int_equal(spurity_verdict_outcome(bench.verdict), SPURITY_OUTCOME_FAIL);
        bench_end(&bench);
    }
}

static void unswept_range_is_told(void **state)
{
    struct bench bench;
    struct sweep wide = wide_sweep(good, 3, 1.0e9), close = close_sweep(good, 3, 146.94e6);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench_add(&bench, &close);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_NOT_SHOWN);
    const spurity_not_shown *item = NULL;
    assert_true(not_shown_for(&bench, "not-swept", &item));
    assert_near(item->from_hz, 1.0e9, 0.2e6);
    assert_near(item->to_hz, 1469.4e6, 0.2e6);
    bench_end(&bench);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench_add(&bench, &close);
    bench.point.range_from_hz = 30e6;
    bench.point.range_to_hz = 1e9;
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_PASS);
    assert_non_null(
        strstr(spurity_verdict_headline(bench.verdict), "PASS, 30 MHz to 1 GHz (harmonics 7 to 10 not looked at)"));
    bench_end(&bench);
    bench_start(&bench); /* harmonics 2 and 3 left out: never a pass */
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench_add(&bench, &close);
    bench.point.range_from_hz = 100e6;
    bench.point.range_to_hz = 200e6;
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_NOT_SHOWN);
    bench_end(&bench);
}

/* A floor above the limit could not have shown a failure. */
static void blind_bench_never_passes(void **state)
{
    struct bench bench;
    struct sweep wide = wide_sweep(good, 1, 1.5e9), close = close_sweep(good, 1, 146.94e6);
    wide.floor_dbm = -18;
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench_add(&bench, &close);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(not_shown_for(&bench, "floor-near-limit", NULL));
    assert_true(spurity_notes_has(spurity_measurement_notes(bench.measurement), SPURITY_NOTE_FLOOR_NEAR_LIMIT));
    bench_end(&bench);
}

static void above_225_megahertz_there_is_no_figure(void **state)
{
    static const struct sweep_line lines[] = {{446.0e6, 36.99}, {892.0e6, -10}};
    struct bench bench;
    add_both(&bench, lines, 2);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_NO_LIMIT);
    assert_non_null(strstr(spurity_verdict_headline(bench.verdict), "NO LIMIT"));
    assert_true(spurity_verdict_told_count(bench.verdict) >= 1);
    bench_end(&bench);
}

/* 25 W within the uncertainty: above it 60 dB below, at or under it 25 uW.  -61 dBc of 25.1 W is -17 dBm: both met by
 * less than U or more; -58 dBc fails one and the other alike only where both leaves are over. */
static void near_the_power_step_all_values_are_judged(void **state)
{
    static const struct sweep_line clear[] = {{146.94e6, 43.9}, {293.88e6, -26}};
    static const struct sweep_line over[] = {{146.94e6, 43.9}, {293.88e6, -5}};
    struct bench bench;
    add_both(&bench, clear, 2);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_PASS);
    bench_end(&bench);
    add_both(&bench, over, 2);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_FAIL);
    bench_end(&bench);
}

/* 97.307(d): the date decides between 43 dB, and 50 mW with 40 dB; unsaid, all branches are judged. */
static spurity_outcome ten_metres(double dbc, spurity_date installed, bool *date_unknown)
{
    const struct sweep_line lines[] = {{28.4e6, 46.99}, {56.8e6, 46.99 + dbc}};
    struct bench bench;
    struct sweep wide = {.start_hz = 1e6,
                         .stop_hz = 301e6,
                         .rbw_hz = 30e3,
                         .points = 30001,
                         .floor_dbm = -60,
                         .averages = 16,
                         .lines = lines,
                         .line_count = 2};
    struct sweep close = close_sweep(lines, 2, 28.4e6);
    close.start_hz = 28.2e6;
    close.stop_hz = 28.6e6;
    close.rbw_hz = 300;
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench_add(&bench, &close);
    bench.point.installed = installed;
    spurity_outcome outcome = bench_judge(&bench, "us-amateur");
    *date_unknown = not_shown_for(&bench, "date-unknown", NULL);
    bench_end(&bench);
    return outcome;
}

static void the_date_decides_below_30_megahertz(void **state)
{
    bool unknown;
    /* 50 W: 50 mW is 30 dB below, so the ratio binds in every branch. -48 dBc passes all, -36 fails all, -41.6 only
     * some */
    assert_int_equal(ten_metres(-48, 0, &unknown), SPURITY_OUTCOME_PASS);
    assert_int_equal(ten_metres(-36, 0, &unknown), SPURITY_OUTCOME_FAIL);
    assert_int_equal(ten_metres(-41.4, 0, &unknown), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(unknown);
    assert_int_equal(ten_metres(-41.4, 20100101, &unknown), SPURITY_OUTCOME_FAIL);
    assert_int_equal(ten_metres(-41.6, 20000101, &unknown), SPURITY_OUTCOME_PASS);
}

/* The instrument's own line at 0 Hz hides what stands under its skirt only where the skirt is over the limit. */
static spurity_outcome with_feedthrough(double dbm, bool *told)
{
    const struct sweep_line lines[] = {{28.4e6, 46.99}, {0, dbm}};
    struct bench bench;
    struct sweep wide = {.start_hz = 0,
                         .stop_hz = 300e6,
                         .rbw_hz = 30e3,
                         .points = 30001,
                         .floor_dbm = -60,
                         .averages = 16,
                         .lines = lines,
                         .line_count = 2};
    struct sweep close = close_sweep(lines, 1, 28.4e6);
    close.rbw_hz = 300; /* half the necessary bandwidth is 1.5 kHz: a filter of 1 kHz hides what stands there */
    close.start_hz = 28.2e6;
    close.stop_hz = 28.6e6;
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench_add(&bench, &close);
    bench.point.lowest_hz = 9e3;
    spurity_outcome outcome = bench_judge(&bench, "us-amateur");
    *told = not_shown_for(&bench, "zero-frequency-feedthrough", NULL);
    assert_true(
        spurity_notes_has(spurity_measurement_notes(bench.measurement), SPURITY_NOTE_ZERO_FREQUENCY_FEEDTHROUGH));
    bench_end(&bench);
    return outcome;
}

static void feedthrough_hides_only_over_the_limit(void **state)
{
    bool told;
    /* 50 W less 43 dB is +3.99 dBm */
    assert_int_equal(with_feedthrough(-10, &told), SPURITY_OUTCOME_PASS);
    assert_false(told);
    assert_int_equal(with_feedthrough(20, &told), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(told);
}

/* A reading over a limit that may bind is never told as "nothing over the limit". */
static void what_may_be_over_is_told(void **state)
{
    static const struct sweep_line lines[] = {{146.94e6, 36.99}, {293.88e6, -13.01}};
    struct bench bench;
    struct sweep wide = wide_sweep(lines, 2, 1.5e9);
    bench_start(&bench);
    bench_add(&bench, &wide)->chain = NULL;
    bench.point.beyond_hz = 600e3;
    /* power unknown: 50 dB below meets the 40 dB of 25 W or less, not the 60 dB above */
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_NOT_SHOWN);
    const char *headline = spurity_verdict_headline(bench.verdict);
    assert_null(strstr(headline, "nothing over the limit"));
    assert_non_null(
        strstr(headline, "harmonic 2 at 293.88 MHz reads over a limit that may bind, 10.0 dB over 97.307(e)"));
    bench_end(&bench);
}

static void unsaid_chain_shows_no_absolute_level(void **state)
{
    struct bench bench;
    struct sweep wide = wide_sweep(good, 3, 1.5e9);
    bench_start(&bench);
    bench_add(&bench, &wide)->chain = NULL;
    bench.point.beyond_hz = 600e3;
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(not_shown_for(&bench, "level-unknown", NULL));
    bench_end(&bench);
    bench_start(&bench); /* the meter anchors it */
    bench_add(&bench, &wide)->chain = NULL;
    bench.point.beyond_hz = 600e3;
    bench.point.power_low_w = bench.point.power_high_w = 5;
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_PASS);
    bench_end(&bench);
}

/* 1.5 kW PEP: 1600 W is over by 0.28 dB, within U. */
static void power_cap(void **state)
{
    static const struct sweep_line lines[] = {{28.4e6, 62.04}};
    struct bench bench;
    struct sweep close = close_sweep(lines, 1, 28.4e6);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &close);
    bench.point.only = SPURITY_GROUP_POWER;
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_CONDITIONAL_FAIL);
    bench_end(&bench);
}

static void carrier_out_of_band_fails_power(void **state)
{
    static const struct sweep_line lines[] = {{143.5e6, 36.99}};
    struct bench bench;
    struct sweep close = close_sweep(lines, 1, 143.5e6);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &close);
    bench.point.only = SPURITY_GROUP_POWER;
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_FAIL);
    bench_end(&bench);
}

static void combining_worlds(void **state)
{
    const spurity_outcome fail = SPURITY_OUTCOME_FAIL, doubt = SPURITY_OUTCOME_CONDITIONAL_FAIL,
                          pass = SPURITY_OUTCOME_PASS, near = SPURITY_OUTCOME_CONDITIONAL_PASS,
                          open = SPURITY_OUTCOME_NOT_SHOWN;
    spurity_outcome spurity_verdict_combine(const spurity_outcome *outcomes, size_t count);
    const struct {
        spurity_outcome a, b, together;
    } rows[] = {{pass, pass, pass}, {pass, near, near},  {fail, fail, fail}, {fail, doubt, doubt},
                {pass, fail, open}, {near, doubt, open}, {pass, open, open}, {fail, open, open}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const spurity_outcome both[] = {rows[i].a, rows[i].b};
        assert_int_equal(spurity_verdict_combine(both, 2), rows[i].together);
    }
}

/* A coarse sweep by a peak detector: a line shows anywhere in its cell, so its place is told to half a step. */
static struct sweep coarse_peak(const struct sweep_line *lines, size_t count, double start_hz, double step_hz)
{
    return (struct sweep){.start_hz = start_hz,
                          .stop_hz = start_hz + ceil((1.48e9 - start_hz) / step_hz) * step_hz,
                          .rbw_hz = 100e3,
                          .points = (int)ceil((1.48e9 - start_hz) / step_hz) + 1,
                          .floor_dbm = -70,
                          .averages = 16,
                          .lines = lines,
                          .line_count = count,
                          .peak = true};
}

static spurity_outcome judge_two(const struct sweep *wide, const struct sweep *close, struct bench *bench)
{
    bench_start(bench);
    bench_direct(bench);
    bench_add(bench, wide);
    bench_add(bench, close);
    return bench_judge(bench, "us-amateur");
}

/* 10 kHz under the close sweep's start; the wide one reads it to half a step, inside the stretch the close one serves,
 * which does not show it. */
static void line_at_the_joint_fails(void **state)
{
    static const struct sweep_line lines[] = {{146.94e6, 36.99}, {145.93e6, -8}};
    struct bench bench;
    struct sweep wide = coarse_peak(lines, 2, 10e6, 50e3), close = close_sweep(lines, 2, 146.94e6);
    assert_int_equal(judge_two(&wide, &close, &bench), SPURITY_OUTCOME_FAIL);
    bench_end(&bench);
}

/* 10 kHz beside the carrier, in one cell of the wide sweep with it; the cell's neighbours are quiet. */
static void line_in_the_carriers_cell_fails(void **state)
{
    static const struct sweep_line lines[] = {{146.94e6, 36.99}, {146.9503e6, -10}};
    struct bench bench;
    struct sweep wide = coarse_peak(lines, 2, 10.94e6, 2e6), close = close_sweep(lines, 2, 146.94e6);
    assert_int_equal(judge_two(&wide, &close, &bench), SPURITY_OUTCOME_FAIL);
    bench_end(&bench);
    /* without the close sweep nothing is shown from 8 kHz to half a step off the carrier */
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_NOT_SHOWN);
    bench_end(&bench);
}

/* A point of the wide sweep falls on a weak close-in line and shows the carrier. */
static void carrier_in_a_coarse_cell_is_no_reading_of_its_neighbour(void **state)
{
    static const struct sweep_line lines[] = {{146.94e6, 36.99}, {146.9503e6, -24}};
    struct bench bench;
    struct sweep wide = coarse_peak(lines, 2, 10.9503e6, 400e3), close = close_sweep(lines, 2, 146.94e6);
    assert_int_equal(judge_two(&wide, &close, &bench), SPURITY_OUTCOME_PASS);
    bench_end(&bench);
}

/* The second of two wide sweeps begins two RBW above the carrier, whose skirt stands there 48 dB down. */
static void skirt_over_an_edge_is_no_emission(void **state)
{
    struct bench bench;
    struct sweep low = wide_sweep(good, 3, 147.15e6), high = wide_sweep(good, 3, 1.5e9),
                 close = close_sweep(good, 3, 146.94e6);
    high.start_hz = 147.15e6;
    high.points = (int)((high.stop_hz - high.start_hz) / 50e3) + 1;
    high.stop_hz = high.start_hz + (high.points - 1) * 50e3;
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &low);
    bench_add(&bench, &high);
    bench_add(&bench, &close);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_PASS);
    bench_end(&bench);
}

/* Points three RBW apart miss the carrier by tens of dB: the close sweep knows it, and nothing is refused. */
static void missed_carrier_is_no_second_test_point(void **state)
{
    struct bench bench;
    struct sweep wide = coarse_peak(good, 3, 10.07e6, 300e3), close = close_sweep(good, 3, 146.94e6);
    wide.peak = false;
    assert_int_equal(judge_two(&wide, &close, &bench), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(not_shown_for(&bench, "points-too-far-apart", NULL));
    assert_near(spurity_measurement_carrier(bench.measurement)->level_dbm, 36.99, 0.1);
    bench_end(&bench);
    /* the wide one alone: its carrier is none to judge a power or a band by */
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_NOT_SHOWN);
    bench_end(&bench);
}

/* Behind unsaid chains every file has a scale of its own: the one that places the carrier best serves, and the carrier
 * is no emission in any of them. */
static void carrier_on_scales_of_their_own(void **state)
{
    struct bench bench;
    struct sweep wide = coarse_peak(good, 3, 10.93e6, 200e3), close = close_sweep(good, 3, 146.94e6);
    bench_start(&bench);
    bench_add(&bench, &wide);
    bench_add(&bench, &close);
    assert_int_equal(bench_judge(&bench, "us-amateur"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_near(spurity_measurement_carrier(bench.measurement)->frequency_hz, 146.94e6, 100);
    for (size_t i = 0; i < spurity_measurement_emission_count(bench.measurement); i++)
        assert_true(spurity_measurement_emission(bench.measurement, i)->frequency_hz > 200e6);
    bench_end(&bench);
}

static double between(uint64_t *state, double low, double high)
{
    return low + (high - low) * sweep_random(state);
}

/* 47 CFR 97.307(e) by hand: over 25 W 60 dB down; else 25 uW and 40 dB down, but not below 10 uW. */
static double allowed_dbm(double watts)
{
    double allowed = watts > 25 ? watts * 1e-6 : fmax(10e-6, fmin(25e-6, watts * 1e-4));
    return 10 * log10(allowed * 1e3);
}

/* Where a line is planted: anywhere, beside the carrier, about the ends of the close sweep, at the ends of the range.
 */
static double planted_hz(uint64_t *random, double f0)
{
    double side = sweep_random(random) < 0.5 ? -1 : 1, which = sweep_random(random);
    if (which < 0.25)
        return between(random, 32e6, 1.46e9);
    if (which < 0.5)
        return f0 + side * 8e3 * pow(100, sweep_random(random)) * 1.02;
    if (which < 0.8)
        return f0 + side * (1e6 + between(random, -60e3, 60e3));
    return side < 0 ? between(random, 30e6, 30.2e6) : between(random, 10 * f0 - 0.2e6, 10 * f0);
}

/* Test points with one line 2.5 to 12 dB over the limit never pass, 5 to 20 dB under it never fail. */
static void random_test_points(void **state)
{
    uint64_t random = 97307;
    for (int i = 0; i < 100; i++) {
        bool over = i % 4 != 0;
        double f0 = between(&random, 144.1e6, 147.9e6), watts = pow(10, between(&random, -1, 1.3));
        double limit = allowed_dbm(watts), step = 50e3 * pow(4, sweep_random(&random));
        struct sweep_line lines[2] = {{f0, 10 * log10(watts * 1e3)}};
        lines[1].hz = planted_hz(&random, f0);
        lines[1].dbm = limit + (over ? between(&random, 2.5, 12) : -between(&random, 5, 20));
        struct sweep wide = coarse_peak(lines, 2, 29.9e6 - between(&random, 0, step), step),
                     close = close_sweep(lines, 2, f0);
        struct bench bench;
        spurity_outcome outcome = judge_two(&wide, &close, &bench);
        bool wrong = over ? outcome <= SPURITY_OUTCOME_CONDITIONAL_PASS : outcome >= SPURITY_OUTCOME_CONDITIONAL_FAIL;
        if (wrong)
            fail_msg("point %d: %s for a line at %.6f MHz of %.2f dBm against %.2f dBm, carrier %.6f MHz, step %.0f Hz",
                     i, spurity_outcome_name(outcome), lines[1].hz / 1e6, lines[1].dbm, limit, f0 / 1e6, step);
        bench_end(&bench);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(careful_bench_passes),
        cmocka_unit_test(loud_harmonic_fails),
        cmocka_unit_test(ten_microwatts_release),
        cmocka_unit_test(told_carrier_that_is_absent_is_not_shown),
        cmocka_unit_test(wide_sweep_alone_hides_the_neighbourhood),
        cmocka_unit_test(near_sweep_serves_under_the_skirt),
        cmocka_unit_test(a_carrier_off_every_channel_fails),
        cmocka_unit_test(unswept_range_is_told),
        cmocka_unit_test(blind_bench_never_passes),
        cmocka_unit_test(above_225_megahertz_there_is_no_figure),
        cmocka_unit_test(near_the_power_step_all_values_are_judged),
        cmocka_unit_test(the_date_decides_below_30_megahertz),
        cmocka_unit_test(feedthrough_hides_only_over_the_limit),
        cmocka_unit_test(what_may_be_over_is_told),
        cmocka_unit_test(unsaid_chain_shows_no_absolute_level),
        cmocka_unit_test(power_cap),
        cmocka_unit_test(carrier_out_of_band_fails_power),
        cmocka_unit_test(combining_worlds),
        cmocka_unit_test(line_at_the_joint_fails),
        cmocka_unit_test(line_in_the_carriers_cell_fails),
        cmocka_unit_test(carrier_in_a_coarse_cell_is_no_reading_of_its_neighbour),
        cmocka_unit_test(skirt_over_an_edge_is_no_emission),
        cmocka_unit_test(missed_carrier_is_no_second_test_point),
        cmocka_unit_test(carrier_on_scales_of_their_own),
        cmocka_unit_test(random_test_points),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
