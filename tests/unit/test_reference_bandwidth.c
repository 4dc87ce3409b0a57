/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Noise-like power against a rule that names a bandwidth: invented sweeps of noise of known density.  The rules are the
 * test's own: -16 dBm everywhere beyond the necessary bandwidth, in the bandwidth each case names. */
#include "../sweep.h"

#include <unistd.h>

enum { AVERAGES = 16 };
static const double CARRIER = 146.94e6;

/* Noise of one density over a stretch, mW/Hz as dBm. */
struct hump {
    double from_hz, to_hz, dbm_per_hz;
};

struct picture {
    double start_hz, stop_hz, rbw_hz, step_hz;
    double floor_dbm_per_hz;
    double skirt_dbm_per_hz; /* carrier noise at 10 kHz, falling by 20 dB a decade; NaN none */
    struct hump humps[3];
    struct sweep_line lines[8];
};

static double density_at(const struct picture *p, double hz)
{
    double sum = pow(10, p->floor_dbm_per_hz / 10), off = fmax(fabs(hz - CARRIER), 1e3);
    if (!isnan(p->skirt_dbm_per_hz))
        sum += pow(10, p->skirt_dbm_per_hz / 10) * 1e8 / (off * off);
    for (int i = 0; i < 3; i++)
        if (hz >= p->humps[i].from_hz && hz < p->humps[i].to_hz)
            sum += pow(10, p->humps[i].dbm_per_hz / 10);
    return sum;
}

static void add(struct bench *bench, const struct picture *p)
{
    static char paths[4][64];
    spurity_source *source = &bench->sources[bench->point.source_count];
    char *path = paths[bench->point.source_count++];
    snprintf(path, 64, "band-%d-%zu.csv", (int)getpid(), bench->point.source_count);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    uint64_t state = 20260101 + (uint64_t)bench->point.source_count;
    struct sweep filter = {.rbw_hz = p->rbw_hz};
    fprintf(file, "Frequency (Hz),Level (dBm)\n");
    for (double hz = p->start_hz; hz <= p->stop_hz; hz += p->step_hz) {
        double noise = 0;
        for (int k = 0; k < AVERAGES; k++)
            noise -= log(sweep_random(&state)) / AVERAGES;
        double power = density_at(p, hz) * p->rbw_hz * sqrt(M_PI / M_LN2) / 2 * noise;
        for (int i = 0; i < 8 && p->lines[i].hz > 0; i++)
            power += sweep_line_power(&filter, &p->lines[i], hz, p->step_hz);
        fprintf(file, "%.3f,%.4f\n", hz, 10 * log10(power));
    }
    fclose(file);
    spurity_read_options_init(&source->read);
    source->path = path;
    source->read.rbw_hz = p->rbw_hz;
    source->read.detector = SPURITY_DETECTOR_AVERAGE;
    source->read.averages = AVERAGES;
    source->chain = bench->chain;
}

/* Wide enough for all harmonics of a rule that asks no further than the second, quiet, and in 100 kHz. */
static const struct picture wide = {.start_hz = 10e6,
                                    .stop_hz = 1.5e9,
                                    .rbw_hz = 100e3,
                                    .step_hz = 50e3,
                                    .floor_dbm_per_hz = -125,
                                    .skirt_dbm_per_hz = NAN,
                                    .lines = {{146.94e6, 37}}};
static const struct picture near = {.start_hz = 145.94e6,
                                    .stop_hz = 147.94e6,
                                    .rbw_hz = 1e3,
                                    .step_hz = 500,
                                    .floor_dbm_per_hz = -120,
                                    .skirt_dbm_per_hz = -65,
                                    .lines = {{146.94e6, 37}}};

static void start(struct bench *bench)
{
    bench_start(bench);
    bench_direct(bench);
    bench->point.uncertainty_dbm = bench->point.uncertainty_dbc = 1;
    bench->point.modulation = SPURITY_MODULATION_NONE;
    bench->point.lowest_hz = 20e6;
}

static spurity_outcome judge(struct bench *bench, const char *bandwidth)
{
    char path[64];
    snprintf(path, sizeof path, "./band-%d.yaml", (int)getpid());
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fprintf(file,
            "format: spurity-rules\nversion: 1\nid: band\ntitle: a test's own\nedition: none\nclauses:\n"
            "  - clause: one\n    citation: none\n    status: confirmed\n    says: spurious emissions\n"
            "    group: emissions\n    quantity: spurious emission\n    where: {from: necessary bandwidth}\n"
            "    reference_bandwidth: %s\n    limit: {level: -16 dBm}\n",
            bandwidth);
    fclose(file);
    spurity_outcome outcome = bench_judge(bench, path);
    unlink(path);
    return outcome;
}

