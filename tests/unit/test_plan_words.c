/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What a plan says of itself: where the carrier lies, what was not asked or confirmed, what is worst and what settles
 * it, linearity, and frequencies that can be typed. */
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

static void use(struct bench *b, size_t index, const char *id)
{
    spurity_rules_free(b->rules[index]);
    b->rules[index] = NULL;
    assert_ok(spurity_rules_load(id, &b->rules[index], &b->error), &b->error);
    b->list[index] = b->rules[index];
    if (b->question.rules_count <= index)
        b->question.rules_count = index + 1;
}

static void pad(struct bench *b, const char *text)
{
    assert_ok(spurity_chain_add_pad_text(b->chain, text, &b->error), &b->error);
    b->question.chain = b->chain;
}

static void new_chain(struct bench *b)
{
    spurity_chain_free(b->chain);
    assert_ok(spurity_chain_create(&b->chain, &b->error), &b->error);
    b->question.chain = NULL;
}

/* 5 W; an instrument that stands 20 dBm and shows -110 dBm in 10 kHz. */
static void start(struct bench *b, const char *id, double carrier_hz)
{
    *b = (struct bench){0};
    spurity_test_point_init(&b->point);
    spurity_plan_question_init(&b->question);
    new_chain(b);
    b->question.rules = b->list;
    use(b, 0, id);
    b->point.carrier_hz = carrier_hz;
    b->point.power_low_w = b->point.power_high_w = 5;
    b->question.point = &b->point;
    b->question.max_input_dbm = 20;
    b->question.noise_dbm = -110;
    b->question.noise_rbw_hz = 10e3;
}

static spurity_plan_outcome plan(struct bench *b)
{
    spurity_plan_free(b->plan);
    b->plan = NULL;
    assert_ok(spurity_plan_create(&b->question, NULL, &b->plan, &b->error), &b->error);
    return spurity_plan_outcome_of(b->plan);
}

static void end(struct bench *b)
{
    spurity_plan_free(b->plan);
    spurity_chain_free(b->chain);
    spurity_rules_free(b->rules[0]);
    spurity_rules_free(b->rules[1]);
}

static void expect(const struct bench *b, const char *word)
{
    if (!strstr(spurity_plan_headline(b->plan), word))
        fail_msg("'%s' does not say '%s'", spurity_plan_headline(b->plan), word);
}

