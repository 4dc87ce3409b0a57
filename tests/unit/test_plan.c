/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Plans: what is refused, what would be harmed, what is not enough, and that what is planned leaves no gap. */
#include "../check.h"
#include "spurity.h"

struct bench {
    spurity_test_point point;
    spurity_plan_question question;
    spurity_rules *rules[2];
    const spurity_rules *list[2];
    spurity_chain *chain;
    spurity_plan *plan;
    spurity_error error;
};

/* A hand-held of 5 W on 2 m, an instrument that stands 10 dBm and shows -110 dBm in 10 kHz. */
static void start(struct bench *b)
{
    *b = (struct bench){0};
    spurity_test_point_init(&b->point);
    spurity_plan_question_init(&b->question);
    assert_ok(spurity_rules_load("us-amateur", &b->rules[0], &b->error), &b->error);
    assert_ok(spurity_chain_create(&b->chain, &b->error), &b->error);
    b->list[0] = b->rules[0];
    b->point.carrier_hz = 146.94e6;
    b->point.power_low_w = b->point.power_high_w = 5;
    b->question.point = &b->point;
    b->question.rules = b->list;
    b->question.rules_count = 1;
    b->question.max_input_dbm = 10;
    b->question.noise_dbm = -110;
    b->question.noise_rbw_hz = 10e3;
}

static void use_rules(struct bench *b, const char *id)
{
    spurity_rules_free(b->rules[0]);
    b->rules[0] = NULL;
    assert_ok(spurity_rules_load(id, &b->rules[0], &b->error), &b->error);
    b->list[0] = b->rules[0];
}

static void pad(struct bench *b, const char *text)
{
    assert_ok(spurity_chain_add_pad_text(b->chain, text, &b->error), &b->error);
    b->question.chain = b->chain;
}

static void curve(struct bench *b, const char *name, const double *hz, const double *db, size_t count)
{
    spurity_curve *made;
    assert_ok(spurity_curve_create(hz, db, NULL, count, &made, &b->error), &b->error);
    assert_ok(spurity_chain_add_curve(b->chain, name, made, (double)NAN, &b->error), &b->error);
    b->question.chain = b->chain;
}

static spurity_plan_outcome plan(struct bench *b)
{
    spurity_plan_free(b->plan);
    b->plan = NULL;
    assert_ok(spurity_plan_create(&b->question, NULL, &b->plan, &b->error), &b->error);
    assert_true(spurity_plan_caution_count(b->plan) >= 10);
    assert_true(strlen(spurity_plan_headline(b->plan)) > 20);
    return spurity_plan_outcome_of(b->plan);
}

static void end(struct bench *b)
{
    spurity_plan_free(b->plan);
    spurity_chain_free(b->chain);
    spurity_rules_free(b->rules[0]);
    spurity_rules_free(b->rules[1]);
}

static bool headline_holds(const struct bench *b, const char *word)
{
    return strstr(spurity_plan_headline(b->plan), word) != NULL;
}

static bool needs(const struct bench *b, const char *option)
{
    for (size_t i = 0; i < spurity_plan_need_count(b->plan); i++)
        if (!strcmp(spurity_plan_need_at(b->plan, i)->option, option))
            return true;
    return false;
}

static bool cautions(const struct bench *b, const char *word)
{
    for (size_t i = 0; i < spurity_plan_caution_count(b->plan); i++)
        if (strstr(spurity_plan_caution_at(b->plan, i), word))
            return true;
    return false;
}

static const spurity_plan_visibility *place(const struct bench *b, const char *what)
{
    for (size_t i = 0; i < spurity_plan_visibility_count(b->plan); i++)
        if (!strcmp(spurity_plan_visibility_at(b->plan, i)->what, what))
            return spurity_plan_visibility_at(b->plan, i);
    fail_msg("no row '%s'", what);
    return NULL;
}

/* ---- what is refused ---- */