static const spurity_judgement *judged_near(const struct bench *bench, double hz, double within)
{
    for (size_t i = 0; i < spurity_verdict_judgement_count(bench->verdict); i++) {
        const spurity_judgement *one = spurity_verdict_judgement(bench->verdict, i);
        if (one->emission >= 0 && fabs(one->frequency_hz - hz) <= within)
            return one;
    }
    return NULL;
}

static const spurity_judgement *stretch_of(const struct bench *bench)
{
    for (size_t i = 0; i < spurity_verdict_judgement_count(bench->verdict); i++)
        if (spurity_verdict_judgement(bench->verdict, i)->emission < 0)
            return spurity_verdict_judgement(bench->verdict, i);
    return NULL;
}

static const spurity_not_shown *not_shown_for(const struct bench *bench, const char *reason)
{
    for (size_t i = 0; i < spurity_verdict_not_shown_count(bench->verdict); i++)
        if (!strcmp(spurity_verdict_not_shown(bench->verdict, i)->reason, reason))
            return spurity_verdict_not_shown(bench->verdict, i);
    return NULL;
}

/* Noise of 60 kHz on the carrier's skirt, whose every reading in 1 kHz is 14 dB inside the limit: in the reference
 * bandwidth it holds -61 dBm/Hz + 47.8 dB = -13.2 dBm, and no line stands out of it. */
static void a_hump_on_the_skirt_is_no_pass(void **state)
{
    struct bench bench;
    struct picture close = near;
    for (int weak = 0; weak < 2; weak++) {
        close.humps[0] = (struct hump){CARRIER + 50e3, CARRIER + 110e3, weak ? -69 : -61};
        start(&bench);
        add(&bench, &wide);
        add(&bench, &close);
        spurity_outcome outcome = judge(&bench, "100 kHz");
        const spurity_not_shown *why = not_shown_for(&bench, "own-phase-noise-unproven");
        const spurity_judgement *stretch = stretch_of(&bench);
        if (weak) {
            /* told as what it is: the 100 kHz from the inner edge on hold 58 kHz of the hump, -21.4 dBm, and of the
             * skirt, whose density falls by the square, 1e8 (1/8e3 - 1/108e3) Hz of -65 dBm/Hz, -24.4 dBm */
            double held = 58e3 * pow(10, -6.9) + 1e8 * (1 / 8e3 - 1 / 108e3) * pow(10, -6.5);
            assert_int_equal(outcome, SPURITY_OUTCOME_PASS);
            assert_null(why);
            assert_string_equal(stretch->reading, "noise, integrated over 100 kHz");
            assert_near(stretch->measured, 10 * log10(held), 0.4);
        } else {
            assert_int_equal(outcome, SPURITY_OUTCOME_NOT_SHOWN);
            assert_non_null(why);
            assert_true(why->from_hz > CARRIER && why->to_hz < CARRIER + 220e3);
            assert_non_null(strstr(why->advice, "in any RBW"));
            assert_true(
                spurity_notes_has(spurity_measurement_notes(bench.measurement), SPURITY_NOTE_OWN_PHASE_NOISE_UNPROVEN));
        }
        bench_end(&bench);
    }
}

/* Noise as wide as the near sweep, which nothing tells from the bench's floor, in a bandwidth: no narrower RBW helps.
 */
static void a_plateau_is_not_shown(void **state)
{
    struct bench bench;
    struct picture close = near;
    close.skirt_dbm_per_hz = (double)NAN;
    close.floor_dbm_per_hz = -66; /* -36 dBm in 1 kHz, -16 in 100 kHz */
    start(&bench);
    add(&bench, &wide);
    add(&bench, &close);
    assert_int_equal(judge(&bench, "100 kHz"), SPURITY_OUTCOME_NOT_SHOWN);
    const spurity_not_shown *why = not_shown_for(&bench, "floor-near-limit");
    assert_non_null(why);
    assert_non_null(strstr(why->advice, "in any RBW"));
    bench_end(&bench);
    start(&bench); /* where the rule names no more than the RBW, the same sweep shows a pass */
    add(&bench, &wide);
    add(&bench, &close);
    assert_int_equal(judge(&bench, "1 kHz"), SPURITY_OUTCOME_PASS);
    bench_end(&bench);
}

/* 300 kHz of noise far from the carrier: over the floor by the test, so it is an emission and fails by what 100 kHz of
 * it hold, -61 + 50 = -11 dBm; each reading in 10 kHz stands at -20.7. */
