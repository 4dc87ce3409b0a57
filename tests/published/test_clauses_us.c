/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The built-in clauses of 47 CFR Parts 95 and 90 against the regulation's own arithmetic, on both sides of every
 * corner.
 *
 * Sources, none of them ours; the figures of the tables below were computed by hand from these formulas:
 * [579] 95.579(a) FRS: 25 dB from 6.25 kHz, 35 dB from 12.5 kHz, 43 + 10 log P beyond 31.25 kHz.
 * [1779] 95.1779(b) GMRS: with filter 25, 35 dB at 50, 100 % of the authorised bandwidth (20 or 12.5 kHz); without,
 *       83 log(fd/5) from 5 kHz and 116 log(fd/6.1) or 50 + 10 log P from 10 kHz; 43 + 10 log P beyond 250 %.
 * [2779] 95.2779(b) MURS: 7.27 (fd - 2.88), then 50 + 10 log P or 70 dB; 25, 35 dB; 83 log(fd/5), 29 log(fd^2/11) or
 *       50 dB; 43 + 10 log P beyond 50 kHz.
 * [979] 95.979(a) CB.  [779] 95.779 radio control.  [210] 90.210(b) to (g).  Editions: in the rule files.
 * [survey] a published survey of hand-held transmitters: 43 + 10 log 4.73 = 49.75 dB.
 * [407] 95.407 as revised 2016-10-01: the table of 40 CB channels with their numbers.
 * [621] 95.621(a) as of 53 FR 47718 (1988): the 23 GMRS frequencies of that time. */
#include "clauses.h"

#define COUNT(table) (sizeof(table) / sizeof *(table))

#define FRS(watts)                                                                                                     \
    {                                                                                                                  \
        "us-frs", 462.5625e6, watts, NULL, NULL, 0, 0                                                                  \
    }
#define GMRS(mhz, watts, filter)                                                                                       \
    {                                                                                                                  \
        "us-gmrs", mhz * 1e6, watts, "16K0F3E", NULL, filter, 0                                                        \
    }
#define MURS(mhz, watts, filter)                                                                                       \
    {                                                                                                                  \
        "us-murs", mhz * 1e6, watts, "F3E", NULL, filter, 0                                                            \
    }
#define CB(watts, emission)                                                                                            \
    {                                                                                                                  \
        "us-cb", 27.185e6, watts, emission, NULL, 0, 0                                                                 \
    }
#define RC(mhz, watts)                                                                                                 \
    {                                                                                                                  \
        "us-rcrs", mhz * 1e6, watts, NULL, NULL, 0, 0                                                                  \
    }
#define LM(mhz, watts, filter, width)                                                                                  \
    {                                                                                                                  \
        "us-land-mobile", mhz * 1e6, watts, "F3E", NULL, filter, width                                                 \
    }

static const struct place frs[] = {
    {FRS(2), 6.25e3, NULL, 0, 0}, /* [579] "more than" */
    {FRS(2), 6.2501e3, "95.579(a)(1)", 25, 300},
    {FRS(2), 12.5e3, "95.579(a)(1)", 25, 300},
    {FRS(2), 12.5001e3, "95.579(a)(2)", 35, 300},
    {FRS(2), 31.25e3, "95.579(a)(2)", 35, 300},
    {FRS(2), 31.2501e3, "95.579(a)(3)", 46.01, 30e3},
    {FRS(2), 925.125e6, "95.579(a)(3)", 46.01, 30e3},
    {FRS(0.5), 925.125e6, "95.579(a)(3)", 39.99, 30e3},
    {FRS(4.73), 925.125e6, "95.579(a)(3)", 49.75, 30e3}, /* [survey] */
};

