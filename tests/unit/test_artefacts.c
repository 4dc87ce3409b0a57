/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Captures of invented sets, through receivers with faults of known size: what the receiver made is named, what only
 * looks like it survives, and neither becomes a wrong verdict. */
#include "../sweep.h"

static const double PI = 3.14159265358979323846;
enum { TONES = 6 };

struct tone {
    double hz, dbfs;               /* from the centre */
    double fm_hz, fm_deviation_hz; /* its own modulation; 0 = none */
};

/* A receiver and what reaches it. */
struct receiver {
    double rate_hz, center_hz;
    size_t samples;
    struct tone tones[TONES];
    double gain_db, phase_deg; /* I over Q, Q against I + 90 degrees */
    double dc_dbfs;            /* 0 = none */
    double overdrive_db;
    double noise_dbfs; /* in the whole rate */
    size_t spikes;     /* samples, evenly placed, that stand at a rail */
    uint64_t seed;
    bool real;   /* one channel: the tones' I alone */
    bool coarse; /* 8 bits */
};

static const struct receiver good = {
    .rate_hz = 1e6, .center_hz = 145e6, .samples = 600000, .noise_dbfs = -75, .seed = 20250101};

static double normal(uint64_t *state)
{
    double u = sweep_random(state), v = sweep_random(state);
    return sqrt(-2 * log(u)) * cos(2 * PI * v);
}

static void sample_of(const struct receiver *r, size_t k, uint64_t *state, double z[2])
{
    double t = (double)k / r->rate_hz, over = pow(10, r->overdrive_db / 20);
    z[0] = z[1] = 0;
    for (int i = 0; i < TONES; i++) {
        const struct tone *tone = &r->tones[i];
        if (tone->dbfs == 0 && tone->hz == 0)
            continue;
        double phase = 2 * PI * fmod(tone->hz * t, 1.0) + i;
        if (tone->fm_hz > 0)
            phase += tone->fm_deviation_hz / tone->fm_hz * sin(2 * PI * tone->fm_hz * t);
        double amplitude = over * pow(10, tone->dbfs / 20);
        z[0] += amplitude * cos(phase);
        z[1] += amplitude * sin(phase);
    }
    double sigma = pow(10, r->noise_dbfs / 20) / sqrt(2.0);
    z[0] += sigma * normal(state);
    z[1] += sigma * normal(state);
    /* I is g times as large, Q lags by phi: I' = g I, Q' = Q cos phi + I sin phi */
    double phi = r->phase_deg * PI / 180, i = z[0];
    z[0] = i * pow(10, r->gain_db / 20);
    z[1] = z[1] * cos(phi) + i * sin(phi);
    if (r->dc_dbfs < 0)
        z[0] += pow(10, r->dc_dbfs / 20);
}

static int16_t quantised(double x)
{
    return (int16_t)fmax(-32768, fmin(32767, floor(x * 32768 + 0.5)));
}

static spurity_source *add_capture(struct bench *bench, const struct receiver *r, double full_scale_dbm)
{
    static char paths[8][64];
    static int turn;
    char *path = paths[turn++ % 8];
    snprintf(path, 64, "capture-%d-%d.raw", (int)getpid(), turn % 8);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    uint64_t state = r->seed;
    for (size_t k = 0; k < r->samples; k++) {
        double z[2];
        sample_of(r, k, &state, z);
        int16_t iq[2] = {quantised(z[0]), quantised(z[1])};
        if (r->spikes && k % (r->samples / r->spikes) == 1000)
            iq[0] = 32767;
        int8_t coarse[2] = {(int8_t)fmax(-128, fmin(127, rint(z[0] * 128))),
                            (int8_t)fmax(-128, fmin(127, rint(z[1] * 128)))};
        if (r->coarse)
            assert_int_equal(fwrite(coarse, sizeof coarse, 1, file), 1);
        else
            assert_int_equal(fwrite(iq, r->real ? sizeof *iq : sizeof iq, 1, file), 1);
    }
    fclose(file);
    spurity_source *source = &bench->sources[bench->point.source_count++];
    spurity_read_options_init(&source->read);
    source->path = path;
    source->chain = bench->chain;
    source->read.rate_hz = r->rate_hz;
    source->read.center_hz = r->center_hz;
    source->read.datatype_said = true;
    assert_true(spurity_sample_format_parse(r->coarse ? "ci8"
                                            : r->real ? "ri16_le"
                                                      : "ci16_le",
                                            r->coarse ? 3 : 7, &source->read.datatype, NULL));
    source->read.full_scale_dbm = full_scale_dbm;
    return source;
}