static void expect_not(const struct bench *b, const char *word)
{
    if (strstr(spurity_plan_headline(b->plan), word))
        fail_msg("'%s' says '%s'", spurity_plan_headline(b->plan), word);
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

/* ---- where the carrier lies ---- */

/* 47 CFR 97.301(a): 144-148 MHz; (b): 1800-2000 kHz is the lowest that the file lists. */
static void out_of_every_band_is_not_enough(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-amateur", 150e6);
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    expect(&b, "150 MHz lies in no band that us-amateur lists");
    expect(&b, "148 MHz");
    b.point.carrier_hz = 146.52e3; /* the M forgotten */
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    expect(&b, "146.52 kHz");
    expect(&b, "1.8 MHz");
    b.question.max_input_dbm = (double)NAN; /* a slip of the carrier comes before what else is unsaid */
    plan(&b);
    expect(&b, "1.8 MHz");
    b.question.max_input_dbm = 20;
    b.point.carrier_hz = 147.995e6; /* 8 kHz on both sides */
    b.point.bandwidth_hz = 16e3;
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    expect(&b, "reaches over the edge");
    b.point.carrier_hz = 147.99e6; /* 2 kHz are left, 50 ppm are 7.4 kHz, 1 ppm 148 Hz */
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    expect(&b, "the band conditional until --reference-ppm");
    b.point.reference_ppm = 1;
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    expect_not(&b, "conditional");
    b.point.reference_ppm = (double)NAN;
    b.point.carrier_hz = 147.9e6;
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    b.point.carrier_hz = 150e6;
    b.point.only = SPURITY_GROUP_EMISSIONS; /* bands are of the group power */
    plan(&b);
    expect_not(&b, "no band");
    end(&b);
}

/* 47 CFR 95.1763: channels from 462.550 to 462.725 MHz, and around 467.6 MHz. */
static void off_every_channel_is_not_enough(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-gmrs", 463.5e6);
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    expect(&b, "463.5 MHz is on no channel of us-gmrs");
    expect(&b, "462.725 MHz");
    end(&b);
}

/* A channel of 20 kHz at 462.575 MHz: 50 ppm, an unlocked crystal, are 23 kHz. */
static void an_unsaid_reference_leaves_the_channel_conditional(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-gmrs", 462.575e6);
    b.point.emission = "F3E";
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    expect(&b, "channel conditional until --reference-ppm");
    expect(&b, "not asked: masks (--modulation test), frequency (--reference-ppm)");
    expect(&b, "unwanted emissions and power");
    assert_true(needs(&b, "--reference-ppm") && needs(&b, "--modulation"));
    b.point.reference_ppm = 1;
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    expect_not(&b, "channel");
    expect_not(&b, "frequency (--reference-ppm)");
    assert_false(needs(&b, "--reference-ppm"));
    b.point.reference_ppm = 30; /* 13.9 kHz off at worst, 10 kHz are there */
    plan(&b);
    assert_int_equal(place(&b, "frequency within 5 ppm")->shown, 0);
    end(&b);
    start(&b, "us-amateur", 146.94e6); /* no channels, no mask, no tolerance */
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    expect_not(&b, "conditional");
    expect_not(&b, "not asked");
    end(&b);
}

static void an_allowed_error_has_its_row(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-gmrs", 462.575e6); /* 95.1765: 5 ppm above 12.5 kHz of bandwidth */
    b.point.emission = "F3E";
    b.point.reference_ppm = 1;
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    assert_int_equal(place(&b, "frequency within 5 ppm")->shown, 1);
    b.point.reference_ppm = 10;
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    assert_int_equal(place(&b, "frequency within 5 ppm")->shown, 0);
    expect(&b, "frequency within 5 ppm");
    end(&b);
}

static void figures_nobody_confirmed_are_conditional(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-amateur", 146.94e6);
    use(&b, 1, "itu-a");
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    expect(&b, "conditional at best, by figures not confirmed (itu-a)");
    /* each judges in its own range: nothing asks us-amateur for less than 30 MHz */
    assert_int_equal(place(&b, "9 kHz to 150 kHz")->rules, 1);
    assert_int_equal(place(&b, "150 kHz to 30 MHz")->rules, 1);
    assert_int_equal(place(&b, "30 MHz to 1 GHz")->rules, 0);
    end(&b);
}

/* ---- what is short ---- */

static void the_worst_gap_leads_and_its_change_settles_all(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-amateur", 146.94e6);
    pad(&b, "40dB,0.3dB,6G,50W");
    b.question.noise_dbm = -75;
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    const spurity_plan_visibility *worst = NULL;
    size_t count = 0;
    for (size_t i = 0; i < spurity_plan_visibility_count(b.plan); i++) {
        const spurity_plan_visibility *one = spurity_plan_visibility_at(b.plan, i);
        count += one->shown == 0;
        worst = one->shown == 0 && (!worst || one->margin_db < worst->margin_db) ? one : worst;
    }
    assert_true(worst && count > 1);
    char words[500];
    snprintf(words, sizeof words, "at %zu places, of which %s is the worst, %.1f dB short", count, worst->what,
             -worst->margin_db);
    expect(&b, words);
    double settles = ceil(-worst->margin_db);
    snprintf(words, sizeof words, "all are settled by %.0f dB less pad", settles);
    if (settles <= 13) /* what there is to spare */
        expect(&b, words);
    else
        expect(&b, "all are settled by a ");
    b.question.noise_dbm -= settles; /* so much less noise at the terminal, as by less pad */
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    end(&b);
}

static void captures_tell_what_they_take(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-amateur", 146.94e6);
    b.question.max_input_dbm = 0;
    b.question.rate_hz = 20e6;
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    char words[40];
    snprintf(words, sizeof words, "by %zu captures", spurity_plan_capture_count(b.plan));
    expect(&b, words);
    expect(&b, "with a filter for the carrier, or pad steps");
    end(&b);
}

/* ---- safety ---- */

static void unsaid_ratings_are_named(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-amateur", 146.94e6);
    pad(&b, "30dB");
    pad(&b, "20dB");
    assert_int_equal(plan(&b), SPURITY_PLAN_NOT_ENOUGH);
    expect(&b, "say the rating of the 30 dB pad");
    end(&b);
}

/* Linear up to about 0 dBm, a receiver up to -20 dBm (common practice; README, before keying). */
static void safe_is_not_yet_linear(void **state)
{
    (void)state;
    struct bench b;
    spurity_plan_figures figures;
    start(&b, "us-amateur", 146.94e6);
    pad(&b, "30dB,0.3dB,6G,50W"); /* 5 W: 37.0 - 30 = 7.0 dBm */
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    spurity_plan_figures_of(b.plan, &figures);
    assert_near(figures.attenuation_db, 30, 0);
    assert_near(figures.more_pad_db, 10, 0);
    assert_true(cautions(&b, "expect it to compress"));
    pad(&b, "10dB,0.3dB,6G,2W");
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    spurity_plan_figures_of(b.plan, &figures);
    assert_near(figures.more_pad_db, 0, 0);
    assert_false(cautions(&b, "expect it to compress"));
    b.question.rate_hz = 20e6; /* -3 dBm */
    plan(&b);
    spurity_plan_figures_of(b.plan, &figures);
    assert_near(figures.more_pad_db, 20, 0);
    assert_true(cautions(&b, "-20 dBm"));
    end(&b);
}

static void what_runs_warm_or_is_known_no_further_is_a_caution(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-amateur", 146.94e6);
    b.point.power_low_w = b.point.power_high_w = 50;
    pad(&b, "30dB,0.3dB,6G,50W");
    pad(&b, "20dB,0.3dB,6G,2W");
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    assert_true(cautions(&b, "The 30 dB pad gets 50 W of the 50 W it stands: key for 10 s at most"));
    assert_false(cautions(&b, "The 20 dB pad gets"));
    assert_false(cautions(&b, "To which frequency"));
    new_chain(&b);
    pad(&b, "30dB,150W");
    pad(&b, "20dB,0.3dB,6G,2W");
    plan(&b);
    assert_false(cautions(&b, "The 30 dB pad gets"));
    assert_true(cautions(&b, "To which frequency the 30 dB pad is known"));
    end(&b);
}

/* ---- what is typed ---- */

/* Whether hz has no more digits than it needs: four, or as many as put one step within 0.2 % of the span. */
static bool is_short(double hz, double span_hz)
{
    double step = pow(10, floor(log10(hz)) - 3);
    while (step > 0.0021 * span_hz)
        step /= 10;
    return fabs(hz - step * round(hz / step)) < 1e-6 * step;
}

static void look_at_sweep(const struct bench *b, const spurity_plan_sweep *one)
{
    double f0 = b->point.carrier_hz, span = one->stop_hz - one->start_hz, middle = (one->start_hz + one->stop_hz) / 2;
    if (one->purpose == SPURITY_PLAN_CARRIER || one->purpose == SPURITY_PLAN_HARMONIC) {
        assert_near(middle, f0 * round(middle / f0), 1e-3);
        double typed = one->purpose == SPURITY_PLAN_CARRIER ? span / 2 : span;
        double digits = typed / pow(10, floor(log10(typed)) - 1);
        assert_near(digits, round(digits), 1e-6);
        assert_int_equal(one->points % 2, 1); /* a point in the middle */
        return;
    }
    if (!is_short(one->start_hz, span) || !is_short(one->stop_hz, span))
        fail_msg("%.3f to %.3f", one->start_hz, one->stop_hz);
}

/* Sweeps of one purpose, in their order, from end to end of the range. */
static void cover(const struct bench *b, spurity_plan_purpose purpose)
{
    spurity_plan_figures figures;
    spurity_plan_figures_of(b->plan, &figures);
    double reached = figures.from_hz;
    for (size_t i = 0; i < spurity_plan_sweep_count(b->plan); i++) {
        const spurity_plan_sweep *one = spurity_plan_sweep_at(b->plan, i);
        if (one->purpose != purpose)
            continue;
        assert_true(one->start_hz <= reached);
        assert_true(one->seconds <= 10.1); /* a key-down */
        reached = fmax(reached, one->stop_hz);
    }
    assert_true(reached >= figures.to_hz);
}

static void frequencies_can_be_typed(void **state)
{
    (void)state;
    static const struct {
        const char *rules;
        double hz;
    } at[] = {{"us-amateur", 146.94e6}, {"us-amateur", 28.4e6},  {"us-amateur", 445.98765e6}, {"us-amateur", 1296.1e6},
              {"us-gmrs", 462.5625e6},  {"us-cb", 27.185e6},     {"us-murs", 151.82e6},       {"itu-a", 3.579545e6},
              {"itu-a", 5.76010037e9},  {"eu-amateur", 50.125e6}};
    for (size_t i = 0; i < sizeof at / sizeof *at; i++) {
        struct bench b;
        start(&b, at[i].rules, at[i].hz);
        plan(&b);
        assert_true(spurity_plan_sweep_count(b.plan) > 3);
        for (size_t k = 0; k < spurity_plan_sweep_count(b.plan); k++)
            look_at_sweep(&b, spurity_plan_sweep_at(b.plan, k));
        cover(&b, SPURITY_PLAN_LEAKAGE);
        cover(&b, SPURITY_PLAN_AMBIENT);
        end(&b);
    }
}

/* Not over the edge of what the chain is known to. */
static void no_end_is_moved_beyond_the_chain(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-gmrs", 462.575e6);
    pad(&b, "40dB,0.3dB,4625.75M,50W");
    assert_int_equal(plan(&b), SPURITY_PLAN_READY);
    for (size_t k = 0; k < spurity_plan_sweep_count(b.plan); k++)
        if (spurity_plan_sweep_at(b.plan, k)->purpose == SPURITY_PLAN_RANGE)
            assert_true(spurity_plan_sweep_at(b.plan, k)->stop_hz <= 4625750000.0);
    end(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(out_of_every_band_is_not_enough),
        cmocka_unit_test(off_every_channel_is_not_enough),
        cmocka_unit_test(an_unsaid_reference_leaves_the_channel_conditional),
        cmocka_unit_test(an_allowed_error_has_its_row),
        cmocka_unit_test(figures_nobody_confirmed_are_conditional),
        cmocka_unit_test(the_worst_gap_leads_and_its_change_settles_all),
        cmocka_unit_test(captures_tell_what_they_take),
        cmocka_unit_test(unsaid_ratings_are_named),
        cmocka_unit_test(safe_is_not_yet_linear),
        cmocka_unit_test(what_runs_warm_or_is_known_no_further_is_a_caution),
        cmocka_unit_test(frequencies_can_be_typed),
        cmocka_unit_test(no_end_is_moved_beyond_the_chain),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