static const struct place gmrs[] = {
    /* 20 kHz authorised: corners at 10, 20, 50 kHz */
    {GMRS(462.6, 5, 'y'), 10e3, NULL, 0, 0},
    {GMRS(462.6, 5, 'y'), 10.0001e3, "95.1779(b)(1)", 25, 300},
    {GMRS(462.6, 5, 'y'), 20e3, "95.1779(b)(1)", 25, 300},
    {GMRS(462.6, 5, 'y'), 20.0001e3, "95.1779(b)(2)", 35, 300},
    {GMRS(462.6, 5, 'y'), 50e3, "95.1779(b)(2)", 35, 300},
    {GMRS(462.6, 5, 'y'), 50.0001e3, "95.1779(b)(7)", 49.99, 30e3},
    {GMRS(462.6, 50, 'y'), 925.2e6, "95.1779(b)(7)", 59.99, 30e3},
    /* 12.5 kHz authorised: corners at 6.25, 12.5, 31.25 kHz */
    {GMRS(467.5625, 0.5, 'y'), 6.25e3, NULL, 0, 0},
    {GMRS(467.5625, 0.5, 'y'), 6.2501e3, "95.1779(b)(1)", 25, 300},
    {GMRS(467.5625, 0.5, 'y'), 12.5001e3, "95.1779(b)(2)", 35, 300},
    {GMRS(467.5625, 0.5, 'y'), 31.25e3, "95.1779(b)(2)", 35, 300},
    {GMRS(467.5625, 0.5, 'y'), 31.2501e3, "95.1779(b)(7)", 39.99, 30e3},
    /* no filter */
    {GMRS(462.6, 5, 'n'), 5e3, NULL, 0, 0},
    {GMRS(462.6, 5, 'n'), 7.5e3, "95.1779(b)(3)", 14.616, 300},
    {GMRS(462.6, 5, 'n'), 10e3, "95.1779(b)(3)", 24.985, 300},
    {GMRS(462.6, 5, 'n'), 10.0001e3, "95.1779(b)(4)", 24.902, 300},
    {GMRS(462.6, 5, 'n'), 15e3, "95.1779(b)(4)", 45.328, 300},
    {GMRS(462.6, 5, 'n'), 20e3, "95.1779(b)(4)", 56.99, 300}, /* 116 log would ask 59.82 */
    {GMRS(462.6, 5, 'n'), 50e3, "95.1779(b)(4)", 56.99, 300},
    {GMRS(462.6, 5, 'n'), 50.0001e3, "95.1779(b)(7)", 49.99, 30e3},
    /* single sideband: 50, 150, 250 % */
    {{"us-gmrs", 462.6e6, 5, "J3E", NULL, 0, 0}, 10e3, NULL, 0, 0},
    {{"us-gmrs", 462.6e6, 5, "J3E", NULL, 0, 0}, 30e3, "95.1779(b)(5)", 25, 300},
    {{"us-gmrs", 462.6e6, 5, "J3E", NULL, 0, 0}, 30.0001e3, "95.1779(b)(6)", 35, 300},
};

static const struct place murs[] = {
    {MURS(151.82, 2, 0), 5.625e3, NULL, 0, 0},
    {MURS(151.82, 2, 0), 5.6251e3, "95.2779(b)(1)", 19.957, 300},
    {MURS(151.82, 2, 0), 10e3, "95.2779(b)(1)", 51.762, 300},
    {MURS(151.82, 2, 0), 12.5e3, "95.2779(b)(1)", 69.937, 300},
    {MURS(151.82, 2, 0), 12.5001e3, "95.2779(b)(2)", 53.01, 30e3},
    {MURS(151.94, 2, 0), 303.88e6, "95.2779(b)(2)", 53.01, 30e3},
    {MURS(151.94, 110, 0), 303.88e6, "95.2779(b)(2)", 70, 30e3}, /* the lesser of 70.41 and 70 */
    {MURS(154.57, 2, 'y'), 10e3, NULL, 0, 0},
    {MURS(154.57, 2, 'y'), 10.0001e3, "95.2779(b)(3)", 25, 300},
    {MURS(154.57, 2, 'y'), 20e3, "95.2779(b)(3)", 25, 300},
    {MURS(154.57, 2, 'y'), 20.0001e3, "95.2779(b)(4)", 35, 300},
    {MURS(154.57, 2, 'y'), 50e3, "95.2779(b)(4)", 35, 300},
    {MURS(154.57, 2, 'y'), 50.0001e3, "95.2779(b)(7)", 46.01, 30e3},
    {MURS(154.6, 2, 'n'), 5e3, NULL, 0, 0},
    {MURS(154.6, 2, 'n'), 10e3, "95.2779(b)(5)", 24.985, 300},
    {MURS(154.6, 2, 'n'), 10.0001e3, "95.2779(b)(6)", 27.80, 300},
    {MURS(154.6, 2, 'n'), 15e3, "95.2779(b)(6)", 38.013, 300},
    {MURS(154.6, 2, 'n'), 24.13e3, "95.2779(b)(6)", 49.988, 300},
    {MURS(154.6, 2, 'n'), 24.15e3, "95.2779(b)(6)", 50, 300},
    {MURS(154.6, 2, 'n'), 50e3, "95.2779(b)(6)", 50, 300},
    {MURS(154.6, 2, 'n'), 50.0001e3, "95.2779(b)(7)", 46.01, 30e3},
};

static const struct place cb[] = {
    {CB(4, "A3E"), 4e3, NULL, 0, 0},
    {CB(4, "A3E"), 4.0001e3, "95.979(a)(1)", 25, 300},
    {CB(4, "A3E"), 8e3, "95.979(a)(1)", 25, 300},
    {CB(4, "F3E"), 8.0001e3, "95.979(a)(3)", 35, 300},
    {CB(4, "F3E"), 20e3, "95.979(a)(3)", 35, 300},
    {CB(4, "A3E"), 20.0001e3, "95.979(a)(5)", 59.02, 30e3},
    {CB(4, "A3E"), 54.37e6, "95.979(a)(6)", 60, 30e3}, /* on a harmonic 60 dB, the stricter below 5.01 W */
    {CB(12, "J3E"), 54.37e6, "95.979(a)(5)", 63.79, 30e3},
    {CB(12, "J3E"), 2e3, NULL, 0, 0},
    {CB(12, "J3E"), 6e3, "95.979(a)(2)", 25, 300},
    {CB(12, "J3E"), 6.0001e3, "95.979(a)(4)", 35, 300},
    {CB(12, "J3E"), 10e3, "95.979(a)(4)", 35, 300},
    {CB(12, "J3E"), 10.0001e3, "95.979(a)(5)", 63.79, 30e3}, /* 250 % of 4 kHz */
};