static void a_hump_over_the_floor_fails(void **state)
{
    static const struct picture fine = {.start_hz = 190e6,
                                        .stop_hz = 210e6,
                                        .rbw_hz = 10e3,
                                        .step_hz = 5e3,
                                        .floor_dbm_per_hz = -120,
                                        .skirt_dbm_per_hz = NAN,
                                        .humps = {{199.85e6, 200.15e6, -61}}};
    struct bench bench;
    struct picture wide_too = wide;
    wide_too.humps[0] = fine.humps[0];
    start(&bench);
    add(&bench, &wide_too);
    add(&bench, &near);
    add(&bench, &fine);
    assert_int_equal(judge(&bench, "100 kHz"), SPURITY_OUTCOME_FAIL);
    const spurity_judgement *one = judged_near(&bench, 200e6, 50e3);
    assert_non_null(one);
    assert_int_equal(one->outcome, SPURITY_OUTCOME_FAIL);
    assert_string_equal(one->reading, "integrated over 100 kHz");
    assert_near(one->reference_bandwidth_hz, 100e3, 0);
    assert_near(one->measured, -11, 0.5);
    assert_true(one->uncertainty < 1.6);
    bench_end(&bench);
}

struct conversion {
    const char *bandwidth;
    double dbm_per_hz;
    spurity_outcome row;
    const char *reading;
    double measured;
};

/* 3 MHz of noise in an RBW of 100 kHz and a bandwidth of 10 kHz: 10 dB less than the RBW's. A line that could hide in
 * it is asked for besides, so that what is converted passes for the noise alone. */
static void noise_in_a_wider_rbw_is_converted(void **state)
{
    static const struct conversion cases[] = {
        {"10 kHz", -61, SPURITY_OUTCOME_PASS, "converted from RBW 100 kHz to 10 kHz", -21},
        {"10 kHz", -51, SPURITY_OUTCOME_FAIL, "converted from RBW 100 kHz to 10 kHz", -11},
        {"at least 10 kHz", -61, SPURITY_OUTCOME_PASS, "converted from RBW 100 kHz to 10 kHz", -21},
        {"at least 10 kHz", -75, SPURITY_OUTCOME_PASS, "in RBW 100 kHz, wider than asked", -25},
        {"100 kHz", -75, SPURITY_OUTCOME_PASS, "integrated over 100 kHz", -25},
        {"100 kHz", -61, SPURITY_OUTCOME_FAIL, "integrated over 100 kHz", -11},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct conversion *c = &cases[i];
        struct bench bench;
        struct picture noisy = wide;
        noisy.humps[0] = (struct hump){203e6, 206e6, c->dbm_per_hz};
        start(&bench);
        add(&bench, &noisy);
        add(&bench, &near);
        spurity_outcome outcome = judge(&bench, c->bandwidth);
        const spurity_judgement *one = judged_near(&bench, 204.5e6, 300e3);
        assert_non_null(one);
        assert_int_equal(one->outcome, c->row);
        assert_string_equal(one->reading, c->reading);
        /* the highest of tens of windows of two looks each is high by chance, which U allows for */
        assert_true(one->measured > c->measured - 0.2 && one->measured < c->measured + 1.6);
        assert_true(one->measured - one->uncertainty < c->measured);
        bool line_could_hide = !strncmp(c->reading, "converted", 9) && c->row == SPURITY_OUTCOME_PASS;
        assert_int_equal(outcome, line_could_hide ? SPURITY_OUTCOME_NOT_SHOWN : c->row);
        if (line_could_hide)
            assert_non_null(strstr(not_shown_for(&bench, "floor-near-limit")->advice, "RBW"));
        bench_end(&bench);
    }
}

/* A line reads the same whatever bandwidth is named, and two in one bandwidth are two lines: -18 dBm each, 40 kHz
 * apart, pass where -15 dBm in 100 kHz would not. */
static void lines_are_read_as_lines(void **state)
{
    static const char *const bandwidths[] = {"300 Hz", "10 kHz", "100 kHz", "1 MHz", "itu", "at least 30 kHz"};
    struct picture close = near;
    close.skirt_dbm_per_hz = -80;
    close.lines[1] = (struct sweep_line){CARRIER + 300e3, -18.5};
    close.lines[2] = (struct sweep_line){CARRIER + 340e3, -18.5};
    for (size_t i = 0; i < sizeof bandwidths / sizeof *bandwidths; i++) {
        struct bench bench;
        struct picture far = wide;
        far.lines[1] = close.lines[1];
        far.lines[2] = close.lines[2];
        start(&bench);
        add(&bench, &far);
        add(&bench, &close);
        judge(&bench, bandwidths[i]);
        for (int k = 1; k <= 2; k++) {
            const spurity_judgement *one = judged_near(&bench, close.lines[k].hz, 200);
            assert_non_null(one);
            assert_string_equal(one->reading, "a line");
            assert_near(one->measured, -18.5, 0.1);
            assert_int_equal(one->outcome, SPURITY_OUTCOME_PASS);
        }
        bench_end(&bench);
    }
}

