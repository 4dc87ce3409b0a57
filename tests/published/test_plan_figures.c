/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The plan's arithmetic against textbooks and tables. */
#include "../check.h"
#include "spurity.h"

struct bench {
    spurity_test_point point;
    spurity_plan_question question;
    spurity_rules *rules;
    const spurity_rules *list[1];
    spurity_chain *chain;
    spurity_plan *plan;
    spurity_error error;
};

static void start(struct bench *b, const char *rules, double carrier_hz, double watts)
{
    *b = (struct bench){0};
    spurity_test_point_init(&b->point);
    spurity_plan_question_init(&b->question);
    assert_ok(spurity_rules_load(rules, &b->rules, &b->error), &b->error);
    assert_ok(spurity_chain_create(&b->chain, &b->error), &b->error);
    b->list[0] = b->rules;
    b->point.carrier_hz = carrier_hz;
    b->point.power_low_w = b->point.power_high_w = watts;
    b->question.point = &b->point;
    b->question.rules = b->list;
    b->question.rules_count = 1;
}

static void pad(struct bench *b, double db, double rating_w)
{
    assert_ok(spurity_chain_add_pad(b->chain, db, (double)NAN, (double)NAN, rating_w, &b->error), &b->error);
    b->question.chain = b->chain;
}

static void plan(struct bench *b)
{
    assert_ok(spurity_plan_create(&b->question, NULL, &b->plan, &b->error), &b->error);
}

static void end(struct bench *b)
{
    spurity_plan_free(b->plan);
    spurity_chain_free(b->chain);
    spurity_rules_free(b->rules);
}

/* Decibel arithmetic: 5 W is 36.990 dBm; through 40 dB it stands at -3.01 dBm, 10 dB more at -13.01 (table of W and
 * dBm; definition of the decibel). */
static void test_level_at_the_instrument(void **state)
{
    (void)state;
    for (int step = 0; step < 2; step++) {
        struct bench b;
        spurity_plan_figures figures;
        start(&b, "us-amateur", 146.94e6, 5);
        pad(&b, 40 + 10 * step, 50);
        plan(&b);
        spurity_plan_figures_of(b.plan, &figures);
        assert_near(figures.level_at_instrument_dbm, -3.0103 - 10 * step, 1e-3);
        end(&b);
    }
}

/* Heat: 50 W into 30 dB leave 49.95 W in the pad and 50 mW behind it; into 10 dB 45 W and 5 W (ratio 10^(dB/10), worked
 * by hand). */
static void test_heat(void **state)
{
    static const struct {
        double db, heat_w, behind_w;
    } rows[] = {{30, 49.95, 0.05}, {10, 45, 5}};
    (void)state;
    for (size_t i = 0; i < 2; i++) {
        struct bench b;
        start(&b, "us-amateur", 146.94e6, 50);
        pad(&b, rows[i].db, 100);
        pad(&b, 30, 10);
        plan(&b);
        assert_near(spurity_plan_attenuator_at(b.plan, 0)->into_heat_w, rows[i].heat_w, 1e-9);
        assert_near(spurity_plan_attenuator_at(b.plan, 1)->arriving_w, rows[i].behind_w, 1e-9);
        end(&b);
    }
}

/* Own products of an instrument by its intercepts, carrier at its input dBm, intercept dBm, own harmonic dBc: textbook
 * power series, (n - 1)(P - IPn); third order from the two-tone intercept, of which the third harmonic of one tone lies
 * 9.54 dB below (1/4 against 3/4 of the cubic coefficient). */
static void test_own_harmonics(void **state)
{
    static const struct {
        double level_dbm, intercept_dbm, own_dbc;
        int order;
    } rows[] = {{-40, 45, -85, 2},    {-30, 45, -75, 2},   {-20, 45, -65, 2},    {-10, 45, -55, 2},
                {-20, 30, -50, 2},    {-10, 30, -40, 2},   {-30, 10, -89.54, 3}, {-20, 10, -69.54, 3},
                {-10, 10, -49.54, 3}, {-20, 16, -81.54, 3}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench b;
        start(&b, "us-amateur", 146.94e6, 1); /* 30 dBm */
        pad(&b, 30 - rows[i].level_dbm, 10);
        *(rows[i].order == 2 ? &b.question.second_harmonic_intercept_dbm : &b.question.third_order_intercept_dbm) =
            rows[i].intercept_dbm;
        plan(&b);
        assert_int_equal(spurity_plan_own_product_count(b.plan), 1);
        const spurity_plan_own_product *own = spurity_plan_own_product_at(b.plan, 0);
        assert_int_equal(own->order, rows[i].order);
        assert_near(own->own_dbm - 30, rows[i].own_dbc, 0.005);
        end(&b);
    }
}

/* The same source: to hold the own second harmonic at -80 dBc with an intercept of +45 dBm needs -35 dBm.  Where the
 * limit is 53.01 dB below 5 W (25 uW: 47 CFR 97.307(e)), it is reached at 45 - 53.01 = -8.01 dBm. */
static void test_level_that_fakes(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-amateur", 146.94e6, 5);
    pad(&b, 60, 50);
    b.question.second_harmonic_intercept_dbm = 45;
    plan(&b);
    const spurity_plan_own_product *own = spurity_plan_own_product_at(b.plan, 0);
    assert_near(own->limit_dbm, -16.0206, 1e-3);
    assert_near(own->fakes_at_dbm, 45 - 53.0103, 1e-3);
    end(&b);
}

static const spurity_plan_visibility *seen(const spurity_plan *p, const char *what)
{
    for (size_t i = 0; i < spurity_plan_visibility_count(p); i++)
        if (!strcmp(spurity_plan_visibility_at(p, i)->what, what))
            return spurity_plan_visibility_at(p, i);
    return NULL;
}