static const struct place rcrs[] = {
    {RC(27.255, 4), 4e3, NULL, 0, 0},
    {RC(27.255, 4), 8e3, "95.779(a)(1)", 25, 300},
    {RC(27.255, 4), 8.0001e3, "95.779(a)(2)", 35, 300},
    {RC(27.255, 4), 20e3, "95.779(a)(2)", 35, 300},
    {RC(27.255, 4), 20.0001e3, "95.779(a)(3)", 49.02, 30e3},
    {RC(72.01, 0.75), 8e3, "95.779(b)(1)", 25, 300},
    {RC(72.01, 0.75), 8.0001e3, "95.779(b)(2)", 45, 300},
    {RC(72.01, 0.75), 10.0001e3, "95.779(b)(3)", 55, 300},
    {RC(75.41, 0.75), 20e3, "95.779(b)(3)", 55, 300},
    {RC(75.41, 0.75), 20.0001e3, "95.779(b)(4)", 54.751, 30e3}, /* 56 + 10 log 0.75: less than the 55 dB before it */
};

static const struct place land_mobile[] = {
    /* [210] mask B, told by the width of the channel and by the authorised one */
    {LM(155, 5, 'y', 25e3), 10e3, NULL, 0, 0},
    {LM(155, 5, 'y', 25e3), 10.0001e3, "90.210(b)(1)", 25, 0},
    {LM(155, 5, 'y', 20e3), 20e3, "90.210(b)(1)", 25, 0},
    {LM(155, 5, 'y', 20e3), 20.0001e3, "90.210(b)(2)", 35, 0},
    {LM(455, 5, 'y', 25e3), 50e3, "90.210(b)(2)", 35, 0},
    {LM(455, 5, 'y', 25e3), 50.0001e3, "90.210(b)(3)", 49.99, 100e3},
    {LM(455, 5, 'y', 25e3), 1.365e9, "90.210(b)(3)", 49.99, 1e6}, /* (o): 1 MHz above 1 GHz */
    {LM(40, 50, 'y', 0), 80e6, "90.210(b)(3)", 59.99, 100e3},     /* one width in the band: none need be told */
    /* mask C */
    {LM(155, 5, 'n', 25e3), 5e3, NULL, 0, 0},
    {LM(155, 5, 'n', 25e3), 7.5e3, "90.210(c)(1)", 14.616, 0},
    {LM(155, 5, 'n', 25e3), 10e3, "90.210(c)(1)", 24.985, 0},
    {LM(155, 5, 'n', 25e3), 10.0001e3, "90.210(c)(2)", 27.80, 0},
    {LM(155, 5, 'n', 25e3), 15e3, "90.210(c)(2)", 38.013, 0},
    {LM(155, 5, 'n', 25e3), 24.13e3, "90.210(c)(2)", 49.988, 0},
    {LM(155, 5, 'n', 25e3), 24.15e3, "90.210(c)(2)", 50, 0},
    {LM(155, 5, 'n', 25e3), 50e3, "90.210(c)(2)", 50, 0},
    {LM(155, 5, 'n', 25e3), 50.0001e3, "90.210(b)(3)", 49.99, 100e3},
    /* 421 to 512 MHz: C and G, the stricter: 29.70 of G but 30.20 of C at 11 kHz; 45.33 of G at 15 kHz */
    {LM(455, 5, 'n', 25e3), 11e3, "90.210(c)(2)", 30.201, 0},
    {LM(455, 5, 'n', 25e3), 15e3, "90.210(c)(2)", 45.328, 0},
    {LM(455, 5, 'n', 25e3), 30e3, "90.210(c)(2)", 56.99, 0},
    /* mask D */
    {LM(155, 5, 0, 12.5e3), 5.625e3, "90.210(d)(1)", 0, 100},
    {LM(155, 5, 0, 12.5e3), 5.6251e3, "90.210(d)(2)", 19.957, 100},
    {LM(155, 5, 0, 11.25e3), 7.5e3, "90.210(d)(2)", 33.587, 100},
    {LM(455, 5, 0, 11.25e3), 10e3, "90.210(d)(2)", 51.762, 100},
    {LM(455, 5, 0, 12.5e3), 12.5e3, "90.210(d)(2)", 69.937, 100},
    {LM(455, 5, 0, 12.5e3), 12.5001e3, "90.210(d)(3)", 56.99, 100},
    {LM(455, 5, 0, 12.5e3), 55.625e3, "90.210(d)(3)", 56.99, 100},
    {LM(455, 5, 0, 12.5e3), 55.6251e3, "90.210(d)(3)", 56.99, 100e3},
    {LM(155, 100, 0, 12.5e3), 310e6, "90.210(d)(3)", 70, 100e3}, /* 50 + 10 log P reaches 70 dB at 100 W */
    {LM(155, 110, 0, 12.5e3), 310e6, "90.210(d)(3)", 70, 100e3},
    /* mask E */
    {LM(155, 5, 0, 6.25e3), 3e3, "90.210(e)(1)", 0, 100},
    {LM(155, 5, 0, 6.25e3), 3.0001e3, "90.210(e)(2)", 30.002, 100},
    {LM(155, 5, 0, 6e3), 4e3, "90.210(e)(2)", 46.67, 100},
    {LM(155, 0.1, 0, 6e3), 4.6e3, "90.210(e)(2)", 45, 100}, /* 55 + 10 log 0.1, less than 56.67 */
    {LM(155, 5, 0, 6e3), 4.6e3, "90.210(e)(2)", 56.672, 100},
    {LM(155, 5, 0, 6e3), 4.6001e3, "90.210(e)(3)", 61.99, 100},
    {LM(155, 12, 0, 6e3), 4.6001e3, "90.210(e)(3)", 65, 100}, /* reaches 65 dB at 10 W */
    {LM(155, 5, 0, 6e3), 53e3, "90.210(e)(3)", 61.99, 100},
    {LM(155, 5, 0, 6e3), 53.0001e3, "90.210(e)(3)", 61.99, 100e3},
    /* mask F */
    {LM(221, 5, 0, 0), 2e3, "90.210(f)(1)", 0, 0},
    {LM(221, 5, 0, 0), 3e3, "90.210(f)(2)", 50, 0},
    {LM(221, 12, 0, 0), 3.75e3, "90.210(f)(2)", 65, 0},
    {LM(221, 0.5, 0, 0), 3.75e3, "90.210(f)(2)", 51.99, 0},
    {LM(221, 12, 0, 0), 3.7501e3, "90.210(f)(3)", 65.79, 100e3},
};