/* 5 W (37 dBm) through 40 dB is -3 dBm: -6 dBFS where full scale is +3 dBm. */
static void start(struct bench *bench)
{
    bench_start(bench);
    assert_ok(spurity_chain_add_pad_text(bench->chain, "40dB,2G", &bench->error), &bench->error);
    bench->point.modulation = SPURITY_MODULATION_NONE;
    bench->point.carrier_hz = 145.15e6;
    bench->point.range_from_hz = 144.65e6;
    bench->point.range_to_hz = 145.35e6;
    bench->point.only = SPURITY_GROUP_EMISSIONS;
}

static const spurity_emission *at(const struct bench *bench, double hz)
{
    const spurity_emission *best = NULL;
    for (size_t i = 0; i < spurity_measurement_emission_count(bench->measurement); i++) {
        const spurity_emission *e = spurity_measurement_emission(bench->measurement, i);
        if (e->seen && fabs(e->frequency_hz - hz) < 1e3 && (!best || e->level_dbm > best->level_dbm))
            best = e;
    }
    return best;
}

static const spurity_not_shown *not_shown_at(const struct bench *bench, double hz, const char *reason)
{
    for (size_t i = 0; i < spurity_verdict_not_shown_count(bench->verdict); i++) {
        const spurity_not_shown *one = spurity_verdict_not_shown(bench->verdict, i);
        if (one->clause && one->from_hz <= hz + 1e3 && hz - 1e3 <= one->to_hz && !strcmp(one->reason, reason))
            return one;
    }
    return NULL;
}

static const spurity_judgement *judgement_at(const struct bench *bench, double hz)
{
    for (size_t i = 0; i < spurity_verdict_judgement_count(bench->verdict); i++) {
        const spurity_judgement *one = spurity_verdict_judgement(bench->verdict, i);
        if (one->emission >= 0 && fabs(one->frequency_hz - hz) < 1e3)
            return one;
    }
    return NULL;
}

/* 0.5 dB and 3 degrees: 28.20 dB of rejection by (1 + 2 g cos p + g^2) / (1 - 2 g cos p + g^2), textbook form, worked
 * here by itself. */
static void image_is_named(void **state)
{
    struct bench bench;
    struct receiver r = good;
    r.tones[0] = (struct tone){.hz = 150e3, .dbfs = -6};
    r.gain_db = 0.5;
    r.phase_deg = 3;
    double g = pow(10, 0.5 / 20), c = cos(3 * PI / 180);
    double rejection = 10 * log10((1 + 2 * g * c + g * g) / (1 - 2 * g * c + g * g));
    assert_near(rejection, 28.20, 0.01);
    start(&bench);
    add_capture(&bench, &r, 3);
    spurity_outcome outcome = bench_judge(&bench, "us-amateur");
    const spurity_emission *e = at(&bench, 144.85e6);
    assert_non_null(e);
    assert_int_equal(e->kind, SPURITY_ARTEFACT);
    assert_int_equal(e->artefact, SPURITY_ARTEFACT_IMAGE);
    assert_near(e->artefact_of_hz, 145.15e6, 100);
    assert_near(e->level_dbc, -rejection, 0.1);
    assert_true(spurity_notes_has(spurity_measurement_notes(bench.measurement), SPURITY_NOTE_RECEIVER_IMAGE));
    /* 8.8 dBm against -16 dBm: no fail, and the next step stands in the headline */
    assert_int_equal(outcome, SPURITY_OUTCOME_NOT_SHOWN);
    const spurity_not_shown *gap = not_shown_at(&bench, 144.85e6, "receiver-artefact");
    assert_non_null(gap);
    assert_non_null(strstr(gap->advice, "mirror image of 145.15 MHz"));
    assert_non_null(strstr(spurity_verdict_headline(bench.verdict), "add a capture with the receiver at"));
    bench_end(&bench);
}