static void refuse(struct bench *b, const char *word)
{
    char text[900];
    spurity_plan *made = (spurity_plan *)&text;
    b->error = (spurity_error){0};
    assert_int_equal(spurity_plan_create(&b->question, NULL, &made, &b->error), SPURITY_INVALID);
    assert_null(made);
    spurity_error_describe(&b->error, text, sizeof text);
    if (!strstr(text, word))
        fail_msg("'%s' does not name %s", text, word);
}

static void questions_that_cannot_be(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    b.point.carrier_hz = (double)NAN;
    refuse(&b, "--carrier");
    b.point.carrier_hz = 146.94;
    refuse(&b, "--carrier");
    b.point.carrier_hz = 146.94e6;
    b.point.power_low_w = 0;
    refuse(&b, "--power");
    b.point.power_low_w = 5;
    b.question.rules_count = 0;
    refuse(&b, "--rules");
    b.question.rules_count = 1;
    b.question.noise_rbw_hz = (double)NAN;
    refuse(&b, "--noise");
    b.question.noise_rbw_hz = 10e3;
    b.question.noise_dbm = -150; /* below thermal noise in 10 kHz */
    refuse(&b, "--noise");
    b.question.noise_dbm = -110;
    b.question.max_input_dbm = 300;
    refuse(&b, "--max-input");
    b.question.max_input_dbm = 10;
    b.question.rate_hz = 0;
    refuse(&b, "--rate");
    b.question.rate_hz = (double)INFINITY;
    refuse(&b, "--rate");
    b.question.rate_hz = (double)NAN;
    b.question.second_harmonic_intercept_dbm = (double)INFINITY;
    refuse(&b, "--second-harmonic-intercept");
    b.question.second_harmonic_intercept_dbm = (double)NAN;
    assert_ok(spurity_chain_set_kind(b.chain, SPURITY_CHAIN_CORRECTED, &b.error), &b.error);
    b.question.chain = b.chain;
    refuse(&b, "--corrected");
    end(&b);
}

static bool stop(void *user, const char *what, double fraction)
{
    (void)user, (void)what, (void)fraction;
    return false;
}

static void stopped_on_request(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    spurity_watch watch = {.tick = stop};
    assert_int_equal(spurity_plan_create(&b.question, &watch, &b.plan, &b.error), SPURITY_CANCELLED);
    assert_null(b.plan);
    end(&b);
}

/* ---- safety ---- */

static void rated_pads_and_noise_are_ready(void **state)
{
    (void)state;
    struct bench b;
    spurity_plan_figures figures;
    start(&b);
    pad(&b, "30dB,50W");
    pad(&b, "20dB,2W");
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    spurity_plan_figures_of(b.plan, &figures);
    assert_near(figures.pad_db, 50, 0);
    assert_near(figures.attenuation_db, 40, 0); /* 36.99 - 10 + 10, in steps of 10 */
    assert_near(figures.headroom_db, 10 - (36.9897 - 50), 1e-3);
    assert_near(figures.from_hz, 30e6, 0);
    assert_near(figures.to_hz, 1469.4e6, 1);
    for (size_t i = 0; i < spurity_plan_visibility_count(b.plan); i++)
        assert_int_equal(spurity_plan_visibility_at(b.plan, i)->shown, 1);
    assert_null(spurity_plan_attenuator_at(b.plan, 2));
    assert_null(spurity_plan_sweep_at(b.plan, spurity_plan_sweep_count(b.plan)));
    assert_null(spurity_plan_caution_at(b.plan, spurity_plan_caution_count(b.plan)));
    end(&b);
}

static void a_missing_pad_is_told(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    pad(&b, "30dB,50W");
    pad(&b, "10dB,2W");
    plan(&b);
    const spurity_plan_attenuator *first = spurity_plan_attenuator_at(b.plan, 0);
    assert_near(first->missing_input_dbm, 26.9897, 1e-3); /* 5 W behind 10 dB alone */
    assert_true(first->missing_harms);
    assert_true(cautions(&b, "WITHOUT the first"));
    const spurity_plan_attenuator *second = spurity_plan_attenuator_at(b.plan, 1);
    assert_near(second->missing_input_dbm, 6.9897, 1e-3);
    assert_false(second->missing_harms); /* 10 dBm is borne */
    end(&b);
}