static void check_places(const struct place *places, size_t count)
{
    for (size_t i = 0; i < count; i++)
        check_place(&places[i]);
}

static void test_frs(void **state)
{
    (void)state;
    check_places(frs, COUNT(frs));
}
static void test_gmrs(void **state)
{
    (void)state;
    check_places(gmrs, COUNT(gmrs));
}
static void test_murs(void **state)
{
    (void)state;
    check_places(murs, COUNT(murs));
}
static void test_cb(void **state)
{
    (void)state;
    check_places(cb, COUNT(cb));
}
static void test_rcrs(void **state)
{
    (void)state;
    check_places(rcrs, COUNT(rcrs));
}
static void test_land_mobile(void **state)
{
    (void)state;
    check_places(land_mobile, COUNT(land_mobile));
}

/* ---- the masks again, as functions written from the regulation, at many offsets and powers ------- */

static double least(double a, double b)
{
    return a < b ? a : b;
}

typedef double mask(double khz, double watts);

static double mask_b(double f, double p)
{
    return f <= 10 ? NAN : f <= 20 ? 25 : f <= 50 ? 35 : 43 + 10 * log10(p);
}
static double mask_c(double f, double p)
{
    return f <= 5    ? NAN
           : f <= 10 ? 83 * log10(f / 5)
           : f <= 50 ? least(29 * log10(f * f / 11), 50)
                     : 43 + 10 * log10(p);
}
static double mask_d(double f, double p)
{
    return f <= 5.625 ? 0 : f <= 12.5 ? 7.27 * (f - 2.88) : least(50 + 10 * log10(p), 70);
}
static double mask_e(double f, double p)
{
    double far = least(55 + 10 * log10(p), 65);
    return f <= 3 ? 0 : f <= 4.6 ? least(30 + 16.67 * (f - 3), far) : far;
}
static double mask_f(double f, double p)
{
    double far = 55 + 10 * log10(p);
    return f <= 2 ? 0 : f <= 3.75 ? least(least(30 + 20 * (f - 2), far), 65) : far;
}
static double mask_gmrs(double f, double p)
{
    return f <= 5    ? NAN
           : f <= 10 ? 83 * log10(f / 5)
           : f <= 50 ? least(116 * log10(f / 6.1), 50 + 10 * log10(p))
                     : 43 + 10 * log10(p);
}
static double mask_murs(double f, double p)
{
    return f <= 5.625 ? NAN : f <= 12.5 ? 7.27 * (f - 2.88) : least(50 + 10 * log10(p), 70);
}