/* Speech-wide FM and its image: as wide, as coherent. */
static void image_of_a_modulated_carrier_is_named(void **state)
{
    struct bench bench;
    struct receiver r = good;
    r.tones[0] = (struct tone){.hz = 150e3, .dbfs = -6, .fm_hz = 1000, .fm_deviation_hz = 2500};
    r.gain_db = 0.5;
    r.phase_deg = 3;
    start(&bench);
    bench.point.modulation = SPURITY_MODULATION_TEST;
    bench.point.emission = "16K0F3E";
    add_capture(&bench, &r, 3);
    spurity_outcome outcome = bench_judge(&bench, "us-amateur");
    size_t count = 0;
    for (size_t i = 0; i < spurity_measurement_emission_count(bench.measurement); i++) {
        const spurity_emission *e = spurity_measurement_emission(bench.measurement, i);
        if (!e->seen || fabs(e->frequency_hz - 144.85e6) > 20e3)
            continue;
        count++;
        assert_int_equal(e->artefact, SPURITY_ARTEFACT_IMAGE);
    }
    assert_true(count > 0);
    assert_int_not_equal(outcome, SPURITY_OUTCOME_FAIL);
    bench_end(&bench);
}

static void independent_spur_survives(const struct tone *spur)
{
    struct bench bench;
    struct receiver r = good;
    r.tones[0] = (struct tone){.hz = 150e3, .dbfs = -6};
    r.tones[1] = *spur;
    start(&bench);
    add_capture(&bench, &r, 3);
    spurity_outcome outcome = bench_judge(&bench, "us-amateur");
    const spurity_emission *e = at(&bench, r.center_hz + spur->hz);
    assert_non_null(e);
    assert_int_equal(e->kind, SPURITY_SPURIOUS);
    assert_int_equal(e->artefact, SPURITY_ARTEFACT_NONE);
    assert_int_equal(outcome, SPURITY_OUTCOME_FAIL);
    bench_end(&bench);
}

/* Two transforms are no looks to tell an image by: what stands exactly where one would is no fail then, and a line 150
 * Hz off is. */
static void a_short_capture_cannot_tell_an_image(void **state)
{
    for (int near = 0; near < 2; near++) {
        struct bench bench;
        struct receiver r = good;
        r.samples = 30000;
        r.tones[0] = (struct tone){.hz = 150e3, .dbfs = -6};
        r.tones[1] = (struct tone){.hz = -150e3 + 150 * near, .dbfs = -34};
        start(&bench);
        add_capture(&bench, &r, 3)->read.rbw_hz = 300;
        spurity_outcome outcome = bench_judge(&bench, "us-amateur");
        const spurity_emission *e = at(&bench, 144.85e6);
        assert_non_null(e);
        assert_int_equal(e->artefact, near ? SPURITY_ARTEFACT_NONE : SPURITY_ARTEFACT_IMAGE);
        assert_int_equal(outcome == SPURITY_OUTCOME_FAIL, near);
        assert_int_equal(!near, not_shown_at(&bench, 144.85e6, "receiver-artefact") != NULL);
        bench_end(&bench);
    }
}

/* The image of a wide signal, spread so that each resolution of it stands little over the noise. */
static void a_wide_image_in_noise_is_no_fail(void **state)
{
    struct bench bench;
    struct receiver r = good;
    r.samples = 300000;
    r.tones[0] = (struct tone){.hz = 150e3, .dbfs = -6, .fm_hz = 45, .fm_deviation_hz = 2500};
    r.gain_db = 0.06; /* 49 dB down */
    r.noise_dbfs = -29;
    start(&bench);
    bench.point.modulation = SPURITY_MODULATION_VOICE;
    bench.point.emission = "16K0F3E";
    add_capture(&bench, &r, 3);
    spurity_outcome outcome = bench_judge(&bench, "us-amateur");
    const spurity_emission *e = at(&bench, 144.85e6);
    assert_non_null(e);
    assert_int_equal(e->artefact, SPURITY_ARTEFACT_IMAGE);
    assert_int_not_equal(outcome, SPURITY_OUTCOME_FAIL);
    bench_end(&bench);
}