/* Limits the regulation's own arithmetic gives, at harmonic 2: 47 CFR 97.307(e) for 30 to 225 MHz; 43 + 10 log P
 * (47 CFR 95.1779 and others) is -13 dBm at any power, 50 + 10 log P (95.2779(b)(2)) is -20 dBm. */
static void test_limits(void **state)
{
    static const struct {
        const char *rules;
        double carrier_hz, watts, limit_dbm;
    } rows[] = {{"us-amateur", 146.94e6, 0.1, -20},     {"us-amateur", 146.94e6, 0.2, -16.9897},
                {"us-amateur", 146.94e6, 1, -16.0206},  {"us-amateur", 146.94e6, 5, -16.0206},
                {"us-amateur", 146.94e6, 50, -13.0103}, {"us-amateur", 146.94e6, 100, -10},
                {"us-gmrs", 462.575e6, 5, -13},         {"us-gmrs", 462.575e6, 50, -13},
                {"us-frs", 462.5625e6, 2, -13},         {"us-murs", 151.82e6, 2, -20}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench b;
        start(&b, rows[i].rules, rows[i].carrier_hz, rows[i].watts);
        pad(&b, 50, 200);
        plan(&b);
        const spurity_plan_visibility *harmonic = seen(b.plan, "harmonic 2");
        assert_non_null(harmonic);
        assert_near(harmonic->limit_dbm, rows[i].limit_dbm, 1e-3);
        end(&b);
    }
}

/* Noise scales with the bandwidth: -110 dBm in 10 kHz is -90 dBm in 1 MHz (10 log 100 = 20 dB), and stands higher at
 * the terminal by the pad. */
static void test_floor(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-amateur", 146.94e6, 5);
    pad(&b, 50, 50);
    b.question.noise_dbm = -110;
    b.question.noise_rbw_hz = 10e3;
    plan(&b);
    for (size_t i = 0; i < spurity_plan_visibility_count(b.plan); i++) {
        const spurity_plan_visibility *one = spurity_plan_visibility_at(b.plan, i);
        assert_near(one->floor_dbm, -110 + 10 * log10(one->rbw_hz / 10e3) + 50, 1e-9);
        assert_true(one->bound_dbm > one->floor_dbm);
    }
    end(&b);
}

/* The 97.5 % bound of a line under the highest reading: the line s with F(reading; s) = 0.025, F the non-central
 * chi-square law of 2 K degrees of freedom.  Highest of 201 readings, each the average of 10, that 5 % of plans see
 * surpassed: 3.942 dB over the mean; its bound 4.729 dB (scipy 1.10.1: gamma.ppf(0.95**(1/201), 10)/10 and the root of
 * ncx2.cdf(20 y, 20, 20 s) = 0.025); plus 0.7525 dB of droop, 12.04/16. */
static void test_bound_of_a_harmonic(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-amateur", 7.1e6, 5); /* there the RBW, 10 kHz, is the reference bandwidth: lines alone hide */
    pad(&b, 50, 50);
    b.question.noise_dbm = -110;
    b.question.noise_rbw_hz = 10e3;
    plan(&b);
    const spurity_plan_visibility *harmonic = seen(b.plan, "harmonic 2");
    assert_non_null(harmonic);
    assert_near(harmonic->rbw_hz, 10e3, 0);
    assert_near(harmonic->bound_dbm - harmonic->floor_dbm, 4.729 + 12.04 / 16, 0.05);
    end(&b);
}

/* A rule limits the power in its reference bandwidth, whatever the RBW: noise of -60 dBm in a Gaussian RBW of 10 kHz
 * (noise bandwidth 10.645 kHz) is -50.27 dBm in 100 kHz (10 log 100/10.645 = 9.73 dB).  What is reckoned with is that
 * and what a window may read above its mean, a dB or two. */
static void test_noise_in_a_reference_bandwidth(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-amateur", 146.94e6, 5);
    pad(&b, 50, 50);
    b.question.noise_dbm = -110;
    b.question.noise_rbw_hz = 10e3;
    plan(&b);
    const spurity_plan_visibility *harmonic = seen(b.plan, "harmonic 2");
    assert_near(harmonic->rbw_hz, 10e3, 0);
    assert_near(harmonic->floor_dbm, -60, 1e-9);
    assert_true(harmonic->bound_dbm >= -60 + 9.73 && harmonic->bound_dbm <= -60 + 9.73 + 2);
    end(&b);
}

/* Time of a sweep: 1 GHz at 10 kHz takes 25 s by k = 2.5 (k of 2 to 3 is customary). */
static void test_time_of_a_sweep(void **state)
{
    (void)state;
    struct bench b;
    start(&b, "us-amateur", 146.94e6, 5);
    plan(&b);
    for (size_t i = 0; i < spurity_plan_sweep_count(b.plan); i++) {
        const spurity_plan_sweep *one = spurity_plan_sweep_at(b.plan, i);
        assert_near(one->seconds * (1e9 / (one->stop_hz - one->start_hz)) * pow(one->rbw_hz / 10e3, 2), 25, 1e-6);
    }
    end(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_level_at_the_instrument),
        cmocka_unit_test(test_heat),
        cmocka_unit_test(test_own_harmonics),
        cmocka_unit_test(test_level_that_fakes),
        cmocka_unit_test(test_limits),
        cmocka_unit_test(test_floor),
        cmocka_unit_test(test_bound_of_a_harmonic),
        cmocka_unit_test(test_time_of_a_sweep),
        cmocka_unit_test(test_noise_in_a_reference_bandwidth),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