static void test_masks_everywhere(void **state)
{
    static const struct {
        struct set set;
        mask *wanted;
    } rows[] = {
        {LM(155, 1, 'y', 25e3), mask_b}, {LM(155, 1, 'n', 25e3), mask_c}, {LM(455, 1, 0, 12.5e3), mask_d},
        {LM(455, 1, 0, 6.25e3), mask_e}, {LM(221, 1, 0, 0), mask_f},      {GMRS(462.6, 1, 'n'), mask_gmrs},
        {MURS(151.88, 1, 0), mask_murs},
    };
    static const double powers[] = {0.05, 1, 5, 10, 50, 100, 200};
    (void)state;
    for (size_t r = 0; r < COUNT(rows); r++) {
        spurity_rules *rules = loaded(rows[r].set.rules);
        for (size_t p = 0; p < COUNT(powers); p++)
            for (int i = 1; i <= 300; i++) {
                struct set set = rows[r].set;
                double khz = 0.21 * i; /* no corner: 0.21 divides none of them */
                set.watts = powers[p];
                spurity_conditions conditions = conditions_of(&set);
                struct asked asked = asked_at(rules, &conditions, set.carrier_hz - khz * 1e3);
                assert_near(10 * log10(powers[p] / 1e-3) - asked.dbm, rows[r].wanted(khz, powers[p]), 1e-6);
            }
        spurity_rules_free(rules);
    }
}

/* ---- what a sweep cannot tell is asked ----------------------------------------------------------- */

static void needs(const struct set *set, const char *clause_name, const char *wanted)
{
    spurity_rules *rules = loaded(set->rules);
    spurity_conditions conditions = conditions_of(set);
    bool found = false;
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        char told[160];
        spurity_clause_facts facts;
        const spurity_clause *clause = spurity_rules_clause(rules, i);
        spurity_clause_facts_of(clause, &facts);
        spurity_applies applies = spurity_clause_applies(clause, &conditions, NULL, 0, told, sizeof told);
        if (strcmp(facts.clause, clause_name) || applies == SPURITY_APPLIES_NO)
            continue;
        found = true;
        assert_string_equal(told, wanted);
    }
    assert_true(found);
    spurity_rules_free(rules);
}

static void test_needs(void **state)
{
    (void)state;
    needs(&(struct set){"us-gmrs", 462.6e6, 5, NULL, NULL, 0, 0}, "95.1779(b)(1)", "--emission --audio-filter");
    needs(&(struct set){"us-gmrs", 462.6e6, 5, "F3E", NULL, 0, 0}, "95.1779(b)(1)", "--audio-filter");
    needs(&(struct set){"us-gmrs", 462.6e6, 5, "F3E", NULL, 0, 0}, "95.1767(a)(1)", "--station");
    needs(&(struct set){"us-gmrs", 462.6e6, 5, "F3E", "hand held", 0, 0}, "95.1767(a)(1)", "--station");
    needs(&(struct set){"us-gmrs", 462.6e6, 5, NULL, NULL, 0, 0}, "95.1779(b)(7)", "");
    needs(&(struct set){"us-gmrs", 464e6, 5, NULL, NULL, 0, 0}, "95.1779(b)(7)", ""); /* its tables agree on 20 kHz */
    needs(&(struct set){"us-land-mobile", 155e6, 5, "F3E", NULL, 0, 0}, "90.210(d)(3)", "--bandwidth");
    needs(&(struct set){"us-land-mobile", 155e6, 5, "F3E", NULL, 0, 25e3}, "90.210(b)(1)", "--audio-filter");
    needs(&(struct set){"us-cb", 27.185e6, 4, NULL, NULL, 0, 0}, "95.979(a)(5)", "--emission");
    needs(&(struct set){"us-frs", 462.5625e6, 2, NULL, NULL, 0, 0}, "95.579(a)(3)", "");
}

/* ---- power, frequency, bandwidth, deviation ------------------------------------------------------ */

#define POWER SPURITY_QUANTITY_CARRIER_POWER
#define ERROR SPURITY_QUANTITY_FREQUENCY_ERROR
#define WIDTH SPURITY_QUANTITY_OCCUPIED_BANDWIDTH
#define SWING SPURITY_QUANTITY_PEAK_DEVIATION
#define ON(id, mhz, emission, station)                                                                                 \
    {                                                                                                                  \
        id, mhz * 1e6, 1, emission, station, 0, 0                                                                      \
    }