/* The first pad left out, the instrument would live and the second pad not. */
static void what_follows_counts(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    b.question.max_input_dbm = 30;
    pad(&b, "20dB,50W");
    pad(&b, "20dB,2W");
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    const spurity_plan_attenuator *first = spurity_plan_attenuator_at(b.plan, 0);
    assert_near(first->missing_input_dbm, 16.9897, 1e-3);
    assert_true(first->missing_harms);
    end(&b);
}

static void harm_is_told(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    assert_ok(spurity_chain_set_kind(b.chain, SPURITY_CHAIN_DIRECT, &b.error), &b.error);
    b.question.chain = b.chain;
    assert_int_equal(plan(&b), SPURITY_PLAN_HARMFUL);
    assert_true(headline_holds(&b, "37.0 dBm"));
    assert_true(cautions(&b, "DO NOT KEY"));
    end(&b);
    start(&b); /* the small pad first */
    pad(&b, "10dB,2W");
    pad(&b, "40dB,50W");
    assert_int_equal(plan(&b), SPURITY_PLAN_HARMFUL);
    assert_true(spurity_plan_attenuator_at(b.plan, 0)->harmed);
    assert_false(spurity_plan_attenuator_at(b.plan, 1)->harmed);
    assert_true(headline_holds(&b, "rated for 2 W"));
    end(&b);
}

/* The higher end of a range harms. */
static void the_higher_power_counts(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    pad(&b, "40dB,10W");
    b.point.power_low_w = 1;
    b.point.power_high_w = 12;
    assert_int_equal(plan(&b), SPURITY_PLAN_HARMFUL);
    b.point.power_high_w = 9;
    assert_int_equal(plan(&b), SPURITY_PLAN_READY); /* 10.5 dB under the damage limit */
    end(&b);
}

static void what_is_unsaid_is_not_enough(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    pad(&b, "50dB");
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_true(needs(&b, "--pad"));
    end(&b);
    start(&b);
    pad(&b, "50dB,50W");
    b.question.max_input_dbm = (double)NAN;
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_true(needs(&b, "--max-input"));
    assert_true(headline_holds(&b, "--max-input"));
    spurity_plan_figures figures;
    spurity_plan_figures_of(b.plan, &figures);
    assert_true(isnan(figures.attenuation_db) && isnan(figures.headroom_db));
    end(&b);
    start(&b);
    pad(&b, "50dB,50W");
    b.question.noise_dbm = b.question.noise_rbw_hz = (double)NAN;
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_true(needs(&b, "--noise"));
    assert_int_equal(place(&b, "harmonic 2")->shown, -1);
    assert_true(isnan(place(&b, "harmonic 2")->bound_dbm));
    end(&b);
}

static void too_little_margin_is_not_enough(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    pad(&b, "36dB,50W"); /* 0.99 dBm: 9.01 dB are left */
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_true(headline_holds(&b, "add 10 dB of pad"));
    end(&b);
    start(&b);
    pad(&b, "37dB,50W");
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    end(&b);
}

static void pads_are_proposed(void **state)
{
    (void)state;
    struct bench b;
    static const double watts[] = {0.01, 0.5, 5, 50, 100, 1500};
    for (size_t i = 0; i < sizeof watts / sizeof *watts; i++) {
        start(&b);
        b.point.power_low_w = b.point.power_high_w = watts[i];
        assert_int_equal(plan(&b), SPURITY_PLAN_READY);
        spurity_plan_figures figures;
        spurity_plan_figures_of(b.plan, &figures);
        double sum = 0;
        for (size_t k = 0; k < spurity_plan_attenuator_count(b.plan); k++) {
            const spurity_plan_attenuator *one = spurity_plan_attenuator_at(b.plan, k);
            assert_true(one->proposed);
            assert_true(one->rating_w >= 2 * one->arriving_w * (1 - 1e-9));
            sum += one->db;
        }
        assert_near(sum, figures.attenuation_db, 1e-9);
        assert_true(figures.headroom_db >= 10 - 1e-9);
        assert_true(isnan(figures.pad_db));
        end(&b);
    }
}

