/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Masks, occupied bandwidth, frequency error and deviation: what a sweep can show of them and what it cannot.  Sets are
 * invented: a carrier that shares its power with sidebands by a tone, and a probe where the mask is asked. */
#include "../modulated.h"

enum { D_HZ = 460012500 };

/* A set of 5 W, half of it in the carrier, half in a pair of sidebands 1 kHz off, swept with RBW rbw_hz. */
static struct modulated *set_of(double carrier_hz, double rbw_hz)
{
    static struct modulated set;
    set = (struct modulated){.sweep = modulated_sweep(carrier_hz, 36.99, 130e3, rbw_hz)};
    set.sweep.lines = set.lines;
    modulated_add(&set, carrier_hz, 33.98);
    modulated_add(&set, carrier_hz - 1e3, 30.97);
    modulated_add(&set, carrier_hz + 1e3, 30.97);
    return &set;
}

/* A probe on one side moves the mean frequency; the sidebands then lean the other way, so that the middle stays. */
static void probe(struct modulated *set, double offset_hz, double dbm, bool balance)
{
    double watts = pow(10, dbm / 10), lean = balance ? watts * offset_hz / 2e3 : 0, f0 = set->lines[0].hz;
    modulated_add(set, f0 + offset_hz, dbm);
    for (int i = 1; i <= 2; i++) {
        double left = pow(10, set->lines[i].dbm / 10) + (i == 1 ? lean : -lean);
        assert_true(left > 0);
        set->lines[i].dbm = 10 * log10(left);
    }
}

/* Starts a bench with it; the rest of the point is the caller's. */
static spurity_source *put(struct bench *bench, const struct modulated *set, double carrier_hz)
{
    bench_start(bench);
    bench_direct(bench);
    bench->point.modulation = SPURITY_MODULATION_TEST;
    bench->point.only = SPURITY_GROUP_MASK;
    bench->point.emission = "F3E";
    bench->point.carrier_hz = carrier_hz;
    return bench_add(bench, &set->sweep);
}

static void put_d(struct bench *bench, const struct modulated *set)
{
    put(bench, set, D_HZ)->read.detector = SPURITY_DETECTOR_MAX_HOLD;
    bench->point.bandwidth_hz = 12.5e3;
}

static void put_gmrs(struct bench *bench, const struct modulated *set)
{
    put(bench, set, 462.625e6);
    bench->point.audio_filter = 1;
}

/* ---- corners ---- */

/* A probe at an offset of a mask of the regulation, and by how much it is inside (NAN: another clause than the first).
 */
struct corner {
    const char *mask;
    double offset_hz, down_db; /* of the probe below P */
    double attenuation_db;     /* asked there by the text; NAN none */
};
/* Worked from the text: D 47 CFR 90.210(d), 7.27 (fd - 2.88) from 5.625 to 12.5 kHz, then 50 + 10 log 5 = 56.99 dB;
 * GMRS 95.1779(b)(1), (2): 25 dB from 50 to 100 % of 20 kHz, 35 dB to 250 %. */
static const struct corner corners[] = {
    {"D", 5.500e3, 14, 0},                                  /* just inside: nothing asked but 0 dB */
    {"D", 5.725e3, 30, 20.683},                             /* just beyond: 7.27 * 2.845 */
    {"D", 5.725e3, 16, 20.683}, {"D", 12.40e3, 72, 69.210}, /* just inside: 7.27 * 9.52 */
    {"D", 12.40e3, 60, 69.210}, {"D", 12.60e3, 60, 56.990}, /* just beyond: the mask steps down by 13 dB */
    {"D", 12.60e3, 50, 56.990}, {"gmrs", 9.70e3, 14, NAN},  {"gmrs", 10.30e3, 30, 25},
    {"gmrs", 10.30e3, 20, 25},  {"gmrs", 19.70e3, 30, 25},  {"gmrs", 20.30e3, 30, 35},
    {"gmrs", 20.30e3, 40, 35},  {"gmrs", 49.70e3, 30, 35},  {"gmrs", 50.30e3, 20, NAN},
};