/* 8 bits and next to no noise: a clean carrier of 4 steps' height makes lines far over the limit by rounding alone, and
 * none is the set's.  Noise of 0.7 steps smooths them away (exp(-4 pi^2 0.52) is -89 dB), and then a spur fails. */
static void steps_of_a_converter_are_no_spurs(void **state)
{
    for (int noisy = 0; noisy < 2; noisy++) {
        struct bench bench;
        struct receiver r = good;
        size_t named = 0;
        r.coarse = true;
        r.tones[0] = (struct tone){.hz = 151234.5, .dbfs = -30};
        if (noisy)
            r.tones[1] = (struct tone){.hz = -80e3, .dbfs = -66};
        r.noise_dbfs = noisy ? -42 : -75;
        start(&bench);
        add_capture(&bench, &r, 27);
        spurity_outcome outcome = bench_judge(&bench, "us-amateur");
        for (size_t i = 0; i < spurity_measurement_emission_count(bench.measurement); i++)
            named += spurity_measurement_emission(bench.measurement, i)->artefact == SPURITY_ARTEFACT_STEPS;
        assert_int_equal(named > 0, !noisy);
        assert_int_equal(outcome, noisy ? SPURITY_OUTCOME_FAIL : SPURITY_OUTCOME_NOT_SHOWN);
        size_t open = 0;
        for (size_t i = 0; i < spurity_verdict_not_shown_count(bench.verdict); i++)
            open += !strcmp(spurity_verdict_not_shown(bench.verdict, i)->reason, "receiver-artefact");
        assert_int_equal(open > 0, !noisy);
        if (noisy)
            assert_int_equal(at(&bench, r.center_hz - 80e3)->kind, SPURITY_SPURIOUS);
        bench_end(&bench);
    }
}

static void spur_near_the_mirror_survives(void **state)
{
    independent_spur_survives(&(struct tone){.hz = -150e3 + 37, .dbfs = -34});
}

static void modulated_spur_on_the_mirror_survives(void **state)
{
    independent_spur_survives(&(struct tone){.hz = -150e3, .dbfs = -34, .fm_hz = 70, .fm_deviation_hz = 500});
}

/* A line of the set that is locked to the carrier and stands on its mirror looks like an image; a second capture, 50
 * kHz up, shows it where it was: then it is judged, and fails. */
static void other_centre_confirms_a_locked_line(void **state)
{
    for (int files = 1; files <= 2; files++) {
        struct bench bench;
        struct receiver r = good, other = good;
        r.tones[0] = (struct tone){.hz = 150e3, .dbfs = -6};
        r.tones[1] = (struct tone){.hz = -150e3, .dbfs = -34};
        other.center_hz = 145.05e6;
        other.tones[0] = (struct tone){.hz = 100e3, .dbfs = -6};
        other.tones[1] = (struct tone){.hz = -200e3, .dbfs = -34};
        other.noise_dbfs = -65; /* so that the first one serves */
        other.seed++;
        start(&bench);
        add_capture(&bench, &r, 3);
        if (files == 2)
            add_capture(&bench, &other, 3);
        spurity_outcome outcome = bench_judge(&bench, "us-amateur");
        const spurity_emission *e = at(&bench, 144.85e6);
        assert_non_null(e);
        assert_int_equal(e->file, 0);
        assert_int_equal(e->kind, files == 1 ? SPURITY_ARTEFACT : SPURITY_SPURIOUS);
        assert_int_equal(outcome, files == 1 ? SPURITY_OUTCOME_NOT_SHOWN : SPURITY_OUTCOME_FAIL);
        bench_end(&bench);
    }
}