/* A pad at more than half its rating gets its rest. */
static void hot_pads_rest(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    pad(&b, "50dB,8W");
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    assert_non_null(strstr(spurity_plan_attenuator_at(b.plan, 0)->why, "10 s"));
    end(&b);
}

static void amplitude_modulation_peaks(void **state)
{
    (void)state;
    struct bench b;
    spurity_plan_figures figures;
    start(&b);
    use_rules(&b, "us-cb");
    b.point.carrier_hz = 27.185e6;
    b.point.power_low_w = b.point.power_high_w = 4;
    b.point.emission = "A3E";
    pad(&b, "50dB,50W");
    plan(&b);
    spurity_plan_figures_of(b.plan, &figures);
    assert_near(figures.level_at_instrument_dbm, 36.0206 + 6.0206 - 50, 1e-3);
    end(&b);
}

/* ---- filters and losses ---- */

static const double notch_hz[] = {1e6, 140e6, 147e6, 154e6, 2e9};
static const double notch_db[] = {1, 1, 50, 1, 1};

static void a_filter_wants_a_pad_before_it(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    curve(&b, "notch.csv", notch_hz, notch_db, 5);
    pad(&b, "30dB,50W");
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_true(headline_holds(&b, "at least 10 dB of rated pad"));
    end(&b);
    start(&b);
    pad(&b, "20dB,50W");
    curve(&b, "notch.csv", notch_hz, notch_db, 5);
    plan(&b);
    assert_false(headline_holds(&b, "at least 10 dB of rated pad"));
    assert_non_null(strstr(spurity_plan_attenuator_at(b.plan, 1)->why, "filter"));
    end(&b);
}

static void beyond_the_chain_nothing_is_shown(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    pad(&b, "50dB,500M,50W");
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_int_equal(place(&b, "harmonic 3")->shown, 1);
    assert_int_equal(place(&b, "harmonic 4")->shown, 0);
    assert_non_null(strstr(place(&b, "harmonic 4")->advice, "FMAX"));
    assert_int_equal(place(&b, "30 MHz to 1 GHz")->shown, 0);
    end(&b);
    start(&b); /* a table that does not reach the carrier: what arrives is not known */
    static const double hz[] = {200e6, 2e9}, db[] = {50, 50};
    curve(&b, "pad.csv", hz, db, 2);
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_true(isnan(spurity_plan_attenuator_at(b.plan, 0)->db));
    end(&b);
}

/* ---- visibility ---- */

static void a_high_floor_is_told(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    pad(&b, "50dB,50W");
    b.question.noise_dbm = -60;
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    const spurity_plan_visibility *range = place(&b, "30 MHz to 1 GHz");
    assert_int_equal(range->shown, 0);
    assert_true(range->margin_db < 0);
    assert_true(strlen(range->advice) > 20);
    end(&b);
}

/* A lower floor never shows less, and a harmonic that was shown stays so. */
static void less_noise_shows_more(void **state)
{
    (void)state;
    struct bench b;
    double before = -(double)INFINITY;
    size_t shown = 0;
    start(&b);
    pad(&b, "50dB,50W");
    for (double noise = -60; noise >= -130; noise -= 5) {
        b.question.noise_dbm = noise;
        plan(&b);
        double room = place(&b, "30 MHz to 1 GHz")->margin_db;
        size_t now = 0;
        for (size_t i = 0; i < spurity_plan_visibility_count(b.plan); i++)
            now += spurity_plan_visibility_at(b.plan, i)->shown == 1;
        assert_true(room >= 1 - 1e-9 || room > before);
        assert_true(now >= shown || now >= 12);
        before = room;
        shown = now;
    }
    end(&b);
}