/* Five lines 40 kHz apart through a filter of 100 kHz: how much of them 10 kHz hold cannot be told. An even share of
 * them is sure. */
static void what_is_not_resolved_is_bounded(void **state)
{
    static const double each[] = {-30, -14, 20};
    static const spurity_outcome wanted[] = {SPURITY_OUTCOME_PASS, SPURITY_OUTCOME_NOT_SHOWN, SPURITY_OUTCOME_FAIL};
    for (int i = 0; i < 3; i++) {
        struct bench bench;
        struct picture far = wide;
        for (int k = 0; k < 5; k++)
            far.lines[1 + k] = (struct sweep_line){204e6 + 40e3 * k, each[i]};
        start(&bench);
        add(&bench, &far);
        add(&bench, &near);
        judge(&bench, "10 kHz");
        const spurity_judgement *one = judged_near(&bench, 204.08e6, 60e3);
        assert_non_null(one);
        assert_int_equal(one->outcome, wanted[i]);
        assert_string_equal(one->reading, "in RBW 100 kHz, which does not resolve it");
        assert_true(one->at_most == (i < 2));
        if (i == 1)
            assert_non_null(strstr(not_shown_for(&bench, "rbw-too-wide")->advice, "RBW 10 kHz"));
        bench_end(&bench);
    }
}

/* Modulation lines taken for one emission whose centre lies outside of what is judged, and one end of which does not.
 */
static void an_emission_is_judged_where_it_reaches(void **state)
{
    struct bench bench;
    struct picture close = near;
    close.skirt_dbm_per_hz = -80;
    for (int k = 0; k < 5; k++)
        close.lines[1 + k] = (struct sweep_line){CARRIER + 300e3 + 4e3 * k, -5};
    start(&bench);
    add(&bench, &wide);
    add(&bench, &close);
    bench.point.range_from_hz = CARRIER + 312.5e3; /* the centre is at 308 kHz */
    bench.point.range_to_hz = 1.4694e9;
    assert_int_equal(judge(&bench, "100 kHz"), SPURITY_OUTCOME_FAIL);
    bench_end(&bench);
}

/* A weak second harmonic 1 kHz inside a fine sweep, which a coarse one may place outside of it: told once. */
static void a_harmonic_where_two_sweeps_meet_is_one(void **state)
{
    int both = 0;
    for (int k = 0; k < 12; k++) {
        struct bench bench;
        struct picture far = wide, fine = near;
        far.start_hz += 7e3 * k; /* other noise, and other places of its points */
        far.floor_dbm_per_hz = fine.floor_dbm_per_hz = -120;
        far.lines[1] = fine.lines[0] = (struct sweep_line){2 * CARRIER, -62};
        fine.skirt_dbm_per_hz = (double)NAN;
        fine.start_hz = 2 * CARRIER - 1e3;
        fine.stop_hz = 2 * CARRIER + 300e3;
        start(&bench);
        add(&bench, &far);
        add(&bench, &fine);
        bench_measure(&bench);
        int count = 0;
        for (size_t i = 0; i < spurity_measurement_emission_count(bench.measurement); i++) {
            const spurity_emission *e = spurity_measurement_emission(bench.measurement, i);
            if (e->kind != SPURITY_HARMONIC || e->order != 2)
                continue;
            count++;
            both += e->other_file >= 0;
            assert_near(e->level_dbm, -62, 1.0);
            assert_near(e->rbw_hz, 1e3, 0); /* the finer one tells where */
        }
        assert_int_equal(count, 1);
        bench_end(&bench);
    }
    assert_true(both > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_hump_on_the_skirt_is_no_pass),
        cmocka_unit_test(a_plateau_is_not_shown),
        cmocka_unit_test(a_hump_over_the_floor_fails),
        cmocka_unit_test(noise_in_a_wider_rbw_is_converted),
        cmocka_unit_test(lines_are_read_as_lines),
        cmocka_unit_test(what_is_not_resolved_is_bounded),
        cmocka_unit_test(an_emission_is_judged_where_it_reaches),
        cmocka_unit_test(a_harmonic_where_two_sweeps_meet_is_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