/* The centre: over the limit not shown; under it an upper bound that passes. */
static void centre_is_named(void **state)
{
    for (int loud = 0; loud < 2; loud++) {
        struct bench bench;
        struct receiver r = good;
        r.tones[0] = (struct tone){.hz = 150e3, .dbfs = -6};
        r.dc_dbfs = loud ? -40 : -67;
        start(&bench);
        add_capture(&bench, &r, 3);
        bench_judge(&bench, "us-amateur");
        const spurity_emission *e = at(&bench, 145e6);
        assert_non_null(e);
        assert_int_equal(e->kind, SPURITY_ARTEFACT);
        assert_int_equal(e->artefact, SPURITY_ARTEFACT_CENTRE);
        assert_near(e->level_dbc, r.dc_dbfs + 6, 0.2);
        assert_int_equal(not_shown_at(&bench, 145e6, "receiver-artefact") != NULL, loud);
        const spurity_judgement *row = judgement_at(&bench, 145e6);
        assert_non_null(row);
        assert_true(row->at_most);
        assert_int_equal(row->outcome == SPURITY_OUTCOME_NOT_SHOWN, loud);
        bench_end(&bench);
    }
}

/* A second capture 100 kHz up: what does not stand there at 145 MHz was the receiver's; what does is the set's. */
static void other_centre_settles(void **state)
{
    for (int real = 0; real < 2; real++) {
        struct bench bench;
        struct receiver r = good, other = good;
        r.tones[0] = (struct tone){.hz = 150e3, .dbfs = -6};
        other.tones[0] = (struct tone){.hz = 50e3, .dbfs = -6};
        other.center_hz = 145.1e6;
        other.seed++;
        if (real) {
            r.tones[1] = (struct tone){.hz = 1e-3, .dbfs = -40};
            other.tones[1] = (struct tone){.hz = -100e3, .dbfs = -40};
        } else {
            r.dc_dbfs = -40;
        }
        start(&bench);
        add_capture(&bench, &r, 3);
        add_capture(&bench, &other, 3);
        bench_judge(&bench, "us-amateur");
        const spurity_judgement *row = judgement_at(&bench, 145e6);
        const spurity_emission *e = at(&bench, 145e6);
        if (real) {
            assert_non_null(e);
            assert_non_null(row);
            assert_int_equal(e->kind, SPURITY_SPURIOUS);
            assert_int_equal(row->outcome, SPURITY_OUTCOME_FAIL);
        } else if (e) {
            assert_int_equal(e->artefact, SPURITY_ARTEFACT_CENTRE);
            assert_true(e->at_most_dbc < -55);
            assert_non_null(row);
            assert_int_not_equal(row->outcome, SPURITY_OUTCOME_FAIL);
        }
        assert_null(not_shown_at(&bench, 145e6, "receiver-artefact"));
        bench_end(&bench);
    }
}

/* Overdriven by 1 dB: -28.7 dBc at -3 f, -32.1 at +5 f, the carrier 0.38 dB low (Fourier series of a clipped cosine,
 * worked apart from the library), 30.0 % of the components at a rail; a line beside it is 3.1 dB low. */
static void clipping_is_named(void **state)
{
    struct bench bench;
    struct receiver r = good;
    r.tones[0] = (struct tone){.hz = 61037.1, .dbfs = -1e-9};
    r.overdrive_db = 1;
    start(&bench);
    bench.point.carrier_hz = 145.0610371e6;
    add_capture(&bench, &r, -3);
    spurity_outcome outcome = bench_judge(&bench, "us-amateur");
    spurity_clipping clipping;
    assert_true(spurity_measurement_clipping(bench.measurement, 0, &clipping));
    assert_near(clipping.share, 0.300, 0.005);
    assert_near(clipping.carrier_low_db, 0.38, 0.01);
    assert_near(clipping.line_low_db, 3.1, 0.1);
    assert_false(clipping.blind);
    const double expected[][2] = {{-3 * 61037.1, -28.7}, {5 * 61037.1, -32.1}};
    for (int i = 0; i < 2; i++) {
        const spurity_emission *e = at(&bench, 145e6 + expected[i][0]);
        assert_non_null(e);
        assert_int_equal(e->kind, SPURITY_ARTEFACT);
        assert_int_equal(e->artefact, SPURITY_ARTEFACT_CLIPPING);
        assert_near(e->artefact_of_hz, 145.0610371e6, 100);
        assert_near(e->level_dbc, expected[i][1], 0.1);
    }
    assert_int_equal(outcome, SPURITY_OUTCOME_NOT_SHOWN);
    assert_non_null(not_shown_at(&bench, 145e6 - 3 * 61037.1, "receiver-artefact"));
    bench_end(&bench);
}