static void no_figure_is_no_pass(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    b.point.carrier_hz = 433.5e6; /* above 225 MHz the rules have words alone */
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    assert_true(headline_holds(&b, "no figure"));
    assert_int_equal(place(&b, "harmonic 2")->shown, -1);
    assert_null(place(&b, "harmonic 2")->clause);
    assert_true(isnan(place(&b, "harmonic 2")->limit_dbm));
    end(&b);
}

/* Of two rule sets the stricter binds: -13 dBm against 60 dB below 50 W (-13.01 dBm). */
static void the_stricter_rules_bind(void **state)
{
    (void)state;
    struct bench b;
    spurity_clause_facts facts;
    start(&b);
    b.point.power_low_w = b.point.power_high_w = 5;
    b.point.station = "amateur";
    assert_ok(spurity_rules_load("itu-a", &b.rules[1], &b.error), &b.error);
    b.list[1] = b.rules[1];
    b.question.rules_count = 2;
    pad(&b, "50dB,50W");
    plan(&b);
    const spurity_plan_visibility *harmonic = place(&b, "harmonic 2");
    assert_int_equal(harmonic->rules, 0);
    spurity_clause_facts_of(harmonic->clause, &facts);
    assert_string_equal(facts.clause, "97.307(e)");
    assert_near(harmonic->limit_dbm, -16.0206, 1e-3);
    end(&b);
}

/* A kind of station that decides nothing is not asked for: 4 W keep every cap of the service, 40 W some. */
static void the_station_is_asked_where_it_decides(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    use_rules(&b, "us-gmrs");
    b.point.carrier_hz = 462.575e6;
    b.point.emission = "F3E";
    b.point.bandwidth_hz = 20e3;
    b.point.power_low_w = b.point.power_high_w = 4;
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    b.point.power_low_w = b.point.power_high_w = 40;
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_true(needs(&b, "--station"));
    b.point.station = "mobile";
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    end(&b);
}

static void a_range_without_harmonics_is_not_enough(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    b.point.range_from_hz = 100e6;
    b.point.range_to_hz = 400e6;
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_true(headline_holds(&b, "harmonic 3"));
    b.point.range_to_hz = 600e6;
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    assert_int_equal(place(&b, "harmonic 4")->shown, 1);
    end(&b);
}

/* ---- no gap ---- */

static void sweeps_leave_no_gap(void **state)
{
    (void)state;
    static const struct {
        const char *rules;
        double hz, watts;
    } rows[] = {{"us-amateur", 1.9e6, 100}, {"us-amateur", 29.6e6, 100}, {"us-amateur", 146.94e6, 5},
                {"us-gmrs", 462.575e6, 40}, {"us-cb", 27.185e6, 4},      {"eu-pmr446", 446.00625e6, 0.5}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench b;
        spurity_plan_figures figures;
        start(&b);
        use_rules(&b, rows[i].rules);
        b.point.carrier_hz = rows[i].hz;
        b.point.power_low_w = b.point.power_high_w = rows[i].watts;
        plan(&b);
        spurity_plan_figures_of(b.plan, &figures);
        double reached = figures.from_hz;
        for (size_t k = 0; k < spurity_plan_sweep_count(b.plan); k++) { /* parts come in order */
            const spurity_plan_sweep *one = spurity_plan_sweep_at(b.plan, k);
            assert_true(one->stop_hz > one->start_hz && one->rbw_hz > 0 && one->points >= 101 && one->sweeps >= 1);
            double cell = (one->stop_hz - one->start_hz) / (double)(one->points - 1);
            if (one->detector == SPURITY_DETECTOR_AVERAGE)
                assert_true(cell <= one->rbw_hz / 2 * (1 + 1e-6));
            if (one->purpose == SPURITY_PLAN_RANGE && one->start_hz <= reached && one->stop_hz > reached)
                reached = one->stop_hz;
        }
        assert_true(reached >= figures.to_hz);
        end(&b);
    }
}