/* The worst row within 60 Hz of a place. */
static const spurity_judgement *row_at(const struct bench *bench, double hz)
{
    const spurity_judgement *worst = NULL;
    for (size_t i = 0; i < spurity_verdict_judgement_count(bench->verdict); i++) {
        const spurity_judgement *one = spurity_verdict_judgement(bench->verdict, i);
        if (!strcmp(one->quantity, "mask") && fabs(one->frequency_hz - hz) < 60 &&
            (!worst || one->margin < worst->margin))
            worst = one;
    }
    return worst;
}

static void both_sides_of_every_corner(void **state)
{
    for (size_t i = 0; i < sizeof corners / sizeof *corners; i++)
        for (int side = -1; side <= 1; side += 2) {
            const struct corner *corner = &corners[i];
            bool d = corner->mask[0] == 'D';
            double f0 = d ? D_HZ : 462.625e6;
            struct bench bench;
            struct modulated *set = set_of(f0, 100);
            probe(set, side * corner->offset_hz, 36.99 - corner->down_db, corner->offset_hz < 16e3);
            d ? put_d(&bench, set) : put_gmrs(&bench, set);
            spurity_outcome outcome = bench_judge(&bench, d ? "us-land-mobile" : "us-gmrs");
            double margin = corner->down_db - corner->attenuation_db;
            bool asked = corner->attenuation_db > 1;
            const spurity_judgement *row =
                asked ? row_at(&bench, f0 + side * corner->offset_hz) : modulated_worst(&bench, "mask");
            print_message("%s %+.3f kHz, %g dB down: %s, %.2f dB\n", corner->mask, side * corner->offset_hz / 1e3,
                          corner->down_db, spurity_outcome_name(outcome), row ? row->margin : (double)NAN);
            assert_non_null(row);
            if (!asked) {
                assert_int_equal(row->outcome, SPURITY_OUTCOME_PASS);
            } else {
                /* the probe's own tenth of a per cent of P moves the reference by 0.1 dB at most */
                assert_near(row->margin, margin, 0.3);
                assert_int_equal(row->outcome, margin > 0 ? SPURITY_OUTCOME_PASS : SPURITY_OUTCOME_FAIL);
            }
            bench_end(&bench);
        }
}

/* On the corner itself a line may lie on either side: it neither passes nor fails where the sides differ. */
static void a_line_on_the_corner(void **state)
{
    struct bench bench;
    struct modulated *set = set_of(462.625e6, 100);
    probe(set, 10e3, 17, true); /* 20 dB down at exactly 50 %: nothing asked up to there, 25 dB beyond */
    put_gmrs(&bench, set);
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(modulated_lacks(&bench, "hidden", "corner"));
    bench_end(&bench);
    set = set_of(462.625e6, 100);
    probe(set, 10e3, 7, true); /* 30 dB down: inside on both */
    put_gmrs(&bench, set);
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_PASS);
    bench_end(&bench);
}

/* Over the mask on both sides: the worst place, then the other one. */
static void every_broken_place_has_a_row(void **state)
{
    struct bench bench;
    size_t failing = 0;
    struct modulated *set = set_of(462.625e6, 300);
    probe(set, 15e3, 22, true);
    probe(set, -14e3, 19, true);
    put_gmrs(&bench, set);
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_FAIL);
    for (size_t i = 0; i < spurity_verdict_judgement_count(bench.verdict); i++)
        failing += spurity_verdict_judgement(bench.verdict, i)->outcome == SPURITY_OUTCOME_FAIL;
    assert_int_equal(failing, 2);
    const spurity_judgement *row = modulated_worst(&bench, "mask");
    assert_near(row->frequency_hz, 462.640e6, 60);
    assert_non_null(strstr(row->binding, "at +15"));
    assert_near(row->reference_bandwidth_hz, 300, 1e-9);
    bench_end(&bench);
}