/* A spur that stands elsewhere in a capture that clips hard is no product of its carrier, yet may be of the clipping;
 * five samples at a rail of 600,000 cannot have made one 40 dB down: that fails. */
static void clipping_excuses_what_it_can_make(void **state)
{
    for (int hard = 0; hard < 2; hard++) {
        struct bench bench;
        struct receiver r = good;
        r.tones[0] = (struct tone){.hz = 61037.1, .dbfs = hard ? -1e-9 : -1};
        r.tones[1] = (struct tone){.hz = -100e3, .dbfs = -40};
        r.overdrive_db = hard;
        r.spikes = hard ? 0 : 5;
        start(&bench);
        bench.point.carrier_hz = 145.0610371e6;
        add_capture(&bench, &r, -3);
        bench_judge(&bench, "us-amateur");
        spurity_clipping clipping;
        assert_true(spurity_measurement_clipping(bench.measurement, 0, &clipping));
        const spurity_emission *e = at(&bench, 144.9e6);
        const spurity_judgement *row = judgement_at(&bench, 144.9e6);
        assert_non_null(e);
        assert_non_null(row);
        assert_int_equal(e->kind, SPURITY_SPURIOUS);
        assert_int_equal(e->clipped, hard);
        assert_int_equal(row->outcome, hard ? SPURITY_OUTCOME_NOT_SHOWN : SPURITY_OUTCOME_FAIL);
        assert_int_equal(not_shown_at(&bench, 144.9e6, "clipped") != NULL, hard);
        if (hard) /* 3.1 dB lower than it is; the carrier by 0.4 dB */
            assert_near(e->level_dbc, -40 - 3.09 + 0.38, 0.1);
        bench_end(&bench);
    }
}

/* One channel: the same series stands at 3 f and, folded at half the rate, at 1 MHz - 13 f. */
static void clipping_of_real_samples_is_named(void **state)
{
    struct bench bench;
    struct receiver r = good;
    r.real = true;
    r.center_hz = 0;
    r.tones[0] = (struct tone){.hz = 61037.1, .dbfs = -1e-9};
    r.overdrive_db = 1;
    start(&bench);
    bench.point.carrier_hz = 61037.1;
    bench.point.range_from_hz = bench.point.range_to_hz = (double)NAN;
    add_capture(&bench, &r, -3);
    bench_measure(&bench);
    const double expected[][2] = {{3 * 61037.1, -28.7}, {5 * 61037.1, -32.1}, {1e6 - 13 * 61037.1, (double)NAN}};
    for (int i = 0; i < 3; i++) {
        const spurity_emission *e = at(&bench, expected[i][0]);
        assert_non_null(e);
        assert_int_equal(e->artefact, SPURITY_ARTEFACT_CLIPPING);
        if (!isnan(expected[i][1]))
            assert_near(e->level_dbc, expected[i][1], 0.1);
    }
    bench_end(&bench);
}

/* Overdriven by 6 dB two thirds of the components stand at the rails: of such a file nothing is shown, not even where
 * it looks clean. */