/* Whether hz lies in the trusted band of a capture and not at its centre. */
static bool captured(const spurity_plan *p, double hz, double clear_hz)
{
    for (size_t i = 0; i < spurity_plan_capture_count(p); i++) {
        const spurity_plan_capture *one = spurity_plan_capture_at(p, i);
        if (one->purpose < SPURITY_PLAN_LEAKAGE && one->from_hz <= hz && hz <= one->to_hz &&
            fabs(hz - one->center_hz) > clear_hz)
            return true;
    }
    return false;
}

static void captures_leave_no_gap(void **state)
{
    (void)state;
    static const double rates[] = {1e6, 2.4e6, 10e6, 61.44e6};
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++) {
        struct bench b;
        spurity_plan_figures figures;
        start(&b);
        b.question.rate_hz = rates[i];
        assert_int_equal(plan(&b), SPURITY_PLAN_READY);
        spurity_plan_figures_of(b.plan, &figures);
        assert_int_equal(spurity_plan_sweep_count(b.plan), 0);
        double step = rates[i] / 137, clear = rates[i] / 100;
        for (double hz = figures.from_hz; hz < figures.to_hz; hz += step)
            assert_true(captured(b.plan, hz, clear));
        for (size_t k = 0; k < spurity_plan_capture_count(b.plan); k++) {
            const spurity_plan_capture *one = spurity_plan_capture_at(b.plan, k);
            double n = fmax(1, round(one->center_hz / 146.94e6));
            assert_true(fabs(one->center_hz - n * 146.94e6) > clear);
            assert_true(one->seconds * one->rbw_hz >= 16);
        }
        end(&b);
    }
}

static void a_narrow_receiver_is_told(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    b.question.rate_hz = 48e3;
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_int_equal(place(&b, "the range between harmonics")->shown, 0);
    assert_true(spurity_plan_capture_count(b.plan) < 100);
    assert_true(captured(b.plan, 293.88e6, 480));
    end(&b);
}

/* ---- groups ---- */

static void frequency_wants_a_reference(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    use_rules(&b, "us-frs");
    b.point.carrier_hz = 462.5625e6;
    b.point.power_low_w = b.point.power_high_w = 2;
    b.point.antenna_gain_dbd = 0;
    b.point.only = SPURITY_GROUP_FREQUENCY;
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_true(needs(&b, "--reference-ppm"));
    b.point.reference_ppm = 0.1;
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    assert_true(spurity_plan_sweep_count(b.plan) >= 1);
    assert_int_equal(spurity_plan_sweep_at(b.plan, 0)->purpose, SPURITY_PLAN_CARRIER);
    end(&b);
}

static void masks_want_modulation(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    use_rules(&b, "us-land-mobile");
    b.point.carrier_hz = 453.5e6;
    b.point.emission = "F3E";
    b.point.bandwidth_hz = 11.25e3;
    b.point.station = "mobile";
    b.point.audio_filter = 1;
    b.point.only = SPURITY_GROUP_MASK;
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_true(needs(&b, "--modulation"));
    b.point.modulation = SPURITY_MODULATION_TEST;
    plan(&b);
    size_t masks = 0;
    for (size_t i = 0; i < spurity_plan_sweep_count(b.plan); i++)
        masks += spurity_plan_sweep_at(b.plan, i)->purpose == SPURITY_PLAN_MASK &&
                 fabs(spurity_plan_sweep_at(b.plan, i)->rbw_hz - 100) < 1e-9; /* mask D: 100 Hz, 47 CFR 90.210(d) */
    assert_true(masks >= 1);
    end(&b);
}

/* With the set modulated the verdict leaves what stands near the carrier open: the plan says so beforehand. */
static void modulation_leaves_the_near_open(void **state)
{
    (void)state;
    struct bench b;
    start(&b);
    b.point.emission = "F3E";
    b.point.modulation = SPURITY_MODULATION_TEST;
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_true(headline_holds(&b, "modulated"));
    end(&b);
}