static const struct figure figures[] = {
    /* 95.567: 2 W ERP on 1-7 and 15-22, 500 mW ERP on 8-14 */
    {ON("us-frs", 462.7125, NULL, NULL), POWER, 2, "dBm ERP"},
    {ON("us-frs", 467.7125, NULL, NULL), POWER, 0.5, "dBm ERP"},
    {ON("us-frs", 462.725, NULL, NULL), POWER, 2, "dBm ERP"},
    {ON("us-frs", 462.725, NULL, NULL), ERROR, 2.5, "ppm"},
    {ON("us-frs", 462.725, NULL, NULL), WIDTH, 12.5e3, "Hz"},
    {ON("us-frs", 462.725, NULL, NULL), SWING, 2.5e3, "Hz"},
    /* 95.1767, 95.1773, 95.1775, 95.1765 */
    {ON("us-gmrs", 462.725, "F3E", "mobile"), POWER, 50, "dBm"},
    {ON("us-gmrs", 467.725, "F3E", "hand-held"), POWER, 50, "dBm"},
    {ON("us-gmrs", 462.725, "F3E", "fixed"), POWER, 15, "dBm"},
    {ON("us-gmrs", 462.7125, "F3E", "mobile"), POWER, 5, "dBm ERP"},
    {ON("us-gmrs", 467.7125, "F3E", "hand-held"), POWER, 0.5, "dBm ERP"},
    {ON("us-gmrs", 467.725, "F3E", NULL), WIDTH, 20e3, "Hz"},
    {ON("us-gmrs", 467.7125, "F3E", NULL), WIDTH, 12.5e3, "Hz"},
    {ON("us-gmrs", 462.7125, "F3E", NULL), SWING, 5e3, "Hz"},
    {ON("us-gmrs", 467.7125, "F3E", NULL), SWING, 2.5e3, "Hz"},
    {ON("us-gmrs", 462.7125, "F3E", NULL), ERROR, 5, "ppm"},
    {ON("us-gmrs", 467.7125, "F3E", NULL), ERROR, 2.5, "ppm"},
    /* 95.2767, 95.2773, 95.2765 */
    {ON("us-murs", 151.82, "F3E", NULL), POWER, 2, "dBm"},
    {ON("us-murs", 151.82, "F3E", NULL), WIDTH, 11.25e3, "Hz"},
    {ON("us-murs", 154.60, "F3E", NULL), WIDTH, 20e3, "Hz"},
    {ON("us-murs", 154.60, "A3E", NULL), WIDTH, 8e3, "Hz"},
    {ON("us-murs", 151.82, "F3E", NULL), ERROR, 5, "ppm"},
    {{"us-murs", 151.82e6, 1, "F1D", NULL, 0, 6.25e3}, ERROR, 2, "ppm"},
    {{"us-murs", 151.82e6, 1, "F1D", NULL, 0, 6.26e3}, ERROR, 5, "ppm"},
    /* 95.967, 95.965, 95.973, 95.975 */
    {ON("us-cb", 27.185, "A3E", NULL), POWER, 4, "dBm"},
    {ON("us-cb", 27.185, "J3E", NULL), POWER, 12, "dBm PEP"},
    {ON("us-cb", 27.185, "A3E", NULL), ERROR, 50, "ppm"},
    {ON("us-cb", 27.185, "F3E", NULL), WIDTH, 8e3, "Hz"},
    {ON("us-cb", 27.185, "2K80J3E", NULL), WIDTH, 4e3, "Hz"},
    {ON("us-cb", 27.185, "F3E", NULL), SWING, 2e3, "Hz"},
    {ON("us-cb", 27.185, "A3E", NULL), SWING, NAN, NULL},
    /* 95.767, 95.765, 95.773 */
    {ON("us-rcrs", 27.255, NULL, NULL), POWER, 25, "dBm"},
    {ON("us-rcrs", 27.195, NULL, NULL), POWER, 4, "dBm"},
    {ON("us-rcrs", 72.01, NULL, NULL), POWER, 0.75, "dBm"},
    {ON("us-rcrs", 75.41, NULL, NULL), ERROR, 20, "ppm"},
    {{"us-rcrs", 27.255e6, 2.51, NULL, NULL, 0, 0}, ERROR, 50, "ppm"},
    {{"us-rcrs", 27.255e6, 2.5, NULL, "switch", 0, 0}, ERROR, 100, "ppm"},
    {{"us-rcrs", 27.255e6, 2.5, NULL, "control", 0, 0}, ERROR, 50, "ppm"},
    {{"us-rcrs", 27.255e6, 2.51, NULL, "switch", 0, 0}, ERROR, 50, "ppm"},
    {ON("us-rcrs", 72.01, NULL, NULL), WIDTH, 8e3, "Hz"},
};

/* 90.213(a): band, station, power, equipment. */
static const struct {
    double mhz, watts, width;
    const char *station;
    double ppm;
} tolerances[] = {
    {40, 50, 0, "base", 20},          {40, 2.01, 0, "mobile", 20},        {40, 2, 0, "mobile", 50},
    {74, 50, 0, "fixed", 5},          {74, 2, 0, "mobile", 50},           {74, 2.01, 0, "mobile", NAN},
    {155, 50, 25e3, "base", 5},       {155, 50, 12.5e3, "base", 2.5},     {155, 50, 6.25e3, "base", 1},
    {155, 50, 25e3, "mobile", 5},     {155, 2, 25e3, "hand-held", 50},    {155, 5, 12.5e3, "mobile", 5},
    {155, 2, 12.5e3, "hand-held", 5}, {155, 5, 6.25e3, "mobile", 2},      {155, 1, 6e3, "mobile", 2},
    {154.47, 2, 25e3, "mobile", 5},   {173.3, 1, 20e3, "mobile", 5},      {173.41, 1, 20e3, "mobile", 50},
    {218, 5, 0, "base", 1},           {218, 2, 0, "mobile", 1},           {218, 5, 0, "mobile", NAN},
    {221, 5, 0, "base", 0.1},         {221, 5, 0, "mobile", 1.5},         {221, 1, 0, "mobile", 1.5},
    {455, 50, 25e3, "base", 2.5},     {455, 50, 11.25e3, "fixed", 1.5},   {455, 50, 6.25e3, "base", 0.5},
    {455, 5, 20e3, "mobile", 5},      {455, 5, 12.5e3, "hand-held", 2.5}, {455, 2, 6e3, "hand-held", 1},
    {415, 5, 25e3, "base", NAN},
};