static void nothing_is_shown_of_a_ruined_capture(void **state)
{
    struct bench bench;
    struct receiver r = good;
    r.tones[0] = (struct tone){.hz = 61037.1, .dbfs = -1e-9};
    r.overdrive_db = 6;
    start(&bench);
    bench.point.carrier_hz = 145.0610371e6;
    add_capture(&bench, &r, -3);
    spurity_outcome outcome = bench_judge(&bench, "us-amateur");
    spurity_clipping clipping;
    assert_true(spurity_measurement_clipping(bench.measurement, 0, &clipping));
    assert_near(clipping.share, 0.666, 0.005);
    assert_true(clipping.blind);
    assert_int_equal(outcome, SPURITY_OUTCOME_NOT_SHOWN);
    double widest = 0; /* stretches, not just the products */
    for (size_t i = 0; i < spurity_verdict_not_shown_count(bench.verdict); i++) {
        const spurity_not_shown *one = spurity_verdict_not_shown(bench.verdict, i);
        if (!strcmp(one->reason, "clipped"))
            widest = fmax(widest, one->to_hz - one->from_hz);
    }
    assert_true(widest > 200e3);
    bench_end(&bench);
}

/* A product of order 3 falls by 20 dB at the terminal for 10 dB less before the converter; a line of the set stays. */
static void name_by_gain(double product_dbfs, double more_pad_db, double less_gain_db)
{
    struct bench bench;
    struct receiver r = good, less = good;
    char pad[32];
    r.tones[0] = (struct tone){.hz = 150e3, .dbfs = -6};
    r.tones[1] = (struct tone){.hz = -203e3, .dbfs = -36};
    r.tones[2] = (struct tone){.hz = 90e3, .dbfs = -46};
    less.tones[0] = (struct tone){.hz = 150e3, .dbfs = -16};
    less.tones[1] = (struct tone){.hz = -203e3, .dbfs = product_dbfs};
    less.tones[2] = (struct tone){.hz = 90e3, .dbfs = -56};
    less.noise_dbfs = -78;
    less.seed++;
    start(&bench);
    spurity_chain *more = NULL;
    snprintf(pad, sizeof pad, "%gdB,2G", 40 + more_pad_db);
    assert_ok(spurity_chain_create(&more, &bench.error), &bench.error);
    assert_ok(spurity_chain_add_pad_text(more, pad, &bench.error), &bench.error);
    add_capture(&bench, &r, 3);
    add_capture(&bench, &less, 3 + less_gain_db)->chain = more;
    bench_judge(&bench, "us-amateur");
    const spurity_emission *product = at(&bench, 144.797e6), *line = at(&bench, 145.09e6);
    assert_non_null(product);
    assert_non_null(line);
    assert_int_equal(product->kind, SPURITY_ARTEFACT);
    assert_int_equal(product->artefact, SPURITY_ARTEFACT_GAIN);
    assert_int_equal(line->kind, SPURITY_SPURIOUS);
    const spurity_not_shown *gap = not_shown_at(&bench, 144.797e6, "receiver-artefact");
    assert_non_null(gap);
    assert_non_null(strstr(gap->advice, "10 dB more pad"));
    bench_end(&bench);
    spurity_chain_free(more);
}

static void gain_is_named(void **state)
{
    name_by_gain(-66, 10, 0);  /* another pad */
    name_by_gain(-66, 0, 10);  /* another gain, as full scale tells */
    name_by_gain(-130, 10, 0); /* gone in the noise */
}

/* ---- real recordings: 8-bit receivers without calibration ---- */

static bool measure_real(struct bench *bench, const char *name, double rate_hz, double center_hz, double carrier_hz)
{
    static char path[512];
    const char *folder = getenv("SPURITY_DATA");
    snprintf(path, sizeof path, "%s/%s", folder ? folder : ".", name);
    if (access(path, R_OK)) {
        print_message("SKIPPED: %s is not there\n", name);
        return false;
    }
    bench_start(bench);
    spurity_source *source = &bench->sources[bench->point.source_count++];
    spurity_read_options_init(&source->read);
    source->path = path;
    source->read.rate_hz = rate_hz;
    source->read.center_hz = center_hz;
    source->read.datatype_said = true;
    assert_true(spurity_sample_format_parse("cu8", 3, &source->read.datatype, NULL));
    bench->point.carrier_hz = carrier_hz;
    bench_measure(bench);
    return true;
}