/* An instrument whose own harmonic could come near the limit gets its pad steps. */
static void pad_steps_are_planned(void **state)
{
    (void)state;
    struct bench b;
    size_t steps = 0;
    start(&b);
    pad(&b, "40dB,50W");
    b.question.second_harmonic_intercept_dbm = 40;
    plan(&b);
    for (size_t i = 0; i < spurity_plan_sweep_count(b.plan); i++)
        steps += spurity_plan_sweep_at(b.plan, i)->more_pad_db > 0;
    assert_int_equal(steps, 2); /* harmonic 2 with 10 and 20 dB */
    b.question.second_harmonic_intercept_dbm = 80;
    plan(&b);
    for (size_t i = 0; i < spurity_plan_sweep_count(b.plan); i++)
        assert_near(spurity_plan_sweep_at(b.plan, i)->more_pad_db, 0, 0);
    end(&b);
}

static void every_service_can_be_planned(void **state)
{
    (void)state;
    static const double carriers[] = {1.9e6,    7.1e6,    27.185e6,    72.11e6,  146.94e6,
                                      154.57e6, 462.55e6, 446.00625e6, 1296.2e6, 24.1e9};
    for (size_t r = 0; r < spurity_rules_builtin_count(); r++)
        for (size_t c = 0; c < sizeof carriers / sizeof *carriers; c++) {
            struct bench b;
            start(&b);
            use_rules(&b, spurity_rules_builtin_id(r));
            b.point.carrier_hz = carriers[c];
            assert_true(plan(&b) <= SPURITY_PLAN_NOT_ENOUGH);
            b.point.modulation = SPURITY_MODULATION_TEST;
            b.point.only = 31;
            assert_true(plan(&b) <= SPURITY_PLAN_NOT_ENOUGH);
            b.question.rate_hz = 20e6;
            assert_true(plan(&b) <= SPURITY_PLAN_NOT_ENOUGH);
            end(&b);
        }
}

static void words(void **state)
{
    (void)state;
    assert_string_equal(spurity_plan_outcome_name(SPURITY_PLAN_NOT_ENOUGH), "not enough");
    assert_null(spurity_plan_outcome_name((spurity_plan_outcome)9));
    assert_string_equal(spurity_plan_purpose_name(SPURITY_PLAN_LEAKAGE), "leakage");
    assert_null(spurity_plan_purpose_name((spurity_plan_purpose)9));
    spurity_plan_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(questions_that_cannot_be),
        cmocka_unit_test(stopped_on_request),
        cmocka_unit_test(rated_pads_and_noise_are_ready),
        cmocka_unit_test(a_missing_pad_is_told),
        cmocka_unit_test(what_follows_counts),
        cmocka_unit_test(harm_is_told),
        cmocka_unit_test(the_higher_power_counts),
        cmocka_unit_test(what_is_unsaid_is_not_enough),
        cmocka_unit_test(too_little_margin_is_not_enough),
        cmocka_unit_test(pads_are_proposed),
        cmocka_unit_test(hot_pads_rest),
        cmocka_unit_test(amplitude_modulation_peaks),
        cmocka_unit_test(a_filter_wants_a_pad_before_it),
        cmocka_unit_test(beyond_the_chain_nothing_is_shown),
        cmocka_unit_test(a_high_floor_is_told),
        cmocka_unit_test(less_noise_shows_more),
        cmocka_unit_test(no_figure_is_no_pass),
        cmocka_unit_test(the_stricter_rules_bind),
        cmocka_unit_test(the_station_is_asked_where_it_decides),
        cmocka_unit_test(a_range_without_harmonics_is_not_enough),
        cmocka_unit_test(sweeps_leave_no_gap),
        cmocka_unit_test(captures_leave_no_gap),
        cmocka_unit_test(a_narrow_receiver_is_told),
        cmocka_unit_test(frequency_wants_a_reference),
        cmocka_unit_test(masks_want_modulation),
        cmocka_unit_test(modulation_leaves_the_near_open),
        cmocka_unit_test(pad_steps_are_planned),
        cmocka_unit_test(every_service_can_be_planned),
        cmocka_unit_test(words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