static void test_figures(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(figures); i++)
        check_figure(&figures[i]);
    for (size_t i = 0; i < COUNT(tolerances); i++) {
        struct figure figure = {LM(tolerances[i].mhz, tolerances[i].watts, 0, tolerances[i].width), ERROR,
                                tolerances[i].ppm, NULL};
        figure.set.station = tolerances[i].station;
        check_figure(&figure);
    }
}

/* ---- channels ------------------------------------------------------------------------------------ */

static void on_channel(const spurity_rules *rules, double hz, const char *number)
{
    spurity_channel channel;
    assert_int_equal(spurity_rules_channel(rules, hz, &channel), SPURITY_CHANNEL_ON);
    assert_string_equal(channel.number, number);
    assert_near(channel.frequency_hz, hz, 0.01);
}

static void off_channel(const spurity_rules *rules, double hz, const char *nearest)
{
    spurity_channel channel;
    assert_int_equal(spurity_rules_channel(rules, hz, &channel), SPURITY_CHANNEL_OFF);
    assert_string_equal(channel.number, nearest);
}

/* [407]: in the order of the table. */
static void test_cb_channels(void **state)
{
    static const double mhz[40] = {26.965, 26.975, 26.985, 27.005, 27.015, 27.025, 27.035, 27.055, 27.065, 27.075,
                                   27.085, 27.105, 27.115, 27.125, 27.135, 27.155, 27.165, 27.175, 27.185, 27.205,
                                   27.215, 27.225, 27.255, 27.235, 27.245, 27.265, 27.275, 27.285, 27.295, 27.305,
                                   27.315, 27.325, 27.335, 27.345, 27.355, 27.365, 27.375, 27.385, 27.395, 27.405};
    spurity_rules *rules = loaded("us-cb");
    (void)state;
    assert_int_equal(spurity_rules_channel_count(rules), 40);
    for (int i = 0; i < 40; i++) {
        char number[20];
        snprintf(number, sizeof number, "%d", i + 1);
        on_channel(rules, mhz[i] * 1e6, number);
    }
    off_channel(rules, 26.995e6, "3"); /* radio control has it */
    off_channel(rules, 28e6, "40");
    spurity_rules_free(rules);
}

static void test_gmrs_channels(void **state)
{
    /* [621] */
    static const double mhz[] = {462.5500, 462.5625, 462.5750, 462.5875, 462.6000, 462.6125, 462.6250, 462.6375,
                                 462.6500, 462.6625, 462.6750, 462.6875, 462.7000, 462.7125, 462.7250, 467.5500,
                                 467.5750, 467.6000, 467.6250, 467.6500, 467.6750, 467.7000, 467.7250};
    spurity_rules *rules = loaded("us-gmrs"), *family = loaded("us-frs");
    spurity_channel channel;
    (void)state;
    assert_int_equal(spurity_rules_channel_count(rules), 30);
    assert_int_equal(spurity_rules_channel_count(family), 22);
    for (size_t i = 0; i < COUNT(mhz); i++) {
        assert_int_equal(spurity_rules_channel(rules, mhz[i] * 1e6, &channel), SPURITY_CHANNEL_ON);
        assert_near(channel.frequency_hz, mhz[i] * 1e6, 0.01);
        assert_near(channel.bandwidth_hz, 20e3, 0.0);
    }
    on_channel(rules, 462.6125e6, "3");
    on_channel(rules, 467.5625e6, "8");
    on_channel(rules, 462.55e6, "15");
    on_channel(rules, 462.725e6, "22");
    on_channel(rules, 467.6e6, "17R");
    on_channel(family, 462.7125e6, "7");
    on_channel(family, 467.7125e6, "14");
    on_channel(family, 462.65e6, "19");
    off_channel(family, 462.7375e6, "22");
    off_channel(family, 467.725e6, "14"); /* the second half of a repeater pair is not the family's */
    assert_true(spurity_rules_antenna_fixed(family));
    assert_false(spurity_rules_antenna_fixed(rules));
    for (size_t i = 0; i < 22; i++) { /* each frequency of the one is one of the other, on the number it has there */
        spurity_channel own, other;
        assert_true(spurity_rules_channel_at(family, i, &own));
        assert_int_equal(spurity_rules_channel(rules, own.frequency_hz, &other), SPURITY_CHANNEL_ON);
        assert_string_equal(own.number, other.number);
        assert_near(own.bandwidth_hz, 12.5e3, 0.0);
        assert_near(own.power_w, i >= 7 && i < 14 ? 0.5 : 2.0, 1e-12);
        assert_int_equal(own.power_of, SPURITY_REFERENCE_ERP);
    }
    assert_false(spurity_rules_channel_at(family, 22, &channel));
    spurity_rules_free(family);
    spurity_rules_free(rules);
}