/* A burst 279.8 kHz above the centre (found apart from the library, data/README.md there).  Nothing reads at its mirror
 * over what 8 bits let see, and none of its own side lobes is taken for an image; the one component of 204,800 at a
 * rail excuses next to nothing. */
static void real_recording_off_centre(void **state)
{
    struct bench bench;
    if (!measure_real(&bench, "meter-868625k-2400ksps.cu8", 2.4e6, 868.625e6, 868.9048e6))
        return;
    spurity_clipping clipping;
    assert_true(spurity_measurement_clipping(bench.measurement, 0, &clipping));
    const spurity_spectrum_facts *facts =
        spurity_spectrum_facts_of(spurity_measurement_file(bench.measurement, 0)->spectrum);
    assert_near(clipping.share * 204800 * facts->duty, 1, 1e-6); /* of the key-down time */
    assert_true(clipping.line_low_db < 1e-3);
    const spurity_carrier *carrier = spurity_measurement_carrier(bench.measurement);
    /* its two tones, +229.8 and +329.8 kHz, lie within what was read as the carrier */
    assert_true(fabs(868.9048e6 - carrier->frequency_hz) + 50e3 < carrier->width_hz / 2);
    for (size_t i = 0; i < spurity_measurement_emission_count(bench.measurement); i++) {
        const spurity_emission *e = spurity_measurement_emission(bench.measurement, i);
        assert_int_not_equal(e->artefact, SPURITY_ARTEFACT_IMAGE);
        assert_false(e->seen && fabs(e->frequency_hz - (868.625e6 - 279.8e3)) < 60e3);
    }
    bench_end(&bench);
}

/* 12,001 components at 0 or 255 (counted apart, data/README.md there), all within bursts: what stands beside the
 * carrier is no more than the clipping can have made, and none of it is held against the set. */
static void real_recording_that_clips(void **state)
{
    struct bench bench;
    if (!measure_real(&bench, "meter-868950k-1600ksps.cu8", 1.6e6, 868.95e6, 868.939e6))
        return;
    spurity_clipping clipping;
    assert_true(spurity_measurement_clipping(bench.measurement, 0, &clipping));
    assert_false(clipping.blind);
    assert_true(clipping.share > 12001.0 / 2097152);
    assert_true(spurity_notes_has(spurity_measurement_notes(bench.measurement), SPURITY_NOTE_CLIPPED));
    size_t far = 0;
    for (size_t i = 0; i < spurity_measurement_emission_count(bench.measurement); i++) {
        const spurity_emission *e = spurity_measurement_emission(bench.measurement, i);
        if (e->seen && fabs(e->frequency_hz - 868.939e6) > 300e3) {
            assert_true(e->clipped);
            far++;
        }
    }
    assert_true(far > 0);
    bench_end(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(image_is_named),
        cmocka_unit_test(image_of_a_modulated_carrier_is_named),
        cmocka_unit_test(a_short_capture_cannot_tell_an_image),
        cmocka_unit_test(steps_of_a_converter_are_no_spurs),
        cmocka_unit_test(a_wide_image_in_noise_is_no_fail),
        cmocka_unit_test(spur_near_the_mirror_survives),
        cmocka_unit_test(modulated_spur_on_the_mirror_survives),
        cmocka_unit_test(other_centre_confirms_a_locked_line),
        cmocka_unit_test(centre_is_named),
        cmocka_unit_test(other_centre_settles),
        cmocka_unit_test(clipping_is_named),
        cmocka_unit_test(clipping_excuses_what_it_can_make),
        cmocka_unit_test(clipping_of_real_samples_is_named),
        cmocka_unit_test(nothing_is_shown_of_a_ruined_capture),
        cmocka_unit_test(gain_is_named),
        cmocka_unit_test(real_recording_off_centre),
        cmocka_unit_test(real_recording_that_clips),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