/* ---- what the sweep must be ---- */

static spurity_outcome d_with(struct bench *bench, double rbw_hz, spurity_detector detector, double probe_dbm)
{
    struct modulated *set = set_of(D_HZ, rbw_hz);
    modulated_add(set, D_HZ + 9e3, probe_dbm); /* asked: 44.49 dB, -7.5 dBm */
    put(bench, set, D_HZ)->read.detector = detector;
    bench->point.bandwidth_hz = 12.5e3;
    return bench_judge(bench, "us-land-mobile");
}

static void peaks_that_are_asked(void **state)
{
    static const struct {
        double rbw_hz, probe_dbm;
        spurity_detector detector;
        spurity_outcome outcome;
        const char *reason, *words;
    } rows[] = {
        {100, -20, SPURITY_DETECTOR_MAX_HOLD, SPURITY_OUTCOME_PASS, NULL, NULL},
        {100, 0, SPURITY_DETECTOR_MAX_HOLD, SPURITY_OUTCOME_FAIL, NULL, NULL},
        {100, -20, SPURITY_DETECTOR_PEAK, SPURITY_OUTCOME_PASS, NULL, NULL},
        {100, -20, SPURITY_DETECTOR_AVERAGE, SPURITY_OUTCOME_NOT_SHOWN, "detector", "maximum hold"},
        {100, 0, SPURITY_DETECTOR_AVERAGE, SPURITY_OUTCOME_FAIL, NULL, NULL}, /* a mean over it has peaks over it */
        {30, -20, SPURITY_DETECTOR_MAX_HOLD, SPURITY_OUTCOME_NOT_SHOWN, "rbw-too-narrow", "RBW 100 Hz"},
        {300, -30, SPURITY_DETECTOR_MAX_HOLD, SPURITY_OUTCOME_PASS, NULL, NULL}, /* no less in a wider filter */
        {300, 0, SPURITY_DETECTOR_MAX_HOLD, SPURITY_OUTCOME_NOT_SHOWN, "rbw-too-wide", "RBW 100 Hz"},
        {100, -20, SPURITY_DETECTOR_UNKNOWN, SPURITY_OUTCOME_NOT_SHOWN, "detector", "maximum hold"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench bench;
        spurity_outcome outcome = d_with(&bench, rows[i].rbw_hz, rows[i].detector, rows[i].probe_dbm);
        print_message("RBW %g, %s, %g dBm: %s\n", rows[i].rbw_hz, spurity_detector_name(rows[i].detector),
                      rows[i].probe_dbm, spurity_outcome_name(outcome));
        assert_int_equal(outcome, rows[i].outcome);
        if (rows[i].reason)
            assert_true(modulated_lacks(&bench, rows[i].reason, rows[i].words));
        bench_end(&bench);
    }
}

static void means_that_are_asked(void **state)
{
    static const struct {
        double rbw_hz, probe_dbm;
        spurity_detector detector;
        spurity_outcome outcome;
        const char *reason;
    } rows[] = {
        {300, 0, SPURITY_DETECTOR_AVERAGE, SPURITY_OUTCOME_PASS, NULL}, /* asked: 25 dB, 11.99 dBm */
        {300, 20, SPURITY_DETECTOR_AVERAGE, SPURITY_OUTCOME_FAIL, NULL},
        {300, 20, SPURITY_DETECTOR_MAX_HOLD, SPURITY_OUTCOME_NOT_SHOWN, "detector"},
        {300, 0, SPURITY_DETECTOR_MAX_HOLD, SPURITY_OUTCOME_PASS, NULL},
        {1000, 0, SPURITY_DETECTOR_AVERAGE, SPURITY_OUTCOME_PASS, NULL},
        {1000, 20, SPURITY_DETECTOR_AVERAGE, SPURITY_OUTCOME_NOT_SHOWN, "rbw-too-wide"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench bench;
        struct modulated *set = set_of(462.625e6, rows[i].rbw_hz);
        modulated_add(set, 462.641e6, rows[i].probe_dbm);
        put_gmrs(&bench, set);
        bench.sources[0].read.detector = rows[i].detector;
        bench_judge(&bench, "us-gmrs");
        const spurity_judgement *row = modulated_worst(&bench, "mask");
        assert_non_null(row);
        print_message("RBW %g, %s, %g dBm: %s\n", rows[i].rbw_hz, spurity_detector_name(rows[i].detector),
                      rows[i].probe_dbm, spurity_outcome_name(row->outcome));
        assert_int_equal(row->outcome, rows[i].outcome);
        if (rows[i].reason)
            assert_true(modulated_lacks(&bench, rows[i].reason, NULL));
        bench_end(&bench);
    }
}

/* Noise filling the mask's stretch reads by its density: 30 Hz readings weigh 10 dB more in 300 Hz. */
static void narrow_readings_are_summed(void **state)
{
    struct bench bench;
    struct modulated *set = set_of(462.625e6, 30);
    for (int i = 0; i < 30; i++) /* lines 30 Hz apart, as good as filled: 300 Hz hold 10.645 of them */
        modulated_add(set, 462.641e6 + 30 * i, 0);
    put_gmrs(&bench, set);
    bench_judge(&bench, "us-gmrs");
    const spurity_judgement *row = modulated_worst(&bench, "mask");
    assert_near(row->measured, 10.27 - 36.99, 0.3);
    bench_end(&bench);
}

static void a_floor_over_the_mask(void **state)
{
    struct bench bench;
    struct modulated *set = set_of(462.625e6, 300);
    set->sweep.floor_dbm = 5; /* 32 dB down where 35 are asked */
    put_gmrs(&bench, set);
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(modulated_lacks(&bench, "floor-near-limit", "noise"));
    bench_end(&bench);
}

static void a_sweep_that_ends_early(void **state)
{
    struct bench bench;
    struct modulated *set = set_of(462.625e6, 300);
    set->sweep.start_hz = 462.595e6;
    set->sweep.stop_hz = 462.655e6;
    set->sweep.points = 601;
    put_gmrs(&bench, set);
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(modulated_lacks(&bench, "not-swept", "300 Hz RBW"));
    bench_end(&bench);
}

/* ---- state of the set ---- */

static void state_of_the_set(void **state)
{
    static const struct {
        spurity_modulation modulation;
        double probe_dbm;
        spurity_outcome outcome;
    } rows[] = {
        {SPURITY_MODULATION_UNSAID, 20, SPURITY_OUTCOME_NOT_SHOWN},
        {SPURITY_MODULATION_NONE, 20, SPURITY_OUTCOME_NOT_SHOWN},
        {SPURITY_MODULATION_VOICE, 0, SPURITY_OUTCOME_NOT_SHOWN},
        {SPURITY_MODULATION_VOICE, 20, SPURITY_OUTCOME_FAIL},
        {SPURITY_MODULATION_TEST, 0, SPURITY_OUTCOME_PASS},
        {SPURITY_MODULATION_TEST, 20, SPURITY_OUTCOME_FAIL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench bench;
        struct modulated *set = set_of(462.625e6, 300);
        modulated_add(set, 462.641e6, rows[i].probe_dbm);
        put_gmrs(&bench, set);
        bench.point.modulation = rows[i].modulation;
        assert_int_equal(bench_judge(&bench, "us-gmrs"), rows[i].outcome);
        if (rows[i].outcome == SPURITY_OUTCOME_NOT_SHOWN)
            assert_true(modulated_lacks(&bench, "modulation-unfit", "2.5 kHz tone, 16 dB above"));
        bench_end(&bench);
    }
}

static void a_bare_carrier_is_no_test(void **state)
{
    struct bench bench;
    struct modulated set = {.sweep = modulated_sweep(462.625e6, 36.99, 130e3, 300)};
    set.sweep.lines = set.lines;
    modulated_add(&set, 462.625e6, 36.99);
    put_gmrs(&bench, &set);
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(modulated_lacks(&bench, "modulation-unfit", "reads as a line"));
    bench_end(&bench);
}

/* Read so finely that every sideband is a line of its own, the strongest of them not the carrier: the whole of them is
 * the carrier, about its middle. */
static void sidebands_read_apart_are_one_carrier(void **state)
{
    struct bench bench;
    struct modulated set = {.sweep = modulated_sweep(462.625e6, 36.99, 130e3, 30)};
    set.sweep.lines = set.lines;
    modulated_add(&set, 462.625e6, 26.99); /* a tenth in the carrier, 0.45 in each of two sidebands */
    modulated_add(&set, 462.6225e6, 33.52);
    modulated_add(&set, 462.6275e6, 33.52);
    put_gmrs(&bench, &set);
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_PASS);
    const spurity_carrier *carrier = spurity_measurement_carrier(bench.measurement);
    assert_near(carrier->frequency_hz, 462.625e6, 60);
    assert_near(carrier->level_dbm, 36.99, 0.1);
    assert_near(carrier->width_hz, 5e3, 10);
    bench_end(&bench);
}

/* The reference is all of the carrier's power, by a meter if there is one, never its highest reading. */
static void reference_is_the_whole_power(void **state)
{
    struct bench bench;
    struct modulated *set = set_of(462.625e6, 100);
    modulated_add(set, 462.641e6, 9); /* 28 dB below P; 25 below the carrier's line */
    put_gmrs(&bench, set);
    bench_judge(&bench, "us-gmrs");
    assert_near(modulated_worst(&bench, "mask")->margin, 3, 0.15);
    bench_end(&bench);
}

/* ---- frequency, width, deviation ---- */

static spurity_outcome frequency_of(struct bench *bench, double hz, double told_hz, double ppm, const char *rules)
{
    struct modulated set = {.sweep = modulated_sweep(hz, 36.99, 60e3, 300)};
    set.sweep.lines = set.lines;
    modulated_add(&set, hz, 36.99);
    put(bench, &set, told_hz);
    bench->point.modulation = SPURITY_MODULATION_NONE;
    bench->point.only = SPURITY_GROUP_FREQUENCY;
    bench->point.reference_ppm = ppm;
    bench->point.bandwidth_hz = strcmp(rules, "us-murs") ? 12.5e3 : NAN;
    bench->point.station = strcmp(rules, "us-murs") ? "mobile" : NULL;
    return bench_judge(bench, rules);
}

/* 151.82 MHz, 5 ppm (47 CFR 95.2765): 759 Hz.  460.0125 MHz, mobile, 12.5 kHz, 2.5 ppm (90.213): 1150 Hz. */
static void frequency_error(void **state)
{
    struct bench bench;
    assert_int_equal(frequency_of(&bench, 151.8203e6, NAN, 0.5, "us-murs"), SPURITY_OUTCOME_PASS);
    const spurity_judgement *row = modulated_worst(&bench, "frequency error");
    assert_near(row->measured, 300, 5);
    assert_near(row->limit, 759.1, 0.05);
    assert_near(row->margin, 459.1, 5);
    assert_true(row->uncertainty > 75.9 && row->uncertainty < 110);
    assert_string_equal(row->unit, "Hz");
    bench_end(&bench);
    assert_int_equal(frequency_of(&bench, 151.8191e6, NAN, 0.5, "us-murs"), SPURITY_OUTCOME_FAIL);
    assert_near(modulated_worst(&bench, "frequency error")->measured, -900, 5);
    bench_end(&bench);
    assert_int_equal(frequency_of(&bench, 151.8203e6, NAN, NAN, "us-murs"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(modulated_lacks(&bench, "reference-unknown", "--reference-ppm"));
    bench_end(&bench);
    assert_int_equal(frequency_of(&bench, 460.0129e6, 460.0125e6, 0.2, "us-land-mobile"), SPURITY_OUTCOME_PASS);
    assert_near(modulated_worst(&bench, "frequency error")->measured, 400, 5);
    bench_end(&bench);
    assert_int_equal(frequency_of(&bench, 460.0129e6, NAN, 0.2, "us-land-mobile"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(modulated_lacks(&bench, "nominal-unknown", "--carrier"));
    bench_end(&bench);
}

static void frequency_error_while_modulated(void **state)
{
    struct bench bench;
    struct modulated *set = set_of(151.8203e6, 300);
    put(&bench, set, 151.82e6);
    bench.point.only = SPURITY_GROUP_FREQUENCY;
    bench.point.reference_ppm = 0.5;
    assert_int_equal(bench_judge(&bench, "us-murs"), SPURITY_OUTCOME_PASS);
    const spurity_judgement *row = modulated_worst(&bench, "frequency error");
    assert_near(row->measured, 300, 15);
    assert_non_null(strstr(row->binding, "modulated"));
    bench_end(&bench);
    set = set_of(151.8203e6, 300); /* one sideband: where its carrier was cannot be told */
    put(&bench, set, 151.82e6);
    bench.point.only = SPURITY_GROUP_FREQUENCY;
    bench.point.emission = "J3E";
    bench.point.reference_ppm = 0.5;
    bench_judge(&bench, "us-murs");
    assert_true(!modulated_worst(&bench, "frequency error") ||
                modulated_worst(&bench, "frequency error")->outcome != SPURITY_OUTCOME_PASS);
    bench_end(&bench);
}

static void occupied_bandwidth(void **state)
{
    static const struct {
        double rbw_hz, floor_dbm;
        const char *reason;
    } rows[] = {{300, -60, NULL}, {3000, -60, "rbw-too-wide"}, {300, 0, "floor-near-limit"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench bench;
        struct modulated *set = set_of(462.625e6, rows[i].rbw_hz);
        modulated_add(set, 462.629e6, 17); /* 1 % each side: 8 kHz */
        modulated_add(set, 462.621e6, 17);
        set->sweep.floor_dbm = rows[i].floor_dbm;
        put_gmrs(&bench, set);
        bench_judge(&bench, "us-gmrs");
        const spurity_judgement *row = modulated_worst(&bench, "occupied bandwidth");
        if (rows[i].reason)
            assert_true(modulated_lacks(&bench, rows[i].reason, NULL));
        else
            assert_near(row->measured, 8e3, 20);
        bench_end(&bench);
    }
}

static void deviation_is_not_measured(void **state)
{
    struct bench bench;
    struct modulated *set = set_of(462.625e6, 300);
    put_gmrs(&bench, set);
    bench.point.only = SPURITY_GROUP_MODULATION;
    assert_int_equal(bench_judge(&bench, "us-gmrs"), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(modulated_lacks(&bench, "not-measured", "deviation meter"));
    bench_end(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(both_sides_of_every_corner),
        cmocka_unit_test(a_line_on_the_corner),
        cmocka_unit_test(every_broken_place_has_a_row),
        cmocka_unit_test(peaks_that_are_asked),
        cmocka_unit_test(means_that_are_asked),
        cmocka_unit_test(narrow_readings_are_summed),
        cmocka_unit_test(a_floor_over_the_mask),
        cmocka_unit_test(a_sweep_that_ends_early),
        cmocka_unit_test(state_of_the_set),
        cmocka_unit_test(a_bare_carrier_is_no_test),
        cmocka_unit_test(sidebands_read_apart_are_one_carrier),
        cmocka_unit_test(reference_is_the_whole_power),
        cmocka_unit_test(frequency_error),
        cmocka_unit_test(frequency_error_while_modulated),
        cmocka_unit_test(occupied_bandwidth),
        cmocka_unit_test(deviation_is_not_measured),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