/* ---- widths and ranges --------------------------------------------------------------------------- */

static void width(const struct set *set, spurity_bandwidth_source wanted, double wanted_hz)
{
    spurity_rules *rules = loaded(set->rules);
    spurity_conditions conditions = conditions_of(set);
    double hz = 0.0;
    assert_int_equal(spurity_rules_bandwidth(rules, &conditions, &hz), wanted);
    assert_near(hz, wanted_hz, 1e-6);
    spurity_rules_free(rules);
}

/* 90.209(b)(5), 95.973, 95.1773, 95.2773. */
static void test_widths(void **state)
{
    (void)state;
    width(&(struct set)LM(155, 1, 0, 25e3), SPURITY_BANDWIDTH_TOLD_CHANNEL, 20e3);
    width(&(struct set)LM(155, 1, 0, 20e3), SPURITY_BANDWIDTH_TOLD_AUTHORISED, 20e3);
    width(&(struct set)LM(155, 1, 0, 12.5e3), SPURITY_BANDWIDTH_TOLD_CHANNEL, 11.25e3);
    width(&(struct set)LM(455, 1, 0, 6.25e3), SPURITY_BANDWIDTH_TOLD_CHANNEL, 6e3);
    width(&(struct set)LM(455, 1, 0, 16e3), SPURITY_BANDWIDTH_AS_TOLD, 16e3);
    width(&(struct set)LM(455, 1, 0, 0), SPURITY_BANDWIDTH_UNKNOWN, NAN);
    width(&(struct set)LM(40, 1, 0, 0), SPURITY_BANDWIDTH_ONLY_ONE, 20e3);
    width(&(struct set)LM(221, 1, 0, 5e3), SPURITY_BANDWIDTH_TOLD_CHANNEL, 4e3);
    width(&(struct set)CB(1, "A3E"), SPURITY_BANDWIDTH_ONLY_ONE, 8e3);
    width(&(struct set)CB(1, "2K80J3E"), SPURITY_BANDWIDTH_ONLY_ONE, 4e3);
    width(&(struct set){"us-cb", 27.185e6, 1, "J3E", NULL, 0, 10e3}, SPURITY_BANDWIDTH_TOLD_CHANNEL, 4e3);
    width(&(struct set)MURS(151.82, 1, 0), SPURITY_BANDWIDTH_OF_CHANNEL, 11.25e3);
    width(&(struct set){"us-murs", 154.6e6, 1, "A3E", NULL, 0, 0}, SPURITY_BANDWIDTH_ONLY_ONE, 8e3);
    width(&(struct set)GMRS(467.5625, 1, 0), SPURITY_BANDWIDTH_OF_CHANNEL, 12.5e3);
    width(&(struct set){"us-gmrs", 462.6e6, 1, NULL, NULL, 0, 25e3}, SPURITY_BANDWIDTH_TOLD_CHANNEL, 20e3);
    width(&(struct set){"us-amateur", 146e6, 1, NULL, NULL, 0, 0}, SPURITY_BANDWIDTH_UNKNOWN, NAN);
}

/* 47 CFR 2.1057(a)(1): the tenth harmonic or 40 GHz, whichever is lower. */
static void test_ranges(void **state)
{
    static const struct {
        const char *rules;
        double carrier_hz, to_hz;
    } rows[] = {{"us-cb", 27.405e6, 274.05e6},      {"us-murs", 154.6e6, 1546e6},  {"us-gmrs", 467.725e6, 4677.25e6},
                {"us-frs", 467.7125e6, 4677.125e6}, {"us-land-mobile", 5e9, 40e9}, {"us-rcrs", 72e6, 720e6}};
    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        spurity_rules *rules = loaded(rows[i].rules);
        spurity_rules_span span;
        assert_true(spurity_rules_investigated(rules, rows[i].carrier_hz, &span));
        assert_near(span.from_hz, 9e3, 0.0);
        assert_near(span.to_hz, rows[i].to_hz, 1.0);
        assert_true(span.confirmed);
        spurity_rules_free(rules);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_frs),
        cmocka_unit_test(test_gmrs),
        cmocka_unit_test(test_murs),
        cmocka_unit_test(test_cb),
        cmocka_unit_test(test_rcrs),
        cmocka_unit_test(test_land_mobile),
        cmocka_unit_test(test_masks_everywhere),
        cmocka_unit_test(test_needs),
        cmocka_unit_test(test_figures),
        cmocka_unit_test(test_cb_channels),
        cmocka_unit_test(test_gmrs_channels),
        cmocka_unit_test(test_widths),
        cmocka_unit_test(test_ranges),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
